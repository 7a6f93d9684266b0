"""Conditions over the shift: the table of readings and the chart of air, steel and dew point."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak, Flowable, Spacer

from reportgen.charts import Activity, ConditionPoint, conditions_frame, conditions_marks
from reportgen.layout.blocks import SectionTitle, Verdict, running_text
from reportgen.layout.context import digits
from reportgen.layout.figures import Chart, SideBySide
from reportgen.layout.styles import MUTED
from reportgen.layout.tables import SECTION_ROOM, Column, GroupedTable, Row, time_width
from reportgen.units import DISPLAY

if TYPE_CHECKING:
    from reportgen.layout.context import Context
    from reportgen.results import ConditionResult

_CHART_HEIGHT = 124.0
_VERDICT = 80.0
_CLOCK = len("00:00")


def conditions_section(context: Context) -> list[Flowable]:
    """Table and chart of the conditions."""
    words = context.words
    title = SectionTitle(words("climate.title"), "conditions", note=words("climate.note"))
    results = context.evaluation.conditions
    if not results:
        return [CondPageBreak(60), title, running_text(words("climate.none"), before=4)]
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
    rows = [[_row(context, result)] for result in results]
    table = GroupedTable(columns, rows, words("climate.title"))
    # the chart comes first: it stays with its title and the first rows, and the table may go on over the page
    chart = SideBySide([_chart(context)], before=6)
    need = SECTION_ROOM + table.lead(2) + _CHART_HEIGHT + 14
    return [CondPageBreak(need), title, chart, Spacer(1, 6), table, *_further(context)]


def _further(context: Context) -> list[Flowable]:
    """What else was read with some of the readings: wet bulb and pressure, the warmest steel, remarks."""
    words = context.words
    texts = []
    for entry in context.job.day.conditions:
        parts = []
        if entry.wet_bulb is not None:
            parts.append(words("climate.wet-bulb", wet=entry.wet_bulb, pressure=entry.pressure))
        if entry.steel_warmest is not None:
            parts.append(words("climate.warmest", steel=entry.steel_warmest))
        if entry.remarks:
            parts.append(entry.remarks)
        if parts:
            texts.append(f"{entry.time:%H:%M} {entry.place}: {', '.join(parts)}")
    return [running_text("; ".join(texts), "note", before=5)] if texts else []


def _row(context: Context, result: ConditionResult) -> Row:
    words = context.words
    margin = f"{digits(result.margin)} {DISPLAY.get(result.margin_unit, result.margin_unit)}"
    during = _during(context, result.during) or words("climate.idle")
    mark = Verdict(result.verdict, words(f"verdict.{result.verdict}"), _VERDICT)
    return (
        result.time,
        result.place,
        *(digits(value) for value in (result.air, result.humidity, result.steel, result.dew_point)),
        margin,
        during,
        mark,
    )


def _during(context: Context, work: tuple[str, ...]) -> str:
    """Kinds of work, each once with the areas it was done on: `blasting G-1, G-2`."""
    areas: dict[str, list[str]] = {}
    for each in work:
        kind, _, area = each.partition(" ")
        areas.setdefault(kind, []).extend([area] if area else [])
    parts = [f"{context.words.named('during', kind)} {', '.join(ids)}".strip() for kind, ids in areas.items()]
    return "; ".join(parts)


def _minutes(context: Context, at: str) -> int:
    """Minutes since midnight of the report's date, of a time as printed."""
    days = 0
    if len(at) > _CLOCK:
        days = (dt.date.fromisoformat(at[:10]) - context.job.day.report.date).days
    hour, minute = at[-_CLOCK:].split(":")
    return days * 24 * 60 + int(hour) * 60 + int(minute)


def _instant(context: Context, clock: dt.time | dt.datetime) -> int:
    """Minutes since midnight of the report's date, of a time as entered."""
    moment = context.job.clock.instant(clock)
    days = (moment.date() - context.job.day.report.date).days
    return days * 24 * 60 + moment.hour * 60 + moment.minute


def activities(context: Context) -> list[Activity]:
    """When areas were blasted and coated."""
    work: list[Activity] = []
    for surface in context.job.day.surfaces:
        start, end = _instant(context, surface.blasted.start), _instant(context, surface.blasted.end)
        work.append(Activity("blasting", start, max(start, end)))
        if surface.coated is not None:
            at = _instant(context, surface.coated)
            work.append(Activity("coating", at, at))
    return work


def _chart(context: Context) -> Chart:
    words = context.words
    points = [
        ConditionPoint(_minutes(context, each.time), each.place, each.air, each.steel, each.dew_point, each.verdict)
        for each in context.evaluation.conditions
    ]
    stated = context.job.project.specification.conditions
    margin = stated.dew_point_margin if stated else None
    kelvin = float(margin.in_unit("delta_degC")) if margin is not None else 0.0
    shift = tuple(_instant(context, clock) for clock in (context.job.clock.start, context.job.clock.end))
    work = activities(context)
    size = (round(context.width, 1), _CHART_HEIGHT)
    frame = conditions_frame(points, work, (shift[0], shift[1]), kelvin, size, context.faces, words("climate.chart"))
    names = {key: words(f"climate.line.{key}") for key in ("air", "steel", "dew_point", "blasting", "coating")}
    names["margin"] = words("climate.line.margin", margin=margin) if margin is not None else ""
    return Chart("", frame, conditions_marks(frame, points, work, kelvin, names), _alt(context), None)


def _alt(context: Context) -> str:
    """The chart in numbers."""
    words = context.words
    readings = [
        words("climate.alt-point", time=each.time, place=each.place, air=digits(each.air), steel=digits(each.steel),
              dew=digits(each.dew_point))
        for each in context.evaluation.conditions
    ]  # fmt: skip
    return words("climate.alt", readings="; ".join(readings))
