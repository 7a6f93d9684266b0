"""What can be stated, as codes with the kind of their facts: findings, things to do, gaps, checks, steps."""

from collections.abc import Callable, Mapping
from types import ModuleType
from typing import Annotated, Any, Final, Generic, Literal, TypeVar, get_origin

from reportgen.results.facts import EVERYWHERE, Facts, Place, Stated, Value
from reportgen.results.values import AtTime, CheckKind, CheckResult, Finding, LeftOut, Severity, Task, Verdict

F = TypeVar("F", bound=Facts)

Effect = Literal["fails", "holds", "defers", "none"]
"""What a finding does to the areas it concerns: they do not conform; no verdict yet; no release yet; nothing."""

Settled = Literal["nothing", "entry", "edges", "measuring", "surer", "washing", "blasting", "standing"]
"""What settles in a later report what was found on steel that stays, a decision aside.

``entry``: what was missing, with the steel entered again. ``edges``: that it says how they are now. What was there and
is in doubt stays so however often it is entered: ``measuring`` is measured or tested anew, ``surer`` by surer means;
``washing`` is washed or cleaned off and tested; ``blasting`` ends with a new blasting alone. ``standing``: a
rule of its own finds it in each report as long as it stands; ``nothing`` has to be settled.
"""

SettledBy = Settled | Callable[[Any], Settled]
"""The same, or how to tell it by the facts."""

Part = Literal["wrong", "out of limits", "missing", "past", "next", "noted"]
"""Where a check tells a finding, in the order in which it is said; ``past`` is missing and can be had no more."""

PART: Final[Mapping[Effect, Part]] = {
    "fails": "out of limits", "holds": "out of limits", "defers": "missing", "none": "noted",
}  # fmt: skip
"""Where a finding is told by its effect, unless its code says otherwise."""


class Statement(Value, Generic[F]):
    """Something that can be stated: its name and the kind of its facts."""

    name: str
    facts: type[F]


class Code(Statement[F]):
    """A finding's code: the kind of its facts, usual severity, effect on the area, where a check tells it.

    ``settled`` is what settles it later. ``others`` are further kinds of facts, where what is found differs in kind;
    each may have sentences of its own.
    """

    severity: Severity
    effect: Effect
    settled: SettledBy
    part: Part
    others: tuple[type[F], ...] = ()

    @property
    def kinds(self) -> tuple[type[F], ...]:
        """Every kind of its facts."""
        return (self.facts, *self.others)

    def settled_by(self, facts: Facts | None) -> Settled:
        """Return what settles it; where facts tell, and there are none, no more than what was missing."""
        if not callable(self.settled):
            return self.settled
        return "entry" if facts is None else self.settled(facts)

    def found(
        self, facts: F, place: Place = EVERYWHERE, *, clause: str | None = None, severity: Severity | None = None
    ) -> Finding:
        """Make a finding; its severity is the code's own unless the case says otherwise."""
        return Finding(self.name, severity or self.severity, place, facts, clause)


class TaskCode(Statement[F]):
    """A thing to do next, and the code of the finding that it settles, if any; ``on_bare`` steel alone, or on any."""

    answers: str | None = None
    on_bare: bool = False

    def due(
        self, facts: F, place: Place, *, count: int | None = None, answers: str | None = None,
        apparatus: str | None = None,
    ) -> Task:  # fmt: skip
        """Make one thing to do; ``count`` is how many of it, ``answers`` the finding where that is not always one."""
        return Task(self.name, place, facts, count, answers or self.answers, apparatus)


class GapCode(Statement[F]):
    """Something that is not evaluated; ``beyond_uncertainty`` where it is an error that U does not hold."""

    beyond_uncertainty: bool = False

    def at(self, facts: F, place: Place = EVERYWHERE) -> LeftOut:
        """Say that it was left out at a place."""
        return LeftOut(self.name, place, facts)


class CheckCode(Statement[F]):
    """A kind of check of gauges, tape or people."""

    name: CheckKind

    def of(self, subject: str, facts: F, verdict: Verdict, time: AtTime | None = None) -> CheckResult:
        """State one check of something."""
        return CheckResult(self.name, subject, time, verdict, facts)


class StepCode(Statement[F]):
    """A part of a derivation, or a rule that was applied, as its group of sentences says."""

    group: Literal["step", "applied"] = "step"

    def of(self, facts: F, place: Place = EVERYWHERE) -> Stated:
        """State it of some facts."""
        return Stated(self.group, self.name, facts, place)


def fails(name: str, settled: SettledBy, facts: type[F], *others: type[F]) -> Code[F]:
    """A deviation: the area does not conform."""
    return Code(name, facts, "nonconformance", "fails", settled, PART["fails"], others)


def holds(name: str, settled: SettledBy, facts: type[F], *others: type[F]) -> Code[F]:
    """A deviation that leaves the area without a verdict."""
    return Code(name, facts, "nonconformance", "holds", settled, PART["holds"], others)


def missing(name: str, settled: SettledBy, facts: type[F], *others: type[F], part: Part = "missing") -> Code[F]:
    """Something to be completed: an observation that holds the area, without a nonconformance being raised."""
    return Code(name, facts, "observation", "holds", settled, part, others)


def defers(name: str, facts: type[F], *others: type[F], part: Part = "missing") -> Code[F]:
    """Something to be settled before release that says nothing about the steel."""
    return Code(name, facts, "observation", "defers", "standing", part, others)


def notes(name: str, facts: type[F], *others: type[F], part: Part = "noted") -> Code[F]:
    """Something worth knowing, without consequence."""
    return Code(name, facts, "observation", "none", "nothing", part, others)


def statements_of(module: ModuleType) -> tuple[Statement[Any], ...]:
    """Return every code that a module declares, by itself or in a mapping, in the order of the declarations."""
    each = (one.values() if isinstance(one, Mapping) else (one,) for one in vars(module).values())
    return tuple(dict.fromkeys(one for some in each for one in some if isinstance(one, Statement)))


def words_of(module: ModuleType) -> dict[str, tuple[str, ...]]:
    """Return the closed lists of words that a module declares or uses, by their group.

    A list is declared where its type is: ``Oil = Annotated[Word, "oil", ("clean", "film")]``.
    """
    lists = (one.__metadata__ for one in vars(module).values() if get_origin(one) is Annotated)
    return dict(lists)
