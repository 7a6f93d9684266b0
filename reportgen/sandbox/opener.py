"""The process that opens strangers' files: begun fresh with an empty environment, it forks a child for each file.

It imports what reading needs once, and has never known what its parent knows: passphrases, keys, other files. What is
asked of it came from our own process and is unpickled; what a child answers goes to that process as bytes.
"""

from __future__ import annotations

import contextlib
import gc
import os
import pickle
import signal
import socket
import sys
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import told_of
from reportgen.sandbox.confinement import confine

if TYPE_CHECKING:
    from collections.abc import Callable

FORKED, NOT_FORKED, ENDED, ANOTHER = b"+", b"-", b".", b"&"
SETTINGS: Final = {"OPENBLAS_NUM_THREADS": "1", "PYDANTIC_DISABLE_PLUGINS": "__all__"}
"""All of an environment that stays: a confined child begins no thread, whenever it imports a library of numbers."""
CONFINED, LIMITED = b"c", b"l"


@dataclass(frozen=True, slots=True)
class ChildLimits:
    """What a child may use: bytes of memory over what it starts with, seconds of processor and of the clock, bytes it
    may write to any file, open descriptors.
    """

    memory: int = 1 << 30
    cpu_seconds: int = 21
    wall_seconds: float = 20.0
    written_bytes: int = 64 << 10
    descriptors: int = 64


@dataclass(frozen=True, slots=True)
class ChildTask:
    """What a child does: ``work``, within limits, reading no files but the program's own and what is ``readable``."""

    work: Callable[[], bytes]
    limits: ChildLimits
    readable: tuple[Path, ...] = ()


def serve(number: int) -> None:
    """Fork a child for each socket that comes through the one numbered ``number``, one after the other.

    Each socket brings first what is to be loaded before, then the task, and takes the answer. A child, and all it may
    have begun, ends when the other side says so, or is gone.
    """
    os.environ.clear()
    os.environ.update(SETTINGS)
    served: int | None = number
    can_confine = _tried()
    while served is not None:
        served = _served(served, can_confine=can_confine)


def _served(number: int, *, can_confine: bool) -> int | None:
    """Serve until the other side is gone; where this process is forked as another opener, return that one's socket."""
    with socket.socket(socket.AF_UNIX, fileno=number) as control, contextlib.suppress(ConnectionError):
        control.sendall(CONFINED if can_confine else LIMITED)
        while True:
            word, numbers, _, _ = socket.recv_fds(control, 1, 1)
            if not word:
                return None
            if word == ANOTHER and _is_another(numbers[0]):
                return numbers[0]
            if word == ANOTHER:
                continue
            child = _forked(control, numbers[0], can_confine=can_confine)
            if child is None:
                control.sendall(NOT_FORKED)
                continue
            try:
                control.sendall(FORKED)
                control.recv(1)
            finally:
                _end(child)
            control.sendall(ENDED)
    return None


def _is_another(number: int) -> bool:
    """Fork this opener for the socket numbered ``number``; true in the new one, which nobody waits for."""
    between = os.fork()
    if between == 0:
        if os.fork() != 0:
            os._exit(0)
        return True
    os.waitpid(between, 0)
    os.close(number)
    return False


def _forked(control: socket.socket, number: int, *, can_confine: bool) -> int | None:
    """Return the child that works on what comes through a socket; None, and there the reason, where none could be."""
    with socket.socket(socket.AF_UNIX, fileno=number) as job:
        try:
            _load(job)
            child = os.fork()
        except Exception as fault:  # noqa: BLE001 - whatever it is, the other side is told
            job.sendall(told_of(fault).encode())
            return None
        if child == 0:
            control.close()
            _in_child(job, confined=can_confine)
        return child


def _tried() -> bool:
    """Say whether a child can be confined here: one tries."""
    child = os.fork()
    if child == 0:
        try:
            confine(())
            os._exit(0)
        finally:
            os._exit(1)
    return os.waitpid(child, 0)[1] == 0


def _load(job: socket.socket) -> None:
    """Run what comes first, such as imports; what fails on this machine is left to whoever needs it."""
    size = int.from_bytes(job.recv(4, socket.MSG_WAITALL), "big")
    load: Callable[[], object] = pickle.loads(job.recv(size, socket.MSG_WAITALL))  # noqa: S301 - our own process wrote it
    with contextlib.suppress(OSError):
        load()
    gc.freeze()  # what is loaded stays: no child needs to look through it


def _end(child: int) -> None:
    for end in (os.killpg, os.kill):
        with contextlib.suppress(ProcessLookupError, PermissionError):
            end(child, signal.SIGKILL)
    os.waitpid(child, 0)


def _in_child(job: socket.socket, *, confined: bool) -> None:
    """Take the task, give up what it does not need, work, answer, and end without running anything of the opener's."""
    status = 1
    try:
        os.setpgid(0, 0)
        task: ChildTask = pickle.loads(read_all(job))  # noqa: S301 - our own process wrote it
        limit(task.limits)
        if confined:
            confine(task.readable)
        write_all(job.fileno(), answer(task.work))
        status = 0
    finally:
        os._exit(status)


def read_all(job: socket.socket) -> bytes:
    """Return what comes until the other side has no more."""
    parts = []
    while part := job.recv(1 << 20):
        parts.append(part)
    return b"".join(parts)


def write_all(number: int, told: bytes) -> None:
    """Write to an open file, a pipe or a socket: a confined child may write to one, and send nothing through it."""
    left = memoryview(told)
    while left:
        left = left[os.write(number, left) :]


def answer(work: Callable[[], bytes]) -> bytes:
    """Return what ``work`` returns; nothing that a library says on the way goes anywhere."""
    sys.dont_write_bytecode = True
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return work()


def limit(limits: ChildLimits) -> None:
    """Bound what this process may use; a platform that refuses one limit still has the others."""
    try:
        import resource
    except ImportError:
        return
    bounds: dict[Any, int] = {
        resource.RLIMIT_CORE: 0,
        resource.RLIMIT_CPU: limits.cpu_seconds,
        resource.RLIMIT_FSIZE: limits.written_bytes,
        resource.RLIMIT_NOFILE: limits.descriptors,
        resource.RLIMIT_AS: _address_space() + limits.memory,
    }
    for kind, bound in bounds.items():
        _, hard = resource.getrlimit(kind)
        most = bound if hard == resource.RLIM_INFINITY else min(bound, hard)
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(kind, (most, most))


def _address_space() -> int:
    """Return the bytes of address space in use; 0 where the system does not say (limits then count from nothing)."""
    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    except (OSError, ValueError):
        return 0
    return pages * os.sysconf("SC_PAGE_SIZE")


def once() -> None:
    """Do the task on standard input and write its answer to standard output, where nothing can be forked."""
    out = os.dup(1)
    os.dup2(2, 1)  # what a library prints is no answer
    task: ChildTask = pickle.load(sys.stdin.buffer)  # noqa: S301 - our own process wrote it
    limit(task.limits)
    write_all(out, answer(task.work))
