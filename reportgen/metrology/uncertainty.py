"""Uncertainty budgets after the GUM: components, their combination, and the expanded uncertainty as it is printed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal

from reportgen.errors import RangeError
from reportgen.metrology.distributions import Percent, chi_square_tail, t_factor, variance_ratio_tail
from reportgen.metrology.exact import (
    Exact,
    Magnitude,
    Root,
    decimal_of,
    exact_square,
    exact_sums,
    number_of,
    square_root,
)
from reportgen.units import rounded

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from decimal import Decimal

Distribution = Literal["normal", "rectangular", "triangular", "u-shaped"]

SIGNIFICANT: Final = 2
"""Digits of an expanded uncertainty that are printed at most."""
LARGEST_LOSS: Final = Fraction(5, 100)
"""Rounding may lower an uncertainty by no more than this share of it; otherwise it is rounded up."""
SCATTER_LEVEL: Final = 0.01
"""Level of the test of a day's scatter against a stated one; our choice: one honest area in a hundred is flagged."""
DEFAULT_DIVISORS: Final[dict[Distribution, Root]] = {
    "normal": Root.of(1),
    "rectangular": Root.of(3),
    "triangular": Root.of(6),
    "u-shaped": Root.of(2),
}


@dataclass(frozen=True, slots=True)
class Component:
    """One source of uncertainty: ``value`` (half-width, or the certificate's U) over ``divisor`` times ``sensitivity``.

    ``dof`` None means infinitely many degrees of freedom; a ``systematic`` component is common to all readings and
    does not average out; ``divisor`` None takes the one of the distribution (a certificate's U needs its k here).
    Roots keep their exact squares, so that variances and degrees of freedom are exact. ``unit`` is that of ``value``
    where it is not the unit of the result.
    """

    name: str
    value: Magnitude
    distribution: Distribution = "normal"
    divisor: Magnitude | None = None
    sensitivity: Exact = 1
    dof: int | None = None
    systematic: bool = False
    source: str = ""
    unit: str = ""

    def __post_init__(self) -> None:
        if self.number < 0 or self.used_divisor <= 0 or (self.dof is not None and self.dof < 1):
            raise RangeError(f"{self.name}: value must be 0 or more, divisor above 0, degrees of freedom 1 or more")

    @property
    def number(self) -> Fraction:
        """The value as a number."""
        return number_of(self.value)

    @property
    def used_divisor(self) -> Fraction:
        """Divisor that turns ``value`` into a standard uncertainty."""
        return number_of(self._divisor)

    @property
    def standard(self) -> Fraction:
        """Standard uncertainty of the input, before sensitivity."""
        return square_root(self._square)

    @property
    def contribution(self) -> Fraction:
        """Contribution to the result's standard uncertainty, never negative."""
        return square_root(self.variance)

    @property
    def variance(self) -> Fraction:
        """Contribution to the result's variance, exactly."""
        return self._square if self.sensitivity == 1 else Fraction(self.sensitivity) ** 2 * self._square

    @property
    def _divisor(self) -> Magnitude:
        return DEFAULT_DIVISORS[self.distribution] if self.divisor is None else self.divisor

    @property
    def _square(self) -> Fraction:
        return exact_square(self.value) / exact_square(self._divisor)


@dataclass(frozen=True, slots=True)
class Budget:
    """Combined and expanded uncertainty with everything they came from, in ``unit``."""

    unit: str
    components: tuple[Component, ...]
    combined: Fraction
    effective_dof: int | None
    confidence: Percent
    coverage_factor: Fraction
    expanded: Fraction

    def share(self, component: Component) -> Fraction:
        """Share of the combined variance that a component brings, 0 to 1."""
        return component.variance / _total(self.components) if self.combined else Fraction(0)


@dataclass(frozen=True, slots=True)
class Pooled:
    """Standard deviation pooled over groups, with its degrees of freedom, and what it is the scatter of.

    Scatter of spots averages out over the spots of a location; that of whole locations is what one of them has.
    """

    standard_deviation: Magnitude
    dof: int
    of: Literal["repeatability", "scatter of locations"] = "repeatability"
    source: str = "type-a"


@dataclass(frozen=True, slots=True)
class Gauge:
    """What is known of a thickness gauge and of the tape, all in ``unit``; None where not known.

    ``accuracy`` is the limit of error, ``calibration`` the certificate's U with its coverage factor ``calibration_k``.
    What of both is a share of the reading [1] is in ``accuracy_share`` and ``calibration_share``; `at_reading` adds it.
    ``shim_shift`` is the largest deviation in the shim checks of the shift, ``shim`` the shim's own limit of error;
    ``rest_shift`` is the largest deviation at rest where no check was made on a shim.
    """

    unit: str
    accuracy: Exact | None = None
    calibration: Exact | None = None
    calibration_k: Exact = 2
    resolution: Exact | None = None
    film: Exact | None = None
    shim_shift: Exact | None = None
    shim: Exact | None = None
    rest_shift: Exact | None = None
    accuracy_share: Exact | None = None
    calibration_share: Exact | None = None
    read: bool = False
    """Whether a share of the reading is in ``accuracy``."""

    @property
    def of_reading(self) -> bool:
        """Whether its errors depend on what it shows."""
        return self.accuracy_share is not None or self.calibration_share is not None

    def at_reading(self, reading: Exact) -> Gauge:
        """Return the gauge with its errors as they are where it measures ``reading`` [unit], the film included."""
        accuracy = with_share(self.accuracy, self.accuracy_share, reading)
        calibration = with_share(self.calibration, self.calibration_share, reading)
        return replace(
            self,
            accuracy=accuracy,
            calibration=calibration,
            accuracy_share=None,
            calibration_share=None,
            read=self.accuracy_share is not None,
        )


@dataclass(frozen=True, slots=True)
class Errors:
    """What is on record of the errors of an instrument, in ``unit``; None where not known.

    ``accuracy`` is its limit of error, ``uncertainty`` the U of a certificate with its ``coverage_factor``: how well
    the error found by the calibration is known, not how large it is.
    """

    unit: str
    accuracy: Exact | None = None
    uncertainty: Exact | None = None
    coverage_factor: Exact | None = None
    resolution: Exact | None = None

    @property
    def known(self) -> bool:
        """Whether its limits of error are on record: nothing that it shows is corrected, so nothing else bounds it."""
        return self.accuracy is not None


def with_share(fixed: Exact | None, share: Exact | None, reading: Exact) -> Fraction | None:
    """Limit of error ±(a + b·x), or U stated as that, at a reading x: both parts add up, as they bound one error.

    Parameters:
        fixed : exact number [unit of the reading] or None, the part a.
        share : exact number [1] or None, the part b.
        reading : exact number [unit].
    Returns:
        Limit in the unit of the reading, exactly; None where neither part is stated.
    Source: jcgm-100
    Examples:
        >>> with_share(1, Fraction(3, 100), 110), with_share(None, None, 110)
        (Fraction(43, 10), None)
    """
    if fixed is None and share is None:
        return None
    return Fraction(fixed or 0) + Fraction(share or 0) * abs(Fraction(reading))


def instrument_components(name: str, errors: Errors, sensitivity: Exact = 1) -> tuple[Component, ...]:
    """Components that an instrument brings to a result: accuracy, calibration, resolution.

    Parameters:
        name : str, the quantity that it shows.
        errors : Errors; what is not on record brings nothing.
        sensitivity : exact number [unit of the result per unit of the errors].
    Returns:
        Components. Limits of error are rectangular, a certificate's U is normal and divided by its k. Where both are
        on record both enter: what the instrument shows is not corrected, so it is off by up to its limits of error,
        and the certificate knows them no better than U. Resolution is half the last digit, rectangular.
    Raises:
        RangeError: a negative entry.
    Valid range: errors of different instruments are independent.
    Accuracy: as given.
    Source: jcgm-100
    Examples:
        >>> [part.source for part in instrument_components("humidity", Errors("%", 3, resolution=1))]
        ['limits-of-error', 'last-digit']
    """
    half = None if errors.resolution is None else Fraction(errors.resolution) / 2
    rows: tuple[tuple[Exact | None, Distribution, Exact | None, str], ...] = (
        (errors.accuracy, "rectangular", None, "limits-of-error"),
        (errors.uncertainty, "normal", errors.coverage_factor, "calibration-certificate"),
        (half, "rectangular", None, "last-digit"),
    )
    return tuple(
        Component(name, value, distribution, divisor, sensitivity, source=source, unit=errors.unit)
        for value, distribution, divisor, source in rows
        if value is not None
    )


def budget(
    components: Sequence[Component], unit: str, *, confidence: Percent = 95, coverage_factor: Exact | None = None
) -> Budget:
    """Combine independent components by the law of propagation and expand the result.

    Parameters:
        components : sequence of Component [all in unit after sensitivity], at least 1.
        unit : str, canonical unit of the result.
        confidence : number [%], for the coverage factor from t.
        coverage_factor : number [1] or None; a fixed k instead of the one from t.
    Returns:
        Budget: combined standard uncertainty, effective degrees of freedom (rounded down), k, expanded.
    Raises:
        RangeError: no components.
    Valid range: uncorrelated inputs, model linear over their uncertainties.
    Accuracy: 34 digits before the coverage factor; against the uncertainties package and published budgets.
    Source: jcgm-100
    Examples:
        >>> parts = [Component(str(u), Fraction(u)) for u in ("2.5", "0.3", "5.8", "0.7")]
        >>> round(float(budget(parts, "mm").combined), 2)
        6.36
    """
    if not components:
        raise RangeError("an uncertainty budget needs at least 1 component")
    combined = square_root(_total(components))
    dof = effective_dof(components)
    factor = t_factor(dof, confidence) if coverage_factor is None else Fraction(coverage_factor)
    return Budget(unit, tuple(components), combined, dof, confidence, factor, factor * combined)


def _total(components: Sequence[Component]) -> Fraction:
    """Combined variance, exactly."""
    return sum((component.variance for component in components), Fraction(0))


def effective_dof(components: Sequence[Component]) -> int | None:
    """Effective degrees of freedom by Welch-Satterthwaite, rounded down.

    Parameters:
        components : sequence of Component.
    Returns:
        Degrees of freedom [1], 1 or more, or None for infinitely many.
    Valid range: independent components.
    Accuracy: exact up to the rounding down, which JCGM 100 G.4.1 allows: variances are rational although their
        roots are not, so a whole number is never lost to the rounding of √3.
    Source: jcgm-100
    Examples:
        >>> effective_dof([Component("a", 1, dof=4), Component("b", 1)])
        16
        >>> effective_dof([Component("a", 1, dof=4), Component("b", 3, "rectangular")])
        64
    """
    below = sum((c.variance**2 / c.dof for c in components if c.dof is not None), Fraction(0))
    return max(1, int(_total(components) ** 2 / below)) if below else None


def pooled_standard_deviation(groups: Iterable[Sequence[Exact]]) -> Pooled | None:
    """Repeatability pooled over groups (spots of a location): √(Σ within-group squares / Σ(n - 1)).

    Parameters:
        groups : iterable of sequences of exact numbers [one unit]; groups of 1 carry no information.
    Returns:
        Pooled standard deviation, as the root of an exact variance, and degrees of freedom; None where no group has
        2 values.
    Valid range: equal variance within groups.
    Source: jcgm-100
    Examples:
        >>> pooled_standard_deviation([[1, 2], [3, 3], [9]]).dof
        2
    """
    within, dof = Fraction(0), 0
    for group in groups:
        total, squares, n = exact_sums(group)
        if n > 1:
            within += squares - total * total / n
            dof += n - 1
    return Pooled(Root(within / dof), dof) if dof else None


def exceeds(own: Pooled, stated: Pooled) -> bool:
    """Whether a scatter is greater than a stated one by more than chance explains: F test, one-sided, at 1 %.

    Parameters:
        own : Pooled.
        stated : Pooled in the same unit, its standard deviation above 0.
    Returns:
        True where the ratio of the variances is above the critical value of F.
    Valid range: independent values from normal populations.
    Accuracy: as scipy.special.fdtrc.
    Source: f-test
    Examples:
        >>> exceeds(Pooled(3, 10), Pooled(1, 100)), exceeds(Pooled(Fraction("1.2"), 10), Pooled(1, 100))
        (True, False)
    """
    ratio = exact_square(own.standard_deviation) / exact_square(stated.standard_deviation)
    return ratio > 1 and variance_ratio_tail(ratio, own.dof, stated.dof) < SCATTER_LEVEL


def homogeneity(groups: Sequence[Pooled], step: Exact = 0) -> tuple[float, float]:
    """Bartlett's test of equal variances.

    Rounding hides a small scatter, down to none at all: the variance of rounding to ``step``, step²/12, is added to
    each variance, so that a few spots that read alike prove nothing.

    Parameters:
        groups : sequence of Pooled [one unit], at least 2.
        step : exact number [the same unit], 0 or more; the step to which the readings are rounded.
    Returns:
        Statistic [1], and the probability of one as large or larger where the variances are equal [1].
    Raises:
        RangeError: fewer than 2 groups.
    Valid range: normal populations, to whose normality the test is sensitive.
    Accuracy: double precision, against scipy.stats.bartlett and the printed example of the handbook.
    Source: bartlett
    Examples:
        >>> homogeneity([Pooled(1, 9), Pooled(1, 9)])
        (0.0, 1.0)
    """
    if len(groups) < 2:
        raise RangeError(f"a test of equal variances needs at least 2 groups, got {len(groups)}")
    rounding = Fraction(step) ** 2 / 12
    variances = [float(exact_square(group.standard_deviation) + rounding) for group in groups]
    dofs = [group.dof for group in groups]
    total = sum(dofs)
    mean = math.fsum(dof * variance for dof, variance in zip(dofs, variances, strict=True)) / total
    if not mean:
        return 0.0, 1.0
    if not all(variances):
        return math.inf, 0.0
    logs = math.fsum(dof * math.log(mean / variance) for dof, variance in zip(dofs, variances, strict=True))
    factor = 1 + (math.fsum(1 / dof for dof in dofs) - 1 / total) / (3 * (len(dofs) - 1))
    statistic = max(0.0, logs / factor)
    return statistic, chi_square_tail(statistic, len(dofs) - 1)


def gauge_components(gauge: Gauge) -> tuple[Component, ...]:
    """Components common to all readings of a shift: accuracy, calibration, resolution, film, shim.

    Parameters:
        gauge : Gauge.
    Returns:
        Components, all systematic: none of them averages out over locations.
    Raises:
        RangeError: a negative entry.
    Valid range: readings are not corrected for the errors that a certificate lists. Where both are stated, the limit
        of error (rectangular) and the certificate's U over k (normal) both enter: the one bounds the gauge's error, the
        other says how well its maker or laboratory knew it. A U alone does not say how
        large the error is.
        Resolution is kept whole on purpose: readings of nearly equal heights round the same way. The shim's own error
        stands beside what the shim checks showed, which is known no better than the shim.
    Accuracy: as given.
    Source: gauge-budget
    Examples:
        >>> [part.name for part in gauge_components(Gauge("mil", Fraction(1, 5), resolution=Fraction(1, 10)))]
        ['gauge accuracy', 'gauge resolution']
    """
    half_resolution = None if gauge.resolution is None else Fraction(gauge.resolution) / 2
    parts = [
        Component(name, value, "rectangular", systematic=True, source=source)
        for name, value, source in (
            ("gauge accuracy", gauge.accuracy, "accuracy-of-reading" if gauge.read else "stated-accuracy"),
            ("gauge resolution", half_resolution, "last-digit"),
            ("film thickness", gauge.film, "iso-8503-5"),
            ("shim check", gauge.shim_shift, "shim-checks"),
            ("check at rest", gauge.rest_shift, "rest-checks"),
            ("shim", gauge.shim, "shim-certificate"),
        )
        if value is not None
    ]
    if gauge.calibration is not None:
        source, divisor = "calibration-certificate", gauge.calibration_k
        parts.append(Component("calibration", gauge.calibration, divisor=divisor, systematic=True, source=source))
    return tuple(parts)


def location_budget(gauge: Gauge, repeatability: Pooled | None, spots: int) -> Budget:
    """Budget of one location: the gauge's common part and the repeatability of its spots.

    Parameters:
        gauge : Gauge.
        repeatability : Pooled over the spots of comparable locations, or stated beforehand; or the scatter of locations
            of one spot each, which holds it; None leaves it out.
        spots : int [1], spots averaged at this location, 1 or more.
    Returns:
        Budget in the gauge's unit.
    Raises:
        RangeError: spots below 1.
    Valid range: spots taken independently.
    Accuracy: as budget.
    Source: gauge-budget
    Examples:
        >>> gauge = Gauge("mil", Fraction("0.2"), resolution=Fraction("0.1"), film=Fraction("0.08"))
        >>> round(float(location_budget(gauge, Pooled(Fraction("0.15"), 40), 2).combined), 3)
        0.166
    """
    if spots < 1:
        raise RangeError(f"a location needs at least 1 spot, got {spots}")
    parts = list(gauge_components(gauge))
    if repeatability is not None:
        deviation, averaged = repeatability.standard_deviation, spots if repeatability.of == "repeatability" else 1
        parts.append(
            Component(
                repeatability.of, deviation, divisor=Root.of(averaged), dof=repeatability.dof,
                source=repeatability.source,
            )
        )  # fmt: skip
    return budget(parts, gauge.unit)


def area_budget(gauge: Gauge, deviation: Magnitude, locations: int) -> Budget:
    """Budget of an area's mean: the gauge's common part whole, the scatter of the locations over √n.

    Parameters:
        gauge : Gauge.
        deviation : standard deviation of the location values [gauge's unit].
        locations : int [1], 2 or more.
    Returns:
        Budget in the gauge's unit.
    Raises:
        RangeError: locations below 2.
    Valid range: locations chosen independently; the mean of one location has the budget of that location.
    Accuracy: as budget.
    Source: gauge-budget
    Examples:
        >>> gauge = Gauge("um", 5)
        >>> area_budget(gauge, 6, 9).effective_dof
        76
    """
    if locations < 2:
        raise RangeError(f"a mean of {locations} locations has no scatter")
    scatter = Component(
        "scatter of locations", deviation, divisor=Root.of(locations), dof=locations - 1, source="type-a"
    )
    return budget((*gauge_components(gauge), scatter), gauge.unit)


def printed_places(expanded: Exact) -> int:
    """Decimals at which an expanded uncertainty shows two significant digits; negative for tens and above.

    Parameters:
        expanded : exact number [any unit], above 0.
    Returns:
        Decimals.
    Raises:
        RangeError: not above 0.
    Valid range: all positive.
    Source: ea-4-02
    Examples:
        >>> printed_places(Fraction("0.334")), printed_places(Fraction("0.0996")), printed_places(12)
        (2, 2, 0)
    """
    if expanded <= 0:
        raise RangeError("an uncertainty of zero has no significant digit")
    order = decimal_of(expanded).adjusted()
    places = SIGNIFICANT - 1 - order
    return places - 1 if rounded(Fraction(expanded), places, "half-up").adjusted() > order else places


def printed_uncertainty(expanded: Exact, places: int | None = None) -> Decimal:
    """Expanded uncertainty as printed: at most two significant digits, rounded up where rounding loses over 5 %.

    Parameters:
        expanded : exact number [any unit], 0 or more.
        places : int or None; decimals of the value beside it, where those are fixed already.
    Returns:
        Decimal in the same unit; never 0 for an uncertainty above 0.
    Raises:
        RangeError: negative.
    Source: ea-4-02
    Examples:
        >>> printed_uncertainty(Fraction("0.334")), printed_uncertainty(Fraction("0.334"), 1)
        (Decimal('0.33'), Decimal('0.4'))
    """
    if expanded < 0:
        raise RangeError("an uncertainty is never negative")
    exact = Fraction(expanded)
    if not exact:
        return rounded(0, places or 0)
    digits = printed_places(exact) if places is None else places
    nearest = rounded(exact, digits, "half-up")
    if exact - Fraction(nearest) > LARGEST_LOSS * exact:
        nearest = rounded(Fraction(nearest) + Fraction(10) ** -digits, digits)
    return nearest
