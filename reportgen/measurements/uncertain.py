"""What is known of the errors of instruments, and the uncertainty of a result as it is stated: for every kind."""

from collections.abc import Iterable
from fractions import Fraction
from typing import Final

from reportgen.measurements.slice import Instrument
from reportgen.metrology.uncertainty import (
    Budget,
    Errors,
    instrument_components,
    printed_places,
    printed_uncertainty,
    with_share,
)
from reportgen.results import BudgetInput, ResultBudget
from reportgen.results.facts import Amount, Value, Word
from reportgen.units import Kind, Quantity, kind_of, rounded

SENSITIVITY_PLACES: Final = 3


class Uncertainty(Value):
    """Standard and expanded uncertainty of a result [``budget.unit``], and the budget that they came from."""

    quantity: str
    budget: Budget

    @property
    def expanded(self) -> Fraction:
        """Expanded uncertainty, exactly."""
        return self.budget.expanded

    @property
    def quantified(self) -> Quantity:
        """The same as a quantity."""
        return Quantity(self.budget.expanded, self.budget.unit)

    @property
    def stated(self) -> ResultBudget:
        """The budget as printed: the expanded uncertainty with two significant digits, the others with one more."""
        budget = self.budget
        digits = max(0, printed_places(budget.expanded)) if budget.expanded else 0
        lines = tuple(
            BudgetInput(
                Word("component", part.name), Amount.of(_plain(part.number, part.unit or budget.unit)),
                Word("distribution", part.distribution), rounded(part.used_divisor, 3),
                rounded(Fraction(part.sensitivity), SENSITIVITY_PLACES), rounded(part.contribution, digits + 1),
                Word("budget-source", part.source), rounded(budget.share(part) * 100, 1), part.dof,
            )
            for part in budget.components
        )  # fmt: skip
        return ResultBudget(
            Word("quantity", self.quantity), budget.unit, lines, rounded(budget.combined, digits + 1),
            rounded(budget.coverage_factor, 2), printed_uncertainty(budget.expanded, digits), budget.effective_dof,
        )  # fmt: skip


def _plain(number: Fraction, unit: str) -> Quantity:
    """Return an error with its own digits: half a last digit is a finite decimal, a converted one is cut to four."""
    places = next((digits for digits in range(4) if (number * 10**digits).denominator == 1), 4)
    return Quantity(rounded(number, places), unit)


def errors_of(instrument: Instrument, unit: str, reading: Fraction | None = None) -> Errors:
    """Return what is on record of an instrument's errors in one kind of quantity, in ``unit`` of it.

    An entry of another kind says nothing of it: a psychrometer's ±0.3 °C are not an error of its humidity. ``reading``
    [unit] is what it showed, where that is what its errors may be a share of.
    """
    kind = kind_of(unit)

    def known(value: Quantity | None, share: Quantity | None = None) -> Fraction | None:
        own = None if value is None or not _is_of(value, kind) else value.in_unit(unit)
        return own if reading is None else with_share(own, share_of(share), reading)

    accuracy = known(instrument.accuracy, instrument.accuracy_of_reading)
    certified = known(instrument.uncertainty, instrument.uncertainty_of_reading)
    if accuracy is None and kind == kind_of("delta_degC"):
        accuracy = known(instrument.temperature_accuracy)
    factor = None if certified is None or instrument.coverage_factor is None else instrument.coverage_factor
    return Errors(unit, accuracy, certified, factor, known(instrument.resolution))


def share_of(stated: Quantity | None) -> Fraction | None:
    """Return a share that is stated, as a number."""
    return None if stated is None else stated.in_unit("%") / 100


def _is_of(value: Quantity, kind: Kind) -> bool:
    return kind_of(value.unit) == kind


def widest(name: str, several: Iterable[Errors]) -> Errors | None:
    """Return the errors that make a value least sure, as any of several instruments may have shown it.

    None where there is none, or where one of them has nothing on record.
    """
    each = list(several)
    if not each or not all(one.known for one in each):
        return None
    return max(each, key=lambda one: sum(part.variance for part in instrument_components(name, one)))
