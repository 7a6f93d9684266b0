"""What can be stated, as codes with the kind of their facts: findings, things to do, gaps, checks, steps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Generic, Literal, TypeVar

from reportgen.results.facts import EVERYWHERE, Facts, Place, Stated
from reportgen.results.values import CheckResult, Finding, LeftOut, Task

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.results.values import AtTime, CheckKind, Severity, Verdict

F = TypeVar("F", bound=Facts)

Effect = Literal["fails", "holds", "defers", "none"]
"""What a finding does to the areas it concerns: they do not conform; no verdict yet; no release yet; nothing."""

Part = Literal["wrong", "out of limits", "missing", "next", "noted"]
"""Where a check tells a finding, in the order in which it is said."""

PART: Final[Mapping[Effect, Part]] = {
    "fails": "out of limits", "holds": "out of limits", "defers": "missing", "none": "noted",
}  # fmt: skip
"""Where a finding is told by its effect, unless its code says otherwise."""


@dataclass(frozen=True, slots=True)
class Code(Generic[F]):
    """A finding's code: the kind of its facts, usual severity, effect on the area, where a check tells it.

    ``others`` are further kinds of facts, where what is found differs in kind; each may have sentences of its own.
    """

    name: str
    facts: type[F]
    severity: Severity
    effect: Effect
    part: Part
    others: tuple[type[F], ...] = ()

    @property
    def kinds(self) -> tuple[type[F], ...]:
        """Every kind of its facts."""
        return (self.facts, *self.others)

    def found(
        self, facts: F, place: Place = EVERYWHERE, *, clause: str | None = None, severity: Severity | None = None
    ) -> Finding:
        """Make a finding; its severity is the code's own unless the case says otherwise."""
        return Finding(self.name, severity or self.severity, place, facts, clause)


@dataclass(frozen=True, slots=True)
class TaskCode(Generic[F]):
    """A thing to do next: its name, the kind of its facts, and the code of the finding that it settles, if any."""

    name: str
    facts: type[F]
    answers: str | None = None

    def due(
        self, facts: F, place: Place, *, count: int | None = None, answers: str | None = None,
        apparatus: str | None = None,
    ) -> Task:  # fmt: skip
        """Make one thing to do; ``count`` is how many of it, ``answers`` the finding where that is not always one."""
        return Task(self.name, place, facts, count, answers or self.answers, apparatus)


@dataclass(frozen=True, slots=True)
class GapCode(Generic[F]):
    """Something that is not evaluated: its name and the kind of its facts."""

    name: str
    facts: type[F]

    def at(self, facts: F, place: Place = EVERYWHERE) -> LeftOut:
        """Say that it was left out at a place."""
        return LeftOut(self.name, place, facts)


@dataclass(frozen=True, slots=True)
class CheckCode(Generic[F]):
    """A kind of check of gauges, tape or people: its name and the kind of its facts."""

    name: CheckKind
    facts: type[F]

    def of(self, subject: str, facts: F, verdict: Verdict, time: AtTime | None = None) -> CheckResult:
        """State one check of something."""
        return CheckResult(self.name, subject, time, verdict, facts)


@dataclass(frozen=True, slots=True)
class StepCode(Generic[F]):
    """A part of a derivation, or a rule that was applied: its name, the kind of its facts, its group of sentences."""

    name: str
    facts: type[F]
    group: Literal["step", "applied"] = "step"

    def of(self, facts: F, place: Place = EVERYWHERE) -> Stated:
        """State it of some facts."""
        return Stated(self.group, self.name, facts, place)


Statement = Code[Any] | TaskCode[Any] | GapCode[Any] | CheckCode[Any] | StepCode[Any]


def fails(name: str, facts: type[F], *others: type[F]) -> Code[F]:
    """A deviation: the area does not conform."""
    return Code(name, facts, "nonconformance", "fails", PART["fails"], others)


def holds(name: str, facts: type[F], *others: type[F]) -> Code[F]:
    """A deviation that leaves the area without a verdict."""
    return Code(name, facts, "nonconformance", "holds", PART["holds"], others)


def missing(name: str, facts: type[F], *others: type[F], part: Part = "missing") -> Code[F]:
    """Something to be completed: an observation that holds the area, without a nonconformance being raised."""
    return Code(name, facts, "observation", "holds", part, others)


def defers(name: str, facts: type[F], *others: type[F], part: Part = "missing") -> Code[F]:
    """Something to be settled before release that says nothing about the steel."""
    return Code(name, facts, "observation", "defers", part, others)


def notes(name: str, facts: type[F], *others: type[F], part: Part = "noted") -> Code[F]:
    """Something worth knowing, without consequence."""
    return Code(name, facts, "observation", "none", part, others)
