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
from reportgen.yamlsource import parse_yaml
from tests.unit.cli.conftest import _CLOCKS, Said
from tests.unit.intake.small import filled

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
    assert run("export", day.name, "--to", "json", "-o", "all.json").code == 0
    (report,) = json.loads(Path("all.json").read_text("utf-8"))["reports"]
    first = {"location": "1", "spot": "a", "grade": "medium", "time": "09:52"}
    assert report["surfaces"][0]["readings"][0] == first


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
    values = dict(zip(grades, ("Medium", "fine", "medium  G", "rough"), strict=True))
    values[grades[3].replace("_grade", "_location")] = "4"
    values[grades[3].replace("_grade", "_spot")] = "a"
    values |= {grades[0].replace("_grade", "_time"): "0952"}
    Path("filled.pdf").write_bytes(filled(pdf, values))
    told = run("intake", "filled.pdf", "--into", day.name)
    assert "`rough` is not a grade of a comparator" in " ".join((told.out + told.err).split())
    written = day.read_text("utf-8")
    assert re.search(r'location: "?1"?, grade: medium, time: "09:52"', written)
    assert re.search(r'location: "?2"?, grade: fine', written)


@comparator
def test_a_grade_with_a_capital_is_that_grade(run, day, change):
    before, areas = evaluation(run, day)
    change(("grade: coarser than coarse", "grade: Coarser than Coarse"), ("grade: medium,", "grade: Medium g,"))
    found, same = evaluation(run, day)
    seen = [one["observed"] for one in same["R-2"]["locations"]]
    assert seen == [one["observed"] for one in areas["R-2"]["locations"]]
    assert finding_codes(found) == finding_codes(before)


def readings_of(text):
    return {
        one["area"]: {
            (row["location"], row.get("spot", "a")): {"spot": "a"} | row for row in one["profile"]["readings"]
        }
        for one in parse_yaml(text.encode(), "day.yaml").data["surfaces"]
    }


@pytest.mark.parametrize("to", ["csv", "xlsx"])
def test_the_readings_that_are_exported_are_taken_in_again(run, day, to):
    """All are there already; and where all but the first of each area are gone, they come back as they were."""
    whole = day.read_text("utf-8")
    assert run("export", day.name, "--to", to, "-o", "tables" if to == "csv" else "tables.xlsx").code == 0
    table = {"csv": "tables/readings.csv", "xlsx": "tables.xlsx"}[to]
    told = run("intake", table, "--into", day.name)
    assert (told.code, day.read_text("utf-8")) == (0, whole), told.out
    rows = re.findall(r"        - \{location: .*\n", whole)
    day.write_text(
        "".join(line for line in whole.splitlines(keepends=True) if line not in rows or "location: 1," in line)
    )
    told = run("intake", table, "--into", day.name)
    assert told.code == 0, told.out
    assert readings_of(day.read_text("utf-8")) == readings_of(whole)


LINES = {
    "comparator": "R-1 1 Medium 09:52\nR-1 2 b finer than fine\nR-1 pot 1 3 grade coarse G 0958\n",
    "micrometer": "G-1 1 a 73 10:20\nG-1, 1, b, 62,5\nG-1 pot 2 2 a depth 83 1030\n",
}
TYPED = {
    "comparator": [
        {"location": "1", "grade": "medium", "time": "09:52"},
        {"location": "2", "spot": "b", "grade": "finer than fine"},
        {"location": "3", "grade": "coarse G", "time": "09:58"},
    ],
    "micrometer": [
        {"location": "1", "spot": "a", "depth": "73", "time": "10:20"}, {"location": "1", "spot": "b", "depth": "62.5"},
        {"location": "2", "spot": "a", "depth": "83", "time": "10:30"},
    ],
}  # fmt: skip
FAULTY = {
    "comparator": {
        "R-1 1": "this is not a line of readings", "R-1 1 a rough": "this is not a line of readings",
        "R-1 1 a 2.4": "this is not a line of readings", "R-1 1 medium 6.40": "this is not a line of readings",
    },
    "micrometer": {
        "G-1 1 73": "this is not a line of readings", "G-1 1 a 73 62": "this is not a line of readings",
        "G-1 1 a OL": "`OL` is not a reading", "G-1 1 b 900": "900 µm is outside what a depth micrometer reads",
    },
}  # fmt: skip


@pytest.mark.parametrize("begun", [True, False])
def test_lines_are_typed_without_a_roll(run, day, monkeypatch, method, begun):
    """With the gauge in the day file, and where the area is begun and nothing is measured."""
    before, _, _ = day.read_text("utf-8").partition("      readings:\n")
    first = {"comparator": "{location: 9, grade: medium}", "micrometer": "{location: 9, spot: a, depth: 70}"}[method]
    before = f"{before}      readings:\n        - {first}\n" if begun else before[: before.index("    profile:")]
    if not begun:  # of two comparators nothing says which was used
        text = Path("project.yaml").read_text("utf-8")
        Path("project.yaml").write_text(re.sub(r"  vs: .*\n", "", text), "utf-8")
    day.write_text(before, "utf-8")
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(LINES[method].encode())))
    told = run("intake", "-", "--into", day.name)
    assert "Not taken" not in told.out, told.out
    (area,) = parse_yaml(day.read_bytes(), day.name).data["surfaces"]
    assert area["profile"]["readings"][begun:] == TYPED[method]


def test_a_line_without_a_roll_that_is_wrong_is_named(run, day, monkeypatch, method):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO("\n".join(FAULTY[method]).encode())))
    told = run("intake", "-", "--into", day.name, "--json")
    refused = [(one["place"], one["message"]) for one in json.loads(told.out)["refused"]]
    expected = [(f"line {number}", message) for number, message in enumerate(FAULTY[method].values(), 1)]
    assert [
        (place, message[: len(wanted)]) for (place, message), (_, wanted) in zip(refused, expected, strict=True)
    ] == expected


@comparator
def test_a_table_without_spots_holds_grades(run, day):
    Path("grades.csv").write_text("area,location,spot,roll,reading\nR-1,4,,,Fine\nR-1,5,b,,medium S\n")
    told = run("intake", "grades.csv", "--into", day.name)
    assert "`medium S` is of the other comparator: the one used is G" in " ".join(told.out.split())
    assert readings_of(day.read_text("utf-8"))["R-1"]["4", "a"] == {"location": "4", "spot": "a", "grade": "fine"}


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
    timed = '{location: 1, grade: medium, time: "07:30"}'
    (folder / "2026-09-15.yaml").write_text(again.replace("LOCATIONS", timed), "utf-8")
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
        filled(pdf, {zero: "-1", other + "time": "0740", other + "tip_clean": "/Yes", other + "gauge": "m1"})
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


def _emptied(day):
    """Take the readings out of the last area of the day; return its id, and the rows that stood there."""
    data = parse_yaml(day.read_bytes(), day.name).data
    profile = data["surfaces"][-1]["profile"]
    rows = profile["readings"]
    assert isinstance(rows, list)
    profile["readings"] = []
    day.write_text(json.dumps(data), "utf-8")
    return data, data["surfaces"][-1]["area"], rows


@pytest.mark.parametrize(
    ("method", "columns"),
    [
        ("micrometer", "area,location,spot,depth"), ("micrometer", "area;location;spot;Depth (µm);unit"),
        ("micrometer", "area,location,spot,reading"), ("micrometer", "area,location,spot,roll,reading,unit,time"),
        ("comparator", "area,location,grade"), ("comparator", "area,location,spot,grade"),
        ("comparator", "area,location,grade seen,time"), ("comparator", "area;location;spot;roll;reading;grade seen"),
    ],
    indirect=["method"],
)  # fmt: skip
def test_a_table_as_one_keeps_it_is_taken(run, day, method, columns):
    """Depths and grades need no columns of other methods; what is taken is what stood there."""
    before = parse_yaml(day.read_bytes(), day.name).data
    _, area, rows = _emptied(day)
    mark = ";" if ";" in columns else ","
    shown = "depth" if method == "micrometer" else "grade"
    lines = [columns]
    for row in rows:
        says = {"area": area, "unit": "um", "location": row["location"], "spot": row.get("spot", "")}
        says |= {"time": row.get("time", ""), "grade seen": row[shown], "reading": row[shown], shown: row[shown]}
        says |= {"reading": ""} if "grade seen" in columns else {}
        lines.append(mark.join(says.get(name.lower().partition(" (")[0], "") for name in columns.split(mark)))
    Path("r.csv").write_text("\n".join(lines) + "\n", "utf-8")
    told = run("intake", "r.csv", "--into", day.name)
    assert told.code == 0, told.err + told.out
    kept = {"location", shown} | ({"spot"} & set(rows[0])) | ({"time"} if "time" in columns else set())
    taken = parse_yaml(day.read_bytes(), day.name).data["surfaces"][-1]["profile"]["readings"]
    assert taken == [{key: value for key, value in row.items() if key in kept} for row in rows]
    assert before["surfaces"][-1]["profile"]["readings"] == rows


@pytest.mark.parametrize(
    ("method", "columns"),
    [
        ("micrometer", "location,spot,depth"), ("micrometer", "location,spot,reading"),
        ("comparator", "location,grade"), ("comparator", "location,spot,grade seen"),
        ("comparator", "location,spot,roll,reading,grade seen"),
    ],
    indirect=["method"],
)  # fmt: skip
def test_such_a_table_stands_beside_the_day_file_too(run, day, method, columns):
    inline, _ = evaluation(run, day)
    data, _, rows = _emptied(day)
    shown = "depth" if method == "micrometer" else "grade"
    lines = [columns]
    for row in rows:
        says = row | {"grade seen": row[shown]} | ({"reading": row[shown]} if shown == "depth" else {})
        lines.append(",".join(says.get(name, "") for name in columns.split(",")))
    Path("r.csv").write_text("\n".join(lines) + "\n", "utf-8")
    data["surfaces"][-1]["profile"]["readings"] = {"csv": "r.csv", "rows": str(len(rows))}
    day.write_text(json.dumps(data), "utf-8")
    found, _ = evaluation(run, day)
    last, before = found["areas"][-1], inline["areas"][-1]
    assert (last["verdict"], last["decision"]) == (before["verdict"], before["decision"])
    values = [
        [(one["id"], one.get("profile"), one.get("observed")) for one in each["locations"]] for each in (last, before)
    ]
    assert values[0] == values[1]
