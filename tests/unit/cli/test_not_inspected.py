"""A report that names an area and does not inspect it says nothing of its steel: what was found there stays."""

import json

import pytest

from reportgen.issued import says_nothing_new
from tests.unit.cli.test_closing import words_of
from tests.unit.cli.test_decided_elsewhere import of_the_other
from tests.unit.cli.test_left_open import dated
from tests.unit.cli.test_reinspection import contract, report

__all__ = ["contract"]

FAILED, GOOD = report(1, reading="4.2"), report(1)
UNSEEN = of_the_other(dated(2, "2026-05-05"))


@pytest.mark.parametrize(
    ("days", "decision"),
    [
        ((FAILED, UNSEEN), "rework"),
        ((FAILED, UNSEEN, of_the_other(dated(3, "2026-05-06"))), "rework"),
        ((FAILED, UNSEEN, dated(3, "2026-05-06")), "release"),
        ((GOOD, UNSEEN), "release"),
        ((UNSEEN,), "hold"),
    ],
)
def test_what_was_found_stays_until_it_is_inspected_again(run, contract, days, decision):
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
    assert f"A-1 Sluice, gate {decision}" in pages
    assert ("A-1 not inspected" in pages) is (UNSEEN in days)
    assert f"Areas on hold {int(decision == 'hold') + (len(days) == 1 and GOOD in days)}" in pages


@pytest.mark.parametrize(
    ("said", "silent"),
    [
        ([], []),
        ([False, False], [False, False]),
        ([True, False, False], [False, True, True]),
        ([False, True, False, True, False], [False, False, True, False, True]),
    ],
)
def test_which_statements_leave_an_area_as_it_was(said, silent):
    assert says_nothing_new(said) == silent
