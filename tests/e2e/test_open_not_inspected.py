"""Why an area was not inspected, typed in a browser: it stays until somebody says that the area was inspected."""

import pytest
import yaml

from tests import footbridge
from tests.browsing import needs_chromium

pytestmark = [needs_chromium, pytest.mark.enable_socket]

PAGE = "/shift/one/area/B-2"
REASON = "textarea[data-at^='not_inspected']"


@pytest.fixture
def folder(tmp_path):
    return footbridge.folder(tmp_path / "hd", one=footbridge.day(1))


def listed(folder):
    return yaml.safe_load((folder / "one.yaml").read_text("utf-8")).get("not_inspected")


def test_the_enter_after_a_reason_takes_nothing_over_and_nothing_away(person, folder):
    page = person.page
    person.goes(PAGE)
    page.locator(REASON).focus()
    person.types("rain⏎")
    assert listed(folder) == [{"area": "B-2", "reason": "rain"}]
    assert page.evaluate("document.activeElement.matches('a.next')")
    assert page.locator("#c-blasting").count() == 1  # what could be taken over is still offered
    page.keyboard.press("Enter")
    page.wait_for_url(lambda address: "/area/B-2" not in address)
    assert listed(folder) == [{"area": "B-2", "reason": "rain"}]


def test_an_area_that_was_inspected_after_all_is_asked_about_first(person, folder):
    page = person.page
    person.goes(PAGE)
    page.locator(REASON).focus()
    person.types("rain⏎")
    before = (folder / "one.yaml").read_bytes()
    page.locator("button[data-send*='confirm']").first.click()
    page.get_by_role("group", name="Was B-2 inspected after all?").wait_for()
    page.get_by_role("button", name="Leave it as it was").click()
    assert page.locator(".ask").count() == 0
    page.locator("[data-at='surfaces[area=B-2]/blasted/start']").focus()
    person.types("11:00⏎")
    asked = page.get_by_role("group", name="Was B-2 inspected after all?")
    assert "B-2 is listed as not inspected: rain." in asked.inner_text()
    assert (folder / "one.yaml").read_bytes() == before
    asked.get_by_role("button", name="B-2 was inspected: write it").click()
    person.settled()
    assert listed(folder) == []
    assert "the reason taken out was: rain." in person.margin
    page.locator("#margin").get_by_role("button", name="Undo").click()
    person.settled()
    assert listed(folder) == [{"area": "B-2", "reason": "rain"}]
