"""Pages as pictures: nothing outside the margins, verdicts told apart without colour."""

import io
import subprocess

import pytest
from PIL import Image

from reportgen.charts.drawing import Label
from reportgen.pdf.canvas import ReportCanvas, artifact
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import FINE, LABEL, MUTED
from tests.golden.pages import report, texts
from tests.outside import needs_program

DPI = 60


@pytest.fixture(scope="module")
def pictures(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")
    file = folder / "report.pdf"
    file.write_bytes(report().pdf)
    subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", "-png", str(file), str(folder / "page")], check=True)
    return [Image.open(path).convert("L") for path in sorted(folder.glob("page*.png"))]


@needs_program("pdftoppm")
def test_nothing_is_printed_in_the_margins(pictures):
    margin = int(48 / 72 * DPI)  # 18 mm less a hair
    for picture in pictures:
        wide, high = picture.size
        for box in ((0, 0, margin, high), (wide - margin, 0, wide, high), (0, 0, wide, 16), (0, high - 22, wide, high)):
            assert picture.crop(box).getextrema()[0] > 240


@needs_program("pdftoppm")
def test_no_page_is_left_half_empty_but_the_last_and_those_before_a_tall_block(pictures):
    ends = []
    for picture in pictures[:-1]:
        inked = picture.crop((0, 0, picture.width, int(picture.height * 0.935))).point(lambda tone: 255 * (tone < 200))
        ends.append(inked.getbbox()[3] / picture.height)
    assert min(ends) > 0.5
    assert sum(end < 0.6 for end in ends) <= len(ends) // 4


@needs_program("pdftoppm")
def test_disc_and_diamond_differ_in_grey(tmp_path):
    file = tmp_path / "report.pdf"
    file.write_bytes(report().pdf)
    target = str(tmp_path / "page")
    subprocess.run(["pdftoppm", "-r", "200", "-gray", "-f", "1", "-l", "1", "-png", str(file), target], check=True)
    [path] = tmp_path.glob("page*.png")
    picture = Image.open(path).convert("L")
    # the big mark of the banner: an open diamond, light inside, dark at its corners
    scale = 200 / 72
    x, top = 51.02 + 19, 50 + 24 + 13 + 11  # title, subtitle, space
    column = [picture.getpixel((int(x * scale), int((top + dy) * scale))) for dy in range(5, 32)]
    dark = [index for index, tone in enumerate(column) if tone < 140]
    assert dark
    assert max(dark) - min(dark) > 6
    assert min(column[min(dark) + 3 : max(dark) - 2]) > 200


@needs_program("pdftoppm")
@pytest.mark.parametrize("shown", ["low – high", "spot a"])
def test_a_photocopy_keeps_the_limits_and_the_marks(shown, tmp_path):
    """At 90 dpi, every grey either black or white: both limits run through all rows, and the marks beside them stay."""
    file = tmp_path / "report.pdf"
    file.write_bytes(report().pdf)
    page = next(number for number, text in enumerate(texts(report()), 1) if shown in text)
    command = ["pdftoppm", "-r", "90", "-gray", "-f", str(page), "-l", str(page), "-png", "-singlefile"]
    subprocess.run([*command, str(file), str(tmp_path / "page")], check=True)
    copy = Image.open(tmp_path / "page.png").convert("L").point(lambda tone: 255 * (tone > 128))
    wide, high = copy.size
    runs = {}
    for x in range(wide):
        column = "".join("#" if copy.getpixel((x, y)) == 0 else " " for y in range(high))
        runs[x] = max(map(len, column.split()), default=0)
    long = [x for x, run in runs.items() if run > 45]
    limits = [x for x in long if x - 1 not in long]  # a limit may be two pixels wide
    assert len(limits) >= 2, runs
    between = copy.crop((limits[0] + 3, 0, limits[1] - 3, high))
    inked = between.point(lambda tone: 255 - tone).getbbox()
    assert inked is not None


@needs_program("pdftoppm")
def test_a_photocopy_keeps_notes(tmp_path):
    """At 90 dpi, black or white: notes keep most of the dots that they have in pure black."""
    shares = []
    for ink in (MUTED, "000000"):
        picture = copied([Label(20, 60, NOTE, FINE, ink), Label(20, 40, NOTE, LABEL, ink)], tmp_path)
        shares.append(picture.histogram()[0])
    assert shares[0] > 0.6 * shares[1] > 0


NOTE = "U: expanded uncertainty, about 95 %; judged: the value as compared with the limits"


def copied(marks, folder):
    """Marks on a page of their own, as a harsh copier shows them."""
    buffer = io.BytesIO()
    canvas = ReportCanvas(buffer, title="t", pagesize=(400, 100))
    with artifact(canvas):
        paint(canvas, marks)
    canvas.save()
    file = folder / "marks.pdf"
    file.write_bytes(buffer.getvalue())
    subprocess.run(
        ["pdftoppm", "-r", "90", "-gray", "-png", "-singlefile", str(file), str(folder / "marks")], check=True
    )
    return Image.open(folder / "marks.png").convert("L").point(lambda tone: 255 * (tone > 128))
