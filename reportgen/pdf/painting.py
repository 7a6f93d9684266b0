"""Neutral drawing commands onto a reportlab canvas."""

from __future__ import annotations

from functools import cache
from itertools import groupby
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

from reportgen.charts import Label, Shape
from reportgen.pdf.fonts import drawable, runs
from reportgen.pdf.styles import BOLD, REGULAR
from reportgen.pdf.textlines import one_line, text_width

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.charts import Command
    from reportgen.charts.drawing import Segment

_FACE = {"regular": REGULAR, "semibold": BOLD}
_BACK = {"start": 0.0, "middle": 0.5, "end": 1.0}
_HAIR = 0.5  # by which a shape may leave its clip rectangle without being clipped


def paint(canvas: Any, commands: Iterable[Command]) -> None:
    """Paint commands; the canvas's state is as before afterwards."""
    canvas.saveState()
    for _, run in groupby(commands, key=type):
        alike = list(run)
        if shapes := [operators(each) for each in alike if isinstance(each, Shape)]:
            canvas.addLiteral("\n".join(shapes))
        for label in alike:
            if isinstance(label, Label):
                _write(canvas, label)
    canvas.restoreState()


def _write(canvas: Any, label: Label) -> None:
    face, text = _FACE[label.face], drawable(label.text)
    size = one_line(text, face, label.size, label.room) if label.room else label.size
    back = _BACK[label.anchor] and _BACK[label.anchor] * text_width(text, face, size)
    if label.angle:
        canvas.saveState()
        canvas.translate(label.x, label.y)
        canvas.rotate(label.angle)
        show_text(canvas, -back, 0.0, text, face, size, label.colour)
        canvas.restoreState()
    else:
        show_text(canvas, label.x - back, label.y, text, face, size, label.colour)


_texts: WeakKeyDictionary[Any, dict[tuple[str, str], list[tuple[str, str]]]] = WeakKeyDictionary()


def show_text(canvas: Any, x: float, y: float, text: str, face: str, size: float, ink: str) -> None:
    """Set one line of plain text at its baseline, in one go; fill colour and font of the canvas are as before.

    What no face can print is shown as its code point. Written is what reportlab's text object would write for the same
    line, without its bookkeeping for each: a report has thousands of lines, many of them alike.
    """
    if not text:
        return
    if says := getattr(canvas, "says", None):  # of a canvas with tags
        says(text)
    text = drawable(text)
    known = _texts.setdefault(canvas, {})
    # the text in the subsets of a face that the document embeds: (name of the subset, escaped codes)
    encoded = known.get((face, text))
    if encoded is None:
        from reportlab.pdfbase.pdfmetrics import getFont

        document = canvas._doc  # noqa: SLF001 - fonts are encoded for a document
        encoded = known[face, text] = [
            (font.getSubsetInternalName(subset, document), canvas._escape(codes))  # noqa: SLF001 - reportlab's own
            for font, piece in ((getFont(name), piece) for name, piece in runs(text, face))
            for subset, codes in font.splitString(piece, document)
        ]
    shown = "".join(f"{font} {size:g} Tf ({escaped}) Tj " for font, escaped in encoded)
    canvas.addLiteral(f"q BT {_rgb(ink)} rg 1 0 0 1 {x:.2f} {y:.2f} Tm {shown}ET Q")


def operators(shape: Shape) -> str:
    """A shape in the operators of a PDF page; it leaves colours, line width and dashes set."""
    code: list[str] = []
    if shape.fill is not None:
        code.append(f"{_rgb(shape.fill)} rg")
    if shape.stroke is not None:
        dash = " ".join(f"{length:.2f}" for length in shape.stroke.dash)
        code.append(f"{_rgb(shape.stroke.colour)} RG {shape.stroke.width:.2f} w [{dash}] 0 d")
    code.extend(" ".join([*(f"{value:.2f}" for value in points), step]) for step, points in shape.path)
    code.append(_PAINT[shape.fill is not None, shape.stroke is not None])
    if shape.clip is not None and _reaches_over(shape.path, *shape.clip):
        x0, y0, x1, y1 = shape.clip
        return "\n".join([f"q {x0:.2f} {y0:.2f} {x1 - x0:.2f} {y1 - y0:.2f} re W n", *code, "Q"])
    return "\n".join(code)


def _reaches_over(path: Sequence[Segment], x0: float, y0: float, x1: float, y1: float) -> bool:
    """Whether the points of a path leave a rectangle by more than a hair."""
    across = [x for _, points in path for x in points[::2]]
    upwards = [y for _, points in path for y in points[1::2]]
    held = x0 - _HAIR <= min(across) <= max(across) <= x1 + _HAIR
    return not (held and y0 - _HAIR <= min(upwards) <= max(upwards) <= y1 + _HAIR)


_PAINT = {(True, True): "B", (True, False): "f", (False, True): "S", (False, False): "n"}


@cache
def _rgb(code: str) -> str:
    """Colour operands of ``rrggbb``."""
    return " ".join(f"{int(code[place : place + 2], 16) / 255:.4f}" for place in (0, 2, 4))
