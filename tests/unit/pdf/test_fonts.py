"""The vendored faces: what they cover, that they carry their licence, and that figures line up."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from reportgen.pdf.fonts import (
    FALLBACK,
    FONT_NAMES,
    drawable,
    font_path,
    printable,
    register_fonts,
    runs,
)

GLYPHS = Path(__file__).parents[3] / "reportgen" / "yamlsource" / "data" / "glyphs.txt"
FACES = {name: TTFont(font_path(name)) for name in FONT_NAMES}
SECOND = TTFont(font_path(FALLBACK))


def coverage() -> set[int]:
    """By another reader of fonts than the one in use; no-break space is drawn as space."""
    return set.intersection(*(set(face.getBestCmap()) for face in FACES.values())) | set(SECOND.getBestCmap())


def test_characters_the_loader_accepts_are_those_of_the_faces():
    accepted: set[int] = set()
    for line in GLYPHS.read_text("ascii").split():
        first, _, last = line.partition("-")
        accepted.update(range(int(first, 16), int(last or first, 16) + 1))
    assert accepted == coverage() == set(printable())


@pytest.mark.parametrize(
    "text",
    [
        "µ μ ° ² ³ ½ ≤ ≥ ± – — − Δ σ Sa 2½ × · • … № ‰ √ ∞ ≠ ≈ “a” ‘b’ «c» € Ø ø Å å ß ẞ",
        "\n\u00a0",
        "● ■ ☐ ☑ 10⁻³ ℃ ⌀ ∅ ⊥ ✓ ✗ ⚠ → ⇒ Հայ ქართ Ǳ ŵ",
    ],
)
def test_characters_that_inspection_reports_need(text):
    assert drawable(text) == text


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
        ("logo \uefcc", "logo [U+EFCC]"),  # the typeface's private use area holds a company's mark
        ("soft\u00adhyphen", "soft[U+00AD]hyphen"),
        ("שלום สวัสดี", "[U+05E9 U+05DC U+05D5 U+05DD] [U+0E2A U+0E27 U+0E31 U+0E2A U+0E14 U+0E35]"),
    ],
)
def test_what_the_faces_lack_is_shown_as_its_code_point(text, shown):
    assert drawable(text) == shown
    assert drawable(shown) == shown


@given(st.text(st.characters(categories=None)))
def test_any_text_can_be_drawn(text):
    assert printable() | {ord("\n")} >= set(map(ord, drawable(text)))


def test_each_piece_of_a_text_has_a_face_that_has_its_letters():
    pieces = [("DejaVuSans", "⌀"), ("PlexSans-SemiBold", " 12 ✓"), ("DejaVuSans", "✗☑"), ("PlexSans-SemiBold", " mm")]
    assert runs("⌀ 12 ✓✗☑ mm", "PlexSans-SemiBold") == pieces
    assert runs("12 mm", "PlexSans") == [("PlexSans", "12 mm")]


@pytest.mark.parametrize("name", FONT_NAMES)
def test_figures_are_tabular(name):
    face = FACES[name]
    glyphs = face.getBestCmap()
    assert {face["hmtx"][glyphs[ord(figure)]][0] for figure in "0123456789−+±"} == {600}


@pytest.mark.parametrize("name", [*FONT_NAMES, FALLBACK])
def test_files_hold_outlines_without_hinting(name):
    face = FACES.get(name, SECOND)
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


def test_the_fallback_is_named_as_its_licence_asks_and_the_licence_goes_with_it():
    names = {record.nameID: str(record) for record in SECOND["name"].names}
    assert not re.search(
        "vera|bitstream|arev|tavmjong", " ".join(names[number] for number in (1, 2, 3, 4, 6)), re.IGNORECASE
    )
    assert "Copyright (c) 2003 by Bitstream" in names[0]
    licence = (font_path(FALLBACK).parent / "LICENCE-DejaVu.txt").read_text("utf-8")
    assert "Permission is hereby granted, free of charge" in licence


def test_the_fallback_is_small_and_holds_no_letters_that_need_shaping():
    assert font_path(FALLBACK).stat().st_size < 160_000
    letters = [chr(code) for code in SECOND.getBestCmap()]
    assert not {unicodedata.bidirectional(letter) for letter in letters} & {"R", "AL", "AN", "NSM"}
    assert not {unicodedata.category(letter)[0] for letter in letters} & {"C", "M"}


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
    names = (*FONT_NAMES, FALLBACK)
    digests = [hashlib.sha256(font_path(name).read_bytes()).hexdigest()[:12] for name in names]
    assert digests == DIGESTS


DIGESTS = ["3f144d9c19be", "810f7d20088b", "26fe04bd5776", "ced47e375889"]
