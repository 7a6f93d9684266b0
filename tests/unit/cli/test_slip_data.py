"""What a release slip said and rested on beside readings, against the report of its shift, and when it was primed."""

import datetime as dt
import json

import pytest
from pypdf import PdfReader

from tests.unit.cli.test_slip import LATE_CHECK, SLIP, at, noon, signer, verified

pytestmark = pytest.mark.usefixtures("stopped_clock")

__all__ = ["at", "noon", "signer"]

MORE = """\
conditions:
  - {time: "07:50", areas: [A-1], air: 14.0 degC, humidity: 70 %, steel: 13.5 degC}
  - {time: "10:20", areas: [A-1], air: 15.0 degC, humidity: 71 %, steel: 14.5 degC}
  - {time: "10:25", areas: [A-2], air: 15.0 degC, humidity: 60 %, steel: 14.5 degC}
"""
TESTS = """\
    salts: [{location: 1, area: 12.5 cm2, volume: 3 ml, blank: 1.9 uS/cm, sample: 10.2 uS/cm, time: "11:00"}]
    dust: [{location: 1, quantity: 1, size: 2}]
"""


@pytest.fixture
def shift(contract, noon):
    """Write the day, with conditions and tests, as it is at noon; its text at the end of the shift is returned."""
    day, whole = noon
    whole = whole.replace("gauge_checks:", MORE + "gauge_checks:").replace("not_inspected:", TESTS + "not_inspected:")
    day.write_text(whole.replace(LATE_CHECK, ""), "utf-8")
    return day, whole


def issued(run, contract, shift, signer, at, *changes, language="en"):
    """Issue a slip at 11:40, and the report after changes to day or project; answers on both, and pages of that."""
    day, whole = shift
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    project = contract / "project.yaml"
    named = project.read_text("utf-8")
    for before, after in changes:
        assert (before in whole) != (before in named), before
        whole, named = whole.replace(before, after), named.replace(before, after)
    day.write_text(whole, "utf-8")
    project.write_text(named, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    template = "a4-de" if language == "de" else "a4-en"
    code, _, err = run("issue", "day.yaml", "--identity", signer, "--template", template)
    assert code == 0, err
    name = "reports/SL-1-001.pdf"
    pages = " ".join(" ".join(page.extract_text() for page in PdfReader(contract / name).pages).split())
    trust = ("--trust", "keys/i-tern-root.pem", "--register", ".", "--language", language)
    told = [" ".join(run("verify", one, *trust).out.split()) for one in (name, SLIP)]
    return verified(run, name, "--register", ".")[1], verified(run, SLIP, "--register", ".")[1], pages, told


SINCE = '  - {time: "11:50", areas: [A-1], air: 15.0 degC, humidity: 73 %, steel: 14.9 degC}\n'
PRIMED = ("blasted: {", 'coated: "11:30"\n    blasted: {')


@pytest.mark.parametrize(
    ("change", "what", "decides"),
    [
        (("humidity: 71 %", "humidity: 74 %"), "the conditions", ", on other conditions;"),
        (("steel: 13.5", "steel: 13.9"), "the conditions", ", on other conditions;"),
        (("sample: 10.2", "sample: 10.4"), "the salt tests", ", on other salt tests;"),
        (("size: 2}", "size: 1}"), "the dust tests", ", on other dust tests;"),
        (("staining: 2 %", "staining: 3 %"), "the cleanliness", ", on other cleanliness;"),
        (("name: gate", "name: leaf"), "the project, contract, time zone or name of the area", ", on other names ("),
        (PRIMED, "the area was primed before the slip was signed",
         ", and has the area as primed before the slip was signed;"),
    ],
    ids=["last reading", "earlier reading", "salts", "dust", "grade", "name", "primed"],
)  # fmt: skip
def test_all_that_a_slip_rested_on_is_compared_and_named(run, contract, shift, signer, at, change, what, decides):
    """It was said to agree: nothing but steel, limits and readings was compared."""
    report, slip, pages, told = issued(run, contract, shift, signer, at, change)
    assert f"otherwise here: {what}" in pages
    assert (report["overall"], slip["overall"]) == ("passed", "passed")
    for answer in (report, slip):
        (notice,) = answer["notices"]
        assert notice["name"] == "SLIP_NOT_UPHELD"
        assert f"decides `release`{decides}" in notice["sentence"]
    assert not any("agrees: steel" in one for one in told)
    assert "does not uphold it" in told[1]
    audited = json.loads(run("audit", "reports", "--trust", "keys/i-tern-root.pem", "--json").out)
    assert "slip-contradicted" in {one["code"] for one in audited["problems"]}


def test_in_german_too(run, contract, shift, signer, at):
    changes = (("humidity: 71 %", "humidity: 74 %"), ("size: 2}", "size: 1}"), PRIMED)
    _, _, pages, told = issued(run, contract, shift, signer, at, *changes, language="de")
    assert "hier anders: die Fläche wurde grundiert, bevor der Schein unterschrieben war" in pages
    assert "die Umgebungsbedingungen" in pages
    for one in told:
        assert "bei anderen Angaben (Umgebungsbedingungen, Staubprüfungen), und führt die Fläche als grundiert," in one


@pytest.mark.parametrize(
    "change",
    [
        ('steel: 14.5 degC}\n  - {time: "10:25"', 'steel: 14.5 degC, steel_warmest: 15.5 degC}\n  - {time: "10:25"'),
        ("humidity: 60 %", "humidity: 62 %"),
        ("size: 2}", 'size: 2, time: "11:10"}'),
        ("size: 2}]", 'size: 2}, {location: 2, quantity: 1, size: 3, time: "12:30"}]'),
        ('  - {time: "10:25"', f'{SINCE}  - {{time: "10:25"'),
        ("blasted: {", 'coated: "11:40"\n    blasted: {'),
        ("air: 14.0 degC", "air: 14 degC"),
    ],
    ids=["filled in", "of another area", "time filled in", "tested since", "read since", "primed at once", "rewritten"],
)
def test_what_came_since_or_is_of_other_steel_contradicts_no_slip(run, contract, shift, signer, at, change):
    report, slip, pages, told = issued(run, contract, shift, signer, at, change)
    assert (report["notices"], slip["notices"]) == ([], [])
    assert "not upheld" not in pages
    assert "agrees: steel, limits, readings, conditions, tests, verdict" in told[0]
    assert "the report SL-1-001 revision 0 agrees" in told[1]
