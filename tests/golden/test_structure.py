"""What a screen reader is told: reading order, headings, tables, figures with their numbers."""

import re
import subprocess
from itertools import pairwise

import pytest

from reportgen.pdf.canvas import UntaggedContent  # noqa: F401 - raised while rendering where a text has no tag
from tests.golden.pages import reader, report
from tests.outside import needs_program


def elements(rendered):
    """(role, alternative text) of every structure element, in reading order."""
    found = []

    def walk(node):
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for kid in node:
                walk(kid)
        elif isinstance(node, dict) and "/S" in node:
            found.append((str(node["/S"])[1:], str(node.get("/Alt", ""))))
            walk(node.get("/K", []))

    walk(reader(rendered).trailer["/Root"]["/StructTreeRoot"]["/K"])
    return found


def test_the_document_has_a_title_a_language_and_is_marked():
    root = reader(report()).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert reader(report()).metadata.title == "Surface preparation inspection, MM-31-IR-007 · revision 0 · 2026-06-03"


def test_there_is_one_title_and_no_level_is_skipped():
    levels = [int(role[1]) for role, _ in elements(report()) if re.fullmatch(r"H[1-6]", role)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_figure_says_in_numbers_what_it_shows():
    figures = [alt for role, alt in elements(report()) if role == "Figure"]
    assert len(figures) == 3 + 3 * 4 + 3 + 1 + 3  # strips, plots of locations, histograms, the shift, photos there are
    histograms = [alt for alt in figures if alt.startswith("Histogram")]
    assert len(histograms) == 3
    assert all(re.search(r"of 8 spots from \d\.\d\d to \d\.\d\d mil", alt) for alt in histograms)
    assert any("06:40 at trough: air 14.5, steel 13.5, dew point 9.3" in alt for alt in figures)
    assert any("location 3: 1.70, does not conform; location 4: 1.75, does not conform" in alt for alt in figures)
    assert "3: 1.70 mil, does not conform" in figures


def test_tables_have_heads_and_a_table_over_two_pages_is_one_table():
    roles = [role for role, _ in elements(report())]
    assert roles.count("Table") == roles.count("THead")
    assert roles.count("TH") > 60


@needs_program("pdfinfo")
def test_read_aloud_in_order(tmp_path):
    file = tmp_path / "report.pdf"
    file.write_bytes(report().pdf)
    out = subprocess.run(["pdfinfo", "-struct-text", str(file)], capture_output=True, check=True).stdout.decode("utf-8")
    spoken = " ".join(re.findall(r'"([^"]*)"', out))
    expected = [
        "Surface preparation inspection", "Does not conform: of 3 areas", "Project", "Marrowmere aqueduct",
        "Areas", "TR-1", "TR-900", "Actions",
        "Requirements and what was found", "Surface profile", "TR-2", "The shift", "06:40", "Areas",
        "TR-1", "spot a", "location", "profile", "Nonconformances", "NCR-004", "Equipment and checks",
        "People, remarks, limits",
        "Waterworks visited", "What this report does not cover", "Photos", "Replica record", "Annex 1", "Sources",
        "Uncertainty of one location", "Cautions", "Annex 2", "How to verify", "End of report MM-31-IR-007",
    ]  # fmt: skip
    foot = [spoken.find(text) for text in ("R. Hethe", "demonstration, not valid for issue", "supports a decision")]
    assert spoken.find("Actions") < foot[0] < foot[1] < foot[2] < spoken.find("The shift")
    at = 0
    for text in expected:
        found = spoken.find(text, at)
        assert found >= 0, f"{text!r} is not read after what stands before it"
        at = found


@pytest.mark.parametrize("status", ["demonstration", "draft"])
def test_header_footer_and_watermark_are_not_read(status, tmp_path):
    pages = reader(report(status=status)).pages
    for page in pages:
        code = page.get_contents().get_data()
        assert b"/Subtype/Header" in code
        assert b"/Subtype/Footer" in code
        assert (b"/Subtype/Watermark" in code) == (status == "draft")
