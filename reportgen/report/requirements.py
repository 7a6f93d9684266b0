"""What the contract requires against what was found."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE
from reportgen.pdf.blocks import SectionTitle, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, MUTED
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.report.verdicts import WORST_FIRST
from reportgen.rules.requirement import requirement_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.measurements import Measurement
    from reportgen.report.context import Context

_VERDICT = 80.0
_LACKING = frozenset({"locations-missing", "surface-not-measured"})


def requirements_section(context: Context) -> list[Flowable]:
    """Each requirement with clause and limit in both unit systems, the rule it is judged by, and what was found.

    Below, what the job holds and nothing has judged, each in a sentence.
    """
    words, stated = context.words, context.job.project.specification
    columns = [
        Column(words("required.topic"), 78, face=BOLD),
        Column(words("required.limit"), 126, gap=10),
        Column(words("required.rule"), context.width - 78 - 126 - 92 - _VERDICT, ink=MUTED, gap=10),
        Column(words("required.found"), 92),
        Column(words("readings.verdict"), _VERDICT, gap=0),
    ]
    profile, sampling, evaluation = stated.profile, stated.sampling, context.evaluation
    rules = [f"{profile.method} ({profile.edition})"]
    rules += [words(f"overlap.{profile.overlap_rule}")] if profile.overlap_rule else []
    rules += profile_rules(context)
    heights = profile_limits(context)
    judged = [location.verdict for area in evaluation.areas for location in area.locations]
    counts = {"count": sampling.locations, "area": sampling.first_area, "length": sampling.length}
    plan = words(f"sampling.{sampling.plan}", **counts)
    if sampling.further_area is not None:
        plan += words("sampling.further", count=sampling.further_locations, area=sampling.further_area)
    compared = profile.kind == "comparator"
    spots = words("required.comparisons" if compared else "required.spots", count=profile.readings_needed)
    lacking = {one.area for one in evaluation.findings if {one.code, getattr(one.facts, "code", "")} & _LACKING}
    planned = [area.id in lacking for area in evaluation.areas if area.required_locations is not None]
    met = ["inconclusive"] * planned.count(True) + ["conforms"] * planned.count(False)
    rows = [
        *_limited(context, OF_A_SURFACE),
        _row(context, "profile", heights, "; ".join(rules), judged, profile.clause),
        _row(context, "sampling", plan, spots, met, sampling.clause),
        *_limited(context, [kind for kind in MEASUREMENTS if kind not in OF_A_SURFACE]),
    ]
    if (time := stated.time_to_coat) is not None:
        limit = words("limit.at-most", limit=context.limit(time.maximum))
        verdicts = [each.verdict for each in evaluation.coating_times]
        rows.append(_row(context, "time", limit, words("required.from-blast-end"), verdicts, time.clause))
    table = GroupedTable(columns, [[row] for row in rows], words("required.title"), row_head=True)
    title = SectionTitle(words("required.title"), "requirements", note=words("required.note", document=stated.document))
    notes = [running_text(text, "muted", before=4) for text in context.left_out(evaluation.not_evaluated)]
    return [CondPageBreak(table.need(2)), title, table, *notes]


def profile_limits(context: Context) -> str:
    """The specified range, or the grade that the contract names with its range."""
    profile = context.job.project.specification.profile
    if profile.comparator_grade is None:
        return context.limits(profile.minimum, profile.maximum)
    return f"{profile.comparator_grade} ({context.said.shown(requirement_of(profile).range)})"


def profile_rules(context: Context) -> list[str]:
    """How the profile is judged, each rule in a few words; a comparison has neither uncertainty nor rounding."""
    words, profile = context.words, context.job.project.specification.profile
    if profile.kind == "comparator":
        return [words("rule.compared")]
    ends = requirement_of(profile).taken_by_rounding
    taken = [words(f"rounding.taken.{key}", end=end) for key, end in zip(("above", "below"), ends, strict=True) if end]
    rounding = words("rounding.taken.both").join(taken)
    how = words(f"rounding.{profile.rounding}")
    return [words(f"rule.{profile.decision_rule}"), words("rounding.taken", how=how, values=rounding) if taken else how]


def stated_topics(context: Context) -> list[str]:
    """The topics of those rows, in their order."""
    stated = context.job.project.specification
    kinds = [kind for kind in MEASUREMENTS if getattr(stated, kind.limit_key) is not None]
    first = [kind.key for kind in kinds if kind in OF_A_SURFACE]
    others = [kind.key for kind in kinds if kind not in OF_A_SURFACE]
    return [*first, "profile", "sampling", *others, *([] if stated.time_to_coat is None else ["time"])]


def _row(context: Context, topic: str, limit: str, rule: str, verdicts: Sequence[str], clause: str | None) -> Row:
    words = context.words
    shown = f"{limit} ({words('clause', clause=clause)})" if clause else limit
    counts = Counter(verdicts)
    found = [  # how many of each verdict, in the order of weight
        words(f"found.{each}.one" if counts[each] == 1 else f"found.{each}", count=counts[each])
        for each in reversed(WORST_FIRST)
        if counts[each]
    ]
    worst = next((each for each in WORST_FIRST if counts[each]), "not evaluated")
    told = ", ".join(found) or words("required.no-data")
    return (context.topic_name(topic), shown, rule, told, context.mark(worst, _VERDICT))


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
