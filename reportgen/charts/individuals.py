"""Individual values in their order, as over the reports of a contract, with their control limits."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from reportgen.charts.drawing import Command, Label, Stroke, line, polyline, rectangle, verdict_mark
from reportgen.charts.palette import BAND, DATA, HAIRLINE, INK, MUTED

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal
    from fractions import Fraction

    from reportgen.charts.scale import ProfileScale

_LEFT, _FOOT, _HEAD = 22.0, 14.0, 6.0
_MARK, _SIZE = 6.4, 6.5
_ROOM_FOR_NAMES = 48.0  # of the control limits
_LABEL_WIDTH = 34.0


class IndividualPoint(NamedTuple):
    """One value in the order of the reports, with the text under it (such as the report's date)."""

    label: str
    value: Decimal
    verdict: str


def individuals(
    scale: ProfileScale, width: float, height: float, points: Sequence[IndividualPoint],
    limits: Sequence[tuple[Decimal, str]],
) -> list[Command]:  # fmt: skip
    """Return values upwards on the common scale, a line with verdict marks, and each of ``limits`` as a dashed one."""
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
    pitch = (end - _LEFT) / max(1, len(points))
    places = [(_LEFT + (index + 0.5) * pitch, up(point.value)) for index, point in enumerate(points)]
    marks += [polyline(places, Stroke(INK, 0.6))] if places else []
    every = max(1, -int(-_LABEL_WIDTH // pitch))
    for index, (point, (x, y)) in enumerate(zip(points, places, strict=True)):
        marks.append(verdict_mark(point.verdict, x, y, max(2.6, min(_MARK, pitch * 0.55))))
        if index % every == 0:
            marks.append(Label(x, _FOOT - 9, point.label, _SIZE, MUTED, anchor="middle"))
    return marks
