"""The verdict in one sentence with its reasons, on a light panel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.platypus import Flowable

from reportgen.charts import verdict_mark
from reportgen.pdf.blocks import write
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import BODY, BOLD, INK, PANEL, REGULAR, VERDICT_COLOUR, colour
from reportgen.pdf.textlines import unbroken

if TYPE_CHECKING:
    from collections.abc import Sequence

_HEADLINE = 12.5
_DETAILS = BODY + 0.3


class VerdictBanner(Flowable):  # type: ignore[misc] # reportlab has no types
    """The verdict sentence with its reasons on a light panel, a bar of the verdict's colour at its left."""

    def __init__(self, verdict: str, headline: str, details: Sequence[str]) -> None:
        super().__init__()
        self.verdict, self.headline, self.details = verdict, headline, tuple(details)
        self.spaceBefore, self.spaceAfter = 11.0, 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; as high as the sentences."""
        self.width = aW
        self._size, self._head = unbroken(self.headline, BOLD, _HEADLINE, aW - 46)
        set_texts = [unbroken(text, REGULAR, _DETAILS, aW - 46) for text in self.details]
        self._body = [(size, line) for size, lines in set_texts for line in lines]
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
            for size, line in self._body:
                write(canvas, 33, y, line, size, INK)
                y -= 11.5
