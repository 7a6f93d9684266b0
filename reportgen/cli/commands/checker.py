"""``checker``: the page with which anyone can check a report in a browser."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.cli.terminal import wrapped

if TYPE_CHECKING:
    import argparse

DOES = "write the page with which anyone can check a report in a browser, with nothing installed"
EXAMPLE = "reportgen checker -o check.html"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("-o", "--output", type=Path, metavar="PAGE.html", default=Path("check.html"))


def run(options: argparse.Namespace) -> Answer:
    """Write the page, and tell its SHA-256."""
    import hashlib

    from reportgen import __version__
    from reportgen.atomicfile import write_replacing
    from reportgen.checker import checker_page

    page = checker_page()
    write_replacing(options.output, page)
    finished(f"`{options.output}` is written")
    digest = hashlib.sha256(page).hexdigest()
    said = f"{options.output}: checks reports in a browser, offline"
    advice = (
        "Publish it, and the fingerprints of your roots, where your clients look for them; "
        "do not send it with a report, since whoever forges one can forge the other."
    )
    return Answer(
        data={"file": str(options.output), "release": __version__, "bytes": len(page), "sha256": digest},
        text="\n".join([*wrapped(said), f"  SHA-256 {digest}", *wrapped(advice)]),
    )
