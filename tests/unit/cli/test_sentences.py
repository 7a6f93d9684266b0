"""Every finding code has its part of a check and its sentence, literally."""

import pytest

from reportgen.cli.sentences import SENTENCES, part_of, told
from reportgen.measurements import CODES, FINDING_CODES
from reportgen.measurements.dust.codes import ABOVE_MAXIMUM, MISSING, DustAbove, DustAllowed
from reportgen.results import Finding, Place

SAID = """\
profile-below-minimum | out of limits | A-1 location 3: profile OBS; REQ required
profile-above-maximum | out of limits | A-1 location 3: profile OBS; REQ required
comparator-grade-not-met | out of limits | A-1 location 3: OBS; REQ required
profile-in-guard-band | missing | A-1 location 3: profile OBS within the limits, not accepted; measure again: REQ
profile-inconclusive | missing | A-1 location 3: no verdict on the profile: OBS; REQ
locations-missing | missing | A-1 location 3: OBS measured of REQ
surface-not-measured | missing | A-1 location 3: OBS; REQ required
spots-missing | missing | A-1 location 3: OBS measured of REQ
second-reading-missing | missing | A-1 location 3: OBS
outside-grade-range | missing | A-1 location 3: OBS
contradictory-readings | missing | A-1 location 3: OBS
spots-disagree | missing | A-1 location 3: OBS, REQ allowed: take further spots
outlier | noted | A-1 location 3: lies far from the others: OBS
walk-out-missing | missing | A-1 location 3: OBS; REQ
dew-point-margin | out of limits | A-1 location 3: OBS; REQ required
humidity-above-maximum | out of limits | A-1 location 3: OBS; REQ required
steel-too-cold | out of limits | A-1 location 3: OBS; REQ required
steel-too-warm | out of limits | A-1 location 3: OBS; REQ required
air-temperature-outside-limits | out of limits | A-1 location 3: OBS; REQ required
conditions-interval | missing | A-1 location 3: air and steel not measured in time: OBS; REQ required
conditions-missing | missing | A-1 location 3: air and steel not measured at its place: OBS
conditions-unplaced | wrong | A-1 location 3: OBS: the reading of the conditions may be of this area or not
conditions-outside-range | missing | A-1 location 3: no dew point: OBS
gauge-check-missing | missing | A-1 location 3: OBS
gauge-check-failed | out of limits | A-1 location 3: gauge OBS
film-contradicted | wrong | A-1 location 3: OBS
gauge-drift | noted | A-1 location 3: gauge OBS; REQ
calibration-overdue | out of limits | A-1 location 3: calibration overdue, OBS
tape-expired | out of limits | A-1 location 3: tape out of date, OBS
tape-check-missing | missing | A-1 location 3: unused tape of OBS this shift
tape-check-outside-range | out of limits | A-1 location 3: unused tape of wrong thickness, OBS; REQ expected
certificate-expired | out of limits | A-1 location 3: certificate out of date, OBS
time-to-coat-exceeded | out of limits | A-1 location 3: primer too late, after OBS; REQ allowed
coating-overdue | missing | A-1 location 3: OBS, REQ: prepare the surface again and inspect it
blasted-again | noted | A-1 location 3: OBS
coated-without-release | noted | A-1 location 3: OBS, before it was released
times-contradictory | wrong | A-1 location 3: the times contradict each other: OBS
measured-before-blasting | wrong | A-1 location 3: not of the blasted surface: OBS
measured-after-primer | wrong | A-1 location 3: not of bare steel: OBS
test-before-blasting | noted | A-1 location 3: OBS
readings-too-fast | wrong | A-1 location 3: OBS: nobody reads as fast; REQ
instrument-in-two-places | wrong | A-1 location 3: OBS
entry-doubtful | wrong | A-1 location 3: OBS; REQ: correct it, or write `confirmed: yes` beside it
entry-unlikely | noted | A-1 location 3: OBS; REQ: correct it or write `confirmed: yes`; nothing depends on it
entry-confirmed | noted | A-1 location 3: OBS; REQ
inspector-in-two-places | noted | A-1 location 3: OBS
air-check-missing | missing | A-1 location 3: compressed air not checked: OBS; REQ required
air-not-clean | out of limits | A-1 location 3: compressed air not clean: OBS
abrasive-check-missing | missing | A-1 location 3: abrasive not checked: OBS
abrasive-not-clean | out of limits | A-1 location 3: abrasive not clean: OBS; REQ required
nonconformance-missing | missing | A-1 location 3: OBS: raise one
nonconformance-open | next | A-1 location 3: OBS
"""


def test_every_code_and_no_other_has_a_sentence():
    assert {*SENTENCES, *CODES} == set(FINDING_CODES)
    assert not SENTENCES.keys() & CODES.keys()
    assert [line.split(" | ")[0] for line in SAID.splitlines()] == list(SENTENCES)


@pytest.mark.parametrize("line", SAID.splitlines())
def test_sentence(line):
    code, part, sentence = line.split(" | ")
    finding = Finding(code, "nonconformance", "OBS", "REQ", area="A-1", location="3")
    assert part_of(finding) == part
    assert told([finding]) == [f"{sentence} [{code}]"]


def test_a_sentence_made_of_facts():
    """Its part comes from the code, its words from the catalogue, its place as for every other."""
    above = ABOVE_MAXIMUM.found(DustAbove(3, 1, 2, None), Place("A-1", "3"), clause="1.6")
    missing = MISSING.found(DustAllowed(2), Place("A-1"))
    assert (part_of(above), part_of(missing)) == ("out of limits", "missing")
    limit = "quantity rating at most 2 required"
    assert told([above, missing]) == [
        f"A-1 location 3: dust of quantity 3, size class 1; {limit} (clause 1.6) [dust-above-maximum]",
        f"A-1: dust: no test; {limit} [dust-missing]",
    ]
    noted = ABOVE_MAXIMUM.found(DustAbove(3, 1, 2), Place("A-1", "3"), severity="observation")
    assert part_of(noted) == "noted"


def test_a_time_at_the_beginning_goes_on_after_a_comma():
    finding = Finding(
        "steel-too-cold", "nonconformance", "15:40, weir: steel 3 °C while coating", "at least 5 °C", "G-6"
    )
    assert told([finding]) == ["G-6, 15:40, weir: steel 3 °C while coating; at least 5 °C required [steel-too-cold]"]
    alone = Finding("certificate-expired", "nonconformance", "I. Tern: 2025", "r", clause="7")
    assert told([alone]) == ["certificate out of date, I. Tern: 2025 (clause 7) [certificate-expired]"]
