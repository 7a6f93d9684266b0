"""Clock times: each an instant of the shift's day, logs in their order, blasting before coating."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from reportgen.diagnostics import Phrase
from reportgen.errors import QuantityError, RangeError
from reportgen.job import parse_clock
from reportgen.measurements import LOGS, OF_A_SURFACE, TESTS
from reportgen.names import spelt_alike

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from reportgen.diagnostics import Span
    from reportgen.job import Clock, Job, Surface
    from reportgen.loader.rows import SurfaceRows
    from reportgen.loader.sheets import Loc, Sheets

_FAR = dt.timedelta(days=2)
_ENTERED: Loc = ("report", "entered")
"""A sheet may be entered days later."""
_LOGS = {
    "gauge_checks": ("gauge",),
    "tape_checks": ("roll",),
    "function_checks": ("instrument",),
    **{kind.day_key: kind.series for kind in LOGS},
}
"""Logs of the day and what tells their series apart: each series is written in the order of its times."""

_SMALL_HOURS = 5
"""Until when a clock time may be one of the night after a day shift."""
_AHEAD = "correct the time; what is still to come, leave out: it goes into a revision or the next report"


def check_times(sheets: Sheets) -> None:
    """Refuse a shift that is none, and times that do not exist."""
    shift = sheets.day.report.shift
    for name, clock in (("start", shift.start), ("end", shift.end)):
        if isinstance(clock, dt.datetime):
            help_text = "write `HH:MM`; a shift past midnight ends before it starts"
            sheets.refuse(("report", "shift", name), "JOB224", "a shift has clock times without a date", help_text)
    if shift.start == shift.end:
        sheets.refuse(("report", "shift", "end"), "JOB224", "the shift ends when it starts", "state start and end")
        return
    if sheets.clock is None:
        return
    for loc, clock in _clocks(sheets):
        try:
            sheets.clock.instant(clock)
        except RangeError as failure:
            sheets.refuse(loc, "JOB220", failure.message, failure.help_text)


def check_days(sheets: Sheets, earlier: Sequence[Job] | None) -> None:
    """Refuse times that lie far from the shift, or are in the wrong order.

    Steel blasted longer ago is entered again as the report of its blasting, one of the ``earlier``, has it: its times
    since, and what the logs held on those days, are not far. Where the earlier reports are not at hand, as for one of
    them itself, it is believed that they have it.
    """
    if sheets.clock is None or sheets.day.report.shift.start == sheets.day.report.shift.end:
        return
    instants = {loc: at for loc, clock in _clocks(sheets) if (at := _silently(sheets, clock)) is not None}
    for loc in list(_unknown_days(sheets, instants, earlier)):
        message = f"{instants.pop(loc):%Y-%m-%d} is not the day of the report, {sheets.clock.date}"
        sheets.refuse(loc, "JOB221", message, _where_it_belongs(sheets, loc, earlier or ()))
    for log, series in _LOGS.items():
        _check_log(sheets, log, series, instants)
    _check_surfaces(sheets, instants)


def _clocks(sheets: Sheets) -> Iterator[tuple[Loc, Clock]]:
    day = sheets.day
    yield ("report", "shift", "start"), day.report.shift.start
    yield ("report", "shift", "end"), day.report.shift.end
    for log in _LOGS:
        for index, entry in enumerate(getattr(day, log)):
            yield (log, index, "time"), entry.time
    if day.report.entered is not None:
        yield _ENTERED, day.report.entered
    for index, point in enumerate(day.hold_points):
        for name in ("asked", "released", "refused"):
            if getattr(point, name) is not None:
                yield ("hold_points", index, name), getattr(point, name)
    for index, told in enumerate(day.told_released):
        yield ("told_released", index, "time"), told.time
    for index, surface in enumerate(day.surfaces):
        yield from _clocks_of_surface(("surfaces", index), surface)


def _clocks_of_surface(place: Loc, surface: Surface) -> Iterator[tuple[Loc, Clock]]:
    yield (*place, "blasted", "start"), surface.blasted.start
    yield (*place, "blasted", "end"), surface.blasted.end
    if surface.oil_test is not None and surface.oil_test.time is not None:
        yield (*place, "oil_test", "time"), surface.oil_test.time
    if surface.comparison is not None and surface.comparison.time is not None:
        yield (*place, "comparison", "time"), surface.comparison.time
    for name in ("washed", "dust_removed", "coated"):
        if getattr(surface, name) is not None:
            yield (*place, name), getattr(surface, name)
    for kind in OF_A_SURFACE:
        yield from (
            ((*place, kind.key, "time"), entry.time)
            for entry in kind.entries_on(surface)
            if kind.timed and entry.time is not None
        )
    for block in (*(kind.key for kind in TESTS if kind.timed), "photos", "process_changes"):
        for number, entry in enumerate(getattr(surface, block)):
            if entry.time is not None:
                yield (*place, block, number, "time"), entry.time


def _unknown_days(
    sheets: Sheets, instants: Mapping[Loc, dt.datetime], earlier: Sequence[Job] | None
) -> Iterator[Loc]:  # fmt: skip
    """Yield where a time on a far day stands that is of no steel entered again, nor of a day of such steel."""
    assert sheets.clock is not None  # noqa: S101 - the caller checked
    old = {index: instants[_blasting(index)[0]] for index in _entered_again(sheets, instants, earlier)}
    days = {instants[loc].date() for index in old for loc in _blasting(index) if loc in instants}
    far = {loc: at for loc, at in instants.items() if loc != _ENTERED and _is_far(sheets, at)}
    for loc, at in far.items():
        known = _since(loc, old, at) if loc[0] == "surfaces" else at.date() in days
        if not known or at.date() > sheets.clock.date:
            yield loc


def _since(loc: Loc, old: Mapping[int, dt.datetime], at: dt.datetime) -> bool:
    """Whether a time is of steel entered again, and not before its blasting."""
    return any(loc[1] == index and began <= at for index, began in old.items())


def _is_far(sheets: Sheets, at: dt.datetime) -> bool:
    assert sheets.clock is not None  # noqa: S101 - the caller checked
    return abs(at.date() - sheets.clock.date) > _FAR


def _blasting(index: int) -> tuple[Loc, Loc, Loc]:
    place: Loc = ("surfaces", index)
    return (*place, "blasted", "start"), (*place, "blasted", "end"), (*place, "coated")


def _entered_again(
    sheets: Sheets, instants: Mapping[Loc, dt.datetime], earlier: Sequence[Job] | None
) -> Iterator[int]:  # fmt: skip
    """Yield the entries of steel blasted long ago that an earlier report has with the same apparatus and times."""
    for index, surface in enumerate(sheets.day.surfaces):
        start, end = (instants.get(loc) for loc in _blasting(index)[:2])
        if start is None or end is None or not (_is_far(sheets, start) or _is_far(sheets, end)):
            continue
        if earlier is None or any((start, end) == times for _, times in _blasted_by(surface, earlier)):
            yield index


def _blasted_by(
    surface: Surface, earlier: Sequence[Job]
) -> Iterator[tuple[Job, tuple[dt.datetime, dt.datetime]]]:  # fmt: skip
    """Yield what the apparatus of an entry blasted on its area by earlier reports, from when to when."""
    for job in earlier:
        for one in job.day.surfaces:
            if one.area == surface.area and spelt_alike(one.apparatus, surface.apparatus):
                yield job, (job.clock.instant(one.blasted.start), job.clock.instant(one.blasted.end))


def _where_it_belongs(sheets: Sheets, loc: Loc, earlier: Sequence[Job]) -> str:
    """Return what to write in the place of a time on a far day: as it was, or nothing; never another day."""
    if loc[0] != "surfaces" or not isinstance(loc[1], int):
        return "correct the date if it is wrong; what was on another day belongs in the report of that day"
    told = "steel of an earlier report is entered with the apparatus and the times of its blasting as that has them"
    surface = sheets.day.surfaces[loc[1]]
    stated = list(_blasted_by(surface, earlier))
    if stated:
        job, times = stated[-1]
        start, end = (f"`{at.isoformat(timespec='minutes')}`" for at in times)
        told += f": {job.day.report.number} has {start} to {end} for `{surface.apparatus}`"
    return f"correct the date if it is wrong; {told}"


def _check_log(sheets: Sheets, log: str, series: tuple[str, ...], instants: dict[Loc, dt.datetime]) -> None:
    last: dict[str, tuple[dt.datetime, Clock]] = {}
    for index, entry in enumerate(getattr(sheets.day, log)):
        at = instants.get((log, index, "time"))
        if at is None:
            continue
        name = _named(getattr(entry, field) for field in series)
        if name in last and at < last[name][0]:
            pattern = "{time} at `{name}` comes after {before}" if name else "{time} comes after {before}"
            message = Phrase(pattern, time=f"{entry.time:%H:%M}", name=name, before=f"{last[name][1]:%H:%M}")
            in_order = "write the entries in the order of their times"
            help_text = _or_next_day(in_order, sheets, entry.time, last[name][0])
            sheets.refuse((log, index, "time"), "JOB222", message, help_text)
        last[name] = (at, entry.time)


def _named(parts: Iterable[str | list[str] | None]) -> str:
    """Name a series by what tells it apart; nothing where its entries say nothing of it."""
    return ", ".join(", ".join(part) if isinstance(part, list) else part for part in parts if part)


def _check_surfaces(sheets: Sheets, instants: dict[Loc, dt.datetime]) -> None:
    for index, surface in enumerate(sheets.day.surfaces):
        place: Loc = ("surfaces", index)
        if not surface.steel_known:
            continue
        start, end = (instants.get((*place, "blasted", name)) for name in ("start", "end"))
        coated = instants.get((*place, "coated"))
        blasted = surface.blasted
        check = "check the two times"
        if start and end and end <= start:
            message = ends_too_early(f"{blasted.end:%H:%M}", f"{blasted.start:%H:%M}")
            help_text = _or_next_day(check, sheets, blasted.end, start)
            sheets.refuse((*place, "blasted", "end"), "JOB222", message, help_text)
        if coated and end and coated < end:
            pattern = "coated at {coated}, before blasting ended at {end}"
            message = Phrase(pattern, coated=f"{surface.coated:%H:%M}", end=f"{blasted.end:%H:%M}")
            sheets.refuse((*place, "coated"), "JOB222", message, _or_next_day(check, sheets, surface.coated, end))


def ends_too_early(end: str, start: str) -> Phrase:
    """Return what is wrong with blasting that ends no later than it starts."""
    return Phrase("blasting ends at {end}, not after its start at {start}", end=end, start=start)


def _or_next_day(remedy: str, sheets: Sheets, clock: Clock | str | None, after: dt.datetime) -> str:
    """Return a remedy, with how to write a clock time that may be meant for the day after."""
    if sheets.clock is None or clock is None:
        return remedy
    time = parse_clock(clock) if isinstance(clock, str) else clock
    if isinstance(time, dt.datetime) or time.hour >= _SMALL_HOURS:
        return remedy
    day = sheets.clock.date + dt.timedelta(days=1)
    at = dt.datetime.combine(day, time, ZoneInfo(sheets.clock.zone))
    if at <= after:
        return remedy
    pattern = "{remedy}; past midnight write date and offset, as `{at}`"
    return Phrase(pattern, remedy=remedy, at=at.isoformat(timespec="minutes"))


def check_reading_times(sheets: Sheets, rows: Sequence[SurfaceRows | None]) -> None:
    """Readings stand in the order taken: a time before the one above it is a mistake in one of the two."""
    if sheets.clock is None:
        return
    for surface in rows:
        if surface is not None:
            _check_order(sheets, surface)


def _check_order(sheets: Sheets, surface: SurfaceRows) -> None:
    known: dict[str, dt.datetime | None] = {}
    last: tuple[dt.datetime, str] | None = None
    for row in surface.rows:
        if row.time is None:
            continue
        if row.time not in known:
            known[row.time] = _reading_instant(sheets, row.time, surface.span(row, "time"))
        at = known[row.time]
        if at is None:
            continue
        if last is not None and at < last[0]:
            message = Phrase("{time} comes after {before} in the row before", time=row.time, before=last[1])
            help_text = _or_next_day("write the readings in the order taken", sheets, row.time, last[0])
            sheets.found.at(surface.span(row, "time"), "JOB222", message, help_text)
        last = (at, row.time)


def _reading_instant(sheets: Sheets, text: str, place: Span) -> dt.datetime | None:
    """Return the instant of a reading's time; what is wrong with it is said once, where it first stands."""
    assert sheets.clock is not None  # noqa: S101 - the caller checked
    try:
        return sheets.clock.instant(parse_clock(text))
    except QuantityError as failure:
        sheets.found.at(place, "JOB125", failure.message, failure.help_text)
    except RangeError as failure:
        sheets.found.at(place, "JOB220", failure.message, failure.help_text)
    return None


def check_not_ahead(sheets: Sheets, rows: Sequence[SurfaceRows | None], moment: dt.datetime) -> None:
    """Refuse every recorded time after ``moment``, an aware instant: nobody can sign for what has not happened.

    Only the end of the shift may lie ahead: it is a plan.
    """
    if sheets.clock is None:
        return
    begin = _silently(sheets, sheets.day.report.shift.start)
    if begin is not None and begin > moment:
        message = f"the shift begins at {begin:%H:%M on %Y-%m-%d}, {_after(moment, begin)}"
        sheets.refuse(("report", "date"), "JOB226", message, "correct the date, or issue when the shift has been")
        return
    for loc, clock in _clocks(sheets):
        if loc != ("report", "shift", "end"):
            _refuse_ahead(sheets, clock, moment, sheets.place(loc))
    for surface in (one for one in rows if one is not None):
        first = {row.time: row for row in reversed(surface.rows) if row.time is not None}
        for text, row in first.items():
            _refuse_ahead(sheets, text, moment, surface.span(row, "time"))


def _refuse_ahead(sheets: Sheets, clock: Clock | str, moment: dt.datetime, place: Span) -> None:
    at = _silently(sheets, clock)
    if at is not None and at > moment:
        sheets.found.at(place, "JOB226", f"{at:%H:%M on %Y-%m-%d} lies {_after(moment, at)}", _AHEAD)


def _silently(sheets: Sheets, clock: Clock | str) -> dt.datetime | None:
    """Return the instant of a time; None for one that is refused elsewhere."""
    assert sheets.clock is not None  # noqa: S101 - the caller checked
    try:
        return sheets.clock.instant(parse_clock(clock) if isinstance(clock, str) else clock)
    except (QuantityError, RangeError):
        return None


def _after(moment: dt.datetime, at: dt.datetime) -> str:
    return f"after the moment of issue, {moment.astimezone(at.tzinfo):%H:%M on %Y-%m-%d}"
