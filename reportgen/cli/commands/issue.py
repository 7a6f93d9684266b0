"""``issue``: the report, signed; or what became of each of many day files, one line each."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_output, add_revocation, add_signer, add_spread, add_timestamp, instant
from reportgen.cli.output import finished
from reportgen.diagnostics import printable
from reportgen.errors import EXIT_DONE, UsageError
from reportgen.names import full_title

if TYPE_CHECKING:
    import argparse

    from reportgen.pipeline.batch import Outcome

DOES = "write the report, signed and final, and enter it in the register"
EXAMPLE = "reportgen issue 2026-05-14.yaml --identity inspector.p12"
_DEMONSTRATION = "demonstration, not valid for issue and not registered"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("days", nargs="+", type=Path, metavar="DAY.yaml", help="one day file, or many at once")
    add_signer(parser, "a PKCS#12 file; `pkcs11:token=NAME?module-path=FILE`; or `demo`: made on the spot, not valid")
    add_timestamp(parser)
    add_revocation(parser)
    add_output(parser, "OUT.pdf; default: the folder `reports` beside the project file")
    add_spread(parser)


def run(options: argparse.Namespace) -> Answer:
    """Issue one day file or many; 0 when every report was written."""
    if options.identity == "demo" and (options.timestamp is not None or options.crl or options.ocsp):
        raise UsageError(
            "a demonstration takes no timestamp and no revocation data",
            help_text="leave --timestamp, --crl and --ocsp out",
        )
    if len(options.days) == 1:
        return _one(options)
    if options.output is not None and not options.output.is_dir():
        raise UsageError(
            "for several day files -o names a folder that exists", help_text=f"make the folder `{options.output}` first"
        )
    lines: list[str] = []
    reports: list[dict[str, Any]] = []
    outcomes, asked = _many(options)
    notes = [*asked]
    for one in outcomes:
        if one.failure:
            notes.append(f"{one.day}: {one.failure}")
            reports.append({"day": str(one.day), "error": one.failure})
        else:
            registered = f", issued and registered as {full_title(one)}"
            finished(f"`{one.path}` is written{registered if options.identity != 'demo' else ''}")
            lines.append(f"{one.path}: {full_title(one)}, {one.verdict}, {one.pages} pages")
            reports.append(
                {
                    "day": str(one.day), "file": str(one.path), "number": one.number, "revision": one.revision,
                    "verdict": one.verdict, "pages": one.pages, "sha256": one.sha256,
                }
            )  # fmt: skip
        notes += [f"note: {notice}" for notice in one.notices]
    failed = sum(bool(one.failure) for one in outcomes)
    if failed:
        notes.append(f"{failed} of {len(outcomes)} day files gave no report; the others are written")
    return Answer(
        code=max((one.exit_code for one in outcomes), default=EXIT_DONE),
        data={"reports": reports},
        text="\n".join(map(printable, lines)),
        notes=tuple(map(printable, notes)),
    )


def _one(options: argparse.Namespace) -> Answer:
    from reportgen.cli.progress import Stage
    from reportgen.cli.written import told

    demonstration = options.identity == "demo"
    if not demonstration and options.at is not None:
        raise UsageError("--at is for drafts and demonstrations", help_text="an issued report bears the time of issue")
    with Stage() as stage:
        from reportgen import pipeline
        from reportgen.cli.signers import sealed_along, signer, timestamp_service

        day, out, given = options.days[0], options.output, {"template": options.template, "tell": stage.tell}
        if demonstration:
            return told(pipeline.issue_demonstration(day, out, at=instant(options), **given), _DEMONSTRATION)
        identity, service = signer(options), timestamp_service(options)
        data, notes = sealed_along(options, identity, service)
        answer = told(pipeline.issue(day, identity, out, timestamper=service, revocation=data, **given), "issued")
        return replace(answer, notes=(*answer.notes, *notes))


def _many(options: argparse.Namespace) -> tuple[list[Outcome], tuple[str, ...]]:
    from reportgen.cli.progress import Progress
    from reportgen.cli.signers import SCHEME, sealed_along, signer, timestamp_service
    from reportgen.pipeline.batch import Order, issue_demonstrations, issue_registered
    from reportgen.pipeline.workers import Spread

    spread = Spread(options.processes, options.scheduler)
    if options.identity == "demo":
        order = Order(options.output, options.template, instant(options))
        with Progress("issued") as progress:
            return issue_demonstrations(options.days, order, spread, progress=progress), ()
    if options.at is not None or options.output is not None:
        raise UsageError("-o and --at are for one report, or for drafts and demonstrations", help_text="leave them out")
    identity, service = signer(options), timestamp_service(options)
    if options.identity.startswith(SCHEME):
        spread = Spread(1, options.scheduler)  # a session with a token belongs to the process that opened it
    data, told = sealed_along(options, identity, service)
    with Progress("issued") as progress:
        order = Order(None, options.template)
        found = issue_registered(
            options.days, identity, order, spread, timestamper=service, revocation=data, progress=progress
        )
        return found, told
