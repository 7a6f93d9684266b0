"""``register``: check the register of a contract folder, or rebuild a lost one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.cli.terminal import wrapped
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS

if TYPE_CHECKING:
    import argparse

DOES = "check the register of a contract folder against its reports, or rebuild a lost one from them"
EXAMPLE = "reportgen register check contract/ --report copy-from-the-client.pdf"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("action", choices=("check", "rebuild"))
    parser.add_argument("folder", type=Path, metavar="FOLDER")
    parser.add_argument(
        "--report", action="append", default=[], type=Path, metavar="PDF", help="a report held elsewhere; repeatable"
    )


def run(options: argparse.Namespace) -> Answer:
    """Check a register against its reports, or rebuild it."""
    from reportgen import pipeline
    from reportgen.formats import plain

    if options.action == "rebuild":
        rebuilt = pipeline.rebuild_register_of(options.folder, options.report)
        lines = [f"register of {options.folder} rebuilt: {rebuilt.reports} reports, {rebuilt.rows_kept} rows kept"]
        finished(lines[0])
        lines += [f"the old register stays as {rebuilt.kept_aside}"] if rebuilt.kept_aside else []
        text = "\n".join(line for sentence in (*lines, *rebuilt.losses) for line in wrapped(sentence))
        return Answer(data=plain(rebuilt), text=text)
    problems = pipeline.check_register_of(options.folder, options.report)
    lines = [line for problem in problems for line in wrapped(f"{problem.message} [{problem.code}]")]
    lines.append(f"register of {options.folder}: {len(problems) or 'no'} problem{'s' if len(problems) != 1 else ''}")
    code = EXIT_FINDINGS if any(problem.grave for problem in problems) else EXIT_DONE
    return Answer(code=code, data={"problems": plain(problems)}, text="\n".join(lines))
