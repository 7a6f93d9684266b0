"""Rows in the day file."""

from decimal import Decimal

from reportgen.readings import ReadingRow, inline_rows


def test_one_reading_for_each_roll_in_the_order_written():
    rows, problems = inline_rows([{"location": "1", "spot": "a", "x1": "2.2", "c1": " 1.60 ", "time": "12:40"}])
    assert problems == ()
    assert rows == (
        ReadingRow("1", "a", "x1", Decimal("2.2"), None, "12:40", 0),
        ReadingRow("1", "a", "c1", Decimal("1.60"), None, "12:40", 0),
    )
    assert str(rows[1].value) == "1.60"


def test_depth_has_no_roll_and_a_unit_may_be_stated():
    rows, _ = inline_rows([{"location": "1", "spot": "a", "depth": "2.2 mil"}])
    assert rows == (ReadingRow("1", "a", None, Decimal("2.2"), "mil", None, 0),)


def test_every_problem_of_every_row():
    rows, problems = inline_rows([{"spot": "a b"}, {"location": "1", "spot": "a", "x1": "OL", "c1": "1.6"}])
    assert rows == (ReadingRow("1", "a", "c1", Decimal("1.6"), None, None, 1),)  # the other cell is right
    assert [(p.place, p.column, p.code) for p in problems] == [
        (0, "location", "CSV110"),
        (0, "spot", "CSV110"),
        (0, None, "CSV112"),
        (1, "x1", "CSV113"),
    ]
