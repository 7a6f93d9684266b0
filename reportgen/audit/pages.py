"""From the answer of an audit to what its report prints."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from reportgen.audit import copies, digit_screens
from reportgen.audit.problems import PROBLEMS
from reportgen.audit.reportmodel import AuditPages, FileRow, ProblemGroup, ProblemRow

if TYPE_CHECKING:
    from reportgen.audit.audit_result import Audit
    from reportgen.audit.problems import Problem


def pages_of(audit: Audit, version: str) -> AuditPages:
    """Return what the report of an audit prints."""
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
            FileRow(one.path, one.overall, "; ".join(f"{name}: {sentence}" for name, sentence in one.reasons))
            for one in audit.files_with_reasons
        ),
        groups=tuple(
            ProblemGroup(code, kind.weight, kind.meaning, tuple(_row(one) for one in across if one.code == code))
            for code, kind in PROBLEMS.items()
            if any(one.code == code for one in across)
        ),
        methods=tuple(
            " ".join(part.split()).replace("*", "")
            for module in (copies, digit_screens)
            for part in (module.__doc__ or "").split("\n\n")[1:]
        ),
    )


def _row(problem: Problem) -> ProblemRow:
    where = " ".join(filter(None, (problem.number or problem.contract, problem.area)))
    files = ", ".join(problem.files)
    if problem.verdict not in {"", "passed"}:
        files = f"{files} ({problem.verdict}{'; a doubt' if problem.unproven else ''})"
    return ProblemRow(where, problem.sentence, files)
