"""How often readings are rounded to fives or to even steps, by gauge over five reports running.

Of steps of the gauge k, the mean of cos(2πk/5) is the share that was heaped on fives, that of cos(πk) the share on
evens: what is spread over several steps adds nothing to either (their harmonics), and what it adds where it is spread
over few is allowed for. Rounding is a habit and no wrong: only a share that is surely above three tenths is pointed at.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy import special

from reportgen.screens.sheets import Screened, Sign, in_groups

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.screens.sheets import Array, ReadingSheet

LEVEL = 0.01
SHARE = 0.3
RUNNING = 5
FEWEST_READINGS = 60
PERIODS = {"fives": 5, "evens": 2}


class Heaped(NamedTuple):
    """The share of a gauge's readings that is heaped, with its 95 % interval, over how many readings and reports."""

    gauge: str
    unit: str
    on: str
    readings: int
    reports: int
    share: float
    low: float
    high: float


class _Report(NamedTuple):
    """Sums over the readings of one report."""

    places: tuple[int, ...]
    n: int
    total: float
    allowed: float


def heaped_digits(sheets: Sequence[ReadingSheet], level: float = LEVEL) -> Screened:
    """Point at five reports running with one gauge of which surely more than three tenths are heaped."""
    windows = [
        (gauge, on, window)
        for gauge, members in _gauges(sheets).items()
        for on, period in PERIODS.items()
        for window in _windows(_reports(sheets, members, period))
    ]
    tests = len(windows)
    signs = [_judged(sheets, on, window, tests) for _, on, window in windows]
    worst: dict[tuple[object, str], Sign] = {}
    for (gauge, on, _), sign in zip(windows, signs, strict=True):
        if sign.expected < min(level, worst[gauge, on].expected if (gauge, on) in worst else level):
            worst[gauge, on] = sign
    most = max((sign.facts["count"] for sign in signs), key=int, default=0)
    least = (
        SHARE + float(special.ndtri(1 - level / tests)) * math.sqrt(_variance(SHARE, 5) / int(most)) if tests else None
    )
    return Screened("digits", tests, level, least, tuple(worst.values()))


def _judged(sheets: Sequence[ReadingSheet], on: str, window: Sequence[_Report], tests: int) -> Sign:
    n, share = sum(one.n for one in window), _share(window)
    tail = float(special.ndtr(-(share - SHARE) / math.sqrt(_variance(SHARE, PERIODS[on]) / n)))
    places = tuple(place for one in window for place in one.places)
    facts: dict[str, str | int] = {"on": on, "gauge": sheets[places[0]].gauge, "count": n, "reports": len(window),
                                   "share": f"{share:.2f}"}  # fmt: skip
    return Sign("digits", on, places, tests, tests * tail, share, facts)


def digit_table(sheets: Sequence[ReadingSheet]) -> tuple[Heaped, ...]:
    """Return for each gauge how much of its readings is heaped, whether that means anything or not."""
    rows = []
    for members in _gauges(sheets).values():
        first = sheets[members[0]]
        for on, period in PERIODS.items():
            reports = _reports(sheets, members, period)
            if n := sum(one.n for one in reports):
                share = min(1.0, max(0.0, _share(reports)))
                half = 1.96 * math.sqrt(_variance(share, period) / n)
                low, high = max(0.0, share - half), min(1.0, share + half)
                rows.append(Heaped(first.gauge, first.unit, on, n, len(reports), share, low, high))
    return tuple(rows)


def _gauges(sheets: Sequence[ReadingSheet]) -> dict[object, list[int]]:
    return in_groups((one.gauge, *one.kind) for one in sheets)


def _reports(sheets: Sequence[ReadingSheet], members: Sequence[int], period: int) -> list[_Report]:
    ordered = sorted(members, key=lambda place: (sheets[place].when, place))
    found = []
    for several in in_groups((sheets[place].contract, sheets[place].number) for place in ordered).values():
        places = tuple(ordered[at] for at in several)
        parts = [_sums(np.asarray(sheets[place].counting, float) / sheets[place].digit, period) for place in places]
        n, total, allowed = (sum(part[at] for part in parts) for at in range(3))
        found.append(_Report(places, int(n), total, allowed))
    return found


def _sums(steps: Array, period: int) -> tuple[float, float, float]:
    """Return how many readings, the sum of their harmonic, and what their spread alone may add to it."""
    if len(steps) < 2:
        return 0.0, 0.0, 0.0
    spread = float(steps.var(ddof=1))
    return (
        len(steps),
        float(np.cos(2 * np.pi * steps / period).sum()),
        len(steps) * math.exp(-2 * (math.pi / period) ** 2 * spread),
    )


def _windows(reports: Sequence[_Report]) -> Iterator[Sequence[_Report]]:
    for at in range(max(1, len(reports) - RUNNING + 1)):
        window = reports[at : at + RUNNING]
        if sum(one.n for one in window) >= FEWEST_READINGS:
            yield window


def _share(reports: Sequence[_Report]) -> float:
    n = sum(one.n for one in reports)
    return (sum(one.total for one in reports) - sum(one.allowed for one in reports)) / n


def _variance(share: float, period: int) -> float:
    """Variance of the harmonic of one reading, of which a share is heaped; evens are ±1, fives ½ on average squared."""
    squared = 1.0 if period == 2 else 0.5
    return share + (1 - share) * squared - share**2
