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
        "if the primer was blasted off, write `initial_condition: coated` there, else correct the times"
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
