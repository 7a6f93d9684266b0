"""Ruled tables of plain text whose heights are known beforehand: cost grows with the rows, over however many pages.

A page break falls only between groups of rows; the head is repeated; each page's part is built when it is drawn.
No word is broken: a column that is too narrow for one takes room from its neighbours (`columnwidths`), and where they
have none to give, the text stands on lines of its own across the table: above the rest of its row where that begins
with it, else below. The other cells of a row share their top.
"""

from __future__ import annotations

from bisect import bisect_right
from itertools import accumulate, chain, pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

from reportlab.platypus import Flowable, FrameBreak

from reportgen.pdf.blocks import Runs
from reportgen.pdf.canvas import SharedElement, artifact
from reportgen.pdf.columnwidths import Cell, Column, Row, Setting, fitted, settings_of
from reportgen.pdf.painting import show_text
from reportgen.pdf.structure import text_string
from reportgen.pdf.styles import BODY, BOLD, HAIRLINE, INK, LABEL, LEADING, MUTED, REGULAR, colour
from reportgen.pdf.textlines import Run, lines_of, text_width, widest_piece

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

_PAD = 3.2
_DENSE_PAD = 1.1
_OVER, _AGAIN = 9.0, 11.0  # a line of the heads over several columns; what says that a table goes on
_APART = 8.0  # between two heads over several columns
_HEAVY = 1.1
_INNER = 0.6
_CLEAR = 2.4  # a drawing that fills its row begins so far above what stands beside it
_HEAD = 15.0
SECTION_ROOM = 40.0  # a section title with the space above it
_LEFT_BEHIND = 2
_TIGHT = 0.5  # of the room above and below a row where space is short
_KEPT_WHOLE = 130.0  # points; a shorter table is not broken
_TALLEST_GROUP = 560.0  # points; a taller group may break between its rows, a taller row goes on as a further one


__all__ = ["SECTION_ROOM", "Cell", "Column", "GroupedTable", "Row", "time_width"]

_Cells = tuple[Setting | Flowable | None, ...]


class _Ready(NamedTuple):
    """A row, or a part of it, ready to draw: its cells and its height."""

    cells: _Cells
    height: float
    first: bool
    last: bool
    heavy: bool = False


class GroupedTable(Flowable):  # type: ignore[misc] # reportlab has no types
    """A table of groups of rows, with a hairline under each group.

    ``groups`` holds groups of rows; a row has one text, `Cell` or flowable per column. ``summary`` describes the table
    for a screen reader; ``heads`` puts drawings in place of heads, ``over`` heads over several columns (the first, how
    many, text). After the groups in ``heavy`` stands a heavy line; those in ``keep`` stay with the next one. ``named``
    says of each group what the head of the page is to name, ``again`` of that what is said above the head where it
    goes on. A row of one cell spans the table, and ends it without a line. A drawing that ``fills`` its cell is as high
    as the row. Without rows it takes no room and draws nothing.
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
        over: Sequence[tuple[int, int, str]] = (),
        heavy: frozenset[int] = frozenset(),
        keep: frozenset[int] = frozenset(),
        pad: float | None = None,
        again: Callable[[str], str] | None = None,
        named: Sequence[str] = (),
    ) -> None:
        super().__init__()
        self.summary, self.row_head = summary, row_head
        self.leading, self.size, self._heads = leading, size, heads or {}
        self.again = again
        self.columns = fitted(columns, list(map(_divided, groups)), size, rigid=frozenset(self._heads))
        dense = _PAD if leading >= LEADING else _DENSE_PAD
        self._pad = dense if pad is None else pad
        self._edges = list(accumulate((column.width for column in self.columns), initial=0.0))[:-1]
        self._over = self._stacked(over)
        parts = [self._broken(group, heavy=index in heavy) for index, group in enumerate(groups)]
        self._groups = list(chain.from_iterable(parts))
        if self._groups and len(self._groups[-1][-1].cells) == 1:
            self._groups[-1][-1] = self._groups[-1][-1]._replace(last=False)
        of_group = list(chain.from_iterable([index] * len(own) for index, own in enumerate(parts)))
        self._keep = [index in keep for index in of_group]
        names = named or [""] * len(groups)
        self._named = [names[index] for index in of_group]
        self._ends = list(accumulate(sum(row.height for row in group) for group in self._groups))
        self._start, self._stop = 0, len(self._groups)
        self._table, self._body, self._tight = SharedElement(), SharedElement(), False

    @property
    def head(self) -> float:
        """Height of the head."""
        over = max((len(lines) for _, _, lines in self._over), default=0)
        return _HEAD + _OVER * over + (_AGAIN if self._going_on else 0.0)

    def _stacked(self, over: Sequence[tuple[int, int, str]]) -> list[tuple[int, int, tuple[str, ...]]]:
        """The lines of the heads over several columns: beside each other, else one below the other, to break no word.

        Below each other they may go beyond their columns, and each has empty lines where the others stand.
        """
        heads = [(first, count, lines_of(text, BOLD, LABEL, self._room(first, count))) for first, count, text in over]
        if all(widest_piece(text, BOLD, LABEL) <= self._room(first, count) for first, count, text in over):
            return heads
        whole = sum(column.width for column in self.columns)
        lines = [lines_of(text, BOLD, LABEL, whole) for *_, text in over]
        ends = list(accumulate(map(len, lines)))
        return [
            (first, count, (*[""] * (end - len(own)), *own, *[""] * (ends[-1] - end)))
            for (first, count, _), own, end in zip(over, lines, ends, strict=True)
        ]

    def _room(self, first: int, count: int) -> float:
        return self._end(first, count) - self._edges[first]

    def _end(self, first: int, count: int) -> float:
        """Where what stands over ``count`` columns from the ``first`` ends."""
        return self._edges[first + count - 1] + self.columns[first + count - 1].width - _APART

    @property
    def _going_on(self) -> str:
        """What is said above the head: that this part goes on with what stood on the page before."""
        start = self._start
        if self.again is None or not start or self._named[start] != self._named[start - 1]:
            return ""
        return self.again(self._named[start])

    def lead(self, groups: int = 2) -> float:
        """Height of the head with the first groups: what must stay together with a heading above."""
        last = min(self._stop, self._start + groups)
        return self._between(self._start, last) + self.head if last > self._start else 0.0

    def need(self, groups: int = 2) -> float:
        """Height to ask for before a heading over this table: all of a short table, the first groups of a long one."""
        whole = self.total()
        return SECTION_ROOM + (whole if whole <= _KEPT_WHOLE else self.lead(groups))

    def total(self) -> float:
        """Height of the whole table when it is not broken."""
        return self._between(self._start, self._stop) + self.head if self._groups else 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """Width and height without a break."""
        self.width, self.height = sum(column.width for column in self.columns), self.total()
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803, ARG002 - reportlab's names
        """The groups that fit, and the rest; nothing when not even the first fits."""
        base = self._ends[self._start - 1] if self._start else 0.0
        stop = min(self._stop, bisect_right(self._ends, base + aH - self.head + 0.01))
        if stop <= self._start:
            return []
        if stop == self._stop:
            return [self]
        while stop > self._start and self._keep[stop - 1]:
            stop -= 1
        if stop <= self._start:
            return []
        if stop == self._stop - 1 and stop - self._start > _LEFT_BEHIND:
            # a single group alone on the next page looks lost: two of them go there
            stop -= 1
            return [self._part(self._start, stop), FrameBreak(), self._part(stop, self._stop)]
        return [self._part(self._start, stop), self._part(stop, self._stop)]

    def draw(self) -> None:
        """Draw this page's part: head, rows, lines."""
        rows = [row for group in self._groups[self._start : self._stop] for row in group]
        if not rows:
            return
        canvas = self.canv
        self._draw_lines(canvas, rows)
        named = self._named[self._start : self._stop]
        for name in dict.fromkeys(named) if named[0] else ():
            canvas.names(self._going_on or name if name == named[0] else name)
        element, is_new = self._table.begin(canvas, "Table")
        element.attributes = f"/O/Table/Summary{text_string(self.summary)}"
        if is_new:
            canvas.begin("THead")
            self._draw_heads(canvas, reads=True)
            canvas.end()
        else:  # on a later page an artifact, since it was read before
            with artifact(canvas, "Pagination"):
                show_text(canvas, 0, self.height - 8, self._going_on, REGULAR, LABEL, MUTED)
                self._draw_heads(canvas, reads=False)
        self._body.begin(canvas, "TBody")
        y = self.height - self.head
        for row in rows:
            self._draw_row(canvas, row, y)
            y -= row.height
        canvas.end()
        canvas.end()

    def _draw_lines(self, canvas: Any, rows: Sequence[_Ready]) -> None:
        """The lines under head and groups, beneath the rows: the limits of drawings that fill them are not broken."""
        y = self.height - self.head
        lines = [(0.0, y, self.width, y)]
        heavy: list[tuple[float, float, float, float]] = []
        for row in rows:
            y -= row.height
            if row.last:
                (heavy if row.heavy else lines).append((0.0, y, self.width, y))
        canvas.setStrokeColor(colour(HAIRLINE))
        canvas.setLineWidth(0.5)
        canvas.lines(lines)
        if heavy:
            canvas.setStrokeColor(colour(INK))
            canvas.setLineWidth(_HEAVY)
            canvas.lines(heavy)

    def _draw_heads(self, canvas: Any, *, reads: bool) -> None:
        """One row of heads, or two of them where some stand over several columns."""
        for draw in (self._draw_over, self._draw_head) if self._over else (self._draw_head,):
            if reads:
                canvas.begin("TR")
            draw(canvas, reads=reads)
            if reads:
                canvas.end()

    def _draw_over(self, canvas: Any, *, reads: bool) -> None:
        """The heads over several columns, each with a line under it; nothing over the columns between them."""
        foot, column = self.height - self.head + _HEAD, 0
        for first, count, lines in (*self._over, (len(self.columns), 0, ())):
            for _ in range(column, first) if reads else ():
                canvas.begin("TD")
                canvas.end()
            column = first + count
            if not count:
                continue
            if reads:
                canvas.begin("TH").attributes = f"/O/Table/Scope/Column/ColSpan {count}"
            end = self._end(first, count)
            for below, text in enumerate(lines, start=1):
                wide = text_width(text, BOLD, LABEL)
                centred = (self._edges[first] + end - wide) / 2
                start = min(max(self._edges[first], centred), max(0.0, self.width - wide))
                show_text(canvas, start, foot + 1.5 + (len(lines) - below) * _OVER, text, BOLD, LABEL, INK)
            if reads:
                canvas.end()
            with artifact(canvas):
                canvas.setStrokeColor(colour(HAIRLINE))
                canvas.setLineWidth(0.5)
                canvas.line(self._edges[first], foot - 1, end, foot - 1)

    def _draw_head(self, canvas: Any, *, reads: bool) -> None:
        foot = self.height - self.head
        for index, (column, x) in enumerate(zip(self.columns, self._edges, strict=True)):
            if reads:  # an empty head is none
                canvas.begin("TH" if column.head else "TD").attributes = "/O/Table/Scope/Column" if column.head else ""
            drawing = self._heads.get(index)
            if drawing is not None:
                drawing.wrapOn(canvas, column.width, _HEAD)
                drawing.drawOn(canvas, x, foot + 3.0)
            elif column.head:
                shift = column.width - column.gap - text_width(column.head, BOLD, LABEL)
                start = x + shift if column.align == "RIGHT" else x
                show_text(canvas, start, foot + 4.8, column.head, BOLD, LABEL, INK)
            if reads:
                canvas.end()

    def _draw_row(self, canvas: Any, row: _Ready, y: float) -> None:
        """One row, its top at ``y``."""
        top = y - (self._pad if row.first else _INNER)
        canvas.begin("TR")
        if len(row.cells) == 1:
            canvas.begin("TD").attributes = f"/O/Table/ColSpan {len(self.columns)}"
            whole: Any = row.cells[0]
            _, height = whole.wrapOn(canvas, self.width, row.height)
            whole.drawOn(canvas, 0, top - height)
            canvas.end()
            canvas.end()
            return
        leads = self._leads(row.cells)
        last = max(leads, default=0)
        beside = top - sum(self._tall_across((row.cells[index],)) for index in leads) - self._clear(row.cells)
        free = [beside - self._beside(row.cells), top]  # for what stands across: below the row, above it
        for index, (cell, column, x) in enumerate(zip(row.cells, self.columns, self._edges, strict=True)):
            head = self._heads_rows(index)
            canvas.begin("TH" if head else "TD").attributes = "/O/Table/Scope/Row" if head else ""
            if getattr(cell, "fills", False):  # down to what stands across below, through which no line goes
                foot = free[False] if self._below(row.cells) else y - row.height
                cell.room = y - (top - beside) - foot  # type: ignore[union-attr] # one that fills is a flowable
                cell.drawOn(canvas, x, foot)  # type: ignore[union-attr]
            elif cell is not None:
                own = free[index in leads] if _is_across(cell) else (beside, top)[index < last]
                self._put(canvas, cell, (column, x), own)
                free[index in leads] -= self._tall_across((cell,))
            canvas.end()
        canvas.end()

    def _heads_rows(self, index: int) -> bool:
        """Whether what is in a column names its row, or what stands to the right of it in that row."""
        return self.row_head and (index == 0 or self.columns[index].head == self.columns[0].head != "")

    def _put(self, canvas: Any, cell: Setting | Flowable, place: tuple[Column, float], top: float) -> None:
        """Draw a cell below ``top``: in its column, or where it begins across the table."""
        if isinstance(cell, Setting):
            self._set(canvas, cell, top)
            return
        column, x = place
        width, height = cell.wrapOn(canvas, column.width, 0)
        if isinstance(cell, Runs) and cell.start is not None:
            x = cell.start
        elif column.align == "RIGHT":
            x += column.width - column.gap - width
        cell.drawOn(canvas, x, top - height)

    def _set(self, canvas: Any, cell: Setting, top: float) -> None:
        """Set the lines of a cell, the first below ``top``."""
        for number, line in enumerate(cell.lines):
            x = cell.x if cell.end is None else cell.end - text_width(line, cell.face, cell.size)
            show_text(canvas, x, top - self.size - number * self.leading, line, cell.face, cell.size, cell.ink)

    def tighten(self) -> None:
        """Take from the room above and below each row, once."""
        less = 0.0 if self._tight else self._pad * (1 - _TIGHT)
        self._tight = True
        self._pad -= less
        for group in self._groups:
            for index in {0, len(group) - 1}:
                ends = (index == 0) + (index == len(group) - 1)
                group[index] = group[index]._replace(height=group[index].height - less * ends)
        self._ends = list(accumulate(sum(row.height for row in group) for group in self._groups))

    def _between(self, start: int, stop: int) -> float:
        return self._ends[stop - 1] - (self._ends[start - 1] if start else 0.0) if stop else 0.0

    def _part(self, start: int, stop: int) -> GroupedTable:
        part = GroupedTable.__new__(GroupedTable)
        part.__dict__.update(self.__dict__)
        part.__dict__.pop("_postponed", None)  # reportlab's note that the whole was moved to a fresh page
        part.__dict__.update(_start=start, _stop=stop)
        return part

    def _broken(self, group: Sequence[Row], *, heavy: bool) -> list[list[_Ready]]:
        """Return the group with its lines, in several groups when it is taller than a page can be asked to hold."""
        rows = [part for row in group for part in self._parts(row)]
        tall = [self._tall(cells) for cells in rows]
        starts, used = [0], 0.0
        for index, height in enumerate(tall):
            room = height + 2 * _INNER
            if index > starts[-1] and used + room > _TALLEST_GROUP:
                starts.append(index)
                used = 0.0
            used += room
        groups = []
        for start, stop in pairwise([*starts, len(rows)]):
            part = []
            for index in range(start, stop):
                pads = (self._pad if index == start else _INNER) + (self._pad if index == stop - 1 else _INNER)
                last = index == len(rows) - 1
                part.append(_Ready(rows[index], tall[index] + pads, index == start, last, heavy and last))
            groups.append(part)
        return groups

    def _tall(self, cells: _Cells) -> float:
        """Height of a row without the room above and below it: at least one line."""
        if len(cells) == 1:
            whole: Any = cells[0]
            return float(whole.wrapOn(None, sum(column.width for column in self.columns), 0)[1])
        return self._tall_across(cells) + self._beside(cells) + self._clear(cells)

    def _clear(self, cells: _Cells) -> float:
        """Room between what stands above a row and a drawing that fills the row up to it."""
        return _CLEAR if self._leads(cells) and any(getattr(cell, "fills", False) for cell in cells) else 0.0

    def _tall_across(self, cells: _Cells) -> float:
        """Height of what stands across the table, each with the leading it is set with."""
        across = [cell for cell in cells if isinstance(cell, (Setting, Runs)) and _is_across(cell)]
        return sum(len(cell.lines) * getattr(cell, "leading", self.leading) for cell in across)

    def _beside(self, cells: _Cells) -> float:
        """Height of what stands beside each other in a row: a line at least, unless all stands across."""
        own = [
            cell for cell in cells[max(self._leads(cells), default=0) :] if cell is not None and not _is_across(cell)
        ]
        lines = max([0, *(len(cell.lines) for cell in own if isinstance(cell, Setting))])
        drawn = max([0.0, *(cell.wrapOn(None, 0, 0)[1] for cell in own if isinstance(cell, Flowable))])
        return float(max((lines or not _lines_across(cells)) * self.leading, drawn))

    def _leads(self, cells: _Cells) -> list[int]:
        """Which cells across the table stand above its row: those that only short ones stand before, on the same line.

        Any other stands below, so that what is beside each other has one top.
        """
        found: list[int] = []
        for index, cell in enumerate(cells):
            if isinstance(cell, (Setting, Runs)) and _is_across(cell):
                start = cell.x if isinstance(cell, Setting) else cell.start or 0.0
                if start < self._edges[index] - _INNER:
                    break
                found.append(index)
            elif not (cell is None or (isinstance(cell, Setting) and len(cell.lines) == 1)):
                break
        return found

    def _below(self, cells: _Cells) -> bool:
        """Whether anything stands across below what is beside each other."""
        leads = self._leads(cells)
        return any(_is_across(cell) for index, cell in enumerate(cells) if index not in leads)

    def _parts(self, row: Row) -> list[_Cells]:
        """Return the row's cells as lines of text; a very long row as several."""
        if len(row) == 1:
            return [row]  # a drawing across the table
        cells = settings_of(row, self.columns, self._edges, self.size)
        across = sum(map(_is_across, cells))
        most = int(_TALLEST_GROUP / self.leading) // max(1, across + (across > 0))
        longest = max([1, *(len(cell.lines) for cell in cells if isinstance(cell, (Setting, Runs)))])
        parts = [tuple(_part_of(cell, start, most) for cell in cells) for start in range(0, longest, most)]
        named = (
            self.row_head and len(parts) > 1 and isinstance(cells[0], (Setting, Runs)) and len(cells[0].lines) < most
        )
        return [parts[0], *((self._goes_on(cells[0]), *row[1:]) if named else row for row in parts[1:])]

    def _goes_on(self, name: Setting | Flowable | None) -> Runs:
        """The name of a row again, where the row goes on."""
        text = " ".join(name.lines) if isinstance(name, Setting) else "".join(run.text for run in name.runs)  # type: ignore[union-attr] # such a head is a text
        room = self.columns[0].width - self.columns[0].gap
        return Runs(
            [Run(self.again(text) if self.again else text, REGULAR, MUTED)], room, size=self.size, leading=self.leading
        )


def time_width(times: Iterable[str | None]) -> float:
    """Width of a column of times as printed: room for a date where one of them has it."""
    return 58.0 if any(time and len(time) > len("00:00") for time in times) else 36.0


def _is_across(cell: Setting | Flowable | None) -> bool:
    return cell.across if isinstance(cell, Setting) else isinstance(cell, Runs) and cell.start is not None


def _lines_across(cells: _Cells) -> int:
    return sum(len(cell.lines) for cell in cells if isinstance(cell, (Setting, Runs)) and _is_across(cell))


def _divided(group: Sequence[Row]) -> list[Row]:
    """The rows of a group that have a cell for each column."""
    return [row for row in group if len(row) > 1]


def _part_of(cell: Setting | Flowable | None, start: int, most: int) -> Setting | Flowable | None:
    """Some of the lines of a cell; what is no text stands with the first of them."""
    if isinstance(cell, Setting):
        return cell._replace(lines=cell.lines[start : start + most]) if cell.lines[start:] else None
    if isinstance(cell, Runs):
        return cell.part(start, start + most) if cell.lines[start:] else None
    return None if start else cell
