"""The tables of a report: one size, row heads, and under a title that stays with the first rows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from reportgen.pdf.blocks import Runs, SectionTitle, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import DENSE, INK, REGULAR
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.textlines import Run

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from reportgen.report.context import Context

T = TypeVar("T")

LEADING, PAD = 9.4, 2.4
END = "-end"
"""What the bookmark of a section's last row adds to that of the section."""
_TALL = 60.0  # points of a head with its first row that may stand under a title without a second one


def table(context: Context, key: str, columns: list[Column], rows: Iterable[Row], **options: Any) -> GroupedTable:
    """Return a table with a line a row; ``key`` is that of its title, which it repeats where it goes on."""
    words = context.words
    look: dict[str, Any] = {"size": DENSE, "leading": LEADING, "pad": PAD, "row_head": True}
    look["again"] = words.continued(key)
    return GroupedTable(columns, [[row] for row in rows], words(key), **(look | options))


def lowest(made: Callable[[T], GroupedTable], ways: Iterable[T]) -> GroupedTable:
    """The table that is lowest of those made in several ways, of the same height the first."""
    return min(map(made, ways), key=GroupedTable.total)


def section(
    context: Context, key: str, anchor: str, made: GroupedTable, note: str = "", *, inner: bool = False
) -> list[Flowable]:
    """Return a table under its title, with which its first rows stay; an ``inner`` one is part of a section."""
    look: dict[str, Any] = {"level": 3, "outline": False, "ruled": False} if inner else {}
    first = 1 if made.lead(1) > _TALL else 2
    return [CondPageBreak(28 + made.lead(first)), SectionTitle(context.words(key), anchor, note=note, **look), made]


def empty(context: Context, key: str, anchor: str, told: str, note: str = "") -> list[Flowable]:
    """Return a title over a sentence that says why there is no table."""
    title = SectionTitle(context.words(key), anchor, note=note)
    return [CondPageBreak(50), title, running_text(told, "dense", before=2)]


def cell(text: str | list[Run], width: float, verdict: str | None = None) -> Runs:
    """Return the cell of a table that has text in several faces, or the mark of a verdict before its text."""
    runs = [Run(text, REGULAR, INK)] if isinstance(text, str) else text
    return Runs(runs, width, verdict=verdict, size=DENSE, leading=LEADING)
