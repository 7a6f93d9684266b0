"""Air, steel and dew point over the shift, with the margin that the steel must keep and the times of work."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from reportgen.charts.drawing import Axis, Command, Frame, Label, Stroke, disc, line, polygon, polyline, rectangle
from reportgen.charts.loading import load_matplotlib
from reportgen.charts.marks import verdict_mark
from reportgen.charts.palette import BAND, DATA, HAIRLINE, INK, MUTED
from reportgen.charts.second_process import frame_maker

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from decimal import Decimal

    from reportgen.charts.typefaces import Faces

_LANE = 9.0
_END_LABELS = 44.0
_DAY = 24 * 60
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
    return _frame(
        (start, max(end, start + 60)), (int(low), max(int(high), int(low) + 10), rise), lanes, size, faces, caption
    )


@frame_maker
def _frame(
    span: tuple[int, int],
    heights: tuple[int, int, int],
    lanes: int,
    size: tuple[float, float],
    faces: Faces,
    caption: str,
) -> Frame:
    load_matplotlib()
    from reportgen.charts.axes import bare_axes, rule_across, set_ticks, write_note
    from reportgen.charts.renderer import empty_figure, frame_of, settings

    with settings():
        figure = empty_figure(*size)
        axes = bare_axes(figure, 22 if not lanes else 44, 14 + lanes * _LANE + 6, _END_LABELS, 14)
        axes.set_xlim(*span)
        axes.set_ylim(*heights[:2])
        step = next(hours for hours in (1, 2, 3, 4, 6, 12, 24, 48) if (span[1] - span[0]) / 60 / hours <= 13)
        hours = range(span[0], span[1] + 1, step * 60)
        set_ticks(axes.xaxis, list(hours), [clock_text(minutes) for minutes in hours], faces)
        axes.tick_params(axis="x", pad=4 + lanes * _LANE + (4 if lanes else 0))
        ticks = range(heights[0], heights[1] + 1, heights[2])
        set_ticks(axes.yaxis, list(ticks), [str(tick) for tick in ticks], faces)
        for tick in ticks:
            rule_across(axes, tick)
        write_note(axes, 0.0, 1 + 5 / (size[1] - 34 - lanes * _LANE), caption, faces, ha="left", va="bottom")
        return frame_of(figure, axes, faces)


def clock_text(minutes: int) -> str:
    """Return the clock time of minutes since midnight, past midnight too."""
    return f"{minutes % _DAY // 60:02d}:{minutes % 60:02d}"


def conditions_marks(
    frame: Frame, points: Sequence[ConditionPoint], activities: Sequence[Activity], margin: float,
    names: Mapping[str, str],
) -> list[Command]:  # fmt: skip
    """Return lines and marks; ``names`` holds the texts for ``air``, ``steel``, ``dew_point``, ``margin`` and lanes.

    The area between dew point and dew point plus margin is shaded: steel must stay above it.
    """
    marks: list[Command] = []
    by_place = groupby(sorted(points, key=lambda point: (point.place, point.minutes)), key=lambda point: point.place)
    series = [list(group) for _, group in by_place]
    if margin > 0:
        for group in series:
            marks.extend(_margin(frame, group, margin))
    marks.extend(_lanes(frame, activities, names))
    for group in series:
        marks.extend(_lines(frame, group))
    marks.extend(_end_labels(frame, points, margin, names))
    return marks


def _margin(frame: Frame, group: Sequence[ConditionPoint], margin: float) -> list[Command]:
    spots = [(frame.x.place(point.minutes), float(point.dew_point)) for point in group]
    if len(spots) == 1:
        spots = [(spots[0][0] - 4, spots[0][1]), (spots[0][0] + 4, spots[0][1])]
    lower = tuple((x, frame.y.place(value)) for x, value in spots)
    upper = tuple((x, frame.y.place(value + margin)) for x, value in reversed(spots))
    return [polygon(lower + upper, BAND)]


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
        at = frame.x.place(point.minutes)
        if point.steel is not None:
            marks.append(verdict_mark(point.verdict, at, frame.y.place(float(point.steel)), 6.0))
        else:  # no steel to judge: the mark stands at the dew point
            marks.append(verdict_mark(point.verdict, at, frame.y.place(float(point.dew_point)), 6.0))
    return marks


def _lanes(frame: Frame, activities: Sequence[Activity], names: Mapping[str, str]) -> list[Command]:
    marks: list[Command] = []
    for index, lane in enumerate(sorted({work.lane for work in activities})):
        y = frame.y.start - 5 - (index + 0.5) * _LANE
        marks.append(line(frame.x.start, y, frame.x.end, y, Stroke(HAIRLINE, 0.5)))
        marks.append(Label(frame.x.start - 5, y - 2.2, names.get(lane, lane), 6.5, MUTED, anchor="end"))
        for work in activities:
            if work.lane != lane:
                continue
            x0, x1 = frame.x.place(work.start), frame.x.place(work.end)
            if work.start == work.end:
                marks.append(rectangle(x0 - 0.6, y - 3, 1.2, 6, INK))
            else:
                marks.append(rectangle(x0, y - 1.6, x1 - x0, 3.2, DATA))
    return marks


def _end_labels(
    frame: Frame, points: Sequence[ConditionPoint], margin: float, names: Mapping[str, str]
) -> list[Command]:
    """Name the lines at their ends, kept apart from each other."""
    if not points:
        return []
    last = max(points, key=lambda point: point.minutes)
    ends = [(frame.y.place(float(last.dew_point)), names["dew_point"], DATA)]
    for value, name, colour in ((last.air, names["air"], MUTED), (last.steel, names["steel"], INK)):
        if value is not None:
            ends.append((frame.y.place(float(value)), name, colour))
    if margin > 0:
        ends.append((frame.y.place(float(last.dew_point) + margin) - 2, names["margin"], DATA))
    x = frame.x.place(last.minutes) + 6
    labels: list[Command] = []
    for y, (_, name, colour) in zip(_apart([end[0] for end in sorted(ends)], frame.y), sorted(ends), strict=True):
        labels.append(Label(x, y - 2.2, name, 6.5, colour))
    return labels


def _apart(places: Sequence[float], axis: Axis, gap: float = 7.5) -> list[float]:
    """Move ascending places apart to at least ``gap``, staying on the axis when it is long enough."""
    moved: list[float] = []
    for place in places:
        moved.append(max(place, moved[-1] + gap) if moved else max(place, axis.start))
    excess = moved[-1] - axis.end - gap if moved else 0
    return [place - max(0, excess) for place in moved]
