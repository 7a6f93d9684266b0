"""The commands and their options. Building the parser imports nothing that a command does not need."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportgen import __version__
from reportgen.cli import batches, checking, commands, exporting, filing, onsite_arguments
from reportgen.cli.parsing import WIDTH, Parser, shell_lines

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Sequence

    Verbs = Any  # the standard library's class of it is private

_EXITS = "exit codes: 0 done; 1 done, with findings; 2 wrong input;\n            3 a bug of ours; 4 the machine failed"
SHELLS = ("bash", "zsh", "fish")


def build_parser(arguments: Sequence[str] = ()) -> Parser:
    """Return the parser of the whole command line; ``options.run`` is the command to call.

    ``arguments`` are those to be parsed: options that cost time to know are added only where they are asked for.
    """
    parser = Parser(
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
    filing.add_audit(verbs, _command)
    _add_register(verbs)
    _add_identity(verbs)
    _add_completion(verbs)
    return parser


def _command(
    verbs: Verbs,
    name: str,
    run: Callable[[argparse.Namespace], int],
    does: str,
    example: str,
) -> argparse.ArgumentParser:
    examples = "\n".join(shell_lines(line.strip()) for line in example.splitlines())
    parser: argparse.ArgumentParser = verbs.add_parser(
        name,
        help=does,
        description=textwrap.fill(f"{does[0].upper()}{does[1:]}.", WIDTH),
        epilog=f"example:\n{examples}\n\n{_EXITS}",
    )
    parser.set_defaults(run=run, parser=parser)
    parser.add_argument("--json", action="store_true", help="print data for a program instead of sentences")
    return parser


def _add_check(verbs: Verbs) -> None:
    parser = _command(
        verbs,
        "check",
        checking.check,
        "validate and evaluate day files: what is wrong, out of limits, missing; write nothing",
        "reportgen check 2026-05-14.yaml",
    )
    parser.add_argument("days", nargs="+", type=Path, metavar="DAY.yaml")
    parser.add_argument("--watch", action="store_true", help="check again whenever a file is saved, until Ctrl-C")
    parser.add_argument("--all", action="store_true", help="list everything, however long")
    parser.add_argument("--language", metavar="LANG", help="language of the sentences in `--json`, such as `de`")


def _add_draft(verbs: Verbs) -> None:
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


def _add_issue(verbs: Verbs) -> None:
    parser = _command(
        verbs,
        "issue",
        batches.issue,
        "write the report, signed and final, and enter it in the register",
        "reportgen issue 2026-05-14.yaml --identity inspector.p12",
    )
    parser.add_argument("days", nargs="+", type=Path, metavar="DAY.yaml", help="one day file, or many at once")
    _add_signer(parser, "a PKCS#12 file; `pkcs11:token=NAME?module-path=FILE`; or `demo`: made on the spot, not valid")
    _add_timestamp(parser)
    _add_output(parser, "OUT.pdf; default: the folder `reports` beside the project file")
    filing.add_spread(parser)


def _add_verify(verbs: Verbs) -> None:
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
    parser.add_argument("--details", action="store_true", help="everything that was found, hashes included")
    parser.add_argument("--record", type=Path, metavar="OUT.pdf", help="write the verification of one report as a PDF")
    parser.add_argument(
        "--photos", type=Path, metavar="FOLDER", help="job folder with the original photos, to build the pages again"
    )


def _add_signer(parser: argparse.ArgumentParser, accepted: str) -> None:
    parser.add_argument("--identity", required=True, metavar="ID", help=accepted)
    _add_passphrase(parser)


def _add_timestamp(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--timestamp", metavar="URL", help="RFC 3161 service that proves the time of signing; needs a network"
    )


def _add_passphrase(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--passphrase-file",
        type=Path,
        metavar="FILE",
        help="file with the passphrase, readable by you alone",
    )


def _add_countersign(verbs: Verbs) -> None:
    parser = _command(
        verbs,
        "countersign",
        commands.countersign,
        "add a further signature that the job names, without breaking the first",
        "reportgen countersign AB-12-001.pdf --identity engineer.p12 -o AB-12-001-signed.pdf",
    )
    parser.add_argument("report", type=Path, metavar="REPORT.pdf")
    _add_signer(parser, "a PKCS#12 file, or `pkcs11:token=NAME?module-path=FILE`")
    _add_timestamp(parser)
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf", help="a new file")
    parser.add_argument("--reason", default="seen and agreed", help="why you sign; default: %(default)s")
    parser.add_argument("--location", default="not stated", help="where you sign; default: %(default)s")


def _add_explain(verbs: Verbs) -> None:
    parser = _command(
        verbs,
        "explain",
        commands.explain,
        "say what a code means; or, step by step, how the values of an area came about",
        "reportgen explain second-reading-missing\n  reportgen explain 2026-05-14.yaml --area NT-1",
    )
    parser.add_argument("subject", metavar="CODE|DAY.yaml")
    parser.add_argument("--area", metavar="ID", help="the area whose values are to be derived")


def _add_register(verbs: Verbs) -> None:
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


def _add_identity(verbs: Verbs) -> None:
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


def _add_completion(verbs: Verbs) -> None:
    parser = _command(
        verbs,
        "completion",
        commands.completion,
        "print a script that teaches a shell to complete commands, options and file names",
        "reportgen completion bash >> ~/.bash_completion\n"
        "reportgen completion zsh > ~/.zfunc/_reportgen\n"
        "reportgen completion fish > ~/.config/fish/completions/reportgen.fish",
    )
    parser.add_argument("shell", choices=SHELLS, metavar="SHELL", help=" or ".join(SHELLS))
