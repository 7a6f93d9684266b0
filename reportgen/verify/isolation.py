"""A stranger's file, opened only in a child process with limits on memory, time, files and descriptors.

The parent reads bytes and a verdict as JSON, never the PDF. The child inherits what is injected, judges and ends.
"""

from __future__ import annotations

import contextlib
import json
import multiprocessing
import os
import select
import signal
import sys
import time
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.errors import UsageError
from reportgen.verify import trust
from reportgen.verify.steps import unreadable, verify_report
from reportgen.verify.verdict import Reason, Step, Verification, from_plain

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

Mode = Literal["fork", "spawn"]

_NOT_LIMITED = "this platform has no limits on memory: only the time was bounded, in a child process"


@dataclass(frozen=True, slots=True)
class Limits:
    """What the child may use: bytes of memory over what it starts with, seconds of processor and of the clock, the
    largest file it may be given, bytes it may write to any file, open descriptors.
    """

    memory: int = 1 << 30
    cpu_seconds: int = 20
    wall_seconds: float = 25.0
    input_bytes: int = 256 << 20
    written_bytes: int = 64 << 10
    descriptors: int = 64


def available_mode() -> Mode:
    """Return ``fork`` where a child can be forked with limits, else ``spawn``: a fresh process with a time-out."""
    return "fork" if hasattr(os, "fork") and sys.platform != "win32" else "spawn"


def verify_file(
    path: Path, *, at: datetime, limits: Limits | None = None, mode: Mode | None = None, **injected: Any
) -> Verification:
    """Return the verdict on the file at ``path``, reached in a child process; see ``verify_report`` for ``injected``.

    Raises ``UsageError`` when the file cannot be read or is too large, or a root is unusable. Where no child can be
    forked the injected callables must be importable, and step 1 says that memory was not limited.
    """
    pdf = _read(Path(path), limits or Limits())
    return verify_bytes(pdf, at=at, limits=limits, mode=mode, **injected)


def verify_bytes(
    pdf: bytes, *, at: datetime, limits: Limits | None = None, mode: Mode | None = None, **injected: Any
) -> Verification:
    """Return the verdict on bytes, reached in a child process; as ``verify_file``."""
    limits = limits or Limits()
    roots = trust.read_roots(injected.get("roots", ()))
    injected["roots"] = tuple(root.public_bytes(Encoding.DER) for root in roots)
    if (mode or available_mode()) == "fork":
        return _forked(pdf, at, limits, injected)
    return _spawned(pdf, at, limits, injected)


def _read(path: Path, limits: Limits) -> bytes:
    try:
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(descriptor, "rb") as stream:
            if not path.is_file():
                raise UsageError(f"{path} is not a file")
            pdf = stream.read(limits.input_bytes + 1)
    except OSError as reason:
        raise UsageError(f"{path} cannot be read: {reason.strerror}") from reason
    if len(pdf) > limits.input_bytes:
        raise UsageError(f"{path} is larger than {limits.input_bytes >> 20} MiB")
    return pdf


def _verdict(pdf: bytes, at: datetime, injected: dict[str, Any]) -> bytes:
    """Return the verdict as JSON; in the child anything unexpected, memory included, is the file's fault."""
    try:
        answer = verify_report(pdf, at=at, **injected)
    except MemoryError:
        answer = unreadable(pdf, at, Reason("RESOURCE_LIMIT", "reading the file needs more memory than it is given"))
    except RecursionError:
        answer = unreadable(pdf, at, Reason("FORMAT_FAILURE", "the file's structure is nested without end"))
    return json.dumps(answer.plain()).encode()


def _forked(pdf: bytes, at: datetime, limits: Limits, injected: dict[str, Any]) -> Verification:
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        # threads of the parent (numerical libraries) are not used by the child, which only judges and ends
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if child == 0:  # pragma: no cover - the child ends without reporting; its lines are tested by themselves
        _in_child(writing, limits, lambda: _verdict(pdf, at, injected))
    os.close(writing)
    try:
        answer, in_time = _collect(reading, limits.wall_seconds)
    finally:
        os.close(reading)
        if not _ended(child):
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
    return _understood(answer, pdf, at, in_time=in_time)


def _in_child(writing: int, limits: Limits, judge: Callable[[], bytes]) -> None:
    """Limit this process, judge, write the verdict to the pipe and end without running anything of the parent's."""
    status = 1
    try:
        os.closerange(3, writing)
        os.closerange(writing + 1, writing + 4096)
        _limit(limits)
        answer = memoryview(judge())
        while answer:
            answer = answer[os.write(writing, answer) :]
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
    """Return what the child wrote until it closed the pipe, and whether it did so in time."""
    parts: list[bytes] = []
    deadline = time.monotonic() + seconds
    while True:
        ready, _, _ = select.select([reading], [], [], max(deadline - time.monotonic(), 0))
        if not ready:
            return b"".join(parts), False
        part = os.read(reading, 1 << 16)
        if not part:
            return b"".join(parts), True
        parts.append(part)


def _ended(child: int) -> bool:
    """Say whether the child has ended; waits a moment for one that has just closed its pipe."""
    for _ in range(100):
        done, _ = os.waitpid(child, os.WNOHANG)
        if done:
            return True
        time.sleep(0.001)
    return False


def _spawned(pdf: bytes, at: datetime, limits: Limits, injected: dict[str, Any]) -> Verification:
    context = multiprocessing.get_context("spawn")
    receiving, sending = context.Pipe(duplex=False)
    child = context.Process(target=_send_verdict, args=(sending, pdf, at, injected), daemon=True)
    child.start()
    sending.close()
    in_time = receiving.poll(limits.wall_seconds)
    answer = b""
    with contextlib.suppress(EOFError):
        answer = receiving.recv_bytes() if in_time else b""
    receiving.close()
    child.kill()
    child.join()
    return _with_note(_understood(answer, pdf, at, in_time=in_time))


def _send_verdict(sending: Any, pdf: bytes, at: datetime, injected: dict[str, Any]) -> None:
    sending.send_bytes(_verdict(pdf, at, injected))


def _with_note(verification: Verification) -> Verification:
    first = verification.steps[0]
    noted = Step(first.number, first.status, first.reasons, (*first.details, _NOT_LIMITED))
    return Verification(
        **{
            name: getattr(verification, name)
            for name in ("sha256", "size", "verified_at", "signers", "unfilled_fields", "versions")
        },
        steps=(noted, *verification.steps[1:]),
    )


def _understood(answer: bytes, pdf: bytes, at: datetime, *, in_time: bool) -> Verification:
    if not in_time:
        return unreadable(pdf, at, Reason("RESOURCE_LIMIT", "reading the file takes longer than it is given"))
    try:
        return from_plain(json.loads(answer))
    except (ValueError, KeyError, TypeError):
        return unreadable(pdf, at, Reason("RESOURCE_LIMIT", "reading the file ended the process that read it"))
