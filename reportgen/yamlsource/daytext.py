"""A day file as text that can be changed in place: comments, order, line ends and spelling of everything else stay.

Places come from the marks of the parser; where a block ends is read off the indentation. After every change the
text is parsed again, so that a place is never stale, and the caller compares the content with what it should be.
A comment that stands in what is taken out stays: somebody wrote it.
"""

from __future__ import annotations

import codecs
import re
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import InputError, UsageError
from reportgen.measurements import TESTS
from reportgen.yamlsource.characters import quoted_as, scalar
from reportgen.yamlsource.document import Document, parse_yaml

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.diagnostics import Span

Loc = tuple[int | str, ...]
"""A place in plain data: keys of blocks and indexes of lists, from 0."""

_OPEN: Final = frozenset(
    {"surfaces", "profile", "readings", "replicas", "comparison", "values", *(kind.key for kind in TESTS)}
)
"""Fields written as indented blocks; everything else fits a line."""
_COMMENT: Final = re.compile(r"(?:(?<=\s)|\A)#[^\r\n]*", re.MULTILINE)
_LINE_END: Final = re.compile(r"\r\n|\r|\n")


def value_at(data: Any, loc: Loc) -> Any:
    """Return the value at a place that is there."""
    for part in loc:
        data = data[part]
    return data


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
    if isinstance(value, dict) and key in _OPEN and value:
        return [f"{margin}{key}:", *(line for name, part in value.items() for line in block(name, part, indent + 2))]
    if isinstance(value, list) and value and (key in _OPEN or isinstance(value[0], dict)):
        return [f"{margin}{key}:", *(line for item in value for line in _item(key, item, indent + 2))]
    return [f"{margin}{scalar(key)}: {flow(value)}"]


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
        document = parse_yaml(data, file)
        if _faulty(document):
            raise InputError(document.problems)
        self._text = document.lines.text
        first = _LINE_END.search(self._text)
        self._end = "\n" if first is None else first[0]
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
        return self._mark + self._text.encode()

    # Adding

    def add_field(self, parent: Loc, key: str, value: Any, *, after: str | None = None) -> None:
        """Add a field to a block, or the file where ``parent`` is empty: at its end, or behind the field ``after``."""
        if not parent and after is None:
            lines = self._text.splitlines()
            apart = [""] if lines and lines[-1].strip() else []
            return self._append([*apart, *block(key, value, 0)])
        if parent and self._is_flow(parent):
            return self._into_flow(parent, f"{scalar(key)}: {flow(value)}", after)
        if not value_at(self.data, parent):  # `key:` with nothing behind it
            at, _ = self._document.extent(parent, key=True)
            lines = block(key, value, self._column(at) + 2)
            return self._insert_lines(self._next_line(at), lines)
        last = after if after is not None else list(value_at(self.data, parent))[-1]
        start, _ = self._document.extent((*parent, last), key=True)
        column = self._column(start)
        return self._insert_lines(self._behind(start, column), block(key, value, column))

    def add_items(self, loc: Loc, items: Sequence[Any]) -> None:
        """Add entries at the end of a list that is there, if only as ``[]`` or an empty field."""
        key, old = str(loc[-1]), value_at(self.data, loc)
        if not items:
            return None
        start, end = self._document.extent(loc)
        inside = any(self._is_flow(loc[:long]) for long in range(1, len(loc)))
        if not old and (inside or (isinstance(old, str) and old)):
            return self._splice(start, end, f"{'' if start < end else ' '}{flow(list(items))}")
        if not old:  # `key: []` or `key:`
            at, _ = self._document.extent(loc, key=True)
            line_end = self._line_end(at)
            before, behind = self._text[at : max(start, at)], self._text[max(end, at) : line_end]
            lines = block(key, list(items), self._column(at))[1:]
            text = (before.rstrip(" \t") if start < end else before) + behind
            return self._splice(at, line_end, self._end.join([text, *lines]))
        if self._is_flow(loc):
            for item in items:
                self._into_flow(loc, flow(item))
            return None
        dash = self._dash((*loc, len(old) - 1))
        apart = [""] if key == "surfaces" else []  # areas are set apart by an empty line, as in the starter file
        lines = [text for item in items for text in (*apart, *_item(key, item, self._column(dash)))]
        return self._insert_lines(self._behind(dash, self._column(dash)), lines)

    def insert_item(self, loc: Loc, item: Any) -> None:
        """Add an entry before the one at ``loc``, an index of a list; comments stay above what they stood above."""
        start, _ = self._document.extent(loc)
        if self._is_flow(loc[:-1]):
            return self._splice(start, start, f"{flow(item)}, ")
        dash = self._dash(loc)
        at = self._line_start(dash)
        if isinstance(loc[-1], int) and loc[-1] > 0:
            before = self._dash((*loc[:-1], loc[-1] - 1))
            at = self._behind(before, self._column(before))
        lines = _item(str(loc[-2]), item, self._column(dash))
        return self._insert_lines(at, lines)

    # Replacing and removing

    def replace(self, loc: Loc, value: Any) -> None:
        """Put another value in the place of one; text keeps the quotes that it stood in.

        Raises:
            UsageError: a list or block in whose place something is to stand holds a comment.
        """
        start, end = self._extent(loc)
        old, flat = self._text[start:end], value_at(self.data, loc)
        if isinstance(value, str) and isinstance(flat, str) and old:
            header, _, _ = old.partition(self._end) if old[0] in "|>" else ("", "", "")
            comment = _COMMENT.search(header)
            kept = f"  {comment[0]}" if comment else ""
            return self._splice(start, end, quoted_as(old, value) + kept)
        if not old:  # nothing stands there: its place is behind the colon
            rest = self._text[end:]
            gap = len(rest) - len(rest.lstrip(" ")) if rest.lstrip(" ")[:1] in {",", "}", "]"} else 0
            apart = "" if self._text[start - 1] in " \t" else " "
            return self._splice(start, end + gap, f"{apart}{flow(value)}")
        if self._comments(loc):
            raise self._too_dense(loc)
        if isinstance(flat, str) or self._is_flow(loc):
            return self._splice(start, end, flow(value))
        at, _ = self._document.extent(loc, key=True)  # a block over several lines
        lines = block(str(loc[-1]), value, self._column(at))
        lines[0] = lines[0].lstrip()
        return self._splice(at, end, self._end.join(lines))

    def remove_field(self, loc: Loc) -> None:
        """Take a field out of a block that has others; a comment in it stays where it stood.

        Raises:
            UsageError: it cannot be taken out without touching what stands around it.
        """
        parent, keys = loc[:-1], list(value_at(self.data, loc[:-1]))
        start, _ = self._document.extent(loc, key=True)
        _, end = self._extent(loc)
        index = keys.index(loc[-1])
        if parent and self._is_flow(parent):
            before = self._extent((*parent, keys[index - 1]))[1] if index else None
            behind = self._document.extent((*parent, keys[index + 1]), key=True)[0] if index + 1 < len(keys) else None
            return self._out_of_flow(loc, (before, start, end, behind))
        margin = self._text[self._line_start(start) : start]
        if margin.strip():  # the first field of an entry stands behind its dash: the next one comes up to it
            if index + 1 == len(keys):
                raise self._too_dense(loc)
            following, _ = self._document.extent((*parent, keys[index + 1]), key=True)
            if _COMMENT.search(self._text[end:following]) or self._comments(loc):
                raise self._too_dense(loc)
            return self._splice(start, following, "")
        return self._out_of_lines(loc, start, self._behind(start, self._column(start)))

    def remove_item(self, loc: Loc) -> None:
        """Take an entry out of a list; the last one leaves ``[]``; a comment in it stays where it stood."""
        home = loc[:-1]
        items, index = value_at(self.data, home), loc[-1]
        start, end = self._extent(loc)
        assert isinstance(index, int)  # noqa: S101 - of a list
        if self._is_flow(home):
            before = self._extent((*home, index - 1))[1] if index else None
            behind = self._document.extent((*home, index + 1))[0] if index + 1 < len(items) else None
            return self._out_of_flow(loc, (before, start, end, behind))
        dash = self._dash(loc)
        self._out_of_lines(loc, dash, self._behind(dash, self._column(dash)), parse=len(items) > 1)
        if len(items) == 1:
            at, name = self._document.extent(home, key=True)  # before it in the text, and so still there
            self._splice(name, name + 1, f"{self._text[name : name + 1]} []")
            assert at < name  # noqa: S101 - a key has letters
        return None

    # Places

    def _extent(self, loc: Loc) -> tuple[int, int]:
        """Where a value begins and ends in the text, without the empty lines after one over several lines."""
        start, end = self._document.extent(loc)
        value = self._text[start:end]
        if isinstance(value_at(self.data, loc), str):
            return start, start + len(value.rstrip(" \t\r\n")) if value[:1] in {"|", ">"} else end
        if value[:1] in {"[", "{"}:
            return start, end
        found = value_at(self.data, loc)
        last = len(found) - 1 if isinstance(found, list) else next(reversed(found))
        return start, max(self._extent((*loc, last))[1], start)

    def _is_flow(self, loc: Loc) -> bool:
        """Whether a block or list stands in brackets."""
        start, end = self._document.extent(loc)
        return start < end and self._text[start] in "[{" and not isinstance(value_at(self.data, loc), str)

    def _line_start(self, at: int) -> int:
        found = max(self._text.rfind("\n", 0, at), self._text.rfind("\r", 0, at))
        return found + 1

    def _line_end(self, at: int) -> int:
        found = _LINE_END.search(self._text, at)
        return len(self._text) if found is None else found.start()

    def _next_line(self, at: int) -> int:
        found = _LINE_END.search(self._text, at)
        return len(self._text) if found is None else found.end()

    def _column(self, at: int) -> int:
        return at - self._line_start(at)

    def _dash(self, loc: Loc) -> int:
        """Where the dash of an entry of a list stands."""
        start, _ = self._document.extent(loc)
        return self._text.rindex("-", self._line_start(start) if self._text[start:] else 0, max(start, 1))

    def _behind(self, at: int, indent: int) -> int:
        """Where the line after a block begins: one from the line of ``at``, with what is indented deeper than that.

        A comment below a block is of it where it is indented so too; else, with those below it, of what follows.
        """
        last = begin = self._next_line(at)
        of_next = False
        while begin < len(self._text):
            line = self._text[begin : self._line_end(begin)]
            begin = self._next_line(begin)
            text = line.lstrip()
            deeper, comment = len(line) - len(text) > indent, text.startswith("#")
            if text and not deeper and not comment:
                break
            of_next = comment and (of_next or not deeper) if text else of_next
            if text and deeper and not of_next:
                last = begin
        return last

    def _comments(self, loc: Loc) -> list[tuple[int, str]]:
        """Return the comments inside a value, each with where it begins."""
        start, end = self._extent(loc)
        bare = self._without_text(loc, start, self._text[start:end])
        return [(start + found.start(), found[0]) for found in _COMMENT.finditer(bare)]

    def _without_text(self, loc: Loc, origin: int, shown: str) -> str:
        """Return a part of the text that begins at ``origin`` with what is text in the value at ``loc`` blotted out."""
        for place in _leaves(loc, value_at(self.data, loc)):
            for start, end in (self._extent(place), self._document.extent(place, key=True)):
                first, last = max(start - origin, 0), max(end - origin, 0)
                shown = shown[:first] + re.sub(r"[^\r\n]", "x", shown[first:last]) + shown[last:]
        return shown

    # Splicing

    def _into_flow(self, loc: Loc, text: str, after: str | None = None) -> None:
        """Add to a ``{…}`` or ``[…]``: before its end, or behind a field; on a line of its own where the others are."""
        start, end = self._document.extent(loc)
        value = value_at(self.data, loc)
        if not value:
            return self._splice(start + 1, end - 1, text)
        last = after if after is not None else len(value) - 1 if isinstance(value, list) else next(reversed(value))
        first, _ = self._document.extent((*loc, last), key=isinstance(value, dict))
        _, behind = self._extent((*loc, last))
        margin = self._text[self._line_start(first) : first]
        if margin.strip() or self._line_start(first) <= start:
            return self._splice(behind, behind, f", {text}")
        line_end = self._line_end(behind)
        rest = self._text[behind:line_end]
        if rest.strip()[:1] in {"", "#"} and end > line_end:  # what is said beside the last one stays beside it
            return self._splice(behind, line_end, f",{rest}{self._end}{margin}{text}")
        return self._splice(behind, behind, f",{self._end}{margin}{text}")

    def _out_of_flow(self, loc: Loc, around: tuple[int | None, int, int, int | None]) -> None:
        """Take something out of brackets, with the comma that set it apart: (end before, start, end, start behind)."""
        before, start, end, behind = around
        first, last = (start, behind) if behind is not None else (before if before is not None else start, end)
        if self._comments(loc) or _COMMENT.search(self._text[first:start]) or _COMMENT.search(self._text[end:last]):
            raise self._too_dense(loc)
        self._splice(first, last, "")

    def _out_of_lines(self, loc: Loc, start: int, end: int, *, parse: bool = True) -> None:
        """Take whole lines out, but for the comments in them."""
        begin = self._line_start(start)
        bare = self._without_text(loc, begin, self._text[begin:end])
        kept = []
        for line in bare.splitlines(keepends=True):
            found = _COMMENT.search(line)
            if found is not None:
                whole = not line[: found.start()].strip()
                margin = line[: found.start()] if whole else " " * (start - begin)
                kept.append(margin + line[found.start() :])
        self._splice(begin, end, "".join(kept), parse=parse)

    def _append(self, lines: list[str]) -> None:
        """Add lines at the end of the file."""
        ended = not self._text or self._text[-1] in "\r\n"
        self._splice(len(self._text), len(self._text), ("" if ended else self._end) + self._joined(lines))

    def _insert_lines(self, at: int, lines: list[str]) -> None:
        """Add lines where a line begins."""
        if at == len(self._text):
            return self._append(lines)
        return self._splice(at, at, self._joined(lines))

    def _joined(self, lines: list[str]) -> str:
        return "".join(line + self._end for line in lines)

    def _splice(self, start: int, end: int, text: str, *, parse: bool = True) -> None:
        """Put a text in the place of another; ``parse`` is False where a further splice follows before anybody asks."""
        self._text = self._text[:start] + text + self._text[end:]
        if parse:
            self._reparse()

    def _too_dense(self, loc: Loc) -> UsageError:
        name = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in loc).removeprefix(".")
        span = self._written.span(loc)
        return UsageError(
            f"{self.file}:{span.line}: `{name}` is written in a way that cannot be changed here",
            help_text="write it in an editor as a list, each entry on a line of its own that begins with `- `",
        )

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


def _leaves(loc: Loc, value: Any) -> list[Loc]:
    """Return the places of every text in a value."""
    if isinstance(value, dict):
        return [place for key, part in value.items() for place in _leaves((*loc, key), part)]
    if isinstance(value, list):
        return [place for index, part in enumerate(value) for place in _leaves((*loc, index), part)]
    return [loc]


def _faulty(document: Document) -> bool:
    """Whether anything stands in a file that must not; warnings do not matter here."""
    return any(problem.severity == "error" for problem in document.problems)
