"""Fields of a filled sheet → rows of the day file, each value checked where it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import UsageError
from reportgen.intake.cells import TARGETS, TICK_CELLS, read_cell, read_text, ticked
from reportgen.intake.entries import AGAIN, entry_text, needed_names
from reportgen.intake.form import field_name, sheet_identity
from reportgen.intake.incoming import Incoming, Reason
from reportgen.intake.readings import ReadingCells
from reportgen.job.places import folded
from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE, TESTS
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.intake.form import BlockForm
    from reportgen.job import Job
    from reportgen.sheet.filled import FilledSheet

BLOCK_NAMES: Final = {
    "gauge_checks": "Gauge checks",
    "tape_checks": "Tape checks",
    "function_checks": "Function checks",
    "hold_points": "Hold points",
    "site": "The site",
    "surface": "Preparation",
    "replicas": "Replicas",
    "compared": "Somebody else's readings",
    "readings": "Profile readings",
    **{kind.day_key: sentences().say("entry", kind.key) for kind in MEASUREMENTS if kind not in OF_A_SURFACE},
}


_BOTH_FILMS: Final = (
    "`film off` and `film on` are both ticked, so nobody can tell what the gauge showed",
    "tick the one that is so, and take the sheet in again",
)
_HEADS: Final = {"subtracted": "film off", "included": "film on", "tip_clean": "clean", "tip_cleaned": "cleaned"}
"""Ticks that stand under another head than the word of the day file."""


def sheet_rows(sheet: FilledSheet, job: Job, name: str) -> Incoming:
    """Return what a filled sheet says; its job must be the one at hand.

    Raises:
        UsageError: a sheet of another report.
    """
    incoming = Incoming(name, identity=sheet.form.identity)
    theirs, ours = sheet.form.identity, sheet_identity(job)
    for label, got, wanted in (
        ("contract", theirs.contract, ours.contract),
        ("report", theirs.number, ours.number),
        ("revision", str(theirs.revision), str(ours.revision)),
        ("date", theirs.date, ours.date),
    ):
        if got != wanted:
            raise UsageError(
                f"{name} belongs to another job: its {label} is {got}, this day file's is {wanted}",
                help_text="name the day file the sheet was made from",
            )
    if theirs.project_sha256 != ours.project_sha256:
        incoming.notes.append("the project file has changed since the sheet was made; values were checked against it")
    if theirs.day_sha256 != ours.day_sha256:
        incoming.notes.append("the day file has changed since the sheet was made; nothing in it is overwritten unasked")
    reader = _BlockReader(sheet, job, incoming)
    for number, block in enumerate(sheet.form.blocks, 1):
        if block.kind not in BLOCK_NAMES:
            raise UsageError(f"{name} has a block for `{block.kind}`, which this release does not know")
        reader.read(number, block)
    reader.finish()
    return incoming


class _BlockReader:
    """Reads block after block into one ``Incoming``."""

    def __init__(self, sheet: FilledSheet, job: Job, incoming: Incoming) -> None:
        self._sheet = sheet
        self._values = {name: text.strip() for name, text in sheet.values.items() if text.strip()}
        self._job = job
        self._into = incoming
        self._areas = {area.id for structure in job.project.structures for area in structure.areas}
        self._measured = {
            (surface.area, reading.location, reading.spot)
            for surface, readings in zip(job.day.surfaces, job.readings, strict=True)
            for reading in readings
        }
        self._blank: dict[str, list[str]] = {}
        self._touched: set[str | None] = set()
        self._gauges: dict[str, str] = {}
        self._on_tape: set[str] = set()
        self._reinspects: dict[str, list[str]] = {}
        self._refusals: dict[str | None, Reason] = {}

    def read(self, number: int, block: BlockForm) -> None:
        """Read the rows of one block; one in which nothing was written is passed over."""
        gauge = self._gauges.get(str(block.area))
        readings = (
            ReadingCells(self._job, self._into, block, gauge, self._refusals.get(block.area))
            if block.kind == "readings"
            else None
        )
        self._into.about = block.area
        gone = block.area not in {None, *self._areas}
        for row in range(1, block.rows + 1):
            name = field_name(number, row, "")
            cells = {cell: self._values[name + cell] for cell in block.cells if name + cell in self._values}
            page = f"page {self._sheet.pages.get(name + block.cells[0], 0)}"
            place = f"{page}, {BLOCK_NAMES[block.kind]}, row {row}"
            blank = cells.keys() <= set(block.given)
            self._touched |= set() if blank else {block.area}
            if block.kind == "surface" and not gone:
                self._surface(block, cells, f"{page}, {block.area}")
            elif blank:
                self._note_blank(block, cells, place)
            elif gone:
                reason = f"`{block.area}` is not an area of this contract"
                text = ", ".join(map(" ".join, cells.items()))
                self._into.refuse(place, "row", text, (reason, "enter it in the project file, or rename it there"))
            elif readings is not None:
                readings.row(cells, place)
            else:
                self._entry(block, cells, place)

    def _note_blank(self, block: BlockForm, cells: Mapping[str, str], place: str) -> None:
        place_of_spot = cells.get("location", ""), cells.get("spot", "")
        if block.kind == "readings" and place_of_spot[0] and (block.area, *place_of_spot) not in self._measured:
            spot = f"location {place_of_spot[0]}, spot {place_of_spot[1]}"
            self._blank.setdefault(str(block.area), []).append(f"{place}: {spot} has no reading")

    def _entry(self, block: BlockForm, cells: Mapping[str, str], place: str) -> None:
        """Read one row of a check or a test."""
        before = len(self._into.refused)
        said = self._ticks(block.kind, cells, place)
        if block.kind == "gauge_checks" and not TICK_CELLS & cells.keys():
            said["tip" if "zero" in block.cells else "anvils"] = "not checked"
            self._into.notes.append(f"{place}: neither `clean` nor `cleaned` is ticked; taken as `not checked`")
        entry = self._texts(block, cells, place) | said
        lost = [one.name for one in self._into.refused[before:] if one.name in needed_names(block.kind)]
        if entry and lost:  # without what names it, it would count for something else
            reason = (f"{' and '.join(f'`{name}`' for name in lost)} was not taken", AGAIN)
            self._into.refuse(place, "row", entry_text(block.kind, entry), reason)
        elif entry and block.kind == "site":
            self._into.day.setdefault("site", {}).update(entry)
            self._into.places["site",] = place
        elif entry:
            home, surface = ((), self._into.day) if block.area is None else self._into.surface(block.area, place)
            key = block.kind
            if key == "compared":
                surface.setdefault("comparison", {})
                home, key = (*home, "comparison"), "values"
            self._into.add(home, key, entry, place)

    def _ticks(self, kind: str, cells: Mapping[str, str], place: str) -> dict[str, str]:
        """Read the ticks of a row; those that contradict each other are refused by the field they are about."""
        found = ticked(kind, cells.keys() & TICK_CELLS)
        for name, ticks in found.contradicting.items():
            heads = [_HEADS.get(tick, tick) for tick in ticks]
            reason = (f"{' and '.join(heads)} are ticked, which contradict each other", "tick one")
            self._into.refuse(place, name, ", ".join(heads), reason)
        return found.said

    def _texts(self, block: BlockForm, cells: Mapping[str, str], place: str) -> dict[str, Any]:
        """Read the cells of a row that hold text, by path."""
        entry: dict[str, Any] = {}
        for cell, target in TARGETS[block.kind].items():
            text = cells.get(cell, "")
            if not text:
                continue
            value, reason = read_cell(target, text, block.units.get(cell, ""))
            if reason is not None:
                self._into.refuse(place, ".".join(target.path), text, reason)
                continue
            home = entry
            for part in target.path[:-1]:
                home = home.setdefault(part, {})
            home[target.path[-1]] = value
        return entry

    def _surface(self, block: BlockForm, cells: dict[str, str], place: str) -> None:
        """Read a row about an area as a whole; three of them make up its preparation."""
        area = str(block.area)
        if "subtracted" in block.cells:
            self._on_tape.add(area)
        if cells.get("gauge"):
            self._gauges[area] = cells["gauge"]
        if cells.get("subtracted") and cells.get("included"):
            self._refusals[area] = _BOTH_FILMS
        why = cells.pop("not_inspected", "")
        text, reason = read_text(why)
        if reason is not None:
            self._into.refuse(place, "not_inspected", why, reason)
        elif text:
            self._into.add((), "not_inspected", {"area": area, "reason": text}, place)
        entry = self._texts(block, cells, place) | self._ticks(block.kind, cells, place)
        if "reinspects" in entry:
            self._reinspects[area] = entry.pop("reinspects")
        film = entry.pop("film", None)
        if not entry and film is None:
            return
        _, surface = self._into.surface(area, place)
        for key, value in entry.items():
            surface[key] = surface[key] | value if isinstance(value, dict) and key in surface else value
        if film is not None:
            surface.setdefault("profile", {})["film"] = film

    def finish(self) -> None:
        """Join what several blocks say about an area, and list what is missing there."""
        self._into.about = None
        known = {surface.area for surface in self._job.day.surfaces}
        entries = {(surface.area, folded(surface.apparatus)) for surface in self._job.day.surfaces}
        said = known | self._touched | {entry.area for entry in self._job.day.not_inspected} | set(self._job.begun)
        written = {surface["area"]: surface for surface in self._into.day.get("surfaces", [])}
        for area in dict.fromkeys(block.area for block in self._sheet.form.blocks if block.area in self._areas):
            if area in written:
                apparatus = written[area].get("apparatus")
                new = area not in known or (apparatus is not None and (area, folded(apparatus)) not in entries)
                self._complete(written[area], new=new)
                self._into.missing += self._blank.get(area, [])
            elif area not in said:
                self._into.missing.append(f"{area}: nothing is written on its page")

    def _complete(self, surface: dict[str, Any], *, new: bool) -> None:
        """Put gauge and film before the readings, and the fields of a new area into the order of the starter file."""
        area, profile = surface["area"], surface.get("profile", {})
        if "readings" in profile:
            if new and "film" not in profile and area in self._on_tape:
                ticks = "neither `film off` nor `film on` is ticked"
                self._into.missing.append(f"{area}: {ticks}; the day file will be read as `film: subtracted`")
            known = {"gauge": self._gauges[area]} if area in self._gauges else {}
            surface["profile"] = known | {key: profile[key] for key in ("film", "readings") if key in profile}
        elif new:
            surface.pop("profile", None)  # without readings it is not begun
        if area in self._reinspects:
            surface["reinspects"] = self._reinspects[area]
        if new:
            ordered = {name: surface[name] for name in _ORDER if name in surface}
            surface.clear()
            surface.update(ordered)


_ORDER: Final = (
    "area", "apparatus", "initial_condition", "blasted", *(kind.key for kind in OF_A_SURFACE), "profile",
    "replicas", "comparison", *(kind.key for kind in TESTS), "cleaned", "coated", "reinspects", "remarks",
)  # fmt: skip
