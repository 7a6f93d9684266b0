"""Order of the day on each surface: it is blasted, then measured and tested, then coated; as far as times are recorded.

What was measured before the blasting began is about another surface, and what comes after the primer about none: such
readings and grades neither clear nor fail the surface, and hold it, because a wrong time would hide what they say. What
has no time was made in the shift of the report that states it first: where the primer came before that shift, it says
nothing of bare steel either; nor does what is said since to be of the shift of an earlier report, which does not have
it. A test of an area made before the blasting does neither and holds nothing: it is ordinary to test the steel as it
came. While the blasting goes on, a reading is of a part that was finished; a later one
of the rest does not tell which. The locations measured before a change of the process are named as such; any other
finished part is a surface of its own. Where all of some steel was blasted again, or all that bounds a location, nothing
made after that is of it as it was, in whichever entry it stands: it holds the area too.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from decimal import Decimal
from itertools import accumulate
from typing import TYPE_CHECKING, Final

from reportgen.measurements import OF_A_SURFACE, TESTS
from reportgen.results import Amount, Outcome, Place, Word
from reportgen.results.codes import order as codes
from reportgen.results.codes.order import (
    EarlyTest,
    MeasuredEarly,
    MeasuredLate,
    MeasuredOnGone,
    ReadTooFast,
    StatedLate,
    UntimedLate,
)
from reportgen.rules.entered_before import entries_on, first_stated, of_an_earlier_shift
from reportgen.rules.scene import counts

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView

SHORTEST: Final = {"thickness gauge": 5, "depth micrometer": 1}
"""Seconds that the gauge alone needs for a reading, when the replicas were all made before: common practice, no source.

A person who also makes them takes far longer; but times may be those at which they were read, one after the other.
"""
_WITH_REPLICA: Final = {"thickness gauge": 10}
"""Seconds for a reading with its replica, which nobody makes before the steel is blasted: as above."""
_MINUTE: Final = 60
_LONGEST: Final = 15 * _MINUTE
"""Seconds over which a pace is looked at."""
_BATCH: Final = 5 * _MINUTE
"""Seconds that one time written beside many readings may stand for: common practice, no source."""


def order_of_the_day(view: JobView) -> Outcome[Finding]:
    """Find what was measured before the blasting or after the primer, and faster than anybody can."""
    findings = [
        finding for surface in view.surfaces if surface.record.steel_known for finding in _surface(view, surface)
    ]
    return Outcome((), (*findings, *_of_gone_steel(view), *_paces(view)))


def _surface(view: JobView, surface: SurfaceView) -> Iterator[Finding]:
    if surface.blasted[1] < surface.blasted[0]:
        return  # contradictory, which is a finding of its own
    record = surface.record
    finished = {change.before for change in record.process_changes}
    parts = [one.time for one in surface.readings if one.location in finished]
    rest = [one.time for one in surface.early] + [one.time for one in surface.readings if one.location not in finished]
    yield from _series(view, surface, "reading", [view.at_text(time) for time in rest if time is not None])
    yield from _late(view, surface, "reading", [view.at_text(time) for time in parts if time is not None])
    for kind in (*OF_A_SURFACE, *TESTS):
        entries = [one for one in kind.entries_on(record) if kind.timed and one.time is not None]
        early = [one for one in entries if kind in TESTS and not counts(view, surface, one.time)]
        yield from _series(view, surface, kind.key, [view.at(one.time) for one in entries if one not in early])
        facts = EarlyTest(Word("tests", kind.key), 1, view.printed(surface.blasted[0]))
        for one in early:  # noted, and does not count
            place = Place(record.area, one.location, time=view.printed(view.at(one.time)))
            yield codes.TEST_BEFORE_BLASTING.found(facts, place)
    yield from _untimed(view, surface)
    yield from _stated_late(view, surface)


def _of_gone_steel(view: JobView) -> Iterator[Finding]:
    """Find what stands in the entry of steel that was blasted again, and was made after that had begun."""
    for index, gone in view.gone.items():
        record, undone = view.job.day.surfaces[index], view.undone.get(index, frozenset())
        whole = index in view.again
        late: dict[tuple[str, str | None], list[dt.datetime]] = {}
        for one in entries_on(view, record, view.job.readings[index]):
            of_it = whole or (one.series == "reading" and one.location in undone)
            if of_it and one.at is not None and one.at > gone:
                late.setdefault((one.series, None if whole else one.location), []).append(one.at)
        steel = record.apparatus, view.printed(view.at(record.blasted.end)), view.printed(gone)
        for (series, location), times in late.items():
            facts = MeasuredOnGone(*_when(view, series, times), *steel)
            yield codes.MEASURED_AFTER_REWORK.found(facts, Place(record.area, location))


def _untimed(view: JobView, surface: SurfaceView) -> Iterator[Finding]:
    """Find what has no time, and was not stated before a shift that began when the steel was primed."""
    coated = surface.coated
    if coated is None or coated > view.shift[0]:
        return
    late = Counter(series for series, _, start in first_stated(view, surface) if start >= coated)
    for series, count in late.items():
        facts = UntimedLate(Word("tests", series), count, view.printed(coated), view.printed(view.shift[0]))
        yield codes.MEASURED_AFTER_PRIMER.found(facts, Place(surface.record.area))


def _stated_late(view: JobView, surface: SurfaceView) -> Iterator[Finding]:
    """Find what was made before the primer in the shift of an earlier report, which does not have it."""
    coated = surface.coated
    if coated is None or coated > view.shift[0]:
        return
    found: dict[tuple[str, str], list[dt.datetime]] = {}
    for series, at, report in of_an_earlier_shift(view, surface):
        if at <= coated:
            found.setdefault((series, report.job.day.report.number), []).append(at)
    for (series, number), times in found.items():
        facts = StatedLate(*_when(view, series, times), number, view.printed(coated))
        yield codes.MEASURED_AFTER_PRIMER.found(facts, Place(surface.record.area))


def _series(view: JobView, surface: SurfaceView, name: str, times: Sequence[dt.datetime]) -> Iterator[Finding]:
    """Find what of a series came before the blasting began, or before it ended; and what came after the primer."""
    start, end = surface.blasted
    early, during = [at for at in times if at < start], [at for at in times if start <= at < end]
    place = Place(surface.record.area)
    if early:
        facts = MeasuredEarly(*_when(view, name, early), began=view.printed(start))
        yield codes.MEASURED_BEFORE_BLASTING.found(facts, place)
    if during:
        facts = MeasuredEarly(*_when(view, name, during), until=view.printed(end))
        yield codes.MEASURED_BEFORE_BLASTING.found(facts, place)
    yield from _late(view, surface, name, times)


def _late(view: JobView, surface: SurfaceView, name: str, times: Sequence[dt.datetime]) -> Iterator[Finding]:
    """Find what of a series came after the primer."""
    coated = surface.coated
    late = [at for at in times if coated is not None and at > coated]
    if late and coated is not None:
        facts = MeasuredLate(*_when(view, name, late), view.printed(coated))
        yield codes.MEASURED_AFTER_PRIMER.found(facts, Place(surface.record.area))


def _when(view: JobView, name: str, times: Sequence[dt.datetime]) -> tuple[Word, int, str, str | None]:
    """Return what a series is of, how many, and the first and last time as printed; one time is no last one."""
    first, last = view.printed(min(times)), view.printed(max(times))
    return Word("tests", name), len(times), first, None if last == first else last


# Pace


def _paces(view: JobView) -> Iterator[Finding]:
    """Find readings of one gauge that followed each other faster than it can be read."""
    taken: dict[str, dict[dt.datetime, list[str]]] = {}  # gauge, time, area of each reading taken then
    for surface in view.surfaces:
        profile, timed = surface.record.profile, [one.time for one in surface.readings if one.time is not None]
        if profile is not None:
            of_gauge = taken.setdefault(profile.gauge, {})
            for time in timed:
                of_gauge.setdefault(view.at_text(time), []).append(surface.record.area)
    for gauge, stamps in taken.items():
        shortest = SHORTEST.get(view.project.instruments[gauge].kind, 1)
        times = sorted(stamps)
        window = _too_fast(times, [len(stamps[at]) for at in times], shortest)
        if window is not None:
            yield from _read_too_fast(view, gauge, stamps, window)
    yield from (one for surface in view.surfaces for one in _after_blasting(view, surface))


def _after_blasting(view: JobView, surface: SurfaceView) -> Iterator[Finding]:
    """Find more readings after the end of the blasting than anybody takes until the primer, or until their last time.

    That may stand for several as well, for the first of them.
    """
    profile, (start, end), coated = surface.record.profile, surface.blasted, surface.coated
    if profile is None or end < start or not surface.record.steel_known:
        return
    kind = view.project.instruments[profile.gauge].kind
    needed = _WITH_REPLICA.get(kind, SHORTEST.get(kind, 1))
    times = (view.at_text(one.time) for one in surface.readings if one.time is not None)
    read = [at for at in times if end <= at and (coated is None or at <= coated)]
    until = max(read, default=end) + dt.timedelta(seconds=_BATCH)
    until = until if coated is None else min(until, coated)
    if len(read) * needed > (until - end).total_seconds() + _MINUTE:
        begun, ended = view.printed(end), view.printed(until)
        facts = ReadTooFast(len(read), profile.gauge, Amount(Decimal(needed), "s"), first=begun, last=ended)
        yield codes.READINGS_TOO_FAST.found(facts, Place(surface.record.area))


def _read_too_fast(
    view: JobView, gauge: str, stamps: Mapping[dt.datetime, Sequence[str]], window: tuple[dt.datetime, dt.datetime]
) -> Iterator[Finding]:
    first, last = window
    read = [area for at in sorted(stamps) if first <= at <= last for area in stamps[at]]
    needed = Amount(Decimal(SHORTEST.get(view.project.instruments[gauge].kind, 1)), "s")
    begun, ended = view.printed(first), view.printed(last)
    if last > first:
        facts = ReadTooFast(len(read), gauge, needed, first=begun, last=ended)
    else:
        facts = ReadTooFast(len(read), gauge, needed, at=begun)
    for area in dict.fromkeys(read):
        yield codes.READINGS_TOO_FAST.found(facts, Place(area))


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
