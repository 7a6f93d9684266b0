"""Six areas in one shift by the keyboard alone: from an empty folder to a verified report, with the presses counted."""

import shutil

import pytest

import reportgen
from reportgen.formats import encode
from reportgen.yamlsource import parse_yaml
from tests.browsing import needs_chromium, served
from tests.e2e.test_open_tutorial import ANSWERS, DAY

pytestmark = [needs_chromium, pytest.mark.enable_socket]

SECRET = "a passphrase for tests"
FURTHER = ["L2: leg 2, 240 ft2", "L3: leg 3, 240 ft2", "L4: leg 4, 240 ft2", "B1: beam, 310 ft2", "B2: brace, 120 ft2"]
AREAS = {
    "L1": (("0700", "0820"), "3", ("2.8", "2.4 2.2", "2.9", "2.7", "3.0", "2.6"), ("1", "9.2"), ("2", "1", "2"),
           "1010"),
    "L2": (("0730", "0845"), "2", ("2.7", "2.9", "3.1", "2.2 2.1", "2.8", "2.6"), ("3", "8.8"), ("1", "1", "1"),
           "1020"),
    "L3": (("0830", "0940"), "3", ("2.6", "2.7", "2.8", "3.0", "2.4 2.3", "2.9"), ("2", "9.9"), ("3", "2", "2"),
           "1100"),
    "L4": (("0850", "1000"), "4", ("3.1", "3.2", "2.9", "2.8", "2.7", "2.6"), ("1", "7.7"), ("1", "1", "2"),
           "1115"),
    "B1": (("1000", "1130"), "1", ("2.9", "2.8", "2.3 2.2", "2.7", "3.0", "3.1"), ("3", "8.1"), ("2", "1", "1"),
           "1300"),
    "B2": (("1140", "1230"), "2", ("2.6", "2.8", "2.7", "2.9", "3.0", "2.8"), ("2", "9.4"), ("1", "2", "2"),
           "1345"),
}  # fmt: skip
"""Blasted from and to; stain; readings, two where the second tape is asked for; salts; dust; when it was coated."""
LOG = {
    "gauge_checks": [("0645", "c", "-2.0", "3.0", "3.0"), ("1400", "c", "-2.0", "3.0", "3.1")],
    "conditions": [("0640", "54.5", "62", "53.5"), ("1020", "59.0", "58", "58.0"), ("1345", "61.5", "55", "60.5")],
}


def clock(text):
    """A time as the file has it."""
    return f'"{text[:2]}:{text[2:]}"'


def by_hand():
    """The day file as somebody writes it who knows how."""
    checks = "\n".join(
        f"  - {{time: {clock(t)}, gauge: g1, anvils: clean, preset: {p} mil, shim: {s} mil, shim_reading: {r} mil}}"
        for t, _, p, s, r in LOG["gauge_checks"]
    )
    air = "\n".join(
        f"  - {{time: {clock(t)}, air: {a} degF, humidity: {h} %, steel: {s} degF, instruments: [h1, t1]}}"
        for t, a, h, s in LOG["conditions"]
    )
    return f"""\
project: project.yaml
report: {{number: AB-12-IR-001, revision: 0, date: {DAY}, shift: {{start: "06:00", end: "18:00"}}, inspector: vessery}}
conditions:
{air}
gauge_checks:
{checks}
tape_checks:
  - {{time: "06:50", roll: c1, gauge: g1, thickness: 4.0 mil}}
  - {{time: "06:52", roll: x1, gauge: g1, thickness: 5.6 mil}}
surfaces:
{"".join(surface_by_hand(*one) for one in AREAS.items())}"""


def surface_by_hand(area, said):
    """One area of it."""
    (start, end), stain, readings, (salty, sample), (dusty, quantity, size), coated = said
    rows = ""
    for number, text in enumerate(readings):
        x1, *c1 = text.split()
        second = f", c1: {c1[0]}" if c1 else ""
        rows += f"        - {{location: {number // 2 + 1}, spot: {'ab'[number % 2]}, x1: {x1}{second}}}\n"
    return f"""\
  - area: {area}
    apparatus: pot 1
    initial_condition: C
    blasted: {{start: {clock(start)}, end: {clock(end)}, abrasive: grit 40}}
    cleanliness: {{observed: SSPC-SP 10, staining: {stain} %}}
    profile:
      gauge: g1
      readings:
{rows}    salts:
      - {{location: {salty}, area: 12.5 cm2, volume: 3 ml, blank: 1.9 uS/cm, sample: {sample} uS/cm, instrument: k1}}
    dust:
      - {{location: {dusty}, quantity: {quantity}, size: {size}}}
    coated: {clock(coated)}
"""


class Keys:
    """A person who has nothing but the keyboard; every press beside digits, point and sign is counted."""

    def __init__(self, person):
        self.person, self.page = person, person.page

    def tab(self, target, key="Tab"):
        """Press Tab, or Shift and Tab, until something has the focus."""
        for _ in range(200):
            if self.page.evaluate(f"document.activeElement.matches({target!r})"):
                return
            self.page.keyboard.press(key)
            self.person.pressed += 1
        raise AssertionError(f"Tab never leads to {target}")

    def fill(self, target, text):
        """Go to a field of a form and type into it."""
        self.tab(target)
        if not self.page.evaluate("document.activeElement.tagName === 'SELECT'"):
            self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)

    def follow(self, address=""):
        """Press Enter on what has the focus, which leads to another page."""
        before = self.page.url
        self.page.keyboard.press("Enter")
        self.person.pressed += 1
        self.page.wait_for_url(lambda url: url != before and address in url)
        self.arrived()

    def arrived(self):
        """Wait until a page is there, and the part that was linked to has the focus."""
        self.page.wait_for_load_state("load")
        self.page.wait_for_timeout(50)
        self.person.settled()

    def at(self, place):
        """Say that the focus is where the next entry belongs."""
        assert self.person.at.startswith(place), (
            place,
            self.person.at,
            self.page.evaluate("document.activeElement.outerHTML.slice(0, 200)"),
        )


def begin(keys):
    """The contract by form: six areas, then a limit of salts, dust and time under its terms."""
    chosen = {"unit": "mil", "overlap_rule": "average", "decision_rule": "simple"}
    for key, answer in ANSWERS.items():
        keys.fill(f"#q-{key}", chosen.get(key, answer))
    keys.fill("#q-further", "\n".join(FURTHER))
    keys.tab("#q-date")
    keys.page.keyboard.type("05042026")
    keys.tab("#new button[type=submit]")
    keys.follow()
    keys.tab("a[href$='/terms']")
    keys.follow("/terms")
    for place, value in (("time_to_coat/maximum", "6"), ("dust/maximum_quantity", "2"), ("dust/maximum_size", "2")):
        keys.tab(f"[data-at='specification/{place}']")
        keys.person.types(f"{value}⏎")
    for form, answers in {
        "salts": {"maximum": "3", "expressed_as": "mixed"},
        "instrument": {"id": "k1", "kind": "conduct", "serial": "K-7", "accuracy": "2 %"},
    }.items():
        keys.tab(f"#add-{form} summary")
        keys.page.keyboard.press("Enter")
        for name, answer in answers.items():
            keys.fill(f"#a-{form}-{name}", answer)
        keys.tab(f"#add-{form} button")
        with keys.page.expect_navigation():
            keys.page.keyboard.press("Enter")
        keys.arrived()
    keys.tab("a[href$='/']")
    keys.follow("/")
    keys.tab("main a.first")
    keys.follow(f"/shift/{DAY}")


def enter(keys):
    """The shift: checks and air, the areas one after the other, and what is read again later."""
    person = keys.person
    keys.tab("main a.first")
    keys.follow("/checks")
    keys.at("gauge_checks")
    person.types("⏎".join(LOG["gauge_checks"][0]) + "⏎")
    person.types("0650⏎4.0⏎0652⏎5.6⏎")
    person.types("⏎".join(LOG["conditions"][0]) + "⏎⏎")
    for number, (area, said) in enumerate(AREAS.items()):
        (start, end), stain, readings, (salty, sample), (dusty, quantity, size), coated = said
        keys.follow(f"/area/{area}")
        if number == 0:
            keys.at("surfaces[area=L1]/apparatus")
            person.types(f"pot 1⏎{start}⏎{end}⏎grit 40⏎C⏎")
        else:
            person.types(f"⏎⏎⏎{start}⏎{end}⏎")
        keys.at(f"surfaces[area={area}]/cleanliness/observed")
        keys.tab("[data-same]")
        keys.page.keyboard.press("Space")
        person.pressed += 1
        person.settled()
        person.types(f"{stain}⏎")
        keys.at(f"surfaces[area={area}]/profile/readings[location=1")
        person.types("⏎".join(" ".join(readings).split()) + "⏎")
        keys.at(f"surfaces[area={area}]/salts")
        if number == 0:
            person.types(f"{salty}⏎12.5⏎3⏎1.9⏎{sample}⏎")
        else:
            person.types(f"{salty}⏎⏎1.9⏎{sample}⏎")
        person.types(f"{dusty}⏎{quantity}⏎{size}⏎")
        keys.at(f"surfaces[area={area}]/coated")
        person.types(f"{coated}⏎")


def later(keys):
    """Air and gauge are read again before one leaves: what is missing leads there."""
    person = keys.person
    keys.follow("/checks")
    keys.at("gauge_checks")
    person.types("⏎".join(LOG["gauge_checks"][1]) + "⏎")
    for said in LOG["conditions"][1:]:
        keys.tab("[data-at='conditions[time=%2A]']")
        person.types("⏎".join(said) + "⏎")


def sign(keys):
    """Make an identity, have every page on the screen, sign, and verify, all by keys."""
    page = keys.page
    keys.tab("nav a[href$='/pages']")
    keys.follow("/pages")
    keys.tab("aside details summary")
    page.keyboard.press("Enter")
    keys.fill("#new-passphrase", SECRET)
    keys.fill("#again", SECRET)
    with page.expect_navigation():
        page.keyboard.press("Enter")
    keys.arrived()
    for number in range(1, page.locator(".thumbs a").count() + 1):
        if number > 1:
            keys.tab("#sign a")
            keys.follow(f"page={number}")
        keys.person.until("document.querySelector('.paper').naturalWidth")
        page.keyboard.press("End")
        keys.person.until(f"document.querySelector('#sign b').textContent.startsWith('{number} ')")
    keys.fill("#passphrase", SECRET)
    keys.tab("form button.first")
    keys.follow("/report/AB-12-IR-001/0")
    keys.tab("form[data-hx-post$='/proof'] button")
    page.keyboard.press("Enter")
    page.wait_for_selector("#proven .say")
    assert page.inner_text("#proven").startswith("passed"), page.inner_text("#proven")


def same_as_by_hand(folder, day):
    """What was typed comes to the very evaluation of the file that was written by hand."""
    hand = folder / "by-hand"
    hand.mkdir()
    (hand / "project.yaml").write_bytes((folder / "project.yaml").read_bytes())
    (hand / day.name).write_text(by_hand(), "utf-8")
    typed, written = (reportgen.check(path).evaluation for path in (day, hand / day.name))
    assert encode(typed) == encode(written)
    assert [one.decision for one in typed.areas] == ["release"] * len(AREAS)
    shutil.rmtree(hand)


def entries(value, name=""):
    """How many values a day file has, but for the names of areas, and of locations and spots of readings."""
    if isinstance(value, dict):
        names = {"surfaces": {"area"}, "readings": {"location", "spot"}}.get(name, set())
        return sum(entries(one, key) for key, one in value.items() if key not in names)
    return sum(entries(one, name) for one in value) if isinstance(value, list) and name != "instruments" else 1


@pytest.mark.thorough
def test_six_areas_by_keyboard_from_an_empty_folder_to_a_verified_report(tmp_path, person_at, identities):
    with served(tmp_path) as opening:
        person = person_at(opening())
        keys = Keys(person)
        begin(keys)
        day = tmp_path / f"{DAY}.yaml"
        person.pressed = 0
        enter(keys)
        later(keys)
        written = parse_yaml(day.read_bytes(), day.name).data
        count = sum(entries(written.get(key, []), key) for key in (*LOG, "tape_checks", "surfaces"))
        assert person.pressed <= 1.2 * count, (person.pressed, count)
        same_as_by_hand(tmp_path, day)
        sign(keys)
        person.leaves()
