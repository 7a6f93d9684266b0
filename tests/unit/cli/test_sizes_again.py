"""Steel is blasted again only as far as the sizes entered say, and primed steel only where that is stated."""

import json
import re

import pytest

from tests.unit.cli.test_left_open import findings_of, project
from tests.unit.cli.test_reinspection import CLEAN, HIGH, NEXT, contract, decided, raised, report
from tests.unit.cli.test_reinspection_apart import AS_IS, accepted, beside, engineer

__all__ = ["contract", "decided", "engineer", "project"]

TESTED = CLEAN.replace("S1", "S2").replace("D1", "D2").replace("10:40", "11:30")
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
    return " ".join(run("check", name).out.split())


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
    later = beside(first, ("10:45", "11:15"), apparatus="pot 1", tests=TESTED, more=more)
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
    named = report(2, **NEXT).replace(
        "initial_condition: B", "initial_condition: coated\n    blasted_again: [pot 1]", 1
    )
    assert decided(first, named)[0] == "release"


# Where the report of what failed does not say how much was cleaned


def reworked(size, number=2):
    """A re-inspection that says how much was blasted again; nothing said, it is of all."""
    text = report(number, reinspects="N1", **NEXT)
    return text if size is None else sized(size, text)


def walked(text, up="0.5 m", ways=("up", "down", "left", "right"), steps=1):
    """What failed at location 1, bounded on each side by two places that comply, or where the steel ends."""
    names = {way: [f"{way}{n}" for n in range(1, steps + 2)] for way in ways}
    rows = ", ".join(
        f"{{location: {name}, spot: a, x1: {'4.3' if n < steps - 1 else '2.9'}}}"
        for each in names.values() for n, name in enumerate(each)
    )  # fmt: skip
    directions = ", ".join(f"{{towards: {way}, locations: [{', '.join(each)}]}}" for way, each in names.items())
    walk = f"walk_outs: [{{failing: 1, interval: {up}, directions: [{directions}]}}]"
    return text.replace("x1: 4.2}]", f"x1: 4.2}}, {rows}], {walk}")


FAILED = report(1, reading="4.2", more=raised(HIGH))


@pytest.mark.parametrize(
    ("size", "decision"), [("2 m2", "hold"), ("11.9 m2", "hold"), ("12 m2", "release"), (None, "release")]
)
def test_what_nothing_bounds_is_the_whole_area(run, decided, size, decision):
    state = "closed" if decision == "release" else "open"
    assert decided(FAILED, reworked(size))[:2] == (decision, [state])
    assert ("stands for the whole area, 12" in said(run, "day2.yaml")) == (decision == "hold")


@pytest.mark.parametrize(("size", "decision"), [("2 m2", "hold"), (None, "release")])
def test_of_an_area_without_a_size_a_stated_one_is_a_part(run, decided, project, size, decision):
    project((", size: 12 m2", ""))
    assert decided(FAILED, reworked(size))[0] == decision
    assert ("says how much" in said(run, "day2.yaml")) == (decision == "hold")


@pytest.mark.parametrize(("size", "decision"), [("0.9 m2", "hold"), ("1 m2", "release"), ("2 m2", "release")])
@pytest.mark.parametrize("stated", [None, "5 m2"])
def test_what_its_walk_outs_bound_is_reworked_so_far(run, decided, size, decision, stated):
    first = walked(FAILED) if stated is None else sized(stated, walked(FAILED))
    assert decided(first, reworked(size))[0] == decision
    assert ("walk-outs bound 1.00 m²" in said(run, "day2.yaml")) == (decision == "hold")


@pytest.mark.parametrize(("size", "decision"), [("0.9 m2", "hold"), ("1 m2", "release")])
@pytest.mark.parametrize("edges", [("up",), ("up", "left")])
def test_to_an_edge_it_reaches_further_than_nothing(decided, edges, size, decision):
    """The edge is nearer than the next location would be: by the word alone that there is no room, no less is known."""
    walk = walked(FAILED, ways=[way for way in ("up", "down", "left", "right") if way not in edges])
    ends = "".join(f", {{towards: {way}, locations: [], no_room: yes}}" for way in edges)
    assert decided(walk.replace("}]}]}", f"}}{ends}]}}]}}"), reworked(size))[0] == decision


@pytest.mark.parametrize("edges", [("up", "down", "left"), ("up", "down", "left", "right")])
def test_with_one_end_at_steel_that_complies_it_is_the_whole_area(decided, edges):
    ends = ", ".join(f"{{towards: {way}, locations: [], no_room: yes}}" for way in edges)
    if len(edges) < 4:
        walk = walked(FAILED, ways=["right"], steps=2).replace("}]}]}", f"}}, {ends}]}}]}}")
    else:
        walk = FAILED.replace(
            "x1: 4.2}]", f"x1: 4.2}}], walk_outs: [{{failing: 1, interval: 0.5 m, directions: [{ends}]}}]"
        )
    for size, decision in (("4 m2", "hold"), ("12 m2", "release")):
        assert decided(walk, reworked(size))[0] == decision


def test_a_walk_out_not_complete_bounds_nothing(decided):
    assert decided(walked(FAILED, ways=("up", "down", "left")), reworked("2 m2"))[0] == "hold"


def test_without_a_nonconformance_it_is_so_too(run, decided):
    first = report(1, reading="4.2")
    assert decided(first, again("2 m2"))[0] == "hold"
    assert left_codes(run, "day2.yaml") == ["failed-earlier"]
    assert decided(first, again("12 m2"))[0] == "release"


def test_what_was_left_open_on_a_whole_area_is_not_settled_by_a_part(run, decided, project):
    project(("maximum: 48 h", "maximum: 8 h"))
    decided(report(1), again("2 m2"))
    assert "left-open-earlier" in left_codes(run, "day2.yaml")
    decided(report(1), again("12 m2"))
    assert left_codes(run, "day2.yaml") == []


@pytest.mark.parametrize(("size", "decision"), [("2 m2", "rework"), ("12 m2", "release")])
def test_within_the_shift_a_part_is_not_the_whole_area(decided, size, decision):
    more = f"blasted_again: [pot 1]\n    cleaned: {size}"
    first = report(1, reading="4.2")
    assert decided(beside(first, ("10:45", "11:15"), apparatus="pot 1", tests=TESTED, more=more))[0] == decision


# Sizes in two units


@pytest.mark.parametrize(
    ("first", "second", "decision"),
    [("5 m2", "53.8 ft2", "release"), ("5 m2", "54 ft2", "release"), ("5 m2", "53 ft2", "hold"),
     ("53.8 ft2", "5 m2", "release"), ("54 ft2", "5 m2", "release"), ("57 ft2", "5 m2", "hold")],
)  # fmt: skip
def test_a_size_in_another_unit_is_compared_as_written(run, decided, first, second, decision):
    assert decided(sized(first, FAILED), reworked(second))[0] == decision
    told = re.search(r"is of (\S+ \S+) cleaned, and by the sizes entered (\S+ \S+)", said(run, "day2.yaml"))
    assert (told is not None) == (decision == "hold")
    assert told is None or told[1] != told[2]


@pytest.mark.parametrize(("size", "cleaned"), [("129 ft2", "12 m2"), ("1200 ft2", "111.48 m2"), ("12 m2", "129 ft2")])
def test_an_area_cleaned_as_a_whole_in_another_unit_is_whole(run, decided, project, size, cleaned):
    project(("size: 12 m2", f"size: {size}"))
    decided(sized(cleaned, report(1)))
    codes = {one["code"] for one in findings_of(run, "day1.yaml")}
    assert not codes & {"cleaned-more-than-area", "area-partly-cleaned", "area-cleaned-again"}
    assert "of the part cleaned" not in said(run, "day1.yaml")


# What the next day and the pages are told


def next_day(run, contract, name):
    run("new", "--next", name)
    return max(contract.glob("2026-*.yaml")).read_text("utf-8")


def test_the_next_day_is_told_of_what_is_not_cleaned_yet(run, contract, decided):
    coated = {"initial_condition: B": 'initial_condition: B\n    coated: "12:00"'}
    assert decided(sized("2 m2", report(1, **coated)))[0] == "release"
    assert "\n# A-1, gate: 1 locations of 1 spot\n#   2.0 m² of 12 m² cleaned by now" in next_day(
        run, contract, "day1.yaml"
    )


@pytest.mark.usefixtures("engineer")
def test_steps_of_a_walk_out_that_was_accepted_are_not_asked_for(run, decided):
    walk = "walk_outs: [{failing: 1, interval: 0.5 m, directions: [{towards: up, locations: []}]}]"
    first = report(1, reading="4.2", more=raised(HIGH, "walk-out-missing")).replace("x1: 4.2}]", f"x1: 4.2}}], {walk}")
    decided(first)
    assert "step 1 towards up" in said(run, "day1.yaml")
    for old, new in AS_IS.items():
        first = first.replace(old, f"{new}, evidence: letter 7")
    assert decided(first)[0] == "release"
    assert "towards" not in " ".join(run("check", "day1.yaml").out.partition("Noted")[0].split())
    assert "step 1" not in said(run, "day1.yaml")


# The good part beside steel that failed


@pytest.mark.parametrize(
    ("how", "noted"),
    [
        ("cleaned: 4 m2", False),
        ("initial: of no size", True),
        ("cleaned: 4 m2, again", True),
        ("cleaned: 4 m2, reinspects", True),
    ],
)
def test_the_next_part_is_not_coated_without_release(run, decided, how, noted):
    """It is good, and what holds its area is on other steel."""
    coated = {"initial_condition: B": 'initial_condition: B\n    coated: "12:00"'}
    second = report(2, **NEXT, **coated)
    if "cleaned" in how:
        second = sized("4 m2", second)
    if "reinspects" in how:
        second = second.replace("initial_condition: B", "initial_condition: B\n    reinspects: [N1]", 1)
    if "again" in how:
        second = second.replace("initial_condition: B", "initial_condition: B\n    blasted_again: [pot 1]", 1)
    assert decided(sized("5 m2", FAILED), second)[0] == "hold"
    codes = [one["code"] for one in findings_of(run, "day2.yaml")]
    assert ("coated-without-release" in codes) == noted


def test_a_part_that_fails_itself_is_coated_without_release(run, decided):
    coated = {"initial_condition: B": 'initial_condition: B\n    coated: "12:00"'}
    decided(sized("5 m2", FAILED), sized("4 m2", report(2, reading="4.3", **NEXT, **coated)))
    assert "coated-without-release" in [one["code"] for one in findings_of(run, "day2.yaml")]


# A part of an entry that states no size, or a larger one


def tasks_of(run, name):
    return [
        (one["code"], one["place"].get("area")) for one in json.loads(run("check", name, "--json").out)["measure_next"]
    ]


ELSEWHERE = {"area: A-1": "area: A-2", "area: A-2, reason": "area: A-1, reason", "date: 2026-05-04": "date: 2026-05-09"}


@pytest.mark.parametrize("hours", ["48 h", "24 h"])
@pytest.mark.parametrize("first_size", [None, "12 m2"])
def test_steel_left_bare_beside_a_rework_of_a_part_is_told_of_in_every_report(
    run, contract, decided, project, hours, first_size
):
    """The time to coat passes after the report of the rework, or before its shift ends."""
    project(("maximum: 48 h", f"maximum: {hours}"))
    first = walked(FAILED) if first_size is None else sized(first_size, walked(FAILED))
    rework = reworked("2 m2").replace("initial_condition: B", 'initial_condition: coated\n    coated: "12:00"')
    in_time = hours == "48 h"
    assert decided(first, rework)[0] == ("release" if in_time else "hold")
    assert (("coat-by", "A-1") in tasks_of(run, "day2.yaml")) == in_time
    (contract / "day3.yaml").write_text(report(3, **ELSEWHERE), "utf-8")
    told = [one for one in findings_of(run, "day3.yaml") if one["code"] == "left-open-earlier"]
    assert [(one["place"]["area"], one["facts"]["code"]) for one in told] == [("A-1", "coating-overdue")]
    assert told[0]["facts"]["part"]["again"]["value"] == 2
    assert "2 m² was blasted again by the sizes entered, which is not all" in said(run, "day3.yaml")


def in_one_report(size, *, more="reinspects: [N1]", first=None, **changed):
    """What failed, and below it what blasted it again, in one report: all primed together."""
    text = walked(FAILED) if first is None else first
    text = text.replace("initial_condition: B", 'initial_condition: B\n    coated: "15:00"')
    again = f'blasted_again: [pot 1]\n    cleaned: {size}\n    coated: "15:00"\n    {more}'
    text = beside(
        text, ("11:00", "11:30"), apparatus="pot 1", location="9", tests=TESTED.replace("10:40", "11:40"), more=again
    )
    for old, new in changed.items():
        text = text.replace(old, new)
    return text


@pytest.mark.parametrize(("size", "decision"), [("0.9 m2", "rework"), ("1 m2", "release"), ("2 m2", "release")])
@pytest.mark.parametrize("stated", [None, "12 m2"])
def test_within_a_report_what_walk_outs_bound_is_reworked_too(run, decided, size, decision, stated):
    first = walked(FAILED) if stated is None else sized(stated, walked(FAILED))
    state = "closed" if decision == "release" else "open"
    assert decided(in_one_report(size, first=first))[:2] == (decision, [state])
    text = said(run, "day1.yaml")
    assert ("walk-outs bound 1.00 m², and by the sizes entered 0.9 m²" in text.replace("0.90 m²", "0.9 m²")) == (
        decision == "rework"
    )
    assert "cleaned by now" not in text
    assert "area-partly-cleaned" not in [one["code"] for one in findings_of(run, "day1.yaml")]


def test_what_no_walk_out_bounds_is_not_reworked_by_a_part(decided):
    assert decided(in_one_report("2 m2", first=FAILED))[0] == "rework"
    short = walked(FAILED, ways=("up", "down", "left"))
    assert decided(in_one_report("2 m2", first=short))[0] == "rework"


def test_nor_is_what_failed_of_the_whole_entry(decided):
    """Its grade is not that of a location."""
    first = walked(FAILED).replace("observed: SSPC-SP 10", "observed: SSPC-SP 6")
    assert decided(in_one_report("2 m2", first=first))[0] == "rework"


def test_two_places_that_failed_are_reworked_by_the_size_of_both(decided):
    sides = ("up", "down", "left", "right")
    around = "".join(f", {{location: 5{way}{step}, spot: a, x1: 2.9}}" for way in sides for step in (1, 2))
    own = f"x1: 2.9}}, {{location: 5, spot: a, x1: 4.2}}{around}], walk_outs: ["
    both = walked(FAILED).replace("x1: 2.9}], walk_outs: [", own)
    ways = ", ".join(f"{{towards: {way}, locations: [5{way}1, 5{way}2]}}" for way in sides)
    both = both.replace("walk_outs: [", f"walk_outs: [{{failing: 5, interval: 0.5 m, directions: [{ways}]}}, ")
    assert decided(in_one_report("1.9 m2", first=both))[0] == "rework"
    assert decided(in_one_report("2 m2", first=both))[0] == "release"


def test_a_rework_that_fails_itself_undoes_what_was_before_and_not_itself(decided):
    assert (
        decided(in_one_report("2 m2").replace("location: 9, spot: a, x1: 2.8", "location: 9, spot: a, x1: 4.3"))[0]
        == "rework"
    )


def test_the_next_day_the_steel_is_entered_as_it_was_and_the_rework_below_it(run, decided, project):
    """The one way to record the primer of the rest, where its time would pass."""
    project(("maximum: 48 h", "maximum: 30 h"))
    first = walked(FAILED)
    old = walked(
        report(2, ("2026-05-04T07:00+00:00", "2026-05-04T09:00+00:00"), reading="4.2", more=raised(HIGH), **NEXT)
    )
    old = old.replace("initial_condition: B", 'initial_condition: B\n    coated: "12:00"')
    new = 'blasted_again: [pot 1]\n    cleaned: 2 m2\n    coated: "12:00"\n    reinspects: [N1]'
    both = beside(old, ("09:00", "10:00"), apparatus="pot 1", location="9", tests=TESTED, more=new)
    assert decided(first, both)[:2] == ("release", ["closed"])
    assert not {"coated-without-release", "locations-missing", "area-partly-cleaned"} & {
        one["code"] for one in findings_of(run, "day2.yaml")
    }
    assert decided(first, both, report(3, **ELSEWHERE))[2] == []
    assert left_codes(run, "day3.yaml") == []
    assert decided(first, both.replace("cleaned: 2 m2", "cleaned: 0.5 m2"))[0] == "rework"


def test_a_rework_of_a_part_leaves_the_area_whole(run, contract, decided):
    """The first report, which states no size, cleaned all of it."""
    rework = reworked("2 m2").replace("initial_condition: B", 'initial_condition: coated\n    coated: "12:00"')
    first = walked(FAILED).replace("initial_condition: B", 'initial_condition: B\n    coated: "12:00"')
    assert decided(first, rework)[0] == "release"
    area = json.loads(run("check", "day2.yaml", "--json").out)["areas"][0]
    assert [area["cleaned"][name]["value"] for name in ("today", "by_now")] == [2, 12]
    assert "of the part cleaned" not in said(run, "day2.yaml")
    assert "cleaned by now" not in next_day(run, contract, "day2.yaml")


@pytest.mark.parametrize(
    ("parts", "found"),
    [(("65 ft2", "65 ft2"), None), (("6 m2", "6.1 m2"), None), (("6 m2", "6.2 m2"), "cleaned-more-than-area")],
)
def test_parts_measured_by_themselves_may_come_to_one_per_cent_more(run, decided, parts, found):
    day = beside(sized(parts[0], report(1)), more=f"cleaned: {parts[1]}")
    decided(day)
    codes = {one["code"] for one in findings_of(run, "day1.yaml")}
    assert codes & {"cleaned-more-than-area", "area-cleaned-again", "area-partly-cleaned"} == (
        {found} if found else set()
    )
