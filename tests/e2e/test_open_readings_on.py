"""Enter among readings: where it leads, what is chosen with the first, and what a number typed on is not taken for."""

import pytest
import yaml

from tests import footbridge
from tests.browsing import needs_chromium

pytestmark = [needs_chromium, pytest.mark.enable_socket]

AREA = "surfaces[area=B-1]"
PAGE = "/shift/one/area/B-1"
FULL = footbridge.day(1)
HEAD = FULL[: FULL.index("    profile:")]
OTHER_GAUGE = footbridge.PROJECT.replace(
    "tape_rolls:", "  g2: {kind: thickness gauge, serial: T-2, unit: um, calibration_due: 2027-01-10}\ntape_rolls:"
)


@pytest.fixture
def folder(tmp_path):
    return footbridge.folder(tmp_path / "hd", one=HEAD)


def profile(folder):
    (surface,) = yaml.safe_load((folder / "one.yaml").read_text("utf-8"))["surfaces"]
    return surface.get("profile")


def reading(location, spot, roll="x1"):
    return f"{AREA}/profile/readings[location={location},spot={spot}]/{roll}"


def stands(person, at):
    person.page.locator(f"[data-at='{at}']").focus()


def test_the_only_gauge_goes_with_the_first_reading_and_no_reading_is_taken_unheld(person, folder):
    person.goes(f"{PAGE}?location=1#profile")
    person.until("document.activeElement.dataset.at")
    person.types("20⏎")
    assert "outside what replica tape can read" in person.page.inner_text("#profile")
    assert profile(folder) is None
    person.types("2.8⏎")  # what was refused is selected
    assert profile(folder) == {"gauge": "g1", "readings": [{"location": 1, "spot": "a", "x1": 2.8}]}
    stands(person, reading(1, "a"))
    person.page.keyboard.press("Delete")
    person.types("⏎")
    assert profile(folder) is None


def test_where_there_are_several_gauges_the_reading_asks_for_its_own_first(person, folder):
    (folder / "project.yaml").write_text(OTHER_GAUGE, "utf-8")
    person.goes(f"{PAGE}?location=1#profile")
    stands(person, reading(1, "a"))
    person.types("20⏎")
    assert "Choose the gauge first" in person.page.inner_text("#profile")
    assert profile(folder) is None
    person.page.keyboard.press("Escape")


def test_enter_leads_to_the_next_reading_wanted_before_it_leaves_the_profile(person, folder):
    person.goes(f"{PAGE}?location=2#profile")
    person.until("document.activeElement.dataset.at")
    person.types("2.8⏎2.9⏎")
    assert person.at == reading(1, "a")  # another location than the one that was asked for
    person.types("2.2⏎")
    assert person.at == reading(1, "a", "c1")  # the other tape is wanted
    person.types("⏎2.7⏎")
    assert person.at == reading(1, "a", "c1")  # passed over, and still wanted
    person.types("⏎")
    assert person.page.evaluate("'onward' in document.activeElement.dataset")
    stands(person, reading(1, "a", "c1"))
    person.types("2.0⏎")
    assert person.at == reading(3, "a")
    person.types("2.6⏎2.6⏎")
    assert not person.at.startswith(f"{AREA}/profile")
    assert len(profile(folder)["readings"]) == 6


def test_who_clicks_from_field_to_field_stays_at_the_location(person, folder):
    person.goes(f"{PAGE}?location=1#profile")
    for spot, text in (("a", "2.8"), ("b", "2.9")):
        person.page.locator(f"[data-at='{reading(1, spot)}']").click()
        person.page.keyboard.type(text)
    person.page.locator("h1").click()
    person.settled()
    assert len(profile(folder)["readings"]) == 2
    assert person.page.locator(f"[data-at='{reading(1, 'b')}']").count() == 1


def test_a_number_is_no_grade_until_somebody_says_so(person, folder):
    person.goes(PAGE)
    grade = f"{AREA}/cleanliness/observed"
    stands(person, grade)
    person.page.keyboard.press("Control+A")
    person.types("2.8⏎")
    assert "A number alone is no grade" in person.page.inner_text("#cleanliness")
    assert "observed: 2.8" not in (folder / "one.yaml").read_text("utf-8")
    person.page.get_by_role("button", name="It is 2.8: write it").click()
    person.settled()
    assert "observed: 2.8" in (folder / "one.yaml").read_text("utf-8")


def test_a_doubt_about_an_earlier_reading_takes_no_focus(person, folder):
    one_grade = footbridge.PROJECT.replace("overlap_rule: average", "overlap_rule: single-grade")
    (folder / "project.yaml").write_text(one_grade, "utf-8")  # no other tape is wanted for 0.3
    rows = "{location: 1, spot: a, x1: 0.3}, {location: 2, spot: a, x1: 2.8}"
    (folder / "one.yaml").write_text(f"{HEAD}    profile: {{gauge: g1, readings: [{rows}]}}\n", "utf-8")
    person.goes(f"{PAGE}?location=1#profile")
    assert person.page.locator(".ask").count() == 0
    stands(person, reading(1, "b"))
    person.page.keyboard.type("2.9\n2.7")  # the next reading is begun before the first is answered
    person.settled()
    person.page.keyboard.press("Enter")
    person.settled()
    assert [(one["location"], one["spot"], one["x1"]) for one in profile(folder)["readings"]] == [
        (1, "a", 0.3), (2, "a", 2.8), (1, "b", 2.9), (2, "b", 2.7),
    ]  # fmt: skip
    person.page.reload()
    assert "Is 0.3 right?" in person.page.inner_text("#profile")
