"""A report: its sections in the template's order, laid out into pages."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from reportgen.gc_pause import collector_off
from reportgen.pdf.page import Furniture, build_pages, geometry
from reportgen.pdf.signing import Box, Rendered, SignerBlock
from reportgen.pdf.tagging import group
from reportgen.report.area import area_sections
from reportgen.report.climate import conditions_section
from reportgen.report.contents import contents_section
from reportgen.report.context import Context, build_context
from reportgen.report.derivation import derivation_section
from reportgen.report.equipment import equipment_section
from reportgen.report.integrity import integrity_section, report_line
from reportgen.report.issue import EmbeddedFile, Issue, RegisterHead
from reportgen.report.method import method_section, safety_section
from reportgen.report.nonconformances import nonconformances_section
from reportgen.report.photos import Pictures, printed_photo
from reportgen.report.readings import readings_as_entered
from reportgen.report.replicas import replicas_section
from reportgen.report.requirements import not_evaluated_notes, requirements_section
from reportgen.report.signature import SignatureFoot
from reportgen.report.summary import finding_bookmark, summary_pages
from reportgen.words.catalogue import catalogue

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.job import Job
    from reportgen.job.template import Template
    from reportgen.pdf.flow import Flowable
    from reportgen.results import Evaluation

__all__ = ["Box", "EmbeddedFile", "Issue", "RegisterHead", "Rendered", "SignerBlock", "render_report"]

CONTENTS_BEYOND = 8
"""Pages beyond which a report gets a list of contents."""

_FIXED_PAGES = 6
_REPLICAS_PER_PAGE = 18
_READINGS_PER_PAGE = 60


def render_report(
    job: Job, evaluation: Evaluation, issue: Issue, template: Template, pictures: Pictures | None = None
) -> Rendered:
    """Return the unsigned pages of a report; the same arguments give the same bytes in every process.

    Nothing is computed here: numbers are those of the evaluation and of the job, as they stand there. ``pictures`` are
    printed in place of the originals that the job holds.

    Raises:
        InputError: when a photo cannot be used (PHO101 to PHO103).
        UsageError: when the template's language has no catalogue.
    """
    with collector_off():
        return _rendered(job, evaluation, issue, template, pictures or Pictures())


def _rendered(job: Job, evaluation: Evaluation, issue: Issue, template: Template, pictures: Pictures) -> Rendered:
    words = catalogue(template.language)
    place = geometry(template.page)
    context = build_context(job, evaluation, issue, template, words, (place.width, place.height))
    context = replace(context, pictures=pictures)
    long = _pages_about(context) > CONTENTS_BEYOND
    rendered = _render(context, contents=long)
    if (rendered.pages > CONTENTS_BEYOND) != long:
        rendered = _render(context, contents=not long)
    return rendered


def _pages_about(context: Context) -> float:
    """How many pages the report will have, roughly: a wrong guess costs a second rendering, nothing else."""
    readings = sum(len(each) for each in context.job.readings)
    replicas = readings / _REPLICAS_PER_PAGE if "replicas" in context.template.sections else 0.0
    return _FIXED_PAGES + len(context.evaluation.areas) + replicas + readings / _READINGS_PER_PAGE


def _render(context: Context, *, contents: bool) -> Rendered:
    foot = SignatureFoot(context)
    further: list[Box] = []
    pages_of: dict[str, int] = {}
    story = _story(context, further, contents=contents)

    def finish_first_page(canvas: Any) -> None:
        foot.draw(canvas)
        canvas.later(lambda late: pages_of.update(_finding_pages(context, late)))

    furniture = _furniture(context)
    pdf, pages = build_pages(
        story,
        furniture,
        title=f"{context.words('title')}, {report_line(context)}",
        language=context.words.language,
        first_page_foot=foot.height,
        finish_first_page=finish_first_page,
    )
    boxes = foot.boxes()
    found = {index: pages_of[finding_bookmark(context, each)] for index, each in enumerate(context.evaluation.findings)}
    return Rendered(pdf, pages, boxes[0], (*boxes[1:], *further), found)


def _finding_pages(context: Context, canvas: Any) -> dict[str, int]:
    marks = {finding_bookmark(context, finding) for finding in context.evaluation.findings}
    return {mark: canvas.page_of(mark) for mark in sorted(marks)}


def _story(context: Context, further: list[Box], *, contents: bool) -> list[Flowable]:
    """The flowables of all sections, in the template's order."""
    makers: dict[str, Callable[[], list[Flowable]]] = {
        "summary": partial(summary_pages, context),
        "contents": partial(contents_section, context) if contents else list,
        "requirements": lambda: requirements_section(context) + not_evaluated_notes(context),
        "conditions": partial(conditions_section, context),
        "equipment": partial(equipment_section, context),
        "areas": lambda: [block for section in area_sections(context) for block in section],
        "nonconformances": partial(nonconformances_section, context),
        "replicas": partial(replicas_section, context),
        "method": partial(method_section, context),
        "safety": partial(safety_section, context),
        "readings": partial(readings_as_entered, context),
        "derivation": partial(derivation_section, context),
        "integrity": partial(integrity_section, context, further),
    }
    story: list[Flowable] = []
    for section in context.template.sections:
        blocks = makers[section]()
        story += group("Sect", blocks) if blocks and section not in {"summary", "areas"} else blocks
    return story


def _furniture(context: Context) -> Furniture:
    words, body = context.words, context.job.project.inspection_body
    label = {"draft": "watermark.draft"}.get(context.issue.status)
    return Furniture(
        geometry(context.template.page),
        body.name,
        report_line(context),
        words("footer.draft") if label else words("footer"),
        lambda page, pages: words("page.count", page=page, pages=pages),
        words(label) if label else None,
        _logo(context),
    )


def _logo(context: Context) -> Any:
    """The inspection body's logo as the job holds it, None where there is none or the template leaves it out."""
    name = context.job.project.inspection_body.logo
    if name is None or not context.template.logo:
        return None
    data = next((file.data for file in context.job.files if file.role == "logo"), None)
    if data is None:
        return None
    from reportgen.pdf.flow import ImageReader

    printed = context.pictures.logo or printed_photo(str(name), data, 120, 32)
    return ImageReader(io.BytesIO(printed.jpeg))
