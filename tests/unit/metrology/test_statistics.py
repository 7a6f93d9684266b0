"""Small sets, equal values, one-sided cases, refusals."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import RangeError
from reportgen.metrology import statistics
from reportgen.metrology.distributions import tolerance_factor
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
    with pytest.raises(RangeError, match="needs at least 1 degree of freedom"):
        statistics.confidence_interval(of)


@pytest.mark.parametrize(("function", "values", "message"), [
    (statistics.summary, [], "a summary needs at least 1 value"),
    (statistics.outlier_test, [1, 2], "an outlier test needs at least 3 values, got 2"),
    (lambda values: statistics.outlier_test(values, resolution=-1), [1, 2, 3], "a resolution is never negative"),
    (statistics.control_limits, [1], "control limits need at least 2 values, got 1"),
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


@pytest.mark.parametrize(("sides", "largest", "index"), [(2, True, 0), (1, True, 3), (1, False, 0), (2, False, 0)])
def test_which_value_the_outlier_test_looks_at(sides, largest, index):
    found = statistics.outlier_test([-5, 1, 2, 3], sides=sides, largest=largest)
    assert found.index == index


def test_outlier_statistic_by_hand():
    """0 0 0 4: mean 1, s 2, G = 3/2, above the one-sided 5 % value 1.4625 and the two-sided 1.4813."""
    found = statistics.outlier_test([0, 0, 0, 4])
    assert float(found.critical) == pytest.approx(1.4813, abs=0.0001)
    assert float(statistics.outlier_test([0, 0, 0, 4], sides=1).critical) == pytest.approx(1.4625, abs=0.0001)
    assert (found.index, found.statistic, found.flagged) == (3, Fraction(3, 2), True)
    assert not statistics.outlier_test([0, 0, 0, 4], sides=1, largest=False).flagged
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
    assert statistics.spot_agreement([Decimal("2.4")], 0) == statistics.Agreement(Fraction(0), agrees=True)
    assert statistics.spot_agreement([Decimal("2.4"), Decimal("2.6")], Decimal("0.2")).spread == Fraction("0.2")


def test_control_limits_by_hand():
    """10 12 10 12 50: moving ranges 2 2 2 38, mean range 11, centre 18.8, reach 3 x 11/1.128."""
    found = statistics.control_limits([10, 12, 10, 12, 50])
    assert found.mean_range == 11
    assert found.centre == Fraction("18.8")
    assert found.upper == Fraction("18.8") + 33 / Fraction("1.128")
    assert found.lower == Fraction("18.8") - 33 / Fraction("1.128")
    assert found.outside == (4,)


def test_a_value_on_its_control_limit_is_not_outside():
    assert statistics.control_limits([2, 2, 2]).outside == ()


def test_two_values_are_enough_where_two_are_asked_for():
    assert statistics.summary([1, 3]).variance == 2
    assert statistics.control_limits([1, 3]).mean_range == 2


def test_defaults_are_two_sides_and_95_percent():
    of = statistics.summary([1, 2, 4, 3])
    assert statistics.confidence_interval(of) == statistics.confidence_interval(of, 95)
    stated = statistics.tolerance_interval(of, sides=2, coverage=95, confidence=95, upper=True)
    assert statistics.tolerance_interval(of) == stated
    assert statistics.tolerance_interval(of, sides=1).lower is None
    values = [0, 0, 0, 1, 4]
    assert statistics.outlier_test(values) == statistics.outlier_test(values, sides=2, largest=True, level=5)
    assert statistics.outlier_test(values, sides=1) == statistics.outlier_test(values, sides=1, largest=True, level=5)
    assert statistics.outlier_test(values, level=1).critical > statistics.outlier_test(values).critical


def test_a_tolerance_interval_passes_on_what_it_is_asked_for():
    of = statistics.summary([1, 2, 4, 3])
    for asked in ({"coverage": 90}, {"confidence": 90}, {"sides": 1, "coverage": 90, "confidence": 99}):
        half = tolerance_factor(4, **asked) * of.standard_deviation
        assert statistics.tolerance_interval(of, **asked).upper == of.mean + half


def test_of_two_equally_far_the_largest_is_tested():
    assert statistics.outlier_test([1, 2, 3]).index == 2
