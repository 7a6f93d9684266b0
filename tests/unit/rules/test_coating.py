"""Time to coat: judged where it is known, stated where the steel may be coated, found where it has passed."""

import datetime as dt
from decimal import Decimal

import pytest

from reportgen.results import Amount, LeftOut, Place, Task
from reportgen.results.codes.coating import Coated, NotPrimed, PartBlasted, PrimedLate, TimesStated, ToCoat
from reportgen.results.facts import NOTHING
from reportgen.rules import evaluate
from reportgen.rules.coating import prime_by
from reportgen.rules.standing import coating_deadlines
from tests.unit.rules.factory import DAY, GOOD, codes, evaluated, finding, job, surface

CHECKS = [DAY["gauge_checks"][0], DAY["gauge_checks"][1] | {"time": "13:30"}]
COAT = {"clause": "1.7", "maximum": "6 h"}
SIX = Amount(Decimal(6), "h")


def _coated(coated, *, limit=COAT, shift=("06:00", "18:00"), zone="UTC", date="2026-05-14", **blasted):
    times = {"start": "07:00", "end": "09:00", "abrasive": "grit 1", **blasted}
    record = surface(blasted=times, **({"coated": coated} if coated else {}))
    return evaluated(
        spec={"specification.time_to_coat": limit, "project.time_zone": zone}, surfaces=[record],
        day={"report.shift": {"start": shift[0], "end": shift[1]}, "report.date": date, "gauge_checks": []},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("coated", "hours", "verdict"),
    [("15:00", "6.00", "conforms"), ("15:01", "6.02", "does not conform"), ("10:30", "1.50", "conforms")],
)
def test_time_to_coat(coated, hours, verdict):
    evaluation = _coated(coated)
    (result,) = evaluation.coating_times
    assert (str(result.hours), str(result.limit), result.verdict, result.coat_by) == (hours, "6.00", verdict, None)
    if verdict != "conforms":
        found = finding(evaluation, "time-to-coat-exceeded")
        assert found.facts == PrimedLate(Amount(Decimal(hours), "h"), coated, SIX)
        assert (found.place, found.clause, found.severity) == (Place("A"), "1.7", "nonconformance")


EARLY = {"report.shift": {"start": "06:00", "end": "14:00"}, "gauge_checks": CHECKS}
"""A shift that ends before the six hours from 09:00 are over."""


def _bare(*texts, day=EARLY, at=None, **given):
    return evaluate(job(*texts, spec={"specification.time_to_coat": COAT}, day=day, **given), at=at)


def test_a_released_area_not_coated_yet_gets_a_time():
    evaluation = _bare()
    assert (evaluation.coating_times[0].verdict, evaluation.coating_times[0].coat_by) == ("not evaluated", "15:00")
    assert evaluation.measure_next == (Task("coat-by", Place("A"), ToCoat("15:00", SIX)),)
    assert (codes(evaluation), evaluation.areas[0].decision) == ([], "release")


@pytest.mark.parametrize(
    ("text", "decision"), [("1 a x1 2.2; 1 b x1 3.0", "hold"), ("1 a x1 4.1; 1 b x1 4.1", "rework")]
)
def test_steel_that_is_not_released_gets_none(text, decision):
    evaluation = _bare(text)
    assert (evaluation.areas[0].decision, evaluation.coating_times[0].coat_by) == (decision, None)
    assert "coat-by" not in [step.code for step in evaluation.measure_next if isinstance(step, Task)]


def test_a_time_that_has_passed_by_the_end_of_the_shift_is_a_finding():
    evaluation = _bare(day={})
    found = finding(evaluation, "coating-overdue")
    assert found.facts == NotPrimed("15:00", SIX)
    assert (found.area, found.clause, found.severity) == ("A", "1.7", "observation")
    assert (evaluation.coating_times[0].verdict, evaluation.coating_times[0].coat_by) == ("inconclusive", None)
    assert evaluation.areas[0].decision == "hold"
    assert evaluation.measure_next == (
        Task("prepare-again", Place("A"), NotPrimed("15:00", SIX), answers="coating-overdue"),
    )


@pytest.mark.parametrize("end", ["15:00", "14:59"])
def test_the_very_minute_is_still_in_time(end):
    assert _bare(day={"report.shift": {"start": "06:00", "end": end}, "gauge_checks": CHECKS}).areas[0].decision == (
        "release"
    )


def test_work_beyond_the_end_of_the_shift_is_known_too():
    over = {**EARLY, "gauge_checks": [*CHECKS, CHECKS[1] | {"time": "15:01"}]}
    assert "coating-overdue" in codes(_bare(day=over))
    timed = "1 a x1 3.1; 1 b x1 2.9 15:01"
    assert "coating-overdue" in codes(_bare(timed, day=EARLY))


@pytest.mark.parametrize(
    ("hour", "late"), [("05:59", True), ("06:00", False), ("12:00", False), ("15:01", True), ("18:00", True)]
)
def test_while_the_shift_lasts_its_rest_has_not_happened(hour, late):
    """Before and after the shift the present moment says nothing: the day file speaks for the whole shift."""
    at = dt.datetime.fromisoformat(f"2026-05-14T{hour}+00:00")
    morning = {"gauge_checks": [CHECKS[0]]}
    assert ("coating-overdue" in codes(_bare(day=morning, at=at))) == late


def test_each_of_two_parts_is_coated_by_its_own_time():
    both = [surface(), surface(apparatus="pot 2", blasted={"start": "08:00", "end": "10:00", "abrasive": "grit 1"})]
    evaluation = _bare(GOOD, GOOD, surfaces=both)
    assert [time.coat_by for time in evaluation.coating_times] == ["15:00", "16:00"]
    assert [step.facts for step in evaluation.measure_next] == [
        ToCoat("15:00", SIX, (PartBlasted("pot 1"),)), ToCoat("16:00", SIX, (PartBlasted("pot 2"),)),
    ]  # fmt: skip
    made = job(GOOD, GOOD, surfaces=both, spec={"specification.time_to_coat": COAT}, day=EARLY)
    assert [one.coat_by for one in coating_deadlines(made, evaluation)] == ["15:00"], "the area's is the earliest"
    late = _bare(GOOD, GOOD, surfaces=both, day={})
    assert [found.facts for found in late.findings] == [
        NotPrimed("15:00", SIX, PartBlasted("pot 1")), NotPrimed("16:00", SIX, PartBlasted("pot 2")),
    ]  # fmt: skip


def test_parts_of_one_time_are_coated_by_it_together():
    blasted = {"start": "08:00", "end": "09:00", "abrasive": "grit 1"}
    evaluation = _bare(GOOD, GOOD, surfaces=[surface(), surface(apparatus="pot 2", blasted=blasted)])
    assert [time.coat_by for time in evaluation.coating_times] == ["15:00", "15:00"]
    assert [step.facts for step in evaluation.measure_next] == [ToCoat("15:00", SIX)]


def test_a_primer_recorded_once_for_what_two_pots_blasted_leaves_the_other_open():
    """Whether it went under the same primer, the record does not say; nobody releases steel that may be bare."""
    again = {"start": "10:00", "end": "12:00", "abrasive": "grit 1"}
    both = [surface(), surface(apparatus="pot 2", blasted=again, coated="16:00")]
    evaluation = _bare(GOOD, GOOD, surfaces=both, day={})
    assert finding(evaluation, "coating-overdue").facts == NotPrimed("15:00", SIX, PartBlasted("pot 1"))
    assert evaluation.areas[0].decision == "hold"
    assert [time.coat_by for time in evaluation.coating_times] == [None, None]


def test_a_shift_past_midnight():
    evaluation = _coated("01:30", shift=("18:00", "06:00"), start="20:00", end="23:00")
    (result,) = evaluation.coating_times
    assert (str(result.hours), result.verdict) == ("2.50", "conforms")


@pytest.mark.parametrize(("end", "coat_by", "overdue"), [("04:00", "2026-05-15 05:00", 0), ("06:00", None, 1)])
def test_bare_steel_in_a_shift_past_midnight(end, coat_by, overdue):
    night = {
        "report.shift": {"start": "18:00", "end": end}, "tape_checks.0.time": "18:20",
        "gauge_checks": [CHECKS[0] | {"time": "18:10"}, CHECKS[1] | {"time": "03:30"}],
    }  # fmt: skip
    blasted = {"start": "20:00", "end": "23:00", "abrasive": "grit 1"}
    evaluation = _bare(surfaces=[surface(blasted=blasted)], day=night)
    assert (evaluation.coating_times[0].coat_by, codes(evaluation).count("coating-overdue")) == (coat_by, overdue)
    if overdue:
        assert finding(evaluation, "coating-overdue").facts == NotPrimed("2026-05-15 05:00", SIX)


def test_the_night_the_clocks_change():
    """Oslo, 29 March 2026: 02:00 becomes 03:00, so 23:30 to 05:30 are five hours."""
    evaluation = _coated(
        "05:30", shift=("18:00", "07:00"), zone="Europe/Oslo", date="2026-03-28", start="20:00", end="23:30"
    )
    assert str(evaluation.coating_times[0].hours) == "5.00"
    back = _coated("05:30", shift=("18:00", "07:00"), zone="Europe/Oslo", date="2026-10-24", start="20:00", end="23:30")
    assert (str(back.coating_times[0].hours), back.coating_times[0].verdict) == ("7.00", "does not conform")


def test_a_limit_in_minutes_prints_digits_that_show_the_verdict():
    """21 minutes are 0.35 h, above 20.99 min; 20 minutes are 0.333… h and print as 0.33, within 0.3333… h."""
    above = _coated("09:21", limit={"maximum": "20.99 min"}).coating_times[0]
    assert (str(above.hours), above.verdict) == ("0.35", "does not conform")
    equal = _coated("09:20", limit={"maximum": "20 min"}).coating_times[0]
    assert (str(equal.hours), equal.verdict) == ("0.33", "conforms")
    # 361 minutes are 6.0166… h: as 6.02 they would be above 6.019 h
    close = _coated("15:01", limit={"maximum": "6.019 h"}).coating_times[0]
    assert (str(close.hours), close.verdict) == ("6.017", "conforms")


def test_no_limit_on_the_time_to_coat():
    evaluation = evaluated(surfaces=[surface(coated="12:00")])
    assert (str(evaluation.coating_times[0].hours), evaluation.coating_times[0].verdict) == ("3.00", "not evaluated")
    assert evaluation.coating_times[0].coat_by is None
    assert LeftOut("time-to-coat-without-limit", Place(), NOTHING) in evaluation.not_evaluated


@pytest.mark.parametrize(("blasted", "coated"), [({"end": "06:30"}, None), ({}, "08:00")])
def test_times_that_contradict_each_other(blasted, coated):
    evaluation = _coated(coated, **blasted)
    found = finding(evaluation, "times-contradictory")
    end = blasted.get("end", "09:00")
    assert found.facts == TimesStated("07:00", end, coated)
    assert evaluation.coating_times[0].verdict == "inconclusive"


def test_an_area_coated_without_release_is_noted():
    evaluation = evaluated("1 a x1 2.2; 1 b x1 3.0", surfaces=[surface(coated="12:00")])
    found = finding(evaluation, "coated-without-release")
    assert (found.facts, found.place, found.severity) == (Coated("12:00"), Place("A"), "observation")
    assert "coated-without-release" not in codes(evaluated(surfaces=[surface(coated="12:00")]))


# Until when an area may be primed: what a release slip says


def _blasted(end, area="A", **given):
    return surface(area=area, blasted={"start": "07:00", "end": end, "abrasive": "grit 1"}, **given)


def test_an_area_is_primed_before_the_time_of_its_earliest_steel_is_over():
    """Ends 08:00 and 09:30 on A, 07:30 on B, six hours: 14:00, not 15:30 and not 13:30."""
    surfaces = [_blasted("09:30", apparatus="pot 2"), _blasted("08:00"), _blasted("07:30", area="B")]
    found = prime_by(job(spec={"specification.time_to_coat": COAT}, surfaces=surfaces), "A")
    assert f"{found:%H:%M}" == "14:00"
    assert prime_by(job(surfaces=surfaces), "A") is None


def test_steel_that_is_primed_says_nothing_of_when_the_rest_must_be():
    """The earliest steel is primed: the rest has until 15:30."""
    surfaces = [_blasted("08:00", coated="11:00"), _blasted("09:30", apparatus="pot 2")]
    spec = {"specification.time_to_coat": COAT}
    day = {"report.shift": {"start": "06:00", "end": "14:00"}, "gauge_checks": CHECKS}
    evaluation = evaluated(GOOD, GOOD, spec=spec, surfaces=surfaces, day=day)
    (step,) = [one for one in evaluation.measure_next if one.code == "coat-by"]
    assert (step.facts.until, [one.apparatus for one in step.facts.bare]) == ("15:30", ["pot 2"])


HIGH = "2 a x1 4.4; 2 b x1 4.4"


@pytest.mark.parametrize(
    ("coated", "later", "noted"),
    [("09:30", "10:00", []), ("10:30", "10:00", ["10:30"])],
    ids=["blasted since", "side by side"],
)
def test_steel_primed_before_other_steel_was_blasted_that_fails_was_not_coated_without_release(coated, later, noted):
    first = surface(coated=coated)
    other = surface(apparatus="pot 2", blasted={"start": later, "end": "11:00", "abrasive": "grit 1"})
    found = evaluated("1 a x1 3.0; 1 b x1 3.0", HIGH, surfaces=[first, other])
    assert found.areas[0].decision == "rework"
    assert [one.facts.coated for one in found.findings if one.code == "coated-without-release"] == noted
