"""Plain text into lines that fit a width. Text from a file is never markup here: no parser sees it."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from reportgen.layout.fonts import missing_glyphs, printable, register_fonts

if TYPE_CHECKING:
    from collections.abc import Callable

# a number stays with its unit: `5 %` is never torn apart
_UNIT = r"(?:mils?|thou|[µμ]?m[²³]?|[cm]m[²³]?|°?[CF]|%|h|min|[µm]?g/c?m²|ft²|[hkM]Pa|bar|psi|µS/cm)"
_SPACES = re.compile(rf"(?<!\d)[^\S\u00a0]+|(?<=\d)[^\S\u00a0]+(?!{_UNIT}(?:\W|$))")
_BREAK_AFTER = re.compile(r"(?<=[-_./,;:])")


class MissingGlyph(RuntimeError):  # noqa: N818 - it names what was found, as UntaggedContent does
    """A character that the faces cannot print reached a page: the loader should have refused it, so a bug of ours."""


@cache
def _advance(face: str) -> Callable[[str], float]:
    """Return the width of text in a face at size 1000."""
    from reportlab.pdfbase.pdfmetrics import getFont

    register_fonts()
    widths: dict[int, float] = getFont(face).face.charWidths
    default = getFont(face).face.defaultWidth
    return lambda text: sum(widths.get(ord(character), default) for character in text)


@lru_cache(maxsize=16384)
def text_width(text: str, face: str, size: float) -> float:
    """Return the width of one line of text in points."""
    return _advance(face)(text) * size / 1000


def checked(text: str) -> str:
    """Return the text, every character of which has a glyph.

    Raises:
        MissingGlyph: rather than print an empty box.
    """
    if text.isascii() and text.isprintable():
        return text
    if not printable().issuperset(ord(character) for character in text if character != "\n"):
        place, character = missing_glyphs(text)[0]
        raise MissingGlyph(f"character {character!r} at {place} of {text!r} has no glyph in the report's faces")
    return text


@lru_cache(maxsize=8192)
def lines_of(text: str, face: str, size: float, width: float) -> tuple[str, ...]:
    """Return the lines of a text that fit ``width`` points: broken at spaces, inside a word only if it is too long.

    At least one line; an explicit line feed ends a line.
    """
    checked(text)
    if "\n" not in text and len(text) * size * 0.45 <= width and text_width(text, face, size) <= width:
        return (text,)
    lines: list[str] = []
    for paragraph in text.split("\n"):
        lines.extend(_filled(paragraph, face, size, width))
    return tuple(lines)


def _filled(text: str, face: str, size: float, width: float) -> list[str]:
    advance = _advance(face)
    room = width * 1000 / size
    space = advance(" ")
    lines: list[str] = []
    line, used = "", 0.0
    for word in _SPACES.split(text.strip()):
        for piece, glued in _pieces(word, room, advance):
            length = advance(piece)
            gap = 0.0 if glued or not line else space
            if line and used + gap + length > room:
                lines.append(line)
                line, used, gap = "", 0.0, 0.0
            line += (" " if gap else "") + piece
            used += gap + length
    return [*lines, line]


def _pieces(word: str, room: float, advance: Callable[[str], float]) -> list[tuple[str, bool]]:
    """Return the word whole, or in parts that fit; a part after the first is glued to the one before."""
    if advance(word) <= room:
        return [(word, False)]
    pieces: list[str] = []
    for part in _BREAK_AFTER.split(word):
        if advance(part) <= room:
            pieces.append(part)
            continue
        for character in part:
            if pieces and pieces[-1] and advance(pieces[-1] + character) <= room and pieces[-1] in part:
                pieces[-1] += character
            else:
                pieces.append(character)
    return [(piece, index > 0) for index, piece in enumerate(pieces)]


def shortened(text: str, face: str, size: float, width: float) -> str:
    """Return the text, or its beginning with an ellipsis when it is wider than ``width``."""
    checked(text)
    if text_width(text, face, size) <= width:
        return text
    while text and text_width(text + "…", face, size) > width:
        text = text[:-1]
    return text.rstrip() + "…"
