"""Net readings, pre-sets, plausibility, schemes and advice."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import RangeError
from reportgen.metrology import tape
from reportgen.units import Quantity


def quantity(text, unit="mil"):
    return Quantity(Decimal(text), unit)


def test_net_reading_keeps_the_digits_as_written():
    assert str(tape.net_reading(quantity("4.20"), "included")) == "2.20 mil"
    assert str(tape.net_reading(quantity("2.20"), "subtracted")) == "2.20 mil"
    assert tape.net_reading(quantity("2.0"), "included").exact == 0


def test_net_reading_of_a_computed_quantity_stays_exact():
    assert tape.net_reading(Quantity(Fraction(7, 3), "mil"), "included").magnitude == Fraction(1, 3)


SAY_WHICH = "say `film: subtracted` where the gauge was pre-set, `film: included` where it was not"


@pytest.mark.parametrize(("text", "unit", "film", "message", "remedy"), [
    ("1.9", "mil", "included", "the reading 1.9 mil is less than the film, 2.0 mil", SAY_WHICH),
    ("49", "um", "included", "the reading 49 µm is less than the film, 50 µm", SAY_WHICH),
    ("-0.1", "mil", "subtracted", "the reading -0.1 mil is less than 0 mil", SAY_WHICH),
    ("0.055", "mm", "included", "tape is read in mil or um, got mm", None),
])  # fmt: skip
def test_net_reading_below_zero_is_an_entry_error(text, unit, film, message, remedy):
    with pytest.raises(RangeError) as caught:
        tape.net_reading(quantity(text, unit), film)
    assert (caught.value.message, caught.value.help_text) == (message, remedy)


@pytest.mark.parametrize(("text", "unit", "highest"), [
    ("6.1", "mil", "6 mil"), ("156", "um", "155 µm"), ("-0.1", "mil", "6 mil"), ("0.156", "mm", "155 µm"),
    ("1", "in", "155 µm"),
])  # fmt: skip
def test_implausible_heights(text, unit, highest):
    with pytest.raises(RangeError, match="is outside what replica tape can read") as caught:
        tape.check_plausible(quantity(text, unit))
    expected = f"expected a height from 0 to {highest} without the film; is the unit right?"
    assert caught.value.help_text == expected


@pytest.mark.parametrize(("text", "unit"), [("0", "mil"), ("6.0", "mil"), ("155", "um"), ("0.155", "mm")])
def test_plausible_heights(text, unit):
    tape.check_plausible(quantity(text, unit))


def test_the_window_is_the_overlap_of_the_ranges_in_each_unit():
    assert tape.tape_scheme("average", "mil").window == tape.GradeRange(Fraction("1.5"), Fraction("2.5"))
    assert tape.tape_scheme("single-grade", "um").window == tape.GradeRange(Fraction(38), Fraction(64))


def test_the_older_ranges_belong_to_the_rule_without_averaging():
    scheme = tape.tape_scheme("non-averaging", "mil")
    assert scheme.ranges["coarse"] == tape.GradeRange(Fraction("0.8"), Fraction(2))
    assert scheme.changeover == 2
    assert scheme.window.maximum == Fraction("2.5")
    assert tape.tape_scheme("non-averaging", "um").changeover == 50


def test_the_contract_may_state_other_ranges():
    own = (("coarse", Fraction(20), Fraction(60)), ("extra coarse", Fraction(40), Fraction(115)))
    scheme = tape.tape_scheme("average", "um", own)
    assert scheme.window == tape.GradeRange(Fraction(40), Fraction(60))
    assert scheme.zone(Fraction(39)) == "below"
    assert tape.tape_scheme("non-averaging", "um", own).changeover == 60


@pytest.mark.parametrize(("unit", "ranges", "message"), [
    ("mm", (), "tape is read in mil or um, got mm"),
    ("mil", (("coarse", Fraction(1), Fraction(2)),),
     "ranges of the grades coarse and extra coarse are needed, got coarse"),
    ("mil", (("coarse", Fraction(1), Fraction(2)), ("fine", Fraction(0), Fraction(1))),
     "ranges of the grades coarse and extra coarse are needed, got coarse, fine"),
    ("mil", (("coarse", Fraction(1), Fraction(2)), ("extra coarse", Fraction(3), Fraction(4))),
     "the ranges of the two grades do not overlap"),
])  # fmt: skip
def test_schemes_that_cannot_be(unit, ranges, message):
    with pytest.raises(RangeError) as caught:
        tape.tape_scheme("average", unit, ranges)
    assert caught.value.message == message


@pytest.mark.parametrize(("minimum", "maximum", "grade"), [
    ("2.0", "3.5", "extra coarse"), ("1.5", "2.5", "coarse"), ("1.0", None, "coarse"), (None, "3.5", "extra coarse"),
    ("2.325", "2.325", "coarse"),  # equally far from both mid-ranges
    ("2.33", "2.33", "extra coarse"),
])  # fmt: skip
def test_advice(minimum, maximum, grade):
    limits = [None if text is None else quantity(text) for text in (minimum, maximum)]
    assert tape.advised_grade(*limits, tape.tape_scheme("average", "mil")).grade == grade


def test_advice_states_the_middle_of_the_range_in_the_gauges_unit():
    advice = tape.advised_grade(quantity("2.0"), quantity("3.0"), tape.tape_scheme("average", "um"))
    assert (advice.grade, str(advice.middle)) == ("extra coarse", "63.5 µm")


def test_advice_needs_a_limit():
    with pytest.raises(RangeError, match=r"^advice on the grade needs a minimum or a maximum$"):
        tape.advised_grade(None, None, tape.tape_scheme("average", "mil"))


def test_ranges_that_only_touch_have_a_window_of_one_height():
    touching = (("coarse", Fraction(1), Fraction(2)), ("extra coarse", Fraction(2), Fraction(4)))
    assert tape.tape_scheme("average", "mil", touching).window == tape.GradeRange(Fraction(2), Fraction(2))
