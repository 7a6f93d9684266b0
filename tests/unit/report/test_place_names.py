"""Names of places in the chart of the shift: whole, within the chart, and no smaller than what can be read."""

from dataclasses import replace
from itertools import pairwise

import pytest

from reportgen.charts import Label
from reportgen.pdf.styles import BOLD, REGULAR
from reportgen.pdf.textlines import text_width
from reportgen.report.shift import shift_chart
from tests.unit.report.test_page_1 import seen

PLACES = [
    "weir bridge, upstream side, pier 3 north",
    "Aussenbereich der dritten Schleusenkammer Nord, Ort 1",
    "gate hall",
    "downstream/upstream-inspection-gallery-of-the-sluices, level 2",
]


def drawn(*places):
    context = seen()
    (result,) = context.evaluation.conditions
    results = tuple(replace(result, place=place) for place in places)
    return shift_chart(replace(context, evaluation=replace(context.evaluation, conditions=results)))


@pytest.mark.parametrize("places", [PLACES[:1], PLACES[:3], PLACES[3:], PLACES[1:], [name * 2 for name in PLACES[:3]]])
def test_names_of_places_wrap_within_the_chart_and_beside_the_axis(places):
    chart = drawn(*places)
    names = [one for one in chart.marks(chart.height) if isinstance(one, Label)]
    for one in names:
        face, anchored = BOLD if one.face == "semibold" else REGULAR, {"start": 0.0, "middle": 0.5, "end": 1.0}
        wide = text_width(one.text, face, one.size)
        assert one.size >= 6.5
        assert not one.room or wide <= one.room, one
        start = one.x - anchored[one.anchor] * wide
        assert start >= -0.1, one
        assert start + wide <= chart.width + 0.1, one
        assert 0 < one.y < chart.height, one
        if one.x == 0:
            assert wide <= chart.left - 15.9, one
    at_ends = sorted(one.y for one in names if one.x > chart.width - 90 and one.size == 6.8)
    assert all(other - one >= 6.5 for one, other in pairwise(at_ends))
    said = " ".join(one.text for one in names)
    assert all(place in said for place in places[: 1 if len(places) > 3 else None] if "/" not in place)
