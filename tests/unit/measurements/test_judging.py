"""What the kinds of measurement share: a value against its limits, its uncertainty as stated, errors of instruments."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.job import Instrument
from reportgen.measurements.judging import beside_value, errors_at, judged
from reportgen.measurements.uncertain import Uncertainty, errors_of, widest
from reportgen.metrology.conformity import Limits
from reportgen.metrology.uncertainty import Component, Errors, budget
from reportgen.results.facts import Amount
from reportgen.units import Quantity


def of(text, unit="uS/cm"):
    return Quantity(Decimal(text), unit)


def instrument(**stated):
    return Instrument.model_validate({"kind": "conductivity meter", "serial": "1", **stated})


def known_to(standard, unit="uS/cm"):
    """An uncertainty of so many standard deviations, infinitely many degrees of freedom: U = 1.96 times it."""
    return Uncertainty("conductivity", budget([Component("meter", Fraction(standard))], unit))


AT_MOST = Limits(None, of("250"))

# A value against its limit


@pytest.mark.parametrize(
    ("value", "rule", "verdict", "near", "expanded"),
    [
        ("230", "guarded", "conforms", "pass", "20"), ("240", "guarded", "inconclusive", "conditional pass", "20"),
        ("260", "guarded", "does not conform", "conditional fail", "20"),
        ("260", "banded", "inconclusive", "conditional fail", "20"),
        ("270", "banded", "does not conform", "fail", "19.6"),  # beside 20 it would look like a conditional fail
        ("240", "simple", "conforms", None, "20"), ("260", "simple", "does not conform", None, "20"),
    ],
)  # fmt: skip
def test_a_value_is_near_its_limit_by_a_rule_that_was_applied(value, rule, verdict, near, expanded):
    """U is 19.6 about 250; the bands are those of ILAC-G8."""
    found = judged(of(value), "uS/cm", AT_MOST, rule, known_to(10), 0)
    assert (found.verdict, found.near, found.expanded) == (verdict, near, Decimal(expanded))
    assert found.factor == Decimal("1.96")


@pytest.mark.parametrize(("rule", "value", "verdict"), [
    ("guarded", "240", "inconclusive"), ("guarded", "260", "does not conform"), ("simple", "240", "conforms"),
])  # fmt: skip
def test_a_rule_that_needs_an_uncertainty_and_has_none_was_not_applied(rule, value, verdict):
    found = judged(of(value), "uS/cm", AT_MOST, rule, None, 0)
    assert (found.verdict, found.near, found.expanded, found.factor) == (verdict, None, None, None)
    assert (found.probability, found.uncertainty) == (None, None)


def test_without_limits_a_value_is_not_evaluated_and_its_uncertainty_is_stated():
    found = judged(of("240.26"), "uS/cm", None, "guarded", known_to(10), 1)
    assert (found.verdict, found.shown, found.near, found.probability) == (
        "not evaluated",
        Decimal("240.3"),
        None,
        None,
    )
    assert (found.expanded, found.factor) == (Decimal(20), Decimal("1.96"))


@pytest.mark.parametrize(
    ("expanded", "places", "printed"),
    [("19.6", 0, "20"), ("19.6", 2, "20"), ("1.96", 0, "2"), ("1.96", 1, "2.0"), ("1.96", 3, "2.0"),
     ("0.196", 1, "0.2"), ("196", 1, "196"), ("0", 1, "0.0"), ("0", 0, "0")],
)  # fmt: skip
def test_an_uncertainty_is_printed_with_no_more_digits_than_its_value(expanded, places, printed):
    assert str(beside_value(Fraction(expanded), places)) == printed


# The uncertainty as stated


def test_a_budget_is_stated_with_a_digit_more_than_its_expanded_uncertainty():
    """3 with 9 d.o.f. twice and 1/√3 once: u² = 36 1/3, u = 6.028; k = 2.26 at 9 · 36.3²/36² = 9.2, so 9; U = 13.6."""
    parts = [
        Component("meter", 3, sensitivity=2, dof=9, source="type-a"),
        Component("volume of water", Fraction(1), "rectangular", sensitivity=Fraction("-1.00049"), unit="ml"),
    ]
    stated = Uncertainty("salts", budget(parts, "mg/m2")).stated
    assert (stated.quantity.key, stated.unit, stated.effective_degrees_of_freedom) == ("salts", "mg/m2", 9)
    assert (str(stated.standard_uncertainty), str(stated.coverage_factor), str(stated.expanded_uncertainty)) == (
        "6.0",
        "2.26",
        "14",
    )
    first, second = stated.lines
    assert (first.value, second.value) == (Amount(Decimal(3), "mg/m2"), Amount(Decimal(1), "ml"))
    assert [str(one) for one in (second.divisor, second.sensitivity, second.contribution)] == ["1.732", "-1.000", "0.6"]
    assert [str(one) for one in (first.share, second.share)] == ["99.1", "0.9"]
    assert (first.degrees_of_freedom, second.degrees_of_freedom) == (9, None)


def test_a_small_uncertainty_is_stated_with_two_digits_and_none_with_no_digit():
    small = known_to(Fraction("0.0123")).stated
    assert (str(small.standard_uncertainty), str(small.expanded_uncertainty)) == ("0.0123", "0.024")
    nothing = known_to(0).stated
    assert (str(nothing.standard_uncertainty), str(nothing.expanded_uncertainty)) == ("0.0", "0")
    assert str(nothing.lines[0].share) == "0.0"


@pytest.mark.parametrize(("number", "printed"), [("0.5", "0.5"), ("0.125", "0.125"), ("3", "3"), ("1/3", "0.3333"),
                                                 ("0.00005", "0.0000"), ("0.0625", "0.0625")])  # fmt: skip
def test_an_error_keeps_its_own_digits_up_to_four(number, printed):
    (line,) = known_to(Fraction(number)).stated.lines
    assert str(line.value.value) == printed


# Errors of instruments


def test_errors_at_a_reading_are_shares_of_it_or_of_its_own_kind():
    one = instrument(accuracy="2 %", resolution="0.1 uS/cm", uncertainty="1 uS/cm", coverage_factor="2")
    assert errors_at(one, of("-40"), "uS/cm") == Errors("uS/cm", Fraction("0.8"), 1, 2, Fraction("0.1"))
    assert errors_at(one, of("4", "mS/m"), "uS/cm").accuracy == Fraction("0.8")
    assert errors_at(None, of("40"), "uS/cm") == Errors("uS/cm")
    assert errors_at(one, of("40", "mg/m2"), "mg/m2") == Errors("mg/m2", Fraction("0.8"))


def test_a_share_of_the_reading_is_added_to_the_fixed_part():
    """1 µS/cm + 2 % of 40 µS/cm = 1.8 µS/cm; U = 0.5 + 1 % = 0.9 µS/cm."""
    one = instrument(accuracy="1 uS/cm", accuracy_of_reading="2 %", uncertainty="0.5 uS/cm",
                     uncertainty_of_reading="1 %", coverage_factor="2")  # fmt: skip
    assert errors_at(one, of("40"), "uS/cm") == Errors("uS/cm", Fraction("1.8"), Fraction("0.9"), 2)
    alone = instrument(accuracy_of_reading="2 %")
    assert errors_at(alone, of("-40"), "uS/cm") == Errors("uS/cm", Fraction("0.8"))
    assert errors_at(one, of("40", "mg/m2"), "mg/m2") == Errors("mg/m2"), "of a fixed part of another kind not half"
    barometer = instrument(kind="barometer", accuracy_of_reading="0.5 %")
    assert errors_of(barometer, "hPa", Fraction(1000)) == Errors("hPa", 5)


def test_a_certificate_of_another_kind_brings_no_coverage_factor():
    psychrometer = instrument(accuracy="3 %", uncertainty="0.3 delta_degC", coverage_factor="2", resolution="1 %",
                              kind="hygrometer", temperature_accuracy="0.5 delta_degC")  # fmt: skip
    assert errors_of(psychrometer, "%") == Errors("%", 3, None, None, 1)
    assert errors_of(psychrometer, "delta_degC") == Errors("delta_degC", Fraction("0.5"), Fraction("0.3"), 2)
    thermometer = instrument(accuracy="0.2 delta_degC", kind="surface thermometer")
    assert errors_of(thermometer, "delta_degC") == Errors("delta_degC", Fraction("0.2"))
    assert errors_of(thermometer, "%") == Errors("%")


def test_of_several_instruments_the_widest_stands_and_one_unknown_makes_all_so():
    fine, coarse = Errors("%", 2, resolution=1), Errors("%", 2, resolution=3)
    assert widest("humidity", [fine, coarse]) == widest("humidity", [coarse, fine]) == coarse
    assert widest("humidity", []) is None
    assert widest("humidity", [fine, Errors("%", resolution=1)]) is None
    assert widest("humidity", [Errors("%"), Errors("%")]) is None
