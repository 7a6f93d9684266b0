"""Verdicts at the limit, half a digit below and above it, under every rule."""

import functools
from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import QuantityError, RangeError
from reportgen.metrology import conformity
from reportgen.metrology.conformity import Limits, decide, judge
from reportgen.metrology.exact import square_root
from reportgen.units import Quantity


def mil(text):
    return Quantity(Decimal(text), "mil")


RANGE = Limits(mil("2.0"), mil("3.5"))
PASS, FAIL, OPEN = "conforms", "does not conform", "inconclusive"


@pytest.mark.parametrize(("value", "rounding", "verdict", "compared", "side"), [
    # at the minimum and half a digit about it
    ("1.95", "half-even", PASS, "2.0", None), ("1.95", "half-up", PASS, "2.0", None),
    ("1.95", "none", FAIL, "1.95", "below-minimum"), ("1.94", "half-even", FAIL, "1.9", "below-minimum"),
    ("1.949", "half-up", FAIL, "1.9", "below-minimum"), ("2.0", "none", PASS, "2.0", None),
    ("2.05", "half-even", PASS, "2.0", None), ("2.05", "half-up", PASS, "2.1", None),
    # at the maximum and half a digit about it
    ("3.55", "half-even", FAIL, "3.6", "above-maximum"), ("3.55", "half-up", FAIL, "3.6", "above-maximum"),
    ("3.549", "half-even", PASS, "3.5", None), ("3.5", "none", PASS, "3.5", None),
    ("3.51", "none", FAIL, "3.51", "above-maximum"), ("3.4999", "none", PASS, "3.5", None),
    ("1.9999", "none", FAIL, "1.9999", "below-minimum"),
    ("3.45", "half-even", PASS, "3.4", None), ("3.45", "half-up", PASS, "3.5", None),
])  # fmt: skip
def test_simple_acceptance_at_the_limits(value, rounding, verdict, compared, side):
    found = judge(mil(value), RANGE, rounding=rounding)
    assert (found.verdict, str(found.compared), found.side) == (verdict, compared, side)
    assert not found.guarded
    assert found.expanded is None


def test_half_to_even_differs_from_half_up_at_a_limit():
    limit = Limits(maximum=mil("2.2"))
    assert judge(mil("2.25"), limit, rounding="half-even").verdict == PASS
    assert judge(mil("2.25"), limit, rounding="half-up").verdict == FAIL


@pytest.mark.parametrize(("value", "guarded", "banded", "band"), [
    ("2.4", PASS, PASS, "pass"), ("2.331", PASS, PASS, "pass"), ("2.33", OPEN, OPEN, "conditional pass"),
    ("2.0", OPEN, OPEN, "conditional pass"), ("1.94", FAIL, OPEN, "conditional fail"),
    ("1.669", FAIL, OPEN, "conditional fail"), ("1.668", FAIL, FAIL, "fail"),
    ("3.169", PASS, PASS, "pass"), ("3.17", OPEN, OPEN, "conditional pass"), ("3.84", FAIL, FAIL, "fail"),
])  # fmt: skip
@pytest.mark.parametrize("rounding", ["half-even", "half-up", "none"])
def test_guard_bands(value, guarded, banded, band, rounding):
    expanded = mil("0.331")
    strict = judge(mil(value), RANGE, rule="guarded", rounding=rounding, expanded=expanded)
    open_ = judge(mil(value), RANGE, rule="banded", rounding=rounding, expanded=expanded)
    assert (strict.verdict, open_.verdict, open_.band) == (guarded, banded, band)
    assert strict.guarded
    assert (strict.side is None) == (band == "pass")
    again = judge(Quantity(strict.shown, "mil"), RANGE, rule="guarded", rounding=rounding,
                  expanded=Quantity(strict.expanded, "mil"))  # fmt: skip
    assert (again.verdict, again.band) == (guarded, band)


def test_more_digits_of_both_are_printed_where_two_would_show_another_verdict():
    """2.33 less 0.331 lies below 2.0; printed as 2.33 and 0.33 it would seem to lie on it."""
    found = judge(mil("2.33"), RANGE, rule="guarded", rounding="none", expanded=mil("0.331"), places=2)
    assert (found.verdict, str(found.shown), str(found.expanded)) == (OPEN, "2.330", "0.331")
    plain = judge(mil("2.32"), RANGE, rule="guarded", rounding="none", expanded=mil("0.331"), places=2)
    assert (plain.verdict, str(plain.shown), str(plain.expanded)) == (OPEN, "2.32", "0.33")
    coarse = judge(mil("2.4"), RANGE, rule="guarded", rounding="none", expanded=mil("0.312"), places=4)
    assert (str(coarse.shown), str(coarse.expanded)) == ("2.4000", "0.31")


@pytest.mark.parametrize("rounding", ["half-even", "half-up"])
def test_under_a_guard_band_the_rounding_method_says_what_is_within_the_limits(rounding):
    """1.96 rounds to 2.0 and does not fail; it is not accepted either, as no rounding stands in for the guard band."""
    found = judge(mil("1.96"), RANGE, rule="guarded", rounding=rounding, expanded=mil("0.01"))
    assert (found.verdict, found.side, str(found.shown), str(found.compared)) == (OPEN, "below-minimum", "1.960", "2.0")
    assert judge(mil("1.96"), RANGE, rule="guarded", rounding="none", expanded=mil("0.01")).verdict == FAIL
    assert judge(mil("2.26"), RANGE, rule="guarded", rounding=rounding, expanded=mil("0.3")).verdict == OPEN


def test_a_guard_band_needs_an_uncertainty():
    with pytest.raises(RangeError, match="the decision rule `guarded` needs an expanded uncertainty"):
        judge(mil("2.4"), RANGE, rule="guarded")


def test_no_uncertainty_at_all_is_a_guard_band_of_zero():
    found = judge(mil("2.0"), RANGE, rule="banded", expanded=mil("0"))
    assert (found.verdict, found.expanded, found.guarded) == (PASS, 0, True)
    assert judge(mil("1.9"), RANGE, rule="banded", expanded=mil("0")).band == "fail"


def test_the_uncertainty_prints_to_the_digit_of_the_value():
    assert judge(mil("2.4"), RANGE, expanded=mil("0.331")).expanded == Decimal("0.4")  # 0.3 would take 9 % off
    assert judge(mil("2.4"), RANGE, expanded=mil("0.312")).expanded == Decimal("0.3")
    assert judge(mil("2.4"), RANGE, expanded=mil("0.312"), rounding="none").expanded == Decimal("0.31")
    found = judge(mil("1.99999"), RANGE, expanded=mil("0.312"), rounding="none")
    assert (str(found.compared), str(found.expanded)) == ("1.99999", "0.31")


@pytest.mark.parametrize("rounding", ["half-even", "none"])
@pytest.mark.parametrize("expanded", [None, "12"])
def test_whole_micrometres_stay_whole(rounding, expanded):
    """By limits without decimals, where no more digits are needed to show the side."""
    um = {text: Quantity(Decimal(text), "um") for text in ("50", "100", "76.4", "12")}
    found = judge(um["76.4"], Limits(um["50"], um["100"]), rounding=rounding, expanded=um.get(expanded))
    assert str(found.shown) == "76"


def test_by_the_simple_rule_an_uncertainty_moves_nothing():
    found = judge(mil("2.1"), Limits(mil("2.0"), mil("3.5")), expanded=mil("0.3"))
    assert (found.band, found.guarded, found.verdict) == ("pass", False, "conforms")


def test_without_any_uncertainty_the_exact_value_decides_the_probability():
    """1.96 rounds to 2.0: that it may be reported so does not make it probable."""
    limits = Limits(mil("2.0"), mil("3.5"))
    found = [conformity.probability_of_conformity(mil(text), mil("0"), limits) for text in ("1.96", "2.0", "3.54")]
    assert found == [0, 1, 0]


def test_one_converted_limit_of_two_is_refused():
    with pytest.raises(RangeError, match="a limit is judged as it is written"):
        Limits(mil("2.0"), Quantity(Fraction(7, 2), "mil"))


def test_the_absolute_method_prints_what_it_decided():
    found = judge(Quantity(Fraction(2) - Fraction(1, 10**7), "mil"), RANGE, rounding="none")
    assert (found.verdict, str(found.compared)) == (FAIL, "1.9999999")


def test_one_sided_limits():
    assert judge(mil("9.9"), Limits(minimum=mil("2.0"))).verdict == PASS
    assert judge(mil("0.1"), Limits(maximum=mil("2.0"))).verdict == PASS
    assert judge(mil("2.1"), Limits(maximum=mil("2.0"))).side == "above-maximum"


def test_judged_in_the_unit_of_the_limits():
    micrometres = Limits(Quantity(Decimal(50), "um"), Quantity(Decimal(75), "um"))
    found = judge(mil("1.96"), micrometres)  # 49.784 um
    assert (found.verdict, str(found.compared), found.unit) == (PASS, "50", "um")
    with pytest.raises(QuantityError):
        judge(Quantity(Decimal(2), "h"), RANGE)


def test_the_finer_limit_sets_the_digits():
    assert Limits(mil("2"), mil("3.5")).places == 1
    assert str(judge(mil("1.96"), Limits(mil("2"), mil("3.5"))).compared) == "2.0"


def test_an_excluded_maximum_belongs_to_the_next_grade():
    grade = Limits(Quantity(Decimal(25), "um"), Quantity(Decimal(60), "um"), excludes_maximum=True)
    at = Quantity(Decimal(60), "um")
    assert judge(at, grade).verdict == FAIL
    assert judge(at, grade).side == "above-maximum"
    assert judge(at, grade, rule="banded", expanded=Quantity(Decimal(5), "um")).band == "conditional fail"
    below = judge(Quantity(Decimal("59.99"), "um"), grade, rounding="none")
    assert (below.verdict, str(below.compared)) == (PASS, "59.99")
    assert judge(Quantity(Decimal("59.6"), "um"), grade).verdict == FAIL
    assert (
        judge(Quantity(Decimal(99), "um"), Limits(Quantity(Decimal(25), "um"), None, excludes_maximum=True)).verdict
        == PASS
    )


@pytest.mark.parametrize(("fields", "message"), [
    ({}, "a requirement needs a minimum or a maximum"),
    ({"minimum": mil("2"), "maximum": Quantity(Decimal(75), "um")},
     "minimum and maximum must be stated in one unit, got 2 mil and 75 µm"),
    ({"minimum": mil("2.0").to("um")},
     "a limit is judged as it is written: a converted one has no last digit to round to"),
    ({"minimum": mil("3.5"), "maximum": mil("2.0")}, "the minimum 3.5 mil is above the maximum 2.0 mil"),
])  # fmt: skip
def test_limits_that_cannot_be(fields, message):
    with pytest.raises(RangeError) as caught:
        Limits(**fields)
    assert caught.value.message == message


def test_probability_without_uncertainty_and_with_one_side():
    none = mil("0")
    assert conformity.probability_of_conformity(mil("2.0"), none, RANGE) == 1
    assert conformity.probability_of_conformity(mil("1.9"), none, RANGE) == 0
    assert conformity.probability_of_conformity(mil("2.0"), mil("0.1"), Limits(minimum=mil("2.0"))) == Fraction(1, 2)
    assert conformity.probability_of_conformity(mil("2.0"), mil("0.1"), Limits(maximum=mil("2.0"))) == Fraction(1, 2)
    with pytest.raises(RangeError, match=r"^an uncertainty is never negative$"):
        conformity.probability_of_conformity(mil("2.0"), mil("-0.1"), RANGE)


@pytest.mark.parametrize(("parts", "whole"), [
    ([], "not evaluated"), ([PASS], PASS), ([PASS, FAIL, OPEN], FAIL), ([PASS, OPEN], OPEN),
    ([PASS, "not evaluated"], OPEN), (["not evaluated"], "not evaluated"), ([FAIL, "not evaluated"], FAIL),
    (["not evaluated", OPEN], OPEN),
])  # fmt: skip
def test_combined_verdict(parts, whole):
    assert conformity.combined_verdict(parts) == whole


@pytest.mark.parametrize(
    ("value", "rule", "verdict"),
    [
        ("2.1", "simple", PASS), ("1.9", "simple", FAIL), ("2.1", "guarded", OPEN), ("1.9", "guarded", FAIL),
        ("2.1", "banded", OPEN), ("1.9", "banded", OPEN),
    ],
)  # fmt: skip
def test_without_an_uncertainty_only_what_no_uncertainty_could_change_is_decided(value, rule, verdict):
    found = decide(mil(value), RANGE, rule=rule, rounding="none", expanded=None, places=1)
    assert (found.verdict, str(found.judgement.shown)) == (verdict, value)


@pytest.mark.parametrize("rule", ["guarded", "banded"])
def test_with_an_uncertainty_the_rule_decides_as_ever(rule):
    for value in ("2.1", "2.4", "1.9"):
        found = decide(mil(value), RANGE, rule=rule, rounding="none", expanded=mil("0.3"))
        assert found.verdict == judge(mil(value), RANGE, rule=rule, rounding="none", expanded=mil("0.3")).verdict


@pytest.mark.parametrize(("rule", "verdict"), [("guarded", FAIL), ("banded", OPEN)])
def test_a_value_outside_by_u_where_u_is_a_root_that_came_out_a_little_smaller(rule, verdict):
    """Salts of 56 against 50 mg/m², U 6 from two equal parts: judged and printed as 6, at once."""
    of = functools.partial(Quantity, unit="mg/m2")
    root = square_root(Fraction(2)) * square_root(Fraction(18))
    assert 0 < 6 - root < Fraction(1, 10**30)
    found = judge(of(Decimal(56)), Limits(maximum=of(Decimal(50))), rule=rule, rounding="none", expanded=of(root))
    assert (found.band, str(found.shown), str(found.expanded)) == ("conditional fail", "56.0", "6.0")
    assert found.verdict == verdict
