"""Tape: worked examples of the trade, pre-sets, film, grades."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import RangeError
from reportgen.metrology.overlap import spot_result
from reportgen.metrology.tape import (
    advised_grade,
    check_plausible,
    film_thickness,
    film_tolerance,
    net_reading,
    tape_scheme,
    unused_tape_range,
)
from reportgen.references import table
from reportgen.units import Quantity
from tests.reference.published import published

EXAMPLES = published("tape-examples")


@pytest.mark.parametrize("row", EXAMPLES.rows, ids=lambda row: "-".join(row.values()))
def test_two_grades(row):
    readings = [(row[f"{order}_grade"], Decimal(row[order])) for order in ("first", "second") if row[order]]
    result = spot_result(readings, tape_scheme(row["rule"], row["unit"]))
    assert result.how == row["how"]
    assert result.profile == (Fraction(row["profile"]) if row["profile"] else None)


@pytest.mark.parametrize("row", published("tape-grade-choice").rows, ids=lambda row: row["target"] + row["unit"])
def test_grade_to_begin_with(row):
    target = Quantity(Decimal(row["target"]), row["unit"])
    assert advised_grade(target, target, tape_scheme("average", row["unit"])).grade == row["grade"]


@pytest.mark.parametrize("row", published("tape-presets").rows, ids=lambda row: row["value"] + row["unit"])
def test_presets_of_two_dials(row):
    """Minus the film, or what a dial without minus shows for it."""
    dial = next(Fraction(one["dial"]) for one in table("tape-gauge").rows if one["unit"] == row["unit"])
    film = film_thickness(row["unit"]).exact
    assert Fraction(row["value"]) in (-film, dial - film)


def test_film_in_each_unit_is_a_number_of_its_own():
    # 2.0 mil (UFC 3-190-06) and 50 um with 2 um tolerance (ISO 8503-5): 2.0 mil is 50.8 um, not 50.
    assert film_thickness("mil").exact == 2
    assert film_thickness("um").exact == 50
    assert film_tolerance("um") == Quantity(Decimal(2), "um")
    assert net_reading(Quantity(Decimal("4.2"), "mil"), "included") == Quantity(Decimal("2.2"), "mil")
    assert net_reading(Quantity(Decimal(106), "um"), "included") == Quantity(Decimal(56), "um")


def test_unused_tape_bounds_what_tape_can_read():
    # common practice: unused extra coarse tape reads 5 to 6 mil (125 to 155 um) on a pre-set gauge
    assert [end.exact for end in unused_tape_range("mil")] == [5, 6]
    assert [end.exact for end in unused_tape_range("um")] == [125, 155]
    check_plausible(Quantity(Decimal(6), "mil"))
    check_plausible(Quantity(Decimal(155), "um"))
    with pytest.raises(RangeError, match=r"2\.2 mm is outside what replica tape can read"):
        check_plausible(Quantity(Decimal("2.2"), "mm"))
