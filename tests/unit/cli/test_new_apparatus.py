"""An apparatus new to an area: it is trusted with what its re-inspection names, no more than one that worked there."""

import json

import pytest

from tests.unit.cli.test_left_open import project
from tests.unit.cli.test_reinspection import CLEAN, DUSTY, HIGH, NEXT, SALTY, contract, decided, raised, report
from tests.unit.cli.test_reinspection_apart import ENGINEER, beside
from tests.unit.cli.test_rework_fails import walked

__all__ = ["contract", "decided", "project"]

THIRD = {"date: 2026-05-04": "date: 2026-05-06"}
STAIN = "stain-above-limit"
STAINED = {"staining: 2 %": "staining: 9 %"}
FAILS = {
    HIGH: {"reading": "4.2"}, "salts-above-maximum": {"tests": SALTY}, "dust-above-maximum": {"tests": DUSTY},
    STAIN: STAINED,
}  # fmt: skip
PRIMED = f'{CLEAN}    coated: "12:00"\n'


def by(pot, text):
    return text.replace("apparatus: pot 1", f"apparatus: {pot}")


def again(pot, number=2, *, more="", reinspects="N1", **changed):
    """A report of the next day with good steel of an apparatus, primed; ``more`` is said in its entry."""
    return by(pot, report(number, tests=PRIMED + more, reinspects=reinspects, **(changed or NEXT)))


def with_stained(text, **more):
    """A day file with one more entry on A-1, of pot 2, that is stained."""
    head, tail = beside(text, **more).split("apparatus: pot 2")
    return f"{head}apparatus: pot 2{tail.replace('staining: 2 %', 'staining: 9 %', 1)}"


def elsewhere(number=3):
    """A report of the third day that has the other area alone."""
    text = report(number, **THIRD)
    return text.replace("A-1", "A-9").replace("A-2", "A-1").replace("A-9", "A-2").replace("not_insp", "#")


@pytest.fixture
def told(run):
    """What a day file says of bare steel to coat, with its apparatus, and what it says was left open."""

    def answer(name):
        result = json.loads(run("check", name, "--json").out)
        bare = [one["facts"]["bare"] for one in result["measure_next"] if one["code"] == "coat-by"]
        left = [one["facts"]["code"] for one in result["findings"] if one["code"] == "left-open-earlier"]
        return [each["apparatus"] for one in bare for each in one], left

    return answer


# What its re-inspection closes as gone over is bare no more


@pytest.mark.parametrize("code", FAILS)
def test_steel_that_failed_and_is_gone_is_not_to_be_coated(decided, told, code):
    first = report(1, more=raised(code), **FAILS[code])
    assert decided(first, again("pot 9")) == ("release", ["closed"], [])
    assert told("day2.yaml") == ([], [])
    decided(first, again("pot 9"), elsewhere())
    assert told("day3.yaml") == ([], [])


def test_what_was_good_beside_it_still_is(decided, told):
    first = beside(report(1, reading="4.2", more=raised(HIGH)))
    assert decided(first, again("pot 9"))[0] == "release"
    assert told("day2.yaml") == (["pot 2"], [])


def test_so_is_the_rest_of_what_walk_outs_bound(decided, told, project):
    project(("maximum: 48 h", "maximum: 96 h"))
    rows, walk = walked(1)
    first = report(1, more=raised(HIGH)).replace("x1: 2.9}]", f"x1: 4.2}}, {rows}], {walk}")
    assert decided(first, again("pot 9", more="    cleaned: 2 m2\n"))[0] == "release"
    assert told("day2.yaml") == (["pot 1"], [])
    decided(first, again("pot 9", more="    cleaned: 2 m2\n"), elsewhere())
    assert told("day3.yaml") == (["pot 1"], [])
    # as salts fail too, and those nothing bounds, all of it has to be gone
    salty = first.replace(CLEAN, SALTY).replace(HIGH, f"{HIGH}, salts-above-maximum")
    assert decided(salty, again("pot 9"))[0] == "release"
    assert told("day2.yaml") == ([], [])


def test_that_it_stood_bare_too_long_is_to_be_covered_as_well(decided, told, project):
    project(("maximum: 48 h", "maximum: 5 h"))
    for codes, expected in (((HIGH,), "hold"), ((HIGH, "coating-overdue"), "release")):
        assert decided(report(1, reading="4.2", more=raised(*codes)), again("pot 9"))[0] == expected
        assert told("day2.yaml") == ([], ["coating-overdue"] if expected == "hold" else [])


def test_where_its_time_ends_while_it_is_blasted_again_it_is_in_time(decided, told, project):
    """Blasted by 09:00; 22 h end at 07:00, when the next blasting begins, and one hour less before that."""
    for hours, expected in ((21, "hold"), (22, "release")):
        project((f"maximum: {48 if hours == 21 else 21} h", f"maximum: {hours} h"))
        assert decided(report(1, reading="4.2", more=raised(HIGH)), again("pot 9"))[0] == expected
        assert told("day2.yaml")[0] == []


# What its re-inspection does not name it has not undone


@pytest.mark.parametrize("pot", ["pot 9", "pot 2"])
@pytest.mark.parametrize("code", [HIGH, "salts-above-maximum", "dust-above-maximum"])
def test_what_no_nonconformance_covers_stays(decided, code, pot):
    """Pot 1's steel fails, and nobody raises it; pot 2's is stained, which is raised and inspected again."""
    first = with_stained(report(1, **FAILS[code]), more='coated: "12:00"') + raised(STAIN)
    for second, expected in (
        (again(pot), "hold"), (again(pot, more="    blasted_again: [pot 1, pot 2]\n"), "release"),
    ):  # fmt: skip
        primed_off = second.replace("initial_condition: B", "initial_condition: coated")
        decision, states, held = decided(first, primed_off)
        assert (decision, states) == (expected, ["closed"])
        told = f"what {pot} blasted in SL-1-002 is entered with `reinspects` alone" if expected == "hold" else ""
        assert told in "".join(held)
        assert bool(held) is (expected == "hold")


def test_nor_on_steel_whose_other_failure_it_names(decided):
    """One steel, stained and too rough: the stain is raised, the profile is not."""
    first = report(1, reading="4.2", more=raised(STAIN), **STAINED)
    assert decided(first, again("pot 9"))[:2] == ("hold", ["closed"])
    assert decided(first, again("pot 9"), again("pot 8", 3, **THIRD))[0] == "hold"
    both = report(1, reading="4.2", more=raised(STAIN, HIGH), **STAINED)
    assert decided(both, again("pot 9"))[:2] == ("release", ["closed"])
    # raised in a revision of that report or later, it is covered, and named by the re-inspection of the third day
    late = again("pot 9") + raised(HIGH, name="N2")
    assert decided(first, late)[:2] == ("hold", ["closed", "open"])
    assert decided(first, late, again("pot 8", 3, reinspects="N2", **THIRD))[0] == "release"


def test_two_nonconformances_each_need_their_own(decided):
    """Pot 1 has the one, pot 2 the other: pot 2's entry names that of pot 1, and pot 9's that of pot 2."""
    first = with_stained(report(1, reading="4.2"))
    first += raised(HIGH) + raised(STAIN, name="N2").replace("nonconformances:\n", "")
    named = beside(again("pot 9", reinspects="N2"), location="5", more="reinspects: [N1]")
    assert decided(first, named)[:2] == ("hold", ["open", "closed"])
    both = named.replace("reinspects: [N2]", "reinspects: [N1, N2]")
    assert decided(first, both)[:2] == ("release", ["closed", "closed"])


def test_its_size_counts_for_nothing_else_either(decided):
    """Pot 1 failed on 8 m², which nobody raised, and did 4 m² again; pot 9 did 4 m² of what was stained."""
    sized = report(1, reading="4.2", tests=f"{CLEAN}    cleaned: 8 m2\n")
    first = with_stained(sized, more="cleaned: 4 m2") + raised(STAIN)
    for size, expected in ((4, "hold"), (8, "release")):
        second = report(2, tests=f"{CLEAN}    blasted_again: [pot 1]\n    cleaned: {size} m2\n", **NEXT)
        both = beside(second, apparatus="pot 9", location="7", more="cleaned: 4 m2\n    reinspects: [N1]")
        assert decided(first, both)[0] == expected


def test_what_was_left_open_is_not_settled_by_its_size(decided):
    """Pot 1's 8 m² was never measured; 4 m² of it was blasted again, and 4 m² of what pot 2 had failed on."""
    sized = report(1, tests=f"{CLEAN}    cleaned: 8 m2\n").replace(
        "    profile: {gauge: g1, readings: [{location: 1, spot: a, x1: 2.9}]}\n", ""
    )
    first = beside(sized, reading="4.2", more="cleaned: 4 m2") + raised(HIGH)
    for size, expected in ((4, "hold"), (8, "release")):
        second = report(2, tests=f"{CLEAN}    blasted_again: [pot 1]\n    cleaned: {size} m2\n", **NEXT)
        both = beside(second, apparatus="pot 9", location="7", more="cleaned: 4 m2\n    reinspects: [N1]")
        assert decided(first, both)[0] == expected


def test_what_was_accepted_stays_so(run, decided, project):
    """Pot 1's is used as it is; that pot 9 inspects again what pot 2 failed on says nothing of it."""
    project(("people: {", ENGINEER))
    codes = f"{HIGH}, walk-out-missing"
    as_is = raised(codes).replace("disposition: rework, decided_by: ines, status: open",
        "disposition: use-as-is, decided_by: eng, status: closed, evidence: letter 7")  # fmt: skip
    first = with_stained(report(1, reading="4.2")) + as_is + raised(STAIN, name="N2").replace("nonconformances:\n", "")
    for second, kept in (
        (again("pot 9", reinspects="N2"), 1),
        (again("pot 9", reinspects="N2", more="    blasted_again: [pot 1, pot 2]\n"), 0),
    ):
        assert decided(first, second)[0] == "release"
        found = json.loads(run("check", "day2.yaml", "--json").out)["findings"]
        assert [one["code"] for one in found].count("accepted-earlier") == kept


# One size is not credited to each of several parts that failed


def sized(size, number=2, **more):
    """A report of good steel, of 6 m² or another size; ``more`` goes into ``again``."""
    said = more.pop("said", "")
    pot = more.pop("pot", "pot 9")
    return again(pot, number, more=f"    cleaned: {size} m2\n{said}", **more)


def two_failed():
    """A report of two pots that failed on 6 m² each, under one number."""
    first = report(1, reading="4.2", tests=f"{CLEAN}    cleaned: 6 m2\n", more=raised(HIGH))
    return beside(first, reading="4.2", more="cleaned: 6 m2")


@pytest.mark.parametrize("said", ["", "    blasted_again: [pot 1, pot 2]\n"])
@pytest.mark.parametrize(("size", "expected"), [(6, "hold"), (11, "hold"), (12, "release")])
def test_one_rework_covers_no_more_than_its_size(decided, said, size, expected):
    assert decided(two_failed(), sized(size, said=said))[0] == expected


def test_what_was_good_beside_it_takes_nothing_of_its_size(decided):
    first = report(1, reading="4.2", tests=f"{CLEAN}    cleaned: 6 m2\n", more=raised(HIGH))
    assert decided(beside(first, more="cleaned: 6 m2"), sized(6))[0] == "release"


def test_a_rework_is_of_the_steel_that_it_names(decided):
    assert decided(two_failed(), sized(12, said="    blasted_again: [pot 2]\n"))[0] == "hold"


def test_each_with_its_own_on_two_days(decided):
    second = sized(6, pot="pot 1", said="    blasted_again: [pot 1]\n")
    third = sized(6, 3, pot="pot 2", said="    blasted_again: [pot 2]\n", **THIRD)
    assert decided(two_failed(), second, third)[0] == "release"


@pytest.mark.parametrize("pot", ["pot 2", "pot 3"])
@pytest.mark.parametrize(("size", "expected"), [(5, "hold"), (6, "release")])
def test_halves_of_two_days_that_name_the_number_alone_add_up(decided, pot, size, expected):
    first = report(1, reading="4.2", tests=f"{CLEAN}    cleaned: 12 m2\n", more=raised(HIGH))
    bare = sized(6, pot="pot 2").replace('    coated: "12:00"\n', "")
    assert decided(first, bare, sized(size, 3, pot=pot, **THIRD))[0] == expected


@pytest.mark.parametrize(("named", "expected"), [("pot 2", "hold"), ("pot 1", "release")])
def test_the_rework_blasted_again_adds_nothing(decided, named, expected):
    first = report(1, reading="4.2", tests=f"{CLEAN}    cleaned: 12 m2\n", more=raised(HIGH))
    second = sized(6, pot="pot 2", said="    blasted_again: [pot 1]\n")
    third = sized(6, 3, pot="pot 3", said=f"    blasted_again: [{named}]\n", **THIRD)
    assert decided(first, second, third)[0] == expected


# With a depth micrometer


def by_depth(text):
    """A day file of a tape gauge as one of a depth micrometer."""
    rows = [line for line in text.splitlines(keepends=True) if "tape_checks" not in line and "thickness:" not in line]
    return (
        "".join(rows).replace("anvils: clean, preset: -2.0 mil", "tip: clean, zero: 0.0 mil").replace("x1:", "depth:")
    )


def test_with_a_depth_micrometer_alike(decided, told, project):
    project(
        ("Method C", "Method B"), ("overlap_rule: average, ", ""), ("kind: thickness gauge", "kind: depth micrometer"),
        ('tape_rolls: {x1: {grade: extra coarse, lot: "7", expires: 2027-06-30}}\n', ""),
    )  # fmt: skip
    for codes, expected in (([HIGH], "release"), ([STAIN], "hold")):
        first = report(1, reading="4.2", more=raised(*codes), **(STAINED if STAIN in codes else {}))
        assert decided(by_depth(first), by_depth(again("pot 9")))[:2] == (expected, ["closed"])
        assert told("day2.yaml") == ([], [])
