"""Dew point and humidity: published examples, the formula's table, and psychrolib over a grid."""

from decimal import Decimal

import psychrolib
import pytest

from reportgen.metrology.climate import (
    dew_point,
    humidity_from_wet_bulb,
    margin,
    saturation_pressure,
)
from reportgen.units import Quantity
from tests.reference.published import published

psychrolib.SetUnitSystem(psychrolib.SI)


def quantity(text, unit):
    return Quantity(Decimal(str(text)), unit)


def dew(air, humidity, unit="degC"):
    return float(dew_point(quantity(air, unit), quantity(humidity, "%")).in_unit(unit))


@pytest.mark.parametrize("row", published("dew-point-examples").rows, ids=lambda row: row["air"])
def test_published_examples(row):
    tolerance = float(published("dew-point-examples").tolerance) * float(row["printed_unit"])
    assert dew(row["air"], row["humidity"]) == pytest.approx(float(row["dew_point"]), abs=tolerance)


@pytest.mark.parametrize("row", published("dew-point-fahrenheit").rows, ids=lambda row: row["air"])
def test_coarse_tables_in_fahrenheit(row):
    tolerance = float(published("dew-point-fahrenheit").tolerance)
    assert dew(row["air"], row["humidity"], "degF") == pytest.approx(float(row["dew_point"]), abs=tolerance)


def dew_point_from_wet_bulb(at, variant):
    """The two formulas one after the other, as a day with a psychrometer is evaluated, in degC."""
    return float(dew_point(at[0], humidity_from_wet_bulb(*at, psychrometer=variant)).exact)


@pytest.mark.parametrize("row", published("dew-point-wet-bulb").rows, ids=lambda row: row["source"])
@pytest.mark.parametrize("variant", ["wmo", "ams"])
def test_published_wet_bulb_points(row, variant):
    at = [quantity(row["air"], "degC"), quantity(row["wet_bulb"], "degC"), quantity(row["pressure"], "hPa")]
    found = dew_point_from_wet_bulb(at, variant)
    assert found == pytest.approx(float(row["dew_point"]), abs=float(row["tolerance_degC"]))


@pytest.mark.parametrize(
    "row", published("psychrometer-printed").rows, ids=lambda row: f"{row['air']}/{row['wet_bulb']}"
)
@pytest.mark.parametrize("variant", ["wmo", "ams"])
def test_printed_psychrometric_tables(row, variant):
    at = (quantity(row["air"], "degF"), quantity(row["wet_bulb"], "degF"), quantity(row["pressure"], "hPa"))
    if row["humidity"]:
        found = float(humidity_from_wet_bulb(*at, psychrometer=variant).exact)
        assert found == pytest.approx(float(row["humidity"]), abs=float(row["humidity_tolerance"]))
    if row["dew_point"]:
        found = dew_point_from_wet_bulb(at, variant) * 9 / 5 + 32
        assert found == pytest.approx(float(row["dew_point"]), abs=float(row["dew_point_tolerance"]))


@pytest.mark.parametrize(
    "row", published("vapour-pressure").rows, ids=lambda row: f"{row['fahrenheit']}-{row['surface']}"
)
def test_printed_vapour_pressures(row):
    found = float(saturation_pressure(quantity(row["fahrenheit"], "degF"), row["surface"]).exact) / 33.8639
    tolerance = float(published("vapour-pressure").tolerance)
    assert found == pytest.approx(float(row["inches_of_mercury"]), rel=tolerance)


# WMO-No. 8, Annex 4.B, and the glossary of the American Meteorological Society: coefficient [1/K], slope [1/degC]
COEFFICIENTS = {"wmo": (6.53e-4, 0.000944), "ams": (6.60e-4, 0.00115)}
POINTS = [(20, 15), (21, 17), (25, 18), (30, 20), (30, 24), (15, 12), (10, 7), (40, 20), (35, 31), (25, 12)]
PERCENT = 0.12  # between two formulas of the saturation pressure, Magnus here and Hyland-Wexler in psychrolib


def by_psychrolib(air, wet_bulb, pressure, variant, off=1.0):
    """Humidity [%] from the equation of the psychrometer, written out over psychrolib's saturation pressures."""
    coefficient, slope = COEFFICIENTS[variant]
    enhancement = 1.0016 + 3.15e-6 * pressure - 0.074 / pressure
    wet, dry = (enhancement * psychrolib.GetSatVapPres(float(t)) / 100 for t in (wet_bulb, air))
    return 100 * (wet - off * coefficient * (1 + slope * wet_bulb) * pressure * (air - wet_bulb)) / dry


@pytest.mark.parametrize("variant", ["wmo", "ams"])
@pytest.mark.parametrize("pressure", [900, 1013.25, 1040])
@pytest.mark.parametrize(("air", "wet_bulb"), POINTS)
def test_psychrometer_against_its_equation_over_another_saturation_pressure(air, wet_bulb, pressure, variant):
    at = (quantity(air, "degC"), quantity(wet_bulb, "degC"), quantity(pressure, "hPa"))
    found = float(humidity_from_wet_bulb(*at, psychrometer=variant).exact)
    assert found == pytest.approx(by_psychrolib(air, wet_bulb, pressure, variant), abs=PERCENT)


@pytest.mark.parametrize("off", [0.98, 1.02])
@pytest.mark.parametrize("variant", ["wmo", "ams"])
def test_a_coefficient_two_per_cent_off_would_be_seen(variant, off):
    seen = [
        abs(by_psychrolib(air, wet, 1013.25, variant, off) - by_psychrolib(air, wet, 1013.25, variant)) > 2 * PERCENT
        for air, wet in POINTS
    ]
    assert sum(seen) >= 4


def largest(differences):
    return max(differences, key=lambda entry: abs(entry[0]))


def test_dew_point_against_psychrolib_over_a_grid(record_property):
    """The largest difference over 0 to 50 degC and 20 to 100 %, dew points above the ice point: below 0.05 degC."""
    differences = []
    for air in range(0, 51, 2):
        for humidity in range(20, 101, 5):
            outside = psychrolib.GetTDewPointFromRelHum(air, humidity / 100)
            if outside >= 0.01:
                differences.append((dew(air, humidity) - outside, air, humidity))
    worst = largest(differences)
    record_property("largest difference of dew point, degC, at air degC and humidity %", str(worst))
    print(f"dew point, this program less psychrolib: largest {worst[0]:+.4f} degC at {worst[1]} degC, {worst[2]} %")
    assert len(differences) > 300
    assert 0.001 < abs(worst[0]) < 0.05


@pytest.mark.parametrize(("variant", "bound"), [("wmo", 0.28), ("ams", 0.42)])
def test_wet_bulb_against_psychrolib_over_a_grid(variant, bound, record_property):
    """Dew point from the wet bulb psychrolib gives, 5 to 45 degC, 30 to 100 %, 850 to 1050 hPa.

    psychrolib's wet bulb is the thermodynamic one, a psychrometer's is not: the difference is physical, not an error.
    """
    differences = []
    for air in range(5, 46, 5):
        for share in range(30, 101, 10):
            for hectopascal in (850, 1013, 1050):
                outside = psychrolib.GetTDewPointFromRelHum(air, share / 100)
                wet = psychrolib.GetTWetBulbFromRelHum(air, share / 100, hectopascal * 100)
                if outside < 0.01 or wet < 0.01:
                    continue
                at = (quantity(air, "degC"), quantity(round(min(wet, air), 6), "degC"), quantity(hectopascal, "hPa"))
                found = dew_point_from_wet_bulb(at, variant)
                differences.append((found - outside, air, share, hectopascal))
    worst = largest(differences)
    record_property(f"largest difference of dew point from the wet bulb, {variant}", str(worst))
    print(f"{variant}: largest {worst[0]:+.3f} degC at {worst[1:]}")
    assert len(differences) > 150
    assert 0.001 < abs(worst[0]) < bound


@pytest.mark.parametrize("celsius", range(-40, 61, 5))
def test_saturation_pressure_against_psychrolib(celsius):
    """Over ice below the ice point, as psychrolib; over water above it: within 0.6 %."""
    surface = "ice" if celsius < 0 else "water"
    found = float(saturation_pressure(quantity(celsius, "degC"), surface).exact) * 100
    assert found == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=0.006)


@pytest.mark.parametrize(("air", "humidity"), [(-20, 60), (-10, 80), (0, 50), (10, 30)])
def test_frost_point_against_psychrolib(air, humidity):
    """Below the ice point psychrolib's dew point is the frost point; its humidity is over ice, ours over water."""
    water = float(saturation_pressure(quantity(air, "degC")).exact) * 100 * humidity / 100
    outside = psychrolib.GetTDewPointFromVapPres(air, water)
    found = dew_point(quantity(air, "degC"), quantity(humidity, "%"), "ice")
    assert float(found.exact) == pytest.approx(outside, abs=0.05)


def test_recalled_frost_point_of_printed_tables():
    """10 degC and 30 %: printed tables show -6.0 (recalled), the frost point; over water it is -6.8."""
    at = (quantity(10, "degC"), quantity(30, "%"))
    assert float(dew_point(*at, "ice").exact) == pytest.approx(-6.0, abs=0.05)
    assert float(dew_point(*at).exact) == pytest.approx(-6.8, abs=0.05)


def test_margin_limits_of_two_units_differ():
    # arithmetic: 3 degC of difference is 5.4 degF; 2.8 degC passes 5 degF and fails 3 degC
    at = (quantity("14.8", "degC"), quantity("12.0", "degC"))
    assert margin(*at).exact < 3
    assert margin(*at, "delta_degF").exact >= 5
