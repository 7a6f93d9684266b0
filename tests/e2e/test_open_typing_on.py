"""Typing on while an answer is awaited: it goes where it was typed, no answer takes the focus, nothing is lost.

Every answer is held back here until a test lets it go, so that what is typed meanwhile is so on any machine.
"""

import re
import shutil

import pytest
import yaml

from tests.browsing import Person, needs_chromium, served
from tests.conftest import JOBS

pytestmark = [needs_chromium, pytest.mark.enable_socket]

DAY = "/shift/2026-06-09"
G6 = "surfaces[area=G-6]"
FIRST = f"{G6}/profile/readings[location=7,spot=a]/x1"
SECOND = f"{G6}/profile/readings[location=7,spot=b]/x1"
PRESSURE, REMARKS, COATED = f"{G6}/blasted/pressure", f"{G6}/remarks", f"{G6}/coated"


class Held:
    """What a page writes, held back: ``answers`` lets go what came so far, and waits until the page has it."""

    def __init__(self, person: Person) -> None:
        self.person, self.waiting = person, []
        person.page.route(re.compile(r"/write(\?|$)"), self.came)

    def came(self, route):
        """Keep what the page sent."""
        self.waiting.append(route)

    def sent(self):
        """Wait until something was sent."""
        while not self.waiting:
            self.person.page.wait_for_timeout(10)

    def answers(self):
        """Let what was sent, and what follows on it, be answered."""
        self.sent()
        while self.waiting or self.person.page.evaluate("!!held || queued.size > 0"):
            while self.waiting:
                self.waiting.pop(0).continue_()
            self.person.page.wait_for_timeout(10)
        self.person.settled()


@pytest.fixture
def folder(tmp_path):
    return shutil.copytree(JOBS / "quarrowmere", tmp_path / "job")


@pytest.fixture
def day(folder):
    return folder / "2026-06-09.yaml"


@pytest.fixture
def person(folder, person_at):
    with served(folder) as opening:
        one = person_at(opening())
        one.goes(f"{DAY}/area/G-6?location=7#profile")
        one.until("document.activeElement.dataset.at")
        yield one
        one.leaves()


@pytest.fixture
def held(person):
    return Held(person)


def of(at):
    """The field of a place."""
    return f"[data-at='{at}']"


def surface(day, area="G-6"):
    return next(one for one in yaml.safe_load(day.read_text())["surfaces"] if one["area"] == area)


def readings(day):
    return [one for one in surface(day)["profile"]["readings"] if one["location"] == 7]


def typed_elsewhere(person, held, place, text):
    """Enter a reading, and type a text over that of another field before its answer comes."""
    person.page.keyboard.type("2.9\n")
    held.sent()
    person.page.locator(of(place)).click()
    person.page.keyboard.press("Control+A")
    person.page.keyboard.type(text)


def test_a_number_typed_elsewhere_is_written_there_and_never_as_a_reading(person, held, day):
    typed_elsewhere(person, held, PRESSURE, "70")
    held.answers()
    assert person.at == PRESSURE
    person.page.keyboard.type("0")  # the answer came between two digits, and moved neither focus nor caret
    assert person.page.input_value(of(PRESSURE)) == "700"
    person.page.keyboard.press("Enter")
    held.answers()
    assert surface(day)["blasted"]["pressure"].split()[0] == "700"
    assert readings(day) == [{"location": 7, "spot": "a", "x1": 2.9}]


def test_both_are_written_where_the_second_enter_comes_before_the_first_answer(person, held, day):
    typed_elsewhere(person, held, PRESSURE, "700\n")
    held.answers()
    assert surface(day)["blasted"]["pressure"].split()[0] == "700"
    assert readings(day) == [{"location": 7, "spot": "a", "x1": 2.9}]


def test_a_sentence_typed_while_an_answer_is_awaited_stays_and_keeps_the_focus(person, held, day):
    typed_elsewhere(person, held, REMARKS, "all steel ")
    held.answers()
    assert person.at == REMARKS
    person.page.keyboard.type("dry")
    assert person.page.input_value(of(REMARKS)) == "all steel dry"
    person.page.keyboard.press("Enter")
    held.answers()
    assert surface(day)["remarks"] == "all steel dry"


def test_the_caret_stays_where_it_was_in_a_text_when_the_page_is_drawn_again(person, held):
    typed_elsewhere(person, held, REMARKS, "steel dry")
    person.page.keyboard.press("Home")
    held.answers()
    person.page.keyboard.type("all ")
    assert person.page.input_value(of(REMARKS)) == "all steel dry"
    person.page.keyboard.press("Escape")


def test_who_types_fast_loses_nothing_however_slow_the_answers(person, held, day):
    person.page.keyboard.type("2.9\n2.8\n", delay=60)
    held.answers()
    assert readings(day) == [{"location": 7, "spot": "a", "x1": 2.9}, {"location": 7, "spot": "b", "x1": 2.8}]


def test_what_is_typed_ahead_is_corrected_by_backspace_before_it_is_in_its_field(person, held, day):
    person.page.keyboard.type("2.9\n2.5")
    person.page.keyboard.press("Backspace")
    person.page.keyboard.type("8\n")
    held.answers()
    assert readings(day) == [{"location": 7, "spot": "a", "x1": 2.9}, {"location": 7, "spot": "b", "x1": 2.8}]


def test_who_goes_back_into_the_field_itself_corrects_it(person, held, day):
    typed_elsewhere(person, held, FIRST, "2.7")
    held.answers()
    assert (person.at, person.page.input_value(of(FIRST))) == (FIRST, "2.7")
    person.page.keyboard.press("Enter")
    held.answers()
    assert readings(day) == [{"location": 7, "spot": "a", "x1": 2.7}]
    assert person.page.locator(".ask").count() == 0  # its own first writing is no conflict


@pytest.mark.parametrize(("at", "typed", "focused"), [(FIRST, "28", "at"), (COATED, "2330", "again")])
def test_what_is_typed_after_an_entry_that_does_not_stand_is_shown_and_written_nowhere(
    person, held, day, at, typed, focused
):
    before = day.read_bytes()
    person.page.locator(of(at)).focus()
    person.page.keyboard.press("Control+A")
    person.page.keyboard.type(f"{typed}\n2.9\n")
    held.answers()
    assert "2.9" in person.page.inner_text(f"{of(at)} >> xpath=ancestor::div[contains(@class,'entry')]")
    own = at if focused == "at" else person.page.get_attribute(of(at), "id")
    assert person.page.evaluate(f"document.activeElement.dataset.{focused}") == own
    assert day.read_bytes() == before
    person.page.locator(of(at)).focus()
    person.page.keyboard.press("Escape")


def test_a_question_neither_takes_the_focus_of_who_went_on_nor_vanishes_with_the_next_entry(person, held, day):
    person.page.locator(of(COATED)).focus()
    person.page.keyboard.press("Control+A")
    person.page.keyboard.type("2330\n")
    held.sent()
    person.page.locator(of(FIRST)).click()
    person.page.keyboard.type("2.")
    held.answers()
    assert person.page.locator(".ask").count() == 1
    assert person.at == FIRST
    person.page.keyboard.type("8")
    person.until("document.querySelector('#live .big')")  # a live result is drawn, too
    assert person.at == FIRST
    person.page.keyboard.press("Enter")
    held.answers()
    assert readings(day) == [{"location": 7, "spot": "a", "x1": 2.8}]
    assert "23:30" in person.page.inner_text(".ask h3")
    person.page.locator(of(COATED)).focus()
    person.page.keyboard.press("Escape")


def test_what_is_pressed_once_more_while_it_is_under_way_acts_once(person, held, day):
    person.goes(f"{DAY}/nonconformances")
    text = day.read_text("utf-8")
    day.write_text(re.sub(r"\nnonconformances:\n(  .*\n)+", "\n", text), "utf-8")
    person.goes(f"{DAY}/nonconformances")
    person.page.locator("#wanted button").first.dblclick()
    held.answers()
    assert len(yaml.safe_load(day.read_text("utf-8"))["nonconformances"]) == 1


def test_nothing_warns_where_nothing_was_typed_and_a_choice_keeps_the_focus(person, held, folder):
    warned = []
    person.page.on("dialog", lambda one: warned.append(one.type))
    person.goes(f"{DAY}/nonconformances")
    decided = person.page.locator("[data-at$='/decided_by']").first
    decided.evaluate(
        "e => { for (let p = e.closest('details'); p; p = p.parentElement.closest('details')) p.open = true; }"
    )
    decided.focus()
    other = decided.evaluate("e => [...e.options].find(o => o.value && !o.selected).value")
    decided.select_option(other)
    held.answers()
    assert person.at.endswith("/decided_by")
    day = folder / "2026-06-09.yaml"
    day.write_text(re.sub(r"(?m)^    initial_condition: .*\n", "", day.read_text("utf-8"), count=0), "utf-8")
    person.goes(f"{DAY}/area/G-6")
    person.goes("/")
    assert warned == []
