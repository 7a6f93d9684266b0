"""What every rule yields: results of its kind, findings, rules applied, what to do next, what it left out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.results.values import Finding, LeftOut, RuleApplied, Task

R = TypeVar("R", covariant=True)  # noqa: PLC0105 - one letter, as the results' type is all it says


@dataclass(frozen=True, slots=True)
class Outcome(Generic[R]):
    """Results of one concern, and everything noticed on the way to them."""

    results: tuple[R, ...] = ()
    findings: tuple[Finding, ...] = ()
    rules: tuple[RuleApplied, ...] = ()
    measure_next: tuple[Task, ...] = ()
    not_evaluated: tuple[LeftOut, ...] = ()

    @classmethod
    def joined(cls, outcomes: Iterable[Outcome[R]], left_out: Iterable[LeftOut] = ()) -> Outcome[R]:
        """Return several outcomes as one, in their order, ``left_out`` at the end."""
        each = tuple(outcomes)
        return cls(
            tuple(result for one in each for result in one.results),
            tuple(finding for one in each for finding in one.findings),
            tuple(rule for one in each for rule in one.rules),
            tuple(step for one in each for step in one.measure_next),
            (*(gap for one in each for gap in one.not_evaluated), *left_out),
        )
