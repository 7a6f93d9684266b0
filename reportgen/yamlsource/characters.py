"""Which characters a job file may hold: no control, invisible or text-reversing ones; and text written as a scalar.

Letters that the report's fonts do not have may stand in it: the pages show their code points. Which characters the
fonts cover is data: code point ranges in ``data/glyphs.txt``.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from importlib import resources
from typing import Final

HIDDEN: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180e\u200b-\u200f"
    "\u2028-\u202e\u2060-\u206f\u3164\ud800-\udfff\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb\ufffe\uffff"
    "\U000e0000-\U000e0fff]"
)
"""Control characters, bidirectional marks, zero-width and other invisible characters."""

WIDE_SPACE: Final = re.compile("(?:^[ \t]*|[:,\\[{-])([\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000])", re.MULTILINE)
"""A space that YAML does not take for one, where the structure of the file depends on it."""


_PLAIN: Final = re.compile(r"(?:[^\W_]|[+-](?=\d))[\w ./%²³½°+()-]*\Z")
NOTHING: Final = frozenset({"null", "Null", "NULL", "~"})
"""What stands for nothing in YAML, and not for a text."""


@lru_cache(maxsize=1)
def unprintable() -> re.Pattern[str]:
    """Return the pattern of one character that no font of the report has; tab and line ends are not among them."""
    lines = resources.files("reportgen.yamlsource").joinpath("data/glyphs.txt").read_text("ascii").split()
    ranges = "".join("-".join(f"\\U{end:0>8}" for end in line.split("-")) for line in lines)
    return re.compile(f"[^\t\n\r{ranges}]")


def character_name(character: str) -> str:
    """Return ``U+202E (right-to-left override)`` for a character that cannot be shown itself."""
    name = unicodedata.name(character, "").lower()
    return f"U+{ord(character):04X}" + (f" ({name})" if name else "")


def scalar(text: str, *, digits_quoted: bool = False) -> str:
    """Return a text as it is written in YAML, quoted only where it must be.

    ``digits_quoted`` also quotes a text of digits, such as an edition or a clause, taken for a number by editors.

    >>> [scalar("16.5 degC"), scalar("06:40"), scalar("Tank #3"), scalar("3.2", digits_quoted=True)]
    ['16.5 degC', '"06:40"', '"Tank #3"', '"3.2"']
    """
    digits = digits_quoted and text.replace(".", "", 1).isdigit()
    if _PLAIN.match(text) and not text.endswith(" ") and text not in NOTHING and not digits:
        return text
    return _in_quotes(text)


def _in_quotes(text: str) -> str:
    for character, escape in (("\\", "\\\\"), ('"', '\\"'), ("\n", "\\n"), ("\t", "\\t")):
        text = text.replace(character, escape)
    return f'"{text}"'


def quoted_as(old: str, text: str) -> str:
    """Return a text written as the one that it replaces: in its quotes, or without, where it can stand so.

    >>> [quoted_as("'06:40'", "06:45"), quoted_as('"3"', "4"), quoted_as("2.8", "2.7"), quoted_as("'a'", "it's")]
    ["'06:45'", '"4"', '2.7', '"it\'s"']
    """
    if old[:1] == '"':
        return _in_quotes(text)
    if old[:1] == "'" and not set(text) & set("'\n\t"):
        return f"'{text}'"
    return scalar(text)
