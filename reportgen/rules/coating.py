"""Time from the end of blasting to the primer; until when a released area may be coated, and whose time has passed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from reportgen.results import CoatingTime, MeasureNext
from reportgen.rules.outcome import Outcome, Place, found, shown, shown_number
from reportgen.units import elapsed, later, rounded

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.job.project import TimeToCoat
    from reportgen.results import Finding
    from reportgen.rules.scene import AreaView, JobView, SurfaceView

PRINTED_PLACES: Final = 2
PREPARE_AGAIN: Final = "prepare the surface again and inspect it"


def coating_times(view: JobView) -> Outcome[CoatingTime]:
    """Judge the time to coat of every surface; one whose time has passed unprimed is to be prepared again."""
    stated = view.specification.time_to_coat
    if stated is None:
        outcomes = [_judged(view, surface, None) for area in view.areas for surface in area.surfaces]
    else:
        outcomes = [
            _bare(view, area, surface, stated) if surface.coated is None else _judged(view, surface, stated)
            for area in view.areas
            for surface in area.surfaces
        ]
    left_out = () if stated is not None else ("time to coat: the contract states no limit",)
    return Outcome(
        tuple(result for outcome in outcomes for result in outcome.results),
        tuple(finding for outcome in outcomes for finding in outcome.findings),
        measure_next=tuple(step for outcome in outcomes for step in outcome.measure_next),
        not_evaluated=(*left_out, *(line for outcome in outcomes for line in outcome.not_evaluated)),
    )


def deadlines(view: JobView, times: Sequence[CoatingTime], released: set[str]) -> Outcome[CoatingTime]:
    """Add until when to coat, where the steel may be coated: on a released area, for all of it that is bare.

    A time that had passed when the area was accepted nevertheless is none until which to coat.
    ``times`` are those of ``coating_times``, one for each surface in the order of the areas.
    """
    stated = view.specification.time_to_coat
    bare = {
        area.id: [
            surface
            for surface in area.surfaces
            if surface.coated is None and later(surface.blasted[1], stated.maximum) >= view.moment
        ]
        for area in view.areas
        if stated is not None and area.id in released
    }
    until = {
        area: view.printed(min(later(surface.blasted[1], stated.maximum) for surface in surfaces))
        for area, surfaces in bare.items()
        if stated is not None and surfaces
    }
    surfaces = [surface for area in view.areas for surface in area.surfaces]
    results = tuple(
        time if surface.coated is not None else replace(time, coat_by=until.get(time.area))
        for time, surface in zip(times, surfaces, strict=True)
    )
    words = "" if stated is None else f"{limit_words(stated)}; after that prepare the surface again"
    steps = []
    for area in view.areas:
        if area.id in until:
            coated = len(bare[area.id]) < len(area.surfaces)
            which = " and ".join(_what(view, area, surface) for surface in bare[area.id]) if coated else ""
            reason = f"{which} is bare; {words}" if which else words
            steps.append(MeasureNext(area.id, f"coat by {until[area.id]}", reason))
    return Outcome(results, measure_next=tuple(steps))


def _what(view: JobView, area: AreaView, surface: SurfaceView) -> str:
    """Name a part of an area by what blasted it, and until when where that alone does not tell."""
    apparatus = surface.record.apparatus
    alike = sum(other.record.apparatus == apparatus for other in area.surfaces)
    return f"what {apparatus} blasted" + (f" until {view.printed(surface.blasted[1])}" if alike > 1 else "")


def limit_words(stated: TimeToCoat) -> str:
    """Return the limit in words."""
    return f"at most {shown(stated.maximum)} from the end of blasting"


def _bare(view: JobView, area: AreaView, surface: SurfaceView, stated: TimeToCoat) -> Outcome[CoatingTime]:
    """Judge a surface that was not coated: nothing to say before its time is over, too late to coat after that.

    The primer of another surface of the area says nothing about this one.
    """
    outcome = _judged(view, surface, stated)
    what = f"{_what(view, area, surface)} " if len(area.surfaces) > 1 else ""
    if outcome.findings:
        return outcome
    until = later(surface.blasted[1], stated.maximum)
    if until >= view.moment:
        return outcome
    observed = f"{what}not primed by {view.printed(until)}"
    finding = found("coating-overdue", observed, limit_words(stated), area=area.id, clause=stated.clause)
    return Outcome(
        tuple(replace(result, verdict="inconclusive") for result in outcome.results),
        (finding,),
        measure_next=(MeasureNext(area.id, PREPARE_AGAIN, observed),),
    )


def _judged(view: JobView, surface: SurfaceView, stated: TimeToCoat | None) -> Outcome[CoatingTime]:
    """Compare the time to the primer with its limit, where both are there."""
    start, end = surface.blasted
    area, coated = surface.record.area, surface.coated
    limit = None if stated is None else stated.maximum
    hours = None if limit is None else rounded(limit.in_unit("h"), max(PRINTED_PLACES, limit.places))
    place: Place = {"area": area, "clause": None if stated is None else stated.clause}
    if end < start or (coated is not None and coated < end):
        times = [f"blasted {view.printed(start)} to {view.printed(end)}"]
        times += [] if coated is None else [f"coated {view.printed(coated)}"]
        words = "blasting begins, ends, then comes the primer"
        finding = found("times-contradictory", ", ".join(times), words, **place)
        return Outcome((CoatingTime(area, None, hours, "inconclusive"),), (finding,))
    if coated is None:
        return Outcome((CoatingTime(area, None, hours, "not evaluated"),))
    taken = elapsed(end, coated, "h")
    if limit is None:
        return Outcome((CoatingTime(area, rounded(taken, PRINTED_PLACES), None, "not evaluated"),))
    met = elapsed(end, coated, limit.unit) <= limit.exact
    places = PRINTED_PLACES
    while (rounded(taken, places) <= limit.in_unit("h")) != met:
        places += 1
    result = CoatingTime(area, rounded(taken, places), hours, "conforms" if met else "does not conform")
    if met:
        return Outcome((result,))
    observed = f"{shown_number(taken, 'h', places)}, coated {view.printed(coated)}"
    return Outcome((result,), (found("time-to-coat-exceeded", observed, f"at most {shown(limit)}", **place),))


def coated_without_release(view: JobView, released: set[str]) -> list[Finding]:
    """Note the areas that were coated although their release is not recommended."""
    return [
        found(
            "coated-without-release",
            f"coated {view.printed(surface.coated)}",
            "release before the primer",
            area=area.id,
        )
        for area in view.areas
        for surface in area.surfaces
        if surface.coated is not None and area.id not in released
    ]
