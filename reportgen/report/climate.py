"""Conditions over the shift, place by place: the table of readings, and charts of air, steel and dew point."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from reportgen.charts import Activity, ConditionPoint, conditions_frame, conditions_marks
from reportgen.job import Places
from reportgen.job.places import folded
from reportgen.pdf.blocks import SectionTitle, running_text
from reportgen.pdf.charted import Chart, SideBySide
from reportgen.pdf.flow import CondPageBreak, Flowable, Spacer
from reportgen.pdf.styles import MUTED
from reportgen.pdf.tables import SECTION_ROOM, Column, GroupedTable, Row, time_width
from reportgen.units import DISPLAY
from reportgen.words.numbers import digits

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from reportgen.measurements.conditions import ConditionResult
    from reportgen.report.context import Context

_CHART_HEIGHT = 124.0
_PANEL_HEIGHT = 96.0
_PANELS = 3
"""Places that have a chart; of more, the table holds the rest."""
_VERDICT = 80.0
_CLOCK = len("00:00")


def conditions_section(context: Context) -> list[Flowable]:
    """Charts and table of the conditions."""
    words = context.words
    title = SectionTitle(words("climate.title"), "conditions", note=words("climate.note"))
    by_place: dict[str, list[ConditionResult]] = {}
    for result in context.evaluation.conditions:
        by_place.setdefault(folded(result.place or ""), []).append(result)
    if not by_place:
        return [CondPageBreak(60), title, running_text(words("climate.none"), before=4)]
    # the charts come first: they stay with their title and the first rows, and the table may go on over the page
    charts, several = _charts(context, by_place), len(by_place) > 1
    panels: list[Flowable] = []
    for place, chart in charts.items():  # under the name of its place where there are several
        if several:
            panels.append(running_text(by_place[place][0].place or "–", "bold", before=8, role="Caption"))
        panels.append(SideBySide([chart], before=4 if several else 6))
    table = _table(context, [result for results in by_place.values() for result in results])
    need = SECTION_ROOM + table.lead(2) + sum(chart.height + 24 for chart in charts.values()) + 8
    return [CondPageBreak(need), title, *panels, Spacer(1, 6), table, *_further(context)]


def _table(context: Context, results: Sequence[ConditionResult]) -> GroupedTable:
    words = context.words
    wide = time_width(result.time for result in results)
    columns = [
        Column(words("climate.time"), wide),
        Column(words("climate.place"), context.width - wide - 34 - 44 - 36 - 48 - 56 - 104 - _VERDICT),
        Column(words("climate.air"), 34, "RIGHT"),
        Column(words("climate.humidity"), 44, "RIGHT"),
        Column(words("climate.steel"), 36, "RIGHT"),
        Column(words("climate.dew-point"), 48, "RIGHT"),
        Column(words("climate.margin"), 56, "RIGHT", gap=14),
        Column(words("climate.during"), 104, ink=MUTED),
        Column(words("readings.verdict"), _VERDICT, gap=0),
    ]
    rows: list[list[Row]] = []
    for result in results:
        work: dict[str, list[str]] = {}  # each kind once with the areas it was done on: `blasting G-1, G-2`
        for each in result.during:
            kind, _, area = each.partition(" ")
            work.setdefault(kind, []).extend([area] if area else [])
        during = "; ".join(f"{words.named('during', kind)} {', '.join(ids)}".strip() for kind, ids in work.items())
        measured = [digits(value) for value in (result.air, result.humidity, result.steel, result.dew_point)]
        measured.append(f"{digits(result.margin)} {DISPLAY.get(result.margin_unit, result.margin_unit)}")
        mark = context.mark(result.verdict, _VERDICT)
        first: Row = (result.time, result.place or "–", *measured, during or words("climate.idle"), mark)
        rows.append([first, *_beneath(result)])
    return GroupedTable(columns, rows, words("climate.title"))


def _beneath(result: ConditionResult) -> list[Row]:
    """The row of expanded uncertainties beneath the values to which they belong; none where none is known."""
    expanded = (
        result.air_uncertainty, result.humidity_uncertainty, result.steel_uncertainty, result.dew_point_uncertainty,
        result.expanded_uncertainty,
    )  # fmt: skip
    errors = ["" if value is None else f"± {digits(value)}" for value in expanded]
    return [("", "", *errors, "", "")] if any(errors) else []


def _further(context: Context) -> list[Flowable]:
    """What the second lines are, and what else was read: wet bulb and pressure, the warmest steel, remarks."""
    words = context.words
    results: Sequence[ConditionResult] = context.evaluation.conditions
    factors = dict.fromkeys(digits(budget.coverage_factor) for each in results for budget in each.budgets)
    texts = [words("climate.uncertainty", factors=", ".join(factors))] if factors else []
    for entry in context.job.day.conditions:
        parts = []
        if entry.wet_bulb is not None:
            parts.append(words("climate.wet-bulb", wet=entry.wet_bulb, pressure=entry.pressure))
        if entry.steel_warmest is not None:
            parts.append(words("climate.warmest", steel=entry.steel_warmest))
        if entry.remarks:
            parts.append(entry.remarks)
        if parts:
            texts.append(f"{entry.time:%H:%M} {entry.taken_at}".rstrip() + f": {', '.join(parts)}")
    return [running_text("; ".join(texts), "note", before=5)] if texts else []


def _minutes(context: Context, at: str) -> int:
    """Minutes since midnight of the report's date, of a time as printed."""
    date, _, clock = at.rpartition(" ")
    days = (dt.date.fromisoformat(date) - context.job.day.report.date).days if date else 0
    hour, minute = clock[:_CLOCK].split(":")  # an offset may follow
    return days * 24 * 60 + int(hour) * 60 + int(minute)


def _instant(context: Context, clock: dt.time | dt.datetime) -> int:
    """Minutes since midnight of the report's date, of a time as entered."""
    moment = context.job.clock.instant(clock)
    days = (moment.date() - context.job.day.report.date).days
    return days * 24 * 60 + moment.hour * 60 + moment.minute


def activities(context: Context, areas: Collection[str]) -> list[Activity]:
    """When some areas were blasted and coated."""
    work: list[Activity] = []
    for surface in (each for each in context.job.day.surfaces if each.area in areas):
        start, end = _instant(context, surface.blasted.start), _instant(context, surface.blasted.end)
        work.append(Activity("blasting", start, max(start, end)))
        if surface.coated is not None:
            at = _instant(context, surface.coated)
            work.append(Activity("coating", at, at))
    return work


def _charts(context: Context, by_place: dict[str, list[ConditionResult]]) -> dict[str, Chart]:
    """One chart for each place, on one axis of time; of many places the ones that matter most, in their order."""
    log = context.job.day.conditions
    places = Places(context.job.project.structures, log)
    areas: dict[str, set[str]] = {}  # whose conditions were read at each place
    for reading in log:
        areas.setdefault(folded(reading.taken_at), set()).update(places.covered(reading) or ())
    work = {place: activities(context, those) for place, those in areas.items()}
    span = [_instant(context, clock) for clock in (context.job.clock.start, context.job.clock.end)]
    span += [_minutes(context, each.time) for each in context.evaluation.conditions]
    span += [at for several in work.values() for one in several for at in (one.start, one.end)]
    failing = {place for place, results in by_place.items() if any(r.verdict == "does not conform" for r in results)}
    weighed = sorted(by_place, key=lambda place: (place not in failing, -len(work.get(place, ()))))
    shown = set(weighed[:_PANELS])
    height = _CHART_HEIGHT if len(shown) == 1 else _PANEL_HEIGHT
    return {
        place: _chart(context, results, work.get(place, []), (min(span), max(span)), height)
        for place, results in by_place.items()
        if place in shown
    }


def _chart(
    context: Context, results: list[ConditionResult], work: list[Activity], span: tuple[int, int], height: float
) -> Chart:  # fmt: skip
    words = context.words
    points = [
        ConditionPoint(_minutes(context, each.time), each.place or "", each.air, each.steel, each.dew_point,
                       each.verdict)
        for each in results
    ]  # fmt: skip
    stated = context.job.project.specification.conditions
    margin = stated.dew_point_margin if stated else None
    kelvin = float(margin.in_unit("delta_degC")) if margin is not None else 0.0
    size = (round(context.width, 1), height)
    frame = conditions_frame(points, work, span, kelvin, size, context.faces, words("climate.chart"))
    names = {key: words(f"climate.line.{key}") for key in ("air", "steel", "dew_point", "blasting", "coating")}
    names["margin"] = words("climate.line.margin", margin=margin) if margin is not None else ""
    told = [
        words("climate.alt-point", time=each.time, place=each.place or "–", air=digits(each.air),
              steel=digits(each.steel), dew=digits(each.dew_point))
        for each in results
    ]  # fmt: skip
    alt = words("climate.alt", readings="; ".join(told))
    return Chart("", frame, conditions_marks(frame, points, work, kelvin, names), alt, None)
