"""What the pages of an audit report print, as plain values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FileRow:
    """A file that did not pass: its path, verdict, and why."""

    path: str
    verdict: str
    why: str


@dataclass(frozen=True, slots=True)
class ProblemRow:
    """A problem found across the files."""

    where: str
    sentence: str
    files: str


@dataclass(frozen=True, slots=True)
class ProblemGroup:
    """All problems of one code; ``weight`` is ``fault``, ``doubt`` or ``screening``."""

    code: str
    weight: str
    meaning: str
    rows: tuple[ProblemRow, ...]


@dataclass(frozen=True, slots=True)
class AuditPages:
    """Everything an audit report prints; ``methods`` are paragraphs on how coincidences and screens are judged."""

    folder: str
    verified_at: str
    version: str
    files: int
    passed: int
    failed: int
    indeterminate: int
    contracts: int
    reports: int
    faults: int
    doubts: int
    rows: tuple[FileRow, ...]
    groups: tuple[ProblemGroup, ...]
    methods: tuple[str, ...]
