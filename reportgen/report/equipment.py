"""Equipment and checks: instruments with their certificates, tape, checks with results, people."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.measurements import LOGS, Measurement
from reportgen.pdf.blocks import SECTION_HEIGHT, SectionTitle, Verdict, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, MUTED
from reportgen.pdf.tables import Cell, Column, GroupedTable, Row, time_width
from reportgen.report.verdicts import WORST_FIRST
from reportgen.words.numbers import typeset

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.report.context import Context
    from reportgen.results import CheckResult

_VERDICT = 80.0
_CHECKED = tuple(kind for kind in LOGS if kind.subject)
"""Kinds of measurement that stand among the checks."""


def equipment_section(context: Context) -> list[Flowable]:
    """Instruments, rolls of tape, checks, people."""
    words = context.words
    instruments = _table(context, "instruments", _instrument_columns(context), _instruments(context), titled=False)
    first = instruments[0]
    blocks: list[Flowable] = [
        CondPageBreak(first.need(3) if isinstance(first, GroupedTable) else SECTION_HEIGHT + 40),
        SectionTitle(words("equipment.title"), "equipment"),
        *instruments,
        *_table(context, "rolls", _roll_columns(context), _rolls(context)),
        *_table(context, "checks", _check_columns(context), _checks(context)),
        *_table(context, "people", _people_columns(context), _people(context)),
    ]
    if context.job.day.remarks:
        blocks.append(SectionTitle(words("equipment.remarks"), "remarks", level=3, outline=False))
        blocks.append(running_text(context.job.day.remarks, before=3))
    return blocks


def _table(
    context: Context, name: str, columns: Sequence[Column], rows: Sequence[Row], *, titled: bool = True
) -> list[Flowable]:
    words = context.words
    text = words(f"equipment.{name}")
    if not rows:
        return [running_text(words(f"equipment.no-{name}"), "muted", before=6)]
    table = GroupedTable(columns, [[row] for row in rows], text)
    if not titled:
        return [table]
    title = SectionTitle(text, f"equipment-{name}", level=3, outline=False)
    return [CondPageBreak(table.need(2)), title, table]


def _instrument_columns(context: Context) -> list[Column]:
    words = context.words
    rest = context.width - 116 - 58 - 66 - 56 - 56 - _VERDICT
    return [
        Column(words("equipment.kind"), 116, face=BOLD),
        Column(words("equipment.serial"), 58),
        Column(words("equipment.accuracy"), rest),
        Column(words("equipment.certificate"), 66),
        Column(words("equipment.calibrated"), 56),
        Column(words("equipment.due"), 56),
        Column(words("equipment.on-the-day"), _VERDICT, gap=0),
    ]


def _instruments(context: Context) -> list[Row]:
    words = context.words
    rows: list[Row] = []
    for tool_id, tool in context.job.project.instruments.items():
        parts = [words("equipment.limits-of-error", value=tool.accuracy)] if tool.accuracy else []
        if tool.resolution:
            parts.append(words("equipment.resolution", value=tool.resolution))
        if tool.uncertainty:
            parts.append(words("equipment.uncertainty", value=tool.uncertainty, factor=tool.coverage_factor))
        dates = [each.isoformat() if each else "–" for each in (tool.calibrated, tool.calibration_due)]
        kind = f"{words.named('instrument', tool.kind)} {tool_id}"
        certified = (tool.serial, "; ".join(parts) or "–", tool.certificate or "–", *dates)
        rows.append((kind, *certified, _on_the_day(context, tool_id)))
    return rows


def _on_the_day(context: Context, instrument: str) -> Verdict | Cell:
    """Whether the calibration was in date on every day of use; the worst verdict where there are several."""
    words = context.words
    verdicts = {each.verdict for each in context.evaluation.checks if _calibration_of(each) == instrument}
    verdict = next((each for each in WORST_FIRST if each in verdicts), None)
    if verdict is None:
        return Cell(words("equipment.no-verdict"), ink=MUTED)
    word = words("equipment.in-date") if verdict == "conforms" else words(f"verdict.{verdict}")
    return Verdict(verdict, word, _VERDICT)


def _calibration_of(check: CheckResult) -> str | None:
    """The instrument whose calibration was checked; None for another kind of check."""
    return check.subject if check.kind == "calibration" else None


def _stands_above(context: Context, check: CheckResult) -> bool:
    """Whether the instruments table says all there is to say: a calibration in date of an instrument listed there."""
    return check.verdict == "conforms" and _calibration_of(check) in context.job.project.instruments


def _roll_columns(context: Context) -> list[Column]:
    words = context.words
    rest = context.width - 112 - 130 - 130
    return [
        Column(words("equipment.roll"), 112, face=BOLD),
        Column(words("equipment.grade"), 130),
        Column(words("equipment.lot"), 130),
        Column(words("equipment.expires"), rest, gap=0),
    ]


def _rolls(context: Context) -> list[Row]:
    words = context.words
    return [
        (roll_id, words(f"grade.{roll.grade}"), roll.lot, roll.expires.isoformat() if roll.expires else "–")
        for roll_id, roll in context.job.project.tape_rolls.items()
    ]


def _check_columns(context: Context) -> list[Column]:
    words = context.words
    logged = [each.time for kind in _CHECKED for each in getattr(context.evaluation, kind.key)]
    wide = time_width([*(check.time for check in context.evaluation.checks), *logged]) + 6
    rest = context.width - 74 - 84 - wide - _VERDICT
    return [
        Column(words("check.kind"), 74, face=BOLD),
        Column(words("check.subject"), 84),
        Column(words("check.time"), wide),
        Column(words("check.observed"), rest * 0.46, gap=10),
        Column(words("check.requirement"), rest * 0.54, ink=MUTED, gap=10),
        Column(words("readings.verdict"), _VERDICT, gap=0),
    ]


def _checks(context: Context) -> list[Row]:
    """Gauge and tape, what was checked of the kinds of the registry, calibrations and certificates."""
    checks = [check for check in context.evaluation.checks if not _stands_above(context, check)]
    proofs = [_check_row(context, check) for check in checks if check.kind in {"gauge", "tape"}]
    others = [_check_row(context, check) for check in checks if check.kind not in {"gauge", "tape"}]
    logged = [_log_row(context, kind, each) for kind in _CHECKED for each in getattr(context.evaluation, kind.key)]
    return [*proofs, *logged, *others]


def _check_row(context: Context, check: CheckResult) -> Row:
    kind = context.words.named("check", check.kind)
    told = (typeset(context.said.checked(check)), typeset(context.said.check_required(check)))
    return (kind, context.said.check_of(check), check.time or "–", *told, _verdict(context, check.verdict))


def _log_row(context: Context, kind: Measurement[Any, Any, Any], result: Any) -> Row:
    said = context.said
    limit = getattr(context.job.project.specification, kind.limit_key)
    required = said.say("without-limit", kind.key)
    if limit is not None:
        required = said.say("limit", kind.key, kind.limit_facts(limit))
    told = (said.say("result", kind.key, kind.result_facts(result)), required)
    return (
        said.say("measurement", kind.key), getattr(result, kind.subject), result.time, *map(typeset, told),
        _verdict(context, result.verdict),
    )  # fmt: skip


def _verdict(context: Context, verdict: str) -> Verdict:
    return Verdict(verdict, context.words(f"verdict.{verdict}"), _VERDICT)


def _people_columns(context: Context) -> list[Column]:
    words = context.words
    rest = context.width - 112 - 130 - 130
    return [
        Column(words("people.name"), 112, face=BOLD),
        Column(words("people.role"), 130),
        Column(words("people.certificate"), 130),
        Column(words("people.organisation"), rest, gap=0),
    ]


def _people(context: Context) -> list[Row]:
    words = context.words
    rows: list[Row] = []
    for person in context.job.project.people.values():
        certificate = person.certificate or "–"
        if person.certificate_expires:
            certificate += words("people.until", date=person.certificate_expires.isoformat())
        role = person.role
        if person.name in context.job.day.report.present:
            role += f", {words('people.present')}"
        rows.append((person.name, role, certificate, person.organisation or "–"))
    known = {person.name for person in context.job.project.people.values()}
    rows += [(name, words("people.present"), "–", "–") for name in context.job.day.report.present if name not in known]
    return rows
