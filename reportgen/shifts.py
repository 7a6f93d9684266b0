"""What the shifts of a contract show together: a chart that finds steps, a test that finds a trend, and comparisons.

The unit is the shift's mean of the means of its areas: the locations of an area, and the areas of a shift, have much
in common, so that a chart of locations would give alarms where nothing changed.
"""

from __future__ import annotations

import math
from collections import defaultdict
from functools import lru_cache
from itertools import combinations
from statistics import NormalDist, fmean, median, stdev
from typing import TYPE_CHECKING, NamedTuple

from reportgen.metrology.distributions import normal_probability, t_factor, t_probability

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

WEIGHT = 0.2
LIMIT = 2.86
"""Limit of the chart in its own standard deviations: run length 370 without a change (Lucas and Saccucci 1990)."""
BOUND = LIMIT * math.sqrt(WEIGHT / (2 - WEIGHT))
TREND_LEVEL = 0.02
LEAST_SHIFTS = 4
"""Shifts on each side from which a comparison is worth making; of a trend, twice as many."""
_EXACT_UP_TO = 20
_STANDARD = NormalDist()


class ShiftMean(NamedTuple):
    """One shift: its name, by which shifts follow each other, the mean of its areas' means, and how many areas."""

    name: str
    mean: float
    areas: int


class Chart(NamedTuple):
    """The moving average of shift means in standard deviations, each mean judged by those before it.

    ``levels`` has None where nothing is known yet, and begins anew after an alarm; ``alarms`` are places of shifts.
    ``step`` is the smallest step, midway, that the chart would have shown in half of the cases: None for too few.
    """

    levels: tuple[float | None, ...]
    limit: float
    alarms: tuple[int, ...]
    step: float | None


class Trend(NamedTuple):
    """Kendall's τ of shift means against their order, its probability where there is no trend, and the slope.

    ``slope`` is the median of those between any two shifts, times their number: the change over the whole.
    """

    tau: float
    probability: float
    slope: float

    @property
    def there(self) -> bool:
        """Whether there is a trend, by the level of the test."""
        return self.probability < TREND_LEVEL


class GroupComparison(NamedTuple):
    """How far the shift means of two kinds of work lie apart, with Welch's 95 % interval."""

    difference: float
    low: float
    high: float
    shifts: tuple[int, int]


class Done(NamedTuple):
    """One kind of work: on which structure, by which apparatus and abrasive; unit of its values."""

    structure: str
    apparatus: str
    abrasive: str
    unit: str


class Work(NamedTuple):
    """What the shifts of one kind of work show."""

    done: Done
    areas: int
    shifts: tuple[ShiftMean, ...]
    chart: Chart
    trend: Trend | None

    @property
    def means(self) -> list[float]:
        """The means of the shifts, in their order."""
        return [shift.mean for shift in self.shifts]


class GroupsCompared(NamedTuple):
    """Two kinds of work that differ in ``by`` alone, apparatus or abrasive; None for fewer than four shifts a side."""

    by: str
    first: Done
    second: Done
    found: GroupComparison | None


def works(values: Iterable[tuple[Done, str, str, float]]) -> tuple[Work, ...]:
    """Return each kind of work of values that each have the kind, shift and area."""
    kinds: dict[Done, list[tuple[str, str, float]]] = defaultdict(list)
    for done, shift, area, value in values:
        kinds[done].append((shift, area, value))
    return tuple(_work(done, kinds[done]) for done in sorted(kinds))


def _work(done: Done, values: Sequence[tuple[str, str, float]]) -> Work:
    shifts = tuple(shift_means(values))
    means = [shift.mean for shift in shifts]
    return Work(done, len({area for _, area, _ in values}), shifts, chart(means), trend(means))


def compared(several: Sequence[Work]) -> Iterator[GroupsCompared]:
    """Yield a comparison for each two kinds of work of one structure that differ in apparatus or in abrasive alone."""
    for one, other in combinations(several, 2):
        first, second = one.done, other.done
        apart = [by for by in ("apparatus", "abrasive") if getattr(first, by) != getattr(second, by)]
        if len(apart) == 1 and (first.structure, first.unit) == (second.structure, second.unit):
            yield GroupsCompared(apart[0], first, second, comparison(one.means, other.means))


def shift_means(values: Iterable[tuple[str, str, float]]) -> list[ShiftMean]:
    """Return the shifts of values that each have shift and area, in the order of the shifts' names."""
    areas: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for shift, area, value in values:
        areas[shift][area].append(value)
    return [ShiftMean(name, fmean(map(fmean, areas[name].values())), len(areas[name])) for name in sorted(areas)]


def chart(means: Sequence[float]) -> Chart:
    """Return the self-starting chart of shift means.

    Each is compared with those before by t, which is turned into a normal deviate: these are independent where nothing
    changes (Hawkins 1987), so that a chart with known limits may be drawn of them from the third shift on.
    """
    levels: list[float | None] = []
    alarms = []
    level = 0.0
    for at, mean in enumerate(means):
        deviate = _deviate(means[:at], mean)
        if deviate is None:
            levels.append(None)
            continue
        level += WEIGHT * (deviate - level)
        levels.append(level)
        if abs(level) > BOUND:
            alarms.append(at)
            level = 0.0
    step = None if len(means) < 2 * LEAST_SHIFTS else step_seen(len(means)) * stdev(means)
    return Chart(tuple(levels), BOUND, tuple(alarms), step)


def _deviate(before: Sequence[float], mean: float) -> float | None:
    """Return a mean as a normal deviate by those before it; None for fewer than two, or without a spread."""
    n = len(before)
    spread = stdev(before) if n > 1 else 0.0
    if spread <= 1e-12:
        return None
    t = (mean - fmean(before)) / (spread * math.sqrt(1 + 1 / n))
    share = t_probability(-abs(t), n - 1)
    return math.copysign(-_STANDARD.inv_cdf(max(share, 1e-15)), t)


@lru_cache(maxsize=256)
def step_seen(shifts: int) -> float:
    """Return the smallest step after half of so many shifts that the chart shows in half of the cases.

    In standard deviations of shift means: the step at which the middle of the moving average, which the shifts after
    the step pull towards them, reaches the limit.
    """
    before = shifts // 2
    level = most = 0.0
    for at in range(before, shifts):
        aside = before / at * math.sqrt(at / (at + 1))  # of a step of 1, as the mean of all before has part of it
        level += WEIGHT * (aside - level)
        most = max(most, level)
    return BOUND / most


def trend(means: Sequence[float]) -> Trend | None:
    """Return Kendall's test of a trend (Kendall 1938); None for fewer shifts than say anything."""
    n = len(means)
    if n < 2 * LEAST_SHIFTS:
        return None
    pairs = [(one, other) for one in range(n) for other in range(one + 1, n)]
    slopes = [(means[other] - means[one]) / (other - one) for one, other in pairs]
    score = sum((slope > 0) - (slope < 0) for slope in slopes)
    ties = [means.count(value) for value in set(means)]
    if n <= _EXACT_UP_TO and max(ties) == 1:
        probability = _exact(n, abs(score))
    else:
        spread = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
        z = max(0, abs(score) - 1) / math.sqrt(spread) if spread else 0.0
        probability = min(1.0, 2 * normal_probability(-z))
    return Trend(score / len(pairs), probability, median(slopes) * (n - 1))


def _exact(n: int, score: int) -> float:
    """Return how probable a score as far from zero is, of all orders of ``n`` different values."""
    counts = [1]
    for size in range(2, n + 1):  # the next value makes 0 to size - 1 inversions with those before it
        longer = [0] * (len(counts) + size - 1)
        for at, count in enumerate(counts):
            for more in range(size):
                longer[at + more] += count
        counts = longer
    pairs = n * (n - 1) // 2
    beyond = sum(count for inversions, count in enumerate(counts) if abs(pairs - 2 * inversions) >= score)
    return beyond / sum(counts)


def comparison(first: Sequence[float], second: Sequence[float]) -> GroupComparison | None:
    """Return how far the second shift means lie above the first (Welch 1947); None below four shifts on a side."""
    counts = len(first), len(second)
    if min(counts) < LEAST_SHIFTS:
        return None
    parts = [stdev(one) ** 2 / len(one) for one in (first, second)]
    difference, error = fmean(second) - fmean(first), math.sqrt(sum(parts))
    if error == 0:
        return GroupComparison(difference, difference, difference, counts)
    freedom = sum(parts) ** 2 / sum(part**2 / (n - 1) for part, n in zip(parts, counts, strict=True))
    half = float(t_factor(max(1, int(freedom)))) * error  # of whole degrees, the fewer: the interval is no shorter
    return GroupComparison(difference, difference - half, difference + half, counts)
