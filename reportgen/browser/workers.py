"""Two plain processes that do the work of the pages: the server itself has threads, and never forks.

The quick one looks and writes, the slow one draws, signs and verifies, and has the children that open a stranger's
file. Each does one thing after another, so that the quick one is the one queue of the folder. They are begun fresh, and
end with the pipe to the server, however that ends.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import pickle
import signal
import struct
import subprocess
import sys
import threading
import traceback
from typing import IO, TYPE_CHECKING, Any, Final, Protocol, TypeVar

from reportgen.errors import MachineError
from reportgen.sandbox import fresh_program

if TYPE_CHECKING:
    from collections.abc import Callable

R = TypeVar("R")

PATIENCE: Final = 5.0
"""Seconds that a worker has to finish what it does when the server ends."""
_LENGTH: Final = struct.Struct(">Q")
_NO_WINDOW: Final = getattr(subprocess, "CREATE_NO_WINDOW", 0)


class Workers(Protocol):
    """What the pages ask for work."""

    async def quick(self, work: Callable[..., R], *args: object) -> R:
        """Return what an importable function answers, and raise what it raises; in the order asked."""
        ...

    async def slow(self, work: Callable[..., R], *args: object) -> R:
        """Do the same for what takes longer than a person wants to wait for the next key."""
        ...


class Processes:
    """Two processes; one that dies is replaced, and what it was doing is said to be undone."""

    def __init__(self) -> None:
        self._quick, self._slow = _Process(), _Process()

    async def quick(self, work: Callable[..., R], *args: object) -> R:
        """Return what the quick process answers."""
        return await asyncio.to_thread(self._quick.answer, work, args)

    async def slow(self, work: Callable[..., R], *args: object) -> R:
        """Return what the slow process answers."""
        return await asyncio.to_thread(self._slow.answer, work, args)

    def stop(self) -> None:
        """End both; what is being written is finished or was never begun."""
        for one in (self._quick, self._slow):
            one.stop()


class _Process:
    """One worker and the pipes to it."""

    def __init__(self) -> None:
        self._turn = threading.Lock()
        self._child = _begun()

    def answer(self, work: Callable[..., Any], args: tuple[object, ...]) -> Any:
        """Have a function called there, when it is its turn."""
        with self._turn:
            if self._child.poll() is not None:
                self._child = _begun()
            assert self._child.stdin is not None  # noqa: S101 - it is a pipe
            assert self._child.stdout is not None  # noqa: S101 - it is a pipe
            try:
                _send(self._child.stdin, (work, args))
                done, outcome = _received(self._child.stdout)
            except (EOFError, OSError):
                self._child.kill()
                self.stop()
                raise MachineError("the process at work ended", help_text="do it once more") from None
        if not done:
            raise outcome
        return outcome

    def stop(self) -> None:
        """Close the pipes to it, which ends it when it is done."""
        for pipe in (self._child.stdin, self._child.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()
        try:
            self._child.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            self._child.kill()
            self._child.wait()


def _begun() -> subprocess.Popen[bytes]:
    """Return a process of this very program, started from scratch: a copy would hold our sockets and threads."""
    command = fresh_program("reportgen.browser.workers", "serve()")
    return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, creationflags=_NO_WINDOW)


def serve() -> None:
    """Do what is asked through standard input until it ends; what is printed meanwhile goes to standard error."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which ends us
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    import reportgen.pipeline  # noqa: F401 - nearly every answer needs it: loaded while the browser starts

    with contextlib.suppress(EOFError, OSError):
        while True:
            work, args = _received(sys.stdin.buffer)
            try:
                outcome = (True, work(*args))
            except Exception as error:  # noqa: BLE001 - the page that asked hears of it
                error.add_note("".join(traceback.format_tb(error.__traceback__)))  # where, and no value
                outcome = (False, error)
            del work, args  # a passphrase among them is gone before the next waits
            _send(answers, outcome)


def _send(stream: IO[bytes], what: object) -> None:
    data = pickle.dumps(what)
    stream.write(_LENGTH.pack(len(data)) + data)
    stream.flush()


def _received(stream: IO[bytes]) -> Any:
    head = stream.read(_LENGTH.size)
    if len(head) < _LENGTH.size:
        raise EOFError
    (length,) = _LENGTH.unpack(head)
    return pickle.loads(stream.read(length))  # noqa: S301 - our own process wrote it
