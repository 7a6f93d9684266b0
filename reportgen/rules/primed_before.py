"""Steel that was primed before it was blasted again: the primer came off with that, which the later entry has to say.

Else one of the two is untrue, the time of the primer or the blasting after it, and nobody can tell which coat is on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from reportgen.names import spelt_alike
from reportgen.results import Outcome, Place
from reportgen.results.codes import coating as codes
from reportgen.rules.owed import blastings
from reportgen.rules.scene import gone_over_by

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.job import Surface
    from reportgen.results import AreaResult, Finding
    from reportgen.rules.owed import Blasted
    from reportgen.rules.scene import JobView, SurfaceView

_BLASTED_OFF = "coated"
"""The initial condition of steel whose primer was blasted off."""


class _Primed(NamedTuple):
    """Steel that was blasted before another blasting, when it was primed, and which earlier report says so."""

    steel: Blasted
    coated: dt.datetime
    report: str | None


def primed_before_rework(view: JobView) -> Outcome[Finding]:
    """Find each blasting of primed steel that does not say so, and primer on steel that was blasted again by then.

    Where a later entry may be of some of several parts, it is asked where all of them are primed.
    """
    reworks = (
        (surface, steel) for surface in view.surfaces
        if (surface.record.blasted_again or surface.record.reinspects) and surface.blasted[0] <= surface.blasted[1]
        and (steel := _gone_over(view, surface))
    )  # fmt: skip
    found = (finding for surface, steel in reworks for finding in _found(view, surface, steel))
    return Outcome((), (*_after_all_of_it(view), *found))


def coated_before_rework(view: JobView, areas: Sequence[AreaResult]) -> Iterator[Finding]:
    """Note the primer on what failed, or nobody had measured, and was blasted again since in the report.

    On an area that is not released for something else, of what stands this is said elsewhere.
    """
    released = {area.id for area in areas if area.decision == "release"}
    surfaces, by = view.job.day.surfaces, gone_over_by(view.job)
    for index in (*view.again, *view.undone):
        record, lost = surfaces[index], view.lost.get(index)
        known = index in view.undone and record.area not in released
        if record.coated is None or lost is None or known:
            continue
        if view.at(record.coated) >= view.at(surfaces[by[index][-1]].blasted.end):
            continue
        bad = (lost.failed - {codes.TIME_EXCEEDED.name}) | lost.failing_tests | lost.held
        if bad or not lost.measured:
            yield codes.WITHOUT_RELEASE.found(codes.Coated(view.printed(view.at(record.coated))), Place(record.area))


def _after_all_of_it(view: JobView) -> Iterator[Finding]:
    """Yield the primer in entries of which nothing stood by then, with the blasting that was the last of it."""
    surfaces = view.job.day.surfaces
    for index in view.again:
        record, gone = surfaces[index], view.gone[index]
        if record.coated is not None and view.at(record.coated) > gone:
            last = next(
                one for one in surfaces if one.area == record.area and view.at(one.blasted.start) == gone
            )  # fmt: skip
            end, coated = view.printed(view.at(record.blasted.end)), view.printed(view.at(record.coated))
            facts = codes.PrimedAfterAll(record.apparatus, end, coated, last.apparatus, view.printed(gone))
            yield codes.TIMES_CONTRADICTORY.found(facts, Place(record.area))


def _found(view: JobView, surface: SurfaceView, steel: Sequence[Blasted]) -> Iterator[Finding]:
    """Yield what is wrong with the primer on steel before a surface that was blasted again."""
    record, place, began = surface.record, Place(surface.record.area), view.printed(surface.blasted[0])
    primed = [found for one in steel if (found := _primed(view, one)) is not None]
    for one in primed:
        told = any(stated is view and index in view.again for stated, index in one.steel.entries)
        if one.coated > surface.blasted[0] and record.cleaned is None and not told:
            end, coated = view.printed(one.steel.ended), view.printed(one.coated)
            facts = codes.PrimedAfterAll(one.steel.apparatus, end, coated, record.apparatus, began)
            yield codes.TIMES_CONTRADICTORY.found(facts, place)
    before = [one for one in primed if one.coated <= surface.blasted[0]]
    if record.initial_condition == _BLASTED_OFF or not is_of_primed(view, record, steel, before):
        return
    for one in before:
        then = one.steel.apparatus, view.printed(one.coated), record.apparatus, began
        yield codes.PRIMED_BEFORE_REWORK.found(codes.PrimedThen(*then, record.initial_condition, one.report), place)


def is_of_primed(view: JobView, record: Surface, steel: Sequence[Blasted], primed: Sequence[_Primed]) -> bool:
    """Whether a blasting is of primed steel: it is of all that this shift has of it, or all that it may be of is."""
    here = {id(one) for one in view.job.day.surfaces}
    whole = record.cleaned is None and any(id(each) in here for one in primed for each in one.steel.records)
    return bool(primed) and (whole or len(primed) == len(steel))


def _primed(view: JobView, steel: Blasted) -> _Primed | None:
    """Return when steel was primed, as last stated."""
    for stated, one in reversed(steel.each):
        if one.coated is not None:
            return _Primed(steel, stated.at(one.coated), None if stated is view else stated.job.day.report.number)
    return None


def _gone_over(view: JobView, surface: SurfaceView) -> list[Blasted]:
    """Return what a surface may have gone over, and nothing had between: of earlier reports what failed, if known."""
    known = blastings([*(one.view for one in view.before), view], surface.record.area)
    before = [one for one in known if one.ended <= surface.blasted[0]]
    there = {one.apparatus for one in before}
    may = [one for one in before if _says(surface.record, one.apparatus, there)]
    bare = [
        one for one in may
        if not any(
            mid.began >= one.ended and any(_says(record, one.apparatus, there) for record in mid.records)
            for mid in before
        )
    ]  # fmt: skip
    return failed_of(bare) or bare


def failed_of(steel: Sequence[Blasted]) -> list[Blasted]:
    """Return of some steel what an earlier report found to fail, or left on hold; of this one that is not known yet."""
    lost = {id(one): [view.lost[index] for view, index in one.entries if index in view.lost] for one in steel}
    return [
        one for one in steel
        if any(each.failed or each.failing_tests or each.held or not each.measured for each in lost[id(one)])
    ]  # fmt: skip


def _says(record: Surface, apparatus: str, there: set[str]) -> bool:
    """Whether an entry says to be of what an apparatus had: by name, or as a re-inspection; of all if it is new."""
    if any(spelt_alike(name, apparatus) for name in record.blasted_again):
        return True
    new = not any(spelt_alike(record.apparatus, name) for name in there)
    return bool(record.reinspects) and (new or spelt_alike(record.apparatus, apparatus))
