"""Exact arithmetic shared by the formulas: sums as fractions, square roots in decimal, the same on every machine."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

Exact = Fraction | Decimal | int
"""A number without rounding error; binary floats never enter a verdict."""

WORKING = Context(prec=34)
"""Decimal precision of irrational results; far beyond any printed digit, and independent of the C library."""


@dataclass(frozen=True, slots=True)
class Root:
    """A square root kept by its exact square, such as √3 or a standard deviation: squared again, nothing is lost."""

    square: Fraction

    @classmethod
    def of(cls, square: Exact) -> Root:
        """Return the root of an exact number, 0 or more."""
        return cls(Fraction(square))


Magnitude = Exact | Root
"""A number known exactly, or the root of one."""


def exact_square(value: Magnitude) -> Fraction:
    """Return the square, exactly."""
    return value.square if isinstance(value, Root) else Fraction(value) ** 2


def number_of(value: Magnitude) -> Fraction:
    """Return the number itself: exactly, or a root to 34 significant digits."""
    return square_root(value.square) if isinstance(value, Root) else Fraction(value)


def exact_sums(values: Iterable[Exact]) -> tuple[Fraction, Fraction, int]:
    """Return (sum, sum of squares, count), exactly, in one pass whose cost is linear.

    Numerators are added per denominator, so that the many values that share a few denominators never build
    intermediate fractions.
    """
    linear: dict[int, int] = defaultdict(int)
    square: dict[int, int] = defaultdict(int)
    count = 0
    for value in values:
        numerator, denominator = value.as_integer_ratio()
        linear[denominator] += numerator
        square[denominator] += numerator * numerator
        count += 1
    total = sum((Fraction(top, bottom) for bottom, top in linear.items()), Fraction(0))
    squares = sum((Fraction(top, bottom * bottom) for bottom, top in square.items()), Fraction(0))
    return total, squares, count


def decimal_of(value: Exact) -> Decimal:
    """Return ``value`` as a decimal to 34 significant digits."""
    if isinstance(value, Decimal):
        return value
    numerator, denominator = value.as_integer_ratio()
    return WORKING.divide(Decimal(numerator), Decimal(denominator))


def square_root(value: Exact) -> Fraction:
    """Return the square root to 34 significant digits; exact where the root is a finite decimal.

    Raises:
        decimal.InvalidOperation: for a negative value, which only a bug of ours can produce.
    """
    return Fraction(WORKING.sqrt(decimal_of(value)))
