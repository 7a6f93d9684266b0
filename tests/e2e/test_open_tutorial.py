"""The tutorial typed into a browser by somebody who has seen no YAML: from an empty folder to a verified report."""

import pytest

import reportgen
from reportgen.formats import encode
from tests.browsing import needs_chromium, served
from tests.command import run

pytestmark = [needs_chromium, pytest.mark.enable_socket]

ANSWERS = {
    "contract": "AB-12", "name": "Harbour crane", "client": "Harbour Trust", "contractor": "Blast and Coat",
    "site": "north quay", "inspection_body": "Vessery Inspection", "address": "1 Quay Lane", "inspector": "N. Vessery",
    "document": "AB-12 part 6", "grade": "SSPC-SP 10", "unit": "mil", "minimum": "2.0 mil", "maximum": "3.5 mil",
    "method": "ASTM D4417 Method C", "edition": "2021", "overlap_rule": "average", "decision_rule": "simple",
    "rounding": "half-even", "locations": "3", "conditions_clause": "6.2",
    "gauge_serial": "G-4711", "gauge_accuracy": "0.2 mil", "hygrometer_serial": "H-208", "thermometer_serial": "T-31",
    "coarse_lot": "C-7", "extra_coarse_lot": "X-9", "structure": "Crane portal", "area": "leg 1, outside",
    "area_id": "L1", "area_size": "260 ft2",
}  # fmt: skip
"""As the tutorial of the README gives them to the command."""
DAY = "2026-05-04"
BY_HAND = """\
project: project.yaml
report: {number: AB-12-IR-001, revision: 0, date: 2026-05-04, shift: {start: "06:00", end: "18:00"}, inspector: vessery}
conditions:
  - {time: "06:40", air: 54.5 degF, humidity: 62 %, steel: 53.5 degF, instruments: [h1, t1]}
  - {time: "10:20", air: 59.0 degF, humidity: 58 %, steel: 58.0 degF, instruments: [h1, t1]}
gauge_checks:
  - {time: "06:45", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
  - {time: "11:30", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
tape_checks:
  - {time: "06:50", roll: x1, gauge: g1, thickness: 5.6 mil}
surfaces:
  - area: L1
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "07:00", end: "09:40", abrasive: steel grit}
    cleanliness: {observed: SSPC-SP 10, staining: 3 %}
    profile:
      gauge: g1
      readings:
        - {location: 1, spot: a, x1: 2.8}
        - {location: 1, spot: b, x1: 2.4, c1: 2.2}
        - {location: 2, spot: a, x1: 2.9}
        - {location: 2, spot: b, x1: 2.7}
        - {location: 3, spot: a, x1: 3.0}
        - {location: 3, spot: b, x1: 2.6}
    coated: "11:10"
"""


def begin_contract(person):
    """Answer the questions of a new contract; a mistake on the way is told in its field and nothing is lost."""
    page = person.page
    assert page.url.endswith("/new")
    for key, answer in ANSWERS.items():
        element = page.locator(f"#q-{key}")
        element.focus()
        if element.evaluate("e => e.tagName") == "SELECT":
            element.select_option(answer)
        else:
            page.keyboard.press("Control+A")
            page.keyboard.type(answer)
    page.locator("#q-maximum").fill("1.5 mil")
    page.keyboard.press("Tab")
    page.wait_for_selector("#r-maximum .refused")
    page.locator("#q-maximum").fill(ANSWERS["maximum"])
    page.keyboard.press("Tab")
    person.until("!document.querySelector('#r-maximum .refused')")
    page.locator("#q-date").fill(DAY)
    page.keyboard.press("Enter")
    page.wait_for_url(f"{person.origin}/")


def focus(person, place):
    """Go to a field by its place, as with Tab."""
    person.page.locator(f"[data-at='{place}']").focus()


def type_shift(person):
    """Type the shift of the tutorial; Enter alone leads from field to field."""
    person.goes(f"/shift/{DAY}/checks#gauge_checks")
    person.until("document.activeElement.dataset.at")
    person.types("645⏎clean⏎-2.0⏎3.0⏎3.0⏎")
    focus(person, "gauge_checks[time=%2A]")
    person.types("1130⏎clean⏎-2.0⏎3.0⏎3.0⏎")
    focus(person, "tape_checks[time=%2A,roll=x1]")
    person.types("650⏎5.6⏎")
    for time, *values in (("640", "54.5", "62", "53.5"), ("1020", "59,0", "58", "58.0")):
        focus(person, "conditions[time=%2A]")
        person.types("⏎".join((time, *values)) + "⏎")
    person.goes(f"/shift/{DAY}/area/L1#setup")
    person.until("document.activeElement.dataset.at")
    person.types("pot 1⏎7:00⏎940⏎steel grit⏎C⏎")
    person.types("SSPC-SP 10⏎3⏎")
    person.types("2.8⏎2.4⏎2.2⏎2.9⏎2.7⏎3.0⏎2.6⏎")
    focus(person, "surfaces[area=L1]/coated")
    person.types("11.10⏎")


def test_from_an_empty_folder_to_a_verified_report(tmp_path, person_at, identities):
    with served(tmp_path) as opening:
        person = person_at(opening())
        person.folder = tmp_path
        begin_contract(person)
        type_shift(person)
        page, day = person.page, tmp_path / f"{DAY}.yaml"
        assert "{location: 1, spot: b, x1: 2.4, c1: 2.2}" in day.read_text()
        same_as_by_hand(tmp_path, day)
        sign(person)
        page.wait_for_selector("#proven .say")
        proven = page.inner_text("#proven")
        assert proven.startswith("passed"), proven
        assert run("register", "check", tmp_path).returncode == 0
        assert sorted(one.name for one in identities.iterdir()) == [
            "n-vessery-root.p12", "n-vessery-root.pem", "n-vessery.p12",
        ]  # fmt: skip
        assert not [one for one in tmp_path.rglob("*") if one.suffix in (".p12", ".pem")]
        person.leaves()


def same_as_by_hand(folder, day):
    """What was typed comes to the very evaluation of the file that was written by hand."""
    hand = folder / "by-hand"
    hand.mkdir()
    (hand / "project.yaml").write_bytes((folder / "project.yaml").read_bytes())
    (hand / day.name).write_text(BY_HAND)
    typed, written = (reportgen.check(path).evaluation for path in (day, hand / day.name))
    assert encode(typed) == encode(written)
    for path in hand.iterdir():
        path.unlink()
    hand.rmdir()


def sign(person):
    """Make an identity, look at every page, sign, and verify."""
    page = person.page
    person.goes(f"/shift/{DAY}/pages")
    page.get_by_text("No identity file yet?").click()
    page.locator("#new-passphrase").fill("a passphrase for tests")
    page.locator("#again").fill("a passphrase for tests")
    page.get_by_role("button", name="Make an identity").click()
    page.wait_for_selector("text=Made here")
    page.locator("#passphrase").fill("a passphrase for tests")
    page.get_by_role("button", name="Sign and issue").click()
    page.wait_for_selector("#refused .refused")
    assert "Not yet" in page.inner_text("#refused")
    pages = page.locator(".thumbs a").count()
    for number in range(1, pages + 1):
        person.goes(f"/shift/{DAY}/pages?page={number}")
        person.until("document.querySelector('.paper').naturalWidth")
        page.locator("#end").scroll_into_view_if_needed()
        person.until(f"document.querySelector('#sign b').textContent.startsWith('{number} ')")
    assert page.locator("#made").input_value() == "n-vessery.p12"
    page.locator("#passphrase").fill("another passphrase")
    page.get_by_role("button", name="Sign and issue").click()
    page.wait_for_selector("#refused .refused")
    assert "passphrase" in page.inner_text("#refused")
    page.locator("#passphrase").fill("a passphrase for tests")
    page.get_by_role("button", name="Sign and issue").click()
    page.wait_for_url("**/report/AB-12-IR-001/0")
    page.get_by_role("button", name="Verify now").click()
