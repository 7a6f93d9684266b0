"""Description of an area by its regular locations: mean, scatter, intervals, outlier flag, uncertainty of the mean."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from reportgen.metrology.statistics import (
    LEAST_FOR_OUTLIER,
    outlier_test,
    percent_within_limits,
    summary,
    tolerance_interval,
)
from reportgen.results import Amount
from reportgen.results.codes.profile import OUTLIER, Outlier
from reportgen.results.facts import Place
from reportgen.rules.uncertainty import beside
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from decimal import Decimal
    from fractions import Fraction

    from reportgen.metrology.statistics import Summary
    from reportgen.results import AreaResult, Finding, LocationResult
    from reportgen.rules.profile import AreaProfile

LEAST_FOR_SHARES: Final = 10
"""Locations from which percent within limits and a tolerance interval are given, as data."""


def with_statistics(result: AreaResult, profile: AreaProfile) -> AreaResult:
    """Describe the regular locations that have a value, in the specification's unit; without any, nothing is added."""
    values = [location.value for location in profile.regular if location.value is not None]
    if not values:
        return result
    of, places, limits = summary(values), profile.places, profile.requirement.limits
    mean = rounded(of.mean, places)
    result = replace(result, mean=mean, minimum=rounded(of.minimum, places), maximum=rounded(of.maximum, places))
    if of.standard_deviation is not None:
        result = replace(result, standard_deviation=rounded(of.standard_deviation, places + 1))
    if of.n >= LEAST_FOR_SHARES:
        ends = [None if limit is None else limit.exact for limit in (limits.minimum, limits.maximum)]
        result = replace(
            result,
            tolerance_interval=_telling(of, _step(profile), places),
            percent_within_limits=rounded(percent_within_limits(of, *ends), 1),
        )
    of_mean = profile.uncertainty.of_mean(of.mean, of.variance, of.n)
    if of_mean is None:
        return result
    least_sure = profile.uncertainty.of_least_sure()
    return replace(
        result,
        expanded_uncertainty=beside(of_mean.expanded, mean),
        coverage_factor=of_mean.factor,
        effective_degrees_of_freedom=of_mean.budget.effective_dof,
        budget=of_mean.lines(places + 1),
        location_budget=() if least_sure is None else least_sure.lines(places + 1),
    )


def _telling(of: Summary, step: Fraction, places: int) -> tuple[Decimal, Decimal] | None:
    """Return the tolerance interval as printed; None where it says nothing.

    It does not where it reaches below zero, as no profile does, or where rounding hides the scatter.
    """
    interval = tolerance_interval(of)
    if interval.lower <= 0 or of.variance is None or of.variance < (step / 2) ** 2:
        return None
    return rounded(interval.lower, places), rounded(interval.upper, places)


def _step(profile: AreaProfile) -> Fraction:
    """Return the coarsest step of the readings, in the specification's unit."""
    return max(Quantity(one.step, one.unit).in_unit(profile.requirement.unit) for one in profile.surfaces)


def flagged(profile: AreaProfile) -> tuple[tuple[LocationResult, ...], tuple[Finding, ...]]:
    """Return the locations' results with an outlier flagged, and the finding about it; nothing is ever removed."""
    results = tuple(location.result for location in profile.locations)
    known = [
        (index, one.value)
        for index, one in enumerate(profile.locations)
        if one.result.walk_out is None and one.value is not None
    ]
    values = [value for _, value in known]
    if len(values) < LEAST_FOR_OUTLIER:
        return results, ()
    step = _step(profile)
    test = outlier_test(values, resolution=step)
    if not test.flagged:
        return results, ()
    index = known[test.index][0]
    marked = replace(results[index], outlier=True)
    statistic, critical = rounded(test.statistic, 4), rounded(test.critical, 4)
    seen, resolution = (
        Amount.of_number(one, profile.requirement.unit, profile.places) for one in (values[test.index], step)
    )
    finding = OUTLIER.found(
        Outlier(seen, statistic, critical, len(values), resolution),
        Place(profile.area.id, profile.located(profile.locations[index])),
    )
    return (*results[:index], marked, *results[index + 1 :]), (finding,)
