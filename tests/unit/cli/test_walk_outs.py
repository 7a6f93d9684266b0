"""A location of a walk-out is measured for it: after the failing one, and in one direction from that."""

import json

import pytest

from tests.unit.cli.conftest import DAY

HIGH, GOOD = "4.2", "2.9"
SIDES = "NESW"
OUTWARD = [f"{side}{step}" for side in SIDES for step in (1, 2)]
WALK = ", ".join(f"{{towards: {side}, locations: [{side}1, {side}2]}}" for side in SIDES)


@pytest.fixture
def bounded(run, contract):
    """Check a day of some readings, as location and value, with a walk-out from location 1."""

    def check(*readings, directions=WALK, failing=(1,)):
        rows = ", ".join(f"{{location: {name}, spot: a, x1: {value}}}" for name, value in readings)
        walks = ", ".join(f"{{failing: {one}, interval: 0.5 m, directions: [{directions}]}}" for one in failing)
        text = DAY.replace("readings: [{location: 1, spot: a, x1: 2.9}]", f"readings: [{rows}], walk_outs: [{walks}]")
        (contract / "day.yaml").write_text(text, "utf-8")
        result = json.loads(run("check", "day.yaml", "--json").out)
        area = next(one for one in result["areas"] if one["id"] == "A-1")
        codes = {one["code"] for one in result["findings"]}
        walked = {one["id"] for one in area["locations"] if one.get("walk_out") is not None}
        missing = [one["facts"] for one in result["findings"] if one["code"] == "walk-out-missing"]
        return bool(area.get("bounded_area")), codes, walked, missing

    return check


def taken(*names):
    return [(name, HIGH if name in (1, 2) else GOOD) for name in names]


def test_measured_for_it_they_bound_it(bounded):
    found, codes, walked, _ = bounded(*taken(1, *OUTWARD))
    assert (found, walked) == (True, set(OUTWARD))
    assert "walk-out-missing" not in codes


@pytest.mark.parametrize("names", [(*OUTWARD, 1), ("N1", "N2", 1, *OUTWARD[2:])])
def test_what_was_read_before_the_failing_location_is_of_the_plan(run, bounded, names):
    found, _, walked, (missing,) = bounded(*taken(*names))
    before = names[: names.index(1)]
    assert (found, walked) == (False, set(OUTWARD) - set(before))
    assert missing["before"] == [*before]
    assert f"read before that location, and not for it: {', '.join(before)}" in " ".join(
        run("check", "day.yaml").out.split()
    )


def test_one_that_lies_there_and_was_read_later_may_serve_in_one_direction(bounded):
    """It is then of the walk-out, and counts no longer as a location of the plan."""
    north = WALK.replace("N1, N2", "3, 4")
    found, _, walked, _ = bounded(*taken(1, 3, 4, *OUTWARD[2:]), directions=north)
    assert found
    assert {"3", "4"} < walked


@pytest.mark.parametrize(
    "directions",
    [
        ", ".join(f"{{towards: {side}, locations: [N1, N2]}}" for side in SIDES),
        WALK.replace("E1, E2", "N1, N2"),
        WALK.replace("E1, E2", "E1, E1"),
        WALK.replace("E1, E2", "1, E1"),
        WALK.replace("towards: E", "towards: n"),
    ],
)
def test_one_location_lies_in_one_direction(run, bounded, directions):
    found, codes, _, _ = bounded(*taken(1, *OUTWARD), directions=directions)
    assert not found
    assert {"walk-out-missing", "entry-unfinished"} < codes
    assert "is there twice" in run("check", "day.yaml").err


def test_a_direction_between_two_sides_bounds_neither(run, bounded):
    """West was never measured: up and west is neither."""
    ways = ("up", "down", "THIS", "east")
    walk = ", ".join(
        f'{{towards: "{way}", locations: [{side}1, {side}2]}}' for way, side in zip(ways, SIDES, strict=True)
    )
    assert bounded(*taken(1, *OUTWARD), directions=walk.replace("THIS", "west"))[0]
    assert bounded(*taken(1, *OUTWARD), directions=walk.replace("THIS", "to the sump"))[0]
    for way in ("up and west", "north-west", "NW", "oben/links", "upwards", "E", "Osten", "up towards the left edge"):
        found, _, _, (missing,) = bounded(*taken(1, *OUTWARD), directions=walk.replace("THIS", way))
        assert (found, missing["between"]) == (False, ["east" if way in ("E", "Osten") else way])
    assert "up towards the left edge is not a side of its own" in " ".join(run("check", "day.yaml").out.split())


@pytest.mark.parametrize(
    ("ways", "whole"),
    [
        (("NE", "SE", "SW", "NW"), True),
        (("up left", "up right", "down left", "down right"), True),
        (("NE", "SE", "SW", "SSW"), False),
        (("NE", "SE", "SW", "west"), False),
        (("NE", "north and east", "SW", "NW"), False),
    ],
)
def test_four_directions_between_the_sides_go_all_around(bounded, ways, whole):
    walk = ", ".join(
        f'{{towards: "{way}", locations: [{side}1, {side}2]}}' for way, side in zip(ways, SIDES, strict=True)
    )
    assert bounded(*taken(1, *OUTWARD), directions=walk)[0] == whole


def test_two_walk_outs_are_no_more_than_one_around_two_places(bounded):
    assert "entry-unfinished" in bounded(*taken(1, 2, *OUTWARD), failing=(1, 2))[1]
    assert "entry-unfinished" in bounded(*taken(1, *OUTWARD), failing=(1, 1))[1]
