"""Statistics: NIST reference sets, published tables, scipy."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from reportgen.metrology.statistics import (
    outlier_test,
    percent_within_limits,
    spot_agreement,
    summary,
    tolerance_interval,
)
from reportgen.references import standard
from tests.reference.published import published

CERTIFIED = published("strd-certified")


def strd(name):
    """Values of a set: NumAcc by its published definition, the others as observed at NIST."""
    if name == "NumAcc1":
        return [Decimal(10000001), Decimal(10000003), Decimal(10000002)]
    base = {"NumAcc2": "1.2", "NumAcc3": "1000000.2", "NumAcc4": "10000000.2"}.get(name)
    if base is not None:
        tenth = Decimal("0.1")
        return [Decimal(base)] + [Decimal(base) - tenth, Decimal(base) + tenth] * 500
    return [Decimal(row["value"]) for row in published("strd-values").rows if row["set"] == name]


@pytest.mark.parametrize("row", CERTIFIED.rows, ids=lambda row: row["set"])
def test_nist_reference_sets(row):
    values = strd(row["set"])
    tolerance = Fraction(CERTIFIED.tolerance)
    assert len(values) == int(row["n"])
    of = summary(values)
    assert abs(of.mean - Fraction(row["mean"])) <= tolerance * abs(Fraction(row["mean"]))
    expected = Fraction(row["standard_deviation"])
    assert abs(of.standard_deviation - expected) <= tolerance * expected
    assert abs(of.variance - expected**2) <= 3 * tolerance * expected**2


def test_type_a_example_of_the_guide():
    """JCGM 100 4.4.3: mean 100.145 (printed 100.14), s 1.489, u = s/√20 = 0.333 degC."""
    rows = published("type-a")
    of = summary([Decimal(row["value"]) for row in rows.rows])
    assert of.mean == Fraction("100.145")
    assert of.standard_deviation is not None
    assert float(of.standard_deviation) == pytest.approx(1.489, abs=float(rows.tolerance))
    assert float(of.standard_deviation) / 20**0.5 == pytest.approx(0.333, abs=float(rows.tolerance))


SAMPLE = [Decimal(text) for text in ["2.1", "2.4", "2.6", "2.9", "2.5", "2.2", "2.8", "3.0"]]


@pytest.mark.parametrize("row", published("tolerance-factors-calculated").rows, ids=lambda row: row["n"])
def test_tolerance_intervals_use_the_factor_of_their_size(row):
    values = [Decimal(index) for index in range(int(row["n"]))]
    of = summary(values)
    tolerance = float(published("tolerance-factors-calculated").tolerance)
    found = tolerance_interval(of)
    for half in (found.upper - of.mean, of.mean - found.lower):
        assert float(half / of.standard_deviation) == pytest.approx(float(row["two_sided_95"]), abs=tolerance)


def sample_with_index(n, index):
    """n values with mean 0 and standard deviation 1 in exact arithmetic, so that a minimum of -Q has index Q."""
    half = Fraction(n - 1, 2)
    raw = [Fraction(value) - half for value in range(n)]
    of = summary(raw)
    return [value / of.standard_deviation for value in raw], -Fraction(index)


@pytest.mark.parametrize("row", published("pwl-table").rows, ids=lambda row: f"{row['n']}-{row['quality_index']}")
def test_percent_within_limits_of_the_printed_table(row):
    values, minimum = sample_with_index(int(row["n"]), row["quality_index"])
    found = percent_within_limits(summary(values), minimum, None)
    assert float(found) == pytest.approx(float(row["percent"]), abs=float(published("pwl-table").tolerance))


def beta_form(quality, n):
    """Percent within one limit from scipy's beta distribution."""
    x = max(0.0, 0.5 - quality * n**0.5 / (2 * (n - 1)))
    return 100 * (1 - stats.beta.cdf(min(1.0, x), n / 2 - 1, n / 2 - 1))


@pytest.mark.parametrize("row", published("pwl-lower").rows, ids=lambda row: row["values"])
def test_percent_within_a_lower_limit_of_worked_examples(row):
    of = summary([Decimal(text) for text in row["values"].split()])
    assert float(of.standard_deviation) == pytest.approx(float(row["standard_deviation"]), abs=0.05)
    index = (of.mean - Fraction(row["minimum"])) / of.standard_deviation
    # the example rounds mean and standard deviation before it divides
    assert float(index) == pytest.approx(float(row["quality_index"]), abs=0.03)
    found = percent_within_limits(of, Decimal(row["minimum"]), None)
    assert float(found) == pytest.approx(float(row["percent"]), abs=float(published("pwl-lower").tolerance))


@pytest.mark.parametrize("text", ["2.1 2.4 2.6 2.9 2.5", "1.9 2.2 2.4 2.3 2.7"])
def test_percent_within_two_limits_against_scipy(text):
    of = summary([Decimal(value) for value in text.split()])
    found = percent_within_limits(of, Decimal(2), Decimal(3))
    sides = (of.mean - 2, 3 - of.mean)
    expected = sum(beta_form(float(side / of.standard_deviation), of.n) for side in sides) - 100
    assert float(found) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("n", [3, 4, 5, 6, 9, 10, 33, 200, 1001])
@pytest.mark.parametrize("quality", ["-3", "-0.4", "0", "0.31", "0.9", "1.4", "2.5", "8"])
def test_closed_form_of_the_beta_integral_against_scipy(n, quality):
    values, minimum = sample_with_index(n, quality)
    found = percent_within_limits(summary(values), minimum, None)
    assert float(found) == pytest.approx(beta_form(float(quality), n), abs=1e-9)


def test_outlier_example():
    """2.1 2.2 2.0 2.3 2.1 3.4: mean 2.35, s 0.5244, G 2.0023 above 1.8871 (two-sided 5 %): worked in scipy beside."""
    values = [Decimal(text) for text in ["2.1", "2.2", "2.0", "2.3", "2.1", "3.4"]]
    found = outlier_test(values)
    floats = [float(value) for value in values]
    assert float(found.statistic) == pytest.approx(max(abs(stats.zscore(floats, ddof=1))), rel=1e-12)
    assert (found.index, found.flagged) == (5, True)
    assert float(found.statistic) == pytest.approx(2.0023, abs=0.00005)


def test_agreement_of_spots_needs_the_contracts_tolerance():
    """No published tolerance was read: 0.2 mil is one recalled for NACE SP0287."""
    tolerance = Decimal("0.2")
    assert spot_agreement([Decimal("2.4"), Decimal("2.6")], tolerance) == (tolerance, True)
    assert spot_agreement([Decimal("2.4"), Decimal("2.7")], tolerance) == (Decimal("0.3"), False)
    assert standard("astm-d4417", "2021").data["methods"]["C"]["readings"] == 2


@pytest.mark.parametrize("n", [5, 10, 20])
@pytest.mark.parametrize(("low", "high"), [(-1.0, None), (None, 0.5), (-1.0, 1.5), (-2.5, 2.5)])
def test_percent_within_limits_is_right_on_average_and_as_far_off_as_its_number_of_values_allows(n, low, high):
    """A normal population of known share, seed fixed: the estimate has no bias (that is what its beta form is for).

    It is a point estimate and printed as one: of ten values it is off by some ten points where 84 % lie within.
    """
    rng, trials = np.random.default_rng(5080), 3000
    true = 100 * (stats.norm.cdf(np.inf if high is None else high) - stats.norm.cdf(-np.inf if low is None else low))
    ends = [None if end is None else Fraction(end) for end in (low, high)]
    drawn = np.round(rng.standard_normal((trials, n)), 4)
    told = np.array([
        float(percent_within_limits(summary([Fraction(str(one)) for one in row]), *ends)) for row in drawn
    ])  # fmt: skip
    assert told.mean() == pytest.approx(true, abs=4 * told.std() / trials**0.5)
    if (n, low, high) == (10, -1.0, None):
        assert 9 < told.std() < 12
