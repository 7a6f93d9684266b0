"""Uncertainty of dew point and margin: propagation of distributions (JCGM 101) by simulation with a fixed seed.

The simulation shares no formula with the program: saturation pressures are those of Buck (1981), inverted by
interpolation, the psychrometer's equation is written out, and no sensitivity is taken. All inputs are rectangular.
"""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import psychrolib
import pytest
from uncertainties import ufloat

from reportgen.job import Instrument
from reportgen.measurements.conditions import Condition
from reportgen.measurements.conditions.uncertainty import uncertainties
from reportgen.metrology.climate import dew_point_slopes, humidity_from_wet_bulb, wet_bulb_slopes
from reportgen.metrology.uncertainty import Errors, budget, instrument_components
from reportgen.units import Quantity
from tests.unit.rules.factory import evaluated

psychrolib.SetUnitSystem(psychrolib.SI)

TRIALS = 400_000
WIDER = 1.15
"""U by a factor of 1.96 over the simulated 95 %: at most 1.19, of one rectangular error alone, as 1.96/√3 over 0.95."""
INSTRUMENTS = {
    "h1": Instrument.model_validate(
        {"kind": "hygrometer", "serial": "1", "accuracy": "3 %", "temperature_accuracy": "0.5 delta_degC"}
    ),
    "w1": Instrument.model_validate({"kind": "psychrometer", "serial": "2", "accuracy": "0.3 delta_degC"}),
    "b1": Instrument.model_validate({"kind": "barometer", "serial": "3", "accuracy": "5 hPa"}),
    "t1": Instrument.model_validate({"kind": "surface thermometer", "serial": "4", "accuracy": "0.5 delta_degC"}),
}
TEMPERATURES = np.linspace(-40, 60, 200_001)


def saturation(celsius):
    """Over water, in hPa."""
    return 6.1121 * np.exp((18.678 - celsius / 234.5) * celsius / (257.14 + celsius))


PRESSURES = saturation(TEMPERATURES)


def dew_point(vapour):
    return np.interp(vapour, PRESSURES, TEMPERATURES)


def about(middle, half, random):
    return middle + random.uniform(-half, half, TRIALS)


def half_width(values):
    """Half of the interval between the quantiles of 2.5 and 97.5 %."""
    low, high = np.quantile(values, [0.025, 0.975])
    return (high - low) / 2


def by_hygrometer(air, humidity, steel):
    """Simulated dew point and margin."""
    random = np.random.default_rng(13)
    airs = about(air, 0.5, random)
    dew = dew_point(saturation(airs) * about(humidity, 3, random) / 100)
    return dew, about(steel, 0.5, random) - dew


def by_psychrometer(air, wet, pressure, steel):
    """Simulated humidity, dew point and margin; the enhancement factor of moist air is 1.0045."""
    random = np.random.default_rng(13)
    airs, wets, pressures = (about(v, h, random) for v, h in ((air, 0.3), (wet, 0.3), (pressure, 5)))
    vapour = 1.0045 * saturation(wets) - 6.53e-4 * (1 + 0.000944 * wets) * pressures * (airs - wets)
    dew = dew_point(vapour / 1.0045)
    return 100 * vapour / 1.0045 / saturation(airs), dew, about(steel, 0.5, random) - dew


def quantity(number, unit):
    return Quantity(Decimal(str(number)), unit)


def found(instruments, **values):
    record = Condition.model_validate({"time": "08:00", "instruments": instruments, **values})
    humidity = record.humidity
    if humidity is None:
        humidity = humidity_from_wet_bulb(record.air, record.wet_bulb, record.pressure, psychrometer="wmo")
    return uncertainties(record, humidity, INSTRUMENTS, "wmo", "delta_degC")


def agree(uncertainty, simulated, over):
    """The standard uncertainty is that of the simulation; U covers at least 95 % and is wider by ``over`` at most."""
    combined, expanded = float(uncertainty.budget.combined), float(uncertainty.expanded)
    assert combined == pytest.approx(float(np.std(simulated)), rel=0.015)
    assert half_width(simulated) <= expanded <= over * half_width(simulated)
    covered = np.mean(np.abs(simulated - np.mean(simulated)) <= expanded)
    assert 0.95 <= covered < 1


@pytest.mark.parametrize(
    ("air", "humidity", "steel"), [(15.5, 76, 15.0), (20, 60, 18), (25, 80, 25), (5, 85, 4), (35, 45, 40)]
)
def test_margin_by_hygrometer(air, humidity, steel):
    dew, margin = by_hygrometer(air, humidity, steel)
    values = found(["h1", "t1"], air=f"{air} degC", humidity=f"{humidity} %", steel=f"{steel} degC")
    agree(values.dew_point, dew, WIDER)
    agree(values.margin, margin, WIDER)


@pytest.mark.parametrize(
    ("air", "wet", "pressure", "steel"),
    [(20, 15, 1013, 18), (15, 12.5, 1009, 14.5), (30, 24, 950, 33), (10, 9, 1000, 9)],
)
def test_humidity_and_margin_by_psychrometer(air, wet, pressure, steel):
    humidity, dew, margin = by_psychrometer(air, wet, pressure, steel)
    values = found(
        ["w1", "b1", "t1"], air=f"{air} degC", wet_bulb=f"{wet} degC", pressure=f"{pressure} hPa", steel=f"{steel} degC"
    )
    agree(values.humidity, humidity, WIDER)
    agree(values.dew_point, dew, WIDER)
    agree(values.margin, margin, WIDER)


@pytest.mark.parametrize(("air", "humidity"), [(20, 60), (15.5, 76), (35, 40), (8, 90)])
def test_slopes_of_the_dew_point_against_differences_of_another_formula(air, humidity):
    """psychrolib's dew point, over 0.2 °C and 0.2 %: within 1 %, as the two formulas of the pressure differ."""
    by_air, by_humidity = dew_point_slopes(quantity(air, "degC"), quantity(humidity, "%"))

    def dew(air, humidity):
        return psychrolib.GetTDewPointFromRelHum(air, humidity / 100)

    assert float(by_air) == pytest.approx((dew(air + 0.1, humidity) - dew(air - 0.1, humidity)) / 0.2, rel=0.01)
    assert float(by_humidity) == pytest.approx((dew(air, humidity + 0.1) - dew(air, humidity - 0.1)) / 0.2, rel=0.01)


@pytest.mark.parametrize(("air", "wet", "pressure"), [(20, 15, 1013), (30, 24, 950), (10, 8, 1000)])
def test_slopes_of_the_psychrometer_against_differences_of_its_equation(air, wet, pressure):
    """The equation over Buck's saturation pressures, within 1 %."""

    def humidity(air, wet, pressure):
        vapour = 1.0045 * saturation(wet) - 6.53e-4 * (1 + 0.000944 * wet) * pressure * (air - wet)
        return 100 * vapour / 1.0045 / saturation(air)

    at = quantity(air, "degC"), quantity(wet, "degC"), quantity(pressure, "hPa")
    found = wet_bulb_slopes(*at, psychrometer="wmo")
    differences = (
        (humidity(air + 0.1, wet, pressure) - humidity(air - 0.1, wet, pressure)) / 0.2,
        (humidity(air, wet + 0.1, pressure) - humidity(air, wet - 0.1, pressure)) / 0.2,
        (humidity(air, wet, pressure + 1) - humidity(air, wet, pressure - 1)) / 2,
    )
    assert [float(one) for one in found] == pytest.approx(differences, rel=0.01)


def test_components_of_an_instrument_against_the_uncertainties_package():
    """±3 % as limits of error, U = 1.2 % for k = 2 and a step of 1 %, times a sensitivity of 0.2."""
    found = budget(
        instrument_components("relative humidity", Errors("%", 3, Fraction("1.2"), 2, 1), Fraction(1, 5)), "K"
    )
    outside = 0.2 * (70 + ufloat(0, 3 / 3**0.5) + ufloat(0, 1.2 / 2) + ufloat(0, 0.5 / 3**0.5))
    assert float(found.combined) == pytest.approx(outside.std_dev, rel=1e-12)


def test_one_rectangular_error_is_expanded_beyond_its_limits():
    """One error alone is known best: u = a/√3, and 1.96 u lies beyond a, as the GUM (G.2.2) says of such a budget."""
    values = found(["h1", "t1"], air="20 degC", humidity="60 %", steel="18 degC")
    assert float(values.humidity.expanded) == pytest.approx(1.959964 * 3 / 3**0.5, rel=1e-6)
    assert float(values.steel.expanded) == pytest.approx(1.959964 * 0.5 / 3**0.5, rel=1e-6)


@pytest.mark.parametrize(("rule", "decision"), [("simple", "release"), ("guarded", "hold"), ("banded", "hold")])
def test_a_margin_of_3_7_is_not_shown_to_be_above_3(rule, decision):
    """15 °C, 85 %, steel 16.2 °C with ±3 % and ±0.5 °C: U is 0.9 to 1.0 °C by simulation, and so it is printed."""
    _, simulated = by_hygrometer(15.0, 85, 16.2)
    assert 0.9 <= half_width(simulated) <= 1.0
    reading = {
        "time": "06:45", "place": "span", "air": "15.0 degC", "humidity": "85 %", "steel": "16.2 degC",
        "instruments": ["h1", "t1"],
    }  # fmt: skip
    limits = {"clause": "1.4", "dew_point_margin": "3 delta_degC", "decision_rule": rule}
    tools = {
        "h1": {"kind": "hygrometer", "serial": "1", "accuracy": "3 %", "temperature_accuracy": "0.5 delta_degC"},
        "t1": {"kind": "surface thermometer", "serial": "4", "accuracy": "0.5 delta_degC"},
    }
    given = {"specification.conditions": limits, **{f"instruments.{name}": tool for name, tool in tools.items()}}
    evaluation = evaluated(spec=given, day={"conditions": [reading]})
    (result,) = evaluation.conditions
    assert (str(result.margin), str(result.expanded_uncertainty)) == ("3.7", "1.0")
    assert evaluation.areas[0].decision == decision
    share = np.mean(simulated >= 3)
    assert float(result.probability_of_conformity) == pytest.approx(share, abs=0.02)
