"""What can be stated about how a value came about: what it is, what went in, by which rule, and what came out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from reportgen.results.codes.rules import RangeOf
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import StepCode

if TYPE_CHECKING:
    from decimal import Decimal

    from reportgen.results.statements import Statement


@dataclass(frozen=True, slots=True)
class OnTape(Facts):
    """One reading on tape as the gauge showed it, and net of the film where that differs."""

    roll: str
    tape_grade: Annotated[Word, "tape-grade"]
    gross: Amount
    net: Amount | None = None


@dataclass(frozen=True, slots=True)
class ByGauge(Facts):
    """One reading of a depth micrometer."""

    gross: Amount


@dataclass(frozen=True, slots=True)
class ByTwoGrades(Facts):
    """The contract's rule for two tape grades, and the film taken off where the readings include it."""

    overlap_rule: Annotated[Word, "overlap-rule"]
    film: Amount | None = None


@dataclass(frozen=True, slots=True)
class Came(Facts):
    """A profile as it came out, with its unit."""

    profile: Amount


@dataclass(frozen=True, slots=True)
class Number(Facts):
    """A profile in the unit of the specification."""

    profile: Decimal


@dataclass(frozen=True, slots=True)
class ValueOf(Facts):
    """How the value of a location follows from its spots."""

    value: Annotated[Word, "value-of-spots"]


@dataclass(frozen=True, slots=True)
class Expanded(Facts):
    """Expanded uncertainty in the unit of the specification, with its coverage factor."""

    expanded: Decimal
    factor: Decimal


@dataclass(frozen=True, slots=True)
class JudgedBy(Facts):
    """Decision rule and rounding."""

    decision_rule: Annotated[Word, "decision-rule"]
    rounding: Annotated[Word, "rounding"]


@dataclass(frozen=True, slots=True)
class Judged(Facts):
    """A verdict, the number that was compared, its band beside the limits, and the probability of conformity."""

    verdict: Annotated[Word, "verdict"]
    compared: Decimal | None = None
    band: Annotated[Word, "band"] | None = None
    probability: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Count(Facts):
    """A number of locations."""

    count: int


@dataclass(frozen=True, slots=True)
class PlanNamed(Facts):
    """The sampling plan."""

    plan: Annotated[Word, "plan"]


@dataclass(frozen=True, slots=True)
class Mean(Facts):
    """Mean and standard deviation of so many locations, in the unit of the specification."""

    mean: Decimal
    count: int
    deviation: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Concluded(Facts):
    """Verdict and decision."""

    verdict: Annotated[Word, "verdict"]
    decision: Annotated[Word, "decision"]


SPOT: Final = StepCode("at-spot", Nothing)
ON_TAPE: Final = StepCode("reading-on-tape", OnTape)
BY_GAUGE: Final = StepCode("reading-by-gauge", ByGauge)
STANDS: Final = StepCode("reading-stands", Nothing)
TWO_GRADES: Final = StepCode("two-tape-grades", ByTwoGrades)
LOCATION: Final = StepCode("at-location", Nothing)
LACKING: Final = StepCode("spot-lacking", Nothing)
ALL_SPOTS: Final = StepCode("all-spots-needed", Nothing)
OF_SPOT: Final = StepCode("profile-of-spot", Number)
BY_SPOTS: Final = StepCode("value-of-the-spots", ValueOf)
CAME: Final = StepCode("profile-came", Came)
VERDICT: Final = StepCode("location-verdict", Nothing)
COMPARED: Final = StepCode("profile-compared", Number)
LIMITS: Final = StepCode("profile-limits", RangeOf)
EXPANDED: Final = StepCode("expanded-uncertainty", Expanded)
JUDGED_BY: Final = StepCode("judged-by", JudgedBy)
JUDGED: Final = StepCode("location-judged", Judged)
OF_LOCATION: Final = StepCode("uncertainty-of-location", Nothing)
OF_MEAN: Final = StepCode("uncertainty-of-mean", Nothing)
ROOT_SUM: Final = StepCode("root-sum-of-squares", Nothing)
AT_EACH: Final = StepCode("uncertainty-at-each-location", Nothing)
MEAN_EXPANDED: Final = StepCode("expanded-uncertainty-of-mean", Expanded)
SAMPLING: Final = StepCode("sampling-step", Nothing)
REGULAR: Final = StepCode("regular-locations", Count)
PLAN: Final = StepCode("sampling-plan", PlanNamed)
REQUIRED: Final = StepCode("locations-required", Count)
NOT_KNOWN: Final = StepCode("locations-not-known", Nothing)
MEAN: Final = StepCode("mean-of-locations", Nothing)
AT_LOCATION: Final = StepCode("profile-of-location", Number)
ARITHMETIC: Final = StepCode("arithmetic-mean", Nothing)
MEAN_CAME: Final = StepCode("mean-came", Mean)
DECISION: Final = StepCode("decision-step", Nothing)
RECOMMENDED: Final = StepCode("decision-rule", Nothing)
BY_INSPECTOR: Final = StepCode("inspector-recommends", Nothing)
CONCLUDED: Final = StepCode("area-concluded", Concluded)

STATEMENTS: Final[tuple[Statement, ...]] = (
    SPOT, ON_TAPE, BY_GAUGE, STANDS, TWO_GRADES, LOCATION, LACKING, ALL_SPOTS, OF_SPOT,
    BY_SPOTS, CAME, VERDICT, COMPARED, LIMITS, EXPANDED, JUDGED_BY, JUDGED, OF_LOCATION, OF_MEAN, ROOT_SUM, AT_EACH,
    MEAN_EXPANDED, SAMPLING, REGULAR, PLAN, REQUIRED, NOT_KNOWN, MEAN, AT_LOCATION, ARITHMETIC, MEAN_CAME, DECISION,
    RECOMMENDED, BY_INSPECTOR, CONCLUDED,
)  # fmt: skip
WORDS: Final = {
    "rounding": ("half-even", "half-up", "none"),
    "band": ("pass", "conditional pass", "conditional fail", "fail"),
    "plan": ("per-shift-and-apparatus", "area-rate", "length-rate", "fixed"),
    "decision": ("release", "hold", "rework"),
}  # fmt: skip
"""Closed lists of words, by their group in the catalogues."""
