"""Places: what an area is called, what a reading covers, when there is only one place, when nobody can tell."""

import pytest

from reportgen.job import Condition, Places, Structure

AIR = {"time": "06:40", "air": "17 degC", "humidity": "60 %", "steel": "16 degC"}
BRIDGE, GATES = {"id": "weir-bridge", "name": "Weir bridge"}, {"id": "sluice", "name": "Sluice gates"}


def structure(names, areas, place=None):
    plans = [{"id": area, "name": area} if isinstance(area, str) else area for area in areas]
    stated = {} if place is None else {"place": place}
    return Structure.model_validate(names | stated | {"areas": plans})


def readings(*places):
    """One reading each: a place, None for one without, or a list of areas."""
    given = [{} if one is None else {"areas": one} if isinstance(one, list) else {"place": one} for one in places]
    return [Condition.model_validate(AIR | one) for one in given]


def covered(structures, *places):
    taken = readings(*places)
    known = Places(structures, taken)
    return [None if (areas := known.covered(one)) is None else "".join(sorted(areas)) for one in taken]


UNSTATED = [structure(BRIDGE, ["G", "H"]), structure(GATES, ["K"])]
STATED = [structure(BRIDGE, ["G", "H"], "river"), structure(GATES, ["K"], "Gate  hall")]
TOGETHER = [structure(BRIDGE, ["G", "H"], "yard"), structure(GATES, ["K"], "Yard")]


@pytest.mark.parametrize(
    ("structures", "places", "expected"),
    [
        # nobody states anything: one place, whatever it is called, or whether it is called at all
        (UNSTATED, [None], ["GHK"]),
        (UNSTATED, ["yard", None, "Yard"], ["GHK", "GHK", "GHK"]),
        # a structure's own name, and an area's id, are places
        (UNSTATED, ["weir bridge", "SLUICE", "K"], ["GH", "K", "K"]),
        # two places are named, and nobody says which area is where: neither covers anything, nor does a silent one
        (UNSTATED, ["yard", "hall", None], ["", "", None]),
        (UNSTATED, ["weir bridge", "hall", None], ["GH", "", None]),
        # areas that are listed are covered, whatever the place is called
        (UNSTATED, [["G"], ["K"], None], ["G", "K", None]),
        (UNSTATED, [["K", "H", "G"], None], ["GHK", "GHK"]),
        # places are stated
        (STATED, ["RIVER", "gate hall", "weir-bridge", "Sluice gates", "H"], ["GH", "K", "GH", "K", "H"]),
        (STATED, [None], [None]),
        (STATED, ["yard"], [""]),
        (TOGETHER, [None, "yard"], ["GHK", "GHK"]),
        # one place, stated by all: another name is another place
        (TOGETHER, ["hall", "yard", "sluice", "H", None], ["", "GHK", "K", "H", "GHK"]),
        # one structure says nothing: where its areas are is not known
        ([STATED[0], UNSTATED[1]], ["river", "sluice gates", None], ["GH", "K", None]),
    ],
)
def test_what_a_reading_covers(structures, places, expected):
    assert covered(structures, *places) == expected


def test_an_area_elsewhere_is_not_at_its_structures_place():
    moved = {"id": "G", "name": "girder", "place": "paint shop"}
    known = [structure(BRIDGE, [moved, "H"], "river")]
    assert covered(known, "river", "paint shop", "weir bridge", "G") == ["H", "G", "H", "G"]
    assert Places(known, ()).of("G") == "paint shop"


def test_a_stated_place_goes_before_the_name_of_a_structure_elsewhere():
    hall = structure({"id": "hall", "name": "Hall"}, ["A"], "yard")
    crane = structure({"id": "crane", "name": "Crane"}, ["B"], "hall")
    assert covered([hall, crane], "hall", "yard") == ["B", "A"]


def test_unknown_places_and_areas_that_are_elsewhere():
    taken = [*readings("rivr", "river", ["G"]), Condition.model_validate(AIR | {"place": "river", "areas": ["K", "G"]})]
    known = Places(STATED, taken)
    assert [known.unknown(one) for one in taken] == [True, False, False, False]
    assert [known.elsewhere(one) for one in taken] == [[], [], [], ["K"]]
    under = Condition.model_validate(AIR | {"place": "under the deck", "areas": ["G"]})
    assert (known.unknown(under), known.elsewhere(under), known.covered(under)) == (False, [], {"G"})


def test_the_names_a_reading_may_use_begin_with_the_stated_ones():
    assert Places(STATED, ()).known[:2] == ("river", "Gate  hall")
    assert Places(STATED, ()).stated == ("river", "Gate  hall")
    assert Places(TOGETHER, ()).stated == ("yard",)
