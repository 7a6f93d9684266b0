"""How many pages a day takes, how much of them is blank, and how small the smallest letter is.

The numbers of pages are those the document is designed for; they may fall.
"""

import io
from functools import cache

import pytest
from pypdf import PdfReader

from reportgen.job.template import Template
from reportgen.loader.template import load_template
from reportgen.pdf.page import BODY_BOTTOM, BODY_TOP
from reportgen.pipeline import check
from reportgen.pipeline.building import Terms, build
from reportgen.report.document import render_report
from tests.build_samples import DAYS, issue_time
from tests.golden import sample_evaluation as sample
from tests.unit.cli.conftest import DAY, PROJECT

SMALLEST = 6.5
"""Points of the smallest letters."""
HEADING = 11.0
"""Points of the letters of a section's heading, or more."""
PAGES = {
    "2026-06-08": 6, "2026-06-09": 8, "2026-06-11": 6, "2026-09-15": 6, "smallest": 3, "40 areas": 10,
    "200 locations": 8, "letter": 6, "german": 6,
}  # fmt: skip
BLANK = 0.9
"""Of a page, at the ends of all pages of a document but the last."""


@cache
def laid_out(case: str, folder) -> bytes:
    if case == "smallest":
        (folder / "project.yaml").write_text(PROJECT, encoding="utf-8")
        (folder / "day.yaml").write_text(DAY, encoding="utf-8")
        days = {case: folder / "day.yaml"}
    else:
        days = {day.stem: day for day in DAYS}
    if case in days:
        checked = check(days[case])
        template = load_template(checked.job.project.template or "a4-en")
        return build(checked, Terms("demonstration", issue_time(DAYS[0]), template)).pdf
    areas, locations, look = {
        "40 areas": (40, 4, {}), "200 locations": (1, 200, {}), "letter": (6, 4, {"page": "letter"}),
        "german": (6, 4, {"language": "de"}),
    }[case]  # fmt: skip
    job, evaluation = sample.job(areas, locations), sample.evaluation(areas, locations)
    return render_report(job, evaluation, sample.ISSUE, Template(**look)).pdf


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("smallest")


@cache
def letters(case, folder):
    """Of each page its height, and of each piece of text on it the height above its foot and the size."""
    pages = PdfReader(io.BytesIO(laid_out(case, folder))).pages
    return [(float(page.mediabox.height), letters_on(page)) for page in pages]


def letters_on(page):
    found = []

    def visit(text, matrix, at, _font, size):
        if text.strip():
            scale = max(abs(matrix[0] * at[0]), abs(matrix[1] * at[1]), abs(matrix[0] * at[1]))
            found.append((matrix[1] * at[4] + matrix[3] * at[5] + matrix[5], size * scale))

    page.extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize("case", PAGES)
def test_a_day_takes_so_many_pages_and_leaves_little_of_them_blank(case, folder):
    pages = letters(case, folder)
    assert len(pages) <= PAGES[case]
    blank = []
    for height, found in pages:
        room = height - BODY_TOP - BODY_BOTTOM
        lowest = min(y for y, _ in found if BODY_BOTTOM < y < BODY_BOTTOM + room)
        blank.append((lowest - BODY_BOTTOM) / room)
    assert sum(blank[:-1]) < BLANK, blank


@pytest.mark.parametrize("case", PAGES)
def test_no_page_ends_with_a_heading(case, folder):
    for height, found in letters(case, folder):
        body = [(y, size) for y, size in found if BODY_BOTTOM < y < height - BODY_TOP]
        assert min(body)[1] < HEADING, body


@pytest.mark.parametrize("case", PAGES)
def test_no_letter_is_smaller_than_the_smallest_size(case, folder):
    for _, found in letters(case, folder):
        assert min(size for _, size in found) > SMALLEST - 0.01


def test_the_annex_prints_no_rule_that_nothing_came_about_by(folder):
    """The smallest day has one location and no accuracy on record: no uncertainty, and no test on outliers."""

    def topics(case):
        text = " ".join(
            " ".join(page.extract_text() for page in PdfReader(io.BytesIO(laid_out(case, folder))).pages).split()
        )
        return {
            name
            for name in ("Uncertainty: root sum", "Budget: gauge", "Probability of conformity: t", "Outliers")
            if name in text
        }

    assert topics("smallest") == set()
    assert len(topics("2026-06-09")) == 4
