"""``schema``: the JSON Schema of a kind of file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer

if TYPE_CHECKING:
    import argparse

DOES = "print the JSON Schema of a kind of file, for an editor or a program"
EXAMPLE = "reportgen schema day > day.schema.json"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    from reportgen.formats.schemas import NAMES

    parser.add_argument("kind", choices=NAMES, metavar="NAME", help=f"one of {', '.join(NAMES)}")
    parser.add_argument("--format", type=int, metavar="N", help="the newest unless told otherwise")


def run(options: argparse.Namespace) -> Answer:
    """Print the JSON Schema of a kind of file."""
    from reportgen.formats.schemas import schema_text

    return Answer(text=schema_text(options.kind, options.format).rstrip("\n"))
