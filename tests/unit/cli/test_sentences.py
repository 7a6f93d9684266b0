"""Every finding code has its part of a check and its sentence, literally."""

import pytest

from reportgen.cli.sentences import SENTENCES, part_of, told
from reportgen.measurements import CODES, FINDING_CODES
from reportgen.measurements.dust.codes import ABOVE_MAXIMUM, MISSING, DustAbove, DustAllowed
from reportgen.results import Finding, Place
from reportgen.results.codes.order import INSTRUMENT_IN_TWO_PLACES, InstrumentSeen, SeenAt

SAID = """\
gauge-check-missing | missing | A-1 location 3: OBS
gauge-check-failed | out of limits | A-1 location 3: gauge OBS
film-contradicted | wrong | A-1 location 3: OBS
gauge-drift | noted | A-1 location 3: gauge OBS; REQ
calibration-overdue | out of limits | A-1 location 3: calibration overdue, OBS
tape-expired | out of limits | A-1 location 3: tape out of date, OBS
tape-check-missing | missing | A-1 location 3: unused tape of OBS this shift
tape-check-outside-range | out of limits | A-1 location 3: unused tape of wrong thickness, OBS; REQ expected
certificate-expired | out of limits | A-1 location 3: certificate out of date, OBS
nonconformance-missing | missing | A-1 location 3: OBS: raise one
failed-earlier | missing | A-1 location 3: failed before, and no nonconformance covers it: OBS
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
    seen = InstrumentSeen("g1", (SeenAt("weir"), SeenAt("bay")))
    assert told([INSTRUMENT_IN_TWO_PLACES.found(seen, Place("G-6", time="15:40"))]) == [
        "G-6, 15:40, g1 at weir and at bay [instrument-in-two-places]"
    ]
    alone = Finding("certificate-expired", "nonconformance", "I. Tern: 2025", "r", clause="7")
    assert told([alone]) == ["certificate out of date, I. Tern: 2025 (clause 7) [certificate-expired]"]
