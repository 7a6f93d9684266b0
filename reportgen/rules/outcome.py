"""What rule files share: a finding of a known code, quantities and counts as printed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypedDict

from reportgen.measurements import FINDING_CODES
from reportgen.results import Amount, Finding, Outcome
from reportgen.units import DISPLAY, render_number, render_quantity, rounded

if TYPE_CHECKING:
    from decimal import Decimal
    from fractions import Fraction

    from reportgen.results import Severity
    from reportgen.units import Quantity

__all__ = ["Outcome", "Place", "amount_of", "counted", "found", "shown", "shown_number"]

IF_RIGHT: Final = ", if the entry that is asked about is right"
"""What a finding adds that follows from an entry open to doubt: it is noted, and fails nothing."""


class Place(TypedDict, total=False):
    """Where a finding belongs: area, location, and the clause of the contract."""

    area: str | None
    location: str | None
    clause: str | None


def found(
    code: str, observed: str, requirement: str, *, area: str | None = None, location: str | None = None,
    clause: str | None = None, severity: Severity | None = None,
) -> Finding:  # fmt: skip
    """Make a finding of a known code; its severity is the code's own unless the case says otherwise.

    Raises:
        KeyError: for a code outside the closed list, which only a bug of ours can produce.
    """
    usual = FINDING_CODES[code].severity
    return Finding(code, severity or usual, observed, requirement, area, location, clause)


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
