"""What can be stated about a visual comparison with a reference comparator: facts and codes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.results.facts import Facts
from reportgen.results.statements import fails

if TYPE_CHECKING:
    from reportgen.results.codes.ranges import Range


@dataclass(frozen=True, slots=True)
class GradeShown(Facts):
    """The grade seen, as written, and what is required: a grade, where the contract names one, and its range."""

    seen: str
    range: Range
    grade: str | None = None


GRADE_NOT_MET: Final = fails("comparator-grade-not-met", GradeShown)
STATEMENTS: Final = (GRADE_NOT_MET,)
