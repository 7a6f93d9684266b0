"""Each sentence about a doubtful entry, once in English and in German."""

from decimal import Decimal

import pytest

from reportgen.results import Amount, Place, Word
from reportgen.results.codes.doubts import (
    APPARATUS_CONFIRMED,
    APPARATUS_DOUBTFUL,
    ENTRY_CONFIRMED,
    ENTRY_DOUBTFUL,
    ENTRY_NOT_TAKEN,
    ENTRY_UNLIKELY,
    Asked,
    DoubtedApparatus,
    DoubtedEntry,
    EntryNotTaken,
)
from reportgen.words.sentences import sentences
from tests.unit.words.saying import told

AIR, STEEL = Amount(Decimal("13.5"), "degC"), Amount(Decimal(85), "degC")
PRESSURE, DEPTH = Amount(Decimal(7), "kPa"), Amount(Decimal("0.3"), "mil")
PATCH = {"least": Amount(Decimal(1), "cm2"), "bound": Amount(Decimal(100), "cm2")}


def _doubted(what, value, usual, bound, *, code=ENTRY_DOUBTFUL, beside=None, **more):
    compared = None if beside is None else Word("beside", beside)
    facts = DoubtedEntry(Word("entered", what), value, Word("usual", usual), bound, beside=compared, **more)
    return code.found(facts, Place("A", "2", "a", "06:45"))


@pytest.mark.parametrize(
    ("what", "more", "english", "german"),
    [
        ("air", {}, "06:45: air 85 °C", "06:45: Luft 85 °C"),
        ("air", {"where": "weir (A, B)"}, "06:45, weir (A, B): air 85 °C", "06:45, weir (A, B): Luft 85 °C"),
        ("steel", {}, "06:45: steel 85 °C", "06:45: Stahl 85 °C"),
        ("steel-warmest", {}, "06:45: warmest steel 85 °C", "06:45: wärmster Stahl 85 °C"),
        ("humidity", {}, "06:45: humidity 85 °C", "06:45: Feuchte 85 °C"),
        ("air-pressure", {"apparatus": "pot 1"}, "06:45, pot 1: air pressure 85 °C", "06:45, pot 1: Druckluft 85 °C"),
        ("blasting-pressure", {"apparatus": "pot 1"}, "pot 1: blasted at 85 °C", "pot 1: gestrahlt mit 85 °C"),
        ("preset", {"gauge": "g1"}, "06:45: pre-set 85 °C on g1", "06:45: Voreinstellung 85 °C an g1"),
        (
            "shim-reading", {"gauge": "g1"}, "06:45: shim read as 85 °C on g1",
            "06:45: Prüffolie abgelesen als 85 °C an g1",
        ),
        (
            "thickness", {"gauge": "g1", "roll": "x1"}, "06:45: unused tape of x1 85 °C on g1",
            "06:45: unbenutztes Band von x1 85 °C an g1",
        ),
        ("area", {}, "patch of 85 °C", "Prüffläche 85 °C"),
        ("volume", {}, "volume 85 °C", "Volumen 85 °C"),
        ("blank", {}, "blank 85 °C", "Blindwert 85 °C"),
        ("sample", {}, "sample 85 °C", "Probe 85 °C"),
        ("chloride", {}, "chloride 85 °C", "Chlorid 85 °C"),
        ("reading", {}, "spot a: 85 °C", "Messpunkt a: 85 °C"),
        ("reading", {"roll": "x1"}, "spot a on x1: 85 °C", "Messpunkt a mit x1: 85 °C"),
        ("readings", {"gauge": "g1"}, "85 °C on g1", "85 °C an g1"),
        (
            "readings", {"gauge": "g1", "more": 1}, "85 °C and 1 more reading with as many digits on g1",
            "85 °C und 1 weiterer Messwert mit ebenso vielen Stellen an g1",
        ),
        (
            "readings", {"gauge": "g1", "more": 2}, "85 °C and 2 more readings with as many digits on g1",
            "85 °C und 2 weitere Messwerte mit ebenso vielen Stellen an g1",
        ),
    ],
)  # fmt: skip
def test_which_entry(what, more, english, german):
    found = _doubted(what, STEEL, "air-hot", AIR, **more)
    assert (sentences("en").observed(found), sentences("de").observed(found)) == (english, german)


@pytest.mark.parametrize(
    ("beside", "english", "german"),
    [
        ("values", "beside others of about 13.5 °C", "neben anderen von etwa 13.5 °C"),
        ("air", "air 13.5 °C", "Luft 13.5 °C"), ("steel", "steel 13.5 °C", "Stahl 13.5 °C"),
        ("from-air", "71.5 °C from the air", "71.5 °C Abstand zur Luft"),
    ],
)  # fmt: skip
def test_what_it_was_compared_with(beside, english, german):
    apart = Amount(Decimal("71.5"), "delta_degC")
    found = _doubted("volume", PRESSURE, "point-moved", AIR, beside=beside, apart=apart)
    assert sentences("en").observed(found) == f"volume 7 kPa, {english}"
    assert sentences("de").observed(found) == f"Volumen 7 kPa, {german}"


@pytest.mark.parametrize(
    ("usual", "english", "german"),
    [
        ("steel-far-from-air", "steel within 0.3 mil of the air", "Stahl höchstens 0.3 mil von der Luft entfernt"),
        ("air-hot", "air at most 0.3 mil", "Luft höchstens 0.3 mil"),
        (
            "warmest-colder", "the warmest steel is no colder than the coldest",
            "der wärmste Stahl ist nicht kälter als der kälteste",
        ),
        ("point-moved", "like the values beside it", "wie die Werte daneben"),
        ("unlike-neighbours", "like the values beside it", "wie die Werte daneben"),
        ("patch-area", "1 cm² to 0.3 mil", "1 cm² bis 0.3 mil"),
        ("test-volume", "1 cm² to 0.3 mil", "1 cm² bis 0.3 mil"),
        ("blast-pressure-low", "at least 0.3 mil", "mindestens 0.3 mil"),
        ("finer-than-gauge", "in steps of 0.3 mil", "in Schritten von 0.3 mil"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("code", [ENTRY_DOUBTFUL, ENTRY_CONFIRMED, ENTRY_UNLIKELY], ids=lambda one: one.name)
def test_what_is_usual(code, usual, english, german):
    found = _doubted("volume", PRESSURE, usual, DEPTH, code=code, least=PATCH["least"])
    assert (sentences("en").required(found), sentences("de").required(found)) == (
        f"usually {english}", f"üblich: {german}",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("code", "part", "line"),
    [
        (ENTRY_DOUBTFUL, "wrong", "7 kPa; usually at least 7 kPa: correct it, or write `confirmed: yes` beside it"),
        (
            ENTRY_UNLIKELY, "noted",
            "7 kPa; usually at least 7 kPa: correct it or write `confirmed: yes`; nothing depends on it",
        ),
        (ENTRY_CONFIRMED, "noted", "7 kPa, confirmed; usually at least 7 kPa"),
    ],
)  # fmt: skip
def test_how_a_check_tells_it(code, part, line):
    found = _doubted("volume", PRESSURE, "blast-pressure-low", PRESSURE, code=code)
    assert code.part == part
    assert told([found]) == [f"A location 2: volume {line} [{code.name}]"]


@pytest.mark.parametrize(
    ("code", "part", "english", "german"),
    [
        (
            APPARATUS_DOUBTFUL, "wrong",
            (
                "A: apparatus `pot 1, pot 2`; one apparatus to an entry: make an entry for each, or write "
                "`confirmed: yes` in `blasted` where it is one [apparatus-doubtful]"
            ),
            "Strahlgerät `pot 1, pot 2`",
        ),
        (
            APPARATUS_CONFIRMED, "noted",
            "A: apparatus `pot 1, pot 2`, confirmed; one apparatus to an entry [apparatus-confirmed]",
            "Strahlgerät `pot 1, pot 2`, bestätigt",
        ),
    ],
)  # fmt: skip
def test_a_name_that_joins_several_apparatus(code, part, english, german):
    found = code.found(DoubtedApparatus("pot 1, pot 2"), Place("A"))
    assert (code.part, told([found])) == (part, [english])
    assert sentences("de").observed(found) == german


@pytest.mark.parametrize(
    ("facts", "english", "german"),
    [
        (EntryNotTaken("page 2, row 3"), "page 2, row 3", "page 2, row 3"),
        (
            EntryNotTaken("page 2, row 3", "sample", "30?", "`30?` is not a number"),
            "page 2, row 3, sample `30?`: `30?` is not a number", "page 2, row 3, sample `30?`: `30?` is not a number",
        ),
    ],
)  # fmt: skip
def test_an_entry_that_was_not_taken(facts, english, german):
    found = ENTRY_NOT_TAKEN.found(facts, Place("A"))
    assert (sentences("en").observed(found), sentences("de").observed(found)) == (english, german)
    remedy = "enter what was meant, then delete it under `not_taken`"
    assert told([found]) == [f"A: not taken in: {english}; {remedy} [entry-not-taken]"]


@pytest.mark.parametrize(
    ("kind", "facts", "english", "german"),
    [
        (
            "steel-far-from-air", Asked(AIR, above=STEEL), "85 °C above the air, where up to 13.5 °C is usual",
            "85 °C über der Luft; bis 13.5 °C ist üblich",
        ),
        (
            "steel-far-from-air", Asked(AIR, below=STEEL), "85 °C below the air, where up to 13.5 °C is usual",
            "85 °C unter der Luft; bis 13.5 °C ist üblich",
        ),
        (
            "air-hot", Asked(AIR), "air is seldom above 13.5 °C; is it in another unit?",
            "Luft ist selten über 13.5 °C; gilt der Wert in einer anderen Einheit?",
        ),
        (
            "point-moved", Asked(AIR), "beside it stands 13.5 °C; is the point in its place?",
            "daneben steht 13.5 °C; sitzt das Komma richtig?",
        ),
        (
            "patch-area", Asked(**PATCH),
            "the area under a patch is usually from 1 cm² to 100 cm²; is the unit right?",
            "die Prüffläche misst üblicherweise 1 cm² bis 100 cm²; stimmt die Einheit?",
        ),
        (
            "test-volume", Asked(**PATCH),
            "the water of a test is usually from 1 cm² to 100 cm²; is the point in its place?",
            "das Wasser eines Tests misst üblicherweise 1 cm² bis 100 cm²; sitzt das Komma richtig?",
        ),
        (
            "blast-pressure-low", Asked(PRESSURE), "air below 7 kPa does not blast; is the unit right?",
            "mit Luft unter 7 kPa strahlt man nicht; stimmt die Einheit?",
        ),
        (
            "unlike-neighbours", Asked(DEPTH), "the values beside it are about 0.3 mil; is the point in its place?",
            "die Werte daneben liegen bei etwa 0.3 mil; sitzt das Komma richtig?",
        ),
        (
            "finer-than-gauge", Asked(DEPTH), "more digits than the gauge shows, which reads in steps of 0.3 mil",
            "mehr Stellen, als das Gerät zeigt; es zeigt in Schritten von 0.3 mil",
        ),
    ],
)  # fmt: skip
def test_what_is_asked_as_it_comes_in(kind, facts, english, german):
    assert (sentences("en").say("asked", kind, facts), sentences("de").say("asked", kind, facts)) == (english, german)
