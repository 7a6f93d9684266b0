"""Visual comparison with a reference comparator: the grade seen at a location against the grade or limits required."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.errors import UsageError
from reportgen.metrology.conformity import Limits
from reportgen.references import profile_grade
from reportgen.results import ComparatorResult, Outcome, Place
from reportgen.results.codes.comparator import GRADE_NOT_MET, GradeShown
from reportgen.results.codes.profile import INCONCLUSIVE
from reportgen.rules.requirement import grade_name
from reportgen.units import Quantity

if TYPE_CHECKING:
    from reportgen.job.day import ComparatorRow
    from reportgen.results import Finding, Verdict
    from reportgen.rules.requirement import Requirement
    from reportgen.rules.scene import JobView


_FARTHER: Final = Fraction(10**9)


def comparators(view: JobView, requirement: Requirement) -> Outcome[ComparatorResult]:
    """Judge every visual comparison; one that says less than the requirement asks is inconclusive."""
    results: list[ComparatorResult] = []
    findings: list[Finding] = []
    for area in view.areas:
        records = [(surface, surface.record.profile) for surface in area.surfaces]
        rows = [(surface, row) for surface, record in records if record is not None for row in record.comparator]
        for surface, row in rows:
            verdict = _verdict(row, requirement)
            results.append(ComparatorResult(area.id, row.location, row.grade, verdict))
            place, clause = Place(area.id, area.located(surface, row.location)), requirement.record.clause
            facts = GradeShown(row.grade, requirement.range, requirement.record.comparator_grade)
            if verdict == "does not conform":
                findings.append(GRADE_NOT_MET.found(facts, place, clause=clause))
            elif verdict == "inconclusive":
                findings.append(INCONCLUSIVE.found(facts, place, clause=clause))
    return Outcome(tuple(results), tuple(findings))


def _verdict(row: ComparatorRow, requirement: Requirement) -> Verdict:
    """Compare the two ranges: the grade seen within the one required, apart from it, or neither."""
    seen = _limits(row.grade, requirement)
    if seen is None:
        return "inconclusive"
    low, high = _ends(seen, requirement.unit)
    least, most = _ends(requirement.limits, requirement.unit)
    if least <= low and high <= most:
        return "conforms"
    return "does not conform" if high <= least or low >= most else "inconclusive"


def _limits(text: str, requirement: Requirement) -> Limits | None:
    """Return the grade seen as limits; ``medium`` alone is of the comparator that the requirement names."""
    required = requirement.record.comparator_grade
    names = [text, grade_name(text)]
    if required is not None:
        names.append(f"{grade_name(text)} {required.split()[-1]}")
    for name in names:
        try:
            grade = profile_grade(name)
        except UsageError:
            continue
        return Limits(Quantity(grade.minimum, grade.unit), Quantity(grade.maximum, grade.unit))
    return None


def _ends(limits: Limits, unit: str) -> tuple[Fraction, Fraction]:
    """Return both ends in a unit; an open end is farther than any surface goes."""
    low = Fraction(0) if limits.minimum is None else limits.minimum.in_unit(unit)
    return low, _FARTHER if limits.maximum is None else limits.maximum.in_unit(unit)
