"""One writer at a time: a lock on the register file itself, waited for with a limit, gone when its process ends."""

from __future__ import annotations

import contextlib
import errno
import importlib
import itertools
import os
import stat
from time import monotonic, sleep
from typing import TYPE_CHECKING

from reportgen.errors import MachineError, UsageError

if TYPE_CHECKING:
    from pathlib import Path

PATIENCE = 30.0
"""Seconds to wait for another issue to end; one takes about a second."""
_PAUSES = (0.002, 0.005, 0.01, 0.02)
_BUSY = {errno.EAGAIN, errno.EWOULDBLOCK, errno.EACCES, errno.EDEADLK}
_LOCKED_BYTE = 0x7FFF0000  # beyond any register: a lock of Windows keeps others from reading what it covers
_FLAGS = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def open_locked(path: Path, patience: float = PATIENCE) -> int:
    """Open ``path`` for reading and appending, created if absent, and lock it; returns the descriptor.

    Raises ``OSError`` when the file cannot be opened, ``UsageError`` when it is not a regular file, ``MachineError``
    when another process keeps the lock for ``patience`` seconds or the file system has no locks.
    """
    deadline = monotonic() + patience
    while True:
        descriptor = os.open(path, _FLAGS, 0o666)
        try:
            _take(descriptor, deadline, path)
            if is_at(descriptor, path):
                return descriptor
            unlock(descriptor)  # the file was replaced or removed meanwhile: its lock keeps nobody out
        except BaseException:
            os.close(descriptor)
            raise
        os.close(descriptor)


def is_at(descriptor: int, path: Path) -> bool:
    """Say whether ``path`` still names the open file."""
    try:
        return os.path.samestat(os.fstat(descriptor), path.stat())
    except FileNotFoundError:
        return False


def close_locked(descriptor: int, path: Path) -> None:
    """Give the lock up and close the file; one in which nothing was ever written is taken away again."""
    with contextlib.suppress(OSError):
        if os.fstat(descriptor).st_size == 0 and is_at(descriptor, path):
            path.unlink()
    with contextlib.suppress(OSError):
        unlock(descriptor)
    with contextlib.suppress(OSError):  # every row is synced already: nothing can fail that matters
        os.close(descriptor)


def _take(descriptor: int, deadline: float, path: Path) -> None:
    """Take the lock, asking again while another process holds it and time is left."""
    if not stat.S_ISREG(os.fstat(descriptor).st_mode):
        raise UsageError(f"`{path}` is not a regular file")
    for attempt in itertools.count():
        try:
            _lock(descriptor, take=True)
        except OSError as error:
            if error.errno not in _BUSY:
                raise MachineError(
                    f"`{path}` cannot be locked: {os.strerror(error.errno or 0)}",
                    help_text="keep the contract folder on a disk that supports file locks",
                ) from error
        else:
            return
        if monotonic() >= deadline:
            raise MachineError(
                f"`{path.name}` is locked by another run that does not end; nothing was written",
                help_text="wait for the other run, or end it",
            )
        sleep(_PAUSES[min(attempt, len(_PAUSES) - 1)])


def unlock(descriptor: int) -> None:
    """Give the lock up, also for child processes that still hold the open file."""
    _lock(descriptor, take=False)


def _lock(descriptor: int, *, take: bool) -> None:
    """Take or give up the lock without waiting: ``flock``, or on Windows a byte beyond the end of the file."""
    try:
        fcntl = importlib.import_module("fcntl")
    except ImportError:
        msvcrt = importlib.import_module("msvcrt")
        os.lseek(descriptor, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK if take else msvcrt.LK_UNLCK, 1)
        return
    fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB if take else fcntl.LOCK_UN)
