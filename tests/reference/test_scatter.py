"""Tests of scatter and chances of plans against another library and against printed examples."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from scipy import special, stats

from reportgen.audit.repeatability import LEVEL
from reportgen.metrology.distributions import (
    chi_square_tail,
    cosine_share,
    deviation_interval,
    t_probability,
    variance_ratio_tail,
)
from reportgen.metrology.exact import Root
from reportgen.metrology.sampling import chance_of_passing
from reportgen.metrology.uncertainty import Pooled, exceeds, homogeneity

GEAR = """
1.006 0.996 0.998 1.000 0.992 0.993 1.002 0.999 0.994 1.000
0.998 1.006 1.000 1.002 0.997 0.998 0.996 1.000 1.006 0.988
0.991 0.987 0.997 0.999 0.995 0.994 1.000 0.999 0.996 0.996
1.005 1.002 0.994 1.000 0.995 0.994 0.998 0.996 1.002 0.996
0.998 0.998 0.982 0.990 1.002 0.984 0.996 0.993 0.980 0.996
1.009 1.013 1.009 0.997 0.988 1.002 0.995 0.998 0.981 0.996
0.990 1.004 0.996 1.001 0.998 1.000 1.018 1.010 0.996 1.002
0.998 1.000 1.006 1.000 1.002 0.996 0.998 0.996 1.002 1.006
1.002 0.998 0.996 0.995 0.996 1.004 1.004 0.998 0.999 0.991
0.991 0.995 0.984 0.994 0.997 0.997 0.991 0.998 1.004 0.997
"""
"""Diameters of gears in ten batches: data set of the e-Handbook, 1.3.5.7 (data recalled, statistic agrees)."""


def pooled(values):
    exact = [Fraction(value) for value in values]
    mean = sum(exact) / len(exact)
    return Pooled(Root(sum((one - mean) ** 2 for one in exact) / (len(exact) - 1)), len(exact) - 1)


def test_equal_variances_of_the_handbooks_example():
    """It prints T = 20.78580 for 9 degrees of freedom, critical value 16.919: the variances differ."""
    batches = [line.split() for line in GEAR.split("\n") if line]
    statistic, chance = homogeneity([pooled(batch) for batch in batches])
    assert statistic == pytest.approx(20.78580, abs=1e-4)  # printed from single precision
    other = stats.bartlett(*[[float(value) for value in batch] for batch in batches])
    assert (statistic, chance) == pytest.approx((other.statistic, other.pvalue), rel=1e-9)


def test_equal_variances_of_groups_of_different_size_against_scipy():
    """What reports of different length give: the handbook's batches cut to 3, 4, … values."""
    batches = [line.split()[: 3 + number] for number, line in enumerate(GEAR.strip().split("\n")[:8])]
    found = homogeneity([pooled(batch) for batch in batches])
    other = stats.bartlett(*[[float(value) for value in batch] for batch in batches])
    assert found == pytest.approx((other.statistic, other.pvalue), rel=1e-9)


@pytest.mark.parametrize(("reports", "locations", "scatter"), [(2, 6, 0.3), (5, 3, 0.15), (20, 6, 0.1), (20, 2, 0.3)])
def test_honest_reports_of_rounded_readings_differ_no_more_often_than_the_level_says(reports, locations, scatter):
    """Two spots at each location, read to 0.1: simulated, fixed seed; the level is 5 %."""
    days = 400
    heights = np.random.default_rng(29).normal(2.5, scatter, (days, reports, locations, 2))
    variances = np.round(heights, 1).var(axis=-1, ddof=1).mean(axis=-1)
    told = [
        homogeneity([Pooled(Root(Fraction(float(one))), locations) for one in day], Fraction(1, 10))[1] < LEVEL
        for day in variances
    ]
    assert sum(told) / days <= 0.05 + 2 * (0.05 * 0.95 / days) ** 0.5


def test_one_report_of_three_times_the_scatter_is_mostly_found():
    """Ten reports of six locations, one read with three times the scatter: it must not vanish in the pooled value."""
    heights = np.random.default_rng(31).normal(0, 0.15, (200, 10, 6, 2)) * np.array([3, *[1] * 9])[:, None, None]
    variances = np.round(heights + 2.5, 1).var(axis=-1, ddof=1).mean(axis=-1)
    told = [homogeneity([Pooled(Root(Fraction(float(one))), 6) for one in day], Fraction(1, 10)) for day in variances]
    assert sum(chance < LEVEL for _, chance in told) / 200 > 0.7


@pytest.mark.parametrize("dof", [1, 2, 3, 4, 7, 30, 301, 2000])
@pytest.mark.parametrize("t", [-30.0, -2.5, -0.3, 0.0, 0.7, 1.96, 12.7])
def test_t_probability_against_scipy(t, dof):
    assert t_probability(t, dof) == pytest.approx(special.stdtr(dof, t), abs=1e-12)
    assert t_probability(t, None) == pytest.approx(special.ndtr(t), abs=1e-12)
    assert t_probability(t, 2001) == pytest.approx(special.stdtr(2001, t), abs=1e-4)


@pytest.mark.parametrize("power", [0, 1, 2, 5, 8, 97])
@pytest.mark.parametrize("sine", [-1, -0.6, 0, 0.3, 0.99, 1])
def test_cosine_share_against_the_beta_integral(sine, power):
    half = (power + 1) / 2
    assert cosine_share(sine, power) == pytest.approx(special.betainc(half, half, (1 + sine) / 2), abs=1e-12)


def test_tails_against_printed_tables():
    """Upper 5 % points of F and chi-square, as any table prints them; limits of a standard deviation by chi-square."""
    assert variance_ratio_tail(Fraction("4.10"), 2, 10) == pytest.approx(0.05, abs=1e-3)
    assert variance_ratio_tail(Fraction("2.98"), 10, 10) == pytest.approx(0.05, abs=1e-3)
    assert chi_square_tail(16.919, 9) == pytest.approx(0.05, abs=1e-5)
    low, high = deviation_interval(10)  # chi-square of 10: 3.247 and 20.483
    assert (low, high) == pytest.approx(((10 / 20.483) ** 0.5, (10 / 3.247) ** 0.5), rel=1e-4)


def test_a_scatter_exceeds_a_stated_one_beyond_the_printed_one_percent_point():
    """F(0.01; 10, 20) is printed as 3.37."""
    stated = Pooled(1, 20)
    assert not exceeds(Pooled(Root(Fraction("3.36")), 10), stated)
    assert exceeds(Pooled(Root(Fraction("3.38")), 10), stated)


@pytest.mark.parametrize("n", [0, 1, 3, 7, 30])
@pytest.mark.parametrize("low", [10, 20, 30])
def test_what_a_plan_can_miss_against_scipy(n, low):
    share = Fraction(low, 100)
    assert float(chance_of_passing(n, share)) == pytest.approx(stats.binom.pmf(0, n, low / 100), rel=1e-9)
    found = float(chance_of_passing(n, share, 110))
    assert found == pytest.approx(stats.hypergeom.pmf(0, 110, 110 * low // 100, n), rel=1e-9)


def test_three_locations_pass_an_area_of_which_a_fifth_is_low_every_second_time():
    assert chance_of_passing(3, Fraction(20, 100)) == Fraction(Decimal("0.512"))
