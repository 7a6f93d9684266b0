"""Locations judged one by one in the unit of the specification, with uncertainty and probability of conformity."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal

from reportgen.metrology.conformity import PROBABILITY_PLACES, probability_of_conformity
from reportgen.metrology.statistics import spot_agreement
from reportgen.results import Amount, LocationResult, SpotResult
from reportgen.rules.comparator import graded_location
from reportgen.rules.gauges import reading_time
from reportgen.rules.requirement import one_digit_more
from reportgen.rules.uncertainty import AreaUncertainty, ProfileUncertainty, beside
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from reportgen.metrology.conformity import Judgement
    from reportgen.rules.doubts import Doubts
    from reportgen.rules.gauges import GaugeProof
    from reportgen.rules.readings import MeasuredLocation, MeasuredSurface
    from reportgen.rules.requirement import Requirement
    from reportgen.rules.scene import AreaView, JobView

_SIDES: Final[dict[str, Literal["below", "above"]]] = {"below-minimum": "below", "above-maximum": "above"}


@dataclass(frozen=True, slots=True)
class JudgedLocation:
    """A location as measured on its surface, with its result and everything later rules ask of how it was judged.

    ``value`` is exact [specification's unit]; ``spread`` [gauge's unit] is there where the spots disagree.
    Where it has further spots, and those taken first do not conform, it is judged ``by_first``: no spot more clears it.
    """

    surface: MeasuredSurface
    measured: MeasuredLocation
    result: LocationResult
    value: Fraction | None
    judgement: Judgement | None
    doubted: bool
    spread: Fraction | None
    missing_spots: int
    further_spots: int
    by_first: bool = False

    @property
    def near_limit(self) -> bool:
        """Whether a regular location is open for no other reason than that it lies too near to a limit."""
        open_ = self.judgement is not None and self.judgement.verdict == "inconclusive"
        sound = not (self.doubted or self.missing_spots or self.further_spots or self.spread is not None)
        return open_ and sound and self.result.walk_out is None

    @property
    def told_by_grade(self) -> bool:
        """Whether the grade seen says that it does not conform, or leaves it open, and nothing is owed before that."""
        seen = self.result.observed is not None and self.result.verdict != "conforms"
        return seen and not (self.missing_spots or self.doubted)


@dataclass(frozen=True, slots=True)
class AreaProfile:
    """All locations of one area, in the order taken, and the digits with which the area's numbers are printed."""

    area: AreaView
    requirement: Requirement
    surfaces: tuple[MeasuredSurface, ...]
    locations: tuple[JudgedLocation, ...]
    places: int
    uncertainty: AreaUncertainty

    def located(self, judged: JudgedLocation) -> str:
        """Name a location as the only one of its area."""
        return self.area.located(judged.surface.surface, judged.result.id)

    def by_first(self, judged: JudgedLocation) -> Amount | None:
        """Return what the spots taken first gave, where the location is judged by them."""
        known = judged.result.profile if judged.by_first else None
        return None if known is None else Amount.of_number(known, self.requirement.unit)

    @property
    def regular(self) -> tuple[JudgedLocation, ...]:
        """Locations that count for sampling and statistics: all but those of a walk-out."""
        return tuple(location for location in self.locations if location.result.walk_out is None)


def area_profile(
    view: JobView, area: AreaView, requirement: Requirement, surfaces: Sequence[MeasuredSurface],
    proofs: dict[str, GaugeProof], asked: Doubts,
) -> AreaProfile:  # fmt: skip
    """Judge every location of an area; an area without readings has no locations."""
    times = {
        id(surface): [reading_time(view, surface.surface, one) for one in surface.locations] for surface in surfaces
    }
    reached = [proofs[surface.gauge_id].reaching(times[id(surface)]) for surface in surfaces]
    uncertainty = AreaUncertainty(surfaces, reached, requirement.record, requirement.unit)
    profile = AreaProfile(area, requirement, tuple(surfaces), (), _places(surfaces, requirement), uncertainty)
    locations: list[JudgedLocation] = []
    for surface in surfaces:
        values = surface.values(requirement.record.readings_needed)
        uncertainties = {(value, spots): uncertainty.of_location(surface, spots, value) for value, spots in values}
        doubtful = _doubtful(surface, proofs[surface.gauge_id], times[id(surface)], asked)
        locations.extend(_on_surface(profile, surface, uncertainties, doubtful))
    return replace(profile, locations=tuple(locations))


def _doubtful(
    surface: MeasuredSurface, proof: GaugeProof, times: Sequence[tuple[dt.datetime, dt.datetime]], asked: Doubts
) -> set[tuple[str, str | None]]:
    """Return the locations of a surface that are in doubt, with the spot where the doubt is about that alone."""
    found: set[tuple[str, str | None]] = {
        (one.location, one.spot) for one in surface.surface.readings if asked.about(one, ("value",))
    }
    if proof.doubts:
        found |= {(one.id, None) for one, time in zip(surface.locations, times, strict=True) if proof.doubted(time)}
    return found


def _on_surface(
    profile: AreaProfile, surface: MeasuredSurface,
    uncertainties: Mapping[tuple[Fraction | None, int], ProfileUncertainty | None],
    doubtful: Collection[tuple[str, str | None]],
) -> Iterator[JudgedLocation]:  # fmt: skip
    """Judge the locations of a surface; ``uncertainties`` are by value and number of spots.

    ``doubtful`` are the locations of doubts, with the spot where the doubt is about that alone.

    Readings have few different values: each is printed and judged once.
    """
    requirement, places = profile.requirement, profile.places
    scale = Quantity(Fraction(1), surface.unit).in_unit(requirement.unit)
    walks = surface.walked
    spots = {spot.profile for one in surface.locations for spot in one.spots}
    printed = {spot: None if spot is None else rounded(spot * scale, places) for spot in spots}
    judged = {key: _judged(key[0], scale, requirement, one, places) for key, one in uncertainties.items()}
    apparatus = surface.surface.record.apparatus if len(profile.surfaces) > 1 else None
    for one in surface.locations:
        needed = requirement.record.readings_needed
        missing = max(0, needed - len(one.spots))
        # a comparison more makes no value of another kind: every grade seen at a location counts
        further = 0 if surface.compared else max(0, len(one.spots) - needed)
        counted = _counted(one, further, judged)
        value, result, judgement = judged[counted.value, len(counted.spots)]
        spread = _disagreement(counted, requirement, surface.unit)
        doubted = not counted.named.isdisjoint(doubtful)
        verdict = graded_location(one, surface.gauge, requirement) if one.seen else result.verdict
        open_ = missing or doubted or spread is not None or (further and verdict == "conforms")
        result = replace(
            result,
            id=one.id,
            verdict="inconclusive" if open_ else verdict,
            spots=tuple(
                SpotResult(spot.id, printed[spot.profile], spot.how, spot.readings, spot.seen) for spot in one.spots
            ),
            walk_out=walks.get(one.id),
            apparatus=apparatus,
            observed=", ".join(one.seen) or None,
        )
        yield JudgedLocation(
            surface, one, result, value, judgement, doubted, spread, missing, further, counted is not one
        )


def _counted(
    one: MeasuredLocation, further: int,
    judged: Mapping[tuple[Fraction | None, int], tuple[Fraction | None, LocationResult, Judgement | None]],
) -> MeasuredLocation:  # fmt: skip
    """Return a location as it is judged: by the spots taken first where these do not conform."""
    needed = len(one.spots) - further
    by_first = further and judged[one.first, needed][1].verdict == "does not conform"
    return one.by_first(needed) if by_first else one


def _places(surfaces: Sequence[MeasuredSurface], requirement: Requirement) -> int:
    """Decimals on the page: one more than the finest gauge resolves or shows, in the specification's unit."""
    steps = [Quantity(measured.finest, measured.unit).in_unit(requirement.unit) for measured in surfaces]
    resolutions = (measured.gauge.resolution for measured in surfaces)
    steps += [resolution.in_unit(requirement.unit) for resolution in resolutions if resolution is not None]
    return max(one_digit_more(min(steps)), requirement.limits.places) if steps else requirement.limits.places


def _disagreement(location: MeasuredLocation, requirement: Requirement, unit: str) -> Fraction | None:
    """Return the spread of the spots [gauge's unit] where the contract's tolerance, if any, does not hold."""
    tolerance = requirement.record.agreement_tolerance
    if tolerance is None or location.value is None:
        return None
    profiles = [spot.profile for spot in location.spots if spot.profile is not None]
    spread, agrees = spot_agreement(profiles, tolerance.in_unit(unit))
    return None if agrees else spread


def _judged(
    measured: Fraction | None,
    scale: Fraction,
    requirement: Requirement,
    uncertainty: ProfileUncertainty | None,
    places: int,
) -> tuple[Fraction | None, LocationResult, Judgement | None]:
    """Return a value in the specification's unit, and what follows from it for the result of any location of it."""
    if measured is None:
        return None, LocationResult("", None, None, "inconclusive", ()), None
    value, unit = measured * scale, requirement.unit
    judgement = requirement.judged(value, None if uncertainty is None else uncertainty.expanded, places)
    if judgement is None:
        result = LocationResult("", rounded(value, places), None, "inconclusive", ())
    else:
        side = None if judgement.side is None else _SIDES[judgement.side]
        result = LocationResult(
            "", judgement.shown, judgement.compared, judgement.verdict, (), side=side, band=judgement.band
        )
    if uncertainty is not None and result.profile is not None:
        expanded = beside(uncertainty.expanded, result.profile)
        if judgement is not None and judgement.guarded:
            expanded = judgement.expanded or expanded  # with the digits that show the verdict
        probability = probability_of_conformity(
            Quantity(value, unit), Quantity(uncertainty.standard, unit), requirement.limits,
            uncertainty.budget.effective_dof,
        )  # fmt: skip
        result = replace(
            result,
            expanded_uncertainty=expanded,
            coverage_factor=uncertainty.factor,
            probability_of_conformity=rounded(probability, PROBABILITY_PLACES),
            standard_uncertainty=rounded(uncertainty.standard, places + 1),
            effective_degrees_of_freedom=uncertainty.budget.effective_dof,
        )
    return value, result, judgement
