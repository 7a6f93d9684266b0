"""``new``: a contract folder, or the next shift of one; what it must know is asked on a terminal."""

from __future__ import annotations

import contextlib
import datetime as dt
import re
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.cli.terminal import render_diagnostic, wrapped
from reportgen.errors import ReportgenError, UsageError

if TYPE_CHECKING:
    import argparse

    from reportgen.diagnostics import Diagnostic
    from reportgen.starter import FurtherArea
    from reportgen.starter.answers import Question

DOES = "start a contract folder, or the next shift of one, with commented files ready to edit"
EXAMPLE = (
    'reportgen new crane --contract AB-12 --name "Harbour crane" --inspector "N. Surname" ...\n'
    "  reportgen new --next crane/2026-05-14.yaml"
)


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes: an option for every question too."""
    from reportgen.starter import QUESTIONS

    parser.add_argument("folder", nargs="?", type=Path, metavar="FOLDER")
    parser.add_argument("--next", type=Path, metavar="DAY.yaml", help="write the day file of the shift after this one")
    parser.add_argument(
        "--further-area",
        action="append",
        default=[],
        metavar="AREA",
        help="an area beside the first one, as `ID: NAME, SIZE` or `ID: NAME`; may be given again",
    )
    parser.add_argument("--date", metavar="DATE", help="date of the shift; default: today, or the day after --next")
    for question in QUESTIONS:
        usual = f"; default: {question.usual}" if question.usual else ("; may be left open" * question.may_be_open)
        wordy = any(" " in choice for choice in question.choices)  # too long to stand in the line of usage
        told = f": {', '.join(question.choices)}" if wordy else ""
        words = (question.words[:1].lower() + question.words[1:]).replace("%", "%%")
        parser.add_argument(
            question.option,
            dest=f"answer_{question.key}",
            choices=question.choices or None,
            metavar="TEXT" if wordy or not question.choices else None,
            help=words + (told if question.choices else f", such as {question.example(None)}") + usual,
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
        written = _started(options, date)
        facts = {"written": [str(path) for path in written]}
        closing = f"next: fill in the project file, then `reportgen check {written[-1]}`"
    finished(f"written: {', '.join(map(str, written))}")
    told = [*(f"wrote {path}" for path in written), closing]
    return Answer(
        data=facts,
        text="\n".join(line for one in told for line in wrapped(one)),
        notes=tuple(map(render_diagnostic, warnings)),
    )


def _started(options: argparse.Namespace, date: dt.date | None) -> list[Path]:
    """Start a contract folder from the options, and on a terminal from what is answered; nothing answered is lost."""
    from reportgen.pipeline import onsite
    from reportgen.starter import further_area

    answers = _given(options)
    further = [further_area(text) for text in options.further_area]
    asks = sys.stdin.isatty() and not options.json
    try:
        if asks and _answer_all(answers, date) and "structure" in answers:
            ask_for_areas(answers, further, date)
        return onsite.start_contract(options.folder, answers, date=date, further=further)
    except (KeyboardInterrupt, ReportgenError):
        if asks and answers:
            go_on_with(options.folder, answers, further)
        raise


def _given(options: argparse.Namespace) -> dict[str, str]:
    """Take the answers from the options."""
    from reportgen.starter import QUESTIONS

    answers = {question.key: getattr(options, f"answer_{question.key}") for question in QUESTIONS}
    return {key: answer for key, answer in answers.items() if answer and answer.strip()}


def _answer_all(given: dict[str, str], date: dt.date | None) -> bool:
    """Ask for what was not given; say whether all was asked, or there were no more answers."""
    from reportgen.starter import QUESTIONS, is_put

    for question in QUESTIONS:
        if question.key not in given and is_put(question.key, given):
            try:
                given |= _answer(question, given, date)
            except EOFError:  # no more answers: what can be left out is
                return False
    return True


def go_on_with(folder: Path, given: dict[str, str], further: list[FurtherArea]) -> None:
    """Say what was answered so far as a command that goes on from there."""
    words = ["reportgen", "new", str(folder)]
    for key, answer in given.items():
        words += ["--" + key.replace("_", "-"), answer]
    for one in further:
        words += ["--further-area", f"{one.id}: {one.name}{f', {one.size}' if one.size else ''}"]
    print(f"\nto go on with what was answered:\n{shlex.join(words)}", file=sys.stderr, flush=True)


def ask_for_areas(given: dict[str, str], known: list[FurtherArea], date: dt.date | None) -> None:
    """Ask for further areas until nothing is answered; each is checked when it is given, and added to those known."""
    from reportgen.pipeline import onsite
    from reportgen.starter import FurtherArea

    last, size = given.get("area_id", "A-1"), _SIZES[given.get("unit", "mil") != "mil"]
    name = ""
    with contextlib.suppress(EOFError):
        while name := name or input("Another area of it, such as leg 2, outside [no more]: ").strip():
            usual = _following(last)
            said = input(f"Its short id [{usual}]: ").strip() or usual
            area = FurtherArea(said, name, input(f"Its size, such as {size} [left open]: ").strip() or None)
            refused = onsite.area_refused(area, given, known, date=date)
            if refused is not None:
                _say(refused)
                continue
            known.append(area)
            last, name = said, ""


def _following(name: str) -> str:
    """Return an id after another: ``A-2`` after ``A-1``."""
    number = re.search(r"[0-9]+(?!.*[0-9])", name)
    if number is None:
        return f"{name}-2"
    counted = str(int(number[0]) + 1).zfill(len(number[0]))
    return f"{name[: number.start()]}{counted}{name[number.end() :]}"


def _say(text: str) -> None:
    print("\n".join(wrapped(f"  {text}")), file=sys.stderr, flush=True)


def _typed(prompt: str, before: str) -> str:
    """Ask, with what was typed before in the line, to be changed, where the terminal can do that."""
    if sys.platform != "win32":
        with contextlib.suppress(ImportError):
            import readline

            readline.set_startup_hook(lambda: readline.insert_text(before))
            try:
                return input(prompt).strip()
            finally:
                readline.set_startup_hook()
    return input(prompt).strip()


def _answer(question: Question, given: dict[str, str], date: dt.date | None) -> dict[str, str]:
    """Ask until an answer can stand, with those given before it; nothing where the usual will do, or none is known."""
    from reportgen.pipeline import onsite
    from reportgen.starter import is_needed

    needed = is_needed(question, given)
    shown = (
        f" ({'/'.join(question.choices)})" if question.choices else f", such as {question.example(given.get('unit'))}"
    )
    usual = f" [{question.usual}]" if question.usual else (" [left open]" * (not needed))
    for choice, meaning in question.meanings.items():
        print("\n".join(wrapped(meaning if meaning.startswith(choice) else f"{choice}: {meaning}")), flush=True)
    answer = ""
    while True:
        answer = _typed(f"{question.words}{shown}{usual}: ", answer)
        if not answer and not needed:
            return {}
        refused = onsite.answer_refused(question.key, answer, given, date=date) if answer else _NO_DEFAULT
        if refused is None:
            return {question.key: answer}
        _say(refused)


_SIZES = ("260 ft2", "24 m2")
_NO_DEFAULT = "this has no default, because the contract decides it"
