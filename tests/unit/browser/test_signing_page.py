"""Look, then sign: what was seen stays seen while an identity is made, and no longer once the day has changed."""

import datetime as dt
import re

import pytest

from tests.unit.browser.issuing import PASSPHRASE, identity_in
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import NOW, contract

__all__ = ["contract"]


@pytest.fixture
def site(contract, monkeypatch, tmp_path_factory):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
    for room in ("browser.sight", "pipeline.preparing"):
        monkeypatch.setattr(f"reportgen.{room}.now", lambda: NOW + dt.timedelta(minutes=1))
    return Site(contract).opened()


def looked(site):
    """Look at every page; return the hash of what was prepared."""
    page = site.get("/shift/day/pages").text
    sha256, pages = (
        re.search(r'name="sha256" value="(\w+)"', page)[1],
        int(re.search(r'<meter min="0" max="(\d+)"', page)[1]),
    )
    for number in range(1, pages + 1):
        assert site.get(f"/shift/day/pages/{sha256}/{number}.png").status_code == 200
        seen = site.post("/shift/day/pages/seen", {"page": str(number), "sha256": sha256}).text
    assert f"{pages} of {pages}" in seen
    return sha256, pages


def test_making_an_identity_leaves_what_was_seen_seen(site):
    sha256, pages = looked(site)
    made = {"passphrase": PASSPHRASE, "again": PASSPHRASE, "page": "2"}
    there = site.post("/shift/day/pages/identity", made).headers["hx-redirect"]
    assert there == "/shift/day/pages?page=2"
    page = site.get(there).text
    assert f"{pages} of {pages}" in page
    assert f'value="{sha256}"' in page
    assert re.search(r"<option>[^<]*\.p12</option>", page)
    assert "Sign and issue SL-1-001, revision 0" in page


def test_once_the_day_has_changed_no_page_counts_as_seen(contract, site, tmp_path_factory):
    sha256, pages = looked(site)
    day = contract / "day.yaml"
    day.write_text(day.read_text("utf-8").replace("x1: 2.9", "x1: 2.8"), "utf-8")
    file = identity_in(tmp_path_factory.mktemp("identity"))
    given = {"passphrase": PASSPHRASE, "sha256": sha256}
    answer = site.post("/shift/day/pages/sign", given, files={"identity": ("i.p12", file.read_bytes())}).text
    assert "has changed since you looked" in answer
    assert f"0 of {pages}" in answer
    assert 'data-hx-swap-oob="outerHTML"' in answer
    assert re.search(r'href="/shift/day/pages"[^>]*>Look at the pages again', answer)
    assert not (contract / "reports").exists()
    assert f"0 of {pages}" in site.get("/shift/day/pages?page=1").text


def test_the_identity_of_the_inspector_who_is_named_is_offered_first(contract, site):
    project, day = contract / "project.yaml", contract / "day.yaml"
    project.write_text(
        project.read_text("utf-8").replace("people: {", "people: {al: {name: A. Wren, role: inspector}, ")
    )
    made = {"passphrase": PASSPHRASE, "again": PASSPHRASE}
    for who, first in (("al", "a-wren.p12"), ("ines", "i-tern.p12")):
        day.write_text(re.sub("inspector: [a-z]+", f"inspector: {who}", day.read_text("utf-8")), "utf-8")
        site.post("/shift/day/pages/identity", made)
        page = site.get("/shift/day/pages").text
        assert re.findall(r"<option>([^<]*)</option>", page)[0] == first
        assert f"Sign as {'A. Wren' if who == 'al' else 'I. Tern'}" in page


@pytest.mark.parametrize(
    ("language", "told"),
    [("en", "no font of the report has U+98A8"), ("de", "keine Schrift des Berichts hat U+98A8")],
)
def test_a_character_that_no_font_has_is_said_before_it_is_signed(site, contract, language, told):
    day = contract / "day.yaml"
    assert "98A8" not in site.get("/shift/day/pages").text
    day.write_text(day.read_text("utf-8") + 'remarks: "wind \u98a8 from the east"\n', "utf-8")
    assert told in Site(contract, language).opened().get("/shift/day/pages").text
