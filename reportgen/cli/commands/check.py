"""``check``: once for each day file, or again whenever one of its files is saved."""

from __future__ import annotations

import sys
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli import terminal
from reportgen.cli.answers import Answer
from reportgen.diagnostics import printable
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS, EXIT_INPUT, InputError, UsageError

if TYPE_CHECKING:
    import argparse

    from reportgen.pipeline import Checked

DOES = "validate and evaluate day files: what is wrong, out of limits, missing; write nothing"
EXAMPLE = "reportgen check 2026-05-14.yaml"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("days", nargs="+", type=Path, metavar="DAY.yaml")
    parser.add_argument("--watch", action="store_true", help="check again whenever a file is saved, until Ctrl-C")
    parser.add_argument("--all", action="store_true", help="list everything, however long")
    parser.add_argument("--language", metavar="LANG", help="language of the sentences in `--json`, such as `de`")


def run(options: argparse.Namespace) -> Answer:
    """Validate and evaluate each day file; 0 nothing to object, 1 findings, 2 when any cannot be used."""
    if options.language is not None:
        from reportgen.words.catalogue import catalogue

        if not options.json:
            raise UsageError(
                "`--language` is that of the sentences in `--json`", help_text="add `--json`, or leave it out"
            )
        catalogue(options.language)  # refused here where there is none
    if not options.watch:
        return Answer(code=max(_check_one(day, options)[0] for day in options.days))
    from reportgen.cli.watching import named_files, watch

    def check_all() -> tuple[int, set[Path]]:
        answers = [(day, *_check_one(day, options)) for day in options.days]
        return max(code for _, code, _ in answers), {file for day, _, job in answers for file in named_files(day, job)}

    return Answer(code=watch(check_all, quiet=options.json))


def _check_one(day: Path, options: argparse.Namespace) -> tuple[int, Checked | None]:
    """Check one day and say what there is to say; return the exit code, and the day where it could be evaluated."""
    from reportgen.cli import check_text
    from reportgen.pipeline import check as check_day
    from reportgen.pipeline import now

    several = len(options.days) > 1
    if several and not options.json:
        before = "" if day == options.days[0] else "\n"
        print(f"{before}== {printable(str(day))}", flush=True)
    try:
        checked = check_day(day, at=now(), typed=True)
    except InputError as error:
        if options.json:
            print(terminal.render_failure_json(error, compact=several), flush=True)
        else:
            print(terminal.render_failure(error), file=sys.stderr, flush=True)
        return EXIT_INPUT, None
    for told in (*checked.job.unread, *checked.job.warnings):
        print(terminal.render_diagnostic(told), file=sys.stderr, flush=True)
    if options.json:
        print(_as_data(checked, options.language), flush=True)
    else:
        colour = terminal.colours_wanted()
        print(check_text.render_check(checked, now(), colour=colour, everything=options.all), flush=True)
    failing = any(finding.severity == "nonconformance" for finding in checked.evaluation.findings)
    return EXIT_FINDINGS if failing or checked.evaluation.verdict != "conforms" else EXIT_DONE, checked


def _as_data(checked: Checked, language: str | None) -> str:
    """Return the evaluation, canonical, and beside its members where the day stands, with sentences of a language."""
    from reportgen.formats import canonical_json
    from reportgen.rules.editions import RULES_EDITION
    from reportgen.words.catalogue import LANGUAGE
    from reportgen.words.standing import StandingText

    said = StandingText(language or LANGUAGE)
    members = {field.name: getattr(checked.evaluation, field.name) for field in fields(checked.evaluation)}
    more = {"rules_edition": RULES_EDITION, "standing": said.members(checked.standing)}
    return canonical_json({**members, **more}).decode("utf-8")
