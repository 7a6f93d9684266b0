"""What a page says of the day as a whole, beside what its margin counts."""

import json
import re

import pytest

from reportgen.browser.contents import as_labelled
from reportgen.browser.texts import texts
from tests.unit.browser.issuing import identity_in, issued_by
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, PROJECT, contract

__all__ = ["contract"]


@pytest.fixture
def site(contract):
    return Site(contract).opened()


def counted(page):
    """The heading of the margin, and its count."""
    return re.search(r"<h2>(Before you leave[^<]*)</h2><b>(\d+)</b>", page).groups()


def test_what_is_missing_is_not_ready(contract, site):
    limits = '  conditions: {clause: "<clause>", maximum_humidity: 85 %}\n  sampling:'
    (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", limits), "utf-8")
    shown = site.get("/shift/day").text
    assert int(counted(shown)[1]) > 0
    assert "Ready to issue" not in shown


def test_an_area_that_is_due_and_empty_lacks_something(contract, site):
    (contract / "day.yaml").write_text(re.sub("not_inspected: .*\n", "", DAY), "utf-8")
    due = site.get("/shift/day/area/A-2").text
    assert "Nothing is entered yet of: A-2" in due
    assert counted(due) == ("Before you leave A-2", "1")
    bare = DAY.split("gauge_checks:")[0]
    (contract / "day.yaml").write_text(bare + "surfaces: []\n", "utf-8")
    shown = site.get("/shift/day").text
    assert "Nothing is entered yet of" in shown
    assert counted(shown)[1] != "0"


@pytest.mark.parametrize(
    "begin", ['{"x": 1}', '{"../x": {"y": 1}}', '{"a": [1]}', '{"a": [{}]}', '{"a": null}', "[1]", "3"]
)
def test_a_beginning_that_no_page_gave_is_refused(contract, site, begin):
    before = (contract / "day.yaml").read_bytes()
    given = {"at": "conditions[time=%2A]", "value": "ab", "begin": begin, "field": "f1"}
    answer = site.post("/shift/day/checks/write", given)
    assert answer.status_code < 500
    assert "refused" in answer.text
    assert json.dumps(begin) not in answer.text
    assert (contract / "day.yaml").read_bytes() == before


@pytest.mark.parametrize(
    ("language", "told"), [("en", "under “re-inspection for”; `unheard_of`"), ("de", "„Nachprüfung zu“")]
)
def test_fields_are_called_as_the_pages_call_them(language, told):
    assert told in as_labelled(texts(language), "with NCR-001 under `reinspects`; `unheard_of`")


def test_what_a_salt_test_lacks_is_called_as_its_fields_are(contract, site):
    salts = (
        '  soluble_salts: {clause: "2.5", maximum: 50 mg/m2, expressed_as: mixed salts by conductivity}\n  sampling:'
    )
    (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", salts), "utf-8")
    begun = "    salts: [{location: 1, blank: 0.4 uS/cm}]\n    profile: {gauge"
    (contract / "day.yaml").write_text(DAY.replace("    profile: {gauge", begun), "utf-8")
    shown = site.get("/shift/day/area/A-1").text
    assert re.search(r"patch, water", shown)
    assert not re.search(r"area, volume", shown)


@pytest.fixture
def second(contract):
    """A second day of a contract whose reports are numbered without gaps; the first is not issued."""
    (contract / "project.yaml").write_text(
        PROJECT.replace("contract: SL-1,", 'contract: SL-1, report_numbers: "SL-1-###",'), "utf-8"
    )
    later = DAY.replace("SL-1-001", "SL-1-002").replace("2026-05-04", "2026-05-05")
    (contract / "next.yaml").write_text(later, "utf-8")
    return contract


@pytest.mark.parametrize(
    ("language", "head", "short", "link", "gap"),
    [
        ("en", "the next report to be issued is SL-1-001", "waits for its turn: the next report is SL-1-001",
         "Go to SL-1-001", "SL-1-002 would leave a gap: the next report number is SL-1-001"),
        ("de", "als Nächstes ist SL-1-001 auszugeben", "wartet, bis es an der Reihe ist", "Zu SL-1-001",
         "SL-1-002 ließe eine Lücke: die nächste Berichtsnummer ist SL-1-001"),
    ],
)  # fmt: skip
def test_a_day_that_the_register_would_refuse_says_which_is_signed_first(second, language, head, short, link, gap):
    site = Site(second, language).opened()
    page = site.get("/shift/next").text
    assert head in page
    assert re.search(rf'<a href="/shift/day">{link}', page)
    assert not re.search("Ready to issue|Bereit zur Ausgabe", page)
    home = site.get("/").text
    assert short in home
    assert re.search(r'<a class="do first" href="/shift/day"', home)
    assert gap in site.get("/shift/next/pages").text
    first = site.get("/shift/day").text
    assert re.search("Ready to issue|Bereit zur Ausgabe", first)


def test_a_number_that_leaves_a_gap_or_does_not_fit_is_not_ready(second, tmp_path):
    issued_by(identity_in(tmp_path), second / "day.yaml")
    site = Site(second).opened()
    assert "Ready to issue" in site.get("/shift/next").text
    day = second / "next.yaml"
    for number, told in (
        ("SL-1-003", "the next report to be issued is SL-1-002; SL-1-003 cannot be issued before it"),
        ("SL-1-000", "the next report number is SL-1-002, not SL-1-000"),
    ):
        day.write_text(day.read_text("utf-8").replace("SL-1-002", number), "utf-8")
        page = site.get("/shift/next").text
        assert told in page
        assert "which is to be signed first" not in page  # no day file has that number
        assert "Ready to issue" not in page
        day.write_text(day.read_text("utf-8").replace(number, "SL-1-002"), "utf-8")


def test_what_is_due_counts_at_the_foot_as_in_the_margin(contract, site):
    (contract / "day.yaml").write_text(re.sub("not_inspected: .*\n", "", DAY), "utf-8")
    page = site.get("/shift/day/area/A-2").text
    foot = page[page.index('id="foot"') :]
    assert counted(page) == ("Before you leave A-2", "1")
    assert "Before you leave: 1" in foot
    assert "1 here" in foot
    assert 'href="#open"' in foot
    assert "Nothing is entered yet of: A-2" in foot


@pytest.mark.parametrize(("language", "word"), [("en", "not inspected"), ("de", "nicht geprüft")])
def test_an_area_that_was_not_inspected_has_its_mark_and_its_reason_over_time(contract, language, word):
    home = Site(contract, language).opened().get("/").text
    table = home[home.index('<table class="matrix">') :]
    assert f'aria-label="{word}: scaffold not released"><use href="#open"' in table
    assert 'class="unseen"' not in table


def test_readings_in_a_table_are_shown_with_their_number_and_the_name_of_the_file(contract, site):
    own = "readings: [{location: 1, spot: a, x1: 2.9}]"
    (contract / "day.yaml").write_text(DAY.replace(own, "readings: {csv: read.csv, rows: 2}"), "utf-8")
    rows = "location,spot,roll,reading\n1,a,x1,2.9\n2,a,x1,2.70\n"
    (contract / "read.csv").write_text(rows, "utf-8")
    page = site.get("/shift/day/area/A-1").text
    profile = page[page.index('id="profile"') : page.index('id="rest"')]
    assert "2 readings stand in read.csv and are changed there." in profile
    assert "1 location required, 2 taken" in profile
    assert re.findall(r'class="raw">([^<]*)<', profile) == ["a 2.9", "a 2.70"]
