"""What stands on a sheet: blocks of rows to fill, prefilled from the job, the sampling plan and what is owed."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final, Literal

from reportgen.intake.form import BlockForm, SheetForm, sheet_identity
from reportgen.job import Places
from reportgen.measurements import LOGS, OF_A_SURFACE, TESTS, Entry, Measurement
from reportgen.rules.due import AreaDue, areas_due, first_grade
from reportgen.sheet.reminder import reminder
from reportgen.units import DISPLAY
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.job import Instrument, Job, Project
    from reportgen.results import Evaluation

Paper = Literal["a4", "letter"]
CellKind = Literal["text", "tick"]

_ROWS_A_PLACE: Final = 3
_SPARE_ROWS: Final = 2
_SPARE_LOCATIONS: Final = 1


@dataclass(frozen=True, slots=True)
class Cell:
    """One column: key, heading with its unit, share of the width, text or tick, and what to write (for the tooltip)."""

    key: str
    heading: str
    share: float
    kind: CellKind = "text"
    unit: str = ""
    ask: str = ""

    @property
    def title(self) -> str:
        """Heading and unit, as printed above the column."""
        return f"{self.heading} {DISPLAY.get(self.unit, self.unit)}".strip()


_TIME: Final = Cell("time", "Time", 1.0, ask="such as 06:40")


@dataclass(frozen=True, slots=True)
class Block:
    """A titled table of rows to fill; each row maps keys to what is filled in beforehand."""

    kind: str
    title: str
    cells: tuple[Cell, ...]
    rows: tuple[Mapping[str, str], ...]
    area: str | None = None
    rolls: Mapping[str, str] = field(default_factory=dict)
    new_page: bool = False
    heading: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    numbered: bool = True


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """A whole sheet: paper, lines of the header, reminder of the rule for two grades, blocks, and its identity."""

    paper: Paper
    title: str
    subtitle: str
    reminder: tuple[str, ...]
    blocks: tuple[Block, ...]
    form: SheetForm


def sheet_plan(
    job: Job, *, paper: Paper = "a4", evaluation: Evaluation | None = None, areas: Sequence[str] = ()
) -> SheetPlan:
    """Return the plan of a job's field sheet.

    The sheet has a page for each of ``areas``; without them for those the day names, inspected or not, and those
    that ``evaluation`` (of the day before, or of this day so far) says must be measured; without any of these for all
    areas of the contract.

    Raises:
        UsageError: an id that is no area of the contract.
    """
    due = areas_due(job, evaluation, areas)
    blocks = [*_checks(job, due), *(block for one in due for block in _area_blocks(job, one))]
    report = job.day.report
    contract = job.project.project
    forms = tuple(_block_form(block) for block in blocks)
    return SheetPlan(
        paper,
        f"Field sheet for {report.number}, revision {report.revision}",
        f"{contract.name} · {contract.contract} · {report.date.isoformat()} · "
        f"{job.project.people[report.inspector].name}",
        reminder(job.project, gauge_of(job)),
        tuple(blocks),
        SheetForm(sheet_identity(job), forms),
    )


def gauge_of(job: Job) -> tuple[str, Instrument] | None:
    """Return id and description of the gauge of the shift: the one the day names first, or the contract's first."""
    named = [surface.profile.gauge for surface in job.day.surfaces if surface.profile is not None]
    named += [check.gauge for check in job.day.gauge_checks]
    for gauge in (*named, *job.project.instruments):
        instrument = job.project.instruments[gauge]
        if instrument.kind in ("thickness gauge", "depth micrometer"):
            return gauge, instrument
    return None


def _block_form(block: Block) -> BlockForm:
    given = tuple(sorted({key for row in block.rows for key, text in row.items() if text}))
    units = {cell.key: cell.unit for cell in block.cells if cell.unit}
    return BlockForm(
        block.kind,
        block.area,
        tuple(cell.key for cell in block.cells),
        given,
        units,
        dict(block.rolls),
        len(block.rows),
    )


# Checks and conditions


def _checks(job: Job, due: Sequence[AreaDue]) -> list[Block]:
    project = job.project
    gauge = gauge_of(job)
    unit = gauge[1].unit or "" if gauge else ""
    blocks = [_log(project, due, kind) for kind in LOGS if not kind.subject]
    if gauge and gauge[1].kind == "thickness gauge":
        blocks += [_gauge_checks(gauge[0], unit), _tape_checks(project, gauge[0], unit)]
    return [*blocks, *(_log(project, due, kind) for kind in LOGS if kind.subject)]


def _areas_by_place(project: Project, due: Sequence[AreaDue]) -> dict[str, list[str]]:
    """Return the places of the areas on the sheet with their ids; nothing where the contract has one place."""
    places = Places(project.structures, ())
    found: dict[str, list[str]] = {}
    for one in due if len(places.stated) > 1 else ():
        place = places.of(one.plan.id)
        if place is not None:
            found.setdefault(place, []).append(one.plan.id)
    return found


def _gauge_checks(gauge: str, unit: str) -> Block:
    cells = (
        _TIME,
        Cell("gauge", "Gauge", 1.0),
        Cell("clean", "Clean", 0.7, "tick", ask="anvils were clean"),
        Cell("cleaned", "Cleaned", 0.8, "tick", ask="anvils were cleaned"),
        Cell("preset", "Closed", 1.1, unit=unit, ask="what the dial shows with anvils closed"),
        Cell("shim", "Shim", 1.1, unit=unit),
        Cell("shim_reading", "Shim read", 1.3, unit=unit),
    )
    return Block("gauge_checks", "Gauge checks: start, end, after a knock", cells, ({"gauge": gauge},) * 3)


def _tape_checks(project: Project, gauge: str, unit: str) -> Block:
    cells = (
        _TIME,
        Cell("roll", "Roll", 1.6),
        Cell("gauge", "Gauge", 1.0),
        Cell("thickness", "Unused tape", 1.6, unit=unit),
    )
    rows = tuple({"roll": roll, "gauge": gauge} for roll in project.tape_rolls) or ({"gauge": gauge},)
    lots = tuple(f"{name}: {roll.grade}, lot {roll.lot}" for name, roll in project.tape_rolls.items())
    return Block("tape_checks", "Tape checks", cells, rows, notes=("   ".join(lots),) if lots else ())


def _log(project: Project, due: Sequence[AreaDue], kind: Measurement[Any, Any, Any]) -> Block:
    """Return the rows of what is checked again and again over the shift, in the order of its times."""
    said = sentences()
    cells = _cells(project, kind)
    title = said.say("sheet" if said.knows("sheet", kind.key) else "entry", kind.key)
    at_places = _areas_by_place(project, due) if kind.placed else {}
    rows = [{"place": place} for place in at_places for _ in range(_ROWS_A_PLACE)] + [{}] * _SPARE_ROWS
    limit = getattr(project.specification, kind.limit_key)
    noted = limit is not None and said.knows("note", kind.key)
    notes = [said.say("note", kind.key, kind.limit_facts(limit))] if noted else []
    if at_places:
        listed = "; ".join(f"{place}: {', '.join(areas)}" for place, areas in at_places.items())
        notes.append(f"A reading counts for the areas of its own place. {listed}.")
    given = tuple({**row, **_known(project, kind)} for row in (rows if at_places else [{}] * kind.rows_on_sheet))
    return Block(kind.day_key, title, cells, given, notes=tuple(filter(None, notes)))


def _cells(project: Project, kind: Measurement[Any, Any, Any]) -> tuple[Cell, ...]:
    """Return the columns for the values of a kind of measurement that its limit asks for."""
    said, limit = sentences(), getattr(project.specification, kind.limit_key)
    facts = None if limit is None else kind.limit_facts(limit)
    return tuple(
        replace(_TIME, share=one.share) if one.field == "time" else Cell(
            one.name, said.say("entry", f"{kind.key}.{one.field}", facts), one.share, "tick" if one.tick else "text",
            getattr(project.units, one.unit, one.unit), _ask(f"{kind.key}.{one.field}"),
        )
        for one in _asked(kind, limit)
    )  # fmt: skip


def _asked(kind: Measurement[Any, Any, Any], limit: Any) -> tuple[Entry, ...]:
    return kind.entries if kind.asked is None or limit is None else kind.asked(limit)


def _ask(key: str) -> str:
    said = sentences()
    return said.say("ask", key) if said.knows("ask", key) else ""


def _known(project: Project, kind: Measurement[Any, Any, Any]) -> Mapping[str, str]:
    """Return what can be filled in beforehand: the only instruments that the contract has of their usual kinds."""
    given = {}
    for one in _asked(kind, getattr(project.specification, kind.limit_key)):
        by_kind = [[name for name, each in project.instruments.items() if each.kind == tool] for tool in one.usual]
        if by_kind and max(map(len, by_kind)) == 1:
            given[one.name] = " ".join(names[0] for names in by_kind if names)
    return given


# An area


def _area_blocks(job: Job, due: AreaDue) -> list[Block]:
    area = due.plan
    size = f", {area.size}" if area.size is not None else ""
    head = (f"{area.id}   {area.name}{size}", *sentences().notes(due))
    blocks = [*_surface(job, due, head)]
    gauge = gauge_of(job)
    if gauge is not None:
        blocks.append(_readings(job, due, gauge))
    return [*blocks, *_tests(job.project, area.id)]


def _surface(job: Job, due: AreaDue, head: tuple[str, ...]) -> list[Block]:
    area, gauge = due.plan.id, gauge_of(job)
    first = (
        Cell("apparatus", "Apparatus", 1.5),
        *(Cell(f"was_{letter}", letter, 0.5, "tick", ask=f"rust grade {letter}") for letter in "ABCD"),
        Cell("was_coated", "Coated", 0.7, "tick", ask="coated before"),
        Cell("start", "Blast from", 1.0, ask="such as 06:40"),
        Cell("end", "to", 1.0, ask="such as 06:40"),
        Cell("blast_pressure", "Nozzle", 0.9, unit=job.project.units.air, ask="pressure at the nozzle"),
    )
    second = (
        Cell("abrasive", "Abrasive and lot", 2.4),
        *(cell for kind in OF_A_SURFACE for cell in _cells(job.project, kind)),
        Cell("coated", "Coated at", 1.0, ask="such as 06:40"),
    )
    third, given = _instrument_and_remarks(gauge, " ".join(due.closes))
    return [
        Block("surface", "Preparation", first, ({},), area, new_page=True, heading=head, numbered=False),
        Block("surface", "", second, ({},), area, numbered=False),
        Block("surface", "", third, (given,), area, numbered=False),
    ]


def _instrument_and_remarks(
    gauge: tuple[str, Instrument] | None, closes: str
) -> tuple[tuple[Cell, ...], Mapping[str, str]]:
    """Return the last row of the preparation: gauge and film, what a re-inspection closes, what is left to say."""
    film = (
        (
            Cell("gauge", "Gauge", 0.9),
            Cell("subtracted", "Film off", 0.7, "tick", ask="the gauge is pre-set: it shows the profile"),
            Cell("included", "Film on", 0.7, "tick", ask="the gauge shows film and foam together"),
        )
        if gauge and gauge[1].kind == "thickness gauge"
        else ((Cell("gauge", "Gauge", 0.9),) if gauge else ())
    )
    share = max(1.6, 0.12 * len(closes))
    closing = Cell("reinspects", "Re-inspection for", share, ask="what a good one closes; empty it where it is none")
    third = (
        *film,
        *((closing,) if closes else ()),
        Cell("not_inspected", "Not inspected because", 2.2),
        Cell("remarks", "Remarks", 3.0),
    )
    given = {"gauge": gauge[0] if gauge else "", "reinspects": closes}
    return third, {key: text for key, text in given.items() if text}


def _readings(job: Job, due: AreaDue, gauge: tuple[str, Instrument]) -> Block:
    unit = gauge[1].unit or ""
    tape = gauge[1].kind == "thickness gauge"
    described = job.project.tape_rolls
    first = first_grade(job.project, gauge)
    in_order = sorted(described, key=lambda roll: described[roll].grade != first)
    rolls = {f"roll{number}": roll for number, roll in enumerate(in_order, 1)} if tape else {}
    columns = [
        Cell(key, f"{roll}, {described[roll].grade}", 1.5, unit=unit, ask=f"reading on roll {roll}")
        for key, roll in rolls.items()
    ] or [Cell("depth", "Depth", 1.5, unit=unit)]
    cells = (
        Cell("location", "Location", 1.2),
        Cell("spot", "Spot", 0.8),
        *columns,
        _TIME,
    )
    profile = job.project.specification.profile
    limits = " to ".join(str(limit) for limit in (profile.minimum, profile.maximum) if limit is not None)
    title = f"Profile readings, {DISPLAY.get(unit, unit)}" + (f"   (contract: {limits})" if limits else "")
    per_location = profile.readings_per_location
    rows = [{"location": place, "spot": spot} for place, spot in due.owed]
    rows += [
        {"location": place, "spot": spot} for place in due.locations for spot in _spots(per_location)
        if (place, spot) not in due.owed
    ]  # fmt: skip
    spare = max(1, _SPARE_LOCATIONS * per_location)
    return Block("readings", title, cells, (*rows, *({},) * spare), due.plan.id, rolls=rolls)


def _spots(count: int) -> list[str]:
    """Return names of spots: a, b, …; numbers where letters run out.

    >>> _spots(2)
    ['a', 'b']
    """
    return [chr(ord("a") + index) if count <= 26 else str(index + 1) for index in range(count)]


def _tests(project: Project, area: str) -> list[Block]:
    stated = [kind for kind in TESTS if getattr(project.specification, kind.limit_key) is not None]
    return [
        Block(
            kind.day_key, sentences().say("entry", kind.key), _cells(project, kind),
            (_known(project, kind),) * kind.rows_on_sheet, area,
        )
        for kind in stated
    ]  # fmt: skip
