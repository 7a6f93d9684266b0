"""The frozen values an evaluation consists of. Nothing here computes.

Every number is a ``Decimal`` with exactly the digits that the page prints. ``None`` means not evaluated or not
applicable, and the page says which.
"""

from reportgen.results.facts import Amount, Facts, Place, Stated, Word
from reportgen.results.outcome import Outcome
from reportgen.results.standing import Cause, Deadline, Standing
from reportgen.results.statements import Effect
from reportgen.results.values import (
    AreaResult,
    AtTime,
    BudgetLine,
    CheckResult,
    CoatingTime,
    ComparatorResult,
    Counted,
    Decision,
    DerivationStep,
    Evaluation,
    Finding,
    How,
    LeftOut,
    LocationResult,
    NonconformanceState,
    ReportIdentity,
    RuleApplied,
    SamplingPart,
    Severity,
    SpotReading,
    SpotResult,
    Task,
    Verdict,
)

__all__ = [
    "Amount",
    "AreaResult",
    "AtTime",
    "BudgetLine",
    "Cause",
    "CheckResult",
    "CoatingTime",
    "ComparatorResult",
    "Counted",
    "Deadline",
    "Decision",
    "DerivationStep",
    "Effect",
    "Evaluation",
    "Facts",
    "Finding",
    "How",
    "LeftOut",
    "LocationResult",
    "NonconformanceState",
    "Outcome",
    "Place",
    "ReportIdentity",
    "RuleApplied",
    "SamplingPart",
    "Severity",
    "SpotReading",
    "SpotResult",
    "Standing",
    "Stated",
    "Task",
    "Verdict",
    "Word",
]
