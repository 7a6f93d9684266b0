"""The text of pages in the order of their content streams, which is the order in which a report was written.

pikepdf takes the streams apart; the characters come from each font's own table (ISO 32000-1 §9.10.3). Pages of other
makers, whose fonts need more than that, are read by pypdf: slower by ten times, and at home everywhere.
"""

from __future__ import annotations

import io
import re
from typing import Any

import pikepdf

_READ = "q Q BT ET Tf Td TD Tm T* ' \" Tj TJ Do"
_MARKS = " BMC BDC EMC"
_BREAKS = {"BT", "ET", "Td", "TD", "Tm", "T*"}
_SHOWS = {"Tj", "TJ", "'", '"'}
_GAP = -200  # thousandths of the size between two glyphs: a space that was not written as one
_DEEPEST = 8
_SECTION = re.compile(r"beginbfchar(.*?)endbfchar", re.DOTALL)
_PAIR = re.compile(r"<([0-9A-Fa-f]{2})>\s*<((?:[0-9A-Fa-f]{4})+)>")


class _UnusualError(Exception):
    """The page is not written the way reports are."""


class _Characters(dict[int, str]):
    """Characters of a font by code; what the font has no character for cannot be read."""

    def __missing__(self, code: int) -> str:
        raise _UnusualError


def page_texts(pdf: bytes, *, content_only: bool = False) -> list[str]:
    """Return the text of each page; pieces that were placed apart are on lines of their own.

    ``content_only`` leaves out head, foot and repeated heads of tables, which takes longer; pypdf does not know them.
    """
    try:
        with pikepdf.open(io.BytesIO(pdf)) as opened:
            fonts: dict[tuple[int, int], _Characters] = {}
            return [_Reading(fonts, content_only=content_only).page(page.obj) for page in opened.pages]
    except (_UnusualError, pikepdf.PdfError, AttributeError, LookupError, TypeError, ValueError):
        return _read_by_another(pdf)


def _read_by_another(pdf: bytes) -> list[str]:
    import pypdf

    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


class _Reading:
    """One page while it is read: the font in force, the fonts to return to, and the text so far."""

    def __init__(self, fonts: dict[tuple[int, int], _Characters], *, content_only: bool) -> None:
        self._fonts = fonts
        self._operators = _READ + _MARKS if content_only else _READ
        self._font = _Characters()
        self._before: list[_Characters] = []
        self._text: list[str] = []
        self._marks: list[bool] = []  # of the marked content that is open: whether it is an artifact

    def page(self, page: Any) -> str:
        """Read a page."""
        self._read(page, page)
        return "".join(self._text)

    def _say(self, text: str) -> None:
        if True not in self._marks:
            self._text.append(text)

    def _read(self, content: Any, owner: Any, depth: int = 0) -> None:
        """Read a page or a form; ``owner`` has its resources."""
        if depth > _DEEPEST:
            raise _UnusualError
        for instruction in pikepdf.parse_content_stream(content, self._operators):
            name = str(instruction.operator)
            if name in _SHOWS:
                self._show(instruction.operands[-1], apart=name in "'\"")
            elif name in _BREAKS:
                self._say("\n")
            elif name == "Tf":
                self._font = self._characters(owner.Resources.Font[instruction.operands[0]])
            elif name == "Do":
                self._draw(owner.Resources.XObject[instruction.operands[0]], owner, depth)
            else:
                self._nest(name, instruction.operands)

    def _nest(self, name: str, operands: Any) -> None:
        """Follow what is opened and closed: graphics states and marked content."""
        if name == "q":
            self._before.append(self._font)
        elif name == "Q":
            self._font = self._before.pop()
        elif name == "EMC":
            self._marks.pop()
        else:
            self._marks.append(operands[0] == pikepdf.Name.Artifact)

    def _draw(self, drawn: Any, owner: Any, depth: int) -> None:
        if drawn.get("/Subtype") == pikepdf.Name.Form:
            self._before.append(self._font)
            self._read(drawn, drawn if "/Resources" in drawn else owner, depth + 1)
            self._font = self._before.pop()

    def _show(self, shown: Any, *, apart: bool) -> None:
        if apart:
            self._say("\n")
        for piece in shown if isinstance(shown, pikepdf.Array) else [shown]:
            if isinstance(piece, pikepdf.String):
                self._say(bytes(piece).decode("latin-1").translate(self._font))
            elif piece < _GAP:
                self._say(" ")

    def _characters(self, font: Any) -> _Characters:
        known = self._fonts.get(font.objgen)
        if known is None or font.objgen == (0, 0):
            known = self._fonts[font.objgen] = _written_characters(font)
        return known


def _written_characters(font: Any) -> _Characters:
    """Return the characters of a simple font whose table names each of them on its own."""
    table = font.ToUnicode.read_bytes().decode("ascii")
    if font.Subtype == pikepdf.Name.Type0 or "beginbfrange" in table:
        raise _UnusualError
    pairs = [pair for section in _SECTION.findall(table) for pair in _PAIR.findall(section)]
    return _Characters({int(code, 16): bytes.fromhex(text).decode("utf-16-be") for code, text in pairs})
