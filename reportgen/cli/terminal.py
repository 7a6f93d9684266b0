"""What the command line says of failures and verdicts, and when in colour."""

from __future__ import annotations

import json
import os
import sys
import textwrap
from collections import Counter
from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING, Any

from reportgen.diagnostics import as_data, in_file_order, printable, with_caret
from reportgen.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from reportgen.diagnostics import Diagnostic
    from reportgen.errors import ReportgenError
    from reportgen.results import Evaluation

WIDTH = 80
SHOWN_DIAGNOSTICS = 20
_COLOURS = {"conforms": "32", "does not conform": "31", "inconclusive": "33", "not evaluated": "33"}


def render_failure(error: ReportgenError) -> str:
    """Render a failure for a person: diagnostics with carets (the first twenty), or one sentence and its help."""
    if isinstance(error, InputError) and error.diagnostics:
        ordered = in_file_order(error.diagnostics)
        parts = [render_diagnostic(diagnostic) for diagnostic in ordered[:SHOWN_DIAGNOSTICS]]
        if len(ordered) > SHOWN_DIAGNOSTICS:
            parts.append(f"and {len(ordered) - SHOWN_DIAGNOSTICS} more; mend these first and run the command again")
        return "\n\n".join(parts)
    lines = wrapped(f"error: {error.message}")
    if error.help_text:
        lines += wrapped(f" help: {error.help_text}", further=7)
    return "\n".join(lines)


def render_diagnostic(diagnostic: Diagnostic) -> str:
    """Render a diagnostic with its carets in eighty columns: sentences go on below, a label moves under its carets."""
    gutter = max((len(str(span.line)) for span in diagnostic.spans), default=1) + 3
    folded = partial(textwrap.wrap, width=WIDTH, break_long_words=False, break_on_hyphens=False)
    fitted = []
    for line in with_caret(diagnostic, columns=WIDTH - gutter).split("\n"):
        bar, carets = line[:gutter], line.rfind("^") + 1
        if len(line) <= WIDTH:
            fitted.append(line)
        elif line.startswith(("error[", "warning[")):
            fitted += folded(line, subsequent_indent="  ")
        elif " = help: " in line[: gutter + 7]:
            fitted += folded(line, subsequent_indent=" " * (gutter + 6))
        elif carets and bar.isascii() and bar.strip() == "|" and bar.endswith("| "):
            label = textwrap.wrap(line[carets:].strip(), WIDTH - gutter, break_long_words=False)
            fitted += [line[:carets], *(bar + part for part in label)]
        else:
            fitted.append(line)
    return "\n".join(fitted)


def wrapped(sentence: str, *, further: int = 2) -> list[str]:
    """Return a sentence in lines of at most eighty columns; a name or path that is longer stays whole."""
    return textwrap.wrap(
        printable(sentence), WIDTH, subsequent_indent=" " * further, break_long_words=False, break_on_hyphens=False
    )


def render_failure_json(error: ReportgenError, *, compact: bool = False) -> str:
    """Render a failure for a program: ``{"error": ..., "diagnostics": [...]}`` with every diagnostic."""
    diagnostics = in_file_order(error.diagnostics) if isinstance(error, InputError) else []
    data = {"error": error.message, "help": error.help_text, "diagnostics": [as_data(item) for item in diagnostics]}
    return render_json(data, compact=compact)


def render_json(answer: Mapping[str, Any] | Sequence[Any], *, compact: bool = False) -> str:
    """Render an answer for a program: its members, without those that have no value, and its format; or a list."""
    from reportgen.formats import plain

    whole = {"format": 1, **plain(dict(answer))} if isinstance(answer, Mapping) else plain(list(answer))
    # in ASCII: what strangers wrote can neither hide in it nor break it on any terminal
    return json.dumps(whole, indent=None if compact else 2)


def on_terminal() -> bool:
    """Return whether the output is a terminal that understands control sequences."""
    return sys.stdout.isatty() and os.environ.get("TERM") != "dumb"


def colours_wanted() -> bool:
    """Return whether the output is a terminal that did not ask for plain text (https://no-color.org)."""
    return on_terminal() and not os.environ.get("NO_COLOR")


def tinted(text: str, verdict: str, *, colour: bool) -> str:
    """Return ``text`` in the colour of a verdict; the word itself always says it too."""
    return f"\x1b[{_COLOURS[verdict]}m{text}\x1b[0m" if colour else text


def verdict_sentence(evaluation: Evaluation, missed: Collection[str] = ()) -> str:
    """Return the verdict of the report in one sentence; ``missed`` are areas reported as not inspected."""
    inspected = [area for area in evaluation.areas if area.id not in missed]
    unseen = f"; {', '.join(missed)} not inspected" if missed else ""
    if not inspected:
        return f"Not evaluated: no area was inspected{unseen}."
    counts = Counter(area.decision for area in inspected)
    parts = [
        (counts["rework"], "must be reworked"),
        (counts["hold"], "on hold"),
        (counts["release"], "may be released"),
    ]
    named = [(count, phrase) for count, phrase in parts if count]
    first = f"{named[0][0]} of {len(inspected)} inspected areas {named[0][1]}"
    others = "".join(f", {count} {phrase}" for count, phrase in named[1:])
    accepted = sum(area.by_decision for area in inspected)
    by_decision = f", {accepted} of them by decision" if accepted else ""
    partly = sum(area.released_part is not None for area in inspected)
    part = f", {partly} of them in the part cleaned alone" if partly else ""
    return f"{evaluation.verdict.capitalize()}: {first}{others}{by_decision}{part}{unseen}."
