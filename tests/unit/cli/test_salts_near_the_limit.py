"""Salts near their limit, through the command line: by each decision rule, on the page, in the derivation, exported."""

import csv
import json
import re

import pytest

from tests.unit.cli.conftest import DAY, PROJECT

LIMIT = "  soluble_salts: {clause: '2.4', maximum: 50 mg/m2, expressed_as: mixed salts by conductivity%s}\n"
METER = (
    "  k1: {kind: conductivity meter, serial: K-1, accuracy: 2 %,"
    " calibrated: 2026-01-10, calibration_due: 2027-01-10}\n"
)
TEST = (
    "    salts: [{location: s1, area: 12.5 cm2, volume: 3 ml, blank: 2.1 uS/cm, sample: 39.6 uS/cm, instrument: k1,"
    ' time: "11:00"}]\n'
)


def written(contract, more=""):
    """Write the contract with a limit of salts, and a day with one test of 45.0 mg/m²; return the day file."""
    project = PROJECT.replace("  time_to_coat:", LIMIT % more + "  time_to_coat:").replace(
        "tape_rolls:", METER + "tape_rolls:"
    )
    (contract / "project.yaml").write_text(project, "utf-8")
    day = contract / "day.yaml"
    day.write_text(DAY.replace("not_inspected:", TEST + "not_inspected:"), "utf-8")
    return day


@pytest.mark.parametrize(
    ("more", "decision", "verdict", "code"),
    [
        ("", "release", "conforms", None),
        (", decision_rule: simple", "release", "conforms", None),
        (", decision_rule: guarded", "hold", "inconclusive", "salts-in-guard-band"),
        (", decision_rule: banded", "hold", "inconclusive", "salts-inconclusive"),
    ],
)
def test_45_against_50_by_each_rule(run, contract, more, decision, verdict, code):
    day = written(contract, more)
    evaluation = json.loads(run("check", day, "--json").out)
    assert evaluation["areas"][0]["decision"] == decision
    (salts,) = evaluation["salts"]
    assert (salts["density"], salts["expanded_uncertainty"], salts["verdict"]) == (45.0, 8.3, verdict)
    assert salts["probability_of_conformity"] == pytest.approx(0.88, abs=0.005)
    assert [one["component"] for one in salts["budgets"][0]["lines"]] == [
        "method precision", "meter at sample", "meter at blank",
    ]  # fmt: skip
    assert [one["code"] for one in evaluation["findings"] if one["code"].startswith("salts")] == (
        [code] if code else []
    )
    said = " ".join(run("check", day).out.split())
    assert ("not accepted: at most 50 mg/m², with a guard band of 8.3 mg/m²" in said) == (code == "salts-in-guard-band")


def test_the_budget_is_printed_derived_and_exported(run, contract):
    from pypdf import PdfReader

    day = written(contract, ", decision_rule: guarded")
    derived = " ".join(run("explain", day, "--area", "A-1").out.split())
    assert "45.0 ± 8.3 mg/m² (k = 1.96): inconclusive, guarded rule, probability of conformity 0.88" in derived
    assert "meter, at the sample: 0.792 µS/cm, rectangular, over 1.732, times 1.200: 0.55" in derived
    assert "U = 8.3 mg/m²" in derived
    report = contract / "draft.pdf"
    run("draft", day, "-o", report)
    pages = " ".join(" ".join(page.extract_text() for page in PdfReader(report).pages).split())
    assert re.search(
        r"Uncertainty of the other results .*salts A-1 · s1 4\.2\d ∞ 1\.96 8\.3 mg/m² precision of the method", pages
    )
    assert "45.0 mg/m² ± 8.3 mg/m²" in pages
    run("export", day, "--to", "csv", "-o", contract / "out")
    (table,) = (contract / "out").rglob("salts.csv")
    rows = list(csv.DictReader(table.read_text("utf-8-sig").splitlines()))
    assert (rows[0]["density (mg/m²)"], rows[0]["expanded uncertainty (mg/m²)"]) == ("45.0", "8.3")


def test_a_rule_that_is_none_is_refused_with_what_to_write(run, contract):
    day = written(contract, ", decision_rule: guard")
    said = run("check", day)
    assert said.code == 2
    assert "simple" in said.err
    assert "guarded" in said.err
