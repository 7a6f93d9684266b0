"""Where the focus is after something was refused, what stays folded, and what a new contract's form asks."""

import re
import shutil

import pytest

from tests.browsing import needs_chromium, served
from tests.conftest import JOBS
from tests.e2e.test_open_accessible import AXE, faults

pytestmark = [needs_chromium, pytest.mark.enable_socket]

DAY = "/shift/2026-06-09"
COATED = "surfaces[area=G-6]/coated"


@pytest.fixture
def folder(tmp_path):
    """A contract in the middle of a shift on which nothing was raised yet."""
    path = shutil.copytree(JOBS / "quarrowmere", tmp_path / "job")
    (path / "2026-06-11.yaml").unlink()
    day = path / "2026-06-09.yaml"
    day.write_text(re.sub(r"(?ms)^nonconformances:.*?(?=^\S|\Z)", "", day.read_text("utf-8"), count=1), "utf-8")
    return path


def open_rows(person):
    return person.page.evaluate("[...document.querySelectorAll('details.row-of')].map(one => one.open)")


def test_the_focus_stays_in_the_field_after_what_was_asked_is_refused(folder, person_at):
    with served(folder) as opening:
        person = person_at(opening())
        person.goes(f"{DAY}/area/G-6#rest")
        person.page.locator(f"[data-at='{COATED}']").focus()
        person.page.keyboard.press("Control+A")
        person.types("2330⏎")
        person.until("document.activeElement.dataset.again")
        person.types("9999⏎")  # no time at all: refused, and the question goes
        assert person.page.locator(".ask").count() == 0
        assert person.page.locator(".refused").count() >= 1
        assert person.at == COATED
        person.page.keyboard.press("Escape")
        person.leaves()


def test_a_nonconformance_folds_when_it_is_complete_and_stays_as_a_person_left_it(folder, person_at):
    with served(folder) as opening:
        person = person_at(opening())
        person.goes(f"{DAY}/nonconformances")
        person.page.locator("[data-send*='\"G-5\"']").click()
        person.until("document.activeElement.dataset.at")
        assert person.at == "nonconformances[id=NCR-001]/description"  # it leads on
        person.page.locator("[data-send*='\"H-1\"']").click()
        person.until("document.querySelectorAll('details.row-of').length === 2")
        person.page.locator("[data-at='nonconformances[id=NCR-001]/description']").focus()
        person.types("too low at the web⏎rew⏎D⏎")
        assert person.at == "nonconformances[id=NCR-002]/description"
        assert open_rows(person) == [False, True]
        person.page.locator("details.row-of > summary").first.click()
        person.page.locator("details.row-of details > summary").first.click()
        person.page.locator("[data-at='nonconformances[id=NCR-001]/responsible']").focus()
        person.types("Fenlark⏎")
        person.until("document.querySelector('#margin .written').innerText.includes('Fenlark')")
        assert open_rows(person) == [True, True]
        assert person.page.is_visible("[data-at='nonconformances[id=NCR-001]/due']")
        person.page.locator("details.row-of > summary").nth(1).click()  # folded by hand: what leads there opens it
        person.page.locator("[data-at='nonconformances[id=NCR-001]/due']").focus()
        person.types("2026-06-20⏎")
        assert person.at == "nonconformances[id=NCR-002]/description"
        person.page.evaluate(AXE)
        assert faults(person) == []
        person.leaves()


@pytest.mark.parametrize("size", [(1280, 800), (400, 860)])
def test_the_form_of_a_new_contract_asks_what_goes_with_the_method(tmp_path, person_at, size):
    asked = {
        "ASTM D4417 Method C": {"minimum", "maximum", "overlap_rule", "decision_rule", "coarse_lot"},
        "ASTM D4417 Method B": {"minimum", "maximum", "decision_rule"},
        "ISO 8503-2": {"comparator_grade"},
    }
    with served(tmp_path) as opening:
        person = person_at(opening(), size=size)
        for method, keys in asked.items():
            person.page.select_option("#q-method", method)
            shown = {key for key in (*asked["ASTM D4417 Method C"], "comparator_grade")
                     if person.page.is_visible(f"#q-{key}")}  # fmt: skip
            assert shown == keys
            person.page.evaluate(AXE)
            assert faults(person) == []
        person.leaves()


def test_several_changes_are_taken_back_by_pressing_undo_as_often(folder, person_at):
    day = folder / "2026-06-09.yaml"
    before = day.read_bytes()
    with served(folder) as opening:
        person = person_at(opening())
        person.goes(f"{DAY}/area/G-6#rest")
        for place, text in (("remarks", "one"), ("blasted/nozzle", "no. 7")):
            person.page.locator(f"[data-at='surfaces[area=G-6]/{place}']").focus()
            person.page.keyboard.press("Control+A")
            person.types(f"{text}⏎")
        for _ in range(2):
            assert day.read_bytes() != before
            person.page.locator("#margin .written button").click()
            person.settled()
        assert day.read_bytes() == before
        assert person.page.locator("#margin .written button").count() == 0
        person.leaves()
