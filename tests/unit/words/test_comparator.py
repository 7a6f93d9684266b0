"""Each sentence about a visual comparison, once in English and in German."""

from decimal import Decimal

import pytest

from reportgen.results import Amount, Place, Word
from reportgen.results.codes.comparator import GRADE_NOT_MET, GradeShown
from reportgen.words.sentences import sentences
from tests.unit.words.saying import told

MOST = Amount(Decimal(100), "um")


@pytest.mark.parametrize(
    ("kind", "more", "english", "german"),
    [
        ("half-open", {"grade": "medium G"}, "medium G: 60 to below 100 µm", "medium G: 60 bis unter 100 µm"),
        ("closed", {}, "60 to 100 µm", "60 bis 100 µm"), ("at-least", {}, "at least 100 µm", "mindestens 100 µm"),
        ("at-most", {}, "at most 100 µm", "höchstens 100 µm"), ("below", {}, "below 100 µm", "unter 100 µm"),
    ],
)  # fmt: skip
def test_what_is_required(kind, more, english, german):
    found = GRADE_NOT_MET.found(GradeShown("fine", Word("range", kind), MOST, Decimal(60), **more), Place("A", "1"))
    assert (sentences("en").required(found), sentences("de").required(found)) == (english, german)


def test_what_was_seen_and_how_a_check_tells_it():
    found = GRADE_NOT_MET.found(GradeShown("fine", Word("range", "at-most"), MOST), Place("A", "1"), clause="1.2")
    assert sentences("en").observed(found) == "comparator shows fine"
    assert sentences("de").observed(found) == "Rauheitsvergleichsmuster zeigt fine"
    assert GRADE_NOT_MET.part == "out of limits"
    assert told([found]) == [
        "A location 1: comparator shows fine; at most 100 µm required (clause 1.2) [comparator-grade-not-met]"
    ]
