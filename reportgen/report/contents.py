"""The list of contents of a long report: two columns of titles with their pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.pdf.blocks import SECTION_HEIGHT, SectionTitle
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BODY, INK, REGULAR, colour
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.tagging import PageReference
from reportgen.pdf.textlines import widest_piece
from reportgen.report.summary import area_bookmark

if TYPE_CHECKING:
    from reportgen.report.context import Context

_PAGE = 40.0
_BETWEEN = 24.0
_OWN = ("summary", "contents", "areas")


def contents_section(context: Context) -> list[Flowable]:
    """Sections and areas, read down the columns of each row pair from left to right.

    In one pair of columns where a name does not fit into half the page: its number stands beside it all the same.
    """
    words = context.words
    entries: list[tuple[str, str]] = []
    for section in context.template.sections:
        if section == "areas":
            entries += [
                (f"{area.id} {context.area_name(area.id)}", area_bookmark(area.id)) for area in context.evaluation.areas
            ]
        elif section not in _OWN and not (section == "replicas" and not has_replicas(context)):
            entries.append((words(f"section.{section}"), section))
    half = (context.width - _BETWEEN) / 2
    narrow = Column(words("contents.section"), half - _PAGE)
    last = Column(words("findings.page"), _PAGE, "RIGHT", gap=0)
    if any(widest_piece(title, REGULAR, BODY) > narrow.width - narrow.gap for title, _ in entries):
        columns = [narrow._replace(width=context.width - _PAGE), last]
        rows: list[list[Row]] = [[_entry(context, entry)] for entry in entries]
    else:
        columns = [narrow, last._replace(width=_PAGE + _BETWEEN, gap=_BETWEEN), narrow, last]
        rows = _in_pairs([_entry(context, entry) for entry in entries])
    table = GroupedTable(columns, rows, words("contents.title"))
    return [
        CondPageBreak(SECTION_HEIGHT + min(table.total(), 300.0) + 12),
        SectionTitle(words("contents.title"), "contents"),
        table,
    ]


def _in_pairs(entries: list[Row]) -> list[list[Row]]:
    """Put the second half of the entries beside the first."""
    middle = (len(entries) + 1) // 2
    right = [*entries[middle:], ("", "")]
    return [[(*left, *right[index])] for index, left in enumerate(entries[:middle])]


def has_replicas(context: Context) -> bool:
    """Whether any reading was taken on replica tape."""
    return any(reading.roll is not None for readings in context.job.readings for reading in readings)


def _entry(context: Context, entry: tuple[str, str]) -> Row:
    title, bookmark = entry
    page = PageReference(
        bookmark, width=_PAGE, color=colour(INK),
        title=context.words("page.title", place=title),
    )  # fmt: skip
    return (title, page)
