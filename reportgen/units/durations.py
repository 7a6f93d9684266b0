"""Lengths of time between instants, exact, in the units in which a contract states them."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from reportgen.units.quantity import Quantity

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
