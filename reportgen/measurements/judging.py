"""One measured value against its limit by the contract's decision rule, with its uncertainty as it is printed."""

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.metrology.conductivity import Meter
from reportgen.metrology.conformity import Band, DecisionRule, Limits, judge, probability_of_conformity
from reportgen.metrology.uncertainty import Budget, printed_places, printed_uncertainty
from reportgen.references import citation_keys
from reportgen.results.facts import Value, Word
from reportgen.results.values import BudgetLine, Verdict
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from reportgen.job import Instrument

PROBABILITY_PLACES: Final = 4


class Judged(Value):
    """A value as printed, with what follows for it; ``band`` is None where it could not be judged.

    ``expanded``, ``factor``, ``probability`` and ``budget`` are there where an uncertainty is known.
    """

    verdict: Verdict
    shown: Decimal
    band: Band | None = None
    expanded: Decimal | None = None
    factor: Decimal | None = None
    probability: Decimal | None = None
    budget: tuple[BudgetLine, ...] = ()


def judged(
    value: Quantity, unit: str, limits: Limits | None, rule: DecisionRule, uncertainty: Budget | None, places: int
) -> Judged:
    """Judge a value against limits [unit], unrounded, and print it with ``places`` decimals or as many as show it.

    Without limits it is not evaluated. A rule that needs an uncertainty leaves a value without one inconclusive.
    """
    expanded = None if uncertainty is None else Quantity(uncertainty.expanded, unit)
    verdict: Verdict = "not evaluated"
    band, shown, probability = None, rounded(value.in_unit(unit), places), None
    beside = None if expanded is None else printed_uncertainty(expanded.exact, max(0, Quantity(shown, unit).places))
    if limits is not None and expanded is None and rule != "simple":
        verdict = "inconclusive"
    elif limits is not None:
        found = judge(value, limits, rule=rule, rounding="none", expanded=expanded, places=places)
        verdict, band, shown, beside = found.verdict, found.band, found.shown, found.expanded
    if limits is not None and uncertainty is not None:
        standard = Quantity(uncertainty.combined, unit)
        probability = rounded(probability_of_conformity(value, standard, limits), PROBABILITY_PLACES)
    if uncertainty is None:
        return Judged(verdict, shown, band)
    factor = rounded(uncertainty.coverage_factor, 2)
    lines = budget_lines(uncertainty, max(0, printed_places(uncertainty.expanded)) + 1)
    return Judged(verdict, shown, band, beside, factor, probability, lines)


def budget_lines(budget: Budget, places: int, scale: Fraction = Fraction(1)) -> tuple[BudgetLine, ...]:
    """Return a budget as printed lines in the unit that ``scale`` brings it to; ``places`` are those of U, plus one."""
    return tuple(
        BudgetLine(
            Word("component", component.name),
            rounded(component.number * scale, places),
            Word("distribution", component.distribution),
            rounded(component.used_divisor, 3),
            rounded(component.contribution * scale, places),
            component.dof,
            component.systematic,
            Word("citation" if component.source in citation_keys() else "budget-source", component.source),
            rounded(budget.share(component) * 100, 1),
        )
        for component in budget.components
    )


def meter_of(instrument: "Instrument | None") -> Meter:
    """Return what the project file states of an instrument; nothing where none is named."""
    if instrument is None:
        return Meter()
    return Meter(instrument.accuracy, instrument.uncertainty, instrument.coverage_factor, instrument.resolution)
