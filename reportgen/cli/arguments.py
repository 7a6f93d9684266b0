"""The commands and their options. Building the parser imports nothing that a command does not need."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen import __version__
from reportgen.cli import commands, exporting, filing, onsite_arguments

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

_EXITS = "exit codes: 0 done; 1 done, with findings; 2 wrong input; 3 a bug of ours; 4 the machine failed"


def build_parser(arguments: Sequence[str] = ()) -> argparse.ArgumentParser:
    """Return the parser of the whole command line; ``options.run`` is the command to call.

    ``arguments`` are those to be parsed: options that cost time to know are added only where they are asked for.
    """
    parser = argparse.ArgumentParser(
        prog="reportgen",
        description="Inspection reports of blast-cleaned steel: validate, compute, sign, verify.",
        epilog=_EXITS,
    )
    parser.add_argument("--version", action="version", version=f"reportgen {__version__}")
    parser.set_defaults(run=None)
    verbs = parser.add_subparsers(title="commands", metavar="COMMAND")
    onsite_arguments.add_new(verbs, _command, questions="new" in arguments)
    _add_check(verbs)
    _add_draft(verbs)
    _add_issue(verbs)
    _add_countersign(verbs)
    _add_verify(verbs)
    _add_explain(verbs)
    onsite_arguments.add_sheet(verbs, _command)
    onsite_arguments.add_intake(verbs, _command)
    exporting.add_export(verbs, _command)
    onsite_arguments.add_schema(verbs, _command)
    filing.add_submittal(verbs, _command)
    _add_register(verbs)
    _add_identity(verbs)
    return parser


def _command(
    verbs: argparse._SubParsersAction[argparse.ArgumentParser],
    name: str,
    run: Callable[[argparse.Namespace], int],
    does: str,
    example: str,
) -> argparse.ArgumentParser:
    parser = verbs.add_parser(
        name,
        help=does,
        description=does[0].upper() + does[1:] + ".",
        epilog=f"example:\n  {example}\n\n{_EXITS}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.set_defaults(run=run)
    parser.add_argument("--json", action="store_true", help="print data for a program instead of sentences")
    return parser


def _add_check(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = _command(
        verbs,
        "check",
        commands.check,
        "validate and evaluate day files: what is wrong, out of limits, missing; write nothing",
        "reportgen check 2026-05-14.yaml",
    )
    parser.add_argument("days", nargs="+", type=Path, metavar="DAY.yaml")


def _add_draft(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = _command(
        verbs,
        "draft",
        commands.draft,
        "write the report unsigned, marked DRAFT on every page",
        "reportgen draft 2026-05-14.yaml -o draft.pdf",
    )
    parser.add_argument("day", type=Path, metavar="DAY.yaml")
    _add_output(parser, "OUT.pdf; default: the report number with -draft.pdf, in the current folder")


def _add_output(parser: argparse.ArgumentParser, where: str) -> None:
    parser.add_argument("-o", "--output", type=Path, metavar="OUT.pdf", help=where)
    parser.add_argument(
        "--template", metavar="NAME", help="a template's name or path; default: the project's, else a4-en"
    )
    parser.add_argument("--at", metavar="INSTANT", help="issue time for a rebuild, such as 2026-05-14T17:42:00Z")


def _add_issue(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = _command(
        verbs,
        "issue",
        commands.issue,
        "write the report, signed and final, and enter it in the register",
        "reportgen issue 2026-05-14.yaml --identity inspector.p12",
    )
    parser.add_argument("day", type=Path, metavar="DAY.yaml")
    parser.add_argument(
        "--identity",
        required=True,
        metavar="ID",
        help="a PKCS#12 file; or `demo`: an identity made on the spot, labelled as not valid for issue",
    )
    parser.add_argument(
        "--passphrase-file",
        type=Path,
        metavar="FILE",
        help="file with the passphrase, readable by you alone",
    )
    _add_output(parser, "OUT.pdf; default: the folder `reports` beside the project file")


def _add_verify(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = _command(
        verbs,
        "verify",
        commands.verify,
        "prove or disprove issued reports: integrity, signer, recomputation; verdict and reasons",
        "reportgen verify AB-12-001.pdf --trust authority.pem",
    )
    parser.add_argument("reports", nargs="+", type=Path, metavar="REPORT.pdf")
    parser.add_argument(
        "--trust",
        action="append",
        default=[],
        type=Path,
        metavar="FILE",
        help="certificate (or folder of them) of an authority you trust; repeatable",
    )
    parser.add_argument(
        "--register", type=Path, metavar="FOLDER", help="contract folder whose register the reports are held against"
    )
    parser.add_argument(
        "--photos", type=Path, metavar="FOLDER", help="job folder with the original photos, to build the pages again"
    )


def _add_signer(parser: argparse.ArgumentParser, accepted: str) -> None:
    parser.add_argument("--identity", required=True, metavar="ID", help=accepted)
    _add_passphrase(parser)


def _add_passphrase(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--passphrase-file",
        type=Path,
        metavar="FILE",
        help="file with the passphrase, readable by you alone",
    )


def _add_countersign(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = _command(
        verbs,
        "countersign",
        commands.countersign,
        "add a further signature that the job names, without breaking the first",
        "reportgen countersign AB-12-001.pdf --identity engineer.p12 -o AB-12-001-signed.pdf",
    )
    parser.add_argument("report", type=Path, metavar="REPORT.pdf")
    _add_signer(parser, "a PKCS#12 file")
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf", help="a new file")
    parser.add_argument("--reason", default="seen and agreed", help="why you sign; default: %(default)s")
    parser.add_argument("--location", default="not stated", help="where you sign; default: %(default)s")


def _add_explain(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = _command(
        verbs,
        "explain",
        commands.explain,
        "say what a code means; or, step by step, how the values of an area came about",
        "reportgen explain second-reading-missing\n  reportgen explain 2026-05-14.yaml --area NT-1",
    )
    parser.add_argument("subject", metavar="CODE|DAY.yaml")
    parser.add_argument("--area", metavar="ID", help="the area whose values are to be derived")


def _add_register(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = _command(
        verbs,
        "register",
        commands.register,
        "check the register of a contract folder against its reports, or rebuild a lost one from them",
        "reportgen register check contract/ --report copy-from-the-client.pdf",
    )
    parser.add_argument("action", choices=("check", "rebuild"))
    parser.add_argument("folder", type=Path, metavar="FOLDER")
    parser.add_argument(
        "--report", action="append", default=[], type=Path, metavar="PDF", help="a report held elsewhere; repeatable"
    )


def _add_identity(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = _command(
        verbs,
        "identity",
        commands.identity,
        "make a signing identity for a team without a certificate authority, or show one",
        'reportgen identity new keys/ --name "A. Name" --organisation "Inspection Body"\n'
        "  reportgen identity show keys/a-name.p12",
    )
    parser.add_argument("action", choices=("new", "show"))
    parser.add_argument("place", type=Path, metavar="FOLDER|FILE", help="folder for `new`, PKCS#12 file for `show`")
    parser.add_argument("--name", help="the signer's name, as the job files write it")
    parser.add_argument("--organisation", help="the inspection body")
    parser.add_argument("--years", type=int, default=3, help="years of validity, 1 to 10; default: %(default)s")
    _add_passphrase(parser)
