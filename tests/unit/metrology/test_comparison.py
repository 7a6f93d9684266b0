"""Comparison with another's readings: refusals, ends of ranges, and what its budgets name."""

from fractions import Fraction

import pytest

from reportgen.errors import RangeError
from reportgen.metrology import comparison
from reportgen.metrology.uncertainty import Component, Pooled


@pytest.mark.parametrize(("own", "other"), [(-1, 2), (2, -1), (-1, -1), (0, 0)])
def test_two_results_without_an_uncertainty_have_no_normalized_error(own, other):
    with pytest.raises(RangeError, match="must be 0 or more, and not both 0"):
        comparison.normalized_error(1, own, other)


@pytest.mark.parametrize(("own", "other"), [(0, 2), (2, 0)])
def test_one_of_two_results_may_be_exact(own, other):
    assert comparison.normalized_error(-3, own, other) == Fraction(-3, 2)


def test_what_the_other_states_is_named_in_the_budget():
    (stated,) = comparison.error_of_the_other("um", stated=3)
    assert (stated.name, stated.source, stated.unit) == ("stated by the other", "stated-accuracy", "um")
    assert stated.standard == Fraction(3, 2)  # of two standard uncertainties where no factor is stated
    (limits,) = comparison.error_of_the_other("mil", accuracy=3)
    assert (limits.name, limits.source, limits.unit) == ("gauge accuracy of the other", "stated-accuracy", "mil")


def test_the_mean_of_one_difference_has_no_scatter():
    with pytest.raises(RangeError, match="over 1 places has no scatter"):
        comparison.mean_difference([1], (), "um")


def test_differences_that_scatter_bring_their_scatter_and_the_gauges_whole():
    """1 2 3: s = 1, over √3 with 2 degrees of freedom."""
    gauge = Component("gauge", 2, systematic=True)
    mean, budget = comparison.mean_difference([1, 2, 3], (gauge,), "um")
    assert mean == 2
    scatter, own = budget.components
    assert (scatter.name, scatter.source, scatter.dof) == ("scatter of differences", "type-a", 2)
    assert (scatter.variance, own) == (Fraction(1, 3), gauge)


def test_differences_that_are_all_equal_leave_the_gauges_alone():
    """Without scatter its two degrees of freedom are none: they do not widen what is known of the gauges."""
    gauge = Component("gauge", 2, systematic=True)
    _, budget = comparison.mean_difference([5, 5, 5], (gauge,), "um")
    assert budget.components == (gauge,)
    _, budget = comparison.mean_difference([5, 5, 5], (), "um")
    assert (len(budget.components), budget.expanded) == (1, 0)


@pytest.mark.parametrize("step", [0, -1])
def test_readings_are_rounded_to_a_step_above_zero(step):
    with pytest.raises(RangeError, match="must be above 0"):
        comparison.chance_of_agreeing(Pooled(1, 9), step)


def test_readings_without_scatter_agree_for_certain():
    assert comparison.chance_of_agreeing(Pooled(0, 9), 1) == 1
    assert 0.99 < comparison.chance_of_agreeing(Pooled(Fraction(1, 1000), 9), 1) <= 1


def test_the_series_itself_counts_where_it_agrees_more_often_than_all_together():
    """2 2 2 2: six of six pairs agree, (6 + 1)/(6 + 2); with five that differ, of ten pairs more, 7/18."""
    alone = comparison.chance_of_repeating([2, 2, 2, 2])
    assert alone == (7 / 8) ** 4
    assert comparison.chance_of_repeating([2, 2, 2, 2], [[1, 3, 4, 5, 6]]) == alone
    assert comparison.chance_of_repeating([1, 3], [[2, 2, 2, 2]]) == (7 / 9) ** 2
