"""Whatever a page offers can be typed, and what was typed can be taken out: on every page, in every state of a day."""

import json
import re
from urllib.parse import parse_qs, urlsplit

import pytest

from reportgen.browser.area_views import area_view
from reportgen.browser.changing import entered
from reportgen.browser.checks_views import checks_view
from reportgen.browser.record_views import nonconformances_view, photos_view
from reportgen.browser.shift_views import shift_view
from reportgen.intake.changes import Address, content_at
from reportgen.yamlsource import parse_yaml
from tests.unit.browser.site import Site
from tests.unit.browser.test_rework_fields import every
from tests.unit.cli.conftest import DAY, contract

__all__ = ["contract"]

WALKED = """\
    profile:
      gauge: g1
      readings: [{location: 1, spot: a, x1: 1.2}]
      walk_outs: [{failing: 1, interval: 1 m, directions: [{towards: up, locations: [2]}]}]
"""
RECORDED = """\
    replicas: [{location: 1, spot: a, thrown_away: torn}]
    process_changes: [{time: "09:00", change: other nozzle}]
    comparison: {by: A. Engineer, values: [{location: 1, profile: 1.3 mil}]}
"""
AGAIN = """\
  - area: A-1
    apparatus: pot 1
    initial_condition: B
    blasted: {start: "11:00", end: "12:00", abrasive: steel grit}
    blasted_again: [pot 1]
"""
OWN = DAY[DAY.index("    profile:") : DAY.index("not_inspected")]
STATES = {
    "walked": DAY.replace(OWN, WALKED),
    "recorded": DAY.replace(OWN, OWN + RECORDED),
    "again, unfinished": DAY.replace(OWN, OWN + AGAIN),
    "nothing but the head": DAY[: DAY.index("gauge_checks")],
}
TYPED = {"number": "3", "clock": "0830", "long": "some words", "names": "A. Person", "list": "2"}
"""What is typed by the kind of a field; for fields of any text, what some of them want."""
MORE = ("some words", "2026-05-14", "2", "yes", "up", "1")


def pages_of(day):
    """Every view of a day, each entry of each area with its own."""
    yield from (view(day, "en") for view in (shift_view, checks_view, nonconformances_view, photos_view))
    surfaces = parse_yaml(day.read_bytes(), day.name).data.get("surfaces") or []
    areas = [one["area"] for one in surfaces]
    for number, area in enumerate(areas):
        yield area_view(day, "en", area, number=str(areas[: number + 1].count(area)))
    yield area_view(day, "en", "A-2")


def sent(one, value, was):
    """What a page sends of a field."""
    return {
        "at": one.at, "was": was, "value": value, "kind": one.kind, "unit": one.written_unit, "begin": one.begin,
        "field": one.id, "believed": "yes",
    }  # fmt: skip


def typings(one):
    """What may be typed into a field, until something is taken."""
    if one.options:
        return [value for value, _ in one.options][-2:]
    first = TYPED.get(one.kind)
    return MORE if first is None else (first, *MORE)


def taken(day, one):
    """Type into a field until something is written; what the refusals said, and what was written."""
    said = []
    for value in typings(one):
        answer = entered(day, "en", sent(one, value, one.was), None)
        if answer.what == "wrote":
            return said, value
        said += answer.view.get("refused", [answer.what])
    return said, None


def without_empty(data):
    """A day without lists that are empty, and without what says that somebody looked again."""
    if isinstance(data, list):
        return [without_empty(one) for one in data]
    if not isinstance(data, dict):
        return data
    return {name: without_empty(value) for name, value in data.items() if value != [] and name != "confirmed"}


@pytest.mark.parametrize("state", STATES)
def test_what_is_offered_can_be_typed_and_what_was_typed_can_be_taken_out(contract, state):
    day = contract / "day.yaml"
    day.write_text(re.sub("(?ms)^not_inspected:.*?^(?=\\S|\\Z)", "", STATES[state]), "utf-8")  # goes with a first entry
    before, data = day.read_bytes(), without_empty(parse_yaml(day.read_bytes(), day.name).data)
    alike = {}
    for one in (one for view in pages_of(day) for one in every(view) if one.kind != "several"):
        alike.setdefault((re.sub(r"=[^,\]*]*", "", one.at), one.was == "", one.begin != ""), one)
    wrong, typed = [], 0
    for one in alike.values():
        at = one.at
        Address.parse(at)
        said, value = taken(day, one)
        if any(re.search(r"Entry\(|unknown field|no place in a day file", text) for text in said):
            wrong.append((at, said))
        if value is not None and one.was in ("", json.dumps(value)):
            typed += 1
            now = parse_yaml(day.read_bytes(), day.name).data
            value = value if one.kind != "clock" else "08:30"
            there = Address.parse(at.replace("%2A", value.replace(" ", "%20").replace(":", "%3A")))
            assert content_at(now, there) is not None, at
            out = {"take-out": str(there)} if one.begin else sent(one, "", json.dumps(content_at(now, there)))
            answer = entered(day, "en", out, None)
            back = one.was != "" or without_empty(parse_yaml(day.read_bytes(), day.name).data) == data
            if answer.what != "wrote" or not back:
                wrong.append((at, "not taken out", answer.view))
        day.write_bytes(before)
    assert not wrong, wrong
    assert typed > 5


def test_a_walk_out_is_entered_emptied_and_taken_out(contract):
    day = contract / "day.yaml"
    day.write_text(DAY.replace(OWN, WALKED.replace("towards: up", "towards: down")), "utf-8")
    (fresh,) = [one for one in every(area_view(day, "en", "A-1")) if one.begin and "directions" in one.at]
    assert entered(day, "en", sent(fresh, "up", ""), None).what == "wrote"
    assert "towards: up" in day.read_text("utf-8")
    page = Site(contract).opened().get("/shift/day/area/A-1").text
    assert re.search(r'"take-out": "[^"]*walk_outs\[failing=1\]"', page.replace("&#34;", '"'))
    day.write_text(DAY.replace(OWN, re.sub(r", directions.*\]\}\]\n", "}]\n", WALKED)), "utf-8")
    (interval,) = [one for one in every(area_view(day, "en", "A-1")) if one.at.endswith("/interval")]
    assert entered(day, "en", sent(interval, "", interval.was), None).what == "wrote"
    assert "walk_outs" not in day.read_text("utf-8")  # nothing names a location alone


def results_on(page):
    """What a page says came of an area."""
    main = re.sub(r"<[^>]*>", " ", page[page.index("<main") : page.index("</main>")])
    return re.findall(r"\d\.\d+ ± \d\.\d+|\bconforms|does not conform", main)


def test_what_is_shown_of_an_entry_is_its_own(contract):
    day, site = contract / "day.yaml", Site(contract).opened()
    day.write_text(DAY.replace(OWN, OWN + AGAIN), "utf-8")
    page = "/shift/day/area/A-1?entry=2"
    assert results_on(site.get("/shift/day/area/A-1?entry=1").text.replace("</h1>", "")) is not None
    shown = site.get(page).text
    assert "2.90" not in shown
    assert not re.search(r'<span class="big">', shown)
    begun = STATES["again, unfinished"].replace('end: "12:00", ', "")
    day.write_text(begun, "utf-8")
    shown = site.get(page).text
    assert not re.search(r"Cleanliness.*conforms.*Profile", shown[shown.index("<main") :], re.DOTALL)
    looked = site.post(
        "/shift/day/area/A-1/look?entry=2",
        {"at": "surfaces[area=A-1,apparatus=pot%201,blasted.start=11%3A00]/profile/readings[location=1,spot=a]/x1",
         "value": "1.1", "kind": "number", "was": "", "unit": ""},
    ).text  # fmt: skip
    assert "big" not in looked


def test_every_link_of_an_entry_keeps_to_the_entry(contract):
    day, site = contract / "day.yaml", Site(contract).opened()
    read = AGAIN + "    profile: {gauge: g1, readings: [{location: 2, spot: a, x1: 1.0}, {location: 3, spot: a}]}\n"
    for text in (STATES["again, unfinished"], DAY.replace(OWN, OWN + read)):
        day.write_text(text, "utf-8")
        page = site.get("/shift/day/area/A-1?entry=2").text
        links = [one.replace("&amp;", "&") for one in re.findall(r'href="([^"]*)"', page)]
        of_area = [one for one in links if urlsplit(one).path.endswith("/area/A-1")]
        strays = [one for one in of_area if parse_qs(urlsplit(one).query).get("entry") != ["2"]]
        assert len(of_area) > 2
        assert strays == ["/shift/day/area/A-1?entry=1"]  # the other entry, by its name


def test_the_locations_of_a_second_entry_are_numbered_on(contract):
    day = contract / "day.yaml"
    day.write_text(STATES["again, unfinished"], "utf-8")
    profile = area_view(day, "en", "A-1", number="2")["profile"]
    assert profile["current"] == "2"
    (reading,) = [one for spot in profile["spots"] for one in spot["fields"]]
    gauge = "surfaces[area=A-1,apparatus=pot%201,blasted.start=11%3A00]/profile/gauge"
    assert entered(day, "en", {"at": gauge, "value": "g1"}, None).what == "wrote"
    assert entered(day, "en", sent(reading, "3.1", "") | {"believed": ""}, None).what == "wrote"
    day.write_text(STATES["again, unfinished"].replace(AGAIN, AGAIN.replace("pot 1", "pot 2")), "utf-8")
    assert area_view(day, "en", "A-1", number="2")["profile"]["current"] == "1"  # its own apparatus tells it apart
