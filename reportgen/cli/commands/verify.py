"""``verify``: prove or disprove issued reports."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_quick, add_trust, passed_over
from reportgen.cli.output import finished
from reportgen.cli.terminal import colours_wanted
from reportgen.errors import EXIT_DONE, EXIT_ENVIRONMENT, EXIT_FINDINGS, UsageError

if TYPE_CHECKING:
    import argparse

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
    parser.add_argument(
        "--photos", type=Path, metavar="FOLDER", help="job folder with the original photos, to compare what they show"
    )


def run(options: argparse.Namespace) -> Answer:
    """Verify each report; 0 when all passed and none is superseded, 4 when a step broke off here, else 1."""
    from reportgen.cli.progress import Progress
    from reportgen.cli.verification_text import render_proof
    from reportgen.pipeline import verify as verify_one
    from reportgen.verification import render_verification

    if options.record is not None and len(options.reports) != 1:
        raise UsageError("a record is of one report", help_text="verify the reports one by one")
    notes = passed_over(options.trust)
    given = {"trust": options.trust, "policy": options.policy, "register": options.register}
    given |= {"photos": options.photos, "quick": options.quick}
    answers = []
    with Progress("verified") as progress:
        for done, report in enumerate(options.reports):
            progress(done, len(options.reports))
            answers.append((report, verify_one(report, **given)))
    if options.record is not None:
        from reportgen import atomicfile
        from reportgen.pipeline.verifying import verification_record

        report, answer = answers[0]
        atomicfile.write_new(options.record, verification_record(answer, report.name))
        finished(f"`{options.record}` is written")
    if options.details:
        text = "\n".join(render_verification(answer, str(path)) for path, answer in answers)
    else:
        colour = colours_wanted()
        text = "\n\n".join(render_proof(answer, str(path), colour=colour) for path, answer in answers)
    good = all(answer.overall == "passed" and "superseded" not in answer.standing for _, answer in answers)
    ours = any(answer.broke_off for _, answer in answers)
    return Answer(
        code=EXIT_ENVIRONMENT if ours else EXIT_DONE if good else EXIT_FINDINGS,
        data=[{"file": str(path), **answer.plain()} for path, answer in answers],
        text=text,
        notes=notes,
    )
