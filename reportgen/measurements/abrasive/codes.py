"""What can be stated about the abrasive: facts, findings, things to do, gaps."""

from typing import Annotated, Final, get_args

from reportgen.measurements.abrasive.record import OilSeen
from reportgen.measurements.gaps import Gap
from reportgen.results.codes.profile import DecisionRule, GuardBand
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import Code, GapCode, Settled, TaskCode, fails, missing, notes

TESTS: Final = ("oil", "conductivity")
"""The tests of an abrasive that a contract can ask for."""
AbrasiveTest = Annotated[Word, "abrasive-test", TESTS]
NotStated = Annotated[Word, "abrasive-not-in-uncertainty", ("meter", "method")]
MeterDoubt = Annotated[Word, "abrasive-doubt", ("if-shown-rightly",)]
IF_SHOWN_RIGHTLY: Final = Word("abrasive-doubt", "if-shown-rightly")
OilShown = Annotated[Word, "oil", get_args(OilSeen)]


class ConductivityAtMost(Facts):
    """The highest conductivity of the leachate, and the method that is to measure it where one is stated.

    ``precision`` is the method's where the contract states one, ``rule`` the decision rule where it is not simple.
    """

    maximum: Amount
    method: str | None = None
    precision: Amount | None = None
    rule: DecisionRule | None = None


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
    """Conductivity of the leachate with U where it is known, and the method where that is recorded."""

    conductivity: Amount
    method: str | None = None
    expanded: Amount | None = None


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
    """What a check showed, and what is required; ``doubt`` where a failed check of its meter reaches it."""

    shown: tuple[Shown, ...]
    demands: tuple[Demand, ...]
    doubt: MeterDoubt | None = None


class AbrasiveNear(Facts):
    """A conductivity nearer to its limit than its expanded uncertainty, which is the guard band."""

    abrasive: str
    conductivity: Amount
    maximum: Amount
    expanded: Amount
    band: GuardBand


class AbrasiveUncertain(Facts):
    """The decision rule needs an uncertainty, and neither the contract nor the instrument states one."""

    abrasive: str
    conductivity: Amount
    rule: DecisionRule


class AbrasiveAgain(Facts):
    """The abrasive whose conductivity is to be measured again."""

    abrasive: str


class AbrasiveWithout(Facts):
    """What nothing is known of, so that the uncertainty of the conductivity does not hold its error."""

    abrasive: str
    of: tuple[NotStated, ...]


class AbrasiveTestedAgain(Facts):
    """What a check showed in whose place a later one stands, made before the blasting at ``again``."""

    abrasive: str
    shown: tuple[Shown, ...]
    again: str


class AbrasiveUnchecked(Facts):
    """The test that is missing of an abrasive, and when."""

    test: AbrasiveTest
    abrasive: str
    gap: Gap
    demands: tuple[Demand, ...]


def abrasive_settled(facts: AbrasiveNear | AbrasiveUncertain) -> Settled:
    """Errors of instruments may still be entered; the abrasive that was used is on the steel."""
    return "entry" if isinstance(facts, AbrasiveUncertain) else "blasting"


CHECK_MISSING: Final = missing("abrasive-check-missing", "entry", AbrasiveUnchecked)
NOT_CLEAN: Final = fails("abrasive-not-clean", "blasting", AbrasiveUnclean)
IN_GUARD_BAND: Final = missing("abrasive-in-guard-band", "blasting", AbrasiveNear)
INCONCLUSIVE: Final[Code[AbrasiveNear | AbrasiveUncertain]] = missing(
    "abrasive-inconclusive", abrasive_settled, AbrasiveNear, AbrasiveUncertain
)
TESTED_AGAIN: Final = notes("abrasive-tested-again", AbrasiveTestedAgain)
MEASURE_AGAIN: Final = TaskCode("measure-abrasive-again", AbrasiveAgain)
MAKE_TEST: Final = TaskCode("make-abrasive-test", AbrasiveUnchecked, answers=CHECK_MISSING.name)
U_WITHOUT: Final = GapCode("abrasive-uncertainty-without", AbrasiveWithout, beyond_uncertainty=True)
WITHOUT_LIMIT: Final = GapCode("abrasive-without-limit", Nothing)
