"""Readings to spots, locations and areas: both unit systems, film, all states of the rule for two grades."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import RangeError
from reportgen.job.project import ProfileRequirement
from reportgen.results import LeftOut, Stated, Task, Word
from reportgen.results.codes.comparator import GradeNoted, GradeShown
from reportgen.results.codes.profile import (
    ByDepth,
    MoreSpots,
    NoneByDepth,
    NoneByTape,
    OnTape,
    OtherGrade,
    SpotsDisagree,
    SpotsMissing,
    SpotsTooMany,
)
from reportgen.results.codes.ranges import AtLeast, AtMost, Below, BetweenBelow
from reportgen.results.codes.rules import GradeStated, MethodEdition, MethodUnknown, ProfileRequired
from reportgen.results.facts import NOTHING, Amount, Place
from reportgen.rules.requirement import one_digit_more, requirement_of
from tests.unit.rules.factory import METRIC, ON_PLATE, codes, evaluated, finding, surface

# Worked examples of the rule for two grades: common practice without a published source.
SPOTS = [
    ("average", "x1 2.2; 1 a c1 1.6", "1.90", "averaged"),
    ("average", "x1 2.2; 1 a c1 1.4", "1.40", "second-governs"),
    ("average", "x1 3.1", "3.10", "recorded-as-taken"),
    ("average", "x1 2.2", None, "second-missing"),
    ("average", "x1 1.5; 1 a c1 2.5", "2.00", "averaged"),
    ("average", "c1 2.5; 1 a x1 1.5", "2.00", "averaged"),
    ("average", "x1 2.6; 1 a c1 1.4", None, "contradictory"),
    ("average", "c1 0.7", None, "outside-grade-range"),
    ("single-grade", "x1 2.2", "2.20", "recorded-as-taken"),
    ("non-averaging", "c1 1.8", "1.80", "recorded-as-taken"),
    ("non-averaging", "c1 2.2", None, "second-missing"),
]
METRIC_SPOTS = [
    ("average", "x1 56; 1 a c1 41", "48.5", "averaged"),
    ("average", "x1 56; 1 a c1 36", "36.0", "second-governs"),
    ("average", "x1 79", "79.0", "recorded-as-taken"),
    ("average", "x1 56", None, "second-missing"),
    ("average", "x1 38; 1 a c1 64", "51.0", "averaged"),
    ("average", "x1 66; 1 a c1 36", None, "contradictory"),
]


def _spot(rule, text, spec):
    evaluation = evaluated(f"1 a {text}", spec={**spec, "specification.profile.overlap_rule": rule})
    (area,) = evaluation.areas
    return evaluation, area, area.locations[0], area.locations[0].spots[0]


@pytest.mark.parametrize(("rule", "text", "profile", "how"), SPOTS)
def test_a_spot_in_mil(rule, text, profile, how):
    _, _, _, spot = _spot(rule, text, {})
    assert (spot.profile, spot.how) == (None if profile is None else Decimal(profile), how)


@pytest.mark.parametrize(("rule", "text", "profile", "how"), METRIC_SPOTS)
def test_a_spot_on_a_metric_gauge_uses_the_metric_window(rule, text, profile, how):
    _, _, _, spot = _spot(rule, text, METRIC)
    assert (spot.profile, spot.how) == (None if profile is None else Decimal(profile), how)


@pytest.mark.parametrize(
    ("text", "code", "next_step"),
    [
        ("x1 2.2; 1 b x1 3.0", "second-reading-missing", "read-other-grade"),
        ("x1 2.6; 1 a c1 1.4; 1 b x1 3.0", "contradictory-readings", "read-spot-again"),
        ("c1 0.7; 1 b x1 3.0", "outside-grade-range", "read-spot-again"),
    ],
)
def test_a_spot_without_a_profile_leaves_the_area_inconclusive(text, code, next_step):
    evaluation, area, location, _ = _spot("average", text, {})
    assert (location.profile, location.verdict) == (None, "inconclusive")
    assert (area.verdict, area.decision, evaluation.verdict) == ("inconclusive", "hold", "inconclusive")
    assert finding(evaluation, code).place == Place("A", "1", "a")
    assert (next_step, Place("A", "1", "a"), code) in [
        (step.code, step.place, step.answers) for step in evaluation.measure_next
    ]


def test_what_the_finding_about_a_missing_second_reading_says():
    evaluation, *_ = _spot("average", "x1 2.2; 1 b x1 3.0", {})
    found = finding(evaluation, "second-reading-missing")
    coarse, extra = Word("tape-grade", "coarse"), Word("tape-grade", "extra coarse")
    why, rule = Word("why", "needs-second"), Word("overlap-rule", "average")
    assert found.facts == NoneByTape((OnTape(extra, Amount(Decimal("2.2"), "mil")),), why, rule, coarse)
    assert found.clause == "1.2"
    assert OtherGrade(coarse, why, coarse) in [step.facts for step in evaluation.measure_next]


def test_film_is_taken_off_in_the_unit_of_the_gauge():
    mil = evaluated("1 a x1 5.1; 1 b x1 4.9", surfaces=[surface(profile__film="included")])
    um = evaluated("1 a x1 125; 1 b x1 121", surfaces=[surface(profile__film="included")], spec=METRIC)
    assert [spot.profile for spot in mil.areas[0].locations[0].spots] == [Decimal("3.10"), Decimal("2.90")]
    assert [spot.profile for spot in um.areas[0].locations[0].spots] == [Decimal("75.0"), Decimal("71.0")]
    reading = mil.areas[0].locations[0].spots[0].readings[0]
    assert (reading.gross, reading.net, reading.grade) == (Decimal("5.1"), Decimal("3.1"), "extra coarse")


def test_a_reading_below_the_film_it_includes_is_an_error_of_the_entry():
    with pytest.raises(RangeError, match=r"the reading 1\.9 mil is less than the film, 2\.0 mil"):
        evaluated("1 a x1 1.9", surfaces=[surface(profile__film="included")])


def test_tape_without_a_rule_for_two_grades_is_never_released():
    """The loader refuses such a contract (JOB214); what reads no job file holds it."""
    day = evaluated("1 a x1 3.0", spec={"specification.profile.overlap_rule": None})
    assert day.areas[0].decision == "hold"


DEPTH = {
    "specification.profile.overlap_rule": None,
    "specification.profile.method": "ASTM D4417 Method B",
    "specification.profile.readings_per_location": "3",
    "instruments.g1.kind": "depth micrometer",
}


@pytest.mark.parametrize(("value", "profile"), [("mean", "2.60"), ("maximum", "2.90")])
def test_a_depth_micrometer_has_no_film_and_either_mean_or_maximum(value, profile):
    spec = {**DEPTH, "specification.profile.location_value": value}
    evaluation = evaluated("1 a - 2.3; 1 b - 2.6; 1 c - 2.9", spec=spec, day=ON_PLATE)
    (area,) = evaluation.areas
    assert area.locations[0].profile == Decimal(profile)
    assert [line.component for line in area.budget if "film" in line.component.key] == []
    assert area.locations[0].spots[0].readings[0].roll is None


def test_the_maximum_of_several_spots_keeps_the_repeatability_of_one_reading():
    text = "1 a - 2.3; 1 b - 2.6; 1 c - 2.9"
    mean, most = (
        evaluated(text, spec={**DEPTH, "specification.profile.location_value": value}).areas[0].location_budget
        for value in ("mean", "maximum")
    )
    assert [line.divisor for line in mean if line.component.key == "repeatability"] == [Decimal("1.732")]
    assert [line.divisor for line in most if line.component.key == "repeatability"] == [Decimal("1.000")]


def test_a_depth_spot_read_twice_with_different_results_is_contradictory():
    evaluation = evaluated("1 a - 2.3; 1 a - 2.6; 1 b - 2.6; 1 c - 2.9", spec=DEPTH)
    found = finding(evaluation, "contradictory-readings")
    read = tuple(ByDepth(Amount(Decimal(number), "mil")) for number in ("2.3", "2.6"))
    assert found.facts == NoneByDepth(read, Word("why", "read-twice"), "ASTM D4417 Method B")
    assert [spot.how for spot in evaluation.areas[0].locations[0].spots] == [
        "contradictory", "recorded-as-taken", "recorded-as-taken",
    ]  # fmt: skip
    same = evaluated("1 a - 2.6; 1 a - 2.6; 1 b - 2.6; 1 c - 2.9", spec=DEPTH)
    assert "contradictory-readings" not in codes(same)


def test_readings_in_mil_are_judged_exactly_in_a_specification_in_um():
    """2.0 mil are 50.8 µm (1 mil = 25.4 µm exactly): above 50, below 51 µm."""
    spec = {"specification.profile.minimum": "51 um", "specification.profile.maximum": "90 um"}
    evaluation = evaluated(
        "1 a x1 3.0; 1 a c1 3.0; 1 b c1 1.0", spec={**spec, "specification.profile.rounding": "none"}
    )
    location = evaluation.areas[0].locations[0]
    assert evaluation.areas[0].unit == "um"
    assert location.profile == Decimal("50.8")
    assert location.verdict == "does not conform"
    looser = evaluated("1 a x1 3.0; 1 a c1 3.0; 1 b c1 1.0", spec={**spec, "specification.profile.minimum": "50.8 um"})
    assert looser.areas[0].locations[0].verdict == "conforms"


def test_a_comparators_grade_becomes_limits_without_its_upper_end():
    """Medium on the grit comparator is 60 up to but excluding 100 µm (rule read, numbers from memory)."""
    spec = {
        **METRIC, "specification.profile.minimum": None, "specification.profile.maximum": None,
        "specification.profile.comparator_grade": "medium G", "specification.profile.rounding": "none",
    }  # fmt: skip
    inside = evaluated("1 a x1 100; 1 b x1 99", spec=spec)
    assert inside.areas[0].locations[0].verdict == "conforms"
    at_end = evaluated("1 a x1 100; 1 b x1 100", spec=spec)
    assert at_end.areas[0].locations[0].verdict == "does not conform"
    assert finding(at_end, "profile-above-maximum").facts.limit == Below(Amount(Decimal(100), "um"))
    specified = BetweenBelow(Decimal(60), Amount(Decimal(100), "um"))
    rules = {rule.topic: rule.rule.facts for rule in at_end.rules if isinstance(rule.rule, Stated)}
    assert rules["profile"] == ProfileRequired(specified, "ASTM D4417 Method C", "2021")
    assert rules["profile-grade"] == GradeStated("medium G")


def test_a_full_name_of_a_grade_is_taken_as_it_is():
    spec = {
        "specification.profile.minimum": None, "specification.profile.maximum": None,
        "specification.profile.comparator_grade": "SSPC-AB 1 grade 3",
    }  # fmt: skip
    assert evaluated(spec=spec).areas[0].verdict == "conforms"


@pytest.mark.parametrize(
    ("minimum", "maximum", "specified"),
    [
        ("2.0 mil", None, AtLeast(Amount(Decimal("2.0"), "mil"))),
        (None, "3.5 mil", AtMost(Amount(Decimal("3.5"), "mil"))),
    ],
)  # fmt: skip
def test_a_requirement_may_have_one_limit_only(minimum, maximum, specified):
    spec = {"specification.profile.minimum": minimum, "specification.profile.maximum": maximum}
    evaluation = evaluated(spec=spec)
    assert evaluation.areas[0].verdict == "conforms"
    assert evaluation.rules[0].rule.facts == ProfileRequired(specified, "ASTM D4417 Method C", "2021")


def test_missing_spots_leave_the_location_open_but_show_its_value():
    evaluation = evaluated("1 a x1 3.1")
    location = evaluation.areas[0].locations[0]
    assert (location.profile, location.verdict) == (Decimal("3.10"), "inconclusive")
    found = finding(evaluation, "spots-missing")
    assert found.facts == SpotsMissing(1, 2)
    assert Task("measure-spots", Place("A", "1"), MoreSpots(1), None, "spots-missing") in evaluation.measure_next


def _further(text, **spec):
    """Return how a location with further spots is judged: its value, its verdict, the decision and the codes."""
    evaluation = evaluated(text, spec={f"specification.profile.{name}": value for name, value in spec.items()})
    location, area = evaluation.areas[0].locations[0], evaluation.areas[0]
    return str(location.profile), location.verdict, area.decision, set(codes(evaluation))


def test_further_spots_neither_clear_a_location_nor_hide_that_it_fails():
    """The mean of the two spots of the contract is 1.4 mil; two further ones would make it 2.05."""
    assert evaluated("1 a c1 1.4; 1 b c1 1.4").areas[0].decision == "rework"
    more = evaluated("1 a c1 1.4; 1 b c1 1.4; 1 c x1 2.7; 1 d x1 2.7")
    found = finding(more, "spots-too-many")
    first = Amount(Decimal("1.40"), "mil")
    assert (found.facts, found.place, found.clause) == (SpotsTooMany(4, 2, first), Place("A", "1"), "1.2")
    assert finding(more, "profile-below-minimum").facts.profile == first
    location, area = more.areas[0].locations[0], more.areas[0]
    assert (str(location.profile), location.verdict, area.decision) == ("1.40", "does not conform", "rework")
    assert len(location.spots) == 4
    failing = evaluated("1 a c1 1.4; 1 b c1 1.4; 1 c c1 1.4")
    assert (failing.areas[0].locations[0].verdict, failing.areas[0].decision) == ("does not conform", "rework")
    apart = evaluated("1 a x1 3.1; 1 b x1 2.9; 1c a x1 2.7; 1c b x1 2.7")
    assert (codes(apart), apart.areas[0].decision) == ([], "release")


@pytest.mark.parametrize(
    ("further", "spec"),
    [
        ("x1 3.4", {}),
        ("c1 1.5", {}),
        ("x1 3.4", {"agreement_tolerance": "0.3 mil"}),  # with it the spots disagree, and the first two do not
        ("x1 1.2", {}),  # extra coarse tape gives no profile there
    ],
)
def test_a_third_spot_makes_no_failing_location_undecided(further, spec):
    value, verdict, decision, found = _further(f"1 a c1 1.4; 1 b c1 1.4; 1 c {further}", **spec)
    assert (value, verdict, decision) == ("1.40", "does not conform", "rework")
    assert {"profile-below-minimum", "spots-too-many", "walk-out-missing"} <= found


@pytest.mark.parametrize("rule", ["simple", "guarded", "banded"])
@pytest.mark.parametrize("further", ["", "; 1 c x1 2.8", "; 1 c x1 3.5"])
def test_nor_is_any_less_sure_for_a_further_spot(rule, further):
    """How far spots scatter is told by those that make a location."""
    text = f"1 a c1 1.2; 1 b c1 1.1{further}; 2 a x1 2.9; 2 b x1 2.7; 3 a x1 2.9; 3 b x1 3.0"
    day = evaluated(text, spec={"specification.profile.decision_rule": rule})
    alone = evaluated(text.replace(further, ""), spec={"specification.profile.decision_rule": rule})
    told = [(one.profile, one.expanded_uncertainty, one.verdict) for one in day.areas[0].locations]
    assert told == [(one.profile, one.expanded_uncertainty, one.verdict) for one in alone.areas[0].locations]
    assert day.areas[0].decision == "rework"


def test_nor_is_one_better_than_with_all_its_spots():
    assert _further("1 a x1 3.1; 1 b x1 2.9; 1 c x1 2.8")[1:3] == ("inconclusive", "hold")
    assert _further("1 a x1 3.4; 1 b x1 3.4; 1 c x1 4.4")[1:3] == ("does not conform", "rework")
    assert _further("1 a x1 2.7; 1 c c1 1.4; 1 b c1 1.4")[1:3] == ("does not conform", "rework")  # 2.05 and 1.83
    assert _further("1 a x1 4.0; 1 b x1 4.0; 1 c x1 2.7")[1:3] == ("does not conform", "rework")


def test_a_maximum_of_more_readings_is_not_that_of_the_method():
    spec = {
        "specification.profile.method": "ASTM D4417 Method B", "specification.profile.readings_per_location": None,
        "specification.profile.overlap_rule": None, "instruments.g1.kind": "depth micrometer",
    }  # fmt: skip
    low = "; ".join(f"1 s{number} - 1.5" for number in range(10))
    given = {"spec": spec, "day": ON_PLATE, "surfaces": [surface(profile__film=None)]}
    assert evaluated(low, **given).areas[0].decision == "rework"
    for count in (1, 15):
        more = evaluated(low + "; " + "; ".join(f"1 t{number} - 2.9" for number in range(count)), **given)
        assert {"spots-too-many", "profile-below-minimum"} < set(codes(more))
        assert (str(more.areas[0].locations[0].profile), more.areas[0].decision) == ("1.50", "rework")
    before = "1 t - 2.9; " + low
    assert (codes(evaluated(before, **given)), evaluated(before, **given).areas[0].decision) == (
        ["spots-too-many"], "hold"
    )  # fmt: skip


def test_spots_that_differ_by_more_than_the_contract_allows():
    spec = {"specification.profile.agreement_tolerance": "0.2 mil"}
    agreeing = evaluated("1 a x1 3.1; 1 b x1 2.9", spec=spec)
    assert agreeing.areas[0].verdict == "conforms"
    apart = evaluated("1 a x1 3.1; 1 b x1 2.8", spec=spec)
    found = finding(apart, "spots-disagree")
    assert found.facts == SpotsDisagree(Amount(Decimal("0.30"), "mil"), Amount(Decimal("0.2"), "mil"))
    assert (found.area, found.location, found.clause) == ("A", "1", "1.2")
    assert apart.areas[0].locations[0].verdict == "inconclusive"
    assert "spots-disagree" not in codes(evaluated("1 a x1 3.1; 1 b x1 2.2", spec=spec))


def test_two_apparatus_may_name_their_locations_alike():
    surfaces = [surface(), surface(apparatus="pot 2", blasted={"start": "10:00", "end": "11:00", "abrasive": "grit 1"})]
    evaluation = evaluated("1 a x1 3.1; 1 b x1 2.9", "1 a x1 1.0; 1 b x1 3.0", surfaces=surfaces)
    (area,) = evaluation.areas
    assert [(one.id, one.apparatus) for one in area.locations] == [("1", "pot 1"), ("1", "pot 2")]
    assert (area.n_locations, area.n_spots) == (2, 4)
    assert [one.apparatus for one in evaluated().areas[0].locations] == [None]


def test_an_area_whose_profile_was_not_measured_says_so():
    evaluation = evaluated("", surfaces=[surface(profile=None)])
    (area,) = evaluation.areas
    assert (area.verdict, area.decision, area.n_locations, area.mean) == ("inconclusive", "hold", 0, None)
    gap = LeftOut("profile-not-measured", Place("A"), NOTHING)
    assert area.not_evaluated == (gap,)
    assert gap in evaluation.not_evaluated


def test_a_spot_without_a_profile_keeps_its_readings_and_its_place_in_a_walk_out():
    walk = {"failing": "1", "interval": "0.5 m", "directions": [{"towards": "north", "locations": ["2"]}]}
    record = surface(profile__walk_outs=[walk])
    (area,) = evaluated("1 a x1 1.0; 1 b x1 3.0; 2 a x1 2.2; 2 b x1 3.0", surfaces=[record]).areas
    location = area.locations[1]
    assert (location.id, location.profile, location.walk_out) == ("2", None, "1")
    assert [(spot.id, spot.how, len(spot.readings)) for spot in location.spots] == [
        ("a", "second-missing", 1), ("b", "recorded-as-taken", 1),
    ]  # fmt: skip


@pytest.mark.parametrize(("step", "places"), [("0.1", 2), ("1", 1), ("2.54", 1), ("0.095", 3), ("0.01", 3)])
def test_one_digit_more_than_a_step_shows(step, places):
    assert one_digit_more(Fraction(step)) == places


MEDIUM = {
    "specification.profile.minimum": None, "specification.profile.maximum": None,
    "specification.profile.comparator_grade": "medium G",
}  # fmt: skip


@pytest.mark.parametrize(
    ("spec", "seen", "verdict", "code"),
    [
        (MEDIUM, "medium", "conforms", None),
        (MEDIUM, "medium G", "conforms", None),
        (MEDIUM, "ISO 8503-1 medium G", "conforms", None),
        (MEDIUM, "coarse", "does not conform", "comparator-grade-not-met"),
        (MEDIUM, "fine", "does not conform", "comparator-grade-not-met"),
        (MEDIUM, "medium S", "inconclusive", "profile-inconclusive"),
        (MEDIUM, "between 2 and 3", "inconclusive", "profile-inconclusive"),
    ],
)
def test_a_visual_comparison(spec, seen, verdict, code):
    record = surface(profile__comparator=[{"location": "1", "grade": seen}])
    evaluation = evaluated("1 a x1 75; 1 b x1 76", spec={**METRIC, **spec}, surfaces=[record])
    (result,) = evaluation.comparators
    assert (result.area, result.location, result.observed, result.verdict) == ("A", "1", seen, verdict)
    assert [name for name in codes(evaluation) if name in {"comparator-grade-not-met", "profile-inconclusive"}] == (
        [code] if code else []
    )
    if code:
        found = finding(evaluation, code)
        graded = GradeShown(seen, BetweenBelow(Decimal(60), Amount(Decimal(100), "um")), "medium G")
        assert found.facts == graded
        assert (found.place, found.clause) == (Place("A", "1"), "1.2")


@pytest.mark.parametrize("seen", ["medium", "medium G", "coarse G", "coarser than coarse", "fine S", "rough"])
@pytest.mark.parametrize("rule", ["simple", "guarded", "banded"])
def test_a_grade_beside_readings_decides_nothing_where_the_contract_names_no_comparator(seen, rule):
    record = surface(profile__comparator=[{"location": "1", "grade": seen}])
    spec, text = {"specification.profile.decision_rule": rule}, "1 a x1 2.7; 1 b x1 2.8; 2 a x1 2.8; 2 b x1 2.7"
    without, beside = evaluated(text, spec=spec), evaluated(text, spec=spec, surfaces=[record])
    assert beside.areas == without.areas
    assert beside.areas[0].decision == "release"
    (result,) = beside.comparators
    assert (result.area, result.location, result.observed, result.verdict) == ("A", "1", seen, "not evaluated")
    found = finding(beside, "comparator-grade-noted")
    assert (found.facts, found.place, found.severity) == (GradeNoted(seen), Place("A", "1"), "observation")


def test_the_numbers_of_the_edition_stand_beside_the_contracts():
    rules = {rule.topic: rule for rule in evaluated().rules}
    assert rules["method"].rule.facts == MethodEdition(Word("value-of-spots", "mean"), 2, "2021")
    assert rules["method"].confidence.startswith("from memory")
    house = {"specification.profile.method": "House method", "specification.profile.location_value": "mean"}
    unknown = {rule.topic: rule for rule in evaluated(spec=house).rules}["method"]
    assert unknown.rule.facts == MethodUnknown("House method", "2021")
    assert (unknown.source, unknown.clause) == ("T-1 Part 1", "1.2")


@pytest.mark.parametrize(
    ("record", "taken"),
    [
        ({"minimum": "50 um", "maximum": "100 um"}, ("49.5 µm", "100.5 µm")),
        ({"minimum": "50 um"}, ("49.5 µm", None)),
        ({"comparator_grade": "medium G"}, ("59.5 µm", "99.5 µm")),  # from 100 µm it is coarse
        ({"minimum": "2.0 mil", "maximum": "3.5 mil"}, (None, None)),  # a digit more is judged, and rounded as read
        ({"minimum": "50 um", "rounding": "none"}, (None, None)),
        ({"minimum": "50 um", "decision_rule": "guarded"}, (None, None)),
    ],
)
def test_between_which_values_rounding_alone_keeps_a_limit(record, taken):
    """What the page says of a limit without decimals: half a digit beyond it."""
    rest = {"method": "ISO 8503-4", "edition": "2012", "decision_rule": "simple", "rounding": "half-even",
            "readings_per_location": "2", "location_value": "mean"}  # fmt: skip
    required = requirement_of(ProfileRequirement.model_validate(rest | record))
    assert tuple(None if one is None else str(one) for one in required.taken_by_rounding) == taken


# What is open about a location, and what is to be done


def _steps(evaluation, location):
    return [step.code for step in evaluation.measure_next if step.place.location == location]


def test_a_location_is_measured_again_only_where_nothing_else_is_owed():
    """Both are within U of 3.5 mil; at location 2 the second spot may decide."""
    guarded = {"specification.profile.decision_rule": "guarded"}
    evaluation = evaluated("1 a x1 3.3; 1 b x1 3.3; 2 a x1 3.3", spec=guarded)
    assert _steps(evaluation, "1") == ["measure-location-again"]
    assert _steps(evaluation, "2") == ["measure-spots"]


@pytest.mark.parametrize(
    ("text", "spec"),
    [
        ("1 a x1 3.3; 1 b x1 3.3; 1 c x1 3.3", {}),
        ("1 a x1 3.5; 1 b x1 3.1", {"specification.profile.agreement_tolerance": "0.2 mil"}),
    ],
)
def test_a_spot_too_many_or_spots_that_disagree_are_told_instead(text, spec):
    evaluation = evaluated(
        f"{text}; 2 a x1 2.9; 2 b x1 3.0", spec={"specification.profile.decision_rule": "guarded"} | spec
    )
    assert evaluation.areas[0].locations[0].verdict == "inconclusive"
    assert "measure-location-again" not in _steps(evaluation, "1")


def test_a_spot_too_many_never_holds_what_fails():
    """Three spots of two, all above 3.5 mil by more than U."""
    evaluation = evaluated("1 a x1 4.0; 1 b x1 4.0; 1 c x1 4.0")
    assert (evaluation.areas[0].locations[0].verdict, evaluation.areas[0].decision) == ("does not conform", "rework")


def test_spots_are_printed_in_the_unit_of_the_specification():
    """76 µm are 2.992 mil (25.4 µm to the mil), 74 µm 2.913, the mean 75 µm 2.953."""
    gauge = {"instruments.g1": METRIC["instruments.g1"]}
    (location,) = evaluated("1 a x1 76; 1 b x1 74", spec=gauge).areas[0].locations
    assert [spot.profile for spot in location.spots] == [Decimal("2.992"), Decimal("2.913")]
    assert location.profile == Decimal("2.953")


def test_a_location_of_a_walk_out_is_not_measured_again_for_itself():
    """It is near 3.5 mil, and what it says is of the location that the walk started from."""
    walk = {"failing": "1", "interval": "0.5 m", "directions": [{"towards": "up", "locations": ["2"]}]}
    evaluation = evaluated(
        "1 a x1 4.0; 1 b x1 4.0; 2 a x1 3.3; 2 b x1 3.3", surfaces=[surface(profile__walk_outs=[walk])],
        spec={"specification.profile.decision_rule": "guarded"},
    )  # fmt: skip
    assert evaluation.areas[0].locations[1].verdict == "inconclusive"
    assert "measure-location-again" not in _steps(evaluation, "2")


@pytest.mark.parametrize("first", [True, False])
def test_readings_that_are_equal_keep_their_own_digits(first):
    both = ("x1 2.60", "x1 2.6") if first else ("x1 2.6", "x1 2.60")
    text = f"1 a {both[0]}; 1 a c1 2.40; 1 b x1 2.7; 2 a {both[1]}; 2 a c1 2.4; 2 b {both[0]}; 2 b c1 2.4"
    result = evaluated(text, spec={"instruments.g1.resolution": None})
    shown = [
        [f"{one.gross} {one.net}" for spot in location.spots for one in spot.readings]
        for location in result.areas[0].locations
    ]
    first_value, other = (value.removeprefix("x1 ") for value in both)
    assert shown == [
        [f"{first_value} {first_value}", "2.40 2.40", "2.7 2.7"],
        [f"{other} {other}", "2.4 2.4", f"{first_value} {first_value}", "2.4 2.4"],
    ]


@pytest.mark.parametrize("order", [("2.6", "2.60"), ("2.60", "2.6")])
def test_the_last_digit_of_the_finest_reading_counts_whichever_came_first(order):
    result = evaluated(f"1 a x1 {order[0]}; 1 b x1 {order[1]}", spec={"instruments.g1.resolution": None})
    assert str(result.areas[0].locations[0].profile) == "2.600"
