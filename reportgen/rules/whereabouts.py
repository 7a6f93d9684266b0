"""One instrument and one inspector are in one place at a time: the same minute at two places of the contract.

Only places that the contract states are told apart; nobody is asked how far they are from each other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from reportgen.job.places import folded
from reportgen.measurements import MEASUREMENTS
from reportgen.results import Outcome, Place
from reportgen.results.codes.order import (
    INSPECTOR_IN_TWO_PLACES,
    INSTRUMENT_IN_TWO_PLACES,
    InspectorSeen,
    InstrumentSeen,
    SeenAt,
)

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView


class _Seen(NamedTuple):
    """An instrument, or the inspector (None), at a place; ``areas`` are the inspected ones that this concerns."""

    instrument: str | None
    at: dt.datetime
    where: SeenAt
    areas: tuple[str, ...]


def whereabouts(view: JobView) -> Outcome[Finding]:
    """Find instruments that were at two places in one minute; note where the inspector would have been at two.

    An instrument cannot: one of the two readings was not taken then. A person who measures may have had help, which the
    record does not say, so that this is worth a note and holds nothing.
    """
    if len(view.places.stated) == 1:
        return Outcome()
    together: dict[tuple[dt.datetime, str | None], dict[str, list[_Seen]]] = {}
    for seen in (*_instruments(view), *_inspector(view)):
        together.setdefault((seen.at, seen.instrument), {}).setdefault(folded(seen.where.place), []).append(seen)
    findings: list[Finding] = []
    impossible: set[dt.datetime] = set()
    for (at, instrument), places in together.items():  # the instruments first
        if len(places) > 1 and not (instrument is None and at in impossible):
            impossible.add(at)
            seen_there = [seen for several in places.values() for seen in several]
            findings.extend(_found(instrument, view.printed(at), seen_there))
    return Outcome((), tuple(findings))


def _found(instrument: str | None, time: str, seen: list[_Seen]) -> Iterator[Finding]:
    where = tuple(dict.fromkeys(one.where for one in seen))
    for area in dict.fromkeys(area for one in seen for area in one.areas):
        place = Place(area, time=time)
        if instrument is None:
            yield INSPECTOR_IN_TWO_PLACES.found(InspectorSeen(where), place)
        else:
            yield INSTRUMENT_IN_TWO_PLACES.found(InstrumentSeen(instrument, where), place)


def _instruments(view: JobView) -> Iterator[_Seen]:
    """Yield every use of an instrument whose time and place are known."""
    for reading in view.job.day.conditions:
        covered = view.places.covered(reading) or frozenset()
        places = {view.places.of(area) for area in covered}
        place = places.pop() if len(places) == 1 else None
        if place is not None:
            inspected = tuple(area.id for area in view.areas if area.id in covered)
            for name in reading.instruments:
                yield _Seen(name, view.at(reading.time), SeenAt(place), inspected)
    for surface, place in _surfaces(view):
        area = surface.record.area
        for name, at in _used(view, surface):
            yield _Seen(name, at, SeenAt(place, area), (area,))


def _used(view: JobView, surface: SurfaceView) -> Iterator[tuple[str, dt.datetime]]:
    """Yield the instruments used on a surface, with the times that are known."""
    if surface.record.profile is not None:
        for at in _read(view, surface):
            yield surface.record.profile.gauge, at
    for kind in MEASUREMENTS:
        for test in kind.entries_on(surface.record) if kind.instruments else ():
            if test.instrument is not None and test.time is not None:
                yield test.instrument, view.at(test.time)


def _inspector(view: JobView) -> Iterator[_Seen]:
    """Yield what a person does by hand; a log of the conditions may write itself."""
    for surface, place in _surfaces(view):
        record = surface.record
        clocks = [test.time for kind in MEASUREMENTS if kind.timed for test in kind.entries_on(record)]
        times = [*_read(view, surface), *(view.at(time) for time in clocks if time is not None)]
        for at in times:
            yield _Seen(None, at, SeenAt(place, record.area), (record.area,))


def _read(view: JobView, surface: SurfaceView) -> list[dt.datetime]:
    """Return the times of the readings of a surface, each once."""
    return [view.at_text(text) for text in sorted({one.time for one in surface.readings if one.time is not None})]


def _surfaces(view: JobView) -> Iterator[tuple[SurfaceView, str]]:
    for area in view.areas:
        place = view.places.of(area.id)
        if place is not None:
            yield from ((surface, place) for surface in area.surfaces)
