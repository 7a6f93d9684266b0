"""The report's typeface, IBM Plex Sans, and what it can print."""

from __future__ import annotations

from pathlib import Path

FONT_NAMES = ("PlexSans", "PlexSans-SemiBold", "PlexSans-Italic")


def font_path(name: str) -> Path:
    """Path of a face's TrueType file, for programs that read fonts from files; KeyError for any other name."""
    files = {"PlexSans": "Regular", "PlexSans-SemiBold": "SemiBold", "PlexSans-Italic": "Italic"}
    return Path(__file__).parent / "data" / "fonts" / f"PlexSans-{files[name]}.ttf"


def register_fonts() -> None:
    """Make the three faces known to reportlab, as one family; repeated calls do nothing."""
    raise NotImplementedError


def missing_glyphs(text: str) -> list[tuple[int, str]]:
    """Position (from 0) and character of everything in ``text`` that the faces cannot print; line feeds are fine."""
    raise NotImplementedError
