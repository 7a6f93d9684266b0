"""Visual comparison with a reference comparator: the grade seen at a location against the grade or limits required."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.metrology.conformity import Limits
from reportgen.references import profile_grade, profile_grade_names
from reportgen.results import ComparatorResult, Outcome, Place
from reportgen.results.codes.comparator import GRADE_NOT_MET, GradeShown
from reportgen.results.codes.profile import INCONCLUSIVE
from reportgen.rules.requirement import grade_name
from reportgen.units import Quantity

if TYPE_CHECKING:
    from reportgen.results import Finding, Verdict
    from reportgen.rules.requirement import Requirement
    from reportgen.rules.scene import JobView


_FARTHER: Final = Fraction(10**9)


def comparators(view: JobView, requirement: Requirement) -> Outcome[ComparatorResult]:
    """Judge every visual comparison; one that says less than the requirement asks is inconclusive."""
    results: list[ComparatorResult] = []
    findings: list[Finding] = []
    required, clause = requirement.record.comparator_grade, requirement.record.clause
    surfaces = ((area, surface, surface.record.profile) for area in view.areas for surface in area.surfaces)
    rows = ((area, one, row) for area, one, record in surfaces if record is not None for row in record.comparator)
    for area, surface, row in rows:
        verdict = _verdict(row.grade, requirement)
        results.append(ComparatorResult(area.id, row.location, row.grade, verdict))
        if verdict != "conforms":
            code = GRADE_NOT_MET if verdict == "does not conform" else INCONCLUSIVE
            facts = GradeShown(row.grade, requirement.range, required)
            place = Place(area.id, area.located(surface, row.location))
            findings.append(code.found(facts, place, clause=clause))
    return Outcome(tuple(results), tuple(findings))


def _verdict(text: str, requirement: Requirement) -> Verdict:
    """Compare the two ranges: the grade seen within the one required, apart from it, or neither.

    ``medium`` alone is of the comparator that the requirement names.
    """
    required = requirement.record.comparator_grade
    names = [text, grade_name(text), *([] if required is None else [f"{grade_name(text)} {required.split()[-1]}"])]
    known = next((name for name in names if name in profile_grade_names()), None)
    if known is None:
        return "inconclusive"
    grade = profile_grade(known)
    seen = Limits(Quantity(grade.minimum, grade.unit), Quantity(grade.maximum, grade.unit))
    low, high = _ends(seen, requirement.unit)
    least, most = _ends(requirement.limits, requirement.unit)
    if least <= low and high <= most:
        return "conforms"
    return "does not conform" if high <= least or low >= most else "inconclusive"


def _ends(limits: Limits, unit: str) -> tuple[Fraction, Fraction]:
    """Return both ends in a unit; an open end is farther than any surface goes."""
    low = Fraction(0) if limits.minimum is None else limits.minimum.in_unit(unit)
    return low, _FARTHER if limits.maximum is None else limits.maximum.in_unit(unit)
