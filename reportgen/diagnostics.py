"""What is wrong with a file, as data; and its two renderings: with caret, and as JSON.

Nothing here opens a file: a diagnostic carries the source line it points at.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Literal, Self

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

Severity = Literal["error", "warning"]


@dataclass(frozen=True, slots=True)
class Span:
    """A place in a text file: 1-based line and column, ``length`` characters, and the text of the whole line."""

    file: str
    line: int
    column: int
    length: int = 1
    source_line: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One problem: a stable code, a sentence that stands alone, the places it concerns and what to write instead."""

    code: str
    message: str
    spans: tuple[Span, ...] = ()
    help_text: str | None = None
    severity: Severity = "error"


class Phrase(str):
    """A sentence that knows its pattern and what stands in it, so that it can be said in another language.

    As a text it is English. A part may be a phrase itself.
    """

    pattern: str
    parts: Mapping[str, str]

    def __new__(cls, pattern: str, /, **parts: str) -> Self:
        """Make the English sentence."""
        made = super().__new__(cls, pattern.format_map(parts))
        made.pattern, made.parts = pattern, parts
        return made

    def __reduce__(self) -> tuple[partial[Self], tuple[()]]:
        """Go whole from one process to another."""
        return partial(type(self), self.pattern, **self.parts), ()


def with_remedy(message: str, help_text: str | None) -> str:
    """Return what is wrong, and what to do about it, as one sentence."""
    return Phrase("{message}; {remedy}", message=message, remedy=help_text) if help_text else message


def one_of(choices: Iterable[str]) -> Phrase:
    """Return the remedy that lists what may be written."""
    return Phrase("write one of {listed}", listed=", ".join(f"`{choice}`" for choice in choices))


def known_are(names: Iterable[str], most: int = 12) -> Phrase:
    """Return the remedy that lists the names there are, as far as there are not too many."""
    known = [f"`{name}`" for name in names]
    return Phrase("known are {listed}", listed=", ".join(known[:most] + ["…"] * (len(known) > most)))


def closest(word: str, candidates: Iterable[str]) -> str | None:
    """Return the candidate that ``word`` probably meant, or None when nothing is close enough to suggest."""
    matches = difflib.get_close_matches(word, list(candidates), n=1, cutoff=0.7)
    return matches[0] if matches else None


def printable(text: str) -> str:
    """Return ``text`` with everything that would not show, or would move the text around it, as visible escapes.

    These are control and formatting characters, bidirectional marks, odd spaces, line separators, lone surrogates.
    """
    return text if text.isprintable() else "".join(map(_visible, text))


def _visible(character: str) -> str:
    if character.isprintable():
        return character
    code = ord(character)
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def in_file_order(diagnostics: Iterable[Diagnostic]) -> list[Diagnostic]:
    """Return the diagnostics by file, then line, then column; those without a place first."""
    return sorted(diagnostics, key=lambda one: [(span.file, span.line, span.column) for span in one.spans[:1]])


def with_caret(diagnostic: Diagnostic, *, columns: int = 100) -> str:
    """Render in full: the message, each place with its source line and carets, and the help.

    Of a long source line ``columns`` characters around the place are shown.
    """
    lines = [f"{diagnostic.severity}[{diagnostic.code}]: {printable(diagnostic.message)}"]
    width = max((len(str(span.line)) for span in diagnostic.spans), default=1)
    margin = " " * width
    for index, span in enumerate(diagnostic.spans):
        arrow = "-->" if index == 0 else ":::"
        lines.append(f"{margin}{arrow} {printable(span.file)}:{span.line}:{span.column}")
        if not span.source_line:
            continue
        at = span.column - 1
        start = max(0, at - columns * 3 // 5)
        shown = printable(span.source_line[start : start + columns])
        before = printable(span.source_line[start:at])
        marked = printable(span.source_line[at : at + span.length])
        carets = "^" * min(max(1, len(marked)), max(1, len(shown) - len(before)))
        label = f" {printable(span.label)}" if span.label else ""
        lines += [
            f"{margin} |",
            f"{span.line:>{width}} | {shown.rstrip()}",
            f"{margin} | {' ' * len(before)}{carets}{label}",
            f"{margin} |",
        ]
    if diagnostic.help_text:
        lines.append(f"{margin} = help: {printable(diagnostic.help_text)}")
    return "\n".join(lines)


def as_data(diagnostic: Diagnostic) -> Mapping[str, object]:
    """Render as plain data for ``--json``: the same fields, places as objects."""
    return {
        "code": diagnostic.code,
        "severity": diagnostic.severity,
        "message": diagnostic.message,
        "help": diagnostic.help_text,
        "places": [
            {"file": span.file, "line": span.line, "column": span.column, "length": span.length, "label": span.label}
            for span in diagnostic.spans
        ],
    }
