"""What pages say in passing: what was written, what is due, what is left open, what comes next."""

import json
import re

import pytest

from reportgen.browser.changing import entered
from reportgen.browser.sight import seen
from reportgen.pipeline.photos import _stem
from tests.unit.browser.site import Site
from tests.unit.browser.test_offered_fields import STATES
from tests.unit.cli.conftest import DAY, contract

__all__ = ["contract"]
AT = "surfaces[area=A-1]/profile/readings[location=2,spot=a]/x1"


def test_what_was_written_is_said_without_what_names_it_twice(contract):
    day = contract / "day.yaml"
    wrote = entered(day, "en", {"at": AT, "value": "2.7", "kind": "number"}, None)
    assert wrote.view["text"].endswith(": A-1, location 2, spot a: x1 2.7")
    out = entered(day, "en", {"at": AT, "was": json.dumps("2.7"), "value": "", "kind": "number"}, None)
    assert out.view["text"].endswith(": A-1, location 2, spot a: taken out")


def test_what_a_page_was_not_given_is_refused(contract):
    site = Site(contract).opened()
    for page, at in (("/shift/day/area/A-1", AT), ("/terms", "project/name")):
        answer = site.post(f"{page}/write", {"at": at, "was": "{not", "value": "2.7"})
        assert (answer.status_code, "not given" in answer.text) == (200, True)


def test_a_day_of_which_nothing_was_entered_is_not_complete(contract):
    day = contract / "day.yaml"
    day.write_text(STATES["nothing but the head"], "utf-8")
    page = Site(contract).opened().get("/shift/day").text
    margin = page[page.index('id="margin"') :]
    assert "Nothing is missing" not in margin
    day.write_text(DAY, "utf-8")
    assert seen(day, "en").margin()["due"] == ""


def test_the_next_area_is_another_one(contract):
    day = contract / "day.yaml"
    day.write_text(STATES["nothing but the head"], "utf-8")
    sight = seen(day, "en")
    assert ["/area/A-2#" in sight.next_area("A-1")["to"], "/area/A-1#" in sight.next_area("A-2")["to"]] == [True, True]


def test_what_only_the_contract_can_answer_is_asked_for_in_the_words_of_the_form(tmp_path):
    for language, word in (("en", "Still to be answered"), ("de", "Noch zu beantworten")):
        said = Site(tmp_path, language).opened().post("/new", {"name": "Crane", "date": "2026-05-04"}).text
        assert word in said
        assert "--" not in said


def test_limits_are_said_in_the_language_of_the_page(contract):
    page = Site(contract, "de").opened().get("/shift/day/area/A-1").text
    assert re.search(r"2,0 mil bis 3,5 mil", page)


@pytest.mark.parametrize(("name", "stem"), [("CON.jpg", "photo-CON"), ("lpt1.png", "photo-lpt1"), ("Con1.jpg", "Con1")])
def test_a_photo_has_a_name_that_every_system_can_hold(name, stem):
    assert _stem(name) == stem


def test_who_is_refused_keeps_no_connection(contract):
    answer = Site(contract).client.post("/shift/day/write", data={"at": AT})
    assert (answer.status_code, answer.headers["connection"]) == (403, "close")
