"""Each sentence on gauges, tape, calibrations and certificates once, in English and in German."""

from decimal import Decimal

import pytest

from reportgen.results import Amount, Place, Word
from reportgen.results.codes import equipment as codes
from reportgen.words.sentences import sentences

ENGLISH, GERMAN = sentences("en"), sentences("de")


def mil(number):
    return Amount(Decimal(number), "mil")


SEEN = codes.GaugeSeen(Word("anvils", "clean"), mil("-2.0"), mil("3.0"), mil("3.3"))
DUE = codes.GaugeDue(mil("2.0"), codes.LimitsOfError(mil("0.2")))
RANGE = codes.UnusedTapeRange(mil("5"), mil("6"))
G1 = codes.InstrumentNamed("g1", Word("instrument-kind", "thickness gauge"), "1")
OVERDUE = codes.Calibration(G1, "2026-05-14", "2026-05-13")
L2 = codes.Certificate("A. Inspector", "L2", "2026-05-13", "2026-05-14")
AT_FIVE = Place("A", time="17:00")
BEFORE = codes.GaugeUnchecked("g1", Word("check-side", "before"), Word("check-reading", "first"))
AFTER = codes.GaugeUnchecked("g1", Word("check-side", "after"), Word("check-reading", "last"))
ON_FILM = "With a pre-set of minus the film the readings have it subtracted; with a pre-set of zero they include it."
ON_FILM_GERMAN = (
    "Steht die Messuhr auf minus Foliendicke, ist die Folie von den Messwerten abgezogen; steht sie auf null, ist sie "
    "enthalten."
)

# finding, then for each language: observed, required, told
FINDINGS = [
    (codes.GAUGE_UNCHECKED.found(BEFORE, AT_FIVE),
     ("no complete check of g1 before 17:00", "a check of the gauge before the first reading", "{observed}"),
     ("keine vollständige Kontrolle von g1 vor 17:00", "eine Kontrolle der Messuhr vor der ersten Messung",
      "{observed}")),
    (codes.GAUGE_UNCHECKED.found(AFTER, AT_FIVE),
     ("no complete check of g1 after 17:00", "a check of the gauge after the last reading", "{observed}"),
     ("keine vollständige Kontrolle von g1 nach 17:00", "eine Kontrolle der Messuhr nach der letzten Messung",
      "{observed}")),
    (codes.GAUGE_FAILED.found(codes.GaugeFailed("g1", SEEN, DUE, codes.InDoubt(("1", "2"))), AT_FIVE),
     ("g1 at 17:00: anvils clean, pre-set -2.0 mil, shim 3.0 mil read as 3.3 mil; in doubt: location 1, 2",
      "pre-set (minus the film of 2.0 mil) and shim as they should be, within 0.2 mil", "gauge {observed}"),
     (("g1 um 17:00: Messflächen sauber, Voreinstellung -2.0 mil, Prüffolie 3.0 mil als 3.3 mil gemessen; in Zweifel: "
      "Messstelle 1, 2"),
      "Voreinstellung (minus Folie von 2.0 mil) und Prüffolie, wie sie sein sollen, auf 0.2 mil genau",
      "Messuhr {observed}")),
    (codes.GAUGE_FAILED.found(
        codes.GaugeFailed("g1", codes.GaugeSeen(Word("anvils", "cleaned"), mil("0.0")),
                          codes.GaugeDue(mil("2.0"), codes.NoLimitsOfError()), codes.NoneInDoubt()), AT_FIVE),
     ("g1 at 17:00: anvils cleaned, pre-set 0.0 mil; no reading in doubt",
      "pre-set (minus the film of 2.0 mil) and shim as they should be, exactly, as no limits of error are on record",
      "gauge {observed}"),
     ("g1 um 17:00: Messflächen gereinigt, Voreinstellung 0.0 mil; kein Messwert in Zweifel",
      ("Voreinstellung (minus Folie von 2.0 mil) und Prüffolie, wie sie sein sollen, ganz genau, da keine "
       "Fehlergrenzen verzeichnet sind"), "Messuhr {observed}")),
    (codes.FILM_CONTRADICTED.found(
        codes.FilmContradicted(Word("film-recorded", "included"), "g1",
                               codes.GaugeSeen(Word("anvils", "not checked"), mil("-2.0"))), AT_FIVE),
     ("film included, but g1 at 17:00: anvils not checked, pre-set -2.0 mil", ON_FILM, "{observed}"),
     ("Folie enthalten, aber g1 um 17:00: Messflächen nicht kontrolliert, Voreinstellung -2.0 mil", ON_FILM_GERMAN,
      "{observed}")),
    (codes.GAUGE_MOVED.found(codes.GaugeMoved("g1", mil("0.30"), "06:30", mil("0.2")), AT_FIVE),
     ("g1 moved by 0.30 mil between 06:30 and 17:00", "at most 0.2 mil between two checks",
      "gauge {observed}; {required}"),
     ("g1 wanderte um 0.30 mil zwischen 06:30 und 17:00", "höchstens 0.2 mil zwischen zwei Kontrollen",
      "Messuhr {observed}; {required}")),
    (codes.CALIBRATION_OVERDUE.found(OVERDUE, Place("A")),
     ("g1 (thickness gauge 1): used 2026-05-14, calibration due 2026-05-13",
      "a calibration that is valid on the date of use", "calibration overdue, {observed}"),
     ("g1 (Dickenmessuhr 1): benutzt am 2026-05-14, Kalibrierung fällig am 2026-05-13",
      "eine am Tag der Benutzung gültige Kalibrierung", "Kalibrierung überfällig, {observed}")),
    (codes.TAPE_EXPIRED.found(codes.TapeExpired("x1", "2", "2026-05-14", "2026-05-13"), Place("A")),
     ("roll x1, lot 2: used 2026-05-14, expired 2026-05-13", "tape that is valid on the date of the reading",
      "tape out of date, {observed}"),
     ("Rolle x1, Charge 2: benutzt am 2026-05-14, haltbar bis 2026-05-13", "am Tag der Messung haltbares Band",
      "Band abgelaufen, {observed}")),
    (codes.TAPE_UNCHECKED.found(codes.TapeRollNamed("x1"), Place("A")),
     ("x1 not checked", "unused tape of x1 measured in the shift", "unused tape of {observed} this shift"),
     ("x1 nicht kontrolliert", "unbenutztes Band von x1 in der Schicht gemessen",
      "unbenutztes Band: {observed} in dieser Schicht")),
    (codes.TAPE_OUTSIDE.found(codes.TapeOutside("x1", mil("4.9"), RANGE), AT_FIVE),
     ("roll x1 at 17:00: 4.9 mil", "unused extra coarse tape 5 mil to 6 mil, film subtracted",
      "unused tape of wrong thickness, {observed}; {required} expected"),
     ("Rolle x1 um 17:00: 4.9 mil", "unbenutztes extra grobes Band 5 mil bis 6 mil, Folie abgezogen",
      "unbenutztes Band von falscher Dicke, {observed}; erwartet: {required}")),
    (codes.CERTIFICATE_EXPIRED.found(L2),
     ("A. Inspector: L2, expires 2026-05-13", "valid on 2026-05-14", "certificate out of date, {observed}"),
     ("A. Inspector: L2, gültig bis 2026-05-13", "gültig am 2026-05-14", "Zertifikat abgelaufen, {observed}")),
]  # fmt: skip
# check, then for each language: of, observed, required
CHECKS = [
    (codes.GAUGE.of("g1", codes.GaugeChecked(codes.GaugeNotTried(Word("anvils", "clean")), DUE), "inconclusive"),
     ("g1", "anvils clean, neither pre-set nor shim",
      "pre-set (minus the film of 2.0 mil) and shim as they should be, within 0.2 mil"),
     ("g1", "Messflächen sauber, weder Voreinstellung noch Prüffolie",
      "Voreinstellung (minus Folie von 2.0 mil) und Prüffolie, wie sie sein sollen, auf 0.2 mil genau")),
    (codes.TAPE.of("c1", codes.TapeChecked(mil("2.4"), codes.NoTapeRange()), "not evaluated"),
     ("c1", "2.4 mil", "no published range for this grade"),
     ("c1", "2.4 mil", "für diese Sorte ist kein Bereich veröffentlicht")),
    (codes.CALIBRATION.of("g1", OVERDUE, "does not conform"),
     ("g1 (thickness gauge 1)", "used 2026-05-14, calibration due 2026-05-13",
      "a calibration that is valid on the date of use"),
     ("g1 (Dickenmessuhr 1)", "benutzt am 2026-05-14, Kalibrierung fällig am 2026-05-13",
      "eine am Tag der Benutzung gültige Kalibrierung")),
    (codes.CERTIFICATE.of("A. Inspector", L2, "does not conform"),
     ("A. Inspector", "L2, expires 2026-05-13", "valid on 2026-05-14"),
     ("A. Inspector", "L2, gültig bis 2026-05-13", "gültig am 2026-05-14")),
]  # fmt: skip
ROLL, INSPECTOR = codes.TapeRollNamed("x1"), codes.PersonNamed("A. Inspector")
GAPS = [
    (codes.EXPIRY_NOT_STATED.at(ROLL), "expiry of tape roll x1: no date is stated",
     "Haltbarkeit der Rolle x1: kein Datum ist angegeben"),
    (codes.RANGE_NOT_PUBLISHED.at(codes.TapeOfGrade("c1", Word("tape-grade", "coarse"))),
     "thickness of unused coarse tape, roll c1: no published range",
     "Dicke des unbenutzten Bandes, Sorte grob, Rolle c1: kein Bereich ist veröffentlicht"),
    (codes.CALIBRATION_UNDATED.at(codes.CalibrationUndated(G1)),
     "calibration of g1 (thickness gauge 1): no due date is stated",
     "Kalibrierung von g1 (Dickenmessuhr 1): keine Fälligkeit ist angegeben"),
    (codes.CERTIFICATE_NOT_STATED.at(INSPECTOR), "certificate of A. Inspector: none is stated",
     "Zertifikat von A. Inspector: keines ist angegeben"),
    (codes.CERTIFICATE_UNDATED.at(INSPECTOR), "certificate of A. Inspector: no expiry is stated",
     "Zertifikat von A. Inspector: kein Ablauf ist angegeben"),
]  # fmt: skip


@pytest.mark.parametrize(("found", "english", "german"), FINDINGS, ids=lambda one: getattr(one, "code", None))
def test_what_was_found_and_what_is_required(found, english, german):
    for said, (observed, required, told) in ((ENGLISH, english), (GERMAN, german)):
        assert (said.observed(found), said.required(found)) == (observed, required)
        assert said.told(found) == told.format(observed=observed, required=required)


@pytest.mark.parametrize(("check", "english", "german"), CHECKS, ids=lambda one: getattr(one, "kind", None))
def test_what_was_checked(check, english, german):
    for said, expected in ((ENGLISH, english), (GERMAN, german)):
        assert (said.check_of(check), said.checked(check), said.check_required(check)) == expected


@pytest.mark.parametrize(("gap", "english", "german"), GAPS, ids=lambda one: getattr(one, "code", None))
def test_what_is_left_out(gap, english, german):
    assert (ENGLISH.left_out(gap), GERMAN.left_out(gap)) == (english, german)


def test_what_to_do():
    step = codes.MEASURE_UNUSED_TAPE.due(ROLL, Place("A"))
    assert (ENGLISH.task(step), ENGLISH.because(step)) == ("unused tape of roll x1", "good practice")
    assert (GERMAN.task(step), GERMAN.because(step)) == ("unbenutztes Band der Rolle x1", "gute Praxis")
