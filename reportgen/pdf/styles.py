"""Colours, faces, sizes and the few paragraph styles of every document. One ink, hairlines, tabular figures."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from reportgen.charts.palette import (
    BAND,
    CONFORMS,
    DATA,
    FAILS,
    HAIRLINE,
    INK,
    MUTED,
    OPEN,
    PANEL,
    PAPER,
    VERDICT_COLOUR,
)

if TYPE_CHECKING:
    from reportlab.lib.styles import ParagraphStyle

__all__ = [
    "BAND", "BODY", "BOLD", "CONFORMS", "DATA", "DENSE", "FAILS", "FINE", "FINEST", "HAIRLINE", "INK", "ITALIC",
    "LABEL", "LEADING", "MUTED", "OPEN", "PANEL", "PAPER", "REGULAR", "SECTION", "SMALL", "TITLE", "VERDICT_COLOUR",
    "colour", "paragraph_style", "text_style",
]  # fmt: skip

REGULAR = "PlexSans"
BOLD = "PlexSans-SemiBold"
ITALIC = "PlexSans-Italic"

TITLE = 18.0
SECTION = 11.5
BODY = 8.5
SMALL = 7.5
LABEL = 7.0
DENSE, FINE, FINEST = 7.6, 6.8, 6.5  # of the tables of a report, of notes, the smallest
LEADING = 11.0

# face, size, leading and colour of each style
_STYLES = {
    "title": (BOLD, TITLE, 22.0, INK),
    "subtitle": (REGULAR, 9.5, 13.0, MUTED),
    "section": (BOLD, SECTION, 15.0, INK),
    "area": (BOLD, 11.0, 14.0, INK),
    "place": (BOLD, 9.2, 12.0, INK),
    "block": (BOLD, 9.0, 12.0, INK),
    "body": (REGULAR, BODY, LEADING, INK),
    "bold": (BOLD, BODY, LEADING, INK),
    "muted": (REGULAR, BODY, LEADING, MUTED),
    "note": (REGULAR, SMALL, 10.0, MUTED),
    "fine": (REGULAR, FINE, 8.6, MUTED),
    "dense": (REGULAR, DENSE, 9.6, INK),
    "caution": (ITALIC, LABEL, 9.0, MUTED),
    "label": (REGULAR, LABEL, 9.0, MUTED),
    "verdict": (BOLD, 12.5, 16.0, INK),
}


@cache
def colour(code: str) -> Any:
    """Return the reportlab colour of ``rrggbb``."""
    from reportlab.lib.colors import HexColor

    return HexColor("#" + code)


def text_style(name: str) -> tuple[str, float, float, str]:
    """Return face, size, leading and colour of the style of that name."""
    return _STYLES[name]


@cache
def paragraph_style(name: str) -> ParagraphStyle:
    """Return the paragraph style of that name; left-aligned, no space around it."""
    from reportlab.lib.styles import ParagraphStyle

    from reportgen.pdf.fonts import register_fonts

    register_fonts()
    face, size, leading, ink = _STYLES[name]
    return ParagraphStyle(
        name,
        fontName=face,
        fontSize=size,
        leading=leading,
        textColor=colour(ink),
        splitLongWords=1,
        allowWidows=0,
        allowOrphans=0,
        bulletFontName=face,
        bulletFontSize=size,
        leftIndent=0,
    )
