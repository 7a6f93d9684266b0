"""What is recorded beside results: facts of the day, of its areas, of people; for pages and exports, in their order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.results import Amount, Word
from reportgen.results.codes import records as codes
from reportgen.results.facts import Value

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.fields import Clock
    from reportgen.job import Job, Replica, Surface
    from reportgen.job.recorded import OilTest
    from reportgen.results import Stated

_OF_THE_SITE = (
    "weather", "wind", "blasters", "equipment", "agreements", "deviations", "results_from_others", "client_data",
)  # fmt: skip


class Recorded(Value):
    """One fact: what it is, of which area and where on it, and what was recorded."""

    record: Word
    area: str | None
    where: str | None
    value: str | int | Amount | Word | Stated | tuple[Amount, ...]


def also_recorded(job: Job) -> tuple[Recorded, ...]:
    """Return everything that is recorded beside results, of the day first."""
    return (*_of_the_day(job), *(one for surface in job.day.surfaces for one in _of_a_surface(job, surface)))


def _of_the_day(job: Job) -> Iterator[Recorded]:
    site = job.day.site
    if site is not None:
        for name in _OF_THE_SITE:
            if (value := getattr(site, name)) is not None:
                yield Recorded(Word("record", name), None, None, value)
        temperatures = tuple(Amount.of(one) for one in (site.high, site.low) if one is not None)
        if temperatures:
            yield Recorded(Word("record", "high_and_low"), None, None, temperatures)
    if job.day.report.entered is not None:
        yield Recorded(Word("record", "entered"), None, None, _at(job.day.report.entered))
    for told in job.day.told_released:
        by = f" ({told.by})" if told.by is not None else ""
        yield Recorded(Word("record", "release_told"), told.area, None, f"{told.to}, {_at(told.time)}{by}")


def _of_a_surface(job: Job, surface: Surface) -> Iterator[Recorded]:
    area = surface.area

    def recorded(key: str, value: str | Amount | Word | Stated, where: str | None = None) -> Recorded:
        return Recorded(Word("record", key), area, where, value)

    if surface.inspector is not None:
        person = job.project.people.get(surface.inspector)
        yield recorded("inspector", surface.inspector if person is None else person.name)
    if surface.cleaned is not None:
        yield recorded("area_cleaned", Amount.of(surface.cleaned), surface.apparatus)
    if surface.oil_test is not None:
        yield recorded("oil_test", _oil(job, surface.oil_test, surface.blasted.start))
    for key in ("washed", "dust_removed"):
        if (clock := getattr(surface, key)) is not None:
            yield recorded(key, _at(clock), surface.apparatus)
    if surface.edges is not None:
        yield recorded("edges", Word("edges", surface.edges))
    yield from (recorded("positions", text, location) for location, text in surface.positions.items())
    yield from (recorded("no_reading", one.reason, one.location) for one in surface.no_reading)
    for replica in surface.replicas:
        where = " ".join(part for part in (replica.location, replica.spot, replica.roll) if part is not None) or None
        if replica.thrown_away is not None:
            read = f" ({replica.read})" if replica.read is not None else ""
            yield recorded("thrown_away", f"{replica.thrown_away}{read}", where)
        else:
            yield recorded("replicas", _replica(replica), where)


def _oil(job: Job, test: OilTest, start: Clock) -> Stated:
    """One made after the blasting began says nothing of the steel before it."""
    at, late = None, None
    if test.time is not None:
        at = _at(test.time)
        late = Word("oil-late", "late") if job.clock.instant(test.time) > job.clock.instant(start) else None
    return codes.OIL_TESTED.of(codes.OilTested(Word("oil-seen", test.result), test.method, at, late))


def _replica(one: Replica) -> Stated:
    facts = codes.ReplicaRecorded(
        *(
            None if value is None else Word(group, value)
            for group, value in (("grain", one.grain), ("rubbed", one.rubbed), ("kept", one.kept))
        )
    )
    return codes.REPLICA_RECORDED.of(facts)


def _at(clock: Clock) -> str:
    """Return a time as it was written: with its date where that stands there."""
    return clock.isoformat(timespec="minutes").replace("T", " ")
