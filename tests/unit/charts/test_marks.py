from decimal import Decimal
from itertools import pairwise

import pytest
from reportgen.charts.axes import clock_text

from reportgen.charts import (
    Activity,
    Bins,
    ConditionPoint,
    Faces,
    IndividualPoint,
    Label,
    LocationPoint,
    Shape,
    conditions_frame,
    conditions_marks,
    histogram_frame,
    histogram_marks,
    individuals_frame,
    individuals_marks,
    locations_frame,
    locations_marks,
    profile_scale,
    strip_marks,
    verdict_mark,
)
from reportgen.charts.palette import BAND, CONFORMS, DATA, FAILS, PAPER
from reportgen.pdf.fonts import font_path

D = Decimal

FACES = Faces(font_path("PlexSans"), font_path("PlexSans-SemiBold"))
SCALE = profile_scale([D("1.4"), D("2.8")], D("2.0"), D("3.5"), "mil")
NAMES = {"air": "air", "steel": "steel", "dew_point": "dew point", "margin": "+ 3 °C", "blasting": "blasting"}


def labels(commands):
    return [each.text for each in commands if isinstance(each, Label)]


def test_each_verdict_has_its_own_shape():
    shapes = {verdict: verdict_mark(verdict, 0, 0, 10) for verdict in ("conforms", "does not conform", "inconclusive")}
    assert shapes["conforms"].fill == CONFORMS  # the only filled one
    assert shapes["does not conform"].fill == shapes["inconclusive"].fill == PAPER
    assert len({tuple(step for step, _ in shape.path) + shape.path[0][1] for shape in shapes.values()}) == 3
    assert verdict_mark("not evaluated", 0, 0, 10) == shapes["inconclusive"]


def test_histogram_bars_are_filled_inside_the_limits_and_open_outside():
    frame = histogram_frame(SCALE, 3, (230, 120), FACES, ("min 2.0", "max 3.5"), "profile, mil")
    bars = histogram_marks(frame, Bins.of(SCALE), [D("1.5"), D("2.2"), D("2.2")])
    fills = [each.fill for each in bars if isinstance(each, Shape)][:2]
    assert fills == [PAPER, DATA]
    assert labels(bars) == ["1", "2"]
    assert {"min 2.0", "max 3.5", "profile, mil"} <= {text.strip() for text in labels(frame.commands)}


def test_histograms_share_their_height():
    frame = histogram_frame(SCALE, 4, (230, 120), FACES, ("", ""), "")
    heights = [
        max(y for _, point in bar.path for y in point[1::2])
        for bar in histogram_marks(frame, Bins.of(SCALE), [D("2.2")] * 4)
        if isinstance(bar, Shape) and bar.fill == DATA
    ]
    assert heights == pytest.approx([frame.y.place(4)])


def test_frames_of_the_same_kind_are_laid_out_once():
    arguments = (SCALE, (230, 120), FACES, "locations")
    assert locations_frame(*arguments) is locations_frame(*arguments)


def test_locations_stand_in_order_with_bar_spots_mark_and_id():
    frame = locations_frame(SCALE, (230, 120), FACES, "locations")
    points = [
        LocationPoint("1", D("2.5"), D("0.3"), (D("2.4"), D("2.6")), "conforms"),
        LocationPoint("2", None, None, (), "not evaluated"),
        LocationPoint("3", D("1.5"), None, (), "does not conform"),
    ]
    marks = locations_marks(frame, points)
    assert labels(marks) == ["1", "2", "3"]
    fills = [each.fill for each in marks if isinstance(each, Shape) and each.fill in (CONFORMS, PAPER)]
    assert fills == [CONFORMS, PAPER]
    assert locations_marks(frame, []) == []


def test_uncertainty_bars_stay_on_the_axes():
    frame = locations_frame(SCALE, (230, 120), FACES, "locations")
    marks = locations_marks(frame, [LocationPoint("1", D("2.5"), D("9"), (), "conforms")])
    heights = [y for each in marks if isinstance(each, Shape) for _, point in each.path for y in point[1::2]]
    assert min(heights) >= frame.y.start - 1e-6
    assert max(heights) <= frame.y.end + 1e-6


def test_many_and_long_ids_are_thinned_and_never_cut():
    frame = locations_frame(SCALE, (230, 120), FACES, "locations")
    many = [LocationPoint(str(n), D("2.5"), None, (), "conforms") for n in range(60)]
    assert 5 < len(labels(locations_marks(frame, many))) < 60
    long = [LocationPoint("L" * 38 + f"-{n}", D("2.5"), None, (), "conforms") for n in range(8)]
    marks = [mark for mark in locations_marks(frame, long) if isinstance(mark, Label)]
    assert [mark.text for mark in marks] == ["L" * 38 + "-0"]
    [mark] = marks
    assert frame.x.start <= mark.x - len(mark.text) * 1.8 < mark.x + len(mark.text) * 1.8 <= frame.x.end + 0.01
    ends = [LocationPoint(f"PIER-0{n}-EAST", D("2.5"), None, (), "conforms") for n in range(8)]
    names = [mark for mark in locations_marks(frame, ends) if isinstance(mark, Label)]
    assert [mark.text for mark in names] == ["PIER-00-EAST", "PIER-03-EAST", "PIER-05-EAST"]
    assert all(other.x - one.x >= 12 * 3.6 for one, other in pairwise(names))


def test_a_strip_draws_what_fails_over_what_conforms():
    points = [
        LocationPoint("1", D("1.5"), None, (), "does not conform"),
        LocationPoint("2", D("2.5"), None, (), "conforms"),
        LocationPoint("3", None, None, (), "not evaluated"),
    ]
    marks = strip_marks(0, 0, 120, 11, SCALE, points)
    assert marks[0].fill == BAND
    assert marks[-1].stroke.colour == FAILS
    bare = profile_scale([D(2), D(3)], None, None, "mil")
    assert BAND not in [each.fill for each in strip_marks(0, 0, 120, 11, bare, points)]


def condition(minutes, steel="18.5", verdict="conforms", place="trough"):
    return ConditionPoint(minutes, place, D("19"), None if steel is None else D(steel), D("10.6"), verdict)


def test_conditions_show_lines_margin_work_and_names():
    points = [condition(400), condition(700), condition(860, verdict="does not conform")]
    work = [Activity("blasting", 420, 560), Activity("coating", 780, 780)]
    frame = conditions_frame(points, work, (360, 1080), 3.0, (490, 160), FACES, "temperature, °C")
    marks = conditions_marks(frame, points, work, 3.0, NAMES)
    assert {"air", "steel", "dew point", "+ 3 °C", "blasting", "coating"} <= set(labels(marks))
    assert any(isinstance(each, Shape) and each.fill == BAND for each in marks)
    assert "06:00" in labels(frame.commands)


def test_conditions_without_limit_without_steel_and_without_work():
    points = [condition(400, steel=None)]
    frame = conditions_frame(points, [], (360, 1080), 0.0, (490, 160), FACES, "")
    marks = conditions_marks(frame, points, [], 0.0, NAMES)
    assert "+ 3 °C" not in labels(marks)
    assert "steel" not in labels(marks)
    assert conditions_marks(frame, [], [], 0.0, NAMES) == []


def test_one_reading_with_a_margin_is_still_shaded():
    points = [condition(400)]
    frame = conditions_frame(points, [], (360, 1080), 3.0, (490, 160), FACES, "")
    assert any(
        isinstance(each, Shape) and each.fill == BAND for each in conditions_marks(frame, points, [], 3.0, NAMES)
    )


def test_names_at_the_ends_of_the_lines_do_not_overprint():
    points = [ConditionPoint(400, "a", D("10.1"), D("10.0"), D("9.9"), "conforms")]
    frame = conditions_frame(points, [], (360, 1080), 0.1, (490, 160), FACES, "")
    heights = sorted(each.y for each in conditions_marks(frame, points, [], 0.1, NAMES) if isinstance(each, Label))
    assert all(upper - lower >= 7 for lower, upper in pairwise(heights))


def test_a_hot_or_long_shift_has_wider_steps():
    hot = [ConditionPoint(0, "a", D("48"), D("60"), D("-4"), "conforms"), condition(3000)]
    frame = conditions_frame(hot, [], (0, 3000), 0.0, (490, 160), FACES, "")
    assert "10" in labels(frame.commands)
    assert "5" not in labels(frame.commands)


def test_clock_time_past_midnight():
    assert [clock_text(minutes) for minutes in (0, 395, 1500)] == ["00:00", "06:35", "01:00"]


def test_individual_values_with_their_control_limits():
    frame = individuals_frame(SCALE, (490, 130), FACES, "mean of each area")
    points = [IndividualPoint(f"2026-06-{n:02d}", D("2.4"), "conforms") for n in range(1, 31)]
    marks = individuals_marks(frame, points, [(D("2.9"), "UCL 2.90"), (D("99"), "far")])
    assert {"UCL 2.90", "far"} <= set(labels(marks))
    assert 3 < sum(text.startswith("2026") for text in labels(marks)) < 30
    assert labels(individuals_marks(frame, [], [])) == []


def test_the_names_of_the_limits_stand_outside_a_narrow_band():
    def places(scale):
        frame = histogram_frame(scale, 3, (230, 120), FACES, ("min", "max"), "")
        return {each.text.strip(): each.x for each in frame.commands if isinstance(each, Label)}

    wide, narrow = places(SCALE), places(profile_scale([D("0.5"), D("9")], D("2.0"), D("2.5"), "mil"))
    assert wide["min"] < wide["max"]
    assert narrow["max"] - narrow["min"] > 20  # the band is 13 points wide


def test_one_limit_or_none():
    for minimum, maximum in ((None, D("3.5")), (D("2.0"), None), (None, None)):
        frame = histogram_frame(
            profile_scale([D("1"), D("4")], minimum, maximum, "mil"), 3, (230, 120), FACES, ("min", "max"), ""
        )
        found = {text.strip() for text in labels(frame.commands)}
        assert ("min" in found, "max" in found) == (minimum is not None, maximum is not None)
        shaded = [each for each in frame.commands if isinstance(each, Shape) and each.fill == BAND]
        assert len(shaded) == (minimum is not None or maximum is not None)
