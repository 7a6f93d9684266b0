"""Shift means as a moving average in standard deviations, between the limits beyond which the work has changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from reportgen.charts.drawing import Command, Label, Stroke, disc, line, polyline
from reportgen.charts.palette import DATA, HAIRLINE, INK, MUTED, PAPER

if TYPE_CHECKING:
    from collections.abc import Sequence

_LEFT, _FOOT, _HEAD = 22.0, 14.0, 4.0
_SIZE = 6.5
_ROOM_FOR_NAMES = 48.0
_LABEL_WIDTH = 34.0


class MovingPoint(NamedTuple):
    """One shift: the text under it, the moving average (None where nothing is known yet), whether it is an alarm."""

    label: str
    level: float | None
    alarm: bool


def moving_average(
    width: float, height: float, points: Sequence[MovingPoint], limit: float, names: tuple[str, str]
) -> list[Command]:
    """Return the average as a line with dots, open ones for alarms, and both limits, named above and below, dashed."""
    end, rise = width - _ROOM_FOR_NAMES, height - _HEAD - _FOOT
    levels = [abs(point.level) for point in points if point.level is not None]
    reach = max([1.15 * limit, *(1.05 * level for level in levels)])

    def up(level: float) -> float:
        return _FOOT + rise * (level + reach) / (2 * reach)

    marks: list[Command] = [line(_LEFT, up(0.0), end, up(0.0), Stroke(HAIRLINE, 0.5))]
    for level, name in zip((limit, -limit), names, strict=True):
        marks.append(line(_LEFT, up(level), end, up(level), Stroke(DATA, 0.7, (3.0, 2.0))))
        marks.append(Label(end + 4, up(level) - 2.2, name, _SIZE, DATA, room=_ROOM_FOR_NAMES - 4))
    pitch = (end - _LEFT) / max(1, len(points))
    places = [
        (_LEFT + (at + 0.5) * pitch, up(point.level), point) for at, point in enumerate(points)
        if point.level is not None
    ]  # fmt: skip
    marks += [polyline([(x, y) for x, y, _ in places], Stroke(INK, 0.6))] if places else []
    radius = max(1.0, min(2.2, pitch * 0.3))
    for x, y, point in places:
        pen = Stroke(INK, 0.9)
        marks.append(disc(x, y, radius * 1.4, PAPER, pen) if point.alarm else disc(x, y, radius, INK))
    every = max(1, -int(-_LABEL_WIDTH // pitch))
    marks += [
        Label(_LEFT + (at + 0.5) * pitch, _FOOT - 9, point.label, _SIZE, MUTED, anchor="middle")
        for at, point in enumerate(points) if at % every == 0
    ]  # fmt: skip
    return marks
