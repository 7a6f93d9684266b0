"""Entries of the day file that speak about each other: findings, nonconformances, walk-outs, changes of the process."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.diagnostics import closest
from reportgen.measurements import FINDING_CODES

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.job import Surface
    from reportgen.loader.rows import SurfaceRows
    from reportgen.loader.sheets import Loc, Sheets


def check_records(sheets: Sheets, rows: Sequence[SurfaceRows | None]) -> None:
    """Refuse a finding code that does not exist, and a location that was not measured where one must have been."""
    _check_findings(sheets)
    for index, surface in enumerate(sheets.day.surfaces):
        surface_rows = rows[index]
        measured = {row.location for row in surface_rows.rows} if surface_rows is not None else set()
        if surface_rows is None and surface.profile is not None:
            continue  # its file could not be read, which has been said
        for loc, location, what in _locations(surface, ("surfaces", index)):
            if location not in measured:
                meant = closest(location, measured)
                help_text = f"did you mean `{meant}`?" if meant else "add its readings, or correct the name"
                sheets.refuse(loc, "JOB240", f"{what} `{location}` has no readings in area `{surface.area}`", help_text)


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


def check_reinspections(sheets: Sheets, known: set[str]) -> None:
    """Refuse a re-inspection of a nonconformance that neither this day nor an earlier one raised."""
    here = {raised.id for raised in sheets.day.nonconformances}
    for index, surface in enumerate(sheets.day.surfaces):
        for number, name in enumerate(surface.reinspects):
            if name not in known | here:
                meant = closest(name, known | here)
                help_text = f"did you mean `{meant}`?" if meant else _raised(known | here)
                loc = ("surfaces", index, "reinspects", number)
                sheets.refuse(loc, "JOB242", f"no day file raises nonconformance `{name}`", help_text)


def _raised(known: set[str]) -> str:
    if not known:
        return "the day file that raised it must be in this folder"
    return "known are " + ", ".join(f"`{name}`" for name in sorted(known))
