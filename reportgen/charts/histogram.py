"""Distribution of the spots of an area, with the limits: one frame per report, bars per area."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from reportgen.charts.drawing import (
    FOOT,
    HEAD,
    LABEL_SIZE,
    TICK_SIZE,
    Anchor,
    Command,
    Frame,
    Label,
    Stroke,
    axis,
    rectangle,
)
from reportgen.charts.palette import BAND, DATA, FAILS, INK, MUTED, PAPER
from reportgen.charts.scale import ProfileScale, nice_step

if TYPE_CHECKING:
    from collections.abc import Iterable
    from decimal import Decimal

_BINS_ABOUT = 24
_ROOM_FOR_LIMITS = 66.0
_SIDE = 8.0


@dataclass(frozen=True, slots=True)
class Bins:
    """Edges of the bars, exact, so that no bar reaches over a limit.

    A value on the minimum belongs to the bar above it, a value on the maximum to the bar below it: both conform.
    """

    edges: tuple[Fraction, ...]
    minimum: Fraction | None
    maximum: Fraction | None

    @classmethod
    def of(cls, scale: ProfileScale) -> Bins:
        """Return about two dozen bins over the scale, aligned with the limits."""
        origin = next((Fraction(v) for v in (scale.minimum, scale.maximum) if v is not None), scale.low)
        width = nice_step(scale.high - scale.low, _BINS_ABOUT)
        if scale.minimum is not None and scale.maximum is not None:
            band = Fraction(scale.maximum) - Fraction(scale.minimum)
            width = band / max(1, round(band / width))
        below = -(-(origin - scale.low) // width)
        above = -(-(scale.high - origin) // width)
        edges = tuple(origin + index * width for index in range(-int(below), int(above) + 1))
        low, high = (None if v is None else Fraction(v) for v in (scale.minimum, scale.maximum))
        return cls(edges, low, high)

    def counts(self, values: Iterable[Decimal]) -> tuple[int, ...]:
        """Return how many values fall into each bin; values beyond the ends are counted in the end bins."""
        counts, width = [0] * (len(self.edges) - 1), self.edges[1] - self.edges[0]
        for value in map(Fraction, values):
            index, beyond = divmod(value - self.edges[0], width)
            if not beyond and self.maximum is not None and value >= self.maximum:
                index -= 1
            counts[min(max(int(index), 0), len(counts) - 1)] += 1
        return tuple(counts)

    def inside(self, index: int) -> bool:
        """Whether a bin lies within the limits."""
        low, high = self.edges[index], self.edges[index + 1]
        return (self.minimum is None or low >= self.minimum) and (self.maximum is None or high <= self.maximum)


def histogram_frame(
    scale: ProfileScale, tallest: int, size: tuple[float, float], limits: tuple[str, str], caption: str
) -> Frame:
    """Lay out the axes of histograms that share their height.

    ``tallest`` is the largest count of any bar (at least 1), ``size`` width and height in points, ``limits`` the texts
    at the lower and the upper limit, ``caption`` the text under the horizontal axis.
    """
    wide, high = size
    x = axis(scale.low, scale.high, _SIDE, wide - _SIDE)
    y = axis(0, tallest * 1.28, FOOT, high - HEAD)
    start = x.start if scale.minimum is None else x.place(float(scale.minimum))
    end = x.end if scale.maximum is None else x.place(float(scale.maximum))
    named = [(one is not None, text) for one, text in zip((scale.minimum, scale.maximum), limits, strict=True)]
    shown: list[Command] = []
    if any(stated for stated, _ in named):
        shown.append(rectangle(start, FOOT, end - start, high - HEAD - FOOT, BAND))
    narrow = end - start < _ROOM_FOR_LIMITS  # then the names stand beside the band, else inside
    for (stated, text), at, left in zip(named, (start, end), (narrow, not narrow), strict=True):
        if stated:
            anchor: Anchor = "end" if left else "start"
            shown.append(Label(at + (-6 if left else 6), high - HEAD - 7, text, LABEL_SIZE, DATA, anchor=anchor))
    shown += [
        Label(x.place(float(tick)), FOOT - 10, scale.tick_text(tick), TICK_SIZE, MUTED, anchor="middle")
        for tick in scale.ticks()
    ]
    shown.append(Label(wide - _SIDE, 2, caption, LABEL_SIZE, MUTED, anchor="end"))
    return Frame(wide, high, tuple(shown), x, y)


def histogram_marks(frame: Frame, bins: Bins, values: Iterable[Decimal]) -> list[Command]:
    """Return the bars of one area: filled inside the limits, open outside, with the count above each."""
    counts = bins.counts(values)
    base = frame.y.place(0)
    marks: list[Command] = []
    for index, (count, (low, high)) in enumerate(zip(counts, pairwise(bins.edges), strict=True)):
        if not count:
            continue
        x0, x1 = max(frame.x.start, frame.x.place(float(low))), min(frame.x.end, frame.x.place(float(high)))
        top = frame.y.place(count)
        inset = min(0.8, (x1 - x0) / 8)
        if bins.inside(index):
            marks.append(rectangle(x0 + inset, base, x1 - x0 - 2 * inset, top - base, DATA))
        else:
            pen = Stroke(FAILS, 0.9)
            marks.append(rectangle(x0 + inset + 0.45, base, x1 - x0 - 2 * inset - 0.9, top - base, PAPER, pen))
        marks.append(Label((x0 + x1) / 2, top + 2.2, str(count), 5.8, MUTED, anchor="middle"))
    marks.append(rectangle(frame.x.start, base - 0.35, frame.x.end - frame.x.start, 0.7, INK))
    return marks
