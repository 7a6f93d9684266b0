"""``verify``: prove or disprove issued reports."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_trust, passed_over
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS, UsageError

if TYPE_CHECKING:
    import argparse

    from reportgen.verification import Verification

DOES = "prove or disprove issued reports: integrity, signer, recomputation; verdict and reasons"
EXAMPLE = "reportgen verify AB-12-001.pdf --trust authority.pem"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("reports", nargs="+", type=Path, metavar="REPORT.pdf")
    add_trust(parser)
    parser.add_argument(
        "--register", type=Path, metavar="FOLDER", help="contract folder whose register the reports are held against"
    )
    parser.add_argument("--details", action="store_true", help="everything that was found, hashes included")
    parser.add_argument("--record", type=Path, metavar="OUT.pdf", help="write the verification of one report as a PDF")
    parser.add_argument(
        "--photos", type=Path, metavar="FOLDER", help="job folder with the original photos, to compare what they show"
    )


def run(options: argparse.Namespace) -> Answer:
    """Verify each report; 0 when all passed, else 1."""
    from reportgen.cli.progress import Progress
    from reportgen.pipeline import verify as verify_one

    if options.record is not None and len(options.reports) != 1:
        raise UsageError("a record is of one report", help_text="verify the reports one by one")
    notes = passed_over(options.trust)
    given = {"trust": options.trust, "register": options.register, "photos": options.photos}
    answers = []
    with Progress("verified") as progress:
        for done, report in enumerate(options.reports):
            progress(done, len(options.reports))
            answers.append((report, verify_one(report, **given)))
    if options.record is not None:
        _write_record(options.record, *answers[0])
    return Answer(
        code=EXIT_DONE if all(answer.overall == "passed" for _, answer in answers) else EXIT_FINDINGS,
        data=[{"file": str(path), **answer.plain()} for path, answer in answers],
        text=_text(answers, details=options.details),
        notes=notes,
    )


def _text(answers: list[tuple[Path, Verification]], *, details: bool) -> str:
    from reportgen.cli import terminal
    from reportgen.cli.verification_text import render_proof
    from reportgen.verification import render_verification

    if details:
        return "\n".join(render_verification(answer, str(path)) for path, answer in answers)
    colour = terminal.colours_wanted()
    return "\n\n".join(render_proof(answer, str(path), colour=colour) for path, answer in answers)


def _write_record(out: Path, report: Path, answer: Verification) -> None:
    from reportgen import atomicfile
    from reportgen.cli.output import finished
    from reportgen.pipeline.verification_record import verification_record

    atomicfile.write_new(out, verification_record(answer, report.name))
    finished(f"`{out}` is written")
