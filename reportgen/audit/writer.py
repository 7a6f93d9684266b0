"""One audit at a time writes an index: a lock file beside it says which one, and ends with its process."""

from __future__ import annotations

import json
import os
import platform
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from reportgen import atomicfile
from reportgen.errors import MachineError
from reportgen.issued import shown_name
from reportgen.register.lock import close_locked, open_locked

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

PATIENCE = 2.0
"""Seconds to wait for another audit, which may be just about to end."""
_LONGEST = 4096


@contextmanager
def only_writer(index: Path, since: str, patience: float = PATIENCE) -> Iterator[None]:
    """Keep other audits off ``index`` while the ``with`` block lasts; ``since`` is when this one began.

    The lock is the system's, so that a killed audit leaves none behind, whatever its file still says.

    Raises:
        MachineError: another audit holds it, named by process, machine and when it began.
    """
    path = index.with_name(f"{index.name}.lock")
    try:
        descriptor = open_locked(path, patience)
    except MachineError as refusal:
        if refusal.__cause__ is not None:
            raise  # the file system has no locks: nobody holds it
        raise _held(index, path) from refusal
    except OSError as error:
        raise atomicfile.refusal(error, index) from error
    try:
        holder = {"process": os.getpid(), "machine": platform.node(), "since": since}
        os.ftruncate(descriptor, 0)
        atomicfile.write_all(descriptor, json.dumps(holder).encode())
        yield
    finally:
        os.ftruncate(descriptor, 0)
        close_locked(descriptor, path)


def _held(index: Path, lock: Path) -> MachineError:
    """Return who holds the lock, as far as its file says."""
    try:
        with lock.open("rb") as stream:
            holder: Any = json.loads(stream.read(_LONGEST))
        who = f": process {int(holder['process'])} on {holder['machine']} since {holder['since']}"
    except (OSError, ValueError, KeyError, TypeError):
        who = ""
    return MachineError(
        f"another audit is writing {shown_name(index)}{who}; nothing was changed",
        help_text="wait until it has ended, or name another index with --index; `audit query` may be asked meanwhile",
    )
