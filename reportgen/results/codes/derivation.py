"""What can be stated about how a value came about: what it is, what went in, by which rule, and what came out."""

from decimal import Decimal
from typing import Annotated, Final

from reportgen.results.codes.profile import DecisionRule, OverlapRule, TapeGrade
from reportgen.results.codes.rules import RangeOf, ValueOfSpots
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import StepCode
from reportgen.results.values import BudgetInput, DecisionWord, PlanMisses, UncertainQuantity, VerdictWord

Rounding = Annotated[Word, "rounding", ("half-even", "half-up", "none")]
Band = Annotated[Word, "band", ("pass", "conditional pass", "conditional fail", "fail")]
PlanRule = Annotated[Word, "plan", ("per-shift-and-apparatus", "area-rate", "length-rate", "fixed")]


class OnTape(Facts):
    """One reading on tape as the gauge showed it, and net of the film where that differs."""

    roll: str
    tape_grade: TapeGrade
    gross: Amount
    net: Amount | None = None


class ByGauge(Facts):
    """One reading of a depth micrometer."""

    gross: Amount


class Seen(Facts):
    """A grade seen beside a reference comparator."""

    grade: str


class ByTwoGrades(Facts):
    """The contract's rule for two tape grades, and the film taken off where the readings include it."""

    overlap_rule: OverlapRule
    film: Amount | None = None


class Came(Facts):
    """A profile as it came out, with its unit."""

    profile: Amount


class Number(Facts):
    """A profile in the unit of the specification."""

    profile: Decimal


class ValueOf(Facts):
    """How the value of a location follows from its spots."""

    value: ValueOfSpots


class Expanded(Facts):
    """Expanded uncertainty in the unit of the specification, with its coverage factor."""

    expanded: Decimal
    factor: Decimal


class OfResult(Facts):
    """Of what an uncertainty is."""

    quantity: UncertainQuantity


class Combined(Facts):
    """Standard and expanded uncertainty of a result; no degrees of freedom where they are infinite."""

    standard: Amount
    expanded: Amount
    factor: Decimal
    freedom: int | None = None


class JudgedBy(Facts):
    """Decision rule and rounding."""

    decision_rule: DecisionRule
    rounding: Rounding


class Judged(Facts):
    """A verdict, the number that was compared, its band beside the limits, and the probability of conformity."""

    verdict: VerdictWord
    compared: Decimal | None = None
    band: Band | None = None
    probability: Decimal | None = None


class Count(Facts):
    """A number of locations."""

    count: int


class CanMiss(Facts):
    """What the plan can miss."""

    misses: PlanMisses


class PlanNamed(Facts):
    """The sampling plan."""

    plan: PlanRule


class Mean(Facts):
    """Mean and standard deviation of so many locations, in the unit of the specification."""

    mean: Decimal
    count: int
    deviation: Decimal | None = None


class Concluded(Facts):
    """Verdict and decision; ``part`` of the ``size`` where it is of what was cleaned and not of the whole area."""

    verdict: VerdictWord
    decision: DecisionWord
    part: Amount | None = None
    size: Amount | None = None


SEEN: Final = StepCode("grade-seen", Seen)
BESIDE_COMPARATOR: Final = StepCode("beside-comparator", Nothing)
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
BUDGET_INPUT: Final = StepCode("budget-input", BudgetInput)
OF_RESULT: Final = StepCode("uncertainty-of-result", OfResult)
RESULT_EXPANDED: Final = StepCode("expanded-uncertainty-of-result", Combined)
SAMPLING: Final = StepCode("sampling-step", Nothing)
REGULAR: Final = StepCode("regular-locations", Count)
PLAN: Final = StepCode("sampling-plan", PlanNamed)
REQUIRED: Final = StepCode("locations-required", Count)
NOT_KNOWN: Final = StepCode("locations-not-known", Nothing)
MISSES: Final = StepCode("plan-can-miss", Nothing)
AT_RANDOM: Final = StepCode("chosen-at-random", Nothing)
MISSED: Final = StepCode("plan-missed", CanMiss)
MEAN: Final = StepCode("mean-of-locations", Nothing)
AT_LOCATION: Final = StepCode("profile-of-location", Number)
ARITHMETIC: Final = StepCode("arithmetic-mean", Nothing)
MEAN_CAME: Final = StepCode("mean-came", Mean)
DECISION: Final = StepCode("decision-step", Nothing)
RECOMMENDED: Final = StepCode("decision-rule", Nothing)
BY_INSPECTOR: Final = StepCode("inspector-recommends", Nothing)
CONCLUDED: Final = StepCode("area-concluded", Concluded)
