"""A line of time with one mark for each report on an area."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from reportgen.charts import verdict_mark
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.flow import Flowable
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import HAIRLINE, LEADING, colour

if TYPE_CHECKING:
    from collections.abc import Sequence

DECISION_MARK = {"release": "conforms", "hold": "inconclusive", "rework": "does not conform"}
_END = 5.0


class Timeline(Flowable):  # type: ignore[misc] # reportlab has no types
    """Marks by decision at their dates between ``first`` and ``last``; ``alt`` says the same in words."""

    def __init__(self, events: Sequence[tuple[str, str]], first: str, last: str, width: float, alt: str) -> None:
        super().__init__()
        self.events, self.alt = tuple(events), alt
        self.width, self.height = width, LEADING
        self._first = dt.date.fromisoformat(first)
        self._days = max(1, (dt.date.fromisoformat(last) - self._first).days)

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """As stated at the start."""
        return self.width, self.height

    def draw(self) -> None:
        """The line, then the marks."""
        canvas: Any = self.canv
        y = self.height / 2 - 0.6
        with artifact(canvas):
            canvas.setStrokeColor(colour(HAIRLINE))
            canvas.setLineWidth(0.6)
            canvas.line(_END, y, self.width - _END, y)
        with tagged(canvas, "Figure", alt=self.alt, at=(0, 0, self.width, self.height)):
            paint(canvas, [verdict_mark(DECISION_MARK[how], self._place(date), y, 6.2) for date, how in self.events])

    def _place(self, date: str) -> float:
        days = (dt.date.fromisoformat(date) - self._first).days
        return _END + (self.width - 2 * _END) * days / self._days
