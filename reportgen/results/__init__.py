"""The frozen values an evaluation consists of. Nothing here computes.

Every number is a ``Decimal`` with exactly the digits that the page prints. ``None`` means not evaluated or not
applicable, and the page says which.
"""

from reportgen.results.codes import FINDING_CODES, FindingCode
from reportgen.results.facts import Amount, Facts, Place, Stated, Word
from reportgen.results.outcome import Outcome
from reportgen.results.statements import Effect
from reportgen.results.values import (
    AreaResult,
    AtTime,
    BudgetLine,
    CheckResult,
    CleanlinessResult,
    CoatingTime,
    ComparatorResult,
    ConditionResult,
    Counted,
    Decision,
    DerivationStep,
    Evaluation,
    Finding,
    How,
    LeftOut,
    LocationResult,
    MeasureNext,
    NonconformanceState,
    ReportIdentity,
    RuleApplied,
    SaltResult,
    SamplingPart,
    Severity,
    SpotReading,
    SpotResult,
    Task,
    Verdict,
)

__all__ = [
    "FINDING_CODES",
    "Amount",
    "AreaResult",
    "AtTime",
    "BudgetLine",
    "CheckResult",
    "CleanlinessResult",
    "CoatingTime",
    "ComparatorResult",
    "ConditionResult",
    "Counted",
    "Decision",
    "DerivationStep",
    "Effect",
    "Evaluation",
    "Facts",
    "Finding",
    "FindingCode",
    "How",
    "LeftOut",
    "LocationResult",
    "MeasureNext",
    "NonconformanceState",
    "Outcome",
    "Place",
    "ReportIdentity",
    "RuleApplied",
    "SaltResult",
    "SamplingPart",
    "Severity",
    "SpotReading",
    "SpotResult",
    "Stated",
    "Task",
    "Verdict",
    "Word",
]
