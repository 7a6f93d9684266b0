"""Statistics, uncertainty of the mean, sampling, walk-outs."""

from decimal import Decimal

import pytest

from reportgen.results import Word
from reportgen.results.codes.profile import Outlier
from reportgen.results.codes.sampling import (
    AreaShort,
    BeginWith,
    ChangeNotMeasured,
    FirstAndFurther,
    Lacking,
    MoreOnArea,
    NextStep,
    NoWalkOut,
    PerArea,
    Plan,
    PlanUnknown,
    WalkOutOpen,
)
from reportgen.results.facts import Amount, Place
from reportgen.results.values import Bounded, Extent, LeftOut, Towards
from tests.unit.rules.factory import codes, evaluated, finding, surface

SINGLE = {"specification.profile.overlap_rule": "single-grade"}


def _locations(*values, first=1):
    return "; ".join(f"{n} a x1 {value}; {n} b x1 {value}" for n, value in enumerate(values, first))


def test_statistics_of_an_area():
    """Values of a published outlier example (2.1 2.2 2.0 2.3 2.1 3.4): mean 2.35, s 0.5244, G 2.00 > 1.89, n = 6.

    With 0.1²/12 for the gauge's resolution in the scatter: 1.05/√(0.275 + 0.000833) = 1.9992.
    """
    evaluation = evaluated(_locations("2.1", "2.2", "2.0", "2.3", "2.1", "3.4"), spec=SINGLE)
    (area,) = evaluation.areas
    assert (str(area.mean), str(area.standard_deviation)) == ("2.35", "0.524")
    assert (str(area.minimum), str(area.maximum)) == ("2.00", "3.40")
    assert [location.outlier for location in area.locations] == [False] * 5 + [True]
    found = finding(evaluation, "outlier")
    assert found.place == Place("A", "6")
    assert found.facts == Outlier(
        Amount(Decimal("3.40"), "mil"), Decimal("1.9992"), Decimal("1.8871"), 6, Amount(Decimal("0.10"), "mil")
    )
    assert area.verdict == "conforms"


TEN = ("2.1", "2.4", "2.6", "2.9", "2.5") * 2


def test_shares_and_a_tolerance_interval_are_given_from_ten_locations_on():
    """k for ten is 3.393: 2.5 ± 3.393 · 0.275. Nine say nothing of the tails."""
    (area,) = evaluated(_locations(*TEN), spec=SINGLE).areas
    assert area.tolerance_interval == (Decimal("1.57"), Decimal("3.43"))
    assert area.percent_within_limits is not None
    (nine,) = evaluated(_locations(*TEN[:9]), spec=SINGLE).areas
    assert (nine.tolerance_interval, nine.percent_within_limits) == (None, None)


@pytest.mark.parametrize("values", [("2.5",) * 10, ("2.5",) * 9 + ("2.6",), ("2.1", "4.4") * 5])
def test_a_tolerance_interval_below_zero_or_of_hidden_scatter_says_nothing(values):
    assert evaluated(_locations(*values), spec=SINGLE).areas[0].tolerance_interval is None


def test_one_location_has_no_scatter():
    (area,) = evaluated().areas
    assert (area.standard_deviation, area.percent_within_limits) == (None, None)
    assert area.expanded_uncertainty is not None


def test_percent_within_one_limit():
    """All but certain: the mean 2.5 of 2.4 2.5 2.6 lies five standard deviations from the minimum."""
    spec = {**SINGLE, "specification.profile.maximum": None}
    values = ("2.4", "2.5", "2.6", "2.5") * 3
    assert str(evaluated(_locations(*values), spec=spec).areas[0].percent_within_limits) == "100.0"


def test_a_single_location_has_the_repeatability_of_its_spots():
    """Spots 2.6 and 2.8: s² = 0.02, of their mean 0.01, with one degree of freedom; the rest has infinitely many."""
    (area,) = evaluated("1 a x1 2.6; 1 b x1 2.8", spec=SINGLE).areas
    (line,) = [line for line in area.budget if line.component.key == "repeatability"]
    assert (line.standard_uncertainty, line.degrees_of_freedom) == (Decimal("0.100"), 1)
    whole = 0.2**2 / 3 + 0.05**2 / 3 + 0.08**2 / 3 + 0.01
    assert area.effective_degrees_of_freedom == int(whole**2 / 0.01**2) == 6
    assert area.coverage_factor == Decimal("2.45")  # t for 6 degrees of freedom and 95 %: 2.447


def test_two_locations_have_no_percentage():
    (area,) = evaluated(_locations("2.5", "2.7"), spec=SINGLE).areas
    assert area.standard_deviation is not None
    assert area.percent_within_limits is None


@pytest.mark.parametrize(
    "values",
    [
        ("2.5", "2.5", "2.5"),
        ("2.8", "2.8", "2.9"),  # of three, any two that are equal make the third an outlier: G = 1.1547 > 1.1543
        ("2.5", "2.5", "2.5", "2.5", "3.4"),  # five are still too few
        ("2.8",) * 5 + ("2.9",),  # one step of the gauge from the others: G = 2.04 > 1.89 without the resolution
        ("2.8",) * 40 + ("2.9",),
    ],
)
def test_equal_few_or_one_step_apart_is_not_an_outlier(values):
    evaluation = evaluated(_locations(*values), spec=SINGLE)
    assert "outlier" not in codes(evaluation)
    assert not any(location.outlier for location in evaluation.areas[0].locations)


def test_readings_written_coarser_than_the_gauge_shows_are_rounded_to_their_last_digit():
    """A gauge that resolves 0.01 mil, read to 0.1 mil; as soon as one reading has two digits the step is 0.01 mil."""
    fine = {**SINGLE, "instruments.g1.resolution": "0.01 mil"}
    coarse = ("2.8",) * 5 + ("2.9",)
    assert "outlier" not in codes(evaluated(_locations(*coarse), spec=fine))
    assert "outlier" in codes(evaluated(_locations(*coarse[:-1], "2.90"), spec=fine))


def test_the_coarsest_gauge_of_an_area_sets_the_step():
    """Five locations of 2.80 and one of 2.83 mil (72 µm): far off for the one gauge, within a step of the other."""
    other = {"kind": "thickness gauge", "serial": "2", "unit": "um", "resolution": "1 um", "accuracy": "5 um"}
    spec = {**SINGLE, "instruments.g1.resolution": "0.01 mil", "instruments.g2": other}
    alone = _locations(*["2.80"] * 5, "2.83")
    assert "outlier" in codes(evaluated(alone, spec=spec))
    surfaces = [surface(), surface(apparatus="pot 2", profile__gauge="g2")]
    both = evaluated(_locations(*["2.80"] * 5), "6 a x1 72; 6 b x1 72", spec=spec, surfaces=surfaces)
    assert "outlier" not in codes(both)


def test_the_budget_keeps_the_common_part_whole():
    (area,) = evaluated(_locations("2.5", "2.6", "2.7", "2.6"), spec=SINGLE).areas
    lines = {line.component.key: line for line in area.budget}
    assert list(lines) == ["gauge accuracy", "gauge resolution", "film thickness", "shim check", "scatter of locations"]
    assert (lines["gauge accuracy"].standard_uncertainty, lines["gauge accuracy"].common) == (Decimal("0.115"), True)
    assert lines["scatter of locations"].divisor == Decimal("2.000")
    assert lines["scatter of locations"].degrees_of_freedom == 3
    assert sum(line.share for line in area.budget) == pytest.approx(Decimal(100), abs=Decimal("0.3"))
    assert "repeatability" in {line.component.key for line in area.location_budget}


def test_a_certificate_with_coverage_factor_is_divided_by_it():
    spec = {
        **SINGLE, "instruments.g1.uncertainty": "0.2 mil",
        "instruments.g1.coverage_factor": "2", "instruments.g1.resolution": None,
    }  # fmt: skip
    (area,) = evaluated(spec=spec).areas
    lines = {line.component.key: line for line in area.budget}
    accuracy, resolution = lines["calibration"], lines["gauge resolution"]
    assert (accuracy.distribution.key, accuracy.divisor) == ("normal", Decimal("2.000"))
    assert resolution.value == Decimal("0.050")


def test_the_widest_gauge_stands_for_an_area_read_with_two():
    other = {"kind": "thickness gauge", "serial": "2", "unit": "um", "resolution": "1 um", "accuracy": "10 um"}
    surfaces = [surface(), surface(apparatus="pot 2", profile__gauge="g2")]
    texts = ("1 a x1 3.1; 1 b x1 2.9", "2 a x1 75; 2 b x1 76")
    (area,) = evaluated(*texts, spec={"instruments.g2": other}, surfaces=surfaces).areas
    assert area.budget[0].value == Decimal("0.3937")  # 10 µm
    blind = {**other, "accuracy": None}
    (without,) = evaluated(
        *texts, spec={"instruments.g2": {k: v for k, v in blind.items() if v}}, surfaces=surfaces
    ).areas
    assert (without.expanded_uncertainty, without.budget) == (None, ())


PLAN = "specification.sampling"


@pytest.mark.parametrize(
    ("plan", "required"),
    [
        ({"plan": "fixed", "locations": "3"}, 3),
        ({"plan": "per-shift-and-apparatus", "locations": "3"}, 3),
        # UFGS 09971: 3 for the first 100 m², 1 for each further 100 m² or part: 250 m² → 5
        (
            {
                "plan": "area-rate", "locations": "3", "first_area": "100 m2", "further_area": "100 m2",
                "further_locations": "1",
            },
            5,
        ),
        # UFGS 09971A: 3 per 45 m² or part: 250 m² → 18
        ({"plan": "area-rate", "locations": "3", "first_area": "45 m2"}, 18),
        ({"plan": "length-rate", "locations": "1", "length": "15 m"}, 3),
    ],
)  # fmt: skip
def test_locations_required_by_each_plan(plan, required):
    spec = {**SINGLE, PLAN: plan, "structures.0.areas.0.size": "250 m2", "structures.0.areas.0.weld_length": "31 m"}
    evaluation = evaluated(spec=spec)
    assert evaluation.areas[0].required_locations == required
    found = finding(evaluation, "locations-missing")
    assert (found.facts.taken, found.facts.required) == (1, required)
    (step,) = [step for step in evaluation.measure_next if step.count]
    assert (step.code, step.count, step.answers) == ("measure-area", required - 1, "locations-missing")


@pytest.mark.parametrize(
    ("plan", "field", "lacking"),
    [
        ({"plan": "area-rate", "locations": "3", "first_area": "45 m2"}, "size", "size"),
        ({"plan": "length-rate", "locations": "1", "length": "15 m"}, "weld_length", "weld-length"),
    ],
)
def test_a_plan_by_size_needs_the_size(plan, field, lacking):
    evaluation = evaluated(spec={PLAN: plan, f"structures.0.areas.0.{field}": None})
    assert evaluation.areas[0].required_locations is None
    assert evaluation.areas[0].verdict == "inconclusive"
    found = finding(evaluation, "locations-missing")
    assert found.facts == PlanUnknown(1, Word("lacking", lacking))
    gap = LeftOut("sampling-plan-unknown", Place("A"), Lacking(Word("lacking", lacking)))
    assert evaluation.areas[0].not_evaluated == (gap,)
    assert gap in evaluation.not_evaluated


def test_missing_locations_come_with_advice_on_the_tape():
    evaluation = evaluated(spec={PLAN: {"plan": "fixed", "locations": "3"}})
    (step,) = [step for step in evaluation.measure_next if step.count]
    begin = BeginWith(Word("tape-grade", "extra coarse"), Amount(Decimal("2.8"), "mil"))
    assert (step.count, step.facts) == (2, MoreOnArea(Plan(PerArea(3)), begin))
    plain = evaluated("1 a - 3.0; 1 b - 3.0", spec={
        PLAN: {"plan": "fixed", "locations": "3"}, "instruments.g1.kind": "depth micrometer",
        "specification.profile.method": "ASTM D4417 Method B",
    })  # fmt: skip
    assert [step.facts for step in plain.measure_next if step.count] == [MoreOnArea(Plan(PerArea(3)))]


def test_further_areas_are_counted_as_the_plan_says():
    """250 m² are a first 100 m² and two further: 3 + 2 x 2."""
    plan = {"plan": "area-rate", "locations": "3", "first_area": "100 m2", "further_area": "100 m2"}
    evaluation = evaluated(spec={PLAN: plan | {"further_locations": "2"}, "structures.0.areas.0.size": "250 m2"})
    hundred = Amount(Decimal(100), "m2")
    facts = AreaShort(1, 7, Plan(FirstAndFurther(3, hundred, 2, hundred)))
    assert finding(evaluation, "locations-missing").facts == facts


@pytest.mark.parametrize(("rule", "grade"), [("average", "coarse"), ("non-averaging", "extra coarse")])
def test_the_advice_follows_the_ranges_of_the_contracts_rule(rule, grade):
    """Mid-ranges 1.65 and 3.0 mil, or 1.4 and 3.0 by the older rule: 2.25 mil is nearer to the one or the other."""
    spec = {
        PLAN: {"plan": "fixed", "locations": "2"}, "specification.profile.maximum": "2.5 mil",
        "specification.profile.overlap_rule": rule,
    }  # fmt: skip
    (step,) = [step for step in evaluated("1 a x1 2.3; 1 b x1 2.2", spec=spec).measure_next if step.count]
    assert step.facts.advice.grade == Word("tape-grade", grade)


def test_every_apparatus_and_every_twelve_hours_count():
    spec = {PLAN: {"plan": "per-shift-and-apparatus", "locations": "1"}}
    surfaces = [surface(), surface(apparatus="pot 2")]
    assert evaluated("", "", spec=spec, surfaces=surfaces).areas[0].required_locations == 2
    long = {"report.shift": {"start": "06:00", "end": "22:00"}}
    over = [surface(blasted={"start": "16:00", "end": "19:00", "abrasive": "grit 1"})]
    until = [surface(blasted={"start": "16:00", "end": "18:00", "abrasive": "grit 1"})]
    assert evaluated("", spec=spec, surfaces=over, day=long).areas[0].required_locations == 2
    assert evaluated("", spec=spec, surfaces=until, day=long).areas[0].required_locations == 1


def test_failing_locations_ask_for_more():
    spec = {**SINGLE, PLAN: {"plan": "fixed", "locations": "1", "additional_per_failing": "2"}}
    evaluation = evaluated(_locations("1.6", "3.0"), spec=spec)
    assert evaluation.areas[0].required_locations == 3
    facts = AreaShort(2, 3, Plan(PerArea(1), each=2, failing=1))
    assert finding(evaluation, "locations-missing").facts == facts


def test_locations_that_conform_ask_for_no_more():
    spec = {PLAN: {"plan": "fixed", "locations": "2", "additional_per_failing": "2"}}
    assert finding(evaluated(spec=spec), "locations-missing").facts == AreaShort(1, 2, Plan(PerArea(2)))
    plain = evaluated(_locations("1.6"), spec={**SINGLE, PLAN: {"plan": "fixed", "locations": "2"}})
    assert finding(plain, "locations-missing").facts == AreaShort(1, 2, Plan(PerArea(2)))


def test_a_change_of_the_process_needs_a_location_before_and_one_after():
    change = [{"time": "08:00", "change": "new nozzle", "before": "1", "after": "2"}]
    only_before = evaluated(_locations("3.0"), spec=SINGLE, surfaces=[surface(process_changes=change)])
    assert only_before.areas[0].required_locations == 2
    missed, short = (one for one in only_before.findings if one.code == "locations-missing")
    assert missed.facts == ChangeNotMeasured("new nozzle", Word("change-side", "after"))
    assert (missed.place, short.place) == (Place("A", "2"), Place("A"))
    assert short.facts == AreaShort(1, 2, Plan(PerArea(1), (2,)))
    both = evaluated(_locations("3.0", "3.1"), spec=SINGLE, surfaces=[surface(process_changes=change)])
    assert codes(both) == []


def _walk(*towards, interval="0.5 m"):
    directions = [
        {"towards": name, "locations": list(ids), "no_room": "yes" if not room else "no"} for name, ids, room in towards
    ]
    return {"failing": "1", "interval": interval, "directions": directions}


def test_a_complete_walk_out_bounds_the_area():
    walk = _walk(("north", "23", True), ("east", "45", True), ("south", "6", False), ("west", "789", True))
    text = _locations("1.5", "3", "3", "3", "3", "1.5", "1.6", "3", "3")
    evaluation = evaluated(text, spec=SINGLE, surfaces=[surface(profile__walk_outs=[walk])])
    (area,) = evaluation.areas
    half, whole = Amount(Decimal("0.5"), "m"), Amount(Decimal("1.0"), "m")
    assert area.bounded_area == (
        Bounded(
            "1",
            (
                Extent(Towards("north"), half), Extent(Towards("east"), half),
                Extent(Towards("south"), half, Word("walk-end", "no-room")), Extent(Towards("west"), whole),
            ),
        ),
    )  # fmt: skip
    assert (area.n_locations, area.n_spots) == (1, 2)
    assert [one.walk_out for one in area.locations] == [None] + ["1"] * 8
    assert codes(evaluation) == ["profile-below-minimum", "nonconformance-missing"]


def test_an_incomplete_walk_out_says_what_to_measure():
    walk = _walk(("north", "23", True), ("east", "4", True), ("south", "", False), ("west", "5", True))
    text = _locations("1.5", "3", "3", "1.9")
    evaluation = evaluated(text, spec=SINGLE, surfaces=[surface(profile__walk_outs=[walk])])
    found = finding(evaluation, "walk-out-missing")
    assert (found.facts, found.place) == (WalkOutOpen((Towards("east"), Towards("west"))), Place("A", "1"))
    todo = [step for step in evaluation.measure_next if step.code == "walk-on"]
    assert [(step.place, step.count, step.answers) for step in todo] == [(Place("A", "1"), 1, None)] * 4
    # east ends in a location that does not conform, west names one that was not measured
    assert [step.facts for step in todo] == [
        NextStep(step, Towards(direction)) for direction, step in (("east", 2), ("east", 3), ("west", 1), ("west", 2))
    ]
    assert evaluation.areas[0].bounded_area == ()


def test_a_direction_that_was_not_begun_is_missing():
    walk = _walk(("north", "23", True))
    evaluation = evaluated(_locations("1.5", "3", "3"), spec=SINGLE, surfaces=[surface(profile__walk_outs=[walk])])
    ends = WalkOutOpen(tuple(Towards(None, number) for number in (2, 3, 4)))
    assert finding(evaluation, "walk-out-missing").facts == ends


def test_a_failing_location_without_a_walk_out():
    evaluation = evaluated(_locations("1.5"), spec=SINGLE)
    found = finding(evaluation, "walk-out-missing")
    assert (found.facts, found.place) == (NoWalkOut(), Place("A", "1"))
    (step,) = [step for step in evaluation.measure_next if step.answers == "walk-out-missing"]
    assert (step.code, step.place, step.count) == ("walk-out", Place("A", "1"), None)
