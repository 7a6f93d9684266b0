"""What a revision finds better of an area, from what each of the two found."""

from dataclasses import replace

import pytest

from reportgen.issued import Found, RequirementRecord, found_of, in_favour
from tests.unit.issued.records import area, report


def test_a_smaller_area_is_less_steel_that_an_entry_without_a_size_stands_for():
    """What failed stands for the whole area, whose size the project file of the revision states anew."""

    def found(size):
        return Found("rework", [("pot 1", "")], [("2", "does not conform")], size=size)

    told = in_favour("R-1", "B-1", (0, found("12 m²")), (1, found("1.5 m²")), "corrected")
    assert told is not None
    assert "the area has a size of 1.5 m², not 12 m²" in told
    assert "1.5 m², not an unstated size" in str(
        in_favour("R-1", "B-1", (0, found("")), (1, found("1.5 m²")), "corrected")
    )
    for same in (("12 m²", "12 m²"), ("12 m²", "13 m²"), ("12 m²", "129 ft²"), ("12 m²", "")):
        assert in_favour("R-1", "B-1", (0, found(same[0])), (1, found(same[1])), "corrected") is None


@pytest.mark.parametrize(
    ("told", "size"),
    [
        ("gate, Sluice, 12 m2", "12 m²"),
        ("a, b, 1.5 m2, 3 m", "1.5 m²"),
        ("gate, Sluice, ", ""),
        ("gate, Sluice, 3 m", ""),
    ],
)
def test_the_size_of_an_area_is_known_from_what_its_project_file_tells(told, size):
    one = report()
    own = area("A")
    given = replace(one, requirements=(RequirementRecord("areas", own.id, told),))
    assert found_of(own, given).size == size
