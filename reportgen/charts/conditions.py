"""Air, steel and dew point over the shift, with the margin that the steel must keep and the times of work."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from reportgen.charts.axes import LANE, time_frame
from reportgen.charts.drawing import (
    Command,
    Frame,
    Label,
    Stroke,
    disc,
    line,
    polygon,
    polyline,
    rectangle,
    verdict_mark,
)
from reportgen.charts.palette import BAND, DATA, HAIRLINE, INK, MUTED

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from decimal import Decimal

    from reportgen.charts.axes import Faces

_APART = 7.5  # names at the ends of the lines, at least
_FINE_RANGE = 35.0  # °C that have a line every 5 °C


@dataclass(frozen=True, slots=True)
class ConditionPoint:
    """One reading: minutes since midnight of the report's date, temperatures in °C, verdict."""

    minutes: int
    place: str
    air: Decimal | None
    steel: Decimal | None
    dew_point: Decimal
    verdict: str


@dataclass(frozen=True, slots=True)
class Activity:
    """A time of work: from ``start`` to ``end`` in minutes since midnight; an instant has both equal."""

    lane: str
    start: int
    end: int


def conditions_frame(
    points: Sequence[ConditionPoint], activities: Sequence[Activity], shift: tuple[int, int],
    margin: float, size: tuple[float, float], faces: Faces, caption: str,
) -> Frame:  # fmt: skip
    """Lay out the axes: time of day across, °C upwards, a lane below for each kind of activity.

    ``margin`` in K is the required margin (0: none stated); ``shift`` in minutes since midnight; ``caption`` stands
    at the top left. The ends of both axes are rounded outward (hours, 5 °C).
    """
    times = [point.minutes for point in points] + [t for work in activities for t in (work.start, work.end)]
    start, end = min([shift[0], *times]) // 60 * 60, -(-max([shift[1], *times]) // 60) * 60
    heights = [float(v) for p in points for v in (p.air, p.steel, p.dew_point) if v is not None]
    heights += [float(point.dew_point) + margin for point in points]
    low, high = min(heights, default=0.0), max(heights, default=5.0) + 0.5
    rise = 5 if high - low <= _FINE_RANGE else 10
    low, high = low // rise * rise, -(-high // rise) * rise
    lanes = len({work.lane for work in activities})
    return time_frame(
        (start, max(end, start + 60)), (int(low), max(int(high), int(low) + 10), rise), lanes, size, faces, caption
    )


def conditions_marks(
    frame: Frame, points: Sequence[ConditionPoint], activities: Sequence[Activity], margin: float,
    names: Mapping[str, str],
) -> list[Command]:  # fmt: skip
    """Return lines and marks; ``names`` holds the texts for ``air``, ``steel``, ``dew_point``, ``margin`` and lanes.

    The area between dew point and dew point plus margin is shaded: steel must stay above it.
    """
    marks: list[Command] = []
    by_place = groupby(sorted(points, key=attrgetter("place", "minutes")), key=attrgetter("place"))
    series = [list(group) for _, group in by_place]
    for group in series if margin > 0 else ():
        spots = [(frame.x.place(point.minutes), float(point.dew_point)) for point in group]
        if len(spots) == 1:
            spots = [(spots[0][0] - 4, spots[0][1]), (spots[0][0] + 4, spots[0][1])]
        lower = [(x, frame.y.place(value)) for x, value in spots]
        upper = [(x, frame.y.place(value + margin)) for x, value in reversed(spots)]
        marks.append(polygon((*lower, *upper), BAND))
    marks.extend(_lanes(frame, activities, names))
    for group in series:
        marks.extend(_lines(frame, group))
    return marks + _end_labels(frame, points, margin, names)


def _lanes(frame: Frame, activities: Sequence[Activity], names: Mapping[str, str]) -> list[Command]:
    marks: list[Command] = []
    for index, (lane, works) in enumerate(groupby(sorted(activities, key=attrgetter("lane")), attrgetter("lane"))):
        y = frame.y.start - 5 - (index + 0.5) * LANE
        marks.append(line(frame.x.start, y, frame.x.end, y, Stroke(HAIRLINE, 0.5)))
        marks.append(Label(frame.x.start - 5, y - 2.2, names.get(lane, lane), 6.5, MUTED, anchor="end"))
        for work in works:
            x0, x1 = frame.x.place(work.start), frame.x.place(work.end)
            if work.start == work.end:
                marks.append(rectangle(x0 - 0.6, y - 3, 1.2, 6, INK))
            else:
                marks.append(rectangle(x0, y - 1.6, x1 - x0, 3.2, DATA))
    return marks


def _lines(frame: Frame, group: Sequence[ConditionPoint]) -> list[Command]:
    marks: list[Command] = []
    pens = {"dew_point": Stroke(DATA, 0.9, (3.0, 2.0)), "air": Stroke(MUTED, 0.8), "steel": Stroke(INK, 1.2)}
    for name, pen in pens.items():
        places = [
            (frame.x.place(point.minutes), frame.y.place(float(value)))
            for point in group
            if (value := getattr(point, name)) is not None
        ]
        if len(places) > 1:
            marks.append(polyline(places, pen))
        if name != "steel":
            marks.extend(disc(x, y, 1.3, pen.colour) for x, y in places)
    for point in group:
        judged = (
            point.dew_point if point.steel is None else point.steel
        )  # without steel the mark stands at the dew point
        marks.append(verdict_mark(point.verdict, frame.x.place(point.minutes), frame.y.place(float(judged)), 6.0))
    return marks


def _end_labels(
    frame: Frame, points: Sequence[ConditionPoint], margin: float, names: Mapping[str, str]
) -> list[Command]:
    """Name the lines at their ends, kept apart from each other, on the axis when that is long enough."""
    if not points:
        return []
    last = max(points, key=lambda point: point.minutes)
    ends = [(frame.y.place(float(last.dew_point)), names["dew_point"], DATA)]
    for value, name, colour in ((last.air, names["air"], MUTED), (last.steel, names["steel"], INK)):
        if value is not None:
            ends.append((frame.y.place(float(value)), name, colour))
    if margin > 0:
        ends.append((frame.y.place(float(last.dew_point) + margin) - 2, names["margin"], DATA))
    ends.sort()
    heights: list[float] = []
    for y, _, _ in ends:
        heights.append(max(y, heights[-1] + _APART if heights else frame.y.start))
    excess = max(0, heights[-1] - frame.y.end - _APART)
    x = frame.x.place(last.minutes) + 6
    return [Label(x, y - excess - 2.2, name, 6.5, colour) for y, (_, name, colour) in zip(heights, ends, strict=True)]
