"""``sheet``: the field sheet of a day."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.cli.terminal import render_diagnostic, wrapped

if TYPE_CHECKING:
    import argparse

DOES = "write a field sheet for the shift, to print and write on, or to fill in on a tablet"
EXAMPLE = "reportgen sheet 2026-05-14.yaml -o sheet.pdf"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("day", type=Path, metavar="DAY.yaml")
    parser.add_argument(
        "-o", "--output", type=Path, metavar="SHEET.pdf", help="default: the day's name with -sheet.pdf"
    )
    parser.add_argument("--area", action="append", default=[], metavar="ID", help="only these areas; repeatable")
    parser.add_argument("--paper", choices=("a4", "letter"), help="default: the template's")
    parser.add_argument("--language", metavar="LANGUAGE", help="of the sheet, such as `de`; default: the template's")


def run(options: argparse.Namespace) -> Answer:
    """Write the field sheet of a day."""
    from reportgen.pipeline import onsite

    out = options.output or Path(f"{options.day.stem}-sheet.pdf")
    blocks, warnings = onsite.write_sheet(
        options.day, out, areas=options.area, paper=options.paper, language=options.language
    )
    finished(f"`{out}` is written")
    said = f"{out}: field sheet of {options.day}, to print, or to fill in and take in again"
    return Answer(
        data={"file": str(out), "blocks": blocks},
        text="\n".join(wrapped(said)),
        notes=tuple(map(render_diagnostic, warnings)),
    )
