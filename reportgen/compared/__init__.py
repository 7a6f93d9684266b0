"""Two issued reports held against each other: what was required, entered and found, and what changes verdicts."""

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
    "MOST_TRIED",
    "Changed",
    "Compared",
    "Identity",
    "Row",
    "Side",
    "compare",
    "compared",
    "side_of",
    "side_of_files",
]
