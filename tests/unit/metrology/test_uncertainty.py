"""Budgets by hand, refusals, printing."""

import itertools
import math
from decimal import Decimal
from fractions import Fraction

import pytest
from scipy import stats

from reportgen.errors import RangeError
from reportgen.metrology import uncertainty
from reportgen.metrology.distributions import t_factor
from reportgen.metrology.exact import Root, exact_square, number_of
from reportgen.metrology.uncertainty import Component, Errors, Gauge, Pooled


def test_illustrative_budget():
    """0.2 rectangular, 0.05 rectangular, 0.08 rectangular, 0.15 over √2: 0.166, expanded about 0.33."""
    gauge = Gauge("mil", Decimal("0.2"), resolution=Decimal("0.1"), film=Decimal("0.08"))
    found = uncertainty.location_budget(gauge, Pooled(Fraction("0.15"), 30), 2)
    assert [round(float(part.contribution), 3) for part in found.components] == [0.115, 0.029, 0.046, 0.106]
    assert round(float(found.combined), 3) == 0.166
    assert round(float(found.expanded), 2) == 0.33
    assert sum(found.share(part) for part in found.components) == pytest.approx(1)


def test_sensitivity_and_divisor():
    part = Component("x", Decimal(3), divisor=2, sensitivity=-4)
    assert (part.standard, part.contribution) == (Fraction(3, 2), 6)
    assert Component("arm", 1, "u-shaped").standard ** 2 == pytest.approx(Fraction(1, 2))


@pytest.mark.parametrize("fields", [{"value": -1}, {"value": 1, "divisor": 0}, {"value": 1, "dof": 0}])
def test_components_that_cannot_be(fields):
    with pytest.raises(RangeError, match="value must be 0 or more, divisor above 0, degrees of freedom 1 or more"):
        Component("x", **fields)


def test_effective_degrees_of_freedom_by_hand():
    """(1+1)²/(1/4) = 16; equal finite parts of 4: 4/(1/4+1/4) = 8; rounded down, never below 1."""
    assert uncertainty.effective_dof([Component("a", 1, dof=4), Component("b", 1)]) == 16
    assert uncertainty.effective_dof([Component("a", 1, dof=4), Component("b", 1, dof=4)]) == 8
    assert uncertainty.effective_dof([Component("a", 1), Component("b", 1)]) is None
    assert uncertainty.effective_dof([Component("a", 0, dof=4)]) is None
    assert uncertainty.effective_dof([Component("a", 1, dof=1), Component("b", 0, dof=9)]) == 1


def test_a_whole_number_of_degrees_of_freedom_is_not_lost_to_a_root():
    """Accuracy a and resolution r rectangular, locations with variance v: (n - 1)(1 + (a²/3 + r²/12)·n/v)², exactly.

    With roots rounded to 34 digits 146 of these 1,654 budgets came out one too low.
    """
    whole = 0
    for accuracy, step, n, squares in itertools.product(range(2, 100), (10, 20), range(2, 13), range(1, 40)):
        common = Fraction(accuracy, 100) ** 2 / 3 + Fraction(1, step) ** 2 / 12
        variance = Fraction(squares, 100 * n * (n - 1))
        exact = (n - 1) * (1 + common * n / variance) ** 2
        if exact.denominator == 1:
            gauge = Gauge("mil", Fraction(accuracy, 100), resolution=Fraction(1, step))
            assert uncertainty.area_budget(gauge, Root(variance), n).effective_dof == exact
            whole += 1
    assert whole == 1654


def test_a_root_keeps_its_square():
    assert exact_square(Root.of(3)) == 3
    assert exact_square(Decimal("1.5")) == Fraction(9, 4)
    assert float(number_of(Root.of(3))) == pytest.approx(3**0.5, rel=1e-15)
    assert number_of(Decimal("1.5")) == Fraction(3, 2)


def test_a_budget_without_uncertainty():
    found = uncertainty.budget([Component("a", 0)], "mil")
    assert found.expanded == 0
    assert found.share(found.components[0]) == 0


def test_a_budget_needs_components():
    with pytest.raises(RangeError, match=r"^an uncertainty budget needs at least 1 component$"):
        uncertainty.budget([], "mil")


def test_fixed_and_computed_coverage():
    part = [Component("a", 1, dof=9)]
    assert uncertainty.budget(part, "um").coverage_factor == Fraction("2.262157163")
    assert uncertainty.budget(part, "um", coverage_factor=2).expanded == 2


def test_a_budget_states_the_confidence_it_was_expanded_with():
    found = uncertainty.budget([Component("a", 1, dof=9)], "um", confidence=99)
    assert found.confidence == 99
    assert found.coverage_factor == t_factor(9, 99)


def test_repeatability_brings_its_degrees_of_freedom():
    found = uncertainty.location_budget(Gauge("um", 0), Pooled(Fraction(4), 6), 2)
    assert found.effective_dof == 6


def test_certificate_with_its_own_factor():
    parts = uncertainty.gauge_components(Gauge("um", calibration=5, calibration_k=2))
    assert (parts[0].distribution, parts[0].standard) == ("normal", Fraction(5, 2))


def test_every_known_part_of_the_gauge_is_a_component():
    parts = uncertainty.gauge_components(Gauge("um", 5, resolution=1, film=2, shim_shift=1, shim=Fraction(1, 2)))
    assert [part.name for part in parts] == [
        "gauge accuracy",
        "gauge resolution",
        "film thickness",
        "shim check",
        "shim",
    ]
    assert [part.value for part in parts] == [5, Fraction(1, 2), 2, 1, Fraction(1, 2)]


def test_location_without_repeatability_and_without_spots():
    gauge = Gauge("um", 5)
    assert len(uncertainty.location_budget(gauge, None, 2).components) == 1
    with pytest.raises(RangeError, match="a location needs at least 1 spot, got 0"):
        uncertainty.location_budget(gauge, None, 0)


def test_limits_of_error_and_calibration_both_enter():
    """5/√3 and 3/2, neither dropped: 25/3 + 9/4."""
    parts = uncertainty.gauge_components(Gauge("um", 5, calibration=3, calibration_k=2))
    assert [(part.name, part.distribution) for part in parts] == [
        ("gauge accuracy", "rectangular"),
        ("calibration", "normal"),
    ]
    assert sum(part.variance for part in parts) == Fraction(25, 3) + Fraction(9, 4)


def test_the_scatter_of_locations_is_not_divided_by_spots():
    found = uncertainty.location_budget(Gauge("um", 0), Pooled(4, 6, "scatter of locations"), 2)
    assert (found.combined, found.components[-1].name) == (4, "scatter of locations")


@pytest.mark.parametrize("locations", [0, 1])
def test_a_mean_of_one_has_no_scatter(locations):
    with pytest.raises(RangeError, match=f"^a mean of {locations} locations has no scatter$"):
        uncertainty.area_budget(Gauge("um", 5), 1, locations)


def test_equal_scatter_of_spots_that_read_alike():
    """One spot pair without any difference proves nothing once rounding is allowed for; else it would be certain."""
    groups = [Pooled(Fraction(1, 10), 30), Pooled(0, 1)]
    assert uncertainty.homogeneity(groups)[1] == 0
    assert uncertainty.homogeneity(groups, Fraction(1, 10))[1] > 0.05
    assert uncertainty.homogeneity([Pooled(0, 3), Pooled(0, 4)]) == (0, 1)
    with pytest.raises(RangeError, match=r"^a test of equal variances needs at least 2 groups, got 1$"):
        uncertainty.homogeneity(groups[:1])


def test_groups_of_one_scatter_are_alike_whatever_floating_point_leaves():
    alike = [Pooled(Fraction(16, 25), dof) for dof in (13, 19, 28, 2)]
    assert uncertainty.homogeneity(alike) == (0, 1)


def test_area_scatter_shrinks_with_locations():
    few, many = (uncertainty.area_budget(Gauge("um", 0), 6, n) for n in (4, 9))
    assert (few.combined, many.combined) == (3, 2)
    assert (few.effective_dof, many.effective_dof) == (3, 8)


def test_pooling_by_hand():
    """Within squares 0.5 and 2 over 1 + 2 degrees of freedom."""
    pooled = uncertainty.pooled_standard_deviation([[1, 2], [1, 2, 3], [7]])
    assert pooled is not None
    assert pooled.dof == 3
    assert exact_square(pooled.standard_deviation) == Fraction(5, 6)
    assert uncertainty.pooled_standard_deviation([[1], []]) is None


@pytest.mark.parametrize(("value", "places", "printed"), [
    ("0.334", None, "0.33"), ("0.335", None, "0.34"), ("12.4", None, "12"), ("0.0996", None, "0.10"),
    ("123", None, "1.2E+2"), ("0.334", 1, "0.4"), ("0.31", 1, "0.3"), ("0.03", 1, "0.1"), ("0.334", 3, "0.334"),
    ("0", None, "0"), ("0", 2, "0.00"), ("2", 1, "2.0"), ("0.104", None, "0.10"), ("0.1052", 1, "0.1"),
    ("0.106", 1, "0.2"), ("0.0994", None, "0.099"), ("9.96", None, "10"),
])  # fmt: skip
def test_printed_uncertainty(value, places, printed):
    assert str(uncertainty.printed_uncertainty(Decimal(value), places)) == printed


@pytest.mark.parametrize("value", ["0", "-1"])
def test_no_digits_for_no_uncertainty(value):
    with pytest.raises(RangeError, match=r"^an uncertainty of zero has no significant digit$"):
        uncertainty.printed_places(Decimal(value))


def test_a_negative_uncertainty():
    with pytest.raises(RangeError, match=r"^an uncertainty is never negative$"):
        uncertainty.printed_uncertainty(-1)


def test_a_component_is_its_own_unless_said_to_be_common():
    assert not Component("a", 1).systematic
    assert Component("a", 1, divisor=Fraction(1, 2), dof=1).standard == 2


def test_a_budget_names_every_part_and_where_it_comes_from():
    gauge = Gauge("um", 5, resolution=1, film=2, shim_shift=1, shim=Fraction(1, 2))
    location = uncertainty.location_budget(gauge, Pooled(Fraction(4), 6), 1)
    area = uncertainty.area_budget(gauge, 4, 2)
    assert [(part.name, part.systematic, part.source) for part in location.components] == [
        ("gauge accuracy", True, "stated-accuracy"),
        ("gauge resolution", True, "last-digit"),
        ("film thickness", True, "iso-8503-5"),
        ("shim check", True, "shim-checks"),
        ("shim", True, "shim-certificate"),
        ("repeatability", False, "type-a"),
    ]
    assert area.components[:5] == location.components[:5]
    assert (area.components[5].name, area.components[5].source) == ("scatter of locations", "type-a")


def test_rounding_up_begins_beyond_five_percent():
    assert uncertainty.printed_uncertainty(Fraction(2, 19), 1) == Decimal("0.1")  # exactly 5 % off
    assert uncertainty.printed_uncertainty(Fraction("0.1053"), 1) == Decimal("0.2")  # 5.03 % off
    assert uncertainty.printed_uncertainty(Fraction(201, 1900), 1) == Decimal("0.2")
    assert uncertainty.printed_uncertainty(Decimal("0.345")) == Decimal("0.35")  # an exact half goes up
    assert uncertainty.printed_places(Decimal("0.0995")) == 2
    assert uncertainty.printed_uncertainty(Fraction("3.34e-8"), 8) == Decimal("4e-8")
    assert uncertainty.printed_places(Decimal("0.09949")) == 3


def test_the_step_widens_each_variance_by_that_of_rounding():
    """Bartlett by scipy of samples with the variances 0 + 9/12 and 1 + 9/12, six values each, for a step of 3."""
    base = stats.zscore([1.0, 2.0, 4.0, 5.0, 7.0, 11.0], ddof=1)
    expected = stats.bartlett(base * math.sqrt(9 / 12), base * math.sqrt(21 / 12))
    found = uncertainty.homogeneity([Pooled(0, 5), Pooled(1, 5)], 3)
    assert found == pytest.approx((expected.statistic, expected.pvalue))


def test_what_is_known_of_an_instrument():
    assert [Errors("%", 3).known, Errors("%", None, 2, 2).known, Errors("%", resolution=1).known] == [
        True,
        False,
        False,
    ]
    assert uncertainty.instrument_components("humidity", Errors("%")) == ()
    (certified,) = uncertainty.instrument_components("humidity", Errors("%", None, 2, 2))
    assert (certified.standard, certified.distribution, certified.source) == (1, "normal", "calibration-certificate")


def test_a_certificate_is_common_to_all_locations():
    (part,) = uncertainty.gauge_components(Gauge("um", calibration=2))
    assert (part.standard, part.systematic, part.source) == (1, True, "calibration-certificate")


@pytest.mark.parametrize(
    ("expanded", "places"), [("0.0994", 3), ("0.0995", 2), ("0.0996", 2), ("9.949", 1), ("9.95", 0)]
)
def test_a_third_digit_that_rounds_to_a_whole_power_leaves_two(expanded, places):
    """Half up: 0.0995 is printed as 0.10, with two digits."""
    assert uncertainty.printed_places(Fraction(expanded)) == places


def test_a_scatter_is_compared_with_the_stated_one_by_their_ratio():
    """A ratio of 1.44 of variances of 1000 degrees of freedom is no chance, in any unit; less never exceeds."""
    many = 1000
    for scale in (1, 7, Fraction(1, 7)):
        assert uncertainty.exceeds(Pooled(Fraction("1.2") * scale, many), Pooled(scale, many))
        assert not uncertainty.exceeds(Pooled(scale, many), Pooled(Fraction("1.2") * scale, many))
        assert not uncertainty.exceeds(Pooled(scale, many), Pooled(scale, many))


def test_components_of_an_instrument_keep_the_unit_they_are_stated_in():
    parts = uncertainty.instrument_components("air", Errors("delta_degC", 1, 1, 2, resolution=1), 3)
    assert {(part.unit, part.sensitivity) for part in parts} == {("delta_degC", 3)}


def test_a_component_is_normal_random_and_whole_unless_it_says_otherwise():
    part = Component("x", 3)
    assert (part.distribution, part.sensitivity, part.systematic, part.standard) == ("normal", 1, False, 3)
    assert (Pooled(1, 2).of, Pooled(1, 2).source, Gauge("um").calibration_k) == ("repeatability", "type-a", 2)


@pytest.mark.parametrize(
    ("shares", "depends"),
    [({}, False), ({"accuracy_share": Fraction(1, 100)}, True), ({"calibration_share": Fraction(1, 100)}, True)],
)
def test_the_errors_of_a_gauge_depend_on_its_reading_where_a_share_of_it_is_stated(shares, depends):
    assert Gauge("um", 5, 1, **shares).of_reading is depends
