"""Locations of an area in the order of measurement, with their uncertainty: one frame per report, marks per area."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.charts.drawing import Command, Frame, Label, Stroke, disc, line, rectangle
from reportgen.charts.marks import verdict_mark
from reportgen.charts.palette import MUTED
from reportgen.charts.value_axes import profile_frame

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

    from reportgen.charts.scale import ProfileScale
    from reportgen.charts.typefaces import Faces

_RIGHT = 4.0
_LETTER = 3.6  # points of a letter of an id, on average
_BETWEEN = 3.0
_MARK = 6.4


@dataclass(frozen=True, slots=True)
class LocationPoint:
    """One location: profile, expanded uncertainty (None: no bar), spots, verdict."""

    id: str
    profile: Decimal | None
    uncertainty: Decimal | None
    spots: tuple[Decimal, ...]
    verdict: str


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
    wide = min(max(len(point.id) for point in points) * _LETTER, frame.x.end - frame.x.start)
    marks: list[Command] = []
    named = -1e9  # where the name before stands
    for index, point in enumerate(points):
        x = frame.x.start + (index + 0.5) * pitch
        if point.profile is not None:
            marks.extend(_point(frame, point, x, size, pitch))
        place = min(max(x, frame.x.start + wide / 2), frame.x.end - wide / 2)
        if place - named >= wide + _BETWEEN:
            # an id is never cut: where it is wider than estimated, it is set smaller
            room = max(wide, pitch) if len(points) > 1 else frame.x.end - frame.x.start
            marks.append(Label(place, frame.y.start - 9, point.id, 6.5, MUTED, anchor="middle", room=room))
            named = place
    return marks


def _point(frame: Frame, point: LocationPoint, x: float, size: float, pitch: float) -> list[Command]:
    assert point.profile is not None  # noqa: S101 - the caller asked
    y = frame.y.place(float(point.profile))
    marks: list[Command] = []
    if point.uncertainty is not None:
        low = max(frame.y.start, frame.y.place(float(point.profile - point.uncertainty)))
        high = min(frame.y.end, frame.y.place(float(point.profile + point.uncertainty)))
        pen, cap = Stroke(MUTED, 0.7), size * 0.45
        marks.append(line(x, low, x, high, pen))
        marks.extend(line(x - cap, end, x + cap, end, pen) for end in (low, high))
    aside = x + min(size, pitch * 0.42)
    marks.extend(disc(aside, frame.y.place(float(spot)), min(0.9, size / 5), MUTED) for spot in point.spots)
    marks.append(verdict_mark(point.verdict, x, y, size))
    return marks


def strip_marks(
    x: float, y: float, width: float, height: float, scale: ProfileScale, points: Sequence[LocationPoint]
) -> list[Command]:
    """Return a strip: the specified band shaded, one mark per location, in the rectangle given."""
    from reportgen.charts.palette import BAND, HAIRLINE

    low = scale.low if scale.minimum is None else scale.minimum
    high = scale.high if scale.maximum is None else scale.maximum
    marks: list[Command] = []
    if scale.minimum is not None or scale.maximum is not None:
        start, end = x + width * scale.share(low), x + width * scale.share(high)
        marks.append(rectangle(start, y, end - start, height, BAND))
    marks.append(line(x, y + height / 2, x + width, y + height / 2, Stroke(HAIRLINE, 0.5)))
    judged = [point for point in points if point.profile is not None]
    # what conforms is drawn first, so that an open mark is never hidden behind it
    for point in sorted(judged, key=lambda each: each.verdict != "conforms"):
        assert point.profile is not None  # noqa: S101 - filtered above
        marks.append(verdict_mark(point.verdict, x + width * scale.share(point.profile), y + height / 2, height * 0.56))
    return marks
