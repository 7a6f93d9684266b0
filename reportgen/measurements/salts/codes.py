"""What can be stated about soluble salts: facts, findings, things to do, gaps, steps of a derivation."""

from decimal import Decimal
from typing import Annotated, Final

from reportgen.results.codes.profile import DecisionRule, GuardBand
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import Code, GapCode, StepCode, TaskCode, fails, missing, notes
from reportgen.results.values import VerdictWord

CONDUCTIVITY: Final = "mixed salts by conductivity"
SODIUM_CHLORIDE: Final = "sodium chloride by conductivity"
CHLORIDE: Final = "chloride"
CHLORIDE_BY_CONDUCTIVITY: Final = "chloride by conductivity"
"""Chloride reckoned from conductivity by the contract's constant: it is never one that was measured."""
ENTERED: Final = ("chloride", "sample", "blank", "volume", "area")
"""Fields of a test that its density is computed from, in the order in which a derivation names them."""
ExpressedAs = Annotated[Word, "expressed-as", (CONDUCTIVITY, SODIUM_CHLORIDE, CHLORIDE, CHLORIDE_BY_CONDUCTIVITY)]
SaltField = Annotated[Word, "salt-entry", ENTERED]
Hint = Annotated[Word, "salts", ("if-shown-rightly", "by-size")]
IF_SHOWN_RIGHTLY: Final = Word("salts", "if-shown-rightly")
BY_SIZE: Final = Word("salts", "by-size")
NotStated = Annotated[Word, "not-in-uncertainty", ("meter", "kit", "method", "volume", "patch")]
"""Whose error is not on record."""


class SaltsAllowed(Facts):
    """The limit: highest areal density, what the number expresses, and what else the contract states of it.

    ``constant`` is its own factor from conductivity, in kg/(m²·S); ``rule`` the decision rule where it is not simple.
    """

    maximum: Amount
    expressed_as: ExpressedAs
    constant: Decimal | None = None
    precision: Amount | None = None
    rule: DecisionRule | None = None


class SaltsSeen(Facts):
    """Areal density of a test, its expanded uncertainty where it is known, and what the number expresses."""

    density: Amount
    expressed_as: ExpressedAs
    expanded: Amount | None = None


class SaltsAbove(Facts):
    """A density above its limit, with U; ``doubt`` where it follows from a meter in doubt."""

    density: Amount
    maximum: Amount
    expressed_as: ExpressedAs
    doubt: Hint | None = None
    expanded: Amount | None = None


class SaltsNear(Facts):
    """A density nearer to its limit than its expanded uncertainty, which is the guard band; ``band`` of ILAC-G8."""

    density: Amount
    maximum: Amount
    expressed_as: ExpressedAs
    expanded: Amount
    band: GuardBand


class SaltsUncertain(Facts):
    """The decision rule needs an uncertainty, and neither the contract nor the instrument states one."""

    density: Amount
    expressed_as: ExpressedAs
    rule: DecisionRule


class SaltsBelowBlank(Facts):
    """A sample that conducts a digit less than its blank."""

    sample: Amount
    blank: Amount


class SaltTestsRequired(Facts):
    """How many tests of one kind the contract asks for."""

    tests: int
    expressed_as: ExpressedAs


class SaltTestsMade(Facts):
    """Tests that count, ``other`` that express something else, and how many are required, where that is known."""

    count: int
    wanted: SaltTestsRequired | Hint
    other: int | None = None


class SaltTestsToMake(Facts):
    """How many tests are short of those required."""

    short: int
    wanted: SaltTestsRequired


class ErrorsNotStated(Facts):
    """What nothing is known of, so that the uncertainty of the tests of some areas does not hold its error."""

    areas: tuple[str, ...]
    of: tuple[NotStated, ...]


class SaltEntry(Facts):
    """A value as entered."""

    name: SaltField
    value: Amount


class SaltDerived(Facts):
    """A density as computed, in mg/m², with U and its coverage factor, and what follows by which rule."""

    density: Decimal
    verdict: VerdictWord
    expanded: Decimal | None = None
    factor: Decimal | None = None
    rule: DecisionRule | None = None
    probability: Decimal | None = None


class SaltFactor(Facts):
    """Factor from conductivity to areal density, in kg/(m²·S)."""

    constant: Decimal


ABOVE_MAXIMUM: Final = fails("salts-above-maximum", "washing", SaltsAbove)
IN_GUARD_BAND: Final = missing("salts-in-guard-band", "surer", SaltsNear)
INCONCLUSIVE: Final[Code[SaltsNear | SaltsUncertain]] = missing(
    "salts-inconclusive", "surer", SaltsNear, SaltsUncertain
)
MISSING: Final = missing("salts-missing", "entry", SaltTestsMade)
BELOW_BLANK: Final = notes("salts-below-blank", SaltsBelowBlank)
TEST_AGAIN: Final = TaskCode("test-salts-again", Nothing, on_bare=True)
MAKE_TESTS: Final = TaskCode("make-salt-tests", SaltTestsToMake, answers=MISSING.name, on_bare=True)
WITHOUT_LIMIT: Final = GapCode("salts-without-limit", Nothing)
U_WITHOUT: Final = GapCode("salts-uncertainty-without", ErrorsNotStated, beyond_uncertainty=True)
ENTRY: Final = StepCode("salt-entry", SaltEntry)
METHOD: Final = StepCode("salt-method", SaltsSeen)
DENSITY: Final = StepCode("salt-density", SaltDerived)
FORMULA: Final = StepCode("salt-density-formula", Nothing)
FACTOR: Final = StepCode("salt-factor", SaltFactor)
