"""The pages of a history: what the reports of an audit say of one area, gauge or number, in the order of time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.audit.unsigned import Edges, unsigned_pages
from reportgen.gc_pause import collector_off
from reportgen.pdf.blocks import SectionTitle, running_text, title_text
from reportgen.pdf.drawn import drawn
from reportgen.pdf.endline import EndLine
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.page import geometry
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.tagging import group
from reportgen.words.filing import filing_words

if TYPE_CHECKING:
    from reportgen.words.catalogue import Words

_SIZE: Final = 7.5
_LEADING: Final = 9.8
_OF_A_SIGN: Final = 4.1  # points, of the letters of a head
_GAP: Final = 7.0
_LONGEST: Final = 60


@dataclass(frozen=True, slots=True)
class HistoryTable:
    """One question of a history: its name, title, what it answers, heads and rows of text."""

    name: str
    title: str
    asks: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class HistoryPages:
    """Everything the pages of a history print."""

    title: str
    said: tuple[str, ...]
    at: str
    version: str
    tables: tuple[HistoryTable, ...]


def render_history(content: HistoryPages, *, page: str = "A4", language: str = "en") -> bytes:
    """Return the pages; the same content gives the same bytes."""
    with collector_off():
        content = drawn(content)
        words, place = filing_words(language), geometry(page)
        story: list[Flowable] = [title_text(content.title, "title", 1, bookmark="history")]
        story += [running_text(one, "muted", before=4) for one in content.said]
        for one in content.tables:
            story += group("Sect", _section(one, words, place.width))
        story.append(EndLine(words("history.end", title=content.title)))
        header = words("audit.header", folder=content.title, at=content.at[:10])
        edges = Edges(content.title, content.version, header, words("history.footer"))
        return unsigned_pages(story, edges, words, place)


def _section(one: HistoryTable, words: Words, width: float) -> list[Flowable]:
    title = SectionTitle(one.title, f"history-{one.name}", note=one.asks)
    if not one.rows:
        return [CondPageBreak(60), title, running_text(words("pages.nothing"), "muted", before=4)]
    widths = _widths(one, width)
    columns = [Column(head, each) for head, each in zip(one.heads, widths, strict=True)]
    groups: list[list[Row]] = [[row] for row in one.rows]
    table = GroupedTable(columns, groups, one.title, row_head=True, size=_SIZE, leading=_LEADING)
    return [CondPageBreak(table.need(2)), title, table]


def _widths(one: HistoryTable, width: float) -> list[float]:
    """Share the width out: to each column its head and its longest word, and what is left by the longest texts."""
    columns = [(head, [row[number] for row in one.rows]) for number, head in enumerate(one.heads)]
    least = [
        _OF_A_SIGN * max(len(head), *(len(word) for text in texts for word in text[:_LONGEST].split())) + _GAP
        for head, texts in ((head, [head, *texts]) for head, texts in columns)
    ]
    if sum(least) >= width:
        return [each * width / sum(least) for each in least]
    longest = [max(len(text) for text in texts) for _, texts in columns]
    left = width - sum(least)
    return [each + left * own / (sum(longest) or 1) for each, own in zip(least, longest, strict=True)]
