"""Whole rows of weather that stand under two days: air, humidity and steel, all three, at least two different rows.

How probable that is cannot be reckoned, since weather goes on from one day to the next: in 425,000 pairs of days of
simulated weather, read to a tenth of a degree and a percent, it never happened. Coarse readings repeat more easily.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, NamedTuple

from reportgen.screens.sheets import Screened, Sign

if TYPE_CHECKING:
    from collections.abc import Sequence

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
    reports: dict[str, int] = {}
    first: list[int] = []
    by_values: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    for place, row in enumerate(rows):
        if row.path not in reports:
            reports[row.path] = place
            first.append(place)
        by_values[row.air, row.humidity, row.steel].append(place)
    shared: dict[tuple[int, int], set[tuple[str, str, str]]] = defaultdict(set)
    for values, places in by_values.items():
        pairs = combinations(places, 2) if len(places) <= _CROWD else pairwise(places)
        for one, other in pairs:
            if rows[one].day != rows[other].day and rows[one].at != rows[other].at:
                earlier, later = sorted((one, other), key=lambda place: (rows[place].day, rows[place].number, place))
                shared[reports[rows[earlier].path], reports[rows[later].path]].add(values)
    tests = len(first) * (len(first) - 1) // 2
    signs = []
    told: set[int] = set()
    for (one, other), several in sorted(shared.items(), key=lambda item: (-len(item[1]), item[0])):
        if len(several) >= ROWS and other not in told and rows[one].number != rows[other].number:
            told.add(other)
            facts: dict[str, str | int] = {"count": len(several), "day": rows[one].day}
            signs.append(Sign("weather", "rows", (one, other), tests, 0.0, float(len(several)), facts))
    return Screened("weather", tests, 0.0, float(ROWS) if tests else None, tuple(signs))
