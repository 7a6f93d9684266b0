"""Drawing commands that know no library: shapes and labels in points, the origin at the lower left."""

from __future__ import annotations

from typing import Literal, NamedTuple

from reportgen.charts.palette import PAPER, VERDICT_COLOUR

FaceName = Literal["regular", "semibold"]
Anchor = Literal["start", "middle", "end"]

Segment = tuple[str, tuple[float, ...]]
"""One step of a path: ``m`` and ``l`` with (x, y), ``c`` with three points, ``h`` (close) with none."""


class Stroke(NamedTuple):
    """A pen: colour as ``rrggbb``, width and dashes in points."""

    colour: str
    width: float
    dash: tuple[float, ...] = ()


class Shape(NamedTuple):
    """A path, filled, stroked or both; ``clip`` is a rectangle (x0, y0, x1, y1) outside which nothing is drawn."""

    path: tuple[Segment, ...]
    fill: str | None = None
    stroke: Stroke | None = None
    clip: tuple[float, float, float, float] | None = None


class Label(NamedTuple):
    """Plain text: (x, y) is the baseline at its start, middle or end as ``anchor`` says; ``angle`` in degrees.

    Text wider than ``room`` points is set smaller; 0 is room for any text.
    """

    x: float
    y: float
    text: str
    size: float
    colour: str
    face: FaceName = "regular"
    angle: float = 0.0
    anchor: Anchor = "start"
    room: float = 0.0


Command = Shape | Label


def line(x0: float, y0: float, x1: float, y1: float, pen: Stroke) -> Shape:
    """Return a straight line."""
    return Shape((("m", (x0, y0)), ("l", (x1, y1))), None, pen)


def polyline(points: list[tuple[float, float]], pen: Stroke) -> Shape:
    """Return an open line through at least one point."""
    steps = tuple(("l" if index else "m", point) for index, point in enumerate(points))
    return Shape(steps, None, pen)


def rectangle(x: float, y: float, width: float, height: float, fill: str | None, pen: Stroke | None = None) -> Shape:
    """Return a rectangle with its lower left corner at (x, y)."""
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    return polygon(corners, fill, pen)


def polygon(corners: tuple[tuple[float, float], ...], fill: str | None, pen: Stroke | None = None) -> Shape:
    """Return a closed polygon."""
    steps: list[Segment] = [("l" if index else "m", corner) for index, corner in enumerate(corners)]
    return Shape((*steps, ("h", ())), fill, pen)


_ARC = 0.5522847498  # control point of a quarter circle by a cubic curve: 4/3 (sqrt 2 - 1)


def disc(x: float, y: float, radius: float, fill: str | None, pen: Stroke | None = None) -> Shape:
    """Return a circle around (x, y), by four cubic curves."""
    k, r = _ARC * radius, radius
    steps: tuple[Segment, ...] = (
        ("m", (x + r, y)),
        ("c", (x + r, y + k, x + k, y + r, x, y + r)),
        ("c", (x - k, y + r, x - r, y + k, x - r, y)),
        ("c", (x - r, y - k, x - k, y - r, x, y - r)),
        ("c", (x + k, y - r, x + r, y - k, x + r, y)),
        ("h", ()),
    )
    return Shape(steps, fill, pen)


def _half_disc(x: float, y: float, radius: float, fill: str) -> Shape:
    """Return a disc of which the right half is open within its edge: the hole runs against the disc."""
    r = radius * 0.72
    k = _ARC * r
    hole: tuple[Segment, ...] = (
        ("m", (x, y + r)),
        ("c", (x + k, y + r, x + r, y + k, x + r, y)),
        ("c", (x + r, y - k, x + k, y - r, x, y - r)),
        ("h", ()),
    )
    return Shape((*disc(x, y, radius, None).path, *hole), fill)


def verdict_mark(verdict: str, x: float, y: float, size: float) -> Shape:
    """Return the mark of a verdict around (x, y); ``size`` is the height of its box in points.

    Disc: conforms. Diamond: does not conform. Square: inconclusive or not evaluated. Half a disc: does not conform, or
    was not evaluated, and is accepted. The same everywhere, so that none needs its colour.
    """
    colour = VERDICT_COLOUR[verdict]
    pen = Stroke(colour, max(0.8, size * 0.15))
    half = size / 2
    if verdict == "conforms":
        return disc(x, y, half * 0.8, colour)
    if verdict == "accepted":
        return _half_disc(x, y, half * 0.85, colour)
    if verdict == "does not conform":
        return polygon(((x, y - half), (x + half, y), (x, y + half), (x - half, y)), PAPER, pen)
    side = half * 0.78
    return polygon(((x - side, y - side), (x + side, y - side), (x + side, y + side), (x - side, y + side)), PAPER, pen)
