"""The section of one area: header, readings, charts, results, other measurements, photos, what to measure next."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Any

from reportgen.charts import Bins, histogram_frame, histogram_marks, locations_frame, locations_marks, verdict_mark
from reportgen.measurements import OF_A_SURFACE, TESTS, Measurement
from reportgen.pdf.blocks import SECTION_HEIGHT, Ledger, SectionTitle, running_text, title_text, titled, write
from reportgen.pdf.canvas import tagged
from reportgen.pdf.charted import CHART_HEIGHT, CHART_TITLE, Chart, SideBySide
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import BODY, BOLD, LEADING, MUTED, REGULAR, VERDICT_COLOUR
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.tagging import group
from reportgen.pdf.textlines import text_width, unbroken
from reportgen.report.context import spot_profiles
from reportgen.report.photos import photo_blocks
from reportgen.report.readings import readings_table
from reportgen.report.recorded import recorded_blocks
from reportgen.report.summary import (
    FINDING,
    area_bookmark,
    finding_row,
    location_points,
    seen_grades,
    strip_in_words,
)
from reportgen.report.verdicts import decision_verdict, decision_word, main_reason, of_part
from reportgen.words.numbers import digits, number, shown_unit, typeset

if TYPE_CHECKING:
    from reportgen.job import Surface
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, CoatingTime, ComparisonResult

_HEADER = 78.0  # room for a header, which stays together with what follows
_BETWEEN = 22.0
_VERDICT = 100.0
_COMPARED = 74.0


def area_section(context: Context, area: AreaResult) -> list[Flowable]:
    """All about one area; starts on a new page only where its header and first readings do not fit."""
    words, surfaces = context.words, context.surfaces.get(area.id, [])
    header = AreaHeader(context, area, surfaces)
    if area.locations:
        readings = readings_table(context, area)
        blocks = [CondPageBreak(_HEADER + readings[-1].need(2)), header, *readings]
        blocks += [*profile_charts(context, area), *_result(context, area)]
    else:  # why there are no results, and what follows for the release
        missed = [each.reason for each in context.job.day.not_inspected if each.area == area.id]
        sentences = [words("area.unseen", reason=reason) for reason in missed] or [words("readings.none")]
        sentences.append(words("result.decision", decision=words(f"decision.{area.decision}")))
        sentences += context.left_out(() if missed else area.not_evaluated)
        blocks = [CondPageBreak(_HEADER + 60), header, *(running_text(text, before=5) for text in sentences)]
    if found := context.findings.get(area.id):
        columns = [
            Column(words("findings.finding"), FINDING, face=BOLD),
            Column(words("findings.observed"), context.width - FINDING - 170, gap=10),
            Column(words("findings.requirement"), 170, ink=MUTED, gap=0),
        ]
        rows = [[finding_row(context, finding, own=True)[:3]] for finding in found]
        table = GroupedTable(columns, rows, words("findings.summary"))
        blocks += titled(table, words("findings.title"), f"{area_bookmark(area.id)}-findings", groups=1)
    for compared in (each for each in context.evaluation.comparisons if each.area == area.id):
        blocks += _comparison(context, compared)
    blocks += other_measurements(context, area)
    blocks += recorded_blocks(context, area.id)
    blocks += photo_blocks(context, area.id)
    blocks += _next(context, area)
    return group("Sect", blocks + _remarks(context, area, surfaces))


class AreaHeader(Flowable):  # type: ignore[misc] # reportlab has no types
    """Mark, id and name, decision at the right; below, what was done with what."""

    def __init__(self, context: Context, area: AreaResult, surfaces: list[Surface]) -> None:
        super().__init__()
        words = context.words
        self.verdict = decision_verdict(area)
        unseen = not area.locations and any(each.area == area.id for each in context.job.day.not_inspected)
        self.decision = words("decision.unseen") if unseen else decision_word(context, area)
        text = f"{area.id} {context.area_name(area.id)}"
        self.heading = title_text(text, "area", 2, bookmark=area_bookmark(area.id))
        self.details = area_facts(context, area.id, surfaces)
        self.spaceBefore = 24.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The whole width."""
        self.width = aW
        self._room = aW - 18 - text_width(self.decision, BOLD, 12.5) - 14
        _, self._head = self.heading.wrapOn(self.canv, self._room, aH)
        set_texts = [unbroken(text, REGULAR, BODY, aW - 18) for text in self.details]
        self._lines = [(size, line) for size, lines in set_texts for line in lines]
        self.height = self._head + LEADING * len(self._lines) + 4
        return self.width, self.height

    def draw(self) -> None:
        """Mark, heading, decision, details."""
        canvas, top = self.canv, self.height
        paint(canvas, [verdict_mark(self.verdict, 6, top - 9.2, 12)])
        self.heading.drawOn(canvas, 18, top - self._head)
        with tagged(canvas, "P"):
            ink = VERDICT_COLOUR[self.verdict]
            write(canvas, self.width, top - 13.6, self.decision, 12.5, ink, face=BOLD, align="right")
        if self._lines:
            with tagged(canvas, "P"):
                for index, (size, line) in enumerate(self._lines):
                    write(canvas, 18, top - self._head - 9 - LEADING * index, line, size, MUTED)


def area_facts(context: Context, area_id: str, surfaces: list[Surface]) -> list[str]:
    """One line on the area itself, as far as the project file states it, and one per time it was blasted."""
    words = context.words
    try:
        structure, plan = context.job.project.area(area_id)
    except KeyError:  # an area of an older project file
        lines = []
    else:
        stated = (
            ("area.welds", "length", plan.weld_length),
            ("area.place", "place", plan.place or structure.place),
            ("area.drawing", "drawing", plan.drawing or structure.drawing),
        )
        facts = [context.limit(plan.size)] if plan.size else []
        facts += [words(key, **{name: value}) for key, name, value in stated if value]
        lines = [" · ".join(facts)]
    for place, surface in enumerate(surfaces):
        blasted, later = surface.blasted, surfaces[place + 1 :]
        start, end = f"{blasted.start:%H:%M}", f"{blasted.end:%H:%M}"
        parts = [
            surface.apparatus,
            words("area.condition", condition=words.named("condition", surface.initial_condition)),
            words("area.blasted", start=start, end=end, abrasive=blasted.abrasive),
        ]
        parts += [words("area.nozzle", nozzle=blasted.nozzle)] if blasted.nozzle else []
        parts += [words("area.distance", distance=blasted.distance)] if blasted.distance else []
        parts += map(str, filter(None, (blasted.pressure, blasted.angle)))
        if surface.apparatus in chain.from_iterable(each.blasted_again for each in later):
            parts.append(words("area.blasted-again"))
        lines.append(" · ".join(parts))
    return list(filter(None, lines))


def profile_charts(context: Context, area: AreaResult) -> list[Flowable]:
    """Histogram of the spots and chart of the locations, side by side; nothing when there is no profile.

    Of more than one area the frame is shared, with the marks of each over it; both say the same in numbers.
    """
    words, scale, unit = context.words, context.scale, context.unit
    points = location_points(area)
    if scale is None or not any(point.profile is not None for point in points):
        return []
    profile = context.job.project.specification.profile
    limits = (
        words("chart.minimum", limit=number(profile.minimum)) if profile.minimum else "",
        words("chart.maximum", limit=number(profile.maximum)) if profile.maximum else "",
    )
    size = (round((context.width - _BETWEEN) / 2, 1), CHART_HEIGHT)
    left = histogram_frame(scale, context.tallest, size, context.faces, limits, words("chart.profile", unit=unit))
    right = locations_frame(scale, size, context.faces, words("chart.locations", unit=unit))
    spots, bins = spot_profiles(area), Bins.of(scale)
    outside = sum(count for index, count in enumerate(bins.counts(spots)) if not bins.inside(index))
    low, high = digits(min(spots, default=None)), digits(max(spots, default=None))
    told = words("chart.histogram-alt", count=len(spots), low=low, high=high, unit=unit, outside=outside)
    in_order = words("chart.locations-alt", points=strip_in_words(context, points))
    shared = len(context.evaluation.areas) > 1
    charts = [
        Chart(words("chart.distribution"), left, histogram_marks(left, bins, spots), told,
              "histogram" if shared else None),
        Chart(words("chart.order"), right, locations_marks(right, points), in_order, "locations" if shared else None),
    ]  # fmt: skip
    return [CondPageBreak(CHART_HEIGHT + CHART_TITLE + 14), SideBySide(charts, before=14)]


def _result(context: Context, area: AreaResult) -> list[Flowable]:
    """Statistics of the area, its release and the reasons for it."""
    words, said = context.words, context.said
    facts = _result_facts(context, area)
    need = SECTION_HEIGHT + min(140.0, Ledger.ROW * ((len(facts) + 1) // 2)) + 12
    title = SectionTitle(words("result.title"), f"{area_bookmark(area.id)}-result", level=3, outline=False)
    blocks: list[Flowable] = [CondPageBreak(need), title, Ledger(facts)]
    if reason := main_reason(context, area):
        reasons = words("result.reasons", decision=words(f"decision.{area.decision}"), reasons=reason)
        blocks.append(running_text(reasons, before=6))
    if released := of_part(context, "result.released-part", area):
        blocks.append(running_text(released, before=6))
    if any(location.observed for location in area.locations):
        blocks.append(running_text(words("result.compared"), "muted", before=3))
    if area.mean is not None and any(location.walk_out is not None for location in area.locations):
        blocks.append(running_text(words("result.walk-outs"), "muted", before=3))
    parts = [  # what each apparatus has, in each period, of what it needs
        words(
            "result.part", part=", ".join(said.shown(one) for one in (part.apparatus, part.period) if one),
            taken=part.taken, required=part.required,
        )
        for part in area.sampling
    ]  # fmt: skip
    if parts:
        blocks.append(running_text(words("result.sampling", parts="; ".join(parts)), before=3))
    if area.can_miss is not None:
        missed = words("result.can-miss", missed=typeset(said.shown(area.can_miss)))
        blocks.append(running_text(missed, "muted", before=3))
    if area.bounded_area:
        bounds = "; ".join(map(said.shown, area.bounded_area))
        blocks.append(running_text(words("result.bounded", area=bounds), before=3))
    return blocks + [running_text(text, "muted", before=3) for text in context.left_out(area.not_evaluated)]


def _result_facts(context: Context, area: AreaResult) -> list[tuple[str, str]]:
    words, unit = context.words, shown_unit(area.unit)

    def value(number: Any) -> str:
        return "–" if number is None else f"{digits(number)} {unit}"

    taken = str(area.n_locations)
    if area.required_locations is not None:
        taken = words("result.of", taken=area.n_locations, required=area.required_locations)
    walked = sum(location.walk_out is not None for location in area.locations)
    if walked:
        taken += words("result.walked", count=walked)
    if area.mean is None and (seen := seen_grades(area)):
        return [(words("result.locations"), taken), (words("result.seen"), seen)]
    uncertainty = value(area.expanded_uncertainty)
    if area.coverage_factor is not None:
        uncertainty += f" (k = {digits(area.coverage_factor)})"
    facts = [
        ("result.locations", taken),
        ("result.mean", value(area.mean)),
        ("result.spots", str(area.n_spots)),
        ("result.deviation", value(area.standard_deviation)),
        ("result.extremes", "–" if area.minimum is None else f"{digits(area.minimum)}, {value(area.maximum)}"),
        ("result.uncertainty", uncertainty),
    ]
    if area.effective_degrees_of_freedom is not None:
        facts.append(("result.freedom", str(area.effective_degrees_of_freedom)))
    return [(words(key), text) for key, text in facts]


def _comparison(context: Context, result: ComparisonResult) -> list[Flowable]:
    """A table of the locations that both measured, and under it who read, the mean difference, and what it rests on."""
    words, unit = context.words, shown_unit(result.unit)
    columns = [
        Column(words("comparison.location"), context.width - 5 * _COMPARED, face=BOLD),
        Column(words("comparison.theirs", unit=unit), _COMPARED, "RIGHT"),
        Column(words("comparison.own", unit=unit), _COMPARED, "RIGHT"),
        Column(words("comparison.difference", unit=unit), _COMPARED, "RIGHT"),
        Column(words("comparison.uncertainty", unit=unit), _COMPARED, "RIGHT", ink=MUTED),
        Column(words("comparison.error"), _COMPARED, "RIGHT", gap=0),
    ]
    rows: list[list[Row]] = [
        [
            (
                words("location", location=one.id), digits(one.profile), digits(one.by_inspector),
                digits(one.difference), digits(one.expanded_uncertainty), digits(one.normalized_error),
            )
        ]
        for one in result.locations
    ]  # fmt: skip
    who = ", ".join(filter(None, (result.by, result.organisation, result.gauge, result.time)))
    sentences = [words("comparison.who", who=who, basis=context.said.shown(result.basis))]
    if result.mean_difference is not None:
        sentences.append(
            words(
                "comparison.mean", mean=digits(result.mean_difference), expanded=digits(result.expanded_uncertainty),
                factor=digits(result.coverage_factor), unit=unit, count=len(result.locations),
            )
        )  # fmt: skip
    if result.compared:
        sentences.append(words("comparison.equal", equal=result.equal, compared=result.compared))
    told = [running_text(text, "muted", before=3) for text in sentences]
    if not rows:
        return told
    table = GroupedTable(columns, rows, words("comparison.title"))
    anchor = f"area-{result.area}-comparison"
    return [*titled(table, words("comparison.title"), anchor, groups=1), *told]


def other_measurements(context: Context, area: AreaResult) -> list[Flowable]:
    """What else was measured, in a fixed order of kinds: kind, place, result, requirement, verdict."""
    words, evaluation = context.words, context.evaluation
    rows: list[Row] = []
    for kind in (*OF_A_SURFACE, *TESTS):
        rows += [_measured(context, kind, each) for each in getattr(evaluation, kind.key) if each.area == area.id]
    rows += [_coating(context, each) for each in evaluation.coating_times if each.area == area.id]
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
    return titled(table, words("other.title"), f"area-{area.id}-other")


def _measured(context: Context, kind: Measurement[Any, Any, Any], result: Any) -> Row:
    said = context.said
    limit = getattr(context.job.project.specification, kind.limit_key)
    required = "–" if limit is None else context.limit_of(kind, limit) + context.clause(limit.clause)
    shown = said.say("result", kind.key, kind.result_facts(result))
    place = context.words("location", location=result.location) if kind in TESTS else ""
    return (said.say("measurement", kind.key), place, shown, required, context.mark(result.verdict, _VERDICT))


def _coating(context: Context, result: CoatingTime) -> Row:
    words = context.words
    limit = context.job.project.specification.time_to_coat
    if result.hours is not None:
        shown = words("other.hours", hours=digits(result.hours))
    elif result.coat_by is not None:
        shown = words("other.coat-by", time=result.coat_by)
    elif any(finding.code == "coating-overdue" for finding in context.findings.get(result.area, [])):
        shown = words("other.not-in-time")
    else:
        shown = words("other.not-coated")
    required = "–"
    if limit is not None:
        required = words("limit.at-most", limit=context.limit(limit.maximum)) + context.clause(limit.clause)
    return (words("other.time"), "", shown, required, context.mark(result.verdict, _VERDICT))


def _next(context: Context, area: AreaResult) -> list[Flowable]:
    """What to measure next, with its reason."""
    words, said = context.words, context.said
    steps = [step for step in context.evaluation.measure_next if step.area == area.id]
    if not steps:
        return []
    columns = [
        Column(words("next.what"), context.width * 0.4),
        Column(words("next.count"), 56, "RIGHT", gap=14),
        Column(words("next.reason"), context.width * 0.6 - 56, ink=MUTED, gap=0),
    ]
    rows = [[(said.task(step), digits(step.count, ""), said.because(step))] for step in steps]
    table = GroupedTable(columns, rows, words("next.title"))
    return titled(table, words("next.title"), f"{area_bookmark(area.id)}-next", groups=1)


def _remarks(context: Context, area: AreaResult, surfaces: list[Surface]) -> list[Flowable]:
    words = context.words
    texts = [surface.remarks for surface in surfaces if surface.remarks]
    for change in (each for surface in surfaces for each in surface.process_changes):
        at = f"{change.time:%H:%M}"
        texts.append(words("area.change", time=at, change=change.change, before=change.before, after=change.after))
    if not texts:
        return []
    title = SectionTitle(words("area.remarks"), f"{area_bookmark(area.id)}-remarks", level=3, outline=False)
    return [CondPageBreak(SECTION_HEIGHT + 40), title, *(running_text(text, before=3) for text in texts)]
