"""The frozen values an evaluation consists of, and their canonical JSON. Nothing here computes.

Every number is a ``Decimal`` with exactly the digits that the page prints. ``None`` means not evaluated or not
applicable, and the page says which.
"""

from reportgen.results.canonical import canonical_json, plain
from reportgen.results.codes import FINDING_CODES, Effect, FindingCode
from reportgen.results.values import (
    AreaResult,
    AtTime,
    BudgetLine,
    CheckResult,
    CleanlinessResult,
    CoatingTime,
    ComparatorResult,
    ConditionResult,
    Decision,
    DerivationStep,
    DustResult,
    Evaluation,
    Finding,
    How,
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
    Verdict,
)

__all__ = [
    "FINDING_CODES",
    "AreaResult",
    "AtTime",
    "BudgetLine",
    "CheckResult",
    "CleanlinessResult",
    "CoatingTime",
    "ComparatorResult",
    "ConditionResult",
    "Decision",
    "DerivationStep",
    "DustResult",
    "Effect",
    "Evaluation",
    "Finding",
    "FindingCode",
    "How",
    "LocationResult",
    "MeasureNext",
    "NonconformanceState",
    "ReportIdentity",
    "RuleApplied",
    "SaltResult",
    "SamplingPart",
    "Severity",
    "SpotReading",
    "SpotResult",
    "Verdict",
    "canonical_json",
    "plain",
]
