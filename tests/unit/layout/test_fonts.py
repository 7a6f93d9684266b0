"""The vendored faces: what they cover, that they carry their licence, and that figures line up."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from reportgen.layout.fonts import FONT_NAMES, drawable, font_path, missing_glyphs, printable, register_fonts

GLYPHS = Path(__file__).parents[3] / "reportgen" / "yamlsource" / "data" / "glyphs.txt"
FACES = {name: TTFont(font_path(name)) for name in FONT_NAMES}


def coverage() -> set[int]:
    """By another reader of fonts than the one in use; no-break space is drawn as space."""
    return set.intersection(*(set(face.getBestCmap()) for face in FACES.values()))


def test_characters_the_loader_accepts_are_those_of_the_faces():
    accepted: set[int] = set()
    for line in GLYPHS.read_text("ascii").split():
        first, _, last = line.partition("-")
        accepted.update(range(int(first, 16), int(last or first, 16) + 1))
    assert accepted == coverage() == set(printable())


def test_characters_that_inspection_reports_need():
    assert missing_glyphs("µ μ ° ² ³ ½ ≤ ≥ ± – — − Δ σ Sa 2½ × · • … № ‰ √ ∞ ≠ ≈ “a” ‘b’ «c» € Ø ø Å å ß ẞ") == []
    assert missing_glyphs("\n\u00a0") == []


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12 漢 字", [(3, "漢"), (5, "字")]),
        ("a\tb", [(1, "\t")]),
        ("e\u0301", [(1, "\u0301")]),  # a combining mark would be set beside its letter
        ("soft\u00adhyphen", [(4, "\u00ad")]),
        ("\u202eabc", [(0, "\u202e")]),
        ("logo \uefcc", [(5, "\uefcc")]),  # the typeface's private use area holds a company's mark
        ("● ■ ☐ 10⁻³ ℃", [(0, "●"), (2, "■"), (4, "☐"), (8, "⁻"), (11, "℃")]),
    ],
)
def test_characters_without_a_glyph_are_named_with_their_position(text, expected):
    assert missing_glyphs(text) == expected


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("", ""),
        ("Sa 2½, 50 µm", "Sa 2½, 50 µm"),
        ("中1", "[U+4E2D]1"),
        ("桥梁 K-3", "[U+6865 U+6881] K-3"),
        ("a\nb\r\tc", "a\nb[U+000D U+0009]c"),
        ("Wehrbru\u0308cke", "Wehrbrücke"),
        ("q\u0301", "q[U+0301]"),
        ("😀\u202egnp.exe", "[U+1F600 U+202E]gnp.exe"),
        ("r\udcc3\udcff.pdf", "r[0xC3 0xFF].pdf"),
        ("\ud800 \udfff", "[U+D800] [U+DFFF]"),
        ("[x] \\ ^ -", "[x] \\ ^ -"),
    ],
)
def test_what_the_faces_lack_is_shown_as_its_code_point(text, shown):
    assert drawable(text) == shown
    assert drawable(shown) == shown
    assert missing_glyphs(shown) == []


@given(st.text(st.characters(categories=None)))
def test_any_text_can_be_drawn(text):
    assert missing_glyphs(drawable(text)) == []


@pytest.mark.parametrize("name", FONT_NAMES)
def test_figures_are_tabular(name):
    face = FACES[name]
    glyphs = face.getBestCmap()
    assert {face["hmtx"][glyphs[ord(figure)]][0] for figure in "0123456789−+±"} == {600}


@pytest.mark.parametrize("name", FONT_NAMES)
def test_files_hold_outlines_without_hinting(name):
    face = FACES[name]
    assert {"glyf", "loca", "cmap", "hmtx", "name", "OS/2", "post"} <= set(face.keys())
    assert not {"fpgm", "prep", "cvt ", "gasp", "GPOS", "GSUB", "CFF "} & set(face.keys())
    assert face["OS/2"].fsType == 0  # installable embedding


@pytest.mark.parametrize("name", FONT_NAMES)
def test_licence_goes_with_the_files_and_the_reserved_name_is_left_out(name):
    names = {record.nameID: str(record) for record in FACES[name]["name"].names}
    assert not any("Plex" in names[number] for number in (1, 2, 3, 4, 6))
    assert "SIL Open Font License, Version 1.1" in names[13]
    licence = (font_path(name).parent / "OFL.txt").read_text("utf-8")
    assert 'Copyright © 2017 IBM Corp. with Reserved Font Name "Plex"' in licence
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence


def test_registering_again_changes_nothing():
    from reportlab.pdfbase import pdfmetrics

    register_fonts()
    before = [pdfmetrics.getFont(name) for name in FONT_NAMES]
    register_fonts()
    assert [pdfmetrics.getFont(name) for name in FONT_NAMES] == before
    assert [font.face.name for font in before] == [b"IBMPlexSans", b"IBMPlexSans-SemiBold", b"IBMPlexSans-Italic"]


def test_bold_and_italic_of_a_paragraph_are_faces_of_the_family():
    from reportlab.lib.fonts import tt2ps

    register_fonts()
    family = [tt2ps("PlexSans", bold, italic) for bold in (0, 1) for italic in (0, 1)]
    assert family == ["PlexSans", "PlexSans-Italic", "PlexSans-SemiBold", "PlexSans-SemiBold"]


def test_unknown_faces_have_no_path():
    with pytest.raises(KeyError):
        font_path("PlexSans-Bold")


def test_files_are_the_ones_vendored():
    """A change of a font file changes every report: it is made on purpose, with the golden files."""
    digests = [hashlib.sha256(font_path(name).read_bytes()).hexdigest()[:12] for name in FONT_NAMES]
    assert digests == DIGESTS


DIGESTS = ["3f144d9c19be", "810f7d20088b", "26fe04bd5776"]
