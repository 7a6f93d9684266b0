"""The report's typeface, IBM Plex Sans, and what it can print."""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from pathlib import Path

FONT_NAMES = ("PlexSans", "PlexSans-SemiBold", "PlexSans-Italic")

_FOLDER = Path(__file__).parent / "data" / "fonts"
# reportlab name: (file, name of the typeface in the document's font list)
_FACES = {
    "PlexSans": ("ReportSans-Regular.ttf", b"IBMPlexSans"),
    "PlexSans-SemiBold": ("ReportSans-SemiBold.ttf", b"IBMPlexSans-SemiBold"),
    "PlexSans-Italic": ("ReportSans-Italic.ttf", b"IBMPlexSans-Italic"),
}


def font_path(name: str) -> Path:
    """Path of a face's TrueType file, for programs that read fonts from files; KeyError for any other name.

    >>> font_path("PlexSans").name
    'ReportSans-Regular.ttf'
    """
    return _FOLDER / _FACES[name][0]


@cache
def register_fonts() -> None:
    """Make the three faces known to reportlab, as one family; repeated calls do nothing.

    ``<b>`` in a Paragraph is SemiBold and ``<i>`` Italic; there is no bold italic face, so both together are SemiBold.
    """
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name, (file, typeface) in _FACES.items():
        # only the glyphs in use are embedded, not the whole of ASCII
        font = TTFont(name, str(_FOLDER / file), asciiReadable=False)
        # the file's own name leaves out the reserved font name; the document says which typeface it shows
        font.face.name = font.face.name.__class__(typeface)
        pdfmetrics.registerFont(font)
    pdfmetrics.registerFontFamily(
        "PlexSans",
        normal="PlexSans",
        bold="PlexSans-SemiBold",
        italic="PlexSans-Italic",
        boldItalic="PlexSans-SemiBold",
    )


@cache
def printable() -> frozenset[int]:
    """Code points that all three faces have a glyph for; space and no-break space among them."""
    from reportlab.pdfbase import pdfmetrics

    register_fonts()
    tables = [pdfmetrics.getFont(name).face.charToGlyph for name in FONT_NAMES]
    # glyph 0 is the empty box; the last row of a character table maps U+FFFF to it
    return frozenset.intersection(*(frozenset(code for code, glyph in table.items() if glyph) for table in tables))


def missing_glyphs(text: str) -> list[tuple[int, str]]:
    """Position (from 0) and character of everything in ``text`` that the faces cannot print; line feeds are fine.

    >>> missing_glyphs("2.5 µm, Sa 2½")
    []
    >>> missing_glyphs("漆 1")
    [(0, '漆')]
    """
    known = printable()
    return [(place, found) for place, found in enumerate(text) if found != "\n" and ord(found) not in known]


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
    if (text.isascii() and text.isprintable()) or not _undrawable().search(text):
        return text
    return _undrawable().sub(_code_points, unicodedata.normalize("NFC", text))


@cache
def _undrawable() -> re.Pattern[str]:
    """One or more characters without a glyph."""
    known = "".join(re.escape(chr(code)) for code in sorted(printable()))
    return re.compile(f"[^\n{known}]+")


def _code_points(found: re.Match[str]) -> str:
    return f"[{' '.join(map(_code_point, found[0]))}]"


def _code_point(character: str) -> str:
    code = ord(character)
    return f"0x{code - 0xDC00:02X}" if 0xDC80 <= code <= 0xDCFF else f"U+{code:04X}"
