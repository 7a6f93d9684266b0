"""Time from the end of blasting to the primer, and until when an area may still be coated."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.evaluate.outcome import Outcome, Place, found, shown, shown_number
from reportgen.evaluate.view import elapsed, later
from reportgen.results import CoatingTime, MeasureNext
from reportgen.units import rounded

if TYPE_CHECKING:
    from reportgen.evaluate.view import JobView, SurfaceView
    from reportgen.results import Finding, Verdict
    from reportgen.units import Quantity

PRINTED_PLACES: Final = 2


def coating_times(view: JobView) -> Outcome[CoatingTime]:
    """Judge the time to coat of every surface; one not coated yet gets the time by which it must be."""
    limit = None if view.specification.time_to_coat is None else view.specification.time_to_coat.maximum
    clause = None if view.specification.time_to_coat is None else view.specification.time_to_coat.clause
    results: list[CoatingTime] = []
    findings: list[Finding] = []
    todo: list[MeasureNext] = []
    for area in view.areas:
        for surface in area.surfaces:
            result, found_here = _surface(view, surface, limit, {"area": area.id, "clause": clause})
            results.append(result)
            findings.extend(found_here)
            if surface.coated is None and result.coat_by is not None and limit is not None:
                reason = f"at most {shown(limit)} from the end of blasting; after that prepare the surface again"
                todo.append(MeasureNext(area.id, f"coat by {result.coat_by}", reason))
    left_out = () if limit is not None else ("time to coat: the contract states no limit",)
    return Outcome(tuple(results), tuple(findings), measure_next=tuple(todo), not_evaluated=left_out)


def _surface(
    view: JobView, surface: SurfaceView, limit: Quantity | None, place: Place
) -> tuple[CoatingTime, list[Finding]]:  # fmt: skip
    start, end = surface.blasted
    area = surface.record.area
    hours = None if limit is None else rounded(limit.in_unit("h"), max(PRINTED_PLACES, limit.places))
    coat_by = None if limit is None else view.printed(later(end, limit))
    if end < start or (surface.coated is not None and surface.coated < end):
        times = [f"blasted {view.printed(start)} to {view.printed(end)}"]
        times += [] if surface.coated is None else [f"coated {view.printed(surface.coated)}"]
        finding = found(
            "times-contradictory", ", ".join(times), "blasting begins, ends, then comes the primer", **place
        )
        return CoatingTime(area, None, hours, "inconclusive", None), [finding]
    if surface.coated is None:
        return CoatingTime(area, None, hours, "not evaluated", coat_by), []
    taken = elapsed(end, surface.coated, "h")
    if limit is None:
        return CoatingTime(area, rounded(taken, PRINTED_PLACES), None, "not evaluated"), []
    met = elapsed(end, surface.coated, limit.unit) <= limit.exact
    verdict: Verdict = "conforms" if met else "does not conform"
    places = PRINTED_PLACES
    while (rounded(taken, places) <= limit.in_unit("h")) != met:
        places += 1
    result = CoatingTime(area, rounded(taken, places), hours, verdict, coat_by)
    if met:
        return result, []
    observed = f"{shown_number(taken, 'h', places)}, coated {view.printed(surface.coated)}"
    return result, [found("time-to-coat-exceeded", observed, f"at most {shown(limit)}", **place)]


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
