"""Quiet axes: hairlines, small muted labels, no box."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.charts.palette import HAIRLINE, INK, MUTED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.charts.typefaces import Faces

TICK_SIZE = 6.5
LABEL_SIZE = 6.8


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
    style.setdefault("transform", axes.transAxes)
    style.setdefault("color", "#" + MUTED)
    semibold = style.pop("semibold", False)
    axes.text(x, y, text, fontproperties=faces.properties(LABEL_SIZE, semibold=semibold), parse_math=False, **style)


def rule_across(axes: Any, y: float) -> None:
    """Draw a hairline across the axes at a value."""
    axes.axhline(y, color="#" + HAIRLINE, linewidth=0.5, zorder=0.6)
