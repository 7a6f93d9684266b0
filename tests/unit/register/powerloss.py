"""A model of what a disk may hold after the power fails: what was synced, and any part of what was not.

Rules, stricter than any one file system: content is safe once its file is synced; a name is safe once its folder is;
everything else may have reached the disk or not, one by one, and a write may have reached it half, or as zeros.
"""

from __future__ import annotations

import contextlib
import itertools
import os
import stat
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unittest import mock

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


@dataclass(frozen=True)
class Step:
    """A change or sync: ``what`` is create, write, cut, link, unlink, replace or sync; ``key`` is what it concerns."""

    what: str
    key: str | int
    inode: int = 0
    offset: int = 0
    data: bytes = b""
    other: str = ""


State = tuple[dict[str, int], dict[int, bytes]]
"""Names with their file, and files with their content."""


@dataclass
class Recorder:
    """Records the changes that a scenario makes in ``root``, by wrapping the calls of ``os``."""

    root: Path
    steps: list[Step] = field(default_factory=list)

    @contextlib.contextmanager
    def active(self) -> Iterator[None]:
        names = ("open", "write", "fsync", "ftruncate", "link", "unlink", "replace")
        with contextlib.ExitStack() as stack:
            for name in names:
                wrapped = getattr(self, f"_{name}")
                real = getattr(os, name)
                stack.enter_context(
                    mock.patch.object(os, name, lambda *args, w=wrapped, r=real, **named: w(r, *args, **named))
                )
            yield

    def _name(self, path: Any) -> str:
        return os.path.relpath(path, self.root)

    def _open(self, real: Callable[..., int], path: Any, flags: int, *rest: Any, **named: Any) -> int:
        fresh = bool(flags & os.O_CREAT) and not os.path.lexists(path)
        descriptor = real(path, flags, *rest, **named)
        if fresh:
            self.steps.append(Step("create", self._name(path), os.fstat(descriptor).st_ino))
        return descriptor

    def _write(self, real: Callable[..., int], descriptor: int, data: Any) -> int:
        before = os.fstat(descriptor)
        taken = real(descriptor, data)
        self.steps.append(Step("write", before.st_ino, before.st_ino, before.st_size, bytes(data)[:taken]))
        return taken

    def _ftruncate(self, real: Callable[..., None], descriptor: int, size: int) -> None:
        real(descriptor, size)
        inode = os.fstat(descriptor).st_ino
        self.steps.append(Step("cut", inode, inode, size))

    def _fsync(self, real: Callable[..., None], descriptor: int) -> None:
        del real  # not really synced: the model decides what is safe
        state = os.fstat(descriptor)
        folder = Path(f"/proc/self/fd/{descriptor}").readlink() if stat.S_ISDIR(state.st_mode) else None
        self.steps.append(Step("sync", self._name(folder) if folder else state.st_ino))

    def _link(self, real: Callable[..., None], part: Any, final: Any) -> None:
        real(part, final)
        self.steps.append(Step("link", self._name(final), Path(final).stat().st_ino))

    def _unlink(self, real: Callable[..., None], path: Any, **named: Any) -> None:
        real(path, **named)
        self.steps.append(Step("unlink", self._name(path)))

    def _replace(self, real: Callable[..., None], part: Any, final: Any) -> None:
        inode = Path(part).stat().st_ino
        real(part, final)
        self.steps.append(Step("replace", self._name(final), inode, other=self._name(part)))


def snapshot(root: Path) -> State:
    """Return what ``root`` holds, as the state that is safe when a scenario begins."""
    names, contents = {}, {}
    for path in sorted(root.rglob("*")):
        if path.is_file():
            inode = path.stat().st_ino
            names[os.path.relpath(path, root)] = inode
            contents[inode] = path.read_bytes()
    return names, contents


def states_after(before: State, steps: list[Step]) -> list[State]:
    """Return the states in which power lost after the last of ``steps`` may leave the disk, without repetitions."""
    pending = [index for index, step in enumerate(steps) if step.what != "sync" and not _is_safe(steps, index)]
    everything = frozenset(pending)
    chosen = [frozenset(kept) for count in range(len(pending) + 1) for kept in itertools.combinations(pending, count)]
    found: list[State] = []
    for kept in chosen:
        for torn in ("", "half", "zeros", "zero start"):
            writes = [index for index in kept if steps[index].what == "write"]
            state = _replayed(before, steps, everything - kept, dict.fromkeys(writes, torn) if torn else {})
            if state not in found:
                found.append(state)
    return found


def _is_safe(steps: list[Step], index: int) -> bool:
    step = steps[index]
    place = step.inode if step.what in {"write", "cut"} else str(Path(str(step.key)).parent)
    return any(later.what == "sync" and later.key == place for later in steps[index + 1 :])


def _replayed(before: State, steps: list[Step], lost: frozenset[int], torn: dict[int, str]) -> State:
    names, contents = dict(before[0]), dict(before[1])
    for index, step in enumerate(steps):
        if step.what == "create":
            contents[step.inode] = b""
        if index in lost or step.what == "sync":
            continue
        if step.what in {"create", "link"}:
            names[str(step.key)] = step.inode
        elif step.what == "unlink":
            names.pop(str(step.key), None)
        elif step.what == "replace":
            names.pop(step.other, None)
            names[str(step.key)] = step.inode
        else:
            contents[step.inode] = _written(contents[step.inode], step, torn.get(index, ""))
    return names, {inode: contents[inode] for inode in names.values()}


def _written(content: bytes, step: Step, torn: str) -> bytes:
    if step.what == "cut":
        return content[: step.offset].ljust(step.offset, b"\0")
    half = len(step.data) // 2
    shapes = {
        "half": step.data[:half],
        "zeros": bytes(len(step.data)),
        "zero start": bytes(half) + step.data[half:],
    }
    return content[: step.offset].ljust(step.offset, b"\0") + shapes.get(torn, step.data)


def materialize(state: State, root: Path) -> None:
    """Write a state into the empty folder ``root``; two names of one file become one file with two names."""
    names, contents = state
    first: dict[int, Path] = {}
    for name, inode in names.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if inode in first:
            os.link(first[inode], path)
        else:
            path.write_bytes(contents[inode])
            first[inode] = path
