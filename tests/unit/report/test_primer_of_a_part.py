"""The primer of one part of an area is judged by what concerns that part: its steel, its time, its conditions."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from reportgen.job import Slip
from reportgen.job.template import Template
from reportgen.report.actions import actions
from reportgen.report.area_facts import area_facts
from reportgen.report.context import Context
from reportgen.report.shift import area_lanes, chart_in_words, shift_chart
from reportgen.rules import evaluate
from reportgen.words.catalogue import catalogue
from tests.golden import sample_evaluation as sample
from tests.unit.report.test_page_1 import FINE, LIMITS, TOOLS
from tests.unit.rules.factory import DAY, GOOD, job, surface

SECOND = "2 a x1 3.2; 2 b x1 2.8"
HIGH = "2 a x1 4.4; 2 b x1 4.4"
BAD = FINE | {"time": "15:40", "humidity": "94 %"}
LATER = {"start": "14:00", "end": "15:30", "abrasive": "grit 1"}
EARLY = {"start": "07:10", "end": "08:20", "abrasive": "grit 1"}


def parts(second, *, text=SECOND, first=GOOD, log=(FINE,), limit="8 h", language="en", slips=(), **day):
    """Pot 1 blasted from 07:00 to 09:00, its steel is good and was primed at 12:50; ``second`` is of pot 2."""
    made = job(
        first, text, surfaces=[surface(coated="12:50"), surface(apparatus="pot 2", **second)],
        spec={"specification.conditions": LIMITS, "specification.time_to_coat": {"maximum": limit}, **TOOLS},
        day={"conditions": list(log), **day},
    )  # fmt: skip
    made = replace(made, slips=slips)
    return Context(made, evaluate(made), sample.ISSUE, Template(), catalogue(language), 500.0, 700.0, None, {})


def said_of(context):
    """The verdict of each triangle, that of each line of the primer with what it adds, and those without release."""
    (area,), (lane,) = context.evaluation.areas, area_lanes(context)
    facts = [one for one in area_facts(context, area) if one.label == context.words("fact.primer")]
    without = [one.facts.coated for one in context.evaluation.findings if one.code == "coated-without-release"]
    return (
        [verdict for _, verdict in lane.primed],
        [(one.verdict, one.rest.partition("; ")[2]) for one in facts],
        without,
    )


def test_conditions_while_one_part_was_primed_are_not_held_against_the_primer_of_another():
    bad = "in conditions outside the limits; without release"
    context = parts({"blasted": LATER, "coated": "17:40"}, log=(FINE, BAD))
    assert said_of(context) == (
        ["conforms", "does not conform"], [("conforms", ""), ("does not conform", bad)], ["17:40"],
    )  # fmt: skip
    told = chart_in_words(context, shift_chart(context))
    assert "17:40 in conditions outside the limits, 17:40 without release" in told
    assert "12:50 " not in told


@pytest.mark.parametrize(
    ("second", "log", "told"),
    [
        ({"blasted": EARLY, "coated": "12:50"}, (FINE, BAD | {"time": "12:40"}), ["does not conform"] * 2),
        ({"blasted": LATER}, (FINE, BAD | {"time": "12:40"}), ["does not conform"]),
        ({"blasted": EARLY, "coated": "17:40"}, (FINE | {"humidity": "94 %"},), ["does not conform"] * 2),
    ],
    ids=["both in it", "the first alone", "all day"],
)
def test_conditions_while_a_part_was_primed_are_held_against_it(second, log, told):
    context = parts(second, log=log, limit="12 h")
    assert said_of(context)[0] == told


@pytest.mark.parametrize(
    ("end", "without"), [("08:20", []), ("04:30", ["12:50"])], ids=["passed after the primer", "passed before it"]
)
def test_the_time_of_another_part_counts_from_when_it_passed(end, without):
    """Of the bare steel of pot 2 eight hours are over at 16:20, or at 12:30, when nothing of the area was released."""
    context = parts({"blasted": EARLY | {"start": "04:00", "end": end}})
    assert context.evaluation.areas[0].decision == "hold"
    assert said_of(context)[2] == without
    (lane,) = area_lanes(context)
    assert lane.primed[0][1] == ("inconclusive" if without else "conforms")


def test_a_primer_that_came_late_on_one_part_is_not_held_against_that_of_another():
    context = parts({"blasted": EARLY, "coated": "17:40"})
    assert said_of(context) == (
        ["conforms", "does not conform"], [("conforms", ""), ("does not conform", "without release")], ["17:40"],
    )  # fmt: skip


def test_what_is_of_all_parts_is_held_against_the_primer_of_each():
    """A gauge that failed its check after both were read, and a test that the area as a whole lacks."""
    failed = {"gauge_checks.1.shim_reading": "3.9 mil"}
    context = parts({"blasted": EARLY, "coated": "15:00"}, **failed)
    assert said_of(context)[2] == ["12:50", "15:00"]
    assert "conforms" not in said_of(context)[0]


def test_a_gauge_that_failed_after_it_was_good_again_is_held_against_what_was_read_since():
    """A good check at noon stands between the readings of pot 1 and the check that failed, and none after pot 2's."""
    checks = [DAY["gauge_checks"][0], DAY["gauge_checks"][0] | {"time": "12:00"}, DAY["gauge_checks"][1]]
    checks[2] = checks[2] | {"shim_reading": "3.9 mil"}
    first, second = (
        "; ".join(f"{row} {at}" for row in text.split("; ")) for text, at in ((GOOD, "11:30"), (SECOND, "15:40"))
    )
    context = parts({"blasted": LATER, "coated": "16:30"}, text=second, first=first, gauge_checks=checks)
    assert "gauge-check-failed" in [one.code for one in context.evaluation.findings]
    assert said_of(context)[0] == ["conforms", "inconclusive"]
    assert said_of(context)[2] == ["16:30"]


def test_steel_that_failed_before_another_part_was_primed_left_nothing_of_the_area_released():
    context = parts({"blasted": EARLY}, text=HIGH)
    assert said_of(context)[2] == ["12:50"]


@pytest.mark.parametrize(
    ("start", "found", "does"),
    [
        ("14:00", "told-before-tested", "what was blasted since is not: do not prime that, or stop"),
        ("12:00", "told-without-release", "it is not: do not prime, or stop"),
    ],
)
def test_who_was_told_of_good_steel_was_not_told_of_what_was_blasted_since(start, found, does):
    told = {"told_released": [{"area": "A", "to": "painter", "time": "12:30"}]}
    context = parts({"blasted": LATER | {"start": start}}, text=HIGH, **told)
    assert context.evaluation.areas[0].decision == "rework"
    codes = [one.code for one in context.evaluation.findings if one.code.startswith("told-")]
    assert codes == [found]
    first = next(iter(actions(context)))
    assert (first.what, first.when) == (f"Tell painter, told at 12:30 that A is released, that {does}", "at once")


def told_of(at, *, coated=None, humid_at=None, limit="6 h", **read):
    """Codes on telling, and what is to be done at once, of steel blasted until 09:00 and told of as released."""
    log = [FINE, *([FINE | {"time": humid_at, "humidity": "94 %"}] if humid_at else [])]
    made = job(
        GOOD, surfaces=[surface(coated=coated, **read)],
        spec={"specification.conditions": LIMITS, "specification.time_to_coat": {"maximum": limit}, **TOOLS},
        day={"conditions": log, "told_released": [{"area": "A", "to": "painter", "time": at}]},
    )  # fmt: skip
    evaluation = evaluate(made)
    context = Context(made, evaluation, sample.ISSUE, Template(), catalogue("en"), 500.0, 700.0, None, {})
    assert evaluation.areas[0].decision != "release"
    codes = [one.code for one in evaluation.findings if one.code.startswith("told-")]
    return codes, [one.what for one in actions(context) if one.when == "at once"]


NO_MORE = "Tell painter, told at {} that A is released, that it no longer is: do not prime, or stop"


def test_who_was_told_before_the_time_passed_was_told_rightly_and_is_told_that_it_is_over():
    assert told_of("10:00") == ([], [NO_MORE.format("10:00")])
    wrong = ["Tell painter, told at 15:30 that A is released, that it is not: do not prime, or stop"]
    assert told_of("15:30") == (["told-without-release"], wrong)


def test_who_was_told_before_the_weather_failed_was_told_rightly():
    assert told_of("12:00", coated="12:50", humid_at="12:40") == ([], [])
    codes, done = told_of("12:45", coated="12:50", humid_at="12:40")
    assert (codes, len(done)) == (["told-without-release"], 1)
    codes, _ = told_of("10:00", coated="12:50", humid_at="08:00")
    assert codes == ["told-without-release"], "while the steel was blasted"


def test_who_was_told_before_the_steel_was_tested_was_not_told_rightly_whatever_came_later():
    dust = {"dust": [{"location": "1", "quantity": "1", "size": "1", "time": "10:30"}]}
    assert told_of("10:00", **dust)[0] == ["told-without-release"]


def test_what_was_told_of_steel_that_failed_later_is_told_back():
    """The gauge with which the steel was read that the painter was told of fails its check afterwards."""
    told = {"told_released": [{"area": "A", "to": "painter", "time": "12:30"}]}
    context = parts({"blasted": LATER}, **told, **{"gauge_checks.1.shim_reading": "3.9 mil"})
    assert "told-without-release" in [one.code for one in context.evaluation.findings]


@pytest.mark.parametrize(("text", "verdict", "rest"), [
    (HIGH, "does not conform", "on a release slip that is not upheld"), (SECOND, "conforms", ""),
])  # fmt: skip
def test_a_primer_on_a_slip_that_is_not_upheld_is_no_good_primer(text, verdict, rest):
    first = parts({"blasted": EARLY, "coated": "15:00"}, text=text)
    slip = Slip("slip.pdf", "A", datetime(2026, 5, 14, 11, tzinfo=UTC), first.job, first.evaluation)
    marks, facts, without = said_of(parts({"blasted": EARLY, "coated": "15:00"}, text=text, slips=(slip,)))
    assert (marks[1], facts[1], without) == (verdict, (verdict, rest), [])


def test_a_primer_that_stands_in_the_entry_of_what_was_blasted_off_is_that_of_the_steel_that_stands():
    steel = [surface(coated="16:30"), surface(blasted=LATER, blasted_again=["pot 1"])]
    made = job(GOOD, HIGH, surfaces=steel, spec={"specification.time_to_coat": {"maximum": "8 h"}})
    context = Context(made, evaluate(made), sample.DRAFT, Template(), catalogue("en"), 500.0, 700.0, None, {})
    marks, facts, without = said_of(context)
    assert without == ["16:30"]
    assert facts == [("does not conform", "without release")]
    assert marks == ["does not conform"]
