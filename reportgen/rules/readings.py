"""Readings to net readings, to spots, to locations: exact, in the unit of the gauge."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING, cast

from reportgen.metrology.overlap import spot_result
from reportgen.metrology.tape import net_reading, tape_scheme
from reportgen.references import comparator_grade
from reportgen.results import SpotReading, Word
from reportgen.units import Quantity

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Sequence
    from decimal import Decimal

    from reportgen.job import Instrument, ProfileRecord, Reading
    from reportgen.results import How
    from reportgen.rules.scene import JobView, SurfaceView


@dataclass(frozen=True, slots=True)
class MeasuredSpot:
    """One spot: its profile in the gauge's unit (None when it has none), how it came about, and why.

    ``spoken_of`` is the grade of tape that the reason is about, ``next_grade`` the one to take now. ``seen`` is the
    grade beside a reference comparator, which gives no profile.
    """

    id: str
    profile: Fraction | None
    how: How
    why: Word
    readings: tuple[SpotReading, ...]
    spoken_of: Word | None = None
    next_grade: Word | None = None
    seen: str | None = None


@dataclass(frozen=True, slots=True)
class MeasuredLocation:
    """One location: its value in the gauge's unit (None while a spot has none) and when it was read, where recorded.

    ``first`` is that of the spots taken first, as many as make a location.
    """

    id: str
    value: Fraction | None
    spots: tuple[MeasuredSpot, ...]
    taken: tuple[dt.datetime, dt.datetime] | None
    first: Fraction | None = None

    @property
    def named(self) -> set[tuple[str, str | None]]:
        """The location by itself, and with each of its spots."""
        return {(self.id, None), *((self.id, spot.id) for spot in self.spots)}

    @property
    def seen(self) -> tuple[str, ...]:
        """The grades seen beside a reference comparator, each once."""
        return tuple(dict.fromkeys(spot.seen for spot in self.spots if spot.seen is not None))

    def by_first(self, needed: int) -> MeasuredLocation:
        """The location by the ``needed`` spots that were taken first, which make one; itself where it has no more."""
        return replace(self, value=self.first, spots=self.spots[:needed]) if len(self.spots) > needed else self


@dataclass(frozen=True, slots=True)
class MeasuredSurface:
    """All locations of one surface, with the gauge they were read on; ``finest`` is the last digit of the readings.

    A comparator shows grades, whose limits are published in micrometres.
    """

    surface: SurfaceView
    record: ProfileRecord
    gauge_id: str
    gauge: Instrument
    unit: str
    on_tape: bool
    finest: Fraction
    locations: tuple[MeasuredLocation, ...]

    @property
    def compared(self) -> bool:
        """Whether they were compared with a reference comparator: they have grades, and no values."""
        return self.gauge.kind == "comparator"

    @property
    def step(self) -> Fraction:
        """Step to which the readings are rounded: the gauge's resolution, or coarser where fewer digits are written."""
        resolution = self.gauge.resolution
        return self.finest if resolution is None else max(self.finest, resolution.in_unit(self.unit))

    @property
    def walked(self) -> dict[str, str]:
        """Locations of walk-outs, each with the failing one that it was measured for: read after that, none before."""
        before = {walk.failing: self.read_before(walk.failing) for walk in self.record.walk_outs}
        return {
            location: walk.failing
            for walk in self.record.walk_outs for towards in walk.directions for location in towards.locations
            if location not in before[walk.failing]
        }  # fmt: skip

    def values(self, needed: int) -> set[tuple[Fraction | None, int]]:
        """Return the values of locations, each with the number of spots that make it: of all, and of those needed."""
        every = {(one.value, len(one.spots)) for one in self.locations}
        return every | {(one.first, needed) for one in self.locations if len(one.spots) > needed}

    def read_before(self, failing: str) -> frozenset[str]:
        """Return the locations read before a failing one: readings are entered in the order taken."""
        names = [one.id for one in self.locations]
        return frozenset(names[: names.index(failing)] if failing in names else ())


def measured_surface(view: JobView, surface: SurfaceView) -> MeasuredSurface | None:
    """Combine the readings of a surface; None when its profile was not measured after the blasting began.

    Raises:
        RangeError: a reading below the film it includes.
    """
    record = surface.record.profile
    if record is None or (surface.early and not surface.readings):
        return None
    gauge = view.project.instruments[record.gauge]
    unit = gauge.unit or "um"  # a gauge always has one; loading refuses others
    read = partial(compared_spot, gauge) if gauge.kind == "comparator" else _SpotReader(view, record, unit).spot
    grouped: dict[str, dict[str, list[Reading]]] = {}
    for reading in surface.readings:
        grouped.setdefault(reading.location, {}).setdefault(reading.spot, []).append(reading)
    locations, rule, needed = [], view.specification.profile.value_rule, view.specification.profile.readings_needed
    for name, several in grouped.items():
        spots = tuple(read(spot, readings) for spot, readings in several.items())
        profiles = [spot.profile for spot in spots]
        value, first = location_value(profiles, rule), location_value(profiles[:needed], rule)
        locations.append(MeasuredLocation(name, value, spots, _taken(view, chain(*several.values())), first))
    exponents = {int(one.value.as_tuple().exponent) for one in surface.readings if one.value is not None}
    return MeasuredSurface(
        surface, record, record.gauge, gauge, unit, any(reading.roll is not None for reading in surface.readings),
        Fraction(10) ** min(exponents, default=0), tuple(locations),
    )  # fmt: skip


def compared_spot(comparator: Instrument, spot: str, readings: Sequence[Reading]) -> MeasuredSpot:
    """Return what was seen at a spot, with its comparator; two grades of one spot are refused."""
    grade = readings[0].grade or ""
    known = comparator_grade(grade, comparator.comparator)
    return MeasuredSpot(spot, None, "compared", Word("why", "as-taken"), (), seen=known.name if known else grade)


def location_value(profiles: Sequence[Fraction | None], rule: str) -> Fraction | None:
    """Return the ``mean`` or the ``maximum`` of the spots, exactly; None while any spot has no profile."""
    known = [profile for profile in profiles if profile is not None]
    if len(known) < len(profiles):
        return None
    return max(known) if rule == "maximum" else sum(known, Fraction(0)) / len(known)


def _taken(view: JobView, readings: Iterable[Reading]) -> tuple[dt.datetime, dt.datetime] | None:
    """Return first and last time of some readings; None unless every one has its time."""
    times = {reading.time for reading in readings}
    known = [view.at_text(time) for time in times if time is not None]
    return (min(known), max(known)) if len(known) == len(times) else None


class _SpotReader:
    """Combines readings to spots, remembering what it has seen: readings have few different values.

    What is remembered goes by the digits: 2.6 and 2.60 are equal as numbers, and each is printed as it was written.
    """

    def __init__(self, view: JobView, record: ProfileRecord, unit: str) -> None:
        self._rolls = view.project.tape_rolls
        self._rule = view.specification.profile.overlap_rule
        self._film = record.film
        self._unit = unit
        self._net: dict[str, Decimal] = {}
        self._known: dict[tuple[tuple[str | None, str], ...], MeasuredSpot] = {}

    def spot(self, spot: str, readings: list[Reading]) -> MeasuredSpot:
        """Return one spot from its readings in the order taken."""
        seen = [(reading.roll, cast("Decimal", reading.value)) for reading in readings]  # no grade among them
        key = tuple((roll, str(value)) for roll, value in seen)
        if (known := self._known.get(key)) is not None:
            return replace(known, id=spot)
        taken = tuple(self._reading(roll, value) for roll, value in seen)
        if self._rule is None or any(one.grade is None for one in taken):
            found = _without_rule(taken)
        else:
            of = spot_result([(one.grade or "", one.net) for one in taken], tape_scheme(self._rule, self._unit))
            grades = [None if name is None else Word("tape-grade", name) for name in (of.spoken_of, of.next_grade)]
            found = MeasuredSpot("", of.profile, of.how, Word("why", of.reason), taken, grades[0], grades[1])
        self._known[key] = found
        return replace(found, id=spot)

    def _reading(self, roll: str | None, value: Decimal) -> SpotReading:
        if roll is None:
            return SpotReading(None, None, value, value)
        written = str(value)
        if (net := self._net.get(written)) is None:
            magnitude = net_reading(Quantity(value, self._unit), self._film).magnitude
            assert not isinstance(magnitude, Fraction)  # noqa: S101 - the difference of two decimals is one
            net = self._net[written] = magnitude
        return SpotReading(roll, self._rolls[roll].grade, value, net)


def _without_rule(taken: tuple[SpotReading, ...]) -> MeasuredSpot:
    """Return the spot of a depth micrometer, or of tape that the contract has no rule for, as it names another method:
    one reading, or repeats that agree.
    """
    if len({(one.roll, one.net) for one in taken}) > 1:
        return MeasuredSpot("", None, "contradictory", Word("why", "read-twice"), taken)
    return MeasuredSpot("", Fraction(taken[0].net), "recorded-as-taken", Word("why", "as-taken"), taken)
