"""Ruled tables of plain text whose heights are known beforehand: cost grows with the rows, however many pages they take.

A page break falls only between groups of rows; the head is repeated; each page's part is built when it is drawn.
"""

from __future__ import annotations

from bisect import bisect_right
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from reportlab.platypus import Flowable

from reportgen.layout.styles import BODY, HAIRLINE, INK, LABEL, LEADING, MUTED, REGULAR, colour
from reportgen.layout.taggedtable import TaggedTable
from reportgen.layout.textlines import lines_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_PAD = 3.2
_INNER = 0.6
_HEAD = 15.0
_LONGEST_ROW = 30  # lines; a longer row goes on as a further row of its group
_TALLEST_GROUP = 330.0  # points; a taller group may break between its rows


class Column(NamedTuple):
    """A column: head, width with the gap to the next one, alignment, and face and colour of its plain strings."""

    head: str
    width: float
    align: Literal["LEFT", "RIGHT"] = "LEFT"
    ink: str = INK
    face: str = REGULAR
    gap: float = 8.0


class Cell(NamedTuple):
    """Text in another face or colour than its column's."""

    text: str
    face: str | None = None
    ink: str | None = None


Row = tuple["str | Cell | Flowable", ...]


class _Ready(NamedTuple):
    """A row with its text broken into lines and its height."""

    cells: tuple[Any, ...]
    styles: tuple[tuple[int, str | None, str | None], ...]
    height: float
    first: bool
    last: bool


class GroupedTable(Flowable):  # type: ignore[misc] # reportlab has no types
    """A table of groups of rows, with a hairline under each group.

    ``groups`` holds groups of rows; a row has one text, `Cell` or flowable per column. ``summary`` describes the table
    for a screen reader; ``heads`` puts drawings in place of heads. Without rows it takes no room and draws nothing.
    """

    def __init__(
        self,
        columns: Sequence[Column],
        groups: Sequence[Sequence[Row]],
        summary: str,
        *,
        row_head: bool = False,
        leading: float = LEADING,
        size: float = BODY,
        heads: Mapping[int, Flowable] | None = None,
    ) -> None:
        super().__init__()
        self.columns, self.summary, self.row_head = tuple(columns), summary, row_head
        self.leading, self.size, self._heads = leading, size, heads or {}
        self._groups = [part for group in groups for part in self._broken(group)]
        self._ends = list(accumulate(sum(row.height for row in group) for group in self._groups))
        self._start, self._stop = 0, len(self._groups)
        self._tags: dict[str, Any] = {}
        self.spaceBefore = self.spaceAfter = 0.0

    def lead(self, groups: int = 2) -> float:
        """Height of the head with the first groups: what must stay together with a heading above."""
        last = min(self._stop, self._start + groups)
        return self._between(self._start, last) + _HEAD if last > self._start else 0.0

    def total(self) -> float:
        """Height of the whole table when it is not broken."""
        return self._between(self._start, self._stop) + _HEAD if self._groups else 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """Width and height without a break."""
        self.width, self.height = sum(column.width for column in self.columns), self.total()
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803, ARG002 - reportlab's names
        """The groups that fit, and the rest; nothing when not even the first fits."""
        base = self._ends[self._start - 1] if self._start else 0.0
        stop = min(self._stop, bisect_right(self._ends, base + aH - _HEAD + 0.01))
        if stop <= self._start:
            return []
        if stop == self._stop:
            return [self]
        return [self._part(self._start, stop), self._part(stop, self._stop)]

    def draw(self) -> None:
        """Build this page's part and draw it."""
        rows = [row for group in self._groups[self._start : self._stop] for row in group]
        if not rows:
            return
        head = [self._heads.get(index, column.head) for index, column in enumerate(self.columns)]
        data = [head, *(row.cells for row in rows)]
        style = [*_base_style(self.columns, self.size, self.leading), *_row_styles(rows)]
        options: dict[str, Any] = {"renderCB": self._tags["tags"]} if self._tags else {}
        table = TaggedTable(
            data,
            [column.width for column in self.columns],
            [_HEAD, *(row.height for row in rows)],
            style,
            header_rows=1,
            header_columns=int(self.row_head),
            summary=self.summary,
            repeatRows=1,
            **options,
        )
        self._tags.setdefault("tags", table._renderCB)  # noqa: SLF001 - the parts of a table share its tags
        table.wrapOn(self.canv, self.width, self.height)
        table.drawOn(self.canv, 0, 0)

    def _between(self, start: int, stop: int) -> float:
        return self._ends[stop - 1] - (self._ends[start - 1] if start else 0.0) if stop else 0.0

    def _part(self, start: int, stop: int) -> GroupedTable:
        part = GroupedTable.__new__(GroupedTable)
        part.__dict__.update(self.__dict__)
        part.__dict__.pop("_postponed", None)  # reportlab's note that the whole was moved to a fresh page
        part._start, part._stop = start, stop
        part.spaceBefore = 0.0
        return part

    def _broken(self, group: Sequence[Row]) -> list[list[_Ready]]:
        """Return the group with its lines, in several groups when it is taller than a page can be asked to hold."""
        rows = [part for row in group for part in self._lines(row)]
        sizes = [max([1, *(_line_count(cell) for cell in cells)]) for cells, _ in rows]
        groups: list[list[_Ready]] = []
        start, used = 0, 0.0
        for index, count in enumerate([*sizes, 0]):
            height = count * self.leading + 2 * _INNER
            if index > start and (index == len(sizes) or used + height > _TALLEST_GROUP):
                groups.append(self._ready(rows[start:index], last=index == len(sizes)))
                start, used = index, 0.0
            used += height
        return groups

    def _ready(self, rows: list[tuple[tuple[Any, ...], Any]], *, last: bool) -> list[_Ready]:
        ready = []
        for index, (cells, styles) in enumerate(rows):
            is_first, is_last = index == 0, index == len(rows) - 1
            text = max([1, *(_line_count(cell) for cell in cells)]) * self.leading
            drawn = max([0.0, *(cell.height for cell in cells if isinstance(cell, Flowable))])
            pads = (_PAD if is_first else _INNER) + (_PAD if is_last else _INNER)
            ready.append(_Ready(cells, styles, max(text, drawn) + pads, is_first, is_last and last))
        return ready

    def _lines(self, row: Row) -> list[tuple[tuple[Any, ...], Any]]:
        """Return the row's cells as lines of text; a very long row as several."""
        cells: list[Any] = []
        styles: list[tuple[int, str | None, str | None]] = []
        for index, (cell, column) in enumerate(zip(row, self.columns, strict=True)):
            if isinstance(cell, Flowable):
                cells.append(cell)
                continue
            text, face, ink = cell if isinstance(cell, Cell) else (cell, None, None)
            if face or ink:
                styles.append((index, face, ink))
            cells.append(lines_of(text, face or column.face, self.size, column.width - column.gap))
        longest = max([1, *(len(cell) for cell in cells if isinstance(cell, list))])
        return [
            (tuple(_slice(cell, start) for cell in cells), tuple(styles)) for start in range(0, longest, _LONGEST_ROW)
        ]


def _slice(cell: Any, start: int) -> Any:
    if isinstance(cell, Flowable):
        return cell if start == 0 else ""
    return "\n".join(cell[start : start + _LONGEST_ROW])


def _line_count(cell: Any) -> int:
    return cell.count("\n") + 1 if isinstance(cell, str) else 1


@lru_cache(maxsize=64)
def _base_style(columns: tuple[Column, ...], size: float, leading: float) -> tuple[tuple[Any, ...], ...]:
    head, all_, body = ((0, 0), (-1, 0)), ((0, 0), (-1, -1)), ((0, 1), (-1, -1))
    commands: list[tuple[Any, ...]] = [
        ("FONT", *body, REGULAR, size, leading),
        ("TEXTCOLOR", *body, colour(INK)),
        ("FONT", *head, REGULAR, LABEL, 9),
        ("TEXTCOLOR", *head, colour(MUTED)),
        ("VALIGN", *body, "TOP"),
        ("VALIGN", *head, "BOTTOM"),
        ("LEFTPADDING", *all_, 0),
        ("TOPPADDING", *head, 0),
        ("BOTTOMPADDING", *head, 3.6),
        ("LINEBELOW", *head, 0.5, colour(HAIRLINE)),
    ]
    for index, column in enumerate(columns):
        whole, below = ((index, 0), (index, -1)), ((index, 1), (index, -1))
        commands.append(("RIGHTPADDING", *whole, column.gap))
        commands.append(("ALIGN", *whole, column.align))
        if column.ink != INK:
            commands.append(("TEXTCOLOR", *below, colour(column.ink)))
        if column.face != REGULAR:
            commands.append(("FACE", *below, column.face))
    return tuple(commands)


def _row_styles(rows: Sequence[_Ready]) -> list[tuple[Any, ...]]:
    commands: list[tuple[Any, ...]] = [
        ("TOPPADDING", (0, 1), (-1, -1), _PAD),
        ("BOTTOMPADDING", (0, 1), (-1, -1), 0),
    ]
    for number, row in enumerate(rows, start=1):
        line = ((0, number), (-1, number))
        if not row.first:
            commands.append(("TOPPADDING", *line, _INNER))
        if row.last:
            commands.append(("LINEBELOW", *line, 0.5, colour(HAIRLINE)))
        for column, face, ink in row.styles:
            at = ((column, number), (column, number))
            if face:
                commands.append(("FACE", *at, face))
            if ink:
                commands.append(("TEXTCOLOR", *at, colour(ink)))
    return commands
