"""The work on one file, as a worker does it: read, compare its hash with what is known, examine in a child."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.errors import UsageError
from reportgen.issued import (
    Checks,
    Examined,
    examine,
    examined_from,
    opened_submittal,
    read_pdf,
    render_examined,
    shown_name,
)
from reportgen.verification import Reason
from reportgen.verification.steps import unreadable

if TYPE_CHECKING:
    from collections.abc import Sequence

UNCHANGED = b"="


@dataclass(frozen=True, slots=True)
class Terms:
    """What all files of an audit are examined by; ``registers`` are the SHA-256 of those they are held
    against; ``fingerprint`` tells whether two audits may share verdicts."""

    folder: Path
    checks: Checks
    version: str
    registers: tuple[str, ...] = ()

    @property
    def fingerprint(self) -> str:
        """SHA-256 over release, policy and checks: verdicts reached by others are not taken over."""
        checks = self.checks
        said = [self.version, checks.page_text_check is not None, checks.rebuild_check is not None]
        policy = checks.policy
        given = [policy.roots, policy.timestamp_roots, policy.crls, policy.ocsps]  # what the policy's files hold by now
        held = [sorted(hashlib.sha256(one).hexdigest() for one in kind) for kind in given]
        return hashlib.sha256(json.dumps([*said, policy.sha256, held, *self.registers]).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Task:
    """One file to examine: its path in the folder, and its SHA-256 where its verdict is known already.

    The path is as the system has it, which may be bytes that are no text; ``shown`` is what everybody sees of it.
    """

    path: str
    known: str | None = None

    @property
    def shown(self) -> str:
        """The path as one line of visible text, by which index and answer name the file."""
        return shown_name(Path(self.path))


def run_task(terms: Terms, task: Task) -> tuple[str, bytes]:
    """Return the task's path as shown and what ``render_contents`` makes of it, or ``UNCHANGED`` where that stands.

    Nothing a file holds or is called raises; a file that cannot be read or breaks the limits has that as its verdict.
    """
    try:
        pdf = read_pdf(terms.folder / task.path)
    except UsageError as refusal:
        # by its path in the folder, so that the same archive elsewhere gives the same answer
        told = refusal.message.replace(shown_name(terms.folder / task.path), task.shown)
        return task.shown, render_contents((unread(told, terms.checks),))
    if task.known is not None and hashlib.sha256(pdf).hexdigest() == task.known:
        return task.shown, UNCHANGED
    examined = examine(pdf, task.shown, terms.checks)
    found = opened_submittal(pdf, examined, terms.checks) if examined.kind == "submittal" else (examined,)
    return task.shown, render_contents(found)


def render_contents(found: Sequence[Examined]) -> bytes:
    """Return the examination of a file, and of a submittal those of its originals after it, as lines of JSON."""
    return b"\n".join(map(render_examined, found))


def contents_from(data: bytes) -> list[Examined]:
    """Return what ``render_contents`` wrote; what that of ``examined_from`` raises otherwise."""
    return [examined_from(line) for line in data.split(b"\n")]


def unread(sentence: str, checks: Checks) -> Examined:
    """Return the examination of what could not be read, for the reason in ``sentence``."""
    nothing = unreadable(b"", checks.at, Reason("RESOURCE_LIMIT", sentence))
    return Examined(replace(nothing, sha256=""))  # that of no bytes is not the file's
