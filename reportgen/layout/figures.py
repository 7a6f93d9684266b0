"""Charts as flowables: a shared frame with the marks of one area over it, and the same in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportlab.platypus import CondPageBreak, Flowable

from reportgen.charts import (
    Bins,
    histogram_frame,
    histogram_marks,
    locations_frame,
    locations_marks,
)
from reportgen.layout.blocks import write
from reportgen.layout.canvas import tagged
from reportgen.layout.context import digits, number, shown_unit, spot_profiles
from reportgen.layout.painting import paint, paint_frame
from reportgen.layout.styles import BODY, BOLD, INK
from reportgen.layout.summary import location_points, strip_in_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.charts import Command, Frame
    from reportgen.layout.context import Context
    from reportgen.results import AreaResult

CHART_HEIGHT = 118.0
CHART_TITLE = 16.0
_BETWEEN = 22.0


class Chart(Flowable):  # type: ignore[misc] # reportlab has no types
    """A titled chart: a frame, shown as a form when it has a name, with marks over it; tagged as a figure."""

    def __init__(self, title: str, frame: Frame, marks: Sequence[Command], alt: str, form: str | None) -> None:
        super().__init__()
        self.title, self.frame, self.marks, self.alt, self.form = title, frame, marks, alt, form
        self.width, self.height = frame.width, frame.height + (CHART_TITLE if title else 0)

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """As large as the frame and its title."""
        return self.width, self.height

    def draw(self) -> None:
        """Title, frame, marks."""
        canvas = self.canv
        if self.title:
            with tagged(canvas, "Caption"):
                write(canvas, 0, self.frame.height + 4, self.title, BODY + 0.5, INK, face=BOLD)
        with tagged(canvas, "Figure", alt=self.alt, at=(0, 0, self.frame.width, self.frame.height)):
            paint_frame(canvas, self.frame, 0, 0, form=self.form)
            paint(canvas, self.marks)


class SideBySide(Flowable):  # type: ignore[misc] # reportlab has no types
    """Flowables of known size beside each other, tops aligned, the last at the right margin."""

    def __init__(self, parts: Sequence[Any], *, before: float = 0.0) -> None:
        super().__init__()
        self.parts = parts
        self.spaceBefore, self.spaceAfter = before, 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The whole width; the height of the tallest."""
        sizes = [part.wrapOn(self.canv, aW, aH) for part in self.parts]
        self.width, self.height = aW, max(height for _, height in sizes)
        free = aW - sum(width for width, _ in sizes)
        gap = free / max(1, len(sizes) - 1)
        self._places = []
        x = 0.0
        for width, height in sizes:
            self._places.append((x, self.height - height))
            x += width + gap
        return self.width, self.height

    def draw(self) -> None:
        """Each at its place."""
        for part, (x, y) in zip(self.parts, self._places, strict=True):
            part.drawOn(self.canv, x, y)


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
