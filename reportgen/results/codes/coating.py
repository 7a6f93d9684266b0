"""What can be stated about the time to coat: facts, findings, things to do, gaps."""

from typing import Any, Final

from reportgen.results.facts import Amount, Facts, Nothing
from reportgen.results.statements import Code, GapCode, TaskCode, fails, missing, notes


class TimeAllowed(Facts):
    """The longest time from the end of blasting to the primer."""

    limit: Amount


class TimeTaken(Facts):
    """The time from the end of blasting to the primer."""

    taken: Amount


class PrimedLate(Facts):
    """The time from the end of blasting to the primer, when that came, and the longest time allowed."""

    taken: Amount
    coated: str
    limit: Amount


class PartBlasted(Facts):
    """A part of an area: what blasted it, and until when where that alone does not tell."""

    apparatus: str
    ended: str | None = None


class NotPrimed(Facts):
    """The time by which no primer was recorded, of which part where an area has several, and the time allowed."""

    until: str
    limit: Amount
    part: PartBlasted | None = None


class ToCoat(Facts):
    """Until when to coat, and the time allowed; ``bare`` are the parts to coat by then where that is not all.

    ``date`` is there where the day is another one by the time it is read.
    """

    until: str
    limit: Amount
    bare: tuple[PartBlasted, ...] = ()
    date: str | None = None


class Coated(Facts):
    """When an area was coated."""

    coated: str


class ReleasedBefore(Facts):
    """When an area was ``coated``, which was after ``report`` released the same steel."""

    coated: str
    report: str
    date: str


class TimesStated(Facts):
    """The times of a surface as recorded."""

    start: str
    end: str
    coated: str | None = None


class PrimedOtherwise(Facts):
    """When ``report`` says that the same steel was primed; ``coated`` is what this one says, unless it is bare here."""

    report: str
    date: str
    apparatus: str
    stated: str
    coated: str | None = None


class PrimedAfterAll(Facts):
    """When steel was ``coated`` that ``apparatus`` had until ``end``, and ``again`` blasted again from ``began``."""

    apparatus: str
    end: str
    coated: str
    again: str
    began: str


class PrimedThen(Facts):
    """When steel was ``coated`` that ``again`` blasted again after that from ``began``, as of a bare ``condition``.

    ``report`` is the one that says so where it is another.
    """

    apparatus: str
    coated: str
    again: str
    began: str
    condition: str
    report: str | None = None


TIME_EXCEEDED: Final = fails("time-to-coat-exceeded", "blasting", PrimedLate)
OVERDUE: Final = missing("coating-overdue", "blasting", NotPrimed)
WITHOUT_RELEASE: Final = notes("coated-without-release", Coated)
AFTER_RELEASE: Final = notes("coated-after-earlier-release", ReleasedBefore, part="missing")
TIMES_CONTRADICTORY: Final[Code[Any]] = missing(
    "times-contradictory", "entry", TimesStated, PrimedOtherwise, PrimedAfterAll, part="wrong"
)
PRIMED_BEFORE_REWORK: Final = missing("primed-before-rework", "entry", PrimedThen, part="wrong")
COAT_BY: Final = TaskCode("coat-by", ToCoat)
PREPARE_AGAIN: Final = TaskCode("prepare-again", NotPrimed, answers=OVERDUE.name)
WITHOUT_LIMIT: Final = GapCode("time-to-coat-without-limit", Nothing)
