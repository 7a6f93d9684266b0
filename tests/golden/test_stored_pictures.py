"""Two pages as small grey pictures, compared with pictures that were looked at and stored.

Compared coarsely, so that another version of the program that draws them makes no difference, and a block that moved,
went missing or turned black does.
"""

import subprocess

import pytest
from PIL import Image, ImageChops, ImageStat

from tests.golden.demo import STORED, UPDATING, built
from tests.outside import needs_program

DPI = 50
PAGES = (1, 4)  # the summary; an area that does not conform
COARSE = 6  # pixels of the picture to one that is compared
MOST, MEAN = 34, 1.6  # grey levels of 255


def picture_of(pdf, page, folder):
    file = folder / "report.pdf"
    file.write_bytes(pdf)
    target = folder / "page"
    command = ["pdftoppm", "-r", str(DPI), "-gray", "-png", "-singlefile", "-f", str(page), "-l", str(page)]
    subprocess.run([*command, str(file), str(target)], check=True)
    return Image.open(target.with_suffix(".png")).convert("L")


def difference(one, other):
    """Largest and mean difference of two pictures, each pixel the mean of a block."""
    size = (one.width // COARSE, one.height // COARSE)
    coarse = [picture.resize(size, Image.Resampling.BOX) for picture in (one, other)]
    found = ImageChops.difference(*coarse)
    return found.getextrema()[1], ImageStat.Stat(found).mean[0]


@needs_program("pdftoppm")
@pytest.mark.parametrize("page", PAGES)
def test_page_looks_as_it_did_when_it_was_looked_at(page, tmp_path):
    now, stored = picture_of(built().pdf, page, tmp_path), STORED / f"2026-06-09-page-{page}.png"
    if UPDATING:
        now.quantize(16).save(stored, optimize=True)
    expected = Image.open(stored).convert("L")
    assert now.size == expected.size
    most, mean = difference(now, expected)
    assert (most <= MOST, mean <= MEAN) == (True, True), f"page {page}: most {most}, mean {mean:.2f}"


@needs_program("pdftoppm")
def test_what_moved_or_went_missing_is_seen(tmp_path):
    picture = picture_of(built().pdf, 1, tmp_path)
    moved = ImageChops.offset(picture, 0, DPI // 6)
    erased = picture.copy()
    erased.paste(255, (0, picture.height // 3, picture.width, picture.height // 2))
    for other in (moved, erased):
        most, mean = difference(picture, other)
        assert most > MOST or mean > MEAN
