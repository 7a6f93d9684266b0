"""Which project files of one contract differ, in what, and who is named for it."""

import pytest

from reportgen.issued import Judged, RequirementRecord, changes
from reportgen.issued.requirements import requirements_of
from reportgen.loader import load_job
from tests.footbridge import PROJECT, day, folder

PEOPLE = RequirementRecord("people", "A. Vintry", "inspector, ")


def minimum(value):
    return RequirementRecord("requirements", "profile minimum", value)


STRICT, LAX = (minimum("50 um"), PEOPLE), (minimum("40 um"), PEOPLE)


def said(*reports):
    """What is said of reports by day, proven or not, and requirements."""
    judged = [Judged(f"R-{day}", f"2026-05-0{day}", not proven, told, f"{day}.pdf") for day, proven, told in reports]
    return [one.sentence for one in changes(judged, lambda told: told)]


def test_limits_are_told_with_both_values():
    assert said((1, True, STRICT), (2, True, LAX)) == [
        "requirements differ between R-1 and R-2, from 2026-05-02 on: profile minimum 50 um / 40 um"
    ]


def test_two_versions_that_take_turns_are_told_once_each_way():
    """Inspectors with project files of their own, or a change that was taken back."""
    one, back = said(*((day, True, LAX if day % 2 == 0 else STRICT) for day in range(1, 10)))
    assert one.startswith("requirements differ between R-1 and R-2, ")
    assert one.endswith("; those of R-2 have R-4, R-6, R-8 too")
    assert back.startswith("requirements differ between R-2 and R-3, ")
    assert back.endswith(": profile minimum 40 um / 50 um; those of R-3 have R-1, R-5, R-7, R-9 too")


def test_many_are_counted():
    (one,) = said((1, True, STRICT), *((day, True, LAX) for day in range(2, 10)))
    assert one.endswith("; those of R-2 have R-3, R-4, R-5, R-6, R-7 and 2 more too")


@pytest.mark.parametrize("day", [1, 3])
def test_what_is_not_proven_is_held_against_what_is(day):
    """Whatever its date, it is the one that differs: none of those that are proven differs from it."""
    reports = sorted([(2, True, STRICT), (4, True, STRICT), (day, False, LAX)])
    (one,) = said(*reports)
    assert one.startswith(f"requirements differ between R-2 and R-{day}, ")


def test_a_proven_version_is_told_although_an_unproven_file_had_it_first():
    assert len(said((1, True, STRICT), (2, False, LAX), (3, True, LAX))) == 1
    (one,) = said((1, True, STRICT), (2, False, LAX), (3, True, LAX))
    assert one.startswith("requirements differ between R-1 and R-3, ")


OTHERS = [
    RequirementRecord("people", "N. Ostrey", "inspector, "),
    RequirementRecord("areas", "B-3", "deck, Footbridge, 12 m2"),
    RequirementRecord("countersigners", "E. Torrance", "project engineer"),
]


def test_of_what_a_contract_adds_as_it_goes_on_areas_alone_are_told():
    """By themselves and beside a limit that is another; people are none."""
    assert said((1, True, STRICT), (2, True, (*STRICT, *(one for one in OTHERS if one.part != "areas")))) == []
    (one,) = said((1, True, STRICT), (2, True, (*STRICT, *OTHERS)))
    assert one.endswith(": areas (B-3 added)")
    (one,) = said((1, True, STRICT), (2, True, (*LAX, *OTHERS)))
    assert one.endswith(": profile minimum 50 um / 40 um; areas (B-3 added)")


@pytest.mark.parametrize(
    ("after", "says"),
    [
        ("deck, Footbridge, 10.5 m2", "B-3: 12 m², now 10.5 m²"),
        ("deck, Footbridge, 12 m2, 4 m", "B-3: not stated, now 4 m"),
        ("lower deck, Footbridge, 12 m2", "B-3: deck, now lower deck"),
    ],
)
def test_of_an_area_that_is_listed_otherwise_both_are_told(after, says):
    areas = tuple(one for one in OTHERS if one.part == "areas")
    (one,) = said((1, True, areas), (2, True, (RequirementRecord("areas", "B-3", after),)))
    assert one.endswith(f": areas ({says})")


def test_a_name_with_a_comma_is_told_whole(tmp_path):
    """As a project file has it; a name that ends like a size is none."""
    named = '"deck, north, row m2"'
    files = (PROJECT.replace("north half", name) for name in (named, named.replace("north", "south")))
    jobs = [
        load_job(folder(tmp_path / f"{place}", project=text, day=day(1)) / "day.yaml")
        for place, text in enumerate(files)
    ]
    (one,) = said(*((number, True, requirements_of(job)) for number, job in enumerate(jobs, start=1)))
    assert one.endswith(": areas (B-1: deck, north, row m2, now deck, south, row m2)")


def test_what_is_gone_is_told_by_its_part():
    (one,) = said((1, True, (*STRICT, *OTHERS)), (2, True, STRICT))
    assert one.endswith(": areas (B-3 removed); countersigners (E. Torrance removed); people (N. Ostrey removed)")


@pytest.mark.parametrize("which", range(len(OTHERS)))
def test_what_is_told_otherwise_is_told_by_its_part(which):
    one = OTHERS[which]
    other = RequirementRecord(one.part, one.member, "another")
    (told,) = said((1, True, (*STRICT, one)), (2, True, (*STRICT, other)))
    both = ": deck, Footbridge, 12 m², now another" if one.part == "areas" else ""
    assert told.endswith(f": {one.part} ({one.member}{both})")


@pytest.mark.parametrize("part", ["requirements", "contract", "inspection body"])
def test_what_is_stated_for_the_first_time_of_anything_else_is_told(part):
    assert len(said((1, True, STRICT), (2, True, (*STRICT, RequirementRecord(part, "site", "Harrowdell"))))) == 1


def test_names_are_compared_as_names_are():
    other = (minimum("50 um"), RequirementRecord("people", "A. Vintry", "Inspector, "))
    assert said((1, True, STRICT), (2, True, other)) == []


def test_a_limit_that_is_gone_is_told():
    assert said((1, True, STRICT), (2, True, (PEOPLE,)))[0].endswith(": profile minimum 50 um / not stated")
