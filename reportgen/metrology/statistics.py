"""Statistics of one set of values: exact mean and variance, intervals, outlier flag, percent within limits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.errors import RangeError
from reportgen.metrology.distributions import cosine_share, grubbs_critical, tolerance_factor
from reportgen.metrology.exact import Exact, exact_sums, square_root

if TYPE_CHECKING:
    from collections.abc import Sequence

LEAST_FOR_OUTLIER: Final = 6
"""Values from which an outlier test is worth making: of three, any two that are equal flag the third."""


@dataclass(frozen=True, slots=True)
class Summary:
    """Description of a set of values in one unit; a single value has no ``variance``, the exact one with n - 1."""

    n: int
    mean: Fraction
    variance: Fraction | None
    minimum: Fraction
    maximum: Fraction

    @property
    def standard_deviation(self) -> Fraction | None:
        """Root of the variance, to 34 significant digits; None for a single value."""
        return None if self.variance is None else square_root(self.variance)


@dataclass(frozen=True, slots=True)
class Interval:
    """From ``lower`` to ``upper``."""

    lower: Fraction
    upper: Fraction


@dataclass(frozen=True, slots=True)
class GrubbsTest:
    """Grubbs' test: the farthest value's index, its statistic, the critical value, and whether it is flagged."""

    index: int
    statistic: Fraction
    critical: Fraction
    flagged: bool


def summary(values: Sequence[Exact]) -> Summary:
    """Describe a set of values: count, mean, variance with n - 1, extremes.

    Parameters:
        values : sequence of exact numbers [any one unit], at least 1.
    Returns:
        Summary in the same unit.
    Raises:
        RangeError: no values.
    Accuracy: exact; against NIST StRD certified means and standard deviations.
    Source: nist-strd
    Examples:
        >>> summary([2, 4]).mean
        Fraction(3, 1)
    """
    total, squares, n = exact_sums(values)
    if not n:
        raise RangeError("a summary needs at least 1 value")
    variance = None if n == 1 else (squares - total * total / n) / (n - 1)
    return Summary(n, total / n, variance, Fraction(min(values)), Fraction(max(values)))


def tolerance_interval(of: Summary) -> Interval:
    """Statistical tolerance interval mean ± k·s that covers 95 % of the population with 95 % confidence.

    Parameters:
        of : Summary of 2 or more values.
    Returns:
        Interval in the values' unit.
    Raises:
        RangeError: fewer than 2 values.
    Valid range: independent values from a normal population.
    Accuracy: as tolerance_factor.
    Source: tolerance-intervals
    Examples:
        >>> round(float(tolerance_interval(summary([1, 2, 3])).lower), 3)
        -7.789
    """
    half = tolerance_factor(of.n) * _spread(of)
    return Interval(of.mean - half, of.mean + half)


def _spread(of: Summary) -> Fraction:
    if of.standard_deviation is None:
        raise RangeError("an interval needs at least 2 values, got 1")
    return of.standard_deviation


def percent_within_limits(of: Summary, minimum: Exact | None, maximum: Exact | None) -> Fraction:
    """Estimate the share of the population within the limits, by the quality index and the exact beta form.

    Parameters:
        of : Summary of 3 or more values.
        minimum : exact number [the values' unit] or None.
        maximum : exact number [the values' unit] or None.
    Returns:
        Percent within limits [%], 0 to 100. Without spread: 100 where the mean lies within, else 0.
    Raises:
        RangeError: fewer than 3 values.
    Valid range: random samples of a normal population; informational unless the contract makes it a rule.
    Accuracy: 1e-9 %, against scipy.special.betainc; within 0.5 % of the printed whole-number table.
    Source: fhwa-t-5080-12
    Examples:
        >>> sample = summary([Fraction(n, 10) for n in (21, 24, 26, 29, 25)])
        >>> round(float(percent_within_limits(sample, 2, 3)), 3)
        98.999
    """
    if of.n < 3:
        raise RangeError(f"percent within limits needs at least 3 values, got {of.n}")
    spread = of.standard_deviation
    inside = Fraction(1)
    for limit, sign in ((minimum, 1), (maximum, -1)):
        if limit is None:
            continue
        distance = sign * (of.mean - Fraction(limit))
        share = float(distance >= 0)
        if spread:  # 1 - I_x(n/2-1, n/2-1) with x = 1/2 - Q·√n/(2(n-1))
            share = cosine_share(float(distance / spread) * math.sqrt(of.n) / (of.n - 1), of.n - 3)
        inside -= 1 - Fraction(share)
    return max(Fraction(0), inside) * 100


def outlier_test(values: Sequence[Exact], *, resolution: Exact = 0) -> GrubbsTest:
    """Grubbs' two-sided test at 5 %: flag, never delete, the value farthest from the mean.

    Rounded values repeat each other and understate their scatter, so that the plain test flags up to half of all
    honest samples. The variance of rounding to one step r, r²/12, is therefore added to the sample's: a value one
    step away from others that are equal is never flagged. Nor is a value that occurs more than once: the test is one of
    a single outlier, and of several equal values none is it more than the others.

    Parameters:
        values : sequence of exact numbers [any one unit], at least 3.
        resolution : exact number [the same unit], 0 or more; the step to which readings are rounded, 0 for none.
    Returns:
        OutlierTest; equal values are never flagged; of two equally far, the largest is tested.
    Raises:
        RangeError: fewer than 3 values, or a negative resolution.
    Valid range: values from a normal population with at most one outlier; worth making from LEAST_FOR_OUTLIER on.
    Accuracy: as grubbs_critical; flags honest values no more often than its level says whatever the ratio of
        scatter to resolution, by simulation.
    Source: grubbs
    Examples:
        >>> outlier_test([Fraction(n, 10) for n in (21, 22, 20, 23, 21, 34)]).flagged
        True
    """
    if resolution < 0:
        raise RangeError("a resolution is never negative")
    critical = grubbs_critical(len(values))
    of = summary(values)
    farthest = max(of.maximum - of.mean, of.mean - of.minimum)
    index = values.index(max(values) if of.maximum - of.mean == farthest else min(values))
    if not of.variance:
        return GrubbsTest(index, Fraction(0), critical, flagged=False)
    statistic = farthest / square_root(of.variance + Fraction(resolution) ** 2 / 12)
    alone = sum(Fraction(value) == Fraction(values[index]) for value in values) == 1
    return GrubbsTest(index, statistic, critical, flagged=alone and statistic > critical)


def spot_agreement(values: Sequence[Exact], tolerance: Exact) -> tuple[Fraction, bool]:
    """Compare the spread of the spots of one location with a tolerance the contract states.

    Parameters:
        values : sequence of exact numbers [any one unit], at least 1.
        tolerance : exact number [the same unit], 0 or more.
    Returns:
        Largest minus smallest, and whether that does not exceed the tolerance.
    Raises:
        RangeError: no values, or a negative tolerance.
    Source: spot-agreement
    Examples:
        >>> spot_agreement([Fraction(24, 10), Fraction(26, 10)], Fraction(2, 10))
        (Fraction(1, 5), True)
    """
    if not values or tolerance < 0:
        raise RangeError("agreement needs at least 1 value and a tolerance of 0 or more")
    spread = Fraction(max(values)) - Fraction(min(values))
    return spread, spread <= tolerance
