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
    from collections.abc import Iterator

    from reportgen.job import Reading
    from reportgen.rules.scene import JobView, SurfaceView


class _Entry(NamedTuple):
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


def first_stated(view: JobView, surface: SurfaceView) -> Iterator[tuple[str, str | None, dt.datetime]]:
    """Yield series and location of each entry without a time, with the start of the shift whose report states it first.

    A report that gives the entry a time after the primer of the surface says that it is of no bare steel.
    """
    earlier = _stated_before(view, surface)
    for one in _entries(view, surface):
        if one.at is None:
            stated = (start for start, entries in earlier if any(_is_again(one, other, surface) for other in entries))
            yield one.series, one.location, min([view.shift[0], *stated])


def made_here(view: JobView, surface: SurfaceView) -> Iterator[tuple[str, str | None, dt.datetime]]:
    """Yield series, location and time of each entry made in the shift of a report, of one without a time its start."""
    stated = [one[:3] for _, entries in _stated_before(view, surface) for one in entries]
    for one in _entries(view, surface):
        at = view.shift[0] if one.at is None else one.at
        if at >= view.shift[0] and (one.at is not None or one[:3] not in stated):
            yield one.series, one.location, at


def of_an_earlier_shift(view: JobView, surface: SurfaceView) -> Iterator[tuple[str, dt.datetime, JobView]]:
    """Yield series and time of each entry of the shift of an earlier report on its area, with that, if none has it.

    Who stood there then wrote down what was found: what passed and was left out enters a revision of that report.
    """
    theirs = [one.view for one in view.before if any(area.id == surface.record.area for area in one.view.areas)]
    stated = [one[:3] for _, entries in _stated_before(view, surface) for one in entries]
    for one in _entries(view, surface):
        if one.at is not None and one.at < view.shift[0] and one[:3] not in stated:
            reports = (each for each in theirs if each.shift[0] <= one.at <= each.moment)
            yield from ((one.series, one.at, each) for each in islice(reports, 1))


def _stated_before(view: JobView, surface: SurfaceView) -> list[tuple[dt.datetime, list[_Entry]]]:
    """Return what each earlier report states of the steel of a surface, with the beginning of its shift."""
    return [
        (stood.view.shift[0], list(_entries(stood.view, same)))
        for stood in view.before
        for same in stood.entries(surface)
    ]


def _is_again(one: _Entry, other: _Entry, surface: SurfaceView) -> bool:
    late = other.at is not None and surface.coated is not None and other.at > surface.coated
    return one[:3] == other[:3] and not late


def _entries(view: JobView, surface: SurfaceView) -> Iterator[_Entry]:
    profile = surface.record.profile
    for one in surface.readings:
        yield _Entry("reading", one.location, _said(one), None if one.time is None else view.at_text(one.time))
    for row in profile.comparator if profile is not None else ():
        yield _Entry("comparison", row.location, row.grade, None)
    for kind in (*OF_A_SURFACE, *TESTS):
        for test in kind.entries_on(surface.record) if kind.timed else ():
            says = {name: value for name, value in vars(test).items() if name not in ("time", "confirmed")}
            at = None if test.time is None else view.at(test.time)
            yield _Entry(kind.key, says.get("location"), says, at)


def _said(reading: Reading) -> Reading:
    return replace(reading, time=None, line=0, confirmed=False)
