"""A chart on a page, and blocks side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportlab.platypus import Flowable

from reportgen.pdf.blocks import write
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import BODY, BOLD, FINEST, INK, MUTED

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from reportgen.charts import Command


CHART_HEIGHT, CHART_TITLE = 118.0, 16.0


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


class Captioned(Flowable):  # type: ignore[misc] # reportlab has no types
    """A drawing with a caption below; above it a title, and the numbers of its scale where they do not stand there."""

    def __init__(self, drawn: Drawing, caption: str, title: str = "", heads: Drawing | None = None) -> None:
        super().__init__()
        self.drawn, self.caption, self.title, self.heads = drawn, caption, title, heads
        above = CHART_TITLE * bool(title) + (heads.height if heads else 0.0)
        self.width, self.height = drawn.width, drawn.height + 9.0 + above

    def draw(self) -> None:
        """Title, numbers, drawing, caption."""
        if self.title:
            with tagged(self.canv, "Caption"):
                write(self.canv, 0, self.height - 10, self.title, BODY + 0.5, INK, face=BOLD)
        if self.heads is not None:
            self.heads.drawOn(self.canv, 0, self.drawn.height + 9.0)
        self.drawn.drawOn(self.canv, 0, 9.0)
        with tagged(self.canv, "P"):
            write(self.canv, self.width, 1.5, self.caption, FINEST, MUTED, align="right")


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
