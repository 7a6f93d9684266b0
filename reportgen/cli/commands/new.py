"""``new``: a contract folder, or the next shift of one; what it must know is asked on a terminal."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.cli.terminal import render_diagnostic, wrapped
from reportgen.errors import UsageError

if TYPE_CHECKING:
    import argparse

    from reportgen.diagnostics import Diagnostic
    from reportgen.starter.answers import Question

DOES = "start a contract folder, or the next shift of one, with commented files ready to edit"
EXAMPLE = (
    'reportgen new crane --contract AB-12 --name "Harbour crane" --inspector "N. Surname" ...\n'
    "  reportgen new --next crane/2026-05-14.yaml"
)


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes, but for its questions."""
    parser.add_argument("folder", nargs="?", type=Path, metavar="FOLDER")
    parser.add_argument("--next", type=Path, metavar="DAY.yaml", help="write the day file of the shift after this one")
    parser.add_argument("--date", metavar="DATE", help="date of the shift; default: today, or the day after --next")


def add_more(parser: argparse.ArgumentParser) -> None:
    """Declare an option for every question: they cost time to know, so only where this command is asked for."""
    from reportgen.starter import QUESTIONS

    for question in QUESTIONS:
        usual = f"; default: {question.usual}" if question.usual else ("; may be left open" * question.may_be_open)
        parser.add_argument(
            question.option,
            dest=f"answer_{question.key}",
            choices=question.choices or None,
            metavar=None if question.choices else "TEXT",
            help=f"{question.words.lower()}{'' if question.choices else ', such as ' + question.example(None)}{usual}",
        )


def run(options: argparse.Namespace) -> Answer:
    """Start a contract folder, or the next shift of one."""
    from reportgen.pipeline import onsite

    try:
        date = None if options.date is None else dt.date.fromisoformat(options.date)
    except ValueError:
        raise UsageError(
            f"`{options.date}` is not a date", help_text="write year-month-day, such as 2026-05-14"
        ) from None
    warnings: tuple[Diagnostic, ...] = ()
    if options.next is not None:
        path, areas, warnings = onsite.start_next_day(options.next, date=date)
        written, facts = [path], {"written": [str(path)], "areas_due": list(areas)}
        closing = f"areas due: {', '.join(areas) or 'none'}"
    else:
        if options.folder is None:
            raise UsageError("name the folder of the new contract", help_text="or `--next DAY.yaml` for the next shift")
        onsite.refuse_taken(options.folder, date=date)
        written = onsite.start_contract(options.folder, _answers(options, date), date=date)
        facts = {"written": [str(path) for path in written]}
        closing = f"next: fill in the project file, then `reportgen check {written[-1]}`"
    finished(f"written: {', '.join(map(str, written))}")
    told = [*(f"wrote {path}" for path in written), closing]
    return Answer(
        data=facts,
        text="\n".join(line for one in told for line in wrapped(one)),
        notes=tuple(map(render_diagnostic, warnings)),
    )


def _answers(options: argparse.Namespace, date: dt.date | None) -> dict[str, str]:
    """Take the answers from the options; on a terminal ask for the rest."""
    from reportgen.starter import QUESTIONS

    answers = {question.key: getattr(options, f"answer_{question.key}") for question in QUESTIONS}
    given = {key: answer for key, answer in answers.items() if answer and answer.strip()}
    if not sys.stdin.isatty() or options.json:
        return given
    for question in QUESTIONS:
        if question.key not in given:
            try:
                given |= _answer(question, given, date)
            except EOFError:  # no more answers: what can be left out is
                break
    return given


def _answer(question: Question, given: dict[str, str], date: dt.date | None) -> dict[str, str]:
    """Ask until an answer can stand, with those given before it; nothing where the usual will do, or none is known."""
    from reportgen.pipeline import onsite

    shown = (
        f" ({'/'.join(question.choices)})" if question.choices else f", such as {question.example(given.get('unit'))}"
    )
    usual = f" [{question.usual}]" if question.usual else (" [left open]" * question.may_be_open)
    while True:
        answer = input(f"{question.words}{shown}{usual}: ").strip()
        if not answer and not question.must_be_answered:
            return {}
        refused = onsite.answer_refused(question.key, answer, given, date=date) if answer else _NO_DEFAULT
        if refused is None:
            return {question.key: answer}
        print("\n".join(wrapped(f"  {refused}")), file=sys.stderr, flush=True)


_NO_DEFAULT = "this has no default, because the contract decides it"
