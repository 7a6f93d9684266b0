"""``issue`` for several day files at once: what became of each, one line each."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from reportgen.cli.terminal import render_json
from reportgen.errors import EXIT_DONE, UsageError

if TYPE_CHECKING:
    import argparse

    from reportgen.pipeline.batch import Outcome


def issue(options: argparse.Namespace) -> int:
    """Issue one day file or many; 0 when every report was written."""
    from reportgen.cli import commands
    from reportgen.cli.output import finished

    if len(options.days) == 1:
        options.day = options.days[0]
        return commands.issue(options)
    if options.output is not None and not options.output.is_dir():
        raise UsageError(
            "for several day files -o names a folder that exists", help_text=f"make the folder `{options.output}` first"
        )
    outcomes = _issued(options)
    for one in outcomes:
        if not one.failure:
            issued = f", issued and registered as {one.number} revision {one.revision}"
            finished(f"`{one.path}` is written{'' if options.identity == 'demo' else issued}")
    if options.json:
        print(render_json({"reports": [_facts(one) for one in outcomes]}))
    else:
        _say(outcomes)
    return max((one.exit_code for one in outcomes), default=EXIT_DONE)


def _issued(options: argparse.Namespace) -> list[Outcome]:
    from reportgen.cli.commands import _instant
    from reportgen.cli.progress import Progress
    from reportgen.cli.signers import SCHEME, signer, timestamp_service
    from reportgen.pipeline.batch import Order, issue_demonstrations, issue_registered
    from reportgen.pipeline.workers import Spread

    spread = Spread(options.processes, options.scheduler)
    if options.identity == "demo":
        if options.timestamp is not None:
            raise UsageError("a demonstration takes no timestamp", help_text="leave --timestamp out")
        order = Order(options.output, options.template, _instant(options))
        with Progress("issued") as progress:
            return issue_demonstrations(options.days, order, spread, progress=progress)
    if options.at is not None or options.output is not None:
        raise UsageError("-o and --at are for one report, or for drafts and demonstrations", help_text="leave them out")
    identity, service = signer(options), timestamp_service(options)
    if options.identity.startswith(SCHEME):
        spread = Spread(1, options.scheduler)  # a session with a token belongs to the process that opened it
    with Progress("issued") as progress:
        return issue_registered(
            options.days, identity, Order(None, options.template), spread, timestamper=service, progress=progress
        )


def _facts(one: Outcome) -> dict[str, Any]:
    if one.failure:
        return {"day": str(one.day), "error": one.failure}
    return {
        "day": str(one.day),
        "file": str(one.path),
        "number": one.number,
        "revision": one.revision,
        "verdict": one.verdict,
        "pages": one.pages,
        "sha256": one.sha256,
    }


def _say(outcomes: list[Outcome]) -> None:
    from reportgen.diagnostics import printable

    for one in outcomes:
        for words in (one.failure and f"{one.day}: {one.failure}", *(f"note: {notice}" for notice in one.notices)):
            if words:
                print(printable(words), file=sys.stderr)
    for one in outcomes:
        if not one.failure:
            print(printable(f"{one.path}: {one.number} revision {one.revision}, {one.verdict}, {one.pages} pages"))
    failed = sum(bool(one.failure) for one in outcomes)
    if failed:
        print(f"{failed} of {len(outcomes)} day files gave no report; the others are written", file=sys.stderr)
