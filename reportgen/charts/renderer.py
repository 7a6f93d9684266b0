"""A matplotlib renderer that writes down drawing commands instead of drawing."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from matplotlib.backend_bases import RendererBase
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.font_manager import get_font
from matplotlib.path import Path as MplPath

from reportgen.charts.drawing import Axis, ChartError, Command, Frame, Label, Segment, Shape, Stroke

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.charts.axes import Faces

# code of a path: its step, and how many numbers that has
_STEP = {MplPath.MOVETO: ("m", 2), MplPath.LINETO: ("l", 2), MplPath.CURVE4: ("c", 6), MplPath.CLOSEPOLY: ("h", 0)}
_OPAQUE = 255
_MEASURED = 32

# What a chart here may differ in from matplotlib's own defaults; user settings never count.
_SETTINGS: Any = {"text.parse_math": False, "axes.unicode_minus": False, "path.simplify": False, "text.hinting": "none"}


@contextmanager
def settings() -> Iterator[None]:
    """Use matplotlib's built-in defaults inside, whatever configuration file it found in a folder."""
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(_SETTINGS)
        yield


def empty_figure(width: float, height: float) -> Figure:
    """Return a figure of ``width`` x ``height`` points whose unit of drawing is the point; no pyplot, no state."""
    figure = Figure(figsize=(width / 72, height / 72), dpi=72)
    figure.patch.set_visible(False)
    return figure


def frame_of(figure: Figure, axes: Any, faces: Faces) -> Frame:
    """Draw the figure and return what it consists of, with the linear axes of ``axes``."""
    width, height = (float(side) for side in figure.bbox.size)
    recorder = CommandRenderer(width, height, faces)
    figure.draw(recorder)
    if not axes.transData.is_affine:
        raise ChartError("the axes of a chart are not linear")
    matrix, box = axes.transData.get_affine().get_matrix(), axes.bbox
    return Frame(
        width,
        height,
        tuple(recorder.commands),
        Axis(float(matrix[0][0]), float(matrix[0][2]), float(box.x0), float(box.x1)),
        Axis(float(matrix[1][1]), float(matrix[1][2]), float(box.y0), float(box.y1)),
    )


class CommandRenderer(RendererBase):
    """Collects shapes and labels; refuses what the commands cannot say: transparency, hatching, images, formulas."""

    def __init__(self, width: float, height: float, faces: Faces) -> None:
        super().__init__()
        self.commands: list[Command] = []
        self._size = (width, height)
        self._faces = {str(faces.regular): "regular", str(faces.semibold): "semibold"}

    def get_canvas_width_height(self) -> tuple[float, float]:
        """Size in points."""
        return self._size

    def flipy(self) -> bool:
        """The origin is at the lower left, as on a page."""
        return False

    def points_to_pixels(self, points: Any) -> Any:
        """One unit is one point."""
        return points

    def draw_path(self, gc: Any, path: Any, transform: Any, rgbFace: Any = None) -> None:  # noqa: N803 - matplotlib's name
        """Write down one path."""
        _refuse(gc)
        fill = None if rgbFace is None else _colour(rgbFace)
        width = float(gc.get_linewidth())
        _, dashes = gc.get_dashes()
        pen = Stroke(_colour(gc.get_rgb()), width, tuple(map(float, dashes or ()))) if width > 0 else None
        if fill is None and pen is None:
            return
        steps: list[Segment] = []
        for points, code in path.iter_segments(transform, remove_nans=True, simplify=False, curves=True):
            if code not in _STEP:
                raise ChartError(f"a chart used path code {code}, which has no drawing command")
            step, count = _STEP[code]
            steps.append((step, tuple(map(float, points[:count]))))
        box = gc.get_clip_rectangle()
        clip = None if box is None else (float(box.x0), float(box.y0), float(box.x1), float(box.y1))
        if steps:
            self.commands.append(Shape(tuple(steps), fill, pen, clip))

    def draw_text(
        self, gc: Any, x: float, y: float, s: str, prop: Any, angle: float,
        ismath: Any = False, mtext: Any = None,  # noqa: FBT002, ARG002 - matplotlib's signature
    ) -> None:  # fmt: skip
        """Write down one line of text."""
        _refuse(gc)
        if ismath:
            raise ChartError(f"the chart text {s!r} was taken for a formula")
        face = self._face(prop)
        size, colour = float(prop.get_size_in_points()), _colour(gc.get_rgb())
        self.commands.append(Label(float(x), float(y), s, size, colour, face, float(angle)))

    def get_text_width_height_descent(self, s: str, prop: Any, ismath: Any) -> tuple[float, float, float]:
        """Measure text in the face it will be set in."""
        if ismath:
            raise ChartError(f"the chart text {s!r} was taken for a formula")
        self._face(prop)
        font = get_font(prop.get_file())
        # measured large: at its real size the rasteriser rounds every letter to whole points
        font.set_size(prop.get_size_in_points() * _MEASURED, 72)
        font.set_text(s, 0.0)
        width, height = font.get_width_height()
        return width / 64 / _MEASURED, height / 64 / _MEASURED, font.get_descent() / 64 / _MEASURED

    def draw_image(self, *_: Any, **__: Any) -> None:
        """Refuse: charts are vector."""
        raise ChartError("a chart tried to draw an image")

    def draw_gouraud_triangles(self, *_: Any, **__: Any) -> None:
        """Refuse: shading has no drawing command."""
        raise ChartError("a chart tried to draw shading")

    def _face(self, prop: Any) -> Any:
        face = self._faces.get(str(prop.get_file()))
        if face is None:
            raise ChartError("a chart tried to set text in a face that is not the report's")
        return face


def _refuse(gc: Any) -> None:
    """Refuse what would otherwise be dropped in silence."""
    if gc.get_alpha() not in (None, 1, 1.0) or (len(gc.get_rgb()) == 4 and gc.get_rgb()[3] not in (0, 1)):
        raise ChartError("a chart tried to draw transparently")
    if gc.get_hatch():
        raise ChartError("a chart tried to draw a hatch")


def _colour(rgb: Any) -> str:
    text = str(to_hex(rgb, keep_alpha=True))[1:]
    if int(text[6:8], 16) != _OPAQUE:
        raise ChartError("a chart tried to fill transparently")
    return text[:6]
