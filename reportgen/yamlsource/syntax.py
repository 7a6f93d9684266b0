"""What libyaml objects to, in words that say what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import Diagnostic

if TYPE_CHECKING:
    import yaml

    from reportgen.diagnostics import Span
    from reportgen.yamlsource.text import Lines

_SENTENCES: Final = (
    (
        "mapping values are not allowed",
        "a second `:` in one entry, or an indentation that does not match",
        "quote text that holds `: `, and indent the fields of a block alike",
    ),
    ("could not find expected ':'", "a field without `:`", "write `field: value` with a space after the colon"),
    (
        "did not find expected key",
        "this does not continue the block above",
        "indent the fields of a block alike; quote text that begins with a quote or bracket",
    ),
    (
        "did not find expected '-' indicator",
        "this does not continue the list above",
        "begin each entry of a list with `- `, indented alike",
    ),
    ("did not find expected ',' or ']'", "a `[` list is not closed", "close it with `]`, or add the missing comma"),
    ("did not find expected ',' or '}'", "a `{` block is not closed", "close it with `}`, or add the missing comma"),
    ("found unexpected end of stream", "a quoted text is not closed", "add the closing quote"),
    ("found unexpected ':'", "a `:` without a space after it", "write `field: value`, or quote the text"),
    ("block sequence entries are not allowed", "a list cannot begin here", "put `- ` on a line of its own"),
    ("unknown escape character", "`\\` has a meaning in double quotes", "use single quotes, or write `\\\\`"),
    ("invalid Unicode character escape", "an escape that stands for no character", "write the character itself"),
    ("did not find expected node content", "an entry is missing here", "write a value, or remove the comma"),
    ("exceeded maximum nesting depth", "the entries are nested too deep", "close the brackets"),
    ("while scanning a block scalar", "a block of text is indented wrongly", "indent its lines alike"),
)


_ABOUT_THE_OPENING: Final = frozenset({"could not find expected ':'", "found unexpected end of stream"})
"""What is better seen where the part begins than where the parser gave up."""


def syntax_diagnostic(failure: yaml.YAMLError, lines: Lines) -> Diagnostic:
    """Return the diagnostic for an error of the YAML parser, at its place."""
    problem, context = (str(getattr(failure, name, None) or "") for name in ("problem", "context"))
    line, column = _stopped_at(failure, lines)
    span = lines.span(line, column)
    if "alias" in problem or "anchor" in context:
        return anchor_diagnostic(span)
    if "found another document" in problem or "<document start>" in problem:
        return Diagnostic("SRC115", "a second document begins here", (span,), "keep one document in a file")
    if "cannot start any token" in problem:
        character = lines.content(line)[column - 1 : column]
        if character == "\t":
            return Diagnostic("SRC110", "a tab cannot indent a line", (span,), "use spaces")
        return Diagnostic("SRC110", f"unquoted text cannot begin with `{character}`", (span,), "quote the text")
    known = next((one for one in _SENTENCES if one[0] in f"{problem}\n{context}"), None)
    if known is None:
        return Diagnostic("SRC110", f"this is not YAML: {problem or 'unreadable'}", (span,))
    words, message, help_text = known
    spans = [span]
    opened = _place(getattr(failure, "context_mark", None))
    if opened not in (None, (line, column)):
        begin = lines.span(*opened, label="begins here")
        spans = [begin] if words in _ABOUT_THE_OPENING else [span, begin]
    return Diagnostic("SRC110", message, tuple(spans), help_text)


def _stopped_at(failure: yaml.YAMLError, lines: Lines) -> tuple[int, int]:
    """Return where the parser gave up; on an empty line the end of the text before, where something is missing."""
    line, column = _place(getattr(failure, "problem_mark", None)) or (1, 1)
    while line > 1 and not lines.content(line).strip():
        line -= 1
        column = max(1, len(lines.content(line).rstrip()))
    return line, column


def _place(mark: yaml.Mark | None) -> tuple[int, int] | None:
    return None if mark is None else (mark.line + 1, mark.column + 1)


def anchor_diagnostic(place: Span) -> Diagnostic:
    """Return the diagnostic for an anchor or alias at ``place``."""
    message = "anchors and aliases are not used in job files"
    return Diagnostic("SRC112", message, (place,), "write the entry out where it belongs")
