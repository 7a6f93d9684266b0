"""Values in their order, as over the reports of a contract; and the moving average of its shifts between limits."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from reportgen.charts.drawing import Command, Label, Stroke, disc, line, polyline, rectangle, verdict_mark
from reportgen.charts.palette import BAND, DATA, HAIRLINE, INK, MUTED, PAPER
from reportgen.charts.profiles import LIMIT
from reportgen.units import printed

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal
    from fractions import Fraction

    from reportgen.charts.scale import ProfileScale

_LEFT, _FOOT, _HEAD = 22.0, 14.0, 6.0
_MARK, _SIZE = 6.4, 6.5
_ROOM_FOR_NAMES = 48.0  # of lines and limits
_LABEL_WIDTH = 34.0
_APART = 7.5  # of two names, one below the other


class IndividualPoint(NamedTuple):
    """One value in the order of the reports, with the text under it (such as the report's date)."""

    label: str
    value: Decimal
    verdict: str


def individuals(
    scale: ProfileScale, width: float, height: float, points: Sequence[IndividualPoint],
    limits: Sequence[tuple[Decimal, str]],
) -> list[Command]:  # fmt: skip
    """Return values upwards on the common scale, a line with verdict marks, and each of ``limits`` as a dashed one.

    The limits of the scale are solid lines, as everywhere: a copier loses the band between them.
    """
    end, rise = width - _ROOM_FOR_NAMES, height - _HEAD - _FOOT

    def up(value: Decimal | Fraction) -> float:
        return _FOOT + rise * scale.share(value)

    low = scale.low if scale.minimum is None else scale.minimum
    high = scale.high if scale.maximum is None else scale.maximum
    stated = (scale.minimum, scale.maximum) != (None, None)
    marks: list[Command] = [rectangle(_LEFT, up(low), end - _LEFT, up(high) - up(low), BAND)] if stated else []
    for tick in scale.ticks():
        marks.append(line(_LEFT, up(tick), end, up(tick), Stroke(HAIRLINE, 0.5)))
        marks.append(Label(_LEFT - 3, up(tick) - 2.3, scale.tick_text(tick), _SIZE, MUTED, anchor="end"))
    for value, name in limits:
        marks.append(line(_LEFT, up(value), end, up(value), Stroke(DATA, 0.7, (3.0, 2.0))))
        marks.append(Label(end + 4, up(value) - 2.2, name, _SIZE, DATA))
    bounds = [(up(one), printed(f"{one:f}"), aside) for one, aside in
              ((scale.minimum, -_APART), (scale.maximum, _APART)) if one is not None]  # fmt: skip
    marks += _limits(bounds, end, [up(value) for value, _ in limits])
    pitch = (end - _LEFT) / max(1, len(points))
    places = [(_LEFT + (index + 0.5) * pitch, up(point.value)) for index, point in enumerate(points)]
    marks += [polyline(places, Stroke(INK, 0.6))] if places else []
    every = max(1, -int(-_LABEL_WIDTH // pitch))
    for index, (point, (x, y)) in enumerate(zip(points, places, strict=True)):
        marks.append(verdict_mark(point.verdict, x, y, max(2.6, min(_MARK, pitch * 0.55))))
        if index % every == 0:
            marks.append(Label(x, _FOOT - 9, point.label, _SIZE, MUTED, anchor="middle"))
    return marks


def _limits(bounds: Sequence[tuple[float, str, float]], end: float, named: Sequence[float]) -> list[Command]:
    """Limits at their heights, each with its number, which stands aside where another name does."""
    marks: list[Command] = []
    for y, number, aside in bounds:
        close = any(abs(y - other) < _APART for other in named)
        marks.append(line(_LEFT, y, end, y, LIMIT))
        marks.append(Label(end + 4, y - 2.2 + aside * close, number, _SIZE, INK, "semibold"))
    return marks


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
