"""Steel is blasted again only as far as the sizes entered say, and primed steel only where that is stated."""

import json

import pytest

from tests.unit.cli.test_left_open import findings_of, project
from tests.unit.cli.test_reinspection import CLEAN, HIGH, NEXT, contract, decided, raised, report
from tests.unit.cli.test_reinspection_apart import accepted, beside, engineer

__all__ = ["contract", "decided", "engineer", "project"]

TESTED = CLEAN.replace("S1", "S2").replace("D1", "D2")
THIRD = {"date: 2026-05-04": "date: 2026-05-06"}


def sized(size, text, old="initial_condition: B"):
    return text.replace(old, f"{old}\n    cleaned: {size}", 1)


def part(size, number=2):
    """A later report on so much of the area by the same apparatus."""
    return sized(size, report(number, **NEXT))


def again(size, number=2):
    """The same, which says that it blasted again what that apparatus had."""
    return part(size, number).replace("initial_condition: B", "initial_condition: B\n    blasted_again: [pot 1]", 1)


def left_codes(run, name):
    return [one["code"] for one in findings_of(run, name) if one["code"] in ("failed-earlier", "left-open-earlier")]


@pytest.mark.parametrize(("size", "decision"), [("2 m2", "hold"), ("4.9 m2", "hold"), ("5 m2", "release")])
def test_what_failed_is_undone_only_as_far_as_it_was_blasted_again(run, decided, size, decision):
    assert decided(sized("5 m2", report(1, reading="4.2")), again(size))[0] == decision
    assert (f"and by the sizes entered {size[:-1]}" in said(run, "day2.yaml")) == (decision == "hold")


@pytest.mark.parametrize("size", ["2 m2", "5 m2", "9 m2"])
def test_the_next_part_by_the_same_apparatus_undoes_nothing(run, decided, size):
    """A part that says nothing of the steel before it is beside that, and counts with it."""
    assert decided(sized("5 m2", report(1, reading="4.2")), part(size))[0] == "hold"
    assert left_codes(run, "day2.yaml") == ["failed-earlier"]
    area = json.loads(run("check", "day2.yaml", "--json").out)["areas"][0]
    assert area["cleaned"]["by_now"]["value"] == 5 + int(size[0])


def test_of_two_entries_only_the_one_that_says_so_is_rework(decided):
    first = sized("5 m2", report(1, reading="4.2", more=raised(HIGH)))
    small = sized("2 m2", report(2, reinspects="N1", **NEXT))
    for more in ("cleaned: 4 m2", "bounded: no"):
        text = "" if more == "bounded: no" else more
        assert decided(first, beside(small, ("10:00", "11:00"), apparatus="pot 1", more=text))[0] == "hold"


def test_rework_is_no_new_steel(run, decided):
    first = sized("5 m2", report(1, reading="4.2", more=raised(HIGH)))
    assert decided(first, sized("5 m2", report(2, reinspects="N1", **NEXT)))[:2] == ("release", ["closed"])
    area = json.loads(run("check", "day2.yaml", "--json").out)["areas"][0]
    assert area["cleaned"]["by_now"]["value"] == 5


def said(run, name):
    return " ".join(run("check", name).out.split()).replace("m²", "m").replace(" m ", " m² ").replace("m²²", "m²")


@pytest.mark.parametrize(
    "how", ["reinspects: [N1]", "blasted_again: [pot 1]", "reinspects: [N1]\n    blasted_again: [pot 1]"]
)
def test_nor_is_a_nonconformance_closed_by_a_part(decided, how):
    first = sized("5 m2", report(1, reading="4.2", more=raised(HIGH)))
    second = part("2 m2").replace("initial_condition: B", f"initial_condition: B\n    {how}", 1)
    assert decided(first, second)[:2] == ("hold", ["open"])


def test_parts_that_say_so_add_up(decided):
    first = sized("5 m2", report(1, reading="4.2", more=raised(HIGH)))
    half = sized("2.5 m2", report(2, reinspects="N1", **NEXT))
    assert decided(first, half)[:2] == ("hold", ["open"])
    rest = sized("2.5 m2", report(3, reinspects="N1", **THIRD))
    assert decided(first, half, rest)[:2] == ("release", ["closed"])


def test_what_was_left_open_is_not_settled_by_a_part(run, decided, project):
    first = report(1)
    project(("maximum: 48 h", "maximum: 8 h"))
    decided(sized("5 m2", first), again("2 m2"))
    (one, *_) = [one for one in findings_of(run, "day2.yaml") if one["code"] == "left-open-earlier"]
    assert [one["facts"]["part"][name]["value"] for name in ("cleaned", "again")] == [5, 2]
    decided(sized("5 m2", first), again("5 m2"))
    assert left_codes(run, "day2.yaml") == []


@pytest.mark.usefixtures("engineer")
def test_what_was_accepted_stays_beside_a_part(run, decided):
    first = sized("5 m2", accepted(report(1, reading="4.2", more=raised(HIGH))))
    decided(first, again("2 m2"))
    assert "accepted-earlier" in [one["code"] for one in findings_of(run, "day2.yaml")]
    decided(first, again("5 m2"))
    assert "accepted-earlier" not in [one["code"] for one in findings_of(run, "day2.yaml")]


@pytest.mark.parametrize(("size", "decision"), [("2 m2", "rework"), ("5 m2", "release")])
def test_within_the_shift_it_is_so_too(decided, size, decision):
    first = sized("5 m2", report(1, reading="4.2"))
    more = f"blasted_again: [pot 1]\n    cleaned: {size}"
    later = beside(first, ("09:30", "10:00"), apparatus="pot 1", tests=TESTED, more=more)
    assert decided(later)[0] == decision


def test_parts_primed_each_on_its_day_add_up(run, decided):
    coated = {"initial_condition: B": 'initial_condition: B\n    coated: "12:00"'}
    days = [sized("3 m2", report(n, **{"date: 2026-05-04": f"date: 2026-05-0{n + 3}", **coated})) for n in (1, 2, 3)]
    decided(*days)
    area = json.loads(run("check", "day3.yaml", "--json").out)["areas"][0]
    assert area["cleaned"]["by_now"]["value"] == 9.0


def test_primed_steel_that_failed_is_not_blasted_again_without_a_word(decided):
    coated = {"initial_condition: B": 'initial_condition: B\n    coated: "12:00"'}
    first = report(1, reading="4.2", **coated)
    assert decided(first, report(2, **NEXT))[0] == "hold"
    named = report(2, **NEXT).replace("initial_condition: B", "initial_condition: B\n    blasted_again: [pot 1]", 1)
    assert decided(first, named)[0] == "release"
