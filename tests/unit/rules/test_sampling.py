"""Sampling: each apparatus, each period and each surface by itself; who would be released wrongly, who held wrongly."""

import pytest

from reportgen.results import SamplingPart, Word
from reportgen.results.codes.rules import SAMPLING
from reportgen.results.codes.sampling import (
    ChangeNotMeasured,
    MoreOnPart,
    PartShort,
    PerArea,
    PerShift,
    Plan,
    Unmeasured,
)
from reportgen.results.facts import NOTHING, Place
from reportgen.results.values import Period
from tests.unit.rules.factory import codes, evaluated, finding, surface

SINGLE = {"specification.profile.overlap_rule": "single-grade"}
PLAN = "specification.sampling"
SHIFTS = {**SINGLE, PLAN: {"clause": "1.3", "plan": "per-shift-and-apparatus", "locations": "3"}}
LONG = {"report.shift": {"start": "06:00", "end": "22:00"}, "gauge_checks.1.time": "21:50"}
TOTALS = {
    "fixed": {"plan": "fixed", "locations": "6"},
    "area-rate": {"plan": "area-rate", "locations": "6", "first_area": "40 m2"},
    "length-rate": {"plan": "length-rate", "locations": "6", "length": "15 m"},
}
LENGTH = {"structures.0.areas.0.weld_length": "15 m"}


def _rows(count, first=1, at=None, value="3.0"):
    time = f" {at}" if at else ""
    return "; ".join(f"{n} {spot} x1 {value}{time}" for n in range(first, first + count) for spot in "ab")


def _pots(*texts, spec=SHIFTS, **given):
    surfaces = [surface(apparatus=f"pot {n}") for n in range(1, len(texts) + 1)]
    return evaluated(*texts, spec=spec, surfaces=surfaces, **given)


def _parts(evaluation):
    """What each finding on a part says of it: apparatus, period, taken, unplaced."""
    found = [one.facts for one in evaluation.findings if isinstance(one.facts, PartShort)]
    return [(one.apparatus, one.period, one.taken, one.unplaced) for one in found]


def _steps(evaluation):
    """Code, count and apparatus of what is to be measured."""
    return [(step.code, step.count, step.apparatus) for step in evaluation.measure_next]


BEFORE, AFTER = Period("06:00", "18:00"), Period("18:00", "22:00")


def _blasted(start, end, **changes):
    return surface(blasted={"start": start, "end": end, "abrasive": "grit 1"}, **changes)


def test_no_apparatus_stands_for_another():
    """Six locations on one and none on the other: the total is right, and the area is not."""
    evaluation = _pots(_rows(6), "")
    (area,) = evaluation.areas
    assert (area.required_locations, area.n_locations, area.verdict, area.decision) == (6, 6, "inconclusive", "hold")
    assert area.sampling == (SamplingPart("pot 1", None, 3, 6), SamplingPart("pot 2", None, 3, 0))
    found = finding(evaluation, "surface-not-measured")
    assert found.facts == Unmeasured("pot 2", "07:00", "09:00", 3)
    assert (found.area, found.clause, found.place) == ("A", "1.3", Place("A"))
    (step,) = evaluation.measure_next
    assert (step.code, step.count, step.apparatus) == ("measure-part", 3, "pot 2")
    assert (step.place, step.answers) == (Place("A"), "surface-not-measured")
    assert (step.facts.plan, step.facts.advice.grade) == (Plan(PerShift(3, 2)), Word("tape-grade", "extra coarse"))


def test_too_few_on_one_apparatus_are_too_few():
    evaluation = _pots(_rows(5), _rows(1))
    found = finding(evaluation, "locations-missing")
    assert found.facts == PartShort("pot 2", None, 1, 3, Plan(PerShift(3, 2)))
    (step,) = evaluation.measure_next
    assert (step.code, step.count, step.apparatus, step.answers) == ("measure-part", 2, "pot 2", "locations-missing")
    assert step.facts == MoreOnPart("pot 2", None, Plan(PerShift(3, 2)), None, step.facts.advice)
    assert evaluation.areas[0].decision == "hold"


def test_both_lacking_are_both_named():
    evaluation = _pots(_rows(2), _rows(1))
    assert _parts(evaluation) == [("pot 1", None, 2, None), ("pot 2", None, 1, None)]
    assert _steps(evaluation) == [("measure-part", 1, "pot 1"), ("measure-part", 2, "pot 2")]


def test_enough_on_each_is_enough():
    evaluation = _pots(_rows(3), _rows(3))
    assert codes(evaluation) == []
    assert evaluation.areas[0].decision == "release"
    assert [part.taken for part in evaluation.areas[0].sampling] == [3, 3]


def test_the_rule_says_how_it_is_counted():
    rules = [(one.topic, one.rule, one.clause) for one in evaluated(_rows(3), spec=SHIFTS).rules]
    assert ("sampling", SAMPLING["per-shift-and-apparatus"].of(NOTHING), "1.3") in rules
    fixed = [one.rule for one in evaluated(_rows(3)).rules if one.topic == "sampling"]
    assert fixed == [SAMPLING["fixed"].of(NOTHING)]


def test_one_apparatus_alone_has_no_parts():
    (area,) = _pots(_rows(3)).areas
    assert area.sampling == ()


@pytest.mark.parametrize("plan", TOTALS)
def test_a_plan_for_the_whole_area_does_not_clear_a_surface_that_nobody_measured(plan):
    spec = {**SINGLE, **LENGTH, PLAN: TOTALS[plan]}
    evaluation = _pots(_rows(6), "", spec=spec)
    by_size = plan == "area-rate"  # the sizes are asked for too
    unsized = ["locations-missing"] * 2 * by_size
    sizes = [("state-size", None, "pot 1"), ("state-size", None, "pot 2")] * by_size
    assert codes(evaluation) == ["surface-not-measured", *unsized]
    assert (evaluation.areas[0].required_locations, evaluation.areas[0].decision) == (6, "hold")
    assert _steps(evaluation) == [("measure-part", 1, "pot 2"), *sizes]
    assert codes(_pots(_rows(5), _rows(1), spec=spec)) == unsized
    short = _pots(_rows(4), "", spec=spec)
    assert codes(short) == ["surface-not-measured", *unsized, "locations-missing"]
    assert _steps(short) == [("measure-part", 1, "pot 2"), *sizes, ("measure-area", 1, None)]


def test_a_plan_with_fewer_locations_than_surfaces_needs_one_on_each():
    spec = {**SINGLE, PLAN: {"plan": "fixed", "locations": "1"}}
    evaluation = _pots(_rows(1), "", "", spec=spec)
    assert evaluation.areas[0].required_locations == 3
    assert codes(evaluation) == ["surface-not-measured"] * 2
    assert evaluation.measure_next[0].facts.plan == Plan(PerArea(1), least=1)


def test_nothing_measured_at_all_is_said_once():
    assert codes(evaluated("", spec=SHIFTS)) == ["locations-missing"]
    both = _pots("", "")
    assert codes(both) == ["surface-not-measured"] * 2
    assert [step.count for step in both.measure_next] == [3, 3]


def test_a_plan_by_size_without_a_size_still_names_the_surface_left_out():
    spec = {**SINGLE, PLAN: TOTALS["length-rate"]}
    assert codes(_pots(_rows(6), "", spec=spec)) == ["surface-not-measured", "locations-missing"]


def test_locations_of_a_walk_out_stand_for_no_apparatus():
    walk = {"failing": "1", "interval": "0.5 m", "directions": [{"towards": "north", "locations": ["2", "3"]}]}
    surfaces = [surface(profile__walk_outs=[walk]), surface(apparatus="pot 2")]
    evaluation = evaluated(f"{_rows(1, value='1.5')}; {_rows(2, 2)}", _rows(3), spec=SHIFTS, surfaces=surfaces)
    assert _parts(evaluation) == [("pot 1", None, 1, None)]


# Failing locations and changes of the process


def test_further_tests_belong_to_the_apparatus_that_failed():
    spec = {**SHIFTS, PLAN: {**SHIFTS[PLAN], "additional_per_failing": "2"}}
    evaluation = _pots(f"{_rows(2)}; {_rows(1, 3, value='1.5')}", _rows(5), spec=spec)
    assert [part.required for part in evaluation.areas[0].sampling] == [5, 3]
    found = finding(evaluation, "locations-missing")
    assert found.facts == PartShort("pot 1", None, 3, 5, Plan(PerShift(3, 2), each=2, failing=1))


def test_a_change_of_the_process_asks_the_apparatus_that_changed():
    """Two changes need three locations; the plan asks for two on each."""
    changes = [
        {"time": "08:00", "change": "new nozzle", "before": "1", "after": "2"},
        {"time": "08:30", "change": "new abrasive", "before": "2", "after": "3"},
    ]
    spec = {**SINGLE, PLAN: {"plan": "per-shift-and-apparatus", "locations": "2"}}
    surfaces = [surface(process_changes=changes), surface(apparatus="pot 2")]
    evaluation = evaluated(_rows(2), _rows(3), spec=spec, surfaces=surfaces)
    assert [part.required for part in evaluation.areas[0].sampling] == [3, 2]
    short, change = (one for one in evaluation.findings if one.code == "locations-missing")
    # the third location is there on the other apparatus, which does not help
    assert short.facts == PartShort("pot 1", None, 2, 3, Plan(PerShift(2, 2), (3,)))
    assert change.facts == ChangeNotMeasured("new abrasive", Word("change-side", "after"))
    assert change.place == Place("A", "3")


# Periods of twelve hours


def _long(*texts, surfaces):
    return evaluated(*texts, spec=SHIFTS, surfaces=surfaces, day=LONG)


OVER = [_blasted("16:00", "20:00")]


def test_no_period_stands_for_another():
    evaluation = _long(_rows(6, at="17:30"), surfaces=OVER)
    assert evaluation.areas[0].sampling == (
        SamplingPart("pot 1", BEFORE, 3, 6), SamplingPart("pot 1", AFTER, 3, 0),
    )  # fmt: skip
    found = finding(evaluation, "locations-missing")
    assert found.facts == PartShort("pot 1", AFTER, 0, 3, Plan(PerShift(3, 1, 2)))
    (step,) = evaluation.measure_next
    assert (step.count, step.facts.apparatus, step.facts.period) == (3, "pot 1", AFTER)
    assert evaluation.areas[0].decision == "hold"


@pytest.mark.parametrize("late", [" 20:30", ""])
def test_what_was_read_after_the_boundary_may_lie_on_the_steel_before_it(late):
    evaluation = _long(f"{_rows(3, at='17:30')}; {_rows(3, 4, at=late.strip() or None)}", surfaces=OVER)
    assert _parts(evaluation) == [("pot 1", AFTER, 0, 3)]
    assert evaluation.areas[0].decision == "hold"


def test_locations_read_at_the_end_are_taken_for_neither():
    evaluation = _long(_rows(6, at="20:30"), surfaces=OVER)
    assert _parts(evaluation) == [("pot 1", BEFORE, 0, 6), ("pot 1", AFTER, 0, 6)]
    assert len(evaluation.findings) == 2


@pytest.mark.parametrize(
    ("start", "end", "periods"),
    [
        ("16:00", "18:30", 1), ("16:00", "18:31", 2), ("17:30", "20:00", 1), ("17:29", "20:00", 2),
        ("17:45", "18:15", 1), ("17:50", "18:10", 1), ("18:00", "20:00", 1), ("06:00", "18:00", 1),
        ("06:00", "06:20", 1), ("17:40", "17:55", 1),  # minutes within one period are work of it
        ("17:45", "2026-05-15T06:00+00:00", 1), ("17:45", "2026-05-15T06:01+00:00", 1),  # minutes at both ends
        ("17:29", "2026-05-15T06:01+00:00", 2),
    ],
)  # fmt: skip
def test_a_boundary_crossed_by_some_minutes_is_no_second_period(start, end, periods):
    evaluation = _long(_rows(3), surfaces=[_blasted(start, end)])
    assert len(evaluation.areas[0].sampling) == (periods if periods > 1 else 0)
    assert evaluation.areas[0].required_locations == 3 * periods
    assert ("locations-missing" in codes(evaluation)) is (periods > 1)


def test_periods_begin_with_blasting_before_the_shift():
    surfaces = [_blasted("05:00", "06:20"), _blasted("15:00", "19:00")]
    evaluation = _long(_rows(3), _rows(3, 4), surfaces=surfaces)
    assert [part.period for part in evaluation.areas[0].sampling] == [
        Period("05:00", "17:00"),
        Period("17:00", "22:00"),
    ]
    assert codes(_long(_rows(2), _rows(1, 3), surfaces=[surfaces[0], _blasted("07:00", "09:00")])) == [
        "gauge-check-missing"  # of readings that may be of before the first check
    ]


def test_a_location_without_a_time_counts_for_no_period():
    """Nobody knows on which steel it lies: counted for either, the other could be released unmeasured."""
    evaluation = _long(f"{_rows(3, at='17:30')}; {_rows(3, 4)}", surfaces=OVER)
    (step,) = evaluation.measure_next
    assert step.facts.boundary == "18:00"
    assert finding(evaluation, "locations-missing").facts.boundary == "18:00"
    assert evaluation.areas[0].decision == "hold"


def test_an_area_entered_once_for_each_period_needs_no_times():
    surfaces = [_blasted("16:00", "18:00"), _blasted("18:00", "20:00")]
    assert codes(_long(_rows(3), _rows(3, 4), surfaces=surfaces)) == []
    evaluation = _long(_rows(6), "", surfaces=surfaces)
    assert finding(evaluation, "surface-not-measured").facts == Unmeasured("pot 1", "18:00", "20:00", 1)
    assert [part.taken for part in evaluation.areas[0].sampling] == [6, 0]


def test_two_entries_of_one_period_share_its_locations_but_each_needs_one():
    surfaces = [_blasted("07:00", "09:00"), _blasted("13:00", "15:00")]
    evaluation = _long(_rows(3), "", surfaces=surfaces)
    assert codes(evaluation) == ["surface-not-measured"]
    (step,) = evaluation.measure_next
    assert (step.code, step.count, step.apparatus) == ("measure-surface", 1, "pot 1")
    assert (step.facts, step.answers) == (Unmeasured("pot 1", "13:00", "15:00", 1), "surface-not-measured")
    assert codes(_long(_rows(2), _rows(1, 3), surfaces=surfaces)) == []


def test_within_one_period_it_does_not_matter_when_the_readings_were_taken():
    surfaces = [_blasted("16:00", "18:00")]
    assert codes(_long(_rows(3, at="20:30"), surfaces=surfaces)) == []
    assert codes(_long(_rows(3), surfaces=surfaces)) == []


def test_nothing_measured_in_either_period():
    evaluation = _long("", surfaces=OVER)
    assert _parts(evaluation) == [("pot 1", BEFORE, 0, None), ("pot 1", AFTER, 0, None)]
    assert len(evaluation.findings) == 2


def test_further_tests_come_in_the_last_period():
    spec = {**SHIFTS, PLAN: {**SHIFTS[PLAN], "additional_per_failing": "2"}}
    text = f"{_rows(1, value='1.5', at='17:00')}; {_rows(2, 2, at='17:30')}; {_rows(3, 4, at='20:30')}"
    evaluation = evaluated(text, spec=spec, surfaces=OVER, day=LONG)
    assert [part.required for part in evaluation.areas[0].sampling] == [3, 5]


def test_a_night_shift_past_midnight_is_one_period():
    day = {"report.shift": {"start": "20:00", "end": "06:00"}}
    evaluation = evaluated(_rows(3), spec=SHIFTS, surfaces=[_blasted("22:00", "03:00")], day=day)
    assert evaluation.areas[0].required_locations == 3
    assert evaluation.areas[0].sampling == ()


def test_what_was_read_at_the_boundary_lies_on_the_steel_before_it():
    assert _parts(_long(_rows(3, at="18:00"), surfaces=OVER)) == [("pot 1", AFTER, 0, None)]


@pytest.mark.parametrize(
    ("start", "end", "first"),
    [
        ("2026-05-13T10:00+00:00", "2026-05-13T12:00+00:00", "06:00"),
        ("05:00", "06:00", "06:00"),  # it ended as the shift began
        ("05:00", "06:01", "05:00"),
    ],
)
def test_steel_of_an_earlier_shift_moves_no_period(start, end, first):
    evaluation = _long("", _rows(3), surfaces=[_blasted(start, end, apparatus="pot 2"), *OVER])
    assert next(part.period.start for part in evaluation.areas[0].sampling if part.period) == first


@pytest.mark.parametrize(
    ("start", "parts"),
    [("2026-05-13T15:00+00:00", 2), ("2026-05-13T14:59+00:00", 3)],
)
def test_steel_of_an_earlier_shift_has_the_periods_of_its_own(start, parts):
    """Twelve hours until 03:00 are one, though six in the evening lies between; a minute more is another."""
    early = _blasted(start, "2026-05-14T03:00+00:00", apparatus="pot 2")
    evaluation = _long(_rows(3), _rows(3), surfaces=[_blasted("07:00", "09:00"), early])
    assert len(evaluation.areas[0].sampling) == parts


def test_a_plan_for_the_whole_counts_what_lies_in_no_period_too():
    spec = {**SINGLE, PLAN: {"plan": "fixed", "locations": "6"}}
    surfaces = [*OVER, _blasted("07:00", "09:00", apparatus="pot 2")]
    evaluation = evaluated(f"{_rows(2, at='17:30')}; {_rows(3, 3, at='20:30')}", _rows(1), spec=spec,
                           surfaces=surfaces, day=LONG)  # fmt: skip
    assert [(part.required, part.taken) for part in evaluation.areas[0].sampling] == [(1, 5), (1, 1)]
    assert evaluated(_rows(6), spec=spec).areas[0].sampling == ()


@pytest.mark.parametrize(("value", "each"), [("3.0", "2"), ("1.5", None)])
def test_nothing_is_added_that_no_failing_location_asks_for(value, each):
    """Further locations are those of the contract, for each that failed: neither of the two by itself."""
    spec = {**SHIFTS, PLAN: {**SHIFTS[PLAN], "additional_per_failing": each} if each else SHIFTS[PLAN]}
    (short,) = (one for one in evaluated(_rows(2, value=value), spec=spec).findings if one.code == "locations-missing")
    assert short.facts.plan == Plan(PerShift(3, 1))
    assert short.facts.required == 3


CHANGE = {"time": "08:00", "change": "new nozzle", "before": "1", "after": "2"}


@pytest.mark.parametrize(("locations", "added"), [("3", ()), ("2", ()), ("1", (2,))])
@pytest.mark.parametrize("plan", ["fixed", "per-shift-and-apparatus"])
def test_a_change_asks_for_no_more_than_stands_around_it(plan, locations, added):
    """One change has two locations around it: a plan of three loses none by it, one of two gains none."""
    spec = {**SINGLE, PLAN: {"plan": plan, "locations": locations}}
    evaluation = evaluated("", spec=spec, surfaces=[surface(process_changes=[CHANGE])])
    facts = next(one.facts for one in evaluation.findings if hasattr(one.facts, "plan"))
    assert evaluation.areas[0].required_locations == max(int(locations), 2)
    assert facts.plan.changes == added


def test_a_change_asks_in_the_last_period_of_its_apparatus():
    spec = {**SINGLE, PLAN: {"plan": "per-shift-and-apparatus", "locations": "1"}}
    changes = [CHANGE, {**CHANGE, "time": "17:00", "before": "2", "after": "3"}]
    surfaces = [_blasted("16:00", "20:00", process_changes=changes), surface(apparatus="pot 2")]
    evaluation = evaluated("", "", spec=spec, surfaces=surfaces, day=LONG)
    assert [part.required for part in evaluation.areas[0].sampling] == [1, 2, 1]
    assert next(one.facts for one in evaluation.measure_next).plan.rule == PerShift(1, 2, 2)


def test_a_plan_with_as_many_locations_as_surfaces_says_no_least():
    spec = {**SINGLE, PLAN: {"plan": "fixed", "locations": "2"}}
    assert _pots("", "", spec=spec).measure_next[0].facts.plan == Plan(PerArea(2))


@pytest.mark.parametrize("size", [None, "0 m2"])
def test_a_rate_needs_a_size_that_is_there(size):
    spec = {**SINGLE, PLAN: TOTALS["area-rate"], "structures.0.areas.0.size": size}
    evaluation = evaluated(_rows(6), spec=spec)
    assert evaluation.areas[0].required_locations is None


def test_what_is_not_measured_lacks_what_its_own_apparatus_owes():
    changes = [CHANGE, {**CHANGE, "time": "08:30", "before": "2", "after": "3"}]
    spec = {**SINGLE, PLAN: {"plan": "per-shift-and-apparatus", "locations": "2"}}
    surfaces = [surface(), surface(apparatus="pot 2", process_changes=changes)]
    evaluation = evaluated(_rows(2), "", spec=spec, surfaces=surfaces)
    assert finding(evaluation, "surface-not-measured").facts == Unmeasured("pot 2", "07:00", "09:00", 3)
    fixed = {**SINGLE, PLAN: {"plan": "fixed", "locations": "2"}}
    assert finding(_pots(_rows(2), "", spec=fixed), "surface-not-measured").facts.least == 1
