"""The small pieces pages are made of: section titles, facts, ledgers, verdicts, the banner, running text."""

from __future__ import annotations

from copy import copy
from itertools import accumulate
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from reportlab.platypus import CondPageBreak, Flowable

from reportgen.charts import verdict_mark
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.painting import paint, show_text
from reportgen.pdf.styles import (
    BODY,
    BOLD,
    FAILS,
    INK,
    LABEL,
    LEADING,
    MUTED,
    PANEL,
    REGULAR,
    VERDICT_COLOUR,
    colour,
    text_style,
)
from reportgen.pdf.tagging import Tagged
from reportgen.pdf.textlines import HAIR, Run, fitting, flowed, lines_of, text_width, unbroken, widest_piece

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.pdf.tables import GroupedTable

SECTION_GAP = 9.0
SECTION_HEIGHT = 19.0
_FACT_PADS = 13.5  # label above, space below
_TALL_FACT = 300.0
_LONGEST = 14  # lines of a cell; a longer text stands on lines across the table
_GAIN = 1.4  # how much wider those lines are than the cell, at least
_TINIEST = 6.5  # points: nothing on a page is set smaller
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

    def __init__(self, text: str, style: str, *, before: float = 0.0) -> None:
        super().__init__()
        self.text, self.style_name = text, style
        self.face, self.size, self.leading, self.ink = text_style(style)
        self.spaceBefore = before
        self.lines: tuple[str, ...] = ()

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; as many lines as the text needs."""
        if not self.lines:
            self.size, self.lines = unbroken(self.text, self.face, self.size, aW)
        self.width, self.height = aW, self.leading * len(self.lines)
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803 - reportlab's names
        """The lines that fit, and the rest."""
        self.wrap(aW, aH)
        fits = min(int(aH // self.leading), len(self.lines) - 2)
        if fits < 2:
            return []
        parts = [TextBlock("", self.style_name) for _ in range(2)]
        for part, lines in zip(parts, (self.lines[:fits], self.lines[fits:]), strict=True):
            part.size, part.leading, part.lines = self.size, self.leading, lines
        return parts

    def draw(self) -> None:
        """Line under line."""
        y = self.height - self.leading + (self.leading - self.size) * 0.55 + self.size * 0.12
        for line in self.lines:
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
        self.spaceBefore, self.spaceAfter = SECTION_GAP, 2.0 * ruled

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

    A value with a word that is wider than its column, or with a label that is, has a row to itself.
    """

    def __init__(
        self,
        facts: Sequence[Fact],
        columns: int,
        *,
        before: float = 0.0,
        size: float = _VALUE,
        leading: float = LEADING,
    ) -> None:
        super().__init__()
        self.facts, self.columns, self.size, self.leading = tuple(facts), columns, size, leading
        self.spaceBefore = before

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; the sum of the rows."""
        self.width = aW
        narrow, self._rows = aW / self.columns - 12, list[list[_Value]]()
        wide: list[bool] = []
        for label, value in self.facts:
            size = fitting(value, REGULAR, self.size, aW)
            alone = max(widest_piece(value, REGULAR, size), text_width(label, REGULAR, LABEL)) > narrow + HAIR
            fact = _Value(label, lines_of(value, REGULAR, size, aW if alone else narrow), size)
            if self._rows and not alone and not wide[-1] and len(self._rows[-1]) < self.columns:
                self._rows[-1].append(fact)
            else:
                self._rows.append([fact])
                wide.append(alone)
        self._heights = [_FACT_PADS + self.leading * max(len(fact.lines) for fact in row) for row in self._rows]
        self.height = sum(self._heights)
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803 - reportlab's names
        """The rows that fit, and the rest."""
        self.wrap(aW, aH)
        fits = sum(used <= aH for used in accumulate(self._heights))
        if fits:
            count = sum(len(row) for row in self._rows[:fits])
            return [self._part(part) for part in (self.facts[:count], self.facts[count:]) if part]
        # inside the first row when it is too tall for most pages; its labels stay with the first part
        lines = int((aH - _FACT_PADS) // self.leading)
        if self._heights[0] < _TALL_FACT or lines < 2:
            return []
        first = [(fact.label, "\n".join(fact.lines[:lines])) for fact in self._rows[0]]
        rest = [("", "\n".join(fact.lines[lines:])) for fact in self._rows[0]]
        return [self._part(part) for part in (first, [*rest, *self.facts[len(self._rows[0]) :]])]

    def _part(self, facts: Sequence[Fact]) -> Facts:
        return Facts(facts, self.columns, size=self.size, leading=self.leading)

    def draw(self) -> None:
        """Each fact is one paragraph: label, then value."""
        canvas, y = self.canv, self.height
        for row, height in zip(self._rows, self._heights, strict=True):
            for index, fact in enumerate(row):
                x = index * self.width / self.columns
                with tagged(canvas, "P"):
                    write(canvas, x, y - 7, fact.label, LABEL, MUTED)
                    write_lines(canvas, x, y - 8.5 - fact.size, fact.lines, self.leading, fact.size, INK)
            y -= height


class Runs(Flowable):  # type: ignore[misc] # reportlab has no types
    """Texts in several faces that flow on as one, the mark of a verdict before them where there is one.

    Of ``width`` in a table cell, whose baseline is that of text in the cells beside it; else as wide as the page.
    """

    def __init__(
        self, runs: Sequence[Run], width: float = 0.0, *, verdict: str | None = None, size: float = BODY,
        leading: float = LEADING, before: float = 0.0,
    ) -> None:  # fmt: skip
        super().__init__()
        self.runs, self.size, self.leading, self.verdict = runs, size, leading, verdict
        self.given, self.asked, self.spaceBefore = width, size, before
        self.bookmark: str | None = None
        self.outline: tuple[int, str] | None = None
        self.indent = size + 3.4 if verdict else 0.0
        self.start: float | None = None
        self.lines: list[list[tuple[float, Run]]] = []
        if width:
            self._lay_out(width)

    def _lay_out(self, width: float) -> None:
        """Break the lines; an id is never broken: all is set smaller where it is wider, as far as that goes."""
        self.widest = max([1.0, *(widest_piece(run.text, run.face, self.asked) for run in self.runs)])
        self.size = min(self.asked, max(_TINIEST, self.asked * (width - self.indent) / self.widest))
        self.lines = flowed(self.runs, self.size, width - self.indent)

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """As high as the lines."""
        self.width = self.given or aW
        if not self.given:
            self._lay_out(aW)
        self.height = self.leading * len(self.lines)
        return self.width, self.height

    def across(self, x: float, total: float, first: float = 0.0) -> Runs:
        """Return the cell that begins at ``x``, or on lines across the table where a word is wider or the text is long.

        The lines of a long text begin at ``first``, where the second column does.
        """
        wider = self.given and _TINIEST * self.widest > self.asked * (self.given - self.indent + HAIR)
        gains = len(self.lines) > _LONGEST and total - first > _GAIN * self.given > 0
        if not (wider or gains):
            return self
        start = max(0.0, min(first if gains else x, total - self.indent - self.widest))
        wide = Runs(self.runs, total - start, verdict=self.verdict, size=self.asked, leading=self.leading)
        wide.start, wide.bookmark, wide.outline = start, self.bookmark, self.outline
        return wide

    def part(self, start: int, stop: int) -> Runs:
        """Return some of the lines of a cell, for a row that goes on below; mark and bookmark stand with the first."""
        part = copy(self)
        part.lines = self.lines[start:stop]
        if start:
            part.verdict = part.bookmark = None
        return part

    def draw(self) -> None:
        """Mark, then line under line."""
        y = self.height - self.size
        if self.bookmark:
            self.canv.bookmarkHorizontal(self.bookmark, 0, self.height)
            if self.outline:
                level, title = self.outline
                self.canv.addOutlineEntry(title, self.bookmark, level)
        if self.verdict:
            paint(self.canv, [verdict_mark(self.verdict, self.size * 0.43, y + self.size * 0.345, self.size * 0.8)])
        for line in self.lines:
            for x, run in line:
                show_text(self.canv, self.indent + x, y, run.text, run.face, self.size, run.ink)
            y -= self.leading


def word_ink(verdict: str) -> str:
    """Return the colour of a verdict's word: red for what fails, else ink."""
    return FAILS if verdict == "does not conform" else INK


class Verdict(Flowable):  # type: ignore[misc] # reportlab has no types
    """The mark of a verdict with its word, for a table cell; its baseline is that of text in the cells beside it.

    The word is in ink, strong where it is not that something conforms, and red where it fails: it survives a copier
    that knows no grey.
    """

    def __init__(self, verdict: str, word: str, width: float, *, face: str = REGULAR, size: float = BODY) -> None:
        super().__init__()
        self.verdict, self.face, self.ink = verdict, face if verdict == "conforms" else BOLD, word_ink(verdict)
        self.size, self.lines = unbroken(word, self.face, size, width - 11)
        self.width, self.height = width, LEADING * len(self.lines)

    def draw(self) -> None:
        """Mark, then word."""
        baseline = self.height - self.size
        paint(self.canv, [verdict_mark(self.verdict, 3.4, baseline + self.size * 0.345, 6.6)])
        write_lines(self.canv, 11, baseline, self.lines, LEADING, self.size, self.ink, face=self.face)


class VerdictBanner(Flowable):  # type: ignore[misc] # reportlab has no types
    """The verdict sentence with its reasons on a light panel, a bar of the verdict's colour at its left."""

    def __init__(self, verdict: str, headline: str, details: Sequence[str | Sequence[Run]]) -> None:
        super().__init__()
        self.verdict, self.headline, self.details = verdict, headline, details
        self.spaceBefore = 11.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; as high as the sentences."""
        self.width = aW
        self._size, self._head = unbroken(self.headline, BOLD, 12.5, aW - 46)
        whole = [[Run(each, REGULAR, INK)] if isinstance(each, str) else each for each in self.details]
        self._body = [line for runs in whole for line in flowed(runs, _VALUE, aW - 46)]
        self.height = 16 * len(self._head) + 11.5 * len(self._body) + 13
        return self.width, self.height

    def draw(self) -> None:
        """Panel, bar, mark, sentences."""
        canvas, ink = self.canv, VERDICT_COLOUR[self.verdict]
        with artifact(canvas, "Background"):
            canvas.setFillColor(colour(PANEL))
            canvas.rect(0, 0, self.width, self.height, stroke=0, fill=1)
            canvas.setFillColor(colour(ink))
            canvas.rect(0, 0, 3, self.height, stroke=0, fill=1)
            paint(canvas, [verdict_mark(self.verdict, 19, self.height - 16.3, 11)])
        y = self.height - 20.6
        with tagged(canvas, "P"):
            for line in self._head:
                write(canvas, 33, y, line, self._size, INK, face=BOLD)
                y -= 16
        y += 2.5
        if not self._body:
            return
        with tagged(canvas, "P"):
            for pieces in self._body:
                for x, run in pieces:
                    show_text(canvas, 33 + x, y, run.text, run.face, _VALUE, run.ink)
                y -= 11.5


def titled(table: GroupedTable, text: str, bookmark: str, *, groups: int = 2) -> list[Flowable]:
    """Return a table under a title of its own, which keeps with the first groups of it."""
    title = SectionTitle(text, bookmark, level=3, outline=False, ruled=False)
    return [CondPageBreak(table.need(groups)), title, table]


def write(
    canvas: Any, x: float, y: float, text: str, size: float, ink: str,
    *, face: str = REGULAR, align: Literal["left", "right"] = "left",
) -> None:  # fmt: skip
    """Write one line of text at its baseline."""
    start = x - text_width(text, face, size) if align == "right" else x
    show_text(canvas, start, y, text, face, size, ink)


def write_lines(
    canvas: Any, x: float, y: float, lines: Sequence[str], leading: float, size: float, ink: str,
    *, face: str = REGULAR,
) -> None:  # fmt: skip
    """Write lines of text under each other, the first with its baseline at ``y``."""
    for number, line in enumerate(lines):
        write(canvas, x, y - leading * number, line, size, ink, face=face)
