"""What is entered beside readings: the shift's times, where a location is, replicas thrown away; and taken back."""

import datetime as dt
import html
import re

import pytest

from reportgen.browser.area_views import area_view
from reportgen.browser.changing import entered, looked_at
from reportgen.browser.shift_views import shift_view
from reportgen.pipeline import check
from reportgen.yamlsource import parse_yaml
from tests.unit.browser.site import Site
from tests.unit.browser.test_offered_fields import sent
from tests.unit.browser.test_rework_fields import every
from tests.unit.cli.conftest import DAY, PROJECT, contract

__all__ = ["contract"]

AREA = "/shift/day/area/A-1"


@pytest.fixture
def day(contract):
    return contract / "day.yaml"


def data_of(day):
    return parse_yaml(day.read_bytes(), day.name).data


def field_at(view, end):
    return next(one for one in every(view) if one.at.endswith(end))


def write(day, one, value, **more):
    return entered(day, "en", sent(one, value, one.was) | {"believed": ""} | more, None)


def test_the_times_of_the_shift_are_typed(day):
    view = shift_view(day, "de")["report"]
    assert [field_at(view, f"shift/{name}").label for name in ("start", "end")] == ["Schicht von", "bis"]
    assert write(day, field_at(view, "shift/end"), "1730").what == "wrote"
    assert data_of(day)["report"]["shift"] == {"start": "07:00", "end": "17:30"}
    assert write(day, field_at(shift_view(day, "en")["report"], "shift/start"), "").what == "wrote"
    assert "start" not in data_of(day)["report"]["shift"]
    assert "entry-unfinished" in {one.code for one in check(day, typed=True).evaluation.findings}, (
        "it is missing, and holds"
    )


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("end", "0600", "The shift would then last 23 h."),
        ("start", "1900", "The shift would then last 20 h."),
        ("end", "1000", "times entered would then lie on another day, or outside the shift."),
    ],
)
def test_times_of_the_shift_that_move_the_day_are_asked_about(day, name, value, said):
    before = day.read_bytes()
    one = field_at(shift_view(day, "en")["report"], f"shift/{name}")
    asked = write(day, one, value)
    assert asked.what == "asked"
    assert said in " ".join(asked.view["why"])
    assert day.read_bytes() == before
    assert write(day, one, value, believed="yes").what in ("wrote", "refused")  # as the loader takes it


def test_a_time_outside_the_shift_is_asked_about_and_leads_to_the_times_of_the_shift(contract):
    given = {"at": "surfaces[area=A-1]/coated", "value": "1645", "kind": "clock", "field": "f1"}
    asked = Site(contract).opened().post(f"{AREA}/write", given).text
    assert 'href="/shift/day#report"' in asked


def test_where_a_location_is_is_typed_shown_and_taken_out(day):
    before = day.read_bytes()
    place = field_at(area_view(day, "en", "A-1")["profile"], "positions/1")
    assert not place.wanted
    assert write(day, place, "web, 2 m from the east end").what == "wrote"
    assert data_of(day)["surfaces"][0]["positions"] == {"1": "web, 2 m from the east end"}
    profile = area_view(day, "en", "A-1", location="2")["profile"]
    assert profile["blocks"][0]["raw"] == ["a 2.9", "web, 2 m from the east end"]
    own = field_at(area_view(day, "en", "A-1", location="1")["profile"], "positions/1")
    assert write(day, own, "").what == "wrote"
    assert day.read_bytes() == before


def test_where_a_location_is_is_wanted_where_the_contract_wants_it(contract, day):
    (contract / "project.yaml").write_text(PROJECT + "requires: [positions]\n", "utf-8")
    assert field_at(area_view(day, "en", "A-1")["profile"], "positions/1").wanted


def test_several_replicas_of_one_spot_are_thrown_away_each_with_its_reason(day):
    before = day.read_bytes()
    for reason in ("torn", "creased"):
        fresh = [one for one in every(area_view(day, "en", "A-1")["recorded"]) if one.begin and "thrown" in one.at]
        assert write(day, fresh[0], reason).what == "wrote"
    named = {"location": "1", "spot": "a"}
    assert data_of(day)["surfaces"][0]["replicas"] == [
        named | {"thrown_away": "torn"}, named | {"thrown_away": "creased"},
    ]  # fmt: skip
    assert "there is one already" in str(write(day, fresh[0], "torn").view)
    rows = area_view(day, "en", "A-1")["recorded"]["replicas"]["rows"]
    assert [row["result"]["text"] for row in rows] == ["torn", "creased"]
    (read,) = [one for one in rows[1]["fields"] if one.at.endswith("/read")]
    assert write(day, read, "2.7").what == "wrote"
    assert data_of(day)["surfaces"][0]["replicas"][1]["read"] == "2.7 mil"
    for row in area_view(day, "en", "A-1")["recorded"]["replicas"]["rows"]:
        assert entered(day, "en", {"take-out": row["at"]}, None).what == "wrote"
    assert day.read_bytes() == before


# Undo


def undo(site):
    return html.unescape(site.post(f"{AREA}/write", {"undo": "yes"}).text)


def test_one_change_after_another_is_taken_back_and_the_next_one_is_named(contract, day):
    site, states = Site(contract).opened(), [day.read_bytes()]
    for path, value in (("remarks", "one"), ("apparatus", "pot 2"), ("blasted/nozzle", "no. 6")):
        was = {"apparatus": '"pot 1"'}.get(path, "")
        given = {"at": f"surfaces[area=A-1]/{path}", "value": value, "was": was, "kind": "text"}
        assert "refused" not in site.post(f"{AREA}/write", given).text
        states.append(day.read_bytes())
    assert len(set(states)) == 4
    for number, after in ((2, "pot 2"), (1, "remarks: one"), (0, None)):
        shown = undo(site)
        assert day.read_bytes() == states[number]
        told = re.search(r"Before that: ([^<]*)", shown)
        assert (told and after in told[1]) if after else told is None
    assert "nothing to take back" in undo(site)
    assert day.read_bytes() == states[0]


def test_what_an_editor_changed_meanwhile_stands_in_the_way_of_no_other_undo(contract, day):
    site = Site(contract).opened()
    for path in ("remarks", "blasted/nozzle"):
        site.post(f"{AREA}/write", {"at": f"surfaces[area=A-1]/{path}", "value": "one", "kind": "text"})
    day.write_text(day.read_text("utf-8").replace("steel grit", "steel shot"), "utf-8")
    undo(site)
    undo(site)
    assert day.read_text("utf-8") == DAY.replace("steel grit", "steel shot")


def test_terms_are_taken_back_one_after_another(contract):
    site, project = Site(contract).opened(), contract / "project.yaml"
    before = project.read_bytes()
    for name, was, value in (("site", "Weir", "Upper weir"), ("client", "Board", "Trust")):
        given = {"at": f"project/{name}", "was": f'"{was}"', "value": value, "kind": "text"}
        assert "HX-Retarget" in site.post("/terms/write", given).headers
    first = html.unescape(site.post("/terms/write", {"undo": "yes"}).text)
    assert "Before that:" in first
    site.post("/terms/write", {"undo": "yes"})
    assert project.read_bytes() == before


# Why the other tape


TWO = PROJECT.replace("tape_rolls: {", 'tape_rolls: {c1: {grade: coarse, lot: "5"}, ')
ON = "surfaces[area=A-1]/profile/readings[location=1,spot=a]"
REASONS = [
    ("average", "x1", "2.4", "The contract's rule, average: from 1.5 to 2.5 mil, ends included"),
    ("non-averaging", "c1", "2.2", "2.0 mil or more on coarse tape is read again on extra coarse"),
    ("non-averaging", "x1", "1.2", "less than 1.5 mil on extra coarse again on coarse"),
    ("single-grade", "c1", "3.0", "Coarse tape reads 0.8 to 2.5 mil, extra coarse 1.5 to 4.5 mil"),
]
"""Windows of the rules: ranges of the two grades by ASTM D4417 Method C, as `references` has them."""


@pytest.mark.parametrize(("rule", "roll", "reading", "why"), REASONS)
def test_the_reason_of_a_second_tape_states_the_rule_and_its_numbers(contract, day, rule, roll, reading, why):
    (contract / "project.yaml").write_text(TWO.replace("average", rule), "utf-8")
    day.write_text(DAY.replace("x1: 2.9", f"{roll}: {reading}"), "utf-8")
    (spot,) = area_view(day, "en", "A-1")["profile"]["spots"]
    assert why in spot["why"]
    assert "(clause 2.2)" in spot["why"]
    day.write_text(DAY.replace("x1: 2.9", f"{roll}: "), "utf-8")
    typed = looked_at(day, "en", {"at": f"{ON}/{roll}", "was": "", "value": reading, "kind": "number"})
    assert typed["light"]["because"] == spot["why"]
    assert re.search(r"Die Regel des Vertrags|Grobes Band misst", looked_at_in_german(day, roll, reading))


def looked_at_in_german(day, roll, reading):
    given = {"at": f"{ON}/{roll}", "was": "", "value": reading, "kind": "number"}
    return looked_at(day, "de", given)["light"]["because"]


# Times of the shift


@pytest.mark.parametrize("typed", ["15:00-07:00", "1500 0700", "15.00 – 07.00", "15:00 to 07:00"])
def test_a_night_shift_is_reached_from_a_day_shift_of_the_same_hours(contract, day, typed):
    day.write_text(DAY.split("gauge_checks:")[0] + "surfaces: []\n", "utf-8")
    before = day.read_bytes()
    start = field_at(shift_view(day, "en")["report"], "shift/start")
    given = {"at": start.at, "was": start.was, "value": "1500", "kind": "clock", "field": start.id}
    site = Site(contract).opened()
    asked = html.unescape(site.post("/shift/day/write", given).text)
    assert "From 15:00 to 15:00 is no shift." in asked
    assert f'data-again="{start.id}"' in asked
    assert day.read_bytes() == before
    assert "Von 15:00 bis 15:00" in Site(contract, "de").opened().post("/shift/day/write", given).text
    assert "HX-Retarget" in site.post("/shift/day/write", given | {"value": typed}).headers
    assert data_of(day)["report"]["shift"] == {"start": "15:00", "end": "07:00"}
    site.post("/shift/day/write", {"undo": "yes"})
    assert day.read_bytes() == before


@pytest.mark.parametrize(
    ("hours", "offered"), [(-5, False), (-3, True), (4, True), (11, True), (13, False), (9000, False)]
)
def test_the_present_time_is_offered_while_the_shift_runs_and_not_on_a_past_day(day, hours, offered, monkeypatch):
    moment = dt.datetime(2026, 5, 4, 7, tzinfo=dt.UTC) + dt.timedelta(hours=hours)
    monkeypatch.setattr("reportgen.browser.sight.now", lambda: moment)
    shown = Site(day.parent).opened().get("/shift/day/checks").text
    assert ("data-now=" in shown) == offered
