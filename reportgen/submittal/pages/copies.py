"""Page copies in a submittal: each page of an original in a frame, below a line that says what it is a copy of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.copies import Drawing
from reportgen.names import short_title
from reportgen.pdf.blocks import SectionTitle, running_text, title_text, write
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.copied_objects import Imported
from reportgen.pdf.endline import EndLine
from reportgen.pdf.flow import Flowable, PageBreak
from reportgen.pdf.styles import BODY, BOLD, INK, LABEL, MUTED, REGULAR, colour
from reportgen.pdf.tables import Column
from reportgen.pdf.tagging import PageReference
from reportgen.pdf.textlines import one_line, text_width
from reportgen.submittal.pages.tables import SIZE, table

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.pdf.tables import Row
    from reportgen.submittal.pages.model import IndexRow, Submittal
    from reportgen.words.catalogue import Words

_STRIP = 24.0
_END = 20.0
_EDGE = 1.0


def copies_section(
    content: Submittal, words: Words, place: tuple[float, float], read: Callable[[str], bytes]
) -> list[Flowable]:
    """Return what the copies are and where, then the copies; nothing where none are asked for.

    ``place`` is width and height of the text area; ``read(file)`` returns the bytes of an original by its name.
    """
    copied = [row for row in content.reports if row.copied_pages]
    if not copied:
        return []
    width, _ = place
    columns = [
        Column(words("index.report"), 120, face=BOLD),
        Column(words("index.date"), 80),
        Column(words("integrity.file"), width - 120 - 80 - 70 - 90),
        Column(words("copies.pages"), 70, "RIGHT"),
        Column(words("copies.from"), 90, "RIGHT", gap=0),
    ]
    groups: list[list[Row]] = []
    for row in copied:
        title = short_title(row)
        link = PageReference(_bookmark(row), size=SIZE, width=90, title=title)
        groups.append([(title, row.date, row.file, str(row.copied_pages), link)])
    story: list[Flowable] = [
        PageBreak(),
        SectionTitle(words("copies.title"), "copies"),
        running_text(words("copies.note"), before=4),
        table(columns, groups, words, "copies.title", row_head=True),
    ]
    imported = Imported()
    for row in copied:
        original = _Original(row, read)
        for page in range(row.copied_pages):
            last = row is copied[-1] and page == row.copied_pages - 1
            end = words("end", reference=content.reference) if last else None
            story += [PageBreak(), PageCopy(original, page, imported, words, place, end)]
    return story


def _bookmark(row: IndexRow) -> str:
    return f"copy of {row.file}"


class _Original:
    """An original, read when its first page is drawn and forgotten with its last."""

    def __init__(self, row: IndexRow, read: Callable[[str], bytes]) -> None:
        self.row, self._read = row, read
        self._drawing: Drawing | None = None

    def page(self, page: int) -> Drawing:
        """Return the pages while ``page`` is drawn; they are drawn in their order."""
        drawing = self._drawing or Drawing(self._read(self.row.file))
        self._drawing = None if page == self.row.copied_pages - 1 else drawing
        return drawing


class PageCopy(Flowable):  # type: ignore[misc] # reportlab has no types
    """One page of an original, as large as the text area allows; tagged as a figure, its text is in the original."""

    def __init__(
        self, original: _Original, page: int, imported: Imported, words: Words, place: tuple[float, float],
        end: str | None,
    ) -> None:  # fmt: skip
        super().__init__()
        self.original, self.page, self.imported, self.words, self.end = original, page, imported, words, end
        self.width, self.height = place

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole text area, less what rounding may take."""
        return self.width, self.height - 0.1

    def draw(self) -> None:
        """Line, frame, end of the submittal if this is it, and last the copy."""
        canvas: Any = self.canv
        drawing = self.original.page(self.page)
        left, bottom, right, top = drawing.box(self.page)
        row = self.original.row
        told = {"page": self.page + 1, "pages": row.copied_pages, "number": row.number, "revision": row.revision}
        self._strip(canvas, told)
        room = self.height - _STRIP - _END
        scale = min((self.width - 2 * _EDGE) / (right - left), room / (top - bottom))
        wide, high = scale * (right - left), scale * (top - bottom)
        x, y = (self.width - wide) / 2, self.height - _STRIP - high
        if self.end is not None:
            last = EndLine(self.end)
            last.wrapOn(canvas, self.width, _END)
            last.drawOn(canvas, 0, 0)
        with artifact(canvas):
            canvas.setStrokeColor(colour(MUTED))
            canvas.setLineWidth(0.6)
            canvas.rect(x - _EDGE, y - _EDGE, wide + 2 * _EDGE, high + 2 * _EDGE)
        name = self.imported.form(canvas, drawing, self.page)
        alt = self.words("copies.alt", file=row.file, **told)
        with tagged(canvas, "Figure", alt=alt, at=(x, y, wide, high)):
            canvas.saveState()
            canvas.transform(scale, 0, 0, scale, x - scale * left, y - scale * bottom)
            canvas.addLiteral(f"q 1 1 1 rg {left:.4f} {bottom:.4f} {right - left:.4f} {top - bottom:.4f} re f Q")
            canvas.doForm(name)
            canvas.restoreState()

    def _strip(self, canvas: Any, told: dict[str, Any]) -> None:
        """What this is a copy of, above the frame; the first page of an original has it as a heading."""
        mark, y = self.words("copies.mark"), self.height - _STRIP + 8
        wide = text_width(mark, BOLD, LABEL + 0.5) + 12
        with artifact(canvas):
            canvas.setFillColor(colour(INK))
            canvas.roundRect(0, y - 4, wide, 13, 2, stroke=0, fill=1)
        row = self.original.row
        text = self.words("copies.of", **told)
        if self.page == 0:
            heading = title_text(text, "body", 3, bookmark=_bookmark(row))
            heading.wrapOn(canvas, self.width - wide - 8, 20)
            heading.drawOn(canvas, wide + 8, y - 3.4)
        else:
            with tagged(canvas, "P"):
                write(canvas, wide + 8, y, text, BODY, INK)
        with tagged(canvas, "P"):
            write(canvas, 6, y, mark, LABEL + 0.5, "ffffff", face=BOLD)
        used = wide + 8 + text_width(text, REGULAR, BODY) + 14
        note = self.words("copies.original", file=row.file)
        beside = text_width(note, REGULAR, LABEL) <= self.width - used
        size = LABEL if beside else one_line(note, REGULAR, LABEL, self.width)
        with tagged(canvas, "P"):
            write(canvas, self.width, y if beside else y + 10, note, size, INK, align="right")
