"""A profile that is graded beside a comparator alone: the same rules as for readings, other results of a location."""

from decimal import Decimal

import pytest

from reportgen.results import Amount, Word
from reportgen.results.codes.comparator import GradeShown
from reportgen.results.codes.equipment import OtherMethod
from reportgen.results.codes.profile import SpotsMissing
from reportgen.results.codes.ranges import BetweenBelow
from tests.unit.rules.factory import ON_PLATE, codes, evaluated, finding, surface

GRADED = {
    "specification.profile": {
        "clause": "1.2", "comparator_grade": "medium G", "method": "ISO 8503-2", "edition": "2012",
    },
    "instruments.g1": {
        "kind": "comparator", "serial": "1", "comparator": "G", "calibration_due": "2027-01-01",
    },
    "tape_rolls": {},
}  # fmt: skip
NO_CHECKS = {"gauge_checks": [], "tape_checks": []}
LIMITS = "specification.profile"


def graded(*texts, spec=None, **given):
    return evaluated(*texts, spec={**GRADED, **(spec or {})}, day=NO_CHECKS | given.pop("day", {}), **given)


def limits(minimum=None, maximum=None):
    """A contract that states limits and a comparison: the method of another standard."""
    stated = {"method": "ASTM D4417 Method A", "edition": "2021"}
    stated |= {"minimum": minimum} if minimum else {}
    return {LIMITS: stated | ({"maximum": maximum} if maximum else {})}


# Ranges of the grades: comparator G 25, 60, 100, 150 um, comparator S 25, 40, 70, 100 um (ISO 8503-1, from memory).
@pytest.mark.parametrize(
    ("spec", "seen", "verdict"),
    [
        ({}, "medium", "conforms"),
        ({}, "medium_G", "conforms"),
        ({}, "fine", "does not conform"),
        ({}, "coarse", "does not conform"),
        ({}, "finer_than_fine", "does not conform"),
        ({}, "coarser_than_coarse", "does not conform"),
        ({"instruments.g1.comparator": "S"}, "coarse", "inconclusive"),  # 70 to 100 um, but of the other comparator
        ({"instruments.g1.comparator": "S"}, "fine", "inconclusive"),
        (limits("60 um", "100 um"), "medium", "conforms"),
        (limits("60 um", "100 um"), "coarse", "inconclusive"),  # it begins at 100 um, which is allowed
        (limits("60 um", "99 um"), "coarse", "does not conform"),
        (limits("60 um", "99 um"), "medium", "inconclusive"),
        (limits("60 um", "100 um"), "fine", "does not conform"),  # below 60 um
        (limits("2.0 mil", "4.0 mil"), "medium", "conforms"),  # 50.8 to 101.6 um
        (limits("2.5 mil", "4.0 mil"), "medium", "inconclusive"),  # 63.5 um
        (limits("50 um"), "coarser_than_coarse", "conforms"),
        (limits(maximum="150 um"), "coarser_than_coarse", "inconclusive"),  # 150 um itself is allowed
        (limits(maximum="149 um"), "coarser_than_coarse", "does not conform"),
        (limits(maximum="30 um"), "finer_than_fine", "conforms"),
        (limits("25 um"), "finer_than_fine", "does not conform"),
    ],
)
def test_a_grade_is_judged_by_every_profile_that_it_holds(spec, seen, verdict):
    evaluation = graded(f"1 a - {seen}", spec=spec)
    (location,) = evaluation.areas[0].locations
    assert location.verdict == verdict
    assert (location.profile, location.expanded_uncertainty, location.probability_of_conformity) == (None, None, None)
    found = {"does not conform": "comparator-grade-not-met", "inconclusive": "profile-inconclusive"}.get(verdict)
    judged = {"comparator-grade-not-met", "profile-inconclusive"} & set(codes(evaluation))
    assert judged == ({found} if found else set())


def test_what_is_found_names_grade_requirement_and_clause():
    found = finding(graded("1 a - coarse"), "comparator-grade-not-met")
    assert found.facts == GradeShown("coarse G", BetweenBelow(Decimal(60), Amount(Decimal(100), "um")), "medium G")
    assert (found.area, found.location, found.clause) == ("A", "1", "1.2")


def test_a_failing_grade_owes_a_walk_out_and_one_that_is_measured_bounds_it():
    assert "walk-out-missing" in codes(graded("1 a - coarse"))
    walk = {
        "failing": "1", "interval": "0.5 m",
        "directions": [
            {"towards": "north", "locations": ["2", "3"]},
            *({"towards": way, "locations": [], "no_room": "yes"} for way in ("south", "up", "down")),
        ],
    }  # fmt: skip
    text = "1 a - coarse; 2 a - medium; 3 a - medium"
    bounded = graded(text, surfaces=[surface(profile__walk_outs=[walk])])
    assert "walk-out-missing" not in codes(bounded)
    assert [one.failing for one in bounded.areas[0].bounded_area] == ["1"]


def test_sampling_counts_graded_locations():
    plan = {"specification.sampling": {"plan": "per-shift-and-apparatus", "locations": "3"}}
    short = graded("1 a - medium; 2 a - medium", spec=plan)
    assert "locations-missing" in codes(short)
    assert short.areas[0].decision == "hold"
    whole = graded("1 a - medium; 2 a - medium; 3 a - medium", spec=plan)
    assert (whole.areas[0].decision, whole.areas[0].n_locations) == ("release", 3)


def test_sampling_counts_them_by_apparatus():
    plan = {"specification.sampling": {"plan": "per-shift-and-apparatus", "locations": "1"}}
    surfaces = [surface(), surface(apparatus="pot 2", blasted={"start": "10:00", "end": "11:00", "abrasive": "grit"})]
    one = graded("1 a - medium; 2 a - medium", "", spec=plan, surfaces=[surfaces[0], {**surfaces[1], "profile": None}])
    assert "surface-not-measured" in codes(one)
    both = graded("1 a - medium", "1 a - medium", spec=plan, surfaces=surfaces)
    assert [part.taken for part in both.areas[0].sampling] == [1, 1]
    assert both.areas[0].decision == "release"


def test_no_check_of_a_gauge_is_owed_and_no_statistics_are_given():
    evaluation = graded("1 a - medium; 2 a - medium; 3 a - medium; 4 a - medium; 5 a - medium; 6 a - medium")
    (area,) = evaluation.areas
    assert codes(evaluation) == []
    assert (area.mean, area.standard_deviation, area.budget, area.location_budget) == (None, None, (), ())
    topics = {rule.topic for rule in evaluation.rules}
    assert not topics & {"budget", "probability-of-conformity", "outliers", "rounding", "uncertainty"}


def test_grades_before_the_blasting_are_not_of_the_surface():
    evaluation = graded("1 a - medium 06:50")
    assert "measured-before-blasting" in codes(evaluation)
    assert evaluation.areas[0].n_locations == 0
    assert "measured-after-primer" in codes(graded("1 a - medium 11:00", surfaces=[surface(coated="10:00")]))


def test_a_comparator_out_of_date_is_found():
    assert "calibration-overdue" in codes(graded("1 a - medium", spec={"instruments.g1.calibration_due": "2026-05-01"}))


def test_several_comparisons_at_a_location_leave_open_which_it_is():
    two = {f"{LIMITS}.readings_per_location": "2"}
    alike = graded("1 a - medium; 1 b - medium", spec=two)
    assert alike.areas[0].locations[0].observed == "medium G"
    assert alike.areas[0].verdict == "conforms"
    apart = graded("1 a - medium; 1 b - coarse", spec=two)
    assert apart.areas[0].locations[0].observed == "medium G, coarse G"
    assert (apart.areas[0].locations[0].verdict, apart.areas[0].decision) == ("inconclusive", "hold")
    both_out = graded("1 a - fine; 1 b - coarse", spec=two)
    assert both_out.areas[0].verdict == "does not conform"
    few = graded("1 a - coarse", spec=two)
    assert finding(few, "spots-missing").facts == SpotsMissing(1, 2)
    assert "profile-inconclusive" not in codes(few), "the comparison owed may decide"
    assert few.areas[0].locations[0].verdict == "inconclusive"


@pytest.mark.parametrize(
    ("text", "spec", "kind", "method"),
    [
        ("1 a - medium", {"instruments.g1": GRADED["instruments.g1"]}, "comparator", "ASTM D4417 Method C"),
        ("1 a - 2.9; 1 b - 2.8", {"instruments.g1.kind": "depth micrometer"}, "depth micrometer",
         "ASTM D4417 Method C"),
        ("1 a x1 2.9", {f"{LIMITS}.method": "ASTM D4417 Method B"}, "thickness gauge", "ASTM D4417 Method B"),
    ],
)  # fmt: skip
def test_another_method_than_the_contracts_holds_its_area(text, spec, kind, method):
    evaluation = evaluated(text, spec=spec, day={"depth micrometer": ON_PLATE, "comparator": NO_CHECKS}.get(kind, {}))
    found = finding(evaluation, "other-method")
    assert found.facts == OtherMethod(Word("instrument-kind", kind), method)
    assert (found.area, found.clause) == ("A", "1.2")
    assert evaluation.areas[0].decision == "hold"


def test_a_method_that_is_not_known_may_be_read_with_any_gauge():
    house = {f"{LIMITS}.method": "House method", f"{LIMITS}.location_value": "mean"}
    assert "other-method" not in codes(evaluated(spec=house))


def test_a_guarded_rule_is_not_satisfied_by_a_grade():
    """It was taken by another method than the contract's, whose rule needs an uncertainty that a grade has not."""
    spec = {
        "instruments.g1": GRADED["instruments.g1"], f"{LIMITS}.decision_rule": "guarded",
        f"{LIMITS}.maximum": "4.0 mil",
    }  # fmt: skip
    assert (
        evaluated("1 a - medium; 1 b - medium", spec=spec, day=NO_CHECKS).areas[0].locations[0].verdict
        == "inconclusive"
    )


def test_a_micrometer_is_proven_on_the_plate():
    spec = {"instruments.g1.kind": "depth micrometer", f"{LIMITS}.method": "ASTM D4417 Method B"}
    text = "1 a - 2.9; 1 b - 2.8"
    assert "gauge-check-failed" not in codes(evaluated(text, spec=spec, day=ON_PLATE))
    off = {"gauge_checks": [*ON_PLATE["gauge_checks"][:1], ON_PLATE["gauge_checks"][1] | {"zero": "0.3 mil"}]}
    failed = evaluated(text, spec=spec, day=off)
    assert finding(failed, "gauge-check-failed").facts.doubt.locations == ("1",)
    assert failed.areas[0].locations[0].verdict == "inconclusive"
    dirty = [one | {"tip": "not checked"} for one in ON_PLATE["gauge_checks"]]
    assert codes(evaluated(text, spec=spec, day={"gauge_checks": dirty})).count("gauge-check-missing") == 2
