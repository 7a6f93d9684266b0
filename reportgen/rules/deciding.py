"""What a nonconformance says as it is written: what it covers, whether it is decided, and whose that was to decide."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from reportgen.names import perhaps_one, spelling
from reportgen.results.codes.follow_up import LEFT_OPEN
from reportgen.rules.anew import may_hide
from reportgen.rules.release import effect_of

if TYPE_CHECKING:
    from reportgen.job import Job, Nonconformance
    from reportgen.results import Finding

ACCEPTING = frozenset({"use-as-is", "repair"})
"""Dispositions that leave steel off the specification: never the inspector's to decide, who finds, nor the
contractor's, whose work it is."""
DECIDED_ON_PAPER = frozenset({"use-as-is", "repair", "reject"})
"""Dispositions that a decision with evidence closes, a repair once the repaired steel was inspected again; rework is
closed only by a re-inspection that passes."""


def decided_by_barred(
    job: Job, record: Nonconformance, *, withdraws: bool = False
) -> Literal["inspector", "contractor"] | None:  # fmt: skip
    """Return who accepted steel off the specification whose it is not: an inspector under whatever role, or contractor.

    None where it was somebody else, or nothing was accepted. What ``withdraws`` a nonconformance is no more theirs: a
    failure would vanish on the word of whoever measured it, or whose work it is.
    """
    if record.disposition not in ACCEPTING and not withdraws:
        return None
    people, report = job.project.people, job.day.report
    decided = people[record.decided_by]
    inspects = decided.inspects or spelling(decided.name) is None
    names = [one.name for key, one in people.items() if key == report.inspector or one.inspects]
    if inspects or any(perhaps_one(decided.name, name) for name in names):
        return "inspector"
    return "contractor" if job.as_told().is_contractors(decided) else None


def may_withdraw(job: Job, record: Nonconformance) -> bool:
    """Whether who decided on a nonconformance may say that it was raised in error."""
    return decided_by_barred(job, record, withdraws=True) is None


def covers(record: Nonconformance, finding: Finding) -> bool:
    """Whether a nonconformance was written against a finding: its code, and its area where it names one.

    A rework may name what an entry in doubt hides; that this stays is decided of it only by its own name.
    """
    named = {finding.code} | (may_hide(finding) if record.disposition == "rework" else frozenset())
    return not named.isdisjoint(record.findings) and record.area in (None, finding.area)


def covers_left_open(record: Nonconformance, finding: Finding) -> bool:
    """Whether a nonconformance was written against what earlier reports left open, as a finding did."""
    left = LEFT_OPEN.name in record.findings and effect_of(finding) == "holds"
    return left and record.area in (None, finding.area)


def is_decided(record: Nonconformance) -> bool:
    """Whether a nonconformance is written as closed by a decision, as no re-inspection has to close it."""
    return record.status == "closed" and record.disposition in DECIDED_ON_PAPER
