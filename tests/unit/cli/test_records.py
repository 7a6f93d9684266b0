"""The record itself through the command line: what `check` says, what stands on the pages and in the export."""

import csv
import io
import json
import re

import pytest
from pypdf import PdfReader

from tests.unit.cli.conftest import DAY, PROJECT

ASKING = PROJECT.replace(
    "people:",
    '  hold_points: [{step: surface preparation, before: coating, clause: "4.2"}]\n'
    '  reporting: {clause: "5.1", within: 24 h}\nrequires: [UFGS 09972, wind]\npeople:',
).replace("kind: thickness gauge,", "kind: thickness gauge, make: Works, model: G 2,")
ASKING = ASKING.replace("tape_rolls:", "  h1: {kind: hygrometer, serial: H-1, make: Works, model: H 4}\ntape_rolls:")
ASKING = ASKING.replace(
    "tape_rolls:", "  t1: {kind: surface thermometer, serial: S-1, make: Works, model: S 2}\ntape_rolls:"
)
ASKING = ASKING.replace('lot: "7",', 'lot: "7", make: Mill, model: T 1,')
SITE = """\
conditions: [{time: "07:20", air: 18 degC, humidity: 60 %, steel: 16 degC, instruments: [h1, t1]}]
function_checks:
  - {time: "07:05", instrument: h1, reference: 75.3 %, shown: 74.0 %, tolerance: 3 %, against: salt solution}
  - {time: "07:06", instrument: t1, reference: 20.0 degC, shown: 20.1 degC, tolerance: 1 delta_degC}
hold_points:
  - {step: surface preparation, areas: [A-1], asked: "10:50", released: "11:20", by: Board}
told_released: [{area: A-1, to: painter, time: "11:30"}]
site: {weather: dry, wind: light from the west, high: 21 degC, low: 9 degC, blasters: 2, agreements: none}
"""
REPLICAS = """\
    cleaned: 8 m2
    oil_test: {result: clean, method: water break}
    positions: {1: web at mid-height}
    replicas:
      - {grain: uniform, rubbed: fully, kept: affixed}
      - {location: 1, spot: a, roll: x1, thrown_away: slid while it was rubbed, read: 1.4 mil}
not_inspected"""


@pytest.fixture
def recorded(contract):
    """A contract that asks for records, and a day that has them."""
    (contract / "project.yaml").write_text(ASKING, "utf-8")
    text = DAY.replace("surfaces:", SITE + "surfaces:").replace("not_inspected", REPLICAS, 1)
    (contract / "day.yaml").write_text(text, "utf-8")
    return contract / "day.yaml"


def change(path, old, new):
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def area(run):
    result = json.loads(run("check", "day.yaml", "--json").out)
    assert "areas" in result, result
    codes = [one["code"] for one in result["findings"] if one["place"].get("area", "A-1") == "A-1"]
    return result["areas"][0]["decision"], codes, result


def test_a_day_with_every_record_is_released_and_says_what_was_cleaned(run, recorded):
    decision, codes, result = area(run)
    assert decision == "release", codes
    assert codes[:2] == ["replica-thrown-away", "area-partly-cleaned"]
    assert codes[2:] == ["report-late"]  # the day is long over
    share = {"today": {"value": 8.0, "unit": "m2"}, "by_now": {"value": 8.0, "unit": "m2"}}
    assert result["areas"][0]["cleaned"] == share | {"size": {"value": 12, "unit": "m2"}, "share": 67}
    assert [one["verdict"] for one in result["checks"] if one["kind"] in ("function", "hold-point")] == ["conforms"] * 3


@pytest.mark.parametrize(("old", "new", "code", "decision", "said"), [
    ("shown: 74.0 %", "shown: 71.9 %", "function-check-failed", "hold",
     "h1 (hygrometer H-1) at 07:05: 71.9 % against 75.3 %, salt solution; in doubt: readings of 07:20"),
    ('released: "11:20"', 'refused: "11:20"', "hold-point-open", "hold",
     "hold point surface preparation: refused at 11:20 by Board"),
    ("rubbed: fully,", "rubbed: slid,", "replica-faulty", "hold",
     "read on a bad replica, grain uniform, slid, roll x1"),
    ("      - {grain: uniform, rubbed: fully, kept: affixed}\n", "", "record-missing", "hold",
     "replicas: not recorded"),
    ("cleaned: 8 m2", "cleaned: 80 m2", "cleaned-more-than-area", "hold", "80.0 m² cleaned today of an area of 12 m²"),
    ("wind: light from the west, ", "", "record-not-stated", "release", "wind: not recorded"),
    ("result: clean", "result: oil", "oil-on-steel", "rework", "oil found and not removed, by water break"),
])  # fmt: skip
def test_what_is_wrong_with_the_record_is_said(run, recorded, old, new, code, decision, said):
    change(recorded, old, new)
    found = area(run)
    assert (found[0], code in found[1] + [one["code"] for one in found[2]["findings"]]) == (decision, True)
    assert said in " ".join(run("check", "day.yaml").out.split())


def test_the_pages_and_the_export_have_what_was_recorded(run, recorded):
    assert run("draft", "day.yaml", "-o", "day.pdf").code == 0
    text = " ".join(page.extract_text() for page in PdfReader(recorded.with_name("day.pdf")).pages)
    text = re.sub(r"\s+", " ", text)
    for part in (
        "light from the west", "web at mid-height", "slid while it was rubbed (1.4 mil)", "affixed to the report",
        "8.0 m² today, 8.0 m² by now of 12 m², 67 %", "painter, 11:30", "Works H 4", "Mill T 1",
        "74.0 % against 75.3 %", "asked 10:50, released 11:20 by Board",
    ):  # fmt: skip
        assert part in text, part
    assert run("export", "day.yaml", "--to", "csv", "-o", "tables").code == 0
    tables = recorded.with_name("tables")
    rows = list(csv.reader(io.StringIO((tables / "also-recorded.csv").read_text("utf-8-sig"))))
    assert ["thrown_away" in rows[0], len(rows) > 8] == [False, True]
    assert any(row[-4:] == ["positions of the locations", "A-1", "1", "web at mid-height"] for row in rows)


def test_a_release_of_a_part_says_so_wherever_it_stands(run, recorded):
    """8 of 12 m² were cleaned: nobody may read that the area is released."""
    assert "release 1 location" in " ".join(run("check", "day.yaml").out.split())
    assert "of the part cleaned: 8.0 m² of 12 m²" in " ".join(run("check", "day.yaml").out.split())
    assert "1 of 1 inspected areas may be released, 1 of them in the part cleaned alone" in " ".join(
        run("check", "day.yaml").out.split()
    )
    derived = " ".join(run("explain", "day.yaml", "--area", "A-1").out.split())
    assert "release of the part cleaned: 8.0 m² of 12 m²" in derived
    assert run("draft", "day.yaml", "-o", "part.pdf").code == 0
    text = " ".join(page.extract_text() for page in PdfReader(recorded.with_name("part.pdf")).pages)
    for part in (
        "Conforms: the steel that was cleaned is recommended for release; not every area was cleaned whole.",
        "release, part", "the part cleaned: 8.0 m² of 12 m²",
    ):  # fmt: skip
        assert part in re.sub(r"\s+", " ", text), part
    change(recorded, "cleaned: 8 m2", "cleaned: 12 m2")
    assert "of the part cleaned" not in " ".join(run("check", "day.yaml").out.split())


def test_the_same_is_said_in_german(run, recorded):
    change(recorded, "rubbed: fully,", "rubbed: slid,")
    assert run("check", "day.yaml").code == 1
    said = json.dumps(json.loads(run("check", "day.yaml", "--json", "--language", "de").out), ensure_ascii=False)
    assert "gemessen an einem schlechten Abdruck, Korn gleichmäßig, verrutscht, Rolle x1" in said
