"""What can be stated about soluble salts: facts, findings, things to do, gaps, steps of a derivation."""

from decimal import Decimal
from typing import Annotated, Final

from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import GapCode, StepCode, TaskCode, fails, missing
from reportgen.results.values import VerdictWord

CONDUCTIVITY: Final = "mixed salts by conductivity"
CHLORIDE: Final = "chloride"
ENTERED: Final = ("chloride", "sample", "blank", "volume", "area")
"""Fields of a test that its density is computed from, in the order in which a derivation names them."""
ExpressedAs = Annotated[Word, "expressed-as", (CONDUCTIVITY, CHLORIDE)]
SaltField = Annotated[Word, "salt-entry", ENTERED]
Hint = Annotated[Word, "salts", ("if-right", "by-size")]
IF_RIGHT: Final = Word("salts", "if-right")
BY_SIZE: Final = Word("salts", "by-size")


class SaltsAllowed(Facts):
    """The limit: highest areal density, and what the number expresses."""

    maximum: Amount
    expressed_as: ExpressedAs


class SaltsSeen(Facts):
    """Areal density of a test, its precision where one is published, and what the number expresses."""

    density: Amount
    expressed_as: ExpressedAs
    precision: Amount | None = None


class SaltsAbove(Facts):
    """A density above its limit; ``doubt`` where an entry that it follows from is open to doubt."""

    density: Amount
    maximum: Amount
    expressed_as: ExpressedAs
    doubt: Hint | None = None


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


class SaltEntry(Facts):
    """A value as entered."""

    name: SaltField
    value: Amount


class SaltDerived(Facts):
    """A density as computed, in mg/m², and what follows."""

    density: Decimal
    verdict: VerdictWord
    precision: Decimal | None = None


ABOVE_MAXIMUM: Final = fails("salts-above-maximum", SaltsAbove)
MISSING: Final = missing("salts-missing", SaltTestsMade)
MAKE_TESTS: Final = TaskCode("make-salt-tests", SaltTestsToMake, answers=MISSING.name)
WITHOUT_LIMIT: Final = GapCode("salts-without-limit", Nothing)
ENTRY: Final = StepCode("salt-entry", SaltEntry)
METHOD: Final = StepCode("salt-method", SaltsSeen)
DENSITY: Final = StepCode("salt-density", SaltDerived)
FORMULA: Final = StepCode("salt-density-formula", Nothing)
