"""What a command answers when it is done, and the one place where that is printed."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import Any

from reportgen.errors import EXIT_DONE


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Exit code; ``data`` for a program, ``text`` for a person; ``notes`` for whoever watches, on standard error.

    Data with numbers whose digits matter come as canonical JSON. A command that tells as it goes along has
    told already, and answers with its exit code alone.
    """

    code: int = EXIT_DONE
    data: Any = None
    text: str = ""
    notes: tuple[str, ...] = ()


def show(answer: Answer, *, as_json: bool) -> int:
    """Print an answer and return its exit code."""
    for note in answer.notes:
        print(note, file=sys.stderr)
    if as_json and answer.data is not None:
        from reportgen.cli.terminal import render_json

        print(answer.data.decode() if isinstance(answer.data, bytes) else render_json(answer.data))
    elif answer.text:
        print(answer.text)
    sys.stdout.flush()
    return answer.code
