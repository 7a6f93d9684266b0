"""The tables of a report: one size, row heads, and under a title that stays with the first rows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.pdf.blocks import Runs, SectionTitle, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import DENSE, INK, REGULAR
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.textlines import Run

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.report.context import Context

LEADING, PAD = 9.4, 2.4


def table(context: Context, key: str, columns: list[Column], rows: Iterable[Row], **options: Any) -> GroupedTable:
    """Return a table with a line a row; ``key`` is that of its title, which it repeats where it goes on."""
    words = context.words
    look: dict[str, Any] = {"size": DENSE, "leading": LEADING, "pad": PAD, "row_head": True}
    look["again"] = lambda name: words("continued", what=name or words(key))
    return GroupedTable(columns, [[row] for row in rows], words(key), **(look | options))


def section(context: Context, key: str, anchor: str, made: GroupedTable, note: str = "") -> list[Flowable]:
    """Return a table under its title, with which its first rows stay."""
    return [CondPageBreak(28 + made.lead(2)), SectionTitle(context.words(key), anchor, note=note), made]


def empty(context: Context, key: str, anchor: str, told: str, note: str = "") -> list[Flowable]:
    """Return a title over a sentence that says why there is no table."""
    title = SectionTitle(context.words(key), anchor, note=note)
    return [CondPageBreak(50), title, running_text(told, "dense", before=2)]


def cell(text: str | list[Run], width: float, verdict: str | None = None) -> Runs:
    """Return the cell of a table that has text in several faces, or the mark of a verdict before its text."""
    runs = [Run(text, REGULAR, INK)] if isinstance(text, str) else text
    return Runs(runs, width, verdict=verdict, size=DENSE, leading=LEADING)
