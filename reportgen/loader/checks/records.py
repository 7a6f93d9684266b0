"""Entries of the day file that speak about each other: findings, nonconformances, walk-outs, changes of the process."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.diagnostics import closest
from reportgen.errors import RangeError
from reportgen.results import FINDING_CODES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from reportgen.job import Surface
    from reportgen.loader.rows import SurfaceRows
    from reportgen.loader.sheets import Loc, Sheets


def check_records(sheets: Sheets, rows: Sequence[SurfaceRows | None]) -> None:
    """Refuse a finding code that does not exist, and a location that was not measured where one must have been."""
    _check_findings(sheets)
    for index, surface in enumerate(sheets.day.surfaces):
        _check_blasted_again(sheets, index, surface)
        surface_rows = rows[index]
        measured = {row.location for row in surface_rows.rows} if surface_rows is not None else set()
        if surface_rows is None and surface.profile is not None:
            continue  # its file could not be read, which has been said
        for loc, location, what in _locations(surface, ("surfaces", index)):
            if location not in measured:
                meant = closest(location, measured)
                help_text = f"did you mean `{meant}`?" if meant else "add its readings, or correct the name"
                sheets.refuse(loc, "JOB240", f"{what} `{location}` has no readings in area `{surface.area}`", help_text)


def _check_blasted_again(sheets: Sheets, index: int, surface: Surface) -> None:
    """Refuse a second blasting of what no entry above has, or that began before the first had ended."""
    above = [one for one in sheets.day.surfaces[:index] if one.area == surface.area]
    for number, name in enumerate(surface.blasted_again):
        loc = ("surfaces", index, "blasted_again", number)
        before = [one for one in above if one.apparatus == name]
        if not before:
            message = f"no entry above blasts area `{surface.area}` with `{name}`"
            used = list(dict.fromkeys(one.apparatus for one in above))
            meant = closest(name, used)
            known = "above are " + ", ".join(f"`{one}`" for one in used) if used else ""
            help_text = f"did you mean `{meant}`?" if meant else known or "enter first what was blasted first"
            sheets.refuse(loc, "JOB243", message, help_text)
        elif any(_begins_before(sheets, surface, one) for one in before):
            message = f"this blasting begins at {surface.blasted.start:%H:%M}, before the first one of `{name}` ended"
            sheets.refuse(loc, "JOB222", message, "check the times of both entries")


def _begins_before(sheets: Sheets, surface: Surface, before: Surface) -> bool:
    if sheets.clock is None:
        return False
    try:
        return sheets.clock.instant(surface.blasted.start) < sheets.clock.instant(before.blasted.end)
    except RangeError:  # a time that never was, which is said elsewhere
        return False


def _locations(surface: Surface, place: Loc) -> Iterator[tuple[Loc, str, str]]:
    if surface.profile is not None:
        for number, walk in enumerate(surface.profile.walk_outs):
            walk_place = (*place, "profile", "walk_outs", number)
            yield (*walk_place, "failing"), walk.failing, "the failing location"
            for which, direction in enumerate(walk.directions):
                for position, location in enumerate(direction.locations):
                    loc = (*walk_place, "directions", which, "locations", position)
                    yield loc, location, "the walk-out location"
    for number, change in enumerate(surface.process_changes):
        for side in ("before", "after"):
            yield (*place, "process_changes", number, side), getattr(change, side), "the location"


def _check_findings(sheets: Sheets) -> None:
    for index, raised in enumerate(sheets.day.nonconformances):
        for number, code in enumerate(raised.findings):
            if code not in FINDING_CODES:
                meant = closest(code, FINDING_CODES)
                help_text = f"did you mean `{meant}`?" if meant else "`reportgen check` lists the findings by code"
                loc = ("nonconformances", index, "findings", number)
                sheets.refuse(loc, "JOB241", f"`{code}` is not a finding code", help_text)


def check_reinspections(sheets: Sheets, known: set[str], not_earlier: Mapping[str, str]) -> None:
    """Refuse a re-inspection of a nonconformance that neither this day nor an earlier one raised.

    ``not_earlier`` says of those that another file of the folder raises why it is no earlier day.
    """
    here = {raised.id for raised in sheets.day.nonconformances}
    for index, surface in enumerate(sheets.day.surfaces):
        for number, name in enumerate(surface.reinspects):
            if name not in known | here:
                meant = closest(name, known | here)
                help_text = f"did you mean `{meant}`?" if meant else _raised(known | here)
                message = f"no day file raises nonconformance `{name}`"
                if name in not_earlier:
                    message = f"no earlier day file raises nonconformance `{name}`"
                    help_text = not_earlier[name]
                sheets.refuse(("surfaces", index, "reinspects", number), "JOB242", message, help_text)


def _raised(known: set[str]) -> str:
    if not known:
        return "the day file that raised it must be in this folder"
    return "known are " + ", ".join(f"`{name}`" for name in sorted(known))
