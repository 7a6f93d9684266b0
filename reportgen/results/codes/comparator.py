"""What can be stated about a visual comparison with a reference comparator: facts, codes, closed lists."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import fails

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal


@dataclass(frozen=True, slots=True)
class GradeShown(Facts):
    """The grade seen, as written, and what is required: a grade, where the contract names one, and its range.

    ``limit`` is the maximum where there is one, else the minimum; ``lowest`` the minimum in the unit of ``limit``.
    """

    seen: str
    range: Annotated[Word, "range"]
    limit: Amount
    lowest: Decimal | None = None
    grade: str | None = None


GRADE_NOT_MET: Final = fails("comparator-grade-not-met", GradeShown)
STATEMENTS: Final = (GRADE_NOT_MET,)
WORDS: Final[Mapping[str, tuple[str, ...]]] = {"range": ("closed", "half-open", "at-least", "at-most", "below")}
"""Ranges: both ends belong to it, all but the upper end, one limit only."""
