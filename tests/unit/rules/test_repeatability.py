"""How far spots scatter: from the spots, from locations of one spot each, stated by the contract, or not known."""

from decimal import Decimal

import pytest
from pydantic import ValidationError

from reportgen.results import Amount, Place, Word
from reportgen.results.codes.profile import ScatterAbove, UncertaintyUnknown
from reportgen.results.values import Chance, PlanMisses
from reportgen.rules import evaluate
from reportgen.rules.uncertainty import spot_scatter
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import codes, evaluated, finding, job, surface

GUARDED = {"specification.profile.decision_rule": "guarded"}
ONE = {"specification.profile.readings_per_location": "1"}
TWO_SPOTS = "1 a x1 3.1; 1 b x1 2.9; 2 a x1 3.2; 2 b x1 2.8; 3 a x1 3.0; 3 b x1 2.7"
ONE_SPOT = "1 a x1 3.1; 2 a x1 3.2; 3 a x1 2.7"


def stated(value="0.15 mil", freedom="240"):
    known = {"value": value, "degrees_of_freedom": freedom, "source": "verified reports R-1 to R-20"}
    return {"specification.profile.repeatability": known}


def lines(area):
    return {line.component.key: line for line in area.location_budget}


def test_one_spot_is_never_surer_than_two():
    """Locations 3.1, 3.2, 2.7 scatter by 0.2646 with two degrees of freedom, whole; two spots by 0.22 over √2."""
    (two,) = evaluated(TWO_SPOTS, spec=GUARDED).areas
    (one,) = evaluated(ONE_SPOT, spec=GUARDED | ONE).areas
    scatter = lines(one)["scatter of locations"]
    assert (scatter.standard_uncertainty, scatter.degrees_of_freedom) == (Decimal("0.265"), 2)
    assert one.locations[0].expanded_uncertainty > two.locations[0].expanded_uncertainty
    assert [location.verdict for location in one.locations] == ["inconclusive"] * 3
    assert one.decision == "hold"


def test_one_spot_at_one_location_is_undecided_under_a_guarded_rule_and_released_under_the_simple_one():
    found = finding(evaluation := evaluated("1 a x1 3.0", spec=GUARDED | ONE), "profile-inconclusive")
    lacking = Word("uncertainty-lacking", "repeatability")
    assert found.facts == UncertaintyUnknown(Amount(Decimal("3.00"), "mil"), Word("decision-rule", "guarded"), lacking)
    assert evaluation.areas[0].decision == "hold"
    (area,) = evaluated("1 a x1 3.0", spec=ONE).areas
    assert (area.decision, area.locations[0].expanded_uncertainty, area.expanded_uncertainty) == ("release", None, None)


def test_a_stated_repeatability_stands_in_the_budget_with_its_degrees_of_freedom():
    (area,) = evaluated("1 a x1 3.0", spec=GUARDED | ONE | stated()).areas
    line = lines(area)["repeatability"]
    assert (line.value, line.degrees_of_freedom, line.source.key) == (Decimal("0.150"), 240, "stated-repeatability")
    assert (area.locations[0].verdict, area.locations[0].expanded_uncertainty) == ("conforms", Decimal("0.39"))


def test_it_is_read_in_its_own_unit():
    (area,) = evaluated("1 a x1 3.0", spec=GUARDED | ONE | stated("3.81 um")).areas
    assert lines(area)["repeatability"].value == Decimal("0.150")


def test_spots_that_scatter_more_than_stated_stand_for_themselves():
    """Squares within 0.02 + 0.08 + 0.045 over three: 0.220 against 0.03, F = 53.7."""
    evaluation = evaluated(TWO_SPOTS, spec=GUARDED | stated("0.03 mil"))
    found = finding(evaluation, "scatter-above-stated")
    mil = "mil"
    assert found.facts == ScatterAbove(Amount(Decimal("0.220"), mil), 3, Amount(Decimal("0.03"), mil), 240)
    assert (found.place, found.severity) == (Place("A"), "observation")
    assert lines(evaluation.areas[0])["repeatability"].source.key == "type-a"
    assert codes(evaluated(TWO_SPOTS, spec=GUARDED | stated("0.15 mil"))) == []


def test_the_rule_is_named_with_its_source():
    (rule,) = [one for one in evaluated(spec=stated()).rules if one.topic == "repeatability"]
    assert rule.rule.facts.source == "verified reports R-1 to R-20"


def test_walk_outs_do_not_widen_the_scatter_of_locations():
    """Regular locations 1.8, 3.0, 3.0 scatter by 0.693; with those around the failing one it would be 0.568."""
    walk = {"failing": "1", "interval": "0.5 m", "directions": [{"towards": "up", "locations": ["4", "5"]}]}
    text = "1 a x1 1.8; 2 a x1 3.0; 3 a x1 3.0; 4 a x1 2.1; 5 a x1 2.2"
    single = {"specification.profile.overlap_rule": "single-grade"}
    (area,) = evaluated(text, spec=ONE | single, surfaces=[surface(profile__walk_outs=[walk])]).areas
    assert lines(area)["scatter of locations"].value == Decimal("0.693")


@pytest.mark.parametrize("wrong", [("0 mil", "240"), ("0.15 mil", "0"), ("7 mil", "9"), ("0.15", "9")])
def test_what_cannot_be_stated(wrong):
    with pytest.raises(ValidationError):
        job(spec=stated(*wrong))


def test_limits_of_error_calibration_and_the_shims_own_error_enter():
    certificate = {
        "instruments.g1.uncertainty": "0.1 mil", "instruments.g1.coverage_factor": "2",
        "instruments.g1.shim_accuracy": "0.05 mil",
    }  # fmt: skip
    budget = lines(evaluated(TWO_SPOTS, spec=certificate).areas[0])
    assert budget["gauge accuracy"].standard_uncertainty == Decimal("0.115")
    assert budget["calibration"].standard_uncertainty == Decimal("0.050")
    assert budget["shim"].standard_uncertainty == Decimal("0.029")
    preset = [{"time": time, "gauge": "g1", "anvils": "clean", "preset": "-2.0 mil"} for time in ("06:30", "17:00")]
    without = evaluated(TWO_SPOTS, spec=certificate, day={"gauge_checks": preset})
    assert "shim" not in lines(without.areas[0])


def checked(shim_reading, **gauge):
    checks = [
        {"time": time, "gauge": "g1", "anvils": "clean", "shim": "3.0 mil", "shim_reading": shim_reading}
        for time in ("06:30", "17:00")
    ]
    spec = {f"instruments.g1.{name}": value for name, value in gauge.items()}
    return codes(evaluated(TWO_SPOTS, spec=spec, day={"gauge_checks": checks}))


def test_one_digit_of_flicker_fails_no_check_however_small_the_limits_of_error_are():
    tiny = {"accuracy": "0.01 mil"}
    assert checked("3.1 mil", **tiny) == []
    assert "gauge-check-failed" in checked("3.2 mil", **tiny)
    assert "gauge-check-failed" in checked("3.02 mil", **tiny, resolution="0.01 mil")


def test_a_shim_is_known_no_better_than_its_own_error():
    assert "gauge-check-failed" in checked("3.3 mil")
    assert checked("3.3 mil", shim_accuracy="0.1 mil") == []


def test_what_the_plan_can_miss():
    """0.9, 0.8 and 0.7 cubed; 40 m² have room for 1777 locations of 15 cm by 15 cm."""
    (area,) = evaluate(job(TWO_SPOTS)).areas
    chances = (Chance(10, Decimal("0.73")), Chance(20, Decimal("0.51")), Chance(30, Decimal("0.34")))
    assert area.can_miss == PlanMisses(3, chances, 1777)
    small = {"structures.0.areas.0.size": "0.25 m2"}
    (area,) = evaluate(job(TWO_SPOTS, spec=small)).areas
    assert area.can_miss == PlanMisses(
        3, (Chance(10, Decimal("0.51")), Chance(20, Decimal("0.34")), Chance(30, Decimal("0.21"))), 11
    )  # fmt: skip
    tiny = {"structures.0.areas.0.size": "0.05 m2"}
    (area,) = evaluate(job(TWO_SPOTS, spec=tiny)).areas
    assert area.can_miss == PlanMisses(3, chances, None, 2)
    assert "although the size of the area has room for 2 alone" in sentences("en").shown(area.can_miss)
    assert "nur für 2 Platz ist" in sentences("de").shown(area.can_miss)
    full = {"structures.0.areas.0.size": "675 cm2"}  # three locations, and all were measured
    assert evaluate(job(TWO_SPOTS, spec=full)).areas[0].can_miss.possible == 3
    unsized = {"structures.0.areas.0.size": None}
    assert evaluate(job(TWO_SPOTS, spec=unsized)).areas[0].can_miss.possible is None


ROUGH = "1 a x1 3.2; 1 b x1 2.8; 2 a x1 3.1; 2 b x1 2.7; 3 a x1 3.0; 3 b x1 2.6"
EVEN = "1 a x1 2.7; 1 b x1 2.7; 2 a x1 2.8; 2 b x1 2.8; 3 a x1 2.7; 3 b x1 2.7"


@pytest.mark.parametrize("more", [{}, stated("0.1 mil")], ids=["of the spots", "stated"])
def test_even_steel_of_another_apparatus_does_not_make_rough_steel_sure(more):
    """Rough: squares within 3 · 0.08 over three, 0.283 mil; with the even steel it would be 0.2 mil, and F 4, not 8."""
    (alone,) = evaluated(ROUGH, spec=GUARDED | more).areas
    both = [surface(), surface(apparatus="pot 2", blasted__start="09:10", blasted__end="10:00")]
    (beside,) = evaluated(ROUGH, EVEN, spec=GUARDED | more, surfaces=both).areas
    for one, other in zip(alone.locations, beside.locations, strict=False):
        assert (one.verdict, one.expanded_uncertainty) == (other.verdict, other.expanded_uncertainty)
    assert {one.expanded_uncertainty for one in beside.locations[3:]} != {alone.locations[0].expanded_uncertainty}
    line = lines(beside)["repeatability"]
    assert (line.value, line.degrees_of_freedom) == (Decimal("0.283"), 3), "the budget is of the least sure location"


def test_a_coarse_reading_is_not_surer_for_fine_ones_beside_it():
    """Whole mils written down on one surface, tenths on another, and no resolution on record."""
    spec = GUARDED | {"instruments.g1.resolution": None}
    both = [surface(), surface(apparatus="pot 2", blasted__start="09:10", blasted__end="10:00")]
    (area,) = evaluated("1 a x1 3; 1 b x1 3", EVEN, spec=spec, surfaces=both).areas
    assert lines(area)["gauge resolution"].value == Decimal("0.5")
    assert area.locations[0].expanded_uncertainty > area.locations[1].expanded_uncertainty


def test_the_budget_of_a_location_is_that_of_the_spots_it_has():
    """More spots than the contract asks for: the budget that explains U is of these, and of the least sure location."""
    text = "; ".join(f"1 {spot} x1 {value}" for spot, value in zip("abcdefgh", ("3.1", "2.9") * 4, strict=True))
    (area,) = evaluated(text, spec=GUARDED).areas
    assert str(lines(area)["repeatability"].divisor) == "2.828"
    assert area.expanded_uncertainty == area.locations[0].expanded_uncertainty
    (mixed,) = evaluated(f"{text}; 2 a x1 3.0; 2 b x1 3.2; 3 a x1 3.1; 3 b x1 2.8; 3 c x1 2.9", spec=GUARDED).areas
    assert str(lines(mixed)["repeatability"].divisor) == "1.414"


@pytest.mark.parametrize(("resolution", "step"), [("0.5 mil", "0.5"), ("0.01 mil", "0.1"), (None, "0.1")])
def test_readings_are_rounded_to_the_coarser_of_the_gauge_and_the_digits_written(resolution, step):
    """Readings to 0.1 mil: a gauge in steps of half a mil showed no more, one in hundredths was not read so."""
    one = job("1 a x1 3.1; 1 b x1 2.9", spec={"instruments.g1.resolution": resolution})
    assert [str(found.normalize()) for _, _, found, _ in spot_scatter(one)] == [step]
