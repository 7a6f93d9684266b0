"""A YAML file as maps, lists and text, with the place of every part.

The file is composed once by libyaml with every scalar left as text, and walked once. Nodes are kept to find places:
only a diagnostic pays for them.
"""

from __future__ import annotations

import copy
import itertools
from bisect import bisect_right
from typing import TYPE_CHECKING, Any, Final

import yaml

from reportgen.diagnostics import Diagnostic, Span
from reportgen.errors import InputError, MachineError
from reportgen.yamlsource.characters import WIDE_SPACE
from reportgen.yamlsource.syntax import anchor_diagnostic, syntax_diagnostic
from reportgen.yamlsource.text import Lines, decoded_text
from reportgen.yamlsource.walk import NodeWalk

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

NODE_LIMIT: Final = 400_000

_BREAKS: Final = ",\n\r[{"


class Document:
    """The content of one YAML file: ``data`` holds dict, list and str only.

    ``problems`` is what must not stand in it, and as warnings what the pages can show by code points alone.
    """

    def __init__(self, data: dict[str, Any], root: yaml.Node, walk: NodeWalk, problems: Sequence[Diagnostic]) -> None:
        self.data = data
        self.problems = tuple(problems)
        self.lines = walk.lines
        self._refused = walk.refused
        self._root = root

    def span(self, loc: Sequence[int | str], *, key: bool = False, label: str = "") -> Span:
        """Return the place of the value at ``loc``, or of its key; an entry of a list has no key.

        Parts of ``loc`` that are not in the file are skipped.
        """
        _, node, key_node = _found(self._root, None, tuple(loc))
        node = key_node if key and key_node is not None else node
        start, end = node.start_mark, node.end_mark
        length = end.index - start.index if end.line == start.line else len(self.lines.content(start.line + 1))
        if length == 0:  # the entry is not there: the colon before it is
            return self.lines.span(start.line + 1, max(1, start.column), 1, label)
        return self.lines.span(start.line + 1, start.column + 1, length, label)

    def extent(self, loc: Sequence[int | str], *, key: bool = False) -> tuple[int, int]:
        """Return where the value at ``loc``, or its key, begins and ends in the text: characters from 0.

        A field that stands empty begins and ends behind its colon.
        """
        found, node, key_node = _found(self._root, None, tuple(loc))
        assert found == len(loc)  # noqa: S101 - the place is one of the data
        node = key_node if key and key_node is not None else node
        return node.start_mark.index, node.end_mark.index

    def loc_at(self, span: Span) -> tuple[int | str, ...]:
        """Return the place in the data of what stands at a place in the text: the reverse of ``span``.

        Where a block and its first field begin together it is the block.
        """
        at = (span.line - 1, span.column - 1)
        loc: list[int | str] = []
        node: yaml.Node | None = self._root
        while node is not None and (step := _child_at(node, at)) is not None:
            part, node = step
            loc.append(part)
            if node is not None and _begin(node) == at:
                break
        return tuple(loc)

    def objected(self, loc: Sequence[int | str]) -> bool:
        """Return whether one of ``problems`` is about the value at ``loc`` as a whole."""
        return _found(self._root, None, tuple(loc))[1].start_mark.index in self._refused

    def lines_of(self, loc: Sequence[int | str]) -> list[int]:
        """Return the line on which each entry of the list at ``loc`` begins."""
        node = _found(self._root, None, tuple(loc))[1]
        entries = node.value if isinstance(node, yaml.SequenceNode) else []
        return [entry.start_mark.line + 1 for entry in entries]

    def without(self, gone: Collection[tuple[int | str, ...]]) -> Document:
        """Return the content without the parts at some places; whatever stays keeps its place in the text."""
        if not gone:
            return self
        whole = copy.copy(self)
        whole.data, root = _pruned(self.data, self._root, frozenset(gone), ())
        whole._root = root  # noqa: SLF001 - of this class
        return whole

    def filled(self, values: Mapping[tuple[int | str, ...], str]) -> Document:
        """Return the content with values where nothing stands; those have no place of their own in the text."""
        if not values:
            return self
        whole = copy.copy(self)
        for loc, value in values.items():
            whole.data = _with(whole.data, loc, value)
        return whole


def _with(data: Any, loc: tuple[int | str, ...], value: str) -> Any:
    """Return a copy of data with a value at a place of fields, some of which may not be there."""
    if not loc:
        return value
    first, rest = loc[0], loc[1:]
    if isinstance(data, list):
        return [_with(one, rest, value) if index == first else one for index, one in enumerate(data)]
    found = data if isinstance(data, dict) else {}
    return {**found, first: _with(found.get(first), rest, value)}


_Found = tuple[int, yaml.Node, yaml.Node | None]


def _found(node: yaml.Node, key: yaml.Node | None, loc: tuple[int | str, ...]) -> _Found:
    """Follow ``loc`` as far as it goes: how many parts were found, the node there and the node of its key."""
    if not loc:
        return 0, node, key
    step = _child(node, loc[0])
    skipped = _found(node, key, loc[1:])
    if step is None:
        return skipped
    taken, *place = _found(step[0], step[1], loc[1:])
    return (taken + 1, place[0], place[1]) if taken + 1 >= skipped[0] else skipped  # type: ignore[return-value] # unpacked list


_Place = tuple[int | str, ...]


def _pruned(data: Any, node: yaml.Node, gone: frozenset[_Place], loc: _Place) -> tuple[Any, yaml.Node]:
    """Return data and their node without the parts that are gone."""
    if any(one[: len(loc)] == loc for one in gone):
        if isinstance(node, yaml.MappingNode) and isinstance(data, dict):
            return _pruned_block(data, node, gone, loc)
        if isinstance(node, yaml.SequenceNode) and isinstance(data, list):
            return _pruned_list(data, node, gone, loc)
    return data, node


def _pruned_block(
    data: dict[str, Any], node: yaml.MappingNode, gone: frozenset[_Place], loc: _Place
) -> tuple[dict[str, Any], yaml.Node]:
    named = [(key, value) for key, value in node.value if isinstance(key, yaml.ScalarNode) and key.value in data]
    kept = [(key, value) for key, value in named if (*loc, key.value) not in gone]
    inner = [(key, *_pruned(data[key.value], value, gone, (*loc, key.value))) for key, value in kept]
    nodes = [(key, value) for key, _, value in inner]
    mapping = yaml.MappingNode(node.tag, nodes, node.start_mark, node.end_mark)
    return {key.value: said for key, said, _ in inner}, mapping


def _pruned_list(
    data: list[Any], node: yaml.SequenceNode, gone: frozenset[_Place], loc: _Place
) -> tuple[list[Any], yaml.Node]:
    items = [(index, one) for index, one in enumerate(data) if (*loc, index) not in gone]
    pairs = [_pruned(one, node.value[index], gone, (*loc, index)) for index, one in items]
    nodes = [each for _, each in pairs]
    return [one for one, _ in pairs], yaml.SequenceNode(node.tag, nodes, node.start_mark, node.end_mark)


def _child(node: yaml.Node, part: int | str) -> tuple[yaml.Node, yaml.Node | None] | None:
    if isinstance(node, yaml.MappingNode):
        return next(((value, key) for key, value in node.value if key.value == part), None)
    if isinstance(node, yaml.SequenceNode) and isinstance(part, int) and part < len(node.value):
        return node.value[part], None
    return None


def _child_at(node: yaml.Node, at: tuple[int, int]) -> tuple[int | str, yaml.Node | None] | None:
    """Return the last part of a block or list that begins at or before ``at``; no node where ``at`` is in its key."""
    found: tuple[int | str, yaml.Node | None] | None = None
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            if _begin(key) > at:
                break
            found = key.value, value if _begin(value) <= at else None
    elif isinstance(node, yaml.SequenceNode):
        before = bisect_right(node.value, at, key=_begin)
        found = (before - 1, node.value[before - 1]) if before else None
    return found


def _begin(node: yaml.Node) -> tuple[int, int]:
    return node.start_mark.line, node.start_mark.column


def parse_yaml(data: bytes, file: str) -> Document:
    """Read a job file: bytes as they are on disk, ``file`` the path to name in diagnostics.

    Raises:
        InputError: the file cannot be read as YAML at all; what can be read but must not stand there is in
            ``problems`` of the document.
        MachineError: the yaml library was built without libyaml.
    """
    if not yaml.__with_libyaml__:
        raise MachineError("PyYAML is installed without libyaml", help_text="install a PyYAML wheel for this platform")
    lines = Lines(file, decoded_text(data, file))
    problems = []
    for wide in itertools.islice(WIDE_SPACE.finditer(lines.text), 20):
        message = "a no-break or wide space stands where YAML needs an ordinary one"
        problems.append(
            Diagnostic("SRC105", message, (lines.span_at(wide.start(1)),), "replace it by an ordinary space")
        )
    _refuse_too_many(lines, problems)
    try:
        root = yaml.compose(lines.text, Loader=yaml.CBaseLoader)
    except yaml.YAMLError as failure:
        # where a space is no space to YAML, nothing else is worth saying
        raise InputError(problems or [syntax_diagnostic(failure, lines)]) from None
    if root is None:
        raise InputError([*problems, Diagnostic("SRC104", "the file holds only comments", (lines.span(1, 1),))])
    walk = NodeWalk(lines)
    found = walk.content(root)
    if not isinstance(found, dict) and not walk.problems:
        walk.refuse_root(root)
    problems += walk.problems
    if not isinstance(found, dict):
        raise InputError(problems)
    return Document(found, root, walk, problems)


def _refuse_too_many(lines: Lines, problems: list[Diagnostic]) -> None:
    """Count nodes as a stream, which takes no memory, but only where the separators allow so many."""
    if 2 * sum(map(lines.text.count, _BREAKS)) + 2 < NODE_LIMIT:
        return
    nodes = 0
    try:
        for event in yaml.parse(lines.text, Loader=yaml.CBaseLoader):
            nodes += isinstance(event, yaml.NodeEvent)
            if getattr(event, "anchor", None) is not None:
                raise InputError([*problems, anchor_diagnostic(_event_place(event, lines))])
            if nodes > NODE_LIMIT:
                message = f"the file has more than {NODE_LIMIT:,} entries"
                place = _event_place(event, lines)
                raise InputError([*problems, Diagnostic("SRC103", message, (place,), "put readings into CSV files")])
    except yaml.YAMLError as failure:
        raise InputError([*problems, syntax_diagnostic(failure, lines)]) from None


def _event_place(event: yaml.Event, lines: Lines) -> Span:
    return lines.span_at(event.start_mark.index)  # type: ignore[union-attr] # events of a text have marks
