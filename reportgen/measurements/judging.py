"""One measured value against its limit by the contract's decision rule, with its uncertainty as it is printed."""

from decimal import Decimal
from fractions import Fraction

from reportgen.measurements.slice import Instrument
from reportgen.measurements.uncertain import Uncertainty, share_of
from reportgen.metrology.conformity import (
    PROBABILITY_PLACES,
    Band,
    DecisionRule,
    Limits,
    decide,
    probability_of_conformity,
)
from reportgen.metrology.uncertainty import Errors, printed_places, printed_uncertainty, with_share
from reportgen.results import Verdict
from reportgen.results.facts import Value
from reportgen.units import Quantity, kind_of, rounded


class Judged(Value):
    """A value as printed, with what follows for it.

    ``near`` is the band of ILAC-G8 where the decision rule could be applied. ``expanded``, ``factor``, ``probability``
    and ``uncertainty`` are there where an uncertainty is known.
    """

    verdict: Verdict
    shown: Decimal
    near: Band | None = None
    expanded: Decimal | None = None
    factor: Decimal | None = None
    probability: Decimal | None = None
    uncertainty: Uncertainty | None = None


def judged(
    value: Quantity, unit: str, limits: Limits | None, rule: DecisionRule, uncertainty: Uncertainty | None, places: int
) -> Judged:
    """Judge a value against limits [unit], unrounded, and print it with ``places`` decimals or as many as show it.

    Without limits it is not evaluated. A rule that needs an uncertainty leaves a value within its limit open without.
    """
    wide = None if uncertainty is None else uncertainty.quantified
    if limits is None:
        found = Judged("not evaluated", rounded(value.in_unit(unit), places))
    else:
        decided = decide(value, limits, rule=rule, rounding="none", expanded=wide, places=places)
        judgement = decided.judgement
        near = judgement.band if decided.known and judgement.guarded else None
        found = Judged(decided.verdict, judgement.shown, near, judgement.expanded)
    if uncertainty is None:
        return found
    beside = beside_value(uncertainty.expanded, Quantity(found.shown, unit).places)
    probability = None if limits is None else rounded(chance_within(value, limits, uncertainty), PROBABILITY_PLACES)
    return Judged(
        found.verdict, found.shown, found.near, beside if found.expanded is None else found.expanded,
        rounded(uncertainty.budget.coverage_factor, 2), probability, uncertainty,
    )  # fmt: skip


def chance_within(value: Quantity, limits: Limits, uncertainty: Uncertainty) -> Fraction:
    """Return the probability that a value of this uncertainty keeps its limits."""
    standard = Quantity(uncertainty.budget.combined, uncertainty.budget.unit)
    return probability_of_conformity(value, standard, limits)


def beside_value(expanded: Fraction, places: int) -> Decimal:
    """Return U as printed beside a value with so many decimals: at most two significant digits of it."""
    fine = printed_places(expanded) if expanded else places
    return printed_uncertainty(expanded, max(0, min(fine, places)))


def errors_at(instrument: Instrument | None, reading: Quantity, unit: str) -> Errors:
    """Return what is on record of an instrument's errors at one reading, in ``unit``: a share is one of the reading.

    An entry of another kind than the reading says nothing of it; nor does an instrument that is not named.
    """
    if instrument is None:
        return Errors(unit)

    shown = reading.in_unit(unit)

    def known(stated: Quantity | None, share: Quantity | None = None) -> Fraction | None:
        if stated is None:
            return with_share(None, share_of(share), shown)
        if kind_of(stated.unit) == "share":
            return with_share(None, share_of(stated), shown)  # and no other share, which the record refuses
        fits = kind_of(stated.unit) == kind_of(unit)
        return with_share(stated.in_unit(unit), share_of(share), shown) if fits else None

    accuracy = known(instrument.accuracy, instrument.accuracy_of_reading)
    certified = known(instrument.uncertainty, instrument.uncertainty_of_reading)
    factor = None if certified is None else instrument.coverage_factor
    return Errors(unit, accuracy, certified, factor, known(instrument.resolution))
