"""Each sentence about the order of the day, once in English and in German."""

from decimal import Decimal

import pytest

from reportgen.results import Amount, Place, Word
from reportgen.results.codes import order as codes
from reportgen.results.codes.order import (
    EarlyTest,
    InspectorSeen,
    InstrumentSeen,
    MeasuredEarly,
    MeasuredLate,
    ReadTooFast,
    SeenAt,
    UntimedLate,
)
from reportgen.words.sentences import sentences
from tests.unit.words.saying import told

READING, SALTS, GRADE = (Word("tests", key) for key in ("reading", "salts", "cleanliness"))
ONE = "one place at a time"
PACE, BOTH = Amount(Decimal(5), "s"), (SeenAt("river", "A"), SeenAt("hall"))


@pytest.mark.parametrize(
    ("code", "facts", "english", "german"),
    [
        (
            codes.MEASURED_BEFORE_BLASTING, MeasuredEarly(READING, 4, "06:30", "06:40", began="07:00"),
            "4 readings at 06:30 to 06:40, blasting began at 07:00",
            "4 Messwerte um 06:30 bis 06:40, Strahlen begann um 07:00",
        ),
        (
            codes.MEASURED_BEFORE_BLASTING, MeasuredEarly(GRADE, 1, "08:20", until="09:00"),
            "1 cleanliness grade at 08:20, blasting went on until 09:00",
            "1 Beurteilung der Reinheit um 08:20, gestrahlt wurde bis 09:00",
        ),
        (
            codes.MEASURED_AFTER_PRIMER, MeasuredLate(SALTS, 2, "13:01", None, "13:00"),
            "2 salt tests at 13:01, primed at 13:00", "2 Salzprüfungen um 13:01, grundiert um 13:00",
        ),
        (
            codes.MEASURED_AFTER_PRIMER, UntimedLate(SALTS, 1, "2026-05-04 12:00", "06:30"),
            "1 salt test without a time, primed at 2026-05-04 12:00, and this shift began at 06:30",
            "1 Salzprüfung ohne Zeit, grundiert um 2026-05-04 12:00, und diese Schicht begann um 06:30",
        ),
        (
            codes.TEST_BEFORE_BLASTING, EarlyTest(SALTS, 1, "07:00"),
            "salt test at 06:50, blasting began at 07:00: it does not count",
            "Salzprüfung um 06:50, Strahlen begann um 07:00: zählt nicht",
        ),
        (
            codes.READINGS_TOO_FAST, ReadTooFast(64, "g1", PACE, first="09:30", last="09:33"),
            "64 readings on g1 from 09:30 to 09:33", "64 Messwerte mit g1 von 09:30 bis 09:33",
        ),
        (
            codes.READINGS_TOO_FAST, ReadTooFast(80, "g1", PACE, at="09:30"), "80 readings on g1 at 09:30",
            "80 Messwerte mit g1 um 09:30",
        ),
        (
            codes.INSTRUMENT_IN_TWO_PLACES, InstrumentSeen("g1", BOTH), "06:50, g1 at river on A and at hall",
            "06:50, g1 am Ort river auf A und am Ort hall",
        ),
        (
            codes.INSPECTOR_IN_TWO_PLACES, InspectorSeen(BOTH), "06:50, the inspector at river on A and at hall",
            "06:50, der Prüfer am Ort river auf A und am Ort hall",
        ),
    ],
)  # fmt: skip
def test_what_was_found(code, facts, english, german):
    found = code.found(facts, Place("A", "1", time="06:50"))
    assert (sentences("en").observed(found), sentences("de").observed(found)) == (english, german)


@pytest.mark.parametrize(
    ("code", "facts", "part", "line"),
    [
        (
            codes.MEASURED_BEFORE_BLASTING, MeasuredEarly(READING, 1, "06:30", began="07:00"), "wrong",
            "A: not of the blasted surface: 1 reading at 06:30, blasting began at 07:00 [measured-before-blasting]",
        ),
        (
            codes.MEASURED_AFTER_PRIMER, MeasuredLate(READING, 2, "13:01", None, "13:00"), "wrong",
            "A: not of bare steel: 2 readings at 13:01, primed at 13:00 [measured-after-primer]",
        ),
        (
            codes.TEST_BEFORE_BLASTING, EarlyTest(SALTS, 1, "07:00"), "noted",
            "A: salt test at 06:50, blasting began at 07:00: it does not count [test-before-blasting]",
        ),
        (
            codes.READINGS_TOO_FAST, ReadTooFast(64, "g1", PACE, at="09:30"), "wrong",
            "A: 64 readings on g1 at 09:30: nobody reads as fast; at least 5 s for a reading [readings-too-fast]",
        ),
        (
            codes.INSTRUMENT_IN_TWO_PLACES, InstrumentSeen("g1", BOTH), "wrong",
            "A, 06:50, g1 at river on A and at hall [instrument-in-two-places]",
        ),
        (
            codes.INSPECTOR_IN_TWO_PLACES, InspectorSeen(BOTH), "noted",
            "A, 06:50, the inspector at river on A and at hall [inspector-in-two-places]",
        ),
    ],
)  # fmt: skip
def test_how_a_check_tells_it(code, facts, part, line):
    """A sentence that begins with the time of its place goes on after a comma."""
    assert code.part == part
    assert told([code.found(facts, Place("A", time="06:50"))]) == [line]


@pytest.mark.parametrize(
    ("code", "facts", "english", "german"),
    [
        (
            codes.MEASURED_BEFORE_BLASTING, MeasuredEarly(READING, 1, "06:30"), "measured after the blasting",
            "nach dem Strahlen gemessen",
        ),
        (
            codes.MEASURED_AFTER_PRIMER, MeasuredLate(READING, 1, "13:10", None, "13:00"),
            "measured before the primer", "vor der Grundierung gemessen",
        ),
        (
            codes.TEST_BEFORE_BLASTING, EarlyTest(SALTS, 1, "07:00"), "measured after the blasting",
            "nach dem Strahlen gemessen",
        ),
        (
            codes.READINGS_TOO_FAST, ReadTooFast(64, "g1", PACE, at="09:30"), "at least 5 s for a reading",
            "mindestens 5 s je Messwert",
        ),
        (codes.INSTRUMENT_IN_TWO_PLACES, InstrumentSeen("g1", BOTH), ONE, "zu einer Zeit an einem Ort"),
        (codes.INSPECTOR_IN_TWO_PLACES, InspectorSeen(BOTH), ONE, "zu einer Zeit an einem Ort"),
    ],
)  # fmt: skip
def test_what_it_is_held_against(code, facts, english, german):
    found = code.found(facts, Place("A"))
    assert (sentences("en").required(found), sentences("de").required(found)) == (english, german)
