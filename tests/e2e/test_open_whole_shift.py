"""A shift as a whole in a browser: its dates are asked about, its ends typed together, signing without an answer."""

import datetime as dt

import pytest

from tests.browsing import Person, commanded, needs_chromium, served
from tests.unit.cli.conftest import DAY, contract

__all__ = ["contract"]

pytestmark = [needs_chromium, pytest.mark.enable_socket]


def test_the_next_shift_is_asked_about_and_begun_by_one_press_more(contract, person_at):
    with served(contract) as opening:
        person: Person = person_at(opening())
        page, far = person.page, dt.datetime.now(tz=dt.UTC).date() + dt.timedelta(days=4000)
        person.goes("/")
        page.locator("#next-date").fill(far.isoformat())
        page.get_by_role("button", name="Begin the next shift").click()
        page.wait_for_selector("#refused .ask")
        assert not (contract / f"{far}.yaml").exists()
        page.locator("#refused").get_by_role("button", name="write it").click()
        page.wait_for_url(f"**/shift/{far}")
        page.locator("#remove summary").click()
        page.get_by_role("button", name="Remove the shift").click()
        page.wait_for_url(f"{person.origin}/")
        assert "set-aside" in page.inner_text("main")
        assert not (contract / f"{far}.yaml").exists()


def test_a_night_shift_is_typed_by_keyboard(contract, person_at):
    day = contract / "day.yaml"
    day.write_text(DAY.split("gauge_checks:")[0] + "surfaces: []\n", "utf-8")
    with served(contract) as opening:
        person: Person = person_at(opening())
        person.goes("/shift/day")
        person.page.locator("[data-at='report/shift/start']").focus()
        person.types("1500⏎")
        assert "From 15:00 to 15:00 is no shift." in person.page.inner_text("#report .ask")
        person.types("15:00-07:00⏎")
        assert 'shift: {start: "15:00", end: "07:00"}' in day.read_text("utf-8")
        assert person.page.input_value("[data-at='report/shift/start']") == "15:00"
        assert person.page.locator("#report .ask").count() == 0


def test_a_question_about_a_reading_keeps_within_its_border(contract, person_at):
    with served(contract) as opening:
        person: Person = person_at(opening())
        person.page.set_viewport_size({"width": 1280, "height": 800})
        person.goes("/shift/day/area/A-1?location=1#profile")
        person.page.locator("[data-at$='/x1']").first.focus()
        person.types("5⏎")
        outside = """[...document.querySelectorAll('.ask *')].filter(one => {
            const box = one.closest('.ask').getBoundingClientRect(), own = one.getBoundingClientRect();
            return own.right > box.right || own.left < box.left; }).length"""
        assert person.page.locator(".ask").count() == 1
        assert person.page.evaluate(outside) == 0
        person.page.locator(".ask [data-leave]").click()


def test_who_signs_and_gets_no_answer_reads_it_where_it_was_pressed(contract, person_at):
    with commanded(contract) as (process, opening):
        person: Person = person_at(opening)
        person.page.set_viewport_size({"width": 1280, "height": 800})
        person.goes("/shift/day/pages")
        person.page.locator("#passphrase").fill("a passphrase for tests")
        process.kill()
        process.wait()
        person.page.get_by_role("button", name="Sign and issue").click()
        told = person.page.locator("#refused .refused")
        told.wait_for()
        assert "reportgen no longer answers. Whether this was done" in told.inner_text()
        assert told.evaluate(
            "e => { const b = e.getBoundingClientRect(); return b.top >= 0 && b.bottom <= innerHeight; }"
        )
        assert person.page.inner_text("#told") == ""
        person.faults.clear()
        person.context.close()
