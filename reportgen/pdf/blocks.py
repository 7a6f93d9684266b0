"""The small pieces pages are made of: section titles, facts, ledgers, verdicts, running text."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from reportlab.platypus import Flowable

from reportgen.charts import verdict_mark
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.painting import paint, show_text
from reportgen.pdf.styles import (
    BODY,
    BOLD,
    HAIRLINE,
    INK,
    LABEL,
    LEADING,
    MUTED,
    REGULAR,
    VERDICT_COLOUR,
    colour,
    text_style,
)
from reportgen.pdf.tagging import Tagged
from reportgen.pdf.textlines import HAIR, fitting, lines_of, text_width, unbroken, widest_piece

if TYPE_CHECKING:
    from collections.abc import Sequence

SECTION_GAP = 16.0
SECTION_HEIGHT = 21.0
_FACT_PADS = 13.5  # label above, space below
_TALL_FACT = 300.0
_VALUE = BODY + 0.3

Fact = tuple[str, str]


def running_text(text: str, style: str = "body", *, before: float = 0.0, role: Literal["P", "Caption"] = "P") -> Tagged:
    """Return plain text as a paragraph that may break over pages; markup in it is text like any other."""
    return Tagged(TextBlock(text, style, before=before), role)


def title_text(text: str, style: str, level: int, *, bookmark: str, outline: bool = True) -> Tagged:
    """Return a heading of level 1 to 6 with a bookmark and, unless told otherwise, an entry in the outline."""
    role: Any = f"H{level}"
    return Tagged(TextBlock(text, style), role, bookmark=bookmark, outline=(level - 1, text) if outline else None)


class TextBlock(Flowable):  # type: ignore[misc] # reportlab has no types
    """Plain text in a paragraph style, left-aligned; may break between its lines, never leaving one alone."""

    def __init__(self, text: str, style: str, *, before: float = 0.0, lines: Sequence[str] | None = None) -> None:
        super().__init__()
        self.text, self.style_name = text, style
        self.face, self.size, self.leading, self.ink = text_style(style)
        self.spaceBefore, self.spaceAfter = before, 0.0
        self._lines = lines

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; as many lines as the text needs."""
        if self._lines is None:
            self.size, self._lines = unbroken(self.text, self.face, self.size, aW)
        self.width, self.height = aW, self.leading * len(self._lines)
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803 - reportlab's names
        """The lines that fit, and the rest."""
        self.wrap(aW, aH)
        assert self._lines is not None  # noqa: S101 - set by wrap
        fits = min(int(aH // self.leading), len(self._lines) - 2)
        if fits < 2:
            return []
        parts = [TextBlock("", self.style_name, lines=part) for part in (self._lines[:fits], self._lines[fits:])]
        for part in parts:
            part.size = self.size
        return parts

    def draw(self) -> None:
        """Line under line."""
        y = self.height - self.leading + (self.leading - self.size) * 0.55 + self.size * 0.12
        for line in self._lines or ():
            show_text(self.canv, 0, y, line, self.face, self.size, self.ink)
            y -= self.leading


class SectionTitle(Flowable):  # type: ignore[misc] # reportlab has no types
    """A heading with a heavy line under it and, at its right, a small note."""

    def __init__(
        self, text: str, bookmark: str, *, level: int = 2, note: str = "", outline: bool = True, ruled: bool = True
    ) -> None:
        super().__init__()
        self.heading = title_text(text, "section", level, bookmark=bookmark, outline=outline)
        self.note, self.ruled, self.text = note, ruled, text
        self.spaceBefore, self.spaceAfter = SECTION_GAP, 2.0 if ruled else 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The whole width; as high as the heading needs, and the note beside it or, where that is narrow, below."""
        self.width = aW
        own = min(text_width(self.text, BOLD, 11.5), aW * 0.62)
        _, self._heading_height = self.heading.wrapOn(self.canv, own + 2 if self.note else aW, aH)
        beside = aW - own - 14
        self._below = bool(self.note) and widest_piece(self.note, REGULAR, LABEL) > beside + HAIR
        room = aW if self._below else beside
        self._size, lines = unbroken(self.note, REGULAR, LABEL, room)
        self._lines = lines if self.note else ()
        notes = 9.0 * len(self._lines) + 2
        both = self._heading_height + notes if self._below else max(self._heading_height, notes)
        self.height = both + (4.0 if self.ruled else 0.0)
        return self.width, self.height

    def draw(self) -> None:
        """Heading, note, line."""
        canvas = self.canv
        foot = 4.0 if self.ruled else 0.0
        self.heading.drawOn(canvas, 0, self.height - self._heading_height)
        if self._lines:
            with tagged(canvas, "P"):
                for index, line in enumerate(self._lines):
                    y = foot + 2.6 + 9 * (len(self._lines) - 1 - index)
                    write(canvas, self.width, y, line, self._size, MUTED, align="right")
        if self.ruled:
            with artifact(canvas):
                canvas.setStrokeColor(colour(INK))
                canvas.setLineWidth(0.8)
                canvas.line(0, 0.4, self.width, 0.4)


class _Value(NamedTuple):
    """A label with its value in lines, in a column of a row or, where a word needs it, in the whole row."""

    label: str
    lines: tuple[str, ...]
    size: float


class Facts(Flowable):  # type: ignore[misc] # reportlab has no types
    """Labels over values, in columns; a row of them is as high as its longest value. Breaks between rows.

    A value with a word that is wider than its column has a row to itself.
    """

    def __init__(self, facts: Sequence[Fact], columns: int, *, before: float = 0.0) -> None:
        super().__init__()
        self.facts, self.columns = tuple(facts), columns
        self.spaceBefore, self.spaceAfter = before, 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; the sum of the rows."""
        self.width = aW
        narrow, self._rows = aW / self.columns - 12, list[list[_Value]]()
        wide: list[bool] = []
        for label, value in self.facts:
            size = fitting(value, REGULAR, _VALUE, aW)
            alone = widest_piece(value, REGULAR, size) > narrow + HAIR
            fact = _Value(label, lines_of(value, REGULAR, size, aW if alone else narrow), size)
            if self._rows and not alone and not wide[-1] and len(self._rows[-1]) < self.columns:
                self._rows[-1].append(fact)
            else:
                self._rows.append([fact])
                wide.append(alone)
        self._heights = [_FACT_PADS + LEADING * max(len(fact.lines) for fact in row) for row in self._rows]
        self.height = sum(self._heights)
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803 - reportlab's names
        """The rows that fit, and the rest."""
        self.wrap(aW, aH)
        used, fits = 0.0, 0
        for height in self._heights:
            if used + height > aH:
                break
            used, fits = used + height, fits + 1
        if not fits:
            return self._within_row(aH)
        count = sum(len(row) for row in self._rows[:fits])
        return [Facts(part, self.columns) for part in (self.facts[:count], self.facts[count:]) if part]

    def _within_row(self, room: float) -> list[Flowable]:
        """Break inside the first row when it is too tall for most pages; its labels stay with the first part."""
        fit = int((room - _FACT_PADS) // LEADING)
        if self._heights[0] < _TALL_FACT or fit < 2:
            return []
        first = [(fact.label, "\n".join(fact.lines[:fit])) for fact in self._rows[0]]
        rest = [("", "\n".join(fact.lines[fit:])) for fact in self._rows[0]]
        return [Facts(part, self.columns) for part in (first, [*rest, *self.facts[len(self._rows[0]) :]])]

    def draw(self) -> None:
        """Each fact is one paragraph: label, then value."""
        canvas, y = self.canv, self.height
        for row, height in zip(self._rows, self._heights, strict=True):
            for index, fact in enumerate(row):
                x = index * self.width / self.columns
                with tagged(canvas, "P"):
                    write(canvas, x, y - 7, fact.label, LABEL, MUTED)
                    for number, line in enumerate(fact.lines):
                        write(canvas, x, y - 17.5 - LEADING * number, line, fact.size, INK)
            y -= height


class Ledger(Flowable):  # type: ignore[misc] # reportlab has no types
    """Labels left, values right, in columns with a hairline under each row; a long value goes on on further lines.

    A value with a word that is wider than the room beside its label has a row to itself, as one column.
    """

    ROW = 14.5

    def __init__(self, facts: Sequence[Fact], *, columns: int = 2, before: float = 0.0) -> None:
        super().__init__()
        self.facts, self.columns = tuple(facts), columns
        self.spaceBefore, self.spaceAfter = before, 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; the sum of the rows."""
        self.width = aW
        self._room = (aW - 24 * (self.columns - 1)) / self.columns
        self._rows: list[tuple[float, list[_Value]]] = []
        for fact in self.facts:
            beside = self._beside(fact, self._room)
            if beside is None:
                self._rows.append((aW, [self._beside(fact, aW) or _below(fact, aW)]))
            elif self._rows and self._rows[-1][0] == self._room and len(self._rows[-1][1]) < self.columns:
                self._rows[-1][1].append(beside)
            else:
                self._rows.append((self._room, [beside]))
        self.height = sum(self._height(row) for _, row in self._rows)
        return self.width, self.height

    @staticmethod
    def _beside(fact: Fact, width: float) -> _Value | None:
        """Return the fact with its value beside its label; None when a word does not fit there."""
        label, value = fact
        room = width - text_width(label, REGULAR, BODY) - 8
        if widest_piece(value, REGULAR, BODY) > room + HAIR:
            return None
        return _Value(label, lines_of(value, REGULAR, BODY, room), BODY)

    def _height(self, row: list[_Value]) -> float:
        return self.ROW + LEADING * (max(len(fact.lines) for fact in row) - 1)

    def draw(self) -> None:
        """Each fact is one paragraph: label, then value."""
        canvas, top = self.canv, self.height
        for wide, row in self._rows:
            height = self._height(row)
            for column, fact in enumerate(row):
                x, y = column * (self._room + 24), top - 10
                with tagged(canvas, "P"):
                    write(canvas, x, y, fact.label, BODY, MUTED)
                    for number, line in enumerate(fact.lines):
                        write(canvas, x + wide, y - LEADING * number, line, fact.size, INK, align="right")
                with artifact(canvas):
                    canvas.setStrokeColor(colour(HAIRLINE))
                    canvas.setLineWidth(0.5)
                    canvas.line(x, top - height + 0.2, x + wide, top - height + 0.2)
            top -= height


def _below(fact: Fact, width: float) -> _Value:
    """Return a fact whose value has no room beside its label: it begins on the line below."""
    label, value = fact
    size, lines = unbroken(value, REGULAR, BODY, width)
    return _Value(label, ("", *lines), size)


class Verdict(Flowable):  # type: ignore[misc] # reportlab has no types
    """The mark of a verdict with its word, for a table cell; its baseline is that of text in the cells beside it."""

    def __init__(self, verdict: str, word: str, width: float, *, face: str = REGULAR, size: float = BODY) -> None:
        super().__init__()
        self.verdict, self.face = verdict, face
        self.size, self.lines = unbroken(word, face, size, width - 11)
        self.width, self.height = width, LEADING * len(self.lines)

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """As stated at the start."""
        return self.width, self.height

    def draw(self) -> None:
        """Mark, then word."""
        baseline = self.height - self.size
        paint(self.canv, [verdict_mark(self.verdict, 3.4, baseline + self.size * 0.345, 6.6)])
        for index, line in enumerate(self.lines):
            y = baseline - LEADING * index
            write(self.canv, 11, y, line, self.size, VERDICT_COLOUR[self.verdict], face=self.face)


def write(
    canvas: Any, x: float, y: float, text: str, size: float, ink: str,
    *, face: str = REGULAR, align: Literal["left", "right"] = "left",
) -> None:  # fmt: skip
    """Write one line of text at its baseline."""
    start = x - text_width(text, face, size) if align == "right" else x
    show_text(canvas, start, y, text, face, size, ink)
