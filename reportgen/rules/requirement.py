"""The profile the contract requires, ready to judge by: limits, digits to print, limits as facts."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from reportgen.metrology.conformity import Judgement, Limits, judge
from reportgen.references import profile_grade, profile_grade_named
from reportgen.results.codes.ranges import AtLeast, AtMost, Below, Between, BetweenBelow
from reportgen.results.facts import Amount
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from decimal import Decimal

    from reportgen.job import ProfileRequirement
    from reportgen.metrology.conformity import Side
    from reportgen.results.codes.ranges import Limit, Range


@dataclass(frozen=True, slots=True)
class Requirement:
    """Limits of the profile with the contract's rules; everything is judged in ``unit``, the specification's."""

    record: ProfileRequirement
    limits: Limits

    @property
    def unit(self) -> str:
        """Unit of the specification."""
        return self.limits.unit

    @property
    def taken_by_rounding(self) -> tuple[Quantity | None, Quantity | None]:
        """Between which values a limit without decimals is kept by the rounding alone; None where it takes no others.

        With a guard band the distance to the limit decides, and no rounding.
        """
        limits = self.limits
        if limits.places or self.record.rounding == "none" or self.record.decision_rule != "simple":
            return None, None
        half = Fraction(1, 2)
        below = half if limits.excludes_maximum else -half
        ends = ((limits.minimum, half), (limits.maximum, below))
        least, most = (
            None if limit is None else Quantity(rounded(limit.exact - off, 1), self.unit) for limit, off in ends
        )
        return least, most

    def judged(self, value: Fraction, expanded: Fraction | None, places: int) -> Judgement | None:
        """Judge a value [unit], to be printed with ``places`` decimals or as many more as its verdict needs.

        None where the decision rule needs an uncertainty and there is none.
        """
        if expanded is None and self.record.decision_rule != "simple":
            return None
        return judge(
            Quantity(value, self.unit), self.limits, rule=self.record.decision_rule, rounding=self.record.rounding,
            expanded=None if expanded is None else Quantity(expanded, self.unit), places=places,
        )  # fmt: skip

    def within(self, number: Decimal | Fraction) -> bool:
        """Whether a number [unit] lies within the limits as it stands, without rounding or guard band."""
        return judge(Quantity(number, self.unit), self.limits, rounding="none").verdict == "conforms"

    def limit(self, side: Side | None) -> Limit:
        """Return the limit on one side as a fact; the maximum where no side decides."""
        limits = self.limits
        if side == "below-minimum":
            assert limits.minimum is not None  # noqa: S101 - asked for a limit that is there
            return AtLeast(Amount.of(limits.minimum))
        assert limits.maximum is not None  # noqa: S101 - asked for a limit that is there
        return Below(Amount.of(limits.maximum)) if limits.excludes_maximum else AtMost(Amount.of(limits.maximum))

    @property
    def range(self) -> Range:
        """The specified range as a fact."""
        minimum, maximum = self.limits.minimum, self.limits.maximum
        if minimum is None or maximum is None:
            return self.limit("below-minimum" if maximum is None else None)
        kind = BetweenBelow if self.limits.excludes_maximum else Between
        return kind(Amount.of(minimum).value, Amount.of(maximum))


def requirement_of(record: ProfileRequirement) -> Requirement:
    """Return the requirement; a grade of a reference comparator becomes its limits."""
    if record.comparator_grade is None:
        return Requirement(record, Limits(record.minimum, record.maximum))
    grade = profile_grade(grade_name(record.comparator_grade))
    ends = (Quantity(grade.minimum, grade.unit), Quantity(grade.maximum, grade.unit))
    return Requirement(record, Limits(*ends, excludes_maximum=grade.excludes_maximum))


def grade_name(text: str) -> str:
    """Return the full name of a grade that may be written short: ``medium G`` for ``ISO 8503-1 medium G``."""
    return profile_grade_named(text) or text


def one_digit_more(step: Fraction) -> int:
    """Return the decimals of one digit more than a step shows: 2 for 0.1, 1 for 1 or for 2.54."""
    places = 0
    while Fraction(1, 10**places) > step:
        places += 1
    return places + 1
