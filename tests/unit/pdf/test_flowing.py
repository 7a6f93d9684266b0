"""What stands where: blocks that change places, columns that go on, marks that keep clear of each other."""

import io
import itertools
from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.charts import Label, LocationPoint, Ruler, Strip
from reportgen.charts.scale import ProfileScale
from reportgen.charts.shift import CheckLine, ShiftChart
from reportgen.pdf import page
from reportgen.pdf.blocks import SectionTitle, TextBlock
from reportgen.pdf.canvas import ReportCanvas
from reportgen.pdf.columns import Columns
from reportgen.pdf.endline import EndLine
from reportgen.pdf.flow import CondPageBreak, Spacer
from reportgen.pdf.textlines import text_width
from reportgen.pdf.tightening import WhicheverFits


def test_what_fits_stands_before_a_chart_that_does_not():
    chart, readings = Spacer(100, 300), Spacer(100, 60)
    title, inner, own = (SectionTitle("The shift", f"shift {number}") for number in range(3))
    both = WhicheverFits(title, chart, [inner, readings], [own, readings], 60)
    assert both.split(400, 400) == [title, chart, inner, readings]
    *first, later, heading, block = both.split(400, 200)
    assert (first, heading, block) == ([own, readings], title, chart)
    assert isinstance(later, CondPageBreak)
    assert later.height > 300
    assert both.split(400, 50) == []


def drawn(block, width):
    canvas = ReportCanvas(io.BytesIO(), title="T", pagesize=(400, 400))
    block.wrapOn(canvas, width, 300)
    block.drawOn(canvas, 0, 10)
    canvas.showPage()
    return canvas._doc.Pages.pages[0].stream


def test_columns_say_where_they_go_on_and_take_the_end_line_with_some_of_them():
    blocks = [TextBlock("word " * 60, "body") for _ in range(6)]
    whole = Columns(blocks, "Annex 1 (continued)", EndLine("End of report"))
    _, high = whole.wrap(300, 999)
    assert whole._above == 0
    first, rest = whole.split(300, high - 1)
    assert first.closing is None
    assert rest.closing is whole.closing
    assert rest.blocks
    assert (first._above, rest._above > 0) == (0, True)
    again = Columns(blocks, goes_on=True)
    again.wrap(300, 999)
    rest.wrap(300, 999)
    assert again._above == 0


def test_marks_of_checks_at_the_same_time_stand_beside_each_other():
    row = CheckLine("checks", tuple((420, name, "conforms") for name in ("tape", "air", "abrasive")))
    chart = ShiftChart(480, (360, 1080), [], [row])
    discs = [one for one in chart.checked(row, 10) if not isinstance(one, Label)]
    centres = sorted(float(one.path[0][1][0]) for one in discs)
    assert min(later - earlier for earlier, later in itertools.pairwise(centres)) >= 5


SCALE = ProfileScale(Fraction(20), Fraction(120), Fraction(20), Decimal(50), Decimal(100), "um")


def test_names_of_marks_keep_off_the_limit_lines():
    """Of one that is open between the limits, and of how many more there are beside the last that is named."""
    ruler = Ruler(SCALE, 5, 108)
    near = Strip(ruler, [LocationPoint("4", Decimal(52), None, (), "inconclusive")])
    many = Strip(ruler, [LocationPoint(str(n), Decimal(45), None, (), "does not conform") for n in range(9)])
    for strip in (near, many):
        placed = [one for level in strip.levels for one in level if one.text]
        assert placed
        assert not [one for one in placed for x in ruler.limits if one.start < x < one.end and abs(one.x - x) > 2.7]
    assert any(one.text.startswith("+") and one.left for level in many.levels for one in level)


WIDE = "W" * 40
"""The widest id that there can be."""
HEADS = {
    "left": ("Hethe and Pike", "Hethe, Pike and Daughters, Corrosion Protection, Marrowmere branch, " * 2,
             f"{WIDE} {WIDE} {WIDE}"[:120]),
    "right": ("MM-31-IR-007 · revision 0 · 2026-06-03", f"{WIDE} · revision 0 · 2026-06-03", "a long reference " * 12),
    "named": ("", "Areas TR-1, TR-2", "Areas Trough-panel-1, Trough-panel-2, Trough-p", f"Area {WIDE}"),
}  # fmt: skip


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize(("left", "right", "named"), [*itertools.product(*HEADS.values())])
def test_nothing_in_the_head_of_a_page_lies_over_another_or_off_the_page(left, right, named, paper, monkeypatch):
    said, rules = [], []

    def say(_canvas, x, y, text, face, size, _ink):
        said.append((x, x + text_width(text, face, size), y, size, text))

    place = page.geometry(paper)
    monkeypatch.setattr(page, "_say", say)
    monkeypatch.setattr(page, "_hairline", lambda _canvas, y, _width: rules.append(y))
    furniture = page.Furniture(place, left, right, "", str)
    furniture._header(ReportCanvas(io.BytesIO(), title="T", pagesize=(596, 842)), named)
    printed = " ".join(one[-1] for one in said)
    assert all(word in printed for word in right.split())
    usual = len(right) < 60 or len(left) < 40
    assert all(word in printed for word in (*left.split(), *named.split())) or not usual
    assert all(size >= 6.5 for *_, size, _ in said)
    low, high, edge = rules[0] + 5, place.page_height - 8, place.page_width - page.MARGIN
    assert rules[0] > place.page_height - page.BODY_TOP
    for start, end, y, _, text in said:
        assert page.MARGIN - 0.01 <= start <= end <= edge + 0.01, text
        assert low <= y <= high, text
    for one, other in itertools.combinations(said, 2):
        assert one[1] <= other[0] or other[1] <= one[0] or abs(one[2] - other[2]) > 7
