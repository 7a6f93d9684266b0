"""What was typed and did not arrive: nobody answers any more, or the place says something else by now."""

import shutil

import pytest

from tests.browsing import Person, commanded, needs_chromium, served
from tests.conftest import JOBS

pytestmark = [needs_chromium, pytest.mark.enable_socket]

DAY = "/shift/2026-06-09"
OF_G6 = "surfaces[area=G-6]/profile/readings"


@pytest.fixture
def folder(tmp_path):
    return shutil.copytree(JOBS / "quarrowmere", tmp_path / "job")


def test_a_page_says_at_once_that_nobody_answers_and_keeps_what_was_typed(folder, person_at):
    before = (folder / "2026-06-09.yaml").read_bytes()
    with commanded(folder) as (process, opening):
        person: Person = person_at(opening)
        person.goes(f"{DAY}/area/G-6?location=7#profile")
        person.until("document.activeElement.dataset.at")
        process.kill()
        process.wait()
        first = f"[data-at='{OF_G6}[location=7,spot=a]/x1']"
        told = "[...document.querySelectorAll('.refused')].map(e => e.innerText).join(' ')"
        person.page.keyboard.type("2.9")
        person.until(f"{told}.includes('no longer answers')")  # while typing already
        person.page.keyboard.press("Enter")
        person.settled()
        assert person.page.input_value(first) == "2.9"
        assert person.page.locator(f"{first} >> xpath=ancestor::div[contains(@class,'entry')]//p").count() == 1
        person.page.keyboard.press("Tab")
        person.page.keyboard.type("3.1")
        person.page.keyboard.press("Tab")
        person.settled()
        assert person.page.locator(".entry .refused").count() == 2
        assert "What you typed stands in its field" in person.page.inner_text("#told")
        assert (folder / "2026-06-09.yaml").read_bytes() == before
        person.faults.clear()
        person.context.close()


def test_what_was_typed_over_an_empty_field_never_replaces_what_came_meanwhile(folder, person_at):
    day = folder / "2026-06-09.yaml"
    with served(folder) as opening:
        person = person_at(opening())
        person.goes(f"{DAY}/area/G-6?location=7#profile")
        person.until("document.activeElement.dataset.at")
        person.types("28⏎")
        first = f"[data-at='{OF_G6}[location=7,spot=a]/x1']"
        assert person.page.locator(".ask, .refused").count() == 1  # it stays in its field, unwritten
        text = day.read_text("utf-8")
        at = text.index("{location: 1", text.index("- area: G-6"))
        day.write_text(f"{text[:at]}{{location: 7, spot: a, x1: 3.3}}\n        - {text[at:]}", "utf-8")
        person.page.locator(f"[data-at='{OF_G6}[location=7,spot=b]/x1']").focus()
        person.types("2.9⏎")
        assert "spot: b, x1: 2.9" in day.read_text("utf-8")
        assert person.page.input_value(first) == "28"
        person.page.locator(first).focus()
        person.page.keyboard.press("End")
        person.types("⏎")
        person.until("document.querySelector('.ask [data-keep]')")
        assert "x1: 3.3" in day.read_text("utf-8")
        person.leaves()
