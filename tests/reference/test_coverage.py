"""Do intervals and probabilities hold what they say? Simulated from known truth, seed fixed, with numpy alone.

Steel of known height is read by a gauge of known error through our formulas: how often does an interval hold the truth,
and of the locations to which a probability is given, how many conform?
"""

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from reportgen.metrology.conformity import Limits, probability_of_conformity
from reportgen.metrology.exact import Root
from reportgen.metrology.statistics import Summary, tolerance_interval
from reportgen.metrology.uncertainty import Gauge, Pooled, area_budget, location_budget
from reportgen.units import Quantity

TRIALS = 20_000
STEP, FILM, HEIGHT = 10, 0.08, 2.75
"""Steps of the dial to 1 mil; half-width of the film's thickness; height of the steel, in mil."""


def read(rng, accuracy, between, within, locations, spots, height=HEIGHT):
    """Truth of each location, and readings of its spots in whole steps: trial, location, spot."""
    truth = height + between * rng.standard_normal((TRIALS, locations))
    errors = rng.uniform(-accuracy, accuracy, (TRIALS, 1, 1)) + rng.uniform(-FILM, FILM, (TRIALS, 1, 1))
    seen = truth[:, :, None] + within * rng.standard_normal((TRIALS, locations, spots)) + errors
    return truth, np.rint(seen * STEP).astype(int)


def variance_between(steps):
    """Variance of the locations' values of each trial, as exact fractions of a mil squared."""
    sums, (_, n, spots) = steps.sum(axis=2), steps.shape
    squares = n * (sums**2).sum(axis=1) - sums.sum(axis=1) ** 2
    return [Fraction(int(square), n * (n - 1) * (spots * STEP) ** 2) for square in squares]


def variance_within(steps):
    """Variance of spots within their locations, pooled over each trial."""
    _, n, spots = steps.shape
    squares = (spots * (steps**2).sum(axis=2) - steps.sum(axis=2) ** 2).sum(axis=1)
    return [Fraction(int(square), spots * n * (spots - 1) * STEP**2) for square in squares]


def gauge(accuracy):
    return Gauge("mil", Fraction(str(accuracy)), resolution=Fraction(1, STEP), film=Fraction(str(FILM)))


@lru_cache(maxsize=None)
def location(accuracy, variance, dof, spots, of="repeatability"):
    """Combined and expanded uncertainty of a location, and its degrees of freedom."""
    found = location_budget(gauge(accuracy), Pooled(Root(variance), dof, of), spots)
    return float(found.combined), float(found.expanded), found.effective_dof


def of_locations(accuracy, steps, stated=None):
    """The same of each trial, by the rules: stated, from the spots, or from locations of one spot each."""
    _, n, spots = steps.shape
    if stated is not None:
        return [location(accuracy, Fraction(str(stated)) ** 2, 200, spots)] * len(steps)
    if spots == 1:
        return [location(accuracy, variance, n - 1, 1, "scatter of locations") for variance in variance_between(steps)]
    return [location(accuracy, variance, n * (spots - 1), spots) for variance in variance_within(steps)]


@lru_cache(maxsize=None)
def of_mean(accuracy, variance, n):
    return float(area_budget(gauge(accuracy), Root(variance), n).expanded)


GRID = [
    (accuracy, between, within)
    for accuracy in (0.05, 0.2)
    for between, within in ((0.1, 0.15), (0.3, 0.15), (0.3, 0.3))
]  # fmt: skip


@pytest.mark.parametrize(
    ("n", "spots", "stated"),
    [(3, 2, False), (10, 2, False), (3, 1, False), (10, 1, False), (3, 2, True), (3, 1, True), (1, 1, True)],
)
@pytest.mark.parametrize(("accuracy", "between", "within"), GRID)
def test_a_location_with_its_uncertainty_holds_the_truth(accuracy, between, within, n, spots, stated):
    truth, steps = read(np.random.default_rng(4417), accuracy, between, within, n, spots)
    expanded = np.array([one[1] for one in of_locations(accuracy, steps, within if stated else None)])
    held = np.abs(steps[:, 0].mean(axis=1) / STEP - truth[:, 0]) <= expanded
    print(accuracy, between, within, n, spots, stated, held.mean())
    assert 0.94 <= held.mean() <= 1


@pytest.mark.parametrize("n", [2, 3, 5, 10])
@pytest.mark.parametrize(("accuracy", "between", "within"), GRID)
def test_the_mean_with_its_uncertainty_holds_the_truth_and_its_scatter_alone_does_not(accuracy, between, within, n):
    _, steps = read(np.random.default_rng(4417), accuracy, between, within, n, 2)
    off = np.abs(steps.mean(axis=(1, 2)) / STEP - HEIGHT)
    variances = variance_between(steps)
    held = (off <= np.array([of_mean(accuracy, one, n) for one in variances])).mean()
    alone = stats.t.ppf(0.975, n - 1) * np.sqrt(np.array([float(one) for one in variances]) / n)
    print(accuracy, between, within, n, held, (off <= alone).mean())
    assert 0.94 <= held <= 1
    assert (off <= alone).mean() <= held


@pytest.mark.parametrize("n", [10, 20])
@pytest.mark.parametrize("scatter", [0.15, 0.3, 0.5])
def test_a_tolerance_interval_holds_what_it_says_of_values_as_the_gauge_reads_them(n, scatter):
    _, steps = read(np.random.default_rng(4417), 0, scatter, 0, n, 1)
    enough = []
    for one in steps[:4000, :, 0]:
        values = [Fraction(int(step), STEP) for step in one]
        mean = sum(values) / n
        variance = sum((value - mean) ** 2 for value in values) / (n - 1)
        found = tolerance_interval(Summary(n, mean, variance, min(values), max(values)))
        ends = [(float(end) - HEIGHT) / np.hypot(scatter, FILM / np.sqrt(3) * 0) for end in (found.lower, found.upper)]
        enough.append(stats.norm.cdf(ends[1]) - stats.norm.cdf(ends[0]) >= 0.95)
    print(n, scatter, np.mean(enough))


@pytest.mark.parametrize(("n", "spots", "stated"), [(3, 2, False), (10, 2, False), (10, 1, False), (1, 1, True)])
@pytest.mark.parametrize(("accuracy", "between", "within"), [(0.05, 0, 0.3), (0.2, 0, 0.15)])
def test_of_locations_with_a_probability_of_conformity_that_share_conforms(accuracy, between, within, n, spots, stated):
    rng = np.random.default_rng(4417)
    height = rng.uniform(0.5, 3.5, (TRIALS, 1))
    truth, steps = read(rng, accuracy, between, within, n, spots, height)
    limits = Limits(Quantity(Decimal("2.0"), "mil"))
    known = of_locations(accuracy, steps, within if stated else None)

    @lru_cache(maxsize=None)
    def told(step, combined, dof):
        value = Quantity(Fraction(int(step), spots * STEP), "mil")
        return float(probability_of_conformity(value, Quantity(Fraction(combined), "mil"), limits, dof))

    said = np.array([told(step, one[0], one[2]) for step, one in zip(steps[:, 0].sum(axis=1), known, strict=True)])
    conforms = truth[:, 0] >= 2.0
    for low, high in pairwise([0.01, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 0.99]):
        of = (said >= low) & (said < high)
        print(
            n,
            spots,
            stated,
            accuracy,
            within,
            low,
            high,
            of.sum(),
            round(said[of].mean(), 3),
            round(conforms[of].mean(), 3),
        )
