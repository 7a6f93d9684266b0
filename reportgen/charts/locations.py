"""Values in their order: locations of an area with their uncertainty, and individual values over reports.

Of either kind a document has one frame, with marks of its own for each area or series.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.charts.axes import Faces, profile_frame
from reportgen.charts.drawing import Command, Frame, Label, Stroke, disc, line, polyline, rectangle, verdict_mark
from reportgen.charts.palette import BAND, DATA, HAIRLINE, INK, MUTED

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

    from reportgen.charts.profiles import LocationPoint
    from reportgen.charts.scale import ProfileScale

_RIGHT = 4.0
_LETTER = 3.6  # points of a letter of an id, on average
_BETWEEN = 3.0
_MARK = 6.4
_ROOM_FOR_NAMES = 48.0  # of the control limits
_LABEL_WIDTH = 34.0


def locations_frame(scale: ProfileScale, size: tuple[float, float], faces: Faces, caption: str) -> Frame:
    """Lay out the axes of the report's location charts: profile upwards, 0 to 1 across.

    ``size`` is width and height in points, ``caption`` the text under the horizontal axis.
    """
    return profile_frame(scale, size, faces, caption, _RIGHT)


def locations_marks(frame: Frame, points: Sequence[LocationPoint]) -> list[Command]:
    """Return the marks of one area: bar of expanded uncertainty, spots beside it, verdict mark, id below."""
    if not points:
        return []
    pitch = (frame.x.end - frame.x.start) / len(points)
    size = max(2.6, min(_MARK, pitch * 0.55))
    aside = min(size, pitch * 0.42)
    wide = min(max(len(point.id) for point in points) * _LETTER, frame.x.end - frame.x.start)
    # an id is never cut: where it is wider than estimated, it is set smaller
    room = max(wide, pitch) if len(points) > 1 else frame.x.end - frame.x.start
    marks: list[Command] = []
    named = -1e9  # where the name before stands
    for index, point in enumerate(points):
        x = frame.x.start + (index + 0.5) * pitch
        if point.profile is not None and point.uncertainty is not None:
            low = max(frame.y.start, frame.y.place(float(point.profile - point.uncertainty)))
            high = min(frame.y.end, frame.y.place(float(point.profile + point.uncertainty)))
            left, right, pen = x - size * 0.45, x + size * 0.45, Stroke(MUTED, 0.7)
            marks += [line(x, low, x, high, pen), line(left, low, right, low, pen), line(left, high, right, high, pen)]
        if point.profile is not None:
            radius = min(0.9, size / 5)
            marks += [disc(x + aside, frame.y.place(float(spot)), radius, MUTED) for spot in point.spots]
            marks.append(verdict_mark(point.verdict, x, frame.y.place(float(point.profile)), size))
        place = min(max(x, frame.x.start + wide / 2), frame.x.end - wide / 2)
        if place - named >= wide + _BETWEEN:
            marks.append(Label(place, frame.y.start - 9, point.id, 6.5, MUTED, anchor="middle", room=room))
            named = place
    return marks


def strip_marks(
    x: float, y: float, width: float, height: float, scale: ProfileScale, points: Sequence[LocationPoint]
) -> list[Command]:
    """Return a strip: the specified band shaded, one mark per location, in the rectangle given."""
    low = scale.low if scale.minimum is None else scale.minimum
    high = scale.high if scale.maximum is None else scale.maximum
    marks: list[Command] = []
    if scale.minimum is not None or scale.maximum is not None:
        start, end = x + width * scale.share(low), x + width * scale.share(high)
        marks.append(rectangle(start, y, end - start, height, BAND))
    marks.append(line(x, y + height / 2, x + width, y + height / 2, Stroke(HAIRLINE, 0.5)))
    judged = [(point.verdict, point.profile) for point in points if point.profile is not None]
    # what conforms is drawn first, so that an open mark is never hidden behind it
    for verdict, profile in sorted(judged, key=lambda each: each[0] != "conforms"):
        marks.append(verdict_mark(verdict, x + width * scale.share(profile), y + height / 2, height * 0.56))
    return marks


@dataclass(frozen=True, slots=True)
class IndividualPoint:
    """One value in the order of the reports, with the text under it (such as the report's date)."""

    label: str
    value: Decimal
    verdict: str


def individuals_frame(scale: ProfileScale, size: tuple[float, float], faces: Faces, caption: str) -> Frame:
    """Lay out the axes: values upwards on the common scale, 0 to 1 across; room at the right for the limits' names."""
    return profile_frame(scale, size, faces, caption, _ROOM_FOR_NAMES)


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
