"""``countersign``: a further signature on an issued report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_revocation, add_signer, add_timestamp
from reportgen.cli.output import finished
from reportgen.cli.terminal import wrapped

if TYPE_CHECKING:
    import argparse

DOES = "add a further signature that the job names, without breaking the first"
EXAMPLE = "reportgen countersign AB-12-001.pdf --identity engineer.p12 -o AB-12-001-signed.pdf"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("report", type=Path, metavar="REPORT.pdf")
    add_signer(parser, "a PKCS#12 file, or `pkcs11:token=NAME?module-path=FILE`")
    add_timestamp(parser)
    add_revocation(parser)
    parser.add_argument(
        "--policy", type=Path, metavar="TRUST.yaml",
        help="file that says by which certificates its signers sign, where their names do not",
    )  # fmt: skip
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf", help="a new file")
    parser.add_argument("--reason", default="seen and agreed", help="why you sign; default: %(default)s")
    parser.add_argument("--location", default="not stated", help="where you sign; default: %(default)s")


def run(options: argparse.Namespace) -> Answer:
    """Fill one empty signature field of an issued report."""
    from reportgen import pipeline
    from reportgen.cli.signers import as_notes, notes_on, signer, timestamp_service

    identity = signer(options)
    name, told = pipeline.countersign(
        options.report,
        identity,
        options.output,
        reason=options.reason,
        location=options.location,
        timestamper=timestamp_service(options),
        crls=options.crl,
        ocsps=options.ocsp,
        policy=options.policy,
    )
    finished(f"`{options.output}` is written, signed by {name}")
    said = f"{options.output}: signed by {name}; the earlier signatures stand"
    facts = {"file": str(options.output), "signer": name}
    return Answer(data=facts, text="\n".join(wrapped(said)), notes=(*notes_on(identity), *as_notes(told)))
