"""Charts of shifts: means of means, the moving average, the trend, comparisons; against published values."""

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from reportgen.shifts import (
    BOUND,
    LIMIT,
    WEIGHT,
    GroupComparison,
    chart,
    comparison,
    shift_means,
    step_seen,
    trend,
)
from tests.simulated_archives import shift_means as simulated


def test_a_shift_is_the_mean_of_its_areas_means():
    found = shift_means([("b", "A", 3.0), ("a", "A", 2.0), ("a", "A", 4.0), ("a", "B", 5.0)])
    assert [(one.name, one.mean, one.areas) for one in found] == [("a", 4.0, 2), ("b", 3.0, 1)]


def test_the_run_length_without_a_change_is_that_of_the_published_table():
    """Lucas and Saccucci, Technometrics 32 (1990): λ 0.2 and L 2.86 give 370 (from memory); here by Markov chain.

    Brook and Evans, Biometrika 59 (1972): the average is cut into cells, and the chain is solved.
    """
    cells = 201
    width = 2 * BOUND / cells
    middle = -BOUND + width * (np.arange(cells) + 0.5)
    reached = (middle[None, :] - (1 - WEIGHT) * middle[:, None]) / WEIGHT
    half = width / (2 * WEIGHT)
    moves = stats.norm.cdf(reached + half) - stats.norm.cdf(reached - half)
    lengths = np.linalg.solve(np.eye(cells) - moves, np.ones(cells))
    assert lengths[cells // 2] == pytest.approx(370, rel=0.01)
    assert pytest.approx(LIMIT * math.sqrt(WEIGHT / (2 - WEIGHT))) == BOUND


def test_the_chart_starts_by_itself_and_shows_a_step():
    random = np.random.default_rng(4)
    steady = chart(simulated(30, random))
    assert steady.levels[:2] == (None, None)
    assert steady.alarms == ()
    stepped = chart(simulated(40, random, step=0.5, after=25))
    assert stepped.alarms
    assert 25 <= stepped.alarms[0] <= 32
    assert chart([3.0] * 20).levels == (None,) * 20, "without a spread nothing is known"


def test_a_value_by_itself_counts_as_t_says():
    """Of two means 0 and 1 the third at 4: t = (4 - 0.5)/(0.7071·√1.5) = 4.0415 with one degree of freedom."""
    deviate = stats.norm.ppf(stats.t.cdf(4.0415, 1))
    assert chart([0.0, 1.0, 4.0]).levels[2] == pytest.approx(WEIGHT * deviate, rel=1e-4)
    assert chart([0.0, 1.0, -3.0]).levels[2] == pytest.approx(-WEIGHT * deviate, rel=1e-4)


@pytest.mark.parametrize("count", [20, 60])
def test_the_step_that_is_named_is_seen_in_half_of_the_cases_or_more(count):
    random = np.random.default_rng(count)
    after = np.arange(count) >= count // 2
    runs = [chart((random.normal(size=count) + step_seen(count) * after).tolist()).alarms for _ in range(200)]
    assert np.mean([any(at >= count // 2 for at in alarms) for alarms in runs]) > 0.42
    assert chart([1.0, 2.0] * 3).step is None


@pytest.mark.parametrize("count", [8, 12, 30])
@pytest.mark.parametrize("drift", [0.0, 0.6])
def test_kendalls_test_is_that_of_another_library(count, drift):
    means = simulated(count, np.random.default_rng(count), drift=drift)
    found, other = trend(means), stats.kendalltau(range(count), means, method="exact" if count <= 20 else "asymptotic")
    assert found.tau == pytest.approx(other.statistic)
    assert found.probability == pytest.approx(other.pvalue, rel=1e-9 if count <= 20 else 0.12, abs=0.003)


def test_kendalls_exact_probability_by_hand():
    """Of the 8! orders of eight shifts one rises throughout and one falls: 2 in 40,320."""
    found = trend([float(at) for at in range(8)])
    assert (found.tau, found.probability, found.slope) == (1.0, pytest.approx(2 / 40320), 7.0)
    assert found.there
    assert trend([1.0] * 8).probability == 1.0
    assert trend([1.0] * 7) is None


def test_a_comparison_is_welchs_of_another_library_with_whole_degrees_of_freedom():
    random = np.random.default_rng(7)
    one, other = random.normal(3.0, 0.1, 6).tolist(), random.normal(3.3, 0.3, 9).tolist()
    found = comparison(one, other)
    interval = stats.ttest_ind(other, one, equal_var=False).confidence_interval()
    assert found.difference == pytest.approx(np.mean(other) - np.mean(one))
    assert found.low <= interval.low < interval.high <= found.high
    assert found.high - found.low < 1.05 * (interval.high - interval.low)
    assert comparison(one[:3], other) is None
    assert comparison([1.0] * 4, [2.0] * 4) == GroupComparison(1.0, 1.0, 1.0, (4, 4))


def test_intervals_cover_what_they_say():
    random = np.random.default_rng(8)
    pairs = [(simulated(5, random), simulated(9, random)) for _ in range(600)]
    covered = [found.low <= 0 <= found.high for found in itertools.starmap(comparison, pairs)]
    assert 0.92 < np.mean(covered) < 0.985
