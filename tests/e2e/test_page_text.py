"""Step 9: the pages of real reports agree with their evaluation, and any printed result that is altered is noticed."""

import copy
import json
import re
import subprocess
from dataclasses import replace
from decimal import Decimal

import pytest

from reportgen.archival import read_attachments
from reportgen.formats import EVALUATION_NAME, canonical_json
from reportgen.measurements.dust.codes import ABOVE_MAXIMUM, DustAbove
from reportgen.pipeline import check, draft
from reportgen.results import Place
from reportgen.verification.pageread import page_texts
from reportgen.verification.pagetext import text_agrees
from tests import footbridge
from tests.build_samples import DAYS, issue_time
from tests.e2e.conftest import PASSPHRASE, Tool
from tests.outside import needs_program
from tests.unit.cli.conftest import DAY, PROJECT


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    """Pages, embedded files and evaluation of the day with most findings."""
    path = tmp_path_factory.mktemp("report") / "report.pdf"
    draft(DAYS[1], path, at=issue_time(DAYS[1]))
    pdf = path.read_bytes()
    return page_texts(pdf), read_attachments(pdf), check(DAYS[1]).evaluation, path


@pytest.mark.parametrize("template", ["a4-en", "letter-en", "a4-de"])
@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.stem)
def test_pages_agree_in_every_template(day, template, tmp_path):
    draft(day, tmp_path / "report.pdf", at=issue_time(day), template=template)
    pdf = (tmp_path / "report.pdf").read_bytes()
    outcome = text_agrees(page_texts(pdf), read_attachments(pdf), check(day).evaluation)
    assert outcome.status == "passed", outcome.sentences
    assert re.search(r"areas, \d+ locations, \d+ findings and", outcome.sentences[0])


@needs_program("pdftotext")
def test_another_reader_of_the_same_pages_agrees(report):
    pages, files, results, path = report
    raw = subprocess.run(["pdftotext", "-raw", path, "-"], capture_output=True, text=True, check=True).stdout
    assert text_agrees(raw.split("\f")[: len(pages)], files, results).status == "passed"


def _altered(evaluation):
    """Every printed result that step 9 answers for: the path to it, and another value."""
    for i, area in enumerate(evaluation["areas"]):
        other = {"release": "rework", "rework": "release", "hold": "release"}[area["decision"]]
        yield ("areas", i, "decision"), other
        yield from _moved(area, ("mean", "expanded_uncertainty"), "0.01", ("areas", i))
        for j, location in enumerate(area["locations"]):
            yield from _altered_location(location, ("areas", i, "locations", j))
    for i, row in enumerate(evaluation["conditions"]):
        yield from _moved(row, ("dew_point", "margin"), "0.1", ("conditions", i))
    yield ("verdict",), "conforms"


def _altered_location(location, path):
    yield (*path, "verdict"), "conforms" if location["verdict"] != "conforms" else "does not conform"
    yield from _moved(location, ("profile", "expanded_uncertainty"), "0.01", path)
    for k, spot in enumerate(location["spots"]):
        yield from _moved(spot, ("profile",), "0.01", (*path, "spots", k))


def _moved(values, keys, by, path):
    return [((*path, key), values[key] + Decimal(by)) for key in keys if key in values]


def test_every_altered_result_is_noticed(report):
    pages, files, results, _ = report
    evaluation = json.loads(files[EVALUATION_NAME], parse_float=Decimal, parse_int=Decimal)
    altered = list(_altered(evaluation))
    assert len(altered) > 130
    unnoticed = [path for path, value in altered if not _noticed((pages, files, results), evaluation, path, value)]
    assert unnoticed == []


def test_every_altered_finding_is_noticed(report):
    """Pages that do not print what a finding states: each is taken for one of another number, code and place."""
    pages, files, results, _ = report
    assert len(results.findings) > 10
    for index, finding in enumerate(results.findings):
        dusty = ABOVE_MAXIMUM.found(DustAbove(4, 5, 2, 3), finding.place)
        assert text_agrees(pages, files, _with(results, index, dusty)).status == "failed", finding


def test_altered_facts_are_noticed(report):
    """A finding made of facts is looked for in the words of the report's language."""
    pages, files, results, _ = report
    dusty = ABOVE_MAXIMUM.found(DustAbove(4, 5, 2, 3), Place("G-4", "2"))
    outcome = text_agrees(pages, files, _with(results, 0, dusty))
    assert outcome.status == "failed"
    printed = "the pages do not print `quantity 4, size class 5`"
    assert f"finding dust-above-maximum: {printed}" in outcome.sentences


def test_without_results_made_again_findings_are_not_counted_as_agreeing(report):
    pages, files, _, _ = report
    outcome = text_agrees(pages, files, None)
    assert outcome.status == "passed"
    assert "findings" not in outcome.sentences[0]


def _with(results, index, finding):
    findings = (*results.findings[:index], finding, *results.findings[index + 1 :])
    return replace(results, findings=findings)


def _noticed(report, evaluation, path, value):
    pages, files, results = report
    other = copy.deepcopy(evaluation)
    target = other
    for part in path[:-1]:
        target = target[part]
    target[path[-1]] = value
    if path[-1] == "verdict" and "locations" in path:
        target["side"] = None if value == "conforms" else "below"  # consistent, as a forger would make it
    return text_agrees(pages, {**files, EVALUATION_NAME: canonical_json(other)}, results).status == "failed"


def test_a_report_of_another_number_is_noticed(report):
    pages, files, results, _ = report
    number = json.loads(files[EVALUATION_NAME])["report"]["number"]
    outcome = text_agrees([page.replace(number, "QW-14-IR-999") for page in pages], files, results)
    assert outcome.status == "failed"
    assert re.match(r"page 1 does not bear number", outcome.sentences[0])


def test_without_a_language_the_step_is_not_done(report):
    pages, files, results, _ = report
    assert text_agrees(pages, {EVALUATION_NAME: files[EVALUATION_NAME]}, results).status == "not done"


def test_an_area_of_which_nothing_was_measured_has_its_row(tmp_path):
    """Inspected without a reading, it is held for a finding; the other was not inspected, for a long reason."""
    (tmp_path / "project.yaml").write_text(PROJECT, encoding="utf-8")
    day = tmp_path / "day.yaml"
    kept = [line for line in DAY.splitlines() if not line.lstrip().startswith("profile:")]
    why = "scaffold not released " * 20
    day.write_text("\n".join(kept).replace("scaffold not released", why.strip()), encoding="utf-8")
    draft(day, tmp_path / "report.pdf", at=issue_time(DAYS[1]))
    evaluation = check(day).evaluation
    assert [(area.n_locations, bool(area.reasons)) for area in evaluation.areas] == [(0, True), (0, False)]
    pdf = (tmp_path / "report.pdf").read_bytes()
    outcome = text_agrees(page_texts(pdf), read_attachments(pdf), evaluation)
    assert outcome.status == "passed", outcome.sentences


@pytest.mark.parametrize("typed", ["x1: 2.60}", "c1: 2.60, x1: 2.7}"])
def test_a_report_is_issued_with_each_reading_as_it_was_typed(typed, tmp_path, signers):
    text = (
        footbridge.day(1).replace("x1: 2.8}", typed, 1).replace(f'"10:23", x1: {footbridge.ROUGH}', '"10:23", x1: 2.6')
    )
    place = footbridge.folder(
        tmp_path / "hd", project=footbridge.PROJECT.replace(" resolution: 0.1 mil,", ""), one=text
    )
    Tool(place)(
        "issue", "one.yaml", "--identity", signers[footbridge.INSPECTOR], env={"REPORTGEN_PASSPHRASE": PASSPHRASE}
    )
    (report,) = place.rglob("HD-9-001*.pdf")
    printed = " ".join(page_texts(report.read_bytes()))
    own, other = re.findall(r"(?<![\d.])2\.60?(?![\d.])", printed)
    assert (own, other) == ("2.60", "2.6")
