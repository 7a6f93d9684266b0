"""``explain``: a code in a paragraph, or the derivation of an area step by step."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.terminal import WIDTH
from reportgen.diagnostics import closest, printable
from reportgen.errors import UsageError

if TYPE_CHECKING:
    import argparse

DOES = "say what a code means; or, step by step, how the values of an area came about"
EXAMPLE = "reportgen explain second-reading-missing\n  reportgen explain 2026-05-14.yaml --area NT-1"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("subject", metavar="CODE|DAY.yaml")
    parser.add_argument("--area", metavar="ID", help="the area whose values are to be derived")


def run(options: argparse.Namespace) -> Answer:
    """Explain a code, or how the values of an area came about."""
    return explain_code(options.subject) if options.area is None else explain_area(Path(options.subject), options.area)


def explain_code(code: str) -> Answer:
    """Explain a finding such as ``dew-point-margin``, a message such as ``JOB110``, a problem that an audit names, or
    a name such as ``REGISTER_FORKED`` behind a sentence of ``verify``.

    Raises:
        UsageError: for a code that is none, with the nearest one.
    """
    from reportgen.audit.problems import PROBLEMS
    from reportgen.loader import CODES
    from reportgen.measurements import CODES as FINDING_CODES
    from reportgen.verification import REASONS
    from reportgen.words.sentences import sentences
    from reportgen.words.verdict_names import MEANINGS

    if code in CODES:
        facts = {"code": code, "meaning": CODES[code]}
    elif code in FINDING_CODES:
        facts = {"code": code, **sentences().explained(code)}
    elif code in PROBLEMS:
        facts = {"code": code, **PROBLEMS[code].explained()}
    elif code in MEANINGS:
        facts = {"code": code, "meaning": MEANINGS[code], "weight": REASONS.get(code, "note")}
    else:
        near = closest(code, [*FINDING_CODES, *CODES, *PROBLEMS, *MEANINGS])
        raise UsageError(
            f"`{code}` is no code of this program",
            help_text=f"did you mean `{near}`?" if near else "a day file is explained with --area ID",
        )
    text = "\n".join(
        textwrap.fill(f"{name + ':':<9}{text}", WIDTH, subsequent_indent=" " * 9) for name, text in facts.items()
    )
    return Answer(data=facts, text=text)


def explain_area(day: Path, area: str) -> Answer:
    """Derive the values of an area from its readings: inputs, rule, source and result of every step.

    Raises:
        InputError: the day file cannot be used. UsageError: the area is not inspected in it.
    """
    from reportgen.formats import canonical_json
    from reportgen.pipeline.checking import evaluated
    from reportgen.rules.explain import explain_area as derivation
    from reportgen.words.sentences import sentences

    checked = evaluated(day)
    steps = derivation(checked.job, checked.evaluation, area)
    words, lines = sentences(), []
    for number, step in enumerate(steps, start=1):
        lines += textwrap.wrap(
            f"{number:>3}  {printable(words.text(step.what))}: {printable(words.text(step.result))}",
            WIDTH,
            subsequent_indent=" " * 7,
        )
        for one in step.inputs:
            lines += _wrapped("from", words.text(one))
        lines += _wrapped("rule", words.text(step.rule)) + _wrapped("source", words.text(step.source))
    return Answer(data=canonical_json({"format": 1, "steps": steps}), text="\n".join(lines))


def _wrapped(word: str, text: str) -> list[str]:
    head = f"       {word:<8}"
    return textwrap.wrap(printable(text), WIDTH, initial_indent=head, subsequent_indent=" " * len(head))
