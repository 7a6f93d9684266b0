"""Statistics of a submittal: for each structure, apparatus and abrasive its numbers, histogram and control chart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.charts import (
    IndividualPoint,
    Ruler,
    bar_width,
    histogram,
    individuals,
    profile_scale,
    scale_heads,
)
from reportgen.pdf.blocks import Facts, SectionTitle, running_text
from reportgen.pdf.charted import CHART_HEIGHT, CHART_TITLE, Captioned, Drawing, SideBySide
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.units import printed
from reportgen.words.numbers import digits, shown_unit

if TYPE_CHECKING:
    from reportgen.submittal.pages.model import Group, Submittal
    from reportgen.words.catalogue import Words

_HISTOGRAM = 190.0
_BETWEEN = 18.0


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
    return blocks


def _group(group: Group, words: Words, width: float, number: int) -> list[Flowable]:
    named = words("statistics.group", structure=group.structure, apparatus=group.apparatus, abrasive=group.abrasive)
    unit = shown_unit(group.unit)
    low, high = group.minimum, group.maximum
    limits = f"{digits(low)}–{digits(high)}"
    if low is None or high is None:
        limits = " ".join(f"{sign} {digits(one)}" for sign, one in (("≥", low), ("≤", high)) if one is not None)
    control = words("statistics.none")
    if group.control is not None:
        control = f"{digits(group.control[0])} – {digits(group.control[2])} {unit}"
    facts = [
        (words("statistics.n"), str(len(group.points))),
        (words("statistics.mean"), f"{digits(group.mean)} {unit}"),
        (words("statistics.sd"), f"{digits(group.standard_deviation)} {unit}" if group.standard_deviation else "–"),
        (words("statistics.range"), f"{digits(group.least)} – {digits(group.greatest)} {unit}"),
        (words("statistics.limits"), f"{limits} {unit}"),
        (words("statistics.spots"), str(len(group.spots))),
        (words("statistics.control"), control),
        (words("statistics.outside"), str(group.outside) if group.control else "–"),
        (words("statistics.areas"), ", ".join(group.areas)),
    ]
    return [
        CondPageBreak(CHART_HEIGHT + CHART_TITLE + 130),
        SectionTitle(named, f"group-{number}", level=3, outline=False, ruled=False),
        Facts(facts, 5, before=3),
        SideBySide([_histogram(group, words), _individuals(group, words, width)], before=4),
        *([running_text(words("statistics.few"), "note", before=2)] if group.few else []),
    ]


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
    lines = [] if group.control is None else [*group.control]
    scale = profile_scale([*values, *lines], group.minimum, group.maximum, group.unit)
    assert scale is not None  # noqa: S101 - as above
    names = [words(f"statistics.{name}", value=digits(value)) for name, value in zip(_NAMES, lines, strict=False)]
    points = [IndividualPoint(point.date[5:], point.value, point.verdict) for point in group.points]
    limits, wide = list(zip(lines, names, strict=True)), round(width - _HISTOGRAM - _BETWEEN, 1)
    alt = words(
        "statistics.alt.individuals", count=len(points), mean=digits(group.mean), unit=shown_unit(group.unit),
        outside=group.outside,
    )  # fmt: skip
    drawn = Drawing(wide, CHART_HEIGHT, lambda height: individuals(scale, wide, height, points, limits), alt)
    caption = words("statistics.order", unit=shown_unit(group.unit))
    return Captioned(drawn, caption, words("statistics.individuals"))


_NAMES = ("lower", "centre", "upper")
