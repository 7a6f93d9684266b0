"""Visual comparison with a reference comparator: the grade seen at a location against the grade or limits required."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.references import comparator_grade, profile_grade, profile_grade_names
from reportgen.results import ComparatorResult, Outcome, Place
from reportgen.results.codes.comparator import GRADE_NOT_MET, GradeShown
from reportgen.results.codes.profile import INCONCLUSIVE
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from reportgen.references import Comparator
    from reportgen.results import Finding, Verdict
    from reportgen.rules.requirement import Requirement
    from reportgen.rules.scene import JobView


def comparators(view: JobView, requirement: Requirement) -> Outcome[ComparatorResult]:
    """Judge every comparison beside readings; one that says less than the requirement asks is inconclusive.

    One that names no comparator is of that which the requirement names.
    """
    results: list[ComparatorResult] = []
    findings: list[Finding] = []
    required = comparator_grade(requirement.record.comparator_grade or "")
    surfaces = ((area, surface, surface.record.profile) for area in view.areas for surface in area.surfaces)
    rows = ((area, one, row) for area, one, record in surfaces if record is not None for row in record.comparator)
    for area, surface, row in rows:
        verdict = grades_verdict([row.grade], requirement, None if required is None else required.comparator)
        results.append(ComparatorResult(area.id, row.location, row.grade, verdict))
        if verdict != "conforms":
            findings.append(
                not_shown(row.grade, verdict, requirement, Place(area.id, area.located(surface, row.location)))
            )
    return Outcome(tuple(results), tuple(findings))


def not_shown(seen: str, verdict: Verdict, requirement: Requirement, place: Place) -> Finding:
    """State that what was seen does not conform, or does not tell whether it does."""
    code = GRADE_NOT_MET if verdict == "does not conform" else INCONCLUSIVE
    record = requirement.record
    facts = GradeShown(seen, requirement.range, record.comparator_grade)
    return code.found(facts, place, clause=record.clause)


@dataclass(frozen=True, slots=True)
class _Range:
    """From a profile, included, to another, which nothing bounds if None; ``of`` is the comparator that shows it."""

    lower: Fraction
    upper: Fraction | None
    with_upper: bool
    of: Comparator | None = None


def grades_verdict(seen: Sequence[str], requirement: Requirement, comparator: Comparator | None) -> Verdict:
    """Compare what was seen with what is required: wholly within it, wholly apart from it, or neither.

    Several grades seen at one location leave open which it is: any profile that one of them allows. A grade of the
    other comparator than that which the requirement names says nothing in its terms.
    """
    ranges = [_range_of(text, requirement.unit, comparator) for text in seen]
    known = [one for one in ranges if one is not None]
    named = comparator_grade(requirement.record.comparator_grade or "")
    if len(known) < len(ranges) or (named is not None and any(one.of not in (None, named.comparator) for one in known)):
        return "inconclusive"
    if all(_within(one, requirement) for one in known):
        return "conforms"
    return "does not conform" if all(_apart(one, requirement) for one in known) else "inconclusive"


def _range_of(text: str, unit: str, comparator: Comparator | None) -> _Range | None:
    """Return which profiles a grade allows [unit]; a named grade of abrasives, too, has its range."""
    grade = comparator_grade(text, comparator)
    if grade is not None:
        upper = None if grade.upper is None else Quantity(grade.upper, "um").in_unit(unit)
        return _Range(Quantity(grade.lower, "um").in_unit(unit), upper, with_upper=False, of=grade.comparator)
    if text not in profile_grade_names():
        return None
    named = profile_grade(text)
    lower, upper = (Quantity(end, named.unit).in_unit(unit) for end in (named.minimum, named.maximum))
    return _Range(lower, upper, with_upper=not named.excludes_maximum)


def _within(seen: _Range, requirement: Requirement) -> bool:
    """Whether every profile that was seen is allowed."""
    limits = requirement.limits
    if limits.minimum is not None and seen.lower < limits.minimum.exact:
        return False
    if limits.maximum is None:
        return True
    if seen.upper is None or seen.upper > limits.maximum.exact:
        return False
    return seen.upper < limits.maximum.exact or not (seen.with_upper and limits.excludes_maximum)


def _apart(seen: _Range, requirement: Requirement) -> bool:
    """Whether no profile that was seen is allowed; one at an end of both is."""
    limits = requirement.limits
    least, most = limits.minimum, limits.maximum
    below = least is not None and seen.upper is not None and (
        seen.upper < least.exact or (seen.upper == least.exact and not seen.with_upper)
    )  # fmt: skip
    above = most is not None and (seen.lower > most.exact or (seen.lower == most.exact and limits.excludes_maximum))
    return below or above
