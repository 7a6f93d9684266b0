"""Each sentence about the time to coat, once in English and in German."""

from decimal import Decimal

import pytest

from reportgen.results import Amount, Place
from reportgen.results.codes import coating as codes
from reportgen.results.codes.coating import (
    Coated,
    NotPrimed,
    PartBlasted,
    PrimedLate,
    PrimedOtherwise,
    TimeAllowed,
    TimesStated,
    TimeTaken,
    ToCoat,
)
from reportgen.results.facts import NOTHING
from reportgen.words.sentences import sentences
from tests.unit.words.saying import told

ENGLISH, GERMAN = sentences("en"), sentences("de")
SIX = Amount(Decimal(6), "h")
LATE = PrimedLate(Amount(Decimal("6.02"), "h"), "15:01", SIX)
OF_PART = NotPrimed("15:00", SIX, PartBlasted("pot 1"))
OF_LATER_PART = NotPrimed("15:00", SIX, PartBlasted("pot 1", "09:00"))


@pytest.mark.parametrize(
    ("code", "facts", "english", "german"),
    [
        (codes.TIME_EXCEEDED, LATE, "6.02 h, coated 15:01", "6.02 h, grundiert 15:01"),
        (codes.OVERDUE, NotPrimed("15:00", SIX), "not primed by 15:00", "bis 15:00 nicht grundiert"),
        (
            codes.OVERDUE, OF_PART, "what pot 1 blasted not primed by 15:00",
            "was pot 1 gestrahlt hat: bis 15:00 nicht grundiert",
        ),
        (
            codes.OVERDUE, OF_LATER_PART, "what pot 1 blasted until 09:00 not primed by 15:00",
            "was pot 1 gestrahlt hat, bis 09:00: bis 15:00 nicht grundiert",
        ),
        (codes.WITHOUT_RELEASE, Coated("12:00"), "coated 12:00", "grundiert 12:00"),
        (
            codes.TIMES_CONTRADICTORY, TimesStated("07:00", "06:30"), "blasted 07:00 to 06:30",
            "gestrahlt 07:00 bis 06:30",
        ),
        (
            codes.TIMES_CONTRADICTORY, TimesStated("07:00", "09:00", "08:00"),
            "blasted 07:00 to 09:00, coated 08:00", "gestrahlt 07:00 bis 09:00, grundiert 08:00",
        ),
        (
            codes.TIMES_CONTRADICTORY, PrimedOtherwise("H-1", "2026-05-04", "p", "12:00"),
            "what p blasted was primed at 12:00 according to H-1 of 2026-05-04, and this report says otherwise",
            "was p gestrahlt hat, wurde nach H-1 vom 2026-05-04 um 12:00 grundiert, und dieser Bericht sagt es anders",
        ),
    ],
)  # fmt: skip
def test_what_was_found(code, facts, english, german):
    found = code.found(facts, Place("A"))
    assert (ENGLISH.observed(found), GERMAN.observed(found)) == (english, german)


@pytest.mark.parametrize(
    ("code", "facts", "part", "line", "german"),
    [
        (
            codes.TIME_EXCEEDED, LATE, "out of limits",
            "primer too late, after 6.02 h, coated 15:01; at most 6 h allowed", "höchstens 6 h",
        ),
        (
            codes.OVERDUE, NotPrimed("15:00", SIX), "missing",
            "not primed by 15:00, at most 6 h from the end of blasting: prepare the surface again and inspect it",
            "höchstens 6 h ab Ende des Strahlens",
        ),
        (
            codes.WITHOUT_RELEASE, Coated("12:00"), "noted", "coated 12:00, before it was released",
            "Freigabe vor der Grundierung",
        ),
        (
            codes.TIMES_CONTRADICTORY, TimesStated("07:00", "06:30"), "wrong",
            "the times contradict each other: blasted 07:00 to 06:30",
            "Strahlen beginnt, endet, dann folgt die Grundierung",
        ),
    ],
)  # fmt: skip
def test_how_a_check_tells_it_and_what_it_is_held_against(code, facts, part, line, german):
    found = code.found(facts, Place("A"))
    assert code.part == part
    assert told([found]) == [f"A: {line} [{code.name}]"]
    assert GERMAN.required(found) == german


def test_what_is_required_of_the_times():
    contradicting = codes.TIMES_CONTRADICTORY.found(TimesStated("07:00", "06:30"), Place("A"))
    assert ENGLISH.required(contradicting) == "blasting begins, ends, then comes the primer"
    assert ENGLISH.required(codes.WITHOUT_RELEASE.found(Coated("12:00"), Place("A"))) == "release before the primer"


AFTER = "at most 6 h from the end of blasting; after that prepare the surface again"
AFTER_GERMAN = "höchstens 6 h ab Ende des Strahlens; danach die Oberfläche noch einmal vorbereiten"


@pytest.mark.parametrize(
    ("facts", "english", "german"),
    [
        (ToCoat("15:00", SIX), ("coat by 15:00", AFTER), ("bis 15:00 grundieren", AFTER_GERMAN)),
        (
            ToCoat("15:00", SIX, (PartBlasted("pot 1"), PartBlasted("pot 2"))),
            (
                "what pot 1 blasted and what pot 2 blasted: coat by 15:00",
                f"what pot 1 blasted and what pot 2 blasted is bare; {AFTER}",
            ),
            (
                "was pot 1 gestrahlt hat und was pot 2 gestrahlt hat: bis 15:00 grundieren",
                f"noch blank: was pot 1 gestrahlt hat und was pot 2 gestrahlt hat; {AFTER_GERMAN}",
            ),
        ),
        (
            ToCoat("15:00", SIX, date="2026-05-14"),
            ("coat by 15:00 on 2026-05-14, or prepare the surface again", AFTER),
            ("bis 15:00 grundieren, am 2026-05-14, oder die Oberfläche noch einmal vorbereiten", AFTER_GERMAN),
        ),
    ],
)
def test_until_when_to_coat(facts, english, german):
    step = codes.COAT_BY.due(facts, Place("A"))
    assert (ENGLISH.task(step), ENGLISH.because(step)) == english
    assert (GERMAN.task(step), GERMAN.because(step)) == german


def test_what_to_do_when_the_time_has_passed():
    step = codes.PREPARE_AGAIN.due(OF_PART, Place("A"))
    assert ENGLISH.task(step) == "what pot 1 blasted: prepare the surface again and inspect it"
    assert ENGLISH.because(step) == "not primed by 15:00"
    assert GERMAN.task(step) == "was pot 1 gestrahlt hat: die Oberfläche noch einmal vorbereiten und prüfen"
    assert GERMAN.because(step) == "bis 15:00 nicht grundiert"
    alone = codes.PREPARE_AGAIN.due(NotPrimed("15:00", SIX), Place("A"))
    assert ENGLISH.task(alone) == "prepare the surface again and inspect it"


def test_limit_derivation_and_what_is_left_out():
    gap, limit, taken = codes.WITHOUT_LIMIT.at(NOTHING), TimeAllowed(SIX), TimeTaken(SIX)
    assert ENGLISH.left_out(gap) == "time to coat: the contract states no limit"
    assert GERMAN.left_out(gap) == "Zeit bis zur Grundierung: Der Vertrag nennt keinen Grenzwert"
    for said, most, ended, what, unknown in (
        (ENGLISH, "at most 6 h", " from the end of blasting", "time to coat", "not stated"),
        (GERMAN, "höchstens 6 h", " ab Ende des Strahlens", "Zeit bis zur Grundierung", "nicht eingetragen"),
    ):
        assert said.say("limit", "time-to-coat", limit) == most
        assert said.say("limit", "time-to-coat-derived", limit) == most + ended
        assert said.say("measured", "time-to-coat") == what
        assert said.say("result", "time-to-coat", taken) == "6 h"
        assert said.say("result", "not-coated") == unknown
