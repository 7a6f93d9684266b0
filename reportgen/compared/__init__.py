"""Two issued reports held against each other: what was required, entered and found, and what changes verdicts."""

from reportgen.compared.gauge_error import MOST_STEPS, GaugeError, gauge_errors, gauge_errors_of
from reportgen.compared.reports import (
    MOST_TRIED,
    Changed,
    Compared,
    Identity,
    Row,
    Side,
    compare,
    compared,
    side_of,
    side_of_files,
)

__all__ = [
    "MOST_STEPS",
    "MOST_TRIED",
    "Changed",
    "Compared",
    "GaugeError",
    "Identity",
    "Row",
    "Side",
    "compare",
    "compared",
    "gauge_errors",
    "gauge_errors_of",
    "side_of",
    "side_of_files",
]
