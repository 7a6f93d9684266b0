"""A plan onto pages: printed lines and headings by the report's faces, and an ordinary form field in every cell."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.intake.form import FORM_FIELD, field_name, render_form
from reportgen.pdf.columnwidths import Column, fitted
from reportgen.pdf.fonts import register_fonts
from reportgen.pdf.painting import show_text
from reportgen.pdf.styles import BOLD, HAIRLINE, INK, ITALIC, LABEL, MUTED, REGULAR, SECTION, SMALL, colour
from reportgen.pdf.textlines import HAIR, SMALLEST, lines_of, text_width, unbroken, widest_piece
from reportgen.pdf.widgets import FormFields

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.sheet.plan import Block, Cell, SheetPlan

PAPERS: Final = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
MARGIN: Final = 36.0
ROW: Final = 23.0
"""Height of a row in points, 8.1 mm: room for a gloved finger on a tablet and for a pencil on paper."""

_HEAD: Final = 13.0
_HEAD_LINE: Final = 8.5
_GAP: Final = 6.0
_HEADING: Final = 8.0
_SMALLER: Final = 6.5
_BESIDE: Final = 2.0
_TITLE: Final = 17.0
_NUMBER: Final = 14.0
_TICK: Final = 19.0
_FOOT: Final = 34.0
CAUTION: Final = (
    "Stay out of the blast until the pot is isolated and depressurised and the hose is down. Dust may hold silica, "
    "lead or other poisons. Follow the site's safety plan, local law and codes."
)
TWO_SPELLINGS: Final = "Numbers with a decimal point; times as 06:40; leave empty what was not measured."


class FieldColumn(NamedTuple):
    """A column of a block: its cell, left edge, width, and its head in lines of a size."""

    cell: Cell
    x: float
    width: float
    head: tuple[str, ...]
    size: float


def _fields_of(block: Block, left: float, right: float) -> list[FieldColumn]:
    """Return the columns of a block between two edges.

    The head of a column with a word that has no room even in small type is a number, to be explained above the heads.
    """
    found: list[FieldColumn] = []
    for place, (cell, width) in enumerate(zip(block.cells, _widths(block, right - left), strict=True), 1):
        size, head = unbroken(cell.title, REGULAR, _HEADING, width - _BESIDE)
        if size == SMALLEST and widest_piece(cell.title, REGULAR, size) > width - _BESIDE:
            size, head = _HEADING, (f"{place})",)
        found.append(FieldColumn(cell, left, width, head, size))
        left += width
    return found


def _widths(block: Block, room: float) -> list[float]:
    """Return the widths of the columns, as their shares where that is wide enough, for the largest type that fits."""
    unit = room / sum(cell.share for cell in block.cells)
    shares = [Column("", unit * cell.share, gap=_BESIDE) for cell in block.cells]
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
    return all(widest_piece(text, REGULAR, size) <= column.width - _BESIDE + HAIR for column, text in pairs)


def drawn(plan: SheetPlan) -> bytes:
    """Return the PDF of a plan."""
    register_fonts()
    sheet = _Sheet(plan)
    for number, block in enumerate(plan.blocks, 1):
        sheet.block(number, block)
    return sheet.finish()


class _Sheet:
    """The page being drawn and how far down it is used."""

    def __init__(self, plan: SheetPlan) -> None:
        from reportgen.pdf.flow import Canvas

        self.plan = plan
        self.width, self.height = PAPERS[plan.paper]
        self._into = io.BytesIO()
        self.canvas: Any = Canvas(
            self._into,
            pagesize=(self.width, self.height),
            invariant=1,
            pageCompression=1,
            initialFontName=REGULAR,
            lang="en",
        )
        self.canvas.setTitle(plan.title)
        self._fields = FormFields(self.canvas)
        self._columns: list[FieldColumn] = []  # of the block being drawn
        self.page = 0
        self.y = 0.0
        self._new_page()
        # the hidden field that says which job the sheet belongs to
        self._fields.hidden(FORM_FIELD, "Identity of this sheet; leave as it is", render_form(plan.form))

    @property
    def room(self) -> float:
        """Width between the margins."""
        return self.width - 2 * MARGIN

    def finish(self) -> bytes:
        """Close the last page and return the file."""
        self._close_page()
        self._fields.attach()
        self.canvas.save()
        return self._into.getvalue()

    # Pages

    def _new_page(self) -> None:
        self.page += 1
        self.y = self.height - MARGIN
        self._text(self.plan.title, BOLD, SECTION if self.page > 1 else 15.0)
        self._text(self.plan.subtitle, REGULAR, SMALL, MUTED)
        if self.page == 1:
            self.y -= 4
            for line in self.plan.reminder:
                self._text(line, REGULAR, 9.5)
            self._text(TWO_SPELLINGS, ITALIC, SMALL, MUTED)
        self.y -= 4

    def _close_page(self) -> None:
        canvas = self.canvas
        for index, line in enumerate(lines_of(CAUTION, ITALIC, LABEL, self.room - 60)):
            show_text(canvas, MARGIN, 26 - index * 8.5, line, ITALIC, LABEL, MUTED)
        self._at_right(self.width - MARGIN, 26, f"page {self.page}")
        self._at_right(self.width - MARGIN, 17.5, self.plan.form.identity.day_sha256[:12])
        canvas.showPage()
        page = canvas._doc.Pages.pages[-1]  # noqa: SLF001 - reportlab offers no other way to set the tab order
        page.__NoDefault__ = (*page.__NoDefault__, "Tabs")
        page.Tabs = "/R"

    def _break(self) -> None:
        self._close_page()
        self._new_page()

    def _text(self, text: str, face: str, size: float, ink: str = INK) -> None:
        """Write a paragraph at the cursor and move it down."""
        small, lines = unbroken(text, face, size, self.room)
        for line in lines:
            self.y -= size * 1.3
            show_text(self.canvas, MARGIN, self.y, line, face, small, ink)

    def _at_right(self, end: float, y: float, text: str) -> None:
        show_text(self.canvas, end - text_width(text, REGULAR, LABEL), y, text, REGULAR, LABEL, MUTED)

    # Blocks

    def block(self, number: int, block: Block) -> None:
        """Draw a block; one that does not fit goes on on the next page with its column heads again."""
        at_top = self.y > self.height - MARGIN - 60
        self._columns = _fields_of(block, MARGIN + (_NUMBER if block.numbered else 0.0), self.width - MARGIN)
        lead = _GAP + (_TITLE if block.title else 0.0) + self._head_height + 10.0 * len(block.notes)
        keep = min(len(block.rows), 3)
        if (block.new_page and not (at_top and self.page > 1)) or self.y - lead - keep * ROW < _FOOT:
            self._break()
        for index, line in enumerate(block.heading):
            self._text(line, BOLD if index == 0 else REGULAR, 13.0 if index == 0 else 8.5)
        self._block_head(block)
        for row, given in enumerate(block.rows, 1):
            if self.y - ROW < _FOOT:
                self._break()
                self._column_heads()
            self._row(number, row, block, given)
        self.y -= _GAP

    def _block_head(self, block: Block) -> None:
        if block.title:
            self.y -= 3
            self._text(block.title, BOLD, 9.5)
        for note in block.notes:
            self._text(note, REGULAR, LABEL, MUTED)
        for place, column in enumerate(self._columns, 1):
            if column.head == (f"{place})",):
                self._text(f"{place}) {column.cell.title}", REGULAR, LABEL, MUTED)
        self._column_heads()

    @property
    def _head_height(self) -> float:
        return _HEAD + _HEAD_LINE * (max(len(column.head) for column in self._columns) - 1)

    def _column_heads(self) -> None:
        self.y -= self._head_height
        for column in self._columns:
            top = self.y + 3 + _HEAD_LINE * (len(column.head) - 1)
            for index, line in enumerate(column.head):
                show_text(self.canvas, column.x + 1, top - _HEAD_LINE * index, line, REGULAR, column.size, MUTED)

    def _row(self, number: int, row: int, block: Block, given: Mapping[str, str]) -> None:
        self.y -= ROW
        if block.numbered:
            self._at_right(MARGIN + _NUMBER - 4, self.y + 9, str(row))
        for cell, x, width, *_ in self._columns:
            name = field_name(number, row, cell.key)
            where = f"{block.area or ''} {block.title or 'Preparation'}, row {row}: {cell.title}".strip()
            tip = f"{where} ({cell.ask})" if cell.ask else where
            tick = cell.kind == "tick"
            box = (x + 1, self.y + 1.5, width - 2, ROW - 3)
            if tick:
                box = (x + (width - _TICK) / 2, self.y + 2, _TICK, _TICK)
            self.canvas.setStrokeColor(colour(MUTED if tick else HAIRLINE))
            self.canvas.setLineWidth(0.7)
            self.canvas.rect(*box, stroke=1, fill=0)
            if tick:
                self._fields.tick(name, tip, box)
            else:
                self._fields.text(name, tip, box, given.get(cell.key, ""))
