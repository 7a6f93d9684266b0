"""What can be stated about steel that was blasted again within the shift."""

from typing import Final

from reportgen.results.facts import Facts, Stated
from reportgen.results.statements import Code, TaskCode, notes


class Blasted(Facts):
    """One blasting: apparatus, from and to as printed."""

    apparatus: str
    start: str
    end: str


class Replaced(Facts):
    """A blasting, and the one that took its place."""

    earlier: Blasted
    later: Blasted


class FoundBefore(Facts):
    """What had failed before: the finding's sentences and its code; text where its facts are not data yet."""

    observed: Stated | str
    required: Stated | str
    code: str


class LaterBlasting(Facts):
    """A blasting that may be of steel that failed before: its apparatus, when it began as printed."""

    apparatus: str
    began: str


class LaterTest(Facts):
    """A test ``at`` a time as printed that passed where an earlier one of the report failed, and what covers that."""

    at: str
    nonconformance: str | None = None


BLASTED_AGAIN: Final[Code[Replaced | FoundBefore]] = notes("blasted-again", Replaced, FoundBefore)
SAY_BLASTED_AGAIN: Final = TaskCode("say-blasted-again", LaterBlasting)
SAY_TESTED_AGAIN: Final = TaskCode("say-tested-again", LaterTest)
