"""A stranger's file is parsed in a child process with limits; the parent sees only the bytes it answers.

Where a child can be forked, its memory, processor time, files and descriptors are bounded; elsewhere a fresh process is
started and only its time is. ``answer_of_child`` is the mechanism, ``confined`` puts its outcome in words.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import select
import signal
import sys
import time
import warnings
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from reportgen.errors import ReportgenError, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable

Mode = Literal["fork", "spawn"]

MEMORY: Final = 1 << 30
SECONDS: Final = 20.0
ANSWER_LIMIT: Final = 96 << 20

_DONE, _REFUSED, _FAILED = b"+", b"-", b"!"
_BREAK: Final = "\x1f"


@dataclass(frozen=True, slots=True)
class Limits:
    """What the child may use: bytes of memory over what it starts with, seconds of processor and of the clock, the
    largest file it may be given, bytes it may write to any file, open descriptors.
    """

    memory: int = MEMORY
    cpu_seconds: int = 20
    wall_seconds: float = 25.0
    input_bytes: int = 256 << 20
    written_bytes: int = 64 << 10
    descriptors: int = 64


def available_mode() -> Mode:
    """Return ``fork`` where a child can be forked with limits, else ``spawn``: a fresh process with a time-out."""
    return "fork" if hasattr(os, "fork") and sys.platform != "win32" else "spawn"


def answer_of_child(work: Callable[[], bytes], limits: Limits, mode: Mode | None = None) -> tuple[bytes, bool]:
    """Return what ``work`` returned in a child process, and whether it did so in time.

    Nothing is returned of an answer over ``ANSWER_LIMIT`` bytes, or when the child ended without one. Where no child
    can be forked (``mode``), ``work`` must be importable: a function, or a ``functools.partial`` of one.
    """
    if (mode or available_mode()) == "fork":
        return _forked(work, limits)
    return _spawned(work, limits.wall_seconds)


def confined(work: Callable[[], bytes], what: str, *, seconds: float = SECONDS, memory: int = MEMORY) -> bytes:
    """Return what ``work`` returns, run in a child process; ``what`` names the file in messages, such as ``sheet.pdf``.

    ``work`` is that of ``answer_of_child``.

    Raises:
        UsageError: the one that ``work`` raised; or, for anything else that ended it, that the file cannot be read.
    """
    limits = Limits(memory=memory, cpu_seconds=int(seconds) + 1, wall_seconds=seconds)
    answer, in_time = answer_of_child(partial(_answer, work), limits)
    if not in_time:
        raise UsageError(f"{what} takes longer to read than {seconds:g} s; it is damaged or made to do so")
    kind, body = answer[:1], answer[1:]
    if kind == _DONE:
        return body
    if kind == _REFUSED:
        message, _, help_text = body.decode("utf-8").partition(_BREAK)
        raise UsageError(message, help_text=help_text or None)
    reason = body.decode("utf-8", "replace") if kind == _FAILED else "reading it ended the process that read it"
    raise UsageError(f"{what} cannot be read: {reason}")


def _answer(work: Callable[[], bytes]) -> bytes:
    """Run the work; in the child anything unexpected is the file's fault."""
    try:
        return _DONE + work()
    except ReportgenError as refusal:
        return _REFUSED + f"{refusal.message}{_BREAK}{refusal.help_text or ''}".encode()
    except MemoryError:
        return _FAILED + b"it needs more memory than it is given"
    except RecursionError:
        return _FAILED + b"it is nested without end"
    except Exception:  # noqa: BLE001 - libraries raise a dozen kinds on damaged files
        return _FAILED + b"it is damaged, or not what its name says"


def _forked(work: Callable[[], bytes], limits: Limits) -> tuple[bytes, bool]:
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        # threads of the parent (numerical libraries) are not used by the child, which only works and ends
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if child == 0:  # pragma: no cover - the child ends without reporting; its lines are tested by themselves
        _in_child(writing, limits, work)
    os.close(writing)
    try:
        return _collect(reading, limits.wall_seconds)
    finally:
        os.close(reading)
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


def _in_child(writing: int, limits: Limits, work: Callable[[], bytes]) -> None:
    """Limit this process, work, answer through the pipe, and end without running anything of the parent's."""
    status = 1
    try:
        os.closerange(3, writing)
        os.closerange(writing + 1, writing + 4096)
        _limit(limits)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            left = memoryview(work())
        while left:
            left = left[os.write(writing, left) :]
        status = 0
    finally:
        os._exit(status)


def _limit(limits: Limits) -> None:
    import resource

    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # each thread of a numerical library reserves address space
    sys.dont_write_bytecode = True
    bounds = {
        resource.RLIMIT_CORE: 0,
        resource.RLIMIT_CPU: limits.cpu_seconds,
        resource.RLIMIT_FSIZE: limits.written_bytes,
        resource.RLIMIT_NOFILE: limits.descriptors,
        resource.RLIMIT_AS: _address_space() + limits.memory,
    }
    for kind, bound in bounds.items():
        _, hard = resource.getrlimit(kind)
        most = bound if hard == resource.RLIM_INFINITY else min(bound, hard)
        with contextlib.suppress(ValueError, OSError):  # a platform that refuses one limit still has the others
            resource.setrlimit(kind, (most, most))


def _address_space() -> int:
    """Return the bytes of address space in use; 0 where the system does not say (limits then count from nothing)."""
    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    except (OSError, ValueError):
        return 0
    return pages * os.sysconf("SC_PAGE_SIZE")


def _collect(reading: int, seconds: float) -> tuple[bytes, bool]:
    """Return what the child wrote until it closed the pipe, and whether it did so in time and in measure."""
    parts: list[bytes] = []
    size = 0
    deadline = time.monotonic() + seconds
    while size <= ANSWER_LIMIT:
        ready, _, _ = select.select([reading], [], [], max(deadline - time.monotonic(), 0))
        if not ready:
            return b"", False
        part = os.read(reading, 1 << 16)
        if not part:
            return b"".join(parts), True
        parts.append(part)
        size += len(part)
    return b"", True


def _spawned(work: Callable[[], bytes], seconds: float) -> tuple[bytes, bool]:
    context = multiprocessing.get_context("spawn")
    receiving, sending = context.Pipe(duplex=False)
    child = context.Process(target=_send, args=(sending, work), daemon=True)
    child.start()
    sending.close()
    in_time = receiving.poll(seconds)
    answer = b""
    with contextlib.suppress(EOFError):
        answer = receiving.recv_bytes() if in_time else b""
    receiving.close()
    child.kill()
    child.join()
    return answer, in_time


def _send(sending: Any, work: Callable[[], bytes]) -> None:
    sending.send_bytes(work())
