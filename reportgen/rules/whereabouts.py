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
    from reportgen.rules.scene import JobView


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
    for seen in _seen(view):
        together.setdefault((seen.at, seen.instrument), {}).setdefault(folded(seen.where.place), []).append(seen)
    findings: list[Finding] = []
    impossible: set[dt.datetime] = set()
    for (at, instrument), places in sorted(together.items(), key=lambda pair: pair[0][1] is None):
        if len(places) == 1 or (instrument is None and at in impossible):
            continue
        impossible.add(at)
        seen_there = [seen for several in places.values() for seen in several]
        where = tuple(dict.fromkeys(one.where for one in seen_there))
        for area in dict.fromkeys(area for one in seen_there for area in one.areas):
            place = Place(area, time=view.printed(at))
            if instrument is None:
                findings.append(INSPECTOR_IN_TWO_PLACES.found(InspectorSeen(where), place))
            else:
                findings.append(INSTRUMENT_IN_TWO_PLACES.found(InstrumentSeen(instrument, where), place))
    return Outcome((), tuple(findings))


def _seen(view: JobView) -> Iterator[_Seen]:
    """Yield every use of an instrument whose time and place are known, and what a person does by hand (None).

    A log of the conditions may write itself.
    """
    for log in view.job.day.conditions:
        covered = view.places.covered(log) or frozenset()
        places = {view.places.of(area) for area in covered}
        place = places.pop() if len(places) == 1 else None
        if place is not None:
            inspected = tuple(area.id for area in view.areas if area.id in covered)
            yield from (_Seen(name, view.at(log.time), SeenAt(place), inspected) for name in log.instruments)
    placed = ((surface, view.places.of(area.id)) for area in view.areas for surface in area.surfaces)
    for surface, place in placed:
        record = surface.record
        if place is None:
            continue
        where, areas = SeenAt(place, record.area), (record.area,)
        gauge = None if record.profile is None else record.profile.gauge
        texts = sorted({one.time for one in surface.readings if one.time is not None})
        used = [(gauge, view.at_text(text)) for text in texts]
        tests = [(kind, test) for kind in MEASUREMENTS if kind.timed for test in kind.entries_on(record)]
        used += [
            (test.instrument if kind.instruments else None, view.at(test.time))
            for kind, test in tests
            if test.time is not None
        ]
        for name, at in used:
            yield _Seen(None, at, where, areas)
            if name is not None:
                yield _Seen(name, at, where, areas)
