"""What stands on a sheet: blocks of rows to fill, prefilled from the job, the sampling plan and what is owed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal
from string import ascii_lowercase
from typing import TYPE_CHECKING, Any, Final, Literal

from reportgen.intake.form import BlockForm, SheetForm, sheet_identity
from reportgen.intake.readings import gauges_of
from reportgen.job import Places
from reportgen.job.recorded import CHECKED_KINDS
from reportgen.measurements import LOGS, OF_A_SURFACE, TESTS, Entry, Measurement
from reportgen.metrology.climate import dew_point
from reportgen.metrology.tape import film_thickness, tape_scheme
from reportgen.rules.due import AreaDue, areas_due, first_grade
from reportgen.rules.required_records import required_keys
from reportgen.units import DISPLAY, Quantity, decimal_mark, printed, render_number
from reportgen.words.filing import sheet_words
from reportgen.words.numbers import typeset
from reportgen.words.sentences import Sentences, sentences

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.job import Instrument, Job, Project
    from reportgen.results import Evaluation
    from reportgen.words.catalogue import Words

Paper = Literal["a4", "letter"]
CellKind = Literal["text", "tick"]

_ROWS_A_PLACE: Final = 3
_SPARE_ROWS: Final = 2
_SPARE_LOCATIONS: Final = 1
_ROWS_A_STEP: Final = 2
_REPLICA_ROWS: Final = 3
_DIRECTIONS: Final = 8
_PHOTO_ROWS: Final = 6
_MOST_TOLD: Final = 8
"""Areas up to which each has a row of its own for who was told of its release; of more, the rows are blank."""
_SITE: Final = {
    "weather": 2.2, "wind": 1.0, "high": 0.7, "low": 0.7, "blasters": 0.7, "equipment": 1.6, "agreements": 2.2,
    "deviations": 1.6,
}  # fmt: skip
"""Facts of the day that are written by hand, with the share of the row that each has."""
_AIR: Final = {"degC": (0, 5, 10, 15, 20, 25, 30, 35), "degF": (35, 45, 55, 65, 75, 85, 95)}
_HUMIDITIES: Final = (40, 50, 60, 70, 80, 85, 90)
"""Of the small table of dew points: air in the contract's unit, relative humidity in percent."""


@dataclass(frozen=True, slots=True)
class SheetCell:
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


class _Told:
    """The words of a sheet in one language."""

    def __init__(self, language: str) -> None:
        self.words: Words = sheet_words(language)
        self.said: Sentences = sentences(language)

    def cell(self, key: str, share: float, kind: CellKind = "text", *, unit: str = "", name: str = "") -> SheetCell:
        """Return a column by its key; ``name`` is that of its words, where another column of the key has others."""
        name = name or key
        ask = f"ask.{name}"
        words = self.words
        return SheetCell(key, words(f"cell.{name}"), share, kind, unit, words(ask) if words.knows(ask) else "")

    def cells(self, **shares: float) -> tuple[SheetCell, ...]:
        """Return columns for text, with the share of each."""
        return tuple(self.cell(key, share) for key, share in shares.items())

    def ticks(self, **shares: float) -> tuple[SheetCell, ...]:
        """Return columns to tick, with the share of each."""
        return tuple(self.cell(key, share, "tick") for key, share in shares.items())


@dataclass(frozen=True, slots=True)
class Block:
    """A titled table of rows to fill; each row maps keys to what is filled in beforehand."""

    kind: str
    title: str
    cells: tuple[SheetCell, ...]
    rows: tuple[Mapping[str, str], ...]
    area: str | None = None
    rolls: Mapping[str, str] = field(default_factory=dict)
    new_page: bool = False
    heading: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    numbered: bool = True

    @property
    def form(self) -> BlockForm:
        """What has to be known of the block to read it again."""
        given = sorted({key for row in self.rows for key, text in row.items() if text})
        units = {cell.key: cell.unit for cell in self.cells if cell.unit}
        keys = tuple(cell.key for cell in self.cells)
        return BlockForm(self.kind, self.area, keys, tuple(given), units, dict(self.rolls), len(self.rows))


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """A whole sheet: paper, language, head, the steps of a good replica, blocks, identity, dew points by air."""

    paper: Paper
    language: str
    body: str
    title: str
    subtitle: str
    reminder: tuple[str, ...]
    blocks: tuple[Block, ...]
    form: SheetForm
    dew_points: tuple[tuple[str, ...], ...]
    inspector: str


def sheet_plan(
    job: Job, *, paper: Paper = "a4", language: str = "en", evaluation: Evaluation | None = None,
    areas: Sequence[str] = (),
) -> SheetPlan:  # fmt: skip
    """Return the plan of a job's field sheet, in a language that has a catalogue.

    The sheet has a page for each of ``areas``; without them for those the day names, inspected or not, and those
    that ``evaluation`` (of the day before, or of this day so far) says must be measured; without any of these for all
    areas of the contract.

    Raises:
        UsageError: an id that is no area of the contract.
    """
    told, due = _Told(language), areas_due(job, evaluation, areas)
    with decimal_mark(told.words.decimal):
        per_area = (block for one in due for block in _area_blocks(told, job, one))
        who = (*told.cells(area=1.2, to=2.6, time=0.9), told.cell("by", 2.0, name="told_by"))
        photos = told.cells(number=1.0, area=1.2, location=0.9, time=0.9, caption=4.0)
        rows = tuple({"area": one.plan.id} for one in due) if len(due) <= _MOST_TOLD else ({},) * _MOST_TOLD
        blocks = [
            *_checks(told, job, due),
            *per_area,
            Block("told_released", told.words("block.told_released"), who, rows, new_page=True),
            *_walk_outs(told, job),
            Block("photos", told.words("block.photos"), photos, ({},) * _PHOTO_ROWS),
        ]
        report = job.day.report
        contract = job.project.project
        inspector = job.project.people[report.inspector].name
        return SheetPlan(
            paper,
            language,
            job.project.inspection_body.name,
            told.words("title", number=report.number, revision=report.revision),
            f"{contract.name} · {contract.contract} · {report.date.isoformat()} · {inspector}",
            replica_steps(told, job.project, gauge_of(job)),
            tuple(blocks),
            SheetForm(sheet_identity(job), tuple(block.form for block in blocks)),
            dew_points_of(job.project),
            inspector,
        )


def dew_points_of(project: Project) -> tuple[tuple[str, ...], ...]:
    """Return rows of dew points: the unit and humidities first, then one row for each temperature of the air."""
    unit = project.units.temperature
    rows = [(DISPLAY.get(unit, unit), *(f"{humidity} %" for humidity in _HUMIDITIES))]
    for air in _AIR[unit]:
        at = Quantity(Decimal(air), unit)
        found = (dew_point(at, Quantity(Decimal(humidity), "%")).in_unit(unit) for humidity in _HUMIDITIES)
        rows.append((str(air), *(typeset(render_number(one, 1)) for one in found)))
    return tuple(rows)


def replica_steps(told: _Told, project: Project, gauge: tuple[str, Instrument] | None) -> tuple[str, ...]:
    """Return the six steps of a good replica; none where no tape is used or the contract has no rule for two grades."""
    profile, words = project.specification.profile, told.words
    if gauge is None or gauge[1].kind != "thickness gauge" or gauge[1].unit is None or profile.overlap_rule is None:
        return ()
    scheme = tape_scheme(profile.overlap_rule, gauge[1].unit)
    grade = first_grade(project, gauge)
    rolls = ", ".join(name for name, roll in project.tape_rolls.items() if roll.grade == grade)
    begin = words("begin") if grade is None else words("begin.grade", grade=words(f"grade.{grade}"))
    begin += words("begin.rolls", rolls=rolls) if rolls else ""
    unit, places = DISPLAY.get(scheme.unit, scheme.unit), 1 if scheme.unit == "mil" else 0
    low, high, change = (
        render_number(value, places) for value in (scheme.window.minimum, scheme.window.maximum, scheme.changeover)
    )
    film = render_number(film_thickness(scheme.unit).in_unit(scheme.unit), places)
    facts = {"begin": begin, "low": low, "high": high, "change": change, "unit": unit, "film": film}
    keys = (*(f"step.{number}" for number in range(1, 6)), f"step.6.{scheme.rule}")
    return tuple(f"{number}  {words(key, **facts)}" for number, key in enumerate(keys, 1))


def gauge_of(job: Job) -> tuple[str, Instrument] | None:
    """Return id and description of the gauge of the shift: the one the day names first, or the first that fits."""
    named = [surface.profile.gauge for surface in job.day.surfaces if surface.profile is not None]
    named += [check.gauge for check in job.day.gauge_checks]
    for gauge in (*named, *gauges_of(job.project)):
        return gauge, job.project.instruments[gauge]
    return None


# Checks and conditions


def _checks(told: _Told, job: Job, due: Sequence[AreaDue]) -> list[Block]:
    project = job.project
    gauge = gauge_of(job)
    unit = gauge[1].unit or "" if gauge else ""
    before = [_log(told, project, due, kind) for kind in LOGS if not kind.subject]
    after = [_log(told, project, due, kind) for kind in LOGS if kind.subject]
    of_the_day = _of_the_day(told, project)
    if not gauge or gauge[1].kind == "comparator":
        return [*before, *after, *of_the_day]
    tape = gauge[1].kind == "thickness gauge"
    part = "" if tape else "tip_"
    gauge_cells = (
        told.cell("time", 1.0),
        told.cell("gauge", 1.0),
        told.cell(f"{part}clean", 0.7, "tick"),
        told.cell(f"{part}cleaned", 0.8, "tick", name=f"{part or 'anvils_'}cleaned"),
        told.cell("preset", 1.1, unit=unit) if tape else told.cell("zero", 1.3, unit=unit),
        told.cell("shim", 1.1, unit=unit),
        told.cell("shim_reading", 1.3, unit=unit),
    )
    tape_cells = (
        told.cell("time", 1.0), told.cell("roll", 1.6), told.cell("gauge", 1.0), told.cell("thickness", 1.6, unit=unit)
    )  # fmt: skip
    given = {"gauge": gauge[0]}
    rows = tuple({"roll": roll, **given} for roll in project.tape_rolls) or (given,)
    lots = "   ".join(
        told.words("lot", roll=name, grade=told.words(f"grade.{roll.grade}"), lot=roll.lot)
        for name, roll in project.tape_rolls.items()
    )
    return [
        *before,
        Block("gauge_checks", told.words("block.gauge_checks"), gauge_cells, (given,) * 3),
        *(
            [Block("tape_checks", told.words("block.tape_checks"), tape_cells, rows, notes=(lots,) if lots else ())]
            if tape
            else []
        ),
        *after,
        *of_the_day,
    ]


def _of_the_day(told: _Told, project: Project) -> list[Block]:
    """Return what is written down of the day where the contract asks for it: function checks, hold points, the site."""
    keys, words, blocks = required_keys(project.requires), told.words, list[Block]()
    if "function_checks" in keys:
        cells = told.cells(time=1.0, instrument=1.2, reference=1.1, shown=1.1, tolerance=1.1, against=2.0)
        checked = tuple({"instrument": name} for name, one in project.instruments.items() if one.kind in CHECKED_KINDS)
        blocks.append(Block("function_checks", words("block.function_checks"), cells, (*checked, {})))
    steps = project.specification.hold_points
    if steps or "hold_points" in keys:
        cells = told.cells(step=2.4, areas=1.4, asked=0.9, released=0.9, refused=0.9, by=1.6)
        rows = tuple({"step": one.step} for one in steps for _ in range(_ROWS_A_STEP)) or ({},) * _ROWS_A_STEP
        notes = tuple(words(f"waits.{one.before}", step=one.step) for one in steps)
        blocks.append(Block("hold_points", words("block.hold_points"), cells, rows, notes=notes))
    high_and_low = ("high", "low") if "high_and_low" in keys else ()
    site = tuple(
        told.cell(key, share, unit=project.units.temperature if key in high_and_low else "")
        for key, share in _SITE.items()
        if key in keys or key in high_and_low
    )
    return [*blocks, *([Block("site", words("block.site"), site, ({},), numbered=False)] if site else [])]


def _log(told: _Told, project: Project, due: Sequence[AreaDue], kind: Measurement[Any, Any, Any]) -> Block:
    """Return the rows of what is checked again and again over the shift, in the order of its times."""
    said, cells = told.said, _cells(told, project, kind)
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
        notes.append(told.words("places", listed=listed))
    given = tuple({**row, **_known(project, kind)} for row in (rows if at_places else [{}] * kind.rows_on_sheet))
    return Block(kind.day_key, title, cells, given, notes=tuple(filter(None, notes)))


def _cells(told: _Told, project: Project, kind: Measurement[Any, Any, Any]) -> tuple[SheetCell, ...]:
    """Return the columns for the values of a kind of measurement that its limit asks for."""
    said, limit = told.said, getattr(project.specification, kind.limit_key)
    facts = None if limit is None else kind.limit_facts(limit)
    return tuple(
        told.cell("time", one.share) if one.field == "time" else SheetCell(
            one.name, said.say("entry", f"{kind.key}.{one.field}", facts), one.share, "tick" if one.tick else "text",
            getattr(project.units, one.unit, one.unit), said.say("ask", asked) if said.knows("ask", asked) else "",
        )
        for one in _asked(kind, limit) for asked in (f"{kind.key}.{one.field}",)
    )  # fmt: skip


def _asked(kind: Measurement[Any, Any, Any], limit: Any) -> tuple[Entry, ...]:
    return kind.entries if kind.asked is None else kind.asked(limit)


def _known(project: Project, kind: Measurement[Any, Any, Any]) -> Mapping[str, str]:
    """Return what can be filled in beforehand: the only instruments that the contract has of their usual kinds."""
    given = {}
    for one in _asked(kind, getattr(project.specification, kind.limit_key)):
        by_kind = [[name for name, each in project.instruments.items() if each.kind == tool] for tool in one.usual]
        if by_kind and max(map(len, by_kind)) == 1:
            given[one.name] = " ".join(names[0] for names in by_kind if names)
    return given


# An area


def _area_blocks(told: _Told, job: Job, due: AreaDue) -> list[Block]:
    area = due.plan
    size = f", {area.size}" if area.size is not None else ""
    head = (f"{area.id}   {area.name}{size}", *told.said.notes(due))
    gauge, limits = gauge_of(job), job.project.specification
    taken_off = (("washed", limits.soluble_salts or limits.dust), ("dust_removed", limits.dust))
    first = (
        told.cell("apparatus", 1.5),
        *told.ticks(was_A=0.5, was_B=0.5, was_C=0.5, was_D=0.5, was_coated=0.7),
        told.cell("start", 1.0),
        told.cell("end", 1.0),
        told.cell("blast_pressure", 0.9, unit=job.project.units.air),
    )
    second = (
        told.cell("abrasive", 2.4),
        *(cell for kind in OF_A_SURFACE for cell in _cells(told, job.project, kind)),
        *(told.cell(name, 1.0) for name, limit in taken_off if due.closes and limit),
        told.cell("coated", 1.0),
    )
    tape = gauge is not None and gauge[1].kind == "thickness gauge"
    closes = " ".join(due.closes)
    # a re-inspection that does not say how much was blasted again is of all that failed
    asked = closes or "area_cleaned" in required_keys(job.project.requires)
    name = "cleaned_again" if closes else "cleaned"
    cleaned = (told.cell("cleaned", 0.9, unit=job.project.units.area, name=name),) if asked else ()
    third = (
        *((told.cell("gauge", 0.9),) if gauge else ()),
        *(told.ticks(subtracted=0.7, included=0.7) if tape else ()),
        *((told.cell("reinspects", max(1.6, 0.12 * len(closes))),) if closes else ()),
        *cleaned,
        told.cell("blasted_again", 1.5),
        told.cell("not_inspected", 2.2),
        told.cell("remarks", 3.0),
    )
    given = {key: text for key, text in (("gauge", gauge[0] if gauge else ""), ("reinspects", closes)) if text}
    blocks = [
        Block(
            "surface", told.words("block.surface"), first, ({},), area.id, new_page=True, heading=head, numbered=False
        ),
        Block("surface", "", second, ({},), area.id, numbered=False),
        Block("surface", "", third, (given,), area.id, numbered=False),
    ]
    if gauge is not None:
        blocks.append(_readings(told, job, due, gauge))
        blocks += _beside_readings(told, job.project, due, gauge[1])
    for kind in TESTS:
        if getattr(job.project.specification, kind.limit_key) is not None:
            rows = (_known(job.project, kind),) * kind.rows_on_sheet
            title = told.said.say("entry", kind.key)
            blocks.append(Block(kind.day_key, title, _cells(told, job.project, kind), rows, area.id))
    return blocks


def _walk_outs(told: _Told, job: Job) -> list[Block]:
    """Return the directions in which a location that fails is walked out; none beside a comparator, without numbers."""
    gauge = gauge_of(job)
    if gauge is None or gauge[1].kind == "comparator":
        return []
    unit = job.project.units.length
    cells = (
        *told.cells(area=1.1, failing=0.9), told.cell("interval", 1.0, unit=unit), told.cell("towards", 1.6),
        told.cell("locations", 3.2), told.cell("edge", 0.6, "tick"),
    )  # fmt: skip
    title, notes = told.words("block.walk_outs"), (told.words("note.walk_outs"),)
    return [Block("walk_outs", title, cells, ({},) * _DIRECTIONS, notes=notes)]


def _beside_readings(told: _Told, project: Project, due: AreaDue, gauge: Instrument) -> list[Block]:
    """Return how the replicas came out, and somebody else's readings where the contract asks for them.

    Of the replicas one row is for all that have no row of their own, and a few for those that do.
    """
    area, unit, blocks = due.plan.id, gauge.unit or "", []
    if gauge.kind == "thickness gauge":
        replicas = (
            told.cell("location", 1.0, name="replica_location"),
            told.cell("spot", 0.6),
            told.cell("roll", 0.8),
            *told.ticks(even=0.9, uneven=0.7, rubbed=0.7, slid=0.5, affixed=0.7),
            told.cell("thrown_away", 2.6),
        )
        blocks.append(Block("replicas", told.words("block.replicas"), replicas, ({},) * _REPLICA_ROWS, area))
    if "comparison" not in required_keys(project.requires):
        return blocks
    who = (
        told.cell("other_by", 1.8),
        told.cell("other_of", 1.6),
        told.cell("other_gauge", 1.1),
        told.cell("other_accuracy", 1.0, unit=unit),
        told.cell("other_expanded", 1.0, unit=unit),
        told.cell("other_time", 1.0, name="time"),
    )
    cells = (
        told.cell("location", 1.2), told.cell("spot", 0.8, name="other_spot"), told.cell("profile", 1.5, unit=unit)
    )  # fmt: skip
    spots = ascii_lowercase[: project.specification.profile.readings_per_location]
    rows = tuple({"location": place, "spot": spot} for place in due.locations for spot in spots)
    return [
        *blocks,
        Block("surface", told.words("block.compared"), who, ({},), area, numbered=False),
        Block("compared", "", cells, rows, area),
    ]


def _readings(told: _Told, job: Job, due: AreaDue, gauge: tuple[str, Instrument]) -> Block:
    unit, words = gauge[1].unit or "", told.words
    tape, compared = gauge[1].kind == "thickness gauge", gauge[1].kind == "comparator"
    described = job.project.tape_rolls
    first = first_grade(job.project, gauge)
    in_order = sorted(described, key=lambda roll: described[roll].grade != first)
    rolls = {f"roll{number}": roll for number, roll in enumerate(in_order, 1)} if tape else {}
    columns = [
        SheetCell(key, words("roll.head", roll=roll, grade=words(f"grade.{described[roll].grade}")), 1.5, unit=unit,
             ask=words("roll.ask", roll=roll))
        for key, roll in rolls.items()
    ] or [told.cell("grade", 3.0) if compared else told.cell("depth", 1.5, unit=unit)]  # fmt: skip
    cells = (
        told.cell("location", 0.9),
        told.cell("spot", 0.6),
        *columns,
        *(told.ticks(uniform=0.7) if tape else ()),
        told.cell("time", 0.9),
        told.cell("position", 2.2),
    )
    profile = job.project.specification.profile
    title = words("block.compared-readings" if compared else "block.readings", unit=DISPLAY.get(unit, unit))
    limits = told.said.graded(profile.range_as_stated) if compared else printed(profile.range_as_stated)
    title += f"   ({words('contract', limits=typeset(limits.replace(' to ', ' – ')))})"
    per_location = profile.readings_needed
    numbers = [str(number + 1) for number in range(per_location)]
    spots = numbers if per_location > len(ascii_lowercase) else ascii_lowercase[:per_location]
    rows = [{"location": place, "spot": spot} for place, spot in due.owed]
    rows += [
        {"location": place, "spot": spot} for place in due.locations for spot in spots
        if (place, spot) not in due.owed
    ]  # fmt: skip
    spare = max(1, _SPARE_LOCATIONS * per_location)
    notes = (words("note.grades"),) if compared else ()
    return Block("readings", title, cells, (*rows, *({},) * spare), due.plan.id, rolls=rolls, notes=notes)
