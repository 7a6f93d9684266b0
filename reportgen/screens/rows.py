"""Whole rows of weather that stand under two days: air, humidity and steel, all three, at least two different rows.

How probable that is cannot be reckoned, since weather goes on from one day to the next: in 425,000 pairs of days of
simulated weather, read to a tenth of a degree and a percent, it never happened. Coarse readings repeat more easily.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, NamedTuple

from reportgen.screens.sheets import Screened, Sign, in_groups

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

ROWS = 2
_CROWD = 40


class Weather(NamedTuple):
    """A row of the conditions: in which report, when, on which day, and the three values as written."""

    path: str
    contract: str
    number: str
    at: str
    day: str
    air: str
    humidity: str
    steel: str


def weather_alike(rows: Sequence[Weather]) -> Screened:
    """Point at reports of different days that have at least two different rows in common.

    A row that is entered again with its own moment is of the same reading.
    """
    first: dict[str, int] = {}
    for place, row in enumerate(rows):
        first.setdefault(row.path, place)
    shared: dict[tuple[int, int], set[tuple[str, str, str]]] = defaultdict(set)
    for one, other in _equal(rows):
        row = rows[one]
        shared[first[row.path], first[rows[other].path]].add((row.air, row.humidity, row.steel))
    tests = len(first) * (len(first) - 1) // 2
    signs = []
    told: set[int] = set()
    for (one, other), several in sorted(shared.items(), key=lambda item: (-len(item[1]), item[0])):
        if len(several) >= ROWS and other not in told and rows[one].number != rows[other].number:
            told.add(other)
            facts: dict[str, str | int] = {"count": len(several), "day": rows[one].day}
            signs.append(Sign("weather", "rows", (one, other), tests, 0.0, float(len(several)), facts))
    return Screened("weather", tests, 0.0, float(ROWS) if tests else None, tuple(signs))


def _equal(rows: Sequence[Weather]) -> Iterator[tuple[int, int]]:
    """Yield pairs of equal rows of different days, the earlier first; where many are equal, only neighbours."""
    for places in in_groups((row.air, row.humidity, row.steel) for row in rows).values():
        for pair in combinations(places, 2) if len(places) <= _CROWD else pairwise(places):
            one, other = sorted(pair, key=lambda place: (rows[place].day, rows[place].number, place))
            if rows[one].day != rows[other].day and rows[one].at != rows[other].at:
                yield one, other
