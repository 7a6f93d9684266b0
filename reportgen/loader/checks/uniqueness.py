"""What may be there only once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.job import CsvReadings

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable

    from reportgen.loader.sheets import Loc, Sheets


def check_uniqueness(sheets: Sheets) -> None:
    """Ids of structures, areas and nonconformances are unique; an area is recorded once for each apparatus.

    An area blasted with two pots on one shift has two surfaces, one for each: sampling is counted by apparatus. Two
    entries for the same area and apparatus are a copy.
    """
    _check_plan(sheets)
    day = sheets.day
    surfaces = [
        (("surfaces", index, "area"), (surface.area, surface.apparatus), f"area `{surface.area}`")
        for index, surface in enumerate(day.surfaces)
    ]
    _refuse_repeats(sheets, surfaces, "join the two entries, or name the apparatus of each")
    left = [
        (("not_inspected", index, "area"), entry.area, f"area `{entry.area}`")
        for index, entry in enumerate(day.not_inspected)
    ]
    _refuse_repeats(sheets, left, "keep one of the two")
    raised = [
        (("nonconformances", index, "id"), entry.id, f"nonconformance `{entry.id}`")
        for index, entry in enumerate(day.nonconformances)
    ]
    _refuse_repeats(sheets, raised, "give each its own id")
    tables = [
        (("surfaces", index, "profile", "readings", "csv"), readings.csv, f"`{readings.csv}`")
        for index, surface in enumerate(day.surfaces)
        if surface.profile is not None and isinstance(readings := surface.profile.readings, CsvReadings)
    ]
    _refuse_repeats(sheets, tables, "one file holds the readings of one surface: name the other's own")
    _check_not_inspected(sheets)


def _check_plan(sheets: Sheets) -> None:
    structures: dict[str, Loc] = {}
    areas: dict[str, Loc] = {}
    for index, structure in enumerate(sheets.project.structures):
        _refuse_planned_twice(sheets, structures, structure.id, "structure", ("structures", index, "id"))
        for number, area in enumerate(structure.areas):
            _refuse_planned_twice(sheets, areas, area.id, "area", ("structures", index, "areas", number, "id"))


def _refuse_planned_twice(sheets: Sheets, seen: dict[str, Loc], name: str, kind: str, loc: Loc) -> None:
    first = seen.setdefault(name, loc)
    if first is not loc:
        document = sheets.project_document
        spans = [document.span(loc), document.span(first, label="first used here")]
        sheets.found.at(spans, "JOB206", f"{kind} `{name}` is there twice", f"give each {kind} its own id")


def _refuse_repeats(sheets: Sheets, entries: Iterable[tuple[Loc, Hashable, str]], help_text: str) -> None:
    seen: dict[Hashable, Loc] = {}
    for loc, key, name in entries:
        first = seen.setdefault(key, loc)
        if first is not loc:
            spans = [sheets.place(loc), sheets.place(first, label="first written here")]
            sheets.found.at(spans, "JOB206", f"{name} is there twice", help_text)


def _check_not_inspected(sheets: Sheets) -> None:
    inspected = {surface.area: index for index, surface in reversed(list(enumerate(sheets.day.surfaces)))}
    for index, entry in enumerate(sheets.day.not_inspected):
        if entry.area in inspected:
            loc = ("surfaces", inspected[entry.area], "area")
            spans = [sheets.place(("not_inspected", index, "area")), sheets.place(loc, label="inspected here")]
            message = f"area `{entry.area}` is both inspected and not inspected"
            sheets.found.at(spans, "JOB206", message, "remove one of the two entries")
