"""What is pressed and sent by forms: once, with a sign of work, and nothing stays that no longer holds; how it fits."""

import re
import shutil
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
import yaml

from tests.browsing import needs_chromium, sizes
from tests.conftest import JOBS
from tests.e2e.test_open_following import SECRET, issued
from tests.e2e.test_open_typing_on import Held
from tests.unit.browser.site import Site

pytestmark = [needs_chromium, pytest.mark.enable_socket]

DAY = "/shift/2026-06-08"
LEFT = "document.documentElement.scrollWidth > innerWidth"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / ("a-folder-of-a-name-without-any-space-in-it-" * 3)))
    return shutil.copytree(JOBS / "quarrowmere", tmp_path / "job")


def test_making_an_identity_shows_that_it_works_and_what_was_wrong_goes_with_the_mending(person):
    page = person.page
    person.goes(f"{DAY}/pages")
    page.locator("#margin details summary").last.click()
    page.fill("#new-passphrase", "blue anvil")
    page.fill("#again", "blue anvi")
    make = page.get_by_role("button", name="Make an identity")
    make.click()
    page.wait_for_selector("#refused-identity .refused")
    page.locator("#again").press("End")
    page.keyboard.type("l")
    assert page.locator("#refused-identity .refused").count() == 0
    waiting: list[Any] = []
    busy = page.locator("#again >> xpath=ancestor::form").locator(".busy")
    page.route("**/pages/identity", lambda route: waiting.extend([route]))
    assert not busy.is_visible()
    make.click()
    busy.wait_for()
    assert make.is_disabled()
    page.keyboard.press("Enter")
    page.wait_for_timeout(100)
    (only,) = waiting
    only.continue_()
    page.wait_for_selector("#made")
    for width, height in (sizes["laptop"], (1000, 800), sizes["phone"]):
        page.set_viewport_size({"width": width, "height": height})
        assert not page.evaluate(LEFT)
        inside = "e => e.scrollWidth <= e.clientWidth && e.getBoundingClientRect().right <= innerWidth"
        assert page.locator("#margin").evaluate(inside)


def test_a_page_counts_as_seen_where_it_could_be_read(person):
    page = person.page
    page.set_viewport_size({"width": 390, "height": 844})
    person.goes(f"{DAY}/pages")
    person.until("document.querySelector('.paper').complete")
    assert page.locator(".paper").evaluate("e => e.getBoundingClientRect().width") >= 700  # an A4 page at its own size
    assert not page.evaluate(LEFT)
    page.locator("#end").evaluate("e => scrollTo(0, e.getBoundingClientRect().bottom)")
    page.wait_for_timeout(500)
    assert "0 of" in page.inner_text("#sign")
    page.locator("#end").scroll_into_view_if_needed()
    person.until("!document.querySelector('#sign').innerText.includes('0 of')")


def test_words_of_a_table_stay_whole_on_a_narrow_screen(person):
    person.page.set_viewport_size({"width": 390, "height": 844})
    person.goes("/")
    assert not person.page.evaluate(LEFT)
    lines = """e => { const range = document.createRange(); return [...e.querySelectorAll('td, th')].flatMap(cell => {
      const walk = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT), cut = [];
      for (let node; (node = walk.nextNode());) for (const word of node.data.matchAll(/\\S+/g)) {
        range.setStart(node, word.index); range.setEnd(node, word.index + word[0].length);
        if (new Set([...range.getClientRects()].map(each => Math.round(each.top))).size > 1) cut.push(word[0]);
      }
      return cut; }); }"""
    cut = [word for each in person.page.locator("main table").all() for word in each.evaluate(lines)]
    assert [word for word in cut if "-" not in word] == []  # a hyphen may end a line


def test_a_limit_of_salts_is_asked_for_with_what_it_is_expressed_as(person, folder):
    path, page = folder / "project.yaml", person.page
    path.write_text(re.sub(r"(?m)^  soluble_salts:\n(?:    .*\n)+", "", path.read_text("utf-8")), "utf-8")
    before = path.read_bytes()
    person.goes("/terms")
    assert page.locator("[data-at*=soluble_salts]").count() == 0
    page.locator("#add-salts summary").click()
    page.locator("#a-salts-maximum").focus()
    page.keyboard.type("50\n")
    assert page.evaluate("document.activeElement.id") == "a-salts-expressed_as"
    assert path.read_bytes() == before
    page.select_option("#a-salts-expressed_as", index=1)
    page.locator("#add-salts button").click()
    page.wait_for_selector("[data-at='specification/soluble_salts/maximum']")
    assert "expressed_as" in yaml.safe_load(path.read_text("utf-8"))["specification"]["soluble_salts"]


def test_enter_on_the_terms_goes_on_to_the_next_field(person):
    held = Held(person)
    person.goes("/terms")
    person.page.locator("[data-at='project/site']").focus()
    person.page.keyboard.press("End")
    person.page.keyboard.type(" east\nNobody")
    held.answers()
    assert person.at == "project/client_contact"
    assert person.page.input_value("[data-at='project/client_contact']") == "Nobody"
    person.page.keyboard.press("Escape")


def test_an_entry_is_gone_through_as_it_stands_on_the_page_and_a_number_is_no_new_name(person, folder):
    held, day = Held(person), folder / "2026-06-08.yaml"
    text = day.read_text("utf-8")
    day.write_text(re.sub(r"(?m)^air_checks:\n(?:  .*\n)+", "", text), "utf-8")
    person.goes(f"{DAY}/checks")
    log = person.page.locator("#air_checks")
    log.locator("[data-begin]").first.focus()
    person.page.keyboard.type("0655\n")
    held.answers()
    for _ in range(6):
        if person.at.endswith("/pressure"):
            break
        person.page.keyboard.type("2\n" if person.at.endswith("duration") else "clean\n")
        held.answers()
    assert person.at.endswith("/pressure")
    other = log.locator("[data-begin]").last
    other.focus()
    person.page.keyboard.type("700\n")
    held.answers()
    assert "700" in person.page.inner_text("#air_checks .ask h3")
    assert "700" not in str(yaml.safe_load(day.read_text("utf-8"))["air_checks"])
    other.focus()
    person.page.keyboard.press("Escape")


def test_a_passphrase_does_not_stay_where_a_submittal_was_written(folder, person):
    page = person.page
    with ThreadPoolExecutor(1) as beside:  # this thread has the browser's loop
        beside.submit(lambda: issued(Site(folder).opened())).result()
    person.goes("/file")
    page.fill("#s-organisation", "Ostrel Surface Inspection")
    page.fill("#file #passphrase", "another")
    make = page.locator("#file button[type=submit]")
    make.click()
    page.wait_for_selector("#filed .refused")
    assert page.input_value("#file #passphrase") == "another"  # still to be mended
    page.fill("#file #passphrase", SECRET)
    make.click()
    page.wait_for_selector("#filed a")
    assert page.input_value("#file #passphrase") == ""
