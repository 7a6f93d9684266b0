"""What was left for later is named from the beginning, in words, with its field; and how a day stands."""

import html
import re

import pytest

from reportgen.pipeline.contract_state import shift_state
from tests.unit.browser.issuing import identity_in, issued_by
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, PROJECT, contract

__all__ = ["contract"]

LATER = (
    PROJECT.replace("serial: T-1", "serial: <serial number>")
    .replace("{id: A-2, name: post,", "{id: A-2, name: <name of the area>,")
    .replace("client: Board", "client: <client>")
)


@pytest.fixture
def site(contract):
    return Site(contract).opened()


def links(page, title):
    """What a part of the margin names, by the address that each leads to."""
    section = re.search(rf"<h2>{title}</h2><b>(\d+)</b></div>(.*?)</section>", page, re.DOTALL)
    items = re.findall(r'<a href="([^"]*)">(.*?)</a>', section[2], re.DOTALL)
    assert int(section[1]) == len(items)
    return {html.unescape(" ".join(re.sub("<.*?>", "", text).split())): to for to, text in items}


WORDS = {
    "en": ("To fill in before it can be issued", {
        "Terms: client: still to be filled in", "Terms, g1: serial number: still to be filled in",
        "Terms, A-2: name: still to be filled in", "A-1: abrasive and lot: still to be filled in",
    }),
    "de": ("Auszufüllen, bevor ausgegeben werden kann", {
        "Bedingungen: Auftraggeber: noch auszufüllen", "Bedingungen, g1: Seriennummer: noch auszufüllen",
        "Bedingungen, A-2: Name: noch auszufüllen", "A-1: Strahlmittel und Charge: noch auszufüllen",
    }),
}  # fmt: skip


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("address", ["/", "/shift/day", "/shift/day/area/A-1", "/shift/day/checks", "/shift/day/pages"])
def test_what_is_left_is_named_with_its_field_on_every_page(contract, language, address):
    (contract / "project.yaml").write_text(LATER, "utf-8")
    (contract / "day.yaml").write_text(DAY.replace("abrasive: steel grit", 'abrasive: "<name and lot>"'), "utf-8")
    site, (title, words) = Site(contract, language).opened(), WORDS[language]
    page = site.get(address).text
    if address.endswith("pages"):
        found = dict(re.findall(r'<a href="([^"]*)">(.*?)</a>', page, re.DOTALL))
        assert "instruments.g1" not in page
        assert any(to.startswith("/terms#e-") for to in found)
        return
    found = links(page, title)
    assert set(found) == words
    terms = site.get("/terms").text
    for to in found.values():
        where, _, part = to.partition("#")
        assert f'id="{part}"' in (terms if where == "/terms" else site.get(where).text)


def test_an_area_whose_name_is_still_to_come_has_no_tick(contract, site):
    (contract / "project.yaml").write_text(LATER, "utf-8")
    row = re.search(r"<summary><b>A-2</b>(.*?)</summary>", site.get("/terms").text)[1]
    assert 'href="#open"' in row
    other = re.search(r"<summary><b>A-1</b>(.*?)</summary>", site.get("/terms").text)[1]
    assert 'href="#entered"' in other


def test_nothing_is_left_where_everything_is_filled_in(site):
    for address in ("/", "/shift/day"):
        assert "To fill in before it can be issued" not in site.get(address).text


# How a day stands


def test_home_and_shift_agree_whether_a_report_is_ready(contract, site):
    day = contract / "day.yaml"
    day.write_text(
        DAY.replace(
            '  - {time: "14:30", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}\n',
            "",
        )
    )
    assert shift_state(day).state in {"ready", "held"}
    assert "Not ready to issue yet" in site.get("/shift/day").text
    home = site.get("/").text
    assert "not ready to issue" in home
    assert "Look at the pages of day and sign" not in home
    counted = re.search(r"(\d+) things? (?:is|are) missing", site.get("/shift/day").text)[1]
    assert f", {counted} missing." in home
    day.write_text(DAY, "utf-8")
    assert "Look at the pages of day and sign" in site.get("/").text
    assert "Ready to issue" in site.get("/shift/day").text


@pytest.fixture(scope="module")
def identity(tmp_path_factory):
    return identity_in(tmp_path_factory.mktemp("identity"))


def test_what_is_issued_is_called_so_while_its_revision_is_typed(contract, site, identity):
    issued_by(identity, contract / "day.yaml")
    site.post("/shift/day/revision", {"reason": "the wrong steel"})
    home, filed = site.get("/").text, site.get("/file").text
    assert "by a report that is not issued yet" not in home
    assert "revision 1 begun:" in home
    assert re.search(r"revision 0: 2026-05-04 15:1\d UTC, I. Tern", home)
    assert "day is not issued" not in filed
    assert "day: revision 0 is issued; revision 1 begun:" in filed
    day = contract / "day.yaml"
    day.write_text(day.read_text("utf-8").replace("x1: 2.9", "x1: 1.2"), "utf-8")
    home, filed = site.get("/").text, site.get("/file").text
    assert re.search(r"revision 0, 4 May 2026, release 1", filed), "of the report, not of what is typed"
    assert "none may be released" in home


def test_what_keeps_a_day_from_being_signed_is_named_with_its_field_where_it_is_signed(contract, site):
    weather = '  conditions: {clause: "<clause>", maximum_humidity: 85 %}\n  sampling:'
    (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", weather), "utf-8")
    reason = DAY.replace("reason: scaffold not released", 'reason: "<reason why it was not inspected>"')
    (contract / "day.yaml").write_text(reason, "utf-8")
    main = re.search(r"<main.*?</main>", site.get("/shift/day/pages").text, re.DOTALL)[0]
    assert 'href="/terms#weather"' in main
    assert 'href="/shift/day/area/A-2#missed"' in main
    assert "specification" not in main
