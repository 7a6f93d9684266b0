"""A decision on steel counts in a report that inspects it: recorded beside other areas alone, it closes nothing."""

import json

import pytest

from tests.unit.cli.test_closing import words_of
from tests.unit.cli.test_left_open import dated, project
from tests.unit.cli.test_reinspection import HIGH, NEXT, OLD, contract, decided, raised, report
from tests.unit.cli.test_reinspection_apart import ENGINEER, accepted

__all__ = ["contract", "decided", "project"]

RAISED = report(1, reading="4.2", more=raised(HIGH, "walk-out-missing"))
SINCE = ", raised_in: SL-1-001"
LATER = "2026-05-06"


@pytest.fixture(autouse=True)
def engineer(project):
    project(("people: {", ENGINEER), ("maximum: 48 h", "maximum: 96 h"))


def of_the_other(text):
    """The same entry, of the other area: that which failed is then not inspected, with the reason stated."""
    return (
        text.replace("- area: A-1", "- area: A-9")
        .replace("area: A-2, reason", "area: A-1, reason")
        .replace("A-9", "A-2")
    )


def decision(number=2, date=NEXT, *, way="use-as-is", status="closed"):
    """A report of the other area that records a decision on the first."""
    listed = raised(HIGH, "walk-out-missing", more=f"{SINCE}, evidence: letter 7")
    listed = listed.replace("rework, decided_by: ines, status: open", f"{way}, decided_by: eng, status: {status}")
    return of_the_other(report(number, **date)) + listed


def again(number=3):
    """The first blasting entered again, with good readings and no time."""
    return dated(number, LATER, blasted=OLD)


def states(run, name):
    result = json.loads(run("check", name, "--json").out)
    return {one["id"]: one["status"] for one in result["nonconformances"]}, result


@pytest.mark.parametrize("way", ["use-as-is", "repair", "reject", "rework"])
@pytest.mark.parametrize("listed", [True, False])
def test_it_closes_nothing_there_nor_later(run, decided, way, listed):
    second = decision(way=way)
    if not listed:
        second = second.replace("not_inspected: [{area: A-1, reason: scaffold not released}]\n", "")
        assert "A-1, reason" not in second
    assert decided(RAISED, second, again())[:2] == ("hold", ["open"])
    for name in ("day2.yaml", "day3.yaml"):
        assert states(run, name)[0] == {"N1": "open"}
    (told,) = [one for one in states(run, "day3.yaml")[1]["findings"] if one["code"] == "nonconformance-open"]
    if way == "rework":
        assert told["facts"] == {"nonconformance": "N1", "disposition": way}
    else:
        facts = {"nonconformance": "N1", "disposition": way, "report": "SL-1-002", "areas": ["A-1"]}
        assert told["facts"] == facts
        said = " ".join(run("check", "day2.yaml", "--all").out.split())
        assert f"N1 decides `{way}` on an area that this report does not inspect; the last that did is SL-1-001" in said
        assert f"record `{way}` in a report that inspects A-1, or in a revision of the last that did" in said


def test_nor_in_a_revision_of_that_report(run, decided):
    revised = decision().replace("revision: 0", "revision: 1")
    assert decided(RAISED, of_the_other(report(2, **NEXT)), revised, again())[:2] == ("hold", ["open"])


def test_where_the_steel_is_inspected_it_does(run, decided):
    beside_it = accepted(dated(3, LATER, blasted=OLD, more=raised(HIGH, "walk-out-missing", more=SINCE)))
    assert decided(RAISED, decision(), beside_it)[:2] == ("release", ["closed"])
    revised = RAISED.replace("revision: 0", "revision: 1")
    revised = revised.replace("rework, decided_by: ines, status: open", "use-as-is, decided_by: eng, status: closed")
    assert decided(revised.replace("status: closed", "status: closed, evidence: letter 7"))[0] == "release"


def test_once_decided_it_stays_so_until_it_is_decided_otherwise(run, decided):
    """A later report of the other area states the decision again, or another one."""
    first = accepted(RAISED)
    assert decided(first, decision(), again())[:2] == ("release", [])
    decided(first, decision(way="repair"))
    assert states(run, "day2.yaml")[0] == {"N1": "open"}


def test_one_on_two_areas_is_closed_once_both_are_inspected_beside_it(run, decided):
    surface = RAISED[RAISED.index("  - area: A-1") : RAISED.index("not_inspected")]
    both = RAISED.replace("not_inspected: [{area: A-2, reason: scaffold not released}]", surface.replace("A-1", "A-2"))
    both = both.replace("area: A-1, findings", "findings")
    record = raised(HIGH, "walk-out-missing", area="", more=f"{SINCE}, evidence: letter 7")
    record = record.replace("rework, decided_by: ines, status: open", "use-as-is, decided_by: eng, status: closed")
    second, third = report(2, **NEXT) + record, of_the_other(again()) + record
    assert decided(both, second)[1] == ["open"]
    (told,) = [one for one in states(run, "day2.yaml")[1]["findings"] if one["code"] == "decision-without-inspection"]
    assert told["place"] == {"area": "A-2"}
    assert decided(both, second, third)[1] == ["closed"]


def test_beside_an_entry_just_begun_it_is_told_as_that(run, decided, contract):
    second = decision()
    second = second.replace(
        "not_inspected: [{area: A-1, reason: scaffold not released}]\n", "  - area: A-1\n    apparatus: \n"
    )
    (contract / "day1.yaml").write_text(RAISED, "utf-8")
    (contract / "day2.yaml").write_text(second, "utf-8")
    status, result = states(run, "day2.yaml")
    assert status == {"N1": "open"}
    codes = [one["code"] for one in result["findings"]]
    assert ("nonconformance-open" in codes, "decision-without-inspection" in codes) == (True, False)
    said = " ".join(run("check", "day2.yaml", "--all").out.split())
    assert "finish the entry of A-1, to close N1 with `use-as-is`" in said
    assert "does not inspect" not in said


def test_every_reader_of_open_items_has_it_open(run, decided, contract):
    decided(RAISED, decision())
    assert run("draft", "day2.yaml", "-o", "draft.pdf").code == 0
    log = words_of(contract / "draft.pdf")
    assert "N1 is decided in SL-1-002 (`use-as-is`), which does not inspect A-1" in log
    assert "Nonconformances closed" not in log
    assert run("new", "--next", "day2.yaml", "--date", LATER).code == 0
    assert "N1" in (contract / f"{LATER}.yaml").read_text("utf-8")
    (contract / f"{LATER}.yaml").unlink()
    (contract / "reports").mkdir()
    assert run("issue", "day1.yaml", "day2.yaml", "--identity", "demo", "-o", "reports", "--processes", "1").code == 0
    run("submittal", "reports", "--identity", "demo", "-o", "submittal.pdf", "--processes", "1")
    assert "Nonconformances open 1" in words_of(contract / "submittal.pdf")
    said = run("audit", "reports", "--processes", "1", "--json")
    found = {one["code"]: one["area"] for one in json.loads(said.out)["problems"]}
    assert found["nonconformance-never-closed"] == "A-1"


@pytest.mark.parametrize("day", [1, 2])
def test_steel_that_was_rejected_is_not_good_because_it_was_decided(decided, day):
    """Measured again it is as bad as before; blasted again it is other steel."""
    rejected = accepted(RAISED).replace("use-as-is", "reject")
    second = accepted(dated(2, LATER, blasted=OLD, more=raised(HIGH, "walk-out-missing", more=SINCE)))
    days = (rejected,) if day == 1 else (RAISED, second.replace("use-as-is", "reject"))
    measured, blasted = dated(3, LATER, blasted=OLD), dated(3, LATER)
    assert decided(*days, measured)[0] == "hold"
    assert decided(*days)[0] == ("rework" if day == 1 else "hold")
    assert decided(*days, blasted)[0] == "release"
