"""What else was measured on an area: the kinds of the registry, time to the primer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.measurements import OF_A_SURFACE, TESTS, Measurement
from reportgen.pdf.blocks import SectionTitle, Verdict
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, MUTED
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.words.numbers import digits

if TYPE_CHECKING:
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, CoatingTime

_VERDICT = 100.0


def other_measurements(context: Context, area: AreaResult) -> list[Flowable]:
    """One table: kind, place, result, requirement, verdict."""
    words = context.words
    rows = measurement_rows(context, area.id)
    if not rows:
        return []
    columns = [
        Column(words("other.kind"), 106, face=BOLD),
        Column(words("other.place"), 58),
        Column(words("other.result"), (context.width - 264) * 0.5, gap=10),
        Column(words("other.required"), (context.width - 264) * 0.5, ink=MUTED, gap=10),
        Column(words("readings.verdict"), _VERDICT, gap=0),
    ]
    table = GroupedTable(columns, [[row] for row in rows], words("other.title"))
    title = SectionTitle(words("other.title"), f"area-{area.id}-other", level=3, outline=False)
    return [CondPageBreak(table.need(2)), title, table]


def measurement_rows(context: Context, area: str) -> list[Row]:
    """The rows of one area, in a fixed order of kinds."""
    evaluation = context.evaluation
    rows: list[Row] = []
    for kind in (*OF_A_SURFACE, *TESTS):
        rows += [_measured(context, kind, each) for each in getattr(evaluation, kind.key) if each.area == area]
    return rows + [_coating(context, each) for each in evaluation.coating_times if each.area == area]


def _verdict(context: Context, verdict: str) -> Verdict:
    return Verdict(verdict, context.words(f"verdict.{verdict}"), _VERDICT)


def _clause(context: Context, clause: str | None) -> str:
    return f" · {context.words('clause', clause=clause)}" if clause else ""


def _measured(context: Context, kind: Measurement[Any, Any, Any], result: Any) -> Row:
    words, said = context.words, context.said
    limit = getattr(context.job.project.specification, kind.limit_key)
    required = "–"
    if limit is not None:
        required = context.limit_of(kind, limit) + _clause(context, limit.clause)
    shown = said.say("result", kind.key, kind.result_facts(result))
    place = words("location", location=result.location) if kind in TESTS else ""
    return (said.say("measurement", kind.key), place, shown, required, _verdict(context, result.verdict))


def _coating(context: Context, result: CoatingTime) -> Row:
    words = context.words
    limit = context.job.project.specification.time_to_coat
    if result.hours is not None:
        shown = words("other.hours", hours=digits(result.hours))
    elif result.coat_by is not None:
        shown = words("other.coat-by", time=result.coat_by)
    elif any(finding.code == "coating-overdue" for _, finding in context.findings.get(result.area, [])):
        shown = words("other.not-in-time")
    else:
        shown = words("other.not-coated")
    required = "–"
    if limit is not None:
        required = words("limit.at-most", limit=context.limit(limit.maximum)) + _clause(context, limit.clause)
    return (words("other.time"), "", shown, required, _verdict(context, result.verdict))
