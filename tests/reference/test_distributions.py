"""Critical values and factors: rows, scipy, and the definitions integrated numerically."""

import math

import pytest
from scipy import integrate, stats

from reportgen.metrology.distributions import grubbs_critical, normal_probability, t_factor, tolerance_factor
from tests.reference.published import published

GRUBBS = published("grubbs-calculated")
FACTORS = published("tolerance-factors-calculated")


@pytest.mark.parametrize("row", GRUBBS.rows, ids=lambda row: row["n"])
@pytest.mark.parametrize(("column", "sides", "level"), [
    ("one_sided_5", 1, 5), ("one_sided_1", 1, 1), ("two_sided_5", 2, 5), ("two_sided_1", 2, 1),
])  # fmt: skip
def test_grubbs_critical_values(row, column, sides, level):
    n = int(row["n"])
    found = float(grubbs_critical(n, sides=sides, significance=level))
    assert found == pytest.approx(float(row[column]), abs=float(GRUBBS.tolerance) + 1e-12)
    t = stats.t.isf(level / 100 / (sides * n), n - 2)
    assert found == pytest.approx((n - 1) * t / math.sqrt(n * (n - 2 + t * t)), abs=0.00006)


def reached(k, n, coverage):
    """Confidence of mean ± k·s by its definition: the chance that the interval covers the share, integrated."""
    from scipy.optimize import brentq

    def reach(x):
        return brentq(lambda r: stats.norm.cdf(x + r) - stats.norm.cdf(x - r) - coverage, 0, 20, xtol=1e-13)

    def density(x):
        return stats.chi2.sf((n - 1) * (reach(x) / k) ** 2, n - 1) * stats.norm.pdf(x, scale=1 / math.sqrt(n))

    limit = 9 / math.sqrt(n)
    return 2 * integrate.quad(density, 0, limit, epsabs=1e-10, limit=200)[0]


@pytest.mark.parametrize("row", FACTORS.rows, ids=lambda row: row["n"])
@pytest.mark.parametrize("coverage", [95, 90])
def test_two_sided_tolerance_factors(row, coverage):
    n = int(row["n"])
    found = float(tolerance_factor(n, coverage=coverage))
    assert found == pytest.approx(float(row[f"two_sided_{coverage}"]), abs=float(FACTORS.tolerance))
    assert reached(found, n, coverage / 100) == pytest.approx(0.95, abs=1e-6)


def howe(n, coverage, confidence):
    """Howe's approximation (1969), for comparison only: never used in a report."""
    z = stats.norm.ppf((1 + coverage) / 2)
    return z * math.sqrt((n - 1) * (1 + 1 / n) / stats.chi2.ppf(1 - confidence, n - 1))


@pytest.mark.parametrize("row", FACTORS.rows, ids=lambda row: row["n"])
def test_howe_differs_where_it_should(row):
    n = int(row["n"])
    approximation = howe(n, 0.95, 0.95)
    assert approximation == pytest.approx(float(row["howe_95"]), abs=float(FACTORS.tolerance))
    assert float(tolerance_factor(n)) == pytest.approx(approximation, rel=0.025)


HANDBOOK = [row for row in published("tolerance-handbook").rows if row["sides"] == "2"]


@pytest.mark.parametrize("row", HANDBOOK, ids=lambda row: row["method"])
def test_example_of_the_handbook(row):
    n, coverage, confidence = int(row["n"]), int(row["coverage"]), int(row["confidence"])
    exact = tolerance_factor(n, coverage=coverage, confidence=confidence)
    tolerance = float(published("tolerance-handbook").tolerance)
    assert float(exact) == pytest.approx(float(row["factor"]), abs=tolerance)
    assert float(exact) == pytest.approx(2.2228, abs=0.00005)
    if row["method"] == "howe":
        assert howe(n, coverage / 100, confidence / 100) == pytest.approx(float(row["factor"]), abs=0.0005)


@pytest.mark.parametrize("dof", [1, 2, 5, 9, 30, 200, 201, 350, 5000, 10**7, None])
@pytest.mark.parametrize("confidence", [50, 90, 95, 99])
def test_t_factors_against_scipy(dof, confidence):
    expected = stats.norm.ppf(0.5 + confidence / 200) if dof is None else stats.t.ppf(0.5 + confidence / 200, dof)
    assert float(t_factor(dof, confidence)) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("z", [-8, -3, -1, -0.1, 0, 0.5, 2, 6])
def test_normal_probability_against_scipy(z):
    assert normal_probability(z) == pytest.approx(stats.norm.cdf(z), rel=1e-13)


def test_a_tolerance_factor_below_one():
    """Of very many values, half lie within 0.6745 standard deviations: the probable error of the normal tables."""
    assert float(tolerance_factor(100_000, coverage=50, confidence=50)) == pytest.approx(0.6745, abs=0.0001)
