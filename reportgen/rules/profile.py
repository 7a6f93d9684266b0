"""Locations judged one by one in the unit of the specification, with uncertainty and probability of conformity."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal

from reportgen.metrology.conformity import probability_of_conformity
from reportgen.metrology.statistics import spot_agreement
from reportgen.results import LocationResult, SpotResult
from reportgen.rules.gauges import reading_time
from reportgen.rules.requirement import one_digit_more
from reportgen.rules.uncertainty import AreaUncertainty, Uncertainty, beside
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence
    from decimal import Decimal

    from reportgen.metrology.conformity import Judgement
    from reportgen.results import Verdict
    from reportgen.rules.doubts import Doubts
    from reportgen.rules.gauges import GaugeProof
    from reportgen.rules.readings import MeasuredLocation, MeasuredSpot, MeasuredSurface
    from reportgen.rules.requirement import Requirement
    from reportgen.rules.scene import AreaView, JobView

PROBABILITY_PLACES: Final = 4


@dataclass(frozen=True, slots=True)
class JudgedLocation:
    """A location with everything later rules ask: its exact value [specification's unit], how it was judged, doubts,
    when it was read where that is recorded.

    ``surface`` counts the surfaces of the area: two of them may use the same names for their locations.
    """

    surface: int
    result: LocationResult
    value: Fraction | None
    judgement: Judgement | None
    doubted: bool
    spread: Fraction | None
    missing_spots: int
    taken: tuple[dt.datetime, dt.datetime] | None

    @property
    def near_limit(self) -> bool:
        """Whether a regular location is open for no other reason than that it lies too near to a limit."""
        open_ = self.judgement is not None and self.judgement.verdict == "inconclusive"
        sound = not (self.doubted or self.missing_spots or self.spread is not None)
        return open_ and sound and self.result.walk_out is None


@dataclass(frozen=True, slots=True)
class AreaProfile:
    """All locations of one area, in the order taken, and the digits with which the area's numbers are printed."""

    area: AreaView
    requirement: Requirement
    surfaces: tuple[MeasuredSurface, ...]
    locations: tuple[JudgedLocation, ...]
    places: int
    uncertainty: AreaUncertainty | None

    def located(self, judged: JudgedLocation) -> str:
        """Name a location as the only one of its area."""
        return self.area.located(self.surfaces[judged.surface].surface, judged.result.id)

    @property
    def regular(self) -> tuple[JudgedLocation, ...]:
        """Locations that count for sampling and statistics: all but those of a walk-out."""
        return tuple(location for location in self.locations if location.result.walk_out is None)


def area_profile(
    view: JobView, area: AreaView, requirement: Requirement, surfaces: Sequence[MeasuredSurface],
    proofs: dict[str, GaugeProof], asked: Doubts,
) -> AreaProfile:  # fmt: skip
    """Judge every location of an area; an area without readings has no locations."""
    places = _places(surfaces, requirement)
    uncertainty = None
    if surfaces:
        uncertainty = AreaUncertainty(surfaces, proofs, requirement.unit, requirement.record.location_value)
    locations: list[JudgedLocation] = []
    for index, measured in enumerate(surfaces):
        judge = _Judge(view, requirement, measured, proofs[measured.gauge_id], uncertainty, places)
        judge.surface = index
        judge.asked = {one.location for one in measured.surface.readings if asked.about(one, ("value",))}
        judge.apparatus = measured.surface.record.apparatus if len(surfaces) > 1 else None
        locations.extend(judge.location(location) for location in measured.locations)
    return AreaProfile(area, requirement, tuple(surfaces), tuple(locations), places, uncertainty)


def _places(surfaces: Sequence[MeasuredSurface], requirement: Requirement) -> int:
    """Decimals on the page: one more than the finest gauge resolves or shows, in the specification's unit."""
    steps = [
        Quantity(step, measured.unit).in_unit(requirement.unit)
        for measured in surfaces
        for step in (measured.finest, *_resolution(measured))
    ]
    return max(one_digit_more(min(steps)), requirement.limits.places) if steps else requirement.limits.places


def _resolution(measured: MeasuredSurface) -> tuple[Fraction, ...]:
    resolution = measured.gauge.resolution
    return () if resolution is None else (resolution.in_unit(measured.unit),)


class _Judge:
    """Judges the locations of one surface; equal values are judged once."""

    def __init__(
        self, view: JobView, requirement: Requirement, measured: MeasuredSurface, proof: GaugeProof,
        uncertainty: AreaUncertainty | None, places: int,
    ) -> None:  # fmt: skip
        self.surface = 0
        self.asked: set[str] = set()
        self.apparatus: str | None = None
        self._view = view
        self._requirement = requirement
        self._measured = measured
        self._proof = proof
        self._uncertainty = uncertainty
        self._places = places
        self._scale = Quantity(Fraction(1), measured.unit).in_unit(requirement.unit)
        self._walk_out = {
            location: walk.failing
            for walk in measured.record.walk_outs
            for direction in walk.directions
            for location in direction.locations
        }
        self._judged: dict[tuple[Fraction, int], _Values] = {}
        self._printed: dict[Fraction, Decimal] = {}

    def location(self, measured: MeasuredLocation) -> JudgedLocation:
        """Judge one location."""
        spots = tuple(self._spot(spot) for spot in measured.spots)
        missing = max(0, self._requirement.record.readings_per_location - len(spots))
        spread, agrees = self._agreement(measured)
        doubted = measured.id in self.asked or self._unproven(measured)
        found = None if measured.value is None else self._values(measured.value, len(spots))
        sound = not missing and agrees and not doubted
        verdict: Verdict = "inconclusive"
        if found is not None and found.judgement is not None and sound:
            verdict = found.judgement.verdict
        return JudgedLocation(
            self.surface, self._result(measured.id, spots, found, verdict), None if found is None else found.exact,
            None if found is None else found.judgement, doubted, None if agrees else spread, missing, measured.taken,
        )  # fmt: skip

    def _unproven(self, measured: MeasuredLocation) -> bool:
        """Whether the gauge was in doubt when the location was read."""
        if not self._proof.doubts:
            return False
        return self._proof.doubted(reading_time(self._view, self._measured.surface, measured))

    def _result(
        self, name: str, spots: tuple[SpotResult, ...], found: _Values | None, verdict: Verdict
    ) -> LocationResult:  # fmt: skip
        walk_out = self._walk_out.get(name)
        if found is None:
            return LocationResult(name, None, None, verdict, spots, walk_out=walk_out, apparatus=self.apparatus)
        judgement = found.judgement
        return LocationResult(
            name, found.printed, self._compared(found), verdict, spots, found.expanded,
            None if found.uncertainty is None else found.uncertainty.factor, found.probability,
            None if judgement is None or judgement.side is None else _SIDES[judgement.side],
            None if judgement is None else judgement.band, walk_out=walk_out, apparatus=self.apparatus,
        )  # fmt: skip

    def _compared(self, found: _Values) -> Decimal | None:
        """Return the number that was compared: rounded to the limit's digits, or the value itself as printed."""
        return None if found.judgement is None else found.judgement.compared

    def _spot(self, spot: MeasuredSpot) -> SpotResult:
        if spot.profile is None:
            return SpotResult(spot.id, None, spot.how, spot.readings)
        printed = self._printed.get(spot.profile)
        if printed is None:
            printed = self._printed[spot.profile] = rounded(spot.profile * self._scale, self._places)
        return SpotResult(spot.id, printed, spot.how, spot.readings)

    def _agreement(self, measured: MeasuredLocation) -> tuple[Fraction | None, bool]:
        """Return the spread of the spots [gauge's unit] and whether the contract's tolerance, if any, holds."""
        tolerance = self._requirement.record.agreement_tolerance
        if tolerance is None or measured.value is None:
            return None, True
        profiles = [spot.profile for spot in measured.spots if spot.profile is not None]
        return spot_agreement(profiles, tolerance.in_unit(self._measured.unit))

    def _values(self, value: Fraction, spots: int) -> _Values:
        key = (value, spots)
        known = self._judged.get(key)
        if known is None:
            known = self._judged[key] = self._computed(value * self._scale, spots)
        return known

    def _computed(self, exact: Fraction, spots: int) -> _Values:
        uncertainty = self._uncertainty and self._uncertainty.of_location(self._measured.gauge_id, spots)
        judgement = self._requirement.judged(exact, uncertainty.expanded if uncertainty else None, self._places)
        printed = rounded(exact, self._places) if judgement is None else judgement.shown
        if not uncertainty:
            return _Values(exact, judgement, printed, None, None, None)
        unit = self._requirement.unit
        probability = probability_of_conformity(
            Quantity(exact, unit), Quantity(uncertainty.standard, unit), self._requirement.limits
        )
        expanded = beside(uncertainty.expanded, printed)
        if judgement is not None and judgement.guarded:
            expanded = judgement.expanded or expanded  # with the digits that show the verdict
        return _Values(exact, judgement, printed, uncertainty, expanded, rounded(probability, PROBABILITY_PLACES))


_SIDES: Final[dict[str, Literal["below", "above"]]] = {"below-minimum": "below", "above-maximum": "above"}


@dataclass(frozen=True, slots=True)
class _Values:
    """What follows from one exact value."""

    exact: Fraction
    judgement: Judgement | None
    printed: Decimal
    uncertainty: Uncertainty | None
    expanded: Decimal | None
    probability: Decimal | None
