"""What is recorded beside measurements, typed into the fields that the pages show, and what follows from it."""

import html
import json
import re

import pytest

import reportgen
from tests.e2e.test_open_recording import read

DAY = "/shift/2026-06-09"
FIELD = r'<(?:input|select|textarea) id="{id}"([^>]*)>'


@pytest.fixture
def day(folder):
    return folder / "2026-06-09.yaml"


def types(site, page, label, value):
    """Type into the field of a page that is called so, and return the answer; the page has to have it once."""
    shown = site.get(page).text
    found = re.findall(rf'<label for="(\w+)">{re.escape(html.escape(label))}</label>', shown)
    assert len(found) == 1, (label, found)
    said = re.search(FIELD.format(id=found[0]), shown)[1]
    given = {name: html.unescape(text) for name, text in re.findall(r'data-([\w-]+)="([^"]*)"', said)}
    sent = {name: given.get(name, "") for name in ("at", "was", "kind", "unit", "begin")}
    path, _, query = page.partition("?")
    return site.post(f"{path}/write?{query}", {**sent, "value": value, "field": found[0]})


def presses(site, page, path, value):
    """Press the button of a field that takes several."""
    return site.post(f"{page}/write", {"choose": path, "text": value})


def test_a_function_check_is_judged_as_it_is_entered(site, day):
    page = f"{DAY}/checks"
    for label, value in (
        ("new check of h1: time", "700"), ("should show, with unit", "75.3 %"), ("showed, with unit", "75 %"),
        ("checked against", "salt solution"),
    ):  # fmt: skip
        answer = types(site, page, label, value)
        assert "HX-Retarget" in answer.headers, answer.text
    (entry,) = read(day)["function_checks"]
    assert entry == {
        "time": "07:00", "instrument": "h1", "reference": "75.3 %", "shown": "75 %", "against": "salt solution",
    }  # fmt: skip
    (check,) = [one for one in reportgen.check(day).evaluation.checks if one.kind == "function"]
    assert (check.subject, check.verdict) == ("h1", "conforms")


def test_a_hold_point_is_asked_for_and_released(site, folder, day):
    project = folder / "project.yaml"
    project.write_text(
        project.read_text("utf-8").replace(
            "  time_to_coat:", "  hold_points: [{step: profile release, before: coating}]\n  time_to_coat:"
        ),
        "utf-8",
    )
    page = f"{DAY}/checks"
    types(site, page, "profile release: asked for at", "1000")
    types(site, page, "released at", "1030")
    types(site, page, "by whom", "P. Ambleweir")
    presses(site, page, "hold_points[step=profile%20release,asked=10%3A00]/areas", "G-4")
    (entry,) = read(day)["hold_points"]
    assert entry == {
        "step": "profile release", "asked": "10:00", "released": "10:30", "by": "P. Ambleweir", "areas": ["G-4"],
    }  # fmt: skip
    assert "10:30" in site.get(page).text


def test_a_replica_is_thrown_away_with_its_reason_and_the_grain_of_the_others_stated(site, day):
    page = f"{DAY}/area/G-6?location=4"
    assert "HX-Retarget" in types(site, page, "grain of all replicas, over the whole circle", "uniform").headers
    types(site, page, "location 4, spot b: why a replica was thrown away", "creased")
    types(site, page, "it had read", "2,1")
    surface = next(one for one in read(day)["surfaces"] if one["area"] == "G-6")
    assert surface["replicas"] == [
        {"grain": "uniform"}, {"location": 4, "spot": "b", "thrown_away": "creased", "read": "2.1 mil"},
    ]  # fmt: skip
    assert "creased" in site.get(page).text
    reportgen.check(day)


def test_a_change_of_the_process_names_the_locations_around_it(site, day):
    page = f"{DAY}/area/G-6"
    types(site, page, "changed at", "1300")
    for label, value in (
        ("what was changed", "nozzle renewed"), ("last location before it", "3"), ("first location after it", "4"),
    ):  # fmt: skip
        types(site, page, label, value)
    surface = next(one for one in read(day)["surfaces"] if one["area"] == "G-6")
    assert surface["process_changes"] == [{"time": "13:00", "change": "nozzle renewed", "before": 3, "after": 4}]
    assert not reportgen.check(day).job.unfinished


def test_the_contractor_s_readings_stand_beside_and_in_no_verdict(site, day):
    page, before = f"{DAY}/area/G-6", reportgen.check(day).evaluation
    types(site, page, "who took them", "S. Ollendry")
    types(site, page, "Location 2", "2,6")
    surface = next(one for one in read(day)["surfaces"] if one["area"] == "G-6")
    assert surface["comparison"] == {"by": "S. Ollendry", "values": [{"location": 2, "profile": "2.6 mil"}]}
    after = reportgen.check(day).evaluation
    areas = [[(one.id, one.mean, one.decision) for one in each.areas] for each in (before, after)]
    assert areas[0] == areas[1]


def test_who_was_there_and_who_signs_too(site, day):
    types(site, DAY, "who else was present, with commas between", "S. Ollendry, A. Person")
    presses(site, DAY, "report/countersigners", "ambleweir")
    report = read(day)["report"]
    assert report["present"] == ["S. Ollendry", "A. Person"]
    assert report["countersigners"] == ["ambleweir"]
    assert "rusketh" not in re.findall(r'"text": "(\w+)"', site.get(DAY).text)  # not the inspector


def test_an_area_is_blasted_again_on_the_same_shift_in_an_entry_of_its_own(site, day):
    page = f"{DAY}/area/G-5"
    answer = types(site, page, "blasted again from", "1400")
    second = answer.headers["hx-redirect"]
    assert second == f"{page}?entry=2#setup"
    second = second.partition("#")[0]
    types(site, second, "apparatus, from H-1", "pot A")
    types(site, second, "to", "1500")
    shown = html.unescape(site.get(second).text)
    found = re.findall(r"data-send='(\{\"choose\"[^']*)'", shown)
    assert len(found) == 2, found
    for one in found:
        sent = json.loads(one)
        presses(site, page, sent["choose"], sent["text"])
    first, other = [one for one in read(day)["surfaces"] if one["area"] == "G-5"]
    assert first["blasted"]["start"] == "08:50"
    assert "blasted_again" not in first
    assert (other["blasted"]["start"], other["blasted_again"], other["reinspects"]) == ("14:00", ["pot A"], ["NCR-001"])
    assert 'aria-current="true">pot A 14:00' in shown
