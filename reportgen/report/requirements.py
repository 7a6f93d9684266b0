"""What the contract requires against what was found; the conditions of the shift with their chart."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE
from reportgen.pdf.blocks import SectionTitle, Verdict, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, MUTED
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.report.verdicts import WORST_FIRST

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.measurements import Measurement
    from reportgen.report.context import Context

_VERDICT = 80.0
_LACKING = frozenset({"locations-missing", "surface-not-measured"})


def requirements_section(context: Context) -> list[Flowable]:
    """Each requirement with clause and limit in both unit systems, the rule it is judged by, and what was found."""
    words = context.words
    columns = [
        Column(words("required.topic"), 78, face=BOLD),
        Column(words("required.limit"), 126, gap=10),
        Column(words("required.rule"), context.width - 78 - 126 - 92 - _VERDICT, ink=MUTED, gap=10),
        Column(words("required.found"), 92),
        Column(words("readings.verdict"), _VERDICT, gap=0),
    ]
    rows = requirement_rows(context)
    table = GroupedTable(columns, [[row] for row in rows], words("required.title"), row_head=True)
    note = words("required.note", document=context.job.project.specification.document)
    title = SectionTitle(words("required.title"), "requirements", note=note)
    return [CondPageBreak(table.need(2)), title, table]


def requirement_rows(context: Context) -> list[Row]:
    """One row per requirement that the project file states."""
    kinds = [kind for kind in MEASUREMENTS if kind not in OF_A_SURFACE]
    return [
        *_limited(context, OF_A_SURFACE), _profile(context), _sampling(context), *_limited(context, kinds),
        *_time(context),
    ]  # fmt: skip


def stated_topics(context: Context) -> list[str]:
    """The topics of those rows, in their order."""
    stated = context.job.project.specification
    kinds = [kind for kind in MEASUREMENTS if getattr(stated, kind.limit_key) is not None]
    first = [kind.key for kind in kinds if kind in OF_A_SURFACE]
    others = [kind.key for kind in kinds if kind not in OF_A_SURFACE]
    return [*first, "profile", "sampling", *others, *([] if stated.time_to_coat is None else ["time"])]


def _row(
    context: Context, topic: str, limit: str, rule: str, verdicts: Iterable[str], clause: str | None = None
) -> Row:
    words = context.words
    shown = f"{limit} ({words('clause', clause=clause)})" if clause else limit
    listed = list(verdicts)
    verdict = next((each for each in WORST_FIRST if each in listed), "not evaluated")
    mark = Verdict(verdict, words(f"verdict.{verdict}"), _VERDICT)
    return (context.topic_name(topic), shown, rule, _found(context, listed), mark)


def _found(context: Context, verdicts: list[str]) -> str:
    """How many of each verdict, in the order of weight."""
    words = context.words
    counts = Counter(verdicts)
    parts = [
        words(f"found.{each}.one" if counts[each] == 1 else f"found.{each}", count=counts[each])
        for each in reversed(WORST_FIRST)
        if counts[each]
    ]
    return ", ".join(parts) or words("required.no-data")


def _profile(context: Context) -> Row:
    words, stated = context.words, context.job.project.specification.profile
    limit = context.limits(stated.minimum, stated.maximum) or f"{stated.comparator_grade}"
    rules = [
        f"{stated.method} ({stated.edition})",
        words(f"rule.{stated.decision_rule}"),
        words(f"rounding.{stated.rounding}"),
    ]
    if stated.overlap_rule:
        rules.insert(1, words(f"overlap.{stated.overlap_rule}"))
    verdicts = [location.verdict for area in context.evaluation.areas for location in area.locations]
    return _row(context, "profile", limit, "; ".join(rules), verdicts, stated.clause)


def _sampling(context: Context) -> Row:
    words, stated = context.words, context.job.project.specification.sampling
    limit = words(f"sampling.{stated.plan}", count=stated.locations, area=stated.first_area, length=stated.length)
    if stated.further_area is not None:
        limit += words("sampling.further", count=stated.further_locations, area=stated.further_area)
    rule = words("required.spots", count=context.job.project.specification.profile.readings_per_location)
    lacking = {one.area for one in context.evaluation.findings if {one.code, getattr(one.facts, "code", "")} & _LACKING}
    verdicts = [
        "inconclusive" if area.id in lacking else "conforms"
        for area in context.evaluation.areas
        if area.required_locations is not None
    ]
    return _row(context, "sampling", limit, rule, verdicts, stated.clause)


def _limited(context: Context, kinds: Sequence[Measurement[Any, Any, Any]]) -> list[Row]:
    """The kinds of measurement of the registry that the contract limits."""
    rows = []
    for kind in kinds:
        stated = getattr(context.job.project.specification, kind.limit_key)
        if stated is not None:
            method = context.said.say("method", kind.key, kind.limit_facts(stated))
            verdicts = [each.verdict for each in getattr(context.evaluation, kind.key)]
            limit = context.limit_of(kind, stated, whole=True)
            rows.append(_row(context, kind.key, limit, method, verdicts, stated.clause))
    return rows


def _time(context: Context) -> list[Row]:
    words, stated = context.words, context.job.project.specification.time_to_coat
    if stated is None:
        return []
    limit = words("limit.at-most", limit=context.limit(stated.maximum))
    verdicts = [each.verdict for each in context.evaluation.coating_times]
    return [_row(context, "time", limit, words("required.from-blast-end"), verdicts, stated.clause)]


def not_evaluated_notes(context: Context) -> list[Flowable]:
    """What the job holds and nothing has judged, each in a sentence."""
    words = context.words
    return [
        running_text(words("not-evaluated", what=context.said.left_out(what)), "muted", before=4)
        for what in context.evaluation.not_evaluated
    ]
