from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest

from reportgen.charts import (
    IndividualPoint,
    Label,
    LocationPoint,
    Ruler,
    Shape,
    Strip,
    Walked,
    WalkMap,
    histogram,
    individuals,
    profile_scale,
    row_plot,
    scale_heads,
    verdict_mark,
)
from reportgen.charts.palette import CONFORMS, DATA, FAILS, INK, OPEN, PAPER
from reportgen.charts.shift import (
    AIR,
    MEASURED,
    NEEDED,
    CheckLine,
    Lane,
    Line,
    Panel,
    ShiftChart,
    Stretch,
    TimedTest,
    clock_text,
)

D = Decimal

SCALE = profile_scale([D("1.4"), D("2.8")], D("2.0"), D("3.5"), "mil")
RULER = Ruler(SCALE, 5.0, 108.0)


def labels(commands):
    return [each.text for each in commands if isinstance(each, Label)]


def test_each_verdict_has_its_own_shape():
    shapes = {verdict: verdict_mark(verdict, 0, 0, 10) for verdict in ("conforms", "does not conform", "inconclusive")}
    assert shapes["conforms"].fill == CONFORMS  # the only filled one
    assert shapes["does not conform"].fill == shapes["inconclusive"].fill == PAPER
    assert len({tuple(step for step, _ in shape.path) + shape.path[0][1] for shape in shapes.values()}) == 3
    assert verdict_mark("not evaluated", 0, 0, 10) == shapes["inconclusive"]


def point(name, value, verdict="conforms", *, walked=False):
    profile = None if value is None else D(value)
    return LocationPoint(name, profile, D("0.3"), () if value is None else (profile,), verdict, walked)


def discs(commands):
    return [each for each in commands if isinstance(each, Shape) and each.fill == CONFORMS]


def places(shape):
    return [value for _, points in shape.path for value in points]


def limits(commands):
    return [each for each in commands if isinstance(each, Shape) and each.stroke and each.stroke == (INK, 0.9, ())]


def test_the_limits_of_a_strip_are_solid_lines_through_the_whole_row():
    marks = Strip(RULER, [point("1", "2.5")]).marks(40.0, 2.0)
    assert [(shape.path[0][1][1], shape.path[1][1][1]) for shape in limits(marks)] == [(0.0, 40.0)] * 2
    bare = profile_scale([D(2), D(3)], None, None, "mil")
    assert limits(Strip(Ruler(bare, 5.0, 108.0), [point("1", "2.5")]).marks(40.0, 2.0)) == []


def test_equal_values_stack_and_get_smaller_when_they_are_many():
    few = Strip(RULER, [point(str(n), "2.5") for n in range(3)])
    many = Strip(RULER, [point(str(n), "2.5") for n in range(9)])
    assert (len(few.levels), len(many.levels)) == (3, 9)
    assert few.height < many.height < 40
    heights = sorted(places(each)[1] for each in discs(few.marks(few.height, 0.0)))
    assert all(other - one > 4 for one, other in pairwise(heights))


def test_what_fails_bears_its_name_outside_the_band_and_lies_on_top():
    failing = [point("7", "1.5", "does not conform"), point("8", "3.8", "does not conform")]
    strip = Strip(RULER, [*failing, point("1", "2.5")])
    marks = strip.marks(strip.height, 0.0)
    named = {each.text: each for each in marks if isinstance(each, Label)}
    assert named["7"].x < RULER.at(D("1.5")) < RULER.at(D("3.8")) < named["8"].x
    assert [each.fill for each in marks if isinstance(each, Shape) and each.fill in (CONFORMS, PAPER)][-1] == PAPER


def test_no_value_and_what_is_missing_stand_right_of_the_band():
    points = [point("1", "2.5"), point("3", None, "inconclusive")]
    wide = Ruler(profile_scale([D("1.4"), D("4.8")], D("2.0"), D("3.5"), "mil"), 5.0, 108.0)
    named = {each.text: each.x for each in Strip(wide, points, "2 missing").marks(30.0, 0.0) if isinstance(each, Label)}
    assert set(named) == {"3", "2 missing"}
    assert min(named.values()) > wide.at(D("3.5"))
    narrow = Strip(RULER, points, "2 missing").marks(30.0, 0.0)  # whose text would stand in the next column
    assert labels(narrow) == ["3"]
    assert sum(each.stroke.colour == OPEN for each in narrow if isinstance(each, Shape) and each.stroke) == 2


def test_walk_outs_are_smaller_marks_below():
    marks = Strip(RULER, [point("1", "2.5"), point("3N1", "2.6", walked=True)]).marks(24.0, 0.0)
    planned, walked = sorted(discs(marks), key=lambda each: -places(each)[1])
    assert places(planned)[0] - RULER.at(D("2.5")) > places(walked)[0] - RULER.at(D("2.6"))


def test_of_very_many_locations_those_that_conform_are_bars_and_six_that_fail_are_named():
    held = [point(str(n), "2.5") for n in range(40)]
    failing = [point(f"F{n}", "1.5", "does not conform") for n in range(8)]
    marks = Strip(RULER, held + failing).marks(60.0, 0.0)
    assert not discs(marks)
    assert any(isinstance(each, Shape) and each.fill == DATA for each in marks)
    assert [each.text for each in marks if isinstance(each, Label)] == [*(f"F{n}" for n in range(6)), "+ 2"]


def test_numbers_over_a_strip_keep_clear_of_the_limits():
    heads = {each.text: each for each in scale_heads(RULER, 6.5)}
    assert heads["2.0"].face == heads["3.5"].face == "semibold"
    assert "2" not in heads
    assert all(abs(one.x - other.x) > 9 for one, other in pairwise(sorted(heads.values(), key=lambda each: each.x)))


def test_a_row_has_bar_strokes_and_mark_and_without_a_value_only_its_spots():
    full, empty = (row_plot(RULER, 14.0, one) for one in (point("1", "2.5"), point("2", None)))
    assert len(full) > len(empty)
    assert discs(full)
    assert not discs(empty)
    beyond = row_plot(RULER, 14.0, replace(point("1", "2.5"), uncertainty=D(9)))
    across = [value for each in beyond for value in places(each)[::2]]
    assert min(across) >= RULER.x - 3
    assert max(across) <= RULER.end + 3


def test_bars_of_a_histogram_are_open_outside_and_a_value_on_the_maximum_is_inside():
    bars = [each for each in histogram(RULER, 26.0, [D("1.5"), D("2.2"), D("3.5")]) if isinstance(each, Shape)]
    fills = [each.fill for each in bars if each.fill in (PAPER, DATA)]
    assert fills == [PAPER, DATA, DATA]


def test_a_walk_out_is_drawn_to_scale_with_its_frame_and_edge():
    directions = [Walked("up", (("3N1", "conforms"),), 1.0), Walked("west", (("3W1", "conforms"),), 1.0),
                  Walked("east", (), 0.0, edge=True), Walked("ahead", (("3X1", "does not conform"),))]  # fmt: skip
    drawn = WalkMap("3", directions)
    marks = drawn.marks()
    assert {"3", "3N1", "3W1", "3X1", "up", "west", "east", "ahead"} == set(labels(marks))
    assert any(isinstance(each, Shape) and each.stroke and each.stroke.width == 1.8 for each in marks)
    assert all(size > 30 for size in drawn.size)


@pytest.mark.parametrize(
    ("places", "reach", "ends"),
    [((), 0.0, 2 / 3), ((("3E1", "does not conform"),), 1.0, 5 / 3), ((("3E1", "conforms"),), 1.0, 1.0)],
    ids=["no room at all", "all fail up to the edge", "bounded before the edge"],
)
def test_what_is_to_be_reworked_reaches_to_the_edge_where_nothing_before_it_conforms(places, reach, ends):
    drawn = WalkMap("3", [Walked("up", (("3N1", "conforms"),), 1.0), Walked("east", places, reach, edge=True)])
    marks = [each for each in drawn.marks() if isinstance(each, Shape) and each.stroke]
    frame, edge = (next(one for one in marks if one.stroke.width == width) for width in (0.9, 1.8))
    right = max(point[0] for _, point in frame.path if point) - drawn.left
    assert right == pytest.approx(ends * 15)
    at = edge.path[0][1][0] - drawn.left
    assert at == pytest.approx((len(places) + 2 / 3) * 15), "beyond the last location"
    assert right <= at + 0.01
    assert at <= drawn.right


SALTS = TimedTest(845, "s", "conforms")
WORK = Lane("G-6", "pot A", ((730, 830),), (Stretch(830, 945, 1300),), ((945, "does not conform"),), (SALTS,),
            told="primed 15:45", below="1.92 of 6 h")  # fmt: skip
TEMPERATURES = Panel("bridge", "°C", (
    Line("air", AIR, ((400, 12.5), (900, 14.0)), (MEASURED, MEASURED)),
    Line("needed", NEEDED, ((400, 11.0), (900, 15.0)), strong=True),
    Line("steel", NEEDED, ((400, 12.0), (900, 13.9)), (MEASURED, "does not conform")),
))  # fmt: skip


CHECKS = CheckLine("gauge", ((405, "3.0", "conforms"), (410, "3.0", "conforms")))
HUMIDITY = Panel("humidity", "%", (Line("bridge", AIR, ((400, 70.0),)),), (85.0, "at most 85"))


def shift(**changes):
    worst = (940, "15:40: steel too near")
    return replace(ShiftChart(490.0, (360, 1080), [WORK], [CHECKS], [TEMPERATURES, HUMIDITY], worst), **changes)


def test_the_shift_shows_work_checks_temperatures_and_its_worst_moment():
    drawn = shift()
    said = labels(drawn.marks(drawn.height))
    for text in ("G-6", "pot A", "s", "primed 15:45", "1.92 of 6 h", "gauge", "air", "at most 85", "06:00", "18:00"):
        assert text in said
    assert said.count("3.0") == 1  # checks close together share a text
    assert "15:40: steel too near" in said


def test_a_primer_that_should_not_have_come_is_open_and_a_limit_beyond_the_axis_an_arrow():
    shapes = [each for each in shift().marks(300.0) if isinstance(each, Shape) and each.stroke]
    assert any(each.fill == PAPER and each.stroke.colour == FAILS and len(each.path) == 4 for each in shapes)
    within = shift(lanes=[replace(WORK, bare=(Stretch(830, 945, 1000),), primed=((945, "conforms"),))]).marks(300.0)
    assert any(isinstance(each, Shape) and each.stroke and each.stroke.width == 1.6 for each in within)


def test_names_at_the_ends_of_lines_do_not_overprint():
    drawn = shift(worst=None, panels=[TEMPERATURES])
    names = [each for each in drawn.marks(drawn.height) if isinstance(each, Label)]
    heights = sorted(each.y for each in names if each.text in ("air", "needed", "steel"))
    assert all(other - one > 7 for one, other in pairwise(heights))


def test_many_lanes_are_lower_and_long_names_get_room():
    many = shift(lanes=[replace(WORK, name=f"S-{n}") for n in range(20)])
    assert many.height - shift(lanes=[]).height < 20 * 11
    assert shift(lanes=[replace(WORK, name="A" * 38)]).left > 2 * shift().left


def test_clock_time_past_midnight():
    assert [clock_text(minutes) for minutes in (0, 395, 1500)] == ["00:00", "06:35", "01:00"]


def test_a_scale_has_whole_numbers_without_decimals():
    assert SCALE.tick_text(Fraction(2), whole=True) == "2"


def test_individual_values_with_their_control_limits():
    points = [IndividualPoint(f"2026-06-{n:02d}", D("2.4"), "conforms") for n in range(1, 31)]
    marks = individuals(SCALE, 490.0, 130.0, points, [(D("2.9"), "UCL 2.90"), (D("99"), "far")])
    assert {"UCL 2.90", "far"} <= set(labels(marks))
    assert 3 < sum(text.startswith("2026") for text in labels(marks)) < 30
    assert not [text for text in labels(individuals(SCALE, 490.0, 130.0, [], [])) if text.startswith("2026")]
    assert max(each.y for each in marks if isinstance(each, Label)) < 130


def spans(marks):
    """Where each label begins and ends, at 3.3 points a letter, and its height."""
    found = []
    for one in (each for each in marks if isinstance(each, Label)):
        wide = 3.3 * len(one.text)
        start = one.x - {"start": 0.0, "middle": wide / 2, "end": wide}[one.anchor]
        found.append((one.text, start, start + wide, one.y))
    return found


def test_names_of_failing_locations_of_one_value_do_not_overprint():
    strip = Strip(RULER, [point(str(100 + n), "1.3", "does not conform") for n in range(8)])
    named = spans(strip.marks(strip.height, 0.0))
    assert len(named) == 7
    for index, (_, start, end, y) in enumerate(named):
        for _, start_, end_, y_ in named[index + 1 :]:
            assert end <= start_ or end_ <= start or abs(y - y_) >= 6


def test_no_line_goes_through_the_name_of_a_mark():
    strip = Strip(RULER, [point("1", "2.5"), point("3", "1.3", "does not conform"),
                          point("3S1", "1.3", "does not conform", walked=True)])  # fmt: skip
    marks = strip.marks(strip.height, 0.0)
    flat = [
        each.path
        for each in marks
        if isinstance(each, Shape) and len(each.path) == 2 and each.path[0][1][1] == each.path[1][1][1]
    ]
    assert len(flat) >= 2
    for text, start, end, y in spans(marks):
        for (_, (x0, height)), (_, (x1, _)) in flat:
            assert x1 <= start or x0 >= end or not y < height < y + 5, text


def test_the_text_of_checks_stands_clear_of_the_marks_that_follow():
    row = CheckLine("other", ((365, "abrasive", "conforms"), (384, "tape", "inconclusive"), (392, "air", "conforms")))
    for checks in (row, replace(row, checks=tuple((at + 680, told, verdict) for at, told, verdict in row.checks))):
        drawn = shift(lanes=[], panels=[], worst=None, checks=[checks])
        marks = drawn.checked(checks, 50.0)
        places_of = [drawn.at(minute) for minute, _, _ in checks.checks]
        told = [each for each in spans(marks) if each[0] != "other"]
        assert told
        assert all(not start - 2 < x < end + 2 for _, start, end, _ in told for x in places_of)


def test_the_names_of_a_walk_out_stand_on_paper_over_the_frame():
    marks = WalkMap(
        "3", [Walked("up", (("3N1", "conforms"),), 1.0), Walked("west", (("3W1", "conforms"),), 1.0)]
    ).marks()
    frame = next(
        at for at, each in enumerate(marks) if isinstance(each, Shape) and each.stroke and each.stroke.width == 0.9
    )
    for name in (each for each in marks if isinstance(each, Label)):
        under = [at for at, each in enumerate(marks) if getattr(each, "fill", "") == PAPER and not each.stroke
                 and each.path[0][1][0] <= name.x <= each.path[1][1][0] and each.path[0][1][1] <= name.y]  # fmt: skip
        assert under
        assert min(under) > frame


@pytest.mark.parametrize("name", ["3", "3S1", "PIER-04-EAST", "LOC-" + "Y" * 34 + "-2"])
@pytest.mark.parametrize("value", ["1.0", "1.9", "2.2", "3.4", "3.6", "4.4"])
def test_no_name_of_a_strip_reaches_into_the_next_column(name, value):
    ruler = Ruler(SCALE, 5.0, 108.0)
    points = [point(name, value, "does not conform"), point(f"{name[:-1]}8", None, "inconclusive")]
    points.append(point(f"{name[:-1]}9", value, "does not conform", walked=True))
    strip = Strip(ruler, points)
    found = spans(strip.marks(strip.height, 0.0))
    assert [one for one in found if one[1] < 0 or one[2] > 118] == []
    assert len(name) > 4 or {name, f"{name[:-1]}8"} & {one[0] for one in found}


@pytest.mark.parametrize("minute", [370, 600, 730, 1070])
def test_the_worst_moment_is_told_whole_and_within_the_chart(minute):
    told = "12:10: " + ", ".join(f"steel {n} °C above the dew point, 3 °C required" for n in range(6))
    drawn = shift(worst=(minute, told), turns=((1050, "clock change: 03:00 becomes 02:00"),))
    marks = drawn.marks(drawn.height)
    caption = [one for one in spans(marks) if one[0] in drawn.caption]
    assert " ".join(one[0] for one in sorted(caption, key=lambda one: -one[3])) == told
    assert [one for one in spans(marks) if one[1] < 0 or one[2] > 490] == []
    below = [
        each.path[0][1][1] for each in marks if isinstance(each, Shape) and each.stroke and each.stroke.width == 1.3
    ]
    assert max(one[3] for one in caption) < min(below)


def test_the_limits_of_individual_values_are_solid_lines_with_their_numbers_clear_of_others():
    marks = individuals(SCALE, 300.0, 130.0, [IndividualPoint("06-01", D("2.4"), "conforms")], [(D("2.05"), "mean")])
    lines = [one for one in marks if isinstance(one, Shape) and one.stroke and one.stroke.colour == INK
             and not one.stroke.dash and len(one.path) == 2]  # fmt: skip
    assert len({one.path[0][1][1] for one in lines}) == 2
    assert all(one.stroke.width >= 0.9 for one in lines)
    right = sorted(one.y for one in marks if isinstance(one, Label) and one.x > 250)
    assert {one.text for one in marks if isinstance(one, Label) and one.x > 250} == {"2.0", "3.5", "mean"}
    assert all(b - a >= 6.5 for a, b in pairwise(right))


def test_half_a_disc_is_neither_a_disc_nor_open():
    accepted, conforms = (verdict_mark(verdict, 0.0, 0.0, 6.0) for verdict in ("accepted", "conforms"))
    assert accepted.fill == INK
    assert accepted.path[: len(conforms.path)] != conforms.path or len(accepted.path) > len(conforms.path)
    hole = accepted.path[len(conforms.path) :]
    assert min(step[1][0] for step in hole if step[1]) >= 0.0  # the right half alone
