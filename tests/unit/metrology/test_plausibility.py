"""Bounds of the doubts: at each threshold and just beside it, in both units of a temperature."""

from decimal import Decimal

import pytest

from reportgen.metrology.plausibility import digits_doubt, moved_temperature_doubt, neighbour_doubt
from reportgen.units import Quantity


def of(text, unit):
    return Quantity(Decimal(text), unit)


@pytest.mark.parametrize(
    ("written", "beside", "bound"),
    [
        # ten times or a tenth, within 5 °C of the middle; both ends of that count
        ("1.0", ["15.0"], "15.0"), ("2.0", ["15.0"], "15.0"), ("2.1", ["15.0"], None), ("0.9", ["15.0"], None),
        ("100", ["15"], "15"), ("99", ["15"], None), ("200", ["15"], "15"), ("201", ["15"], None),
        # more than 10 °C away
        ("1.1", ["11.1"], None), ("1.1", ["11.2"], "11.2"),
        # the middle of several: of an even number the nearer one
        ("1.5", ["14", "15", "30"], "15"), ("1.5", ["15", "30"], "15"), ("1.5", ["3", "15"], None),
        ("1.5", ["2", "14", "15", "30"], "14"), ("150", ["2", "14", "15", "30"], "15"), ("1.5", [], None),
        ("1.5", ["1", "2", "14", "15", "16"], "14"), ("1.5", ["13", "14", "15", "16"], "14"),
        ("1.5", ["30", "14", "15", "2"], "14"), ("1.5", ["15", "30", "14"], "15"),  # in whatever order they were read
    ],
)  # fmt: skip
def test_a_moved_point_of_a_temperature(written, beside, bound):
    found = moved_temperature_doubt(of(written, "degC"), [of(one, "degC") for one in beside])
    assert (None if found is None else found.bound) == (None if bound is None else of(bound, "degC"))


def test_the_point_is_moved_in_either_unit_whichever_was_written():
    """5.9 °F are -14.5 °C; ten times that are 59 °F, 15 °C. The same day in the other unit is asked the same."""
    assert moved_temperature_doubt(of("5.9", "degF"), [of("15", "degC")]) is not None
    assert moved_temperature_doubt(of("-14.5", "degC"), [of("15", "degC")]) is not None
    assert moved_temperature_doubt(of("14.5", "degC"), [of("15", "degC")]) is None


@pytest.mark.parametrize(
    ("written", "beside", "bound"),
    [
        # five times, and a fifth, count
        ("10.0", ["2.0", "2.0"], "2.0"), ("9.9", ["2.0", "2.0"], None),
        ("0.4", ["2.0", "2.0"], "2.0"), ("0.5", ["2.0", "2.0"], None),
        # of an even number the nearer middle
        ("10.0", ["1.0", "2.0"], "2.0"), ("9.9", ["1.0", "2.0"], None),
        ("0.2", ["1.0", "2.0"], "1.0"), ("0.3", ["1.0", "2.0"], None),
        # small ones count like large ones; nothing is five times nothing
        ("2.5", ["0.5", "0.5"], "0.5"), ("0.1", ["0.5", "0.5"], "0.5"), ("0.0", ["0.5", "0.5"], "0.5"),
        ("2.5", ["0.0", "0.0"], None), ("0.0", ["0.0", "0.0"], None), ("0.0", ["0.0", "2.0"], None),
    ],
)  # fmt: skip
def test_a_value_unlike_its_neighbours(written, beside, bound):
    found = neighbour_doubt(of(written, "mil"), [of(one, "mil") for one in beside])
    assert (None if found is None else found.bound) == (None if bound is None else of(bound, "mil"))


def test_so_many_neighbours_are_enough():
    value, one = of("10", "mil"), [of("2.0", "mil")]
    assert neighbour_doubt(value, one) is None
    assert neighbour_doubt(value, one * 2) is not None
    assert neighbour_doubt(value, one, fewest=1) is not None


@pytest.mark.parametrize(
    ("reading", "resolution", "doubted"),
    [
        (("2.45", "mil"), ("0.1", "mil"), True), (("2.4", "mil"), ("0.1", "mil"), False),
        (("2.5", "mil"), ("0.2", "mil"), True), (("2.45", "mil"), ("1", "um"), False),
        (("62.5", "um"), ("1", "um"), True), (("2.45", "mil"), ("0", "mil"), False),
        (("2.4", "mil"), ("0.05", "mil"), False), (("2.40", "mil"), ("0.1", "mil"), True),
    ],
)  # fmt: skip
def test_more_digits_than_a_gauge_shows(reading, resolution, doubted):
    assert (digits_doubt(of(*reading), of(*resolution)) is not None) is doubted


def test_values_well_below_one_are_doubted_too():
    """A blank of 0.1 µS/cm, and ten times as much."""
    blank, other = (Quantity(Decimal(text), "uS/cm") for text in ("0.1", "1"))
    doubt = neighbour_doubt(other, [blank, blank, blank])
    assert doubt is not None
    assert (doubt.kind, doubt.bound) == ("unlike-neighbours", blank)
    doubt = neighbour_doubt(blank, [other, other, other])
    assert doubt is not None
    assert (doubt.kind, doubt.bound) == ("unlike-neighbours", other)
