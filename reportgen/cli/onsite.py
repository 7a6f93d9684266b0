"""``new``, ``sheet``, ``intake`` and ``schema``: options, questions on a terminal, and what is said afterwards."""

from __future__ import annotations

import datetime as dt
import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.output import finished
from reportgen.cli.terminal import WIDTH, render_json, wrapped
from reportgen.diagnostics import printable
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS, UsageError

if TYPE_CHECKING:
    import argparse

    from reportgen.intake import Doubted, Intake, Refused
    from reportgen.starter.answers import Question


def new(options: argparse.Namespace) -> int:
    """Start a contract folder, or the next shift of one."""
    from reportgen.pipeline import onsite

    date = _date(options.date)
    if options.next is not None:
        path, areas = onsite.start_next_day(options.next, date=date)
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
    print(render_json(facts) if options.json else "\n".join(line for one in told for line in wrapped(one)))
    return EXIT_DONE


def _date(text: str | None) -> dt.date | None:
    try:
        return None if text is None else dt.date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"`{text}` is not a date", help_text="write year-month-day, such as 2026-05-14") from None


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


def sheet(options: argparse.Namespace) -> int:
    """Write the field sheet of a day."""
    from reportgen.pipeline import onsite

    out = options.output or Path(f"{options.day.stem}-sheet.pdf")
    blocks = onsite.write_sheet(options.day, out, areas=options.area, paper=options.paper)
    finished(f"`{out}` is written")
    if options.json:
        print(render_json({"file": str(out), "blocks": blocks}))
    else:
        print("\n".join(wrapped(f"{out}: field sheet of {options.day}, to print, or to fill in and take in again")))
    return EXIT_DONE


def intake(options: argparse.Namespace) -> int:
    """Bring a filled sheet, a table or typed lines into a day file; 1 when something was left out or is missing."""
    from reportgen.pipeline import onsite

    typed = str(options.source) == "-"
    data = sys.stdin.buffer.read() if typed else onsite.read_source(options.source)
    name = "typed lines" if typed else str(options.source)
    can_ask = sys.stdin.isatty() and sys.stderr.isatty() and not options.json and not options.dry_run
    outcome = onsite.take_in(
        data,
        name,
        options.into,
        area=options.area,
        overwrite=options.overwrite,
        write=not options.dry_run,
        ask=_asked if can_ask else None,
    )
    if not options.dry_run:
        finished(f"`{options.into}` holds what could be taken in ({len(outcome.added)} values added)")
    print(_as_json(outcome) if options.json else _in_words(outcome, options.into, written=not options.dry_run))
    return EXIT_DONE if outcome.complete else EXIT_FINDINGS


def _asked(doubt: Doubted) -> str | None:
    """Ask about values in doubt: None keeps them, an empty answer leaves them out, another value takes their place."""
    single = len(doubt.parts) == 1
    said = f"{doubt.place}, {doubt.name} `{doubt.value}`: {doubt.message}{'' if doubt.message.endswith('?') else '.'}"
    offer = "`y` keeps it, another number takes its place" if single else "`y` keeps them"
    lines = [*wrapped(said), f"  {offer}, Enter leaves {'it' if single else 'them'} out: "]
    while True:
        print("\n".join(lines), end="", file=sys.stderr, flush=True)
        answer = sys.stdin.readline().strip()
        if answer.lower() in _YES:
            return None
        if answer.lower() in _NO or single:
            return "" if answer.lower() in _NO else answer


_YES = ("y", "yes")
_NO = ("", "n", "no")


def _as_json(outcome: Intake) -> str:
    from reportgen.formats import plain

    facts = plain(outcome)
    del facts["data"]
    for doubt in facts["doubted"]:
        del doubt["parts"]
    return render_json(facts)


def _in_words(outcome: Intake, day: Path, *, written: bool) -> str:
    """Say what was taken, what was there, what differs, what was refused, what is missing."""
    added = len(outcome.added)
    head = f"{day}: {added} value{'' if added == 1 else 's'} {'added' if written else 'would be added'}"
    lines = wrapped(f"{head}, {outcome.already} there already")
    lines += _listed("Added", outcome.added)
    lines += _listed("Removed", outcome.removed)
    kept = "now"
    lines += _listed(
        "Different",
        [
            f"{one.name}: {kept} `{one.came}`, was `{one.present}`"
            if one.replaced
            else f"{one.name}: stays `{one.present}`; came in as `{one.came}` ({one.remedy or '--overwrite takes it'})"
            for one in outcome.differences
        ],
    )
    lines += _listed("Not taken", [_refusal(one) for one in outcome.refused])
    lines += _listed(
        "Doubted" if written else "Would be doubted",
        [f"{one.place}, {one.name} `{one.value}`: {one.message}" for one in outcome.doubted],
    )
    lines += _listed("Missing", outcome.missing)
    lines += _listed("Note", outcome.notes)
    return "\n".join(lines)


def _refusal(one: Refused) -> str:
    place = one.place if one.name in ("row", "area", "line") else f"{one.place}, {one.name}"
    return f"{place} `{one.value}`: {one.message}{'; ' + one.help_text if one.help_text else ''}"


def _listed(title: str, entries: tuple[str, ...] | list[str]) -> list[str]:
    lines: list[str] = []
    for entry in entries:
        lines += textwrap.wrap(printable(entry), WIDTH, initial_indent="  ", subsequent_indent="      ")
    return ["", title, *lines] if lines else []


def schema(options: argparse.Namespace) -> int:
    """Print the JSON Schema of a kind of file."""
    from reportgen.formats.schemas import schema_text

    print(schema_text(options.kind, options.format), end="")
    return EXIT_DONE
