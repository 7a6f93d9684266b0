"""Records that a contract requires, by themselves or by the list of a public source: each has what asks for it."""

import pytest

from reportgen.references.record_lists import record_lists
from reportgen.results.codes.records import RECORDS
from tests.unit.rules.factory import GOOD, codes, evaluated, surface
from tests.unit.rules.test_records import ENGLISH, GERMAN, TOOLS, climate

LISTED = {
    "UFGS 09971": {"oil_test", "nozzle", "blast_pressure", "distance_and_angle"},
    "UFGS 09972": {"make_and_model", "function_checks", "hold_points", "replicas"},
    "UFGS 09973": {"make_and_model", "function_checks"},
    "NCDOT M&T 610": {
        "weather", "high_and_low", "area_cleaned", "blasters", "equipment", "nozzle", "blast_pressure",
    },
    "NAVSEA 009-32": {"conditions_per_area"},
    "MIL-HDBK-1110": {"area_cleaned", "blasters", "equipment", "agreements", "photos"},
    "FHWA-RD-98-084": {"wind", "weather", "high_and_low"},
    "Ohio CMS 514": {"edges", "hold_points", "comparison"},
    "MSC.1/Circ.1330": {"area_cleaned", "blasters", "equipment"},
    "MSC.215(82)": {"edges"},
}  # fmt: skip
"""Who asks for what in a daily report, by the sources themselves: the design's tables in its sections 12 and 20."""


def test_every_list_is_one_of_a_source_that_was_read():
    assert {name: set(one.records) for name, one in record_lists().items()} == LISTED


def asked_for(name, record=None, **day):
    """A day that says no more than it must, and which records are asked for in it."""
    spec = {**TOOLS, "specification.conditions": {"dew_point_margin": "3 delta_degC"}, "requires": [name]}
    logged = {"conditions": [climate("06:50", "h1", "t1")], **day}
    result = evaluated(GOOD, spec=spec, day=logged, surfaces=[record or surface()])
    found = [one for one in result.findings if one.code in ("record-missing", "record-not-stated")]
    return result, {one.facts.record.key: one for one in found}


@pytest.mark.parametrize("name", LISTED)
def test_each_record_of_a_list_is_asked_for_where_it_is_lacking(name):
    day, asked = asked_for(name)
    assert asked.keys() == LISTED[name]
    assert all(one.facts.lists == (name,) for one in asked.values())
    assert {step.facts.record.key for step in day.measure_next if step.code == "enter-record"} == LISTED[name]
    for one in asked.values():
        assert ENGLISH.told(one)
        assert GERMAN.told(one)


@pytest.mark.parametrize("key", RECORDS)
def test_each_record_is_asked_for_by_itself_too(key):
    raised = {"id": "N1", "area": "A", "findings": ["locations-missing"], "description": "one location left out",
              "disposition": "rework", "decided_by": "eng", "status": "open"}  # fmt: skip
    assert asked_for(key, surface(coated="15:00"), nonconformances=[raised])[1].keys() == {key}


@pytest.mark.parametrize(
    ("photos", "met"),
    [
        ([], False), ([{"file": "p.jpg", "caption": "web"}], False),
        ([{"file": "p.jpg", "caption": "web, scale beside it", "time": "09:00"}], True),
    ],
)  # fmt: skip
def test_a_photo_says_when_it_was_taken_and_what_it_shows(photos, met):
    result = evaluated(spec={"requires": ["photos"]}, surfaces=[surface(photos=photos)])
    assert ("record-not-stated" in codes(result)) is not met
