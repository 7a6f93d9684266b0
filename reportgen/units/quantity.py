"""Quantities: a number with a unit from a closed list, converted exactly.

A temperature and a temperature difference are different kinds: 3 °C of margin are 5.4 °F of margin, not 37.4 °F. Units
go together: a contract in mils has its temperatures in °F and its areas in ft², one in µm °C and m². It may mix them
(mils with °C is not rare): what it states itself comes first.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import astuple, dataclass, replace
from decimal import Decimal  # noqa: TC003 - the models evaluate the annotations of Quantity
from fractions import Fraction
from functools import lru_cache, reduce
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from reportgen.diagnostics import Phrase, one_of
from reportgen.errors import QuantityError
from reportgen.units.numbers import RoundingRule, parse_number, render_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

Kind = Literal[
    "height",
    "length",
    "area",
    "volume",
    "temperature",
    "temperature difference",
    "share",
    "time",
    "pressure",
    "areal density",
    "conductivity",
]

_BY_KIND: Final[dict[Kind, dict[str, tuple[str, ...]]]] = {
    "height": {"mil": ("mils", "thou"), "um": ("µm", "μm", "micron", "microns", "micrometer", "micrometre"), "mm": ()},
    "length": {"m": (), "cm": (), "mm": (), "ft": (), "in": ()},
    "area": {"m2": ("m²",), "cm2": ("cm²",), "mm2": ("mm²",), "ft2": ("ft²", "sq ft"), "in2": ("in²", "sq in")},
    "volume": {"ml": ("mL",), "l": ("L",)},
    "temperature": {"degC": ("°C",), "degF": ("°F",)},
    "temperature difference": {"delta_degC": ("delta °C",), "delta_degF": ("delta °F",)},
    "share": {"%": ("percent",), "ppm": ()},
    "time": {"h": ("hours", "hour"), "min": ("minutes", "minute"), "s": ("seconds",), "d": ("days", "day")},
    "pressure": {"hPa": ("mbar",), "kPa": (), "MPa": (), "bar": (), "psi": (), "inHg": ()},
    "areal density": {"mg/m2": ("mg/m²",), "ug/cm2": ("µg/cm2", "µg/cm²", "μg/cm2", "μg/cm²")},
    "conductivity": {"uS/cm": ("µS/cm", "μS/cm"), "mS/m": ()},
}
"""Canonical unit and its other accepted spellings, per kind. µ is accepted as U+00B5 and as U+03BC."""

SPELLINGS: Final[dict[Kind, dict[str, str]]] = {
    kind: {spelling: unit for unit, others in units.items() for spelling in (unit, *others)}
    for kind, units in _BY_KIND.items()
}
"""Accepted spelling → canonical unit, per kind."""

DISPLAY: Final[dict[str, str]] = {
    "um": "µm", "m2": "m²", "cm2": "cm²", "mm2": "mm²", "ft2": "ft²", "in2": "in²", "degC": "°C", "degF": "°F",
    "delta_degC": "°C", "delta_degF": "°F", "mg/m2": "mg/m²", "ug/cm2": "µg/cm²", "uS/cm": "µS/cm",
}  # fmt: skip
"""Canonical unit → the one spelling that is printed, where the two differ."""

EXAMPLES: Final[dict[Kind, tuple[str, ...]]] = {
    "height": ("2.0 mil", "50 um"), "length": ("50 ft", "15 m"), "area": ("260 ft2", "24 m2"), "volume": ("3 ml",),
    "temperature": ("61.5 degF", "16.5 degC"), "temperature difference": ("5 delta_degF", "3 delta_degC"),
    "share": ("64 %",), "time": ("4 h",), "pressure": ("29.9 inHg", "1013 hPa"),
    "areal density": ("5 ug/cm2", "50 mg/m2"), "conductivity": ("9.6 uS/cm",),
}  # fmt: skip
"""What a quantity of each kind looks like: one example, or one in each of two systems of units."""

_REGISTRY_NAME: Final = {
    "m": "meter", "in": "inch", "min": "minute", "s": "second", "%": "percent", "mg/m2": "mg_per_m2",
    "ug/cm2": "ug_per_cm2", "uS/cm": "uS_per_cm", "mS/m": "mS_per_m",
}  # fmt: skip

_QUANTITY: Final = re.compile(
    r"(?P<number>[-+\u2212]?[0-9.,]*[0-9][0-9.,]*(?:[eE][-+]?[0-9]+)?)\s?(?P<unit>.*)\Z", re.DOTALL
)

_fraction: Final = lru_cache(maxsize=1 << 14)(Fraction)
"""A day names the same few magnitudes thousands of times."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A magnitude in a canonical unit: a ``Decimal`` keeps the digits as written, a ``Fraction`` is computed."""

    magnitude: Decimal | Fraction
    unit: str

    @property
    def exact(self) -> Fraction:
        """Magnitude as an exact fraction, in ``unit``."""
        return _fraction(self.magnitude)

    @property
    def places(self) -> int:
        """Decimals of the magnitude as written; 0 for a computed one."""
        if isinstance(self.magnitude, Fraction):
            return 0
        exponent = self.magnitude.as_tuple().exponent
        return max(0, -exponent) if isinstance(exponent, int) else 0

    def in_unit(self, unit: str) -> Fraction:
        """Exact magnitude in another unit of the same kind.

        Raises:
            QuantityError: when the two units are of different kinds.
        """
        if unit == self.unit:
            return self.exact
        scale, offset = conversion(self.unit, unit)
        return self.exact * scale + offset

    def to(self, unit: str) -> Quantity:
        """Return the same quantity in another unit of its kind, exactly."""
        return self if unit == self.unit else Quantity(self.in_unit(unit), unit)

    def __str__(self) -> str:
        return render_quantity(self)


def kind_of(unit: str) -> Kind:
    """Return the first kind that has the canonical ``unit``.

    Raises:
        QuantityError: for a unit outside the closed list.
    """
    for kind, units in _BY_KIND.items():
        if unit in units:
            return kind
    raise QuantityError(f"`{unit}` is not a known unit")


def unit_of_difference(unit: str) -> str:
    """Return the unit of a difference of two values in ``unit``: degrees of difference for a temperature.

    >>> unit_of_difference("degF"), unit_of_difference("%")
    ('delta_degF', '%')
    """
    return f"delta_{unit}" if kind_of(unit) == "temperature" else unit


def unit_of_scale(degrees: str) -> str:
    """Return the unit of a temperature whose differences are in ``degrees``: ``degF`` for ``delta_degF``."""
    return degrees.removeprefix("delta_")


def parse_unit(text: str, kind: Kind) -> str:
    """Return the canonical unit for an accepted spelling of a unit of ``kind``.

    Raises:
        QuantityError: for any other text, naming the units that may be written.
    """
    unit = SPELLINGS[kind].get(text.strip())
    if unit is not None:
        return unit
    remedy: str = one_of(_BY_KIND[kind])
    if kind == "temperature difference" and text in SPELLINGS["temperature"]:
        remedy = f"a difference of temperature is written `delta_{SPELLINGS['temperature'][text]}`"
    elif kind == "temperature" and text in SPELLINGS["temperature difference"]:
        remedy = f"a temperature is written `{SPELLINGS['temperature difference'][text].removeprefix('delta_')}`"
    raise QuantityError(Phrase("`{text}` is not a unit of {kind}", text=text, kind=kind), help_text=remedy)


def parse_quantity(text: str, kind: Kind, *, such_as: Sequence[str] = ()) -> Quantity:
    """Read ``number unit``: a plain decimal number, at most one space, a unit of ``kind``.

    ``such_as`` are the examples to give where one is needed; those of the kind without.

    Raises:
        QuantityError: number or unit missing or not accepted; the message says expected and got.
    """
    match = _QUANTITY.match(text.strip())
    if match is None:
        message = Phrase("`{text}` is not a number with a unit", text=text)
        raise QuantityError(message, help_text=_example(such_as or EXAMPLES[kind]))
    number = parse_number(match["number"])
    if not match["unit"].strip():
        units = [example.partition(" ")[2] for example in such_as or EXAMPLES[kind]]
        with_unit = [f"{match['number']} {unit}" for unit in units]
        raise QuantityError(Phrase("`{text}` has no unit", text=text), help_text=_example(with_unit))
    return Quantity(number, parse_unit(match["unit"], kind))


def _example(examples: Sequence[str]) -> str:
    first, *others = (f"`{example}`" for example in examples)
    listed = reduce(lambda some, other: Phrase("{some} or {other}", some=some, other=other), others, first)
    return Phrase("write a number and a unit, such as {listed}", listed=listed)


def render_quantity(quantity: Quantity, places: int | None = None, rule: RoundingRule = "half-even") -> str:
    """Render with the printed unit; ``places`` defaults to the digits as written."""
    number = render_number(quantity.magnitude, quantity.places if places is None else places, rule)
    return f"{number} {DISPLAY.get(quantity.unit, quantity.unit)}"


@lru_cache(maxsize=256)
def conversion(source: str, target: str) -> tuple[Fraction, Fraction]:
    """Return (scale, offset) with target = source x scale + offset: from the table, else asked of the registry once."""
    written = written_conversions().get((source, target))
    if written is not None:
        return Fraction(written[0]), Fraction(written[1])
    return asked_of_registry(source, target)


@lru_cache(maxsize=1)
def written_conversions() -> dict[tuple[str, str], tuple[str, str]]:
    """Return what the registry answers for every pair of units of a kind: a file, because asking it costs far more."""
    lines = Path(__file__).with_name("data").joinpath("conversions.csv").read_text("utf-8").splitlines()
    rows = (line.split(",") for line in lines[1:])
    return {(source, target): (scale, offset) for source, target, scale, offset in rows}


def asked_of_registry(source: str, target: str) -> tuple[Fraction, Fraction]:
    """Return the answer of the registry.

    Raises:
        QuantityError: when the two units are of different kinds.
    """
    asked = registry()
    names = [_REGISTRY_NAME.get(unit, unit) for unit in (source, target)]
    try:
        zero, one = (asked.Quantity(Fraction(value), names[0]).to(names[1]).magnitude for value in (0, 1))
    except asked.wrong_kind as failure:
        raise QuantityError(f"{source} cannot be converted to {target}") from failure
    return Fraction(one) - Fraction(zero), Fraction(zero)


@lru_cache(maxsize=1)
def registry() -> Any:
    """Build the registry late: its import costs more than a whole check."""
    import pint

    built: Any = pint.UnitRegistry(None, non_int_type=Fraction, autoconvert_offset_to_baseunit=False)  # noqa: TID251 - the one place
    definitions = Path(__file__).with_name("data").joinpath("units.txt").read_text("utf-8")
    built.load_definitions([line for line in definitions.splitlines() if line and not line.startswith("#")])
    built.wrong_kind = pint.DimensionalityError
    return built


_LENGTH_OF_ONE: Final = {
    "d": dt.timedelta(days=1),
    "h": dt.timedelta(hours=1),
    "min": dt.timedelta(minutes=1),
    "s": dt.timedelta(seconds=1),
}
_TICK: Final = dt.timedelta(microseconds=1)


def elapsed(start: dt.datetime, end: dt.datetime, unit: str) -> Fraction:
    """Return the time from ``start`` to ``end`` exactly, in ``h``, ``min``, ``s`` or ``d``; negative when backwards."""
    return Fraction((end - start) // _TICK, _LENGTH_OF_ONE[unit] // _TICK)


def later(start: dt.datetime, by: Quantity) -> dt.datetime:
    """Return the instant a duration after ``start``."""
    return start + int(by.exact * (_LENGTH_OF_ONE[by.unit] // _TICK)) * _TICK


@dataclass(frozen=True, slots=True)
class UnitSystem:
    """Canonical units of one contract: ``pressure`` is that of the atmosphere, ``air`` that of compressed air."""

    height: str
    temperature: str
    difference: str
    pressure: str
    air: str
    area: str
    length: str
    density: str

    def such_as(self, kind: Kind, examples: Sequence[str] = ()) -> tuple[str, ...]:
        """Return those of the examples (of the kind's own, without any) that are in units of this system; else all."""
        return _such_as(self, kind, tuple(examples) or EXAMPLES[kind])


@lru_cache(maxsize=64)
def _such_as(system: UnitSystem, kind: Kind, examples: tuple[str, ...]) -> tuple[str, ...]:
    units = astuple(system)
    return tuple(text for text in examples if parse_quantity(text, kind).unit in units) or examples


SYSTEMS: Final = {
    "mil": UnitSystem("mil", "degF", "delta_degF", "inHg", "psi", "ft2", "ft", "ug/cm2"),
    "um": UnitSystem("um", "degC", "delta_degC", "hPa", "kPa", "m2", "m", "mg/m2"),
}
"""System by the unit of its heights: customary units of the United States, and SI; common practice of the trade."""


def unit_system(heights: Iterable[str | None], stated: Iterable[str]) -> UnitSystem:
    """Return the system of a contract.

    Parameters:
        heights: units of gauge and profile, the most telling first; None where there is none.
        stated: units in which the contract states anything else, the most telling first.
    """
    height = next((unit for unit in heights if unit in SYSTEMS), None)
    others = next((system for unit in stated for system in SYSTEMS.values() if unit in astuple(system)), None)
    system = others or SYSTEMS[height or "um"]
    return replace(system, height=height or system.height)
