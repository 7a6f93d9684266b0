"""Text as a YAML scalar, so that it is read back as it stands."""

from __future__ import annotations

import re
from typing import Final

_PLAIN: Final = re.compile(r"(?:[^\W_]|[+-](?=\d))[\w ./%²³½°+()-]*\Z")
_NOT_PLAIN: Final = frozenset({"null", "Null", "NULL", "~"})


def scalar(text: str, *, digits_quoted: bool = False) -> str:
    """Return a text as it is written in YAML, quoted only where it must be.

    ``digits_quoted`` also quotes a text of digits alone, such as an edition, which an editor would take for a number.

    >>> [scalar("16.5 degC"), scalar("06:40"), scalar("Tank #3"), scalar("2021", digits_quoted=True)]
    ['16.5 degC', '"06:40"', '"Tank #3"', '"2021"']
    """
    digits = digits_quoted and text.isdigit()
    if _PLAIN.match(text) and not text.endswith(" ") and text not in _NOT_PLAIN and not digits:
        return text
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
