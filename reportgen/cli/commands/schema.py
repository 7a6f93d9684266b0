"""``schema``: the JSON Schema of a kind of file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer

if TYPE_CHECKING:
    import argparse

DOES = "print the JSON Schema of project or day files, for completion and checking in an editor"
EXAMPLE = "reportgen schema day > day.schema.json"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("kind", choices=("project", "day"))


def run(options: argparse.Namespace) -> Answer:
    """Print the JSON Schema of a kind of file."""
    from reportgen.pipeline import onsite

    return Answer(text=onsite.schema_text(options.kind).rstrip("\n"))
