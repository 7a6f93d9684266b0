"""Steel that was primed before it was blasted again: the primer came off with that, which the later entry has to say.

Else one of the two is untrue, the time of the primer or the blasting after it, and nobody can tell which coat is on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from reportgen.results import Outcome, Place
from reportgen.results.codes import coating as codes
from reportgen.rules.extent import may_say_again, part_again
from reportgen.rules.owed import blastings, is_all_of, size_of
from reportgen.rules.scene import gone_over_by

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.job import Surface
    from reportgen.results import AreaResult, Finding
    from reportgen.rules.owed import OneBlasting
    from reportgen.rules.scene import JobView, SurfaceView

_BLASTED_OFF = "coated"
"""The initial condition of steel whose primer was blasted off."""


class _Primed(NamedTuple):
    """Steel that was blasted before another blasting, when it was primed, and which earlier report says so."""

    steel: OneBlasting
    coated: dt.datetime
    report: str | None


class _Over(NamedTuple):
    """Steel that a blasting may have gone over, what of it was primed, and what of the bare went over between."""

    steel: list[OneBlasting]
    primed: list[_Primed]
    between: list[OneBlasting]


def primed_before_rework(view: JobView) -> Outcome[Finding]:
    """Find each blasting of primed steel that does not say so, and primer on steel that was blasted again by then.

    Where a later entry may be of some of several parts, it is of what failed and of what is bare first, by the sizes.
    """
    reworks = (
        (surface, over) for surface in view.surfaces
        if (surface.record.blasted_again or surface.record.reinspects) and surface.blasted[0] <= surface.blasted[1]
        and (over := _gone_over(view, surface)).steel
    )  # fmt: skip
    found = (finding for surface, over in reworks for finding in _found(view, surface, over))
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


def _found(view: JobView, surface: SurfaceView, over: _Over) -> Iterator[Finding]:
    """Yield what is wrong with the primer on steel before a surface that was blasted again."""
    record, place, began = surface.record, Place(surface.record.area), view.printed(surface.blasted[0])
    known = failed_of(over.steel) or over.steel
    for one in (each for each in over.primed if each.steel in known):
        told = any(stated is view and index in view.again for stated, index in one.steel.entries)
        if one.coated > surface.blasted[0] and record.cleaned is None and not told:
            end, coated = view.printed(one.steel.ended), view.printed(one.coated)
            facts = codes.PrimedAfterAll(one.steel.apparatus, end, coated, record.apparatus, began)
            yield codes.TIMES_CONTRADICTORY.found(facts, place)
    if record.initial_condition == _BLASTED_OFF:
        return
    for one in _gone_from_under(view, surface, over):
        then = one.steel.apparatus, view.printed(one.coated), record.apparatus, began
        yield codes.PRIMED_BEFORE_REWORK.found(codes.PrimedThen(*then, record.initial_condition, one.report), place)


def _gone_from_under(view: JobView, surface: SurfaceView, over: _Over) -> list[_Primed]:
    """Return the primed steel that a blasting has to be of: of what failed, else of all it may be of."""
    for steel in (failed_of(over.steel), over.steel):
        primed = [one for one in over.primed if one.steel in steel and one.coated <= surface.blasted[0]]
        if primed and _is_of_primed(view, surface.record, steel, primed, over.between):
            return primed
    return []


def _is_of_primed(
    view: JobView, record: Surface, steel: Sequence[OneBlasting], primed: Sequence[_Primed],
    between: Sequence[OneBlasting],
) -> bool:  # fmt: skip
    """Whether a blasting is of primed steel: it is of bare steel first, as far as there is enough of that by the sizes.

    Without a size it is of all that this shift has of it, or of primed steel where there is no other.
    """
    covered = [one.steel for one in primed]
    bare = [one for one in steel if one not in covered]
    if record.cleaned is None:
        here = {id(one) for one in view.job.day.surfaces}
        return not bare or any(id(each) in here for one in covered for each in one.records)
    gone = [one.cleaned for one in dict.fromkeys(between) if one.cleaned is not None]
    return not bare or part_again([record.cleaned], [size_of(one) for one in bare], lost=gone) is not None


def _primed(view: JobView, steel: OneBlasting) -> _Primed | None:
    """Return when steel was primed, as last stated."""
    for stated, one in reversed(steel.each):
        if one.coated is not None:
            return _Primed(steel, stated.at(one.coated), None if stated is view else stated.job.day.report.number)
    return None


def _gone_over(view: JobView, surface: SurfaceView) -> _Over:
    """Return what a surface may have gone over, as far as nothing had between by the sizes."""
    known = blastings([*(one.view for one in view.before), view], surface.record.area)
    before = [one for one in known if one.ended <= surface.blasted[0]]
    there = {one.apparatus for one in before}
    over = _Over([], [], [])
    for one in (each for each in before if may_say_again(surface.record, each.apparatus, there)):
        primed = _primed(view, one)
        between = [mid for mid in before if _goes_over(mid, one, primed, there)]
        over.between.extend(() if primed else between)
        if not is_all_of(between, one):
            over.steel.append(one)
            over.primed.extend(filter(None, [primed]))
    return over


def _goes_over(mid: OneBlasting, steel: OneBlasting, primed: _Primed | None, there: set[str]) -> bool:
    """Whether a blasting between may be of some steel: of primed steel only where it says that it was coated."""
    off = any(record.initial_condition == _BLASTED_OFF for record in mid.records)
    bare = primed is None or primed.coated > mid.began
    says = any(may_say_again(record, steel.apparatus, there) for record in mid.records)
    return mid.began >= steel.ended and says and (bare or off)


def failed_of(steel: Sequence[OneBlasting]) -> list[OneBlasting]:
    """Return of some steel what a report found to fail, or left on hold."""
    lost = {id(one): [view.lost[index] for view, index in one.entries if index in view.lost] for one in steel}
    return [
        one for one in steel
        if any(each.failed or each.failing_tests or each.held or not each.measured for each in lost[id(one)])
    ]  # fmt: skip
