"""Each sentence about a visual comparison, once in English and in German."""

from decimal import Decimal

import pytest

from reportgen.results import Amount, Place
from reportgen.results.codes.comparator import GRADE_NOT_MET, GRADE_NOTED, GradeNoted, GradeShown
from reportgen.results.codes.profile import INCONCLUSIVE
from reportgen.results.codes.ranges import AtLeast, AtMost, Below, Between, BetweenBelow
from reportgen.words.sentences import sentences
from tests.unit.words.saying import told

LOWEST, MOST = Decimal(60), Amount(Decimal(100), "um")


@pytest.mark.parametrize(
    ("asked", "grade", "english", "german"),
    [
        (BetweenBelow(LOWEST, MOST), "medium G", "medium G: 60 to below 100 µm", "mittel G: 60 bis unter 100 µm"),
        (Between(LOWEST, MOST), None, "60 to 100 µm", "60 bis 100 µm"),
        (AtLeast(MOST), None, "at least 100 µm", "mindestens 100 µm"),
        (AtMost(MOST), None, "at most 100 µm", "höchstens 100 µm"), (Below(MOST), None, "below 100 µm", "unter 100 µm"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("code", [GRADE_NOT_MET, INCONCLUSIVE])
def test_what_is_required(code, asked, grade, english, german):
    found = code.found(GradeShown("fine", asked, grade), Place("A", "1"))
    assert (sentences("en").required(found), sentences("de").required(found)) == (english, german)
    assert sentences("en").observed(found) == "comparator shows fine"
    assert sentences("de").observed(found) == "Rauheitsvergleichsmuster zeigt fein"


def test_how_a_check_tells_it():
    shown, place = GradeShown("fine", AtMost(MOST)), Place("A", "1")
    assert (GRADE_NOT_MET.part, INCONCLUSIVE.part) == ("out of limits", "missing")
    assert told([GRADE_NOT_MET.found(shown, place, clause="1.2")]) == [
        "A location 1: comparator shows fine; at most 100 µm required (clause 1.2) [comparator-grade-not-met]"
    ]
    (line,) = told([INCONCLUSIVE.found(shown, place)])
    assert line == (
        "A location 1: no verdict on the profile: comparator shows fine; at most 100 µm [profile-inconclusive]"
    )


def test_a_grade_that_is_merely_noted():
    found = GRADE_NOTED.found(GradeNoted("medium"), Place("A", "1"))
    assert GRADE_NOTED.part == "noted"
    assert told([found]) == [
        "A location 1: comparator shows medium: noted beside the readings, and counts for none [comparator-grade-noted]"
    ]
    assert sentences("en").required(found) == "readings of a gauge; the contract asks for no comparator"
    assert sentences("de").observed(found) == "Rauheitsvergleichsmuster zeigt mittel"
    assert sentences("de").required(found).startswith("Messwerte eines Messgeräts")
