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
    from collections.abc import Mapping, Sequence

    from reportgen.intake.form import BlockForm
    from reportgen.job import Job
    from reportgen.sheet.filled import FilledSheet
    from reportgen.yamlsource import Loc

BLOCK_NAMES: Final = {
    "gauge_checks": "Gauge checks",
    "tape_checks": "Tape checks",
    "function_checks": "Function checks",
    "hold_points": "Hold points",
    "site": "The site",
    "surface": "Preparation",
    "replicas": "Replicas",
    "compared": "Somebody else's readings",
    "walk_outs": "Walk-out",
    "readings": "Profile readings",
    "told_released": "Told released",
    "photos": "Photos",
    **{kind.day_key: sentences().say("entry", kind.key) for kind in MEASUREMENTS if kind not in OF_A_SURFACE},
}


_BOTH_FILMS: Final = (
    "`film off` and `film on` are both ticked, so nobody can tell what the gauge showed",
    "tick the one that is so, and take the sheet in again",
)
_DITTO: Final = frozenset({'"', "''", "″", "”", "„"})
"""What says in a cell that it holds the same as the one above."""
_CARRIED: Final = {("readings", "location"), ("readings", "position")} | {
    (kind, cell)
    for kind, targets in TARGETS.items()
    for cell, target in targets.items()
    if target.quantity is None and not target.measured and not target.clock
}
"""Kinds of block and cells that can: names and words, never what was measured or read, and no time."""
_NOTHING_ABOVE: Final = ("nothing is written above it", "write it out")
_OF_ONE: Final = frozenset({"spot", "roll", "thrown_away"})
"""Fields of a row of replicas that is about a single one."""
_PART_OF_A_WALK: Final = (
    "a row of a walk-out lacks its area, where it begins, its step, or the direction",
    "write all of them in its first row, and the direction in each",
)
_NO_AREA: Final = ("this is not an area of the contract", "write the id of the area as on its page")
_OF_A_WALK: Final = 3  # area, failing location and step
_UNEVEN_TOO: Final = ("the replica is ticked as not uniform too", "tick what is so")
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


class CarriedDown:
    """What stands above each cell of a sheet: in the row before, or on the page of the area before."""

    def __init__(self, into: Incoming) -> None:
        self._into = into
        self._above: dict[tuple[int | str, str], str] = {}

    def fill(self, number: int, block: BlockForm, cells: dict[str, str], place: str) -> None:
        """Put what stands above into cells that say so; those with nothing above are refused and taken out."""
        home = block.kind if block.kind == "surface" else number
        for cell, text in list(cells.items()):
            if text in _DITTO and (block.kind, cell) in _CARRIED:
                cells[cell] = self._above.get((home, cell), "")
            if cells[cell]:
                self._above[home, cell] = cells[cell]
            else:
                del cells[cell]
                self._into.refuse(place, cell, text, _NOTHING_ABOVE)


class Grains:
    """Ticks beside the readings of spots: the replica is uniform."""

    def __init__(self, into: Incoming) -> None:
        self._into = into
        self._ticked: dict[str, list[tuple[str, str, str]]] = {}

    def tick(self, area: str, location: str, spot: str, place: str) -> None:
        """Note a tick at ``place``."""
        self._ticked.setdefault(area, []).append((location, spot, place))

    def join(self) -> None:
        """Join the ticks with what the rows of the replicas say of the same ones; each keeps what they say of all."""
        for area, ticked_spots in self._ticked.items():
            self._into.about = area
            home, surface = self._into.surface(area, ticked_spots[0][2])
            rows: list[dict[str, str]] = list(surface.get("replicas", ()))
            for location, spot, place in ticked_spots:
                self.enter(home, rows, (location, spot), place)

    def enter(self, home: Loc, rows: Sequence[dict[str, str]], named: tuple[str, str], place: str) -> None:
        """Enter one tick: where the replica has a row, there; else as a row that keeps what is said of all."""
        own = [one for one in rows if (one.get("location"), one.get("spot")) == named and "thrown_away" not in one]
        if any(one.setdefault("grain", "uniform") != "uniform" for one in own):
            self._into.refuse(place, "grain", "uniform", _UNEVEN_TOO)
        elif all("roll" in one for one in own):
            of_it = (one for one in rows if one.get("location", named[0]) == named[0] and not one.keys() & _OF_ONE)
            closest = max(of_it, key=lambda one: "location" in one, default={})
            of_all = {name: text for name, text in closest.items() if name in ("rubbed", "kept")}
            self._into.add(
                home, "replicas", {"location": named[0], "spot": named[1], "grain": "uniform"} | of_all, place
            )


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
        self._walked: dict[str, Any] = {}
        self._above, self._grains = CarriedDown(incoming), Grains(incoming)

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
            self._above.fill(number, block, cells, place)
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
                self.spot(readings, str(block.area), cells, place)
            else:
                self._entry(block, cells, place)

    def spot(self, readings: ReadingCells, area: str, cells: dict[str, str], place: str) -> None:
        """Read the readings of a spot, whether its replica is uniform, and where its location is."""
        uniform, written = cells.pop("uniform", None), cells.pop("position", None)
        location = cells.get("location", "")
        if readings.row(cells, place) and uniform:
            self._grains.tick(area, location, cells.get("spot", ""), place)
        if written is None:
            return
        text, reason = read_text(written)
        _, surface = self._into.surface(area, place)
        before = surface.setdefault("positions", {}).setdefault(location, text)
        if reason is None and before != text:
            reason = (f"location {location} is at `{before}` already", "state its position once")
        if reason is not None:
            self._into.refuse(place, "positions", written, reason)

    def _note_blank(self, block: BlockForm, cells: Mapping[str, str], place: str) -> None:
        place_of_spot = cells.get("location", ""), cells.get("spot", "")
        if block.kind == "readings" and place_of_spot[0] and (block.area, *place_of_spot) not in self._measured:
            spot = f"location {place_of_spot[0]}, spot {place_of_spot[1]}"
            self._blank.setdefault(str(block.area), []).append(f"{place}: {spot} has no reading")

    def _entry(self, block: BlockForm, cells: Mapping[str, str], place: str) -> None:
        """Read one row of a check or a test."""
        if block.kind == "photos":
            told = ", ".join(map(" ".join, cells.items()))
            self._into.missing.append(f"{place}: the photo of this row, to be copied and entered by hand ({told})")
            return
        before = len(self._into.refused)
        said = self._ticks(block.kind, cells, place)
        if block.kind == "gauge_checks" and not TICK_CELLS & cells.keys():
            said["tip" if "zero" in block.cells else "anvils"] = "not checked"
            self._into.notes.append(f"{place}: neither `clean` nor `cleaned` is ticked; taken as `not checked`")
        entry = self._texts(block, cells, place) | said
        lost = [one.name for one in self._into.refused[before:] if one.name in needed_names(block.kind)]
        if not entry:
            return
        if lost:  # without what names it, it would count for something else
            reason = (f"{' and '.join(f'`{name}`' for name in lost)} was not taken", AGAIN)
            self._into.refuse(place, "row", entry_text(block.kind, entry), reason)
        elif block.kind == "walk_outs":
            self._walk_out(entry, place)
        elif block.kind == "site":
            self._into.day.setdefault("site", {}).update(entry)
            self._into.places["site",] = place
        else:
            home, surface = ((), self._into.day) if block.area is None else self._into.surface(block.area, place)
            key = block.kind
            if key == "compared":
                surface.setdefault("comparison", {})
                home, key = (*home, "comparison"), "values"
            self._into.add(home, key, entry, place)

    def _walk_out(self, entry: dict[str, Any], place: str) -> None:
        """Read one direction of a walk-out; its area, where it begins, and its step hold on from the row before."""
        written = entry_text("directions", entry)
        whole = (self._walked if "area" not in entry else {}) | entry
        self._walked = {name: whole[name] for name in ("area", "failing", "interval") if name in whole}
        entry = {name: text for name, text in entry.items() if name not in self._walked}
        self._into.about = self._walked.get("area")
        if len(self._walked) < _OF_A_WALK or "towards" not in whole:
            self._into.refuse(place, "row", written, _PART_OF_A_WALK)
            return
        if self._walked["area"] not in self._areas:
            self._into.refuse(place, "area", self._walked["area"], _NO_AREA)
            return
        failing, interval = self._walked["failing"], self._walked["interval"]
        home, surface = self._into.surface(self._walked["area"], place)
        walks: list[dict[str, Any]] = surface.setdefault("profile", {}).setdefault("walk_outs", [])
        known = next((at for at, one in enumerate(walks) if one["failing"] == failing), None)
        if known is None:
            walk = {"failing": failing, "interval": interval, "directions": []}
            known = int(self._into.add((*home, "profile"), "walk_outs", walk, place)[-1])
        self._into.add((*home, "profile", "walk_outs", known), "directions", {"locations": []} | entry, place)

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
        self._grains.join()
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
            kept = ("film", "readings", "walk_outs")
            surface["profile"] = known | {key: profile[key] for key in kept if key in profile}
        elif new:
            surface.pop("profile", None)  # without readings it is not begun
            for walk in profile.get("walk_outs", ()):
                written = entry_text("walk_outs", walk)
                self._into.missing.append(f"{area}: a walk-out without any reading of the area, not taken: {written}")
        if area in self._reinspects:
            surface["reinspects"] = self._reinspects[area]
            self.ask_how_much(surface)
        if new:
            ordered = {name: surface[name] for name in _ORDER if name in surface}
            surface.clear()
            surface.update(ordered)

    def ask_how_much(self, surface: dict[str, Any]) -> None:
        """Name a re-inspection that does not say how much was blasted again, nor does the day file."""
        area = surface["area"]
        known = (one.cleaned for one in self._job.day.surfaces if one.area == area and one.reinspects)
        if "cleaned" not in surface and not any(known):
            whole = "the day file will be read as if all that failed was blasted again"
            part = "where it was a part, write its size in `cleaned`, and walk-outs of what fails in it there too"
            self._into.missing.append(f"{area}: `Cleaned` is empty beside the re-inspection; {whole}; {part}")


_ORDER: Final = (
    "area", "apparatus", "initial_condition", "blasted", *(kind.key for kind in OF_A_SURFACE), "profile",
    "positions", "replicas", "comparison", *(kind.key for kind in TESTS), "cleaned", "washed",
    "dust_removed", "coated", "blasted_again", "reinspects", "remarks",
)  # fmt: skip
