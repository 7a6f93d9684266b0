"""The stored schemas are those of today's formats, describe every member, and hold for what the program writes."""

import datetime as dt
import json
from functools import cache
from pathlib import Path

import jsonschema
import pytest

from reportgen.archival import read_attachments
from reportgen.errors import UsageError
from reportgen.formats import encode, schemas
from reportgen.issued import Cover, Listed, SubmittalList, render_list
from reportgen.loader import load_job
from reportgen.loader.template import load_template
from reportgen.pipeline.building import Terms, build
from reportgen.pipeline.checking import Checked
from reportgen.register import EMPTY, Row, Supersedes
from reportgen.register.rows import encode_row, report_of
from reportgen.rules import evaluate
from tests.build_schemas import generated
from tests.unit.register import samples
from tests.unit.verification import test_verify_answer as answers

JOBS = Path(__file__).parents[3] / "jobs"
DAYS = sorted(path for path in JOBS.glob("*/*.yaml") if path.name != "project.yaml")
AT = dt.datetime(2026, 9, 16, 7, 30, tzinfo=dt.UTC)


@cache
def validator(name):
    return jsonschema.Draft202012Validator(json.loads(schemas.schema_text(name)))


def faults(name, data):
    plain = json.loads(data) if isinstance(data, bytes) else data
    return [f"{error.json_path}: {error.message}" for error in validator(name).iter_errors(plain)]


@cache
def written(day):
    """The evaluation and the attachments of a report of a demo day."""
    job = load_job(day)
    evaluation = evaluate(job, at=AT)
    checked = Checked(job, evaluation, encode(evaluation))
    supersedes = Supersedes(0, "a" * 64, "roll was mistyped")
    terms = Terms("issue", AT, load_template("a4-de"), head=EMPTY, supersedes=supersedes)
    return read_attachments(build(checked, terms).pdf)


@pytest.mark.parametrize(("file", "text"), generated().items(), ids=lambda value: getattr(value, "parts", [""])[-2:][0])
def test_a_stored_schema_is_the_one_of_today(file, text):
    assert file.read_text("utf-8") == text, "run python -m tests.build_schemas, as long as the format is not released"


@pytest.mark.parametrize("name", schemas.NAMES)
def test_every_schema_is_one_and_says_what_each_member_is(name):
    schema = json.loads(schemas.schema_text(name))
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$id"] == f"urn:reportgen:schema:{name}:1"
    blocks = {name: schema, **schema.get("$defs", {}), **dict(enumerate(schema.get("oneOf", ())))}
    members = {(block, key): part for block in blocks for key, part in blocks[block].get("properties", {}).items()}
    assert members
    assert [where for where, part in members.items() if part["since"] != 1] == []
    if name not in ("project", "day", "policy"):  # of which a test of their own knows what needs no description
        assert [where for where, part in members.items() if len(part["description"]) < 3] == []


def test_a_schema_that_there_is_not():
    with pytest.raises(UsageError, match="there is no schema of `shift`"):
        schemas.schema_text("shift")
    with pytest.raises(UsageError, match="`evaluation` has no format 9 in this release"):
        schemas.schema_text("evaluation", 9)


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.stem)
def test_the_evaluation_of_every_demo_day_fits(day):
    assert faults("evaluation", encode(evaluate(load_job(day), at=AT))) == []


def test_what_a_report_holds_fits_and_what_is_altered_does_not():
    files = written(DAYS[1])
    for name in ("evaluation", "issue", "manifest"):
        assert faults(name, files[f"{name}.json"]) == []
    for name in ("evaluation", "manifest"):
        assert faults(name, json.loads(files[f"{name}.json"]) | {"mood": "good"}) != []
    assert faults("issue", json.loads(files["issue.json"]) | {"mood": "good"}) == []
    assert faults("issue", json.loads(files["issue.json"]) | {"format": 2}) != []
    evaluation = json.loads(files["evaluation.json"])
    evaluation["findings"][0] |= {"code": "dust-above-maximum", "facts": {"colour": "red"}}
    assert faults("evaluation", evaluation) != []
    evaluation["areas"][0]["mean"] = None
    assert any("mean" in fault for fault in faults("evaluation", evaluation))


def test_rows_of_a_register_fit():
    report = report_of(samples.entry_for(EMPTY), file="reports/AB-12-001.pdf", size=3000, signed_sha256="a" * 64)
    for row in (
        Row("intent", 1, EMPTY.sha256, report),
        Row("void", 2, "b" * 64, report, clock_back=True, note="why", recovered_at="2026-03-02T13:00:00Z"),
        Row("rebuilt", 4, "c" * 64, note="rows lost", original_sha256="d" * 64),
    ):
        data = encode_row(row)
        assert faults("register-row", data) == []
        assert faults("register-row", json.loads(data) | {"event": "printed"}) != []
        assert faults("register-row", json.loads(data) | {"mood": "good"}) != []


def test_the_list_of_a_submittal_fits():
    listed = (Listed("HM-1-IR-001.pdf", "a" * 64, 1000, "HM-1-IR-001", 0, "2026-03-01"),)
    cover = Cover("P. Ashgrove", "project engineer", None, "Mere Trust", "", "issue", "A4", "en")
    told = SubmittalList("reportgen 0.1.0", "2026-03-02T12:00:00Z", "HM-1", listed, cover, {"zlib": "1.3"})
    data = render_list(told)
    assert faults("submittal", data) == []
    assert faults("submittal", json.loads(data) | {"reports": [{}]}) != []


@pytest.mark.parametrize("pdf", [None, b""], ids=["genuine", "no PDF"])
def test_the_answer_of_a_verification_fits(pdf):
    plain = json.loads(json.dumps(answers.verified(pdf).plain()))
    assert faults("verification", {"file": "r.pdf", **plain}) == []
    assert faults("verification", plain | {"overall": "fine"}) != []
