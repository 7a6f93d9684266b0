"""What SQLite raises about an index, as the error that says what is wrong, who holds it, and what to do."""

from __future__ import annotations

import os
import sqlite3
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.diagnostics import printable
from reportgen.errors import MachineError, UsageError
from reportgen.issued import shown_name

if TYPE_CHECKING:
    from collections.abc import Iterator

_LOCKED = frozenset({sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED})
_LOCKS = Path("/proc/locks")
"""Where Linux lists who locks which file; other systems tell nobody but an administrator."""


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Turn what SQLite raises about the file into the error that says so."""
    try:
        yield
    except sqlite3.OperationalError as fault:
        code = getattr(fault, "sqlite_errorcode", None)
        if code == sqlite3.SQLITE_ERROR:
            raise  # a mistake of ours in a statement
        if code is None:  # the library refused text that is none
            raise _no_index(path) from fault
        if code & 0xFF in _LOCKED:  # the lower byte is the kind
            holders = ", ".join(_holders(path)) or "another program"
            raise MachineError(
                f"the index {shown_name(path)} is locked by {holders}",
                help_text="close the index there, such as in a database browser, and run the same command again;"
                " or name another index with --index",
            ) from fault
        raise MachineError(f"the index {shown_name(path)} cannot be used: {fault}") from fault
    except sqlite3.DatabaseError as fault:
        raise _no_index(path) from fault


def _no_index(path: Path) -> UsageError:
    return UsageError(f"{shown_name(path)} is not the index of an audit")


def _holders(path: Path) -> list[str]:
    """Return the processes that lock the index or a file beside it, where the system says so."""
    if sys.platform == "win32":  # no locks of others are told there
        return []
    files = set()
    for name in (path, *(path.with_name(f"{path.name}{suffix}") for suffix in ("-wal", "-shm"))):
        try:
            status = name.stat()
            files.add(f"{os.major(status.st_dev):02x}:{os.minor(status.st_dev):02x}:{status.st_ino}")
        except OSError:
            continue
    found: dict[int, None] = {}
    try:
        for line in _LOCKS.read_text("ascii").splitlines():
            # 1: POSIX  ADVISORY  WRITE 4711 08:01:123456 0 EOF (proc(5)); one that waits has an arrow
            words = line.replace("-> ", "").split()
            if words[5] in files and int(words[4]) > 0:
                found[int(words[4])] = None
    except (OSError, ValueError, IndexError):
        return []
    return [_process(number) for number in found if number != os.getpid()]


def _process(number: int) -> str:
    try:
        name = Path(f"/proc/{number}/comm").read_text("utf-8", "replace").strip()
    except OSError:
        return f"process {number}"
    return f"process {number} ({printable(name)})"
