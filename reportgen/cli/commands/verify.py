"""``verify``: prove or disprove issued reports."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_language, add_quick, add_trust, passed_over
from reportgen.cli.output import finished
from reportgen.cli.terminal import colours_wanted, render_failure
from reportgen.errors import EXIT_DONE, EXIT_ENVIRONMENT, EXIT_FINDINGS, EXIT_INPUT, UsageError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    from reportgen.verification import Verification

DOES = "prove or disprove issued reports: integrity, signer, recomputation; verdict and reasons"
EXAMPLE = "reportgen verify AB-12-001.pdf --trust authority.pem"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("reports", nargs="+", type=Path, metavar="REPORT.pdf")
    add_trust(parser)
    add_quick(parser)
    parser.add_argument(
        "--register", type=Path, metavar="FOLDER", help="contract folder whose register the reports are held against"
    )
    parser.add_argument("--details", action="store_true", help="everything that was found, hashes included")
    parser.add_argument("--record", type=Path, metavar="OUT.pdf", help="write the verification of one report as a PDF")
    add_language(parser, "of the answer and of its record")
    parser.add_argument(
        "--photos", type=Path, metavar="FOLDER", help="job folder with the original photos, to compare what they show"
    )


def run(options: argparse.Namespace) -> Answer:
    """Verify each report; 0 when all passed and stand (not superseded nor disputed), 4 when a step broke off, else 1.

    But 2 when a file or the register cannot be read; the others are judged all the same.
    """
    from reportgen.cli.progress import Progress
    from reportgen.cli.verification_text import render_proof
    from reportgen.pipeline.verifying import verify_each
    from reportgen.verification import render_verification

    if options.record is not None and len(options.reports) != 1:
        raise UsageError("a record is of one report", help_text="verify the reports one by one")
    notes = passed_over(options.trust)
    given = {"trust": options.trust, "policy": options.policy, "register": options.register}
    given |= {"photos": options.photos, "quick": options.quick}
    with Progress("verified") as progress:
        judged, fault = verify_each(options.reports, **given, progress=progress)
    answers = [(one.path, one.verification) for one in judged if one.verification is not None]
    if options.record is not None and answers and fault is None:
        from reportgen import atomicfile
        from reportgen.pipeline.verifying import verification_record

        report, answer = answers[0]
        atomicfile.write_new(options.record, verification_record(answer, report.name, language=options.language))
        finished(f"`{options.record}` is written")
    told = []
    colour = colours_wanted()
    for one in judged:
        if one.verification is None:
            told.append(render_failure(one.fault) if one.fault else "")
        elif options.details:
            told.append(render_verification(one.verification, str(one.path), language=options.language))
        else:
            told.append(render_proof(one.verification, str(one.path), colour=colour, language=options.language))
    told += [render_failure(fault)] if fault is not None else []
    return Answer(
        code=_exit_code([answer for _, answer in answers], unread=fault is not None or len(answers) < len(judged)),
        data=[
            {"file": str(one.path), **one.verification.plain()}
            if one.verification is not None
            else {"file": str(one.path), "error": str(one.fault)}
            for one in judged
        ]
        + ([{"error": fault.message, "help": fault.help_text}] if fault is not None else []),
        text=("\n" if options.details else "\n\n").join(told),
        notes=notes,
    )


def _exit_code(answers: Sequence[Verification], *, unread: bool) -> int:
    if unread:
        return EXIT_INPUT
    if any(answer.broke_off for answer in answers):
        return EXIT_ENVIRONMENT
    good = all(answer.overall == "passed" and answer.stands for answer in answers)
    return EXIT_DONE if good else EXIT_FINDINGS
