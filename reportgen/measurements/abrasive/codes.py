"""What can be stated about the abrasive: facts, findings, things to do, gaps."""

from typing import Annotated, Final, get_args

from reportgen.measurements.abrasive.record import OilSeen
from reportgen.measurements.gaps import Gap
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import GapCode, TaskCode, fails, missing

TESTS: Final = ("oil", "conductivity")
"""The tests of an abrasive that a contract can ask for."""
AbrasiveTest = Annotated[Word, "abrasive-test", TESTS]
OilShown = Annotated[Word, "oil", get_args(OilSeen)]


class ConductivityAtMost(Facts):
    """The highest conductivity of the leachate, and the method that is to measure it where one is stated."""

    maximum: Amount
    method: str | None = None


class NoOil(Facts):
    """No oil in the vial test."""


class CheckedEvery(Facts):
    """How often the abrasive is checked."""

    interval: Amount


class CleanAbrasive(Facts):
    """Nothing that could be measured is stated."""


class OilInVial(Facts):
    """What the vial test showed."""

    oil: OilShown


class LeachateConducts(Facts):
    """Conductivity of the leachate, and the method by which it was measured where that is recorded."""

    conductivity: Amount
    method: str | None = None


class NothingTested(Facts):
    """A check without a test."""


Demand = ConductivityAtMost | NoOil | CheckedEvery | CleanAbrasive
Shown = OilInVial | LeachateConducts | NothingTested


class AbrasiveRequired(Facts):
    """What is required of the abrasive."""

    demands: tuple[Demand, ...]


class AbrasiveSeen(Facts):
    """What a check showed."""

    shown: tuple[Shown, ...]


class AbrasiveUnclean(Facts):
    """What a check showed, and what is required."""

    shown: tuple[Shown, ...]
    demands: tuple[Demand, ...]


class AbrasiveUnchecked(Facts):
    """The test that is missing of an abrasive, and when."""

    test: AbrasiveTest
    abrasive: str
    gap: Gap
    demands: tuple[Demand, ...]


CHECK_MISSING: Final = missing("abrasive-check-missing", AbrasiveUnchecked)
NOT_CLEAN: Final = fails("abrasive-not-clean", AbrasiveUnclean)
MAKE_TEST: Final = TaskCode("make-abrasive-test", AbrasiveUnchecked, answers=CHECK_MISSING.name)
WITHOUT_LIMIT: Final = GapCode("abrasive-without-limit", Nothing)
