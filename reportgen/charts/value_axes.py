"""Axes that locations and individual values share: profile upwards, order across."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.charts.loading import load_matplotlib
from reportgen.charts.second_process import frame_maker

if TYPE_CHECKING:
    from reportgen.charts.drawing import Frame
    from reportgen.charts.scale import ProfileScale
    from reportgen.charts.typefaces import Faces


@frame_maker
def profile_frame(scale: ProfileScale, size: tuple[float, float], faces: Faces, caption: str, right: float) -> Frame:
    """Lay out axes with the profile upwards on the report's scale and 0 to 1 across, the specified band shaded.

    ``size`` is width and height in points, ``caption`` the text under the horizontal axis, ``right`` the room in points
    beside the axes.
    """
    load_matplotlib()
    from reportgen.charts.axes import bare_axes, rule_across, set_ticks, write_note
    from reportgen.charts.histogram import shade_between
    from reportgen.charts.renderer import empty_figure, frame_of, settings

    with settings():
        figure = empty_figure(*size)
        axes = bare_axes(figure, 22, 27, right, 6)
        axes.set_xlim(0, 1)
        axes.set_ylim(float(scale.low), float(scale.high))
        axes.set_xticks([])
        ticks = scale.ticks()
        set_ticks(axes.yaxis, [float(tick) for tick in ticks], [scale.tick_text(tick) for tick in ticks], faces)
        shade_between(axes, scale, across=False)
        for tick in ticks:
            rule_across(axes, float(tick))
        write_note(axes, 1.0, -21 / (size[1] - 33), caption, faces, ha="right", va="bottom")
        return frame_of(figure, axes, faces)
