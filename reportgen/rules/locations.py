"""Findings about the locations of an area: limits not met, spots without a profile, spots that disagree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.results import LocationResult, MeasureNext
from reportgen.rules.outcome import Outcome, Place, counted, found, shown, shown_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.results import Finding, How
    from reportgen.rules.profile import AreaProfile, JudgedLocation
    from reportgen.rules.readings import MeasuredSpot

_NEAR: Final = "its value is nearer to a limit than its uncertainty"
_CODES: Final[dict[How, str]] = {
    "second-missing": "second-reading-missing",
    "outside-grade-range": "outside-grade-range",
    "contradictory": "contradictory-readings",
}


def location_findings(profile: AreaProfile) -> Outcome[LocationResult]:
    """Yield the locations' results with everything wrong or missing about them, in the order taken."""
    findings: list[Finding] = []
    todo: list[MeasureNext] = []
    measured = (location for surface in profile.surfaces for location in surface.locations)
    units = (surface.unit for surface in profile.surfaces for _ in surface.locations)
    for judged, source, unit in zip(profile.locations, measured, units, strict=True):
        for spot in source.spots:
            if spot.profile is None:
                findings.append(_spot_finding(profile, judged, spot, unit))
                todo.append(_again(profile, judged, spot))
        findings.extend(_location_findings(profile, judged, unit))
        if judged.near_limit:
            todo.append(MeasureNext(profile.area.id, f"location {profile.located(judged)} again", _NEAR))
        if judged.missing_spots:
            what = f"{counted(judged.missing_spots, 'more spot')} at location {profile.located(judged)}"
            todo.append(MeasureNext(profile.area.id, what, "the method requires them"))
    return Outcome(tuple(judged.result for judged in profile.locations), tuple(findings), measure_next=tuple(todo))


def _spot_finding(profile: AreaProfile, judged: JudgedLocation, spot: MeasuredSpot, unit: str) -> Finding:
    taken = ", ".join(
        f"{one.grade or 'depth'} {shown_number(one.net, unit, _digits(one.net))}" for one in spot.readings
    )
    requirement = profile.requirement.record
    rule = f"rule for two tape grades: {requirement.overlap_rule}" if requirement.overlap_rule else requirement.method
    return found(
        _CODES[spot.how], f"spot {spot.id}: {taken}; {spot.reason}", rule,
        area=profile.area.id, location=profile.located(judged), clause=requirement.clause,
    )  # fmt: skip


def _digits(number: object) -> int:
    text = str(number)
    return len(text.partition(".")[2])


def _again(profile: AreaProfile, judged: JudgedLocation, spot: MeasuredSpot) -> MeasureNext:
    if spot.next_grade is not None:
        what = f"a reading on {spot.next_grade} tape at location {profile.located(judged)}, spot {spot.id}"
    else:
        what = f"location {profile.located(judged)}, spot {spot.id} again"
    return MeasureNext(profile.area.id, what, spot.reason)


def _location_findings(profile: AreaProfile, judged: JudgedLocation, unit: str) -> Iterator[Finding]:
    clause = profile.requirement.record.clause
    place: Place = {"area": profile.area.id, "location": profile.located(judged), "clause": clause}
    if judged.missing_spots:
        required = profile.requirement.record.readings_per_location
        spots = counted(len(judged.result.spots), "spot")
        yield found("spots-missing", spots, f"{counted(required, 'spot')} per location", **place)
    if judged.spread is not None:
        tolerance = profile.requirement.record.agreement_tolerance
        assert tolerance is not None  # noqa: S101 - a spread is kept only where a tolerance was exceeded
        spread = shown_number(judged.spread, unit, 2)
        yield found("spots-disagree", f"spots differ by {spread}", f"at most {shown(tolerance)}", **place)
    if judged.result.walk_out is None:
        yield from _limit_findings(profile, judged, place)


def _limit_findings(profile: AreaProfile, judged: JudgedLocation, place: Place) -> Iterator[Finding]:
    """Findings on the limits themselves; those of a walk-out belong to the failing location it starts from."""
    result, judgement = judged.result, judged.judgement
    if result.profile is None:
        return
    if judgement is None:
        needed = f"decision rule `{profile.requirement.record.decision_rule}` needs the gauge's limits of error"
        yield found("profile-inconclusive", f"{_value(profile, result)}, uncertainty not known", needed, **place)
    elif result.verdict == "does not conform" and judgement.side is not None:
        words = profile.requirement.words(judgement.side, judgement)
        yield found(f"profile-{judgement.side}", _observed(profile, result), words, **place)
    elif judgement.verdict == "inconclusive":
        words = profile.requirement.words(judgement.side or "", judgement)
        if profile.requirement.record.decision_rule == "guarded":
            yield found("profile-in-guard-band", _observed(profile, result), words, **place)
        else:
            yield found("profile-inconclusive", f"{_observed(profile, result)}: {judgement.band}", words, **place)


def _observed(profile: AreaProfile, result: LocationResult) -> str:
    """Return the value as printed, with U, and the number compared where the rounding method made another of it."""
    requirement = profile.requirement
    text, guarded = _value(profile, result), requirement.record.decision_rule != "simple"
    if result.expanded_uncertainty is not None and guarded:
        unit = requirement.unit
        text += f" ± {shown_number(result.expanded_uncertainty, unit, _digits(result.expanded_uncertainty))}"
    rounding_shows = result.compared not in (None, result.profile)
    if guarded and result.profile is not None and requirement.within(result.profile):
        rounding_shows = False  # the distance to the limit decides, and no rounding enters it
    if result.compared is not None and rounding_shows:
        text += f", rounded {shown_number(result.compared, profile.requirement.unit, _digits(result.compared))}"
    return text


def _value(profile: AreaProfile, result: LocationResult) -> str:
    assert result.profile is not None  # noqa: S101 - asked only for locations with a value
    return shown_number(result.profile, profile.requirement.unit, _digits(result.profile))
