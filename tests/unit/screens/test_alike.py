"""Sheets that agree beyond chance, on archives made by chance."""

from dataclasses import replace

import numpy as np
import pytest

from reportgen.screens import alike
from reportgen.screens.agreement import ALL_PAIRS, _shares
from tests.simulated_archives import MIL_A_MICROMETRE, Made, archive, disguised, with_values

SMALL = Made(contracts=2, reports=40)


def chance(seed):
    return np.random.default_rng(seed)


def entered_again(how, seed, made=SMALL, *, gap=2):
    """An archive in which a sheet is entered once more a few numbers later; with both places, and what is found."""
    random = chance(seed)
    sheets = archive(made, random)
    first = next(place for place, one in enumerate(sheets) if one.place == 10)
    other = next(place for place, one in enumerate(sheets) if one.place == 10 + gap)
    sheets[other] = with_values(sheets[other], disguised(how, sheets[first].values, made.each, random))
    return sheets, first, other, alike(sheets)


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ("as is", "as-is"), ("edited 1", "as-is"), ("reversed", "turned"), ("rotated", "turned"),
        ("exchanged", "turned"), ("shifted", "shifted"), ("reordered", "reordered"),
    ],
)  # fmt: skip
def test_a_sheet_entered_again_is_found_however_it_is_disguised(how, told):
    _, first, other, found = entered_again(how, 3)
    (sign,) = found.signs
    assert sign.sheets == (first, other)
    assert sign.how == told
    assert sign.expected < found.level
    assert sign.facts["nearness"] == "near"


def test_what_is_resorted_cannot_be_seen():
    assert entered_again("resorted", 3)[-1].signs == ()


def test_part_of_a_sheet_is_found_where_the_gauge_is_fine():
    random = chance(4)
    sheets = archive(replace(SMALL, digit=MIL_A_MICROMETRE), random)
    values = (*sheets[30].values[:2], *sheets[20].values[1:9], *sheets[30].values[10:])
    sheets[30] = with_values(sheets[30], values)
    (sign,) = alike(sheets).signs
    assert (sign.how, sign.facts["count"]) == ("run", 8)


def test_between_contracts_too():
    random = chance(5)
    sheets = archive(SMALL, random)
    other = next(place for place, one in enumerate(sheets) if one.contract == "C1" and one.place == 5)
    sheets[other] = with_values(sheets[other], np.array(sheets[3].values)[::-1] + 1 - 1)
    (sign,) = alike(sheets).signs
    assert (sign.how, sign.facts["nearness"]) == ("turned", "apart")


def test_steel_that_is_entered_again_is_the_same_steel():
    sheets, first, other, _ = entered_again("as is", 6)
    sheets[other] = replace(sheets[other], area=sheets[first].area, steel=sheets[first].steel)
    assert alike(sheets).signs == ()


def test_several_that_agree_are_each_told_of_once_with_the_first():
    sheets, first, other, _ = entered_again("as is", 7)
    third = next(place for place, one in enumerate(sheets) if one.place == 20)
    sheets[third] = with_values(sheets[third], sheets[first].values)
    assert [sign.sheets for sign in alike(sheets).signs] == [(first, other), (first, third)]


def test_what_is_expected_is_reckoned_from_the_first_where_two_lists_are_compared():
    sheets, first, other, _ = entered_again("as is", 8)
    rest = [one for place, one in enumerate(sheets) if place != other]
    (sign,) = alike(rest, [sheets[other]]).signs
    assert sign.sheets == (first, len(rest))
    even = with_values(sheets[other], [33] * 11 + [34])
    assert alike(rest, [even] * 60).signs == (), "sheets that hardly differ accuse nobody"


def test_a_contract_too_large_for_all_pairs_is_compared_by_rows_of_readings(monkeypatch):
    assert ALL_PAIRS > 1000
    monkeypatch.setattr("reportgen.screens.agreement.ALL_PAIRS", 20)
    for how in ("as is", "shifted", "reversed", "edited 1"):
        _, first, other, found = entered_again(how, 9)
        assert [sign.sheets for sign in found.signs] == [(first, other)], how
    _, first, other, found = entered_again("reversed", 9, gap=29)
    assert [sign.sheets for sign in found.signs] == [(first, other)], "far apart, by its rows"


def test_every_pair_is_counted_by_nearness():
    """Two contracts of three reports with 2, 3 and 2 sheets: 5 pairs in reports, 16 near, 49 between contracts."""
    sheets = archive(Made(contracts=2, reports=3), chance(1))
    found = alike(sheets)
    assert found.tests == 2 * (1 + 3 + 1) + 2 * (2 * 3 + 3 * 2 + 2 * 2) + 7 * 7


def test_too_few_readings_are_not_compared():
    sheets = archive(Made(contracts=1, reports=4, locations=2, each=2), chance(2))
    found = alike(sheets)
    assert (found.tests, found.least, found.signs) == (0, None, ())


@pytest.mark.parametrize("locations", [6, 15])
def test_how_many_have_to_agree_is_told_by_how_many_there_are(locations):
    """By the binomial tail of an independent library, over the pairs of reports near each other."""
    from scipy.stats import binom

    sheets = archive(replace(SMALL, locations=locations), chance(3))
    found = alike(sheets)
    (floor,) = found.floors
    q = float(np.median([float(sign) for sign in _shares(sheets, sheets)]))
    pairs = sum(
        sheets[one].contract == sheets[other].contract and 1 <= abs(sheets[one].place - sheets[other].place) <= 5
        for one in range(len(sheets))
        for other in range(one)
    )
    chances = [binom.sf(count - 1, floor.of, q) * pairs * 20 for count in range(floor.of + 1)]
    assert floor.of == len(sheets[0].values)
    assert floor.near == next(count for count, each in enumerate(chances) if each < found.level)
    assert floor.near <= (floor.far or floor.of + 1)


def test_in_longer_sheets_more_have_to_agree():
    floors = [alike(archive(replace(SMALL, locations=n), chance(3))).floors[0].near for n in (6, 15, 30)]
    assert floors == sorted(set(floors))
