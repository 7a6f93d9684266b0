"""What the pages of an audit report print, as plain values, and how it follows from the answer of an audit."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import PurePath
from typing import TYPE_CHECKING

from reportgen.audit.measured import Measured
from reportgen.audit.problems import PROBLEMS, grouped
from reportgen.diagnostics import printable
from reportgen.units import decimal_mark
from reportgen.words.filing import filing_words
from reportgen.words.told import said

if TYPE_CHECKING:
    from reportgen.audit.audit_result import Audit
    from reportgen.audit.problems import Problem


@dataclass(frozen=True, slots=True)
class FileRow:
    """A file that did not pass: its path, verdict, and why."""

    path: str
    verdict: str
    why: str


@dataclass(frozen=True, slots=True)
class ProblemRow:
    """A problem found across the files: ``verdict`` is the worst on them, empty where all passed."""

    where: str
    sentence: str
    files: str
    verdict: str = ""
    doubted: bool = False


@dataclass(frozen=True, slots=True)
class ProblemGroup:
    """All problems of one code; ``weight`` is ``fault``, ``doubt`` or ``screening``."""

    code: str
    weight: str
    meaning: str
    rows: tuple[ProblemRow, ...]


@dataclass(frozen=True, slots=True)
class ScreenRow:
    """What a screen compared and found, at which level, and what it could not see."""

    name: str
    tests: int
    level: str
    found: int
    unseen: str


@dataclass(frozen=True, slots=True)
class AuditPages:
    """Everything an audit report prints."""

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
    screens: tuple[ScreenRow, ...] = ()
    measured: Measured = field(default_factory=Measured)
    papers: int = 0
    states: tuple[str, ...] = ()
    """A sentence for each contract: how much of it is done, and what of it is there; and what was not looked at."""


def pages_of(audit: Audit, version: str, language: str = "en") -> AuditPages:
    """Return what the report of an audit prints; what is told as data is said in the language."""
    with decimal_mark(filing_words(language).decimal):
        return _pages_of(audit, version, language)


def _pages_of(audit: Audit, version: str, language: str) -> AuditPages:
    across = [problem for problem in audit.problems if not problem.code.startswith("file-")]
    return AuditPages(
        folder=PurePath(audit.folder).name,
        verified_at=audit.verified_at,
        version=version,
        files=sum(audit.counts.values()),
        passed=audit.counts.get("passed", 0),
        failed=audit.counts.get("failed", 0),
        indeterminate=audit.counts.get("indeterminate", 0),
        contracts=audit.contracts,
        reports=audit.reports,
        faults=audit.faults,
        doubts=audit.doubts,
        rows=tuple(
            FileRow(
                one.path,
                one.overall,
                "; ".join(f"{name}: {_text(sentence, language)}" for name, sentence in one.reasons),
            )
            for one in audit.files_with_reasons
        ),
        groups=tuple(
            ProblemGroup(code, weight, PROBLEMS[code].meaning, tuple(_row(one, language) for one in problems))
            for code, weight, problems in grouped(across)
        ),
        papers=audit.papers,
        states=tuple(_text(one, language) for one in audit.said),
        screens=tuple(
            ScreenRow(one.name, one.tests, one.level, one.found, _text(one.unseen, language)) for one in audit.screens
        ),
        measured=audit.measured,
    )


def _text(sentence: str, language: str) -> str:
    return printable(said(sentence, language))


def _row(problem: Problem, language: str) -> ProblemRow:
    where = " ".join(filter(None, (problem.number or problem.contract, problem.area)))
    verdict = "" if problem.verdict == "passed" else problem.verdict
    return ProblemRow(where, _text(problem.sentence, language), ", ".join(problem.files), verdict, problem.unproven)
