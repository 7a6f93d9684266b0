"""Entries of the day file that speak about each other: findings, nonconformances, walk-outs, changes of the process."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.diagnostics import Phrase, known_are
from reportgen.errors import RangeError
from reportgen.loader.earlier import is_higher
from reportgen.loader.sheets import entries_of, meant_or
from reportgen.measurements import CODES
from reportgen.names import full_title

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Collection, Iterator, Mapping, Sequence

    from reportgen.job import Clock, Job, Surface
    from reportgen.loader.rows import SurfaceRows
    from reportgen.loader.sheets import Loc, Sheets


def check_records(sheets: Sheets, rows: Sequence[SurfaceRows | None]) -> None:
    """Refuse a finding code that does not exist; note a location that was not measured where one must have been."""
    _check_findings(sheets)
    for index, (surface, surface_rows) in enumerate(zip(sheets.day.surfaces, rows, strict=True)):
        _check_order(sheets, index, surface)
        measured = {row.location for row in surface_rows.rows} if surface_rows is not None else set()
        # where its file could not be read, that has been said
        wanted = _locations(surface, ("surfaces", index)) if surface_rows is not None or surface.profile is None else ()
        for part, place, location, what in (one for one in wanted if one[2] not in measured):
            help_text = meant_or(location, measured, "add its readings, or correct the name")
            message = f"{what} `{location}` has no readings in area `{surface.area}`"
            sheets.absent(part, place, location, ("JOB240", message, help_text))


def check_blasted_again(sheets: Sheets, earlier: Sequence[Job]) -> None:
    """Note a second blasting of what neither another entry nor an earlier report has; refuse one of what came later."""
    for index, surface in enumerate(sheets.day.surfaces):
        before = [one for job in earlier for one in job.day.surfaces if one.area == surface.area]
        for number, name in enumerate(surface.blasted_again):
            _check_named(sheets, ("surfaces", index, "blasted_again"), number, name, before)


def _check_named(sheets: Sheets, part: Loc, number: int, name: str, before: Sequence[Surface]) -> None:
    index = int(part[1])
    surface, others = sheets.day.surfaces[index], _others(sheets, index)
    used = list(dict.fromkeys(one.apparatus for one in (*others, *before)))
    if name not in used:
        there_are = "there are " + ", ".join(f"`{one}`" for one in used)
        message = f"no other entry, and no earlier report, blasts area `{surface.area}` with `{name}`"
        help_text = meant_or(name, used, there_are if used else "enter first what was blasted first")
        sheets.absent(part, (*part, number), name, ("JOB245", message, help_text))
    elif all(one.apparatus != name for one in before):
        _check_later(sheets, (*part, number), surface, [one for one in others if one.apparatus == name])


def _others(sheets: Sheets, index: int) -> list[Surface]:
    """Return the other entries of the area of one."""
    surfaces = sheets.day.surfaces
    return [one for at, one in enumerate(surfaces) if at != index and one.area == surfaces[index].area]


def _check_later(sheets: Sheets, loc: Loc, surface: Surface, first: Sequence[Surface]) -> None:
    """Refuse a second blasting where all that it may be of was blasted after it."""
    begin, began = _instant(sheets, surface.blasted.start), [_instant(sheets, one.blasted.start) for one in first]
    if begin is not None and all(one is not None and one >= begin for one in began):
        _refuse_order(sheets, loc, surface, first[0])


def _check_order(sheets: Sheets, index: int, surface: Surface) -> None:
    """Refuse a second blasting that began while the first went on, wherever in the file that stands."""
    begin, ended = _instant(sheets, surface.blasted.start), _instant(sheets, surface.blasted.end)
    times = [
        (one, _instant(sheets, one.blasted.start), _instant(sheets, one.blasted.end)) for one in _others(sheets, index)
    ]
    for number, name in enumerate(surface.blasted_again):
        across = (
            one for one, start, end in times
            if one.apparatus == name and begin and ended and start and end and start < ended and begin < end
        )  # fmt: skip
        if (first := next(across, None)) is not None:
            _refuse_order(sheets, ("surfaces", index, "blasted_again", number), surface, first)


def _refuse_order(sheets: Sheets, loc: Loc, surface: Surface, first: Surface) -> None:
    start, end = (clock.isoformat(timespec="minutes") for clock in (first.blasted.start, first.blasted.end))
    begin = surface.blasted.start.isoformat(timespec="minutes")
    message = (
        f"this entry says that it blasted again what `{first.apparatus}` blasted from {start} to {end}, "
        f"and its own blasting began at {begin}, before that had ended"
    )
    help_text = (
        f"write when this steel was blasted again, from {end} on; or leave out `{first.apparatus}` here, "
        "if this is other steel, and write it in the entry that was blasted later"
    )
    sheets.refuse(loc, "JOB222", message, help_text)


def _instant(sheets: Sheets, clock: Clock) -> dt.datetime | None:
    if sheets.clock is None:
        return None
    try:
        return sheets.clock.instant(clock)
    except RangeError:  # a time that never was, which is said elsewhere
        return None


def _locations(surface: Surface, place: Loc) -> Iterator[tuple[Loc, Loc, str, str]]:
    """Yield the entry that speaks of a location, the place where it does, the name of the location and what it is."""
    for number, walk in enumerate(surface.profile.walk_outs if surface.profile is not None else ()):
        walk_place = (*place, "profile", "walk_outs", number)
        yield walk_place, (*walk_place, "failing"), walk.failing, "the failing location"
        for which, direction in enumerate(walk.directions):
            for position, location in enumerate(direction.locations):
                loc = (*walk_place, "directions", which, "locations", position)
                yield walk_place, loc, location, "the walk-out location"
    for number, change in enumerate(surface.process_changes):
        changed = (*place, "process_changes", number)
        for side in ("before", "after"):
            yield changed, (*changed, side), getattr(change, side), "the location"


def _check_findings(sheets: Sheets) -> None:
    for index, raised in enumerate(sheets.day.nonconformances):
        for number, code in enumerate(raised.findings):
            if code not in CODES:
                help_text = meant_or(code, CODES, "`reportgen check` lists the findings by code")
                loc = ("nonconformances", index, "findings", number)
                sheets.refuse(loc, "JOB241", f"`{code}` is not a finding code", help_text)


def check_nonconformances(
    sheets: Sheets, earlier: Sequence[Job], revisions: Sequence[Job], not_earlier: Mapping[str, str],
    later: Callable[[str], str | None],
) -> None:  # fmt: skip
    """Refuse a number that belongs to another area, and a re-inspection of what was not raised, or elsewhere.

    ``revisions`` are the earlier days in every revision there is, ``earlier`` those that count;
    ``not_earlier`` says of what another file of the folder raises why that file is no earlier day, ``later`` that of
    a report number where that is of a later date.
    """
    raised: dict[str, tuple[str | None, str]] = {}
    for day in (*(job.day for job in earlier), sheets.day):
        for one in day.nonconformances:
            raised.setdefault(one.id, (one.area, day.report.number))
    begun = {str(one.get("id", "")).strip() for one in entries_of(sheets.written.data.get("nonconformances"))}
    _check_numbers(sheets, raised)
    _check_carried(sheets, earlier, later)
    for index, surface in enumerate(sheets.day.surfaces):
        for number, name in enumerate(surface.reinspects):
            loc = ("surfaces", index, "reinspects", number)
            if name not in raised and name in not_earlier:
                message = f"no earlier day file raises nonconformance `{name}`"
                sheets.refuse(loc, "JOB242", message, not_earlier[name])
            elif name not in raised and name in begun:
                message = f"nonconformance `{name}` is still to be filled in"
                sheets.absent(loc[:-1], loc, name, ("JOB242", message, "fill in what it lacks"))
            elif name not in raised:
                sheets.refuse(loc, "JOB242", *_not_raised(name, raised, earlier, revisions))
            elif raised[name][0] not in (None, surface.area):
                sheets.refuse(loc, "JOB243", *_elsewhere(name, surface.area, raised))


def _check_numbers(sheets: Sheets, raised: Mapping[str, tuple[str | None, str]]) -> None:
    for index, one in enumerate(sheets.day.nonconformances):
        area, report = raised[one.id]
        if one.area != area and report != sheets.day.report.number:
            message = f"nonconformance `{one.id}` {_belongs(area)}, raised in {report}"
            help_text = "give what is new a number of its own; a nonconformance keeps its area until it is closed"
            sheets.refuse(("nonconformances", index, "id"), "JOB244", message, help_text)


def _check_carried(sheets: Sheets, earlier: Sequence[Job], later: Callable[[str], str | None]) -> None:
    """Refuse a nonconformance that is no longer what it was raised against, or by which report."""
    first = {
        (one.id, one.area): (one, one.raised_in or job.day.report.number)
        for job in reversed(earlier) for one in job.day.nonconformances
    }  # fmt: skip
    own, numbers = sheets.day.report.number, {job.day.report.number for job in earlier}
    for index, one in enumerate(sheets.day.nonconformances):
        loc: Loc = ("nonconformances", index)
        before, report = first.get((one.id, one.area), (one, own))  # what is new is as it stands
        if set(one.findings) != set(before.findings):
            listed = ", ".join(before.findings)
            message = f"nonconformance `{one.id}` was raised in {report} against {listed}"
            help_text = f"write `findings: [{listed}]`; raise what was found since under a number of its own"
            sheets.refuse((*loc, "findings"), "JOB247", message, help_text)
        if one.raised_in is None or one.raised_in == report:
            continue
        stated = str(one.raised_in)
        if before is not one:
            message = f"nonconformance `{one.id}` was raised in {report}, not in {stated}"
            sheets.refuse((*loc, "raised_in"), "JOB247", message, f"write `raised_in: {report}`")
        elif stated in numbers or is_higher(stated, own):
            message = f"{stated} does not raise nonconformance `{one.id}`"
            help_text = "leave `raised_in` out where this report raises it; else correct the number"
            sheets.refuse((*loc, "raised_in"), "JOB247", message, help_text)
        elif (why := later(stated)) is not None:
            message = f"{stated}, which is said to raise nonconformance `{one.id}`, is no earlier report"
            sheets.refuse((*loc, "raised_in"), "JOB247", message, why)


def _belongs(area: str | None) -> str:
    return "is one of the whole report" if area is None else f"belongs to area `{area}`"


def _not_raised(
    name: str, raised: Collection[str], earlier: Sequence[Job], revisions: Sequence[Job]
) -> tuple[str, str]:
    """Say that nothing raises a nonconformance, or which later revision left it out."""
    counting = {job.day.report.number: job.day.report.revision for job in earlier}
    for report in (job.day.report for job in revisions if name in {one.id for one in job.day.nonconformances}):
        latest = counting[report.number]
        message = f"nonconformance `{name}` of {full_title(report)} is not in revision {latest}"
        return message, "leave it out here, or raise it again in that revision"
    known = known_are(sorted(raised)) if raised else "the day file that raised it must be in this folder"
    return Phrase("no day file raises nonconformance `{name}`", name=name), meant_or(name, raised, known)


def _elsewhere(name: str, area: str, raised: Mapping[str, tuple[str | None, str]]) -> tuple[str, str]:
    """Say whose a nonconformance is, and which are those of this area."""
    own, report = raised[name]
    message = f"nonconformance `{name}` {_belongs(own)}, raised in {report}, not to `{area}`"
    here = [f"`{known}`" for known, (place, _) in raised.items() if place in (None, area)]
    return message, f"only a re-inspection of `{own}` closes it" + (
        f"; here may stand {', '.join(here)}" if here else ""
    )
