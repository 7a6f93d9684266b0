"""The profile the contract requires, ready to judge by: limits, digits to print, words for a finding."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from reportgen.evaluate.outcome import shown, shown_number
from reportgen.metrology.conformity import Judgement, Limits, judge
from reportgen.references import profile_grade, profile_grade_names
from reportgen.units import Quantity, render_number, rounded

if TYPE_CHECKING:
    from decimal import Decimal

    from reportgen.job import ProfileRequirement


@dataclass(frozen=True, slots=True)
class Requirement:
    """Limits of the profile with the contract's rules; everything is judged in ``unit``, the specification's."""

    record: ProfileRequirement
    limits: Limits

    @property
    def unit(self) -> str:
        """Unit of the specification."""
        return self.limits.unit

    def judged(self, value: Fraction, expanded: Fraction | None) -> Judgement | None:
        """Judge a value [unit]; None where the decision rule needs an uncertainty and there is none."""
        if expanded is None and self.record.decision_rule != "simple":
            return None
        return judge(
            Quantity(value, self.unit), self.limits, rule=self.record.decision_rule, rounding=self.record.rounding,
            expanded=None if expanded is None else Quantity(expanded, self.unit),
        )  # fmt: skip

    def printed(self, value: Fraction, judgement: Judgement | None, places: int) -> Decimal:
        """Return the value with the digits of the page: as many more than ``places`` as the verdict needs.

        Rounded once more by the contract's rule, the printed number always gives the number that was compared.
        """
        if judgement is None:
            return rounded(value, places)
        places = max(places, judgement.places)
        rounding = self.record.rounding
        number = rounded(value, places)
        while rounding != "none" and rounded(number, judgement.places, rounding) != judgement.compared:
            places += 1
            number = rounded(value, places)
        return number

    def words(self, side: str, judgement: Judgement) -> str:
        """Return the limit on one side as a finding states it, such as ``at least 2.0 mil``."""
        sentence = self._least() if side == "below-minimum" else self._most()
        if judgement.guard is not None:
            sentence += f", with a guard band of {shown_number(judgement.guard, self.unit, _places(judgement.guard))}"
        return sentence

    def _least(self) -> str:
        assert self.limits.minimum is not None  # noqa: S101 - asked for a limit that is there
        return f"at least {shown(self.limits.minimum)}"

    def _most(self) -> str:
        assert self.limits.maximum is not None  # noqa: S101 - asked for a limit that is there
        return f"{'below' if self.limits.excludes_maximum else 'at most'} {shown(self.limits.maximum)}"

    def grade_words(self) -> str:
        """Return what a comparator must show: the grade, with its range, or the range."""
        grade = self.record.comparator_grade
        return self.range_words() if grade is None else f"{grade}: {self.range_words()}"

    def range_words(self) -> str:
        """Return the specified range as a finding states it."""
        minimum, maximum = self.limits.minimum, self.limits.maximum
        if minimum is None or maximum is None:
            return self._most() if minimum is None else self._least()
        lowest = render_number(minimum.magnitude, minimum.places)
        return f"{lowest} to {'below ' if self.limits.excludes_maximum else ''}{shown(maximum)}"


def requirement_of(record: ProfileRequirement) -> Requirement:
    """Return the requirement; a grade of a reference comparator becomes its limits."""
    if record.comparator_grade is None:
        return Requirement(record, Limits(record.minimum, record.maximum))
    grade = profile_grade(grade_name(record.comparator_grade))
    ends = (Quantity(grade.minimum, grade.unit), Quantity(grade.maximum, grade.unit))
    return Requirement(record, Limits(*ends, excludes_maximum=grade.excludes_maximum))


def grade_name(text: str) -> str:
    """Return the full name of a grade that may be written short: ``medium G`` for ``ISO 8503-1 medium G``."""
    return text if text in profile_grade_names() else f"ISO 8503-1 {text}"


def one_digit_more(step: Fraction) -> int:
    """Return the decimals of one digit more than a step shows: 2 for 0.1, 1 for 1 or for 2.54."""
    places = 0
    while Fraction(1, 10**places) > step:
        places += 1
    return places + 1


def _places(number: Decimal) -> int:
    return Quantity(number, "mil").places
