"""Profiles on the report's one scale: the strip of an area, the plot of a location in its row, histogram, walk-out."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from reportgen.charts.drawing import Command, Label, Stroke, line, rectangle, verdict_mark
from reportgen.charts.palette import BAND, DATA, HAIRLINE, INK, MUTED, VERDICT_COLOUR

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from decimal import Decimal
    from fractions import Fraction

    from reportgen.charts.scale import ProfileScale

LIMIT = Stroke(INK, 0.9)
_CLEAR = 9.1  # points that a number keeps from a limit's: 3.2 mm
_LETTER = 3.7  # points of a letter of an id, on average
_MARK, _SMALL, _WALKED = 6.0, 4.4, 3.8
_PITCH, _TIGHT = 5.4, 3.9
_SMALL_FROM, _MOST_DEEP = 4, 5
_HISTOGRAM_FROM = 31
_NAMED = 6
_BARS, _BAR = 14.0, 2.4
_ZONE, _WALK_ZONE = 8.0, 8.0


@dataclass(frozen=True, slots=True)
class LocationPoint:
    """One location: profile, expanded uncertainty (None: no bar), spots, verdict; whether it is of a walk-out."""

    id: str
    profile: Decimal | None
    uncertainty: Decimal | None
    spots: tuple[Decimal, ...]
    verdict: str
    walked: bool = False


class Ruler(NamedTuple):
    """The scale laid along ``width`` points from ``x``."""

    scale: ProfileScale
    x: float
    width: float

    def at(self, value: Decimal | Fraction) -> float:
        """Where a value stands; one beyond an end stands there."""
        return self.x + self.width * self.scale.share(value)

    @property
    def limits(self) -> tuple[float, ...]:
        """Where the limits stand."""
        return tuple(self.at(one) for one in (self.scale.minimum, self.scale.maximum) if one is not None)

    @property
    def end(self) -> float:
        """Its right end."""
        return self.x + self.width


def scale_heads(ruler: Ruler, size: float) -> list[Command]:
    """Return the numbers over a ruler: the limits, strong, and of the ticks those that keep clear of them."""
    scale = ruler.scale
    limits = [(ruler.at(one), f"{one:f}") for one in (scale.minimum, scale.maximum) if one is not None]
    found: list[Command] = [Label(x, 1.8, text, size + 1, INK, "semibold", anchor="middle") for x, text in limits]
    taken = [x for x, _ in limits]
    whole = [tick for tick in scale.ticks() if tick.denominator == 1] or list(scale.ticks())
    for tick in whole:
        x = ruler.at(tick)
        if all(abs(x - other) >= _CLEAR + _LETTER for other in taken):
            found.append(
                Label(x, 1.8, scale.tick_text(tick, whole=tick.denominator == 1), size, MUTED, anchor="middle")
            )
            taken.append(x)
    return found


def limit_lines(ruler: Ruler, low: float, high: float) -> list[Command]:
    """Return the specified band, and its limits as solid lines: they survive a photocopier, the tint does not."""
    marks: list[Command] = []
    scale = ruler.scale
    if ruler.limits:
        start = ruler.x if scale.minimum is None else ruler.at(scale.minimum)
        end = ruler.end if scale.maximum is None else ruler.at(scale.maximum)
        marks.append(rectangle(start, low, end - start, high - low, BAND))
    return [*marks, *(line(x, low, x, high, LIMIT) for x in ruler.limits)]


class _Placed(NamedTuple):
    """A mark of a strip: its place, the room it takes with its text, verdict, text, on which side of it."""

    x: float
    start: float
    end: float
    verdict: str
    text: str = ""
    left: bool = False


class Strip:
    """The locations of an area as marks on one scale: equal values stack, those that fail bear their name.

    Of many locations those that conform are bars; ``missing`` says what the sampling plan lacks.
    """

    def __init__(self, ruler: Ruler, points: Sequence[LocationPoint], missing: str = "") -> None:
        self.ruler = ruler
        planned = [point for point in points if not point.walked]
        self.walked = [point for point in points if point.walked]
        barred = len(planned) >= _HISTOGRAM_FROM
        held = [p.profile for p in planned if barred and p.verdict == "conforms" and p.profile is not None]
        self.bars = Counter(round((ruler.at(value) - ruler.x) / _BAR) for value in held)
        placed = self._placed(
            [p for p in planned if p.profile is not None and not (barred and p.verdict == "conforms")]
        )
        lacking = _few([p.id for p in planned if p.profile is None and p.verdict != "conforms"])
        beyond = max((*ruler.limits, ruler.x)) + 8.0
        for text in filter(None, (lacking, missing)):
            placed.append(_Placed(beyond, beyond - 3, beyond + 6 + _LETTER * len(text), "inconclusive", text))
        self.levels = _levels(placed)

    def _placed(self, points: Sequence[LocationPoint]) -> list[_Placed]:
        """The marks of locations that have a value; what fails lies on top, with its name away from the band."""
        found = []
        named, low, high = 0, self.ruler.scale.minimum, self.ruler.scale.maximum
        middle = None if low is None else (low + (high or low)) / 2
        for point in sorted(points, key=lambda each: (each.verdict != "conforms", each.profile)):
            assert point.profile is not None  # noqa: S101 - for mypy: they have one
            fails = point.verdict != "conforms"
            named += fails
            x, text = self.ruler.at(point.profile), point.id if fails and named <= _NAMED else ""
            left = fails and middle is not None and point.profile < middle
            wide = 2 + _LETTER * len(text) if text else 0.0
            found.append(_Placed(x, x - 2.7 - wide * left, x + 2.7 + wide * (not left), point.verdict, text, left))
        if named > _NAMED:
            last = found[-1]
            text = f"+ {named - _NAMED}"
            found[-1] = last._replace(text=text, end=last.end + _LETTER * len(text), left=False)
        return found

    @property
    def _pitch(self) -> float:
        deep = len(self.levels)
        return _PITCH if deep < _SMALL_FROM else _TIGHT if deep <= _MOST_DEEP else _TIGHT * _MOST_DEEP / deep

    @property
    def _zone(self) -> float:
        """Height of the planned locations."""
        return max(_ZONE + self._pitch * (max(1, len(self.levels)) - 1), _BARS + 3 if self.bars else 0.0)

    @property
    def height(self) -> float:
        """Height that all marks need."""
        return self._zone + (_WALK_ZONE if self.walked else 0.0)

    def marks(self, height: float, above: float) -> list[Command]:
        """Return limits and marks in a row of that height, ``above`` points below its top."""
        ruler, top = self.ruler, height - above
        middle = top - self._zone / 2
        marks: list[Command] = [line(ruler.x, middle, ruler.end, middle, Stroke(HAIRLINE, 0.5))]
        marks += limit_lines(ruler, 0.0, height)
        tallest, foot = max(self.bars.values(), default=1), top - self._zone + 1.5
        for place, count in sorted(self.bars.items()):
            marks.append(rectangle(ruler.x + (place - 0.42) * _BAR, foot, _BAR * 0.84, _BARS * count / tallest, DATA))
        size = _MARK if len(self.levels) < _SMALL_FROM else _SMALL
        lowest = middle - self._pitch * (len(self.levels) - 1) / 2
        for level, placed in enumerate(self.levels):
            for one in placed:
                marks += _named_mark(one, lowest + level * self._pitch, size)
        if self.walked:
            y = top - self._zone - _WALK_ZONE / 2 + 0.5
            marks.append(line(ruler.x, y, ruler.end, y, Stroke(MUTED, 0.5, (0.6, 2.0))))
            for one in self._placed([point for point in self.walked if point.profile is not None]):
                marks += _named_mark(one, y, _WALKED)
        return marks


def _named_mark(one: _Placed, y: float, size: float) -> list[Command]:
    marks: list[Command] = [verdict_mark(one.verdict, one.x, y, size)]
    if one.text:
        aside = size / 2 + 1.6
        x, anchor = (one.x - aside, "end") if one.left else (one.x + aside, "start")
        ink = VERDICT_COLOUR[one.verdict]
        marks.append(Label(x, y - 2.3, one.text, 6.5, ink, "semibold", anchor=anchor))  # type: ignore[arg-type]
    return marks


def _levels(placed: Iterable[_Placed]) -> list[list[_Placed]]:
    """Marks by level, each on the lowest one where nothing is in its way."""
    levels: list[list[_Placed]] = []
    for one in placed:
        free = (level for level in levels if all(one.end <= other.start or other.end <= one.start for other in level))
        level = next(free, None)
        if level is None:
            levels.append([one])
        else:
            level.append(one)
    return levels


def _few(ids: Sequence[str]) -> str:
    shown = ", ".join(ids[:3])
    return f"{shown} + {len(ids) - 3}" if len(ids) > 3 else shown
