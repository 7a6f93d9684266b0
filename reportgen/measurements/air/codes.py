"""What can be stated about the compressed air: facts, findings, things to do, gaps."""

from typing import Annotated, Final, get_args

from reportgen.measurements.air.record import Blotted
from reportgen.measurements.gaps import Gap
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import GapCode, TaskCode, fails, holds, missing, notes

Blotter = Annotated[Word, "blotter", get_args(Blotted)]


class AirRequired(Facts):
    """What is required: how long the blotter is held at least, and how often."""

    minimum_duration: Amount | None = None
    interval: Amount | None = None


class AirSeen(Facts):
    """What a blotter showed, and how long it was held."""

    blotter: Blotter
    duration: Amount


class AirUnchecked(Facts):
    """The apparatus that blasted without a test, and when."""

    apparatus: str
    gap: Gap
    required: AirRequired


class AirUnclean(Facts):
    """The apparatus whose air marked the blotter, and how."""

    apparatus: str
    blotter: Blotter
    required: AirRequired


class AirDoubted(Facts):
    """The apparatus whose air marked the blotter after the blasting, how, and the last clean test before that."""

    apparatus: str
    blotter: Blotter
    required: AirRequired
    clean_at: str | None = None


class AirTestedAgain(Facts):
    """How an apparatus's air marked the blotter before the blasting, and when it was clean after that."""

    apparatus: str
    blotter: Blotter
    again: str


class AirOwed(Facts):
    """The apparatus that needs a test."""

    apparatus: str
    required: AirRequired


CHECK_MISSING: Final = missing("air-check-missing", "entry", AirUnchecked)
NOT_CLEAN: Final = fails("air-not-clean", "blasting", AirUnclean)
IN_DOUBT: Final = holds("air-in-doubt", "blasting", AirDoubted)
TESTED_AGAIN: Final = notes("air-tested-again", AirTestedAgain)
MAKE_TEST: Final = TaskCode("make-blotter-test", AirOwed, answers=CHECK_MISSING.name)
WITHOUT_TEST: Final = GapCode("air-without-test", Nothing)
