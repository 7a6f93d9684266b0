"""Counts at their steps, and the walk-out in all its states."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import QuantityError, RangeError
from reportgen.metrology import sampling
from reportgen.metrology.sampling import DirectionResult, Walk
from reportgen.units import Quantity

OK, BAD, OPEN = "conforms", "does not conform", "inconclusive"


def m2(text):
    return Quantity(Decimal(text), "m2")


@pytest.mark.parametrize(("size", "count"), [("0.1", 3), ("100", 3), ("100.01", 4), ("200", 4), ("200.01", 5)])
def test_area_rate_steps(size, count):
    assert sampling.locations_by_area(m2(size), m2("100"), 3, m2("100")) == count


def test_area_rate_with_more_than_one_per_step():
    assert sampling.locations_by_area(m2("250"), m2("100"), 3, m2("100"), 2) == 7


def test_area_is_counted_in_the_contracts_unit():
    size = Quantity(Decimal("97.5"), "m2")  # 1049.5 ft2
    thousand = Quantity(Decimal(1000), "ft2")
    assert sampling.locations_by_area(size, thousand, 3, thousand) == 4
    assert sampling.locations_by_area(size, m2("100"), 3, m2("100")) == 3


def test_area_rate_in_two_units():
    with pytest.raises(RangeError, match="must be stated in one unit, got 100 m² and 1000 ft²"):
        sampling.locations_by_area(m2("10"), m2("100"), 3, Quantity(Decimal(1000), "ft2"))


@pytest.mark.parametrize(("size", "each"), [("0", "45"), ("45", "0"), ("-1", "45")])
def test_sizes_are_above_zero(size, each):
    with pytest.raises(RangeError, match="a size above 0 is needed"):
        sampling.locations_per_size(m2(size), m2(each), 3)


@pytest.mark.parametrize("count", [0, -1])
def test_counts_are_at_least_one(count):
    with pytest.raises(RangeError, match="a count of at least 1 is needed"):
        sampling.locations_per_size(m2("45"), m2("45"), count)
    with pytest.raises(RangeError, match="a count of at least 1 is needed"):
        sampling.locations_per_shift(count, 1)
    with pytest.raises(RangeError, match="a count of at least 1 is needed"):
        sampling.locations_by_area(m2("45"), m2("45"), count, m2("45"))


def test_an_area_rate_is_no_length_rate():
    with pytest.raises(QuantityError):
        sampling.locations_per_size(m2("45"), Quantity(Decimal(15), "m"), 1)


def test_counts_that_may_be_zero():
    assert sampling.locations_per_shift(3, 0) == 0
    assert sampling.locations_per_shift(3, 2, 0) == 0
    assert sampling.locations_per_shift(3, 2) == 6
    assert sampling.locations_after_failures(0, 1, 0) == 0
    assert sampling.locations_after_failures(3, 0, 2) == 3
    assert sampling.locations_for_changes(0) == 0
    for wrong in (lambda: sampling.locations_for_changes(-1), lambda: sampling.locations_after_failures(-1, 0, 0)):
        with pytest.raises(RangeError, match="a count of at least 0 is needed"):
            wrong()


DIRECTION_CASES = [
    (Walk("1"), DirectionResult("1", "continue", None, 2)),
    (Walk("1", (OK,)), DirectionResult("1", "continue", None, 1)),
    (Walk("1", (OK, BAD)), DirectionResult("1", "continue", None, 2)),
    (Walk("1", (OK, OPEN)), DirectionResult("1", "continue", None, 2)),
    (Walk("1", (OK, OK)), DirectionResult("1", "bounded", 0, 0)),
    (Walk("1", (BAD, OK, OK)), DirectionResult("1", "bounded", 1, 0)),
    (Walk("1", (OK, BAD, OK, OK, BAD)), DirectionResult("1", "bounded", 2, 0)),
    (Walk("1", (BAD,), no_room=True), DirectionResult("1", "no-room", 1, 0)),
    (Walk("1", (BAD, OK), no_room=True), DirectionResult("1", "no-room", 2, 0)),
    (Walk("1", (OK, OK), no_room=True), DirectionResult("1", "bounded", 0, 0)),
    (Walk("1", (), no_room=True), DirectionResult("1", "no-room", 0, 0)),
]


@pytest.mark.parametrize(("walk", "expected"), DIRECTION_CASES)
def test_one_direction(walk, expected):
    assert sampling.walk_out([walk], ("1",)).directions == (expected,)


def test_next_steps_continue_where_the_record_ends():
    found = sampling.walk_out([Walk("1", (OK, OK)), Walk("2", (BAD, OK)), Walk("3", (BAD,), no_room=True)])
    assert not found.complete
    assert found.next_steps == (("2", 3), ("4", 1), ("4", 2))


def test_repeating_elements_have_two_directions():
    found = sampling.walk_out([Walk("left", (OK, OK)), Walk("right", (), no_room=True)], ("left", "right"))
    assert found.complete
    assert found.next_steps == ()


@pytest.mark.parametrize("walks", [[Walk("north")], [Walk("1"), Walk("1")]])
def test_directions_are_known_and_given_once(walks):
    with pytest.raises(RangeError, match="is not a direction of this walk-out, or is given twice"):
        sampling.walk_out(walks)


def test_bounded_extent_reaches_to_the_first_conforming_location():
    found = sampling.walk_out([
        Walk("1", (OK, OK)), Walk("2", (BAD, OK, OK)), Walk("3", (BAD,), no_room=True), Walk("4", (), no_room=True),
    ])  # fmt: skip
    extent = sampling.bounded_extent(found, Quantity(Decimal("1.5"), "m"))
    assert {name: reach.exact for name, reach in extent.items()} == {
        "1": Fraction("1.5"), "2": 3, "3": Fraction("1.5"), "4": 0,
    }  # fmt: skip


def test_no_extent_before_the_walk_out_is_complete():
    assert sampling.bounded_extent(sampling.walk_out([]), Quantity(Decimal(1), "m")) is None
    with pytest.raises(RangeError, match="a size above 0 is needed"):
        sampling.bounded_extent(sampling.walk_out([]), Quantity(Decimal(0), "m"))


@pytest.mark.parametrize("low", [Fraction(-1, 100), Fraction(101, 100), Fraction(3, 2)])
def test_a_share_that_is_none_is_refused(low):
    with pytest.raises(RangeError, match="a share of 0 to 1 is needed"):
        sampling.chance_of_passing(3, low)


def test_all_or_none_of_an_area_may_be_low():
    assert (sampling.chance_of_passing(3, 0), sampling.chance_of_passing(3, 1)) == (1, 0)


def test_a_share_of_so_many_locations_is_rounded_up_to_whole_ones():
    """A fifth of seven is 1.4: two are low, and three of the other five are found in 10 of 35 ways."""
    assert sampling.chance_of_passing(3, Fraction(1, 5), 7) == Fraction(10, 35)


@pytest.mark.parametrize(
    ("counted", "arguments"),
    [
        ("locations_per_shift", (3, -1)), ("locations_per_shift", (3, 1, -1)),
        ("locations_after_failures", (-1, 1, 1)), ("locations_after_failures", (3, -1, 1)),
        ("locations_after_failures", (3, 1, -1)),
    ],
)  # fmt: skip
def test_no_count_is_below_zero(counted, arguments):
    with pytest.raises(RangeError):
        getattr(sampling, counted)(*arguments)
