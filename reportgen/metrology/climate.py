"""Air and steel: dew point, frost point, humidity from a psychrometer, margin of the steel, and their sensitivities.

Everything is computed in 34-digit decimals, whose logarithm and exponential are the same on every machine, so that a
report rebuilt elsewhere shows the same digits. Rounding belongs to whoever prints.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal

from reportgen.errors import RangeError
from reportgen.metrology.exact import WORKING, decimal_of
from reportgen.units import Quantity, render_number, rounded

Surface = Literal["water", "ice"]
Psychrometer = Literal["wmo", "ams"]

Outside = Literal["humidity", "air", "wet bulb", "dew point", "pressure", "wet bulb above air", "wet bulb impossible"]
"""What of a reading lies outside the range of a formula."""

STANDARD_PRESSURE: Final = Quantity(Decimal("1013.25"), "hPa")


class ClimateRangeError(RangeError):
    """What lies outside, the values that say so, the surface of the formula where one is named."""

    def __init__(
        self, message: str, what: Outside, values: tuple[Quantity, ...], surface: Surface = "water",
        *, help_text: str | None = None,
    ) -> None:  # fmt: skip
        super().__init__(message, help_text=help_text)
        self.what = what
        self.values = values
        self.surface: Surface = surface


@dataclass(frozen=True, slots=True)
class _Magnus:
    """Saturation pressure alpha·exp(beta·t/(lambda + t)) in hPa, with the range in °C in which it holds."""

    alpha: Decimal
    beta: Decimal
    offset: Decimal
    lowest: Decimal
    highest: Decimal

    @property
    def range(self) -> tuple[Quantity, Quantity]:
        """The range as temperatures."""
        return Quantity(self.lowest, "degC"), Quantity(self.highest, "degC")


_MAGNUS: Final[dict[Surface, _Magnus]] = {
    "water": _Magnus(Decimal("6.112"), Decimal("17.62"), Decimal("243.12"), Decimal(-45), Decimal(60)),
    "ice": _Magnus(Decimal("6.112"), Decimal("22.46"), Decimal("272.62"), Decimal(-65), Decimal("0.01")),
}
_COEFFICIENT: Final[dict[Psychrometer, dict[Surface, Decimal]]] = {
    "wmo": {"water": Decimal("0.000653"), "ice": Decimal("0.000575")},
    "ams": {"water": Decimal("0.000660"), "ice": Decimal("0.000582")},
}
_WET_BULB_TERM: Final[dict[Psychrometer, dict[Surface, Decimal]]] = {
    "wmo": {"water": Decimal("0.000944"), "ice": Decimal(0)},
    "ams": {"water": Decimal("0.00115"), "ice": Decimal("0.00115")},
}
_PRESSURE_SHARE: Final = (Decimal("0.7"), Decimal("1.3"))
"""Station pressures accepted, as shares of standard pressure."""
_computed_once: Final = lru_cache(maxsize=1024)
"""Sensitivities ask for what was computed for their result, and a day is evaluated again with each of its entries."""


@_computed_once
def saturation_pressure(temperature: Quantity, surface: Surface = "water") -> Quantity:
    """Saturation vapour pressure of pure water vapour over water or over ice, by the Magnus form.

    Parameters:
        temperature : Quantity [temperature], -45 to 60 °C over water, -65 to 0.01 °C over ice.
        surface : water | ice.
    Returns:
        Quantity [pressure] in hPa.
    Raises:
        RangeError: temperature outside the range.
    Valid range: as for temperature.
    Accuracy: within 0.6 % of the WMO range's reference; against psychrolib.
    Source: wmo-8-annex-4b
    Examples:
        >>> round(float(saturation_pressure(Quantity(Decimal(0), "degC")).magnitude), 3)
        6.112
    """
    form = _MAGNUS[surface]
    celsius = _celsius(temperature, surface)
    exponent = WORKING.divide(WORKING.multiply(form.beta, celsius), WORKING.add(form.offset, celsius))
    return Quantity(Fraction(WORKING.multiply(form.alpha, WORKING.exp(exponent))), "hPa")


@_computed_once
def dew_point(air: Quantity, humidity: Quantity, surface: Surface = "water") -> Quantity:
    """Temperature at which the air's vapour saturates: dew point over water, frost point over ice.

    Relative humidity is taken over water at the air's temperature, also below freezing, as hygrometers show it.

    Parameters:
        air : Quantity [temperature], -45 to 60 °C.
        humidity : Quantity [share], above 0 to 100 %.
        surface : water | ice; limits on the margin mean the dew point over water.
    Returns:
        Quantity [temperature] in degC.
    Raises:
        RangeError: air, humidity, or the dew point itself outside the range of the formula.
    Valid range: results from -45 °C over water, from -65 to 0.01 °C over ice.
    Accuracy: 0.05 °C from 0 to 40 °C and 30 to 100 %; against psychrolib.
    Source: wmo-8-annex-4b
    Examples:
        >>> at = dew_point(Quantity(Decimal(20), "degC"), Quantity(Decimal(60), "%"))
        >>> round(float(at.magnitude), 2)
        12.0
    """
    share = decimal_of(humidity.in_unit("%"))
    if not 0 < share <= 100:
        message = f"relative humidity must lie above 0 % and at or below 100 %, got {humidity}"
        raise ClimateRangeError(message, "humidity", (humidity,))
    vapour = WORKING.multiply(decimal_of(saturation_pressure(air).exact), WORKING.divide(share, Decimal(100)))
    form = _MAGNUS[surface]
    logarithm = WORKING.ln(WORKING.divide(vapour, form.alpha))
    value = WORKING.divide(WORKING.multiply(form.offset, logarithm), WORKING.subtract(form.beta, logarithm))
    if not form.lowest <= value <= form.highest:
        message = (
            f"the dew point over {surface} would be {render_number(value, 1)} °C, "
            f"outside {form.lowest} to {form.highest} °C, where the formula holds"
        )
        found = Quantity(rounded(value, 1), "degC")
        raise ClimateRangeError(message, "dew point", (found, *form.range), surface)
    return Quantity(Fraction(value), "degC")


@_computed_once
def humidity_from_wet_bulb(
    air: Quantity, wet_bulb: Quantity, pressure: Quantity, *, psychrometer: Psychrometer, wick: Surface = "water"
) -> Quantity:
    """Relative humidity over water from an aspirated psychrometer.

    Parameters:
        air : Quantity [temperature], dry bulb, -45 to 60 °C.
        wet_bulb : Quantity [temperature], not above the dry bulb; over ice not above 0.01 °C.
        pressure : Quantity [pressure], of the station (not reduced to sea level), within 30 % of 1013.25 hPa.
        psychrometer : wmo | ams, whose coefficient and wet-bulb term apply.
        wick : water | ice on the wet bulb.
    Returns:
        Quantity [share] in %, above 0 to 100.
    Raises:
        RangeError: an input outside its range; a wet bulb too low to be possible in this air.
    Valid range: as the parameters; aspirated or whirled instruments.
    Accuracy: the two variants differ by up to 0.3 % of humidity in ordinary conditions; against psychrolib.
    Source: wmo-8-annex-4b, ams-psychrometer
    Examples:
        >>> dry, wet = Quantity(Decimal(20), "degC"), Quantity(Decimal(15), "degC")
        >>> found = humidity_from_wet_bulb(dry, wet, STANDARD_PRESSURE, psychrometer="wmo")
        >>> round(float(found.magnitude), 2)
        58.64
    """
    dry = _celsius(air, "water")
    wet = _celsius(wet_bulb, wick, "wet bulb")
    if wet > dry:
        message = f"the wet bulb {wet_bulb} is above the dry bulb {air}"
        raise ClimateRangeError(message, "wet bulb above air", (wet_bulb, air))
    station, standard = (decimal_of(one.in_unit("hPa")) for one in (pressure, STANDARD_PRESSURE))
    low, high = (WORKING.multiply(share, standard) for share in _PRESSURE_SHARE)
    if not low <= station <= high:
        raise ClimateRangeError(
            f"the pressure {pressure} is not within 30 % of {STANDARD_PRESSURE}",
            "pressure",
            (pressure,),
            help_text="enter the pressure at the site, not one reduced to sea level",
        )
    enhancement = _enhancement(station)
    term = WORKING.add(Decimal(1), WORKING.multiply(_WET_BULB_TERM[psychrometer][wick], wet))
    cooling = WORKING.multiply(WORKING.multiply(_COEFFICIENT[psychrometer][wick], term), station)
    moist = WORKING.multiply(enhancement, decimal_of(saturation_pressure(wet_bulb, wick).exact))
    vapour = WORKING.subtract(moist, WORKING.multiply(cooling, WORKING.subtract(dry, wet)))
    if vapour <= 0:
        message = f"no air of {air} at {pressure} can have a wet bulb of {wet_bulb}"
        raise ClimateRangeError(message, "wet bulb impossible", (air, pressure, wet_bulb))
    # the humidity of pure vapour: free of the enhancement factor of moist air
    ratio = WORKING.divide(WORKING.divide(vapour, enhancement), decimal_of(saturation_pressure(air).exact))
    return Quantity(min(Fraction(WORKING.multiply(ratio, Decimal(100))), Fraction(100)), "%")


def margin(steel: Quantity, dew: Quantity, unit: str = "delta_degC") -> Quantity:
    """How far the steel is above the dew point, as a difference of temperature.

    Parameters:
        steel : Quantity [temperature], of the surface.
        dew : Quantity [temperature].
        unit : delta_degC | delta_degF, of the result.
    Returns:
        Quantity [temperature difference]; negative where the steel is below the dew point.
    Raises:
        QuantityError: a unit of another kind.
    Accuracy: exact difference of what is given.
    Source: dew-point-margin
    Examples:
        >>> steel, dew = Quantity(Decimal("15.0"), "degC"), Quantity(Decimal("12.0"), "degC")
        >>> float(margin(steel, dew, "delta_degF").magnitude)
        5.4
    """
    return Quantity(steel.in_unit("degC") - dew.in_unit("degC"), "delta_degC").to(unit)


@_computed_once
def dew_point_slopes(air: Quantity, humidity: Quantity) -> tuple[Fraction, Fraction]:
    """How fast the dew point over water rises with the air temperature and with the humidity.

    Parameters:
        air : Quantity [temperature], as for dew_point.
        humidity : Quantity [share], as for dew_point.
    Returns:
        Sensitivities [1] to the air temperature and [°C per %] to the humidity; derivatives of the Magnus form.
    Raises:
        RangeError: as dew_point.
    Accuracy: 34 digits; against central differences.
    Source: wmo-8-annex-4b, jcgm-100
    Examples:
        >>> by_air, by_humidity = dew_point_slopes(Quantity(Decimal(20), "degC"), Quantity(Decimal(60), "%"))
        >>> round(float(by_air), 3), round(float(by_humidity), 3)
        (0.94, 0.253)
    """
    form, dew = _MAGNUS["water"], decimal_of(dew_point(air, humidity).exact)
    per_logarithm = WORKING.divide(Decimal(1), _logarithmic_slope(dew, form))
    by_air = WORKING.multiply(per_logarithm, _logarithmic_slope(_celsius(air, "water"), form))
    return Fraction(by_air), Fraction(WORKING.divide(per_logarithm, decimal_of(humidity.in_unit("%"))))


@_computed_once
def wet_bulb_slopes(
    air: Quantity, wet_bulb: Quantity, pressure: Quantity, *, psychrometer: Psychrometer, wick: Surface = "water"
) -> tuple[Fraction, Fraction, Fraction]:
    """How fast the humidity from a psychrometer changes with dry bulb, wet bulb and pressure.

    Parameters:
        air : Quantity [temperature], dry bulb.
        wet_bulb : Quantity [temperature].
        pressure : Quantity [pressure], of the station; each as for humidity_from_wet_bulb.
        psychrometer : wmo | ams.
        wick : water | ice on the wet bulb.
    Returns:
        Sensitivities [% per °C] to dry and wet bulb and [% per hPa] to the pressure; that the enhancement factor
        changes with the pressure too, which makes less than 1 % of the last, is left out.
    Raises:
        RangeError: as humidity_from_wet_bulb.
    Valid range: at saturation, where the humidity ends at 100 %, the slopes of the formula before it is cut off.
    Accuracy: derivatives of the formula; against central differences.
    Source: wmo-8-annex-4b, ams-psychrometer, jcgm-100
    Examples:
        >>> dry, wet = Quantity(Decimal(20), "degC"), Quantity(Decimal(15), "degC")
        >>> found = wet_bulb_slopes(dry, wet, STANDARD_PRESSURE, psychrometer="wmo")
        >>> [round(float(one), 3) for one in found]
        [-6.491, 7.54, -0.014]
    """
    humidity_from_wet_bulb(air, wet_bulb, pressure, psychrometer=psychrometer, wick=wick)  # refuses what is impossible
    dry, wet = Fraction(_celsius(air, "water")), Fraction(_celsius(wet_bulb, wick, "wet bulb"))
    station = pressure.in_unit("hPa")
    enhancement = Fraction(_enhancement(decimal_of(station)))
    of_air, of_wick = saturation_pressure(air).exact, saturation_pressure(wet_bulb, wick).exact
    coefficient, rising = Fraction(_COEFFICIENT[psychrometer][wick]), Fraction(_WET_BULB_TERM[psychrometer][wick])
    term, apart = coefficient * (1 + rising * wet), dry - wet
    share = Fraction(100) / (enhancement * of_air)  # of humidity, for each hPa of vapour
    vapour = enhancement * of_wick - term * station * apart
    by_air = share * (-term * station - vapour * Fraction(_logarithmic_slope(decimal_of(dry), _MAGNUS["water"])))
    by_wick = enhancement * of_wick * Fraction(_logarithmic_slope(decimal_of(wet), _MAGNUS[wick]))
    by_wet = share * (by_wick - station * (coefficient * rising * apart - term))
    return by_air, by_wet, -share * term * apart


def _celsius(temperature: Quantity, surface: Surface, what: Literal["air", "wet bulb"] = "air") -> Decimal:
    """Return the temperature in °C, or refuse one outside the formula's range."""
    value = decimal_of(temperature.in_unit("degC"))
    form = _MAGNUS[surface]
    if not form.lowest <= value <= form.highest:
        message = (
            f"the {'air temperature' if what == 'air' else what} {temperature} is outside {form.lowest} to "
            f"{form.highest} °C, where the formula over {surface} holds"
        )
        raise ClimateRangeError(message, what, (temperature, *form.range), surface)
    return value


def _enhancement(station: Decimal) -> Decimal:
    """How much more vapour moist air holds than a space without air, at a pressure in hPa."""
    rising = WORKING.multiply(Decimal("0.00000315"), station)
    return WORKING.subtract(WORKING.add(Decimal("1.0016"), rising), WORKING.divide(Decimal("0.074"), station))


def _logarithmic_slope(celsius: Decimal, form: _Magnus) -> Decimal:
    """Relative rise of the saturation pressure for each °C."""
    below = WORKING.add(form.offset, celsius)
    return WORKING.divide(WORKING.multiply(form.beta, form.offset), WORKING.multiply(below, below))
