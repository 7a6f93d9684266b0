"""Uncertainty budgets of locations and of an area's mean, from the gauge's certificate, the tape and the readings."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from reportgen.metrology.exact import Root
from reportgen.metrology.tape import film_tolerance
from reportgen.metrology.uncertainty import (
    Budget,
    Gauge,
    area_budget,
    location_budget,
    pooled_standard_deviation,
    printed_uncertainty,
)
from reportgen.references import citation_keys
from reportgen.results import BudgetLine, Word
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

    from reportgen.rules.gauges import GaugeProof
    from reportgen.rules.readings import MeasuredSurface


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """Expanded and standard uncertainty [specification's unit] with the budget they came from."""

    expanded: Fraction
    standard: Fraction
    budget: Budget
    scale: Fraction

    @property
    def factor(self) -> Decimal:
        """Coverage factor as printed."""
        return rounded(self.budget.coverage_factor, 2)

    def lines(self, places: int) -> tuple[BudgetLine, ...]:
        """Return the budget as printed lines in the specification's unit; ``places`` are those of U, plus one."""
        return tuple(
            BudgetLine(
                Word("component", component.name),
                rounded(component.number * self.scale, places),
                Word("distribution", component.distribution),
                rounded(component.used_divisor, 3),
                rounded(component.contribution * self.scale, places),
                component.dof,
                component.systematic,
                Word("citation" if component.source in citation_keys() else "budget-source", component.source),
                rounded(self.budget.share(component) * 100, 1),
            )
            for component in self.budget.components
        )


class AreaUncertainty:
    """Budgets of one area: the gauge's part common to all, repeatability pooled over the spots of its locations."""

    def __init__(
        self,
        surfaces: Sequence[MeasuredSurface],
        proofs: dict[str, GaugeProof],
        unit: str,
        value: Literal["mean", "maximum"],
    ) -> None:
        self._unit = unit
        self._value = value
        self._gauges = {measured.gauge_id: _gauge(measured, proofs[measured.gauge_id]) for measured in surfaces}
        # the scatter of spots within their locations
        self._pooled = {
            gauge: pooled_standard_deviation(
                [spot.profile for spot in location.spots if spot.profile is not None]
                for measured in surfaces
                if measured.gauge_id == gauge
                for location in measured.locations
            )
            for gauge in self._gauges
        }
        self._known: dict[tuple[str, int], Uncertainty | None] = {}

    def of_location(self, gauge_id: str, spots: int) -> Uncertainty | None:
        """Return the uncertainty of a location of so many spots; None where the gauge's accuracy is not on record.

        The largest of several spots is one reading: its repeatability is not divided by their number.
        """
        averaged = spots if self._value == "mean" else 1
        key = (gauge_id, averaged)
        if key not in self._known:
            gauge = self._gauges[gauge_id]
            pooled = self._pooled[gauge_id]
            self._known[key] = None if gauge is None else self._in_unit(location_budget(gauge, pooled, averaged))
        return self._known[key]

    def of_mean(self, variance: Fraction | None, locations: int, spots: int) -> Uncertainty | None:
        """Return the uncertainty of the mean of locations whose variance [specification's unit, squared] is given.

        Where an area was read with several gauges, the one with the widest limits of error stands for all.
        """
        known = [(gauge_id, gauge) for gauge_id, gauge in self._gauges.items() if gauge is not None]
        if len(known) < len(self._gauges) or not known:
            return None
        gauge_id, gauge = max(known, key=lambda pair: Fraction(pair[1].accuracy) * self._scale(pair[1].unit))
        scatter = None if variance is None else Root(variance / self._scale(gauge.unit) ** 2)
        averaged = spots if self._value == "mean" else 1
        return self._in_unit(
            area_budget(gauge, scatter, locations, repeatability=self._pooled[gauge_id], spots=averaged)
        )

    def _scale(self, unit: str) -> Fraction:
        return Quantity(Fraction(1), unit).in_unit(self._unit)

    def _in_unit(self, budget: Budget) -> Uncertainty:
        scale = self._scale(budget.unit)
        return Uncertainty(budget.expanded * scale, budget.combined * scale, budget, scale)


def _gauge(measured: MeasuredSurface, proof: GaugeProof) -> Gauge | None:
    """Describe the gauge for the budget, in its own unit; None without limits of error."""
    record, unit = measured.gauge, measured.unit
    stated = record.uncertainty if record.uncertainty is not None else record.accuracy
    if stated is None:
        return None
    # without one on record, the step is the last digit of the finest reading
    step = measured.finest if record.resolution is None else record.resolution.in_unit(unit)
    return Gauge(
        unit,
        stated.in_unit(unit),
        record.coverage_factor if record.uncertainty is not None else None,
        step,
        film_tolerance(unit).exact if measured.on_tape else None,
        proof.largest_deviation,
    )


def beside(expanded: Fraction, value: Decimal) -> Decimal:
    """Return U with the digits of the value it is printed beside."""
    return printed_uncertainty(expanded, Quantity(value, "mil").places)
