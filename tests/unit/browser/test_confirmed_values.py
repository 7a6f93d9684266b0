"""A confirmation is of the values that were confirmed: it goes with any of them, and is asked where the slip may be."""

import json
import re

import pytest

from reportgen.yamlsource import parse_yaml
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, PROJECT, contract

__all__ = ["contract"]

LIMITS = '  conditions: {clause: "2.3", dew_point_margin: 3 delta_degC, maximum_humidity: 85 %}\n'
ROW = '{time: "08:00", air: 17.5 degC, humidity: 64 %, steel: 61.7 degC, confirmed: yes}'
AT = "conditions[time=08%3A00]"


@pytest.fixture
def site(contract):
    project = PROJECT.replace("  sampling:", LIMITS + "  sampling:")
    (contract / "project.yaml").write_text(project, "utf-8")
    return Site(contract).opened()


def day_with(contract, row):
    (contract / "day.yaml").write_text(DAY + f"conditions:\n  - {row}\n", "utf-8")


def row_of(contract):
    return parse_yaml((contract / "day.yaml").read_bytes(), "day.yaml").data["conditions"][0]


def writes(site, field, value, was, unit="degC", **more):
    given = {"at": f"{AT}/{field}", "value": value, "was": f'"{was}"', "kind": "number", "unit": unit, "field": "f1"}
    return site.post("/shift/day/checks/write", given | more)


def test_a_corrected_value_is_not_confirmed_any_more(contract, site):
    day_with(contract, ROW)
    writes(site, "steel", "16.5", "61.7 degC")
    assert row_of(contract) == {"time": "08:00", "air": "17.5 degC", "humidity": "64 %", "steel": "16.5 degC"}


def test_another_unlikely_value_is_asked_about_anew(contract, site):
    day_with(contract, ROW)
    assert "Is 81.7 °C right?" in writes(site, "steel", "81.7", "61.7 degC").text
    assert row_of(contract)["steel"] == "61.7 degC"
    writes(site, "steel", "81.7", "61.7 degC", believed="yes")
    assert (row_of(contract)["steel"], row_of(contract)["confirmed"]) == ("81.7 degC", "yes")


def test_what_was_confirmed_is_asked_anew_where_another_value_of_the_row_changes(contract, site):
    day_with(contract, ROW)
    page = writes(site, "humidity", "66", "64 %", "%").text
    assert row_of(contract)["humidity"] == "66 %"
    assert "confirmed" not in row_of(contract)
    assert "Is 61.7 °C right?" in page


def test_a_confirmed_value_is_shown_as_such_and_asked_again_at_a_press(contract, site):
    day_with(contract, ROW)
    page = site.get("/shift/day/checks").text
    assert re.search("Looked at again: [^<]*61.7 °C[^<]*confirmed", page)
    sent = json.loads(re.search(r"data-send='(\{&#34;|\{\"unsettle.*?)'", page)[1])
    page = site.post("/shift/day/checks/write", sent).text
    assert "confirmed" not in row_of(contract)
    assert "Is 61.7 °C right?" in page


def test_another_time_of_the_row_takes_the_flag_with_it(contract, site):
    day_with(contract, ROW)
    given = {"at": f"{AT}/time", "value": "08:05", "was": '"08:00"', "kind": "clock", "field": "f1"}
    site.post("/shift/day/checks/write", given)
    assert row_of(contract)["time"] == "08:05"
    assert "confirmed" not in row_of(contract)


def test_undoing_brings_value_and_flag_back(contract, site):
    day_with(contract, ROW)
    before = (contract / "day.yaml").read_bytes()
    writes(site, "steel", "16.5", "61.7 degC")
    site.post("/shift/day/checks/write", {"undo": "1"})
    assert (contract / "day.yaml").read_bytes() == before


def test_the_question_stands_at_the_value_that_is_unlikely_and_confirms_no_other(contract, site):
    """Air of 63.5 °F written as °C; steel that is right comes after it."""
    day_with(contract, '{time: "08:00", air: 63.5 degC, humidity: 64 %}')
    given = {"at": f"{AT}/steel", "value": "16.5", "kind": "number", "unit": "degC", "field": "f1", "believed": "yes"}
    page = site.post("/shift/day/checks/write", given).text
    assert row_of(contract)["steel"] == "16.5 degC"
    assert "confirmed" not in row_of(contract)
    asked = re.search(r'data-at="([^"]+)"[^>]*aria-describedby="m-(\w+)"(?:(?!data-at).)*?class="ask"', page, re.DOTALL)
    assert asked[1] == f"{AT}/air"
    assert "Is 63.5 °C right?" in page
    assert "Is 16.5 °C right?" not in page


def test_a_single_value_is_asked_about_when_it_is_typed(contract, site):
    day_with(contract, '{time: "08:00"}')
    given = {"at": f"{AT}/air", "value": "63.5", "kind": "number", "unit": "degC", "field": "f1"}
    assert "Is 63.5 °C right?" in site.post("/shift/day/checks/write", given).text
    assert "air" not in row_of(contract)
    site.post("/shift/day/checks/write", {**given, "believed": "yes"})
    assert row_of(contract) == {"time": "08:00", "air": "63.5 degC", "confirmed": "yes"}


def test_of_two_values_either_may_be_the_slip(contract, site):
    day_with(contract, '{time: "08:00", air: 41 degC, humidity: 64 %}')
    given = {"at": f"{AT}/steel", "value": "16.5", "kind": "number", "unit": "degC", "field": "f1"}
    asked = site.post("/shift/day/checks/write", given).text
    assert "Is 16.5 °C right?" in asked
    assert "look at the other again: air" in asked
    page = site.post("/shift/day/checks/write", {**given, "believed": "open"}).text
    assert row_of(contract)["steel"] == "16.5 degC"
    assert "confirmed" not in row_of(contract)
    assert {"Is 16.5 °C right?", "Is 41 °C right?"} <= set(re.findall(r"<h3>(Is [^<]+)", page))
    writes(site, "air", "17.5", "41 degC")
    assert "confirmed" not in row_of(contract)
    assert 'class="ask"' not in site.get("/shift/day/checks").text


def test_one_flag_is_given_only_under_all_that_is_asked_in_its_entry(contract, site):
    log = '[{time: "08:00", air: 17.5 degC, humidity: 6.5 %, steel: 17 degC}, '
    log += '{time: "09:00", air: 18 degC, humidity: 65 %, steel: 17 degC}]'
    (contract / "day.yaml").write_text(DAY + f"conditions: {log}\n", "utf-8")
    asked = writes(site, "steel", "61.7", "17 degC").text
    assert asked.count('class="small"') >= 3  # the steel, the humidity, and that nothing is written
    assert "6.5" in asked


SALT = "{location: 1, area: 12.5 cm2, volume: 30 ml, blank: 0.4 uS/cm, sample: 2.6 uS/cm, confirmed: yes}"
AIR = (
    'air_checks: [{apparatus: pot 1, time: "07:05", duration: 2 min, result: clean, pressure: 70 kPa, confirmed: yes}]'
)
PROFILE = "    profile: {gauge"


@pytest.mark.parametrize(
    ("there", "doubtful", "at", "was", "value"),
    [
        ("gauge_checks:", f"{AIR}\ngauge_checks:", "air_checks[apparatus=pot 1,time=07%3A05]/pressure", "70 kPa",
         "690 kPa"),
        ("thickness: 5.6 mil", "thickness: 9 mil, confirmed: yes", "tape_checks[roll=x1,time=07%3A15]/thickness",
         "9 mil", "5.6 mil"),
        ("shim_reading: 3.0 mil", "shim_reading: 9.0 mil, confirmed: yes",
         "gauge_checks[gauge=g1,time=07%3A10]/shim_reading", "9.0 mil", "3.0 mil"),
        ("steel grit}", "steel grit, pressure: 70 kPa, confirmed: yes}", "surfaces[area=A-1]/blasted/pressure",
         "70 kPa", "690 kPa"),
        ("x1: 2.9", "x1: 29, confirmed: yes", "surfaces[area=A-1]/profile/readings[location=1,spot=a]/x1", "29", "2.9"),
        (PROFILE, f"    salts: [{SALT}]\n{PROFILE}", "surfaces[area=A-1]/salts[location=1]/volume", "30 ml", "3 ml"),
        ("steel grit}", "steel grit, confirmed: yes}", "surfaces[area=A-1]/apparatus", "pot 1", "pot 3"),
    ],
)  # fmt: skip
def test_every_kind_of_entry_loses_the_flag_with_its_value(contract, site, there, doubtful, at, was, value):
    day = contract / "day.yaml"
    day.write_text(DAY.replace(there, doubtful, 1), "utf-8")
    assert "confirmed: yes" in day.read_text("utf-8")
    given = {"at": at, "value": value, "was": f'"{was}"', "kind": "text", "field": "f1"}
    site.post("/shift/day/checks/write", given)
    assert "confirmed: yes" not in day.read_text("utf-8")
    assert value in day.read_text("utf-8")
