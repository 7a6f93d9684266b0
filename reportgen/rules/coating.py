"""Time from the end of blasting to the primer; until when and in what an area may be coated; whose time has passed."""

from __future__ import annotations

from dataclasses import replace
from operator import itemgetter
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.measurements import LOGS
from reportgen.results import Amount, CoatingTime, Outcome, Place
from reportgen.results.codes import coating as codes
from reportgen.results.codes.coating import (
    Coated,
    NotPrimed,
    PartBlasted,
    PrimedLate,
    PrimedOtherwise,
    ReleasedBefore,
    TimesStated,
    ToCoat,
)
from reportgen.results.codes.follow_up import FAILED_EARLIER, LEFT_OPEN, MISSING, OPEN
from reportgen.results.facts import NOTHING
from reportgen.rules.entered_before import steel_before
from reportgen.rules.primed_before import coated_before_rework
from reportgen.rules.scene import JobView
from reportgen.rules.surfaces_told import since_when, work_of
from reportgen.units import elapsed, later, rounded

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.job import Job, Surface
    from reportgen.job.project import TimeToCoat
    from reportgen.results import AreaResult, Counted, Evaluation, Finding
    from reportgen.rules.scene import AreaView, SurfaceView

PRINTED_PLACES: Final = 2
_OF_EARLIER_STEEL: Final = frozenset({OPEN.name, FAILED_EARLIER.name, LEFT_OPEN.name})
_ON_PAPER: Final = frozenset({OPEN.name, MISSING.name})
"""What is to be raised or decided about other findings: of no steel by itself."""

_AGAINST: Final = frozenset({"does not conform", "inconclusive"})

_LOGGED: Final = frozenset(one.name for kind in LOGS for one in kind.statements)


def coating_times(view: JobView) -> Outcome[CoatingTime]:
    """Judge the time to coat of every surface; one whose time has passed unprimed is to be prepared again."""
    stated = view.specification.time_to_coat
    if stated is None:
        judged = [_judged(view, surface, None) for surface in view.surfaces]
        return Outcome.joined(judged, [codes.WITHOUT_LIMIT.at(NOTHING)])
    return Outcome.joined(
        _bare(view, area, surface, stated) if surface.coated is None else _judged(view, surface, stated)
        for area in view.areas
        for surface in area.surfaces
    )


def deadlines(view: JobView, times: Sequence[CoatingTime], released: set[str]) -> Outcome[CoatingTime]:
    """Add until when to coat, where the steel may be coated: on a released area, for each part of it that is bare.

    A time that had passed when the area was accepted nevertheless is none until which to coat.
    ``times`` are those of ``coating_times``, one for each surface in the order of the areas.
    """
    stated = view.specification.time_to_coat
    if stated is None:
        return Outcome(tuple(times))
    areas = [area for area in view.areas if area.id in released]
    until = {id(surface): at for area in areas for surface, at in still_to_coat(view, area)}
    results = [
        replace(time, coat_by=view.printed(until[id(one)]) if id(one) in until else None)
        for time, one in zip(times, view.surfaces, strict=True)
    ]
    steps = (codes.COAT_BY.due(one, Place(area.id)) for area in areas for one in _to_coat(view, area, stated))
    return Outcome(tuple(results), measure_next=tuple(steps))


def still_to_coat(view: JobView, area: AreaView) -> list[tuple[SurfaceView, dt.datetime]]:
    """Return the bare steel of an area whose time is not over, or was not when the shift ended, with its end.

    Empty without a time to coat; without steel of which the times are not known, or contradict each other.
    """
    stated = view.specification.time_to_coat
    bare = [] if stated is None else [surface for surface in area.surfaces if surface.coated is None]
    known = (one for one in bare if not _to_be_entered(one) and not _judged(view, one, stated).findings)
    ends = ((one, later(one.blasted[1], stated.maximum)) for one in known if stated is not None)
    return [(one, end) for one, end in ends if end >= view.moment]


def prime_by(job: Job, area: str) -> dt.datetime | None:
    """Return until when all steel of an area is to be primed, also after the shift; None without a time to coat."""
    view = JobView(job)
    stated = view.specification.time_to_coat
    if stated is None:
        return None
    steel = (surface for one in view.areas if one.id == area for surface in one.surfaces)
    return min(later(surface.blasted[1], stated.maximum) for surface in steel)


class LastRead(NamedTuple):
    """When the conditions of an area were last read; whether what was read is against priming it, or is too old."""

    at: dt.datetime
    against: bool
    old: bool


def last_read(job: Job, evaluation: Evaluation, area: str, moment: dt.datetime) -> LastRead | None:
    """Return the last readings that cover an area, before a moment; None where the contract limits no conditions.

    A spot of the area that has a log of its own has a last reading too, until the whole is read after it.
    """
    limits, view = job.project.specification.conditions, JobView(job)
    if limits is None:
        return None
    own = [
        one for one in view.covering
        if one.at <= moment and area not in one.replaced and (one.covered is None or area in one.covered)
    ]  # fmt: skip
    if not own:
        return None
    spots = {view.places.spot(one.record): one.at for one in own}  # in order of time
    whole = spots.get("", own[0].at)
    newest = {
        (view.printed(one.at), one.record.taken_at or None) for one in own
        if spots[view.places.spot(one.record)] == one.at >= whole and not one.known
    }  # fmt: skip
    judged = [((one.time, one.place), one.verdict) for one in evaluation.conditions]  # several may be of one minute
    against = newest - {key for key, _ in judged} or any(
        key in newest and verdict in _AGAINST for key, verdict in judged
    )
    old = limits.interval is not None and later(own[-1].at, limits.interval) < moment
    return LastRead(own[-1].at, bool(against), old)  # without a dew point it is open


def _to_coat(view: JobView, area: AreaView, stated: TimeToCoat) -> Iterator[ToCoat]:
    """Yield until when to coat the bare steel of an area whose time is not over, the first end first."""
    ends: dict[dt.datetime, list[SurfaceView]] = {}
    for surface, end in sorted(still_to_coat(view, area), key=itemgetter(1)):
        ends.setdefault(end, []).append(surface)
    for end, some in ends.items():
        parts = some if len(some) < len(area.surfaces) else []
        named = tuple(part_of(view, area, surface) for surface in parts)
        yield ToCoat(view.printed(end), Amount.of(stated.maximum), named)


def parts_of(view: JobView, area: str, findings: Sequence[Finding]) -> tuple[PartBlasted, ...]:
    """Return the parts of an area that findings are of; none where they are of all of it, or of what stood before."""
    here = next((one for one in view.areas if one.id == area), None)
    if here is None or any(one.code in _OF_EARLIER_STEEL for one in findings):
        return ()
    of_steel = (one for one in findings if one.code not in _ON_PAPER)
    about = {id(steel) for one in of_steel for steel, _ in since_when(one, here, view)}
    parts = [one for one in here.surfaces if id(one) in about]
    return tuple(part_of(view, here, one) for one in parts) if len(parts) < len(here.surfaces) else ()


def part_of(view: JobView, area: AreaView, surface: SurfaceView) -> PartBlasted:
    """Name a part of an area by what blasted it, and until when where that alone does not tell."""
    apparatus = surface.record.apparatus
    alike = sum(other.record.apparatus == apparatus for other in area.surfaces)
    return PartBlasted(apparatus, view.printed(surface.blasted[1]) if alike > 1 else None)


def _bare(view: JobView, area: AreaView, surface: SurfaceView, stated: TimeToCoat) -> Outcome[CoatingTime]:
    """Judge a surface that was not coated: nothing to say before its time is over, too late to coat after that.

    The primer of another surface of the area says nothing about this one.
    """
    outcome = _judged(view, surface, stated)
    if _to_be_entered(surface):
        return outcome
    until = later(surface.blasted[1], stated.maximum)
    if outcome.findings or until >= view.moment:
        return outcome
    part = part_of(view, area, surface) if len(area.surfaces) > 1 else None
    facts, place = NotPrimed(view.printed(until), Amount.of(stated.maximum), part), Place(area.id)
    return Outcome(
        tuple(replace(result, verdict="inconclusive") for result in outcome.results),
        (codes.OVERDUE.found(facts, place, clause=stated.clause),),
        measure_next=(
            codes.PREPARE_AGAIN.due(facts, place, apparatus=None if part is None else surface.record.apparatus),
        ),
    )


def _to_be_entered(surface: SurfaceView) -> bool:
    """Whether it is not known yet when a surface was blasted, or primed."""
    return not surface.record.steel_known or "coated" in surface.record.pending


def _judged(view: JobView, surface: SurfaceView, stated: TimeToCoat | None) -> Outcome[CoatingTime]:
    """Compare the time to the primer with its limit, where both are there."""
    start, end = surface.blasted
    area, coated = surface.record.area, surface.coated
    limit = None if stated is None else stated.maximum
    hours = None if limit is None else rounded(limit.in_unit("h"), max(PRINTED_PLACES, limit.places))
    place, clause = Place(area), None if stated is None else stated.clause
    if _to_be_entered(surface):
        return Outcome((CoatingTime(area, None, hours, "not evaluated"),))
    if end < start or (coated is not None and coated < end):
        times = TimesStated(view.printed(start), view.printed(end), None if coated is None else view.printed(coated))
        finding = codes.TIMES_CONTRADICTORY.found(times, place, clause=clause)
        return Outcome((CoatingTime(area, None, hours, "inconclusive"),), (finding,))
    if (otherwise := _primed_otherwise(view, surface)) is not None:
        finding = codes.TIMES_CONTRADICTORY.found(otherwise, place, clause=clause)
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
    facts = PrimedLate(Amount(rounded(taken, places), "h"), view.printed(coated), Amount.of(limit))
    return Outcome((result,), (codes.TIME_EXCEEDED.found(facts, place, clause=clause),))


def _primed_otherwise(view: JobView, surface: SurfaceView) -> PrimedOtherwise | None:
    """Return what an earlier report says of the primer of the same steel, where it says another time; None else."""
    for before, entries in steel_before(view, surface):
        primed = [one.coated for one in entries if one.coated is not None]
        if len(primed) == len(entries) and surface.coated not in primed:
            report, coated = before.job.day.report, surface.coated
            return PrimedOtherwise(
                report.number, report.date.isoformat(), entries[0].record.apparatus, view.printed(primed[0]),
                None if coated is None else view.printed(coated),
            )  # fmt: skip
    return None


def coated_without_release(
    view: JobView, areas: Sequence[AreaResult], findings: Sequence[Finding],
    released: Sequence[tuple[JobView, frozenset[str]]] = (),
) -> Iterator[Finding]:  # fmt: skip
    """Note the areas that were coated although their release is not recommended, or before it could have been.

    ``findings`` are those that the reasons of the areas are of. ``released`` are earlier days with what they released:
    steel that was coated after that is on hold here for what this report lacks, and was not coated without release.
    Nor was the next part of an area, where nothing stands against it but what earlier reports left on other steel, nor
    one where all that stands against it is of other parts and came since; nor what a release slip of the shift let be
    coated.
    """
    yield from coated_before_rework(view, areas)
    judged = {area.id: area for area in areas}
    for area, surface in ((one, each) for one in view.areas for each in one.surfaces):
        result = judged[area.id]
        if surface.coated is None or not _is_held(view, area, surface, result, findings):
            continue
        before = None if result.verdict != "inconclusive" else _released_before(view, area, surface, released)
        if before is None:
            yield codes.WITHOUT_RELEASE.found(Coated(view.printed(surface.coated)), Place(area.id))
        elif not {findings[one.finding].code for one in _counted(result)} <= _LOGGED:
            # else what it rested on is here; the logs lack the coating itself, which is said
            report = before.job.day.report
            facts = ReleasedBefore(view.printed(surface.coated), report.number, report.date.isoformat())
            yield codes.AFTER_RELEASE.found(facts, Place(area.id))


def _counted(result: AreaResult) -> list[Counted]:
    return [one for one in result.reasons if not one.accepted]


def _is_held(
    view: JobView, area: AreaView, surface: SurfaceView, result: AreaResult, findings: Sequence[Finding]
) -> bool:  # fmt: skip
    """Whether something was against some steel when it was coated: not what came later, nor where a slip let it be."""
    if _on_a_slip(view, surface):
        return False
    return _too_few_until(view, area, result, surface) or _is_against(view, area, surface, result, findings)


def _is_against(
    view: JobView, area: AreaView, surface: SurfaceView, result: AreaResult, findings: Sequence[Finding]
) -> bool:  # fmt: skip
    """Whether an area is not released for what concerns some steel, or stood against the area when that was coated."""
    beside = _is_beside(view, surface, result, findings) or _came_since(view, area, surface, _against(result, findings))
    return result.decision != "release" and not beside


def coated_on_refuted_slip(view: JobView, result: AreaResult, findings: Sequence[Finding], record: Surface) -> bool:
    """Whether a release slip let steel of an entry be coated that is not released after all, for what concerns it."""
    return any(
        _on_a_slip(view, surface) and _is_against(view, area, surface, result, findings)
        for area in view.areas if area.id == result.id
        for surface in area.surfaces if surface.record is record
    )  # fmt: skip


def _on_a_slip(view: JobView, surface: SurfaceView) -> bool:
    """Whether a release slip let some steel be coated: signed before that, and of an entry of the same steel."""
    record, coated = surface.record, surface.coated
    return coated is not None and any(
        slip.area == record.area and slip.at.replace(second=0, microsecond=0) <= coated
        and any((one.apparatus, one.blasted) == (record.apparatus, record.blasted) for one in slip.job.day.surfaces)
        for slip in view.job.slips
    )  # fmt: skip


def _against(result: AreaResult, findings: Sequence[Finding]) -> list[Finding]:
    """Return what stands against the steel of an area: not what is to be raised or decided about that."""
    counted = (findings[one.finding] for one in _counted(result))
    return [one for one in counted if one.code not in _ON_PAPER]


def _came_since(view: JobView, area: AreaView, surface: SurfaceView, against: Sequence[Finding]) -> bool:
    """Whether all that stands against an area is of other steel of it, and came after a surface was coated."""
    coated, about = surface.coated, [each for one in against for each in since_when(one, area, view)]
    return bool(about) and coated is not None and all(one is not surface and at >= coated for one, at in about)


def blasted_since(view: JobView, result: AreaResult, findings: Sequence[Finding], moment: dt.datetime) -> bool:
    """Whether all that stands against an area is of steel whose blasting began after a moment."""
    areas, against = [one for one in view.areas if one.id == result.id], _against(result, findings)
    about = [steel for area in areas for one in against for steel, _ in since_when(one, area, view)]
    return bool(about) and all(one.blasted[0] >= moment for one in about)


def came_after(view: JobView, result: AreaResult, findings: Sequence[Finding], moment: dt.datetime) -> bool:
    """Whether all that stands against an area came after a moment, as a limit that passed or what the weather was.

    The weather is known from when it was read, before the work or in it, whichever was first.
    """
    areas, against = [one for one in view.areas if one.id == result.id], _against(result, findings)
    about = [
        at
        for area in areas for one in against
        for at in [min(read, window.start) for _, read, window in work_of(one, area, view)]
        or [at for _, at in since_when(one, area, view)]
    ]  # fmt: skip
    return bool(about) and all(at > moment for at in about)


def _is_beside(view: JobView, surface: SurfaceView, result: AreaResult, findings: Sequence[Finding]) -> bool:
    """Whether an area is held by what earlier reports left on it alone, and a surface is of its next part."""
    record, day = surface.record, view.job.day
    raised = {one.id for one in day.nonconformances if one.raised_in in (None, day.report.number)}
    held = [findings[one.finding] for one in _counted(result)]
    earlier = all(one.code in _OF_EARLIER_STEEL and one.nonconformance not in raised for one in held)
    return earlier and record.cleaned is not None and not record.blasted_again and not record.reinspects


def _released_before(
    view: JobView, area: AreaView, surface: SurfaceView, released: Sequence[tuple[JobView, frozenset[str]]]
) -> JobView | None:
    """Return the last earlier report on a surface, where that released it and had measured it before it was coated."""
    stood = [(one.view, one.entries(surface)) for one in view.before if one.enters(surface)]
    for before, entries in stood[-1:]:
        late = any(
            one.time is not None and surface.coated is not None and before.at_text(one.time) > surface.coated
            for entry in entries
            for one in entry.readings
        )
        if not late and any(each is before and area.id in areas for each, areas in released):
            return before
    return None


def _too_few_until(view: JobView, area: AreaView, result: AreaResult, surface: SurfaceView) -> bool:
    """Whether fewer locations than its apparatus needs on the area had been measured when a surface was coated.

    What has no time may have been measured before.
    """
    mine = (one for one in result.sampling if one.apparatus == surface.record.apparatus and one.period is None)
    parts = [(one.required, one.taken) for one in mine]
    if not result.sampling and result.required_locations is not None:
        parts.append((result.required_locations, result.n_locations))
    counted = {one.id for one in result.locations if one.walk_out is None}
    late = len(counted.intersection(_read_after_coating(view, area, surface)))
    return any(taken - late < required <= taken for required, taken in parts)


def _read_after_coating(view: JobView, area: AreaView, surface: SurfaceView) -> Iterator[str]:
    """Yield the locations of its apparatus that were read after a surface was coated, by the times on record."""
    for each in area.surfaces:
        if each.record.apparatus != surface.record.apparatus or surface.coated is None:
            continue
        timed = ((one.location, one.time) for one in each.readings if one.time is not None)
        yield from (area.located(each, location) for location, time in timed if view.at_text(time) > surface.coated)
