"""The line that ends a document."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import Flowable

from reportgen.pdf.blocks import write
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.styles import BOLD, INK, LABEL, colour
from reportgen.pdf.textlines import text_width, unbroken

_RULE = 30.0  # at least, at either side of the line that ends the report


class EndLine(Flowable):  # type: ignore[misc] # reportlab has no types
    """The line that ends the report; on further lines where it names something long."""

    def __init__(self, text: str, *, before: float = 18.0) -> None:
        super().__init__()
        self.text, self.spaceBefore = text, before

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; as high as the text."""
        self._size, self._lines = unbroken(self.text, BOLD, LABEL + 0.5, aW - 2 * _RULE)
        self.width, self.height = aW, 14.0 + 9.5 * (len(self._lines) - 1)
        return self.width, self.height

    def draw(self) -> None:
        """The text between two lines."""
        canvas: Any = self.canv
        start = (self.width - max(text_width(line, BOLD, self._size) for line in self._lines)) / 2
        y = self.height - 9
        with artifact(canvas):
            canvas.setStrokeColor(colour(INK))
            canvas.setLineWidth(0.8)
            canvas.line(0, y, start - 10, y)
            canvas.line(self.width - start + 10, y, self.width, y)
        with tagged(canvas, "P"):
            for index, line in enumerate(self._lines):
                x = (self.width - text_width(line, BOLD, self._size)) / 2
                write(canvas, x, y - 2.6 - 9.5 * index, line, self._size, INK, face=BOLD)
