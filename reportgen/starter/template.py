"""Starter files with ``{{names}}`` filled in."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from reportgen.yamlsource import scalar

if TYPE_CHECKING:
    from collections.abc import Mapping

_NAME: Final = re.compile(r"\{\{(\w+)\}\}")
_COMMENT: Final = re.compile(r"^(.{1,80}?\S)  +(# .*)$")
_COLUMN: Final = 40


def filled(text: str, values: Mapping[str, str]) -> str:
    """Return the text with every name replaced, and comments behind fields aligned again.

    Raises:
        KeyError: a name without a value.
    """
    done = _NAME.sub(lambda found: values[found[1]], text)
    return "\n".join(map(_aligned, done.split("\n")))


def _aligned(line: str) -> str:
    found = _COMMENT.match(line)
    if found is None or line.lstrip().startswith("#"):
        return line
    return f"{found[1]:<{_COLUMN - 2}}  {found[2]}"


def written(text: str) -> str:
    """Return a text as a starter file writes it: an editor would take bare digits, such as an edition, for a number.

    >>> [written("2.0 mil"), written("2021"), written("a: b")]
    ['2.0 mil', '"2021"', '"a: b"']
    """
    return scalar(text, digits_quoted=True)
