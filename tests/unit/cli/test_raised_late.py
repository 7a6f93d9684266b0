"""A nonconformance raised for what an earlier report found is one of that report, and is reinspected in its own."""

import json

import pytest

from tests.unit.cli.test_left_open import YESTERDAY, dated, project
from tests.unit.cli.test_reinspection import HIGH, HIGH_SAID, contract, decided, raised, report
from tests.unit.cli.test_reinspection_apart import ENGINEER

__all__ = ["contract", "decided", "project"]

FAILED = report(1, reading="4.2")
"""The first report fails, and its nonconformance is forgotten."""
HERE = raised(HIGH, "walk-out-missing")


def late(number=2, date="2026-05-05", **more):
    """The same pot blasts again the next day, which is good, and the nonconformance is raised there."""
    return dated(number, date, **{"reinspects": "N1", "more": HERE, **more})


@pytest.fixture
def blank(project):
    project(("maximum: 48 h", "maximum: 2000 h"))


@pytest.mark.parametrize("codes", [(HIGH,), (HIGH, "walk-out-missing")])
def test_it_is_reinspected_where_it_is_raised(decided, blank, codes):
    assert decided(FAILED, late(more=raised(*codes))) == ("release", ["closed"], [])


def test_not_where_the_steel_was_not_blasted_again(decided, blank):
    decision, states, (held,) = decided(FAILED, late(blasted=YESTERDAY))
    assert (decision, states) == ("hold", ["open"])
    assert f"{HIGH_SAID} of SL-1-001 at location 1 is of" in held


def test_a_later_report_knows_what_it_was_raised_for(run, decided, blank):
    """Raised in the second report and not reinspected there; the third enters its steel again, or other areas."""
    second = late(reinspects="")
    again = ("2026-05-05T07:00+00:00", "2026-05-05T09:00+00:00")
    assert decided(FAILED, second)[:2] == ("hold", ["open"])
    assert decided(FAILED, second, dated(3, "2026-05-06", blasted=again, reinspects="N1")) == (
        "release",
        ["closed"],
        [],
    )
    other = dated(3, "2026-05-06").replace("- area: A-1", "- area: A-2").replace("area: A-2, r", "area: A-1, r")
    decided(FAILED, late(), other)
    assert json.loads(run("check", "day3.yaml", "--json").out)["nonconformances"] == []  # the second closed it


def test_what_nobody_at_hand_found_is_not_said_to_be_found_here(run, decided, blank):
    decision, states, (held,) = decided(report(1), late(more=raised(HIGH)))
    assert (decision, states) == ("hold", ["open"])
    assert "in the report that found it" not in held
    assert f"no finding of that report or of an earlier one at hand is {HIGH_SAID} of SL-1-002" in held


def test_what_this_report_found_is_not_reinspected_in_it(decided, blank):
    """It fails again at another place: that is of this report, whatever an earlier one had."""
    decision, states, _ = decided(FAILED, late(reading="4.3"))
    assert (decision, states) == ("rework", ["open"])


@pytest.mark.parametrize("status", ["open", "closed, evidence: letter"])
def test_by_another_body_it_neither_closes_nor_accepts(decided, project, blank, status):
    """Who may not undo what the first report found does not do so by raising the nonconformance himself."""
    project(("people: {", ENGINEER))
    project(("people: {", "people: {bo: {name: B. O., role: surveying inspector, organisation: Others Ltd}, "))
    text = late().replace("inspector: ines", "inspector: bo", 1)
    way = "rework, decided_by: ines, status: open"
    assert way in text
    text = text.replace(way, f"use-as-is, decided_by: eng, status: {status}" if "closed" in status else way)
    decision, states, (held,) = decided(FAILED, text)
    assert (decision, states) == ("hold", ["open"])
    assert "is not named in SL-1-001" in held
