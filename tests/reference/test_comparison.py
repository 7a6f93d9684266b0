"""Normalized errors against a published example, and how often honest readings are named against a simulation."""

from fractions import Fraction

import numpy as np
import pytest
from scipy.stats import binom

from reportgen.metrology.comparison import (
    COPY_LEVEL,
    chance_of_agreeing,
    chance_of_as_many,
    chance_of_repeating,
    difference_uncertainty,
    error_of_the_other,
    mean_difference,
    normalized_error,
)
from reportgen.metrology.uncertainty import Component, Pooled
from tests.reference.test_scatter import GEAR

PRINTED = (("1.006", 0.393), ("0.996", -0.262), ("0.998", -0.131), ("1.000", 0.000))
"""First rows of the example of the command ISO 13528 EN SCORE, manual of a public statistics program of NIST: the
first batch of the gear data against 1, uncertainties of twice the deviation of the batch and of all batches (read)."""


@pytest.mark.parametrize(("diameter", "printed"), PRINTED)
def test_the_published_example(diameter, printed):
    batches = [[float(one) for one in line.split()] for line in GEAR.split("\n") if line]
    batch, everything = (2 * float(np.std(one, ddof=1)) for one in (batches[0], np.concatenate(batches)))
    assert round(batch, 3) == 0.009  # as printed
    found = normalized_error(Fraction(diameter) - 1, Fraction(batch), Fraction(everything))
    assert round(float(found), 3) == printed


def _readings(rng, days, locations, bias=0.0):
    """Return differences of two sides on honest days: each with spots of its own, of scatter 1, at every location."""
    surface = rng.normal(30, 3, (days, locations))
    ours, theirs = (surface + rng.normal(0, 1, (2, days, locations)).mean(axis=0) for _ in range(2))
    return theirs + bias - ours


def test_one_honest_location_in_twenty_is_apart():
    """U of each side: 1.96 times the scatter of the mean of two spots, as both know it."""
    differences = _readings(np.random.default_rng(13), 4000, 5)
    own = Fraction("1.96") * Fraction(1 / np.sqrt(2))
    apart = np.abs(differences) > float(difference_uncertainty(own, own))
    assert apart.mean() == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / apart.size))


@pytest.mark.parametrize("locations", [2, 3, 5, 10])
def test_one_honest_mean_in_twenty_is_biased_where_nothing_is_on_record_of_the_gauges(locations):
    differences = _readings(np.random.default_rng(17), 2000, locations)
    named = 0
    for day in differences:
        mean, budget = mean_difference([Fraction(float(one)) for one in day], (), "um")
        named += abs(mean) > budget.expanded
    assert named / len(differences) == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / len(differences)))


def test_the_other_s_error_is_taken_as_the_guide_says():
    """JCGM 100, 4.3.3 and 4.3.7: a stated multiple of a standard uncertainty, and limits as a half-width over √3."""
    (stated,) = error_of_the_other("um", stated=Fraction(6), factor=3)
    assert float(stated.standard) == 2.0
    (limits,) = error_of_the_other("um", accuracy=Fraction(5))
    assert float(limits.standard) == pytest.approx(5 / np.sqrt(3))
    assert stated.systematic
    assert limits.systematic
    assert error_of_the_other("um") == ()


def test_fewer_are_biased_where_both_gauges_are_off_within_their_accuracy():
    rng = np.random.default_rng(19)
    common = [Component(name, Fraction(2), "rectangular", systematic=True) for name in ("own", "other")]
    shift = rng.uniform(-2, 2, 1500) - rng.uniform(-2, 2, 1500)
    named = 0
    for day in _readings(rng, 1500, 5, shift[:, None]):
        mean, budget = mean_difference([Fraction(float(one)) for one in day], common, "um")
        named += abs(mean) > budget.expanded
    assert named / 1500 <= 0.05


@pytest.mark.parametrize(("step", "averaged"), [(0.5, 1), (1.0, 1), (2.0, 1), (1.0, 2)])
def test_how_often_two_readings_agree(step, averaged):
    rng, n = np.random.default_rng(23), 400_000
    place = rng.uniform(0, 50, n)
    first, second = (place + rng.normal(0, 1, (averaged, n)).mean(axis=0) for _ in range(2))
    agree = (np.round(first / step) == np.round(second / step)).mean()
    # of so many degrees of freedom that the lower end of the interval is the scatter itself
    assert chance_of_agreeing(Pooled(1, 10**7), Fraction(step), averaged) == pytest.approx(agree, abs=0.004)


def test_few_spots_that_lie_close_accuse_nobody():
    """Ten honest pairs, scatter known from five spots: named in no more than about one of 100 days, copies always."""
    rng, days = np.random.default_rng(29), 20_000
    place = rng.uniform(0, 50, (days, 10))
    ours, theirs = (np.round(place + rng.normal(0, 0.5, place.shape)) for _ in range(2))
    scatter = np.maximum(rng.chisquare(4, days) / 4, 1e-9) ** 0.5 * 0.5
    one = [chance_of_agreeing(Pooled(Fraction(float(each)), 4), 1) for each in scatter]
    agree = (ours == theirs).sum(axis=1)
    named = [
        chance_of_as_many([chance] * 10, int(equal)) < COPY_LEVEL for chance, equal in zip(one, agree, strict=True)
    ]
    assert sum(named) / days < COPY_LEVEL


def test_how_often_another_surface_gives_the_same_series():
    """Simulated: of readings in steps of a tenth of the scatter's fourfold, never more often than is said."""
    rng, surfaces, n = np.random.default_rng(31), 4000, 2
    series = np.round(rng.normal(0, 1, (surfaces, n)) / 0.4)
    own, other = series[: surfaces // 2], series[surfaces // 2 :]
    agree = float((own == other).all(axis=1).mean())
    told = [
        chance_of_repeating([int(one) for one in row], [[int(each) for each in more] for more in series[:60]])
        for row in own[:200]
    ]
    assert agree < min(told)


def test_as_many_as_of_a_binomial():
    for n, k, p in ((3, 3, 0.19), (10, 9, 0.3), (6, 0, 0.5), (12, 5, 0.41)):
        assert chance_of_as_many([p] * n, k) == pytest.approx(binom.sf(k - 1, n, p), rel=1e-12)
