"""Uncertainty budgets of locations and of an area's mean, from the gauge's certificate, the tape and the readings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from reportgen.measurements.uncertain import share_of
from reportgen.metrology.exact import Root, exact_square
from reportgen.metrology.tape import film_thickness, film_tolerance
from reportgen.metrology.uncertainty import (
    Budget,
    Component,
    Gauge,
    Pooled,
    area_budget,
    exceeds,
    gauge_components,
    location_budget,
    pooled_standard_deviation,
    printed_uncertainty,
)
from reportgen.references import citation_keys
from reportgen.results import BudgetLine, Word
from reportgen.rules.readings import measured_surface
from reportgen.rules.scene import JobView
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from decimal import Decimal

    from reportgen.job import Job, ProfileRequirement
    from reportgen.rules.gauges import GaugeProof
    from reportgen.rules.readings import MeasuredSurface


@dataclass(frozen=True, slots=True)
class ProfileUncertainty:
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
    """Budgets of one area: the gauge's part common to all, and how far spots scatter, of each surface by itself.

    That is stated by the contract, or comes from the spots of the surface; where each location has one spot alone, from
    the scatter of its locations, which holds that of spots; else it is not known. A stated value gives way to the
    surface's own spots where these scatter more than chance explains. Steel of another apparatus or period says nothing
    of it: evenly blasted steel beside a rough one would else make the readings of that look sure.
    """

    def __init__(
        self, surfaces: Sequence[MeasuredSurface], proofs: Sequence[GaugeProof], record: ProfileRequirement, unit: str
    ) -> None:
        self._unit = unit
        self._value = record.value_rule
        self._surfaces = surfaces
        self._gauges = {id(measured): _gauge(measured, proof) for measured, proof in zip(surfaces, proofs, strict=True)}
        self._scatter: dict[int, Pooled | None] = {}
        self.above_stated: list[tuple[Pooled, str]] = []
        """Scatter of a surface's own spots that is greater than the stated one, with the gauge's unit."""
        for measured in surfaces:
            counted = _of_first_spots(measured, record.readings_needed)
            own, stated = scatter_of_spots([counted]), _stated(record, measured.unit)
            if stated is None:
                self._scatter[id(measured)] = own or _of_locations(counted)
                continue
            more = own is not None and exceeds(own, stated)
            self._scatter[id(measured)] = own if more else stated
            if own is not None and more:
                self.above_stated.append((own, measured.unit))
        self._known: dict[tuple[object, ...], ProfileUncertainty | None] = {}

    def lacking(self, measured: MeasuredSurface) -> Word:
        """Return why there is no uncertainty."""
        unknown = self._gauges[id(measured)] is None
        return Word("uncertainty-lacking", "limits-of-error" if unknown else "repeatability")

    def of_location(
        self, measured: MeasuredSurface, spots: int, height: Fraction | None = None
    ) -> ProfileUncertainty | None:
        """Return the uncertainty of a location of so many spots, of a height [gauge's unit], on one of the surfaces.

        None where the gauge's accuracy is not on record, or nothing says how far spots scatter: one spot is never
        surer than two. The largest of several spots is one reading: its repeatability is not divided by their number.
        Where the gauge errs by a share of its reading, that is of the film and the profile on it.
        """
        averaged = spots if self._value == "mean" else 1
        gauge, scatter = self._gauges[id(measured)], self._scatter[id(measured)]
        if gauge is not None and gauge.of_reading:
            gauge = _at(gauge, height or Fraction(0))
        key = (id(measured), averaged, None if gauge is None else (gauge.accuracy, gauge.calibration))
        if key not in self._known:
            known = None if gauge is None or scatter is None else location_budget(gauge, scatter, averaged)
            self._known[key] = None if known is None else self._in_unit(known)
        return self._known[key]

    def of_least_sure(self) -> ProfileUncertainty | None:
        """Return the largest uncertainty of a location that is known, each by the spots that it has."""
        every = (
            self.of_location(measured, spots, value)
            for measured in self._surfaces
            for spots, value in {(len(one.spots), one.value) for one in measured.locations if one.value is not None}
        )
        return max((one for one in every if one is not None), key=lambda one: one.expanded, default=None)

    def common(self, measured: MeasuredSurface, height: Fraction) -> tuple[Component, ...]:
        """Return what a surface's gauge brings to every reading alike [specification's unit], if it is known.

        ``height`` [specification's unit] is the mean of what was read.
        """
        gauge = self._gauges[id(measured)]
        scale = Fraction(1) if gauge is None else self._scale(gauge.unit)
        parts = () if gauge is None else gauge_components(_at(gauge, height / scale))
        return tuple(replace(part, sensitivity=Fraction(part.sensitivity) * scale) for part in parts)

    def of_spots(self, measured: MeasuredSurface) -> Pooled | None:
        """Return how far spots of one location scatter [specification's unit]; None where nothing says so."""
        gauge, scatter = self._gauges[id(measured)], self._scatter[id(measured)]
        if gauge is None or scatter is None or scatter.of != "repeatability":
            return None
        deviation = Root(exact_square(scatter.standard_deviation) * self._scale(gauge.unit) ** 2)
        return replace(scatter, standard_deviation=deviation)

    def of_mean(self, mean: Fraction, variance: Fraction | None, locations: int) -> ProfileUncertainty | None:
        """Return the uncertainty of the mean of locations whose variance [specification's unit, squared] is given.

        Where an area was read with several gauges, the one with the widest limits of error stands for all.
        """
        known = [_at(one, mean / self._scale(one.unit)) for one in self._gauges.values() if one is not None]
        if len(known) < len(self._gauges) or not known:
            return None
        if variance is None:
            return self.of_least_sure()
        gauge = max(known, key=lambda one: _common(one) * self._scale(one.unit) ** 2)
        scatter = Root(variance / self._scale(gauge.unit) ** 2)
        return self._in_unit(area_budget(gauge, scatter, locations))

    def _scale(self, unit: str) -> Fraction:
        return Quantity(Fraction(1), unit).in_unit(self._unit)

    def _in_unit(self, budget: Budget) -> ProfileUncertainty:
        scale = self._scale(budget.unit)
        return ProfileUncertainty(budget.expanded * scale, budget.combined * scale, budget, scale)


def _of_first_spots(measured: MeasuredSurface, needed: int) -> MeasuredSurface:
    """Return a surface with no more spots a location than make one: what was read beside them makes none less sure."""
    return replace(measured, locations=tuple(one.by_first(needed) for one in measured.locations))


def scatter_of_spots(surfaces: Iterable[MeasuredSurface]) -> Pooled | None:
    """Return the scatter of spots within their locations [gauge's unit], pooled over surfaces of one gauge."""
    return pooled_standard_deviation(
        [spot.profile for spot in location.spots if spot.profile is not None]
        for measured in surfaces
        for location in measured.locations
    )


def spot_scatter(job: Job) -> Iterator[tuple[MeasuredSurface, str, Decimal, Pooled]]:
    """Yield each location of a day that shows a scatter of spots: its surface, its name, the step of its readings."""
    view = JobView(job)
    for surface in (surface for area in view.areas for surface in area.surfaces):
        measured = measured_surface(view, surface)
        if measured is None:
            continue
        for location in measured.locations:
            pooled = scatter_of_spots([replace(measured, locations=(location,))])
            if pooled is not None:
                yield measured, location.id, rounded(measured.step, 4), pooled


def _stated(record: ProfileRequirement, unit: str) -> Pooled | None:
    """Return the repeatability that the contract states, in a gauge's unit."""
    stated = record.repeatability
    if stated is None:
        return None
    return Pooled(stated.value.in_unit(unit), stated.degrees_of_freedom, source="stated-repeatability")


def _of_locations(measured: MeasuredSurface) -> Pooled | None:
    """Return the scatter of whole locations [gauge's unit], those of walk-outs aside; None for fewer than two."""
    values = [
        location.value
        for location in measured.locations
        if location.value is not None and location.id not in measured.walked
    ]
    pooled = pooled_standard_deviation([values])
    return None if pooled is None else replace(pooled, of="scatter of locations")


def _at(gauge: Gauge, height: Fraction) -> Gauge:
    """Return a gauge with its errors as they are at a height [its unit]: on tape it measures the film too."""
    if not gauge.of_reading:
        return gauge
    film = Fraction(0) if gauge.film is None else film_thickness(gauge.unit).exact
    return gauge.at_reading(height + film)


def _common(gauge: Gauge) -> Fraction:
    """Return what a gauge's error and calibration bring to every reading alike, in its own unit."""
    parts = [part for part in gauge_components(gauge) if part.name in {"gauge accuracy", "calibration"}]
    return sum((part.variance for part in parts), Fraction(0))


def _gauge(measured: MeasuredSurface, proof: GaugeProof) -> Gauge | None:
    """Describe the gauge for the budget, in its own unit; None without limits of error."""
    record, unit = measured.gauge, measured.unit
    if record.accuracy is None and record.accuracy_of_reading is None:
        return None

    def own(stated: Quantity | None) -> Fraction | None:
        return None if stated is None else stated.in_unit(unit)

    # without one on record, the step is the last digit of the finest reading
    step = measured.finest if record.resolution is None else record.resolution.in_unit(unit)
    return Gauge(
        unit,
        own(record.accuracy),
        own(record.uncertainty),
        record.coverage_factor or 2,  # the model refuses U without it
        step,
        film_tolerance(unit).exact if measured.on_tape else None,
        proof.largest_deviation if proof.shim_counts else None,
        own(record.shim_accuracy) if proof.shim_counts else None,
        (proof.largest_deviation or None) if not proof.shim_counts else None,  # 0 at rest says nothing of the span
        share_of(record.accuracy_of_reading),
        share_of(record.uncertainty_of_reading),
    )


def beside(expanded: Fraction, value: Decimal) -> Decimal:
    """Return U with the digits of the value it is printed beside."""
    return printed_uncertainty(expanded, Quantity(value, "mil").places)
