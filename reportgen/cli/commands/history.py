"""``history``: what the reports of an audited folder say of one area, gauge or number, in the order of time."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.asking import add_filters, answer_told, asked_by, index_of, written
from reportgen.cli.options import add_language

if TYPE_CHECKING:
    import argparse

DOES = "tell the history of one area, gauge or report number from a folder that was audited"
EXAMPLE = "reportgen history archive/ --area A-12 -o a-12.pdf"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("folder", type=Path, metavar="FOLDER|INDEX", help="a folder that was audited, or its index")
    parser.add_argument("-o", "--output", type=Path, metavar="OUT", help="a new file: .pdf, .html or .xlsx")
    add_language(parser)
    add_filters(parser)


def run(options: argparse.Namespace) -> Answer:
    """Tell the history; write it where that is asked for."""
    from reportgen.pipeline.asking import new_file, plain_answer
    from reportgen.pipeline.recounting import history, history_files

    out = options.output and new_file(options.output, (".pdf", ".html", ".xlsx"))
    asked, _ = asked_by(options)
    found = history(index_of(options.folder), asked)
    later = f"note: a later audit has not come to its end; this is the answer of that of {found.at}"
    notes = () if found.finished else (later,)
    if out:
        return written(history_files(found, out, options.language), notes)
    told = (f"{name}:\n{answer_told(name, one, options.language)}" for name, one in found.answers.items())
    data = {name: plain_answer(one) for name, one in found.answers.items()}
    return Answer(data=data, text="\n\n".join(told), notes=notes)
