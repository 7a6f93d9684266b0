"""Numbers, units and times as text on a page."""

import datetime as dt
import re
from decimal import Decimal

from reportgen.units import DISPLAY, Quantity

_UNITS = ((re.compile(r"(?<=\d )um\b"), "µm"), (re.compile(r"(?<=\d )deg([CF])\b"), r"°\1"))
_MINUS = re.compile(r"(?<![\w.)-])-(?=\d)")


def number(quantity: Quantity) -> str:
    """The number of a quantity as written, without its unit."""
    return digits(quantity.magnitude) if isinstance(quantity.magnitude, Decimal) else str(quantity).split(" ")[0]


def digits(value: Decimal | int | None, missing: str = "–") -> str:
    """A number with exactly its own digits; a dash where there is none."""
    if value is None:
        return missing
    text = f"{value:f}" if isinstance(value, Decimal) else str(value)
    return text.lstrip("-") if not text.strip("-0.") else text


def shown_unit(unit: str) -> str:
    """The printed spelling of a unit."""
    return DISPLAY.get(unit, unit)


def typeset(text: str) -> str:
    """A sentence with units and signs as a printer sets them: `3 degC` becomes `3 °C`, the sign of -2 a minus."""
    for spelled, printed in _UNITS:
        text = spelled.sub(printed, text)
    return _MINUS.sub("−", text)


def zone_text(at: dt.datetime) -> str:
    """Offset of an instant as printed: ``UTC`` or ``UTC+02:00``, never the machine's name for it."""
    text = at.isoformat()[-6:]
    return "UTC" if text in {"+00:00", "-00:00"} else f"UTC{text}"


def counted(number: int, one: str, several: str | None = None) -> str:
    """Return ``1 location`` or ``3 locations``, for what is said in English alone."""
    return f"{number} {one if number == 1 else several or one + 's'}"
