"""A stranger's file is parsed in a child process with limits; the parent sees only the bytes it answers.

Where a child can be forked, its memory, processor time and files are bounded; elsewhere a fresh process is started and
only its time is.
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
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import ReportgenError, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable

MEMORY: Final = 1 << 30
SECONDS: Final = 20.0
ANSWER_LIMIT: Final = 96 << 20

_DONE, _REFUSED, _FAILED = b"+", b"-", b"!"
_BREAK: Final = "\x1f"


def confined(work: Callable[[], bytes], what: str, *, seconds: float = SECONDS, memory: int = MEMORY) -> bytes:
    """Return what ``work`` returns, run in a child process; ``what`` names the file in messages, such as ``sheet.pdf``.

    ``work`` must be importable (a function, or a ``functools.partial`` of one) where no child can be forked.

    Raises:
        UsageError: the one that ``work`` raised; or, for anything else that ended it, that the file cannot be read.
    """
    if hasattr(os, "fork") and sys.platform != "win32":
        answer, in_time = _forked(work, seconds, memory)
    else:
        answer, in_time = _spawned(work, seconds)
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


def _forked(work: Callable[[], bytes], seconds: float, memory: int) -> tuple[bytes, bool]:
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # the child uses no thread of the parent's
        child = os.fork()
    if child == 0:
        _in_child(work, writing, seconds, memory)
    os.close(writing)
    try:
        return _collect(reading, seconds)
    finally:
        os.close(reading)
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


def _in_child(work: Callable[[], bytes], writing: int, seconds: float, memory: int) -> None:
    """Limit this process, work, answer through the pipe, and end without running anything of the parent's."""
    try:
        _limit(int(seconds) + 1, memory)
        warnings.simplefilter("ignore")
        left = memoryview(_answer(work))
        while left:
            left = left[os.write(writing, left) :]
    finally:
        os._exit(0)


def _limit(seconds: int, memory: int) -> None:
    import resource

    sys.dont_write_bytecode = True
    bounds = {
        resource.RLIMIT_CORE: 0,
        resource.RLIMIT_CPU: seconds,
        resource.RLIMIT_FSIZE: 64 << 10,
        resource.RLIMIT_AS: _address_space() + memory,
    }
    for kind, bound in bounds.items():
        with contextlib.suppress(ValueError, OSError):  # a platform that refuses one limit still has the others
            resource.setrlimit(kind, (bound, bound))


def _address_space() -> int:
    """Return the bytes of address space in use, 0 where the system does not say."""
    try:
        return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, ValueError):
        return 0


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
    sending.send_bytes(_answer(work))
