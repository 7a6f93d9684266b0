"""The table of readings beside the evaluation: listed, embedded under a flat name, compared by ``verify``."""

import csv
import io
import json

import pytest
from pypdf import PdfReader

from reportgen.formats.readings import HEADINGS
from reportgen.pipeline import building
from reportgen.verification import embedded_files

pytestmark = pytest.mark.usefixtures("stopped_clock")


def attached(path):
    return {name: data[0] for name, data in PdfReader(path).attachments.items()}


def issued(run):
    assert run("issue", "day.yaml", "--identity", "demo", "-o", "demo.pdf").code == 0


def test_it_says_what_the_evaluation_says(run, contract):
    issued(run)
    files = attached(contract / "demo.pdf")
    [head, row] = csv.reader(io.StringIO(files["readings.csv"].decode()))
    assert tuple(head) == HEADINGS
    told = dict(zip(head, row, strict=True))
    [area] = [one for one in json.loads(files["evaluation.json"])["areas"] if one["locations"]]
    assert (told["area"], told["profile"]) == ("A-1", "2.90")
    assert told["verdict"] == area["locations"][0]["verdict"]
    listed = {one["name"]: one for one in json.loads(files["manifest.json"])["files"]}
    assert listed["readings.csv"]["role"] == "readings"
    last = PdfReader(contract / "demo.pdf").pages[-1].extract_text()
    assert "readings.csv" in last
    assert b"readings.csv" in files["README.txt"]


def test_a_file_of_the_inspector_keeps_that_name(run, contract):
    day = contract / "day.yaml"
    table = "location,spot,roll,reading\n1,a,x1,2.9\n"
    text = day.read_text("utf-8").replace(
        "readings: [{location: 1, spot: a, x1: 2.9}]", "readings: {csv: readings.csv, rows: 1}"
    )
    day.write_text(text, "utf-8")
    (contract / "readings.csv").write_text(table, "utf-8")
    issued(run)
    files = attached(contract / "demo.pdf")
    assert files["readings.csv"].decode() == table
    assert files["readings-2.csv"].decode().startswith("area,apparatus")
    assert run("verify", "demo.pdf").out.startswith("demo.pdf: indeterminate")  # a demonstration


def test_another_table_than_the_one_that_follows_fails(run, monkeypatch):
    """`issue` does not let it out; of a file by another program `verify` says it."""
    true = building.readings_table
    with monkeypatch.context() as other:
        other.setattr(building, "readings_table", lambda evaluation: true(evaluation).replace(b"2.9", b"2.4"))
        code, _, err = run("issue", "day.yaml", "--identity", "demo", "-o", "demo.pdf")
        assert (code, "nothing issued" in err) == (3, True)
        other.setattr(embedded_files, "_other_readings", lambda *_: "")
        issued(run)
    code, out, _ = run("verify", "demo.pdf")
    assert (code, out.startswith("demo.pdf: failed")) == (1, True)
    assert "readings.csv is not the table that follows from the embedded input" in " ".join(out.split())
