"""Statistics of a submittal: numbers, spots, locations and shifts of each structure, apparatus and abrasive."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.charts import (
    IndividualPoint,
    MovingPoint,
    Ruler,
    bar_width,
    histogram,
    individuals,
    moving_average,
    profile_scale,
    scale_heads,
)
from reportgen.pdf.blocks import Facts, SectionTitle, running_text
from reportgen.pdf.charted import CHART_HEIGHT, CHART_TITLE, Captioned, Drawing, SideBySide
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.units import printed
from reportgen.words.numbers import digits, shown_unit
from reportgen.words.shifts import comparison, drift, trend

if TYPE_CHECKING:
    from reportgen.shifts import Work
    from reportgen.submittal.pages.model import Group, Submittal
    from reportgen.words.catalogue import Words

_HISTOGRAM = 190.0
_BETWEEN = 18.0
_MOVING = 74.0


def statistics_section(content: Submittal, words: Words, width: float) -> list[Flowable]:
    """A block for each group; nothing is pooled over structures, apparatus or abrasives."""
    title = SectionTitle(words("statistics.title"), "statistics", note=words("statistics.note"))
    if not content.groups:
        return [CondPageBreak(60), title, running_text(words("statistics.empty"), before=4)]
    blocks: list[Flowable] = [CondPageBreak(300), title, running_text(words("statistics.method"), "note", before=3)]
    if content.left_out:
        blocks.append(running_text(words("statistics.left_out", count=content.left_out), "note", before=2))
    for number, group in enumerate(content.groups):
        blocks += _group(group, words, width, number)
    if content.compared:
        blocks += [
            CondPageBreak(60),
            SectionTitle(words("shifts.compared.title"), "compared", level=3, outline=False, ruled=False),
            *(running_text(comparison(one, words), before=2) for one in content.compared),
        ]
    return blocks


def _group(group: Group, words: Words, width: float, number: int) -> list[Flowable]:
    named = words("statistics.group", structure=group.structure, apparatus=group.apparatus, abrasive=group.abrasive)
    unit = shown_unit(group.unit)
    low, high = group.minimum, group.maximum
    limits = f"{digits(low)}–{digits(high)}"
    if low is None or high is None:
        limits = " ".join(f"{sign} {digits(one)}" for sign, one in (("≥", low), ("≤", high)) if one is not None)
    facts = [
        (words("statistics.n"), str(len(group.points))),
        (words("statistics.mean"), f"{digits(group.mean)} {unit}"),
        (words("statistics.sd"), f"{digits(group.standard_deviation)} {unit}" if group.standard_deviation else "–"),
        (words("statistics.range"), f"{digits(group.least)} – {digits(group.greatest)} {unit}"),
        (words("statistics.limits"), f"{limits} {unit}"),
        (words("statistics.spots"), str(len(group.spots))),
        (words("statistics.shifts"), str(len(group.work.shifts))),
        (words("statistics.areas"), ", ".join(group.areas)),
    ]
    return [
        CondPageBreak(CHART_HEIGHT + CHART_TITLE + 130),
        SectionTitle(named, f"group-{number}", level=3, outline=False, ruled=False),
        Facts(facts, 5, before=3),
        SideBySide([_histogram(group, words), _individuals(group, words, width)], before=4),
        *_shifts(group.work, words, width),
    ]


def _shifts(work: Work, words: Words, width: float) -> list[Flowable]:
    """The chart of shift means, where it says anything, and what it and the test of a trend say."""
    told = " ".join(filter(None, (drift(work, words), trend(work, words))))
    if work.chart.step is None:
        return [running_text(told, "note", before=2)]
    alarms = set(work.chart.alarms)
    points = [
        MovingPoint(shift.name[5:10], level, at in alarms)
        for at, (shift, level) in enumerate(zip(work.shifts, work.chart.levels, strict=True))
    ]
    names = words("shifts.upper"), words("shifts.lower")
    alt = words("shifts.alt", count=len(points), alarms=len(alarms))
    drawn = Drawing(width, _MOVING, lambda height: moving_average(width, height, points, work.chart.limit, names), alt)
    chart = Captioned(drawn, words("shifts.caption"), words("shifts.chart"))
    return [SideBySide([chart], before=6), running_text(told, "note", before=2)]


def _histogram(group: Group, words: Words) -> Captioned:
    scale = profile_scale(group.spots, group.minimum, group.maximum, group.unit)
    assert scale is not None  # noqa: S101 - a group has values
    ruler, unit = Ruler(scale, 8.0, _HISTOGRAM - 16.0), shown_unit(group.unit)
    alt = words(
        "statistics.alt.histogram", count=len(group.spots), unit=unit, low=digits(min(group.spots)),
        high=digits(max(group.spots)),
    )  # fmt: skip
    bars = Drawing(_HISTOGRAM, CHART_HEIGHT - 11, lambda height: histogram(ruler, height, group.spots), alt)
    heads = Drawing(_HISTOGRAM, 11.0, lambda _: scale_heads(ruler, 6.5))
    caption = words("statistics.profile", unit=unit, width=printed(f"{float(bar_width(scale)):g}"))
    return Captioned(bars, caption, words("statistics.distribution"), heads)


def _individuals(group: Group, words: Words, width: float) -> Captioned:
    values = [point.value for point in group.points]
    scale = profile_scale(values, group.minimum, group.maximum, group.unit)
    assert scale is not None  # noqa: S101 - as above
    points = [IndividualPoint(point.date[5:], point.value, point.verdict) for point in group.points]
    limits = [(group.mean, words("statistics.centre", value=digits(group.mean)))]
    wide = round(width - _HISTOGRAM - _BETWEEN, 1)
    alt = words(
        "statistics.alt.individuals", count=len(points), mean=digits(group.mean), unit=shown_unit(group.unit)
    )  # fmt: skip
    drawn = Drawing(wide, CHART_HEIGHT, lambda height: individuals(scale, wide, height, points, limits), alt)
    caption = words("statistics.order", unit=shown_unit(group.unit))
    return Captioned(drawn, caption, words("statistics.individuals"))
