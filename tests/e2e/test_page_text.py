"""Step 9: the pages of real reports agree with their evaluation, and any printed result that is altered is noticed."""

import copy
import json
import re
import subprocess
from decimal import Decimal

import pytest

from reportgen.archival import read_attachments
from reportgen.archival_manifest import EVALUATION_NAME
from reportgen.pipeline import draft
from reportgen.results import canonical_json
from reportgen.verification.pageread import page_texts
from reportgen.verification.pagetext import text_agrees
from tests.build_samples import DAYS, issue_time
from tests.outside import needs_program


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    """Pages and embedded files of the day with most findings."""
    path = tmp_path_factory.mktemp("report") / "report.pdf"
    draft(DAYS[1], path, at=issue_time(DAYS[1]))
    pdf = path.read_bytes()
    return page_texts(pdf), read_attachments(pdf), path


@pytest.mark.parametrize("template", ["a4-en", "letter-en", "a4-de"])
@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.stem)
def test_pages_agree_in_every_template(day, template, tmp_path):
    draft(day, tmp_path / "report.pdf", at=issue_time(day), template=template)
    pdf = (tmp_path / "report.pdf").read_bytes()
    outcome = text_agrees(page_texts(pdf), read_attachments(pdf))
    assert outcome.status == "passed", outcome.sentences


@needs_program("pdftotext")
def test_another_reader_of_the_same_pages_agrees(report):
    pages, files, path = report
    raw = subprocess.run(["pdftotext", "-raw", path, "-"], capture_output=True, text=True, check=True).stdout
    assert text_agrees(raw.split("\f")[: len(pages)], files).status == "passed"


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
    for i, _ in enumerate(evaluation["findings"]):
        yield ("findings", i, "observed"), "nothing of note"
    yield ("verdict",), "conforms"


def _altered_location(location, path):
    yield (*path, "verdict"), "conforms" if location["verdict"] != "conforms" else "does not conform"
    yield from _moved(location, ("profile", "expanded_uncertainty"), "0.01", path)
    for k, spot in enumerate(location["spots"]):
        yield from _moved(spot, ("profile",), "0.01", (*path, "spots", k))


def _moved(values, keys, by, path):
    return [((*path, key), values[key] + Decimal(by)) for key in keys if values[key] is not None]


def test_every_altered_result_is_noticed(report):
    pages, files, _ = report
    evaluation = json.loads(files[EVALUATION_NAME], parse_float=Decimal, parse_int=Decimal)
    altered = list(_altered(evaluation))
    assert len(altered) > 150
    unnoticed = [path for path, value in altered if not _noticed(pages, files, evaluation, path, value)]
    assert unnoticed == []


def _noticed(pages, files, evaluation, path, value):
    other = copy.deepcopy(evaluation)
    target = other
    for part in path[:-1]:
        target = target[part]
    target[path[-1]] = value
    if path[-1] == "verdict" and "locations" in path:
        target["side"] = None if value == "conforms" else "below"  # consistent, as a forger would make it
    return text_agrees(pages, {**files, EVALUATION_NAME: canonical_json(other)}).status == "failed"


def test_a_report_of_another_number_is_noticed(report):
    pages, files, _ = report
    number = json.loads(files[EVALUATION_NAME])["report"]["number"]
    outcome = text_agrees([page.replace(number, "QW-14-IR-999") for page in pages], files)
    assert outcome.status == "failed"
    assert re.match(r"page 1 does not bear number", outcome.sentences[0])


def test_without_a_language_the_step_is_not_done(report):
    pages, files, _ = report
    assert text_agrees(pages, {EVALUATION_NAME: files[EVALUATION_NAME]}).status == "not done"
