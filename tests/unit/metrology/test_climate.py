"""Ranges and refusals of the climate formulas."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import QuantityError, RangeError
from reportgen.metrology import climate
from reportgen.units import Quantity


def celsius(text):
    return Quantity(Decimal(text), "degC")


def percent(text):
    return Quantity(Decimal(text), "%")


def hectopascal(text):
    return Quantity(Decimal(text), "hPa")


def test_saturated_air_is_at_its_dew_point():
    assert abs(climate.dew_point(celsius("20"), percent("100")).exact - 20) < Fraction(1, 10**28)
    at = (celsius("20"), celsius("20"), hectopascal("1013"))
    for psychrometer in ("wmo", "ams"):
        assert climate.humidity_from_wet_bulb(*at, psychrometer=psychrometer).exact == 100


def test_saturated_air_is_never_more_than_saturated():
    """Here the last of 34 digits rounds up to just above 100 %."""
    at = (celsius("-22.7"), celsius("-22.7"), hectopascal("1166.8"))
    assert climate.humidity_from_wet_bulb(*at, psychrometer="wmo").exact == 100


@pytest.mark.parametrize("text", ["0", "-1", "100.1"])
def test_humidity_out_of_range(text):
    with pytest.raises(RangeError, match="relative humidity must lie above 0 % and at or below 100 %, got"):
        climate.dew_point(celsius("20"), percent(text))


@pytest.mark.parametrize("text", ["-45.1", "60.1"])
def test_air_out_of_range(text):
    with pytest.raises(RangeError) as caught:
        climate.dew_point(celsius(text), percent("50"))
    assert caught.value.message == (
        f"the air temperature {text} °C is outside -45 to 60 °C, where the formula over water holds"
    )


def test_ends_of_the_range_are_inside():
    climate.dew_point(celsius("60"), percent("100"))
    climate.saturation_pressure(celsius("-45"))
    climate.saturation_pressure(celsius("-65"), "ice")
    with pytest.raises(RangeError, match="over ice holds"):
        climate.saturation_pressure(celsius("0.02"), "ice")


def test_results_outside_the_formula_are_refused():
    with pytest.raises(RangeError, match=r"the dew point over water would be -\d+\.\d °C, outside -45 to 60 °C"):
        climate.dew_point(celsius("-40"), percent("30"))
    with pytest.raises(RangeError, match=r"the dew point over ice would be 10\.4 °C"):
        climate.dew_point(celsius("20"), percent("60"), "ice")


def test_a_dew_point_outside_the_formula_says_which_it_would_be():
    """What the finding prints: the value to a tenth, and the ends of the formula's range."""
    with pytest.raises(climate.ClimateRangeError) as caught:
        climate.dew_point(celsius("20"), percent("60"), "ice")
    assert (caught.value.what, caught.value.surface) == ("dew point", "ice")
    assert caught.value.values == (celsius("10.4"), celsius("-65"), celsius("0.01"))


def test_a_wet_bulb_outside_the_formula_is_told_by_its_name():
    with pytest.raises(climate.ClimateRangeError, match=r"the wet bulb -46 °C is outside -45 to 60 °C"):
        climate.humidity_from_wet_bulb(celsius("-44"), celsius("-46"), hectopascal("1013"), psychrometer="wmo")


def test_frost_point_lies_above_the_dew_point():
    at = (celsius("0"), percent("50"))
    assert climate.dew_point(*at, "ice").exact > climate.dew_point(*at).exact


def test_wet_bulb_above_dry_bulb():
    with pytest.raises(RangeError, match=r"the wet bulb 20\.1 °C is above the dry bulb 20 °C"):
        climate.humidity_from_wet_bulb(celsius("20"), celsius("20.1"), hectopascal("1013"), psychrometer="wmo")


def test_no_slopes_of_what_cannot_be():
    for wet, message in (("5", "no air of 40 °C"), ("40.1", "is above the dry bulb"), ("-46", "the wet bulb -46 °C")):
        with pytest.raises(RangeError, match=message):
            climate.wet_bulb_slopes(celsius("40"), celsius(wet), hectopascal("1013"), psychrometer="wmo")


def test_impossible_wet_bulb():
    with pytest.raises(RangeError, match="no air of 40 °C at 1013 hPa can have a wet bulb of 5 °C"):
        climate.humidity_from_wet_bulb(celsius("40"), celsius("5"), hectopascal("1013"), psychrometer="wmo")


@pytest.mark.parametrize(("air", "coldest", "colder"), [("20", "5.95", "5.94"), ("5", "-2.65", "-2.66")])
def test_the_driest_air_has_some_humidity_and_a_hundredth_colder_cannot_be(air, coldest, colder):
    def humidity(wet):
        return climate.humidity_from_wet_bulb(
            celsius(air), celsius(wet), hectopascal("1013.25"), psychrometer="wmo"
        ).exact

    assert 0 < humidity(coldest) < Fraction(1, 10)
    with pytest.raises(RangeError, match="can have a wet bulb of"):
        humidity(colder)


@pytest.mark.parametrize("text", ["709.2", "1317.3"])
def test_pressure_out_of_range(text):
    with pytest.raises(RangeError, match=r"is not within 30 % of 1013\.25 hPa") as caught:
        climate.humidity_from_wet_bulb(celsius("20"), celsius("15"), hectopascal(text), psychrometer="wmo")
    assert caught.value.help_text == "enter the pressure at the site, not one reduced to sea level"


@pytest.mark.parametrize("text", ["709.275", "1317.225"])
def test_pressure_at_the_ends_of_its_range(text):
    climate.humidity_from_wet_bulb(celsius("20"), celsius("15"), hectopascal(text), psychrometer="wmo")


@pytest.mark.parametrize("psychrometer", ["wmo", "ams"])
def test_wick_of_ice(psychrometer):
    at = (celsius("-2"), celsius("-4"), hectopascal("1000"))
    over = {
        wick: climate.humidity_from_wet_bulb(*at, psychrometer=psychrometer, wick=wick).exact
        for wick in ("water", "ice")
    }
    assert over["ice"] < over["water"]
    with pytest.raises(RangeError, match=r"the wet bulb 1 °C is outside -65 to 0\.01 °C"):
        climate.humidity_from_wet_bulb(
            celsius("3"), celsius("1"), hectopascal("1000"), psychrometer=psychrometer, wick="ice"
        )


def test_lower_pressure_means_damper_air():
    at = (celsius("20"), celsius("15"))
    low, high = (
        climate.humidity_from_wet_bulb(*at, hectopascal(text), psychrometer="wmo").exact for text in ("800", "1000")
    )
    assert low > high


def test_input_in_other_units():
    fahrenheit = climate.dew_point(Quantity(Decimal(68), "degF"), percent("60"))
    assert fahrenheit == climate.dew_point(celsius("20"), percent("60"))


def test_margin_may_be_negative_and_has_its_own_kind():
    assert climate.margin(celsius("10"), celsius("12")) == Quantity(Fraction(-2), "delta_degC")
    with pytest.raises(QuantityError):
        climate.margin(celsius("10"), celsius("12"), "degF")


def test_results_carry_their_units_and_dry_air_is_possible():
    assert climate.saturation_pressure(celsius("20")).unit == "hPa"
    assert climate.dew_point(celsius("50"), percent("0.5")).unit == "degC"
    at = (celsius("20"), celsius("6.1"), hectopascal("1013.25"))  # vapour below 1 hPa
    humidity = climate.humidity_from_wet_bulb(*at, psychrometer="wmo")
    assert humidity.unit == "%"
    assert 0 < humidity.exact < 4


STEP = Decimal("0.001")


def central(value, *at, index):
    """Central difference of a formula by one of its numbers."""
    below, above = (
        float(value(*at[:index], at[index] + sign * STEP, *at[index + 1 :]).exact) for sign in (-1, 1)
    )  # fmt: skip
    return (above - below) / float(2 * STEP)


@pytest.mark.parametrize(("air", "humidity"), [("20", "60"), ("-5", "85"), ("35", "30"), ("15.5", "97")])
def test_the_slopes_of_the_dew_point_are_its_differences(air, humidity):
    def dew(air, humidity):
        return climate.dew_point(Quantity(air, "degC"), Quantity(humidity, "%"))

    found = climate.dew_point_slopes(celsius(air), percent(humidity))
    for index, slope in enumerate(found):
        assert float(slope) == pytest.approx(central(dew, Decimal(air), Decimal(humidity), index=index), rel=1e-6)


@pytest.mark.parametrize("psychrometer", ["wmo", "ams"])
@pytest.mark.parametrize(
    ("air", "wet", "pressure", "wick"),
    [
        ("20", "15", "1013", "water"), ("35", "22", "900", "water"), ("-4", "-5", "1000", "ice"),
        ("4", "2", "980", "water"),
    ],
)  # fmt: skip
def test_the_slopes_of_the_psychrometer_are_its_differences(air, wet, pressure, wick, psychrometer):
    def humidity(air, wet, pressure):
        at = Quantity(air, "degC"), Quantity(wet, "degC"), Quantity(pressure, "hPa")
        return climate.humidity_from_wet_bulb(*at, psychrometer=psychrometer, wick=wick)

    at = celsius(air), celsius(wet), hectopascal(pressure)
    found = climate.wet_bulb_slopes(*at, psychrometer=psychrometer, wick=wick)
    numbers = Decimal(air), Decimal(wet), Decimal(pressure)
    # the pressure also changes the enhancement factor, by less than 1 %
    for index, (slope, within) in enumerate(zip(found, (1e-6, 1e-6, 1e-2), strict=True)):
        assert float(slope) == pytest.approx(central(humidity, *numbers, index=index), rel=within)


def test_at_saturation_the_slopes_are_those_before_the_end_of_the_scale():
    at = celsius("20"), celsius("20"), hectopascal("1013")
    by_air, by_wet, by_pressure = climate.wet_bulb_slopes(*at, psychrometer="wmo")
    assert by_air < 0 < by_wet
    assert float(by_air) == pytest.approx(-float(by_wet))
    assert by_pressure == 0
