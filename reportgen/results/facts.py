"""What a rule states, as data: a code, a place and facts. A sentence is made of it where a person reads.

The fields of a kind of facts are ``Decimal`` with the digits printed, ``int``, ``Amount``, ``Word``, other facts,
tuples of these, text only as a person wrote it, and None for what is not there.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any, Self, dataclass_transform

from reportgen.units import Quantity, rounded


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class _Frozen(type):
    """Makes each class that is derived a frozen dataclass with slots; options of a dataclass stand beside its bases."""

    def __new__(cls, name: str, bases: tuple[type, ...], namespace: dict[str, Any], **options: bool) -> Any:
        made = super().__new__(cls, name, bases, namespace)
        remade = "__dataclass_fields__" in namespace  # slots need a class of their own, which comes by here again
        return made if remade else dataclass(frozen=True, slots=True, **options)(made)


class Value(metaclass=_Frozen):
    """Base of frozen values; a class derived from it lists its members, as one decorated ``@dataclass`` would."""


class Amount(Value):
    """A number with exactly the digits printed, and its unit by the name of our registry (``mil``, ``degC``)."""

    value: Decimal
    unit: str

    @classmethod
    def of(cls, quantity: Quantity, places: int | None = None) -> Self:
        """Return a quantity with so many decimals; with the digits as written where nothing is said."""
        return cls(rounded(quantity.magnitude, quantity.places if places is None else places), quantity.unit)

    @classmethod
    def of_number(cls, number: Decimal | Fraction, unit: str, places: int | None = None) -> Self:
        """Return a number [unit] with so many decimals, or with its own where it is rounded already."""
        own = len(str(number).partition(".")[2])
        return cls(rounded(number, own if places is None else places), unit)


class Word(Value):
    """A member of a closed list, for which each language has its word. Encoded as its key alone."""

    group: str
    key: str


class Facts(Value):
    """Base of the facts of a code."""


class Nothing(Facts):
    """No facts: the code says all."""


class Place(Value):
    """Where something was found or is to be done, as far as it has a place; ``time`` as printed."""

    area: str | None = None
    location: str | None = None
    spot: str | None = None
    time: str | None = None


class Stated(Value):
    """A sentence to be made of facts: its group and code in the catalogues, its facts, its place."""

    group: str
    code: str
    facts: Facts
    place: Place = Place()


NOTHING = Nothing()
EVERYWHERE = Place()
"""The whole report."""
