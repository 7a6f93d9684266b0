"""What a report said is open, as it was issued: a revision of a report before it does not settle that."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Final

from reportgen.results.codes import follow_up
from reportgen.results.codes.follow_up import Failed, FailedBefore
from reportgen.results.codes.whose import NotTheirs

if TYPE_CHECKING:
    from reportgen.results import Evaluation, Finding

Left = tuple[str | None, str | None, str, str, str, str]
"""What was left open: area, location, code, report, apparatus, and from when that blasted as the report printed it."""


@dataclass(frozen=True, slots=True)
class SaidOpen:
    """Nonconformances by number and area, what had failed by area, code and report, and what was left open.

    A failure has no code where the report told of another reason for which it stands. ``held`` are the areas that were
    inspected and not released.
    """

    nonconformances: frozenset[tuple[str, str | None]] = field(default_factory=frozenset)
    failed: frozenset[tuple[str | None, str, str]] = field(default_factory=frozenset)
    left: frozenset[Left] = field(default_factory=frozenset)
    held: frozenset[str] = field(default_factory=frozenset)

    def exceeds(self, other: SaidOpen) -> bool:
        """Whether something is open here that is not by another one."""
        pairs = ((getattr(self, name), getattr(other, name)) for name in self.__slots__)
        return any(mine - theirs for mine, theirs in pairs)

    def has_failed(self, area: str | None, code: str, report: str) -> bool:
        """Whether what a report found to fail on an area was said to stand."""
        return bool({(area, code, report), (area, "", report)} & self.failed)


NOTHING_OPEN: Final = SaidOpen()


def said_open(evaluation: Evaluation) -> SaidOpen:
    """Return what an evaluation says is open after its report."""
    return SaidOpen(
        frozenset((one.id, one.area) for one in evaluation.nonconformances if one.status == "open"),
        frozenset(_failed(one, one.facts) for one in evaluation.findings if isinstance(one.facts, FailedBefore)),
        frozenset(_left(one) for one in evaluation.findings if one.code == follow_up.LEFT_OPEN.name),
        frozenset(one.id for one in evaluation.areas if one.decision != "release" and one.not_inspected is None),
    )


def _failed(finding: Finding, facts: FailedBefore) -> tuple[str | None, str, str]:
    why = facts.why
    if isinstance(why, (NotTheirs, follow_up.AsIssued)):
        return finding.area, "", why.report
    told = next(value for one in fields(why) if isinstance(value := getattr(why, one.name), Failed))
    return finding.area, told.code, told.report


def _left(finding: Finding) -> Left:
    facts = finding.facts
    return finding.area, finding.location, facts.code, facts.report, facts.apparatus, facts.start  # type: ignore[attr-defined] # LeftOpen
