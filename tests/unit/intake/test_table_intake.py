"""Readings from CSV, XLSX and typed lines: the documented columns, any order, each fault at its line."""

import datetime as dt
import io
import zipfile

import openpyxl
import pytest

from reportgen.errors import InputError, UsageError
from reportgen.yamlsource import parse_yaml
from tests.unit.intake.small import DAY, job_of, take_in

ROWS = [("A-1", 1, "a", "x1", 2.4, "mil", dt.time(9, 10)), ("A-1", 1, "a", "c1", 2.1, "mil", dt.time(9, 12)),
        ("A-2", 1, "a", "x1", 2.9, "mil", None), ("A-1", 1, "b", "x1", 2.8, "mil", None)]  # fmt: skip
EXPECTED = {
    "A-1": [
        {"location": "1", "spot": "a", "x1": "2.4", "time": "09:10", "c1": "2.1"},
        {"location": "1", "spot": "b", "x1": "2.8"},
    ],
    "A-2": [{"location": "1", "spot": "a", "x1": "2.9"}],
}


BEGUN = DAY.replace(
    "surfaces: []",
    "surfaces:\n"
    + "".join(
        f"  - area: {area}\n    apparatus: pot 1\n    initial_condition: C\n"
        '    blasted: {start: "07:00", end: "08:00", abrasive: grit}\n'
        for area in ("A-1", "A-2")
    ),
)
"""Two areas begun, nothing measured on them."""


def taken(data, name="r.csv", day=BEGUN, **options):
    return take_in(data, name, job_of(day), **options)


def readings_of(intake):
    day = parse_yaml(intake.data, "day.yaml").data
    return {area["area"]: area["profile"]["readings"] for area in day["surfaces"] if "profile" in area}


def csv_of(rows, separator=",", names="area,location,spot,roll,reading,unit,time"):
    lines = [names.replace(",", separator)]
    for row in rows:
        cells = [
            "" if cell is None else cell.strftime("%H:%M") if isinstance(cell, dt.time) else str(cell) for cell in row
        ]
        lines.append(separator.join(cells))
    return ("\n".join(lines) + "\n").encode()


def xlsx_of(
    rows, names=("area", "location", "spot", "roll", "reading (mil)", "unit", "time"), title="readings", more=()
):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    sheet.append(names)
    for row in rows:
        sheet.append(row)
    for other in more:
        book.create_sheet(other)
    into = io.BytesIO()
    book.save(into)
    return into.getvalue()


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_csv_with_the_documented_columns(separator):
    intake = taken(csv_of(ROWS, separator))
    assert readings_of(intake) == EXPECTED
    assert intake.refused == ()


def test_csv_with_decimal_commas():
    text = csv_of(ROWS, ";").decode().replace("2.", "2,")
    assert readings_of(taken(text.encode())) == EXPECTED


def test_csv_without_the_column_area_needs_to_be_told():
    data = csv_of([row[1:] for row in ROWS[:2]], names="location,spot,roll,reading,unit,time")
    assert readings_of(taken(data, area="A-2")) == {"A-2": EXPECTED["A-1"][:1]}
    with pytest.raises(UsageError, match=r"^r.csv has no column `area`$"):
        taken(data)


def test_an_area_of_the_day_file_is_judged_by_its_gauge_and_film():
    surface = 'surfaces:\n  - {area: A-1, apparatus: p, initial_condition: C, blasted: {start: "07:00", end: "08:00", '
    surface += "abrasive: grit}, profile: {gauge: g1, film: included, readings: [{location: 1, spot: a, x1: 4.4}]}}"
    job = job_of(DAY.replace("surfaces: []", surface))
    intake = take_in(b"A-1 1 b x1 4.8\nA-1 2 a x1 1.2\n", "typed", job)
    assert [refused.value for refused in intake.refused] == ["1.2"]
    assert intake.added == ("surfaces A-1, profile, readings: 1 b (x1 4.8)",)
    assert "[{location: 1, spot: a, x1: 4.4}, {location: 1, spot: b, x1: 4.8}]" in intake.data.decode()


def test_a_workbook_is_read_the_same_way_in_this_process():
    from reportgen.intake.table import _csv_of_workbook

    text = _csv_of_workbook(xlsx_of([*ROWS, (None, None, None, None, None, None, None)])).decode()
    assert text.splitlines()[:2] == ["area;location;spot;roll;reading;unit;time", "A-1;1;a;x1;2.4;mil;09:10"]
    for data in (_zip({"hello.txt": b"x"}), xlsx_of(ROWS, title="a", more=("b",)), xlsx_of([], names=())):
        with pytest.raises(UsageError):
            _csv_of_workbook(data)


def test_a_workbook_that_unpacks_to_too_much_is_refused_in_this_process(monkeypatch):
    from reportgen.intake import table

    monkeypatch.setattr(table, "UNPACKED_LIMIT", 10)
    with pytest.raises(UsageError, match=r"^the workbook holds more than 0 MiB$"):
        table._csv_of_workbook(xlsx_of(ROWS))


def test_a_workbook_gives_the_same():
    assert readings_of(taken(xlsx_of(ROWS))) == EXPECTED
    assert readings_of(taken(xlsx_of(ROWS, title="Sheet1"))) == EXPECTED
    spaced = [*ROWS[:2], (None,) * 7, *ROWS[2:]]
    assert readings_of(taken(xlsx_of(spaced, more=("notes",)))) == EXPECTED


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (lambda: xlsx_of(ROWS, title="a", more=("b",)), "the workbook has no sheet `readings`"),
        (lambda: xlsx_of([], names=()), "the sheet is empty"),
        (lambda: _zip({"hello.txt": b"x"}), "the file is a ZIP archive, not a workbook"),
        (lambda: _zip({"xl/workbook.xml": b"\0" * (129 << 20)}), "the workbook holds more than 128 MiB"),
        (lambda: xlsx_of(ROWS)[:900], "r.xlsx cannot be read: it is damaged, or not what its name says"),
    ],
)
def test_a_workbook_that_is_none_is_refused(data, message):
    with pytest.raises(UsageError, match=rf"^{message}$"):
        take_in(data(), "r.xlsx", job_of())


def _zip(files):
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return into.getvalue()


def test_a_date_in_a_workbook_is_not_a_time():
    rows = [("A-1", 1, "a", "x1", 2.4, "mil", dt.datetime(2026, 6, 12, 9, 10))]  # noqa: DTZ001 - as a spreadsheet has it
    intake = taken(xlsx_of(rows))
    assert [(r.place, r.name, r.value) for r in intake.refused] == [("row 2", "time", "2026-06-12 09:10:00")]


MEASURED = DAY.replace(
    "surfaces: []",
    """surfaces:
  - area: A-1
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "07:00", end: "08:00", abrasive: grit}
    profile:
      gauge: g1
      readings:
        - {location: 1, spot: a, x1: 2.40, c1: 2.1, time: "09:10"}
        - {location: 1, spot: b, x1: 3.9, confirmed: yes}
  - area: A-1
    apparatus: "+pot 2"
    initial_condition: C
    blasted: {start: "07:30", end: "08:30", abrasive: grit}
    profile:
      gauge: g1
      readings: [{location: 1, spot: a, x1: 2.9}]
""",
)
"""An area of two apparatus that use the same names for locations."""


def exported(day, to="csv"):
    from reportgen.export.tables import Exported, tables
    from reportgen.export.writing import csv_files, render_xlsx
    from reportgen.rules import evaluate

    job = job_of(day)
    made = tables([Exported(job, evaluate(job))])
    return csv_files(made)["readings.csv"] if to == "csv" else render_xlsx(made)


@pytest.mark.parametrize("to", ["csv", "xlsx"])
def test_what_is_exported_is_taken_in_again(to):
    """Nothing changes where it stands; where it is gone it comes back, with apparatus, time and what was confirmed."""
    table = exported(MEASURED, to)
    same = taken(table, day=MEASURED)
    assert (same.data.decode(), same.complete, same.already > 0) == (MEASURED, True, True)
    gone = "\n".join(line for line in MEASURED.splitlines() if "spot: b" not in line).replace(", c1: 2.1", "") + "\n"
    gone = gone.replace("readings: [{location: 1, spot: a, x1: 2.9}]", "readings: [{location: 2, spot: a, x1: 2.8}]")
    back = taken(table, day=gone)
    assert back.complete, back.refused
    first, second = (one["profile"]["readings"] for one in parse_yaml(back.data, "day.yaml").data["surfaces"])
    assert first == parse_yaml(MEASURED.encode(), "day.yaml").data["surfaces"][0]["profile"]["readings"]
    assert second == [{"location": "2", "spot": "a", "x1": "2.8"}, {"location": "1", "spot": "a", "x1": "2.9"}]


@pytest.mark.parametrize("to", ["csv", "xlsx"])
@pytest.mark.parametrize(
    ("was", "said"),
    [("number: AB-7-1,", "the row is of report AB-7-9, the day file of AB-7-1"),
     ("date: 2026-06-12,", "the row is of date 2026-06-11, the day file of 2026-06-12")],
)  # fmt: skip
def test_readings_exported_of_another_day_are_not_taken(to, was, said):
    """A folder exports all its days into one table: each row goes into its own day or into none."""
    other = MEASURED.replace(was, was.replace("1,", "9,").replace("12,", "11,"))
    intake = taken(exported(other, to), day=MEASURED)
    assert {one.message.replace(" 00:00:00", "") for one in intake.refused} == {said}
    assert len(intake.refused) == 4
    assert intake.data.decode() == MEASURED, "they are no concern of this day"


def test_a_date_in_a_table_of_ones_own_says_nothing_of_the_report():
    intake = taken(csv_of([("12.06.26", "A-1", 1, "a", "x1", 2.4)], names="date,area,location,spot,roll,reading"))
    assert intake.refused == ()
    assert readings_of(intake)["A-1"] == [{"location": "1", "spot": "a", "x1": "2.4"}]


def test_a_spot_is_confirmed_where_all_its_readings_are():
    names = "area,location,spot,roll,reading,confirmed"
    said = {("A-1", "a"): ("yes", "yes"), ("A-1", "b"): ("yes", "no"), ("A-2", "a"): ("", "yes")}
    rows = [(*at, roll, 2.4, yes) for (area, spot), both in said.items() for at, roll, yes in
            zip([(area, 1, spot)] * 2, ("x1", "c1"), both, strict=True)]  # fmt: skip
    read = readings_of(taken(csv_of(rows, names=names)))
    assert [row.get("confirmed") for several in read.values() for row in several] == ["yes", None, None]


def test_typed_lines():
    text = b"# by phone\nA-1 1 a x1 2.4 c1 2.1 09:10\n\nA-2, 1, a, x1, 2.9\nA-1\t1\tb\tx1\t2.8\n"
    assert readings_of(taken(text)) == EXPECTED
    short = b"1 a x1 2.4 c1 2.1 09:10\n1 b x1 2.8\n"
    assert readings_of(taken(short, area="A-1"))["A-1"] == EXPECTED["A-1"]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("A-1 1 a x1", "this is not a line of readings"),
        ("A-1 1 a x1 2.4 c1", "a roll has no reading"),
        ("A-1 1 a x1 2.4 6.40", "`6.40` may be a time, or a reading without its roll"),
        ("A-1 1 a x9 2.4", "`x9` is not a roll of this contract"),
        ("A-1 1 a x1 2.4 x9 2.1", "`x9` is not a roll of this contract"),
        ("A-1,1,a,x1,2,4,c1,2,1", "`4` is not a roll of this contract"),
        ("A-1 mean a x1 2.4", "`mean` looks like a summary row, not a reading"),
        ("A-1 1 a x1 OL", "`OL` is not a reading"),
        ("A-1 1 a x1 漆", "`漆` is not a reading"),
        ("A-1 1 a x1 1,225", "`1,225` may be 1.225 or 1225"),
        ("A-3 1 a x1 2.4", "`A-3` is not an area of this contract"),
    ],
)
def test_a_wrong_line_is_named_and_the_others_taken(line, message):
    intake = taken(f"A-1 2 a x1 2.8\n{line}\nA-2 2 b x1 2.9\n".encode(), "typed")
    assert [(refused.place, refused.message) for refused in intake.refused] == [("line 2", message)]
    assert intake.refused[0].help_text
    assert not intake.complete
    assert readings_of(intake) == {
        "A-1": [{"location": "2", "spot": "a", "x1": "2.8"}],
        "A-2": [{"location": "2", "spot": "b", "x1": "2.9"}],
    }


def test_a_spot_with_two_readings_on_a_roll_keeps_the_first():
    intake = taken(b"A-1 1 a x1 2.4 x1 2.5", "typed")
    assert [(r.place, r.value, r.message) for r in intake.refused] == [
        ("line 1", "2.5", "spot 1/a has 2.4 on `x1` already (line 1)")
    ]


def test_a_decimal_comma_and_a_time_without_colon_on_typed_lines():
    assert readings_of(taken(b"A-1 1 a x1 2,4 c1 2,1 0910\nA-2, 1, a, x1, 2.9\nA-1,1,b,x1,2.8\n")) == EXPECTED


@pytest.mark.parametrize(
    ("row", "place", "name", "value", "message"),
    [
        (",1,a,x1,2.4", "line 3", "row", ",1,a,x1,2.4", "no area is named"),
        ("A-11,1,a,x1,2.4", "line 3", "row", "A-11,1,a,x1,2.4", "`A-11` is not an area of this contract"),
        ("A-1,1,a,x1,2.4,9", "line 3", "row", "A-1,1,a,x1,2.4,9", "the row has 6 cells, the header 5"),
        ('"A-1,1,a,x1,2.4', "line 3", "row", '"A-1,1,a,x1,2.4', "a quote is not closed"),
        ("A-1,1,a,x1,OL", "line 3", "reading", "OL", "`OL` is not a reading"),
        ("A-1,1,b c,x1,2.4", "line 3", "spot", "b c", "`b c` cannot name a spot"),
        ("A-1,Mean,,,2.4", "line 3", "location", "Mean", "`Mean` looks like a summary row, not a reading"),
        ("A-1,1,a,x9,2.4", "line 3", "x9", "2.4", "`x9` is not a roll of this contract"),
        ("A-1,1,a,x1,漆", "line 3", "reading", "漆", "`漆` is not a reading"),
    ],
)
def test_a_wrong_row_of_a_table_is_named_and_the_others_taken(row, place, name, value, message):
    data = f"area,location,spot,roll,reading\nA-1,2,a,x1,2.8\n{row}\nA-2,2,b,x1,2.9\n".encode()
    intake = taken(data)
    assert [(r.place, r.name, r.value, r.message) for r in intake.refused] == [(place, name, value, message)]
    assert intake.refused[0].help_text
    assert [len(rows) for rows in readings_of(intake).values()] == [1, 1]


def test_a_row_of_a_workbook_is_named_by_its_own_number():
    rows = [(None,) * 7, ROWS[0], (None,) * 7, ("A-1", 1, "b", "x1", "OL", "mil", None), ROWS[2]]
    book = openpyxl.Workbook()
    book.active.append(("Readings of the day", None))
    book.active.append(("area", "location", "spot", "roll", "reading (mil)", "unit", "time"))
    for row in rows:
        book.active.append(row)
    into = io.BytesIO()
    book.save(into)
    intake = taken(into.getvalue(), "r.xlsx")
    assert [(r.place, r.name, r.value) for r in intake.refused] == [("row 6", "reading", "OL")]
    assert readings_of(intake)["A-2"] == EXPECTED["A-2"]


def test_a_wrong_header_is_shown_where_it_stands_and_of_a_workbook_only_said():
    with pytest.raises(InputError) as caught:
        taken(b"\r\n\nlocation,spot,role,reading\n1,a,x1,2.4\n", area="A-1")
    (span,) = caught.value.diagnostics[0].spans
    assert (span.line, span.column, span.source_line) == (3, 15, "location,spot,role,reading")
    names = ("area", "location", "spot", "reading")
    with pytest.raises(UsageError, match=r"^r.csv: the column `roll` is missing$"):
        taken(xlsx_of([("A-1", 1, "a", 2.4)], names=names))


def test_a_workbook_of_more_rows_than_are_read_is_refused(monkeypatch):
    from reportgen.intake import table

    monkeypatch.setattr(table, "_ROWS", 4)
    with pytest.raises(UsageError, match=r"^the sheet has more than 4 rows$"):
        table._csv_of_workbook(xlsx_of(ROWS))


def test_readings_begin_an_area_that_is_not_begun_and_what_it_lacks_is_named():
    begun = BEGUN[: BEGUN.index("  - area: A-2")] + BEGUN[BEGUN.index("# kept: the last") :]
    intake = taken(csv_of(ROWS), day=begun)
    assert readings_of(intake) == EXPECTED
    assert intake.refused == ()
    lacking = ("apparatus", "initial_condition", "blasted.start", "blasted.end", "blasted.abrasive")
    assert intake.missing == tuple(f"line 4: `{name}`" for name in lacking)
    assert 'apparatus: "<apparatus>"' in intake.data.decode()


@pytest.mark.parametrize(
    "table",
    [
        b"area,location,spot,x1,c1,time\nA-1,7,a,2.4,2.3,09:10\n\nA-1,7,b,2.8,,\n",
        b"Area;Location;Spot;X1 (mil);c1 (mil);time\nA-1;7;a;2,4;2,3;09:10\n;;;;;\nA-1;7;b;2,8;;\n",
    ],
)
def test_a_table_with_a_column_for_each_roll(table):
    rows = readings_of(taken(table))["A-1"]
    seven = [row for row in rows if row["location"] == "7"]
    assert seven == [
        {"location": "7", "spot": "a", "x1": "2.4", "c1": "2.3", "time": "09:10"},
        {"location": "7", "spot": "b", "x1": "2.8"},
    ]
    wrong = taken(table.replace(b"A-1;7;b;2,8;;", b"A-1;7;b;28 mm;;").replace(b"A-1,7,b,2.8,,", b"A-1,7,b,2,8,,"))
    assert [one.place for one in wrong.refused] == ["line 4"]


def test_a_workbook_with_a_column_for_each_roll():
    import openpyxl

    book, file = openpyxl.Workbook(), io.BytesIO()
    for row in [("Area", "location", "spot", "X1 (mil)", "c1"), ("A-1", 7, "a", 2.4, 2.3), ("A-1", 7, "b", 2.8, None)]:
        book.active.append(row)
    book.save(file)
    rows = readings_of(taken(file.getvalue()))["A-1"]
    assert [row for row in rows if row["location"] == "7"] == [
        {"location": "7", "spot": "a", "x1": "2.4", "c1": "2.3"}, {"location": "7", "spot": "b", "x1": "2.8"},
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("header", "message"),
    [
        (b"area,location,spot,x1,x9\n", "unknown column `x9`"),
        (b"area,location,spot,x1,x1\n", "the column `x1` is there twice"),
        (b"location,spot,x1,c1\n", "the table has no column `area`"),
    ],
)
def test_a_column_of_a_wide_table_that_is_none_is_said(header, message):
    with pytest.raises(UsageError, match=message):
        taken(header + b"A-1,1,a,2.4,2.3\n")


@pytest.mark.parametrize(
    ("data", "error", "message"),
    [
        (b"", InputError, "the file is empty"),
        (b"area,location,spot,roll\nA-1,1,a,x1\n", InputError, "the column `reading` is missing"),
        (b"area,location,spot,roll,reading\n", InputError, "the file holds no reading"),
        (b"\0\1\2", InputError, "the file is not text"),
    ],
)
def test_what_cannot_be_taken_at_all(data, error, message):
    with pytest.raises(error, match=message):
        taken(data, "r")


def test_an_unknown_area_to_take_it_for():
    with pytest.raises(UsageError, match=r"^`B-1` is not an area of this contract$"):
        take_in(b"1 a x1 2.4", "r", job_of(), area="B-1")
