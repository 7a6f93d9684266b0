"""Entering a shift by keyboard: what is lit, asked, refused, taken back; others at the file; a server that dies."""

import re
import shutil

import pytest
import yaml

from tests.browsing import commanded, needs_chromium, served
from tests.conftest import JOBS

pytestmark = [needs_chromium, pytest.mark.enable_socket]

DAY = "/shift/2026-06-09"
OF_G6 = "surfaces[area=G-6]/profile/readings"


@pytest.fixture
def folder(tmp_path):
    path = tmp_path / "job"
    shutil.copytree(JOBS / "quarrowmere", path)
    day = path / "2026-06-09.yaml"
    day.write_text(day.read_text().replace("  - area: G-6\n", "  # seen with P. Ambleweir\n  - area: G-6\n"), "utf-8")
    return path


@pytest.fixture
def day(folder):
    return folder / "2026-06-09.yaml"


def rows_of(day, area="G-6"):
    """The readings of an area as the file has them."""
    surfaces = yaml.safe_load(day.read_text())["surfaces"]
    return next(one for one in surfaces if one["area"] == area)["profile"]["readings"]


def test_the_second_tape_is_lit_as_typed_and_enter_leads_to_it(folder, day, person_at):
    with served(folder) as opening:
        person = person_at(opening())
        before = day.read_bytes()
        person.goes(f"{DAY}/area/G-6?location=7#profile")
        person.until("document.activeElement.dataset.at")
        assert person.at == f"{OF_G6}[location=7,spot=a]/x1"
        person.page.keyboard.type("2,3")
        person.until("document.querySelector('.lit')")
        assert day.read_bytes() == before  # looked at, not written
        person.types("⏎")
        assert person.at == f"{OF_G6}[location=7,spot=a]/c1"
        person.types("2.1⏎2.9⏎")
        assert {"location": 7, "spot": "a", "x1": 2.3, "c1": 2.1} in rows_of(day)
        assert {"location": 7, "spot": "b", "x1": 2.9} in rows_of(day)
        assert "# seen with P. Ambleweir" in day.read_text()
        assert "Written to the day file" in person.margin
        kept = [line for line in day.read_text().splitlines(keepends=True) if "location: 7" not in line]
        assert "".join(kept).encode() == before  # to the byte, but for the two rows
        person.page.locator("#margin .written button").click()
        person.settled()
        assert {"location": 7, "spot": "b", "x1": 2.9} not in rows_of(day)
        person.leaves()


def test_what_is_mostly_a_slip_is_asked_about_and_what_cannot_be_is_refused(folder, day, person_at):
    with served(folder) as opening:
        person = person_at(opening())
        before = day.read_bytes()
        person.goes(f"{DAY}/area/G-6?location=7#profile")
        person.until("document.activeElement.dataset.at")
        person.types("28⏎")
        assert person.page.locator(".ask, .refused").count() == 1
        assert day.read_bytes() == before
        first = f"[data-at='{OF_G6}[location=7,spot=a]/x1']"
        person.page.locator(first).focus()
        person.page.keyboard.press("Escape")
        assert person.page.input_value(first) == ""
        person.page.keyboard.press("Control+A")
        person.types("abc⏎")
        assert person.page.locator(".refused").count() >= 1
        assert day.read_bytes() == before
        person.page.keyboard.press("Escape")
        person.goes(f"{DAY}/area/G-6#rest")
        coated = "[data-at='surfaces[area=G-6]/coated']"
        person.page.locator(coated).focus()
        person.page.keyboard.press("Control+A")
        person.types("2330⏎")
        assert "outside the shift" in person.page.inner_text(".ask")
        person.page.keyboard.type("1545")
        person.types("⏎")
        assert day.read_bytes() == before  # what it said was right
        person.leaves()


def test_two_browsers_and_an_editor_at_once(folder, day, person_at):
    with served(folder) as opening:
        one, other = person_at(opening()), person_at(opening())
        place = f"[data-at='{OF_G6}[location=2,spot=a]/x1']"
        for person in (one, other):
            person.goes(f"{DAY}/area/G-6?location=2#profile")
        day.write_text(day.read_text().replace("Primer started while", "Priming started while"), "utf-8")
        for person, reading in ((one, "2.7"), (other, "2.8")):
            person.page.locator(place).focus()
            person.page.keyboard.press("Control+A")
            person.types(f"{reading}⏎")
        assert "Priming started" in day.read_text()
        assert "also changed outside" in one.margin
        told = other.page.inner_text(".ask")
        assert re.search(r"it said: 2\.6.*now says: 2\.7.*typed: 2\.8", told, re.DOTALL), told
        assert {"location": 2, "spot": "a", "x1": 2.7} in rows_of(day)
        other.page.get_by_role("button", name="Write 2.8").click()
        other.settled()
        assert {"location": 2, "spot": "a", "x1": 2.8} in rows_of(day)
        one.leaves()
        other.leaves()


def test_a_file_that_cannot_be_read_keeps_what_is_typed_in_its_field(folder, day, person_at):
    with served(folder) as opening:
        person = person_at(opening())
        person.goes(f"{DAY}/area/G-6?location=7#profile")
        person.until("document.activeElement.dataset.at")
        whole = day.read_text()
        day.write_text(whole.replace("remarks: Rain", 'remarks: "Rain'), "utf-8")
        person.types("2.9⏎")
        assert "cannot be read" in person.page.inner_text(".refused")
        assert person.page.input_value(f"[data-at='{OF_G6}[location=7,spot=a]/x1']") == "2.9"
        day.write_text(whole, "utf-8")
        person.types("⏎")
        assert {"location": 7, "spot": "a", "x1": 2.9} in rows_of(day)
        person.leaves()


def test_a_server_that_is_killed_loses_nothing(folder, day, person_at):
    with commanded(folder) as (process, opening):
        person = person_at(opening)
        person.goes(f"{DAY}/area/G-6?location=7#profile")
        person.until("document.activeElement.dataset.at")
        person.types("2.9⏎2.8⏎")
        person.page.keyboard.type("2.7")
        process.kill()
    assert {"location": 7, "spot": "a", "x1": 2.9} in rows_of(day)
    assert {"location": 7, "spot": "b", "x1": 2.8} in rows_of(day)
    assert not list(folder.glob(".*.part"))
    with served(folder) as again:
        person_at(again()).goes(f"{DAY}/area/G-6")


def test_the_presses_of_an_area(folder, day, person_at):
    """Beside the digits Enter alone, and one press for what is carried: at most 1.2 an entry."""
    (folder / "2026-06-11.yaml").unlink()  # which inspects the area again
    text = day.read_text()
    begin, end = text.index("  - area: H-1"), text.index("not_inspected:")
    day.write_text(text[:begin].rstrip() + "\n\n" + text[end:], "utf-8")
    with served(folder) as opening:
        person = person_at(opening())
        person.goes(f"{DAY}/area/H-1#setup")
        person.until("document.activeElement.textContent.startsWith('Confirm apparatus and blasting')")
        person.pressed = 0
        person.types("⏎⏎⏎1200⏎1305⏎")
        entries = 4 + 1 + 2 + 2
        assert person.at == "surfaces[area=H-1]/cleanliness/observed"
        person.page.locator("[data-at='surfaces[area=H-1]/profile/readings[location=1,spot=a]/x1']").focus()
        person.types("2.2⏎1.9⏎2.1⏎1.7⏎2.9⏎2.8⏎2.6⏎2.5⏎2.2⏎")
        entries += 9
        assert len(rows_of(day, "H-1")) == 6
        assert person.pressed / entries <= 1.2
        person.leaves()


def test_the_live_result_stays_in_sight_at_two_hundred_percent(folder, person_at):
    with served(folder) as opening:
        person = person_at(opening(), size=(640, 400))
        person.goes(f"{DAY}/area/G-6?location=7#profile")
        person.until("document.activeElement.dataset.at")
        person.page.keyboard.type("2.9")
        person.until("document.querySelector('#live .big')")
        inside = "e => { const b = e.getBoundingClientRect(); return b.top >= 0 && b.bottom <= innerHeight; }"
        assert person.page.locator("#live .big").evaluate(inside)
        person.leaves()


def test_a_further_entry_of_an_area_is_gone_on_with_unasked(folder, day, person_at):
    with served(folder) as opening:
        person, warned = person_at(opening()), []
        person.page.on("dialog", lambda one: (warned.append(one.type), one.accept()))
        person.goes(f"{DAY}/area/G-6")
        person.page.locator("#d-again summary").click()
        person.page.locator("#d-again input").focus()
        person.page.keyboard.type("1300")
        person.page.keyboard.press("Enter")
        person.page.wait_for_url("**/area/G-6?entry=2#setup")
        assert (warned, 'start: "13:00"' in day.read_text() or "start: '13:00'" in day.read_text()) == ([], True)


def test_a_number_typed_after_the_last_reading_is_no_size(folder, day, person_at):
    again = "  - area: G-6\n    blasted_again: [pot 9]\n"
    day.write_text(day.read_text().replace("  - area: G-6\n", again), "utf-8")
    with served(folder) as opening:
        person = person_at(opening())
        person.goes(f"{DAY}/area/G-6?location=7#profile")
        person.until("document.activeElement.dataset.at")
        assert person.page.locator("[data-at='surfaces[area=G-6]/cleaned'][data-wanted]").count() == 1
        person.types("2.9⏎2.8⏎")
        person.page.keyboard.type("2.9")  # the next reading
        assert not (person.at or "").endswith("/cleaned")
        assert "cleaned" not in next(one for one in yaml.safe_load(day.read_text())["surfaces"] if one["area"] == "G-6")


def test_a_question_about_an_earlier_reading_is_answered_there(folder, day, person_at):
    with served(folder) as opening:
        person = person_at(opening())
        row = "        - {location: 1, spot: a, x1: 2.2, c1: 1.9}\n"
        day.write_text(day.read_text().replace(row, row.replace("x1: 2.2, c1: 1.9", "x1: 2.7").replace("2.7", "0.3")))
        person.goes(f"{DAY}/area/G-6?location=1#profile")
        slip = f"[data-at='{OF_G6}[location=1,spot=a]/x1']"
        ask = person.page.locator(".ask")
        assert "Is 0.3 right?" in ask.inner_text()
        own = f"[data-again={person.page.locator(slip).get_attribute('id')}]"
        person.page.locator(own).focus()
        person.types("2.7⏎")
        assert rows_of(day)[0] == {"location": 1, "spot": "a", "x1": 2.7}
        assert person.page.locator(".ask").count() == 0
        day.write_text(day.read_text().replace("spot: a, x1: 2.7}", "spot: a, x1: 2.6}", 1))
        person.page.locator("#margin .written button").click()
        person.settled()
        person.page.get_by_role("button", name="Write 0.3").click()
        person.settled()
        assert rows_of(day)[0]["x1"] == 0.3
