"""A day file as text that can be added to: comments, order and spelling of everything else stay as they are.

Places come from the marks of ``yamlsource``; where a block ends is read off the indentation. After every change the
text is parsed again, so that a place is never stale, and the caller compares the content with what it should be.
"""

from __future__ import annotations

import codecs
import re
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import InputError, UsageError
from reportgen.intake.entries import value_at
from reportgen.measurements import TESTS
from reportgen.yamlsource import Document, parse_yaml, scalar

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.diagnostics import Span
    from reportgen.intake.entries import Loc

_OPEN: Final = frozenset(
    {"surfaces", "profile", "readings", "replicas", "comparison", "values", *(kind.key for kind in TESTS)}
)
"""Fields written as indented blocks; everything else fits a line."""


def flow(value: Any) -> str:
    """Return a value on one line: ``{time: "06:40", place: yard}``.

    >>> flow({"time": "06:40", "instruments": ["h1", "t1"]})
    '{time: "06:40", instruments: [h1, t1]}'
    """
    if isinstance(value, dict):
        return "{" + ", ".join(f"{scalar(key)}: {flow(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(flow, value)) + "]"
    return scalar(value)


def block(key: str, value: Any, indent: int) -> list[str]:
    """Return the lines of a field: on one line, or as an indented block where that is how it is written."""
    margin = " " * indent
    if isinstance(value, dict) and key in _OPEN:
        return [f"{margin}{key}:", *(line for name, part in value.items() for line in block(name, part, indent + 2))]
    if isinstance(value, list) and (key in _OPEN or (value and isinstance(value[0], dict))):
        return [f"{margin}{key}:", *(line for item in value for line in _item(key, item, indent + 2))]
    return [f"{margin}{key}: {flow(value)}"]


def _item(key: str, item: Any, indent: int) -> list[str]:
    if key != "surfaces":
        return [f"{' ' * indent}- {flow(item)}"]
    lines = [line for name, part in item.items() for line in block(name, part, indent + 2)]
    return [f"{' ' * indent}- {lines[0].lstrip()}", *lines[1:]]


class DayText:
    """The text of a day file, and the changes made to it.

    Raises:
        InputError: when the file is not the YAML of a job file.
    """

    def __init__(self, data: bytes, file: str) -> None:
        self.file = file
        self._mark = codecs.BOM_UTF8 if data.startswith(codecs.BOM_UTF8) else b""
        self._end = "\r\n" if b"\r\n" in data else "\n"
        document = parse_yaml(data, file)
        if _faulty(document):
            raise InputError(document.problems)
        self._lines = data.decode("utf-8-sig").splitlines()
        self._document = self._written = document

    @property
    def data(self) -> dict[str, Any]:
        """The content: dict, list and str."""
        return self._document.data

    def loc_at(self, span: Span) -> Loc:
        """Return the place in ``data`` of a place in the text as it is now."""
        return self._document.loc_at(span)

    def encoded(self) -> bytes:
        """Return the file as bytes, with the line ends it had."""
        return self._mark + "".join(line + self._end for line in self._lines).encode()

    # Changes

    def add_field(self, parent: Loc, key: str, value: Any) -> None:
        """Add a field at the end of a block, or of the file when ``parent`` is empty."""
        if not parent:
            while self._lines and not self._lines[-1].strip():
                self._lines.pop()
            return self._insert(len(self._lines), ["", *block(key, value, 0)])
        line, column, _ = self._place(parent)
        if self._lines[line][column] in "{[":
            return self._into_flow(parent, f"{scalar(key)}: {flow(value)}")
        return self._insert(self._end_of(line, column - 1) + 1, block(key, value, column))

    def add_items(self, loc: Loc, items: Sequence[Any]) -> None:
        """Add entries at the end of a list that is there, if only as ``[]`` or an empty field."""
        key = str(loc[-1])
        old = value_at(self.data, loc)
        if not items:
            return None
        if not old:  # `key: []` or `key:`
            line, column, _ = self._place(loc, key=True)
            text = self._lines[line]
            if text[:column].strip(" -"):
                raise self._too_dense(loc)
            self._lines[line] = re.sub(r":(?:[ \t]*\[[ \t]*\])?(?=[ \t]*(?:#|\Z))", ":", text, count=1)
            return self._insert(line + 1, block(key, list(items), column)[1:])
        line, column, _ = self._place(loc)
        if self._lines[line][column] == "[":
            return self._into_flow(loc, ", ".join(map(flow, items)))
        first, at, _ = self._place((*loc, len(old) - 1))
        dash = self._lines[first].rindex("-", 0, at)
        apart = [""] if key == "surfaces" else []  # areas are set apart by an empty line, as in the starter file
        lines = [text for item in items for text in (*apart, *_item(key, item, dash))]
        return self._insert(self._end_of(first, dash) + 1, lines)

    def insert_item(self, loc: Loc, item: Any) -> None:
        """Add an entry before the one at ``loc``, an index of a list; comments stay above what they stood above."""
        line, column, _ = self._place(loc)
        listed, at, _ = self._place(loc[:-1])
        if self._lines[listed][at] == "[":
            whole = self._lines[line]
            self._lines[line] = f"{whole[:column]}{flow(item)}, {whole[column:]}"
            return self._reparse()
        dash = self._lines[line].rindex("-", 0, column)
        if isinstance(loc[-1], int) and loc[-1] > 0:
            before, start, _ = self._place((*loc[:-1], loc[-1] - 1))
            line = self._end_of(before, self._lines[before].rindex("-", 0, start)) + 1
        return self._insert(line, _item(str(loc[-2]), item, dash))

    def replace(self, loc: Loc, text: str) -> None:
        """Put another value in the place of one that stands on one line."""
        line, column, length = self._place(loc)
        before, after = self._lines[line][:column], self._lines[line][column + length :]
        if not str(value_at(self.data, loc)).strip():  # nothing stands there: its place is the colon before it
            before = f"{before}{self._lines[line][column]} "
            after = after.lstrip() if after.lstrip()[:1] in {",", "}", "]"} else after
        self._lines[line] = f"{before}{scalar(text)}{after}"
        self._reparse()

    def remove_item(self, loc: Loc) -> None:
        """Take an entry out of a list; the last one leaves ``[]``."""
        items = value_at(self.data, loc[:-1])
        listed, at, _ = self._place(loc[:-1])
        if self._lines[listed][at] == "[":
            raise self._too_dense(loc[:-1])
        first, column, _ = self._place(loc)
        dash = self._lines[first].rindex("-", 0, column)
        del self._lines[first : self._end_of(first, dash) + 1]
        if len(items) == 1:
            key, _, _ = self._place(loc[:-1], key=True)
            name, colon, rest = self._lines[key].partition(":")
            self._lines[key] = f"{name}{colon} []{rest}"
        self._reparse()

    # Places

    def _place(self, loc: Loc, *, key: bool = False) -> tuple[int, int, int]:
        """Line and column from 0, and length on that line."""
        span = self._document.span(loc, key=key)
        return span.line - 1, span.column - 1, span.length

    def _end_of(self, line: int, indent: int) -> int:
        """Return the last line of a block that begins on ``line`` and whose content is indented deeper than that."""
        last = line
        for index in range(line + 1, len(self._lines)):
            text = self._lines[index].strip()
            if not text or text.startswith("#"):
                continue
            if len(self._lines[index]) - len(self._lines[index].lstrip()) <= indent:
                break
            last = index
        return last

    def _into_flow(self, loc: Loc, text: str) -> None:
        """Add to a ``{…}`` or ``[…]`` before its end."""
        line, column, length = self._place(loc)
        whole = self._lines[line]
        end = column + length - 1
        closing = {"{": "}", "[": "]"}[whole[column]]
        if whole[end] != closing:
            raise self._too_dense(loc)
        inside = whole[column + 1 : end].rstrip()
        self._lines[line] = f"{whole[: column + 1]}{inside}{', ' if inside.strip() else ''}{text}{whole[end:]}"
        self._reparse()

    def _too_dense(self, loc: Loc) -> UsageError:
        name = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in loc).removeprefix(".")
        span = self._written.span(loc)
        return UsageError(
            f"{self.file}:{span.line}: `{name}` is written in a way that cannot be added to",
            help_text="write it as a list, each entry on a line of its own that begins with `- `",
        )

    def _insert(self, at: int, lines: list[str]) -> None:
        self._lines[at:at] = lines
        self._reparse()

    def _reparse(self) -> None:
        try:
            document = parse_yaml(self.encoded(), self.file)
        except InputError:
            raise self.untouchable() from None
        if _faulty(document):
            raise self.untouchable()
        self._document = document

    def untouchable(self) -> UsageError:
        """Return the refusal to add to a file where that would change something else."""
        return UsageError(
            f"{self.file} cannot be added to without changing something else; it was left as it is",
            help_text="write lists as entries on lines of their own that begin with `- `",
        )


def _faulty(document: Document) -> bool:
    """Whether anything stands in a file that must not; warnings do not matter here."""
    return any(problem.severity == "error" for problem in document.problems)
