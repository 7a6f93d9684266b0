"""What is so of several areas together stands once on the pages, and verifying still finds it for each of them."""

import re
import shutil

import pytest

from reportgen.archival import read_attachments
from reportgen.formats import MANIFEST_NAME, read_manifest
from reportgen.job.template import Template
from reportgen.pipeline import check
from reportgen.pipeline.building import Terms, build
from reportgen.verification.embedded_files import Evidence
from reportgen.verification.pageread import page_texts
from reportgen.verification.pagetext import page_text_agrees
from tests.build_samples import DAYS, issue_time
from tests.conftest import JOBS

CSV = "readings: {csv: readings/2026-06-08-G-2.csv, rows: 8}\n"
SAID = {
    "en": "the same 11 readings in the same order on G-1 (pot A) and G-2 (pot A)",
    "de": "dieselben 11 Messwerte in derselben Reihenfolge auf G-1 (pot A) und G-2 (pot A)",
}


@pytest.mark.parametrize("language", SAID)
def test_one_series_on_two_areas_is_told_once_and_found_for_both(tmp_path, language):
    day = shutil.copytree(JOBS / "quarrowmere", tmp_path / "job") / "2026-06-08.yaml"
    text = day.read_text("utf-8")
    rows = re.search(r"(?: {8}- \{location: .*\n)+", text)[0]
    assert CSV in text
    day.write_text(text.replace(CSV, f"readings:\n{rows}"), "utf-8")
    checked = check(day)
    found = [one.area for one in checked.evaluation.findings if one.code == "series-entered-twice"]
    assert found == ["G-1", "G-2"]
    pdf = build(checked, Terms("demonstration", issue_time(DAYS[0]), Template(language=language))).pdf
    solid = re.sub(r"\s", "", "".join(page_texts(pdf)))
    assert solid.count(re.sub(r"\s", "", f"G-1, G-2 {SAID[language]}")) == 1  # among the requirements
    assert solid.count(re.sub(r"\s", "", SAID[language])) == 2  # and what is to be settled, for both
    files = read_attachments(pdf)
    evidence = Evidence(pdf, files, read_manifest(files[MANIFEST_NAME]), results=checked.evaluation)
    assert page_text_agrees(evidence).status == "passed"
