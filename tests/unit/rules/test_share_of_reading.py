"""Errors that a certificate states as a share of the reading, alone or beside a fixed part.

Values by hand: limits of error ±(a + b·x) are rectangular, u = (a + b·x)/√3 (JCGM 100:2008, 4.3.7). On tape a gauge
measures film and profile: x is the profile and 2.0 mil, or 50 µm.
"""

import math
from decimal import Decimal

import pytest

from reportgen.metrology.uncertainty import Gauge
from reportgen.results.facts import Amount
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import codes, evaluated, finding

MIL = {"kind": "thickness gauge", "serial": "1", "unit": "mil", "resolution": "0.1 mil"}
MICRO = {"kind": "thickness gauge", "serial": "1", "unit": "um", "resolution": "1 um"}
METRIC = {
    "specification.profile.minimum": "50 um", "specification.profile.maximum": "90 um",
    "specification.profile.edition": "2021",
}  # fmt: skip
METRIC_DAY = {
    "gauge_checks": [
        {"time": time, "gauge": "g1", "anvils": "clean", "preset": "-50 um", "shim": "75 um", "shim_reading": "75 um"}
        for time in ("06:30", "17:00")
    ],
    "tape_checks": [{"time": "06:35", "roll": "x1", "gauge": "g1", "thickness": "140 um"}],
}
TWO = "1 a x1 3.1; 1 b x1 2.9; 2 a x1 2.7; 2 b x1 2.9"


def of(text, gauge, rule="simple", **given):
    spec = {"instruments.g1": gauge, "specification.profile.decision_rule": rule, **given.pop("spec", {})}
    return evaluated(text, spec=spec, **given)


def lines(area, which="location_budget"):
    return {line.component.key: line for line in getattr(area, which)}


def test_a_share_is_of_film_and_profile_at_the_location():
    """Location 1 reads 3.0 mil, so 5 mil with the film: 5 % are 0.25 mil; location 2, 2.8 mil, has less."""
    (area,) = of(TWO, MIL | {"accuracy_of_reading": "5 %"}).areas
    line = lines(area)["gauge accuracy"]
    assert (line.value, line.standard_uncertainty) == (Decimal("0.250"), Decimal("0.144"))
    assert float(line.standard_uncertainty) == pytest.approx(0.05 * 5 / math.sqrt(3), abs=5e-4)
    assert line.source.key == "accuracy-of-reading"


def test_both_parts_add_up_before_they_are_divided():
    """70 µm and 50 µm of film: 1 µm + 3 % of 120 µm = 4.6 µm, u = 2.66 µm; not √(1² + 3.6²)/√3 = 2.16 µm."""
    gauge = MICRO | {"accuracy": "1 um", "accuracy_of_reading": "3 %"}
    (area,) = of("1 a x1 71; 1 b x1 69", gauge, spec=METRIC, day=METRIC_DAY).areas
    line = lines(area)["gauge accuracy"]
    assert (line.value, line.standard_uncertainty) == (Decimal("4.60"), Decimal("2.66"))


def test_the_u_of_a_certificate_may_be_a_share_too():
    """U = 0.1 mil + 2 % of 5 mil = 0.2 mil with k = 2: u = 0.1 mil."""
    gauge = MIL | {
        "accuracy": "0.2 mil", "uncertainty": "0.1 mil", "uncertainty_of_reading": "2 %", "coverage_factor": "2",
    }  # fmt: skip
    (area,) = of("1 a x1 3.1; 1 b x1 2.9", gauge).areas
    assert lines(area)["calibration"].standard_uncertainty == Decimal("0.100")
    assert lines(area)["gauge accuracy"].source.key == "stated-accuracy"


@pytest.mark.parametrize("rule", ["simple", "guarded", "banded"])
def test_a_share_decides_as_the_same_error_written_as_a_number(rule):
    """5 % of the 5 mil at the only location are 0.25 mil."""
    text = "1 a x1 3.1; 1 b x1 2.9"
    share, fixed = (of(text, MIL | one, rule) for one in ({"accuracy_of_reading": "5 %"}, {"accuracy": "0.25 mil"}))
    of_share, of_fixed = share.areas[0], fixed.areas[0]
    assert of_share.locations == of_fixed.locations
    assert (of_share.verdict, of_share.expanded_uncertainty) == (of_fixed.verdict, of_fixed.expanded_uncertainty)


@pytest.mark.parametrize(
    ("share", "rule", "verdict"),
    [
        ("3 %", "guarded", "conforms"), ("8 %", "guarded", "inconclusive"), ("8 %", "banded", "inconclusive"),
        ("8 %", "simple", "conforms"),
    ],
)  # fmt: skip
def test_a_guard_band_is_as_wide_as_the_share_makes_it(share, rule, verdict):
    """2.9 mil against 2.6: 3 % of 4.9 mil are 0.147 mil, u 0.085; 8 % are 0.392, u 0.226.

    With half a digit 0.05/√3, film 0.08/√3 and 0.05/√2: u 0.107 and 0.235, U 0.21 and 0.46.
    """
    spread = {"value": "0.05 mil", "degrees_of_freedom": "200", "source": "reports"}
    spec = {"specification.profile.repeatability": spread, "specification.profile.minimum": "2.6 mil"}
    (area,) = of("1 a x1 2.9; 1 b x1 2.9", MIL | {"accuracy_of_reading": share}, rule, spec=spec).areas
    assert area.locations[0].verdict == verdict


def test_the_mean_of_an_area_has_the_share_at_the_mean():
    """Means 3.0 and 2.8 mil, 2.9 together: 5 % of 4.9 mil are 0.245 mil."""
    (area,) = of(TWO, MIL | {"accuracy_of_reading": "5 %"}).areas
    assert lines(area, "budget")["gauge accuracy"].value == Decimal("0.245")


def test_without_a_film_the_share_is_of_the_profile():
    assert Gauge("um", 1, accuracy_share=Decimal("0.03")).at_reading(60).accuracy == Decimal("2.8")


def test_the_unit_of_the_gauge_makes_no_difference():
    """3.0 mil are 76.2 µm, but the film is 2.0 mil there and 50 µm here: 0.8 µm of 127, 0.04 µm of error."""
    share = {"accuracy_of_reading": "5 %"}
    (area,) = of("1 a x1 76; 1 b x1 76", MICRO | share, day=METRIC_DAY).areas
    assert lines(area)["gauge accuracy"].value == Decimal("0.248")


@pytest.mark.parametrize(
    ("shown", "found"),
    [("3.2 mil", []), ("3.3 mil", ["gauge-drift", "gauge-check-failed", "nonconformance-missing"]), ("2.8 mil", [])],
)
def test_on_the_shim_a_gauge_may_be_off_by_the_share_of_its_thickness_more(shown, found):
    """0.1 mil + 5 % of 3.0 mil = 0.25 mil on the shim; the pre-set, at zero, has 0.1 mil alone."""
    check = {"time": "06:30", "gauge": "g1", "anvils": "clean", "preset": "-2.0 mil", "shim": "3.0 mil"}
    day = {"gauge_checks": [check | {"shim_reading": shown}, check | {"time": "17:00", "shim_reading": "3.0 mil"}]}
    evaluation = of("1 a x1 3.1; 1 b x1 2.9", MIL | {"accuracy_of_reading": "5 %"}, day=day)
    assert codes(evaluation) == found
    said = sentences("en").check_required(next(one for one in evaluation.checks if one.kind == "gauge"))
    assert "within 0.1 mil, on the shim 5 % of what it measures more" in said


def test_the_pre_set_has_no_share():
    check = {"gauge": "g1", "anvils": "clean", "preset": "-2.2 mil"}
    day = {"gauge_checks": [check | {"time": "06:30"}, check | {"time": "17:00"}]}
    assert "gauge-check-failed" in codes(of("1 a x1 3.1; 1 b x1 2.9", MIL | {"accuracy_of_reading": "9 %"}, day=day))


CONDITIONS = {"dew_point_margin": "3 delta_degC", "decision_rule": "guarded"}
STEEL = {"kind": "surface thermometer", "serial": "2", "accuracy": "0.5 delta_degC"}


def of_log(hygrometer, **given):
    tool = {"kind": "hygrometer", "serial": "1", "temperature_accuracy": "0.5 delta_degC"} | hygrometer
    row = {"time": "07:00", "air": "15.0 degC", "humidity": "85 %", "steel": "16.2 degC", "instruments": ["h1", "t1"]}
    spec = {"specification.conditions": CONDITIONS, "instruments.h1": tool, "instruments.t1": STEEL}
    return evaluated(spec=spec, day={"conditions": [row, row | {"time": "09:00"}], **given})


def test_a_hygrometer_may_err_by_a_share_of_the_humidity():
    """3 % of 85 % humidity are 2.55 % humidity: the same as that accuracy, whose 3 % would be wider."""
    share, same, points = (
        of_log(one).conditions[0]
        for one in ({"accuracy_of_reading": "3 %"}, {"accuracy": "2.55 %"}, {"accuracy": "3 %"})
    )
    assert share == same
    assert share.humidity_uncertainty < points.humidity_uncertainty
    (humidity,) = [one for one in share.budgets if one.quantity.key == "humidity"]
    assert humidity.standard_uncertainty == Decimal("1.47")  # 2.55/√3 = 1.472
    both = of_log({"accuracy": "1 %", "accuracy_of_reading": "3 %"}).conditions[0]
    assert both == of_log({"accuracy": "3.55 %"}).conditions[0]


def test_a_share_of_the_humidity_is_no_error_of_its_thermometer():
    known = of_log({"accuracy_of_reading": "3 %"}).conditions[0]
    assert known.air_uncertainty == of_log({"accuracy": "3 %"}).conditions[0].air_uncertainty


@pytest.mark.parametrize(("shown", "found"), [("77.5 %", []), ("77.6 %", ["function-check-failed"])])
def test_a_check_allows_the_share_of_its_reference(shown, found):
    """3 % of 75.3 % are 2.259 %."""
    check = {"time": "06:30", "instrument": "h1", "reference": "75.3 %", "shown": shown}
    evaluation = of_log({"accuracy_of_reading": "3 %"}, function_checks=[check])
    assert [one for one in codes(evaluation) if one.startswith("function")] == found
    (told_of,) = [one for one in evaluation.checks if one.kind == "function"]
    assert told_of.facts.due.tolerance == Amount(Decimal("2.259"), "%")


def test_an_error_beyond_the_share_makes_the_instrument_less_sure():
    """5 % off at 75 %, where 3 % are 2.25 %: 2.75 % beyond, which stay beside the share: 2.75 + 2.55 % at 85 %."""
    check = {"time": "06:30", "instrument": "h1", "reference": "75 %", "shown": "80 %", "tolerance": "6 %",
             "confirmed": "yes"}  # fmt: skip
    evaluation = of_log({"accuracy_of_reading": "3 %"}, function_checks=[check])
    assert evaluation.conditions[0] == of_log({"accuracy": "5.30 %"}).conditions[0]
    found = finding(evaluation, "function-error-beyond")
    assert found.facts.accuracy == Amount(Decimal("2.25"), "%")
