"""Fields of a filled sheet → rows of the day file, each value checked where it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import UsageError
from reportgen.intake.cells import TARGETS, TICK_CELLS, objections, read_cell, read_text, ticked, ticked_surface
from reportgen.intake.incoming import Incoming
from reportgen.intake.readings import ReadingCells
from reportgen.layout.sheet import field_name, sheet_identity

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.intake.sheetfile import FilledSheet
    from reportgen.job import Job
    from reportgen.layout.sheet import BlockForm

BLOCK_NAMES: Final = {
    "conditions": "Conditions",
    "gauge_checks": "Gauge checks",
    "tape_checks": "Tape checks",
    "air_checks": "Compressed air",
    "abrasive_checks": "Abrasive",
    "surface": "Preparation",
    "readings": "Profile readings",
    "salts": "Salts",
    "dust": "Dust tape",
}
_NEEDED: Final = ("apparatus", "initial_condition", "blasted")
_BLASTED: Final = ("start", "end", "abrasive")


def sheet_rows(sheet: FilledSheet, job: Job, name: str) -> Incoming:
    """Return what a filled sheet says; its job must be the one at hand.

    Raises:
        UsageError: a sheet of another report.
    """
    incoming = Incoming(name, identity=sheet.form.identity)
    _check_identity(sheet, job, incoming)
    areas = {area.id for structure in job.project.structures for area in structure.areas}
    reader = _BlockReader(sheet, job, incoming)
    for number, block in enumerate(sheet.form.blocks, 1):
        if block.kind not in BLOCK_NAMES or (block.area is not None and block.area not in areas):
            raise UsageError(f"{name} has a block for `{block.area or block.kind}`, which this contract does not have")
        reader.read(number, block)
    reader.finish()
    return incoming


def _check_identity(sheet: FilledSheet, job: Job, incoming: Incoming) -> None:
    theirs, ours = sheet.form.identity, sheet_identity(job)
    for label, got, wanted in (
        ("contract", theirs.contract, ours.contract),
        ("report", theirs.number, ours.number),
        ("revision", str(theirs.revision), str(ours.revision)),
        ("date", theirs.date, ours.date),
    ):
        if got != wanted:
            raise UsageError(
                f"{incoming.source} belongs to another job: its {label} is {got}, this day file's is {wanted}",
                help_text="name the day file the sheet was made from",
            )
    if theirs.project_sha256 != ours.project_sha256:
        incoming.notes.append("the project file has changed since the sheet was made; values were checked against it")
    if theirs.day_sha256 != ours.day_sha256:
        incoming.notes.append("the day file has changed since the sheet was made; nothing in it is overwritten unasked")


class _BlockReader:
    """Reads block after block into one ``Incoming``."""

    def __init__(self, sheet: FilledSheet, job: Job, incoming: Incoming) -> None:
        self._sheet = sheet
        self._job = job
        self._into = incoming
        self._blank: dict[str, list[str]] = {}
        self._gauges: dict[str, str] = {}

    def read(self, number: int, block: BlockForm) -> None:
        """Read the rows of one block; one in which nothing was written is passed over."""
        gauge = self._gauges.get(str(block.area))
        readings = ReadingCells(self._job, self._into, block, gauge) if block.kind == "readings" else None
        for row in range(1, block.rows + 1):
            cells = {cell: self._sheet.values.get(field_name(number, row, cell), "").strip() for cell in block.cells}
            page = self._sheet.pages.get(field_name(number, row, block.cells[0]), 0)
            place = f"page {page}, {BLOCK_NAMES[block.kind]}, row {row}"
            if block.kind == "surface":
                self._surface(block, cells, f"page {page}, {block.area}")
            elif all(not text or cell in block.given for cell, text in cells.items()):
                if readings is not None and cells.get("location"):
                    spot = f"location {cells['location']}, spot {cells.get('spot', '')}"
                    self._blank.setdefault(str(block.area), []).append(f"{place}: {spot} has no reading")
            elif readings is not None:
                readings.row(cells, place)
            else:
                self._entry(block, cells, place)

    def _entry(self, block: BlockForm, cells: Mapping[str, str], place: str) -> None:
        """Read one row of a check or a test."""
        entry = self._texts(block, cells, place)
        ticks = {cell for cell, text in cells.items() if text and cell in TICK_CELLS}
        said, reason = ticked(block.kind, ticks)
        if reason is not None:
            self._into.refuse(
                place, "ticks", ", ".join(sorted(c for c in cells if c in TICK_CELLS and cells[c])), reason
            )
        entry |= said
        if block.kind == "gauge_checks" and "anvils" not in entry and reason is None:
            entry["anvils"] = "not checked"
            self._into.notes.append(f"{place}: neither `clean` nor `cleaned` is ticked; taken as `not checked`")
        entry = self._without_objections(block.kind, entry, place)
        home = self._into.day if block.area is None else self._into.surface(block.area)
        home.setdefault(block.kind, []).append(entry)
        self._into.count += len(entry)

    def _texts(self, block: BlockForm, cells: Mapping[str, str], place: str) -> dict[str, Any]:
        """Read the cells of a row that hold text, by path."""
        entry: dict[str, Any] = {}
        for cell, target in TARGETS[block.kind].items():
            text = cells.get(cell, "")
            if not text:
                continue
            value, reason = read_cell(target, text, block.units.get(cell, ""))
            if reason is not None:
                self._into.refuse(place, cell, text, reason)
                continue
            home = entry
            for part in target.path[:-1]:
                home = home.setdefault(part, {})
            home[target.path[-1]] = value
        return entry

    def _without_objections(self, kind: str, entry: dict[str, Any], place: str) -> dict[str, Any]:
        """Take out what the model of the entry objects to, and say what it lacks."""
        wrong, missing = objections(kind, entry)
        for path, reason in wrong:
            names = [part for part in path if not part.isdigit()]  # one wrong entry takes its list along
            home: Any = entry
            for name in names[:-1]:
                home = home.get(name, {})
            value = home.pop(names[-1], "") if names else ""
            shown = " ".join(value) if isinstance(value, list) else str(value)
            self._into.refuse(place, names[-1] if names else kind, shown, reason)
        self._into.missing += [f"{place}: `{name}` is missing" for name in missing]
        return entry

    def _surface(self, block: BlockForm, cells: dict[str, str], place: str) -> None:
        """Read a row about an area as a whole; three of them make up its preparation."""
        area = str(block.area)
        if cells.get("gauge"):
            self._gauges[area] = cells["gauge"]
        why = cells.pop("not_inspected", "")
        if why:
            self._not_inspected(area, why, place)
        ticks = {cell for cell, text in cells.items() if text and cell in TICK_CELLS}
        said, reason = ticked_surface(ticks)
        if reason is not None:
            self._into.refuse(place, "ticks", ", ".join(sorted(ticks)), reason)
        film = said.pop("film", None)
        entry = self._texts(block, cells, place) | said
        if not entry and film is None:
            return
        checked = self._without_wrong(entry, place)
        surface = self._into.surface(area)
        for key, value in checked.items():
            surface[key] = surface[key] | value if isinstance(value, dict) and key in surface else value
        self._into.count += len(checked)
        if film is not None:
            surface.setdefault("profile", {})["film"] = film

    def _without_wrong(self, entry: dict[str, Any], place: str) -> dict[str, Any]:
        """As for a check, but what is missing is looked at when all rows of the area are read."""
        before = len(self._into.missing)
        checked = self._without_objections("surface", entry, place)
        del self._into.missing[before:]
        return checked

    def _not_inspected(self, area: str, why: str, place: str) -> None:
        text, reason = read_text(why)
        if text is None:
            self._into.refuse(place, "not_inspected", why, reason or ("", None))
            return
        self._into.day.setdefault("not_inspected", []).append({"area": area, "reason": text})
        self._into.count += 1

    def finish(self) -> None:
        """Join what several blocks say about an area, and list what is missing there."""
        skipped = {entry["area"] for entry in self._into.day.get("not_inspected", [])}
        known = {surface.area for surface in self._job.day.surfaces}
        for area in dict.fromkeys(block.area for block in self._sheet.form.blocks if block.area is not None):
            surface = next((s for s in self._into.day.get("surfaces", []) if s["area"] == area), None)
            if surface is not None:
                self._complete(surface, new=area not in known)
            if area not in skipped:
                self._into.missing += self._blank.get(area, [])

    def _complete(self, surface: dict[str, Any], *, new: bool) -> None:
        area = surface["area"]
        profile = surface.get("profile")
        if profile is not None:
            self._order_profile(surface, profile, self._gauges.get(area), new=new)
        if new:
            lacking = [name for name in _NEEDED if name not in surface]
            lacking += [f"blasted.{name}" for name in _BLASTED if name not in surface.get("blasted", {})]
            self._into.missing += [f"{area}: `{name}` is missing" for name in lacking if name != "blasted"]
            surface_order(surface)

    def _order_profile(self, surface: dict[str, Any], profile: dict[str, Any], gauge: str | None, *, new: bool) -> None:
        """Put gauge and film before the readings; a profile without readings is not begun."""
        if "readings" not in profile:
            if new:
                del surface["profile"]
            return
        if new and "film" not in profile:
            where = f"{surface['area']}: neither `film off` nor `film on` is ticked"
            self._into.missing.append(f"{where}; the day file will be read as `film: subtracted`")
        found = {"gauge": gauge} if gauge else {}
        surface["profile"] = found | {key: profile[key] for key in ("film", "readings") if key in profile}


_ORDER: Final = (
    "area", "apparatus", "initial_condition", "blasted", "cleanliness", "profile", "salts", "dust", "coated", "remarks",
)  # fmt: skip


def surface_order(surface: dict[str, Any]) -> None:
    """Put the fields of an area into the order of the starter file."""
    ordered: dict[str, Any] = {name: surface[name] for name in _ORDER if name in surface}
    surface.clear()
    surface.update(ordered)
