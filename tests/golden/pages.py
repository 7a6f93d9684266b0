"""Pages of a rendered report as text, by an independent reader."""

from __future__ import annotations

import io
from functools import cache

from pypdf import PdfReader

from reportgen.job.template import Template
from reportgen.report.document import Rendered, render_report
from tests.golden import sample_evaluation as sample

WITH_REPLICAS = [part for name in Template().sections for part in (["replicas"] if name == "method" else []) + [name]]
"""The standard sections with the record of replicas, which the standard template leaves out."""


@cache
def report(areas: int = 3, locations: int = 4, *, language: str = "en", status: str = "demonstration") -> Rendered:
    """A rendered report of the sample day; the same one for the same arguments."""
    issue = sample.DRAFT if status == "draft" else sample.ISSUE
    template = Template(language=language, sections=WITH_REPLICAS)
    return render_report(sample.job(areas, locations), sample.evaluation(areas, locations), issue, template)


def reader(rendered: Rendered) -> PdfReader:
    """The file, opened by pypdf."""
    return PdfReader(io.BytesIO(rendered.pdf))


@cache
def texts_of(pdf: bytes) -> tuple[str, ...]:
    """Text of each page, white space as single spaces."""
    return tuple(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages)


def texts(rendered: Rendered) -> tuple[str, ...]:
    """Text of each page of a report."""
    return texts_of(rendered.pdf)
