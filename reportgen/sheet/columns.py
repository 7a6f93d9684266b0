"""The columns of a block of fields: wide enough for the words of their heads and for what is filled in beforehand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.pdf.columnwidths import Column, fitted
from reportgen.pdf.styles import REGULAR
from reportgen.pdf.textlines import HAIR, SMALLEST, unbroken, widest_piece

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.sheet.plan import Block, Cell

_HEADING: Final = 8.0
_SMALLER: Final = 6.5
_GAP: Final = 2.0


class FieldColumn(NamedTuple):
    """A column of a block: its cell, left edge, width, and its head in lines of a size."""

    cell: Cell
    x: float
    width: float
    head: tuple[str, ...]
    size: float


def fields_of(block: Block, left: float, right: float) -> list[FieldColumn]:
    """Return the columns of a block between two edges.

    The head of a column with a word that has no room even in small type is a number, to be explained above the heads.
    """
    found: list[FieldColumn] = []
    for place, (cell, width) in enumerate(zip(block.cells, _widths(block, right - left), strict=True), 1):
        size, head = unbroken(cell.title, REGULAR, _HEADING, width - _GAP)
        if size == SMALLEST and widest_piece(cell.title, REGULAR, size) > width - _GAP:
            size, head = _HEADING, (f"{place})",)
        found.append(FieldColumn(cell, left, width, head, size))
        left += width
    return found


def _widths(block: Block, room: float) -> list[float]:
    """Return the widths of the columns, as their shares where that is wide enough, for the largest type that fits."""
    unit = room / sum(cell.share for cell in block.cells)
    shares = [Column("", unit * cell.share, gap=_GAP) for cell in block.cells]
    ticks = frozenset(place for place, cell in enumerate(block.cells) if cell.kind == "tick")
    # a field holds one line: what is filled in does not break at its spaces
    rows = [tuple(given.get(cell.key, "").replace(" ", "\u00a0") for cell in block.cells) for given in block.rows]
    rows.insert(0, tuple(cell.title for cell in block.cells))
    for size in (_HEADING, _SMALLER, SMALLEST):
        columns = fitted(shares, [rows], size, rigid=ticks)
        if all(_fits(columns, row, size) for row in rows):
            break
    return [column.width for column in columns]


def _fits(columns: Sequence[Column], row: Sequence[str], size: float) -> bool:
    pairs = zip(columns, row, strict=True)
    return all(widest_piece(text, REGULAR, size) <= column.width - _GAP + HAIR for column, text in pairs)
