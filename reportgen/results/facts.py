"""What a rule states, as data: a code, a place and facts. A sentence is made of it where a person reads.

The fields of a kind of facts are ``Decimal`` with the digits printed, ``int``, ``Amount``, ``Word``, other facts,
tuples of these, text only as a person wrote it, and None for what is not there.
"""

from collections.abc import Callable
from dataclasses import FrozenInstanceError, dataclass, field, fields, make_dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from operator import attrgetter
from typing import Any, Self, dataclass_transform

from reportgen.units import Quantity, rounded


def _late_init(self: Any, *given: Any, **named: Any) -> None:
    """Have the class's own ``__init__`` made, now that there is to be a value of it: of most there never is one."""
    _made_init(type(self))(self, *given, **named)


def _made_init(cls: Any) -> Callable[..., None]:
    members = [(one.name, one.type, one) for one in fields(cls)]
    made = make_dataclass(cls.__name__, members, frozen=True, repr=False, eq=False)
    cls.__init__ = vars(made)["__init__"]
    return cls.__init__  # type: ignore[no-any-return] # made a line above


def make_all(base: Any = None) -> None:
    """Have made, for processes that are forked from this one, what a class of values makes when one is first wanted."""
    for cls in (base or Value).__subclasses__():
        if cls.__init__ is _late_init:
            _made_init(cls)
        make_all(cls)


@cache
def _members(cls: Any) -> Callable[[object], object]:
    """Return what gives the members of a value of a class."""
    names = [one.name for one in fields(cls)]
    return attrgetter(*names) if names else type


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class _Frozen(type):
    """Makes each class that is derived a frozen dataclass with slots; options of a dataclass stand beside its bases.

    There are some four hundred. What ``dataclass`` would write and compile for each stands in ``Value`` once.
    """

    def __new__(cls, name: str, bases: tuple[type, ...], namespace: dict[str, Any], **options: bool) -> Any:
        if "__dataclass_fields__" in namespace:  # slots need a class of their own, which comes by here again
            return super().__new__(cls, name, bases, namespace)
        made = super().__new__(cls, name, bases, namespace | {"__init__": _late_init})
        return dataclass(init=False, repr=False, eq=False, slots=True, **options)(made)


class Value(metaclass=_Frozen):
    """Base of frozen values; a class derived from it lists its members, as one decorated ``@dataclass`` would."""

    def __repr__(self) -> str:
        members = (f"{one.name}={getattr(self, one.name)!r}" for one in fields(self))
        return f"{type(self).__qualname__}({', '.join(members)})"

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        told = _members(type(self))
        return told(self) == told(other)

    def __hash__(self) -> int:
        return hash(_members(type(self))(self))

    def __setattr__(self, name: str, value: object) -> None:
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> None:
        raise FrozenInstanceError(f"cannot delete field {name!r}")

    def __getstate__(self) -> list[Any]:
        return [getattr(self, one.name) for one in fields(self)]

    def __setstate__(self, state: list[Any]) -> None:
        for one, value in zip(fields(self), state, strict=True):
            object.__setattr__(self, one.name, value)


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
