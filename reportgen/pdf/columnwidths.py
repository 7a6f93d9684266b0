"""How the columns of a table share its width, so that no word in a cell has to be broken."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from reportlab.platypus import Flowable

from reportgen.pdf.styles import BOLD, INK, LABEL, REGULAR
from reportgen.pdf.textlines import HAIR, fitting, lines_of, text_width, unbroken, widest_piece

if TYPE_CHECKING:
    from collections.abc import Sequence

_GIVES = 0.5  # of its width: what a column gives to others at most


class Column(NamedTuple):
    """A column: head, width with the gap to the next one, alignment, and face and colour of its plain strings.

    The width is what the column has as long as its words fit.
    """

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


class Setting(NamedTuple):
    """The text of a cell, ready to set: lines that start at ``x``, or end at ``end`` where it is given.

    ``across`` says that they stand above the rest of the row, since their column is too narrow for a word of them.
    """

    lines: tuple[str, ...]
    x: float
    end: float | None
    face: str
    size: float
    ink: str
    across: bool


def fitted(
    columns: Sequence[Column], groups: Sequence[Sequence[Row]], size: float, *, rigid: frozenset[int]
) -> tuple[Column, ...]:
    """Return the columns with the widths that the words in ``groups`` need, as far as there is room; same sum.

    ``rigid`` columns keep their width, as do those that hold drawings; any other gives at most half of it.
    """
    rows = [row for group in groups for row in group]
    needed = {index: need for index in range(len(columns)) if (need := _lacking(index, columns[index], rows, size))}
    if not needed:
        return tuple(columns)
    free = {}
    for index, column in enumerate(columns):
        if index not in needed and index not in rigid and not any(isinstance(row[index], Flowable) for row in rows):
            held = max([text_width(column.head, BOLD, LABEL), *(_widest(row[index], column, size) for row in rows)])
            free[index] = max(0.0, min(column.width - column.gap - held, column.width * _GIVES))
    left = sum(free.values())
    granted: dict[int, float] = {}
    for index in sorted(needed, key=needed.__getitem__):
        if needed[index] <= left:
            granted[index] = needed[index]
            left -= needed[index]
    share = sum(granted.values()) / sum(free.values()) if granted else 0.0
    return tuple(
        column._replace(width=column.width + granted.get(index, 0.0) - share * free.get(index, 0.0))
        for index, column in enumerate(columns)
    )


def _lacking(index: int, column: Column, rows: Sequence[Row], size: float) -> float:
    """Points that the widest piece of text in a column has too little."""
    room = column.width - column.gap + HAIR
    cells = [row[index] for row in rows if not isinstance(row[index], Flowable)]
    # no letter is wider than its size: a cell of few letters need not be measured
    return max([0.0, *(_widest(cell, column, size) - room for cell in cells if len(_plain(cell)) * size > room)])


def _plain(cell: str | Cell) -> str:
    return cell.text if isinstance(cell, Cell) else cell


def _widest(cell: str | Cell, column: Column, size: float) -> float:
    face = cell.face if isinstance(cell, Cell) and cell.face else column.face
    return widest_piece(_plain(cell), face, size)


def _drawn(cell: str | Cell | Flowable, x: float, total: float, first: float) -> Flowable | None:
    """A cell that draws itself, text in several faces across the table where it needs that; None for an empty one."""
    if not isinstance(cell, Flowable):
        return None
    across = getattr(cell, "across", None)
    return across(x, total, first) if across else cell


def settings_of(
    row: Row, columns: Sequence[Column], edges: Sequence[float], size: float
) -> tuple[Setting | Flowable | None, ...]:
    """Return the cells of a row ready to set; None for an empty one."""
    total = edges[-1] + columns[-1].width
    ready: list[Setting | Flowable | None] = []
    for cell, column, x in zip(row, columns, edges, strict=True):
        if isinstance(cell, Flowable) or not _plain(cell):
            ready.append(_drawn(cell, x, total, [*edges, total][1]))
            continue
        text, face, ink = cell if isinstance(cell, Cell) else (cell, None, None)
        face, ink, room = face or column.face, ink or column.ink, column.width - column.gap
        if fitting(text, face, size, room) == size:
            end = x + room if column.align == "RIGHT" else None
            ready.append(Setting(lines_of(text, face, size, room), x, end, face, size, ink, across=False))
        else:
            start = min(x, max(0.0, total - widest_piece(text, face, size)))
            small, lines = unbroken(text, face, size, total - start)
            ready.append(Setting(lines, start, None, face, small, ink, across=True))
    return tuple(ready)
