"""Equipment and checks: instruments with their certificates, tape, checks with results, people."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.measurements import LOGS, Measurement
from reportgen.pdf.blocks import SECTION_HEIGHT, SectionTitle, Verdict, running_text, titled
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, MUTED
from reportgen.pdf.tables import Cell, Column, GroupedTable, Row, time_width
from reportgen.report.recorded import made, recorded_blocks
from reportgen.report.verdicts import WORST_FIRST
from reportgen.words.numbers import typeset

if TYPE_CHECKING:
    from reportgen.job.project import Person
    from reportgen.report.context import Context

_VERDICT = 80.0
_CHECKED = tuple(kind for kind in LOGS if kind.subject)
"""Kinds of measurement that stand among the checks."""


def equipment_section(context: Context) -> list[Flowable]:
    """Instruments, rolls of tape, checks, people."""
    words = context.words
    roll_columns = [
        Column(words("equipment.roll"), 112, face=BOLD),
        Column(words("equipment.grade"), 130),
        Column(words("equipment.lot"), 130),
        Column(words("equipment.expires"), context.width - 112 - 130 - 130, gap=0),
    ]
    rolls = [
        [(made(name, roll), words(f"grade.{roll.grade}"), roll.lot, roll.expires.isoformat() if roll.expires else "–")]
        for name, roll in context.job.project.tape_rolls.items()
    ]
    listed = {
        "instruments": _instruments(context),
        "rolls": GroupedTable(roll_columns, rolls, words("equipment.rolls")),
        "checks": _checks(context),
        "people": _people(context),
    }
    tables: list[Flowable] = []
    for name, table in listed.items():
        if not table.total():
            tables.append(running_text(words(f"equipment.no-{name}"), "muted", before=6))
        else:  # the first stands under the title of the section
            tables += titled(table, words(f"equipment.{name}"), f"equipment-{name}") if tables else [table]
    first = tables[0]
    blocks: list[Flowable] = [
        CondPageBreak(first.need(3) if isinstance(first, GroupedTable) else SECTION_HEIGHT + 40),
        SectionTitle(words("equipment.title"), "equipment"),
        *tables,
    ]
    blocks += recorded_blocks(context, None)
    if context.job.day.remarks:
        blocks.append(SectionTitle(words("equipment.remarks"), "remarks", level=3, outline=False))
        blocks.append(running_text(context.job.day.remarks, before=3))
    return blocks


def _instruments(context: Context) -> GroupedTable:
    words = context.words
    columns = [
        Column(words("equipment.kind"), 116, face=BOLD),
        Column(words("equipment.serial"), 58),
        Column(words("equipment.accuracy"), context.width - 116 - 58 - 66 - 56 - 56 - _VERDICT),
        Column(words("equipment.certificate"), 66),
        Column(words("equipment.calibrated"), 56),
        Column(words("equipment.due"), 56),
        Column(words("equipment.on-the-day"), _VERDICT, gap=0),
    ]
    rows: list[Row] = []
    for tool_id, tool in context.job.project.instruments.items():
        stated = (
            ("comparator", tool.comparator), ("limits-of-error", tool.accuracy),
            ("thermometer", tool.temperature_accuracy), ("resolution", tool.resolution),
            ("uncertainty", tool.uncertainty),
        )  # fmt: skip
        factor = tool.coverage_factor
        parts = [words(f"equipment.{name}", value=value, factor=factor) for name, value in stated if value]
        dates = [each.isoformat() if each else "–" for each in (tool.calibrated, tool.calibration_due)]
        kind, mark = made(f"{words.named('instrument', tool.kind)} {tool_id}", tool), _on_the_day(context, tool_id)
        rows.append((kind, tool.serial, "; ".join(parts) or "–", tool.certificate or "–", *dates, mark))
    return GroupedTable(columns, [[row] for row in rows], words("equipment.instruments"))


def _on_the_day(context: Context, instrument: str) -> Verdict | Cell:
    """Whether the calibration was in date on every day of use; the worst verdict where there are several."""
    calibrations = [each for each in context.evaluation.checks if each.kind == "calibration"]
    verdicts = {each.verdict for each in calibrations if each.subject == instrument}
    verdict = next((each for each in WORST_FIRST if each in verdicts), None)
    if verdict is None:
        return Cell(context.words("equipment.no-verdict"), ink=MUTED)
    if verdict == "conforms":
        return Verdict(verdict, context.words("equipment.in-date"), _VERDICT)
    return context.mark(verdict, _VERDICT)


def _checks(context: Context) -> GroupedTable:
    """Gauge and tape, what was checked of the kinds of the registry, calibrations and certificates."""
    words, said = context.words, context.said
    proofs: list[Row] = []
    others: list[Row] = []
    for check in context.evaluation.checks:
        listed = check.kind == "calibration" and check.subject in context.job.project.instruments
        if check.verdict == "conforms" and listed:
            continue  # the table of instruments says all there is to say
        told = (typeset(said.checked(check)), typeset(said.check_required(check)))
        mark = context.mark(check.verdict, _VERDICT)
        row = (words.named("check", check.kind), said.check_of(check), check.time or "–", *told, mark)
        (proofs if check.kind in {"gauge", "tape"} else others).append(row)
    logged = [(kind, each) for kind in _CHECKED for each in getattr(context.evaluation, kind.key)]
    wide = time_width([each.time for each in (*context.evaluation.checks, *(result for _, result in logged))]) + 6
    rest = context.width - 74 - 84 - wide - _VERDICT
    columns = [
        Column(words("check.kind"), 74, face=BOLD),
        Column(words("check.subject"), 84),
        Column(words("check.time"), wide),
        Column(words("check.observed"), rest * 0.46, gap=10),
        Column(words("check.requirement"), rest * 0.54, ink=MUTED, gap=10),
        Column(words("readings.verdict"), _VERDICT, gap=0),
    ]
    rows = [*proofs, *(_log_row(context, kind, each) for kind, each in logged), *others]
    return GroupedTable(columns, [[row] for row in rows], words("equipment.checks"))


def _log_row(context: Context, kind: Measurement[Any, Any, Any], result: Any) -> Row:
    said, limit = context.said, getattr(context.job.project.specification, kind.limit_key)
    required = said.say("without-limit", kind.key)
    if limit is not None:
        required = said.say("limit", kind.key, kind.limit_facts(limit))
    told = (typeset(said.say("result", kind.key, kind.result_facts(result))), typeset(required))
    mark = context.mark(result.verdict, _VERDICT)
    return (said.say("measurement", kind.key), getattr(result, kind.subject), result.time, *told, mark)


def _role(context: Context, person: Person) -> str:
    """Return a person's role, whether they were there, and in whose place they are."""
    words, people = context.words, context.job.project.people
    told = [person.role]
    if person.name in context.job.day.report.present:
        told.append(words("people.present"))
    if (taken := person.takes_over) is not None:
        former, namer = (people[key].name if key in people else key for key in (taken.inspector, taken.named_by))
        told.append(words("people.takes-over", former=former, named_by=namer, evidence=taken.evidence))
    return ", ".join(told)


def _people(context: Context) -> GroupedTable:
    words, present = context.words, context.job.day.report.present
    columns = [
        Column(words("people.name"), 112, face=BOLD),
        Column(words("people.role"), 130),
        Column(words("people.certificate"), 130),
        Column(words("people.organisation"), context.width - 112 - 130 - 130, gap=0),
    ]
    rows: list[Row] = []
    people = context.job.project.people
    for person in people.values():
        certificate = person.certificate or "–"
        if person.certificate_expires:
            certificate += words("people.until", date=person.certificate_expires.isoformat())
        rows.append((person.name, _role(context, person), certificate, person.organisation or "–"))
    known = {person.name for person in people.values()}
    rows += [(name, words("people.present"), "–", "–") for name in present if name not in known]
    return GroupedTable(columns, [[row] for row in rows], words("equipment.people"))
