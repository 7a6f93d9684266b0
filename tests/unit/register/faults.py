"""Failing operating-system calls, killed processes and lost power, and what must hold after each.

The calls of ``os`` are wrapped while a scenario runs; the code under test knows nothing of it.
"""

from __future__ import annotations

import contextlib
import errno
import os
import signal
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest import mock

from reportgen.errors import ReportgenError, UsageError
from reportgen.register import Register, check_register, read_register
from tests.unit.register import samples

CALLS = (
    "open", "close", "read", "write", "fsync", "ftruncate", "lseek", "fstat", "stat", "lstat", "listdir", "link",
    "unlink", "replace",
)  # fmt: skip
CHANGING = {"open", "write", "fsync", "ftruncate", "link", "unlink", "replace"}

FAULTS = (
    "ENOSPC",
    "EIO",
    "EROFS",
    "EACCES",
    "done but EIO",
    "short",
    "half then ENOSPC",
    "full disk",
    "read-only disk",
)
"""Nine kinds: four refusals of one call; a call that succeeds and says it did not; a call that takes half of what it is
given; one that takes half and fails; every later write refused; every later change refused.
"""
ONLY = {"short": {"write", "read"}, "half then ENOSPC": {"write"}, "killed half": {"write"}}
"""Kinds that only some calls can suffer; the others are then not counted."""
KILLS = ("killed before", "killed after", "killed half")


@dataclass
class Injector:
    """Replaces the calls of ``os``; at call number ``at`` the fault ``kind`` happens. Counts calls in ``seen``."""

    at: int = -1
    kind: str = ""
    seen: list[str] = field(default_factory=list)
    struck: bool = False

    @contextlib.contextmanager
    def active(self) -> Iterator[None]:
        with contextlib.ExitStack() as stack:
            for name in CALLS:
                stack.enter_context(mock.patch.object(os, name, self._wrapped(name, getattr(os, name))))
            yield

    def _wrapped(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **named: Any) -> Any:
            if name not in ONLY.get(self.kind, CALLS):
                return real(*args, **named)
            index = len(self.seen)
            self.seen.append(name)
            if self._refused_for_good(name, args, index):
                raise OSError(errno.EROFS if self.kind == "read-only disk" else errno.ENOSPC, "injected")
            if index != self.at:
                return real(*args, **named)
            self.struck = True
            return self._strike(name, real, args, named)

        return call

    def _refused_for_good(self, name: str, args: tuple[Any, ...], index: int) -> bool:
        if index < self.at:
            return False
        creates = name == "open" and bool(args[1] & (os.O_CREAT | os.O_WRONLY))
        if self.kind == "full disk":
            hit = name in {"write", "link"} or creates
        elif self.kind == "read-only disk":
            hit = (name in CHANGING and name != "open") or creates
        else:
            return False
        self.struck = self.struck or hit
        return hit

    def _strike(self, name: str, real: Callable[..., Any], args: tuple[Any, ...], named: dict[str, Any]) -> Any:
        if self.kind == "short" and name == "read":
            return real(args[0], max(1, args[1] // 2))
        half = self.kind in ONLY
        if self.kind == "killed before":
            os.kill(os.getpid(), signal.SIGKILL)
        if self.kind == "killed after":
            with contextlib.suppress(OSError):
                real(*args, **named)
            os.kill(os.getpid(), signal.SIGKILL)
        if self.kind == "done but EIO" or (name == "close" and not self.kind.startswith("killed")):
            answer = real(*args, **named)
        elif half:
            answer = real(args[0], bytes(args[1])[: max(1, len(args[1]) // 2)])
        else:
            answer = None
        if self.kind.startswith("killed"):
            os.kill(os.getpid(), signal.SIGKILL)
        if self.kind == "short":
            return answer
        codes = {"half then ENOSPC": "ENOSPC", "done but EIO": "EIO", "full disk": "ENOSPC", "read-only disk": "EROFS"}
        raise OSError(getattr(errno, codes.get(self.kind, self.kind)), "injected", *self._path(name, args))

    def _path(self, name: str, args: tuple[Any, ...]) -> tuple[str, ...]:
        return (str(args[0]),) if name in {"open", "stat", "lstat", "link", "unlink", "replace", "listdir"} else ()


Scenario = Callable[[Path], None]


def issue_second(folder: Path) -> None:
    """Issue AB-12-002 in a folder in which AB-12-001 is issued."""
    with Register.open(folder, clock=samples.clock, pattern=samples.PATTERN) as register:
        samples.issue(register, folder, "AB-12-002")


def issue_first(folder: Path) -> None:
    """Issue AB-12-001 into a sub-folder of a folder without a register."""
    with Register.open(folder, clock=samples.clock, pattern=samples.PATTERN) as register:
        samples.issue(register, folder, "AB-12-001", file="reports/AB-12-001-r0.pdf")


def violations(folder: Path, number: str, file: str, *, acknowledged: bool) -> list[str]:
    """Return what is wrong after a run that should have issued ``number`` as ``file`` was interrupted or failed.

    The next run must find a register it accepts; the report whole and issued, or absent and not issued, or, where the
    interrupted run answered "issued", issued; nothing else left behind; and the number can be issued exactly once.
    """
    target = folder / file
    try:
        with Register.open(folder, clock=samples.clock, pattern=samples.PATTERN, patience=1) as register:
            pass
    except ReportgenError as error:
        return [f"the next run refuses: {error.message}"]
    found = _disagreement(folder, number, target, acknowledged=acknowledged)
    try:
        with Register.open(folder, clock=samples.clock, pattern=samples.PATTERN, patience=1) as register:
            samples.issue(register, folder, number, file=file)
            again = True
    except UsageError:
        again = False
    except (ReportgenError, ValueError) as error:
        return [*found, f"the number cannot be issued: {error}"]
    if again and acknowledged:
        found.append("issued twice")
    found += _disagreement(folder, number, target, acknowledged=True)
    return found


def _disagreement(folder: Path, number: str, target: Path, *, acknowledged: bool) -> list[str]:
    if not (folder / "register.jsonl").exists():
        return [f"{number} has a report but no register"] if target.exists() or acknowledged else []
    chain = read_register(folder).chain
    row = chain.issued.get((number, 0))
    found = [problem.message for problem in check_register(folder) if problem.grave]
    if (row is not None) != target.exists():
        found.append(f"report present: {target.exists()}, issued by the register: {row is not None}")
    if acknowledged and row is None:
        found.append("answered issued, then lost")
    if chain.unclosed:
        found.append("an intent is left open")
    return found + [f"left behind: {part.name}" for part in target.parent.glob(".*.part")]


def killed(scenario: Scenario, folder: Path, at: int, kind: str) -> tuple[bool, bool]:
    """Run ``scenario`` in a child that kills itself at call ``at``; returns (was killed, answered issued)."""
    child = os.fork()
    if child == 0:
        code = 1
        try:
            with Injector(at, kind).active():
                scenario(folder)
            code = 0
        finally:
            os._exit(code)
    _, status = os.waitpid(child, 0)
    was_killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    return was_killed, not was_killed and os.WEXITSTATUS(status) == 0
