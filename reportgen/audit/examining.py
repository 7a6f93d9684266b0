"""The work on one file, as a worker does it: read, compare its hash with what is known, examine in a child."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from reportgen.errors import UsageError
from reportgen.issued import (
    Checks,
    Examined,
    examine,
    load_for_examination,
    read_pdf,
    render_examined,
    verify_submittal,
)
from reportgen.verify import Reason
from reportgen.verify.steps import unreadable

if TYPE_CHECKING:
    from pathlib import Path

UNCHANGED = b"="


@dataclass(frozen=True, slots=True)
class Terms:
    """What all files of an audit are examined by; ``fingerprint`` tells whether two audits may share verdicts."""

    folder: Path
    checks: Checks
    version: str

    @property
    def fingerprint(self) -> str:
        """SHA-256 over release, trusted roots and checks: verdicts reached by others are not taken over."""
        checks = self.checks
        said = [self.version, checks.page_text_check is not None, checks.rebuild_check is not None]
        roots = sorted(hashlib.sha256(root).hexdigest() for root in checks.roots)
        return hashlib.sha256(json.dumps([*said, roots]).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Task:
    """One file to examine: its path in the folder, and its SHA-256 where its verdict is known already."""

    path: str
    known: str | None = None


def run_task(terms: Terms, task: Task) -> tuple[str, bytes]:
    """Return the task's path and the examination as JSON, or ``UNCHANGED`` for a file whose verdict stands.

    Nothing a file holds raises; a file that cannot be read or breaks the limits has that as its verdict.
    """
    load_for_examination()
    try:
        pdf = read_pdf(terms.folder / task.path)
    except UsageError as refusal:
        return task.path, render_examined(Examined(unreadable(b"", terms.checks.at, _unread(refusal, terms))))
    if task.known is not None and hashlib.sha256(pdf).hexdigest() == task.known:
        return task.path, UNCHANGED
    examined = examine(pdf, task.path, terms.checks)
    if examined.kind == "submittal":
        examined = replace(examined, verification=verify_submittal(pdf, examined, terms.checks))
    return task.path, render_examined(examined)


def _unread(refusal: UsageError, terms: Terms) -> Reason:
    """Name the file by its path in the folder, so that the same archive elsewhere gives the same answer."""
    return Reason("RESOURCE_LIMIT", refusal.message.replace(f"{terms.folder}/", ""))
