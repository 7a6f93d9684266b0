"""``renew``: a report that outlives the certificates it was signed with."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_language, add_revocation, add_timestamp, add_trust, passed_over
from reportgen.cli.output import finished
from reportgen.cli.terminal import wrapped
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS, UsageError

if TYPE_CHECKING:
    import argparse
    import datetime as dt

    from reportgen.pipeline.renewing import Renewed

DOES = "append validation data and a timestamp, so that reports still verify when their certificates end"
EXAMPLE = """reportgen renew archive --due 12months --trust authority.pem
reportgen renew archive --due 12months --trust authority.pem --timestamp https://time.example.org --into renewed"""

_DAYS = {"day": 1, "month": 30, "year": 365}
_SPAN = re.compile(r"(\d{1,4}) ?(day|month|year)s?")


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("reports", nargs="+", type=Path, metavar="REPORT.pdf", help="reports, or folders of them")
    add_trust(parser)
    add_timestamp(parser)
    add_revocation(parser)
    parser.add_argument("--into", type=Path, metavar="FOLDER", help="a folder for the renewed files, by the same names")
    parser.add_argument(
        "--due", type=_span, metavar="TIME", help="only those whose proof ends within this time, such as 12months"
    )
    add_language(parser, "of the answer")


def _span(text: str) -> dt.timedelta:
    import datetime as dt

    found = _SPAN.fullmatch(text.strip())
    if found is None:
        raise ValueError
    return dt.timedelta(days=int(found[1]) * _DAYS[found[2]])


def run(options: argparse.Namespace) -> Answer:
    """Renew reports, or say which are due; 1 where one is not renewed, or what is renewed does not pass."""
    from reportgen.cli.progress import Progress
    from reportgen.cli.signers import timestamp_service
    from reportgen.pipeline.renewing import Order, renew
    from reportgen.verification.policy import read_crl, read_ocsp

    if (options.into is None) != (options.timestamp is None):
        lacking = "--timestamp URL" if options.timestamp is None else "--into FOLDER"
        raise UsageError(
            f"a renewal needs {lacking} too", help_text="leave out both to see when the proof of each report ends"
        )
    notes = passed_over(options.trust)
    data = {"crls": tuple(map(read_crl, options.crl)), "ocsps": tuple(map(read_ocsp, options.ocsp))}
    service, trust = timestamp_service(options), tuple(options.trust)
    order = Order(options.into, service, trust, options.policy, options.due, **data)
    with Progress("renewed") as progress:
        found = renew(options.reports, order, progress=progress)
    for one in found:
        if one.out is not None:
            finished(f"`{one.out}` is written")
    lines = [line for one in found for line in wrapped(_said(one, options.language))]
    bad = any(one.state == "not renewed" or one.why for one in found)
    return Answer(
        code=EXIT_FINDINGS if bad else EXIT_DONE,
        data=[_data(one) for one in found],
        text="\n".join(lines),
        notes=notes,
    )


def _said(one: Renewed, language: str) -> str:
    from reportgen.words.told import said, told

    until = told("renewal-holds", until=one.holds_until[:10]) if one.holds_until else told("renewal-unproven")
    became = {
        "renewed": told("renewal-written", number=one.number, out=str(one.out), until=until),
        "due": until,
        "not due": until,
        "not renewed": told("renewal-none"),
    }[one.state]
    return said(told("renewal-of", file=str(one.report), what=became, why=one.why, failed=one.failed), language)


def _data(one: Renewed) -> dict[str, object]:
    told = {
        "file": str(one.report),
        "state": one.state,
        "holds_until": one.holds_until,
        "renewed_file": None if one.out is None else str(one.out),
        "renewal": one.number or None,
        "why": "; ".join(one.why) or None,
        "not_answered": list(one.failed) or None,
    }
    return {key: value for key, value in told.items() if value is not None}
