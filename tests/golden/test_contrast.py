"""Contrast of text: at least 4.5 : 1 (WCAG 2.1, success criterion 1.4.3), and legible without colour."""

import re

import pytest

from reportgen.charts import palette
from tests.golden.pages import reader, report

GROUNDS = {"paper": palette.PAPER, "panel": palette.PANEL, "band": palette.BAND}
TEXT_ON = [
    (ink, ground)
    for ink in ("INK", "MUTED", "DATA", "CONFORMS", "FAILS", "OPEN")
    for ground in GROUNDS
    if ink != "OPEN" or ground == "paper"  # words in this colour stand on paper only
]


def luminance(code):
    """Relative luminance as WCAG 2.1 defines it."""
    channels = [int(code[place : place + 2], 16) / 255 for place in (0, 2, 4)]
    linear = [value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in channels]
    return sum(weight * value for weight, value in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_the_published_extremes():
    assert contrast("000000", "ffffff") == pytest.approx(21)  # WCAG 2.1, definition of contrast ratio
    assert contrast("777777", "ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize(("ink", "ground"), TEXT_ON)
def test_text_stands_out(ink, ground):
    assert contrast(getattr(palette, ink), GROUNDS[ground]) >= 4.5


def test_no_text_of_a_report_is_set_in_another_colour():
    allowed = {
        tuple(round(int(code[place : place + 2], 16) / 255, 2) for place in (0, 2, 4))
        for code in (palette.INK, palette.MUTED, palette.DATA, palette.CONFORMS, palette.FAILS, palette.OPEN)
    }
    used = set()
    for page in reader(report()).pages:
        for colour in re.findall(rb"BT ([\d.]+) ([\d.]+) ([\d.]+) rg", page.get_contents().get_data()):
            used.add(tuple(round(float(part), 2) for part in colour))
    assert used
    assert used <= allowed
