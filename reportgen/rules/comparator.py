"""Visual comparison with a reference comparator: the grade seen at a location against the grade or limits required."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.references import comparator_grade, profile_grade, profile_grade_names
from reportgen.results import ComparatorResult, Outcome, Place
from reportgen.results.codes.comparator import GRADE_NOT_MET, GRADE_NOTED, GradeNoted, GradeShown
from reportgen.results.codes.profile import INCONCLUSIVE
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from reportgen.job import Instrument
    from reportgen.metrology.conformity import Limits
    from reportgen.references import Comparator
    from reportgen.results import Finding, Verdict
    from reportgen.rules.readings import MeasuredLocation
    from reportgen.rules.requirement import Requirement
    from reportgen.rules.scene import JobView


def comparators(view: JobView, requirement: Requirement) -> Outcome[ComparatorResult]:
    """Judge every comparison beside readings, where the contract names a comparator; else it is noted and counts not.

    One that says less than the requirement asks is inconclusive; one that names no comparator is of that which the
    requirement names.
    """
    results: list[ComparatorResult] = []
    findings: list[Finding] = []
    required = comparator_grade(requirement.record.comparator_grade or "")
    surfaces = ((area, surface, surface.record.profile) for area in view.areas for surface in area.surfaces)
    rows = ((area, one, row) for area, one, record in surfaces if record is not None for row in record.comparator)
    asked = requirement.record.comparator_grade is not None or requirement.record.kind == "comparator"
    for area, surface, row in rows:
        place = Place(area.id, area.located(surface, row.location))
        if not asked:
            results.append(ComparatorResult(area.id, row.location, row.grade, "not evaluated"))
            findings.append(GRADE_NOTED.found(GradeNoted(row.grade), place))
            continue
        verdict = grades_verdict([row.grade], requirement, None if required is None else required.comparator)
        results.append(ComparatorResult(area.id, row.location, row.grade, verdict))
        if verdict != "conforms":
            findings.append(not_shown(row.grade, verdict, requirement, place))
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

    @classmethod
    def shown_by(cls, text: str, unit: str, comparator: Comparator | None) -> _Range | None:
        """Return which profiles a grade allows [unit]; a named grade of abrasives, too, has its range."""
        grade = comparator_grade(text, comparator)
        if grade is not None:
            upper = None if grade.upper is None else Quantity(grade.upper, "um").in_unit(unit)
            return cls(Quantity(grade.lower, "um").in_unit(unit), upper, with_upper=False, of=grade.comparator)
        if text not in profile_grade_names():
            return None
        named = profile_grade(text)
        lower, upper = (Quantity(end, named.unit).in_unit(unit) for end in (named.minimum, named.maximum))
        return cls(lower, upper, with_upper=not named.excludes_maximum)

    def within(self, limits: Limits) -> bool:
        """Whether every profile of it is allowed."""
        if limits.minimum is not None and self.lower < limits.minimum.exact:
            return False
        if limits.maximum is None:
            return True
        if self.upper is None or self.upper > limits.maximum.exact:
            return False
        return self.upper < limits.maximum.exact or not (self.with_upper and limits.excludes_maximum)

    def apart_from(self, limits: Limits) -> bool:
        """Whether no profile of it is allowed; one at an end of both is."""
        least, most = limits.minimum, limits.maximum
        below = least is not None and self.upper is not None and (
            self.upper < least.exact or (self.upper == least.exact and not self.with_upper)
        )  # fmt: skip
        above = most is not None and (self.lower > most.exact or (self.lower == most.exact and limits.excludes_maximum))
        return below or above


def grades_verdict(seen: Sequence[str], requirement: Requirement, comparator: Comparator | None) -> Verdict:
    """Compare what was seen with what is required: wholly within it, wholly apart from it, or neither.

    Several grades seen at one location leave open which it is: any profile that one of them allows. A grade of the
    other comparator than that which the requirement names says nothing in its terms.
    """
    ranges = [_Range.shown_by(text, requirement.unit, comparator) for text in seen]
    known = [one for one in ranges if one is not None]
    named = comparator_grade(requirement.record.comparator_grade or "")
    if len(known) < len(ranges) or (named is not None and any(one.of not in (None, named.comparator) for one in known)):
        return "inconclusive"
    if all(one.within(requirement.limits) for one in known):
        return "conforms"
    return "does not conform" if all(one.apart_from(requirement.limits) for one in known) else "inconclusive"


def graded_location(location: MeasuredLocation, gauge: Instrument, requirement: Requirement) -> Verdict:
    """Judge what was seen at a location: it has no uncertainty, so that no rule which needs one decides."""
    if requirement.record.decision_rule != "simple":
        return "inconclusive"
    return grades_verdict(location.seen, requirement, gauge.comparator)
