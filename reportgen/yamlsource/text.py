"""Bytes of a text file → text: strict UTF-8, a byte-order mark dropped, every refused character with its place."""

from __future__ import annotations

import itertools
import re
from bisect import bisect_right
from typing import Final

from reportgen.diagnostics import Diagnostic, Span
from reportgen.errors import InputError
from reportgen.yamlsource.characters import HIDDEN, character_name

SIZE_LIMIT: Final = 8 * 1024 * 1024
SHOWN: Final = 20
"""Refused characters listed per file; a file with more has one cause, and its first places show it."""

_SAVE: Final = "save it as UTF-8"
STARTER: Final = "`reportgen new DIR` writes a commented file to start from"

_LINE_END: Final = re.compile(r"\r\n|\r|\n")
_BINARY: Final = re.compile(rb"[\x00-\x06\x0e-\x1a\x1c-\x1f]")
_MAGIC: Final = (
    (b"PK\x03\x04", "a spreadsheet or ZIP archive"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"\xd0\xcf\x11\xe0", "an office document"),
)


class Lines:
    """The lines of a text file, to point at a place in it; ``file`` is its path as the user knows it."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.text = text
        self._starts: list[int] | None = None

    def _line_starts(self) -> list[int]:
        if self._starts is None:
            self._starts = [0, *(end.end() for end in _LINE_END.finditer(self.text))]
        return self._starts

    def content(self, line: int) -> str:
        """Return the text of a 1-based line without its end; empty when there is no such line."""
        starts = self._line_starts()
        if not 1 <= line <= len(starts):
            return ""
        end = starts[line] if line < len(starts) else len(self.text)
        return self.text[starts[line - 1] : end].rstrip("\r\n")

    def span(self, line: int, column: int, length: int = 1, label: str = "") -> Span:
        """Return the place at a 1-based line and column, ``length`` characters long, at most to the end of the line."""
        source = self.content(line)
        room = max(1, len(source.rstrip()) - column + 1)
        return Span(self.file, line, column, max(1, min(length, room)), source, label)

    def span_at(self, index: int, length: int = 1) -> Span:
        """Return the place of the character at ``index`` of the text."""
        starts = self._line_starts()
        line = bisect_right(starts, index)
        return self.span(line, index - starts[line - 1] + 1, length)


def decoded_text(data: bytes, file: str, *, limit: int = SIZE_LIMIT, when_empty: str = STARTER) -> str:
    """Decode a text file strictly.

    Raises:
        InputError: too large, empty, binary, not UTF-8, or with control or invisible characters.
    """
    place = (Span(file, 1, 1),)
    if len(data) > limit:
        message = f"the file has {len(data) / 1048576:.1f} MiB; at most {limit // 1048576} MiB are read"
        raise InputError([Diagnostic("SRC103", message, place, "split it by shift or by area")])
    kind = next((name for magic, name in _MAGIC if data.startswith(magic)), None)
    if kind:
        help_text = "save it as CSV in UTF-8" if kind.startswith("a spreadsheet") else "name the right file"
        raise InputError([Diagnostic("SRC101", f"the file is {kind}, not text", place, help_text)])
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError([Diagnostic("SRC102", "the file is UTF-16, not UTF-8", place, _SAVE)])
    if bad := _BINARY.search(data):
        message = f"the file is not text: byte {bad.start() + 1} is 0x{data[bad.start()]:02X}"
        raise InputError([Diagnostic("SRC101", message, place, "name a text file")])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as failure:
        raise InputError([_bad_byte(data, file, failure.start)]) from None
    lines = Lines(file, text)
    if not text.strip():
        raise InputError([Diagnostic("SRC104", "the file is empty", (lines.span(1, 1),), when_empty)])
    hidden = []
    for found in itertools.islice(HIDDEN.finditer(text), SHOWN):
        message = f"the character {character_name(found[0])} is invisible or a control character"
        hidden.append(Diagnostic("SRC105", message, (lines.span_at(found.start()),), "remove it"))
    if hidden:
        raise InputError(hidden)
    return text


def _bad_byte(data: bytes, file: str, start: int) -> Diagnostic:
    """Point at the first byte that is not UTF-8, by counting the characters before it."""
    before = data[:start].decode("utf-8-sig")
    lines = Lines(file, before + data[start : start + 200].decode("cp1252", "replace"))
    shown = bytes([data[start]]).decode("cp1252", "replace")
    guess = f" (`{shown}` in Windows-1252)" if shown.isprintable() and shown != "\ufffd" else ""
    message = f"byte 0x{data[start]:02X}{guess} is not UTF-8"
    return Diagnostic("SRC102", message, (lines.span_at(len(before)),), _SAVE)
