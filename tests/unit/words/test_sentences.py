"""Sentences from facts: the grammar of a catalogue."""

from decimal import Decimal

import pytest

from reportgen.results.facts import Amount, Facts, Place, Word
from reportgen.words.catalogue import catalogue
from reportgen.words.sentences import Sentences, part_name, sentences
from reportgen.words.told import said_as_printed, told


class TapeTaken(Facts):
    grade: Word
    net: Amount


class Seen(Facts):
    count: int
    other: int | None = None
    share: Decimal | None = None
    taken: tuple[TapeTaken, ...] = ()


TEXTS = {
    "observed": {
        "tests": "{count} {count:test|tests}[, {other} of another kind] in {area}[, location {location}]",
        "taken": "[taken: {taken}; ]share {share}",
        "none": "{count:no test|# test|# tests}[, {other:none|#|#} of another kind]",
    },
    "part": {"tape-taken": "{grade} {net}"},
    "grade": {"coarse": "coarse tape"},
    "list": {"separator": " and "},
}
ENGLISH = Sentences("en", TEXTS)


def test_one_of_two_by_number_and_what_is_absent_is_dropped():
    assert ENGLISH.say("observed", "tests", Seen(1), Place("A")) == "1 test in A"
    assert (
        ENGLISH.say("observed", "tests", Seen(2, 3), Place("A", "7")) == "2 tests, 3 of another kind in A, location 7"
    )


def test_where_there_is_none_it_is_said_and_not_counted():
    said = [ENGLISH.say("observed", "none", Seen(count, other)) for count, other in ((0, None), (1, 0), (2, 3))]
    assert said == ["no test", "1 test, none of another kind", "2 tests, 3 of another kind"]
    assert catalogue("en")("result.of", taken=0, required=3) == "no location, 3 required"
    assert catalogue("de")("result.of", taken=0, required=3) == "keine Messstelle, 3 gefordert"
    assert catalogue("en")("result.of", taken=1, required=3) == "1 location, 3 required"


def test_amounts_words_and_facts_within_facts_keep_their_digits():
    taken = (TapeTaken(Word("grade", "coarse"), Amount(Decimal("2.0"), "mil")),) * 2
    said = ENGLISH.say("observed", "taken", Seen(1, share=Decimal("-0.0"), taken=taken))
    assert said == "taken: coarse tape 2.0 mil and coarse tape 2.0 mil; share 0.0"
    assert ENGLISH.say("observed", "taken", Seen(1, share=Decimal("1.50"))) == "share 1.50"


def test_a_unit_is_printed_as_a_reader_knows_it():
    assert ENGLISH.shown(Amount(Decimal("3.0"), "delta_degC")) == "3.0 °C"
    assert ENGLISH.shown(Amount(Decimal(50), "um")) == "50 µm"


def test_facts_within_facts_are_named_after_their_kind():
    assert part_name(TapeTaken) == "tape-taken"


@pytest.mark.parametrize("code", ["absent", "nowhere"])
def test_a_sentence_that_is_not_there_is_a_bug_of_ours(code):
    with pytest.raises(KeyError):
        ENGLISH.say("observed", code)


def test_what_a_language_lacks_is_english():
    assert sentences("en").say("measurement", "dust") == "Dust"
    assert sentences("nowhere").say("measurement", "dust") == "Dust"


def test_what_is_told_a_person_has_the_decimal_mark_of_its_language():
    one = told("unseen-surface", least=Decimal("0.20"))
    assert "0.20" in said_as_printed(one, "en")
    assert "0,20" in said_as_printed(one, "de")
    assert "0.20" in str(one), "for a program"
