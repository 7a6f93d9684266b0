"""Exports: real numbers, units in headings, no formula, the same data from a folder, a day file and a report."""

import csv
import datetime as dt
import io
import json
from decimal import Decimal
from pathlib import Path

import openpyxl
import pikepdf
import pytest

from reportgen.errors import UsageError
from reportgen.export import Exported, Table, export, report_of, reports_at, tables
from reportgen.export.sources import day_files
from reportgen.export.writing import render_csv, render_xlsx
from reportgen.formats import EVALUATION_NAME, MANIFEST_NAME, build_manifest, canonical_json, entry_of, plain
from reportgen.pipeline.checking import evaluated
from reportgen.rules import evaluate
from tests.unit.intake.small import METRIC, PROJECT, job_of

JOBS = Path(__file__).parents[3] / "jobs"
DAY = """\
project: project.yaml
report: {number: AB-7-1, revision: 0, date: 2026-06-12, shift: {start: "06:30", end: "18:00"}, inspector: noor}
conditions:
  - {time: "06:40", place: =SUM(A1), air: 13.5 degC, humidity: 71 %, steel: 12.5 degC}
surfaces:
  - area: A-1
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "07:00", end: "08:30", abrasive: grit}
    cleanliness: {observed: Sa 2½, staining: 2 %}
    coated: "11:00"
    dust: [{location: 1, quantity: 1, size: 2}]
    salts: [{location: 1, area: 12.5 cm2, volume: 3 ml, blank: 1.8 uS/cm, sample: 9.4 uS/cm}]
    profile:
      gauge: g1
      readings:
        - {location: 1, spot: a, x1: 2.20, c1: 1.6, time: "08:45"}
        - {location: 1, spot: b, x1: 2.6}
not_inspected: [{area: A-2, reason: rain}]
"""


def reported(day=DAY, project=PROJECT):
    job = job_of(day, project)
    return Exported(job, evaluate(job))


def rows_of(files, name):
    found = list(csv.DictReader(io.StringIO(files[name].decode("utf-8"))))
    assert found
    return found


def test_readings_keep_their_digits_and_say_their_unit():
    rows = rows_of(export([reported()], "csv"), "readings.csv")
    assert [
        (row["roll"], row["grade"], row["reading (mil)"], row["net reading (mil)"], row["time"]) for row in rows
    ] == [
        ("x1", "extra coarse", "2.20", "2.20", "08:45"),
        ("c1", "coarse", "1.6", "1.6", "08:45"),
        ("x1", "extra coarse", "2.6", "2.6", ""),
    ]


def test_a_spot_says_how_it_came_about():
    rows = rows_of(export([reported()], "csv"), "spots.csv")
    assert [(Decimal(row["profile (mil)"]), row["how"]) for row in rows] == [
        (Decimal("1.9"), "averaged"),
        (Decimal("2.6"), "recorded-as-taken"),
    ]


def test_units_that_differ_are_said_in_their_column():
    metric = DAY.replace("2.20, c1: 1.6", "70").replace("x1: 2.6", "x1: 75")
    areas = {table.name: table for table in tables([reported(), reported(metric, METRIC)])}["areas"]
    assert "mean (unit in its column)" in areas.headings
    at = areas.headings.index("unit")
    assert [row[at] for row in areas.rows] == ["mil", "mil", "um", "um"]


def test_the_place_of_an_area_has_its_column():
    stated = PROJECT.replace("name: shell, size", "name: shell, place: yard, size")
    areas = {table.name: table for table in tables([reported(DAY.replace("=SUM(A1)", "yard"), stated)])}["areas"]
    at = areas.headings.index("place")
    assert [row[at] for row in areas.rows] == ["yard", None]


def test_text_never_becomes_a_formula():
    files = export([reported()], "csv")
    row = rows_of(files, "conditions.csv")[0]
    assert row["place (a ' stands before = + - @)"] == "'=SUM(A1)"
    book = openpyxl.load_workbook(io.BytesIO(export([reported()], "xlsx")["export.xlsx"]))
    cell = next(cell for cell in book["conditions"][2] if cell.value == "=SUM(A1)")
    assert cell.data_type == "s"


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_every_beginning_of_a_formula_is_defused(start):
    table = Table("t", ("a", "b"), ((f"{start}1+1", Decimal("-2.0")), ("plain", None)))
    rows = list(csv.reader(io.StringIO(render_csv(table).decode(), newline="")))
    assert rows == [["a (a ' stands before = + - @)", "b"], [f"'{start}1+1", "-2.0"], ["plain", ""]]


def test_a_workbook_has_numbers_dates_units_and_frozen_heads():
    data = export([reported()], "xlsx")["export.xlsx"]
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert book.sheetnames[:5] == ["reports", "areas", "locations", "spots", "readings"]
    sheet = book["readings"]
    heads = [cell.value for cell in sheet[1]]
    row = dict(zip(heads, sheet[2], strict=True))
    assert row["reading (mil)"].value == 2.2
    assert row["reading (mil)"].data_type == "n"
    assert row["reading (mil)"].number_format == "0.00"
    assert row["date"].value == dt.datetime(2026, 6, 12)  # noqa: DTZ001 - as a workbook has it
    assert row["location"].value == "1"
    assert sheet.freeze_panes == "B2"


def test_a_workbook_of_nothing_still_opens():
    book = openpyxl.load_workbook(io.BytesIO(render_xlsx([Table("areas", ("area",), ())])))
    assert book["areas"]["A1"].value == "area"


@pytest.mark.parametrize("to", ["csv", "xlsx", "json"])
def test_the_same_reports_give_the_same_bytes(to):
    assert export([reported()], to) == export([reported()], to)


def test_json_holds_the_evaluation_and_the_readings():
    report = reported()
    data = export([report], "json")["export.json"]
    found = json.loads(data, parse_float=Decimal)
    assert found["format"] == 1
    assert canonical_json(found["reports"][0]["evaluation"]) == canonical_json(plain(report.evaluation))
    surface = found["reports"][0]["surfaces"][0]
    assert (surface["unit"], surface["film"], len(surface["readings"])) == ("mil", "subtracted", 3)
    assert b'"reading":2.20' in data


def test_one_table_alone():
    assert list(export([reported()], "csv", table="salts")) == ["salts.csv"]
    assert export([reported()], "csv", table="checks")["checks.csv"].count(b"\r\n") >= 1
    with pytest.raises(KeyError):
        export([reported()], "csv", table="absent")


def test_an_area_without_profile_has_no_gauge():
    bare = DAY[: DAY.index("    profile:")] + DAY[DAY.index("not_inspected") :]
    surface = json.loads(export([reported(bare)], "json")["export.json"])["reports"][0]["surfaces"][0]
    assert surface == {"area": "A-1", "apparatus": "pot 1", "readings": []}
    assert "readings.csv" not in export([reported(bare)], "csv")


def test_two_apparatus_on_one_area_keep_their_readings_apart():
    second = DAY[DAY.index("  - area: A-1") : DAY.index("not_inspected")].replace("pot 1", "pot 2")
    second = second.replace("2.20, c1: 1.6", "2.9").replace("salts:", "# salts:").replace("dust:", "# dust:")
    day = DAY.replace("not_inspected", second + "not_inspected")
    rows = rows_of(export([reported(day)], "csv"), "readings.csv")
    assert [row["net reading (mil)"] for row in rows] == ["2.20", "1.6", "2.6", "2.9", "2.6"]


# Sources


def test_a_folder_gives_its_days_in_order(tmp_path):
    folder = JOBS / "quarrowmere"
    assert [path.name for path in day_files(folder)] == ["2026-06-08.yaml", "2026-06-09.yaml", "2026-06-11.yaml"]
    reports = reports_at(folder, evaluated)
    assert [report.evaluation.report.number[-3:] for report in reports] == ["001", "002", "003"]
    assert reports_at(folder / "2026-06-09.yaml", evaluated)[0].evaluation == reports[1].evaluation
    with pytest.raises(UsageError, match=r"holds no day file$"):
        reports_at(tmp_path, evaluated)
    with pytest.raises(UsageError, match=r"is neither a file nor a folder$"):
        reports_at(tmp_path / "absent.yaml", evaluated)


def pdf_with(files):
    pdf = pikepdf.new()
    pdf.add_blank_page()
    for name, data in files.items():
        pdf.attachments[name] = pikepdf.AttachedFileSpec(pdf, data, filename=name)
    into = io.BytesIO()
    pdf.save(into)
    return into.getvalue()


def report_files(**changed):
    report = reported()
    files = {
        "project.yaml": PROJECT.encode(),
        "day.yaml": DAY.encode(),
        EVALUATION_NAME: canonical_json(report.evaluation),
    }
    roles = {"project.yaml": "project", "day.yaml": "day", EVALUATION_NAME: "evaluation"}
    entries = [entry_of(name, data, roles[name]) for name, data in files.items()]
    return files | {MANIFEST_NAME: build_manifest(entries, generator="reportgen", day="day.yaml")} | changed


def test_a_report_gives_what_its_day_file_gives(tmp_path):
    assert report_of(pdf_with(report_files()), "r.pdf").evaluation == reported().evaluation
    (tmp_path / "r.pdf").write_bytes(pdf_with(report_files()))
    assert reports_at(tmp_path / "r.pdf", evaluated)[0].evaluation == reported().evaluation


@pytest.mark.parametrize(
    ("pdf", "message"),
    [
        (lambda: pdf_with({}), "^r.pdf is a PDF, but no report: it has no list of embedded files$"),
        (lambda: pdf_with(report_files(**{"day.yaml": b"other"})), "day.yaml does not have the SHA-256"),
        (lambda: pdf_with(report_files(**{MANIFEST_NAME: b"[]"})), "^r.pdf cannot be exported: manifest.json "),
        (lambda: b"%PDF-1.7\n...", "^the PDF cannot be read: "),
    ],
)
def test_a_pdf_that_is_no_report_is_refused(pdf, message):
    with pytest.raises(UsageError, match=message):
        report_of(pdf(), "r.pdf")


def test_a_pdf_too_large_is_refused(monkeypatch):
    monkeypatch.setattr("reportgen.export.sources._PDF_LIMIT", 10)
    with pytest.raises(UsageError, match=r"^r.pdf is larger than 0 MiB$"):
        report_of(b"%PDF-1.7\n...", "r.pdf")


def test_findings_and_nonconformances_have_their_sheets():
    def of_day(path):
        checked = evaluated(path)
        return Exported(checked.job, checked.evaluation)

    files = export(reports_at(JOBS / "quarrowmere" / "2026-06-09.yaml", of_day), "csv")
    found = rows_of(files, "findings.csv")
    assert {row["code"] for row in found} >= {"profile-below-minimum", "humidity-above-maximum"}
    assert [row["status"] for row in rows_of(files, "nonconformances.csv")] == ["open"] * 3
    assert {row["area"] for row in rows_of(files, "to-measure-next.csv")} == {"G-5", "G-6", "K-3", "H-1"}


def test_an_embedded_file_is_read_the_same_way_in_this_process():
    from reportgen.export.sources import _embedded

    assert set(json.loads(_embedded(pdf_with(report_files())))) == set(report_files())
    with pytest.raises(UsageError, match=r"^the PDF cannot be read: "):
        _embedded(b"%PDF-1.7 nothing")
