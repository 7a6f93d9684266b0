"""Order of the day on each surface: it is blasted, then measured and tested, then coated; as far as times are recorded.

What was measured before the blasting began is about another surface, and what comes after the primer about none: such
readings and grades neither clear nor fail the surface, and hold it, because a wrong time would hide what they say. A
salt or dust test made before the blasting does neither and holds nothing: it is ordinary to test the steel as it came.
While the blasting goes on, a reading is of a part that was finished; a later one of the rest does not tell which. The
locations measured before a change of the process are named as such; any other finished part is a surface of its own.
"""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING, Final

from reportgen.measurements import OF_A_SURFACE, TESTS
from reportgen.rules.outcome import Outcome, counted, found
from reportgen.rules.scene import counts

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Sequence

    from reportgen.job import Clock
    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView

BLASTED_FIRST: Final = "measured after the blasting"
PRIMED_LAST: Final = "measured before the primer"
SHORTEST: Final = {"thickness gauge": 5, "depth micrometer": 1}
"""Seconds that the gauge alone needs for a reading, when the replicas were all made before: common practice, no source.

A person who also makes them takes far longer; but times may be those at which they were read, one after the other.
"""
_MINUTE: Final = 60
_LONGEST: Final = 15 * _MINUTE
"""Seconds over which a pace is looked at."""
_BATCH: Final = 5 * _MINUTE
"""Seconds that one time written beside many readings may stand for: common practice, no source."""


def order_of_the_day(view: JobView) -> Outcome[Finding]:
    """Find what was measured before the blasting or after the primer, and faster than anybody can."""
    findings = [finding for area in view.areas for surface in area.surfaces for finding in _surface(view, surface)]
    return Outcome((), (*findings, *_paces(view)))


def _surface(view: JobView, surface: SurfaceView) -> Iterator[Finding]:
    if surface.blasted[1] < surface.blasted[0]:
        return  # contradictory, which is a finding of its own
    record = surface.record
    finished = {change.before for change in record.process_changes}
    readings = [*surface.early, *(one for one in surface.readings if one.location not in finished)]
    read = [None if one.time is None else view.at_text(one.time) for one in readings]
    yield from _series(view, surface, "reading", read)
    before_change = [one.time for one in surface.readings if one.location in finished and one.time is not None]
    yield from _late(view, surface, "reading", [view.at_text(time) for time in before_change])
    for kind in OF_A_SURFACE:
        times = [entry.time for entry in kind.entries_on(record) if kind.timed]
        yield from _series(view, surface, kind.noun, _instants(view, times))
    for kind in TESTS:
        tests = [(test.location, test.time) for test in kind.entries_on(record) if kind.timed]
        yield from _tests(view, surface, kind.noun, tests)


def _instants(view: JobView, times: Iterable[Clock | None]) -> list[dt.datetime | None]:
    return [None if time is None else view.at(time) for time in times]


def _tests(
    view: JobView, surface: SurfaceView, name: str, tests: Sequence[tuple[str, Clock | None]]
) -> Iterator[Finding]:  # fmt: skip
    """Note the tests that do not count, and find what is wrong with the others."""
    kept = [time for _, time in tests if counts(view, surface, time)]
    yield from _series(view, surface, name, _instants(view, kept))
    for location, time in tests:
        if time is not None and not counts(view, surface, time):
            observed = f"{name} at {view.printed(view.at(time))}, {_began(view, surface)}: it does not count"
            area = surface.record.area
            yield found("test-before-blasting", observed, BLASTED_FIRST, area=area, location=location)


def _series(
    view: JobView, surface: SurfaceView, name: str, times: Sequence[dt.datetime | None]
) -> Iterator[Finding]:  # fmt: skip
    """Find what of a series came before the blasting began, or before it ended; and what came after the primer."""
    start, end = surface.blasted
    known = [at for at in times if at is not None]
    early, during = [at for at in known if at < start], [at for at in known if start <= at < end]
    told = []
    if early:
        told.append(f"{_when(view, name, early)}, {_began(view, surface)}")
    if during:
        told.append(f"{_when(view, name, during)}, blasting went on until {view.printed(end)}")
    for observed in told:
        yield found("measured-before-blasting", observed, BLASTED_FIRST, area=surface.record.area)
    yield from _late(view, surface, name, known)


def _late(view: JobView, surface: SurfaceView, name: str, times: Sequence[dt.datetime]) -> Iterator[Finding]:
    """Find what of a series came after the primer."""
    coated = surface.coated
    late = [at for at in times if coated is not None and at > coated]
    if late and coated is not None:
        observed = f"{_when(view, name, late)}, primed at {view.printed(coated)}"
        yield found("measured-after-primer", observed, PRIMED_LAST, area=surface.record.area)


def _began(view: JobView, surface: SurfaceView) -> str:
    return f"blasting began at {view.printed(surface.blasted[0])}"


def _when(view: JobView, name: str, times: Sequence[dt.datetime]) -> str:
    """Say how many of a series, and when."""
    first, last = view.printed(min(times)), view.printed(max(times))
    return f"{counted(len(times), name)} at {first}" + (f" to {last}" if last != first else "")


# Pace


def _paces(view: JobView) -> Iterator[Finding]:
    """Find readings of one gauge that followed each other faster than it can be read."""
    for gauge, stamps in _stamps(view).items():
        shortest = SHORTEST.get(view.project.instruments[gauge].kind, 1)
        times = sorted(stamps)
        window = _too_fast(times, [len(stamps[at]) for at in times], shortest)
        if window is None:
            continue
        first, last = window
        read = [area for at in times if first <= at <= last for area in stamps[at]]
        when = f"from {view.printed(first)} to {view.printed(last)}" if last > first else f"at {view.printed(first)}"
        observed = f"{len(read)} readings on {gauge} {when}"
        for area in dict.fromkeys(read):
            yield found("readings-too-fast", observed, f"at least {shortest} s for a reading", area=area)


def _stamps(view: JobView) -> dict[str, dict[dt.datetime, list[str]]]:
    """Return gauge → time → area of each reading taken then."""
    taken: dict[str, dict[dt.datetime, list[str]]] = {}
    for area in view.areas:
        for surface in area.surfaces:
            profile = surface.record.profile
            for reading in surface.readings if profile is not None else ():
                if profile is not None and reading.time is not None:
                    of_gauge = taken.setdefault(profile.gauge, {})
                    of_gauge.setdefault(view.at_text(reading.time), []).append(area.id)
    return taken


def _too_fast(
    times: Sequence[dt.datetime], counts: Sequence[int], shortest: int
) -> tuple[dt.datetime, dt.datetime] | None:  # fmt: skip
    """Return the first and last time of readings that nobody can have taken, or None.

    One time may stand for several readings, for the first of them or for the last, but not for more than a few minutes;
    between two times at least those of either were taken. Times are cut to the minute, so that up to a minute more may
    have passed.
    """
    total = [0, *accumulate(counts)]
    for i, start in enumerate(times):
        if counts[i] * shortest > _BATCH + _MINUTE:
            return start, start
        for j in range(i + 1, len(times)):
            passed = (times[j] - start).total_seconds()
            if passed > _LONGEST:
                break
            surely = total[j] - total[i + 1] + min(counts[i], counts[j])
            if surely * shortest > passed + _MINUTE:
                return start, times[j]
    return None
