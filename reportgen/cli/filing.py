"""Options and sentences of the commands for the contract and the archive: ``submittal``, ``audit``."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportgen.errors import EXIT_DONE

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from reportgen.seal import Identity

    Verbs = Any  # the standard library's class of it is private
    AddCommand = Callable[..., argparse.ArgumentParser]


def add_submittal(verbs: Verbs, command: AddCommand) -> None:
    """``submittal``: what to enclose, who signs, and what the cover says."""
    parser = command(
        verbs,
        "submittal",
        submittal,
        "enclose a contract's reports, verified, with index, state, statistics and log, in one signed file",
        "reportgen submittal contract/reports --identity engineer.p12 --trust authority.pem -o submittal-1.pdf",
    )
    parser.add_argument("reports", nargs="+", type=Path, metavar="REPORT.pdf|FOLDER")
    parser.add_argument(
        "--identity",
        required=True,
        metavar="ID",
        help="a PKCS#12 file of whoever submits; or `demo`: made on the spot, labelled as not valid",
    )
    parser.add_argument(
        "--passphrase-file", type=Path, metavar="FILE", help="file with the passphrase, readable by you alone"
    )
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf", help="a new file")
    add_trust(parser)
    parser.add_argument("--reference", metavar="TEXT", help="number of the submittal; default: contract and date")
    parser.add_argument("--to", metavar="TEXT", help="recipient; default: the client")
    parser.add_argument("--remarks", default="", metavar="TEXT", help="what the recipient should know")
    parser.add_argument("--role", default="project engineer", metavar="TEXT", help="your role; default: %(default)s")
    parser.add_argument("--organisation", metavar="TEXT", help="your organisation")


def add_trust(parser: argparse.ArgumentParser) -> None:
    """The option for trusted authorities."""
    parser.add_argument(
        "--trust",
        action="append",
        default=[],
        type=Path,
        metavar="FILE",
        help="certificate (or folder of them) of an authority you trust; repeatable",
    )


def submittal(options: argparse.Namespace) -> int:
    """Write the submittal and say what is in it."""
    from reportgen.cli.progress import Progress
    from reportgen.diagnostics import printable
    from reportgen.pipeline import filing

    sent = filing.Sent(options.reference, options.to, options.remarks, options.role, options.organisation)
    with Progress("verified") as progress:
        made = filing.submittal(
            options.reports,
            _identity(options),
            options.output,
            trust=options.trust,
            sent=sent,
            progress=progress,
        )
    for notice in made.notices:
        print(f"note: {printable(notice)}", file=sys.stderr)
    if options.json:
        facts = {"file": str(made.path), "pages": made.pages, "reports": made.reports, "sha256": made.sha256}
        print(json.dumps({**facts, "open_nonconformances": made.open_nonconformances}, ensure_ascii=False, indent=2))
        return EXIT_DONE
    print(printable(f"{made.path}: {made.reports} reports enclosed, {made.pages} pages, signed"))
    print(f"nonconformances open: {made.open_nonconformances}")
    return EXIT_DONE


def _identity(options: argparse.Namespace) -> Identity | None:
    """Return the identity named; None stands for one made on the spot."""
    if options.identity == "demo":
        return None
    from reportgen.cli.passphrase import ask_passphrase
    from reportgen.seal import load_identity

    file = Path(options.identity)
    return load_identity(file, ask_passphrase(str(file), options.passphrase_file))
