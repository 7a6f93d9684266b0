"""Series to figures, as neutral drawing commands: the only door to matplotlib.

matplotlib lays out the axes of each kind of chart once; ``Frame`` keeps what it drew and where its axes lie. The marks
of an area are then placed over a frame with those axes. Nothing here knows pages: the layout paints the commands.
"""

from reportgen.charts.axes import Faces
from reportgen.charts.conditions import Activity, ConditionPoint, conditions_frame, conditions_marks
from reportgen.charts.drawing import Axis, ChartError, Command, Frame, Label, Shape, Stroke, line, verdict_mark
from reportgen.charts.histogram import Bins, histogram_frame, histogram_marks
from reportgen.charts.locations import (
    IndividualPoint,
    individuals_frame,
    individuals_marks,
    locations_frame,
    locations_marks,
    strip_marks,
)
from reportgen.charts.profiles import LocationPoint, Ruler, Strip, scale_heads
from reportgen.charts.scale import ProfileScale, profile_scale

__all__ = [
    "Activity",
    "Axis",
    "Bins",
    "ChartError",
    "Command",
    "ConditionPoint",
    "Faces",
    "Frame",
    "IndividualPoint",
    "Label",
    "LocationPoint",
    "ProfileScale",
    "Ruler",
    "Shape",
    "Strip",
    "Stroke",
    "conditions_frame",
    "conditions_marks",
    "histogram_frame",
    "histogram_marks",
    "individuals_frame",
    "individuals_marks",
    "line",
    "locations_frame",
    "locations_marks",
    "profile_scale",
    "scale_heads",
    "strip_marks",
    "verdict_mark",
]
