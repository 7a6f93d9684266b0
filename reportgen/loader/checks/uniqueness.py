"""What may be there only once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import Phrase
from reportgen.errors import RangeError
from reportgen.job import CsvReadings
from reportgen.measurements import LOGS, TESTS

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Sequence

    from reportgen.job import Surface, WalkOut
    from reportgen.loader.rows import SurfaceRows
    from reportgen.loader.sheets import Loc, Sheets


def check_uniqueness(sheets: Sheets) -> None:
    """Ids of structures, areas and nonconformances are unique; an area is recorded once for each time it was blasted.

    An area blasted with two pots on one shift has two surfaces, one for each, and one blasted with the same pot in two
    periods may have one for each: sampling is counted by apparatus and by period. Two entries for the same area,
    apparatus and time are a copy.
    """
    structures: dict[str, Loc] = {}
    areas: dict[str, Loc] = {}
    for index, structure in enumerate(sheets.project.structures):
        _refuse_planned_twice(sheets, structures, structure.id, "structure", ("structures", index, "id"))
        for number, area in enumerate(structure.areas):
            _refuse_planned_twice(sheets, areas, area.id, "area", ("structures", index, "areas", number, "id"))
    _check_apparatus(sheets)
    _check_surfaces(sheets)
    _check_tests(sheets)
    _note_rows(sheets)
    day = sheets.day
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
    _check_walks(sheets)
    tables = [
        (("surfaces", index, "profile", "readings", "csv"), readings.csv, f"`{readings.csv}`")
        for index, surface in enumerate(day.surfaces)
        if surface.profile is not None and isinstance(readings := surface.profile.readings, CsvReadings)
    ]
    _refuse_repeats(sheets, tables, "one file holds the readings of one surface: name the other's own")
    inspected = {surface.area: index for index, surface in reversed(list(enumerate(day.surfaces)))}
    for index, entry in enumerate(day.not_inspected):
        if entry.area in inspected:
            loc = ("surfaces", inspected[entry.area], "area")
            spans = [sheets.place(("not_inspected", index, "area")), sheets.place(loc, label="inspected here")]
            message = Phrase("area `{area}` is both inspected and not inspected", area=entry.area)
            sheets.found.at(spans, "JOB206", message, "remove one of the two entries")


def _check_apparatus(sheets: Sheets) -> None:
    """Refuse two ways to write one apparatus: each would count by itself."""
    day = sheets.day
    named: list[tuple[Loc, str]] = [(("surfaces", n, "apparatus"), one.apparatus) for n, one in enumerate(day.surfaces)]
    named += [(("air_checks", n, "apparatus"), one.apparatus) for n, one in enumerate(day.air_checks)]
    first: dict[str, tuple[Loc, str]] = {}
    said: set[str] = set()
    for loc, name in named:
        before, known = first.setdefault("".join(name.split()).casefold(), (loc, name))
        if name != known and name not in said:
            said.add(name)
            spans = [sheets.place(loc), sheets.place(before, label="first written here")]
            message = f"`{name}` is `{known}` written in another way"
            sheets.found.at(
                spans,
                "JOB206",
                message,
                f"write `{known}`; or name two apparatus so that nobody takes one for the other",
            )


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


def _check_surfaces(sheets: Sheets) -> None:
    first: dict[tuple[str, str], list[int]] = {}
    for index, surface in enumerate(sheets.day.surfaces):
        alike = first.setdefault((surface.area, surface.apparatus), [])
        copied = next((one for one in alike if _overlap(sheets, sheets.day.surfaces[one], surface)), None)
        again = copied is not None and any(
            surface.apparatus in one.blasted_again for one in (surface, sheets.day.surfaces[copied])
        )
        if copied is not None and not again:  # else its times are wrong, which is said there
            spans = [
                sheets.place(("surfaces", index, "area")),
                sheets.place(("surfaces", copied, "area"), label="first written here"),
            ]
            help_text = "join the two entries, or name the apparatus of each"
            if surface.coated != sheets.day.surfaces[copied].coated:
                help_text += "; parts of one blasting that are primed apart are areas of their own in the project file"
            sheets.found.at(spans, "JOB206", f"area `{surface.area}` is there twice", help_text)
        alike.append(index)


def _check_walks(sheets: Sheets) -> None:
    """A location has one walk-out, each direction of that a name, and each location of it lies in one direction."""
    begun: list[tuple[Loc, Hashable, str]] = []
    towards: list[tuple[Loc, Hashable, str]] = []
    locations: list[tuple[Loc, Hashable, str]] = []
    for index, surface in enumerate(sheets.day.surfaces):
        walks = surface.profile.walk_outs if surface.profile is not None else []
        for number, walk in enumerate(walks):
            loc: Loc = ("surfaces", index, "profile", "walk_outs", number)
            begun.append(((*loc, "failing"), (index, walk.failing), f"a walk-out from `{walk.failing}`"))
            locations.append(((*loc, "failing"), (index, number, walk.failing), ""))
            for which, one in enumerate(walk.directions):
                place = (*loc, "directions", which)
                key = (index, number, one.towards.casefold())
                towards.append(((*place, "towards"), key, f"direction `{one.towards}`"))
                locations += [
                    (
                        (*place, "locations", at),
                        (index, number, name),
                        f"location `{name}` of the walk-out from `{walk.failing}`",
                    )
                    for at, name in enumerate(one.locations)
                ]
            for other in walks[:number]:
                _check_shared(sheets, (*loc, "directions"), walk, other)
    _refuse_repeats(sheets, begun, "a location has one walk-out: join the two")
    _refuse_repeats(sheets, towards, "give each direction of a walk-out a name of its own")
    _refuse_repeats(sheets, locations, "a location lies in one direction from the failing one: measure another")


def _check_shared(sheets: Sheets, loc: Loc, walk: WalkOut, other: WalkOut) -> None:
    """Refuse walk-outs that share locations in three directions: what lies between or beyond two places is in two."""
    known = {name for one in other.directions for name in one.locations}
    shared = [one.towards for one in walk.directions if known.intersection(one.locations)]
    if len(shared) > _SHARED:
        message = (
            f"the walk-outs from `{other.failing}` and `{walk.failing}` share locations towards {', '.join(shared)}"
        )
        sheets.refuse(loc, "JOB206", message, "measure around each: no more than two directions of one meet the other")


_SHARED: Final = 2


def _check_tests(sheets: Sheets) -> None:
    """Refuse a test that is there twice: same steel, location, time and values; it would count as two."""
    tests = [
        (
            ("surfaces", index, kind.key, number, "location"),
            (surface.area, surface.apparatus, kind.key, test.model_dump_json(exclude={"confirmed"})),
            f"the {kind.noun} at location `{test.location}`",
        )
        for kind in TESTS
        if kind.counted
        for index, surface in enumerate(sheets.day.surfaces)
        for number, test in enumerate(kind.entries_on(surface))
    ]
    _refuse_repeats(sheets, tests, "remove the copy, or write where and when the other test was made")


def _note_rows(sheets: Sheets) -> None:
    """Name each row of a log that is there twice; it is no second reading, and changes nothing."""
    for kind in LOGS:
        seen: dict[str, int] = {}
        for number, entry in enumerate(kind.entries_in(sheets.day)):
            first = seen.setdefault(entry.model_dump_json(exclude={"confirmed"}), number)
            if first != number:
                again, before = (kind.day_key, number), (kind.day_key, first)
                spans = [sheets.place(again), sheets.place(before, label="first written here")]
                message = f"the {kind.noun} is there twice"
                sheets.found.at(spans, "JOB206", message, "remove the copy, or correct what differed", "warning")


def _overlap(sheets: Sheets, one: Surface, other: Surface) -> bool:
    """Whether two entries were blasted at the same time, or it cannot be told from what stands there."""
    if not (one.steel_known and other.steel_known):
        return False
    if sheets.clock is None:
        return True
    try:
        times = [
            (sheets.clock.instant(surface.blasted.start), sheets.clock.instant(surface.blasted.end))
            for surface in (one, other)
        ]
    except RangeError:  # a time that never was, which is said elsewhere
        return True
    (start, end), (begin, finish) = times
    return start < finish and begin < end


def check_locations(sheets: Sheets, rows: Sequence[SurfaceRows | None]) -> None:
    """Where one apparatus blasted an area twice, each location has a name of its own: nothing else tells them apart."""
    seen: dict[tuple[str, str, str], Surface] = {}
    for surface, surface_rows in zip(sheets.day.surfaces, rows, strict=True):
        for row in () if surface_rows is None else surface_rows.rows:
            first = seen.setdefault((surface.area, surface.apparatus, row.location), surface)
            if surface_rows is None or first is surface or _overlap(sheets, first, surface):
                continue  # an entry that is there twice is said above
            message = Phrase(
                "location `{location}` of `{area}` is there twice for `{apparatus}`",
                location=row.location, area=surface.area, apparatus=surface.apparatus,
            )  # fmt: skip
            help_text = "number the locations of the second entry on"
            sheets.found.at(surface_rows.span(row, "location"), "JOB206", message, help_text)
            break
