"""A chart on a page, and blocks side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportlab.platypus import Flowable

from reportgen.pdf.blocks import write
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.painting import paint, paint_frame
from reportgen.pdf.styles import BODY, BOLD, INK

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from reportgen.charts import Command, Frame


CHART_HEIGHT, CHART_TITLE = 118.0, 16.0


class Chart(Flowable):  # type: ignore[misc] # reportlab has no types
    """A titled chart: a frame, shown as a form when it has a name, with marks over it; tagged as a figure."""

    def __init__(self, title: str, frame: Frame, marks: Sequence[Command], alt: str, form: str | None) -> None:
        super().__init__()
        self.title, self.frame, self.marks, self.alt, self.form = title, frame, marks, alt, form
        self.width, self.height = frame.width, frame.height + (CHART_TITLE if title else 0)

    def draw(self) -> None:
        """Title, frame, marks."""
        canvas = self.canv
        if self.title:
            with tagged(canvas, "Caption"):
                write(canvas, 0, self.frame.height + 4, self.title, BODY + 0.5, INK, face=BOLD)
        with tagged(canvas, "Figure", alt=self.alt, at=(0, 0, self.frame.width, self.frame.height)):
            paint_frame(canvas, self.frame, 0, 0, form=self.form)
            paint(canvas, self.marks)


class Drawing(Flowable):  # type: ignore[misc] # reportlab has no types
    """Commands as a figure, with a text in its place; without one it is decoration.

    In a table cell one that ``fills`` is made for the height of its row, ``height`` at least.
    """

    def __init__(
        self, width: float, height: float, make: Callable[[float], Sequence[Command]], alt: str | None = None,
        *, fills: bool = False, before: float = 0.0,
    ) -> None:  # fmt: skip
        super().__init__()
        self.width, self.height, self.make, self.alt = width, height, make, alt
        self.fills, self.room, self.spaceBefore = fills, height, before

    def draw(self) -> None:
        """All commands."""
        high = self.room if self.fills else self.height
        canvas, at = self.canv, (0, 0, self.width, high)
        with artifact(canvas) if self.alt is None else tagged(canvas, "Figure", alt=self.alt, at=at):
            paint(canvas, self.make(high))


class SideBySide(Flowable):  # type: ignore[misc] # reportlab has no types
    """Flowables of known size beside each other, tops aligned, the last at the right margin, or that of ``columns``."""

    def __init__(self, parts: Sequence[Any], *, before: float = 0.0, columns: int = 0) -> None:
        super().__init__()
        self.parts, self.columns = parts, columns
        self.spaceBefore = before

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The whole width; the height of the tallest."""
        sizes = [part.wrapOn(self.canv, aW, aH) for part in self.parts]
        self.width, self.height = aW, max(height for _, height in sizes)
        used = sum(width for width, _ in sizes) if not self.columns else sizes[0][0] * self.columns
        gap = (aW - used) / max(1, (self.columns or len(sizes)) - 1)
        self._places, x = list[tuple[float, float]](), 0.0
        for width, height in sizes:
            self._places.append((x, self.height - height))
            x += width + gap
        return self.width, self.height

    def draw(self) -> None:
        """Each at its place."""
        for part, (x, y) in zip(self.parts, self._places, strict=True):
            part.drawOn(self.canv, x, y)
