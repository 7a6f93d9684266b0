"""Quiet axes: hairlines, small muted labels, no box; those that charts share, with the profile or with time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.charts.loading import load_matplotlib
from reportgen.charts.palette import BAND, HAIRLINE, INK, MUTED
from reportgen.charts.second_process import frame_maker

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from reportgen.charts.drawing import Frame
    from reportgen.charts.scale import ProfileScale

TICK_SIZE = 6.5
LABEL_SIZE = 6.8
LANE = 9.0
"""Height of a lane of work below the axis of time."""
_END_LABELS = 44.0
_DAY = 24 * 60


class Faces(NamedTuple):
    """Files of the regular and the semibold TrueType face, handed in by whoever owns the fonts."""

    regular: Path
    semibold: Path

    def properties(self, size: float) -> Any:
        """Return the matplotlib font properties of the regular face at ``size`` points."""
        from matplotlib.font_manager import FontProperties

        return FontProperties(fname=str(self.regular), size=size)


def bare_axes(figure: Any, left: float, bottom: float, right: float, top: float) -> Any:
    """Return axes with the given margins in points and no lines but those asked for."""
    width, height = figure.bbox.size
    box = [left / width, bottom / height, (width - left - right) / width, (height - bottom - top) / height]
    axes = figure.add_axes(box)
    axes.patch.set_visible(False)
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.tick_params(length=0, pad=3)
    return axes


def show_baseline(axes: Any) -> None:
    """Draw the horizontal axis as a thin line of ink."""
    axes.spines["bottom"].set_visible(True)
    axes.spines["bottom"].set_color("#" + INK)
    axes.spines["bottom"].set_linewidth(0.7)


def set_ticks(axis: Any, places: Sequence[float], texts: Sequence[str], faces: Faces) -> None:
    """Set ticks with their texts, muted and small."""
    axis.set_ticks(list(places))
    axis.set_ticklabels(list(texts), fontproperties=faces.properties(TICK_SIZE), color="#" + MUTED, parse_math=False)


def write_note(axes: Any, x: float, y: float, text: str, faces: Faces, **style: Any) -> None:
    """Write a small note at (x, y), in fractions of the axes unless ``transform`` says otherwise."""
    style = {"transform": axes.transAxes, "color": "#" + MUTED} | style
    axes.text(x, y, text, fontproperties=faces.properties(LABEL_SIZE), parse_math=False, **style)


def rule_across(axes: Any, y: float) -> None:
    """Draw a hairline across the axes at a value."""
    axes.axhline(y, color="#" + HAIRLINE, linewidth=0.5, zorder=0.6)


def shade_between(axes: Any, scale: ProfileScale, *, across: bool) -> None:
    """Shade the specified band of vertical (``across``) or horizontal extent; one limit shades to the end."""
    if scale.minimum is None and scale.maximum is None:
        return
    low = float(scale.low if scale.minimum is None else scale.minimum)
    high = float(scale.high if scale.maximum is None else scale.maximum)
    span = axes.axvspan if across else axes.axhspan
    span(low, high, facecolor="#" + BAND, edgecolor="none", linewidth=0, zorder=0.5)


@frame_maker
def profile_frame(scale: ProfileScale, size: tuple[float, float], faces: Faces, caption: str, right: float) -> Frame:
    """Lay out axes with the profile upwards on the report's scale and 0 to 1 across, the specified band shaded.

    ``size`` is width and height in points, ``caption`` the text under the horizontal axis, ``right`` the room in points
    beside the axes.
    """
    load_matplotlib()
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


@frame_maker
def time_frame(
    span: tuple[int, int], heights: tuple[int, int, int], lanes: int, size: tuple[float, float], faces: Faces,
    caption: str,
) -> Frame:  # fmt: skip
    """Lay out axes with a value upwards and the time of day across, with room below for lanes of work.

    ``span`` is the first and the last minute since midnight, ``heights`` the lowest and the highest value and the step
    between two lines, ``size`` width and height in points; ``caption`` stands at the top left.
    """
    load_matplotlib()
    from reportgen.charts.renderer import empty_figure, frame_of, settings

    with settings():
        figure = empty_figure(*size)
        axes = bare_axes(figure, 22 if not lanes else 44, 14 + lanes * LANE + 6, _END_LABELS, 14)
        axes.set_xlim(*span)
        axes.set_ylim(*heights[:2])
        step = next(hours for hours in (1, 2, 3, 4, 6, 12, 24, 48) if (span[1] - span[0]) / 60 / hours <= 13)
        hours = range(span[0], span[1] + 1, step * 60)
        set_ticks(axes.xaxis, hours, [clock_text(minutes) for minutes in hours], faces)
        axes.tick_params(axis="x", pad=4 + lanes * LANE + (4 if lanes else 0))
        ticks = range(heights[0], heights[1] + 1, heights[2])
        set_ticks(axes.yaxis, ticks, [str(tick) for tick in ticks], faces)
        for tick in ticks:
            rule_across(axes, tick)
        write_note(axes, 0.0, 1 + 5 / (size[1] - 34 - lanes * LANE), caption, faces, ha="left", va="bottom")
        return frame_of(figure, axes, faces)


def clock_text(minutes: int) -> str:
    """Return the clock time of minutes since midnight, past midnight too."""
    return f"{minutes % _DAY // 60:02d}:{minutes % 60:02d}"
