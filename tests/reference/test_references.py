"""Shipped limits against the rows of their sources."""

from decimal import Decimal

import pytest

from reportgen.references import cleanliness_grade, comparator_grade, profile_grade, table
from tests.reference.published import published

SEGMENTS = {(row["comparator"], row["segment"]): row["nominal"] for row in table("comparator-segments").rows}


@pytest.mark.parametrize("row", published("abrasive-grades").rows, ids=lambda row: row["grade"])
def test_profile_grades_of_abrasives(row):
    grade = profile_grade(f"SSPC-AB 1 grade {row['grade']}")
    assert (grade.minimum, grade.maximum, grade.unit) == (Decimal(row["minimum"]), Decimal(row["maximum"]), "mil")
    assert not grade.excludes_maximum


@pytest.mark.parametrize("row", published("comparator-grades").rows, ids=lambda row: "-".join(list(row.values())[:3]))
def test_comparator_grades_exclude_their_upper_segment(row):
    grade = profile_grade(f"ISO 8503-1 {row['grade']} {row['comparator']}")
    ends = [Decimal(SEGMENTS[row["comparator"], row[end]]) for end in ("from_segment", "to_segment")]
    assert [grade.minimum, grade.maximum] == ends
    assert grade.excludes_maximum
    assert grade.confidence == "M"


@pytest.mark.parametrize("row", published("comparisons").rows, ids=lambda row: "-".join(list(row.values())[:2]))
def test_what_is_seen_beside_a_comparator(row):
    seen = comparator_grade(row["seen"], row["comparator"])
    ends = [row[end] and Decimal(SEGMENTS[row["comparator"], row[end]]) for end in ("from_segment", "to_segment")]
    assert [seen.lower, seen.upper] == [ends[0] or 0, ends[1] or None]
    assert comparator_grade(f"{row['seen']} {row['comparator']}") == seen


@pytest.mark.parametrize("row", published("stain-limits").rows, ids=lambda row: row["grade"])
def test_stain_limits(row):
    expected = Decimal(row["percent"]) if row["percent"] else None
    assert cleanliness_grade(row["grade"]).maximum_stain == expected
