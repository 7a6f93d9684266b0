"""Individual values over reports, with centre and control limits, for a submittal's trend pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.charts.drawing import Command, Frame, Label, Stroke, line, polyline
from reportgen.charts.marks import verdict_mark
from reportgen.charts.palette import DATA, INK, MUTED
from reportgen.charts.value_axes import profile_frame

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

    from reportgen.charts.scale import ProfileScale
    from reportgen.charts.typefaces import Faces

_RIGHT = 48.0  # for the limits' names
_LABEL_WIDTH = 34.0


@dataclass(frozen=True, slots=True)
class IndividualPoint:
    """One value in the order of the reports, with the text under it (such as the report's date)."""

    label: str
    value: Decimal
    verdict: str


def individuals_frame(scale: ProfileScale, size: tuple[float, float], faces: Faces, caption: str) -> Frame:
    """Lay out the axes: values upwards on the common scale, 0 to 1 across; room at the right for the limits' names."""
    return profile_frame(scale, size, faces, caption, _RIGHT)


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
        marks.append(verdict_mark(point.verdict, x, y, max(2.6, min(6.4, pitch * 0.55))))
        if index % every == 0:
            marks.append(Label(x, frame.y.start - 9, point.label, 6.5, MUTED, anchor="middle"))
    return marks
