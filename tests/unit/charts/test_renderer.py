"""What the drawing commands cannot say is refused, never dropped."""

import matplotlib as mpl
import numpy as np
import pytest

from reportgen.charts import ChartError, Faces, Label, Shape
from reportgen.charts.renderer import CommandRenderer, empty_figure, frame_of, settings
from reportgen.pdf.fonts import font_path

FACES = Faces(font_path("PlexSans"), font_path("PlexSans-SemiBold"))


def drawn(draw):
    with settings():
        figure = empty_figure(100, 80)
        axes = figure.add_axes([0.1, 0.1, 0.8, 0.8])
        axes.set_xticks([])
        axes.set_yticks([])
        draw(axes)
        return frame_of(figure, axes, FACES)


def test_lines_fills_and_text_become_commands():
    def draw(axes):
        axes.plot([0, 1], [0, 1], color="#123456", linestyle="--")
        axes.axhspan(0.2, 0.4, facecolor="#abcdef")
        axes.text(0.5, 0.5, "a $b$", fontproperties=FACES.properties(7), parse_math=False)

    frame = drawn(draw)
    assert any(isinstance(each, Shape) and each.fill == "abcdef" for each in frame.commands)
    assert any(isinstance(each, Shape) and each.stroke and each.stroke.dash for each in frame.commands)
    assert [each.text for each in frame.commands if isinstance(each, Label)] == ["a $b$"]


def test_the_axes_place_values_where_matplotlib_does():
    frame = drawn(lambda axes: (axes.set_xlim(0, 10), axes.set_ylim(-5, 5)))
    assert frame.x.place(0) == pytest.approx(10)
    assert frame.x.place(10) == pytest.approx(90)
    assert frame.y.place(0) == pytest.approx(40)
    assert (frame.y.start, frame.y.end) == pytest.approx((8, 72))


@pytest.mark.parametrize(
    "draw",
    [
        lambda axes: axes.plot([0, 1], [0, 1], alpha=0.5),
        lambda axes: axes.axhspan(0, 1, facecolor=(1, 0, 0, 0.5)),
        lambda axes: axes.bar([0.5], [1], hatch="/"),
        lambda axes: axes.imshow(np.zeros((2, 2))),
        lambda axes: axes.text(0.5, 0.5, r"$\frac{1}{2}$", fontproperties=FACES.properties(7), parse_math=True),
        lambda axes: axes.text(0.5, 0.5, "in some other face"),
        lambda axes: (axes.set_yscale("log"), axes.set_yticks([], minor=True), axes.set_yticks([])),
        lambda axes: axes.tripcolor([0, 1, 0], [0, 0, 1], [1, 2, 3], shading="gouraud"),
    ],
    ids=["alpha", "alpha-fill", "hatch", "image", "formula", "other-face", "curved-axes", "shading"],
)
def test_what_cannot_be_said_is_refused(draw):
    with pytest.raises(ChartError):
        drawn(draw)


def test_quadratic_curves_are_refused():
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    path = Path([(0, 0), (0.5, 1), (1, 0)], [Path.MOVETO, Path.CURVE3, Path.CURVE3])
    with pytest.raises(ChartError, match="path code"):
        drawn(lambda axes: axes.add_patch(PathPatch(path)))


def test_a_formula_cannot_be_drawn_even_when_asked_directly():
    from matplotlib.backend_bases import GraphicsContextBase

    renderer = CommandRenderer(10, 10, FACES)
    with pytest.raises(ChartError, match="formula"):
        renderer.get_text_width_height_descent("x", FACES.properties(7), "TeX")
    with pytest.raises(ChartError, match="formula"):
        renderer.draw_text(GraphicsContextBase(), 0, 0, "x", FACES.properties(7), 0, ismath=True)


def test_settings_of_a_folder_do_not_count():
    with mpl.rc_context({"axes.facecolor": "red", "text.parse_math": True}):
        with settings():
            assert mpl.rcParams["axes.facecolor"] == "white"
            assert mpl.rcParams["text.parse_math"] is False
        assert mpl.rcParams["axes.facecolor"] == "red"


def test_a_patch_without_fill_and_pen_draws_nothing_and_nan_points_are_left_out():
    from matplotlib.patches import Rectangle

    def draw(axes):
        axes.add_patch(Rectangle((0, 0), 1, 1, facecolor="none", edgecolor="none", linewidth=0))
        axes.plot([float("nan")], [float("nan")], color="#123456")

    assert [
        each for each in drawn(draw).commands if isinstance(each, Shape) and each.stroke is None and not each.fill
    ] == []
    assert CommandRenderer(10, 20, FACES).get_canvas_width_height() == (10, 20)


def test_matplotlib_is_whole_again_after_its_quick_import():
    from matplotlib.artist import Artist

    from reportgen.charts.loading import load_matplotlib

    load_matplotlib.cache_clear()
    before = Artist.__dict__["_update_set_signature_and_docstring"]
    load_matplotlib()
    assert Artist.__dict__["_update_set_signature_and_docstring"] is before
