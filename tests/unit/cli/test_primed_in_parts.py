"""An area is what is released, and primed, as one: parts of one blasting that are primed apart are areas."""

import json

import pytest

from tests.unit.cli.test_left_open import YESTERDAY, project
from tests.unit.cli.test_reinspection import NEXT, TIMED, contract, report

__all__ = ["contract", "project"]

PARTS = (
    "{id: A-1, name: gate, size: 12 m2}",
    "{id: A-1N, name: gate north, size: 7 m2}, {id: A-1S, name: gate south, size: 5 m2}",
)


def entry(text):
    return text[text.index("  - area: A-1") : text.index("not_inspected")]


def primed(text, coated):
    return text.replace("    profile:", f'    coated: "{coated}"\n    profile:')


@pytest.mark.parametrize("coated", [("11:30", "14:00"), ("11:30", None)])
def test_what_is_entered_as_one_area_twice_says_how_it_is_written(run, contract, project, coated):
    whole = report(1, reading=TIMED)
    first = primed(whole, coated[0])
    second = entry(primed(whole, coated[1]) if coated[1] else whole).replace("location: 1", "location: 2")
    (contract / "day1.yaml").write_text(first.replace("not_inspected", f"{second}not_inspected"), "utf-8")
    said = run("check", "day1.yaml")
    assert (said.code, "JOB206" in said.err) == (1, True)
    assert "primed apart are areas of their own in the project file" in " ".join(said.err.split())
    project(PARTS)
    text = first.replace("- area: A-1\n", "- area: A-1N\n")
    south = (
        second.replace("- area: A-1\n", "- area: A-1S\n")
        .replace("location: S1", "location: S2")
        .replace("10:30", "10:35")
    )
    (contract / "day1.yaml").write_text(text.replace("not_inspected", f"{south}not_inspected"), "utf-8")
    areas = json.loads(run("check", "day1.yaml", "--json").out)["areas"]
    assert {one["id"]: one["decision"] for one in areas if one["id"] != "A-2"} == {"A-1N": "release", "A-1S": "release"}


def test_a_part_primed_the_day_after_is_told_the_same_way(run, contract):
    (contract / "day1.yaml").write_text(primed(report(1, reading=TIMED), "11:30"), "utf-8")
    later = report(2, YESTERDAY, **NEXT).replace("    profile:", '    coated: "08:00"\n    profile:')
    (contract / "day2.yaml").write_text(later, "utf-8")
    found = [one["code"] for one in json.loads(run("check", "day2.yaml", "--json").out)["findings"]]
    assert "times-contradictory" in found
    assert "primed apart are areas of their own" in " ".join(run("explain", "times-contradictory").out.split())
