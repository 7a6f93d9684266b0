"""Salts or dust that failed are cleared by a later test only where its entry says when the steel was washed.

A second test of the same steel may pass by the spread of the method alone: what failed once would be tested until it
passes.
"""

import json

import pytest

from tests.unit.cli.test_left_open import project
from tests.unit.cli.test_reinspection import CLEAN, DUSTY, NEXT, OLD, SALTY, contract, decided, raised, report
from tests.unit.cli.test_tested_before import DUST, SALTS, TIMED

__all__ = ["contract", "decided", "project"]

ACTION = "corrective_action: washed or blasted"
LATER = TIMED.replace('size: 1, time: "10:40"', 'size: 1, time: "10:55"').replace("10:40", "10:45")
"""The same places five minutes later, in a second report of the shift."""
WASHED, DUSTED = "10:42", "10:52"
UNTOLD = "no entry says that the steel was washed, or dust removed from it, between the two tests (a `corrective"


@pytest.mark.parametrize(("code", "failing"), [(SALTS, SALTY), (DUST, DUSTY)])
@pytest.mark.parametrize("tests", [LATER, CLEAN.replace(', time: "10:40"', "")])
def test_what_failed_is_not_tested_until_it_passes(decided, code, failing, tests):
    untimed = "time" not in tests
    again = report(2, OLD, tests=tests, reading=TIMED_READING, **NEXT) if untimed else report(2, tests=tests)
    decision, states, (held,) = decided(report(1, tests=failing), again)
    assert (decision, states) == ("hold", [])
    assert held.startswith(f"{code.replace('-', ' ')} of SL-1-001 at location ")
    assert UNTOLD in held
    third = report(3, OLD, tests=TIMED, reading=TIMED_READING, **NEXT)
    assert decided(report(1, tests=failing), again, third)[0] == "hold"


TIMED_READING = '2.9, time: "10:30"'


@pytest.mark.parametrize("dust", [False, True])
def test_washed_it_is_released_by_whoever_signs_for_that(decided, dust):
    """Raised by the report that failed, or by the one that tests again; told as it was done, in either."""
    code, failing = (DUST, DUSTY) if dust else (SALTS, SALTY)
    at = DUSTED if dust else WASHED
    first, second = report(1, tests=failing, more=raised(code)), report(2, tests=LATER, reinspects="N1", washed=at)
    assert decided(first, second)[:2] == ("release", ["closed"])
    told_here = report(2, tests=LATER, reinspects="N1", washed=at, more=raised(code))
    assert decided(report(1, tests=failing), told_here)[:2] == ("release", ["closed"])


@pytest.mark.parametrize("words", ["washed", "Not washed.", "Blast again", "Retested, kit was bad", "none", ""])
@pytest.mark.parametrize("dust", [False, True])
def test_the_words_of_a_corrective_action_decide_nothing(run, decided, words, dust):
    """Neither that it was washed nor that it was not: the entry of the new test says when."""
    code, failing, at = (DUST, DUSTY, DUSTED) if dust else (SALTS, SALTY, WASHED)
    first = report(1, tests=failing, more=raised(code))
    first = first.replace(ACTION, f"corrective_action: '{words}'") if words else first.replace(f"{ACTION}, ", "")
    decision, states, (held,) = decided(first, report(2, tests=LATER, reinspects="N1"))
    assert (decision, states) == ("hold", ["open"])
    assert UNTOLD in held
    assert "`washed: HH:MM`" in held
    assert "`dust_removed: HH:MM`" in held
    assert decided(first, report(2, tests=LATER, reinspects="N1", washed=at))[:2] == ("release", ["closed"])


@pytest.mark.parametrize(
    ("at", "decision"),
    [("10:39", "hold"), ("10:40", "hold"), ("10:42", "release"), ("10:45", "hold"), ("11:00", "hold")],
)
def test_it_was_washed_between_the_two_tests(decided, at, decision):
    first, second = report(1, tests=SALTY, more=raised(SALTS)), report(2, tests=LATER, reinspects="N1", washed=at)
    found, _, held = decided(first, second)
    assert found == decision
    order = f"at {at}, which is not known to be between the test that failed (salts above maximum of SL-1-001 at "
    assert (f"{order}location S1, at 10:40) and the one that is to clear it, of 10:45" in "".join(held)) is bool(held)


def test_dust_that_was_removed_leaves_the_salts(decided):
    """The report that failed may say it too, or one between; another apparatus on the area says it of its own steel."""
    for code, failing, at in ((SALTS, SALTY, WASHED), (DUST, DUSTY, DUSTED)):
        second = report(2, tests=LATER, reinspects="N1", washed=at).replace("washed", "dust_removed")
        decision = decided(report(1, tests=failing, more=raised(code)), second)[0]
        assert decision == ("release" if code == DUST else "hold")
    first, second = report(1, tests=SALTY, more=raised(SALTS), washed=WASHED), report(2, tests=LATER, reinspects="N1")
    assert decided(first, second)[0] == "release"
    assert decided(first.replace("pot 1", "pot 2"), second)[0] == "hold"


@pytest.mark.parametrize(
    ("change", "reinspects"),
    [
        (("disposition: rework", "disposition: reject"), "N1"),
        (("disposition: rework", "disposition: repair"), "N1"),
        ((f"findings: [{SALTS}]", f"findings: [{DUST}]"), "N1"),
        (("N1", "N1"), ""),
    ],
)
def test_nothing_less_says_so(decided, change, reinspects):
    first = report(1, tests=SALTY, more=raised(SALTS).replace(*change))
    assert decided(first, report(2, tests=LATER, reinspects=reinspects, washed=WASHED))[0] == "hold"


def test_each_test_that_fails_is_washed_for_again(decided):
    """Washed once and tested again, it failed again: what was said before that is not of the next test."""
    first = report(1, tests=SALTY, more=raised(SALTS))
    still = report(2, tests=LATER.replace("chloride: 10 mg", "chloride: 40 mg"), reinspects="N1", washed=WASHED)
    third = report(3, tests=TIMED.replace("10:40", "11:30"), reinspects="N1", washed="11:00")
    decision, states, (held,) = decided(first, still, third)
    assert (decision, states) == ("hold", ["open"])
    assert "written down no earlier than in SL-1-002" in held
    once_more = raised(SALTS).replace("status: open", "status: open, raised_in: SL-1-001")
    assert decided(first, still, third + once_more)[:2] == ("release", ["closed"])
    assert decided(first, still + once_more, third)[:2] == ("release", ["closed"])


def test_as_last_written_it_is_no_rework(decided):
    first = report(1, tests=SALTY, more=raised(SALTS))
    rejected = raised(SALTS, more=", raised_in: SL-1-001").replace("disposition: rework", "disposition: reject")
    assert decided(first, report(2, tests=LATER, reinspects="N1", washed=WASHED, more=rejected))[0] == "hold"


def test_by_conductivity_and_as_chloride_alike(decided, project):
    project(("expressed_as: chloride", "expressed_as: mixed salts by conductivity"))
    measured = "area: 12.5 cm2, volume: 3 ml, blank: 1.0 uS/cm, sample: {} uS/cm"
    first, second = (tests.replace("chloride: 10 mg/m2", measured.format(sample))
                     for tests, sample in ((CLEAN, 43), (LATER, 8)))  # fmt: skip
    assert decided(report(1, tests=first))[0] == "rework"
    assert decided(report(1, tests=first), report(2, tests=second))[0] == "hold"
    washed = report(2, tests=second, reinspects="N1", washed=WASHED, more=raised(SALTS))
    assert decided(report(1, tests=first), washed)[0] == "release"


@pytest.mark.parametrize("washed", [True, False])
def test_through_to_the_release_of_the_area(run, contract, monkeypatch, washed):
    """Fails, is washed, passes: issued, audited, released and handed over; not washed, it is released by none."""
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")
    text = (contract / "project.yaml").read_text("utf-8")
    project = text.replace("role: inspector}", "role: inspector, organisation: Body}")
    (contract / "project.yaml").write_text(project, "utf-8")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    primed = '    coated: "14:00"\nnot_inspected'
    first = report(1, tests=SALTY, more=raised(SALTS).replace(ACTION, "corrective_action: Not washed."))
    second = report(2, tests=LATER, reinspects="N1", washed=WASHED if washed else "").replace("not_inspected", primed)
    for number, day in enumerate((first, second), start=1):
        (contract / f"day{number}.yaml").write_text(day, "utf-8")
        assert run("check", f"day{number}.yaml").code in (0, 1)
        said = run("issue", f"day{number}.yaml", "--identity", "keys/i-tern.p12")
        assert said.code == 0, said.err
    trust = [part for root in sorted((contract / "keys").glob("*-root.pem")) for part in ("--trust", root)]
    said = json.loads(run("audit", "reports", *trust, "--index", "i.sqlite", "--json").out)
    codes = {one["code"] for one in said["problems"]} - {"issued-late"}
    rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
    assert [row["state"] for row in rows if row["area"] == "A-1"] == ["coated" if washed else "hold"]
    assert (codes == set()) is washed
    end = ("--identity", "keys/i-tern.p12", *trust, "--processes", "1")
    released = run("release", "A-1", "reports", *end, "--index", "i.sqlite", "-o", "a-1.pdf")
    assert (released.code == 0) is washed, released.err
    assert run("submittal", "reports", *end, "-o", "s.pdf").code == 0
