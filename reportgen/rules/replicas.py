"""Replicas: what was read on a bad one says nothing of the steel, and one thrown away must have been replaced.

A replica counts as it is recorded; of one that is not recorded nothing is assumed. Where several entries are about a
reading, those that name it most closely count.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.results import Amount, Outcome, Place, Word
from reportgen.results.codes import records as codes

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.job import Reading, Replica
    from reportgen.results import Finding, Task
    from reportgen.rules.scene import AreaView, JobView, SurfaceView


def replicas(view: JobView) -> Outcome[Finding]:
    """Find readings on bad replicas, replicas that were not replaced, and name every one that was thrown away."""
    found: list[Finding] = []
    todo: list[Task] = []
    for area in view.areas:
        for surface in area.surfaces:
            for finding, task in _surface(area, surface):
                found.append(finding)
                todo += [] if task is None else [task]
    return Outcome((), tuple(found), measure_next=tuple(todo))


def _surface(area: AreaView, surface: SurfaceView) -> Iterator[tuple[Finding, Task | None]]:
    entries = surface.record.replicas
    if not entries:
        return
    bad: dict[tuple[Place, codes.ReplicaFaulty], None] = {}
    for reading in surface.readings:
        entry = next((one for one in _about(entries, reading) if one.faulty), None)
        if entry is not None and reading.roll is not None:
            place = Place(area.id, area.located(surface, reading.location), reading.spot)
            bad[place, codes.ReplicaFaulty(*_seen(entry), reading.roll)] = None
    for place, facts in bad:
        owed = codes.ReplicaOwed(None, facts.grain, facts.rubbed)
        yield (
            codes.REPLICA_FAULTY.found(facts, place),
            codes.MAKE_REPLICA_AGAIN.due(owed, place, answers=codes.REPLICA_FAULTY.name),
        )
    for one in entries:
        if one.thrown_away is not None and one.location is not None:
            yield from _thrown_away(area, surface, one, one.location)


def _thrown_away(
    area: AreaView, surface: SurfaceView, one: Replica, location: str
) -> Iterator[tuple[Finding, Task | None]]:  # fmt: skip
    """Say that a replica was thrown away; where nothing was read in its place, that is owed."""
    reading = None if one.read is None else Amount.of(one.read)
    facts = codes.ReplicaThrownAway(one.thrown_away or "", one.roll, reading)
    place = Place(area.id, area.located(surface, location), one.spot)
    given_up = any(each.location == location for each in surface.record.no_reading)
    there = any(each.location == location and one.spot in (None, each.spot) for each in surface.readings)
    if there or given_up:
        yield codes.REPLICA_THROWN_AWAY.found(facts, place), None
    else:
        owed = codes.ReplicaOwed(one.thrown_away)
        name = codes.REPLICA_NOT_REPLACED.name
        yield codes.REPLICA_NOT_REPLACED.found(facts, place), codes.MAKE_REPLICA_AGAIN.due(owed, place, answers=name)


def _about(entries: Sequence[Replica], reading: Reading) -> list[Replica]:
    """Return the entries on the replica of a reading: those that name it most closely, of those not thrown away."""
    known = _naming(entries, reading)
    closest = max((one.precision for one in known), default=0)
    return [one for one in known if one.precision == closest]


def _naming(entries: Sequence[Replica], reading: Reading) -> list[Replica]:
    """Return the entries on the replica of a reading, of those not thrown away."""
    return [
        one for one in entries
        if one.thrown_away is None and one.names(reading.location, reading.spot, reading.roll)
    ]  # fmt: skip


def recorded(surface: SurfaceView) -> bool:
    """Whether of the replica of every reading on tape it is recorded how its grain came out, and where it is kept."""
    on_tape = (one for one in surface.readings if one.roll is not None)
    return all(_is_told(_naming(surface.record.replicas, one)) for one in on_tape)


def _is_told(entries: Sequence[Replica]) -> bool:
    return any(one.grain is not None for one in entries) and any(one.kept is not None for one in entries)


def _seen(one: Replica) -> tuple[Word | None, Word | None]:
    """Return grain and rubbing as words."""
    return (
        None if one.grain is None else Word("grain", one.grain),
        None if one.rubbed is None else Word("rubbed", one.rubbed),
    )
