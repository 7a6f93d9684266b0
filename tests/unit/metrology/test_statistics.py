"""Small sets, equal values, one-sided cases, refusals."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import RangeError
from reportgen.metrology import statistics
from reportgen.metrology.exact import decimal_of, exact_sums, square_root


def test_sums_are_exact_over_mixed_kinds():
    assert exact_sums([Decimal("0.1"), Fraction(1, 3), 2]) == (
        Fraction(73, 30), Fraction(1, 100) + Fraction(1, 9) + 4, 3,
    )  # fmt: skip
    assert exact_sums([]) == (0, 0, 0)


def test_square_roots():
    assert square_root(Fraction("0.01")) == Fraction("0.1")
    assert square_root(0) == 0
    assert decimal_of(Decimal("2.50")) == Decimal("2.50")
    assert abs(square_root(Fraction(1, 3)) ** 2 - Fraction(1, 3)) < Fraction(1, 10**33)


def test_a_single_value_has_no_spread():
    of = statistics.summary([Decimal("2.4")])
    assert (of.n, of.mean, of.standard_deviation, of.minimum, of.maximum) == (
        1, Fraction("2.4"), None, Fraction("2.4"), Fraction("2.4"),
    )  # fmt: skip
    with pytest.raises(RangeError, match=r"^an interval needs at least 2 values, got 1$"):
        statistics.tolerance_interval(statistics.Summary(3, of.mean, None, of.mean, of.mean))


@pytest.mark.parametrize(("function", "values", "message"), [
    (statistics.summary, [], "a summary needs at least 1 value"),
    (statistics.outlier_test, [1, 2], "an outlier test needs at least 3 values, got 2"),
    (lambda values: statistics.outlier_test(values, resolution=-1), [1, 2, 3], "a resolution is never negative"),
])  # fmt: skip
def test_too_few_values(function, values, message):
    with pytest.raises(RangeError) as caught:
        function(values)
    assert caught.value.message == message


def test_a_mean_at_the_limit_is_at_the_limit():
    """Ten times 0.1: binary floats give 0.09999999999999999 or worse."""
    assert statistics.summary([Decimal("0.1")] * 10).mean == Fraction(1, 10)


def test_percent_within_limits_without_spread():
    of = statistics.summary([2, 2, 2])
    assert statistics.percent_within_limits(of, 2, 3) == 100
    assert statistics.percent_within_limits(of, Fraction(21, 10), None) == 0
    assert statistics.percent_within_limits(of, None, Fraction(19, 10)) == 0


def test_percent_within_limits_sides_and_ends():
    of = statistics.summary([1, 2, 3])
    assert statistics.percent_within_limits(of, None, None) == 100
    assert statistics.percent_within_limits(of, None, 2) == 50
    assert statistics.percent_within_limits(of, 2, None) == 50
    assert statistics.percent_within_limits(of, 10, None) == 0
    assert statistics.percent_within_limits(of, 3, 3) == 0
    with pytest.raises(RangeError, match="needs at least 3 values, got 2"):
        statistics.percent_within_limits(statistics.summary([1, 2]), 0, None)


def test_the_outlier_test_looks_at_the_farthest_value():
    assert statistics.outlier_test([-5, 1, 2, 3]).index == 0
    assert statistics.outlier_test([5, -1, -2, -3]).index == 0


def test_outlier_statistic_by_hand():
    """0 0 0 4: mean 1, s 2, G = 3/2, above the two-sided 5 % value 1.4813."""
    found = statistics.outlier_test([0, 0, 0, 4])
    assert float(found.critical) == pytest.approx(1.4813, abs=0.0001)
    assert (found.index, found.statistic, found.flagged) == (3, Fraction(3, 2), True)
    assert not statistics.outlier_test([0, 1, 0, 4]).flagged


def test_equal_values_are_never_outliers():
    found = statistics.outlier_test([2, 2, 2])
    assert (found.index, found.statistic, found.flagged) == (0, 0, False)
    assert found.critical == statistics.outlier_test([1, 2, 3]).critical


def test_a_statistic_at_its_critical_value_is_not_above_it(monkeypatch):
    monkeypatch.setattr(statistics, "grubbs_critical", lambda *_, **__: Fraction(3, 2))
    assert not statistics.outlier_test([0, 0, 0, 4]).flagged


@pytest.mark.parametrize(("values", "tolerance"), [([], 1), ([1], -1)])
def test_agreement_refuses(values, tolerance):
    with pytest.raises(RangeError, match=r"^agreement needs at least 1 value and a tolerance of 0 or more$"):
        statistics.spot_agreement(values, tolerance)


def test_agreement_at_its_limit():
    assert statistics.spot_agreement([Decimal("2.4")], 0) == (0, True)
    assert statistics.spot_agreement([Decimal("2.4"), Decimal("2.6")], Decimal("0.2")) == (Fraction("0.2"), True)


def test_two_values_are_enough_where_two_are_asked_for():
    assert statistics.summary([1, 3]).variance == 2


def test_of_two_equally_far_the_largest_is_tested():
    assert statistics.outlier_test([1, 2, 3]).index == 2


def test_a_value_that_others_share_is_no_single_outlier():
    """Thirty between 2.6 and 3.0 and several 1.4: the test is one of a single outlier (Grubbs 1969; NIST/SEMATECH

    e-Handbook of Statistical Methods, 1.3.5.17.1), and none of the equal values is it more than the others.
    """
    usual = [Decimal(n) / 10 for n in (26, 27, 28, 29, 30) * 6]
    assert statistics.outlier_test([*usual, Decimal("1.4")]).flagged
    for times in (2, 3, 10):
        found = statistics.outlier_test([*usual, *[Decimal("1.4"), Decimal("1.40")] * times][: 30 + times])
        assert (found.index, found.flagged) == (30 if times < 10 else found.index, False)
    assert statistics.outlier_test([*usual, Decimal("1.4"), Decimal("1.4")]).statistic > found.critical


def test_the_statistic_of_rounded_readings_by_hand():
    """0 0 0 4 to the step 6: s² = 4 and 6²/12 = 3, G = 3/√7 = 1.134, no longer above 1.4813."""
    found = statistics.outlier_test([0, 0, 0, 4], resolution=6)
    assert float(found.statistic) == pytest.approx(3 / 7**0.5, rel=1e-12)
    assert not found.flagged
