"""Description of an area by its regular locations: mean, scatter, intervals, outlier flag, uncertainty of the mean."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from reportgen.metrology.statistics import (
    LEAST_FOR_OUTLIER,
    confidence_interval,
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

    from reportgen.metrology.statistics import Interval, Summary
    from reportgen.results import BudgetLine, Finding, LocationResult
    from reportgen.rules.profile import AreaProfile
    from reportgen.rules.uncertainty import AreaUncertainty

LEAST_FOR_SHARES: Final = 3
"""Locations from which percent within limits makes sense."""


@dataclass(frozen=True, slots=True)
class AreaStatistics:
    """Numbers of an area as printed, in the specification's unit."""

    mean: Decimal | None = None
    standard_deviation: Decimal | None = None
    minimum: Decimal | None = None
    maximum: Decimal | None = None
    confidence_interval: tuple[Decimal, Decimal] | None = None
    tolerance_interval: tuple[Decimal, Decimal] | None = None
    percent_within_limits: Decimal | None = None
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    effective_degrees_of_freedom: int | None = None
    budget: tuple[BudgetLine, ...] = ()
    location_budget: tuple[BudgetLine, ...] = ()


def area_statistics(profile: AreaProfile) -> AreaStatistics:
    """Describe the regular locations that have a value; without any, every number is None."""
    values = [location.value for location in profile.regular if location.value is not None]
    if not values:
        return AreaStatistics()
    of, places = summary(values), profile.places
    mean = rounded(of.mean, places)
    base = AreaStatistics(mean=mean, minimum=rounded(of.minimum, places), maximum=rounded(of.maximum, places))
    uncertainty = profile.uncertainty
    assert uncertainty is not None  # noqa: S101 - an area with values has surfaces, and with them an uncertainty
    return _with_uncertainty(_with_scatter(base, profile, of), profile, of, mean, uncertainty)


def _with_scatter(base: AreaStatistics, profile: AreaProfile, of: Summary) -> AreaStatistics:
    if of.standard_deviation is None:
        return base
    places, limits = profile.places, profile.requirement.limits
    share = None
    if of.n >= LEAST_FOR_SHARES:
        ends = [None if limit is None else limit.exact for limit in (limits.minimum, limits.maximum)]
        share = rounded(percent_within_limits(of, *ends), 1)
    return replace(
        base,
        standard_deviation=rounded(of.standard_deviation, places + 1),
        confidence_interval=_printed(confidence_interval(of), places),
        tolerance_interval=_printed(tolerance_interval(of), places),
        percent_within_limits=share,
    )


def _printed(interval: Interval, places: int) -> tuple[Decimal, Decimal] | None:
    assert interval.lower is not None  # noqa: S101 - both kinds asked for here are closed on both sides
    assert interval.upper is not None  # noqa: S101
    return rounded(interval.lower, places), rounded(interval.upper, places)


def _with_uncertainty(
    base: AreaStatistics, profile: AreaProfile, of: Summary, printed: Decimal, uncertainty: AreaUncertainty
) -> AreaStatistics:
    assumed = profile.requirement.record.readings_per_location
    mean = uncertainty.of_mean(of.variance, of.n, assumed)
    first = uncertainty.of_location(profile.surfaces[0].gauge_id, assumed)
    if mean is None:
        return base
    return replace(
        base,
        expanded_uncertainty=beside(mean.expanded, printed),
        coverage_factor=mean.factor,
        effective_degrees_of_freedom=mean.budget.effective_dof,
        budget=mean.lines(profile.places + 1),
        location_budget=() if first is None else first.lines(profile.places + 1),
    )


def flagged(profile: AreaProfile) -> tuple[tuple[LocationResult, ...], tuple[Finding, ...]]:
    """Return the locations' results with an outlier flagged, and the finding about it; nothing is ever removed."""
    results = tuple(location.result for location in profile.locations)
    known = [(index, loc.value) for index, loc in enumerate(profile.locations) if _counts(loc.value, loc.result)]
    values: list[Fraction] = [value for _, value in known if value is not None]
    if len(values) < LEAST_FOR_OUTLIER:
        return results, ()
    step = max(Quantity(one.step, one.unit).in_unit(profile.requirement.unit) for one in profile.surfaces)
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


def _counts(value: Fraction | None, result: LocationResult) -> bool:
    return value is not None and result.walk_out is None
