"""The terms of a contract by form: what a change does is said first, what was issued keeps its own; added entries."""

import html
import re

import pytest

import reportgen
from reportgen.yamlsource import parse_yaml
from tests.e2e.test_open_beside import types
from tests.e2e.test_open_following import issued

MINIMUM = "lowest profile allowed"


@pytest.fixture
def project(folder):
    return folder / "project.yaml"


def adds(site, form, **given):
    """Send the form that adds an entry."""
    return site.post("/terms/add", {"add": form, **given})


def test_what_follows_is_said_before_a_limit_is_written(site, project, folder):
    before = project.read_bytes()
    asked = html.unescape(types(site, "/terms", MINIMUM, "2.4").text)
    assert "2026-06-09, G-4: release becomes rework." in asked
    assert "2026-06-11, G-5, K-3, H-1, H-2: release becomes rework." in asked
    assert "Nothing is written yet." in asked
    assert project.read_bytes() == before
    at = "specification/profile/minimum"
    written = site.post(
        "/terms/write",
        {"at": at, "was": '"1.8 mil"', "value": "2.4", "kind": "number", "unit": "mil", "believed": "yes"},
    )
    assert "lowest profile allowed: 2.4 mil" in written.text
    assert project.read_bytes() == before.replace(b"minimum: 1.8 mil", b"minimum: 2.4 mil")
    areas = {one.id: one.decision for one in reportgen.check(folder / "2026-06-09.yaml").evaluation.areas}
    assert areas["G-4"] == "rework"
    site.post("/terms/write", {"undo": "yes"})
    assert project.read_bytes() == before


def test_what_decides_nothing_is_written_at_once_and_comments_stay(site, project):
    answer = types(site, "/terms", "contact of the client", "P. Ambleweir")
    assert "HX-Retarget" in answer.headers, answer.text
    text = project.read_text("utf-8")
    assert "client_contact: P. Ambleweir" in text
    assert "# limits of error, from the certificate" in text


@pytest.mark.parametrize(("value", "why"), [("2.4 furlong", "unit"), ("3.9", "not below")])
def test_what_the_loader_refuses_is_refused_in_its_field(site, project, value, why):
    before = project.read_bytes()
    assert why in html.unescape(types(site, "/terms", MINIMUM, value).text)
    assert project.read_bytes() == before


def test_a_conflict_is_shown(site, project):
    shown = {"at": "specification/profile/minimum", "was": '"1.7 mil"', "value": "1.9", "kind": "number", "unit": "mil"}
    assert "also changed outside" in site.post("/terms/write", shown).text
    assert "minimum: 1.8 mil" in project.read_text("utf-8")


def test_areas_people_rolls_instruments_and_hold_points_are_added(site, project, folder):
    for form, given in {
        "area": {"structure": "weir-bridge", "id": "G-7", "name": "bearing, north", "size": "3"},
        "person": {"name": "A. Newcomer", "role": "inspector", "organisation": "Ostrel Surface Inspection"},
        "roll": {"id": "x2", "grade": "extra coarse", "lot": "X-7001", "expires": ""},
        "instrument": {"id": "g2", "kind": "thickness gauge", "serial": "OSI-T-32", "unit": "mil"},
        "hold": {"step": "profile release", "before": "coating"},
    }.items():
        answer = adds(site, form, believed="yes" if form == "hold" else "", **given)
        assert answer.headers.get("hx-redirect") == "/terms", (form, answer.text)
    data = parse_yaml(project.read_bytes(), "project.yaml").data
    area = data["structures"][0]["areas"][-1]
    assert area == {"id": "G-7", "name": "bearing, north", "size": "3 m2"}
    assert data["people"]["newcomer"]["name"] == "A. Newcomer"
    assert data["tape_rolls"]["x2"] == {"grade": "extra coarse", "lot": "X-7001"}
    assert data["instruments"]["g2"]["serial"] == "OSI-T-32"
    assert data["specification"]["hold_points"] == [{"step": "profile release", "before": "coating"}]
    assert "G-7" in site.get("/shift/2026-06-09").text
    assert "is there already" in adds(site, "roll", id="x1", grade="coarse", lot="C-1").text
    assert "Fill in" in adds(site, "roll", id="c9").text
    assert "Fill in" in adds(site, "nothing").text


def test_a_limit_that_holds_areas_is_added_when_it_is_said_twice(site, project):
    text = project.read_text("utf-8")
    cut, end = text.index("  soluble_salts:"), text.index("  dust:")
    project.write_text(text[:cut] + text[end:], "utf-8")
    given = {"maximum": "12", "expressed_as": "mixed salts by conductivity"}
    told = html.unescape(adds(site, "salts", **given).text)
    assert "would be decided otherwise" in told
    assert "soluble_salts" not in project.read_text("utf-8")
    assert adds(site, "salts", believed="yes", **given).headers.get("hx-redirect") == "/terms"
    assert "maximum: 12 mg/m2" in project.read_text("utf-8")


def test_an_issued_report_keeps_its_terms_and_the_page_says_what_differs(site, project, folder, identities):
    report = issued(site)
    shown = html.unescape(site.get("/terms").text)
    assert "1 report was issued on this contract." in shown
    assert "Otherwise than in QW-14-IR-001" in shown
    assert "2026-06-08" not in types(site, "/terms", MINIMUM, "2.4").text
    given = {"at": "specification/profile/minimum", "was": '"1.8 mil"', "value": "2.4", "kind": "number", "unit": "mil"}
    site.post("/terms/write", {**given, "believed": "yes"})
    shown = html.unescape(site.get("/terms").text)
    assert re.search(r"minimum: issued 1\.8 mil, now 2\.4 mil", shown)
    verified = site.post(f"{report}/proof", {})
    assert "passed" in verified.text
