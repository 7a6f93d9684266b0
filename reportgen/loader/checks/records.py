"""Entries of the day file that speak about each other: findings, nonconformances, walk-outs, changes of the process."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.errors import RangeError
from reportgen.loader.earlier import is_higher
from reportgen.loader.sheets import entries_of, meant_or
from reportgen.measurements import CODES

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from reportgen.job import Clock, Job, Nonconformance, Surface
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
    """Note a second blasting of what neither an entry above nor an earlier report has."""
    for index, surface in enumerate(sheets.day.surfaces):
        before = [*sheets.day.surfaces[:index], *(one for job in earlier for one in job.day.surfaces)]
        used = list(dict.fromkeys(one.apparatus for one in before if one.area == surface.area))
        there_are = "there are " + ", ".join(f"`{one}`" for one in used)
        for number, name in enumerate(surface.blasted_again):
            if name not in used:
                message = f"no entry above, and no earlier report, blasts area `{surface.area}` with `{name}`"
                help_text = meant_or(name, used, there_are if used else "enter first what was blasted first")
                part: Loc = ("surfaces", index, "blasted_again")
                sheets.absent(part, (*part, number), name, ("JOB245", message, help_text))


def _check_order(sheets: Sheets, index: int, surface: Surface) -> None:
    """Refuse a second blasting that began before the first, in an entry above, had ended."""
    begin = _instant(sheets, surface.blasted.start)
    ended = [
        (one, _instant(sheets, one.blasted.end)) for one in sheets.day.surfaces[:index] if one.area == surface.area
    ]
    for number, name in enumerate(surface.blasted_again):
        if begin and any(one.apparatus == name and end and begin < end for one, end in ended):
            message = f"this blasting begins at {surface.blasted.start:%H:%M}, before the first one of `{name}` ended"
            loc = ("surfaces", index, "blasted_again", number)
            sheets.refuse(loc, "JOB222", message, "check the times of both entries")


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
    sheets: Sheets, earlier: Sequence[Job], revisions: Sequence[Job], not_earlier: Mapping[str, str]
) -> None:
    """Refuse a number that belongs to another area, and a re-inspection of what was not raised, or elsewhere.

    ``revisions`` are the earlier days in every revision there is, ``earlier`` those that count;
    ``not_earlier`` says of what another file of the folder raises why that file is no earlier day.
    """
    raised: dict[str, tuple[str | None, str]] = {}
    for day in (*(job.day for job in earlier), sheets.day):
        for one in day.nonconformances:
            raised.setdefault(one.id, (one.area, day.report.number))
    begun = {str(one.get("id", "")).strip() for one in entries_of(sheets.written.data.get("nonconformances"))}
    _check_numbers(sheets, raised)
    _check_carried(sheets, earlier)
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


def _check_carried(sheets: Sheets, earlier: Sequence[Job]) -> None:
    """Refuse a nonconformance that is no longer what it was raised against, or by which report."""
    first: dict[tuple[str, str | None], tuple[Nonconformance, str]] = {}
    for report, one in ((job.day.report.number, one) for job in earlier for one in job.day.nonconformances):
        first.setdefault((one.id, one.area), (one, one.raised_in or report))
    numbers = {job.day.report.number for job in earlier}
    for index, one in enumerate(sheets.day.nonconformances):
        loc: Loc = ("nonconformances", index)
        before, report = first.get((one.id, one.area), (None, ""))
        if before is not None and set(one.findings) != set(before.findings):
            listed = ", ".join(before.findings)
            message = f"nonconformance `{one.id}` was raised in {report} against {listed}"
            help_text = f"write `findings: [{listed}]`; raise what was found since under a number of its own"
            sheets.refuse((*loc, "findings"), "JOB247", message, help_text)
        if before is not None and one.raised_in not in (None, report):
            message = f"nonconformance `{one.id}` was raised in {report}, not in {one.raised_in}"
            sheets.refuse((*loc, "raised_in"), "JOB247", message, f"write `raised_in: {report}`")
        elif before is None and (one.raised_in in numbers or is_higher(str(one.raised_in), sheets.day.report.number)):
            message = f"{one.raised_in} does not raise nonconformance `{one.id}`"
            help_text = "leave `raised_in` out where this report raises it; else correct the number"
            sheets.refuse((*loc, "raised_in"), "JOB247", message, help_text)


def _belongs(area: str | None) -> str:
    return "is one of the whole report" if area is None else f"belongs to area `{area}`"


def _not_raised(
    name: str, raised: Collection[str], earlier: Sequence[Job], revisions: Sequence[Job]
) -> tuple[str, str]:
    """Say that nothing raises a nonconformance, or which later revision left it out."""
    counting = {job.day.report.number: job.day.report.revision for job in earlier}
    for report in (job.day.report for job in revisions if name in {one.id for one in job.day.nonconformances}):
        latest = counting[report.number]
        message = f"nonconformance `{name}` of {report.number} revision {report.revision} is not in revision {latest}"
        return message, "leave it out here, or raise it again in that revision"
    listed = ", ".join(f"`{known}`" for known in sorted(raised))
    known = f"known are {listed}" if listed else "the day file that raised it must be in this folder"
    return f"no day file raises nonconformance `{name}`", meant_or(name, raised, known)


def _elsewhere(name: str, area: str, raised: Mapping[str, tuple[str | None, str]]) -> tuple[str, str]:
    """Say whose a nonconformance is, and which are those of this area."""
    own, report = raised[name]
    message = f"nonconformance `{name}` {_belongs(own)}, raised in {report}, not to `{area}`"
    here = [f"`{known}`" for known, (place, _) in raised.items() if place in (None, area)]
    return message, f"only a re-inspection of `{own}` closes it" + (
        f"; here may stand {', '.join(here)}" if here else ""
    )
