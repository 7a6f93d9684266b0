"""Undo where somebody else wrote meanwhile: both answers act, and undo goes on to the step before."""

import html
import json
import re

import pytest

from tests.unit.browser.site import Site
from tests.unit.cli.conftest import contract

__all__ = ["contract"]

AREA = "/shift/day/area/A-1/write"
ROW = "surfaces[area=A-1]/profile/readings[location=1,spot=a]"


def buttons(text):
    """What the buttons of an answer send, and what they say."""
    found = re.findall(r"<button[^>]*data-send='([^']*)'>([^<]*)", text)
    return [(json.loads(html.unescape(sent)), said) for sent, said in found]


@pytest.fixture
def site(contract):
    """A site on which two things were written, and the later one changed by an editor since."""
    site = Site(contract).opened()
    one = {"at": "surfaces[area=A-1]/remarks", "value": "gate lifted", "kind": "long"}
    two = {"at": f"{ROW}/x1", "was": '"2.9"', "value": "3.0", "kind": "number"}
    for given in (one, two):
        assert "HX-Retarget" in site.post(AREA, given).headers
    day = contract / "day.yaml"
    day.write_text(day.read_text("utf-8").replace("x1: 3.0}", "x1: 3.1}"), "utf-8")
    return site


@pytest.mark.parametrize(("answer", "stands"), [(0, "x1: 3.1}"), (1, "x1: 2.9}")])
def test_both_answers_to_an_undo_act_and_the_next_undo_is_of_the_step_before(contract, site, answer, stands):
    day = contract / "day.yaml"
    asked = site.post(AREA, {"undo": "yes"})
    assert "When it was written it said: 3.0. Now it says: 3.1" in asked.text
    assert "You typed" not in asked.text
    keep, back = buttons(asked.text)
    assert (keep[1], back[1]) == ("Keep 3.1", "Write 2.9")
    assert "HX-Retarget" in site.post(AREA, (keep, back)[answer][0]).headers
    assert stands in day.read_text("utf-8")
    assert "gate lifted" in day.read_text("utf-8")
    assert "HX-Retarget" in site.post(AREA, {"undo": "yes"}).headers
    assert stands in day.read_text("utf-8")
    assert "gate lifted" not in day.read_text("utf-8")


def test_what_changed_once_more_since_it_was_asked_about_is_asked_about_again(contract, site):
    day = contract / "day.yaml"
    back = buttons(site.post(AREA, {"undo": "yes"}).text)[1][0]
    day.write_text(day.read_text("utf-8").replace("x1: 3.1}", "x1: 3.2}"), "utf-8")
    again = site.post(AREA, back)
    assert "Now it says: 3.2" in again.text
    assert "HX-Retarget" in site.post(AREA, buttons(again.text)[1][0]).headers
    assert "x1: 2.9}" in day.read_text("utf-8")


def test_an_undo_that_is_refused_can_be_left_out(contract, site):
    day = contract / "day.yaml"
    day.write_text(day.read_text("utf-8").replace("{location: 1, spot: a, x1: 3.1}", "*gone"), "utf-8")
    refused = site.post(AREA, {"undo": "yes"})
    assert "HX-Retarget" not in refused.headers
    day.write_text(day.read_text("utf-8").replace("*gone", "{location: 1, spot: a, x1: 3.1}"), "utf-8")
    assert "gate lifted" in site.post(AREA, {"keep": "yes"}).text
    site.post(AREA, {"undo": "yes"})
    assert "gate lifted" not in day.read_text("utf-8")


def test_an_undo_of_the_terms_goes_on_as_well(contract):
    project, site = contract / "project.yaml", Site(contract).opened()
    for name, was, value in (("client", "Board", "Board of works"), ("site", "Weir", "Upper weir")):
        given = {"at": f"project/{name}", "was": json.dumps(was), "value": value, "believed": "yes"}
        assert "HX-Retarget" in site.post("/terms/write", given).headers
    project.write_text(project.read_text("utf-8").replace("Upper weir", "Lower weir"), "utf-8")
    back = buttons(site.post("/terms/write", {"undo": "yes"}).text)[1]
    assert back[1] == "Write Weir"
    assert "HX-Retarget" in site.post("/terms/write", back[0]).headers
    assert "site: Weir" in project.read_text("utf-8")
    site.post("/terms/write", {"undo": "yes"})
    assert "client: Board," in project.read_text("utf-8")


def test_an_undo_takes_back_what_it_stands_beside_and_not_what_another_window_wrote_since(contract):
    site, day = Site(contract).opened(), contract / "day.yaml"
    mine = site.post(AREA, {"at": "surfaces[area=A-1]/remarks", "value": "gate lifted", "kind": "long"})
    (beside, *_) = [sent for sent, said in buttons(mine.text) if said == "Undo"]
    given = {"at": f"{ROW}/x1", "was": '"2.9"', "value": "3.0", "kind": "number"}
    assert "HX-Retarget" in site.post(AREA, given).headers
    back = site.post(AREA, beside)
    assert "gate lifted" not in day.read_text("utf-8")
    assert "x1: 3.0}" in day.read_text("utf-8")
    assert "Before that: Written to the day file" in back.text
    again = site.post(AREA, beside)
    assert "There is nothing to take back" in again.text, "the undo of another window's entry is not its own"
    assert "x1: 3.0}" in day.read_text("utf-8")
    (other, *_) = [sent for sent, said in buttons(back.text) if said == "Undo"]
    site.post(AREA, other)
    assert "x1: 2.9}" in day.read_text("utf-8")


def test_an_undo_beside_another_window_s_later_text_of_the_same_place_asks(contract):
    site, day = Site(contract).opened(), contract / "day.yaml"
    at = {"at": f"{ROW}/x1", "kind": "number"}
    mine = site.post(AREA, at | {"was": '"2.9"', "value": "3.0"})
    (beside, *_) = [sent for sent, said in buttons(mine.text) if said == "Undo"]
    site.post(AREA, at | {"was": '"3.0"', "value": "3.1"})
    asked = site.post(AREA, beside)
    assert "Now it says: 3.1" in asked.text
    assert "x1: 3.1}" in day.read_text("utf-8")
    keep, back = buttons(asked.text)
    assert keep[0]["of"] == back[0]["of"] == beside["of"]


def test_an_undo_of_the_terms_takes_back_what_it_stands_beside(contract):
    site, project = Site(contract).opened(), contract / "project.yaml"
    sent = []
    for name, was, value in (("client", "Board", "Trust"), ("site", "Weir", "Upper weir")):
        given = {"at": f"project/{name}", "was": json.dumps(was), "value": value, "believed": "yes"}
        sent.append(next(one for one, said in buttons(site.post("/terms/write", given).text) if said == "Undo"))
    site.post("/terms/write", sent[0])
    assert "client: Board" in project.read_text("utf-8")
    assert "site: Upper weir" in project.read_text("utf-8")
