"""Every finding code has its part of a check and its sentence, literally."""

import pytest

from reportgen.cli.sentences import SENTENCES
from reportgen.measurements import CODES, FINDING_CODES
from reportgen.measurements.dust.codes import ABOVE_MAXIMUM, MISSING, DustAbove, DustAllowed
from reportgen.results import Finding, Place
from reportgen.rules.standing import part_of
from tests.unit.words.saying import told

SAID = """\
grade-not-met | out of limits | A-1 location 3: cleaned to OBS; REQ required
stain-above-limit | out of limits | A-1 location 3: OBS; REQ required
cleanliness-missing | missing | A-1 location 3: cleanliness OBS; REQ required
salts-above-maximum | out of limits | A-1 location 3: soluble salts OBS; REQ required
salts-missing | missing | A-1 location 3: soluble salts: OBS; REQ required
"""


def test_every_code_and_no_other_has_a_sentence():
    assert {*SENTENCES, *CODES} == set(FINDING_CODES)
    assert not SENTENCES.keys() & CODES.keys()
    assert [line.split(" | ")[0] for line in SAID.splitlines()] == list(SENTENCES)


@pytest.mark.parametrize("line", SAID.splitlines())
def test_sentence(line):
    code, part, said = line.split(" | ")
    finding = Finding(code, "nonconformance", "OBS", "REQ", area="A-1", location="3")
    assert part_of(finding) == part
    assert told([finding]) == [f"{said} [{code}]"]


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
