"""Individual values in their order, as over the reports of a contract, with their control limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.charts.drawing import (
    FOOT,
    HEAD,
    LABEL_SIZE,
    TICK_SIZE,
    Command,
    Frame,
    Label,
    Stroke,
    axis,
    line,
    polyline,
    rectangle,
    verdict_mark,
)
from reportgen.charts.palette import BAND, DATA, HAIRLINE, INK, MUTED

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

    from reportgen.charts.scale import ProfileScale

_LEFT = 22.0
_MARK = 6.4
_ROOM_FOR_NAMES = 48.0  # of the control limits
_LABEL_WIDTH = 34.0


@dataclass(frozen=True, slots=True)
class IndividualPoint:
    """One value in the order of the reports, with the text under it (such as the report's date)."""

    label: str
    value: Decimal
    verdict: str


def individuals_frame(scale: ProfileScale, size: tuple[float, float], caption: str) -> Frame:
    """Lay out the axes: values upwards on the common scale, 0 to 1 across; room at the right for the limits' names."""
    wide, high = size
    x, y = axis(0, 1, _LEFT, wide - _ROOM_FOR_NAMES), axis(scale.low, scale.high, FOOT, high - HEAD)
    shown: list[Command] = []
    if (scale.minimum, scale.maximum) != (None, None):
        low = y.start if scale.minimum is None else y.place(float(scale.minimum))
        up = y.end if scale.maximum is None else y.place(float(scale.maximum))
        shown.append(rectangle(x.start, low, x.end - x.start, up - low, BAND))
    for tick in scale.ticks():
        at = y.place(float(tick))
        shown.append(line(x.start, at, x.end, at, Stroke(HAIRLINE, 0.5)))
        shown.append(Label(x.start - 3, at - 2.3, scale.tick_text(tick), TICK_SIZE, MUTED, anchor="end"))
    shown.append(Label(x.end, 2, caption, LABEL_SIZE, MUTED, anchor="end"))
    return Frame(wide, high, tuple(shown), x, y)


def individuals_marks(
    frame: Frame, points: Sequence[IndividualPoint], limits: Sequence[tuple[Decimal, str]]
) -> list[Command]:
    """Return the line of values with their verdict marks, and each of ``limits`` (value, name) as a dashed line."""
    marks: list[Command] = []
    for value, name in limits:
        y = min(frame.y.end, max(frame.y.start, frame.y.place(float(value))))
        marks.append(line(frame.x.start, y, frame.x.end, y, Stroke(DATA, 0.7, (3.0, 2.0))))
        marks.append(Label(frame.x.end + 4, y - 2.2, name, 6.5, DATA))
    if not points:
        return marks
    pitch = (frame.x.end - frame.x.start) / len(points)
    places = [
        (frame.x.start + (index + 0.5) * pitch, frame.y.place(float(point.value))) for index, point in enumerate(points)
    ]
    marks.append(polyline(places, Stroke(INK, 0.6)))
    every = max(1, -int(-_LABEL_WIDTH // pitch))
    for index, (point, (x, y)) in enumerate(zip(points, places, strict=True)):
        marks.append(verdict_mark(point.verdict, x, y, max(2.6, min(_MARK, pitch * 0.55))))
        if index % every == 0:
            marks.append(Label(x, frame.y.start - 9, point.label, 6.5, MUTED, anchor="middle"))
    return marks
