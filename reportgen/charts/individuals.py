"""Individual values over reports, with centre and control limits, for a submittal's trend pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.charts.ahead import frame_maker
from reportgen.charts.drawing import Command, Frame, Label, Stroke, line, polyline
from reportgen.charts.loading import load_matplotlib
from reportgen.charts.marks import verdict_mark
from reportgen.charts.palette import DATA, INK, MUTED

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

    from reportgen.charts.faces import Faces
    from reportgen.charts.scale import ProfileScale

_LABEL_WIDTH = 34.0


@dataclass(frozen=True, slots=True)
class IndividualPoint:
    """One value in the order of the reports, with the text under it (such as the report's date)."""

    label: str
    value: Decimal
    verdict: str


def individuals_frame(scale: ProfileScale, size: tuple[float, float], faces: Faces, caption: str) -> Frame:
    """Lay out the axes: values upwards on the common scale, 0 to 1 across; room at the right for the limits' names."""
    return _frame(scale, size, faces, caption)


@frame_maker
def _frame(scale: ProfileScale, size: tuple[float, float], faces: Faces, caption: str) -> Frame:
    load_matplotlib()
    from reportgen.charts.axes import bare_axes, rule_across, set_ticks, write_note
    from reportgen.charts.histogram import shade_between
    from reportgen.charts.renderer import empty_figure, frame_of, settings

    with settings():
        figure = empty_figure(*size)
        axes = bare_axes(figure, 22, 27, 48, 6)
        axes.set_xlim(0, 1)
        axes.set_ylim(float(scale.low), float(scale.high))
        axes.set_xticks([])
        ticks = scale.ticks()
        set_ticks(axes.yaxis, [float(tick) for tick in ticks], [scale.tick_text(tick) for tick in ticks], faces)
        shade_between(axes, scale, across=False)
        for tick in ticks:
            rule_across(axes, float(tick))
        write_note(axes, 1.0, -21 / (size[1] - 33), caption, faces, ha="right", va="bottom")
        return frame_of(figure, axes, faces)


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
