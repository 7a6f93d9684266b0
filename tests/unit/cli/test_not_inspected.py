"""A report that names an area and does not inspect it says nothing of its steel: what was found there stays."""

import json

import pytest

from reportgen.issued import Standing, Told, says_nothing_new
from tests.unit.cli.test_closing import words_of
from tests.unit.cli.test_decided_elsewhere import of_the_other
from tests.unit.cli.test_left_open import PRIMED, UNTIMED, dated
from tests.unit.cli.test_reinspection import CLEAN, HIGH, OLD, contract, raised, report
from tests.unit.cli.test_reinspection_apart import beside

__all__ = ["contract"]

FAILED, GOOD = report(1, reading="4.2"), report(1)
UNSEEN = of_the_other(dated(2, "2026-05-05"))


def silent(text):
    """The same report without a word of the area that it does not inspect."""
    return text.partition("not_inspected")[0]


BARE = of_the_other(dated(2, "2026-05-07"))
"""A report when the time to coat of the first has passed."""


SHORT = "maximum: 1 h"
"""A time to coat that is over by the end of the shift."""


@pytest.mark.parametrize(
    ("days", "decision"),
    [
        ((FAILED, UNSEEN), "rework"),
        ((SHORT, FAILED, silent(UNSEEN)), "rework"),  # past its time on the first day already
        ((SHORT, FAILED + raised(HIGH), UNSEEN), "rework"),
        ((SHORT, GOOD, silent(UNSEEN)), "hold"),
        ((FAILED, UNSEEN, of_the_other(dated(3, "2026-05-06"))), "rework"),
        ((FAILED, UNSEEN, dated(3, "2026-05-06")), "release"),
        ((GOOD, UNSEEN), "release"),
        ((UNSEEN,), "hold"),
        ((GOOD, BARE), "hold"),  # bare, and past its time to coat
        ((GOOD, silent(BARE)), "hold"),
        ((GOOD, silent(UNSEEN)), "release"),
        ((FAILED, silent(BARE)), "rework"),
        ((FAILED, silent(UNSEEN), silent(of_the_other(dated(3, "2026-05-06")))), "rework"),
        ((GOOD, silent(BARE), dated(3, "2026-05-08", blasted=OLD, tests=f"{UNTIMED}    {PRIMED}\n")), "release"),
    ],
)
def test_what_was_found_stays_until_it_is_inspected_again(run, contract, days, decision):
    short = days[0] == SHORT
    if short:
        path, days = contract / "project.yaml", days[1:]
        path.write_text(path.read_text("utf-8").replace("maximum: 48 h", SHORT), "utf-8")
    names = [f"day{number}.yaml" for number, _ in enumerate(days, start=1)]
    for name, text in zip(names, days, strict=True):
        (contract / name).write_text(text, "utf-8")
    (contract / "reports").mkdir()
    for name in names:
        assert run("issue", name, "--identity", "demo", "-o", f"reports/{name[:4]}.pdf").code == 0
    said = run("audit", "reports", "--processes", "1", "--index", "i.sqlite")
    assert said.code == 1, said
    rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
    assert {row["area"]: row["decision"] for row in rows}["A-1"] == decision, run(
        "audit", "query", "areas", "--index", "i.sqlite"
    )
    run("submittal", "reports", "--identity", "demo", "-o", "s.pdf", "--processes", "1")
    pages = words_of(contract / "s.pdf")
    assert f"Areas to be reworked {int(decision == 'rework')}" in pages
    state = "not inspected" if days == (UNSEEN,) else decision  # on hold in an audit
    assert f"A-1 Sluice, gate {state}" in pages
    if short:  # the other area is on hold by then, and the second report tells of this one that it stands bare
        return
    unseen = any("area: A-1, reason" in day for day in days) or days[:2] == (GOOD, silent(BARE))
    assert ("A-1 not inspected" in pages) is unseen
    never = days == (UNSEEN,)  # which is counted as that, and not as on hold
    assert f"Areas on hold {int(decision == 'hold' and not never)}" in pages


@pytest.mark.parametrize(
    ("said", "silent"),
    [
        ("", ""),
        ("- -", "n n"),
        ("hold - -", "n s s"),
        ("- rework - hold -", "n n s n s"),
        ("release bare -", "n n s"),
        ("rework bare release bare", "n s n n"),
        ("bare rework bare", "n n s"),
        ("release rework? bare", "n n n"),  # what is in doubt does not keep what is proven from being told
        ("rework release? bare?", "n n n"),
    ],
)
def test_which_statements_leave_an_area_as_it_was(said, silent):
    """A statement is a decision on an inspected area, `bare`, or nothing; `?` of a file that is in doubt."""
    told = []
    for one in said.split():
        word, doubts = one.rstrip("?"), frozenset({"X"} if one.endswith("?") else ())
        decision = word if word in ("hold", "rework", "release") else ""
        told.append(Told(decision, word == "bare", Standing(doubts)))
    assert ["s" if one else "n" for one in says_nothing_new(told)] == silent.split()


BARE_UNTIL = {"2026-05-05": "2026-05-06 09:00", "2026-05-07": None}


@pytest.mark.parametrize("date", BARE_UNTIL)
def test_steel_left_bare_is_not_forgotten_where_nobody_inspects_it(run, contract, date):
    """Blasted until 09:00 of 4 May and released, with 48 h until it has to be coated."""
    (contract / "day1.yaml").write_text(GOOD, "utf-8")
    (contract / "day2.yaml").write_text(of_the_other(dated(2, date)), "utf-8")
    result = json.loads(run("check", "day2.yaml", "--json").out)
    found = [one["code"] for one in result["findings"] if one["place"].get("area") == "A-1"]
    tasks = [one["code"] for one in result["measure_next"] if one["place"].get("area") == "A-1"]
    said = " ".join(run("check", "day2.yaml").out.split())
    if BARE_UNTIL[date] is not None:
        assert (found, tasks) == ([], ["coat-by"])
        assert f"by {BARE_UNTIL[date]}" in said[said.index("Not coated yet") :], said
    else:
        assert (found, tasks) == (["left-open-earlier"], ["enter-primer"])
        assert "bare in SL-1-001 of 2026-05-04, to be primed by 2026-05-06 09:00, and no primer recorded" in said
    assert run("new", "--next", "day2.yaml", "--date", "2026-05-08").code == 0
    text = " ".join((contract / "2026-05-08.yaml").read_text("utf-8").replace("#", " ").split())
    asked = "with the time of its primer" if BARE_UNTIL[date] is None else f"by {BARE_UNTIL[date]}"
    assert asked in text[text.index("A-1, ") :]


def test_of_two_times_to_coat_the_first_is_told(run, contract):
    own = CLEAN.replace("10:40", "11:10")
    (contract / "day1.yaml").write_text(beside(GOOD, ("10:00", "11:00"), tests=own), "utf-8")
    (contract / "day2.yaml").write_text(silent(UNSEEN), "utf-8")
    assert "A-1 by 2026-05-06 09:00" in " ".join(run("check", "day2.yaml").out.split())


def test_primed_steel_and_steel_that_was_held_are_not_to_be_coated(run, contract):
    for first, asked in (
        (GOOD.replace("    profile:", '    coated: "13:00"\n    profile:'), []),
        (FAILED, ["inspect-reworked"]),
    ):
        (contract / "day1.yaml").write_text(first, "utf-8")
        (contract / "day2.yaml").write_text(UNSEEN, "utf-8")
        tasks = json.loads(run("check", "day2.yaml", "--json").out)["measure_next"]
        assert [one["code"] for one in tasks if one["place"].get("area") == "A-1"] == asked
