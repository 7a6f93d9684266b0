"""Two issued reports held against each other: what was required, entered and found, and what changes verdicts."""

from reportgen.compared.gauge_error import MOST_STEPS, GaugeError, gauge_errors, gauge_errors_of
from reportgen.compared.reports import (
    MOST_TRIED,
    ComparedRow,
    ComparedSide,
    NamedReport,
    ReportsCompared,
    VerdictChange,
    compare,
    compared,
    side_of,
    side_of_files,
)

__all__ = [
    "MOST_STEPS",
    "MOST_TRIED",
    "ComparedRow",
    "ComparedSide",
    "GaugeError",
    "NamedReport",
    "ReportsCompared",
    "VerdictChange",
    "compare",
    "compared",
    "gauge_errors",
    "gauge_errors_of",
    "side_of",
    "side_of_files",
]
