"""Findings about the locations of an area: limits not met, spots without a profile, spots that disagree."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from reportgen.job import GAUGE_OF
from reportgen.metrology.exact import number_of
from reportgen.results import Amount, Outcome, Word
from reportgen.results.codes import profile as codes
from reportgen.results.codes.equipment import OTHER_METHOD, OtherMethod
from reportgen.results.facts import NOTHING, Place
from reportgen.rules.comparator import not_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from decimal import Decimal

    from reportgen.metrology.conformity import Judgement
    from reportgen.results import Finding, How, LocationResult, Task
    from reportgen.results.statements import Code
    from reportgen.rules.profile import AreaProfile, JudgedLocation
    from reportgen.rules.readings import MeasuredSpot

_WITHOUT: Final[Mapping[How, Code[Any]]] = {
    "second-missing": codes.SECOND_READING_MISSING,
    "outside-grade-range": codes.OUTSIDE_GRADE_RANGE,
    "contradictory": codes.CONTRADICTORY,
}


def location_findings(profile: AreaProfile) -> Outcome[None]:
    """Find everything wrong or missing about the locations, in the order taken."""
    findings: list[Finding] = []
    todo: list[Task] = []
    for judged in profile.locations:
        place = Place(profile.area.id, profile.located(judged))
        for spot in judged.measured.spots:
            if spot.profile is None and spot.seen is None:
                finding, step = _without_profile(profile, replace(place, spot=spot.id), spot, judged.surface.unit)
                findings.append(finding)
                todo.append(step)
        found = list(_findings(profile, judged, place))
        findings.extend(found)
        if judged.near_limit:
            answers = found[0].code  # nothing else is open about it
            todo.append(codes.MEASURE_LOCATION_AGAIN.due(NOTHING, place, answers=answers))
        if judged.missing_spots:
            todo.append(codes.MEASURE_SPOTS.due(codes.MoreSpots(judged.missing_spots), place))
    stated, clause = profile.requirement.record.repeatability, profile.requirement.record.clause
    for own, unit in profile.uncertainty.above_stated:
        assert stated is not None  # noqa: S101 - nothing is greater than what is not there
        scatter = Amount.of_number(number_of(own.standard_deviation), unit, 3)
        above = codes.ScatterAbove(scatter, own.dof, Amount.of(stated.value), stated.degrees_of_freedom)
        findings.append(codes.SCATTER_ABOVE_STATED.found(above, Place(profile.area.id), clause=clause))
    return Outcome((), tuple(findings), measure_next=tuple(todo))


def other_methods(profile: AreaProfile) -> Iterator[Finding]:
    """Find readings by another method than the contract's: what two methods show of one steel is not the same."""
    record = profile.requirement.record
    own = None if record.kind is None else GAUGE_OF.get(record.kind)
    used = dict.fromkeys(one.gauge.kind for one in profile.surfaces if one.locations)
    for kind in used if own is not None else ():
        if kind != own:
            facts = OtherMethod(Word("instrument-kind", kind), record.method)
            yield OTHER_METHOD.found(facts, Place(profile.area.id), clause=record.clause)


def _without_profile(profile: AreaProfile, place: Place, spot: MeasuredSpot, unit: str) -> tuple[Finding, Task]:
    """Return the finding about a spot that has no profile, and what to read there."""
    record, code = profile.requirement.record, _WITHOUT[spot.how]
    facts: codes.NoProfile
    if record.overlap_rule is not None and all(one.grade is not None for one in spot.readings):
        taken = tuple(
            codes.OnTape(Word("tape-grade", one.grade or ""), Amount.of_number(one.net, unit)) for one in spot.readings
        )
        facts = codes.NoneByTape(taken, spot.why, Word("overlap-rule", record.overlap_rule), spot.spoken_of)
    else:
        read = tuple(codes.ByDepth(Amount.of_number(one.net, unit)) for one in spot.readings)
        facts = codes.NoneByDepth(read, spot.why, record.method)
    if spot.next_grade is None:
        step = codes.READ_SPOT_AGAIN.due(codes.Why(spot.why, spot.spoken_of), place, answers=code.name)
    else:
        other = codes.OtherGrade(spot.next_grade, spot.why, spot.spoken_of)
        step = codes.READ_OTHER_GRADE.due(other, place, answers=code.name)
    return code.found(facts, place, clause=record.clause), step


def _findings(profile: AreaProfile, judged: JudgedLocation, place: Place) -> Iterator[Finding]:
    """Yield what is wrong with a location; limits not met on a walk-out belong to the location that it starts from."""
    result, judgement, record = judged.result, judged.judgement, profile.requirement.record
    if judged.missing_spots:
        spots = codes.SpotsMissing(len(result.spots), record.readings_needed)
        yield codes.SPOTS_MISSING.found(spots, place, clause=record.clause)
    if judged.further_spots:
        more = codes.SpotsTooMany(len(result.spots), record.readings_needed, profile.by_first(judged))
        yield codes.SPOTS_TOO_MANY.found(more, place, clause=record.clause)
    if judged.spread is not None:
        assert record.agreement_tolerance is not None  # noqa: S101 - a spread is kept only where it was exceeded
        spread = Amount.of_number(judged.spread, judged.surface.unit, 2)
        apart = codes.SpotsDisagree(spread, Amount.of(record.agreement_tolerance))
        yield codes.SPOTS_DISAGREE.found(apart, place, clause=record.clause)
    if result.walk_out is not None:
        return
    if judged.told_by_grade:
        yield not_shown(result.observed or "", result.verdict, profile.requirement, place)
    if result.profile is None:
        return
    if judgement is None:
        seen = Amount.of_number(result.profile, profile.requirement.unit)
        lacking = profile.uncertainty.lacking(judged.surface)
        unknown = codes.UncertaintyUnknown(seen, Word("decision-rule", record.decision_rule), lacking)
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
            in_band = codes.InBand(facts.profile, facts.limit, band, facts.expanded, facts.rounded, facts.guard)
            yield codes.INCONCLUSIVE.found(in_band, place, clause=record.clause)


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
        shown(result.expanded_uncertainty),
        shown(result.compared) if rounding_shows else None,
        shown(judgement.expanded) if judgement.guarded else None,
    )
