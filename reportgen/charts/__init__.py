"""Series to figures, as neutral drawing commands that know no library and no pages: the layout paints them."""

from reportgen.charts.drawing import Command, Label, Shape, Stroke, line, verdict_mark
from reportgen.charts.individuals import IndividualPoint, MovingPoint, individuals, moving_average
from reportgen.charts.profiles import (
    LONGEST_ON_MAP,
    LocationPoint,
    Ruler,
    Strip,
    Walked,
    WalkMap,
    bar_width,
    histogram,
    row_plot,
    scale_heads,
)
from reportgen.charts.scale import ProfileScale, profile_scale

__all__ = [
    "LONGEST_ON_MAP", "Command", "IndividualPoint", "Label", "LocationPoint", "MovingPoint", "ProfileScale", "Ruler",
    "Shape", "Strip", "Stroke", "WalkMap", "Walked", "bar_width", "histogram", "individuals", "line",
    "moving_average", "profile_scale", "row_plot", "scale_heads", "verdict_mark",
]  # fmt: skip
