"""The report's typeface, IBM Plex Sans, a second face for letters it lacks, and what the two can print."""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

FONT_NAMES = ("PlexSans", "PlexSans-SemiBold", "PlexSans-Italic")
FALLBACK = "DejaVuSans"

_FOLDER = Path(__file__).parent / "data" / "fonts"
# reportlab name: (file, name of the typeface in the document's font list)
_FACES = {
    "PlexSans": ("ReportSans-Regular.ttf", b"IBMPlexSans"),
    "PlexSans-SemiBold": ("ReportSans-SemiBold.ttf", b"IBMPlexSans-SemiBold"),
    "PlexSans-Italic": ("ReportSans-Italic.ttf", b"IBMPlexSans-Italic"),
    FALLBACK: ("ReportFallback-Regular.ttf", b"DejaVuSans"),
}


def font_path(name: str) -> Path:
    """Path of a face's TrueType file, for programs that read fonts from files; KeyError for any other name.

    >>> font_path("PlexSans").name
    'ReportSans-Regular.ttf'
    """
    return _FOLDER / _FACES[name][0]


@cache
def register_fonts() -> None:
    """Make the faces known to reportlab, the three of the typeface as one family; repeated calls do nothing.

    ``<b>`` in a Paragraph is SemiBold and ``<i>`` Italic; there is no bold italic face, so both together are SemiBold.
    The fallback is read when a text first needs it.
    """
    from reportlab.pdfbase import pdfmetrics

    for name in FONT_NAMES:
        _register(name)
    regular, bold, italic = FONT_NAMES
    pdfmetrics.registerFontFamily(regular, normal=regular, bold=bold, italic=italic, boldItalic=bold)


def _register(name: str) -> Any:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    file, typeface = _FACES[name]
    # only the glyphs in use are embedded, not the whole of ASCII
    font = TTFont(name, str(_FOLDER / file), asciiReadable=False)
    # the file's own name leaves out the reserved font name; the document says which typeface it shows
    font.face.name = font.face.name.__class__(typeface)
    pdfmetrics.registerFont(font)
    return font


@cache
def fallback_widths() -> Mapping[int, float]:
    """Widths at size 1000 of the code points that are set in the fallback face: those the typeface lacks."""
    face = _register(FALLBACK).face
    known = typeface_glyphs()
    return {code: face.charWidths[code] for code, glyph in face.charToGlyph.items() if glyph and code not in known}


@cache
def typeface_glyphs() -> frozenset[int]:
    """Code points that all three faces of the typeface have a glyph for; space and no-break space among them."""
    from reportlab.pdfbase import pdfmetrics

    register_fonts()
    tables = [pdfmetrics.getFont(name).face.charToGlyph for name in FONT_NAMES]
    # glyph 0 is the empty box; the last row of a character table maps U+FFFF to it
    return frozenset.intersection(*(frozenset(code for code, glyph in table.items() if glyph) for table in tables))


def printable() -> frozenset[int]:
    """Code points that a page can show as the letters they are."""
    return typeface_glyphs() | fallback_widths().keys()


def runs(text: str, face: str) -> list[tuple[str, str]]:
    """``text`` in pieces of one face each: (face, piece); what ``face`` lacks is set in the fallback.

    >>> runs("⌀ 12 mm", "PlexSans")
    [('DejaVuSans', '⌀'), ('PlexSans', ' 12 mm')]
    """
    if not _beyond_typeface().search(text):
        return [(face, text)]
    pieces = _beyond_typeface().split(text)
    return [(FALLBACK if place % 2 else face, piece) for place, piece in enumerate(pieces) if piece]


@cache
def _beyond_typeface() -> re.Pattern[str]:
    return re.compile(f"([^\n{_listed(typeface_glyphs())}]+)")


def _listed(codes: Iterable[int]) -> str:
    """Code points as ranges of a character class."""
    following = groupby(enumerate(sorted(codes)), key=lambda pair: pair[1] - pair[0])
    spans = [[code for _, code in span] for _, span in following]
    return "".join(f"\\U{span[0]:08x}-\\U{span[-1]:08x}" for span in spans)


def drawable(text: str) -> str:
    r"""``text`` as the faces can draw it: ``[U+4E2D]`` for what they lack, ``[0xFF]`` for a byte that is no text.

    Never fails; text that can be drawn stays as it is. In other text letters with separate accents are composed first
    (Unicode NFC) and neighbours share a bracket. A byte is what Python's ``surrogateescape`` makes of a file name that
    is not UTF-8. Line feeds stay.

    >>> drawable("漆 2.5 µm")
    '[U+6F06] 2.5 µm'
    >>> drawable("Pru\u0308fung \udcff\udcfe\t.pdf")
    'Prüfung [0xFF 0xFE U+0009].pdf'
    """
    if (text.isascii() and text.isprintable()) or not _beyond_typeface().search(text):
        return text  # the fallback is not read for it
    if not _undrawable().search(text):
        return text
    return _undrawable().sub(_code_points, unicodedata.normalize("NFC", text))


# controls, what turns the direction of writing, halves of characters, and what is no character
_NO_TEXT = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]+"
)


def storable(text: str) -> str:
    r"""``text`` as XML and text strings can hold it: every letter, but no control characters and no bytes of no text.

    >>> storable("漆\x07 1")
    '漆[U+0007] 1'
    """
    return _NO_TEXT.sub(_code_points, text)


@cache
def _undrawable() -> re.Pattern[str]:
    """One or more characters without a glyph."""
    return re.compile(f"[^\n{_listed(printable())}]+")


def _code_points(found: re.Match[str]) -> str:
    codes = map(ord, found[0])
    shown = [f"0x{code - 0xDC00:02X}" if 0xDC80 <= code <= 0xDCFF else f"U+{code:04X}" for code in codes]
    return f"[{' '.join(shown)}]"
