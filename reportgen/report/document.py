"""A report: its sections in the template's order, laid out into pages."""

from __future__ import annotations

import io
from functools import partial
from typing import TYPE_CHECKING, Any

from reportgen.gc_pause import collector_off
from reportgen.job import Original
from reportgen.pdf.flow import Flowable, ImageReader
from reportgen.pdf.foreign import Foreign
from reportgen.pdf.page import Furniture, build_pages, geometry
from reportgen.pdf.pictures import Pictures, printed_photo
from reportgen.pdf.signing import Box, Rendered, SignerBlock
from reportgen.pdf.tagging import group
from reportgen.pdf.tightening import tightest
from reportgen.report.area import areas_section
from reportgen.report.context import Context
from reportgen.report.equipment import equipment_section
from reportgen.report.integrity import integrity_section, report_line
from reportgen.report.issue import EmbeddedFile, Issue, RegisterHead
from reportgen.report.method import derivation_section, method_section, safety_section
from reportgen.report.nonconformances import nonconformances_section
from reportgen.report.photos import photos_section
from reportgen.report.readings import readings_as_entered
from reportgen.report.replicas import replicas_section
from reportgen.report.requirements import finding_bookmark, requirements_section
from reportgen.report.shift import shift_section
from reportgen.report.signature import SignatureFoot
from reportgen.report.summary import summary_pages
from reportgen.rules.relied_on import relied_on
from reportgen.units import decimal_mark
from reportgen.words.catalogue import LANGUAGE, catalogue
from reportgen.words.numbers import typeset

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.job import Job
    from reportgen.job.template import Template
    from reportgen.report.context import Derivation
    from reportgen.results import Evaluation

__all__ = ["Box", "EmbeddedFile", "Issue", "RegisterHead", "Rendered", "SignerBlock", "render_report"]

_NAMED = 44  # letters of the ids that the head of a page has room for


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
    words, place = catalogue(template.language), geometry(template.page)
    with collector_off(), decimal_mark(words.decimal):
        words = words.noting(set()) if words.draft else words
        context = Context(
            job, evaluation, issue, template, words, place.width, place.height, pictures or Pictures(), derivation or {}
        )
        return _render(context)


def _render(context: Context) -> Rendered:
    words, body = context.words, context.job.project.inspection_body
    draft, line = context.issue.status == "draft", report_line(context)
    furniture = Furniture(
        geometry(context.template.page),
        body.name,
        line,
        " ".join([words("footer.draft" if draft else "footer"), *([words("translation.page")] if words.draft else [])]),
        lambda page, pages: words("page.count", page=page, pages=pages),
        words("watermark.draft") if draft else None,
        body_logo(context),
        partial(_named, context),
    )
    foot = SignatureFoot(context)
    # sources are named as they were published; what a draft lacks is added while the pages are made
    borrowed = set() if words.borrowed is None else words.borrowed
    borrowed |= {typeset(rule.source) for rule in relied_on(context.evaluation)}
    bookmarks = [finding_bookmark(context, finding) for finding in context.evaluation.findings]

    foreign = None if words.language == LANGUAGE else Foreign(LANGUAGE, borrowed)

    def build(ready: Callable[[Any], Any]) -> tuple[Rendered, float]:
        further: list[Box] = []
        pages_of: dict[str, int] = {}

        def finish_first_page(canvas: Any) -> None:
            foot.draw(canvas)
            canvas.later(lambda late: pages_of.update({mark: late.page_of(mark) for mark in bookmarks}))

        laid = build_pages(
            list(map(ready, _story(context, further))), furniture, title=f"{words('title')}, {line}",
            language=words.language, first_page_foot=foot.height, finish_first_page=finish_first_page, foreign=foreign,
        )  # fmt: skip
        first, *others = foot.boxes()
        found = {index: pages_of[mark] for index, mark in enumerate(bookmarks)}
        return Rendered(laid.pdf, laid.pages, first, (*others, *further), found), laid.filled

    return tightest(build)


def body_logo(context: Context) -> ImageReader | None:
    """The logo of the inspection body, where it has one and the template prints it."""
    named = context.job.project.inspection_body.logo
    original = next((file.content for file in context.job.files if file.role == "logo"), None)
    if named is None or not context.template.logo or not isinstance(original, Original):
        return None
    return ImageReader(io.BytesIO((context.pictures.logo or printed_photo(original, 120, 32)).jpeg))


def _named(context: Context, areas: tuple[str, ...]) -> str:
    """What the head of a page says of the areas on it: their ids, or where those take too much room how many."""
    named = ", ".join(areas)
    if len(named) > _NAMED:
        return context.words("page.many", count=len(areas))
    return context.words("page.areas" if len(areas) > 1 else "page.area", areas=named) if areas else ""


def _story(context: Context, further: list[Box]) -> list[Flowable]:
    """The flowables of all sections, in the template's order."""
    makers: dict[str, Callable[[], list[Flowable]]] = {
        "summary": partial(summary_pages, context),
        "requirements": partial(requirements_section, context),
        "conditions": partial(shift_section, context),
        "equipment": partial(equipment_section, context),
        "areas": partial(areas_section, context),
        "nonconformances": partial(nonconformances_section, context),
        "photos": partial(photos_section, context),
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
