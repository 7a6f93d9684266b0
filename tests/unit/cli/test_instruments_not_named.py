"""What an entry shows by an instrument that it does not name may be by any of that kind which the contract has."""

import json

import pytest
from pypdf import PdfReader

from tests.unit.cli.conftest import DAY, PROJECT

DUE = "calibrated: 2026-01-10, calibration_due: 2027-01-10"
TOOLS = f"""\
  h1: {{kind: hygrometer, serial: H-1, {DUE}}}
  t1: {{kind: surface thermometer, serial: S-1, {DUE}}}
  k1: {{kind: conductivity meter, serial: K-1, {DUE}}}
"""
LIMITS = """\
  conditions: {dew_point_margin: 3 delta_degC, maximum_humidity: 85 %, minimum_air: 5 degC}
  soluble_salts: {maximum: 50 mg/m2, expressed_as: mixed salts by conductivity, tests: 1}
  abrasive: {maximum_conductivity: 250 uS/cm}
"""
LOG = """\
conditions:
  - {time: "07:20", air: 18 degC, humidity: 60 %, steel: 16 degC, instruments: [h1, t1]}
abrasive_checks:
  - {time: "07:25", abrasive: steel grit, oil: none seen, conductivity: 90 uS/cm, method: ISO 11127-6, instrument: k1}
"""
SALT = """\
    salts: [{location: 1, area: 12.5 cm2, volume: 3 ml, blank: 1.5 uS/cm, sample: 9 uS/cm, instrument: k1}]
not_inspected"""
CHECKS = {
    "h1": "reference: 75.3 %, shown: 55.0 %, tolerance: 3 %",
    "t1": "reference: 20 degC, shown: 25 degC, tolerance: 0.5 delta_degC",
    "k1": "reference: 84 uS/cm, shown: 110 uS/cm, tolerance: 2 uS/cm",
}
ROW, WET = (
    "humidity: 60 %, steel: 16 degC, instruments: [h1, t1]",
    "wet_bulb: 13 degC, pressure: 1010 hPa, steel: 16 degC",
)


@pytest.fixture
def judged(contract, run):
    """Return the decision on the area and the codes of the findings of a day, changed text by text."""

    def judge(*changes, log="", tools="", **overdue):
        project = PROJECT.replace("  sampling:", f"{LIMITS}  sampling:", 1)
        project = project.replace("tape_rolls:", f"{TOOLS}{tools}tape_rolls:", 1)
        day = DAY.replace("surfaces:", f"{LOG}{log}surfaces:", 1).replace("not_inspected", SALT, 1)
        for old, new in changes:
            assert old in project + day, old
            project, day = project.replace(old, new), day.replace(old, new)
        for name in overdue:
            start = project.index(f"  {name}: ")
            project = project[:start] + project[start:].replace("2027-01-10", "2026-02-10", 1)
        (contract / "project.yaml").write_text(project, encoding="utf-8")
        (contract / "day.yaml").write_text(day, encoding="utf-8")
        data = json.loads(run("check", "--json", "day.yaml").out)
        assert "areas" in data, data
        return data["areas"][0]["decision"], {one["code"] for one in data["findings"]} - {"nonconformance-missing"}

    return judge


UNNAMED = {
    "h1": [(), (("[h1, t1]", "[t1]"),), ((", instruments: [h1, t1]", ""),)],
    "t1": [(), (("[h1, t1]", "[h1]"),), ((", instruments: [h1, t1]", ""),)],
    "k1": [(), ((", instrument: k1}]", "}]"),), ((", instrument: k1}", "}"),)],  # of the salt test, of both
}
CASES = [(name, changes) for name, several in UNNAMED.items() for changes in several]


@pytest.mark.parametrize(("name", "changes"), CASES)
def test_a_failed_check_holds_whether_or_not_the_instrument_is_named(judged, name, changes):
    assert judged(*changes)[0] == "release"
    failed = f'function_checks: [{{time: "07:05", instrument: {name}, {CHECKS[name]}}}]\n'
    decision, found = judged(*changes, log=failed)
    assert (decision, "function-check-failed" in found) == ("hold", True)


@pytest.mark.parametrize(("name", "changes"), CASES)
def test_an_overdue_calibration_holds_whether_or_not_the_instrument_is_named(judged, run, name, changes):
    assert judged(*changes, **{name: True}) == ("hold", {"calibration-overdue"})
    said = " ".join(run("check", "day.yaml").out.split())
    named_elsewhere = name == "k1" and bool(changes) and "k1}]" in changes[0][0]  # in the check of the abrasive
    assert ("as an entry names no instrument of its kind" in said) is (bool(changes) and not named_elsewhere)


@pytest.mark.parametrize(("row", "tool"), [
    (f"{WET}, instruments: [p1, t1]", "barometer"), (f"{WET}, instruments: [t1]", "psychrometer"),
    ("humidity: 60 %, steel: 16 degC, instruments: [t1]", "psychrometer"),
    ("humidity: 60 %, steel: 16 degC, instruments: [t1]", "air thermometer"),
    ("humidity: 60 %, steel: 16 degC, instruments: [t1]", "other"),
])  # fmt: skip
def test_every_quantity_of_a_reading_has_its_kinds(judged, row, tool):
    more = "" if tool == "psychrometer" else f"  p1: {{kind: psychrometer, serial: P-1, {DUE}}}\n"
    more += f"  x1: {{kind: {tool}, serial: X-1, {DUE}}}\n"
    assert judged((ROW, row), tools=more)[0] == "release"
    assert judged((ROW, row), tools=more, x1=True) == ("hold", {"calibration-overdue"})
    assert judged(tools=more, x1=True)[0] == "release"  # what shows each quantity is named


def test_a_second_instrument_that_fits_does_not_clear_the_first(judged):
    second = f"  k2: {{kind: conductivity meter, serial: K-2, {DUE}}}\n"
    assert judged((", instrument: k1}", "}"), tools=second, k1=True)[0] == "hold"
    assert judged(("instrument: k1}", "instrument: k2}"), tools=second, k1=True)[0] == "release"


def test_checks_and_makes_that_are_required_are_those_of_named_instruments(judged):
    good = "".join(
        f'  - {{time: "07:05", instrument: {name}, {text.replace(wrong, right)}}}\n'
        for name, text, wrong, right in (("t1", CHECKS["t1"], "25", "20"), ("k1", CHECKS["k1"], "110", "84"))
    )
    asking = ("people:", "requires: [function_checks]\npeople:")
    decision, found = judged(asking, ("[h1, t1]", "[t1]"), log=f"function_checks:\n{good}")
    assert (decision, found) == ("hold", {"record-missing"})
    named = f'function_checks:\n{good}  - {{time: "07:05", instrument: h1, {CHECKS["h1"].replace("55.0", "75.0")}}}\n'
    assert judged(asking, log=named)[0] == "release"


def test_the_page_of_instruments_shows_one_that_may_have_been_used(judged, contract, run):
    judged(("[h1, t1]", "[t1]"), (", instrument: k1}", "}"))
    assert run("draft", "day.yaml", "-o", "draft.pdf").code == 0
    text = " ".join(page.extract_text() for page in PdfReader(contract / "draft.pdf").pages)
    assert "H-1" in text
    assert "K-1" in text
