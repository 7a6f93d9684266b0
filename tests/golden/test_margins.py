"""No text on any page lies outside its margins, whatever a job may hold: places of letters, by a reader of its own."""

import itertools
from dataclasses import replace

import pypdfium2
import pytest

from reportgen.job.template import Template
from reportgen.pdf.page import MARGIN, geometry
from reportgen.report.document import render_report
from tests.golden import sample_evaluation as sample
from tests.golden.test_page_counts import PAGES, folder, laid_out

__all__ = ["folder"]

EDGE = 5.0
"""Points from the upper and lower edge of the paper within which nothing stands."""
HAIR = 1.5
"""Points by which a letter may reach beyond its own width."""
WIDE = "W" * 40


def outside(pdf, paper):
    """What stands outside the margins of its page, with the page's number."""
    place, found = geometry(paper), []
    document = pypdfium2.PdfDocument(pdf)
    for number in range(len(document)):
        text = document[number].get_textpage()
        for index in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(index)
            aside = left < MARGIN - HAIR or right > place.page_width - MARGIN + HAIR
            if aside or bottom < EDGE or top > place.page_height - EDGE:
                found.append((number + 1, text.get_text_bounded(left, bottom, right, top)[:40], left, right))
    return found


@pytest.mark.parametrize("case", PAGES)
def test_no_text_of_the_days_that_are_counted_lies_outside_the_margins(case, folder):
    assert outside(laid_out(case, folder), "letter" if case == "letter" else "A4") == []


@pytest.mark.parametrize(("paper", "language", "areas"), [*itertools.product(("A4", "letter"), ("en", "de"), (1, 9))])
def test_no_text_of_a_day_of_the_widest_names_does(paper, language, areas):
    prefix = WIDE[:37]
    job, evaluation = sample.job(areas, 4, prefix=prefix), sample.evaluation(areas, 4, prefix=prefix)
    body = job.project.inspection_body.model_copy(update={"name": f"{WIDE} {WIDE} {WIDE}"[:120]})
    own = job.project.project.model_copy(update={"client": WIDE, "contractor": WIDE, "site": f"{WIDE} {WIDE}"})
    project = job.project.model_copy(update={"inspection_body": body, "project": own})
    day = job.day.model_copy(update={"report": job.day.report.model_copy(update={"number": WIDE})})
    evaluation = replace(evaluation, report=replace(evaluation.report, number=WIDE))
    made = render_report(
        replace(job, project=project, day=day), evaluation, sample.ISSUE, Template(page=paper, language=language)
    )
    assert outside(made.pdf, paper) == []
