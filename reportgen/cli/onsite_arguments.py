"""Options of the commands for the site."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportgen.cli import onsite
from reportgen.formats.schemas import NAMES

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    Verbs = Any  # the standard library's class of it is private
    AddCommand = Callable[..., argparse.ArgumentParser]


def add_new(verbs: Verbs, command: AddCommand, *, questions: bool) -> None:
    """``new``: every question has an option of its own; they are loaded only when this command is asked for."""
    parser = command(
        verbs,
        "new",
        onsite.new,
        "start a contract folder, or the next shift of one, with commented files ready to edit",
        'reportgen new crane --contract AB-12 --name "Harbour crane" --inspector "N. Surname" ...\n'
        "  reportgen new --next crane/2026-05-14.yaml",
    )
    parser.add_argument("folder", nargs="?", type=Path, metavar="FOLDER")
    parser.add_argument("--next", type=Path, metavar="DAY.yaml", help="write the day file of the shift after this one")
    parser.add_argument("--date", metavar="DATE", help="date of the shift; default: today, or the day after --next")
    if not questions:
        return
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


def add_sheet(verbs: Verbs, command: AddCommand) -> None:
    """``sheet``."""
    parser = command(
        verbs,
        "sheet",
        onsite.sheet,
        "write a field sheet for the shift, to print and write on, or to fill in on a tablet",
        "reportgen sheet 2026-05-14.yaml -o sheet.pdf",
    )
    parser.add_argument("day", type=Path, metavar="DAY.yaml")
    parser.add_argument(
        "-o", "--output", type=Path, metavar="SHEET.pdf", help="default: the day's name with -sheet.pdf"
    )
    parser.add_argument("--area", action="append", default=[], metavar="ID", help="only these areas; repeatable")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4")


def add_intake(verbs: Verbs, command: AddCommand) -> None:
    """``intake``."""
    parser = command(
        verbs,
        "intake",
        onsite.intake,
        "bring a filled-in sheet, a table or typed lines into a day file, its comments kept",
        "reportgen intake sheet.pdf --into 2026-05-14.yaml",
    )
    parser.add_argument("source", type=Path, metavar="SHEET.pdf|CSV|XLSX|-", help="`-` reads typed lines")
    parser.add_argument("--into", type=Path, required=True, metavar="DAY.yaml")
    parser.add_argument("--area", metavar="ID", help="area of a table that has no column `area`")
    parser.add_argument("--overwrite", action="store_true", help="let what comes in replace what differs")
    parser.add_argument("--dry-run", action="store_true", help="say what would change and write nothing")


def add_schema(verbs: Verbs, command: AddCommand) -> None:
    """``schema``."""
    parser = command(
        verbs,
        "schema",
        onsite.schema,
        "print the JSON Schema of a kind of file, for an editor or a program",
        "reportgen schema day > day.schema.json",
    )
    parser.add_argument("kind", choices=NAMES, metavar="NAME", help=f"one of {', '.join(NAMES)}")
    parser.add_argument("--format", type=int, metavar="N", help="the newest unless told otherwise")
