"""What can be stated about a visual comparison with a reference comparator: facts and codes."""

from typing import Final

from reportgen.results.codes.ranges import Range
from reportgen.results.facts import Facts
from reportgen.results.statements import fails


class GradeShown(Facts):
    """The grade seen, as written, and what is required: a grade, where the contract names one, and its range."""

    seen: str
    range: Range
    grade: str | None = None


GRADE_NOT_MET: Final = fails("comparator-grade-not-met", GradeShown)
