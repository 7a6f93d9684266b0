"""Readings that follow each other by a rule, and readings that never repeat.

*By a rule*: equal steps up and down with at most three turns, or a row that comes again, also with a step added. Each
reading that the rule fixes is as probable as the commonest value at most; where the rule begins, turns and how far it
steps are counted as choices. *Repeats avoided*: equal neighbours against equal pairs of the whole sheet. Neighbours are
of one location and agree rather more often, so that the comparison favours whoever read them; people who invent
numbers seldom write one twice running.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from reportgen.screens.sheets import Screened, Sign, agreeing, agreement_in_locations, in_groups, spread

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from reportgen.screens.sheets import ReadingSheet

LEVEL = 0.01
FEWEST = 6
TURNS = 3
RATIO = 0.6
_RULES = 2


def regular(sheets: Sequence[ReadingSheet], level: float = LEVEL) -> Screened:
    """Point at sheets whose readings a rule fixes."""
    usual = agreement_in_locations(sheets)
    places = [place for place, one in enumerate(sheets) if len(one.values) >= FEWEST]
    tests = len(places)
    signs, least = [], []
    for place in places:
        sheet = sheets[place]
        p = _commonest(sheet, usual)
        if p < 1:
            least.append(2 + math.log(level / (tests * 2 * _RULES * (TURNS + 1))) / math.log(p))
        rows = (*_ramps(sheet.values), *_periods(sheet.values))
        found = min(((ways * p**fixed, how, fixed) for how, fixed, ways in rows), default=None)
        if found is None:
            continue
        chance, how, fixed = found
        expected = tests * _RULES * chance
        if expected < level:
            facts: dict[str, str | int] = {"fixed": fixed, "count": len(sheet.values), "share": f"{p:.3f}"}
            signs.append(Sign("regular", how, (place,), tests, expected, fixed / len(sheet.values), facts))
    smallest = math.ceil(float(np.median(least))) if least else None
    return Screened("regular", tests, level, smallest, tuple(signs))


def _commonest(sheet: ReadingSheet, usual: Mapping[tuple[str, int], float]) -> float:
    """Return how probable the commonest value of a sheet is, at most, by the archive and by its own spread.

    Of normal readings it is √2 times the probability that two agree.
    """
    own = 1 / math.sqrt(2 * math.pi * (spread(sheet.values, sheet.digit) ** 2 + 1 / 12))
    return min(1.0, max(math.sqrt(2) * usual[sheet.kind], own))


def _ramps(values: Sequence[int]) -> Iterator[tuple[str, int, float]]:
    """Yield each row of equal steps with few turns, sharp or flat: how many readings it fixes, and in how many ways."""
    steps = np.diff(values).tolist()
    n = len(values)
    for start in range(len(steps) - FEWEST + 2):
        length, turns = _ramp(steps[start:])
        if length >= FEWEST:
            ways = (n - length + 1) * math.comb(length - 2, turns) * 2**turns * (TURNS + 1)
            yield "steps", length - 2, ways


def _ramp(steps: Sequence[int]) -> tuple[int, int]:
    """Return how many readings the steps from the first on join that are as large, and how often they turn."""
    if steps[0] == 0:
        return 0, 0
    turns = 0
    for at in range(1, len(steps)):
        before, now = steps[at - 1], steps[at]
        turning = now != before and before != 0
        if abs(now) not in {0, abs(steps[0])} or before == now == 0 or turns + turning > TURNS:
            return at + 1, turns
        turns += turning
    return len(steps) + 1, turns


def _periods(values: Sequence[int]) -> Iterator[tuple[str, int, float]]:
    """Yield each row that comes again throughout, with a step or without."""
    read = np.asarray(values)
    n = len(read)
    for period in range(2, n // 2 + 1):
        steps = read[period:] - read[:-period]
        if (steps == steps[0]).all() and len(set(values)) > 1:
            fixed = n - period - int(steps[0] != 0)
            yield "period", fixed, 2 * (n // 2 - 1)


def repeats_avoided(sheets: Sequence[ReadingSheet], level: float = LEVEL) -> Screened:
    """Point at the readings of an inspector's reports in a contract that repeat their neighbours too seldom."""
    groups = in_groups((one.contract, one.inspector, one.kind) for one in sheets)
    tallies = []
    for members in groups.values():
        seen, due = _neighbours([sheets[place] for place in members])
        if due > 0:
            tallies.append((members, seen, due))
    tests = len(tallies)
    signs, least = [], []
    for members, seen, due in tallies:
        tail = float(special.pdtr(seen, RATIO * due))
        least.append(_least_ratio(due, level / tests))
        if tail * tests < level:
            first = sheets[members[0]]
            facts: dict[str, str | int] = {"name": first.inspector, "seen": seen, "due": f"{due:.1f}",
                                           "count": len(members)}  # fmt: skip
            signs.append(Sign("repeats", "avoided", tuple(members), tests, tests * tail, seen / due, facts))
    return Screened("repeats", tests, level, max(least, default=0.0) or None, tuple(signs))


def _neighbours(sheets: Sequence[ReadingSheet]) -> tuple[int, float]:
    """Return how many neighbours are equal, and how many would be if any two readings of a sheet were neighbours."""
    seen, due = 0, 0.0
    for sheet in sheets:
        values = sheet.counting
        if len(values) >= FEWEST:
            seen += int((np.diff(values) == 0).sum())
            same, pairs = agreeing(values)
            due += (len(values) - 1) * same / pairs
    return seen, due


def _least_ratio(due: float, level: float) -> float:
    """Return the largest ratio that would be pointed at; 0 where even no repeat at all would not."""
    counts = np.arange(int(RATIO * due) + 1)
    below = np.flatnonzero(special.pdtr(counts, RATIO * due) < level)
    return float(below[-1] / due) if len(below) else 0.0
