"""Contracts whose profile is graded beside a comparator, or read with a depth micrometer: from contract to audit.

The two contracts of ``tests/methods`` are invented.
"""

import csv
import datetime as dt
import io
import json
import os
import re
import shutil
import sys
from pathlib import Path
from unittest import mock

import pytest
from pypdf import PdfReader

from reportgen.cli import main
from tests.unit.cli.conftest import _CLOCKS, Said
from tests.unit.intake.small import by_pypdf

METHODS = Path(__file__).parents[2] / "methods"
DAYS = {"comparator": "2026-09-14.yaml", "micrometer": "2026-09-15.yaml"}


@pytest.fixture(params=DAYS)
def method(request):
    return request.param


@pytest.fixture
def folder(method, tmp_path, monkeypatch):
    """A copy of the contract of a method, in which commands run at the end of its shift."""
    there = Path(shutil.copytree(METHODS / method, tmp_path / method))
    monkeypatch.chdir(there)
    monkeypatch.setattr(sys, "path", sys.path[:])
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")
    now = dt.datetime.fromisoformat(f"{DAYS[method].removesuffix('.yaml')}T17:30:00+00:00")
    for place in _CLOCKS:
        monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda: now, raising=False)
    return there


@pytest.fixture
def run(folder, capsys):
    def command(*arguments):
        with mock.patch.dict(os.environ):  # as a process of its own: what it takes from its environment is there again
            code = main([str(argument) for argument in arguments])
        return Said(code, *capsys.readouterr())

    return command


@pytest.fixture
def day(method, folder):
    return folder / DAYS[method]


@pytest.fixture
def change(folder, day):
    """Change texts of the day file or the project file, each of which must be there."""

    def changed(*pairs, project=()):
        for path, several in ((day, pairs), (folder / "project.yaml", project)):
            text = path.read_text("utf-8")
            for old, new in several:
                assert old in text, old
                text = text.replace(old, new)
            path.write_text(text, "utf-8")

    return changed


comparator = pytest.mark.parametrize("method", ["comparator"], indirect=True)
micrometer = pytest.mark.parametrize("method", ["micrometer"], indirect=True)
INSPECTOR = {"comparator": "Liv Aske", "micrometer": "Ada Quill"}


def evaluation(run, day):
    """What `check` says of the day, and its areas by id."""
    found = json.loads(run("check", "--json", day.name).out)
    return found, {area["id"]: area for area in found["areas"]}


def finding_codes(found):
    return [one["code"] for one in found["findings"]]


def test_a_report_is_issued_verified_and_audited(run, day, method):
    """Years later the embedded files give the same evaluation, and the pages say it."""
    run("identity", "new", "keys", "--name", INSPECTOR[method], "--organisation", "Body")
    root = next(Path("keys").glob("*-root.pem"))
    key = root.with_name(root.name.replace("-root.pem", ".p12"))
    told = run("issue", day.name, "--identity", key)
    assert told.code == 0, told.err
    (report,) = Path("reports").glob("*.pdf")
    verified = run("verify", report, "--trust", root, "--details")
    assert verified.code == 0, verified.out
    audited = run("audit", "reports", "--trust", root)
    assert "1 file, 1 passed" in audited.out
    faults = {"comparator": ["nonconformance-never-closed"], "micrometer": []}[method]  # it was raised on that day
    assert re.findall(r"^([a-z-]+) \((?:fault|doubt)", audited.out, re.MULTILINE) == faults


@comparator
def test_pages_that_show_another_grade_do_not_agree(run, day):
    from reportgen.archival import read_attachments
    from reportgen.verification.pagetext import page_texts, text_agrees

    run("identity", "new", "keys", "--name", "Liv Aske", "--organisation", "Body")
    (key,) = (path for path in Path("keys").glob("*.p12") if "root" not in path.name)
    run("issue", day.name, "--identity", key)
    pdf = Path("reports/OS-3-001.pdf").read_bytes()
    files, pages = read_attachments(pdf), page_texts(pdf)
    assert text_agrees(pages, files, None).status == "passed"
    altered = [" ".join(page.split()).replace("coarser than coarse G does", "medium G does") for page in pages]
    assert text_agrees(altered, files, None).status == "failed"


@comparator
def test_grades_are_judged_counted_and_walked_out_from_as_readings_are(run, day):
    found, areas = evaluation(run, day)
    seen = [(one["id"], one["observed"], one["verdict"]) for one in areas["R-2"]["locations"]]
    assert seen[:4] == [
        ("1", "medium G", "conforms"), ("2", "coarser than coarse G", "does not conform"),
        ("3", "medium G", "conforms"), ("4", "coarse G", "does not conform"),
    ]  # fmt: skip
    assert (areas["R-2"]["n_locations"], areas["R-2"]["required_locations"]) == (3, 3)
    (bounded,) = areas["R-2"]["bounded_area"]
    assert [extent["reach"]["value"] for extent in bounded["extents"]] == [1.0, 0.5, 0.0, 0.0]
    assert [areas[name]["decision"] for name in ("R-1", "R-2")] == ["release", "rework"]
    assert finding_codes(found) == ["comparator-grade-not-met", "nonconformance-open"]
    for area in areas.values():
        assert not {"mean", "standard_deviation", "expanded_uncertainty", "budget"} & {
            name for name, value in area.items() if value not in (None, [], ())
        }


@comparator
def test_the_pages_give_grades_and_claim_no_uncertainty(run, day):
    run("draft", day.name, "-o", "one.pdf")
    run("draft", day.name, "-o", "zwei.pdf", "--template", "a4-de")
    english, german = (
        " ".join(" ".join(page.extract_text() for page in PdfReader(name).pages).split())
        for name in ("one.pdf", "zwei.pdf")
    )
    assert "no mean, scatter or uncertainty is stated" in english
    assert "A comparison has no uncertainty: none is stated" in english
    assert "medium G (60 to below 100 µm), by ISO 8503-2 (2012)" in english
    assert "What U does not cover" not in english
    assert "Grubbs" not in english
    assert "Mittel, Streuung und Messunsicherheit werden nicht angegeben" in german


@comparator
def test_the_tables_hold_the_grades(run, day):
    assert run("export", day.name, "--to", "csv", "-o", "tables").code == 0
    rows = list(csv.DictReader(io.StringIO(Path("tables/locations.csv").read_text("utf-8-sig"))))
    assert [row["grade seen"] for row in rows][:4] == ["medium G"] * 4
    rows = list(csv.DictReader(io.StringIO(Path("tables/readings.csv").read_text("utf-8-sig"))))
    assert (rows[0]["grade seen"], rows[0]["time"]) == ("medium", "09:52")


@comparator
def test_a_sheet_is_filled_and_taken_in(run, day, folder):
    text = day.read_text("utf-8")
    before, _, _ = text.partition("surfaces:")
    day.write_text(before + "surfaces: []\n", "utf-8")
    assert run("sheet", day.name, "--area", "R-1", "-o", "sheet.pdf").code == 0
    pdf = Path("sheet.pdf").read_bytes()
    fields = PdfReader(io.BytesIO(pdf)).get_fields()
    grades = sorted(name for name in fields if name.endswith("_grade"))
    assert len(grades) == 4  # three that the plan asks for, and one to spare
    assert not [name for name in fields if name.endswith(("_preset", "_zero", "_subtracted"))]
    values = dict(zip(grades, ("medium", "fine", "medium  G", "rough"), strict=True))
    values[grades[3].replace("_grade", "_location")] = "4"
    values[grades[3].replace("_grade", "_spot")] = "a"
    values |= {grades[0].replace("_grade", "_time"): "0952"}
    Path("filled.pdf").write_bytes(by_pypdf(pdf, values))
    told = run("intake", "filled.pdf", "--into", day.name)
    assert "`rough` is not a grade of a comparator" in " ".join((told.out + told.err).split())
    written = day.read_text("utf-8")
    assert re.search(r'location: "?1"?, spot: a, grade: medium, time: "09:52"', written)
    assert re.search(r'location: "?2"?, spot: a, grade: fine', written)


@comparator
def test_the_next_day_begins_with_rows_for_grades(run, day):
    assert run("new", "--next", day.name, "--date", "2026-09-15").code == 0
    text = Path("2026-09-15.yaml").read_text("utf-8")
    assert "#        - {location: 1, grade: }" in text
    assert "film:" not in text


@comparator
def test_steel_blasted_again_and_graded_again_closes_what_was_open(run, day, folder):
    later = """\
project: project.yaml
report:
  {number: OS-3-002, revision: 0, date: 2026-09-15, shift: {start: "07:00", end: "17:00"}, inspector: liv}
surfaces:
  - area: R-2
    apparatus: pot 1
    initial_condition: B
    blasted: {start: "08:00", end: "09:00", abrasive: "chilled iron grit, lot 44"}
    cleanliness: {observed: Sa 2½}
    reinspects: [NCR-001]
    profile:
      gauge: vg
      readings: [{location: 1, grade: medium}, {location: 2, grade: GRADE}, {location: 3, grade: medium}]
    coated: "12:00"
"""
    closed = folder / "2026-09-15.yaml"
    closed.write_text(later.replace("GRADE", "medium"), "utf-8")
    found, areas = evaluation(run, closed)
    assert [(one["id"], one["status"]) for one in found["nonconformances"]] == [("NCR-001", "closed")]
    assert areas["R-2"]["decision"] == "release"
    closed.write_text(later.replace("GRADE", "coarse"), "utf-8")
    found, areas = evaluation(run, closed)
    assert [one["status"] for one in found["nonconformances"]] == ["open"]
    assert areas["R-2"]["decision"] == "rework"


@comparator
def test_what_a_grade_left_open_is_settled_by_a_grade_of_the_same_location(run, day, change, folder):
    """A grade of the other comparator says nothing: it holds its area until the location is graded again."""
    change(('{location: 3, grade: medium, time: "09:58"}', '{location: 3, grade: medium, time: "09:58"}'))
    text = day.read_text("utf-8").replace("gauge: vg", "gauge: vs", 1).replace('    coated: "12:30"\n', "", 1)
    day.write_text(text, "utf-8")
    found, areas = evaluation(run, day)
    assert areas["R-1"]["decision"] == "hold"
    assert finding_codes(found).count("profile-inconclusive") == 3
    again = """\
project: project.yaml
report:
  {number: OS-3-002, revision: 0, date: 2026-09-15, shift: {start: "07:00", end: "17:00"}, inspector: liv}
surfaces:
  - area: R-1
    apparatus: pot 1
    initial_condition: B
    blasted: {start: "2026-09-14 07:30+02:00", end: "2026-09-14 09:40+02:00", abrasive: "chilled iron grit, lot 44"}
    cleanliness: {observed: Sa 2½}
    profile: {gauge: vg, readings: [LOCATIONS]}
"""
    (folder / "2026-09-15.yaml").write_text(again.replace("LOCATIONS", "{location: 1, grade: medium}"), "utf-8")
    found, _ = evaluation(run, folder / "2026-09-15.yaml")
    left = [one["place"].get("location") for one in found["findings"] if one["code"] == "left-open-earlier"]
    assert {"2", "3"} <= set(left)
    assert "1" not in left


@micrometer
def test_ten_readings_and_their_largest_by_the_edition(run, day):
    found, areas = evaluation(run, day)
    (area,) = areas.values()
    read = [[one["gross"] for spot in each["spots"] for one in spot["readings"]] for each in area["locations"]]
    assert [len(several) for several in read] == [10, 10]
    assert [each["profile"] for each in area["locations"]] == [max(several) for several in read] == [84, 88]
    assert not [line for line in area["location_budget"] if line["component"] == "film thickness"]
    assert (area["decision"], finding_codes(found)) == ("release", [])


@micrometer
def test_the_mean_of_three_by_the_older_edition(run, day, change):
    change(project=[('edition: "2021"', 'edition: "2003"')])
    _, areas = evaluation(run, day)
    (area,) = areas.values()
    read = [[one["gross"] for spot in each["spots"] for one in spot["readings"]] for each in area["locations"]]
    assert [each["profile"] for each in area["locations"]] == [round(sum(several) / 10, 1) for several in read]


@micrometer
def test_a_reading_too_few_leaves_the_location_open(run, day, change):
    change(('        - {location: 2, spot: j, depth: 55, time: "10:39"}\n', ""))
    found, areas = evaluation(run, day)
    assert areas["G-1"]["decision"] == "hold"
    assert finding_codes(found) == ["spots-missing"]


@micrometer
def test_a_zero_that_is_off_puts_the_readings_in_doubt(run, day, change):
    change(("zero: 1 um", "zero: 9 um"))
    found, areas = evaluation(run, day)
    assert areas["G-1"]["decision"] == "hold"
    assert "gauge-check-failed" in finding_codes(found)
    told = " ".join(run("check", day.name).out.split())
    assert "tip cleaned, 9 µm on the flat plate, shim 75 µm read as 76 µm" in told


@micrometer
def test_readings_without_a_check_on_the_plate_are_held(run, day, change):
    change(("tip: cleaned, zero: 1 um, shim: 75 um, shim_reading: 76 um", "tip: cleaned"))
    found, _ = evaluation(run, day)
    assert finding_codes(found) == ["gauge-check-missing"]


@micrometer
def test_a_sheet_asks_for_the_plate_and_is_taken_in(run, day):
    before, _, _ = day.read_text("utf-8").partition("gauge_checks:")
    day.write_text(before + "surfaces: []\n", "utf-8")
    run("sheet", day.name, "-o", "sheet.pdf")
    pdf = Path("sheet.pdf").read_bytes()
    zero = min(name for name in PdfReader(io.BytesIO(pdf)).get_fields() if name.endswith("_zero"))
    other = zero.removesuffix("zero")
    Path("filled.pdf").write_bytes(
        by_pypdf(pdf, {zero: "-1", other + "time": "0740", other + "tip_clean": "/Yes", other + "gauge": "m1"})
    )
    told = run("intake", "filled.pdf", "--into", day.name)
    assert "film" not in told.out + told.err
    assert 'time: "07:40", gauge: m1, zero: -1 um, tip: clean' in day.read_text("utf-8")


@micrometer
def test_an_edition_whose_numbers_are_not_known_is_refused_or_said_to_be_unknown(run, day, change):
    change(project=[('edition: "2021"', 'edition: "2011"')])
    refused = run("check", day.name)
    told = " ".join(refused.err.split())
    assert refused.code == 2
    assert "`readings_per_location` is not stated, and for `ASTM D4417 Method B`, edition 2011, it is not known" in told
    assert "known editions of the method are 2003, 2014, 2019, 2021" in told
    change(project=[("decision_rule:", "readings_per_location: 10, location_value: mean, decision_rule:")])
    run("draft", day.name, "-o", "one.pdf")
    pages = " ".join(" ".join(page.extract_text() for page in PdfReader("one.pdf").pages).split())
    assert "what `ASTM D4417 Method B`, edition 2011, says itself is not known here; the contract governs" in pages
    assert "mean of 10 spots per location" in pages
