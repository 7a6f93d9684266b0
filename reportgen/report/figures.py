"""Charts as flowables: a shared frame with the marks of one area over it, and the same in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.charts import (
    Bins,
    histogram_frame,
    histogram_marks,
    locations_frame,
    locations_marks,
)
from reportgen.pdf.charted import CHART_HEIGHT, CHART_TITLE, Chart, SideBySide
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.report.context import spot_profiles
from reportgen.report.summary import location_points, strip_in_words
from reportgen.words.numbers import digits, number, shown_unit

if TYPE_CHECKING:
    from reportgen.report.context import Context
    from reportgen.results import AreaResult

_BETWEEN = 22.0


def profile_charts(context: Context, area: AreaResult) -> list[Flowable]:
    """Histogram of the spots and chart of the locations, side by side; nothing when there is no profile."""
    words, scale = context.words, context.scale
    points = location_points(area)
    if scale is None or not any(point.profile is not None for point in points):
        return []
    unit, profile = shown_unit(scale.unit), context.job.project.specification.profile
    limits = (
        words("chart.minimum", limit=number(profile.minimum)) if profile.minimum else "",
        words("chart.maximum", limit=number(profile.maximum)) if profile.maximum else "",
    )
    narrow = (context.width - _BETWEEN) / 2
    size = (round(narrow, 1), CHART_HEIGHT)
    spots = spot_profiles(area)
    left = histogram_frame(scale, context.tallest, size, context.faces, limits, words("chart.profile", unit=unit))
    right = locations_frame(scale, size, context.faces, words("chart.locations", unit=unit))
    bins = Bins.of(scale)
    shared = len(context.evaluation.areas) > 1
    alt = _histogram_alt(context, bins, spots)
    charts = [
        Chart(words("chart.distribution"), left, histogram_marks(left, bins, spots), alt,
              "histogram" if shared else None),
        Chart(words("chart.order"), right, locations_marks(right, points), _locations_alt(context, area),
              "locations" if shared else None),
    ]  # fmt: skip
    return [CondPageBreak(CHART_HEIGHT + CHART_TITLE + 14), SideBySide(charts, before=14)]


def _histogram_alt(context: Context, bins: Bins, spots: list[Any]) -> str:
    """The histogram in numbers: how many spots, between which values, how many outside the limits."""
    counts = bins.counts(spots)
    outside = sum(count for index, count in enumerate(counts) if not bins.inside(index))
    unit = shown_unit(context.scale.unit) if context.scale else ""
    return context.words(
        "chart.histogram-alt", count=len(spots), low=digits(min(spots, default=None)),
        high=digits(max(spots, default=None)), unit=unit, outside=outside,
    )  # fmt: skip


def _locations_alt(context: Context, area: AreaResult) -> str:
    return context.words("chart.locations-alt", points=strip_in_words(context, location_points(area)))
