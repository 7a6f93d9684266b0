"""Texts of the lanes of the shift: whole, no smaller than what can be read, and none over another."""

from dataclasses import replace
from itertools import combinations

import pytest

from reportgen.charts import Label
from reportgen.charts.shift import Lane, Stretch
from reportgen.measurements import TESTS
from reportgen.pdf.blocks import SectionTitle
from reportgen.pdf.styles import BOLD, REGULAR
from reportgen.pdf.tables import GroupedTable
from reportgen.pdf.textlines import text_width
from reportgen.pdf.tightening import WhicheverFits
from reportgen.report.shift import figures, letters_of, shift_chart, shift_section
from tests.unit.report.test_page_1 import seen

STATION = "Compressor station north-east blast pot 1"
BACK = {"start": 0.0, "middle": 0.5, "end": 1.0}


def drawn(*lanes):
    chart = replace(shift_chart(seen()), lanes=lanes)
    return chart, [one for one in chart.marks(chart.height) if isinstance(one, Label) and one.text]


def box(one):
    wide = text_width(one.text, BOLD if one.face == "semibold" else REGULAR, one.size)
    start = one.x - BACK[one.anchor] * wide
    return start, start + wide, one.y - 0.1 * one.size, one.y + 0.6 * one.size


def lane(name="TR-1", apparatus=STATION, told="primed 12:10", below="4.5 of 6 h"):
    return Lane(name, apparatus, ((420, 520),), (Stretch(520, 730, 880),), ((730, "conforms"),), told=told, below=below)


@pytest.mark.parametrize(
    "lanes",
    [
        [lane(apparatus="pot A")],
        [lane(), lane("TR-2", "pot 2")],
        [lane("A" * 34 + "-B-900")],
        [lane("W" * 40)],
        [lane(apparatus=f"{STATION}, twin pot with aftercooler and moisture separator")] * 6,
        [lane(f"{STATION}, twin pot with aftercooler and moisture separator", "")] * 3,
        [lane(f"S-{number}", "pot A", "not primed", "limit 15:10 passed") for number in range(20)],
        [lane(told="primed 12:10, 13:40, 14:50, 15:55, 16:20, 17:05, 17:45, 18:20")],
    ],
    ids=["short", "40 letters", "id", "wide id", "95 letters", "shared", "many", "primed often"],
)
def test_no_text_of_a_lane_is_small_or_lies_over_another(lanes):
    chart, labels = drawn(*lanes)
    for one in labels:
        start, end, foot, top = box(one)
        assert one.size >= 6.5, one
        assert not one.room or end - start <= one.room + 0.1, one
        assert start >= -0.1, one
        assert end <= chart.width + 0.1, one
        assert foot > -0.1, one
        assert top < chart.height, one
    for one, other in combinations(map(box, labels), 2):
        apart = one[1] <= other[0] or other[1] <= one[0] or one[3] <= other[2] or other[3] <= one[2]
        assert apart, (one, other)
    bars = chart.at(420)
    assert all(box(one)[1] <= bars for one in labels if one.x <= chart.left and one.anchor != "middle")
    said = " ".join(one.text for one in labels)
    assert all(part in said for each in lanes for part in each.name.split())


def test_a_short_apparatus_stands_beside_the_name_and_one_of_forty_letters_in_two_lines():
    _, labels = drawn(lane(apparatus="pot A"))
    named, beside = (next(one for one in labels if one.text == text) for text in ("TR-1", "pot A"))
    assert abs(named.y - beside.y) < 1
    _, labels = drawn(lane())
    assert [one.text for one in labels if one.text in STATION and len(one.text) > 6] == [
        "Compressor station", "north-east blast pot 1",
    ]  # fmt: skip


@pytest.mark.parametrize(("language", "told"), [("en", "The shift"), ("de", "Die Schicht")])
def test_a_chart_that_comes_after_the_conditions_takes_its_title_with_it(language, told):
    """No title stands over nothing, and the bookmark of the shift leads to its chart."""
    (whole,) = (one for one in shift_section(seen(language=language)) if isinstance(one, WhicheverFits))
    tall = whole.block.height
    _, conditions, table, *_, later, heading, block = whole.split(500.0, tall - 1)
    assert isinstance(conditions, SectionTitle)
    assert isinstance(table, GroupedTable)
    assert (heading.text, block, heading.heading.bookmark) == (told, whole.block, "conditions")
    assert heading.heading.outline is not None
    assert conditions.heading.outline is not None
    assert later.height > tall
    first, second, *_ = whole.split(500.0, tall + 400)
    assert (first, second) == (whole.title, whole.block)


def test_lanes_are_parted_where_a_page_ends_and_the_panels_stand_under_the_last():
    context = seen()
    chart = replace(shift_chart(context), lanes=[lane(name=f"TR-{number}", apparatus="") for number in range(150)])
    parts = [one.make.__self__ for one in figures(context, chart, 500.0)]
    assert [one.name for part in parts for one in part.lanes] == [one.name for one in chart.lanes]
    assert all(part.height <= 498 for part in parts)
    assert [(part.panels, part.checks) for part in parts] == [((), ())] * (len(parts) - 1) + [
        (chart.panels, chart.checks)
    ]
    whole = replace(chart, lanes=chart.lanes[:3])
    assert [one.make.__self__ for one in figures(context, whole, 500.0)] == [whole]
    assert len(figures(context, chart, 1.0)) >= 150  # one that has no room at all stands alone


def test_no_two_kinds_of_test_have_one_letter():
    assert letters_of(["salts", "dust", "stains", "d"]) == {"salts": "s", "dust": "d", "stains": "t", "d": "a"}
    assert letters_of(kind.key for kind in TESTS)["salts"] == "s"
