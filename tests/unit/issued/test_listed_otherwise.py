"""What project files say otherwise of areas that were inspected: in steps, units, structures and revisions."""

from dataclasses import replace

import pytest

from reportgen.issued import Listing, PlannedAreaRecord, listed_otherwise, not_covered

STRICT = {"document": "HM-1 Part 4", "profile minimum": "50 um", "conditions maximum humidity": "85 %"}


def area(name="A2", size="20 m2", called="leg 2", structure="bridge"):
    number, _, unit = size.partition(" ")
    return PlannedAreaRecord(name, called, structure, structure.title(), number, unit)


def reports(*told):
    """Reports in their order: what each found by area, what it lists, its limits, and whether it was replaced.

    What it found of an id with an area is how a nonconformance stands.
    """
    found = []
    for number, (decided, listed, *more) in enumerate(told, start=1):
        limits, replaced = (*more, STRICT, False)[:2] if len(more) != 1 else (more[0], False)
        title, by_id = f"R-{number}", {one.area: one for one in listed}
        noted = {key: status for key, status in decided.items() if isinstance(key, tuple)}
        areas = {key: word for key, word in decided.items() if key not in noted}
        found.append(Listing(title, f"{title}.pdf", title, replaced, areas, by_id, limits, noted))
    return found


def doubts(*told):
    return [(one.code, one.area) for one in listed_otherwise(reports(*told))]


FAILED, GOOD = {"A2": "rework"}, {"A2": "release"}


@pytest.mark.parametrize(
    "sizes",
    [["2 m2"], ["12 m2", "2 m2"], ["214 ft2"], [" "], ["20 m"], ["2 m2", "20 m2"], ["30 m2"]],
)
def test_a_size_that_changed_after_a_failure_is_told_each_time(sizes):
    told = [(FAILED, [area()]), *(({}, [area(size=size)]) for size in sizes)]
    assert doubts(*told) == [("area-size-changed", "A2")] * len(sizes)


@pytest.mark.parametrize("between", [[], [({}, [area("A1")])]])
def test_so_is_one_of_an_area_that_was_off_the_list_between(between):
    assert ("area-size-changed", "A2") in doubts((FAILED, [area()]), *between, (GOOD, [area(size="2 m2")]))


@pytest.mark.parametrize("size", ["20.0 m2", "215.3 ft2", "200000 cm2"])
def test_one_size_written_otherwise_is_no_other(size):
    told = (FAILED, [area()]), (GOOD, [area(size=size)])
    assert doubts(*told) == []
    assert not_covered(reports(*told)) == {}


def test_nor_one_before_anything_was_inspected_nor_the_first_of_what_was_released():
    assert doubts(({}, [area()]), (FAILED, [area(size="2 m2")])) == []
    assert doubts((GOOD, [area(size=" ")]), ({}, [area()])) == []
    assert doubts((FAILED, [area(size=" ")]), ({}, [area()])) == [("area-size-changed", "A2")]


def test_a_revision_that_lists_another_size_is_asked_about():
    assert doubts((FAILED, [area()], STRICT, True), (FAILED, [area(size="2 m2")])) == [("area-size-changed", "A2")]


def test_a_change_of_size_is_settled_by_a_release_of_the_whole_at_the_larger_size():
    small, large = [area(size="12 m2")], [area(size="14 m2")]
    for first in (GOOD, FAILED):
        assert doubts((first, small), (GOOD, large)) == []
        assert doubts((first, small), ({}, large), (GOOD, large)) == []
        assert doubts((first, large), (GOOD, small), (GOOD, large)) == []
        assert doubts((first, large), (GOOD, small)) == [("area-size-changed", "A2")]
        assert doubts((first, small), ({}, large)) == [("area-size-changed", "A2")]
        assert doubts((first, small), (GOOD, large), (FAILED, large)) == [("area-size-changed", "A2")]
        assert doubts((first, small), (GOOD, large, STRICT, True)) == [("area-size-changed", "A2")]


def test_no_part_settles_it_and_a_part_is_told_as_one():
    told = reports((GOOD, [area(size="12 m2")]), (GOOD, [area(size="14 m2")]))
    parts = [one._replace(in_part=frozenset({"A2"})) for one in told]
    (one,) = listed_otherwise([told[0], parts[1]])
    assert one.sentence.endswith("stood as `release`")
    (one,) = listed_otherwise(parts)
    assert one.sentence.endswith("stood as `released in part`")


def test_what_failed_is_covered_by_a_release_of_as_much_alone():
    part = (FAILED, [area()]), (GOOD, [area(size="2 m2")])
    assert list(not_covered(reports(*part))) == ["A2"]
    assert list(not_covered(reports(*part, (GOOD, [area(size="19 m2")])))) == ["A2"]
    assert not_covered(reports(*part, (GOOD, [area()]))) == {}
    larger = (FAILED, [area()]), (FAILED, [area(size="2 m2")]), (GOOD, [area(size="2 m2")])
    assert list(not_covered(reports(*larger))) == ["A2"]


OTHER = [
    area("P2"),
    area("P2", "9 m2", "LEG  2"),
    area("P2", "9 m2", "leg 2 (lower)"),
    area("P2", "9 m2", "leg 2", "annex"),
    area("P2", "20.0 m2", "web"),
]


@pytest.mark.parametrize("other", OTHER)
@pytest.mark.parametrize("steps", [["gone"], ["both", "gone"], ["none", "gone"], ["gone"] * 3, ["gone", "both"]])
def test_an_area_that_comes_for_one_that_failed_is_asked_about(other, steps):
    lists = {"gone": [area("A1"), other], "both": [area("A1"), area(), other], "none": [area("A1")]}
    told = [(FAILED, [area("A1"), area()]), *(({}, lists[step]) for step in steps)]
    assert doubts(*told) == [("area-replaced", "P2")]


LISTED = [area("A1", "8 m2", "deck"), area(), area("A3", "5 m2", "cap")]
A1, A2, A3 = LISTED
STAIRS = area("S1", "9 m2", "stairs", "annex")
ELSEWHERE = {
    "added": ([A1, area("P1", "13 m2", "web"), A3], ["P1"]),
    "in two": ([A1, area("P1", "12 m2", "web"), area("P2", "8 m2", "flange"), A3], ["P1", "P2"]),
    "grown": ([A1, area("A3", "25 m2", "cap")], ["A3"]),
    "grown in another unit": ([A1, area("A3", "270 ft2", "cap")], ["A3"]),
    "without a size now": ([A1, area("A3", " ", "cap")], ["A3"]),
    "renamed": ([A1, area("A3", "5 m2", "web")], ["A3"]),
    "in a new structure": ([A1, A3, STAIRS], ["S1"]),
    "its id for another, its steel elsewhere": ([A1, area(size="7 m2", called="rail"), A3], ["A2"]),
    "less of it": ([A1, area(size="2 m2"), A3, area("P1", "18 m2", "web")], ["P1"]),
}


@pytest.mark.parametrize(("listed", "asked"), ELSEWHERE.values(), ids=ELSEWHERE)
@pytest.mark.parametrize("more", [0, 3])
def test_while_one_that_failed_is_missing_all_that_was_added_grown_or_renamed_is_asked_about(listed, asked, more):
    told = [(FAILED, LISTED), *([({}, listed)] * (more + 1)), ({"A1": "release"}, listed)]
    assert [one for code, one in doubts(*told) if code == "area-replaced"] == asked
    assert [one for code, one in doubts((GOOD, LISTED), *told[1:]) if code == "area-replaced"] == []
    assert [one for code, one in doubts(({}, LISTED), *told[1:]) if code == "area-replaced"] == []
    found = {code for code, one in doubts(*told, ({}, [*LISTED, STAIRS])) if one != "A2"}
    assert found == set()  # it is listed again, and owed as that


@pytest.mark.parametrize("listed", [[A1, A3], [A1, area("A3", "4 m2", "Cap")], [A1, area("A3", "53.8 ft2", "cap")]])
def test_what_stayed_or_became_less_is_not(listed):
    assert doubts((FAILED, LISTED), ({}, listed), ({}, listed)) == []


def test_what_was_listed_before_it_went_but_after_it_failed_is_and_what_it_grew_back_from_too():
    web, larger = area("P1", "13 m2", "web"), area("A3", "25 m2", "cap")
    assert doubts((FAILED, LISTED), ({}, [*LISTED, web]), ({}, [A1, web, A3])) == [("area-replaced", "P1")]
    assert doubts((FAILED, LISTED), ({}, [A1, larger]), ({}, [A1, A3])) == [("area-replaced", "A3")]


@pytest.mark.parametrize("size", ["29 m2", "12 m2"])
def test_so_is_what_was_added_or_grew_in_another_structure(size):
    stairs = area("S1", "9 m2", "stairs", "annex")
    for came in (area("S1", size, "stairs", "annex"), area("S2", size, "landing", "annex")):
        assert doubts((FAILED, [*LISTED, stairs]), ({}, [A1, A3, *([stairs] if came.area == "S2" else []), came])) == [
            ("area-replaced", came.area)
        ]
    assert doubts((FAILED, [*LISTED, stairs]), ({}, [A1, A3, stairs])) == []


NORTH, SOUTH = area("B1", "12 m2", "north half", "way"), area("B2", "12 m2", "south half", "way")
OTHER_STEEL = {
    "its name is another's": (
        [replace(NORTH, name="north rail"), SOUTH, area("B3", "12 m2", "north half")],
        ["B3", "B1"],
    ),
    "nothing of its name is left": ([replace(NORTH, name="parapet"), SOUTH], ["B1"]),
    "names change places": ([replace(NORTH, name="south half"), replace(SOUTH, name="north half")], ["B2", "B1"]),
}


@pytest.mark.parametrize(("listed", "asked"), OTHER_STEEL.values(), ids=OTHER_STEEL)
def test_an_id_of_one_size_that_stands_for_other_steel_leaves_what_failed_missing(listed, asked):
    failed, good = ({"B1": "rework"}, [NORTH, SOUTH]), ({"B1": "release"}, listed)
    for later in ([({}, listed)], [good], [({}, listed), good]):
        assert doubts(failed, *later) == [("area-replaced", one) for one in asked]
    revised = (*failed, STRICT, True), ({"B1": "rework", "B2": "release"}, listed)
    assert doubts(*revised, good) == [("area-replaced", one) for one in asked]
    assert doubts(({"B1": "release"}, [NORTH, SOUTH]), ({}, listed)) == []


def test_ids_that_change_places_between_structures_are_asked_about():
    north, south = area("B1", "12 m2", "beams", "north"), area("B2", "12 m2", "beams", "south")
    changed = [replace(south, area="B1"), replace(north, area="B2")]
    told = ({"B1": "rework"}, [north, south]), ({"B1": "release"}, changed)
    assert doubts(*told) == [("area-replaced", "B2"), ("area-replaced", "B1")]
    renamed = [replace(one, structure=one.structure + "-span") for one in (north, south)]
    assert doubts(told[0], ({"B1": "release"}, renamed)) == []


@pytest.mark.parametrize("name", ["noth half", "Nort hlaf", "north half, span 1"])
def test_a_name_put_right_is_that_area_still(name):
    written, right = [replace(NORTH, name=name), SOUTH], [NORTH, SOUTH, area("B3", "5 m2", "parapet", "way")]
    assert doubts(({"B1": "rework"}, written), ({}, right), ({"B1": "release"}, right)) == []


def test_an_area_under_an_open_nonconformance_is_owed_until_that_is_closed():
    noted, web = {("A2", "N-1"): "open"}, [A1, A3, area("P1", "13 m2", "web")]
    assert doubts((noted, LISTED), ({}, web)) == [("area-replaced", "P1")]
    assert doubts((GOOD | noted, LISTED), ({}, web)) == [("area-replaced", "P1")]
    closed = {("A2", "N-1"): "closed"}
    assert doubts((noted, LISTED), (closed, LISTED), ({}, web)) == []
    assert doubts((FAILED | noted, LISTED), (closed, LISTED), ({}, web)) == [("area-replaced", "P1")]
    assert doubts((noted, LISTED), (GOOD, LISTED), ({}, web)) == [("area-replaced", "P1")]


def test_one_area_is_asked_about_once_and_tells_of_each_that_is_missing():
    many = [area(f"M{number}", f"{number} m2", f"part {number}") for number in range(1, 9)]
    failed = {one.area: "rework" for one in many}
    (one,) = listed_otherwise(reports((failed, [A1, *many]), ({}, [A1, area("P1", "13 m2", "web")])))
    assert one.sentence.count("`rework`") == 5
    assert one.sentence.endswith("and of 3 more")


def test_none_that_was_listed_beside_it_nor_what_was_released():
    first = [area("A1"), area()]
    assert doubts((FAILED, first), ({}, [area("A1")])) == []
    assert doubts((GOOD, first), ({}, [area("A1"), area("P2")])) == []
    assert doubts(({}, first), ({}, [area("A1"), area("P2")])) == []


def test_it_is_none_any_more_once_as_much_was_released_under_the_first_name():
    gone = (FAILED, [area()]), ({}, [area("P2")])
    assert doubts(*gone, (GOOD, [area(), area("P2")])) == []
    assert ("area-replaced", "P2") in doubts(*gone, (GOOD, [area(size="2 m2"), area("P2")]))


LAXER = [
    {"profile minimum": "45 um"},
    {"profile minimum": "1.9 mil"},
    {"conditions maximum humidity": "90 %"},
    {"surface preparation grade": "Sa 2"},
    {"profile minimum": None},
]


def with_limits(change, **more):
    found = {"surface preparation grade": "Sa 2½", **STRICT, **change, **more}
    return {name: value for name, value in found.items() if value is not None}


@pytest.mark.parametrize("change", LAXER)
def test_laxer_limits_of_the_same_document_are_asked_about_where_they_judged(change):
    lists = [area("A1"), area()]
    first, lax = with_limits({}), with_limits(change)
    told = ({"A1": "release"}, lists, first), (GOOD, lists, lax), ({}, lists, lax), ({}, lists, first)
    assert doubts(*told) == [("limits-loosened", "A2")]
    assert doubts(told[0], told[1]) == [("limits-loosened", "A2")]
    assert doubts(told[1], told[0]) == []


def test_of_texts_that_nobody_can_order_any_other_is_asked_about():
    lists = [area("A1"), area()]
    one, other = (with_limits({"surface preparation grade": text}) for text in ("Sa 2½", "as sample 3"))
    for first, second in ((one, other), (other, one)):
        assert doubts(({"A1": "release"}, lists, first), (GOOD, lists, second)) == [("limits-loosened", "A2")]


@pytest.mark.parametrize("written", ["HM-1 \u0420art 4", "HM-1\u00a0Part 4", "HM-1 Part 4.", "HM-1, part 04"])
def test_a_document_that_only_looks_new_is_none(written):
    lists = [area("A1"), area()]
    lax = with_limits(LAXER[0], document=written)
    assert doubts(({"A1": "release"}, lists, with_limits({})), (GOOD, lists, lax)) == [("limits-loosened", "A2")]


def test_of_two_amendments_the_second_takes_nothing_from_the_first():
    lists, strict = [area("A1"), area()], with_limits({})
    lax = with_limits(LAXER[0], document="HM-1 Part 4, amendment 1")
    back = with_limits({}, document="HM-1 Part 4, amendment 2")
    assert doubts(({"A1": "release"}, lists, strict), (GOOD, lists, lax), ({}, lists, back)) == []


def test_those_of_a_new_document_are_none_until_the_contract_returns_from_them():
    lists, first = [area("A1"), area()], with_limits({})
    lax = with_limits(LAXER[0], document="HM-1 Part 4, revision 1")
    varied = ({"A1": "release"}, lists, first), (GOOD, lists, lax)
    assert doubts(*varied) == []
    assert doubts(*varied, ({}, lists, first)) == [("limits-loosened", "A2")]
    assert doubts(({"A1": "release"}, lists, lax), (GOOD, lists, first), ({}, lists, lax)) == []
