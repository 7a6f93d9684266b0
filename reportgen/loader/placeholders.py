"""Entries that are still to be filled in: harmless while a day is typed, false under a signature.

A placeholder is any text that stands wholly in angle brackets. That is what the starter files write for what they
cannot know, and it is a rule of form, so that no list has to be kept.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.diagnostics import Diagnostic
from reportgen.job import is_placeholder, place_name

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.yamlsource import Document

CODE: Final = "JOB128"

_FORMER: Final = frozenset(
    {"(client)", "(contractor)", "(site)", "(inspection body)", "(address)", "(from the certificate)"}
)
"""What the starter files of the first release wrote; contracts begun with it are in use."""


def unfilled(document: Document) -> tuple[Diagnostic, ...]:
    """Return the entries of a file that hold a placeholder, in the order of the file."""
    if "<" not in document.lines.text and "(" not in document.lines.text:
        return ()
    return tuple(
        Diagnostic(
            CODE, f"`{place_name(loc)}` is still to be filled in", (document.span(loc),), f"write {_what(text)} here"
        )
        for loc, text in _texts(document.data, ())
        if is_placeholder(text) or text.strip() in _FORMER
    )


def _what(text: str) -> str:
    return "what belongs there" if text.strip() in _FORMER else f"the {text.strip()[1:-1]}"


def _texts(value: Any, loc: tuple[int | str, ...]) -> Iterator[tuple[tuple[int | str, ...], str]]:
    if isinstance(value, str):
        yield loc, value
        return
    for part, inner in value.items() if isinstance(value, dict) else enumerate(value):
        yield from _texts(inner, (*loc, part))
