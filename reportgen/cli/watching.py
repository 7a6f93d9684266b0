"""``check --watch``: look at the files of a day twice a second, by their times, and check again when one is saved."""

from __future__ import annotations

import contextlib
import re
import sys
import time
from typing import TYPE_CHECKING

from reportgen.cli import terminal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from reportgen.pipeline import Checked

INTERVAL = 0.5
CLEAR = "\x1b[2J\x1b[3J\x1b[H"

_MOST_BYTES = 1 << 20
_NAMES = re.compile(r"[^\s'\"\[\]{},:#]+\.(?:ya?ml|csv|jpe?g|png)\b", re.IGNORECASE)

State = tuple[int, int, int] | None


def watch(
    check_all: Callable[[], tuple[int, set[Path]]],
    *,
    quiet: bool = False,
    sleep: Callable[[float], object] = time.sleep,
) -> int:
    """Check, then again after every change, until Ctrl-C or until nobody reads; return the last exit code.

    ``check_all`` checks and returns its exit code and the files it depends on. ``quiet`` leaves out everything that is
    not its own output.
    """
    code = 0
    try:
        while True:
            if terminal.on_terminal() and not quiet:
                print(CLEAR, end="", flush=True)
            code, files = check_all()
            seen = _states(files)
            if not quiet:
                print(f"\nwatching {len(files)} files; Ctrl-C ends", flush=True)
            if getattr(sys.stdout, "unread", False):
                return code
            _until_changed(seen, sleep)
    except KeyboardInterrupt:
        if not quiet:
            print(flush=True)
        return code


def _until_changed(seen: dict[Path, State], sleep: Callable[[float], object]) -> None:
    """Return when a file differs and has stopped changing: an editor may write it in several steps."""
    before = seen
    while True:
        sleep(INTERVAL)
        present = _states(seen)
        if present != seen and present == before:
            return
        before = present


def _states(files: Iterable[Path]) -> dict[Path, State]:
    """Return what tells a saved file from the one before; None while there is no such file."""
    states: dict[Path, State] = dict.fromkeys(files)
    for file in states:
        with contextlib.suppress(OSError):
            found = file.stat()
            states[file] = found.st_mtime_ns, found.st_size, found.st_ino
    return states


def named_files(day: Path, checked: Checked | None) -> set[Path]:
    """Return the files that a day depends on: those it was made from, or where it could not be read, all it names.

    In the second case the names are taken from the text of the day file and of the project files it names, so that a
    file that was missing is noticed when it appears.
    """
    folder = day.parent
    if checked is not None:
        return {day, *(folder / file.name for file in checked.job.files)}
    named = {folder / name for name in _names_in(day)}
    projects = [file for file in named if file.suffix.lower() in (".yaml", ".yml")]
    return {day, *named, *(folder / name for file in projects for name in _names_in(file))}


def _names_in(file: Path) -> list[str]:
    try:
        with file.open("rb") as stream:
            text = stream.read(_MOST_BYTES).decode("utf-8", errors="replace")
    except OSError:
        return []
    return _NAMES.findall(text)
