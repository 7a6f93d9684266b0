"""``explain``: a code in a paragraph, or the derivation of an area step by step."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from reportgen.cli.terminal import WIDTH, render_json
from reportgen.diagnostics import closest, printable
from reportgen.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path


def explain_code(code: str, *, as_json: bool) -> str:
    """Explain a finding code such as ``dew-point-margin`` or a message code such as ``JOB110``.

    Raises:
        UsageError: for a code that is neither, with the nearest one.
    """
    from reportgen.loader import CODES
    from reportgen.measurements import FINDING_CODES
    from reportgen.words.sentences import sentences

    if code in CODES:
        facts = {"code": code, "meaning": CODES[code]}
    elif code in FINDING_CODES:
        facts = {"code": code, **sentences().explained(code)}
    else:
        near = closest(code, [*FINDING_CODES, *CODES])
        raise UsageError(
            f"`{code}` is neither a finding nor a message of this program",
            help_text=f"did you mean `{near}`?" if near else "a day file is explained with --area ID",
        )
    if as_json:
        return render_json(facts)
    return "\n".join(
        textwrap.fill(f"{name + ':':<9}{text}", WIDTH, subsequent_indent=" " * 9) for name, text in facts.items()
    )


def explain_area(day: Path, area: str, *, as_json: bool) -> str:
    """Derive the values of an area from its readings: inputs, rule, source and result of every step.

    Raises:
        InputError: the day file cannot be used. UsageError: the area is not inspected in it.
    """
    from reportgen.loader import load_job
    from reportgen.rules.explain import explain_area as derivation
    from reportgen.words.sentences import sentences

    steps = derivation(load_job(day), area)
    if as_json:
        return render_json({"steps": steps})
    words, lines = sentences(), []
    for number, step in enumerate(steps, start=1):
        lines += textwrap.wrap(
            f"{number:>3}  {printable(words.text(step.what))}: {printable(step.result)}",
            WIDTH,
            subsequent_indent=" " * 7,
        )
        for one in step.inputs:
            lines += _wrapped("from", words.text(one))
        lines += _wrapped("rule", step.rule) + _wrapped("source", step.source)
    return "\n".join(lines)


def _wrapped(word: str, text: str) -> list[str]:
    head = f"       {word:<8}"
    return textwrap.wrap(printable(text), WIDTH, initial_indent=head, subsequent_indent=" " * len(head))
