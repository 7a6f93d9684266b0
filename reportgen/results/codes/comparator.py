"""What can be stated about a visual comparison with a reference comparator: facts and codes."""

from typing import Final

from reportgen.results.codes.ranges import Range
from reportgen.results.facts import Facts
from reportgen.results.statements import fails, notes


class GradeShown(Facts):
    """The grade seen, as written, and what is required: a grade, where the contract names one, and its range."""

    seen: str
    range: Range
    grade: str | None = None


class GradeNoted(Facts):
    """The grade seen, as written, beside readings by which alone the contract has the profile judged."""

    seen: str


GRADE_NOT_MET: Final = fails("comparator-grade-not-met", "blasting", GradeShown)
GRADE_NOTED: Final = notes("comparator-grade-noted", GradeNoted)
