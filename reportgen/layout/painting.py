"""Neutral drawing commands onto a reportlab canvas; frames that many charts share become one form of the file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.charts import Label, Shape
from reportgen.layout.styles import BOLD, REGULAR, colour
from reportgen.layout.textlines import checked, text_width

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.charts import Command, Frame

_FACE = {"regular": REGULAR, "semibold": BOLD}


def paint(canvas: Any, commands: Iterable[Command], x: float = 0.0, y: float = 0.0) -> None:
    """Paint commands with their origin at (x, y); the canvas's state is as before afterwards."""
    canvas.saveState()
    if x or y:
        canvas.translate(x, y)
    for command in commands:
        if isinstance(command, Label):
            _write(canvas, command)
        else:
            _shape(canvas, command)
    canvas.restoreState()


def paint_frame(canvas: Any, frame: Frame, x: float, y: float, *, form: str | None) -> None:
    """Paint a frame at (x, y); with ``form`` it is kept in the file once under that name and shown again."""
    if form is None:
        paint(canvas, frame.commands, x, y)
        return
    if not canvas.hasForm(form):
        canvas.beginForm(form, 0, 0, frame.width, frame.height)
        paint(canvas, frame.commands)
        canvas.endForm()
    canvas.saveState()
    canvas.translate(x, y)
    canvas.doForm(form)
    canvas.restoreState()


def _write(canvas: Any, label: Label) -> None:
    face = _FACE[label.face]
    text = checked(label.text)
    shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor]
    canvas.setFillColor(colour(label.colour))
    canvas.setFont(face, label.size)
    if label.angle:
        canvas.saveState()
        canvas.translate(label.x, label.y)
        canvas.rotate(label.angle)
        canvas.drawString(-shift * text_width(text, face, label.size), 0, text)
        canvas.restoreState()
    else:
        canvas.drawString(label.x - shift * text_width(text, face, label.size), label.y, text)


def _shape(canvas: Any, shape: Shape) -> None:
    clipped = shape.clip is not None and _reaches_over(shape)
    if clipped:
        canvas.saveState()
        assert shape.clip is not None  # noqa: S101 - tested above
        x0, y0, x1, y1 = shape.clip
        outline = canvas.beginPath()
        outline.rect(x0, y0, x1 - x0, y1 - y0)
        canvas.clipPath(outline, stroke=0, fill=0)
    path = canvas.beginPath()
    steps = {"m": path.moveTo, "l": path.lineTo, "c": path.curveTo, "h": path.close}
    for step, points in shape.path:
        steps[step](*(round(value, 2) for value in points))
    if shape.fill is not None:
        canvas.setFillColor(colour(shape.fill))
    if shape.stroke is not None:
        canvas.setStrokeColor(colour(shape.stroke.colour))
        canvas.setLineWidth(shape.stroke.width)
        canvas.setDash(list(shape.stroke.dash)) if shape.stroke.dash else canvas.setDash()
    canvas.drawPath(path, stroke=int(shape.stroke is not None), fill=int(shape.fill is not None))
    if clipped:
        canvas.restoreState()


def _reaches_over(shape: Shape) -> bool:
    """Whether the points of a shape leave its clip rectangle by more than a hair."""
    assert shape.clip is not None  # noqa: S101 - the caller asked
    x0, y0, x1, y1 = shape.clip
    hair = 0.5
    for _, points in shape.path:
        if any(not x0 - hair <= x <= x1 + hair for x in points[::2]):
            return True
        if any(not y0 - hair <= y <= y1 + hair for y in points[1::2]):
            return True
    return False
