"""``submittal``: a contract's reports, enclosed in one signed file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_language, add_passphrase, add_processes, add_registers, add_trust, passed_over
from reportgen.cli.output import finished
from reportgen.diagnostics import printable

if TYPE_CHECKING:
    import argparse

DOES = "enclose a contract's reports, verified, with index, state, statistics and log, in one signed file"
EXAMPLE = "reportgen submittal contract/reports --identity engineer.p12 --trust authority.pem -o submittal-1.pdf"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what to enclose, who signs, and what the cover says."""
    parser.add_argument("reports", nargs="+", type=Path, metavar="REPORT.pdf|FOLDER")
    parser.add_argument(
        "--identity",
        required=True,
        metavar="ID",
        help="a PKCS#12 file of whoever submits; or `demo`: made on the spot, labelled as not valid",
    )
    add_passphrase(parser)
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf", help="a new file")
    add_trust(parser)
    add_registers(parser)
    parser.add_argument("--reference", metavar="TEXT", help="number of the submittal; default: contract and date")
    parser.add_argument("--to", metavar="TEXT", help="recipient; default: the client")
    parser.add_argument("--remarks", default="", metavar="TEXT", help="what the recipient should know")
    parser.add_argument("--partial", metavar="REASON", help="why reports are left out; the cover says so")
    parser.add_argument("--role", metavar="TEXT", help="your role; default: as the reports name you")
    parser.add_argument("--organisation", metavar="TEXT", help="your organisation")
    parser.add_argument(
        "--page-copies", action="store_true", help="append copies of the reports' pages, marked as copies, for printing"
    )
    add_language(parser)
    add_processes(parser)


def run(options: argparse.Namespace) -> Answer:
    """Write the submittal and say what is in it."""
    from reportgen.cli.progress import Progress
    from reportgen.cli.signers import file_signer, notes_on
    from reportgen.issued import shown_name
    from reportgen.pipeline import filing
    from reportgen.pipeline.workers import Spread
    from reportgen.words.numbers import counted

    passed = passed_over(options.trust)
    sent = filing.Sent(
        options.reference,
        options.to,
        options.remarks,
        options.role,
        options.organisation,
        options.page_copies,
        options.language,
        options.partial,
    )
    identity = None if options.identity == "demo" else file_signer(options)  # None: made on the spot
    with Progress("verified") as progress:
        made = filing.submittal(
            options.reports,
            identity,
            options.output,
            trust=options.trust,
            policy=options.policy,
            registers=options.register,
            sent=sent,
            spread=Spread(options.processes),
            progress=progress,
        )
    finished(f"`{made.path}` is written")
    name = shown_name(made.path)
    facts = {"file": name, "pages": made.pages, "reports": made.reports, "sha256": made.sha256}
    said = f"{name}: {counted(made.reports, 'report')} enclosed, {counted(made.pages, 'page')}, signed"
    (done, listed), missing = made.released, list(made.missing)
    lines = [
        printable(said),
        f"areas released: {done} of {listed}",
        f"nonconformances open: {made.open_nonconformances}",
    ]
    if missing:
        why = options.partial or "no reason given; --partial REASON says one on the cover"
        lines.append(printable(f"a selection ({why}); not enclosed: {', '.join(missing)}"))
    return Answer(
        data={
            **facts,
            "open_nonconformances": made.open_nonconformances,
            "areas_released": done,
            "areas_listed": listed,
            "not_enclosed": missing,
            "partial": options.partial,
            "open_items": list(made.open_items),
        },
        text="\n".join(lines),
        notes=(*passed, *notes_on(identity), *(f"note: {printable(notice)}" for notice in made.notices)),
    )
