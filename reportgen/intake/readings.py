"""Readings on their way in: a number for a roll at a spot, checked against the gauge and the rolls of the contract."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import closest
from reportgen.errors import QuantityError
from reportgen.job import parse_clock
from reportgen.loader.gauge import GaugeReadings
from reportgen.readings.rows import ReadingRow, is_name, name_problem, reading_cell

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Literal

    from reportgen.intake.cells import Reason
    from reportgen.intake.incoming import Incoming
    from reportgen.job import Instrument, Job
    from reportgen.layout.sheet import BlockForm

    Film = Literal["subtracted", "included"]

DEPTH: Final = "depth"


class SpotRows:
    """Collects readings of one area into rows of spots, in the order taken."""

    def __init__(self, job: Job, incoming: Incoming, area: str, gauge: str | None = None) -> None:
        self._job = job
        self._into = incoming
        self._area = area
        self._gauges = [GaugeReadings(_gauge_of(job, area, gauge), film) for film in _films(job, incoming, area)]
        self._rows: dict[tuple[str, str], dict[str, str]] = {}

    def add(
        self, place: str, spot: tuple[str, str], roll: str | None, text: str, unit: str = "", time: str = ""
    ) -> None:
        """Take one reading of ``spot`` (location, spot), or refuse it with its place."""
        reason = self._objection(spot, roll, text, unit)
        key = roll or DEPTH
        row = self._rows.get(spot, {})
        if reason is None and row.get(key, text) != text:
            reason = (f"spot {spot[0]}/{spot[1]} has {row[key]} on `{key}` already", "keep the one taken")
        if reason is not None:
            self._into.refuse(place, key, text, reason)
            return
        if spot not in self._rows:
            self._rows[spot] = {"location": spot[0], "spot": spot[1]}
            profile = self._into.surface(self._area).setdefault("profile", {})
            profile.setdefault("readings", []).append(self._rows[spot])
        self._rows[spot][key] = text
        self._into.count += 1
        if time and "time" not in self._rows[spot]:
            self._rows[spot]["time"] = time

    def _objection(self, spot: tuple[str, str], roll: str | None, text: str, unit: str) -> Reason | None:
        for column, name in zip(("location", "spot"), spot, strict=True):
            if not is_name(name):
                problem = name_problem(0, column, name)
                return problem.message, problem.help_text
        rolls = self._job.project.tape_rolls
        if roll is not None and roll not in rolls:
            meant = closest(roll, rolls)
            help_text = f"did you mean `{meant}`?" if meant else "rolls: " + ", ".join(f"`{name}`" for name in rolls)
            return f"`{roll}` is not a roll of this contract", help_text
        try:
            value, stated = reading_cell(text)
        except QuantityError as failure:
            return failure.message, failure.help_text
        row = ReadingRow(*spot, roll, value, stated or unit or None, None, 0)
        objections = [gauge.objection(row) for gauge in self._gauges]
        first = objections[0]
        return None if first is None or None in objections else first[2:]


class ReadingCells:
    """Reads the rows of a readings block of a sheet."""

    def __init__(self, job: Job, incoming: Incoming, block: BlockForm, gauge: str | None) -> None:
        self._into = incoming
        self._rolls = block.rolls
        self._spots = SpotRows(job, incoming, str(block.area), gauge)

    def row(self, cells: Mapping[str, str], place: str) -> None:
        """Take the readings of one row, one per roll."""
        spot = (cells.get("location", ""), cells.get("spot", ""))
        time = read_time(cells.get("time", ""), place, self._into)
        for cell, roll in (*self._rolls.items(), (DEPTH, None)):
            if cells.get(cell):
                self._spots.add(place, spot, roll, cells[cell], time=time)
        if not any(cells.get(cell) for cell in (*self._rolls, DEPTH)):
            self._into.missing.append(f"{place}: location {spot[0]}, spot {spot[1]} has no reading")


def read_time(text: str, place: str, incoming: Incoming) -> str:
    """Return a clock time as written, or nothing after noting why it is none."""
    if not text:
        return ""
    problem = clock_problem(text)
    if problem is None:
        return text
    incoming.refuse(place, "time", text, problem)
    return ""


def clock_problem(text: str) -> Reason | None:
    """Return why a text is no time of the day, or None."""
    try:
        parse_clock(text)
    except QuantityError as failure:
        return failure.message, failure.help_text
    return None


def _gauge_of(job: Job, area: str, named: str | None) -> Instrument | None:
    """Return the gauge of an area: as its profile or the sheet names it, or the only one; None where unknown."""
    for surface in job.day.surfaces:
        if surface.area == area and surface.profile is not None:
            named = surface.profile.gauge
    if named is not None:
        return job.project.instruments.get(named)
    gauges = [one for one in job.project.instruments.values() if one.kind in ("thickness gauge", "depth micrometer")]
    return gauges[0] if len(gauges) == 1 else None


def _films(job: Job, incoming: Incoming, area: str) -> tuple[Film, ...]:
    """Return how the film may have been treated: as the sheet or the day file says, else either way."""
    for surface in incoming.day.get("surfaces", ()):
        film = surface.get("profile", {}).get("film")
        if surface["area"] == area and film is not None:
            return (film,)
    for known in job.day.surfaces:
        if known.area == area and known.profile is not None:
            return (known.profile.film,)
    return ("subtracted", "included")
