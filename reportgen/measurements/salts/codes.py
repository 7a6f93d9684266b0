"""What can be stated about soluble salts: facts, findings, things to do, gaps, steps of a derivation."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal  # noqa: TC003 - the facts' types are read by the tests of the catalogues
from typing import Annotated, Final

from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import GapCode, StepCode, TaskCode, fails, missing

CONDUCTIVITY: Final = "mixed salts by conductivity"
CHLORIDE: Final = "chloride"
ENTERED: Final = ("chloride", "sample", "blank", "volume", "area")
"""Fields of a test that its density is computed from, in the order in which a derivation names them."""
WORDS: Final = {
    "expressed-as": (CONDUCTIVITY, CHLORIDE),
    "salt-entry": ENTERED,
    "salts": ("if-right", "by-size"),
}
IF_RIGHT: Final = Word("salts", "if-right")
BY_SIZE: Final = Word("salts", "by-size")


@dataclass(frozen=True, slots=True)
class SaltsAllowed(Facts):
    """The limit: highest areal density, and what the number expresses."""

    maximum: Amount
    expressed_as: Annotated[Word, "expressed-as"]


@dataclass(frozen=True, slots=True)
class SaltsSeen(Facts):
    """Areal density of a test, its precision where one is published, and what the number expresses."""

    density: Amount
    expressed_as: Annotated[Word, "expressed-as"]
    precision: Amount | None = None


@dataclass(frozen=True, slots=True)
class SaltsAbove(Facts):
    """A density above its limit; ``doubt`` where an entry that it follows from is open to doubt."""

    density: Amount
    maximum: Amount
    expressed_as: Annotated[Word, "expressed-as"]
    doubt: Annotated[Word, "salts"] | None = None


@dataclass(frozen=True, slots=True)
class SaltTestsRequired(Facts):
    """How many tests of one kind the contract asks for."""

    tests: int
    expressed_as: Annotated[Word, "expressed-as"]


@dataclass(frozen=True, slots=True)
class SaltTestsMade(Facts):
    """Tests that count, ``other`` that express something else, and how many are required, where that is known."""

    count: int
    wanted: SaltTestsRequired | Annotated[Word, "salts"]
    other: int | None = None


@dataclass(frozen=True, slots=True)
class SaltTestsToMake(Facts):
    """How many tests are short of those required."""

    short: int
    wanted: SaltTestsRequired


@dataclass(frozen=True, slots=True)
class SaltEntry(Facts):
    """A value as entered."""

    name: Annotated[Word, "salt-entry"]
    value: Amount


@dataclass(frozen=True, slots=True)
class SaltDerived(Facts):
    """A density as computed, in mg/m², and what follows."""

    density: Decimal
    verdict: Annotated[Word, "verdict"]
    precision: Decimal | None = None


ABOVE_MAXIMUM: Final = fails("salts-above-maximum", SaltsAbove)
MISSING: Final = missing("salts-missing", SaltTestsMade)
MAKE_TESTS: Final = TaskCode("make-salt-tests", SaltTestsToMake, answers=MISSING.name)
WITHOUT_LIMIT: Final = GapCode("salts-without-limit", Nothing)
ENTRY: Final = StepCode("salt-entry", SaltEntry)
METHOD: Final = StepCode("salt-method", SaltsSeen)
DENSITY: Final = StepCode("salt-density", SaltDerived)
FORMULA: Final = StepCode("salt-density-formula", Nothing)
STATEMENTS: Final = (ABOVE_MAXIMUM, MISSING, MAKE_TESTS, WITHOUT_LIMIT, ENTRY, METHOD, DENSITY, FORMULA)
