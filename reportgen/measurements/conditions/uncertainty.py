"""Uncertainty of a reading of the conditions, from the errors of the instruments that it names."""

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Final

from reportgen.measurements.conditions import codes
from reportgen.measurements.conditions.record import Condition
from reportgen.measurements.shown_by import named_for
from reportgen.measurements.slice import Instrument
from reportgen.measurements.uncertain import Uncertainty, errors_of, widest
from reportgen.metrology.climate import Psychrometer, dew_point_slopes, wet_bulb_slopes
from reportgen.metrology.exact import Exact
from reportgen.metrology.uncertainty import Component, Errors, budget, instrument_components
from reportgen.results.facts import Value, Word
from reportgen.units import Quantity

_DEGREES: Final = "delta_degC"
_FIELDS: Final = {
    "air temperature": "air", "relative humidity": "humidity", "steel temperature": "steel", "wet bulb": "wet_bulb",
    "pressure": "pressure",
}  # fmt: skip
"""Component of an uncertainty → field of a reading that is it."""
_UNITS: Final = {"relative humidity": "%", "pressure": "hPa"}


class Uncertainties(Value):
    """Uncertainty of each result of one reading, None where it is not known, and what is lacking for it."""

    air: Uncertainty | None
    steel: Uncertainty | None
    humidity: Uncertainty | None
    dew_point: Uncertainty | None
    margin: Uncertainty | None
    lacking: tuple[codes.Lacking, ...] = ()

    @property
    def each(self) -> tuple[Uncertainty, ...]:
        """Those that are known, the margin first."""
        several = (self.margin, self.dew_point, self.humidity, self.air, self.steel)
        return tuple(one for one in several if one is not None)


def uncertainties(
    record: Condition, humidity: Quantity, instruments: Mapping[str, Instrument], psychrometer: Psychrometer,
    margin_unit: str, *, dew: bool = True,
) -> Uncertainties:  # fmt: skip
    """Propagate the errors of the instruments by the law of the GUM, with the derivatives of the formulas.

    The instruments are independent, and so are the two bulbs of a psychrometer; the formulas are linear over the
    errors, which holds save in very dry air, where no margin is small. What no instrument with errors on record has
    shown is not known, and nothing that is computed from it; without ``dew``, dew point and margin are not either.
    """
    wet = record.wet_bulb is not None
    needed = ["air temperature", *(("wet bulb", "pressure") if wet else ("relative humidity",)), "steel temperature"]
    shown = {"relative humidity": humidity.in_unit("%")}
    if record.pressure is not None:
        shown["pressure"] = record.pressure.in_unit("hPa")
    found: dict[str, Errors] = {}
    lacking: list[codes.Lacking] = []
    for name in needed:
        used = {one: instruments[one] for one in named_for(record, _FIELDS[name], instruments)}
        errors, missing = _errors(name, used, shown.get(name))
        if errors is None:
            lacking.append(missing)
        else:
            found[name] = errors
    moist: dict[str, Exact] = {"relative humidity": Fraction(1)}
    if record.wet_bulb is not None and record.pressure is not None:
        slopes = wet_bulb_slopes(
            record.air, record.wet_bulb, record.pressure, psychrometer=psychrometer,
            wick="ice" if record.wet_bulb_iced else "water",
        )  # fmt: skip
        moist = dict(zip(("air temperature", "wet bulb", "pressure"), slopes, strict=True))
    scale = Quantity(Fraction(1), _DEGREES).in_unit(margin_unit)
    own = Uncertainties(
        _propagated("air-temperature", {"air temperature": scale}, found, margin_unit),
        _propagated("steel-temperature", {"steel temperature": scale}, found, margin_unit),
        _propagated("humidity", moist, found, "%"), None, None, tuple(lacking),
    )  # fmt: skip
    if not dew:
        return own
    by_air, by_humidity = dew_point_slopes(record.air, humidity)
    point = {name: scale * by_humidity * Fraction(slope) for name, slope in moist.items()}
    point["air temperature"] = scale * by_air + point.get("air temperature", Fraction(0))
    above = {"steel temperature": scale, **{name: -slope for name, slope in point.items()}}
    return replace(
        own, dew_point=_propagated("dew-point", point, found, margin_unit),
        margin=_propagated("dew-point-margin", above, found, margin_unit),
    )  # fmt: skip


def _errors(name: str, used: Mapping[str, Instrument], shown: Fraction | None) -> tuple[Errors | None, codes.Lacking]:
    """Return the errors of what showed a quantity, and what to say where they are not known.

    ``shown`` is what it showed, of a quantity of which an error may be a share.
    """
    errors = widest(name, (errors_of(one, _UNITS.get(name, _DEGREES), shown) for one in used.values()))
    return errors, codes.Lacking(Word("component", name), ", ".join(used) or None)


def _propagated(
    quantity: str, slopes: Mapping[str, Exact], found: Mapping[str, Errors], unit: str
) -> Uncertainty | None:
    if not slopes.keys() <= found.keys():
        return None
    parts: list[Component] = []
    for name, slope in slopes.items():
        parts.extend(instrument_components(name, found[name], slope))
    return Uncertainty(quantity, budget(parts, unit))
