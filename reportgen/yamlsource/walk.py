"""The walk over composed nodes: maps, lists and text out of them, and what YAML allows but a job file does not."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Any, Final

import yaml

from reportgen.diagnostics import Diagnostic, Phrase, Span
from reportgen.yamlsource.characters import HIDDEN, NOTHING, character_name, unprintable
from reportgen.yamlsource.syntax import anchor_diagnostic

if TYPE_CHECKING:
    from reportgen.yamlsource.text import Lines

DEPTH_LIMIT: Final = 24
SCALAR_LIMIT: Final = 20_000

_HASH: Final = re.compile(r"[ \t]+(#[^\s#]\S*)")
_LETTERS: Final = "write it with Latin, Greek or Cyrillic letters if people are to read it"
_NUMBER_PART: Final = re.compile(r"[+-]?[0-9]+\Z", re.ASCII)


class NodeWalk:
    """One walk over the nodes of a file; ``problems`` grows in the order of the file.

    ``refused`` holds where values begin that were objected to, so that nothing further is said about them.
    """

    def __init__(self, lines: Lines) -> None:
        self.lines = lines
        self.problems: list[Diagnostic] = []
        self._any_hash = re.search(_HASH, lines.text) is not None
        self._any_escape = "\\" in lines.text
        self._anchors: set[int] = set()
        self.refused: set[int] = set()

    def content(self, root: yaml.Node) -> Any:
        """Return the content of the document: dict, list and str."""
        for found in re.finditer(r"^%.*", self.lines.text[: root.start_mark.index], re.MULTILINE):
            place = self.lines.span_at(found.start(), len(found[0]))
            message = "a YAML directive has no place here"
            self.problems.append(Diagnostic("SRC114", message, (place,), "remove the line"))
        return self._value(root, 1)

    def refuse_root(self, root: yaml.Node) -> None:
        """Say that the file as a whole is not a map."""
        what = "a list" if isinstance(root, yaml.SequenceNode) else "text"
        self._refuse("SRC116", f"the file is {what}, not a block of fields", root, "write `field: value` on each line")

    def _refuse(self, code: str, message: str, node: yaml.Node, help_text: str | None = None) -> None:
        self.problems.append(Diagnostic(code, message, (self._span(node),), help_text))

    def _span(self, node: yaml.Node, label: str = "") -> Span:
        start, end = node.start_mark, node.end_mark
        length = end.index - start.index if end.line == start.line else len(self.lines.text)
        return self.lines.span(start.line + 1, start.column + 1, length, label)

    def _value(self, node: yaml.Node, depth: int) -> Any:
        start = node.start_mark.index
        if start != node.end_mark.index and self.lines.text[start] in "&!":
            return self._refused_property(node, self.lines.text[start])
        if isinstance(node, yaml.ScalarNode):
            return self._text(node)
        if depth > DEPTH_LIMIT:
            self.refused.add(start)
            return self._refuse("SRC103", f"the entries are nested more than {DEPTH_LIMIT} deep", node)
        if isinstance(node, yaml.MappingNode):
            return self._map(node, depth + 1)
        return [self._value(item, depth + 1) for item in node.value]

    def _refused_property(self, node: yaml.Node, mark: str) -> str:
        """Refuse an anchor or a tag, once, however often aliases repeat the node; what it names is not looked at."""
        start = node.start_mark.index
        if start in self._anchors:
            return ""
        self._anchors.add(start)
        self.refused.add(start)
        word = re.compile(r"\S+").match(self.lines.text, start)
        place = self.lines.span_at(start, len(word[0]) if word else 1)
        if mark == "&":
            self.problems.append(anchor_diagnostic(place))
        else:
            message, help_text = "tags are not used in job files", "remove it; every value is text until it is checked"
            self.problems.append(Diagnostic("SRC114", message, (place,), help_text))
        return ""

    def _text(self, node: yaml.ScalarNode) -> str:
        value: str = node.value
        if len(value) > SCALAR_LIMIT:
            self.refused.add(node.start_mark.index)
            self._refuse("SRC103", f"the text has {len(value):,} characters; at most {SCALAR_LIMIT:,} are read", node)
            return ""
        if not node.style:
            self._check_plain(node, value)
        elif node.style == '"' and self._any_escape:
            # looked at again after its escapes: ``\u202e`` reverses a line as well as the character does
            hidden = HIDDEN.search(value)
            if hidden and hidden[0] not in self._raw(node):
                name = character_name(hidden[0])
                message = f"the text holds the character {name}, which is invisible or a control character"
                self._refuse("SRC105", message, node, "remove it")
        if not value.isascii():
            self._check_letters(node, value)
        return value

    def _check_plain(self, node: yaml.ScalarNode, value: str) -> None:
        if value in NOTHING:
            self.refused.add(node.start_mark.index)
            self._refuse("SRC121", f"`{value}` stands for nothing", node, "leave the field out")
        if not self._any_hash:
            return
        comment = _HASH.match(self.lines.text, node.end_mark.index)
        if comment:
            self.refused.add(node.start_mark.index)
            rest = self.lines.text[comment.start(1) :].splitlines()[0].rstrip()
            shown = comment[1] if set(rest) & set(",]}") else rest
            whole = f"{value} {shown}".strip()
            self.problems.append(
                Diagnostic(
                    "SRC118",
                    f"`{comment[1]}` would be read as a comment and lost",
                    (self.lines.span_at(comment.start(1), len(comment[1])),),
                    f'quote the text: `"{whole}"`; a comment needs a space after `#`',
                )
            )

    def _check_letters(self, node: yaml.ScalarNode, value: str) -> None:
        """Warn, once for each text, of a letter that the pages can only show as its code point."""
        found = unprintable().search(unicodedata.normalize("NFC", value))
        if found is None or HIDDEN.match(found[0]):
            return
        place = self._raw(node).find(found[0])
        span = self._span(node) if place < 0 else self.lines.span_at(node.start_mark.index + place)
        message = Phrase(
            "no font of the report has {name}: the pages show [{code}]",
            name=character_name(found[0]), code=f"U+{ord(found[0]):04X}",
        )  # fmt: skip
        self.problems.append(Diagnostic("SRC106", message, (span,), _LETTERS, "warning"))

    def _raw(self, node: yaml.Node) -> str:
        return self.lines.text[node.start_mark.index : node.end_mark.index]

    def _map(self, node: yaml.MappingNode, depth: int) -> dict[str, Any]:
        found: dict[str, Any] = {}
        places: dict[str, yaml.Node] = {}
        pairs = self._without_split_text(node) if node.flow_style else node.value
        for key, value in pairs:
            name = self._key(key)
            if name is None:
                continue
            if name in places:
                first = self._span(places[name], "first written here")
                message = f"`{name}` is written twice in one block"
                spans = (self._span(key, "written again here"), first)
                self.problems.append(Diagnostic("SRC111", message, spans, "keep one of the two"))
                continue
            places[name] = key
            found[name] = self._value(value, depth)
        return found

    def _key(self, key: yaml.Node) -> str | None:
        """Return the name of a field, or None when it is none, which is then a problem."""
        if self.lines.text[key.start_mark.index : key.start_mark.index + 1] in ("&", "!"):
            self._refused_property(key, self.lines.text[key.start_mark.index])
            return None
        if not isinstance(key, yaml.ScalarNode) or key.value.strip() == "":
            self._refuse("SRC120", "a field needs a name of plain text", key, "write `field: value`")
            return None
        if key.value == "<<":
            help_text = "write the fields out where they belong"
            self._refuse("SRC113", "merge keys are not used in job files", key, help_text)
            return None
        return self._text(key)

    def _without_split_text(self, node: yaml.MappingNode) -> list[tuple[yaml.Node, yaml.Node]]:
        """Refuse what a comma in unquoted text makes of it: a field without a colon; return the other pairs."""
        kept: list[tuple[yaml.Node, yaml.Node]] = []
        split: list[yaml.Node] = []
        for key, value in node.value:
            start = value.start_mark.index
            if start == value.end_mark.index and ":" not in self.lines.text[key.end_mark.index : start]:
                split.append(key)
                continue
            if split:
                self._refuse_split(kept[-1] if kept else None, split)
                split = []
            kept.append((key, value))
        if split:
            self._refuse_split(kept[-1] if kept else None, split)
        return kept

    def _refuse_split(self, before: tuple[yaml.Node, yaml.Node] | None, split: list[yaml.Node]) -> None:
        place = self._span(split[0])
        shown = self._raw(split[0])
        if before is None or not isinstance(before[1], yaml.ScalarNode) or before[1].style:
            message = f"`{shown}` stands in a `{{…}}` without a field"
            self.problems.append(Diagnostic("SRC119", message, (place,), "write `field: value`"))
            return
        whole = self.lines.text[before[1].start_mark.index : split[-1].end_mark.index]
        name = before[0].value if isinstance(before[0], yaml.ScalarNode) else "field"
        if _NUMBER_PART.match(before[1].value) and shown[:1].isdigit():
            help_text = f"write a decimal point: `{name}: {re.sub(' *, *', '.', whole)}`"
        else:
            help_text = f'quote the text: `{name}: "{" ".join(whole.split())}"`'
        message = f"the comma before `{shown}` ends the text of `{name}`"
        self.problems.append(Diagnostic("SRC119", message, (place,), help_text))
