"""A salt or dust test speaks of the steel of its area that was blasted by then, and not primed yet."""

import json

import pytest

from tests.unit.cli.test_reinspection import CLEAN, NEXT, contract, decided, report
from tests.unit.cli.test_reinspection_apart import beside

__all__ = ["contract", "decided"]

SALTS_AT = CLEAN.replace("size: 1}", 'size: 1, time: "10:45"}')
UNTIMED = CLEAN.replace(', time: "10:40"', "")
LATER = ("10:50", "12:00")


def primed(text, at):
    """A day whose first entry was primed."""
    return text.replace("    salts:", f'    coated: "{at}"\n    salts:', 1)


def untested(run, name="day1.yaml"):
    found = json.loads(run("check", name, "--json").out)["findings"]
    return [
        (one["facts"]["what"], one["facts"]["start"]) for one in found if one["code"] == "part-not-tested"
    ]  # fmt: skip


BOTH = [("salts", "10:50"), ("dust", "10:50")]


@pytest.mark.parametrize(
    ("apparatus", "blasted", "tests", "missing"),
    [
        ("pot 2", ("07:00", "09:30"), SALTS_AT, []),
        ("pot 2", ("07:00", "09:30"), UNTIMED, []),  # blasted side by side, and tested some time
        ("pot 1", ("09:10", "09:30"), SALTS_AT, []),
        *((pot, LATER, tests, BOTH) for pot in ("pot 1", "pot 2") for tests in (SALTS_AT, UNTIMED)),
        ("pot 2", LATER, SALTS_AT.replace("10:40", "12:10").replace("10:45", "12:10"), []),
    ],
)
def test_what_was_blasted_after_the_tests_of_its_area_is_not_tested(run, decided, apparatus, blasted, tests, missing):
    day = beside(report(1, tests=tests), blasted, apparatus=apparatus)
    assert decided(day)[0] == ("hold" if missing else "release")
    assert untested(run) == missing
    own = beside(report(1, tests=tests), blasted, apparatus=apparatus, tests=CLEAN.replace("10:40", "12:30"))
    assert decided(own)[0] == "release"


def test_what_was_primed_before_the_tests_of_its_area_is_not_tested(run, decided):
    tests = SALTS_AT.replace("10:40", "12:30").replace("10:45", "12:31")
    bare = report(1, tests="photos: []\n")
    assert decided(beside(bare, LATER, tests=tests))[0] == "release"
    early = bare.replace("    photos:", '    coated: "10:40"\n    photos:')
    assert decided(beside(early, LATER, tests=tests))[0] == "hold"
    assert untested(run) == [("salts", "07:00"), ("dust", "07:00")]
    untimed = CLEAN.replace(', time: "10:40"', "")
    assert decided(beside(early, LATER, tests=untimed))[0] == "hold"


def test_it_is_told_what_to_do(run, decided):
    decided(beside(report(1, tests=UNTIMED), LATER))
    said = " ".join(run("check", "day1.yaml").out.split())
    assert "A-1: pot 2, blasted 10:50 to 12:00: no salt test of it; 1 without a time" in said
    decided(beside(primed(report(1, tests=SALTS_AT), "10:55"), LATER, more='coated: "13:00"'))
    said = " ".join(run("check", "day1.yaml").out.split())
    assert "pot 2, blasted 10:50 to 12:00, primed at 13:00: no dust test of it; one made after it was blasted" in said


def test_a_test_of_the_day_before_speaks_of_all_that_stood_bare_then(run, decided):
    """What was tested beside it before counts, also where that is not entered again; what is blasted since is not."""
    first = beside(report(1, tests=SALTS_AT), ("07:00", "09:30"))
    yesterday = ("2026-05-04T07:00+00:00", "2026-05-04T09:30+00:00")
    assert decided(first, beside(report(2, LATER, tests=CLEAN.replace("10:40", "12:30"), **NEXT), yesterday))[0] == (
        "release"
    )
    today = beside(report(2, tests=SALTS_AT, **NEXT), LATER)
    assert decided(first, today)[0] == "hold"
    assert untested(run, "day2.yaml") == BOTH


def test_a_test_of_something_else_than_the_limit_is_of_speaks_of_nothing(run, decided):
    """Of the second entry a rise of conductivity is on record, and the limit is one of chloride."""
    other = "salts: [{location: S2, area: 12.5 cm2, volume: 3 ml, blank: 1.5 uS/cm, sample: 3 uS/cm}]"
    day = beside(
        report(1, tests=SALTS_AT), LATER, tests=f"{other}\n    dust: [{{location: D2, quantity: 1, size: 1}}]\n"
    )
    assert decided(day)[0] == "hold"
    assert untested(run) == [("salts", "10:50")]


EACH = "soluble_salts: {maximum: 30 mg/m2, expressed_as: chloride, tests: 1, first_area: 2 m2}"
"""One test for each 2 m²: six on the 12 m² of the area."""
SIX = CLEAN.replace(
    "}]", "}, " + ", ".join(f'{{location: T{n}, chloride: 9 mg/m2, time: "10:42"}}' for n in range(5)) + "]", 1
)


def short(run):
    found = json.loads(run("check", "day1.yaml", "--json").out)["findings"]
    facts = [one["facts"] for one in found if one["code"] == "part-not-tested"]
    return [(one["start"], one.get("made"), one.get("required")) for one in facts]


@pytest.mark.parametrize(
    ("blasted", "cleaned", "tests", "missing"),
    [
        (LATER, ("1 m2", "11 m2"), 0, [("10:50", None, None)] * 2),
        (LATER, ("1 m2", "11 m2"), 1, [("10:50", 1, 5)]),  # seven on the area, six of them where 1 m² was
        (LATER, ("1 m2", "11 m2"), 4, [("10:50", 4, 5)]),
        (LATER, ("1 m2", "11 m2"), 5, []),
        (LATER, ("8 m2", "4 m2"), 2, []),
        (LATER, ("8 m2", "4 m2"), 1, [("10:50", 1, 2)]),
        (LATER, ("11 m2", "1 m2"), 1, []),
        (("07:00", "09:30"), ("1 m2", "11 m2"), 1, []),  # all stood bare when six were made
    ],
)
def test_each_steel_has_its_share_of_the_tests_that_the_contract_counts_by_size(
    run, decided, contract, blasted, cleaned, tests, missing
):
    path = contract / "project.yaml"
    text = path.read_text("utf-8")
    old = "soluble_salts: {maximum: 30 mg/m2, expressed_as: chloride}"
    assert old in text
    path.write_text(text.replace(old, EACH), "utf-8")
    own = ", ".join(f'{{location: U{n}, chloride: 9 mg/m2, time: "12:20"}}' for n in range(tests))
    dust = 'dust: [{location: D2, quantity: 1, size: 1, time: "12:21"}]\n'
    later = f"salts: [{own}]\n    {dust}" if own else ""
    first = report(1, tests=f"cleaned: {cleaned[0]}\n    " + SIX.replace("size: 1}", 'size: 1, time: "10:45"}'))
    day = beside(first, blasted, tests=later, more=f"cleaned: {cleaned[1]}")
    assert decided(day)[0] == ("hold" if missing else "release")
    assert short(run) == missing
    if missing and tests:
        said = " ".join(run("check", "day1.yaml").out.split())
        start, made, needed = missing[0]
        size, few = cleaned[1].replace("2", "²"), needed - made
        noun = "salt test" if few == 1 else "salt tests"
        assert f"pot 2, blasted {start} to 12:00, {size}: {few} {noun} short of {needed}: its share" in said
