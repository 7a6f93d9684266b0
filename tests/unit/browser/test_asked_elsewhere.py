"""A reading that makes an earlier one unlikely: the earlier one is asked about, and confirmed or corrected."""

import re

import pytest

from reportgen.browser.area_views import area_view
from reportgen.browser.changing import entered
from reportgen.yamlsource import parse_yaml
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, PROJECT, contract

__all__ = ["contract"]

ROWS = "surfaces[area=A-1]/profile/readings"
SLIP = "[{location: 1, spot: a, x1: 2.9}, {location: 1, spot: b, x1: 0.3}]"


@pytest.fixture
def site(contract):
    (contract / "project.yaml").write_text(PROJECT.replace("per_location: 1", "per_location: 3"), "utf-8")
    (contract / "day.yaml").write_text(DAY.replace("[{location: 1, spot: a, x1: 2.9}]", SLIP), "utf-8")
    return Site(contract).opened()


def readings(contract):
    return parse_yaml((contract / "day.yaml").read_bytes(), "day.yaml").data["surfaces"][0]["profile"]["readings"]


def writes(site, spot, value, **more):
    given = {"at": f"{ROWS}[location=1,spot={spot}]/x1", "value": value, "kind": "number", "field": "f1"}
    return site.post("/shift/day/area/A-1/write", given | more)


def test_the_question_stands_at_the_slip_and_a_good_reading_is_never_confirmed(contract, site):
    answer = writes(site, "c", "2.8", believed="yes")
    assert readings(contract)[2] == {"location": "1", "spot": "c", "x1": "2.8"}
    asked = re.search(r'id="m-(\w+)"[^>]*><div class="ask".*?</button></div>', answer.text, re.DOTALL)
    assert "Is 0.3 right?" in asked[0]
    assert "Is 2.8 right?" not in answer.text
    assert f'id="{asked[1]}" data-at="{ROWS}[location=1,spot=b]/x1"' in answer.text
    assert "Please look again there" in answer.text
    assert "confirmed: yes" not in answer.text


def test_what_stands_there_is_confirmed_where_it_stands(contract, site):
    writes(site, "c", "2.8")
    at = f"{ROWS}[location=1,spot=b]/x1"
    stale = site.post("/shift/day/area/A-1/write", {"settle": at, "was": '"0.4"'})
    assert "also changed outside" in stale.text
    after = site.post("/shift/day/area/A-1/write", {"settle": at, "was": '"0.3"'}).text
    assert readings(contract)[1] == {"location": "1", "spot": "b", "x1": "0.3", "confirmed": "yes"}
    assert 'class="ask"' not in after
    assert [one.get("confirmed") for one in readings(contract)] == [None, "yes", None]


def test_a_slip_is_asked_about_where_it_is_typed(contract, site):
    (contract / "day.yaml").write_text((contract / "day.yaml").read_text().replace("x1: 0.3}", "x1: 2.7}"), "utf-8")
    asked = writes(site, "c", "0.4").text
    assert "Is 0.4 right?" in asked
    assert "confirmed: yes" not in asked
    assert len(readings(contract)) == 2
    writes(site, "c", "0.4", believed="yes")
    assert [one.get("confirmed") for one in readings(contract)] == [None, None, "yes"]


def test_a_reading_of_the_air_is_asked_about_in_its_own_entry(contract, site):
    log = '[{time: "08:00", air: 18 degC, steel: 18 degC, humidity: 6.5 %}]'
    (contract / "day.yaml").write_text(DAY + f"conditions: {log}\n", "utf-8")
    begin = '{"time": "09:00", "air": "18 degC", "steel": "18 degC", "humidity": "65 %"}'
    given = {"at": "conditions[time=09%3A00]", "value": "x", "begin": begin, "believed": "yes"}
    entered(contract / "day.yaml", "de", given, None)
    assert area_view(contract / "day.yaml", "de", "A-1")["asks"]
    page = site.get("/shift/day/checks").text
    assert "Is 6.5 % right?" in page
