"""A plan onto pages, in the hand of the report, with an ordinary form field in every cell."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.archival.finishing import make_accessible
from reportgen.gc_pause import collector_off
from reportgen.intake.form import FORM_FIELD, field_name, render_form
from reportgen.pdf.blocks import running_text, title_text, write
from reportgen.pdf.canvas import SharedElement, artifact, tagged
from reportgen.pdf.charted import SideBySide
from reportgen.pdf.columnwidths import Column, fitted
from reportgen.pdf.flow import CondPageBreak, Flowable, PageBreak
from reportgen.pdf.page import Furniture, build_pages, geometry
from reportgen.pdf.painting import show_text
from reportgen.pdf.structure import text_string
from reportgen.pdf.styles import BOLD, FINE, INK, LABEL, MUTED, REGULAR, SMALL, colour
from reportgen.pdf.tables import GroupedTable
from reportgen.pdf.textlines import HAIR, SMALLEST, unbroken, widest_piece
from reportgen.pdf.widgets import FormFields
from reportgen.units import decimal_mark
from reportgen.words.catalogue import catalogue
from reportgen.words.filing import sheet_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.sheet.plan import Block, SheetCell, SheetPlan
    from reportgen.words.catalogue import Words

BOX: Final = 22.7
"""Height of a box in points, 8.0 mm: room for a gloved finger on a tablet and for a pencil on paper."""
ROW: Final = BOX + 1.0

_HEAD: Final = 10.5
_HEAD_LINE: Final = 8.5
_HEADING: Final = 7.6
_BESIDE: Final = 3.5
_NUMBER: Final = 13.0
_TABLE: Final = 196.0
_KEPT: Final = 3


class FieldColumn(NamedTuple):
    """A column of a block: its cell, left edge, width, and its head in lines of a size."""

    cell: SheetCell
    x: float
    width: float
    head: tuple[str, ...]
    size: float


def field_columns(block: Block, left: float, right: float) -> list[FieldColumn]:
    """Return the columns of a block between two edges.

    The head of a column with a word that has no room even in small type is a number, to be explained above the heads.
    """
    found: list[FieldColumn] = []
    for place, (cell, width) in enumerate(zip(block.cells, widths_of(block, right - left), strict=True), 1):
        size, head = unbroken(cell.title, REGULAR, _HEADING, width - _BESIDE)
        if size == SMALLEST and widest_piece(cell.title, REGULAR, size) > width - _BESIDE:
            size, head = _HEADING, (f"{place})",)
        found.append(FieldColumn(cell, left, width, head, size))
        left += width
    return found


def widths_of(block: Block, room: float) -> list[float]:
    """Return the widths of the columns, as their shares where that is wide enough, for the largest type that fits."""
    unit = room / sum(cell.share for cell in block.cells)
    shares = [Column("", unit * cell.share, gap=_BESIDE) for cell in block.cells]
    ticks = frozenset(place for place, cell in enumerate(block.cells) if cell.kind == "tick")
    # a field holds one line: what is filled in does not break at its spaces
    rows = [tuple(given.get(cell.key, "").replace(" ", "\u00a0") for cell in block.cells) for given in block.rows]
    rows.insert(0, tuple(cell.title for cell in block.cells))
    for size in (_HEADING, SMALLEST):
        columns = fitted(shares, [rows], size, rigid=ticks)
        if all(fits(columns, row, size) for row in rows):
            break
    return [column.width for column in columns]


def fits(columns: Sequence[Column], row: Sequence[str], size: float) -> bool:
    """Whether every word of a row has room in its column."""
    pairs = zip(columns, row, strict=True)
    return all(widest_piece(text, REGULAR, size) <= column.width - _BESIDE + HAIR for column, text in pairs)


def drawn(plan: SheetPlan) -> bytes:
    """Return the PDF of a plan."""
    words, place = sheet_words(plan.language), geometry("A4" if plan.paper == "a4" else "letter")
    with collector_off(), decimal_mark(words.decimal):
        told = catalogue(plan.language)("translation.told")
        form, (unit, *humidities), *rows = _Form(plan), *plan.dew_points
        wide, head = _TABLE / len(plan.dew_points[0]), words("dew.air", unit=unit)
        columns = [Column(head, wide, "RIGHT", face=BOLD, gap=3.0)]
        columns += [Column(one, wide, "RIGHT", gap=3.0) for one in humidities]
        table = GroupedTable(
            columns,
            [[row] for row in rows],
            words("dew", unit=unit),
            row_head=True,
            size=FINE,
            leading=8.2,
            pad=0.2,
        )
        named = _Stack([running_text(words("dew", unit=unit), "note"), table], _TABLE)
        steps = _Stack([running_text(line, "dense") for line in plan.reminder], place.width - _TABLE - 14)
        steps.parts.insert(0, title_text(words("steps"), "block", 2, bookmark="steps", outline=False))
        story: list[Flowable] = [
            form,
            title_text(plan.title, "section", 1, bookmark="sheet"),
            running_text(plan.subtitle, "note"),
            *([] if words.language == plan.language else [running_text(told, "note", before=2)]),
            SideBySide([steps, named], before=4) if plan.reminder else named,
            running_text(words("how"), "dense", before=3),
        ]
        for number, block in enumerate(plan.blocks, 1):
            story += FieldTable(form, words, number, block, place.width).titled()
        story += [
            CondPageBreak(70),
            running_text(words("caution"), "dense", before=6),
            _Signature(words, plan.inspector),
            _Attached(form),
        ]
        furniture = Furniture(
            place, plan.body, plan.title, words("footer"), lambda page, pages: words("page", page=page, pages=pages),
            named=", ".join,
        )  # fmt: skip
        pdf = build_pages(story, furniture, title=plan.title, language=words.language).pdf
        return make_accessible(pdf, title=plan.title, language=words.language)


class _Form(Flowable):  # type: ignore[misc] # reportlab has no types
    """The form of a sheet; where it stands in the text is the hidden field that says which job the sheet belongs to."""

    _ZEROSIZE = True

    def __init__(self, plan: SheetPlan) -> None:
        super().__init__()
        self.identity = render_form(plan.form)

    def draw(self) -> None:
        """Begin the form."""
        self.fields = FormFields(self.canv)
        self.fields.hidden(FORM_FIELD, "Identity of this sheet; leave as it is", self.identity)


class _Attached(Flowable):  # type: ignore[misc] # reportlab has no types
    """The end of the form, after its last field."""

    _ZEROSIZE = True

    def __init__(self, form: _Form) -> None:
        super().__init__()
        self.form = form

    def draw(self) -> None:
        """Complete the form."""
        self.form.fields.attach()


class _Stack(Flowable):  # type: ignore[misc] # reportlab has no types
    """Texts and tables under each other, of a width."""

    def __init__(self, parts: list[Flowable], width: float) -> None:
        super().__init__()
        self.parts, self.own = parts, width

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The width given; the sum of the texts."""
        self._heights = [part.wrapOn(None, self.own, aH)[1] for part in self.parts]
        self.width, self.height = self.own, sum(self._heights)
        return self.width, self.height

    def draw(self) -> None:
        """One under the other."""
        y = self.height
        for part, height in zip(self.parts, self._heights, strict=True):
            y -= height
            part.drawOn(self.canv, 0, y)


class _Signature(Flowable):  # type: ignore[misc] # reportlab has no types
    """Lines for whoever signs: the inspector's name, date and time, signature."""

    def __init__(self, words: Words, name: str) -> None:
        super().__init__()
        who = f"{words('signature.who')}: {name}"
        self.parts = (who, words("signature.when"), words("signature"))
        self.spaceBefore = 6.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; room to write above the lines."""
        self.width, self.height = aW, 40.0
        return self.width, self.height

    def draw(self) -> None:
        """A line for each, what it is for below."""
        wide = self.width / len(self.parts)
        with artifact(self.canv):
            self.canv.setStrokeColor(colour(INK))
            self.canv.setLineWidth(0.8)
            self.canv.lines([(wide * place, 11, wide * (place + 1) - 12, 11) for place in range(len(self.parts))])
        with tagged(self.canv, "P"):
            for place, text in enumerate(self.parts):
                size, [line, *_] = unbroken(text, REGULAR, SMALL, wide - 12)
                write(self.canv, wide * place, 2, line, size, INK)


class FieldTable(Flowable):  # type: ignore[misc] # reportlab has no types
    """Rows of boxes to fill under the heads of their columns; breaks between rows, with the heads again."""

    def __init__(self, form: _Form, words: Words, number: int, block: Block, width: float) -> None:
        super().__init__()
        self.form, self.words, self.number, self.block = form, words, number, block
        self.width = width
        self.columns = field_columns(block, _NUMBER if block.numbered else 0.0, width)
        self.head = _HEAD + _HEAD_LINE * (max(len(column.head) for column in self.columns) - 1)
        self.rows = tuple(enumerate(block.rows, 1))
        self.spaceAfter = 3.0
        self._table, self._body = SharedElement(), SharedElement()

    def titled(self) -> list[Flowable]:
        """The rows with title and notes before them; those of an area begin a page with what is open there."""
        block, number = self.block, self.number
        made: list[Flowable] = [PageBreak()] if block.new_page else []
        if block.heading:
            made.append(title_text(block.heading[0], "area", 2, bookmark=f"area-{block.area}"))
            made += [running_text(line, "dense") for line in block.heading[1:]]
        lead = _Stack([], self.width)  # title and notes, which stay with the first rows
        if block.title:
            level = 3 if block.area else 2
            lead.parts.append(title_text(block.title, "block", level, bookmark=f"block-{number}", outline=False))
        explained = (f"{n}) {one.cell.title}" for n, one in enumerate(self.columns, 1) if one.head == (f"{n})",))
        lead.parts += [running_text(note, "dense") for note in (*block.notes, *explained)]
        kept = lead.wrap(self.width, 0)[1] + self.head + ROW * min(len(self.rows), _KEPT)
        return [*made, CondPageBreak(kept + 4), *lead.parts, self]

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; heads and rows."""
        self.width, self.height = aW, self.head + ROW * len(self.rows)
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803, ARG002 - reportlab's names
        """The rows that fit, and the rest."""
        fits = int((aH - self.head) // ROW)
        return [] if fits < 1 else [self._part(self.rows[:fits]), self._part(self.rows[fits:])]

    def _part(self, rows: tuple[tuple[int, Any], ...]) -> FieldTable:
        part = FieldTable.__new__(FieldTable)
        part.__dict__.update(self.__dict__)
        part.__dict__.pop("_postponed", None)  # reportlab's note that the whole was moved to a fresh page
        part.rows = rows
        return part

    def draw(self) -> None:
        """Heads, then rows; heads that are repeated are not read again."""
        canvas = self.canv
        if self.block.area is not None:
            canvas.names(self.block.area)
        element, new = self._table.begin(canvas, "Table")
        if new:
            title = self.block.title or self.words("block.surface")
            element.attributes = f"/O/Table/Summary{text_string(title)}"
            canvas.begin("THead")
            canvas.begin("TR")
            self._heads(canvas, reads=True)
            canvas.end()
            canvas.end()
        else:
            with artifact(canvas, "Pagination"):
                self._heads(canvas, reads=False)
        self._body.begin(canvas, "TBody")
        y = self.height - self.head
        for row, given in self.rows:
            y -= ROW
            canvas.begin("TR")
            self.draw_row(canvas, row, y, given)
            canvas.end()
        canvas.end()
        canvas.end()

    def _heads(self, canvas: Any, *, reads: bool) -> None:
        if reads and self.block.numbered:
            canvas.begin("TD")
            canvas.end()
        for column in self.columns:
            if reads:
                canvas.begin("TH").attributes = "/O/Table/Scope/Column"
            top = self.height - self.head + 2.6 + _HEAD_LINE * (len(column.head) - 1)
            for index, line in enumerate(column.head):
                show_text(canvas, column.x + 1, top - _HEAD_LINE * index, line, REGULAR, column.size, INK)
            if reads:
                canvas.end()

    def draw_row(self, canvas: Any, row: int, y: float, given: Mapping[str, str]) -> None:
        """One row, its foot at ``y``: number and boxes, filled in beforehand where something is known."""
        block, fields = self.block, self.form.fields
        if block.numbered:
            canvas.begin("TH").attributes = "/O/Table/Scope/Row"
            write(canvas, _NUMBER - 3.0, y + 8.5, str(row), LABEL, INK, align="right")
            canvas.end()
        for cell, x, width, *_ in self.columns:
            where = [block.area, block.title or self.words("block.surface"), self.words("row", row=row)]
            tip = f"{', '.join(filter(None, where))}: {cell.title}{f' ({cell.ask})' if cell.ask else ''}"
            tick = cell.kind == "tick"
            box = (x + (width - BOX) / 2, y + 0.7, BOX, BOX) if tick else (x + 1.0, y + 0.7, width - 2.0, BOX)
            with artifact(canvas):
                canvas.setStrokeColor(colour(MUTED))
                canvas.setLineWidth(0.5)
                canvas.rect(*box, stroke=1, fill=0)
            canvas.begin("TD")
            name = field_name(self.number, row, cell.key)
            if tick:
                fields.tick(name, tip, box)
            else:
                fields.text(name, tip, box, given.get(cell.key, ""))
            canvas.end()
