"""``register``: check the register of a contract folder, or rebuild a lost one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_language, add_passphrase, add_trust, passed_over
from reportgen.cli.output import finished
from reportgen.cli.terminal import wrapped
from reportgen.diagnostics import printable
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS, UsageError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

DOES = "check the register of a contract folder against its reports, or rebuild a lost one from them"
EXAMPLE = "reportgen register rebuild contract/ --trust authority.pem --report copy-from-the-client.pdf"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("action", choices=("check", "rebuild"))
    parser.add_argument("folder", type=Path, metavar="FOLDER")
    parser.add_argument(
        "--report", action="append", default=[], type=Path, metavar="PDF", help="a report held elsewhere; repeatable"
    )
    add_trust(parser)
    parser.add_argument(
        "--identity", metavar="ID", help="your own identity (a PKCS#12 file), whose authority is trusted by `rebuild`"
    )
    add_passphrase(parser)
    add_language(parser, "of what is said of reports")


def run(options: argparse.Namespace) -> Answer:
    """Check a register against its reports, or rebuild it: 1 where a file is set aside, 2 where nothing was changed."""
    from reportgen import pipeline
    from reportgen.formats import plain
    from reportgen.words.told import said, told

    notes = passed_over(options.trust)
    trusted = {"trust": options.trust, "policy": options.policy}
    if options.action == "rebuild":
        from reportgen.cli.signers import signer

        identity = None if options.identity is None else signer(options)
        made = pipeline.rebuild_register_of(options.folder, options.report, **trusted, identity=identity)
        if made.rebuilt is not None:
            finished(made.said[0])
        data = plain({**(plain(made.rebuilt) or {}), "refused": made.refused, "set_aside": made.listed})
        return Answer(code=made.exit_code, data=data, text=_text(options, made.said), notes=notes)
    if options.identity is not None:
        raise UsageError("`register check` takes no identity", help_text="name whom to trust with --trust or --policy")
    if not options.trust and options.policy is None:
        notes = (*notes, f"note: {said(told('check-without-trust'), options.language)}")
    problems = pipeline.check_register_of(options.folder, options.report, **trusted)
    lines = [f"{said(one.message, options.language)} [{one.code}]" for one in problems]
    lines.append(f"register of {options.folder}: {len(problems) or 'no'} problem{'s' if len(problems) != 1 else ''}")
    code = EXIT_FINDINGS if any(problem.grave for problem in problems) else EXIT_DONE
    return Answer(code=code, data={"problems": plain(problems)}, text=_text(options, lines), notes=notes)


def _text(options: argparse.Namespace, sentences: Sequence[str]) -> str:
    """Return sentences in the language that was asked for, each on lines of its own."""
    from reportgen.words.told import said

    return "\n".join(line for one in sentences for line in wrapped(printable(said(one, options.language))))
