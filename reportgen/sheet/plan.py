"""What stands on a sheet: blocks of rows to fill, prefilled from the job, the sampling plan and what is owed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from string import ascii_lowercase
from typing import TYPE_CHECKING, Any, Final, Literal

from reportgen.intake.form import BlockForm, SheetForm, sheet_identity
from reportgen.intake.readings import gauges_of
from reportgen.job import Places
from reportgen.job.recorded import CHECKED_KINDS
from reportgen.measurements import LOGS, OF_A_SURFACE, TESTS, Entry, Measurement
from reportgen.metrology.tape import tape_scheme
from reportgen.references import COMPARATOR_GRADES
from reportgen.rules.due import AreaDue, areas_due, first_grade
from reportgen.rules.required_records import required_keys
from reportgen.units import DISPLAY, render_number
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.job import HoldStep, Instrument, Job, Project
    from reportgen.results import Evaluation

Paper = Literal["a4", "letter"]
CellKind = Literal["text", "tick"]

_ROWS_A_PLACE: Final = 3
_SPARE_ROWS: Final = 2
_SPARE_LOCATIONS: Final = 1
_ROWS_A_STEP: Final = 2
_REPLICA_ROWS: Final = 3
_SITE_TITLE: Final = "The site today: write none where there was nothing"
_SITE: Final = (
    ("weather", "Weather, morning and afternoon", 2.2), ("wind", "Wind", 1.0), ("high", "High", 0.7),
    ("low", "Low", 0.7), ("blasters", "Blasters", 0.7), ("equipment", "Equipment", 1.6),
    ("agreements", "Agreed by word of mouth", 2.2), ("deviations", "Deviations", 1.6),
)  # fmt: skip
"""Facts of the day that are written by hand: field, heading, share of the row."""


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


_GRADES: Final = "one of " + ", ".join(COMPARATOR_GRADES)
"""What to write beside a comparator."""

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
    forms = []
    for block in blocks:
        given = sorted({key for row in block.rows for key, text in row.items() if text})
        units = {cell.key: cell.unit for cell in block.cells if cell.unit}
        keys = tuple(cell.key for cell in block.cells)
        forms.append(BlockForm(block.kind, block.area, keys, tuple(given), units, dict(block.rolls), len(block.rows)))
    return SheetPlan(
        paper,
        f"Field sheet for {report.number}, revision {report.revision}",
        f"{contract.name} · {contract.contract} · {report.date.isoformat()} · "
        f"{job.project.people[report.inspector].name}",
        _reminder(job.project, gauge_of(job)),
        tuple(blocks),
        SheetForm(sheet_identity(job), tuple(forms)),
    )


def _reminder(project: Project, gauge: tuple[str, Instrument] | None) -> tuple[str, ...]:
    """Return the rule for two grades of tape in three lines; none where no tape is used or the contract has no rule."""
    profile = project.specification.profile
    if gauge is None or gauge[1].kind != "thickness gauge" or gauge[1].unit is None or profile.overlap_rule is None:
        return ()
    scheme = tape_scheme(profile.overlap_rule, gauge[1].unit)
    begin = "1  Begin with the grade the contract asks for."
    grade = first_grade(project, gauge)
    if grade is not None:
        rolls = ", ".join(name for name, roll in project.tape_rolls.items() if roll.grade == grade)
        begin = f"1  Begin with {grade} tape" + (f" (roll {rolls})." if rolls else ".")
    unit, places = DISPLAY.get(scheme.unit, scheme.unit), 1 if scheme.unit == "mil" else 0
    bounds = scheme.window.minimum, scheme.window.maximum, scheme.changeover
    low, high, change = (render_number(value, places) for value in bounds)
    if scheme.rule == "average":
        return (
            begin,
            f"2  Profile from {low} to {high} {unit}, ends included? Take a second one there, on the other grade.",
            "3  Write both down. Both inside: the mean counts. One outside: that one. On opposite sides: again.",
        )
    if scheme.rule == "non-averaging":
        return (
            begin,
            f"2  Coarse tape shows {change} {unit} or more? Take extra coarse tape at the same spot; that one counts.",
            "3  Write both down. Extra coarse tape below its own range? Then the coarse reading counts.",
        )
    return (
        begin,
        "2  One grade, one reading a spot: no second reading is needed.",
        "3  A reading outside the range of its grade does not count: take the other grade at the same spot.",
    )


def gauge_of(job: Job) -> tuple[str, Instrument] | None:
    """Return id and description of the gauge of the shift: the one the day names first, or the first that fits."""
    named = [surface.profile.gauge for surface in job.day.surfaces if surface.profile is not None]
    named += [check.gauge for check in job.day.gauge_checks]
    for gauge in (*named, *gauges_of(job.project)):
        return gauge, job.project.instruments[gauge]
    return None


# Checks and conditions


def _checks(job: Job, due: Sequence[AreaDue]) -> list[Block]:
    project = job.project
    gauge = gauge_of(job)
    unit = gauge[1].unit or "" if gauge else ""
    before = [_log(project, due, kind) for kind in LOGS if not kind.subject]
    after = [_log(project, due, kind) for kind in LOGS if kind.subject]
    of_the_day = _of_the_day(project)
    if not gauge or gauge[1].kind == "comparator":
        return [*before, *after, *of_the_day]
    tape = gauge[1].kind == "thickness gauge"
    part, were = ("", "anvils were") if tape else ("tip_", "tip and foot were")
    gauge_cells = (
        _TIME,
        Cell("gauge", "Gauge", 1.0),
        Cell(f"{part}clean", "Clean", 0.7, "tick", ask=f"{were} clean"),
        Cell(f"{part}cleaned", "Cleaned", 0.8, "tick", ask=f"{were} cleaned"),
        Cell("preset", "Closed", 1.1, unit=unit, ask="what the dial shows with anvils closed")
        if tape
        else Cell("zero", "On the plate", 1.3, unit=unit, ask="what it shows on the flat plate"),
        Cell("shim", "Shim", 1.1, unit=unit),
        Cell("shim_reading", "Shim read", 1.3, unit=unit),
    )
    tape_cells = (
        _TIME,
        Cell("roll", "Roll", 1.6),
        Cell("gauge", "Gauge", 1.0),
        Cell("thickness", "Unused tape", 1.6, unit=unit),
    )
    given = {"gauge": gauge[0]}
    rows = tuple({"roll": roll, **given} for roll in project.tape_rolls) or (given,)
    lots = "   ".join(f"{name}: {roll.grade}, lot {roll.lot}" for name, roll in project.tape_rolls.items())
    return [
        *before,
        Block("gauge_checks", "Gauge checks: start, end, after a knock", gauge_cells, (given,) * 3),
        *([Block("tape_checks", "Tape checks", tape_cells, rows, notes=(lots,) if lots else ())] if tape else []),
        *after,
        *of_the_day,
    ]


def _of_the_day(project: Project) -> list[Block]:
    """Return what is written down of the day where the contract asks for it: function checks, hold points, the site."""
    keys = required_keys(project.requires)
    high_and_low = ("high", "low") if "high_and_low" in keys else ()
    site = tuple(
        Cell(key, head, share, unit=project.units.temperature if key in high_and_low else "")
        for key, head, share in _SITE
        if key in keys or key in high_and_low
    )
    steps = project.specification.hold_points
    return [
        *([_function_checks(project)] if "function_checks" in keys else []),
        *([_hold_points(steps)] if steps or "hold_points" in keys else []),
        *([Block("site", _SITE_TITLE, site, ({},), numbered=False)] if site else []),
    ]


def _function_checks(project: Project) -> Block:
    cells = (
        _TIME,
        Cell("instrument", "Instrument", 1.2),
        Cell("reference", "Reference", 1.1, ask="with its unit, such as 75.3 %"),
        Cell("shown", "Shown", 1.1, ask="with its unit, such as 74 %"),
        Cell("tolerance", "Tolerance", 1.1, ask="with its unit, such as 3 %; else the accuracy counts"),
        Cell("against", "Against", 2.0, ask="salt solution, second instrument, standard"),
    )
    rows = tuple({"instrument": name} for name, one in project.instruments.items() if one.kind in CHECKED_KINDS)
    return Block("function_checks", "Function checks on site", cells, (*rows, {}))


def _hold_points(steps: Sequence[HoldStep]) -> Block:
    cells = (
        Cell("step", "Hold point", 2.4),
        Cell("areas", "Areas", 1.4, ask="all where none is named"),
        Cell("asked", "Asked", 0.9, ask="such as 06:40"),
        Cell("released", "Released", 0.9, ask="such as 06:40"),
        Cell("refused", "Refused", 0.9, ask="such as 06:40"),
        Cell("by", "By", 1.6, ask="who released or refused it"),
    )
    rows = tuple({"step": one.step} for one in steps for _ in range(_ROWS_A_STEP))
    notes = tuple(f"No {one.before} before {one.step} is released." for one in steps)
    return Block("hold_points", "Hold points", cells, rows or ({},) * _ROWS_A_STEP, notes=notes)


def _log(project: Project, due: Sequence[AreaDue], kind: Measurement[Any, Any, Any]) -> Block:
    """Return the rows of what is checked again and again over the shift, in the order of its times."""
    said = sentences()
    cells = _cells(project, kind)
    title = said.say("sheet" if said.knows("sheet", kind.key) else "entry", kind.key)
    # a place needs rows of its own where the contract has several
    at_places: dict[str, list[str]] = defaultdict(list)
    places = Places(project.structures, ())
    for one in due if kind.placed and len(places.stated) > 1 else ():
        if (place := places.of(one.plan.id)) is not None:
            at_places[place].append(one.plan.id)
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
            getattr(project.units, one.unit, one.unit), said.say("ask", asked) if said.knows("ask", asked) else "",
        )
        for one in _asked(kind, limit) for asked in (f"{kind.key}.{one.field}",)
    )  # fmt: skip


def _asked(kind: Measurement[Any, Any, Any], limit: Any) -> tuple[Entry, ...]:
    return kind.entries if kind.asked is None or limit is None else kind.asked(limit)


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
    gauge = gauge_of(job)
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
    tape = gauge is not None and gauge[1].kind == "thickness gauge"
    film = (
        Cell("subtracted", "Film off", 0.7, "tick", ask="the gauge is pre-set: it shows the profile"),
        Cell("included", "Film on", 0.7, "tick", ask="the gauge shows film and foam together"),
    )
    closes = " ".join(due.closes)
    share = max(1.6, 0.12 * len(closes))
    closing = Cell("reinspects", "Re-inspection for", share, ask="what a good one closes; empty it where it is none")
    third = (
        *((Cell("gauge", "Gauge", 0.9),) if gauge else ()),
        *(film if tape else ()),
        *((closing,) if closes else ()),
        *_asked_of_area(job.project),
        Cell("not_inspected", "Not inspected because", 2.2),
        Cell("remarks", "Remarks", 3.0),
    )
    given = {key: text for key, text in (("gauge", gauge[0] if gauge else ""), ("reinspects", closes)) if text}
    blocks = [
        Block("surface", "Preparation", first, ({},), area.id, new_page=True, heading=head, numbered=False),
        Block("surface", "", second, ({},), area.id, numbered=False),
        Block("surface", "", third, (given,), area.id, numbered=False),
    ]
    if gauge is not None:
        blocks.append(_readings(job, due, gauge))
        blocks += _beside_readings(job.project, due, gauge[1])
    for kind in TESTS:
        if getattr(job.project.specification, kind.limit_key) is not None:
            rows = (_known(job.project, kind),) * kind.rows_on_sheet
            title = sentences().say("entry", kind.key)
            blocks.append(Block(kind.day_key, title, _cells(job.project, kind), rows, area.id))
    return blocks


def _asked_of_area(project: Project) -> tuple[Cell, ...]:
    """Return the column for the size of what was cleaned, where the contract asks for it."""
    asked = "area_cleaned" in required_keys(project.requires)
    return (Cell("cleaned", "Cleaned", 0.9, unit=project.units.area),) if asked else ()


def _beside_readings(project: Project, due: AreaDue, gauge: Instrument) -> list[Block]:
    """Return how the replicas came out, and somebody else's readings where the contract asks for them.

    Of the replicas one row is for all that have no row of their own, and a few for those that do.
    """
    area, unit = due.plan.id, gauge.unit or ""
    replicas = (
        Cell("location", "Location", 1.0, ask="empty: all replicas without a row of their own"),
        Cell("spot", "Spot", 0.6),
        Cell("roll", "Roll", 0.8),
        Cell("even", "Grain even", 0.9, "tick", ask="grain uniform over the whole circle"),
        Cell("uneven", "Uneven", 0.7, "tick", ask="grain not uniform"),
        Cell("rubbed", "Rubbed", 0.7, "tick", ask="rubbed fully, not slid"),
        Cell("slid", "Slid", 0.5, "tick", ask="slid while it was rubbed"),
        Cell("affixed", "Affixed", 0.7, "tick", ask="affixed to the report"),
        Cell("thrown_away", "Thrown away because", 2.6),
    )
    title, blocks = "Replicas: first row all, then each that is otherwise", []
    if gauge.kind == "thickness gauge":
        blocks.append(Block("replicas", title, replicas, ({},) * _REPLICA_ROWS, area))
    if "comparison" not in required_keys(project.requires):
        return blocks
    who = (
        Cell("other_by", "Readings by", 1.8, ask="who took them, beside the inspector"),
        Cell("other_of", "Of", 1.6, ask="organisation"),
        Cell("other_gauge", "Gauge", 1.1, ask="serial number"),
        Cell("other_accuracy", "Accuracy", 1.0, unit=unit, ask="limit of error of that gauge"),
        Cell(
            "other_expanded", "or their U", 1.0, unit=unit, ask="expanded uncertainty of a location, as they state it"
        ),
        replace(_TIME, key="other_time"),
    )
    cells = (
        Cell("location", "Location", 1.2),
        Cell("spot", "Spot", 0.8, ask="empty: a value of the whole location"),
        Cell("profile", "Profile", 1.5, unit=unit, ask="net of the film"),
    )
    spots = ascii_lowercase[: project.specification.profile.readings_per_location]
    rows = tuple({"location": place, "spot": spot} for place in due.locations for spot in spots)
    title = "Somebody else's readings at the same locations"
    return [
        *blocks,
        Block("surface", title, who, ({},), area, numbered=False),
        Block("compared", "", cells, rows, area),
    ]


def _readings(job: Job, due: AreaDue, gauge: tuple[str, Instrument]) -> Block:
    unit = gauge[1].unit or ""
    tape, compared = gauge[1].kind == "thickness gauge", gauge[1].kind == "comparator"
    described = job.project.tape_rolls
    first = first_grade(job.project, gauge)
    in_order = sorted(described, key=lambda roll: described[roll].grade != first)
    rolls = {f"roll{number}": roll for number, roll in enumerate(in_order, 1)} if tape else {}
    columns = [
        Cell(key, f"{roll}, {described[roll].grade}", 1.5, unit=unit, ask=f"reading on roll {roll}")
        for key, roll in rolls.items()
    ] or [
        {True: Cell("grade", "Grade seen", 3.0, ask=_GRADES), False: Cell("depth", "Depth", 1.5, unit=unit)}[compared]
    ]
    cells = (
        Cell("location", "Location", 1.2),
        Cell("spot", "Spot", 0.8),
        *columns,
        _TIME,
    )
    profile = job.project.specification.profile
    title = "Profile beside the comparator" if compared else f"Profile readings, {DISPLAY.get(unit, unit)}"
    title += f"   (contract: {profile.range_as_stated})"
    per_location = profile.readings_needed
    numbers = [str(number + 1) for number in range(per_location)]
    spots = numbers if per_location > len(ascii_lowercase) else ascii_lowercase[:per_location]
    rows = [{"location": place, "spot": spot} for place, spot in due.owed]
    rows += [
        {"location": place, "spot": spot} for place in due.locations for spot in spots
        if (place, spot) not in due.owed
    ]  # fmt: skip
    spare = max(1, _SPARE_LOCATIONS * per_location)
    notes = (_GRADES[0].upper() + _GRADES[1:] + ".",) if compared else ()
    return Block("readings", title, cells, (*rows, *({},) * spare), due.plan.id, rolls=rolls, notes=notes)
