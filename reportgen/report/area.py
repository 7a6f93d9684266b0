"""The section of one area: header, readings, charts, results, other measurements, photos, what to measure next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.pdf.blocks import SECTION_HEIGHT, Ledger, SectionTitle, running_text, title_text, write
from reportgen.pdf.canvas import tagged
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import BODY, BOLD, MUTED, REGULAR, VERDICT_COLOUR
from reportgen.pdf.tables import Column, GroupedTable
from reportgen.pdf.tagging import group
from reportgen.pdf.textlines import text_width, unbroken
from reportgen.report.figures import profile_charts
from reportgen.report.measurements import other_measurements
from reportgen.report.photos import photo_blocks
from reportgen.report.readings import readings_table
from reportgen.report.summary import FINDING, area_bookmark, finding_row
from reportgen.report.verdicts import decision_verdict, main_reason
from reportgen.words.numbers import digits, shown_unit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.job import Surface
    from reportgen.report.context import Context
    from reportgen.results import AreaResult

_AREA_GAP = 24.0
_HEADER = 78.0  # room for a header, which stays together with what follows


def area_sections(context: Context) -> Iterable[list[Flowable]]:
    """The section of each area, in the order of the evaluation."""
    for area in context.evaluation.areas:
        yield area_section(context, area)


def area_section(context: Context, area: AreaResult) -> list[Flowable]:
    """All about one area; starts on a new page only where its header and first readings do not fit."""
    surfaces = context.surfaces.get(area.id, [])
    header = AreaHeader(context, area, [surface for _, surface in surfaces])
    if area.locations:
        readings = readings_table(context, area)
        blocks = [CondPageBreak(_HEADER + readings[-1].need(2)), header, *readings]
        blocks += [*profile_charts(context, area), *_result(context, area)]
    else:
        blocks = [CondPageBreak(_HEADER + 60), header, *_nothing_measured(context, area)]
    blocks += _findings(context, area)
    blocks += other_measurements(context, area)
    blocks += photo_blocks(context, area.id)
    blocks += _next(context, area)
    blocks += _remarks(context, area, [surface for _, surface in surfaces])
    return group("Sect", blocks)


def _nothing_measured(context: Context, area: AreaResult) -> list[Flowable]:
    """Why there are no results, and what follows for the release."""
    words = context.words
    missed = [each.reason for each in context.job.day.not_inspected if each.area == area.id]
    sentences = [words("area.unseen", reason=reason) for reason in missed] or [words("readings.none")]
    sentences.append(words("result.decision", decision=words(f"decision.{area.decision}")))
    if not missed:
        sentences += [words("not-evaluated", what=context.said.left_out(what)) for what in area.not_evaluated]
    return [running_text(text, before=5) for text in sentences]


class AreaHeader(Flowable):  # type: ignore[misc] # reportlab has no types
    """Mark, id and name, decision at the right; below, what was done with what."""

    def __init__(self, context: Context, area: AreaResult, surfaces: list[Surface]) -> None:
        super().__init__()
        words = context.words
        self.verdict = decision_verdict(area)
        unseen = not area.locations and any(each.area == area.id for each in context.job.day.not_inspected)
        self.decision = words("decision.unseen" if unseen else f"decision.{area.decision}")
        text = f"{area.id} {context.area_name(area.id)}"
        self.heading = title_text(text, "area", 2, bookmark=area_bookmark(area.id))
        self.details = area_facts(context, area.id, surfaces)
        self.spaceBefore, self.spaceAfter = _AREA_GAP, 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The whole width."""
        self.width = aW
        self._room = aW - 18 - text_width(self.decision, BOLD, 12.5) - 14
        _, self._head = self.heading.wrapOn(self.canv, self._room, aH)
        set_texts = [unbroken(text, REGULAR, BODY, aW - 18) for text in self.details]
        self._lines = [(size, line) for size, lines in set_texts for line in lines]
        self.height = self._head + LEADING_SMALL * len(self._lines) + 4
        return self.width, self.height

    def draw(self) -> None:
        """Mark, heading, decision, details."""
        from reportgen.charts import verdict_mark

        canvas, top = self.canv, self.height
        paint(canvas, [verdict_mark(self.verdict, 6, top - 9.2, 12)])
        self.heading.drawOn(canvas, 18, top - self._head)
        with tagged(canvas, "P"):
            write(
                canvas,
                self.width,
                top - 13.6,
                self.decision,
                12.5,
                VERDICT_COLOUR[self.verdict],
                face=BOLD,
                align="right",
            )
        if self._lines:
            with tagged(canvas, "P"):
                for index, (size, line) in enumerate(self._lines):
                    write(canvas, 18, top - self._head - 9 - LEADING_SMALL * index, line, size, MUTED)


LEADING_SMALL = 11.0


def area_facts(context: Context, area_id: str, surfaces: list[Surface]) -> list[str]:
    """One line on the area itself, one per time it was blasted."""
    words = context.words
    lines = [" · ".join(_plan_facts(context, area_id))]
    for place, surface in enumerate(surfaces):
        blasted = surface.blasted
        parts = [
            surface.apparatus,
            words("area.condition", condition=words.named("condition", surface.initial_condition)),
            words(
                "area.blasted", start=f"{blasted.start:%H:%M}", end=f"{blasted.end:%H:%M}", abrasive=blasted.abrasive
            ),
        ]
        if blasted.nozzle:
            parts.append(words("area.nozzle", nozzle=blasted.nozzle))
        if blasted.pressure:
            parts.append(str(blasted.pressure))
        if any(surface.apparatus in later.blasted_again for later in surfaces[place + 1 :]):
            parts.append(words("area.blasted-again"))
        lines.append(" · ".join(parts))
    return [line for line in lines if line]


def _plan_facts(context: Context, area_id: str) -> list[str]:
    """Size, welds, place and drawing, as far as stated; nothing for an area of an older project file."""
    words = context.words
    try:
        structure, plan = context.job.project.area(area_id)
    except KeyError:
        return []
    stated = (
        ("area.welds", "length", plan.weld_length),
        ("area.place", "place", plan.place or structure.place),
        ("area.drawing", "drawing", plan.drawing or structure.drawing),
    )
    facts = [words(key, **{name: value}) for key, name, value in stated if value]
    return [context.limit(plan.size), *facts] if plan.size else facts


def _result(context: Context, area: AreaResult) -> list[Flowable]:
    """Statistics of the area, its release and the reasons for it."""
    words = context.words
    facts = _result_facts(context, area)
    need = SECTION_HEIGHT + min(140.0, Ledger.ROW * ((len(facts) + 1) // 2)) + 12
    title = SectionTitle(words("result.title"), f"{area_bookmark(area.id)}-result", level=3, outline=False)
    blocks: list[Flowable] = [CondPageBreak(need), title, Ledger(facts)]
    reason = main_reason(context, area)
    if reason:
        reasons = words("result.reasons", decision=words(f"decision.{area.decision}"), reasons=reason)
        blocks.append(running_text(reasons, before=6))
    if any(location.walk_out is not None for location in area.locations):
        blocks.append(running_text(words("result.walk-outs"), "muted", before=3))
    if area.sampling:
        blocks.append(running_text(words("result.sampling", parts=_parts(context, area)), before=3))
    if area.bounded_area:
        bounds = "; ".join(map(context.said.shown, area.bounded_area))
        blocks.append(running_text(words("result.bounded", area=bounds), before=3))
    missing = [
        running_text(words("not-evaluated", what=context.said.left_out(what)), "muted", before=3)
        for what in area.not_evaluated
    ]
    return [*blocks, *missing]


def _result_facts(context: Context, area: AreaResult) -> list[tuple[str, str]]:
    words, unit = context.words, shown_unit(area.unit)

    def value(number: Any) -> str:
        return "–" if number is None else f"{digits(number)} {unit}"

    def interval(pair: Any) -> str:
        if pair is None:
            return "–"
        # a profile is never negative: what lies below 0 is not printed, and the reader is told
        key, low = ("result.interval-cut", "0") if pair[0] < 0 else ("result.interval", digits(pair[0]))
        return words(key, low=low, high=digits(pair[1]), unit=unit)

    required = _locations(context, area)
    smallest = "–" if area.minimum is None else f"{digits(area.minimum)}, {digits(area.maximum)} {unit}"
    uncertainty = value(area.expanded_uncertainty)
    if area.coverage_factor is not None:
        uncertainty += f" (k = {digits(area.coverage_factor)})"
    facts = [
        ("result.locations", required),
        ("result.mean", value(area.mean)),
        ("result.spots", str(area.n_spots)),
        ("result.deviation", value(area.standard_deviation)),
        ("result.extremes", smallest),
        ("result.uncertainty", uncertainty),
        ("result.confidence", interval(area.confidence_interval)),
        ("result.tolerance", interval(area.tolerance_interval)),
    ]
    if area.percent_within_limits is not None:
        facts.append(("result.within", f"{digits(area.percent_within_limits)} %"))
    if area.effective_degrees_of_freedom is not None:
        facts.append(("result.freedom", str(area.effective_degrees_of_freedom)))
    return [(words(key), text) for key, text in facts]


def _locations(context: Context, area: AreaResult) -> str:
    """How many locations, how many are required, how many more were measured on walk-outs."""
    words = context.words
    text = str(area.n_locations)
    if area.required_locations is not None:
        text = words("result.of", taken=area.n_locations, required=area.required_locations)
    walked = sum(location.walk_out is not None for location in area.locations)
    return text + words("result.walked", count=walked) if walked else text


def _parts(context: Context, area: AreaResult) -> str:
    """What each apparatus has, in each period, of what it needs."""
    return "; ".join(
        context.words(
            "result.part", part=", ".join(context.said.shown(one) for one in (part.apparatus, part.period) if one),
            taken=part.taken, required=part.required,
        )
        for part in area.sampling
    )  # fmt: skip


def _findings(context: Context, area: AreaResult) -> list[Flowable]:
    """The findings on this area, with requirement and clause."""
    words = context.words
    found = context.findings.get(area.id, [])
    if not found:
        return []
    columns = [
        Column(words("findings.finding"), FINDING, face=BOLD),
        Column(words("findings.observed"), context.width - FINDING - 170, gap=10),
        Column(words("findings.requirement"), 170, ink=MUTED, gap=0),
    ]
    rows = [[finding_row(context, finding, own=True)[:3]] for _, finding in found]
    table = GroupedTable(columns, rows, words("findings.summary"))
    title = SectionTitle(words("findings.title"), f"{area_bookmark(area.id)}-findings", level=3, outline=False)
    return [CondPageBreak(table.need(1)), title, table]


def _next(context: Context, area: AreaResult) -> list[Flowable]:
    """What to measure next, with its reason."""
    words = context.words
    steps = [step for step in context.evaluation.measure_next if step.area == area.id]
    if not steps:
        return []
    columns = [
        Column(words("next.what"), context.width * 0.4),
        Column(words("next.count"), 56, "RIGHT", gap=14),
        Column(words("next.reason"), context.width * 0.6 - 56, ink=MUTED, gap=0),
    ]
    rows = [[(context.said.task(step), digits(step.count, ""), context.said.because(step))] for step in steps]
    table = GroupedTable(columns, rows, words("next.title"))
    title = SectionTitle(words("next.title"), f"{area_bookmark(area.id)}-next", level=3, outline=False)
    return [CondPageBreak(table.need(1)), title, table]


def _remarks(context: Context, area: AreaResult, surfaces: list[Surface]) -> list[Flowable]:
    words = context.words
    texts = [surface.remarks for surface in surfaces if surface.remarks]
    texts += [
        words(
            "area.change", time=f"{change.time:%H:%M}", change=change.change, before=change.before, after=change.after
        )
        for surface in surfaces
        for change in surface.process_changes
    ]
    if not texts:
        return []
    title = SectionTitle(words("area.remarks"), f"{area_bookmark(area.id)}-remarks", level=3, outline=False)
    items = [running_text(text, before=3) for text in texts]
    return [CondPageBreak(SECTION_HEIGHT + 40), title, *items]
