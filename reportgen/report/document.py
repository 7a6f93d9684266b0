"""A report: its sections in the template's order, laid out into pages."""

from __future__ import annotations

import io
from functools import partial
from itertools import zip_longest
from typing import TYPE_CHECKING, Any

from reportgen.gc_pause import collector_off
from reportgen.pdf.blocks import SECTION_HEIGHT, SectionTitle
from reportgen.pdf.flow import CondPageBreak, Flowable, ImageReader
from reportgen.pdf.page import Furniture, build_pages, geometry
from reportgen.pdf.signing import Box, Rendered, SignerBlock
from reportgen.pdf.styles import BODY, INK, REGULAR, colour
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.tagging import PageReference, group
from reportgen.pdf.textlines import widest_piece
from reportgen.report.area import area_section
from reportgen.report.climate import conditions_section
from reportgen.report.context import Context
from reportgen.report.equipment import equipment_section
from reportgen.report.findings import area_bookmark, finding_bookmark, findings_table
from reportgen.report.integrity import integrity_section, report_line
from reportgen.report.issue import EmbeddedFile, Issue, RegisterHead
from reportgen.report.method import derivation_section, method_section, safety_section
from reportgen.report.nonconformances import nonconformances_section
from reportgen.report.photos import Pictures, printed_photo
from reportgen.report.readings import readings_as_entered
from reportgen.report.replicas import has_replicas, replicas_section
from reportgen.report.requirements import requirements_section
from reportgen.report.signature import SignatureFoot
from reportgen.report.summary import summary_pages
from reportgen.words.catalogue import catalogue

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.job import Job
    from reportgen.job.template import Template
    from reportgen.report.context import Derivation
    from reportgen.results import Evaluation

__all__ = ["Box", "EmbeddedFile", "Issue", "RegisterHead", "Rendered", "SignerBlock", "render_report"]

CONTENTS_BEYOND = 8
"""Pages beyond which a report gets a list of contents."""

_FIXED_PAGES = 6
_REPLICAS_PER_PAGE = 18
_READINGS_PER_PAGE = 60
_PAGE = 40.0  # column of page numbers in the list of contents
_BETWEEN = 24.0


def render_report(
    job: Job,
    evaluation: Evaluation,
    issue: Issue,
    template: Template,
    pictures: Pictures | None = None,
    derivation: Derivation | None = None,
) -> Rendered:
    """Return the unsigned pages of a report; the same arguments give the same bytes in every process.

    Nothing is computed here: numbers are those of the evaluation and of the job, as they stand there. ``pictures`` are
    printed in place of the originals that the job holds. ``derivation`` has the steps behind every value, by area.

    Raises:
        InputError: when a photo cannot be used (PHO101 to PHO103).
        UsageError: when the template's language has no catalogue.
    """
    with collector_off():
        words, place = catalogue(template.language), geometry(template.page)
        context = Context(
            job, evaluation, issue, template, words, place.width, place.height, pictures or Pictures(), derivation or {}
        )
        # how many pages there will be, roughly: a wrong guess costs a second rendering, nothing else
        readings = sum(map(len, job.readings))
        replicas = readings / _REPLICAS_PER_PAGE if "replicas" in template.sections else 0.0
        about = _FIXED_PAGES + len(evaluation.areas) + replicas + readings / _READINGS_PER_PAGE
        rendered = _render(context, contents=about > CONTENTS_BEYOND)
        if (rendered.pages > CONTENTS_BEYOND) != (about > CONTENTS_BEYOND):
            rendered = _render(context, contents=rendered.pages > CONTENTS_BEYOND)
        return rendered


def _render(context: Context, *, contents: bool) -> Rendered:
    words, body = context.words, context.job.project.inspection_body
    draft, line = context.issue.status == "draft", report_line(context)
    data = next((file.data for file in context.job.files if file.role == "logo"), None)
    logo = None
    if body.logo is not None and context.template.logo and data is not None:
        printed = context.pictures.logo or printed_photo(str(body.logo), data, 120, 32)
        logo = ImageReader(io.BytesIO(printed.jpeg))
    furniture = Furniture(
        geometry(context.template.page),
        body.name,
        line,
        words("footer.draft" if draft else "footer"),
        lambda page, pages: words("page.count", page=page, pages=pages),
        words("watermark.draft") if draft else None,
        logo,
    )
    foot = SignatureFoot(context)
    further: list[Box] = []
    pages_of: dict[str, int] = {}
    bookmarks = [finding_bookmark(context, finding) for finding in context.evaluation.findings]

    def finish_first_page(canvas: Any) -> None:
        foot.draw(canvas)
        canvas.later(lambda late: pages_of.update({mark: late.page_of(mark) for mark in bookmarks}))

    pdf, pages = build_pages(
        _story(context, further, contents=contents),
        furniture,
        title=f"{words('title')}, {line}",
        language=words.language,
        first_page_foot=foot.height,
        finish_first_page=finish_first_page,
    )
    first, *others = foot.boxes()
    found = {index: pages_of[mark] for index, mark in enumerate(bookmarks)}
    return Rendered(pdf, pages, first, (*others, *further), found)


def _story(context: Context, further: list[Box], *, contents: bool) -> list[Flowable]:
    """The flowables of all sections, in the template's order."""
    makers: dict[str, Callable[[], list[Flowable]]] = {
        "summary": partial(summary_pages, context),
        "contents": partial(contents_section, context) if contents else list,
        "requirements": lambda: [*findings_table(context), *requirements_section(context)],
        "conditions": partial(conditions_section, context),
        "equipment": partial(equipment_section, context),
        "areas": lambda: [block for area in context.evaluation.areas for block in area_section(context, area)],
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


def contents_section(context: Context) -> list[Flowable]:
    """The list of contents of a long report: sections and areas, read down two columns of titles with their pages.

    In one pair of columns where a name does not fit into half the page: its number stands beside it all the same.
    """
    words = context.words
    titles: dict[str, str] = {}
    left_out = {"summary", "contents"} if has_replicas(context) else {"summary", "contents", "replicas"}
    for section in context.template.sections:
        if section == "areas":
            areas = context.evaluation.areas
            titles |= {area_bookmark(area.id): f"{area.id} {context.area_name(area.id)}" for area in areas}
        elif section not in left_out:
            titles[section] = words(f"section.{section}")
    entries: list[Row] = []
    for bookmark, title in titles.items():
        told = words("page.title", place=title)
        entries.append((title, PageReference(bookmark, width=_PAGE, color=colour(INK), title=told)))
    narrow = Column(words("contents.section"), (context.width - _BETWEEN) / 2 - _PAGE)
    last = Column(words("findings.page"), _PAGE, "RIGHT", gap=0)
    rows: list[list[Row]] = [[entry] for entry in entries]
    if any(widest_piece(title, REGULAR, BODY) > narrow.width - narrow.gap for title in titles.values()):
        columns = [narrow._replace(width=context.width - _PAGE), last]
    else:  # the second half of the entries beside the first
        columns = [narrow, last._replace(width=_PAGE + _BETWEEN, gap=_BETWEEN), narrow, last]
        middle = (len(entries) + 1) // 2
        rows = [[left + right] for left, right in zip_longest(entries[:middle], entries[middle:], fillvalue=("", ""))]
    table = GroupedTable(columns, rows, words("contents.title"))
    return [
        CondPageBreak(SECTION_HEIGHT + min(table.total(), 300.0) + 12),
        SectionTitle(words("contents.title"), "contents"),
        table,
    ]
