"""The mark of each verdict: filled disc, open diamond, open square. The same everywhere, so that none needs colour."""

from __future__ import annotations

from reportgen.charts.drawing import Shape, Stroke, disc, polygon
from reportgen.charts.palette import PAPER, VERDICT_COLOUR


def verdict_mark(verdict: str, x: float, y: float, size: float) -> Shape:
    """Return the mark of a verdict around (x, y); ``size`` is the height of its box in points.

    Disc: conforms. Diamond: does not conform. Square: inconclusive or not evaluated.
    """
    colour = VERDICT_COLOUR[verdict]
    pen = Stroke(colour, max(0.8, size * 0.15))
    half = size / 2
    if verdict == "conforms":
        return disc(x, y, half * 0.8, colour)
    if verdict == "does not conform":
        return polygon(((x, y - half), (x + half, y), (x, y + half), (x - half, y)), PAPER, pen)
    side = half * 0.78
    return polygon(((x - side, y - side), (x + side, y - side), (x + side, y + side), (x - side, y + side)), PAPER, pen)
