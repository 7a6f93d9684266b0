"""The schema accepts every sample as an editor reads it, and refuses what the models refuse for its shape."""

import re
from pathlib import Path

import jsonschema
import pytest

from reportgen.job import Day, Project
from reportgen.yamlsource import parse_yaml
from tests.job_schemas import json_schema
from tests.unit.schema.editor import as_an_editor_reads, checked

ROOT = Path(__file__).parents[3]
DAY = """\
project: project.yaml
report: {number: AB-1, revision: 0, date: 2026-06-08, shift: {start: "06:30", end: "18:00"}, inspector: noor}
conditions:
  - {time: "06:45", place: yard, air: 13.0 degC, humidity: 72 %, steel: 12.0 degC}
surfaces:
  - area: A-1
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "07:05", end: "08:50", abrasive: grit}
    profile:
      gauge: g1
      readings:
        - {location: 1, spot: a, x1: 2.4, c1: 2.1}
    dust:
      - {location: 1, quantity: 1, size: 2}
nonconformances:
  - {id: N-1, findings: [outlier], description: odd, disposition: rework, decided_by: noor, status: open}
"""


def validator(kind):
    return jsonschema.Draft202012Validator(json_schema(kind))


@pytest.mark.parametrize("kind", ["project", "day", "policy"])
def test_the_schema_is_one(kind):
    jsonschema.Draft202012Validator.check_schema(json_schema(kind))


@pytest.mark.parametrize("file", sorted(ROOT.glob("jobs/*/*.yaml")), ids=lambda path: path.name)
def test_every_sample_is_accepted_as_an_editor_reads_it(file):
    data = as_an_editor_reads(file.read_text("utf-8"))
    kind = "day" if "report" in data else "project"
    assert [error.message for error in validator(kind).iter_errors(data)] == []


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("surfaces:\n", "surface:\n"),  # unknown field
        ("steel: 12.0 degC", "steal: 12.0 degC"),
        (", air: 13.0 degC", ""),  # missing field
        ("initial_condition: C", "initial_condition: E"),  # not a choice
        ("13.0 degC", "13.0"),  # no unit
        ("13.0 degC", "13,0 degC"),
        ("13.0 degC", "13.0 mil"),
        ("72 %", ".nan"),
        ("2026-06-08", "08.06.2026"),
        ('"06:45"', "6.45"),
        ('"06:45"', '"24:10"'),
        ("quantity: 1", "quantity: 7"),
        ("revision: 0", "revision: -1"),
        ("revision: 0", "revision: one"),
        ("x1: 2.4", "x1: OL"),
        ("spot: a, ", ""),
        ("[outlier]", "[]"),
        ("id: N-1", "id: N 1"),
        ("number: AB-1", "number: ab/1"),
        ("abrasive: grit", "abrasive: [grit]"),
        ("gauge: g1", "gauge: {id: g1}"),
    ],
)
def test_what_is_refused_for_its_shape_is_refused_by_both(right, wrong):
    assert DAY.count(right) >= 1
    text = DAY.replace(right, wrong, 1)
    assert isinstance(_checked(text), tuple), "the models accept it"
    assert list(validator("day").iter_errors(as_an_editor_reads(text))) != []


def _checked(text):
    return checked(Day, parse_yaml(text.encode(), "day.yaml").data)


def test_the_day_before_it_is_spoiled_is_right():
    assert isinstance(_checked(DAY), Day)
    assert list(validator("day").iter_errors(as_an_editor_reads(DAY))) == []


@pytest.mark.parametrize(("kind", "model"), [("project", Project), ("day", Day)])
def test_every_field_of_every_block_is_described_or_has_choices(kind, model):
    schema = json_schema(kind)
    bare = [
        f"{name}.{field}"
        for name, block in {model.__name__: schema, **schema["$defs"]}.items()
        for field, part in block.get("properties", {}).items()
        if not _says_something(part)
    ]
    assert bare == []
    assert all(block.get("description") for block in schema["$defs"].values())


def _says_something(part):
    inner = part.get("items", part)
    return any(key in part or key in inner for key in ("description", "enum", "$ref", "const", "oneOf", "anyOf"))


@pytest.mark.parametrize("kind", ["project", "day"])
def test_quantities_show_an_example_with_their_unit(kind):
    quantities = [
        part
        for block in json_schema(kind)["$defs"].values()
        for part in block.get("properties", {}).values()
        if "with its unit" in str(part.get("description"))
    ]
    assert quantities != []
    assert all(" " in part["examples"][0] for part in quantities)


BAD = ROOT / "tests" / "diagnostics" / "bad"
EXPECTED = re.compile(r"^# expect: (\w+) (?:([\w./-]+):)?\d+:\d+$", re.MULTILINE)
SHAPE = {"JOB110", "JOB111", "JOB112", "JOB113", "JOB114", "JOB120", "JOB121", "JOB123", "JOB125", "JOB126", "JOB127",
         "JOB130", "JOB140", "JOB170", "JOB171"}  # fmt: skip
"""Codes for the shape of a field: wrong or missing field, choice, type, spelling of a value."""


TWO_FIELDS = {"function-check-of-nothing", "function-check-of-two-kinds"}
"""Refused for what two fields say together, which no schema compares."""


def _refused_for_their_shape():
    for file in sorted(one for one in BAD.glob("*.yaml") if one.stem not in TWO_FIELDS):
        found = EXPECTED.findall(file.read_text("utf-8", "replace"))
        if found and all(code in SHAPE and not other for code, other in found):
            yield file


@pytest.mark.parametrize("file", list(_refused_for_their_shape()), ids=lambda file: file.stem)
def test_each_bad_file_that_is_refused_for_its_shape_is_refused_by_the_schema(file):
    text = file.read_text("utf-8")
    kind = "project" if text.startswith("# as: project.yaml") else "day"
    assert list(validator(kind).iter_errors(as_an_editor_reads(text))) != []


def test_there_are_such_files():
    assert len(list(_refused_for_their_shape())) > 25


def test_another_kind_is_an_error():
    with pytest.raises(KeyError):
        json_schema("register")
