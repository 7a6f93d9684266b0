"""Every state of the rule for two grades, in both units."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import RangeError
from reportgen.metrology.overlap import spot_result
from reportgen.metrology.tape import tape_scheme

C, X = "coarse", "extra coarse"

AVERAGE = [
    # one reading
    ([(X, "2.2")], None, "second-missing", C),
    ([(C, "2.2")], None, "second-missing", X),
    ([(C, "1.5")], None, "second-missing", X),
    ([(C, "1.49")], "1.49", "recorded-as-taken", None),
    ([(X, "2.51")], "2.51", "recorded-as-taken", None),
    ([(C, "0.8")], "0.8", "recorded-as-taken", None),
    ([(X, "4.5")], "4.5", "recorded-as-taken", None),
    ([(C, "0.7")], None, "outside-grade-range", None),
    ([(X, "4.6")], None, "outside-grade-range", None),
    ([(C, "2.6")], None, "outside-grade-range", X),
    ([(X, "1.4")], None, "outside-grade-range", C),
    # both inside, ends included
    ([(X, "2.2"), (C, "1.6")], "1.9", "averaged", None),
    ([(C, "1.5"), (X, "2.5")], "2.0", "averaged", None),
    ([(C, "2.5"), (X, "2.5")], "2.5", "averaged", None),
    # first inside, second outside
    ([(X, "2.2"), (C, "1.4")], "1.4", "second-governs", None),
    ([(C, "2.2"), (X, "2.7")], "2.7", "second-governs", None),
    # the second out of its own grade's range decides nothing
    ([(X, "2.2"), (C, "2.7")], None, "outside-grade-range", None),
    ([(C, "1.6"), (X, "1.4")], None, "outside-grade-range", None),
    # first outside and valid: it stands whatever the second says on its side
    ([(X, "3.1"), (C, "2.3")], "3.1", "recorded-as-taken", None),
    ([(C, "1.4"), (X, "1.7")], "1.4", "recorded-as-taken", None),
    ([(X, "3.1"), (C, "2.9")], "3.1", "recorded-as-taken", None),
    # first out of its range, second valid on the same side
    ([(C, "2.9"), (X, "3.1")], "3.1", "second-governs", None),
    ([(X, "1.2"), (C, "1.3")], "1.3", "second-governs", None),
    # first out of its range, second inside or out of range too
    ([(C, "2.6"), (X, "2.4")], None, "outside-grade-range", None),
    ([(C, "5.0"), (X, "5.0")], None, "outside-grade-range", None),
    # opposite sides, in any order, in range or not
    ([(X, "2.6"), (C, "1.4")], None, "contradictory", None),
    ([(C, "1.4"), (X, "2.6")], None, "contradictory", None),
    ([(C, "2.9"), (X, "1.4")], None, "contradictory", None),
    # repeats
    ([(X, "2.2"), (X, "2.2")], None, "second-missing", C),
    ([(X, "2.2"), (X, "2.3")], None, "contradictory", None),
    ([(X, "3.1"), (X, "3.1")], "3.1", "recorded-as-taken", None),
    ([(X, "2.2"), (X, "2.2"), (C, "1.6")], "1.9", "averaged", None),
    ([(X, "2.2"), (C, "1.6"), (C, "1.7")], None, "contradictory", None),
    ([(X, "2.2"), (C, "1.4"), (X, "2.2")], "1.4", "second-governs", None),
]

NON_AVERAGING = [
    ([(C, "1.9")], "1.9", "recorded-as-taken", None),
    ([(C, "2.0")], None, "second-missing", X),
    ([(C, "2.9")], None, "second-missing", X),
    ([(C, "0.7")], None, "outside-grade-range", None),
    ([(X, "1.6")], "1.6", "recorded-as-taken", None),
    ([(X, "1.5")], "1.5", "recorded-as-taken", None),
    ([(X, "1.4")], None, "second-missing", C),
    ([(X, "3.0")], "3.0", "recorded-as-taken", None),
    ([(X, "4.5")], "4.5", "recorded-as-taken", None),
    ([(X, "3.5"), (C, "2.6")], "3.5", "recorded-as-taken", None),
    ([(C, "2.2"), (X, "2.8")], "2.8", "second-governs", None),
    ([(X, "4.6")], None, "outside-grade-range", None),
    ([(C, "2.1"), (X, "2.4")], "2.4", "second-governs", None),
    ([(X, "2.4"), (C, "2.1")], "2.4", "recorded-as-taken", None),
    ([(C, "2.1"), (X, "4.7")], None, "outside-grade-range", None),
    ([(C, "2.1"), (X, "1.4")], None, "contradictory", None),
    ([(X, "1.4"), (C, "2.1")], None, "contradictory", None),
    ([(X, "1.4"), (C, "1.3")], "1.3", "second-governs", None),
    ([(C, "1.3"), (X, "1.4")], "1.3", "recorded-as-taken", None),
    ([(X, "1.4"), (C, "0.7")], None, "outside-grade-range", None),
    ([(X, "2.2"), (C, "1.6")], "1.6", "second-governs", None),
    ([(C, "1.6"), (X, "2.2")], "1.6", "recorded-as-taken", None),
    ([(C, "1.6"), (X, "3.5")], None, "contradictory", None),
    ([(C, "0.7"), (X, "1.6")], None, "outside-grade-range", None),
]

SINGLE_GRADE = [
    ([(X, "2.2")], "2.2", "recorded-as-taken", None),
    ([(C, "2.5")], "2.5", "recorded-as-taken", None),
    ([(C, "2.6")], None, "outside-grade-range", X),
    ([(X, "2.2"), (C, "1.6")], "2.2", "recorded-as-taken", None),
    ([(C, "2.6"), (X, "2.7")], "2.7", "second-governs", None),
    ([(X, "2.6"), (C, "1.4")], None, "contradictory", None),
    ([(C, "2.6"), (X, "4.7")], None, "outside-grade-range", None),
]

CASES = [
    (rule, *case)
    for rule, cases in (("average", AVERAGE), ("non-averaging", NON_AVERAGING), ("single-grade", SINGLE_GRADE))
    for case in cases
]


@pytest.mark.parametrize(("rule", "readings", "profile", "how", "next_grade"), CASES)
def test_states(rule, readings, profile, how, next_grade):
    result = spot_result([(grade, Decimal(text)) for grade, text in readings], tape_scheme(rule, "mil"))
    assert result.how == how
    assert result.profile == (None if profile is None else Fraction(profile))
    assert result.next_grade == next_grade
    assert bool(result.used) == (profile is not None)
    assert isinstance(result.used, tuple)


METRIC = [
    ([(X, 56), (C, 41)], Fraction("48.5"), "averaged"),
    ([(X, 64), (C, 38)], Fraction(51), "averaged"),
    ([(X, 56), (C, 37)], Fraction(37), "second-governs"),
    ([(X, 65)], Fraction(65), "recorded-as-taken"),
    ([(C, 37)], Fraction(37), "recorded-as-taken"),
    ([(X, 65), (C, 37)], None, "contradictory"),
    ([(X, 56)], None, "second-missing"),
    ([(X, 116)], None, "outside-grade-range"),
    ([(C, 19)], None, "outside-grade-range"),
]


@pytest.mark.parametrize(("readings", "profile", "how"), METRIC)
def test_states_on_a_metric_gauge(readings, profile, how):
    result = spot_result(readings, tape_scheme("average", "um"))
    assert (result.profile, result.how) == (profile, how)


def test_the_units_windows_are_not_conversions_of_each_other():
    """64 um is 2.52 mil: inside the window in um, outside in mil."""
    assert spot_result([(X, 64)], tape_scheme("average", "um")).how == "second-missing"
    assert spot_result([(X, Decimal("2.52"))], tape_scheme("average", "mil")).how == "recorded-as-taken"


def test_the_readings_used_are_named():
    mil = tape_scheme("average", "mil")
    assert spot_result([(X, Decimal("2.2")), (X, Decimal("2.2")), (C, Decimal("1.6"))], mil).used == (0, 2)
    assert spot_result([(X, Decimal("2.2")), (C, Decimal("1.4"))], mil).used == (1,)


@pytest.mark.parametrize(("readings", "reason", "grade"), [
    ([(X, "2.2")], "needs-second", C),
    ([(X, "2.2"), (C, "1.6")], "both-in-window", None),
    ([(X, "2.2"), (C, "1.4")], "second-decides", None),
    ([(X, "3.1")], "first-stands", None),
    ([(C, "2.6")], "beyond-grade", C),
    ([(X, "2.6"), (C, "1.4")], "grades-disagree", None),
    ([(X, "2.6"), (X, "2.7")], "grade-read-twice", X),
])  # fmt: skip
def test_reasons(readings, reason, grade):
    result = spot_result([(grade, Decimal(text)) for grade, text in readings], tape_scheme("average", "mil"))
    assert (result.reason, result.spoken_of) == (reason, grade)


def test_older_rule_names_the_grade_it_takes():
    result = spot_result([(C, Decimal("2.3"))], tape_scheme("non-averaging", "mil"))
    assert (result.reason, result.spoken_of) == ("other-grade-alone", X)


@pytest.mark.parametrize(("readings", "message", "remedy"), [
    ([], "a spot needs at least 1 reading", None),
    ([("fine", Decimal(1))], "`fine` is not a grade of tape", "expected coarse or extra coarse"),
])  # fmt: skip
def test_what_is_not_a_spot(readings, message, remedy):
    with pytest.raises(RangeError) as caught:
        spot_result(readings, tape_scheme("average", "mil"))
    assert (caught.value.message, caught.value.help_text) == (message, remedy)
