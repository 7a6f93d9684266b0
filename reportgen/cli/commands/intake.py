"""``intake``: a filled sheet, a table or typed lines into a day file."""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.cli.terminal import WIDTH, wrapped
from reportgen.diagnostics import printable
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS

if TYPE_CHECKING:
    import argparse

    from reportgen.intake import Doubted, Intake

DOES = "bring a filled-in sheet, a table or typed lines into a day file, its comments kept"
EXAMPLE = "reportgen intake sheet.pdf --into 2026-05-14.yaml"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("source", type=Path, metavar="SHEET.pdf|CSV|XLSX|-", help="`-` reads typed lines")
    parser.add_argument("--into", type=Path, required=True, metavar="DAY.yaml")
    parser.add_argument("--area", metavar="ID", help="area of a table that has no column `area`")
    parser.add_argument("--overwrite", action="store_true", help="let what comes in replace what differs")
    parser.add_argument("--dry-run", action="store_true", help="say what would change and write nothing")


def run(options: argparse.Namespace) -> Answer:
    """Bring a filled sheet, a table or typed lines into a day file; 1 when something was left out or is missing."""
    from reportgen.formats import plain
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
    facts = plain(outcome)
    del facts["data"]
    for doubt in facts["doubted"]:
        del doubt["parts"]
    return Answer(
        code=EXIT_DONE if outcome.complete else EXIT_FINDINGS,
        data=facts,
        text=_in_words(outcome, options.into, written=not options.dry_run),
    )


def _asked(doubt: Doubted) -> str | None:
    """Ask about values in doubt: None keeps them, an empty answer leaves them out, another value takes their place."""
    single = len(doubt.parts) == 1
    said = f"{doubt.told}: {doubt.message}{'' if doubt.message.endswith('?') else '.'}"
    other = "name" if doubt.kind == "released-by" else "number"
    offer = f"`y` keeps it, another {other} takes its place" if single else "`y` keeps them"
    lines = [*wrapped(said), f"  {offer}, Enter leaves {'it' if single else 'them'} out: "]
    while True:
        print("\n".join(lines), end="", file=sys.stderr, flush=True)
        answer = sys.stdin.readline().strip()
        if answer.lower() in ("y", "yes"):
            return None
        if answer.lower() in ("", "n", "no"):
            return ""
        if single:
            return answer


def _in_words(outcome: Intake, day: Path, *, written: bool) -> str:
    """Say what was taken, what was there, what differs, what was refused, what is missing."""
    added = len(outcome.added)
    head = f"{day}: {added} value{'' if added == 1 else 's'} {'added' if written else 'would be added'}"
    lines = wrapped(f"{head}, {outcome.already} there already")
    lines += _listed("Added", outcome.added)
    lines += _listed("Removed", outcome.removed)
    lines += _listed(
        "Different",
        [
            f"{one.name}: now `{one.came}`, was `{one.present}`"
            if one.replaced
            else f"{one.name}: stays `{one.present}`; came in as `{one.came}` ({one.remedy or '--overwrite takes it'})"
            for one in outcome.differences
        ],
    )
    refused = []
    for one in outcome.refused:
        place = one.place if one.name in ("row", "area", "line") else f"{one.place}, {one.name}"
        refused.append(f"{place} `{one.value}`: {one.message}{'; ' + one.help_text if one.help_text else ''}")
    lines += _listed("Not taken", refused)
    if any(one.kept for one in outcome.refused):
        keeps = "keeps" if written else "would keep"
        where = "in the field itself or under `not_taken`"
        lines += ["", *wrapped(f"{day} {keeps} these as written, {where}, and what they are about on hold")]
    lines += _listed(
        "Doubted" if written else "Would be doubted",
        [f"{one.told}: {one.message}" for one in outcome.doubted],
    )
    lines += _listed("Missing", outcome.missing)
    lines += _listed("Note", outcome.notes)
    return "\n".join(lines)


def _listed(title: str, entries: tuple[str, ...] | list[str]) -> list[str]:
    lines: list[str] = []
    for entry in entries:
        lines += textwrap.wrap(printable(entry), WIDTH, initial_indent="  ", subsequent_indent="      ")
    return ["", title, *lines] if lines else []
