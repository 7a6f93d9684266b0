"""Primer that went on before the steel was blasted again: the report says which coat is on, or holds the area."""

import json

import pytest

from tests.unit.cli.conftest import DAY
from tests.unit.cli.test_rework_fails import walked

PRIMED = '    coated: "11:00"\n'
RAISED = """\
nonconformances:
  - {id: N1, area: A-1, findings: [profile-above-maximum], description: too high, disposition: rework,
     decided_by: ines, status: open}
"""


def entry(begin="12:00", end="13:00", more="", *, apparatus="pot 1", condition="B", location=11, value="2.9"):
    return (
        f"  - area: A-1\n    apparatus: {apparatus}\n    initial_condition: {condition}\n"
        f'    blasted: {{start: "{begin}", end: "{end}", abrasive: steel grit}}\n'
        "    cleanliness: {observed: SSPC-SP 10, staining: 2 %}\n"
        f"    profile: {{gauge: g1, readings: [{{location: {location}, spot: a, x1: {value}}}]}}\n{more}"
    )


def first(value="4.2", more=PRIMED, **other):
    return entry("08:00", "10:30", more, location=1, value=value, **other)


AGAIN = "    blasted_again: [pot 1]\n"
HEAD, TAIL = DAY[: DAY.index("  - area: A-1\n")], DAY[DAY.index("not_inspected") :]


def written(contract, *entries, name="day.yaml", tail=""):
    (contract / name).write_text(HEAD + "".join(entries) + TAIL + tail, "utf-8")


def evaluated(run, name="day.yaml"):
    said = run("check", name, "--json")
    assert said.out, said.err
    return json.loads(said.out)


def codes(result):
    return [one["code"] for one in result["findings"] if one["code"] != "blasted-again"]


def decision(result):
    return result["areas"][0]["decision"]


@pytest.mark.parametrize("value", ["4.2", "2.9"])
def test_steel_primed_and_blasted_again_says_that_it_was_coated(run, contract, value):
    written(contract, first(value), entry(more=AGAIN))
    result = evaluated(run)
    assert decision(result) == "hold"
    assert "primed-before-rework" in codes(result)
    said = " ".join(run("check", "day.yaml").out.split())
    assert (
        "A-1: what pot 1 blasted was primed at 11:00, and pot 1 blasted it again from 12:00 with initial condition B; "
        "if the primer was blasted off, write `initial_condition: coated` there; where only a part was primed, state "
        "as `cleaned` in the entry of each part how much that is; else correct the times"
    ) in said
    written(contract, first(value), entry(more=AGAIN, condition="coated"))
    result = evaluated(run)
    assert decision(result) == "release"
    assert codes(result) == (["coated-without-release"] if value == "4.2" else [])
    assert ("A-1: coated 11:00, before it was released" in run("check", "day.yaml").out) is (value == "4.2")


def test_the_second_coat_has_the_time_of_its_own(run, contract):
    written(contract, first(), entry(more=AGAIN + '    coated: "14:30"\n', condition="coated"))
    result = evaluated(run)
    assert decision(result) == "release"
    assert [one["hours"] for one in result["coating_times"]] == [1.5]
    noted = [one["facts"]["coated"] for one in result["findings"] if one["code"] == "coated-without-release"]
    assert noted == ["11:00"]


def test_the_only_coat_stands_in_the_entry_of_the_last_blasting(run, contract):
    written(contract, first(more='    coated: "14:30"\n'), entry(more=AGAIN))
    result = evaluated(run)
    assert decision(result) == "hold"
    assert "times-contradictory" in codes(result)
    assert "was primed at 14:30, and pot 1 blasted it again from 12:00" in " ".join(
        run("check", "day.yaml").out.split()
    )
    written(contract, first(more=""), entry(more=AGAIN + '    coated: "14:30"\n'))
    assert decision(evaluated(run)) == "release"


def test_what_is_primed_after_a_part_of_it_was_blasted_again_is_no_contradiction(run, contract):
    small = AGAIN + "    cleaned: 2 m2\n"
    written(contract, first("2.9", '    coated: "14:30"\n    cleaned: 12 m2\n'), entry(more=small))
    assert "times-contradictory" not in codes(evaluated(run))


def test_primer_beside_a_part_that_failed_was_on_no_released_area(run, contract):
    """Walk-outs bound what failed; the rest was primed at 11:00 and the part was blasted again at 12:00."""
    rows, walk = walked(1)
    mapped = first(more=PRIMED + "    cleaned: 12 m2\n").replace(
        "x1: 4.2}]}", f"x1: 4.2}}, {{location: 2, spot: a, x1: 2.9}}, {rows}], {walk}}}"
    )
    part = entry(more=AGAIN + "    cleaned: 2 m2\n", condition="coated")
    written(contract, mapped, part)
    result = evaluated(run)
    assert decision(result) == "release", result["findings"]
    assert "coated-without-release" in codes(result)


@pytest.mark.parametrize(
    ("again", "apparatus", "asked"),
    [
        ("    reinspects: [N1]\n", "pot 1", True),
        ("    reinspects: [N1]\n    blasted_again: [pot 1]\n", "pot 2", True),
        ("    reinspects: [N1]\n", "pot 2", True),
        ("    cleaned: 2 m2\n", "pot 1", False),  # the next part of the area
    ],
)
def test_primed_on_an_earlier_report(run, contract, again, apparatus, asked):
    written(contract, first(), tail=RAISED)
    head = HEAD.replace("SL-1-001", "SL-1-002").replace("2026-05-04", "2026-05-05")
    (contract / "two.yaml").write_text(head + entry(more=again, apparatus=apparatus) + TAIL, "utf-8")
    result = evaluated(run, "two.yaml")
    assert decision(result) == "hold" or not asked
    assert ("primed-before-rework" in codes(result)) is asked
    if asked:
        said = " ".join(run("check", "two.yaml").out.split())
        assert "what pot 1 blasted was primed at 2026-05-04 11:00 according to SL-1-001" in said
        (contract / "two.yaml").write_text(
            head + entry(more=again, apparatus=apparatus, condition="coated") + TAIL, "utf-8"
        )
        result = evaluated(run, "two.yaml")
        assert (decision(result), codes(result)) == ("release", [])


def test_of_primed_and_bare_steel_a_rework_of_a_part_may_be_of_either(run, contract):
    bare = entry("10:40", "11:30", "    cleaned: 2 m2\n", location=2, value="4.2")
    good = first("2.9", PRIMED + "    cleaned: 10 m2\n")
    written(contract, good, bare, entry(more=AGAIN + "    cleaned: 2 m2\n"))
    assert "primed-before-rework" not in codes(evaluated(run))
    written(contract, good, bare, entry(more=AGAIN))
    assert "primed-before-rework" in codes(evaluated(run))
    # what a blasting between took off is not there for the next
    third = entry("13:10", "13:40", AGAIN, location=12)
    written(contract, first(), entry(more=AGAIN, condition="coated", value="4.2"), third)
    assert "primed-before-rework" not in codes(evaluated(run))


# Rework in parts over several days, the first of them primed between


def on_day(number, *entries, tail=""):
    head = HEAD.replace("SL-1-001", f"SL-1-00{number}").replace("2026-05-04", f"2026-05-0{3 + number}")
    return head + "".join(entries) + TAIL + tail


def rework(size, *, value="2.9", more="", at=("12:00", "13:00"), coated="14:30", **other):
    """A part blasted again, which says so, and was primed."""
    told = f"    reinspects: [N1]\n    blasted_again: [pot 1]\n    cleaned: {size} m2\n"
    return entry(*at, told + more + (f'    coated: "{coated}"\n' if coated else ""), value=value, **other)


@pytest.fixture
def reworked(run, contract):
    """Write the days after one of which 12 m2 failed; answer with the decision of the last, and what holds it."""
    written(contract, first(more="    cleaned: 12 m2\n"), tail=RAISED)

    def told(*days):
        for number, entries in enumerate(days, start=2):
            (contract / f"day{number}.yaml").write_text(on_day(number, *entries), "utf-8")
        result = evaluated(run, f"day{len(days) + 1}.yaml")
        return decision(result), [one for one in codes(result) if one == "primed-before-rework"]

    return told


AMISS = ("hold", ["primed-before-rework"])


@pytest.mark.parametrize("pots", ["pot 1 pot 1", "pot 2 pot 1", "pot 1 pot 2", "pot 2 pot 2", "pot 2 pot 3"])
def test_the_second_part_of_a_rework_is_not_of_the_first_which_was_primed(reworked, pots):
    """4 m2 on one day, primed; the 8 m2 that were left on the next, whichever pot was at hand."""
    one, two = pots.split(" pot ")
    assert reworked([rework(4, apparatus=one)], [rework(8, apparatus=f"pot {two}")]) == ("release", [])


def test_what_is_more_than_was_left_bare_is_of_primed_steel(reworked):
    assert reworked([rework(4)], [rework(9)]) == AMISS
    assert reworked([rework(4)], [rework(9, condition="coated")]) == ("release", [])


def test_two_parts_of_a_day_are_of_what_the_first_left(reworked):
    second = {"at": ("13:10", "13:50"), "location": 12}
    assert reworked([rework(4)], [rework(5), rework(3, **second)]) == ("release", [])
    assert reworked([rework(4)], [rework(5), rework(9, **second)]) == AMISS
    assert reworked([rework(4)], [rework(8), rework(4, condition="coated", **second)]) == ("release", [])


def test_a_part_that_failed_again_and_was_primed_over_is_not_gone_by_the_rest(reworked):
    """What is left bare is 8 m2; the 4 m2 under primer failed, and come off as primed steel or not at all."""
    failed, second = rework(4, value="4.2"), {"at": ("13:10", "13:50"), "location": 12}
    assert reworked([failed], [rework(8)])[0] == "hold"
    assert reworked([failed], [rework(12)]) == AMISS
    assert reworked([failed], [rework(8), rework(4, **second)]) == AMISS
    assert reworked([failed], [rework(8), rework(4, condition="coated", **second)]) == ("release", [])
    assert reworked([failed], [rework(12, condition="coated")]) == ("release", [])


def test_where_no_sizes_are_stated_they_are_asked_for(run, reworked):
    small = rework(4).replace("    cleaned: 4 m2\n", "")
    assert reworked([small], [rework(8)]) == AMISS
    said = " ".join(run("check", "day3.yaml").out.split())
    assert "where only a part was primed, state as `cleaned` in the entry of each part how much that is" in said
