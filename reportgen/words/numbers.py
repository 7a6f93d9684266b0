"""Numbers, units and times as text on a page."""

import datetime as dt
import re
from decimal import ROUND_HALF_EVEN, Decimal

from reportgen.units import DISPLAY, Quantity, printed

_UNITS = ((re.compile(r"(?<=\d )um\b(?! [−-]?\d)"), "µm"), (re.compile(r"(?<=\d )deg([CF])\b"), r"°\1"))
_MINUS = re.compile(r"(?<![\w.)-])-(?=\d)")


def number(quantity: Quantity) -> str:
    """The number of a quantity as written, without its unit."""
    return digits(quantity.magnitude) if isinstance(quantity.magnitude, Decimal) else str(quantity).split(" ")[0]


def digits(value: Decimal | int | None, missing: str = "–") -> str:
    """A number with exactly its own digits; a dash where there is none."""
    if value is None:
        return missing
    text = f"{value:f}" if isinstance(value, Decimal) else str(value)
    return printed(text.lstrip("-") if not text.strip("-0.") else text)


def per_cent(share: Decimal | None) -> str:
    """A probability in percent, with a decimal; what would be rounded to certainty is more than the highest below it.

    >>> [per_cent(Decimal(share)) for share in ("0.9525", "0.99961", "0.0002")]
    ['95.2', '>99.9', '<0.1']
    """
    if share is None:
        return "–"
    shown = (share * 100).quantize(Decimal("0.1"), ROUND_HALF_EVEN)
    return printed(">99.9" if shown == 100 else "<0.1" if not shown else f"{shown}")


def shown_unit(unit: str) -> str:
    """The printed spelling of a unit."""
    return DISPLAY.get(unit, unit)


def typeset(text: str) -> str:
    """A sentence with units and signs as a printer sets them: `3 degC` becomes `3 °C`, the sign of -2 a minus."""
    for spelled, shown in _UNITS:
        text = spelled.sub(shown, text)
    return _MINUS.sub("−", text)


def zone_text(at: dt.datetime) -> str:
    """Offset of an instant as printed: ``UTC`` or ``UTC+02:00``, never the machine's name for it."""
    text = at.isoformat()[-6:]
    return "UTC" if text in {"+00:00", "-00:00"} else f"UTC{text}"


def by_number(forms: str, number: object) -> str:
    """Return what is said of one, or of several; of three forms the first where there is none.

    ``#`` is the number, in three forms alone.

    >>> [by_number("no test|# test|# tests", count) for count in (0, 1, 2)]
    ['no test', '1 test', '2 tests']
    >>> [f"{count} {by_number('test|tests', count)}" for count in (0, 1, 2)]
    ['0 tests', '1 test', '2 tests']
    """
    *none, one, several = forms.split("|")
    said = one if number in (1, "1") else several
    return (none[0] if number in (0, "0") else said).replace("#", str(number)) if none else said


def counted(number: int, one: str, several: str | None = None) -> str:
    """Return ``1 location`` or ``3 locations``, for what is said in English alone."""
    return f"{number} {one if number == 1 else several or one + 's'}"
