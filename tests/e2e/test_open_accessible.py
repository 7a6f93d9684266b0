"""Every page by axe-core, at three sizes and in both lights; with the keyboard alone, and at 200 %."""

import shutil
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.browsing import needs_chromium, served, sizes
from tests.conftest import JOBS, ROOT
from tests.e2e.test_open_following import SECRET, issued, names_a_countersigner
from tests.unit.browser.site import Site

pytestmark = [needs_chromium, pytest.mark.enable_socket]

AXE = (ROOT / "tests" / "axe" / "axe.min.js").read_text("utf-8")
RULES = "{runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}"
SMALL = """() => [...document.querySelectorAll('a, button, input, select, textarea, summary')].filter(e =>
  e.offsetParent && e.type !== 'hidden' && !e.closest('.skip, .box') && e.getClientRects().length).filter(e => {
    const own = e.type === 'checkbox' ? e.closest('label') : e, box = own.getBoundingClientRect();
    return box.height < 43.5 || box.width < 24;
  }).map(e => e.outerHTML.slice(0, 120))"""
DAY = "/shift/2026-06-09"
PAGES = [
    "/",
    DAY,
    f"{DAY}/area/G-6",
    f"{DAY}/area/K-4",
    f"{DAY}/area/G-1",
    f"{DAY}/area/G-5",
    f"{DAY}/area/G-2",
    "/shift/2026-06-11/area/G-5",
    f"{DAY}/checks",
    f"{DAY}/nonconformances",
    f"{DAY}/photos",
    f"{DAY}/sheet",
    f"{DAY}/area/G-5?entry=1",
    "/terms",
    "/file",
    "/audit",
    "/shift/2026-06-08/pages",
    "/shift/bad",
]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A contract in the middle of a shift, with a day file that cannot be read."""
    path = tmp_path_factory.mktemp("contract") / "job"
    shutil.copytree(JOBS / "quarrowmere", path)
    day = path / "2026-06-09.yaml"
    text = day.read_text("utf-8")
    cut = text.index("        - {location: 4, spot: b, x1: 2.3, c1: 2.0}\n        - {location: 5")
    end = text.index('    coated: "15:45"')
    day.write_text(text[:cut] + "        - {location: 4, spot: b, x1: 2.3}\n" + text[end:], "utf-8")
    (path / "bad.yaml").write_text('project: project.yaml\nreport: {number: "QW\n', "utf-8")
    return path


@pytest.fixture(scope="module")
def opening(folder):
    with served(folder) as address:
        yield address


def faults(person):
    """What axe objects to on the page as it is, what is too small to hit, and whether it scrolls sideways."""
    found = person.page.evaluate(f"() => axe.run({RULES})")["violations"]
    told = [f"{one['id']}: {one['nodes'][0]['html'][:160]} ({len(one['nodes'])})" for one in found]
    told += [f"small: {one}" for one in person.page.evaluate(SMALL)]
    wide = person.page.evaluate("document.documentElement.scrollWidth - innerWidth")
    return told + ([f"sideways by {wide}"] if wide > 0 else [])


@pytest.mark.parametrize("address", PAGES)
def test_no_fault_on_any_page(opening, person_at, address):
    person = person_at(opening())
    person.goes(address)
    person.page.evaluate(AXE)
    found = {}
    for name, (width, height) in sizes.items():
        person.page.set_viewport_size({"width": width, "height": height})
        found[name] = faults(person)
    person.page.locator("#light").click()
    found["sunlight"] = faults(person)
    assert {name: told for name, told in found.items() if told} == {}


def test_no_fault_in_an_empty_folder(tmp_path, person_at):
    with served(tmp_path, "de") as address:
        person = person_at(address())
        person.page.evaluate(AXE)
        assert faults(person) == []
        assert person.page.inner_text("h1") == "Neuer Vertrag"


def revised(folder):
    """Issue a day and begin its revision; return the address of the report."""
    site = Site(folder).opened()
    report = issued(site)
    site.post("/shift/2026-06-08/revision", {"reason": "a reading was misread"})
    return report


def office_in_use(folder):
    """File the report, spoil a copy of it, and audit the folder."""
    site = Site(folder).opened()
    whose = {"made": "d-rusketh.p12", "passphrase": SECRET, "organisation": "Ostrel Surface Inspection"}
    reports = [f"reports/{one.name}" for one in (folder / "reports").iterdir()]
    filed = site.post("/file", {**whose, "report": reports})
    assert "submittal-1.pdf" in filed.text, filed.text
    site.post("/audit", {"quick": "yes"})


def opened_whole(person):
    """Open everything on a page that can be opened."""
    person.page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")


@pytest.mark.parametrize("address", [f"{DAY}/area/G-6", f"{DAY}/checks", "/terms"])
def test_no_fault_with_everything_opened_nor_at_two_hundred_percent(opening, person_at, address):
    person = person_at(opening(), size=(640, 400))
    person.goes(address)
    opened_whole(person)
    person.page.evaluate(AXE)
    assert faults(person) == []
    person.page.set_viewport_size({"width": 1280, "height": 800})
    assert faults(person) == []


def test_what_is_asked_before_terms_are_written_has_no_fault(opening, person_at):
    person = person_at(opening())
    person.goes("/terms")
    person.page.locator("[data-at='specification/profile/minimum']").focus()
    person.types("2.4⏎")
    assert person.page.locator(".ask").count() == 1
    person.page.evaluate(AXE)
    assert faults(person) == []
    person.page.get_by_role("button", name="Leave it as it was").press("Enter")
    assert person.page.input_value("[data-at='specification/profile/minimum']") == "1.8"


def test_no_fault_on_a_report_and_beside_it(tmp_path, person_at, identities):
    folder = shutil.copytree(JOBS / "quarrowmere", tmp_path / "job")
    names_a_countersigner(folder / "2026-06-08.yaml")
    with ThreadPoolExecutor(1) as beside:  # the browser has the loop of this thread
        report = beside.submit(revised, folder).result()
    with served(folder) as address:
        person = person_at(address(), size=sizes["phone"])
        with ThreadPoolExecutor(1) as office:
            office.submit(office_in_use, folder).result()
        for one in (
            report, "/compare/QW-14-IR-001/0/now", "/shift/2026-06-08/pages", "/terms", "/file", "/audit?ask=contracts",
        ):  # fmt: skip
            person.goes(one)
            person.page.evaluate(AXE)
            assert faults(person) == [], one
            person.page.set_viewport_size({"width": 1280, "height": 800})
            assert faults(person) == [], one
            person.page.set_viewport_size({"width": 390, "height": 844})
