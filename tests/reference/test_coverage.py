"""Do intervals and probabilities hold what they say? Simulated from known truth, seed fixed, with numpy alone.

Steel of known height is read by a gauge of known error through our formulas: how often does an interval hold the truth,
and of the locations to which a probability is given, how many conform?
"""

from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import pairwise, product

import numpy as np
import pytest
from scipy import stats

from reportgen.metrology.conformity import Limits, probability_of_conformity
from reportgen.metrology.exact import Root
from reportgen.metrology.statistics import Summary, tolerance_interval
from reportgen.metrology.uncertainty import Gauge, Pooled, area_budget, location_budget
from reportgen.units import Quantity

TRIALS = 6_000
STEP, FILM, HEIGHT = 10, 0.08, 2.75
"""Steps of the dial to 1 mil; half-width of the film's thickness; height of the steel, in mil."""
STEEL = np.full((TRIALS, 1), HEIGHT)


def read(rng, accuracy, between, within, locations, spots, height=STEEL):
    """Truth of each location, and readings of its spots in whole steps: trial, location, spot."""
    trials = len(height)
    truth = height + between * rng.standard_normal((trials, locations))
    errors = rng.uniform(-accuracy, accuracy, (trials, 1, 1)) + rng.uniform(-FILM, FILM, (trials, 1, 1))
    seen = truth[:, :, None] + within * rng.standard_normal((trials, locations, spots)) + errors
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


@cache
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


@cache
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
    assert held.mean() >= 0.935


@pytest.mark.parametrize(
    ("n", "spots", "worst"), [(1, 2, 0.84), (2, 2, 0.90), (3, 2, 0.93), (4, 2, 0.94), (2, 1, 0.90), (3, 1, 0.96)]
)
def test_a_location_among_few_with_its_uncertainty_holds_the_truth_less_often_as_the_page_says(n, spots, worst):
    """The repeatability of few spots is known badly; the worst of gauges and scatters stands on the page."""
    held = []
    for accuracy, within in product((0.0, 0.05, 0.1, 0.2), (0.1, 0.2, 0.3, 0.5)):
        truth, steps = read(np.random.default_rng(4417), accuracy, 0, within, n, spots)
        expanded = np.array([one[1] for one in of_locations(accuracy, steps)])
        held.append((np.abs(steps[:, 0].mean(axis=1) / STEP - truth[:, 0]) <= expanded).mean())
    assert worst <= min(held) < worst + 0.015


@pytest.mark.parametrize(("n", "least"), [(2, 0.87), (3, 0.92), (5, 0.94), (10, 0.945)])
@pytest.mark.parametrize(("accuracy", "between", "within"), GRID)
def test_the_mean_with_its_uncertainty_holds_the_truth_and_its_scatter_alone_less(accuracy, between, within, n, least):
    """Of two or three locations the effective degrees of freedom of the GUM promise too much, as the page says."""
    _, steps = read(np.random.default_rng(4417), accuracy, between, within, n, 2)
    off = np.abs(steps.mean(axis=(1, 2)) / STEP - HEIGHT)
    variances = variance_between(steps)
    held = (off <= np.array([of_mean(accuracy, one, n) for one in variances])).mean()
    alone = stats.t.ppf(0.975, n - 1) * np.sqrt(np.array([float(one) for one in variances]) / n)
    assert held >= least
    if n >= 5:
        assert (off <= alone).mean() < held


@pytest.mark.parametrize("n", [10, 20])
@pytest.mark.parametrize("scatter", [0.15, 0.3, 0.5])
def test_a_tolerance_interval_holds_what_it_says_of_values_as_the_gauge_reads_them(n, scatter):
    _, steps = read(np.random.default_rng(4417), 0, scatter, 0, n, 1)
    enough = []
    for one in steps[:3000, :, 0]:
        values = [Fraction(int(step), STEP) for step in one]
        mean = sum(values) / n
        variance = sum((value - mean) ** 2 for value in values) / (n - 1)
        found = tolerance_interval(Summary(n, mean, variance, min(values), max(values)))
        low, high = ((float(end - Fraction(HEIGHT))) / scatter for end in (found.lower, found.upper))
        if found.lower > 0 and variance >= Fraction(1, 2 * STEP) ** 2:  # else none is given
            enough.append(stats.norm.cdf(high) - stats.norm.cdf(low) >= 0.95)
    assert len(enough) > 2000
    assert np.mean(enough) >= 0.92


@pytest.mark.parametrize(("n", "spots", "stated"), [(3, 2, False), (10, 2, False), (10, 1, False), (1, 1, True)])
@pytest.mark.parametrize(("accuracy", "between", "within"), [(0.05, 0, 0.3), (0.2, 0, 0.15)])
def test_of_locations_with_a_probability_of_conformity_that_share_conforms(accuracy, between, within, n, spots, stated):
    rng = np.random.default_rng(4417)
    height = rng.uniform(0.5, 3.5, (20_000, 1))
    truth, steps = read(rng, accuracy, between, within, n, spots, height)
    limits = Limits(Quantity(Decimal("2.0"), "mil"))
    known = of_locations(accuracy, steps, within if stated else None)

    @cache
    def told(step, combined, dof):
        value = Quantity(Fraction(int(step), spots * STEP), "mil")
        return float(probability_of_conformity(value, Quantity(Fraction(combined), "mil"), limits, dof))

    said = np.array([told(step, one[0], one[2]) for step, one in zip(steps[:, 0].sum(axis=1), known, strict=True)])
    conforms = truth[:, 0] >= 2.0
    for low, high in pairwise([0.01, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 0.99]):
        of = (said >= low) & (said < high)
        assert said[of].mean() == pytest.approx(conforms[of].mean(), abs=0.06)
        if low >= 0.8:  # where steel is accepted it never promises more than it holds
            assert said[of].mean() <= conforms[of].mean() + 0.01


def test_a_probability_of_conformity_knows_nothing_of_the_steel_beforehand():
    """Where most steel is well inside, a value at the limit is mostly of steel inside: 0.5 is said, 0.9 is true."""
    rng = np.random.default_rng(4417)
    height = 2.5 + 0.2 * rng.standard_normal(20_000)
    seen = height + 0.2 * rng.standard_normal(20_000)
    limits = Limits(Quantity(Decimal("2.0"), "mil"))
    told = probability_of_conformity(Quantity(Decimal("2.0"), "mil"), Quantity(Decimal("0.2"), "mil"), limits)
    assert told == Fraction(1, 2)
    assert (height[np.abs(seen - 2.0) < 0.05] >= 2.0).mean() > 0.9
