"""Options that several commands take."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse
    import datetime as dt
    from collections.abc import Sequence

MOST_PROCESSES = 256


def add_output(parser: argparse.ArgumentParser, where: str) -> None:
    """Where a report goes, by which template, as of when."""
    parser.add_argument("-o", "--output", type=Path, metavar="OUT.pdf", help=where)
    parser.add_argument(
        "--template", metavar="NAME", help="a template's name or path; default: the project's, else a4-en"
    )
    parser.add_argument("--at", metavar="INSTANT", help="issue time for a rebuild, such as 2026-05-14T17:42:00Z")


def add_language(parser: argparse.ArgumentParser, of: str = "of the pages") -> None:
    """In which language something is."""
    parser.add_argument(
        "--language", type=_language, default="en", metavar="LANG", help=f"{of}, such as `de`; default: en"
    )


def _language(name: str) -> str:
    from reportgen.words.catalogue import catalogue

    return catalogue(name).language  # refused here where there is none


def instant(options: argparse.Namespace) -> dt.datetime | None:
    """Return the moment that ``--at`` names."""
    from reportgen.pipeline import parse_instant

    return None if options.at is None else parse_instant(options.at)


def add_signer(parser: argparse.ArgumentParser, accepted: str) -> None:
    """Who signs."""
    parser.add_argument("--identity", required=True, metavar="ID", help=accepted)
    add_passphrase(parser)


def add_passphrase(parser: argparse.ArgumentParser) -> None:
    """Where the passphrase is."""
    parser.add_argument(
        "--passphrase-file", type=Path, metavar="FILE", help="file with the passphrase, readable by you alone"
    )


def add_timestamp(parser: argparse.ArgumentParser) -> None:
    """Who proves the time."""
    parser.add_argument(
        "--timestamp", metavar="URL", help="RFC 3161 service that proves the time of signing; needs a network"
    )


def add_revocation(parser: argparse.ArgumentParser) -> None:
    """What says that no certificate was revoked."""
    parser.add_argument(
        "--crl", action="append", default=[], type=Path, metavar="FILE",
        help="list of revoked certificates to seal in; repeatable",
    )  # fmt: skip
    parser.add_argument(
        "--ocsp", action="append", default=[], type=Path, metavar="FILE",
        help="answer about revocation (OCSP, DER) to seal in; repeatable",
    )  # fmt: skip


def add_quick(parser: argparse.ArgumentParser) -> None:
    """Declare the option that leaves out the slowest step."""
    parser.add_argument(
        "--quick", action="store_true", help="do not make the pages again; nothing is `passed` then, at most in doubt"
    )


def add_trust(parser: argparse.ArgumentParser) -> None:
    """Whom to trust."""
    parser.add_argument(
        "--trust", action="append", default=[], type=Path, metavar="FILE",
        help="certificate (or folder of them) of an authority you trust; repeatable",
    )  # fmt: skip
    parser.add_argument(
        "--policy", type=Path, metavar="TRUST.yaml",
        help="file that names authorities, revocation data, people and what is required, instead of --trust",
    )  # fmt: skip


def add_registers(parser: argparse.ArgumentParser) -> None:
    """Which registers many reports are held against."""
    parser.add_argument(
        "--register", action="append", default=[], type=Path, metavar="FOLDER",
        help="contract folder whose register its reports are held against; repeatable",
    )  # fmt: skip


def passed_over(given: Sequence[Path]) -> tuple[str, ...]:
    """Say which files of a trusted folder are passed over; ``UsageError`` for one that is named itself."""
    from reportgen.diagnostics import printable
    from reportgen.verification import read_trusted

    return tuple(f"note: {printable(sentence)}" for sentence in read_trusted(given)[1])


def add_spread(parser: argparse.ArgumentParser) -> None:
    """Over what the work is spread."""
    add_processes(parser)
    parser.add_argument("--scheduler", metavar="ADDRESS", help="a Dask scheduler whose workers see the same files")


def add_processes(parser: argparse.ArgumentParser) -> None:
    """How many processes work."""
    parser.add_argument(
        "--processes", type=_count, default=0, metavar="N", help="local worker processes; default: one for each core"
    )


def _count(text: str) -> int:
    number = int(text)
    if not 1 <= number <= MOST_PROCESSES:
        raise ValueError
    return number
