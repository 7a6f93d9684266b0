"""Locations counted by the size of an area are not all measured on the smallest part of it."""

import json

import pytest

from tests.unit.cli.test_left_open import project
from tests.unit.cli.test_reinspection import contract, decided, report
from tests.unit.cli.test_reinspection_apart import beside

__all__ = ["contract", "decided", "project"]

RATE = (
    "plan: per-shift-and-apparatus, locations: 1}",
    "plan: area-rate, locations: 4, first_area: 12 m2}",
)


LATER = ("09:10", "10:30")


@pytest.fixture
def parts(decided, project):
    """Decide on an area of 12 m² by two apparatus: so much cleaned by each, with so many locations on it."""
    project(RATE)

    def check(*of, text="initial_condition: B", blasted=("07:00", "09:00")):
        day = beside(report(1), blasted, location="9")
        first, *rest = day.split(text)
        for number, ((size, locations), part) in enumerate(zip(of, rest, strict=True)):
            rows = ", ".join(f"{{location: {10 * number + one}, spot: a, x1: 2.9}}" for one in range(locations))
            start = part.index("readings: [")
            end = part.index("]", start)
            sized = "" if size is None else f"\n    cleaned: {size}"
            first += f"{text}{sized}{part[:start]}readings: [{rows}{part[end:]}"
        return decided(first)[0]

    return check


@pytest.mark.parametrize(
    ("first", "second", "decision"),
    [
        (("11 m2", 1), ("1 m2", 3), "hold"),  # 3 of 4 are the share of 11 m²
        (("11 m2", 2), ("1 m2", 2), "hold"),
        (("11 m2", 3), ("1 m2", 1), "release"),
        (("6 m2", 2), ("6 m2", 2), "release"),
        (("6 m2", 1), ("6 m2", 3), "hold"),
        (("8.9 m2", 2), ("3.1 m2", 2), "release"),  # rounded down: no more than the contract asks for
        ((None, 1), (None, 3), "hold"),  # nobody says how much is whose
        ((None, 2), (None, 2), "hold"),
        ((None, 3), (None, 3), "release"),  # enough however it is shared
        ((None, 1), ("1 m2", 3), "hold"),  # the rest of the area is whose entry alone states no size
        ((None, 3), ("1 m2", 1), "release"),
        (("1 m2", 3), (None, 1), "hold"),
    ],
)
def test_each_apparatus_has_its_share_of_the_locations(parts, first, second, decision):
    assert parts(first, second) == decision


@pytest.mark.parametrize("rule", ["guarded", "banded"])
def test_under_each_decision_rule(parts, project, rule):
    repeatability = "repeatability: {value: 0.03 mil, degrees_of_freedom: 40, source: May}"
    project(("decision_rule: simple", f"{repeatability}, decision_rule: {rule}"))
    assert parts(("11 m2", 1), ("1 m2", 3)) == "hold"
    assert parts(("11 m2", 3), ("1 m2", 1)) == "release"


@pytest.mark.parametrize(
    ("first", "second", "decision"),
    [(("11 m2", 1), ("1 m2", 3), "hold"), (("11 m2", 3), ("1 m2", 1), "release"), ((None, 1), ("1 m2", 3), "hold"),
     ((None, 1), (None, 3), "hold")],
)  # fmt: skip
def test_each_entry_of_one_apparatus_has_its_share(run, parts, contract, first, second, decision):
    """What it blasted first says nothing of what it blasted after."""
    parts(first, second)
    day = contract / "day1.yaml"
    one, two = day.read_text("utf-8").split("apparatus: pot 2")
    one = one.replace("size: 1}]", 'size: 1, time: "10:40"}]')
    two = two.replace('start: "07:00", end: "09:00"', 'start: "09:05", end: "09:30"')
    day.write_text(f"{one}apparatus: pot 1{two}", "utf-8")
    result = json.loads(run("check", "day1.yaml", "--json").out)
    assert result["areas"][0]["decision"] == decision
    facts = [one["facts"] for one in result["findings"] if one["code"] == "locations-missing"]
    assert bool(facts) == (decision == "hold")
    if second[0] is not None and facts:
        assert [(one["apparatus"], one["taken"], one["required"]) for one in facts] == [("pot 1", 1, 3)]
        assert facts[0]["period"] == {"start": "07:00", "end": "09:00"}
        (step,) = (one for one in result["measure_next"] if one.get("answers") == "locations-missing")
        assert step["count"] == 2


def test_a_size_that_matters_is_asked_for(run, parts):
    parts((None, 1), (None, 3))
    said = " ".join(run("check", "day1.yaml").out.split())
    assert "size not stated; its size, as `cleaned`" in said
    result = json.loads(run("check", "day1.yaml", "--json").out)
    assert [one["code"] for one in result["measure_next"]].count("state-size") == 2


def test_what_is_missing_is_told_of_the_part(run, parts):
    parts(("11 m2", 1), ("1 m2", 3))
    result = json.loads(run("check", "day1.yaml", "--json").out)
    (short,) = (one["facts"] for one in result["findings"] if one["code"] == "locations-missing")
    assert (short["apparatus"], short["taken"], short["required"]) == ("pot 1", 1, 3)
    (step,) = (one for one in result["measure_next"] if one.get("answers") == "locations-missing")
    assert step["count"] == 2


def test_what_was_blasted_again_in_parts_has_no_share(run, decided, project):
    """By which of two blastings a size is of the area, nobody can tell."""
    project(RATE)
    rows = ", ".join(f"{{location: {one}, spot: a, x1: 2.9}}" for one in (9, 10, 11))
    day = beside(report(1), ("09:10", "10:00"), location="8").replace("{location: 8, spot: a, x1: 2.8}", rows)
    day = day.replace("initial_condition: B", "initial_condition: B\n    cleaned: 11 m2", 1)
    one, two = day.split("apparatus: pot 2")
    for again, missing in (("", True), ("\n    blasted_again: [pot 1]", False)):
        decided(f"{one}apparatus: pot 2\n    cleaned: 1 m2{again}{two}")
        found = json.loads(run("check", "day1.yaml", "--json").out)["findings"]
        assert ("locations-missing" in {each["code"] for each in found}) is missing


@pytest.mark.parametrize(
    ("again", "locations", "lacking"), [("11 m2", 1, True), ("11 m2", 3, False), ("1 m2", 1, False)]
)
@pytest.mark.parametrize("first", [None, "12 m2"])
def test_what_was_blasted_again_owes_the_share_of_its_size(run, parts, first, again, locations, lacking):
    """What was measured before the new blasting says nothing of it, be it enough for the whole area."""
    parts((first, 4), (f"{again}\n    blasted_again: [pot 1]", locations), blasted=LATER)
    found = {one["code"] for one in json.loads(run("check", "day1.yaml", "--json").out)["findings"]}
    assert ("locations-missing" in found) == lacking
