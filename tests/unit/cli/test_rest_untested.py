"""The rest of steel of which a part was blasted again needs a test of its own, whether it is entered again or not."""

import json

import pytest

from tests.unit.cli.test_left_open import project
from tests.unit.cli.test_new_apparatus import THIRD, by, elsewhere
from tests.unit.cli.test_reinspection import CLEAN, HIGH, NEXT, OLD, contract, decided, raised, report
from tests.unit.cli.test_rework_fails import walked

__all__ = ["contract", "decided", "project"]

ROWS, WALK = walked(1)
AT = {"both": ("1", "1"), "salts": ("1", "D1"), "dust": ("S1", "1"), "none": ("S1", "D1"), "other": ("1up1", "1up2")}
"""Where the tests of the first day stand: at its location that fails, or elsewhere on the steel."""
SAYS = {"named": ("pot 1", "pot 1"), "new": ("pot 9", ""), "own": ("pot 1", ""), "both": ("pot 9", "pot 1")}
"""Which apparatus blasted a part again, and what `blasted_again` names."""
NEW = CLEAN.replace("S1", "11").replace("D1", "11")


@pytest.fixture(autouse=True)
def in_time(contract, project):
    project(("maximum: 48 h", "maximum: 240 h"))


def stands_at(where):
    salts, dust = AT[where]
    timed = CLEAN.replace("size: 1}", 'size: 1, time: "10:40"}')
    return timed.replace("S1", salts).replace("D1", dust)


def failing(where, *, coated="", blasted=("07:00", "09:00"), number=1, **more):
    """A report of pot 1's steel, which fails at location 1, within complete walk-outs of 1 m²."""
    tests = stands_at(where) + (f'    coated: "{coated}"\n' if coated else "")
    text = report(number, blasted, tests=tests, **more)
    return text.replace("x1: 2.9}]", f"x1: 4.2}}, {ROWS}], {WALK}")


def part(how="named", *, number=2, size="2 m2", off="B", **changed):
    """A report of the next day of what was blasted again, which is good."""
    apparatus, named = SAYS[how]
    more = f"    blasted_again: [{named}]\n" if named else ""
    more += f"    cleaned: {size}\n" if size else ""
    text = report(number, tests=f'{NEW}    coated: "13:00"\n{more}', reinspects="N1", **(changed or NEXT))
    return by(apparatus, text).replace("location: 1,", "location: 11,").replace("condition: B", f"condition: {off}")


def with_rest(text, rest):
    """A day file with the entry of another before its own."""
    entry = rest.split("surfaces:\n")[1].split("not_inspected")[0]
    return text.replace("surfaces:\n", f"surfaces:\n{entry}")


def again(where, at="2026-05-04T10:40+00:00", **more):
    """The entry of the first day's steel as a later report has it, its tests of some moment."""
    return failing(where, blasted=OLD, **more).replace('"10:40"', f'"{at}"')


@pytest.fixture
def untested(run):
    """Of what a day file says that it has no test: by which kind, with the apparatus and when it blasted."""

    def answer(name):
        found = json.loads(run("check", name, "--json").out)["findings"]
        return [
            (one["facts"]["what"], one["facts"]["apparatus"], one["facts"]["start"])
            for one in found if one["code"] == "part-not-tested"
        ]  # fmt: skip

    return answer


FIRST = raised(HIGH)
GONE = {"both": ["salts", "dust"], "salts": ["salts"], "dust": ["dust"], "none": [], "other": []}


@pytest.mark.parametrize("where", AT)
@pytest.mark.parametrize(("entered", "how"), [*((False, how) for how in SAYS), (True, "named"), (True, "both")])
def test_a_part_takes_the_tests_that_stood_on_it(decided, untested, where, how, entered):
    second = with_rest(part(how), again(where)) if entered else part(how)
    decision = decided(failing(where) + FIRST, second)[0]
    expected = GONE[where]
    assert untested("day2.yaml") == [(kind, "pot 1", "2026-05-04 07:00") for kind in expected]
    assert decision == ("hold" if expected else "release")


@pytest.mark.parametrize("size", ["", "12 m2"])
def test_where_all_of_it_was_there_is_no_rest(decided, untested, size):
    assert decided(failing("both") + FIRST, part(size=size))[0] == "release"
    assert untested("day2.yaml") == []


@pytest.mark.parametrize("entered", [False, True])
def test_of_steel_that_was_primed_by_then_they_spoke_while_it_was_bare(decided, untested, entered):
    """Nobody can test it any more; when it was primed, its test was of all of it, as the contract asks."""
    first, second = failing("both", coated="12:00") + FIRST, part(off="coated")
    if entered:
        second = with_rest(second, again("both", coated="2026-05-04T12:00+00:00"))
    assert decided(first, second)[0] == "release"
    assert untested("day2.yaml") == []


def test_primed_after_a_part_was_blasted_again_it_stood_bare_without(decided, untested):
    rest = again("both", coated="2026-05-05T12:00+00:00")
    assert decided(failing("both") + FIRST, with_rest(part(), rest))[0] == "hold"
    assert [one[0] for one in untested("day2.yaml")] == ["salts", "dust"]


def test_what_was_primed_before_it_was_tested_was_never(decided, untested):
    """The tests were made at 10:40; of steel primed at 10:00 they say nothing, before and after."""
    first = failing("both", coated="10:00") + FIRST
    assert decided(first)[0] == "rework"
    assert decided(first, part(off="coated"))[0] == "hold"
    assert untested("day2.yaml") == []  # it was left open by the first report


def test_it_stays_open_until_the_rest_is_tested(run, decided, untested):
    first, second = failing("both") + FIRST, part("new")
    decided(first, second, elsewhere())
    found = json.loads(run("check", "day3.yaml", "--json").out)["findings"]
    left = [one["facts"] for one in found if one["code"] == "left-open-earlier"]
    assert {(one["code"], one["report"], one["apparatus"], one["start"]) for one in left} == {
        ("part-not-tested", "SL-1-002", "pot 1", "2026-05-04 07:00")
    }
    both = with_rest(
        part("both", number=3, **THIRD).replace('start: "07:00", end: "09:00"',
            'start: "2026-05-05T07:00+00:00", end: "2026-05-05T09:00+00:00"')
        .replace('"10:40"', '"2026-05-05T10:40+00:00"').replace('coated: "13:00"', 'coated: "2026-05-05T13:00+00:00"'),
        again("none", at="2026-05-06T10:00+00:00"),
    )  # fmt: skip
    assert decided(first, second, both)[:2] == ("release", ["closed"])
    # the same with the tests of the first day again, which were of what is gone
    copied = (
        both.replace("S1, chloride", "1, chloride")
        .replace("D1, quant", "1, quant")
        .replace("05-06T10:00", "05-04T10:40")
    )
    assert decided(first, second, copied)[0] == "hold"
    assert [one[0] for one in untested("day3.yaml")] == ["salts", "dust"]


def test_the_tests_of_a_rework_before_stand_not_for_it_either(decided, untested):
    """The part is blasted again, and once more the day after that; its tests were never of the rest."""
    first, second = failing("salts") + FIRST, part("new")
    third = part("new", number=3, **THIRD)
    assert decided(first, second, third)[0] == "hold"


def test_on_the_same_shift(decided, untested):
    """A second report of the shift, with tests after it."""
    later = part("named", **{"SL-1-002": "SL-1-002"}).replace(
        'start: "07:00", end: "09:00"', 'start: "11:00", end: "11:30"'
    )
    assert decided(failing("dust") + FIRST, later.replace('"10:40"', '"11:40"'))[0] == "hold"
    assert [one[0] for one in untested("day2.yaml")] == ["dust"]


def test_tests_of_other_steel_that_stood_bare_with_it_still_speak(decided, untested):
    """Pot 2's steel was tested, and none of that is gone."""
    first = failing("none")
    first = first.replace(f"    {stands_at('none')}", "")
    beside = by("pot 2", report(1, tests=stands_at("none"))).replace("location: 1,", "location: 5,")
    both = with_rest(first, beside) + FIRST
    assert decided(both, part("named"))[0] == "release"
    assert untested("day2.yaml") == []
