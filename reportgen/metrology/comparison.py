"""Two people's readings of the same places: difference, normalized error, mean difference, and the chance of a copy."""

from __future__ import annotations

import math
from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.errors import RangeError
from reportgen.metrology.distributions import deviation_interval, normal_probability
from reportgen.metrology.exact import Exact, Root, exact_sums, number_of, square_root
from reportgen.metrology.uncertainty import Budget, Component, budget

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.metrology.uncertainty import Pooled

COPY_LEVEL: Final = 0.01
"""Below which chance that as many readings of two people agree they are named as equal, with the chance; our choice."""
CHANCE_UNKNOWN: Final = 0.5
"""Chance that two readings agree where nothing says how far spots scatter: above that of any gauge whose last digit is
less than one and a half times the scatter of spots; our choice."""


def normalized_error(difference: Exact, own: Exact, other: Exact) -> Fraction:
    """E_n number of two results: their difference over the root of the sum of the squares of their uncertainties.

    Parameters:
        difference : exact number [one unit], a participant's value less the reference value.
        own : exact number [the same unit], its expanded uncertainty of about 95 % coverage.
        other : exact number [the same unit], that of the other, of the same coverage; not both 0.
    Returns:
        E_n [1], signed as the difference. Above 1 in size the results agree less than both uncertainties allow.
    Raises:
        RangeError: a negative uncertainty, or none at all.
    Valid range: independent results.
    Accuracy: 34 digits.
    Source: iso-13528
    Examples:
        >>> normalized_error(5, 3, 4)
        Fraction(1, 1)
    """
    if own < 0 or other < 0 or not (own or other):
        raise RangeError("the expanded uncertainties of two results must be 0 or more, and not both 0")
    return Fraction(difference) / difference_uncertainty(own, other)


def difference_uncertainty(own: Exact, other: Exact) -> Fraction:
    """Expanded uncertainty of the difference of two independent results.

    Parameters:
        own : exact number [one unit], an expanded uncertainty.
        other : exact number [the same unit], another of the same coverage.
    Returns:
        Expanded uncertainty [the same unit].
    Valid range: independent results.
    Accuracy: 34 digits.
    Source: iso-13528
    Examples:
        >>> difference_uncertainty(3, 4)
        Fraction(5, 1)
    """
    return square_root(Fraction(own) ** 2 + Fraction(other) ** 2)


def error_of_the_other(
    unit: str, *, stated: Exact | None = None, factor: Exact = 2, accuracy: Exact | None = None
) -> tuple[Component, ...]:
    """Components that another person's readings bring to every difference alike, as far as they are on record.

    Parameters:
        unit : str.
        stated : exact number [unit] or None; the expanded uncertainty of one value as the other states it.
        factor : exact number [1], its coverage factor, above 0.
        accuracy : exact number [unit] or None; the limit of error of the other's gauge, where no uncertainty is stated.
    Returns:
        Components, at most one. A stated uncertainty is taken whole, as it does not say what of it averages out; limits
        of error are rectangular.
    Raises:
        RangeError: a negative entry.
    Valid range: as the other states it.
    Accuracy: as given.
    Source: jcgm-100
    Examples:
        >>> [part.name for part in error_of_the_other("mil", accuracy=Fraction("0.2"))]
        ['gauge accuracy of the other']
    """
    if stated is not None:
        divisor, source = Fraction(factor), "stated-accuracy"
        return (Component("stated by the other", stated, divisor=divisor, systematic=True, source=source, unit=unit),)
    if accuracy is None:
        return ()
    name, source = "gauge accuracy of the other", "stated-accuracy"
    return (Component(name, accuracy, "rectangular", systematic=True, source=source, unit=unit),)


def mean_difference(differences: Sequence[Exact], common: Sequence[Component], unit: str) -> tuple[Fraction, Budget]:
    """Mean of the differences over several places, with its budget.

    Parameters:
        differences : sequence of exact numbers [unit], 2 or more.
        common : Components [unit] that do not average out: errors of both gauges; none where none is on record.
        unit : str.
    Returns:
        Mean difference [unit], and its budget: the scatter of the differences over √n with n - 1 degrees of freedom,
        and the common part whole. Without a common part the interval is that of the paired t test.
    Raises:
        RangeError: fewer than 2 differences.
    Valid range: places chosen independently, differences from a normal population.
    Accuracy: as budget.
    Source: jcgm-100
    Examples:
        >>> mean, known = mean_difference([1, 2, 3], (), "um")
        >>> mean, round(float(known.expanded), 2)
        (Fraction(2, 1), 2.48)
    """
    total, squares, n = exact_sums(differences)
    if n < 2:
        raise RangeError(f"a mean difference over {n} places has no scatter")
    variance = (squares - total * total / n) / (n - 1)
    scatter = Component("scatter of differences", Root(variance), divisor=Root.of(n), dof=n - 1, source="type-a")
    parts = [scatter, *common] if variance or not common else list(common)
    return Fraction(total) / n, budget(parts, unit)


def chance_of_agreeing(scatter: Pooled | None, step: Exact, averaged: int = 1) -> float:
    """Chance that two independent readings of one place show the same number.

    Parameters:
        scatter : Pooled [one unit], how far spots of one place scatter; None where nothing says so.
        step : exact number [the same unit], to which the readings are rounded, above 0.
        averaged : int [1], spots that each number is the mean of.
    Returns:
        Probability [1]. The scatter is taken at the lower end of its 95 % interval, so that a place whose spots happen
        to lie close together accuses nobody; without any it is one half.
    Raises:
        RangeError: a step of 0 or below.
    Valid range: normal scatter; the true value anywhere between two steps.
    Accuracy: double precision, against a simulation.
    Source: paired-rounding
    Examples:
        >>> from reportgen.metrology.uncertainty import Pooled
        >>> round(chance_of_agreeing(Pooled(Fraction("0.15"), 1000), Fraction("0.1")), 2)
        0.19
        >>> chance_of_agreeing(None, 1)
        0.5
    """
    if step <= 0:
        raise RangeError("the step to which readings are rounded must be above 0")
    if scatter is None:
        return CHANCE_UNKNOWN
    low, _ = deviation_interval(scatter.dof)
    deviation = low * float(number_of(scatter.standard_deviation)) * math.sqrt(2 / averaged)
    if not deviation:
        return 1.0
    # the mean of 1 - |D|/step over the differences D smaller than a step: the share of phases that round both alike
    ratio = float(step) / deviation
    density = (1 - math.exp(-(ratio**2) / 2)) / math.sqrt(2 * math.pi)
    return min(1.0, 2 * normal_probability(ratio) - 1 - 2 / ratio * density)


def chance_of_as_many(chances: Sequence[float], equal: int) -> float:
    """Chance that at least so many of several independent pairs of readings agree.

    Parameters:
        chances : sequence of float [1], with which each pair agrees.
        equal : int [1], pairs that do.
    Returns:
        Probability [1].
    Valid range: any number of pairs.
    Accuracy: double precision.
    Source: paired-rounding
    Examples:
        >>> round(chance_of_as_many([0.5, 0.5, 0.5], 2), 3)
        0.5
        >>> chance_of_as_many([0.2, 0.2], 2) == 0.2 * 0.2
        True
    """
    exactly = [1.0]  # by how many agree so far
    for chance in chances:
        without, together = [*exactly, 0.0], [0.0, *exactly]
        exactly = [(1 - chance) * one + chance * more for one, more in zip(without, together, strict=True)]
    return sum(exactly[equal:])


def chance_of_repeating(series: Sequence[Exact], beside: Sequence[Sequence[Exact]] = ()) -> float:
    """Chance that another place gives the same numbers in the same order.

    Parameters:
        series : sequence of numbers [one unit], 1 or more.
        beside : other series [the same unit], each of one surface.
    Returns:
        Probability [1]: q to the power of their number. q, with which two readings of one surface agree, is the larger
        of what the series itself and all series together show, one more agreeing pair assumed of two more, so that a
        few different numbers prove nothing. Other surfaces agree less often than one with itself.
    Valid range: readings independent given the surface.
    Accuracy: double precision.
    Source: paired-rounding
    Examples:
        >>> chance_of_repeating([1, 2])
        0.1111111111111111
        >>> chance_of_repeating([2, 2, 2, 2]) > 0.5
        True
    """
    pairs = [_agreeing_pairs(one) for one in (series, *beside)]
    together = (sum(one[0] for one in pairs), sum(one[1] for one in pairs))
    return max((equal + 1) / (count + 2) for equal, count in (pairs[0], together)) ** len(series)


def _agreeing_pairs(series: Sequence[Exact]) -> tuple[int, int]:
    """Return how many pairs of one series agree, and how many there are."""
    return sum(math.comb(count, 2) for count in Counter(series).values()), math.comb(len(series), 2)
