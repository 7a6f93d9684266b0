"""What is said of nonconformances, re-inspections and steel blasted again: each sentence once, in both languages."""

from decimal import Decimal

import pytest

from reportgen.measurements.dust.codes import ABOVE_MAXIMUM, DustAbove
from reportgen.results import Amount, Place, Stated, Word
from reportgen.results.codes import follow_up as codes
from reportgen.results.codes.blasted_again import (
    BLASTED_AGAIN,
    SAY_BLASTED_AGAIN,
    SAY_TESTED_AGAIN,
    Blasted,
    FoundBefore,
    LaterBlasting,
    LaterTest,
    Replaced,
)
from reportgen.words.sentences import sentences
from reportgen.words.standing import StandingText

ENGLISH, GERMAN = sentences("en"), sentences("de")
REWORK, AS_IS = Word("disposition", "rework"), Word("disposition", "use-as-is")
HIGH = codes.Failed("profile-above-maximum", "R-1", "7")
SALTY = codes.Failed("salts-above-maximum", "R-1")
EARLY = codes.BlastedBefore(HIGH, "09:00", "08:30", "R-2")


HIGH_SAID, HIGH_GESAGT = (
    "profile above maximum of R-1 at location 7",
    "„Rautiefe über Maximum“ aus R-1 an Messstelle 7",
)
SALTS_SAID, SALTS_GESAGT = "salts above maximum of R-1", "„Salze über Maximum“ aus R-1"
STRAHLEN = "das in R-2 eingetragene Strahlen"
WAY_OUT = ": enter the blasting of it after that, with `blasted_again: [pot 1]`"
AUSWEG = ": das Strahlen dieses Stahls danach eintragen, mit `blasted_again: [pot 1]`"
STATE_TIME = ": state the time of the first in a revision of R-1"
ZEIT_ANGEBEN = "ist nicht nach jener Schicht: die Zeit der ersten in einer Revision von R-1 angeben"
SHOW_BEFORE = "a check or a reading that shows it within the limits has to come before that blasting"
VORHER_ZEIGEN = "Vor diesem Strahlen braucht es eine Prüfung oder Ablesung, die die Grenzen einhält"
WHY = [
    (
        codes.FoundHere(HIGH),
        f"{HIGH_SAID}: in the report that found it, the steel was not blasted again after it",
        f"{HIGH_GESAGT}: In dem Bericht, der es fand, wurde der Stahl danach nicht erneut gestrahlt",
    ),
    (
        EARLY,
        f"the blasting entered in R-2 began at 08:30, and {HIGH_SAID} is of 09:00: not blasted again after it",
        f"{STRAHLEN} begann um 08:30, und {HIGH_GESAGT} ist von 09:00: danach nicht erneut gestrahlt",
    ),
    (
        codes.OlderSteel(SALTY, "09:00", "06:50", "R-2"),
        f"the blasting entered in R-2 ended at 06:50, and {SALTS_SAID} is of steel blasted until 09:00",
        f"{STRAHLEN} endete um 06:50, und {SALTS_GESAGT} gilt Stahl, der bis 09:00 gestrahlt wurde",
    ),
    (
        codes.OtherSteel(HIGH, ("pot 1",), "R-2"),
        f"{HIGH_SAID} is of what pot 1 blasted, and in R-2 only other steel of the area is entered" + WAY_OUT,
        f"{HIGH_GESAGT} gilt Stahl, den pot 1 gestrahlt hat, und in R-2 ist nur anderer Stahl der Fläche eingetragen"
        + AUSWEG,
    ),
    (
        codes.NotSaid(HIGH, ("pot 1",), ("pot 2",), "R-2"),
        (
            f"{HIGH_SAID} is of what pot 1 blasted, and what pot 2 blasted in R-2 is entered with `reinspects` alone: "
            "if that went over it, write `blasted_again: [pot 1]` in that entry, else blast it again and enter that"
        ),
        (
            f"{HIGH_GESAGT} gilt Stahl, den pot 1 gestrahlt hat, und was pot 2 in R-2 gestrahlt hat, ist nur mit "
            "`reinspects` eingetragen: wurde jener Stahl dabei erneut gestrahlt, in diesem Eintrag "
            "`blasted_again: [pot 1]` schreiben, sonst ihn erneut strahlen und das eintragen"
        ),
    ),
    (
        codes.AsIssued("R-2"),
        (
            "R-2 was issued with it open, before an earlier report was revised: inspect again, or issue a revision of "
            "R-2 upon that one"
        ),
        (
            "R-2 wurde damit als offen ausgestellt, bevor ein früherer Bericht revidiert wurde: erneut prüfen, oder "
            "auf dessen Revision hin eine Revision von R-2 ausstellen"
        ),
    ),
    (
        codes.NotTested(SALTY),
        f"{SALTS_SAID} was not tested again",
        f"{SALTS_GESAGT} wurde nicht erneut geprüft",
    ),
    (
        codes.NotWashed(SALTY, "R-2", "R-1"),
        (
            f"{SALTS_SAID} was tested again in R-2, and no entry says that the steel was washed, or dust removed from "
            "it, between the two tests (a `corrective_action` does not): if it was, write its time in the entry of the "
            "new test, as `washed: HH:MM` or, of dust, `dust_removed: HH:MM`, and under `reinspects` the number of a "
            "nonconformance with `rework` that names the finding, written down no earlier than in R-1"
        ),
        (
            f"{SALTS_GESAGT} wurde in R-2 erneut geprüft, und kein Eintrag besagt, dass der Stahl zwischen den beiden "
            "Prüfungen gewaschen oder entstaubt wurde (eine `corrective_action` besagt das nicht): wurde er es, die "
            "Uhrzeit im Eintrag der neuen Prüfung angeben, als `washed: HH:MM` oder bei Staub als "
            "`dust_removed: HH:MM`, und unter `reinspects` die Nummer einer Abweichung mit `rework`, die den Befund "
            "nennt und nicht früher als in R-1 steht"
        ),
    ),
    (
        codes.WashedOtherwise(SALTY, "10:40", "10:40", "10:50"),
        (
            "the steel was washed, or dust removed from it, at 10:40, which is not known to be between the test that "
            f"failed ({SALTS_SAID}, at 10:40) and the one that is to clear it, of 10:50: correct the times, or write "
            "those that are missing"
        ),
        (
            "der Stahl wurde um 10:40 gewaschen oder entstaubt, und das liegt, soweit bekannt, nicht zwischen der "
            f"Prüfung, die nicht bestanden hat ({SALTS_GESAGT}, um 10:40), und der, die das ausräumen soll, von 10:50: "
            "die Uhrzeiten berichtigen oder die fehlenden eintragen"
        ),
    ),
    (
        codes.UntimedTest(SALTY, "10:40"),
        f"{SALTS_SAID} is of 10:40, and the time of the test that is to clear it is not recorded",
        f"{SALTS_GESAGT} ist von 10:40, und die Uhrzeit der Prüfung, die das ausräumen soll, ist nicht eingetragen",
    ),
    (
        codes.EarlierTest(SALTY, "10:40", "10:10"),
        f"{SALTS_SAID} is of 10:40, and the test that is to clear it is of 10:10",
        f"{SALTS_GESAGT} ist von 10:40, und die Prüfung, die das ausräumen soll, von 10:10",
    ),
    (
        codes.FailedUntimed(SALTY, "10:10", "R-1"),
        f"{SALTS_SAID} has no time, and the test that is to clear it, of 10:10, is no later than that shift"
        + STATE_TIME,
        f"{SALTS_GESAGT} hat keine Uhrzeit, und die Prüfung, die das ausräumen soll, von 10:10, " + ZEIT_ANGEBEN,
    ),
    (
        codes.StillSo(HIGH),
        f"{HIGH_SAID} is so of what was blasted again as well: " + SHOW_BEFORE,
        f"{HIGH_GESAGT} gilt auch für das erneut Gestrahlte: " + VORHER_ZEIGEN,
    ),
]


@pytest.mark.parametrize(("why", "english", "german"), WHY, ids=lambda one: type(one).__name__)
def test_why_steel_is_not_shown_to_be_reworked(why, english, german):
    found = codes.FAILED_EARLIER.found(codes.FailedBefore(why), Place("A"))
    assert (ENGLISH.observed(found), GERMAN.observed(found)) == (english, german)


POT = ("R-1", "2026-05-04", "pot 2", "07:00", "09:00")
AGAIN, ERNEUT = "if it was blasted again, enter that", "wurde erneut gestrahlt, das eintragen"
LEFT = [
    (
        codes.SteelOpen("salts-missing", *POT, Word("again", "not-entered"), "13:00"),
        ("pot 2, blasted 07:00 to 09:00, primed 13:00: salts missing in R-1 of 2026-05-04, and this steel is not "
         "entered again"),
        ("enter again what pot 2 blasted 07:00 to 09:00, primed 13:00, with what was missing: "
         f"salts missing in R-1 of 2026-05-04; {AGAIN}, with `blasted_again: [pot 2]`"),
        ("pot 2, gestrahlt 07:00 bis 09:00, grundiert 13:00: „Salzprüfung fehlt“ in R-1 vom 2026-05-04, und dieser "
         "Stahl ist nicht erneut eingetragen"),
    ),
    (
        codes.PlaceOpen("outside-grade-range", *POT, Word("again", "not-measured")),
        ("pot 2, blasted 07:00 to 09:00: outside grade range in R-1 of 2026-05-04, and this location is not measured "
         "again"),
        ("measure location 3 again on what pot 2 blasted 07:00 to 09:00: outside grade range in R-1 of 2026-05-04; "
         f"{AGAIN}, with `blasted_again: [pot 2]`"),
        ("pot 2, gestrahlt 07:00 bis 09:00: „Außerhalb der Bandsorte“ in R-1 vom 2026-05-04, und diese "
         "Messstelle ist nicht erneut gemessen"),
    ),
    (
        codes.EntryOpen("entry-not-taken", *POT, Word("again", "not-entered")),
        "pot 2, blasted 07:00 to 09:00: an entry of R-1 of 2026-05-04 was not taken",
        (f"enter in a revision of R-1 what was not taken: entry not taken in, R-1 of 2026-05-04; {AGAIN}, with "
         "`blasted_again: [pot 2]`"),
        "pot 2, gestrahlt 07:00 bis 09:00: ein Eintrag von R-1 vom 2026-05-04 wurde nicht übernommen",
    ),
    (
        codes.DoubtOpen("entry-doubtful", *POT, Word("again", "not-entered")),
        ("pot 2, blasted 07:00 to 09:00: entry doubtful in R-1 of 2026-05-04, and what that entry should say is not "
         "known"),
        (f"correct, or confirm, in a revision of R-1 what is in doubt: entry doubtful, R-1 of 2026-05-04; {AGAIN}, "
         "with `blasted_again: [pot 2]`"),
        ("pot 2, gestrahlt 07:00 bis 09:00: „Eintrag fraglich“ in R-1 vom 2026-05-04, und wie der Eintrag lauten muss, "
         "ist nicht bekannt"),
    ),
    (
        codes.NotPrimedSince("coating-overdue", *POT, until="17:00"),
        "pot 2, blasted 07:00 to 09:00: bare in R-1 of 2026-05-04, to be primed by 17:00, and no primer recorded",
        ("enter again what pot 2 blasted 07:00 to 09:00, with the time of its primer, or prepare it again and inspect "
         f"it: bare in R-1 of 2026-05-04, to be primed by 17:00; {AGAIN}, with `blasted_again: [pot 2]`"),
        ("pot 2, gestrahlt 07:00 bis 09:00: blank in R-1 vom 2026-05-04, zu grundieren bis 17:00, und keine "
         "Grundierung eingetragen"),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("facts", "english", "to_do", "german"), LEFT, ids=lambda one: type(one).__name__)
def test_what_an_earlier_report_left_open(facts, english, to_do, german):
    found, due = codes.LEFT_OPEN.found(facts, Place("A", "3")), codes.SETTLE[type(facts)].due(facts, Place("A", "3"))
    assert (ENGLISH.observed(found), GERMAN.observed(found)) == (english, german)
    assert ENGLISH.told(found).startswith(f"{english}; required: ")
    assert ENGLISH.required(found).endswith("(`blasted_again: [pot 2]`)")
    assert f"{ENGLISH.task(due)}: {ENGLISH.because(due)}" == to_do
    assert GERMAN.because(due).endswith(f"{ERNEUT}, mit `blasted_again: [pot 2]`")


TWICE = Amount(Decimal("3.40"), "mil"), Amount(Decimal("0.26"), "mil"), Amount(Decimal("2.90"), "mil")
UNSURE = codes.ValueUndecided("profile-in-guard-band", *POT, *TWICE, Amount(Decimal("0.27"), "mil"))


@pytest.mark.parametrize(
    ("facts", "english", "german", "ways", "wege"),
    [
        (UNSURE, "measured again here as 2.90 mil ± 0.27 mil", "hier erneut gemessen: 2.90 mil ± 0.27 mil",
         ["measured again with a smaller", "(`blasted_again: [pot 2]`)", "a decision"],
         ["mit kleinerer Unsicherheit", "(`blasted_again: [pot 2]`)", "eine Entscheidung"]),
        (codes.TestUndecided("salts-in-guard-band", *POT, *TWICE), "tested again here as 2.90 mil",
         "hier erneut geprüft: 2.90 mil",
         ["tested again with a smaller", "washed", "(`blasted_again: [pot 2]`)", "a decision"],
         ["mit kleinerer Unsicherheit", "gewaschen", "(`blasted_again: [pot 2]`)", "eine Entscheidung"]),
    ],
)  # fmt: skip
def test_what_is_measured_again_and_no_surer_is_told_with_both_values_and_every_way_out(
    facts, english, german, ways, wege
):
    found, due = codes.LEFT_OPEN.found(facts, Place("A", "3")), codes.SETTLE[type(facts)].due(facts, Place("A", "3"))
    for words, seen in ((ENGLISH, english), (GERMAN, german)):
        assert words.observed(found).endswith(f", 3.40 mil ± 0.26 mil; {seen}")
        assert "3.40 mil ± 0.26 mil; " in words.because(due)
    assert [way for way in ways if way not in ENGLISH.required(found)] == []
    assert [weg for weg in wege if weg not in GERMAN.required(found)] == []
    assert "smaller error" in ENGLISH.task(due)
    assert "kleinerem Fehler" in GERMAN.task(due)


@pytest.mark.parametrize("kind", [codes.ValueUndecided, codes.TestUndecided])
def test_why_what_was_tried_of_an_undecided_value_does_not_count(kind):
    refused = codes.NotTheirs("J. On", "R-1", "R-2")
    facts = kind("profile-in-guard-band", *POT, *TWICE[:2], tried=Word("again", "blasted"), refused=refused)
    found = codes.LEFT_OPEN.found(facts, Place("A", "3"))
    assert (
        "3.40 mil ± 0.26 mil; this steel was blasted again, but J. On, who inspected in R-2, is not named in R-1"
        in (ENGLISH.observed(found))
    )
    assert "3.40 mil ± 0.26 mil; dieser Stahl wurde erneut gestrahlt, aber J. On, in R-2 für die Prüfung" in (
        GERMAN.observed(found)
    )


def test_a_surer_value_is_told_beside_the_one_that_it_replaces():
    facts = codes.Surer("profile-in-guard-band", "R-1", *TWICE, Amount(Decimal("0.13"), "mil"))
    found = codes.SURER.found(facts, Place("A", "3"))
    assert ENGLISH.observed(found).startswith(
        "profile in guard band in R-1, 3.40 mil ± 0.26 mil: measured again as 2.90 mil ± 0.13 mil"
    )
    assert GERMAN.observed(found).startswith(
        "„Rautiefe im Sicherheitsband“ in R-1, 3.40 mil ± 0.26 mil: erneut gemessen mit 2.90 mil ± 0.13 mil"
    )


@pytest.mark.parametrize(
    ("facts", "english", "german"),
    [
        (
            codes.StillOpen("N1", "R-1", REWORK),
            "N1 raised in R-1: rework, open",
            "N1, erhoben in R-1: Nacharbeiten, offen",
        ),
        (
            codes.StillOpen("N1", "R-1", REWORK, codes.NotTested(SALTY)),
            "N1 raised in R-1: rework, open; salts above maximum of R-1 was not tested again",
            "N1, erhoben in R-1: Nacharbeiten, offen; „Salze über Maximum“ aus R-1 wurde nicht erneut geprüft",
        ),
        (
            codes.ClosedByInspector("N1", AS_IS),
            "N1 is written as closed, but the inspector does not decide on use-as-is",
            "N1 ist als geschlossen eingetragen, aber über „Belassen“ entscheidet nicht, wer prüft",
        ),
        (
            codes.ClosedOnPaper("N1", REWORK),
            "N1 is written as closed, but no re-inspection that passes closes a rework",
            "N1 ist als geschlossen eingetragen, aber „Nacharbeiten“ schließt nur eine bestandene Nachprüfung",
        ),
        (
            codes.ClosedTooEarly("N1", codes.NotTested(SALTY)),
            "N1 is written as closed, but salts above maximum of R-1 was not tested again",
            "N1 ist als geschlossen eingetragen, aber „Salze über Maximum“ aus R-1 wurde nicht erneut geprüft",
        ),
    ],
    ids=["open", "refused", "inspector", "paper", "early"],
)
def test_an_open_nonconformance(facts, english, german):
    found = codes.OPEN.found(facts)
    assert (ENGLISH.observed(found), GERMAN.observed(found)) == (english, german)
    assert ENGLISH.required(found) == "closed by a re-inspection or a decision"
    assert GERMAN.required(found) == "durch eine Nachprüfung oder eine Entscheidung geschlossen"


def test_one_entered_as_open_that_a_re_inspection_closed():
    found = codes.CLOSED_THOUGH_OPEN.found(codes.WrittenOpen("N1", "R-2"), Place("A"))
    assert ENGLISH.observed(found) == "N1 is written as open, and the re-inspection in R-2 passes and closes it"
    assert (
        GERMAN.observed(found)
        == "N1 ist als offen eingetragen, und die Nachprüfung in R-2 ist bestanden und schließt sie"
    )
    assert found.nonconformance is None


def test_what_no_nonconformance_covers():
    found = codes.MISSING.found(codes.Uncovered("grade-not-met"), Place("A"))
    assert ENGLISH.observed(found) == "no nonconformance covers grade not met"
    assert GERMAN.observed(found) == "für „Vorbereitungsgrad nicht erreicht“ ist keine Abweichung erhoben"


@pytest.mark.parametrize(
    ("code", "disposition", "english", "german"),
    [
        (
            codes.INSPECT_AGAIN, REWORK,
            "prepare again and inspect again, to close N1", "neu vorbereiten und nachprüfen, um N1 zu schließen",
        ),
        (
            codes.ENTER_REINSPECTION, REWORK,
            "write `reinspects: [N1]` in the entry of the reworked steel, which passes, to close N1",
            (
                "beim nachgearbeiteten Stahl, der die Anforderungen erfüllt, `reinspects: [N1]` eintragen, "
                "um N1 zu schließen"
            ),
        ),
        (
            codes.BRING_EVIDENCE, AS_IS,
            "bring evidence of `use-as-is` to close N1", "Nachweis für „Belassen“ beibringen, um N1 zu schließen",
        ),
        (
            codes.HAVE_DECIDED, AS_IS,
            "have `use-as-is` decided by someone who is not an inspector, to close N1",
            "über „Belassen“ von jemandem entscheiden lassen, der nicht prüft, um N1 zu schließen",
        ),
    ],
    ids=["rework", "entry", "evidence", "decision"],
)  # fmt: skip
def test_what_closes_a_nonconformance(code, disposition, english, german):
    """A sheet has the task and its reason, a check where it was raised and the code of the finding instead."""
    here = code.due(codes.ToClose("N1", disposition, "Too high"), Place("A"))
    before = code.due(codes.ToClose("N1", disposition, "Too high", "New nozzle.", "R-1"), Place("A"))
    stated = ". " if disposition is REWORK else "; als Korrekturmaßnahme angegeben: "
    assert (ENGLISH.task(here), ENGLISH.because(here)) == (english, "Too high")
    assert (GERMAN.task(before), GERMAN.because(before)) == (german, f"Too high{stated}New nozzle.")
    enter = ", mit N1 unter `reinspects`" if code is codes.INSPECT_AGAIN else ""
    assert StandingText().task(here) == f"A: {english} [nonconformance-open]"
    assert StandingText("de").task(before) == f"A: {german}, erhoben in R-1{enter} [nonconformance-open]"


def test_steel_that_passed_after_rework_is_inspected_and_not_prepared_again():
    step = codes.INSPECT_PREPARED.due(codes.ToClose("N1", REWORK, "Too high"), Place("A"))
    assert ENGLISH.task(step) == "inspect the steel that was prepared again, to close N1"
    assert GERMAN.task(step) == "den neu vorbereiteten Stahl nachprüfen, um N1 zu schließen"


def test_a_check_says_why_a_re_inspection_closes_nothing():
    step = codes.INSPECT_AGAIN.due(codes.ToClose("N1", REWORK, "Too high", None, "R-1", EARLY), Place("A"))
    why = ENGLISH.observed(codes.FAILED_EARLIER.found(codes.FailedBefore(EARLY)))
    asked = "A: prepare again and inspect again, to close N1, raised in R-1, with N1 under `reinspects`"
    assert StandingText().task(step) == f"{asked}: {why} [nonconformance-open]"


def test_steel_that_was_blasted_again():
    again = BLASTED_AGAIN.found(Replaced(Blasted("pot 1", "08:00", "10:30"), Blasted("pot 1", "11:00", "12:00")))
    assert ENGLISH.observed(again) == "pot 1 08:00 to 10:30; again pot 1 11:00 to 12:00"
    assert ENGLISH.required(again) == "The surface is judged as it was last blasted."
    uncovered = codes.Uncovered("x")
    stated = (Stated(group, codes.MISSING.name, uncovered) for group in ("observed", "required"))
    before = BLASTED_AGAIN.found(FoundBefore(*stated, codes.MISSING.name))
    required = ENGLISH.required(codes.MISSING.found(uncovered))
    assert ENGLISH.observed(before) == f"before that: no nonconformance covers x, {required} (nonconformance missing)"
    perhaps = SAY_BLASTED_AGAIN.due(LaterBlasting("pot 1", "11:00"), Place("A"))
    said = "if the blasting that began at 11:00 was of what failed, write `blasted_again: [pot 1]` in its entry"
    assert StandingText().asked(perhaps) == f"A: {said} [blasted-again]"


@pytest.mark.parametrize("number", [None, "N1"])
def test_a_test_after_washing_belongs_in_a_second_report(number):
    task = SAY_TESTED_AGAIN.due(LaterTest("12:00", number), Place("A", "S1"))
    own = f" ({number})" if number else ""
    assert ENGLISH.task(task) == (
        "if the steel was washed before the test of 12:00 at location S1, or dust removed from it, enter that test in "
        "a second report instead of this one, with the time of that as `washed` or `dust_removed`, and with the number "
        f"of a nonconformance with `rework`{own} under `reinspects`"
    )
    assert GERMAN.task(task) == (
        "wurde der Stahl vor der Prüfung von 12:00 an Messstelle S1 gewaschen oder entstaubt, diese Prüfung statt hier "
        "in einem zweiten Bericht eintragen, mit der Uhrzeit davon als `washed` oder `dust_removed` und mit der Nummer "
        f"einer Abweichung mit `rework`{own} unter `reinspects`"
    )


def test_notes_and_evidence():
    written = {"nonconformance": "N1", "description": "too high"}
    assert ENGLISH.say("note", "open", **written) == "N1 is open: too high"
    assert GERMAN.say("note", "open", **written) == "N1 ist offen: too high"
    assert ENGLISH.say("note", "open-everywhere", **written) == "N1 is open for the whole contract: too high"
    assert GERMAN.say("note", "open-everywhere", **written) == "N1 ist für den ganzen Vertrag offen: too high"
    assert ENGLISH.evidence(None, "R-2") == "re-inspection in R-2 passed"
    assert GERMAN.evidence(None, "R-2") == "Nachprüfung in R-2 bestanden"
    assert (ENGLISH.evidence("Letter 7.", "R-2"), ENGLISH.evidence(None, None)) == ("Letter 7.", None)


def test_what_a_nonconformance_saw_is_said_with_its_name_or_its_code():
    seen = ABOVE_MAXIMUM.found(DustAbove(3, 2, 2), Place(location="3"))
    assert ENGLISH.seen(seen) == "location 3: quantity 3, size class 2 (dust-above-maximum)"
    assert ENGLISH.seen(seen, "dust (dull)") == "location 3: quantity 3, size class 2 (dust (dull))"
