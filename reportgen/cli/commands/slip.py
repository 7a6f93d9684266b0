"""``slip``: a release slip for one area, signed during the shift, before the report is issued."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_output, add_signer, add_timestamp
from reportgen.cli.output import finished
from reportgen.cli.terminal import wrapped
from reportgen.errors import UsageError
from reportgen.names import full_title

if TYPE_CHECKING:
    import argparse

DOES = "write a release slip for one area that may be primed, signed, and enter it in the register"
EXAMPLE = "reportgen slip 2026-05-14.yaml G-4 --identity inspector.p12"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("day", type=Path, metavar="DAY.yaml", help="the day file as it is by now")
    parser.add_argument("area", metavar="AREA", help="id of the area")
    add_signer(parser, "a PKCS#12 file; or `pkcs11:token=NAME?module-path=FILE`")
    add_timestamp(parser)
    add_output(parser, "OUT.pdf; default: the folder `reports/slips` beside the project file")


def run(options: argparse.Namespace) -> Answer:
    """Write the slip; 0 when it was written."""
    if options.identity == "demo":
        raise UsageError(
            "somebody primes on a release slip: it takes an identity of the inspector",
            help_text="`reportgen identity new` makes one",
        )
    if options.at is not None:
        raise UsageError("--at is for drafts and demonstrations", help_text="a slip bears the time of its signature")
    from reportgen.cli.progress import Stage

    with Stage() as stage:
        from reportgen import pipeline
        from reportgen.cli.signers import signer, timestamp_service

        identity, service = signer(options), timestamp_service(options)
        written = pipeline.slip(
            options.day, options.area, identity, options.output, template=options.template, timestamper=service,
            tell=stage.tell,
        )  # fmt: skip
    report = written.checked.evaluation.report
    finished(f"`{written.path}` is written and registered, a release slip of {options.area}")
    said = f"{written.path}: release slip of {options.area} for {full_title(report)}, registered"
    data = {
        "file": str(written.path), "area": options.area, "number": report.number, "revision": report.revision,
        "sha256": written.sha256,
    }  # fmt: skip
    notes = tuple("\n".join(wrapped(f"note: {notice}")) for notice in written.notices)
    return replace(Answer(data=data, text="\n".join(wrapped(said))), notes=notes)
