"""Uncertainty budgets: published examples and the uncertainties package."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from scipy import integrate, stats
from uncertainties import ufloat

from reportgen.metrology.conformity import Limits, probability_of_conformity
from reportgen.metrology.exact import number_of
from reportgen.metrology.uncertainty import (
    Component,
    Gauge,
    Pooled,
    area_budget,
    budget,
    effective_dof,
    gauge_components,
    location_budget,
    pooled_standard_deviation,
    printed_places,
    printed_uncertainty,
    with_share,
)
from reportgen.units import Quantity, rounded
from tests.reference.published import published


@pytest.mark.parametrize("row", published("budgets").rows, ids=lambda row: row["name"])
def test_published_budget(row):
    parts = [Component(text, Decimal(text)) for text in row["components"].split()]
    found = budget(parts, "mm", coverage_factor=int(row["k"]))
    assert rounded(found.combined, int(row["digits_combined"])) == Decimal(row["combined"])
    assert rounded(found.expanded, int(row["digits_expanded"])) == Decimal(row["expanded"])


def test_a_share_of_the_reading_and_one_of_the_range_as_in_the_guide():
    """JCGM 100:2008, 4.3.7, example 2, from memory: 0.928571 V on the 1 V range, ±(14e-6 of it + 2e-6 of the range).

    Printed: 15 µV, u² = 75 µV², u = 8.7 µV, and with 12 µV of the readings' mean 15 µV.
    """
    half = with_share(Decimal(2), Decimal("14e-6"), Decimal(928571))  # in µV
    assert rounded(half, 0) == 15
    limits = Component("voltmeter", rounded(half, 0), "rectangular")
    assert limits.variance == 75
    assert rounded(limits.standard, 1) == Decimal("8.7")
    assert rounded(budget([limits, Component("mean", 12)], "uV").combined, 0) == 15


@pytest.mark.parametrize("row", published("half-widths").rows, ids=lambda row: row["distribution"])
def test_standard_uncertainty_from_limits(row):
    found = Component("limits", Decimal(row["half_width"]), row["distribution"]).standard
    assert float(found) == pytest.approx(float(row["standard"]), abs=float(published("half-widths").tolerance))


def components(row, times=1):
    """Components as ``standard uncertainty/degrees of freedom``, these multiplied where asked for."""
    pairs = [text.split("/") for text in row["components"].split()]
    return [Component(value, Decimal(value), dof=int(dof) * times) for value, dof in pairs]


@pytest.mark.parametrize("row", published("end-gauge").rows)
def test_end_gauge_example(row):
    """From its six components to the expanded uncertainty, none of the results put in."""
    found = budget(components(row), "nm", confidence=int(row["confidence"]))
    tolerance = float(published("end-gauge").tolerance)
    assert float(found.combined) == pytest.approx(float(row["combined"]), abs=tolerance)
    assert found.effective_dof == int(row["effective_dof"])
    spread = tolerance * float(found.coverage_factor)  # the example expands its rounded 32 nm
    assert float(found.expanded) == pytest.approx(float(row["expanded"]), abs=spread)


@pytest.mark.parametrize("row", published("product-of-three").rows)
def test_effective_degrees_of_freedom_before_they_are_rounded_down(row):
    """A thousand times the degrees of freedom give a thousand times the effective ones: three more digits."""
    found = effective_dof(components(row, times=1000))
    tolerance = float(published("product-of-three").tolerance)
    assert found is not None
    assert found / 1000 == pytest.approx(float(row["effective_dof"]), abs=tolerance)
    assert rounded(budget(components(row), "%").combined, 2) == Decimal(row["combined"])


def test_combined_uncertainty_against_the_uncertainties_package():
    """A mean of two readings with a common gauge error: the package propagates it through the formula itself."""
    gauge = Gauge("mil", Decimal("0.2"), resolution=Decimal("0.1"), film=Decimal("0.08"), shim_shift=Decimal("0.1"))
    ours = location_budget(gauge, Pooled(Fraction("0.15"), 12), 2)
    accuracy, resolution = ufloat(0, 0.2 / math.sqrt(3)), ufloat(0, 0.05 / math.sqrt(3))
    film, shim = ufloat(0, 0.08 / math.sqrt(3)), ufloat(0, 0.1 / math.sqrt(3))
    first, second = ufloat(2.4, 0.15), ufloat(2.7, 0.15)
    result = (first + second) / 2 + accuracy + resolution + film + shim
    assert float(ours.combined) == pytest.approx(result.s, rel=1e-12)


def test_area_mean_against_the_uncertainties_package():
    """Systematic parts stay whole in the mean of nine locations, the scatter is divided by three."""
    gauge = Gauge("um", calibration=5, calibration_k=2, film=2)
    ours = area_budget(gauge, Decimal("6.6"), 9)
    accuracy, film = ufloat(0, 5 / 2), ufloat(0, 2 / math.sqrt(3))
    locations = [ufloat(60, 6.6) + accuracy + film for _ in range(9)]
    assert float(ours.combined) == pytest.approx((sum(locations) / 9).s, rel=1e-12)


def test_welch_satterthwaite_by_scipy():
    """With equal variances of the mean of two samples the formula is the one of Welch's t test."""
    one, other = [2.1, 2.4, 2.6, 2.9], [2.2, 2.8, 2.1, 3.1, 2.0, 2.7]
    parts = [
        Component("one", Fraction(stats.sem(one)), dof=len(one) - 1),
        Component("other", Fraction(stats.sem(other)), dof=len(other) - 1),
    ]
    assert effective_dof(parts) == math.floor(stats.ttest_ind(one, other, equal_var=False).df)


def test_pooled_standard_deviation_is_the_residual_of_an_analysis_of_variance():
    groups = [[2.1, 2.4], [2.9, 2.7, 2.6], [2.2, 2.5]]
    pooled = pooled_standard_deviation([[Decimal(str(value)) for value in group] for group in groups])
    assert pooled is not None
    within = sum(stats.tvar(group) * (len(group) - 1) for group in groups)
    assert pooled.dof == 4
    assert float(number_of(pooled.standard_deviation)) == pytest.approx(math.sqrt(within / 4), rel=1e-12)


def test_a_gauge_error_is_common_to_all_locations():
    """JCGM 100 5.2: a common error is fully correlated; it does not shrink with the number of locations."""
    gauge = Gauge("mil", Decimal("0.2"))
    assert all(part.systematic for part in gauge_components(gauge))
    many = area_budget(gauge, Decimal("0.15"), 10_000)
    assert float(many.combined) == pytest.approx(0.2 / math.sqrt(3), rel=1e-3)


def test_printing_of_an_uncertainty():
    """JCGM 100 7.2.6: 10.47 mOhm may be rounded up to 11, 28.05 kHz to 28 (recalled)."""
    assert printed_uncertainty(Decimal("28.05")) == Decimal(28)
    assert printed_uncertainty(Decimal("10.47")) == Decimal(10)  # rounding to 10 takes 4.5 % off: EA-4/02 allows it
    assert printed_uncertainty(Decimal("10.6"), -1) == Decimal("2E+1")  # to 10 would take 5.7 % off
    assert printed_places(Decimal("0.0334")) == 3


RECTANGLE = math.sqrt(3)
"""Half-width of a rectangular part of standard uncertainty 1 (JCGM 100:2008, 4.3.7)."""


def _of_a_rectangle_and_a_normal(share):
    """U of a rectangular part of 1 beside a normal one of ``share``, and the distribution function of their sum."""
    parts = [Component("gauge", 1, "rectangular", divisor=1), Component("rest", Fraction(share))]

    def below(value):
        if not share:
            return min(1.0, max(0.0, (value + RECTANGLE) / (2 * RECTANGLE)))
        return integrate.quad(lambda t: stats.norm.cdf((value - t) / share), -RECTANGLE, RECTANGLE)[0] / (2 * RECTANGLE)

    return float(budget(parts, "um").expanded), below


@pytest.mark.parametrize("share", [0, 0.1, 0.2, 0.3, 0.5, 0.7, 1, 1.5, 2, 3, 5])
def test_u_covers_at_least_95_per_cent_whatever_a_rectangular_part_outweighs(share):
    """The convolution, by quadrature: never less than 95 %, and beyond neither end more than 2.5 %.

    EA-4/02 S9 (from memory) takes k = 1.65 where one rectangular part outweighs all others: 0.95·√3 = 1.645. We keep
    the k of t, so that U does not jump where it outweighs them no more.
    """
    expanded, below = _of_a_rectangle_and_a_normal(share)
    assert below(expanded) - below(-expanded) >= 0.95 - 1e-6
    assert below(-expanded) <= 0.025 + 1e-6
    if not share:
        assert below(1.645) - below(-1.645) == pytest.approx(0.95, abs=1e-3)
        assert expanded > RECTANGLE > 1.645


def test_the_probability_of_conformity_is_off_by_no_more_than_the_page_says():
    """Farthest from a rectangle at 0.80 standard uncertainties from the limit: 0.789 against 0.732."""
    limit = Limits(Quantity(Decimal(0), "um"), None)
    off = []
    for hundredths in range(-400, 401):
        value = Fraction(hundredths, 100)
        ours = probability_of_conformity(Quantity(value, "um"), Quantity(Fraction(1), "um"), limit)
        off.append(abs(float(ours) - min(1.0, max(0.0, (float(value) + RECTANGLE) / (2 * RECTANGLE)))))
    assert max(off) == pytest.approx(0.057, abs=5e-4)
