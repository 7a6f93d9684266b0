"""Findings about the locations of an area: limits not met, spots without a profile, spots that disagree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.results import Amount, LocationResult, Outcome, Word
from reportgen.results.codes import profile as codes
from reportgen.results.facts import NOTHING, Place

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from decimal import Decimal

    from reportgen.metrology.conformity import Judgement
    from reportgen.results import Finding, How, Task
    from reportgen.results.statements import Code
    from reportgen.rules.profile import AreaProfile, JudgedLocation
    from reportgen.rules.readings import MeasuredSpot

_WITHOUT: Final[Mapping[How, Code[Any]]] = {
    "second-missing": codes.SECOND_READING_MISSING,
    "outside-grade-range": codes.OUTSIDE_GRADE_RANGE,
    "contradictory": codes.CONTRADICTORY,
}


def location_findings(profile: AreaProfile) -> Outcome[LocationResult]:
    """Yield the locations' results with everything wrong or missing about them, in the order taken."""
    findings: list[Finding] = []
    todo: list[Task] = []
    measured = (location for surface in profile.surfaces for location in surface.locations)
    units = (surface.unit for surface in profile.surfaces for _ in surface.locations)
    for judged, source, unit in zip(profile.locations, measured, units, strict=True):
        area, located = profile.area.id, profile.located(judged)
        for spot in source.spots:
            if spot.profile is None:
                place = Place(area, located, spot.id)
                findings.append(_spot_finding(profile, place, spot, unit))
                todo.append(_again(place, spot))
        found = list(_location_findings(profile, judged, unit))
        findings.extend(found)
        if judged.near_limit:
            answers = found[0].code  # nothing else is open about it
            todo.append(codes.MEASURE_LOCATION_AGAIN.due(NOTHING, Place(area, located), answers=answers))
        if judged.missing_spots:
            todo.append(codes.MEASURE_SPOTS.due(codes.MoreSpots(judged.missing_spots), Place(area, located)))
    return Outcome(tuple(judged.result for judged in profile.locations), tuple(findings), measure_next=tuple(todo))


def _spot_finding(profile: AreaProfile, place: Place, spot: MeasuredSpot, unit: str) -> Finding:
    record = profile.requirement.record
    facts: codes.NoProfile
    if record.overlap_rule is not None and all(one.grade is not None for one in spot.readings):
        taken = tuple(
            codes.OnTape(Word("tape-grade", one.grade or ""), Amount.of_number(one.net, unit)) for one in spot.readings
        )
        facts = codes.NoneByTape(taken, spot.why, Word("overlap-rule", record.overlap_rule), spot.spoken_of)
    else:
        read = tuple(codes.ByDepth(Amount.of_number(one.net, unit)) for one in spot.readings)
        facts = codes.NoneByDepth(read, spot.why, record.method)
    return _WITHOUT[spot.how].found(facts, place, clause=record.clause)


def _again(place: Place, spot: MeasuredSpot) -> Task:
    answers = _WITHOUT[spot.how].name
    if spot.next_grade is None:
        return codes.READ_SPOT_AGAIN.due(codes.Why(spot.why, spot.spoken_of), place, answers=answers)
    return codes.READ_OTHER_GRADE.due(
        codes.OtherGrade(spot.next_grade, spot.why, spot.spoken_of), place, answers=answers
    )  # fmt: skip


def _location_findings(profile: AreaProfile, judged: JudgedLocation, unit: str) -> Iterator[Finding]:
    record = profile.requirement.record
    place = Place(profile.area.id, profile.located(judged))
    if judged.missing_spots:
        spots = codes.SpotsMissing(len(judged.result.spots), record.readings_per_location)
        yield codes.SPOTS_MISSING.found(spots, place, clause=record.clause)
    if judged.spread is not None:
        assert record.agreement_tolerance is not None  # noqa: S101 - a spread is kept only where it was exceeded
        apart = codes.SpotsDisagree(Amount.of_number(judged.spread, unit, 2), Amount.of(record.agreement_tolerance))
        yield codes.SPOTS_DISAGREE.found(apart, place, clause=record.clause)
    if judged.result.walk_out is None:
        yield from _limit_findings(profile, judged, place)


def _limit_findings(profile: AreaProfile, judged: JudgedLocation, place: Place) -> Iterator[Finding]:
    """Findings on the limits themselves; those of a walk-out belong to the failing location it starts from."""
    result, judgement, record = judged.result, judged.judgement, profile.requirement.record
    if result.profile is None:
        return
    if judgement is None:
        seen = Amount.of_number(result.profile, profile.requirement.unit)
        unknown = codes.UncertaintyUnknown(seen, Word("decision-rule", record.decision_rule))
        yield codes.INCONCLUSIVE.found(unknown, place, clause=record.clause)
    elif result.verdict == "does not conform" and judgement.side is not None:
        code = codes.BELOW_MINIMUM if judgement.side == "below-minimum" else codes.ABOVE_MAXIMUM
        yield code.found(_judged(profile, result, judgement), place, clause=record.clause)
    elif judgement.verdict == "inconclusive":
        facts = _judged(profile, result, judgement)
        if record.decision_rule == "guarded":
            yield codes.IN_GUARD_BAND.found(facts, place, clause=record.clause)
        else:
            band = Word("guard-band", judgement.band)
            numbers = (facts.expanded, facts.rounded, facts.guard)
            yield codes.INCONCLUSIVE.found(
                codes.InBand(facts.profile, facts.limit, band, *numbers), place, clause=record.clause
            )


def _judged(profile: AreaProfile, result: LocationResult, judgement: Judgement) -> codes.ProfileJudged:
    """Return the value as printed, with U, and the number compared where the rounding method made another of it."""
    requirement = profile.requirement
    assert result.profile is not None  # noqa: S101 - asked only for locations with a value

    def shown(number: Decimal | None) -> Amount | None:
        return None if number is None else Amount.of_number(number, requirement.unit)

    guarded = requirement.record.decision_rule != "simple"
    rounding_shows = result.compared != result.profile
    if guarded and requirement.within(result.profile):
        rounding_shows = False  # the distance to the limit decides, and no rounding enters it
    return codes.ProfileJudged(
        Amount.of_number(result.profile, requirement.unit),
        requirement.limit(judgement.side),
        shown(result.expanded_uncertainty) if guarded else None,
        shown(result.compared) if rounding_shows else None,
        shown(judgement.expanded) if judgement.guarded else None,
    )
