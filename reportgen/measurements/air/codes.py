"""What can be stated about the compressed air: facts, findings, things to do, gaps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from reportgen.results.facts import Facts, Nothing
from reportgen.results.statements import GapCode, TaskCode, fails, missing

if TYPE_CHECKING:
    from reportgen.measurements.gaps import Gap
    from reportgen.results.facts import Amount, Word


@dataclass(frozen=True, slots=True)
class AirRequired(Facts):
    """What is required: how long the blotter is held at least, and how often."""

    minimum_duration: Amount | None = None
    interval: Amount | None = None


@dataclass(frozen=True, slots=True)
class AirSeen(Facts):
    """What a blotter showed, and how long it was held."""

    blotter: Annotated[Word, "blotter"]
    duration: Amount


@dataclass(frozen=True, slots=True)
class AirUnchecked(Facts):
    """The apparatus that blasted without a test, and when."""

    apparatus: str
    gap: Gap
    required: AirRequired


@dataclass(frozen=True, slots=True)
class AirUnclean(Facts):
    """The apparatus whose air marked the blotter, and how."""

    apparatus: str
    blotter: Annotated[Word, "blotter"]
    required: AirRequired


@dataclass(frozen=True, slots=True)
class AirOwed(Facts):
    """The apparatus that needs a test."""

    apparatus: str
    required: AirRequired


CHECK_MISSING: Final = missing("air-check-missing", AirUnchecked)
NOT_CLEAN: Final = fails("air-not-clean", AirUnclean)
MAKE_TEST: Final = TaskCode("make-blotter-test", AirOwed, answers=CHECK_MISSING.name)
WITHOUT_TEST: Final = GapCode("air-without-test", Nothing)
STATEMENTS: Final = (CHECK_MISSING, NOT_CLEAN, MAKE_TEST, WITHOUT_TEST)
