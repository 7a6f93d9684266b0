"""What a revision leaves out of the report that it replaces stands on its first page, beside its reason."""

import io
import json

import pypdf
import pytest

from reportgen.archival import read_attachments
from reportgen.verification.pageread import page_texts
from reportgen.verification.pagetext import text_agrees
from tests.unit.cli.conftest import DAY

SECOND = """\
  - area: A-2
    apparatus: pot 2
    initial_condition: B
    blasted: {start: "08:00", end: "10:30", abrasive: steel grit}
    cleanliness: {observed: SSPC-SP 10, staining: 2 %}
    profile: {gauge: g1, readings: [{location: 1, spot: a, x1: 2.9}, {location: 2, spot: a, x1: 2.9}]}
"""
FIRST = DAY.partition("not_inspected")[0].replace("x1: 2.9", "x1: 4.2") + SECOND
REVISED = (
    ("revision: 0", "revision: 1"),
    (
        "inspector: ines}",
        "inspector: ines,\n  supersedes: {revision: 0, reason: a wrong area}}",
    ),
)
ALONE = FIRST.partition("  - area: A-1")[0] + SECOND
FEWER = FIRST.replace("x1: 4.2", "x1: 2.9").replace(", {location: 2, spot: a, x1: 2.9}", "")
SAID = {
    "en": (
        "It no longer names these areas: A-1 (rework).",
        "It no longer has these locations: A-2: 2.",
        "It no longer finds: Profile above maximum (A-1: 1).",
    ),
    "de": (
        "Er nennt diese Flächen nicht mehr: A-1 (Nacharbeit).",
        "Er hat diese Stellen nicht mehr: A-2: 2.",
        "Er stellt nicht mehr fest: Rautiefe über Maximum (A-1: 1).",
    ),
}


@pytest.fixture
def issued(run, contract, monkeypatch):
    """Issue the first report and a revision of it; answer with its pages as text, and its file."""
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    (contract / "day.yaml").write_text(FIRST, "utf-8")
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12", "-o", "first.pdf").code == 0

    def revise(text, language="en", number=1):
        for old, new in REVISED:
            text = text.replace(old, new.replace("revision: 1", f"revision: {number}"))
        text = text.replace("{revision: 0", f"{{revision: {number - 1}")
        (contract / "day.yaml").write_text(text, "utf-8")
        template = [] if language == "en" else ["--template", f"a4-{language}"]
        said = run("issue", "day.yaml", "--identity", "keys/i-tern.p12", "-o", f"revision-{number}.pdf", *template)
        assert said.code == 0, said.err
        pages = pypdf.PdfReader(io.BytesIO((contract / f"revision-{number}.pdf").read_bytes())).pages
        return " ".join(pages[0].extract_text().split()), contract / f"revision-{number}.pdf"

    return revise


@pytest.mark.parametrize("language", ["en", "de"])
def test_an_area_to_be_reworked_is_not_dropped_in_silence(run, issued, language):
    page, file = issued(ALONE, language)
    areas, locations, findings = SAID[language]
    assert areas in page
    assert locations.partition(":")[0] not in page
    assert findings.partition(":")[0] not in page  # what is left out with its area
    (told,) = json.loads(run("verify", file.name, "--json").out)
    assert {one["status"] for one in told["steps"] if one["number"] in (8, 9, 10)} == {"passed"}


def test_pages_without_it_do_not_agree_with_what_is_signed_beside_them(issued):
    _, file = issued(ALONE)
    pdf = file.read_bytes()
    pages, files = page_texts(pdf), read_attachments(pdf)
    assert text_agrees(pages, files, None).status == "passed"
    silent = [" ".join(page.split()).replace(SAID["en"][0], "") for page in pages]
    found = text_agrees(silent, files, None)
    assert found.status == "failed"
    assert SAID["en"][0] in str(found.sentences)


@pytest.mark.parametrize("language", ["en", "de"])
def test_locations_and_findings_that_are_gone_are_named(issued, language):
    page, _ = issued(FEWER, language)
    areas, locations, findings = SAID[language]
    assert locations in page
    assert findings in page
    assert areas.partition(":")[0] not in page


TWICE = SECOND.replace("pot 2", "pot 3").replace("location: 2", "location: 4")


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", ("It no longer has what these did: pot 3 on A-2.", "It no longer has these tests: A-1: salt test S2")),
        ("de", ("Er enthält nicht mehr, was diese taten: pot 3 auf A-2.", "Prüfungen nicht mehr: A-1: Salzprüfung S2")),
    ],
)  # fmt: skip
def test_entries_and_tests_that_are_gone_are_named(run, issued, language, told):
    salts = "    salts: [{location: S1, chloride: 10 mg/m2}, {location: S2, chloride: 10 mg/m2}]\n    profile:"
    both = FIRST.replace("    profile:", salts, 1) + TWICE
    issued(both)
    page, file = issued(both.replace(TWICE, "").replace(", {location: S2, chloride: 10 mg/m2}", ""), language, 2)
    assert [one for one in told if one not in page] == []
    assert "A-2: 4" not in page
    (verified,) = json.loads(run("verify", file.name, "--json").out)
    assert {one["status"] for one in verified["steps"] if one["number"] in (8, 9, 10)} == {"passed"}


def test_a_second_revision_names_what_the_first_left_out(issued):
    issued(ALONE)
    page, _ = issued(ALONE.replace("x1: 2.9", "x1: 3.0"), number=2)
    assert SAID["en"][0] in page


def test_what_failed_at_one_location_and_fails_at_another_is_told_by_location(issued):
    right = "{location: 1, spot: a, x1: 2.9}, {location: 3, spot: a, x1: 4.2}"
    moved = FIRST.replace("{location: 1, spot: a, x1: 4.2}", right, 1)
    page, _ = issued(moved)
    assert SAID["en"][2] in page


def test_where_nothing_is_left_out_nothing_is_said(issued):
    page, _ = issued(FIRST.replace("x1: 4.2", "x1: 4.3"))
    assert "It no longer" not in page


def test_the_draft_of_a_revision_says_it_before_it_is_signed(run, issued, contract):
    text = ALONE
    for old, new in REVISED:
        text = text.replace(old, new)
    (contract / "day.yaml").write_text(text, "utf-8")
    assert f"Noted\n  {SAID['en'][0]}" in run("check", "day.yaml").out
    assert run("draft", "day.yaml", "-o", "draft.pdf").code == 0
    page = pypdf.PdfReader(io.BytesIO((contract / "draft.pdf").read_bytes())).pages[0].extract_text()
    assert SAID["en"][0] in " ".join(page.split())


LAXER = {
    "en": "It judges by other limits than the report that it replaces: Profile above maximum.",
    "de": "Er beurteilt nach anderen Grenzwerten als der Bericht, den er ersetzt: Rautiefe über Maximum.",
}


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("maximum: 3.5 mil", "maximum: 4.5 mil", True),
        ('clause: "2.2", minimum', 'clause: "2.3", minimum', False),
        ("maximum: 8 h", "maximum: 9 h", False),
    ],
)
def test_what_is_found_no_more_as_its_limit_is_another_is_told(run, contract, issued, language, before, after, told):
    project = (contract / "project.yaml").read_text("utf-8")
    assert before in project
    (contract / "project.yaml").write_text(project.replace(before, after), "utf-8")
    page, file = issued(FIRST.replace("x1: 4.2", "x1: 4.2" if told else "x1: 2.9"), language)
    assert SAID[language][2] in page
    assert (LAXER[language] in page) is told
    (verified,) = json.loads(run("verify", file.name, "--json").out)
    assert {one["status"] for one in verified["steps"] if one["number"] in (8, 9, 10)} == {"passed"}
