"""What a rule states, as data: a code, a place and facts. A sentence is made of it where a person reads.

The fields of a kind of facts are ``Decimal`` with the digits printed, ``int``, ``Amount``, ``Word``, other facts,
tuples of these, text only as a person wrote it, and None for what is not there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.units import rounded

if TYPE_CHECKING:
    from decimal import Decimal
    from fractions import Fraction

    from reportgen.units import Quantity


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with exactly the digits printed, and its unit by the name of our registry (``mil``, ``degC``)."""

    value: Decimal
    unit: str

    @classmethod
    def of(cls, quantity: Quantity, places: int | None = None) -> Amount:
        """Return a quantity with so many decimals; with the digits as written where nothing is said."""
        return cls(rounded(quantity.magnitude, quantity.places if places is None else places), quantity.unit)

    @classmethod
    def of_number(cls, number: Decimal | Fraction, unit: str, places: int | None = None) -> Amount:
        """Return a number [unit] with so many decimals, or with its own where it is rounded already."""
        own = len(str(number).partition(".")[2])
        return cls(rounded(number, own if places is None else places), unit)


@dataclass(frozen=True, slots=True)
class Word:
    """A member of a closed list, for which each language has its word. Encoded as its key alone."""

    group: str
    key: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Base of the facts of a code."""


@dataclass(frozen=True, slots=True)
class Nothing(Facts):
    """No facts: the code says all."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where something was found or is to be done, as far as it has a place; ``time`` as printed."""

    area: str | None = None
    location: str | None = None
    spot: str | None = None
    time: str | None = None


@dataclass(frozen=True, slots=True)
class Stated:
    """A sentence to be made of facts: its group and code in the catalogues, its facts, its place."""

    group: str
    code: str
    facts: Facts
    place: Place = Place()


NOTHING = Nothing()
EVERYWHERE = Place()
"""The whole report."""
