"""What can be stated about the abrasive: facts, findings, things to do, gaps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from reportgen.results.facts import Facts, Nothing
from reportgen.results.statements import GapCode, TaskCode, fails, missing

if TYPE_CHECKING:
    from reportgen.measurements.gaps import Gap
    from reportgen.results.facts import Amount, Word


@dataclass(frozen=True, slots=True)
class ConductivityAtMost(Facts):
    """The highest conductivity of the leachate, and the method that is to measure it where one is stated."""

    maximum: Amount
    method: str | None = None


@dataclass(frozen=True, slots=True)
class NoOil(Facts):
    """No oil in the vial test."""


@dataclass(frozen=True, slots=True)
class CheckedEvery(Facts):
    """How often the abrasive is checked."""

    interval: Amount


@dataclass(frozen=True, slots=True)
class CleanAbrasive(Facts):
    """Nothing that could be measured is stated."""


@dataclass(frozen=True, slots=True)
class OilInVial(Facts):
    """What the vial test showed."""

    oil: Annotated[Word, "oil"]


@dataclass(frozen=True, slots=True)
class LeachateConducts(Facts):
    """Conductivity of the leachate, and the method by which it was measured where that is recorded."""

    conductivity: Amount
    method: str | None = None


@dataclass(frozen=True, slots=True)
class NothingTested(Facts):
    """A check without a test."""


Demand = ConductivityAtMost | NoOil | CheckedEvery | CleanAbrasive
Shown = OilInVial | LeachateConducts | NothingTested


@dataclass(frozen=True, slots=True)
class AbrasiveRequired(Facts):
    """What is required of the abrasive."""

    demands: tuple[Demand, ...]


@dataclass(frozen=True, slots=True)
class AbrasiveSeen(Facts):
    """What a check showed."""

    shown: tuple[Shown, ...]


@dataclass(frozen=True, slots=True)
class AbrasiveUnclean(Facts):
    """What a check showed, and what is required."""

    shown: tuple[Shown, ...]
    demands: tuple[Demand, ...]


@dataclass(frozen=True, slots=True)
class AbrasiveUnchecked(Facts):
    """The test that is missing of an abrasive, and when."""

    test: Annotated[Word, "abrasive-test"]
    abrasive: str
    gap: Gap
    demands: tuple[Demand, ...]


CHECK_MISSING: Final = missing("abrasive-check-missing", AbrasiveUnchecked)
NOT_CLEAN: Final = fails("abrasive-not-clean", AbrasiveUnclean)
MAKE_TEST: Final = TaskCode("make-abrasive-test", AbrasiveUnchecked, answers=CHECK_MISSING.name)
WITHOUT_LIMIT: Final = GapCode("abrasive-without-limit", Nothing)
STATEMENTS: Final = (CHECK_MISSING, NOT_CLEAN, MAKE_TEST, WITHOUT_LIMIT)
TESTS: Final = ("oil", "conductivity")
"""The tests of an abrasive that a contract can ask for."""
