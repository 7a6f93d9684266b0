from decimal import Decimal
from fractions import Fraction

from reportgen.charts import profile_scale
from reportgen.charts.scale import nice_step

D = Decimal
F = Fraction


def test_a_scale_holds_values_and_limits_with_a_margin_and_round_ends():
    scale = profile_scale([D("1.4"), D("2.8")], D("2.0"), D("3.5"), "mil")
    assert (scale.low, scale.high, scale.step) == (F(1), F(4), F(1, 2))
    assert [scale.tick_text(tick) for tick in scale.ticks()] == ["1.0", "1.5", "2.0", "2.5", "3.0", "3.5", "4.0"]


def test_a_scale_never_goes_below_zero_and_knows_when_there_is_nothing_to_show():
    assert profile_scale([D("0.1"), D("5")], None, None, "mil").low == 0
    assert profile_scale([], None, None, "mil") is None


def test_one_value_alone_still_has_a_range():
    scale = profile_scale([D(60)], None, None, "um")
    assert scale.low < 60 < scale.high
    assert profile_scale([D(0)], None, None, "um").high > 0


def test_negative_ends_are_kept_for_series_that_have_them():
    assert profile_scale([D(-3), D(4)], None, None, "").low <= -3


def test_values_outside_are_held_at_the_ends_of_a_strip():
    scale = profile_scale([D(2), D(3)], None, None, "mil")
    assert (scale.share(D(-1)), scale.share(D(100))) == (0.0, 1.0)
    assert scale.share(scale.low) == 0.0


def test_steps_are_one_two_two_and_a_half_five():
    assert [nice_step(F(spread), 10) for spread in ("1", "1.5", "22", "30", "70", "0.004")] == [
        F(1, 10), F(1, 5), F(5, 2), F(5), F(10), F(1, 2000),
    ]  # fmt: skip
