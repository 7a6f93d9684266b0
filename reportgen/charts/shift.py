"""The shift on one axis of time: work in lanes, checks, then air, steel, dew point and humidity in panels below."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from textwrap import wrap
from typing import TYPE_CHECKING, NamedTuple

from reportgen.charts.drawing import (
    Anchor,
    Command,
    FaceName,
    Label,
    Stroke,
    disc,
    line,
    polygon,
    polyline,
    rectangle,
    verdict_mark,
)
from reportgen.charts.palette import CONFORMS, DATA, FAILS, HAIRLINE, INK, MUTED, PAPER, VERDICT_COLOUR
from reportgen.charts.scale import nice_step
from reportgen.units import printed

if TYPE_CHECKING:
    from collections.abc import Iterable

_LEFT, _RIGHT = 66.0, 92.0
_MOST_LEFT, _MOST_RIGHT = 0.42, 0.3  # of the width: what names, and what is said of a lane, have at most
_ENOUGH = 0.3  # of the width for names, beyond which an apparatus stands below the name of its lane
_HAIR = 0.1  # points that a text may be wider than its room, for which it was measured
_BESIDE, _BELOW = 2, 7.0  # lines of an apparatus beside that name; from line to line
_CHECK_LETTER = 3.7  # of a check's text
_CHECK_MARK = 5.6  # points between the marks of two checks, at least
_LANE, _LOW, _TIGHT_FROM = 15.6, 10.2, 13
_CHECKS, _PANEL, _BETWEEN = 12.0, 45.0, 7.0
_TOP, _FOOT, _TURNS = 11.0, 11.0, 8.5
_APART = 7.4  # names at the ends of lines, and lines of one name, at least
_ASIDE = 1.8  # between names of several lines besides
_NAME, _LINE, _NAME_LINES = 7.2, 8.2, 3  # the name of a panel, its lines, and how many the axis moves aside for
_DAY = 24 * 60
_CAPTION, _CAPTION_LETTER = 8.2, 3.75  # a line of the worst moment's words, points of a letter of the small type
_TEXT, _SMALL = 6.8, 6.5
_PER_POINT = 0.55  # of a letter's width, of its size, on average
_UNBROKEN = re.compile(r"[\s/,;]+")


class TimedTest(NamedTuple):
    """A test with a time: a letter over its disc."""

    minute: int
    letter: str
    verdict: str


class Stretch(NamedTuple):
    """Steel that stands open from one minute until another, and the end of its permitted time, if it has one."""

    start: int
    end: int
    limit: int | None = None


@dataclass(frozen=True, slots=True)
class Lane:
    """The work on one area: blasting from and to, each stretch of open steel, each primer with its verdict.

    ``told`` and ``below`` stand at the right; a primer that does not conform should not have come.
    """

    name: str
    apparatus: str
    blasted: tuple[tuple[int, int], ...]
    bare: tuple[Stretch, ...] = ()
    primed: tuple[tuple[int, str], ...] = ()
    tests: tuple[TimedTest, ...] = ()
    told: str = ""
    below: str = ""

    @property
    def ink(self) -> str:
        """The colour of what is told."""
        return FAILS if any(verdict == "does not conform" for _, verdict in self.primed) else INK


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One line of checks: each with its time, text and verdict."""

    name: str
    checks: tuple[tuple[int, str, str], ...]


Points = tuple[tuple[int, float], ...]


class Line(NamedTuple):
    """One quantity over the shift: its name at the right end, its pen, points, verdicts where they are dots."""

    name: str
    pen: Stroke
    points: Points
    verdicts: tuple[str, ...] = ()
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Panel:
    """Lines in one unit; ``limit`` is a number with its name, drawn across."""

    name: str
    unit: str
    lines: tuple[Line, ...]
    limit: tuple[float, str] | None = None


Wrapped = Callable[[str, FaceName, float, float], Sequence[str]]
"""The lines of a text in a face and size, in a width."""


def _by_letter(text: str, face: FaceName, size: float) -> float:
    """The width of a text by a letter's on average, where nobody measures."""
    return len(text) * size * (_PER_POINT + 0.04 * (face == "semibold"))


def _by_letters(text: str, face: FaceName, size: float, width: float) -> list[str]:  # noqa: ARG001 - one of `Wrapped`
    """Lines by the letters that they have room for on average, where nobody measures."""
    return wrap(text, max(1, int(width / size / _PER_POINT)), break_long_words=False)


AIR = Stroke(MUTED, 0.7, (2.0, 1.4))
STEEL = Stroke(DATA, 1.7)
DEW_POINT = Stroke(MUTED, 0.8)
NEEDED = Stroke(INK, 1.2)
MEASURED = "measured"
"""In place of a verdict: a dot in the colour of its line."""
HUMIDITY = (Stroke(INK, 0.9), Stroke(MUTED, 0.9, (2.4, 1.6)), Stroke(DATA, 0.9, (0.8, 1.4)))


def clock_text(minutes: int) -> str:
    """Return the clock time of minutes since midnight, past midnight too."""
    return f"{minutes % _DAY // 60:02d}:{minutes % 60:02d}"


@dataclass(frozen=True)
class ShiftChart:
    """All of it; ``worst`` is the worst failing moment, with what it was in words.

    Minutes are those that passed, ``clock`` says what the clock on site shows at one, ``turns`` where another day
    begins on the axis or that clock is put forward or back.
    """

    width: float
    span: tuple[int, int]
    lanes: Sequence[Lane]
    checks: Sequence[CheckLine] = ()
    panels: Sequence[Panel] = ()
    worst: tuple[int, str] | None = None
    clock: Callable[[int], str] = clock_text
    turns: Sequence[tuple[int, str]] = ()
    wrapped: Wrapped = _by_letters
    measured: Callable[[str, FaceName, float], float] = _by_letter

    @cached_property
    def left(self) -> float:
        """Room for the names of lanes, of what blasted there, and of panels, in few lines of whole words."""
        names = [self.measured(row.name, "regular", _TEXT) + 4 for row in self.checks]
        for lane in self.lanes:
            whole, *parts = (self.measured(one, "semibold", self._size) + 8 for one in (lane.name, *lane.name.split()))
            names.append(whole if whole <= self.width * _ENOUGH else max(parts))
        least = max([_LEFT, *names])
        most = max(least, self.width * _MOST_LEFT)
        tried = (least + more for more in range(0, int(most - least), 4))
        return next((each for each in tried if self._holds(each)), most)

    def _holds(self, left: float) -> bool:
        """Whether so much room is enough: what is still beside no lane then stands below its name."""
        lanes = left >= self.width * _ENOUGH or all(self._beside(lane, left) is not None for lane in self.lanes)
        return lanes and all(self._fits(panel.name, left) for panel in self.panels)

    def _beside(self, lane: Lane, left: float) -> Sequence[str] | None:
        """The apparatus in lines of whole words beside the name of a lane; None where it has no room there."""
        if self._tight or not lane.apparatus:
            return ()
        room = left - self.measured(lane.name, "semibold", self._size) - 8
        if any(self.measured(word, "regular", _SMALL) > room for word in lane.apparatus.split()):
            return None
        lines = self.wrapped(lane.apparatus, "regular", _SMALL, room)
        return lines if len(lines) <= _BESIDE else None

    def _under(self, lane: Lane) -> Sequence[str]:
        """The apparatus in lines under the name of a lane, beside which it has no room."""
        if self._beside(lane, self.left) is not None:
            return ()
        return self.wrapped(lane.apparatus, "regular", _SMALL, self.left - 6)

    @cached_property
    def right(self) -> float:
        """Room for what is said of a lane, and for the names of lines."""
        told = (self.measured(text, face, size) + 9 for lane in self.lanes for text, size, face in self._said(lane))
        return min(max([_RIGHT, *told]), max(_RIGHT, self.width * _MOST_RIGHT))

    def _said(self, lane: Lane) -> list[tuple[str, float, FaceName]]:
        """What is said of a lane, with sizes and faces."""
        if self._tight:
            return [(" · ".join(filter(None, (lane.told, lane.below))), _TEXT, "semibold")]
        said: list[tuple[str, float, FaceName]] = [(lane.told, _TEXT, "semibold"), (lane.below, _SMALL, "semibold")]
        return [one for one in said if one[0]]

    def _told(self, lane: Lane) -> list[tuple[str, float, FaceName]]:
        """The same in lines."""
        wide = self.right - 8
        return [
            (one, size, face) for text, size, face in self._said(lane) for one in self.wrapped(text, face, size, wide)
        ]

    def _high(self, lane: Lane) -> float:
        """Height of a lane: as much as its texts need."""
        named, under, told = len(self._called(lane)), len(self._under(lane)), len(self._told(lane))
        names = 2.0 + (self._size + 1) * named + _BELOW * under if named + under > 1 else 0.0
        return max(self._lane, names, 1.6 + _BELOW * told if told > (not self._tight) + 1 else 0.0)

    def _called(self, lane: Lane) -> Sequence[str]:
        """The name of a lane, in lines where it is too long for one."""
        return self.wrapped(lane.name, "semibold", self._size, self.left - 8 + _HAIR)

    def _fits(self, name: str, left: float) -> bool:
        words = (self._named(word, left) for word in _UNBROKEN.split(name) if word)
        return len(self._named(name, left)) <= _NAME_LINES and all(len(lines) == 1 for lines in words)

    def _named(self, name: str, left: float) -> Sequence[str]:
        return self.wrapped(name, "semibold", _NAME, left - 16)

    def _ends(self, each: Line) -> Sequence[str]:
        """The name of a line at the right, in lines."""
        face: FaceName = "semibold" if each.strong else "regular"
        return self.wrapped(each.name, face, _TEXT, self.right - 8)

    def _tall(self, panel: Panel) -> float:
        """Height of a panel: as much as its name and those of its lines need."""
        named = [*panel.lines, *([Line(panel.limit[1], NEEDED, (), strong=True)] if panel.limit else [])]
        lines = [len(self._ends(each)) for each in named]
        at_right = _APART * sum(lines) + (_ASIDE * len(lines) if max(lines, default=0) > 1 else 0.0)
        return max(_PANEL, at_right, 20 + _LINE * (len(self._named(panel.name, self.left)) - 1))

    @property
    def _top(self) -> float:
        return _TOP + (_TURNS if self.turns else 0.0)

    @property
    def _lane(self) -> float:
        return _LOW if self._tight else _LANE

    @property
    def _tight(self) -> bool:
        return len(self.lanes) >= _TIGHT_FROM

    @property
    def _size(self) -> float:
        """Of the names of lanes."""
        return 7.2 if self._tight else 8.0

    @property
    def height(self) -> float:
        """Height of the chart."""
        lanes = sum(map(self._high, self.lanes)) + _CHECKS * len(self.checks)
        return self._top + lanes + sum(self._tall(panel) + _BETWEEN for panel in self.panels) + self._foot

    @property
    def _foot(self) -> float:
        return _FOOT + _CAPTION * (len(self.caption) - 1) if self.worst else 2.0

    @property
    def caption(self) -> list[str]:
        """What the worst moment was, in lines on that side of it where there is more room."""
        if self.worst is None:
            return []
        x = self.at(self.worst[0])
        return list(self.wrapped(self.worst[1], "semibold", _TEXT, max(x, self.width - x) - 3))

    def at(self, minute: int) -> float:
        """Where a minute stands; one beyond the axis at its end."""
        start, end = self.span
        share = (min(max(minute, start), end) - start) / (end - start)
        return self.left + share * (self.width - self.left - self.right)

    def marks(self, height: float) -> list[Command]:
        """Return everything, from the top down."""
        marks = self.hours(height)
        y = height - self._top
        for lane in self.lanes:
            high = self._high(lane)
            marks += self.work(lane, y, high)
            y -= high
            marks.append(line(0, y, self.width, y, Stroke(HAIRLINE, 0.5)))
        for row in self.checks:
            marks += self.checked(row, y - _CHECKS / 2)
            y -= _CHECKS
        for panel in self.panels:
            y -= self._tall(panel) + _BETWEEN
            marks += self.panel(panel, y)
        if self.worst is not None:
            x = self.at(self.worst[0])
            marks.append(line(x, 1.6, x, height - self._top, Stroke(FAILS, 0.8)))
            anchor: Anchor = "end" if x > self.width / 2 else "start"
            aside = -3 if anchor == "end" else 3
            for number, text in enumerate(reversed(self.caption)):
                y = 1.6 + _CAPTION * number
                marks.append(Label(x + aside, y, text, _TEXT, FAILS, "semibold", anchor=anchor))
        return marks

    def hours(self, height: float) -> list[Command]:
        """Return the hours over the axis, with a line each."""
        start, end = self.span
        most = (self.width - self.left - self.right) / 27  # hours that have room for their numbers
        step = next(hours for hours in (1, 2, 3, 4, 6, 12, 24, 48) if (end - start) / 60 / hours <= most) * 60
        marks: list[Command] = []
        for minute in range(-(-start // step) * step, end + 1, step):
            x = self.at(minute)
            marks.append(line(x, self._foot, x, height - self._top, Stroke(HAIRLINE, 0.5)))
            marks.append(Label(x, height - self._top + 3, self.clock(minute), _SMALL, MUTED, anchor="middle"))
        for minute, told in self.turns:
            x = self.at(minute)
            for low, high in ((self._foot, height - self._top), (height - 9.5, height - 1)):  # the hours stand between
                marks.append(line(x, low, x, high, Stroke(MUTED, 0.7, (2.0, 1.4))))
            late = x + 3 + _CAPTION_LETTER * len(told) > self.width
            marks.append(
                Label(x - 3 if late else x + 3, height - 6.5, told, _SMALL, INK, anchor="end" if late else "start")
            )
        return marks

    def work(self, lane: Lane, top: float, high: float) -> list[Command]:
        """Return a lane below ``top``."""
        tall, y = 2.2 if self._tight else 3.6, top - high / 2
        marks = self._names_of(lane, top, high)
        marks += [line(self.at(one.start), y, self.at(one.end), y, Stroke(DATA, 0.9)) for one in lane.bare]
        for start, end in lane.blasted:
            marks.append(rectangle(self.at(start), y - tall, max(1.0, self.at(end) - self.at(start)), 2 * tall, DATA))
        marks += [mark for one in lane.bare for mark in self.end_of_time(one, y)]
        marks += [_triangle(self.at(at), y, verdict) for at, verdict in lane.primed]
        marks += [verdict_mark(test.verdict, self.at(test.minute), y, 5.0) for test in lane.tests]
        if not self._tight:
            marks += [
                Label(self.at(test.minute), y + 3.6, test.letter, 6.5, MUTED, anchor="middle") for test in lane.tests
            ]
        x, told = self.width - self.right + 8, self._told(lane)
        first = y - 2.4 + _BELOW / 2 * (len(told) - 1) - 0.4 * (len(told) > 1)
        for number, (text, size, face) in enumerate(told):
            ink = lane.ink if size == _TEXT else MUTED
            marks.append(Label(x, first - _BELOW * number, text, size, ink, face))
        return marks

    def _names_of(self, lane: Lane, top: float, high: float) -> list[Command]:
        """The name of a lane, and what blasted beside it or, where that has no room there, below."""
        under, beside = self._under(lane), self._beside(lane, self.left) or ()
        called, marks = self._called(lane), list[Command]()
        apart = self._size + 1
        y = top - high / 2 - 2.6 + (apart * (len(called) - 1) + _BELOW * len(under)) / 2
        for number, text in enumerate(called):
            marks.append(Label(0, y - apart * number, text, self._size, INK, "semibold"))
        y -= apart * (len(called) - 1)
        for number, text in enumerate(under):
            marks.append(Label(0, y - _BELOW * (number + 1), text, _SMALL, MUTED))
        first = y + 0.2 + _BELOW / 2 * (len(beside) - 1)
        for number, text in enumerate(beside):
            marks.append(Label(self.left - 3, first - _BELOW * number, text, _SMALL, MUTED, anchor="end"))
        return marks

    def end_of_time(self, steel: Stretch, y: float) -> list[Command]:
        """The end of the permitted time: a heavy tick, an arrow where it lies beyond the axis."""
        if steel.limit is None:
            return []
        x = self.at(steel.limit)
        marks: list[Command] = []
        if steel.end < steel.limit:
            marks.append(line(self.at(steel.end), y, x, y, Stroke(DATA, 0.7, (0.8, 1.6))))
        if steel.limit > self.span[1]:
            return [*marks, polygon(((x - 4, y - 2.6), (x + 1.5, y), (x - 4, y + 2.6)), DATA)]
        return [*marks, line(x, y - 5.2, x, y + 5.2, Stroke(INK, 1.6))]

    def checked(self, row: CheckLine, y: float) -> list[Command]:
        """Checks around ``y``; those close together stand side by side and share a text behind the last of them."""
        marks: list[Command] = [Label(0, y - 2.4, row.name, _TEXT, MUTED, room=self.left - 4)]
        places: list[float] = []
        for minute, _, _ in row.checks:
            places.append(max([self.at(minute), *(place + _CHECK_MARK for place in places[-1:])]))
        ends = [*places[1:], self.width]
        waiting: list[str] = []
        first = self.left
        for (_, text, verdict), x, following in zip(row.checks, places, ends, strict=True):
            marks.append(verdict_mark(verdict, x, y, 5.0))
            first = first if waiting else x
            waiting += [text] if text not in waiting else []
            told = ", ".join(waiting)
            if _CHECK_LETTER * len(told) <= following - x - 8:
                marks.append(Label(x + 5, y - 2.4, told, _TEXT, INK))
                waiting = []
        if waiting:  # no room behind the last: before the first of them
            told = ", ".join(waiting)
            marks.append(Label(first - 5, y - 2.4, told, _TEXT, INK, anchor="end", room=first - 5 - self.left))
        return marks

    def panel(self, panel: Panel, foot: float) -> list[Command]:
        """A panel standing on ``foot``."""
        values = [value for each in panel.lines for _, value in each.points]
        values += [panel.limit[0]] if panel.limit else []
        low, high, step = _range(values)
        left, tall = self.left, self._tall(panel)

        def up(value: float) -> float:
            return foot + (value - low) / (high - low) * (tall - 4)

        end = self.width - self.right
        marks: list[Command] = [
            polyline([(left, foot + tall - 4), (left, foot), (end, foot)], Stroke(INK, 0.6)),
        ]
        named = self._named(panel.name, left)
        for number, text in enumerate(named):
            marks.append(Label(0, foot + tall - 9 - _LINE * number, text, _NAME, INK, "semibold"))
        marks.append(Label(0, foot + tall - 9.3 - _LINE * len(named), panel.unit, _SMALL, MUTED))
        tick = low + step
        while tick <= high:
            marks.append(Label(self.left - 3, up(tick) - 2.3, printed(f"{tick:g}"), _SMALL, MUTED, anchor="end"))
            marks.append(line(self.left - 2, up(tick), self.left, up(tick), Stroke(INK, 0.6)))
            tick += step
        names: list[tuple[float, float, Line]] = []
        if panel.limit is not None:
            value, name = panel.limit
            marks.append(line(self.left, up(value), end, up(value), Stroke(INK, 1.3)))
            names.append((up(value), end, Line(name, NEEDED, (), strong=True)))
        for each in panel.lines:
            places = [(self.at(minute), up(value)) for minute, value in each.points]
            if len(places) > 1:
                marks.append(polyline(places, each.pen))
            marks += _dots(each, places)
            if places:
                names.append((places[-1][1], places[-1][0], each))
        return marks + self.names(names, foot, foot + tall)

    def names(self, names: list[tuple[float, float, Line]], foot: float, top: float) -> list[Command]:
        """Name the lines at the right, kept apart between two heights, with a dotted line from the end of each."""
        marks: list[Command] = []
        names.sort(key=lambda each: each[0])
        lines = [self._ends(each) or [""] for _, _, each in names]
        spread = _within(_spread([y for y, _, _ in names], list(map(len, lines))), list(map(len, lines)), foot, top)
        x = self.width - self.right + 8
        for (y, end, each), place, told in zip(names, spread, lines, strict=True):
            ink = each.pen.colour if each.pen.colour != MUTED else MUTED
            face: FaceName = "semibold" if each.strong else "regular"
            if not each.name:  # the only one in its panel, which names it
                continue
            marks.append(line(end + 3, y, x - 2, place, Stroke(MUTED, 0.4, (0.6, 1.6))))
            first = place - 2.3 + _APART * (len(told) - 1) / 2
            marks += [Label(x, first - _APART * number, text, _TEXT, ink, face) for number, text in enumerate(told)]
        return marks


def _dots(each: Line, places: Sequence[tuple[float, float]]) -> list[Command]:
    """What was measured: dots in the line's colour, or marks of their verdicts."""
    if not each.verdicts:
        return []
    marks: list[Command] = []
    for (x, y), verdict in zip(places, each.verdicts, strict=True):
        if verdict == MEASURED:
            marks.append(disc(x, y, 1.4, each.pen.colour))
        else:
            marks.append(verdict_mark(verdict, x, y, 5.6 if verdict == "conforms" else 7.0))
    return marks


def _range(values: Iterable[float]) -> tuple[float, float, float]:
    """Lowest and highest value of an axis in steps, and the step."""
    from fractions import Fraction

    listed = [Fraction(value).limit_denominator(1000) for value in values]
    step = nice_step(max(Fraction(4), max(listed) - min(listed)), 3)
    low = (min(listed) - step / 4) // step * step
    high = -((-max(listed) - step / 4) // step) * step
    return float(low), float(high), float(step)


def _apart(lines: Sequence[int]) -> list[float]:
    """How far names of so many lines stand from the next, at least."""
    return [_APART * (one + other) / 2 + (_ASIDE if one + other > 2 else 0.0) for one, other in pairwise(lines)]


def _within(places: Sequence[float], lines: Sequence[int], foot: float, top: float) -> list[float]:
    """Places in rising order, moved between two heights, where they have room."""
    held, apart = list(places), _apart(lines)
    for index in reversed(range(len(held))):
        above = held[index + 1] - apart[index] if index + 1 < len(held) else top - _APART * lines[index] / 2
        held[index] = min(held[index], above)
    for index in range(len(held)):
        below = held[index - 1] + apart[index - 1] if index else foot + _APART * lines[index] / 2 - 1
        held[index] = max(held[index], below)
    return held


def _spread(places: Sequence[float], lines: Sequence[int]) -> list[float]:
    """Places in rising order, moved apart as little as it takes."""
    spread, apart = list(places), _apart(lines)
    for _ in range(40):
        close = [at for at, (one, other) in enumerate(pairwise(spread)) if other - one < apart[at] - 0.01]
        if not close:
            break
        for index in close:
            lacking = (apart[index] - (spread[index + 1] - spread[index])) / 2
            spread[index] -= lacking
            spread[index + 1] += lacking
    return spread


def _triangle(x: float, y: float, verdict: str) -> Command:
    corners = ((x - 5, y + 4.4), (x + 5, y + 4.4), (x, y - 4.6))
    if verdict == "conforms":
        return polygon(corners, CONFORMS)
    return polygon(corners, PAPER, Stroke(VERDICT_COLOUR[verdict], 1.3))
