"""Profiles on the report's one scale: the strip of an area, the plot of a location in its row, histogram, walk-out."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from reportgen.charts.drawing import Anchor, Command, Label, Stroke, line, rectangle, verdict_mark
from reportgen.charts.palette import BAND, DATA, FAILS, HAIRLINE, INK, MUTED, PAPER, VERDICT_COLOUR
from reportgen.units import printed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from decimal import Decimal

    from reportgen.charts.scale import ProfileScale

LIMIT = Stroke(INK, 0.9)
_CLEAR = 9.1  # points that a number keeps from a limit's: 3.2 mm
_LETTER = 3.7  # points of a letter of an id, on average
_MARK, _SMALL, _WALKED = 6.0, 4.4, 3.8
_PITCH, _TIGHT = 5.4, 3.9
_SMALL_FROM, _MOST_DEEP = 4, 5
_HISTOGRAM_FROM = 31
_NAMED = 6
_BESIDE = 10.0  # of the next column, which numbers at its right leave free
_BARS, _BAR = 14.0, 2.4
_ZONE, _WALK_ZONE = 8.0, 8.0
_LINE = 6.4  # points between the names of marks over each other


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
    limits = [(ruler.at(one), printed(f"{one:f}")) for one in (scale.minimum, scale.maximum) if one is not None]
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


def limit_lines(ruler: Ruler, high: float) -> list[Command]:
    """Return the specified band, and its limits as solid lines: they survive a photocopier, the tint does not."""
    marks: list[Command] = []
    scale = ruler.scale
    if ruler.limits:
        start = ruler.x if scale.minimum is None else ruler.at(scale.minimum)
        end = ruler.end if scale.maximum is None else ruler.at(scale.maximum)
        marks.append(rectangle(start, 0.0, end - start, high, BAND))
    return [*marks, *(line(x, 0.0, x, high, LIMIT) for x in ruler.limits)]


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
        single = [p for p in planned if p.profile is not None and not (barred and p.verdict == "conforms")]
        lacking = [p.id for p in planned if p.profile is None and p.verdict != "conforms"]
        self.levels = _levels(
            [*self._placed(single), *self._beyond(lacking), *self._beyond([missing] if missing else [], more=_BESIDE)]
        )

    @property
    def _room(self) -> float:
        """Where the strip ends: what is beyond belongs to the next column."""
        return self.ruler.x + self.ruler.end

    def _beyond(self, names: Sequence[str], more: float = 0.0) -> list[_Placed]:
        """The mark of what has no value, right of the band, with as many names as have room."""
        x = max((*self.ruler.limits, self.ruler.x)) + 8.0
        texts = [_few(names, count) for count in (3, 2, 1)]
        text = next((one for one in texts if x + 6 + _LETTER * len(one) <= self._room + more), "")
        return [_Placed(x, x - 3, x + 6 + _LETTER * len(text), "inconclusive", text)] if names else []

    def _placed(self, points: Sequence[LocationPoint]) -> list[_Placed]:
        """The marks of locations that have a value; what fails lies on top, with its name away from the band."""
        found = []
        named, low, high = 0, self.ruler.scale.minimum, self.ruler.scale.maximum
        middle = None if low is None else (low + (high or low)) / 2
        for point in sorted(points, key=lambda each: (each.verdict != "conforms", each.profile)):
            assert point.profile is not None  # noqa: S101 - for mypy, again below
            fails = point.verdict != "conforms"
            named += fails
            text = point.id if fails and named <= _NAMED else ""
            found.append(self._named(point, text, left=fails and middle is not None and point.profile < middle))
        if named > _NAMED:
            left = middle is not None and point.profile is not None and point.profile < middle
            found[-1] = self._named(point, f"+ {named - _NAMED}", left=left)
        return found

    def _named(self, point: LocationPoint, text: str, *, left: bool) -> _Placed:
        """A mark with its name on that side, on the other where a limit is in the way; without it where it has no room.

        Why an area is not released, in the same row, names the location too.
        """
        assert point.profile is not None  # noqa: S101 - for mypy: they have one
        x, wide = self.ruler.at(point.profile), 2 + _LETTER * len(text)
        sides = [_Placed(x, x - 2.7 - wide * side, x + 2.7 + wide * (not side), point.verdict, text, side)
                 for side in (left, not left)]  # fmt: skip
        fit = [one for one in sides if one.start >= 0 and one.end <= self._room] if text else []
        clear = [one for one in fit if not any(one.start < at < one.end for at in self.ruler.limits if at != x)]
        return next(iter(clear or fit), _Placed(x, x - 2.7, x + 2.7, point.verdict))

    @property
    def _pitch(self) -> float:
        deep = len(self.levels)
        return _PITCH if deep < _SMALL_FROM else _TIGHT if deep <= _MOST_DEEP else _TIGHT * _MOST_DEEP / deep

    @property
    def _raised(self) -> list[float]:
        """How far each level stands above the lowest: names that would lie over each other are kept apart."""
        raised: list[float] = []
        for number, level in enumerate(self.levels):
            up = raised[-1] + self._pitch if raised else 0.0
            named = [one for one in level if one.text]
            for below in range(number):
                others = (other for other in self.levels[below] if other.text)
                if any(one.start < other.end and other.start < one.end for other in others for one in named):
                    up = max(up, raised[below] + _LINE)
            raised.append(up)
        return raised or [0.0]

    @property
    def _zone(self) -> float:
        """Height of the planned locations."""
        return max(_ZONE + self._raised[-1], _BARS + 3 if self.bars else 0.0)

    @property
    def height(self) -> float:
        """Height that all marks need."""
        return self._zone + (_WALK_ZONE if self.walked else 0.0)

    def marks(self, height: float, above: float) -> list[Command]:
        """Return limits and marks in a row of that height, ``above`` points below its top."""
        ruler, top = self.ruler, height - above
        middle = top - self._zone / 2
        raised = self._raised
        lowest = middle - raised[-1] / 2
        standing = [(one, lowest + up) for level, up in zip(self.levels, raised, strict=False) for one in level]
        marks: list[Command] = _ruled(ruler, middle, Stroke(HAIRLINE, 0.5), standing)
        marks += limit_lines(ruler, height)
        tallest, foot = max(self.bars.values(), default=1), top - self._zone + 1.5
        for place, count in sorted(self.bars.items()):
            marks.append(rectangle(ruler.x + (place - 0.42) * _BAR, foot, _BAR * 0.84, _BARS * count / tallest, DATA))
        size = _MARK if len(self.levels) < _SMALL_FROM else _SMALL
        for one, up in standing:
            marks += _named_mark(one, up, size)
        if self.walked:
            y = top - self._zone - _WALK_ZONE / 2 + 0.5
            walked = self._placed([point for point in self.walked if point.profile is not None])
            marks += _ruled(ruler, y, Stroke(MUTED, 0.5, (0.6, 2.0)), [(one, y) for one in walked])
            for one in walked:
                marks += _named_mark(one, y, _WALKED)
        return marks


def _ruled(ruler: Ruler, y: float, pen: Stroke, standing: Iterable[tuple[_Placed, float]]) -> list[Command]:
    """A line along the ruler that strikes through no name of a mark."""
    marks: list[Command] = []
    x = ruler.x
    for one in sorted((one for one, up in standing if one.text and abs(up - y) < _LINE / 2), key=lambda one: one.start):
        if one.start - 1 > x:
            marks.append(line(x, y, one.start - 1, y, pen))
        x = max(x, one.end + 1)
    return [*marks, line(x, y, ruler.end, y, pen)] if x < ruler.end else marks


def _named_mark(one: _Placed, y: float, size: float) -> list[Command]:
    marks: list[Command] = [verdict_mark(one.verdict, one.x, y, size)]
    if one.text:
        aside = size / 2 + 1.6
        anchor: Anchor = "end" if one.left else "start"
        x, ink = one.x - aside if one.left else one.x + aside, VERDICT_COLOUR[one.verdict]
        marks.append(Label(x, y - 2.3, one.text, 6.5, ink, "semibold", anchor=anchor))
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


def _few(ids: Sequence[str], count: int) -> str:
    shown = ", ".join(ids[:count])
    return f"{shown} + {len(ids) - count}" if len(ids) > count else shown


def row_plot(ruler: Ruler, height: float, point: LocationPoint) -> list[Command]:
    """Return the plot of one location in its row: limits, bar of its uncertainty, strokes of its spots, its mark."""
    middle = height / 2
    marks = [*limit_lines(ruler, height), line(ruler.x, middle, ruler.end, middle, Stroke(HAIRLINE, 0.5))]
    for spot in point.spots:
        x = ruler.at(spot)
        marks.append(line(x, middle - 3.2, x, middle + 3.2, Stroke(DATA, 1.0)))
    if point.profile is None:
        return marks
    if (about := point.uncertainty) is not None:
        low, high, pen = ruler.at(point.profile - about), ruler.at(point.profile + about), Stroke(INK, 0.8)
        marks += [line(low, middle, high, middle, pen)]
        marks += [line(x, middle - 2.2, x, middle + 2.2, pen) for x in (low, high)]
    return [*marks, verdict_mark(point.verdict, ruler.at(point.profile), middle, 4.0 if point.walked else 5.4)]


_BAR_OF = {"mil": Fraction(1, 10), "um": Fraction(2)}


def bar_width(scale: ProfileScale) -> Fraction:
    """Return the width of a bar of a histogram, by the unit of the profile."""
    return _BAR_OF.get(scale.unit, scale.step / 5)


def histogram(ruler: Ruler, height: float, values: Iterable[Decimal]) -> list[Command]:
    """Return the spots of an area as bars on the scale of the plots above: open ones outside the limits."""
    scale, wide = ruler.scale, bar_width(ruler.scale)
    low, high = (None if one is None else Fraction(one) for one in (scale.minimum, scale.maximum))
    counts = Counter[Fraction]()
    for value in map(Fraction, values):
        place = value // wide * wide
        counts[place - wide if value == high and place == value else place] += 1  # one on the maximum conforms
    marks = [*limit_lines(ruler, height), line(ruler.x, 0.0, ruler.end, 0.0, Stroke(INK, 0.8))]
    tallest = max(counts.values(), default=1)
    for place, count in sorted(counts.items()):
        x, end, up = ruler.at(place), ruler.at(place + wide), (height - 3) * count / tallest
        inside = (low is None or place >= low) and (high is None or place + wide <= high)
        pen = None if inside else Stroke(FAILS, 0.8)
        marks.append(rectangle(x + 0.4, 0.0, max(0.8, end - x - 0.8), up, DATA if inside else PAPER, pen))
    return marks


class Walked(NamedTuple):
    """One direction of a walk-out: its name, its locations outward (id, verdict), where what failed ends in steps.

    ``edge`` says that there was no room for more.
    """

    name: str
    places: tuple[tuple[str, str], ...]
    reach: float = 0.0
    edge: bool = False

    @property
    def end(self) -> float:
        """Where the line outward ends, in steps: at the last location, or at the edge beyond it."""
        return len(self.places) + _TO_EDGE if self.edge else max(1.0, len(self.places))

    @property
    def rework(self) -> float:
        """Where the frame ends, in steps: at the edge where nothing before it conforms, else where what failed ends."""
        to_edge = self.edge and all(verdict != "conforms" for _, verdict in self.places)
        return self.end if to_edge else max(self.reach, _LEAST_FRAME)


_TOWARDS = {"up": (0, 1), "north": (0, 1), "down": (0, -1), "south": (0, -1), "left": (-1, 0), "west": (-1, 0),
            "right": (1, 0), "east": (1, 0)}  # fmt: skip
_STEP = 15.0
_TO_EDGE = 2 / 3  # of a step: less than one is left where there is no room
_LEAST_FRAME = 0.35  # of a step, around the mark
LONGEST_ON_MAP = 8
"""Letters of a location's name for which a map has room."""


def _on_paper(marks: Sequence[Command]) -> list[Command]:
    """The marks with their names on paper of their own: over frame and lines, under every mark of a location."""
    names = [one for one in marks if isinstance(one, Label)]
    drawn = [one for one in marks if not isinstance(one, Label)]
    lines = [one for one in drawn if one.fill == BAND or len(one.path) == 2]
    paper = []
    for name in names:
        wide = _LETTER * len(name.text) + 1
        start = name.x - {"start": 0.5, "middle": wide / 2, "end": wide - 0.5}[name.anchor]
        paper.append(rectangle(start, name.y - 1.0, wide, _LINE, PAPER))
    return [*lines, *paper, *(one for one in drawn if one not in lines), *names]


class WalkMap:
    """A failing location and what was measured around it, to scale: the frame is what is to be reworked."""

    def __init__(self, failing: str, directions: Sequence[Walked]) -> None:
        self.failing = failing
        free = [(0, 1), (0, -1), (-1, 0), (1, 0)]
        self.placed: list[tuple[tuple[int, int], Walked]] = []
        for one in sorted(directions, key=lambda each: each.name.lower() not in _TOWARDS):
            vector = _TOWARDS.get(one.name.lower(), free[0] if free else (1, 0))
            vector = vector if vector in free or not free else free[0]
            free = [each for each in free if each != vector]
            self.placed.append((vector, one))
        steps = {vector: max(one.end, one.reach) for vector, one in self.placed}
        self.left, self.right = (24 + _STEP * max(1, steps.get((sign, 0), 0)) for sign in (-1, 1))
        upright = [name for (_, dy), one in self.placed if dy for name, _ in one.places]
        self.right = max(self.right, 8 + _LETTER * max(map(len, (failing, *upright))))
        self.up, self.down = (14 + _STEP * max(0.5, steps.get((0, sign), 0)) for sign in (1, -1))

    @property
    def size(self) -> tuple[float, float]:
        """Width and height."""
        return self.left + self.right, self.up + self.down

    def marks(self) -> list[Command]:
        """Return the map, its origin at the lower left."""
        x0, y0 = self.left, self.down
        ends = {vector: one.rework for vector, one in self.placed}
        edges = [_STEP * ends.get(vector, _LEAST_FRAME) for vector in ((-1, 0), (1, 0), (0, -1), (0, 1))]
        frame = (x0 - edges[0], y0 - edges[2], edges[0] + edges[1], edges[2] + edges[3])
        marks: list[Command] = [rectangle(*frame, BAND, Stroke(FAILS, 0.9))]
        for (dx, dy), one in self.placed:
            far = _STEP * one.end
            marks.append(line(x0, y0, x0 + dx * far, y0 + dy * far, Stroke(HAIRLINE, 0.6)))
            marks += self.direction(one, x0, y0, dx, dy)
            if one.edge:
                x, y = x0 + dx * far, y0 + dy * far
                marks.append(line(x - 16 * dy, y - 16 * dx, x + 16 * dy, y + 16 * dx, Stroke(INK, 1.8)))
            anchor: Anchor = "middle" if dy else "end" if dx < 0 else "start"
            out = far + (7 if dy else 9)
            marks.append(Label(x0 + dx * out, y0 + dy * out - 2.2, one.name, 6.5, MUTED, anchor=anchor))
        marks.append(verdict_mark("does not conform", x0, y0, 6.4))
        marks.append(Label(x0 + 4.5, y0 + 3.5, self.failing, 6.8, FAILS, "semibold"))
        return _on_paper(marks)

    @staticmethod
    def direction(one: Walked, x0: float, y0: float, dx: int, dy: int) -> list[Command]:
        """Return the locations of a direction outward, each with its name beside it."""
        marks: list[Command] = []
        for step, (name, verdict) in enumerate(one.places, 1):
            x, y = x0 + dx * step * _STEP, y0 + dy * step * _STEP
            aside, up = (6.5, -2.2) if dy else (0.0, 5.0 if step % 2 else -9.0)
            marks.append(verdict_mark(verdict, x, y, 5.0))
            marks.append(Label(x + aside, y + up, name, 6.5, INK, anchor="start" if dy else "middle"))
        return marks
