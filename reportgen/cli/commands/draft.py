"""``draft``: the report, unsigned."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.options import add_output, instant

if TYPE_CHECKING:
    import argparse

    from reportgen.cli.answers import Answer

DOES = "write the report unsigned, marked DRAFT on every page"
EXAMPLE = "reportgen draft 2026-05-14.yaml -o draft.pdf"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("day", type=Path, metavar="DAY.yaml")
    add_output(parser, "OUT.pdf; default: the report number with -draft.pdf, in the current folder")


def run(options: argparse.Namespace) -> Answer:
    """Write the report unsigned."""
    from reportgen.cli.progress import Stage
    from reportgen.cli.written import told

    with Stage() as stage:
        from reportgen import pipeline

        written = pipeline.draft(
            options.day, options.output, at=instant(options), template=options.template, tell=stage.tell
        )
    return told(written, "draft")
