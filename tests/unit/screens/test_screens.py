"""Spread, digits, rules, repeats, weather and photos: what is pointed at, what is not, and what could not be seen."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from reportgen.screens import (
    Picture,
    Weather,
    digit_table,
    heaped_digits,
    look_of,
    narrow_groups,
    narrow_surfaces,
    photos_alike,
    regular,
    repeats_avoided,
    weather_alike,
)
from tests.simulated_archives import (
    MIL_A_MICROMETRE,
    Made,
    archive,
    heaped,
    narrowed,
    steel_photo,
    with_values,
    without_repeats,
)

SMALL = Made(contracts=1, reports=60)


def chance(seed=1):
    return np.random.default_rng(seed)


def test_a_narrow_surface_is_pointed_at():
    sheets = archive(replace(SMALL, varying=0.0), chance())
    middle = np.mean(sheets[40].values)
    sheets[40] = with_values(sheets[40], np.rint(middle + 0.1 * (np.array(sheets[40].values) - middle)))
    found = narrow_surfaces(sheets)
    assert [sign.sheets for sign in found.signs] == [(40,)]
    assert found.signs[0].effect < found.least < 0.5
    assert found.tests == len(sheets)


def test_a_coarse_gauge_hides_what_is_narrow_and_says_so():
    sheets = archive(replace(SMALL, digit=2.0), chance())
    sheets[40] = with_values(sheets[40], [2] * 12)
    found = narrow_surfaces(sheets)
    assert (found.signs, found.least) == ((), None)


def test_an_inspectors_readings_that_spread_half_as_far_are_pointed_at_and_four_fifths_are_not():
    sheets = archive(SMALL, chance(2))
    found = narrow_groups(narrowed(sheets, "I0.1", 0.5, chance(3)))
    assert {sign.facts["name"] for sign in found.signs} == {"I0.1", "G0.1"}, "gauge and inspector are one pair here"
    assert {sign.how for sign in found.signs} == {"inspector", "gauge"}
    for sign in found.signs:
        assert float(sign.facts["low"]) < sign.effect < float(sign.facts["high"]) < 0.8
    assert narrow_groups(narrowed(sheets, "I0.1", 0.8, chance(3))).signs == ()


def test_a_group_is_compared_within_its_apparatus_and_abrasive_alone():
    sheets = archive(SMALL, chance(2))
    moved = [replace(one, abrasive="garnet") if one.inspector == "I0.1" else one for one in sheets]
    assert narrow_groups(narrowed(moved, "I0.1", 0.5, chance(3))).tests < narrow_groups(sheets).tests
    assert narrow_groups(narrowed(moved, "I0.1", 0.5, chance(3))).signs == ()


def test_five_reports_rounded_are_pointed_at_and_a_habit_is_not():
    sheets = archive(SMALL, chance(4))
    (sign,) = heaped_digits(heaped(sheets, "G0.2", 5, 0.8, chance(5))).signs
    assert (sign.facts["gauge"], sign.facts["on"]) == ("G0.2", "fives")
    assert 0.6 < sign.effect < 1
    assert heaped_digits(archive(replace(SMALL, heaped=0.3), chance(6))).signs == ()


def test_the_table_of_digits_has_the_share_of_each_gauge():
    rows = digit_table(archive(replace(SMALL, heaped=0.25), chance(7)))
    fives = [row for row in rows if row.on == "fives"]
    assert len(fives) == 3
    assert all(row.low < 0.25 < row.high for row in fives)
    assert all(row.low <= 0.05 for row in rows if row.on == "evens")


def test_even_steps_are_pointed_at():
    sheets = [with_values(one, 2 * np.array(one.values)) if one.gauge == "G0.0" else one
              for one in archive(replace(SMALL, digit=MIL_A_MICROMETRE), chance(8))]  # fmt: skip
    assert {(sign.facts["gauge"], sign.facts["on"]) for sign in heaped_digits(sheets).signs} == {("G0.0", "evens")}


@pytest.mark.parametrize(
    ("values", "how"),
    [
        ([70 + 2 * at for at in range(12)], "steps"),
        ([70 + 3 * abs(6 - at) for at in range(12)], "steps"),
        ([70, 73, 76, 79, 82, 85, 85, 82, 79, 76, 73, 70], "steps"),
        ([70, 79, 81, 74] * 3, "period"),
        ([70, 79, 74, 75, 84, 79, 80, 89, 84, 85, 94, 89], "period"),
    ],
)
def test_readings_by_a_rule_are_pointed_at(values, how):
    sheets = archive(replace(SMALL, digit=MIL_A_MICROMETRE), chance(9))
    sheets[17] = with_values(sheets[17], values)
    found = regular(sheets)
    assert [(sign.sheets, sign.how) for sign in found.signs] == [((17,), how)]


def test_even_steel_under_a_coarse_dial_is_no_rule():
    sheets = archive(replace(SMALL, digit=0.5), chance(10))
    for values in ([6] * 12, [6, 7] * 6, [6, 6, 7, 7] * 3):
        sheets[17] = with_values(sheets[17], values)
        assert regular(sheets).signs == ()


def test_repeats_that_are_avoided_are_pointed_at():
    sheets = archive(SMALL, chance(11))
    assert repeats_avoided(sheets).signs == ()
    (sign,) = repeats_avoided(without_repeats(sheets, "I0.2", chance(12))).signs
    assert sign.facts["name"] == "I0.2"
    assert sign.effect < 0.3
    fine = repeats_avoided(archive(Made(contracts=1, reports=6, digit=0.01), chance(13)))
    assert fine.least is None, "too few repeats are due to miss any"


def weather(day, *rows, number="IR-1"):
    return [
        Weather(f"{number}.pdf", "C", number, f"{day}T{8 + at:02d}:00+00:00", day, *row.split())
        for at, row in enumerate(rows)
    ]


def test_two_whole_rows_of_another_day_are_pointed_at():
    first = weather("2026-03-02", "14.2 61 15.0", "15.1 58 16.2")
    found = weather_alike([*first, *weather("2026-03-03", "15.1 58 16.2", "14.2 61 15.0", number="IR-2")])
    (sign,) = found.signs
    assert (sign.sheets, sign.facts["count"], sign.facts["day"], found.tests) == ((0, 2), 2, "2026-03-02", 1)


@pytest.mark.parametrize(
    "rows",
    [
        weather("2026-03-03", "14.2 61 15.0", "15.1 58 16.3", number="IR-2"),
        weather("2026-03-03", "14.2 61 15.0", "14.2 61 15.0", number="IR-2"),
        weather("2026-03-02", "14.2 61 15.0", "15.1 58 16.2", number="IR-2"),
    ],
    ids=["one row", "one row twice", "the same day"],
)
def test_less_than_that_is_weather(rows):
    assert weather_alike([*weather("2026-03-02", "14.2 61 15.0", "15.1 58 16.2"), *rows]).signs == ()


def steel(seed, size=(640, 480)):
    return steel_photo(chance(seed), size)


def picture(number, image):
    return Picture(f"{number}.pdf", "C", number, number, "A", "p.jpg", "", look_of(image))


def again(image):
    held = io.BytesIO()
    image.resize((320, 240)).save(held, "JPEG", quality=40)
    return Image.open(held)


@pytest.mark.parametrize(
    "change",
    [
        again,
        lambda image: image.transpose(Image.Transpose.FLIP_LEFT_RIGHT),
        lambda image: image.transpose(Image.Transpose.FLIP_TOP_BOTTOM),
        lambda image: image.transpose(Image.Transpose.ROTATE_90),
        lambda image: image.transpose(Image.Transpose.ROTATE_180),
        lambda image: image.transpose(Image.Transpose.TRANSVERSE),
        lambda image: Image.eval(image, lambda value: min(255, int(value * 1.1) + 8)),
    ],
    ids=["smaller, compressed", "mirrored", "upside down", "a quarter", "half", "across", "brighter"],
)
def test_a_photo_is_known_again(change):
    others = [picture(f"{place:02d}", steel(place)) for place in range(2, 12)]
    found = photos_alike([picture("01", steel(1)), *others, picture("99", change(steel(1)))])
    assert [sign.sheets for sign in found.signs] == [(0, 11)]
    assert found.tests == 66


def test_different_photos_of_steel_are_not_alike():
    pictures = [picture(f"{place:03d}", steel(place, (160, 120))) for place in range(120)]
    assert photos_alike(pictures).signs == ()
    assert look_of(Image.new("L", (640, 480), 128)) == "", "one brightness looks like nothing"
