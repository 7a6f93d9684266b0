"""The report's typeface, IBM Plex Sans, and what it can print."""

from __future__ import annotations

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
