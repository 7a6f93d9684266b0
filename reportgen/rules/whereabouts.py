"""One instrument and one inspector are in one place at a time: the same minute at two places of the contract.

Only places that the contract states are told apart; nobody is asked how far they are from each other.
"""

from __future__ import annotations

from itertools import chain
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
    from collections.abc import Iterator, Sequence

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
    for seen in (*_logged(view), *_on_surfaces(view)):
        together.setdefault((seen.at, seen.instrument), {}).setdefault(folded(seen.where.place), []).append(seen)
    findings: list[Finding] = []
    impossible: set[dt.datetime] = set()
    for (at, instrument), places in sorted(together.items(), key=lambda pair: pair[0][1] is None):
        if len(places) > 1 and (instrument is not None or at not in impossible):
            impossible.add(at)
            findings.extend(_found(instrument, view.printed(at), [*chain(*places.values())]))
    return Outcome((), tuple(findings))


def _found(instrument: str | None, time: str, seen: Sequence[_Seen]) -> Iterator[Finding]:
    where = tuple(dict.fromkeys(one.where for one in seen))
    for area in dict.fromkeys(area for one in seen for area in one.areas):
        if instrument is None:
            yield INSPECTOR_IN_TWO_PLACES.found(InspectorSeen(where), Place(area, time=time))
        else:
            yield INSTRUMENT_IN_TWO_PLACES.found(InstrumentSeen(instrument, where), Place(area, time=time))


def _logged(view: JobView) -> Iterator[_Seen]:
    """Yield the instruments of the log of conditions at a known place; it may write itself, so nobody was there."""
    for log in view.job.day.conditions:
        covered = view.places.covered(log) or frozenset()
        places = {view.places.of(area) for area in covered}
        place = places.pop() if len(places) == 1 else None
        if place is not None:
            inspected = tuple(area.id for area in view.areas if area.id in covered)
            yield from (_Seen(name, view.at(log.time), SeenAt(place), inspected) for name in log.instruments)


def _on_surfaces(view: JobView) -> Iterator[_Seen]:
    """Yield what was done by hand at a known time and place: by a person (None), and with which instrument."""
    for surface in view.surfaces:
        area = surface.record.area
        place = view.places.of(area)
        for instrument, at in () if place is None else _used(view, surface):
            yield from (_Seen(name, at, SeenAt(place or "", area), (area,)) for name in {None: 0, instrument: 0})


def _used(view: JobView, surface: SurfaceView) -> Iterator[tuple[str | None, dt.datetime]]:
    """Yield the times known of readings and tests on a surface, with the instrument where one is named."""
    gauge = None if surface.record.profile is None else surface.record.profile.gauge
    for text in sorted({one.time for one in surface.readings if one.time is not None}):
        yield gauge, view.at_text(text)
    for kind in (kind for kind in MEASUREMENTS if kind.timed):
        for test in kind.entries_on(surface.record):
            if test.time is not None:
                yield test.instrument if kind.instruments else None, view.at(test.time)
