"""What rule files share: a finding of a known code, quantities and counts as printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.results import Amount
from reportgen.units import DISPLAY, render_number, render_quantity, rounded

if TYPE_CHECKING:
    from decimal import Decimal
    from fractions import Fraction

    from reportgen.units import Quantity


def shown(quantity: Quantity) -> str:
    """Return a quantity as printed, with the digits as written."""
    return render_quantity(quantity)


def shown_number(number: Decimal | Fraction, unit: str, places: int) -> str:
    """Return a number and its unit as printed."""
    return f"{render_number(number, places)} {DISPLAY.get(unit, unit)}"


def amount_of(number: Decimal | Fraction, unit: str, places: int | None = None) -> Amount:
    """Return a number [unit] as a fact with so many decimals, or with its own where it is rounded already."""
    return Amount(rounded(number, _own_places(number) if places is None else places), unit)


def _own_places(number: Decimal | Fraction) -> int:
    return len(str(number).partition(".")[2])


def counted(number: int, one: str, several: str | None = None) -> str:
    """Return ``1 location`` or ``3 locations``."""
    return f"{number} {one if number == 1 else several or one + 's'}"
