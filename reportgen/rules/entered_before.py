"""Steel that an earlier report entered too: its entries there, and what of its readings, tests and grades they state.

An entry without a time was made in the shift of the report that first states it: what is written again is no new one.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import islice
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.measurements import OF_A_SURFACE, TESTS

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.job import Reading, Surface
    from reportgen.measurements import Measurement
    from reportgen.rules.scene import JobView, SurfaceView

    _Shift = tuple[dt.datetime, dt.datetime]


class MadeAt(NamedTuple):
    """When an entry was made at a location; one that is not ``timed`` no earlier than ``at``.

    That is the start of the shift whose report states it first; ``known`` is whether an earlier report has it. A
    reading also has its ``spot``.
    """

    location: str | None
    at: dt.datetime
    timed: bool = True
    known: bool = False
    spot: str | None = None


class LastMade(NamedTuple):
    """When entries of a report were made: the last of those with a time, and the end of the shift of any without."""

    timed: dt.datetime | None
    untimed: dt.datetime | None

    def is_before(self, one: MadeAt) -> bool:
        """Whether an entry of a later report is known to be made after them; at the same time is not after."""
        if one.timed:
            return all(at is None or one.at > at for at in self)
        old = one.known and self.untimed is not None and one.at < self.untimed
        return not old and (self.timed is None or one.at >= self.timed)


class SeriesEntry(NamedTuple):
    """An entry of a surface: the series it belongs to, where it was made, all that it says but its time, and that."""

    series: str
    location: str | None
    says: Any
    at: dt.datetime | None


def steel_before(view: JobView, surface: SurfaceView) -> Iterator[tuple[JobView, list[SurfaceView]]]:
    """Yield each earlier report that enters the steel of a surface, with its entries of that.

    They are those of the same apparatus and times of blasting; else of times that overlap, as one of the two is wrong.
    """
    for stood in view.before:
        entries = stood.entries(surface) or stood.overlapping(surface)
        if entries:
            yield stood.view, entries


def moments(view: JobView, surface: SurfaceView, series: str) -> list[MadeAt]:
    """Return when each entry of a series was made."""
    earlier, found = _stated_before(view, surface), []
    for one in (each for each in entries_on(view, surface.record, surface.readings) if each.series == series):
        spot = one.says[0].spot if one.series == "reading" else None
        if one.at is not None:
            found.append(MadeAt(one.location, one.at, spot=spot))
            continue
        stated = [start for (start, _), entries in earlier if any(_is_again(one, other, surface) for other in entries)]
        found.append(MadeAt(one.location, min([view.shift[0], *stated]), timed=False, known=bool(stated), spot=spot))
    return found


def given_way(view: JobView, surface: SurfaceView, kind: Measurement[Any, Any, Any]) -> frozenset[int]:
    """Return by identity the tests of a surface that are an earlier report's, and have a later one at their location.

    What they found stands in that report, and whether the later one settles it is judged by that.
    """
    made = _stated_before(view, surface) if kind.timed else []
    if not made:
        return frozenset()
    tests = list(zip(kind.entries_on(surface.record), _tests(view, surface.record, kind), strict=True))
    old = {id(test): known for test, one in tests if (known := _when_known(one, made)) is not None}
    new = [
        MadeAt(one.location, one.at or view.shift[0], timed=one.at is not None)
        for test, one in tests if id(test) not in old
    ]  # fmt: skip
    return frozenset(
        id(test) for test, one in tests
        if id(test) in old and any(each.location == one.location and old[id(test)].is_before(each) for each in new)
    )  # fmt: skip


def _when_known(one: SeriesEntry, made: Sequence[tuple[_Shift, list[SeriesEntry]]]) -> LastMade | None:
    """Return when an entry was made that an earlier report has: at that time, or in its shift; None where none has."""
    each = ((shift, other) for shift, entries in made for other in entries if other[:3] == one[:3])
    return next(filter(None, (_when_both(one.at, other.at, shift) for shift, other in each)), None)


def _when_both(at: dt.datetime | None, then: dt.datetime | None, shift: _Shift) -> LastMade | None:
    """Return when two entries that say the same were made as one, the second in a shift; None where they are two."""
    if at is None and then is None:
        return LastMade(None, shift[1])
    if then is None:
        return LastMade(at, None) if at is not None and shift[0] <= at <= shift[1] else None
    return LastMade(then, None) if at in (None, then) else None


def last_made(view: JobView, times: Sequence[MadeAt]) -> LastMade:
    """Return when entries of a report were made."""
    timed = [one.at for one in times if one.timed]
    return LastMade(max(timed, default=None), None if len(timed) == len(times) else view.shift[1])


def first_stated(view: JobView, surface: SurfaceView) -> Iterator[tuple[str, str | None, dt.datetime]]:
    """Yield series and location of each entry without a time, with the start of the shift whose report states it first.

    A report that gives the entry a time after the primer of the surface says that it is of no bare steel.
    """
    for series in dict.fromkeys(one.series for one in entries_on(view, surface.record, surface.readings)):
        yield from ((series, one.location, one.at) for one in moments(view, surface, series) if not one.timed)


def made_here(view: JobView, surface: SurfaceView) -> Iterator[tuple[str, str | None, dt.datetime]]:
    """Yield series, location and time of each entry made in the shift of a report, of one without a time its start."""
    stated = [one[:3] for _, entries in _stated_before(view, surface) for one in entries]
    for one in entries_on(view, surface.record, surface.readings):
        at = view.shift[0] if one.at is None else one.at
        if at >= view.shift[0] and (one.at is not None or one[:3] not in stated):
            yield one.series, one.location, at


def of_an_earlier_shift(view: JobView, surface: SurfaceView) -> Iterator[tuple[str, dt.datetime, JobView]]:
    """Yield series and time of each entry of the shift of an earlier report on its area, with that, if none has it.

    Who stood there then wrote down what was found: what passed and was left out enters a revision of that report.
    """
    theirs = [one.view for one in view.before if any(area.id == surface.record.area for area in one.view.areas)]
    stated = [one[:3] for _, entries in _stated_before(view, surface) for one in entries]
    for one in entries_on(view, surface.record, surface.readings):
        if one.at is not None and one.at < view.shift[0] and one[:3] not in stated:
            reports = (each for each in theirs if each.shift[0] <= one.at <= each.moment)
            yield from ((one.series, one.at, each) for each in islice(reports, 1))


def _stated_before(view: JobView, surface: SurfaceView) -> list[tuple[_Shift, list[SeriesEntry]]]:
    """Return what each earlier report states of the steel of a surface, with its shift."""
    every = (each for one in view.before for each in (*(replace(one, view=then) for then in one.replaced), one))
    return [
        (stood.view.shift, list(entries_on(stood.view, same.record, (*same.readings, *same.early))))
        for stood in every
        for same in stood.entries(surface)
    ]


def _is_again(one: SeriesEntry, other: SeriesEntry, surface: SurfaceView) -> bool:
    late = other.at is not None and surface.coated is not None and other.at > surface.coated
    return one[:3] == other[:3] and not late


def entries_on(view: JobView, record: Surface, readings: Sequence[Reading]) -> Iterator[SeriesEntry]:
    """Yield what was entered on a surface: its readings, then its visual comparisons, grades and tests."""
    profile = record.profile
    gauge = getattr(profile, "gauge", None)
    for one in readings:
        yield SeriesEntry(
            "reading", one.location, (_said(one), gauge), None if one.time is None else view.at_text(one.time)
        )
    for row in profile.comparator if profile is not None else ():
        yield SeriesEntry("comparison", row.location, (row.grade, gauge), None)
    for kind in (*OF_A_SURFACE, *TESTS):
        yield from _tests(view, record, kind)


def _tests(view: JobView, record: Surface, kind: Measurement[Any, Any, Any]) -> Iterator[SeriesEntry]:
    for test in kind.entries_on(record) if kind.timed else ():
        says = {name: value for name, value in vars(test).items() if name not in ("time", "confirmed")}
        at = None if test.time is None else view.at(test.time)
        yield SeriesEntry(kind.key, says.get("location"), says, at)


def _said(reading: Reading) -> Reading:
    return replace(reading, time=None, line=0, confirmed=False)
