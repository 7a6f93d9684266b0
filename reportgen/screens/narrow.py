"""Readings that spread much less than others: of one surface in an archive, of one hand or gauge within its stratum.

*One surface*: the variance of rounded normal readings, where the spread itself varies from surface to surface as the
others of the archive vary, log-normally, by the upper 95 % bound of how much. *A group*: Welch's test on the logarithm
of the variance, rounding allowed for, against the hypothesis that the group spreads by four fifths of the others.
Steel truly differs by a fifth from one inspector's days to another's: only what lies beyond is pointed at.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy import special

from reportgen.screens.sheets import Screened, Sign, in_groups

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from reportgen.screens.sheets import Array, ReadingSheet

LEVEL = 0.01
FEWEST_READINGS = 6
FEWEST_SURFACES = 8
RATIO = 0.8
"""How much less a group may spread before anything is said."""
_ROUNDING = 1 / 12
"""Variance that rounding to a step adds (Sheppard)."""
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(40)


class _Spread(NamedTuple):
    """Variance of one sheet, in steps of its gauge squared, and of how many readings."""

    place: int
    n: int
    variance: float


def _spreads(sheets: Sequence[ReadingSheet]) -> list[_Spread]:
    found = []
    for place, sheet in enumerate(sheets):
        values = np.asarray(sheet.counting, float) / sheet.digit
        if len(values) >= FEWEST_READINGS:
            found.append(_Spread(place, len(values), float(values.var(ddof=1))))
    return found


def narrow_surfaces(sheets: Sequence[ReadingSheet], level: float = LEVEL) -> Screened:
    """Point at surfaces whose readings spread less than the other surfaces of their kind explain."""
    spreads = _spreads(sheets)
    groups = in_groups(sheets[one.place].kind for one in spreads)
    kinds = [[spreads[at] for at in members] for members in groups.values() if len(members) >= FEWEST_SURFACES]
    tests = sum(map(len, kinds))
    signs: list[Sign] = []
    least: list[float] = []
    for kind in kinds:
        usual = _Usual(kind, _freedom([sheets[one.place] for one in kind]))
        for one, tail in zip(kind, usual.tails(), strict=True):
            if tail * tests < level:
                own, middle = math.sqrt(one.variance), usual.middle
                facts: dict[str, str | int] = {"count": one.n, "own": f"{own:.2g}", "usual": f"{middle:.2g}"}
                effect = own / middle
                signs.append(Sign("surface", "narrow", (one.place,), tests, tests * tail, effect, facts))
        least.append(usual.least(level / tests))
    return Screened("surface", tests, level, max(least, default=0) or None, tuple(signs))


class _Usual:
    """How far surfaces of a kind spread: log-normally, each judged by the others."""

    def __init__(self, kind: Sequence[_Spread], freedom: float) -> None:
        self.n = np.array([one.n for one in kind])
        self.dof = freedom * (self.n - 1)
        self.variance = np.array([one.variance for one in kind])
        half = self.dof / 2
        self.logs = np.log(self.variance + _ROUNDING) - (special.digamma(half) - np.log(half))
        self.noise = special.polygamma(1, half)
        self.middle = math.exp(float(np.median(self.logs)) / 2)

    def tails(self) -> Array:
        """Return for each surface how probable so small a variance is, by all others."""
        count = len(self.logs) - 1
        mean = (self.logs.sum() - self.logs) / count
        squares = (self.logs**2).sum() - self.logs**2
        var = np.maximum(squares / count - mean**2, 0) * count / (count - 1)
        bound = var * (count - 1) / special.chdtri(count - 1, 0.95)
        noise = (self.noise.sum() - self.noise) / count
        # of the logarithm of the variance, which varies twice as much as that of the deviation
        varying = np.sqrt(np.maximum(bound - noise, 0) + bound / count)
        return _mixed(mean, varying, self.n, self.dof, self.variance)

    def least(self, level: float) -> float:
        """Return the largest ratio of spreads that would be pointed at; 0 where even none spreading would not."""
        row = int(np.argsort(self.n)[len(self.n) // 2])
        varying = math.sqrt(max(float(self.logs.var(ddof=1)) - float(self.noise.mean()), 0))
        mean = float(self.logs.mean())

        def tail(ratio: float) -> float:
            at = (np.array([one]) for one in (mean, varying, self.n[row], self.dof[row], (ratio * self.middle) ** 2))
            return float(_mixed(*at)[0])

        low, high = 0.0, 1.0
        if tail(0.0) >= level:
            return 0.0
        for _ in range(20):
            middle = (low + high) / 2
            low, high = (middle, high) if tail(middle) < level else (low, middle)
        return low


def _mixed(mean: Array, varying: Array, n: Array, dof: Array, variance: Array) -> Array:
    """Return how probable so small variances are where the logarithm of the true one varies normally."""
    true = np.exp(mean[:, None] + varying[:, None] * _NODES)
    below = _below(variance[:, None], true, n[:, None], dof[:, None])
    return np.asarray((below * _WEIGHTS).sum(1) / _WEIGHTS.sum())


def _freedom(sheets: Sequence[ReadingSheet]) -> float:
    """Return how many degrees of freedom a variance has for each of n - 1: fewer where locations differ.

    Readings of one location have much in common, so that the variance of all of them varies more than n - 1 degrees of
    freedom say (Satterthwaite 1946).
    """
    sums = np.zeros(4)
    for sheet in sheets:
        values = np.asarray(sheet.values, float) / sheet.digit
        places = [values[members] for members in in_groups(sheet.locations).values()]
        within = sum(float(((one - one.mean()) ** 2).sum()) for one in places)
        whole = float(((values - values.mean()) ** 2).sum())
        sums += (whole - within, max(0, len(places) - 1), within, len(values) - max(1, len(places)))
    between, free_between, within, free_within = sums
    if not (between and free_between and free_within):
        return 1.0
    squares = between**2 / free_between + within**2 / free_within
    return float(min(1.0, (between + within) ** 2 / squares / (free_between + free_within)))


def _below(variance: Array, true: Array, n: Array, dof: Array) -> Array:
    """Return the probability that the variance of ``n`` rounded normal readings is as small, for true variances.

    ``true`` has the rounding in it. Where the spread is below a step, an upper bound: rounding moves no reading by
    more than half a step, so that it takes no more than that from the deviation.
    """
    fine = special.chdtr(dof, dof * variance / true)
    coarse = (np.sqrt(variance) + np.sqrt(n / (n - 1)) / 2) ** 2
    bound = special.chdtr(dof, dof * coarse / np.maximum(true - _ROUNDING, 1e-9))
    return np.asarray(np.where(true >= 1, fine, bound))


def narrow_groups(sheets: Sequence[ReadingSheet], level: float = LEVEL) -> Screened:
    """Point at the readings of an inspector's reports, or of a gauge, that spread less than those beside them.

    Beside them are others of the same contract, apparatus, abrasive and step of the gauge.
    """
    spreads = _spreads(sheets)
    comparisons = [*_comparisons(sheets, spreads, _inspector), *_comparisons(sheets, spreads, _gauge)]
    tests = len(comparisons)
    signs, least = [], []
    for who, own, beside, places in comparisons:
        difference, error, dof = _welch(own, beside)
        if error == 0:
            continue
        tail = float(special.stdtr(dof, (difference - 2 * math.log(RATIO)) / error))
        reach = float(special.stdtrit(dof, 1 - level / tests)) * error
        least.append(RATIO * math.exp(-reach / 2))
        if tail * tests < level:
            half = float(special.stdtrit(dof, 0.975)) * error
            low, ratio, high = (math.exp(at / 2) for at in (difference - half, difference, difference + half))
            kind, name = who
            facts: dict[str, str | int] = {"name": name, "count": len(own), "others": len(beside)}
            facts |= {"low": f"{low:.2f}", "ratio": f"{ratio:.2f}", "high": f"{high:.2f}"}
            signs.append(Sign("group", kind, tuple(places), tests, tests * tail, ratio, facts))
    return Screened("group", tests, level, max(least, default=None), tuple(signs))


def _inspector(sheet: ReadingSheet) -> tuple[str, str]:
    return "inspector", sheet.inspector


def _gauge(sheet: ReadingSheet) -> tuple[str, str]:
    return "gauge", sheet.gauge


def _comparisons(
    sheets: Sequence[ReadingSheet], spreads: Sequence[_Spread], of: Callable[[ReadingSheet], tuple[str, str]]
) -> Iterator[tuple[tuple[str, str], Array, Array, list[int]]]:
    """Yield each group with the logarithms of its variances, those beside it, and its sheets."""
    strata = in_groups((sheets[one.place].contract, sheets[one.place].apparatus, sheets[one.place].abrasive,
                        sheets[one.place].kind) for one in spreads)  # fmt: skip
    for members in strata.values():
        stratum = [spreads[at] for at in members]
        half = (np.array([one.n for one in stratum]) - 1) / 2
        logs = np.log([one.variance + _ROUNDING for one in stratum]) - (special.digamma(half) - np.log(half))
        groups = in_groups(of(sheets[one.place]) for one in stratum)
        for who, own in groups.items():
            apart = np.setdiff1d(np.arange(len(stratum)), own)
            if min(len(own), len(apart)) >= FEWEST_SURFACES:
                yield who, logs[own], logs[apart], [stratum[at].place for at in own]  # type: ignore[misc]


def _welch(own: Array, beside: Array) -> tuple[float, float, float]:
    """Return the difference of two means, its standard error and Welch's degrees of freedom."""
    parts = [float(one.var(ddof=1)) / len(one) for one in (own, beside)]
    error = math.sqrt(sum(parts))
    below = sum(part**2 / (len(one) - 1) for part, one in zip(parts, (own, beside), strict=True))
    return float(own.mean() - beside.mean()), error, sum(parts) ** 2 / below if below else 1.0
