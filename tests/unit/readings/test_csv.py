"""CSV files that are taken; what is refused stands in tests/diagnostics."""

from decimal import Decimal

import pytest

from reportgen.readings import ReadingRow, parse_readings_csv


def _rows(text):
    table = parse_readings_csv(text, "r.csv")
    assert table.problems == []
    return table.rows


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_three_separators(separator):
    text = "location,spot,roll,reading,unit,time\n1,a,x1,2.60,mil,12:40\n".replace(",", separator)
    assert _rows(text) == (ReadingRow("1", "a", "x1", Decimal("2.60"), "mil", "12:40", 2),)
    assert str(_rows(text)[0].value) == "2.60"


def test_columns_in_any_order_and_optional_ones_left_out():
    assert _rows("reading,roll,spot,location\n2.6,x1,a,1\n") == (
        ReadingRow("1", "a", "x1", Decimal("2.6"), None, None, 2),
    )


def test_a_decimal_comma_is_read_and_one_that_may_set_off_thousands_is_asked_about():
    assert [row.value for row in _rows("location;spot;roll;reading\n1;a;x1;2,6\n1;b;x1;3\n")] == [
        Decimal("2.6"),
        Decimal(3),
    ]
    assert [row.value for row in _rows("location;spot;roll;reading\n1;a;x1;2.6\n1;b;x1;2.7\n")][1] == Decimal("2.7")
    for text in ("location\tspot\troll\treading\n1\ta\tx1\t2,6\n", 'location,spot,roll,reading\n1,a,x1,"2,6"\n'):
        assert [row.value for row in _rows(text)] == [Decimal("2.6")]
    table = parse_readings_csv('location,spot,roll,reading\n1,a,x1,"1,250"\n', "r.csv")
    assert [problem.message for problem in table.problems] == ["`1,250` may be 1.250 or 1250"]


def test_quotes_blanks_and_blank_lines():
    text = 'location,spot,roll,reading,unit\n"1", a ,"x1", 2.6 , mil \n\n   \n"a,b"x,a,x1,2.6,mil\n'
    table = parse_readings_csv(text, "r.csv")
    assert table.rows == (ReadingRow("1", "a", "x1", Decimal("2.6"), "mil", None, 2),)
    assert [problem.code for problem in table.problems] == ["CSV104"]


def test_line_ends_of_other_machines():
    assert len(_rows("location,spot,roll,reading\r\n1,a,x1,2.6\r\n1,b,x1,2.6")) == 2


def test_a_micrometer_has_no_roll_and_a_cell_may_state_its_unit():
    assert _rows("location,spot,roll,reading\n1,a,,2.6 mil\n") == (
        ReadingRow("1", "a", None, Decimal("2.6"), "mil", None, 2),
    )


def test_the_unit_column_goes_before_the_unit_in_the_cell():
    assert _rows("location,spot,roll,reading,unit\n1,a,x1,66 um,\n1,b,x1,66 um,mil\n")[0].unit == "um"


def test_places_of_cells_with_quoted_separators():
    table = parse_readings_csv('location,spot,roll,reading\n"1,5", a,x1,dry\n', "r.csv")
    spans = [(problem.spans[0].line, problem.spans[0].column, problem.spans[0].length) for problem in table.problems]
    assert spans == [(2, 1, 5)]
    assert table.span(2, "spot").column == 8
    assert table.span(2, "reading").column == 13
    assert table.span(2, "unit").column == 1
    assert table.span(99, "spot").source_line == ""


def test_a_quoted_header():
    assert len(_rows('"location","spot","roll","reading"\n1,a,x1,2.6\n')) == 1


def test_an_empty_text_has_no_header():
    assert [problem.code for problem in parse_readings_csv("", "r.csv").problems] == ["CSV101"]


def test_a_summary_label_that_stands_for_a_spot():
    table = parse_readings_csv("location,spot,roll,reading\n1,mean,x1,2.6\n", "r.csv")
    assert [(p.code, p.message) for p in table.problems] == [("CSV110", "`mean` cannot name a spot")]


@pytest.mark.parametrize(
    ("cell", "message"),
    [
        ("", "`` is not a reading"),
        ("2.6 lightyears", "`2.6 lightyears` is not a reading"),
        ("--", "`--` is not a reading"),
        ("2 6", "`2 6` is not a number"),
        ("1_000", "`1_000` is not a number"),
        ("٢", "`٢` is not a number"),
        ("nan", "`nan` is not a reading"),
        ("2-Mar", None),
        ("=2.5", "`=2.5` is not a reading"),
        ("+2.5mil2", None),
    ],
)
def test_cells_that_are_no_reading(cell, message):
    (problem,) = parse_readings_csv(f"location,spot,roll,reading\n1,a,x1,{cell}\n", "r.csv").problems
    assert problem.code == "CSV113"
    assert message is None or problem.message == message or "is not a unit" in problem.message


# Readings by depth, and grades seen


@pytest.mark.parametrize(
    "text",
    [
        "location,spot,depth\n1,a,73\n", "location,spot,roll,depth\n1,a,,73\n", "location,spot,depth (um)\n1,a,73\n",
        "location,spot,roll,reading,unit,grade seen\n1,a,,73,um,\n", "spot;depth;location;unit\na;73;1;um\n",
    ],
)  # fmt: skip
def test_readings_by_depth(text):
    table = parse_readings_csv(text, "r.csv", named=lambda heading: heading.partition(" (")[0])
    assert table.problems == []
    (row,) = table.rows
    assert (row.location, row.spot, row.roll, row.value, row.grade) == ("1", "a", None, Decimal(73), None)
    assert row.unit == ("um" if "um" in text else None)


@pytest.mark.parametrize(
    ("text", "spot"),
    [
        ("location,grade\n1,medium\n", "a"), ("location,spot,grade\n1,b,medium\n", "b"),
        ("location,spot,grade\n1,,medium\n", "a"), ("location,grade seen\n1,medium\n", "a"),
        ("location,spot,roll,grade\n1,,,medium\n", "a"), ("location,spot,roll,reading\n1,,,medium\n", "a"),
        ("location,spot,roll,reading,unit,grade seen\n1,,,,,medium\n", "a"),
    ],
)  # fmt: skip
def test_grades_seen(text, spot):
    assert _rows(text) == (ReadingRow("1", spot, None, None, None, None, 2, grade="medium"),)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("location,grade\n1,61\n", "`61` is not a grade of a comparator"),
        ("location,grade\n1,\n", "the grade is still to be filled in"),
        ("location,spot,roll,grade\n1,a,x1,medium S 1\n", "a grade was seen, and the row names the roll `x1`"),
        ("location,grade,reading\n1,coarse,61\n", "the row has both the reading `61` and the grade `coarse`"),
        ("location,spot,reading,grade seen\n1,,,\n", "the row has neither a reading nor a grade"),
        ("location,spot,reading,grade seen\n1,,61,\n", "`spot` is empty"),
        ("location,spot,depth,reading\n1,a,61,62\n", "both `reading` and `depth` hold the readings"),
        ("location,spot,reading\n1,a,61\n", "the column `roll` is missing"),
        ("location,depth\n1,61\n", "the column `spot` is missing"),
        ("spot,grade\na,fine\n", "the column `location` is missing"),
    ],
)  # fmt: skip
def test_what_a_table_of_depths_or_grades_lacks(text, message):
    assert [one.message for one in parse_readings_csv(text, "r.csv").problems] == [message]


def test_readings_that_are_on_no_tape_need_no_roll():
    table = parse_readings_csv("location,spot,reading\n1,a,61\n", "r.csv", on_tape=False)
    assert (table.problems, table.rows[0].value) == ([], Decimal(61))


def test_the_grade_beside_rolls_and_readings_is_that_of_the_tape():
    text = "location,spot,roll,grade,reading\n1,a,x1,coarse,1.6\n"
    (row,) = parse_readings_csv(text, "r.csv", more=("grade",)).rows
    assert (row.roll, row.value, row.grade) == ("x1", Decimal("1.6"), None)


def test_the_heading_states_the_unit_where_no_row_does():
    text = "location,spot,depth (mil),unit\n1,a,2.9,\n1,b,73,um\n"
    table = parse_readings_csv(text, "r.csv", named=lambda heading: heading.partition(" (")[0])
    assert [row.unit for row in table.rows] == ["mil", "um"]
