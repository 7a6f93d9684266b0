"""Readings on their way in: a number for a roll at a spot, checked against the gauge and the rolls of the contract."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import closest
from reportgen.errors import QuantityError
from reportgen.intake.cells import read_clock, read_number
from reportgen.intake.entries import entry_text
from reportgen.loader.gauge import ALONE, GaugeReadings
from reportgen.readings.rows import (
    DEPTH,
    GRADE,
    ONLY_SPOT,
    ReadingRow,
    grade_written,
    is_name,
    name_problem,
    reading_cell,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.intake.form import BlockForm
    from reportgen.intake.incoming import Incoming, Reason
    from reportgen.job import Job, Project
    from reportgen.yamlsource import Loc

_ONE: Final = "keep the one taken, or give a further spot its own name"
_NAMED_AGAIN: Final = "give each spot its own name, and write all its readings beside it"


class SpotRows:
    """Collects readings of one area into rows of spots, in the order taken.

    ``apparatus`` is named where the day file has the area more than once.
    """

    def __init__(
        self, job: Job, incoming: Incoming, area: str, gauge: str | None = None, apparatus: str | None = None
    ) -> None:
        self._rolls = job.project.tape_rolls
        self._into = incoming
        self._area = area
        self._apparatus = apparatus
        known = [
            surface.profile
            for surface in job.day.surfaces
            if surface.area == area and surface.profile is not None and apparatus in (None, surface.apparatus)
        ]
        named = known[-1].gauge if known else gauge
        instrument = job.project.instruments.get(named or only_gauge(job.project) or "")
        several = [job.project.instruments[name] for name in gauges_of(job.project)]
        kinds = {one.kind for one in (several if instrument is None else [instrument])}
        self.alone = ALONE.get(kinds.pop()) if len(kinds) == 1 else None
        """Field in which a row has its one reading; None where a roll of tape names each."""
        self._compares = self.alone == GRADE
        # the film may have been treated as the sheet says, or the day file, else either way
        sheets = (surface for surface in incoming.day.get("surfaces", ()) if surface["area"] == area)
        said = [film for surface in sheets if (film := surface.get("profile", {}).get("film")) is not None]
        films = said[:1] or [profile.film for profile in known[:1]] or ["subtracted", "included"]
        self._gauges = [GaugeReadings(instrument, film) for film in films]
        self._rows: dict[tuple[str, str], tuple[Loc, dict[str, str]]] = {}
        self._begun: dict[tuple[str, str], str] = {}

    def add(
        self,
        place: str,
        spot: tuple[str, str],
        roll: str | None,
        text: str,
        unit: str = "",
        time: str = "",
        *,
        confirmed: bool = False,
    ) -> bool:
        """Take one reading of ``spot`` (location, spot), or refuse it with its place; return whether it was taken.

        A row of a spot is ``confirmed`` where all its readings are.
        """
        key = roll or (GRADE if self._compares else DEPTH)
        read, reason = (grade_written(text), None) if self._compares else read_number(text)
        number = read or text
        reason = reason or self._objection(spot, roll, number, unit)
        loc, row = self._rows.get(spot, ((), {}))
        if reason is None and key in row:
            where = self._into.place_of((*loc, key))
            reason = f"spot {spot[0]}/{spot[1]} has {row[key]} on `{key}` already ({where})", _ONE
        if reason is not None:
            self._into.refuse(place, key, text, reason)
            return False
        if not row:
            row = {"location": spot[0], "spot": spot[1]}
            if self._compares and spot[1] == ONLY_SPOT:
                del row["spot"]  # as it is written by hand
            home, surface = self._into.surface(self._area, place, self._apparatus)
            surface.setdefault("profile", {})
            loc = self._into.add((*home, "profile"), "readings", row, place)
            self._rows[spot] = loc, row
            if confirmed:
                row["confirmed"] = "yes"
        elif not confirmed:
            row.pop("confirmed", None)
        row[key] = number
        self._into.places[*loc, key] = place
        if time:
            row.setdefault("time", time)
        return True

    def begun(self, spot: tuple[str, str], place: str) -> Reason | None:
        """Note that a row at ``place`` is about a spot; return why it cannot be when another row is.

        A spot is one row of a sheet and one typed line: a second is a slip in its name, and its readings belong to a
        spot that nobody can tell.
        """
        first = self._begun.setdefault(spot, place)
        return None if first == place else (f"spot {spot[0]}/{spot[1]} is there already ({first})", _NAMED_AGAIN)

    def unknown_roll(self, roll: str | None) -> Reason | None:
        """Return why a roll cannot be one of the contract, or None."""
        if roll is None or roll in self._rolls:
            return None
        meant = closest(roll, self._rolls)
        known = "rolls: " + ", ".join(f"`{name}`" for name in self._rolls)
        return f"`{roll}` is not a roll of this contract", f"did you mean `{meant}`?" if meant else known

    def _objection(self, spot: tuple[str, str], roll: str | None, text: str, unit: str) -> Reason | None:
        for column, name in zip(("location", "spot"), spot, strict=True):
            if not is_name(name):
                problem = name_problem(0, column, name)
                return problem.message, problem.help_text
        unknown = self.unknown_roll(roll)
        if unknown is not None:
            return unknown
        value, stated = None, None
        try:
            if not self._compares:
                value, stated = reading_cell(text)
        except QuantityError as failure:
            return failure.message, failure.help_text
        row = ReadingRow(*spot, roll, value, stated or unit or None, None, 0, grade=text if self._compares else None)
        objections = [gauge.objection(row) for gauge in self._gauges]
        first = objections[0]
        return None if first is None or None in objections else first[2:]


class ReadingCells:
    """Reads the rows of a readings block of a sheet."""

    def __init__(
        self, job: Job, incoming: Incoming, block: BlockForm, gauge: str | None, refusal: Reason | None = None
    ) -> None:
        """``refusal`` is why no reading of this block can be taken."""
        self._into = incoming
        self._refusal = refusal
        self._rolls = block.rolls
        self._spots = SpotRows(job, incoming, str(block.area), gauge)

    def row(self, cells: Mapping[str, str], place: str) -> bool:
        """Take the readings of one row, one per roll; return whether any was taken."""
        spot = (cells.get("location", ""), cells.get("spot", ONLY_SPOT if cells.get(GRADE) else ""))
        time = read_time(cells.get("time", ""), place, self._into)
        read = [
            (cells[cell], roll)
            for cell, roll in (*self._rolls.items(), (DEPTH, None), (GRADE, None))
            if cells.get(cell)
        ]
        reason = (self._refusal or self._spots.begun(spot, place)) if read else None
        if reason is not None:
            alone = GRADE if cells.get(GRADE) else DEPTH
            row = {"location": spot[0], "spot": spot[1]} | {roll or alone: text for text, roll in read}
            self._into.refuse(place, "row", entry_text("readings", row | ({"time": time} if time else {})), reason)
            return False
        taken = [self._spots.add(place, spot, roll, text, time=time) for text, roll in read]
        if time and not any(taken):
            self._into.refuse(place, "time", time, ("no reading of this row was taken", "write the reading beside it"))
        elif not read:
            self._into.missing.append(f"{place}: location {spot[0]}, spot {spot[1]} has no reading")
        return any(taken)


def read_time(text: str, place: str, incoming: Incoming) -> str:
    """Return a clock time as it goes into the day file, or nothing after noting why it is none."""
    if not text:
        return ""
    time, reason = read_clock(text)
    if time is None and reason is not None:
        incoming.refuse(place, "time", text, reason)
    return time or ""


def only_gauge(project: Project) -> str | None:
    """Return the id of the gauge with which a contract's profile is read; None where there is none, or a choice."""
    found = gauges_of(project)
    return found[0] if len(found) == 1 else None


def gauges_of(project: Project) -> list[str]:
    """Return the ids of the gauges with which a contract's profile is read: those of its method, where it has any.

    A comparator is none but where the method is a comparison.
    """
    kinds = project.specification.profile.gauges
    by_kind = [[name for name, one in project.instruments.items() if one.kind == kind] for kind in kinds]
    if by_kind[0] and project.specification.profile.kind is not None:
        return by_kind[0]
    return [name for name, one in project.instruments.items() if one.kind in ("thickness gauge", "depth micrometer")]
