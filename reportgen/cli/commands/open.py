"""``open``: a contract folder as pages in a browser on this computer."""

from __future__ import annotations

import contextlib
import sys
import threading
import webbrowser
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.errors import MachineError, UsageError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

DOES = "enter, look at, sign and verify the reports of a contract in a browser on this computer"
EXAMPLE = "reportgen open crane"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("folder", nargs="?", type=Path, default=Path(), metavar="FOLDER", help="default: this folder")
    parser.add_argument("--language", metavar="LANG", help="language of the pages; default: that of the contract")
    parser.add_argument("--starter", action="store_true", help="write a file that opens FOLDER by a double click")
    parser.add_argument("--no-browser", action="store_true", help="print the address and open nothing")


def run(options: argparse.Namespace) -> Answer:
    """Serve the folder until Ctrl-C."""
    from reportgen.browser import open_folder, write_starter
    from reportgen.words.catalogue import catalogue

    if options.language is not None:
        catalogue(options.language)  # refused here where there is none
    folder = options.folder.absolute()
    if not folder.is_dir():
        raise UsageError(f"`{options.folder}` is not a folder", help_text="make it first; it may be empty")

    if options.starter:
        path = write_starter(folder)
        finished(f"`{path}` is written")
        return Answer(data={"starter": str(path)}, text=f"wrote {path}: a double click on it opens the folder")

    def begun(address: Callable[[], str]) -> None:
        print(f"{folder} is open in the browser of this computer, and nowhere else.", flush=True)
        if not options.no_browser:
            webbrowser.open(address())  # a command that does nothing says that it did: the address is told in any case
        _offer(address)
        print("Enter: a new address. Ctrl-C: close.", flush=True)

        def offer_more() -> None:
            with contextlib.suppress(OSError, ValueError):
                for _ in sys.stdin:
                    _offer(address)

        threading.Thread(target=offer_more, daemon=True).start()

    try:
        open_folder(folder, begun, language=options.language)
    except OSError as error:
        raise MachineError(f"no port of this computer can be opened: {error.strerror}") from error
    return Answer(text="closed; everything that was written stands in the day files")


def _offer(address: Callable[[], str]) -> None:
    print(f"If no page has opened, open this address within a minute; it opens once:\n{address()}", flush=True)
