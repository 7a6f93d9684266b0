"""What earlier reports left open on steel of the contract: a report that does not enter it settles nothing.

Every area is asked after in every report, whether that inspects it, says why not, or does not name it; and on it every
surface and every location of an earlier report by itself. What held its area is settled where that steel is entered
again, with the location that was open measured again, so that the later report's own rules speak of it; or where it was
blasted again. Steel entered bare has to be primed in time, whichever report says so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from reportgen.measurements import TESTS
from reportgen.names import spelt_alike
from reportgen.results import Amount, Outcome
from reportgen.results.codes import follow_up as codes
from reportgen.results.codes import sampling
from reportgen.results.codes.coating import COAT_BY, OVERDUE, NotPrimed, PartBlasted, ToCoat
from reportgen.results.codes.doubts import ENTRY_DOUBTFUL, ENTRY_NOT_TAKEN
from reportgen.results.facts import Place
from reportgen.results.statements import Code
from reportgen.rules.extent import blasts_again, part_again, says_again
from reportgen.rules.reinspection import Failure, failed_on, not_theirs, place_of
from reportgen.rules.release import REPAIRABLE, effect_of
from reportgen.units import later

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Iterator, Sequence

    from reportgen.job import Reading, Surface
    from reportgen.results import Finding, Task
    from reportgen.rules.nonconformances import Followed, Inspected
    from reportgen.rules.release import Acceptance
    from reportgen.rules.scene import AreaView, JobView, SurfaceView
    from reportgen.units import Quantity

_PROFILE: Final = "profile"
_SERIES_OF: Final = {one.name: kind.key for kind in TESTS for one in kind.statements if isinstance(one, Code)}
"""Codes of findings on tests, with the series of entries that they are about."""


_Blasting = tuple[str, tuple["dt.datetime", "dt.datetime"]]
"""An apparatus, and from when to when it blasted."""


@dataclass(frozen=True, slots=True)
class _Open:
    """Something left open on one blasting: its code, and the location whose ``series`` of entries are to be made again.

    ``beside`` is what other apparatus blasted on the area by that report, whose shift ended at ``shift_end``.
    ``measured`` is whether anything was, by that report.
    ``until`` is the end of the time to coat of steel entered bare: it is open from then on. ``found`` is the report
    that left it open; ``accepted`` the nonconformance by which it was decided that it stays. ``cleaned`` is the size of
    the steel, ``again`` are those that reports between say were blasted again of it.
    """

    area: str
    apparatus: str
    blasted: tuple[dt.datetime, dt.datetime]
    coated: dt.datetime | None
    beside: frozenset[_Blasting]
    report: str
    date: str
    shift_end: dt.datetime
    code: str
    clause: str | None = None
    location: str | None = None
    series: frozenset[str] = frozenset()
    until: dt.datetime | None = None
    found: JobView | None = None
    accepted: str | None = None
    measured: bool = True
    cleaned: Quantity | None = None
    again: tuple[Quantity | None, ...] = ()


def left_open_before(day: Inspected, follow: Followed) -> Outcome[None]:
    """Find what earlier reports left open on steel, and nothing has settled since; and until when to coat what is bare.

    What was decided to stay as it is stays on an area that is inspected here, which is not said to conform by that. An
    area that is not inspected here stands as it stood.

    Parameters:
        day: the day of the report.
        follow: what nonconformances are after it, and the days before it with their findings linked to them.
    """
    inspected, moment = {area.id for area in day.view.areas}, day.view.moment
    released = {(before.job.day.report.number, area) for before, passed in follow.released for area in passed}
    left = [
        one for one in _left_by(follow)
        if (one.area in inspected or _is_owed(one, released)) and not _settled(one, day.view)
    ]  # fmt: skip
    still = [one for one in left if one.until is None or one.until < moment]
    told = {(Place(one.area, one.location), _facts(one, day.view)): one for one in still}
    findings = tuple(
        replace(codes.LEFT_OPEN.found(facts, place, clause=one.clause), nonconformance=one.accepted)
        for (place, facts), one in told.items()
    )
    pending = (told_at for told_at, one in told.items() if one.accepted is None)
    todo = (codes.SETTLE[type(facts)].due(facts, place, apparatus=facts.apparatus) for place, facts in pending)
    return Outcome((), findings, measure_next=(*todo, *_to_coat(left, inspected, day.view)))


def _is_owed(one: _Open, released: Collection[tuple[str, str]]) -> bool:
    """Whether something is to be done about it on an area that is not inspected.

    To prime bare steel only where the report released it: elsewhere the decision stands, and none is coated; but steel
    whose time had passed by then has to be prepared again.
    """
    late = one.until is None or one.until < one.shift_end
    return one.accepted is None and (late or (one.report, one.area) in released)


def _to_coat(left: Sequence[_Open], inspected: Collection[str], view: JobView) -> Iterator[Task]:
    """Yield until when to coat the bare steel of areas that are not inspected here; of others another rule does."""
    stated = view.specification.time_to_coat
    for one in left:
        if stated is not None and one.until is not None and one.until >= view.moment and one.area not in inspected:
            part = PartBlasted(one.apparatus, view.printed(one.blasted[1]))
            until = ToCoat(view.printed(one.until), Amount.of(stated.maximum), (part,))
            yield COAT_BY.due(until, Place(one.area), apparatus=one.apparatus)


def bounds_undecided(findings: Sequence[Finding], accepted: Acceptance) -> Outcome[None]:
    """Say what to do where what failed was accepted, and the area waits for the bounds of that alone."""
    failed = {
        (one.area, one.location): one.nonconformance for one in findings
        if one.nonconformance is not None and effect_of(one) == "fails" and accepted(one)
    }  # fmt: skip
    tasks = (
        codes.DECIDE_BOUNDS.due(codes.BoundsUndecided(name), one.place)
        for one in findings
        if one.code == sampling.WALK_OUT_MISSING.name and not accepted(one)
        and (name := failed.get((one.area, one.location))) is not None
    )  # fmt: skip
    return Outcome((), measure_next=tuple(tasks))


def _left_by(follow: Followed) -> dict[_Open, None]:
    """Return what the earlier days left open, day after day, less what a later one of them settled."""
    left: dict[_Open, None] = {}
    for before in follow.earlier:
        left = {
            replace(one, again=(*one.again, *_sizes_again(one, before.view, said=True))): None
            for one in left if not _settled(one, before.view)
        }  # fmt: skip
        left.update(dict.fromkeys(_opened(before, follow.accepted)))
    return left


def _facts(one: _Open, view: JobView) -> codes.LeftOpen:
    start, end = (view.printed(instant) for instant in one.blasted)
    steel = one.code, one.report, one.date, one.apparatus, start, end
    part = _part(one, view)
    if one.until is not None:
        return codes.NotPrimedSince(*steel, view.printed(one.until), part)
    coated = None if one.coated is None else view.printed(one.coated)
    refused = not_theirs(view.job, one.found.job) if one.found is not None and _entered_again(one, view) else None
    if one.code == ENTRY_NOT_TAKEN.name:
        return codes.EntryOpen(*steel, coated, refused, part)
    return (codes.SteelOpen if one.location is None else codes.PlaceOpen)(*steel, coated, refused, part)


def _part(one: _Open, view: JobView) -> codes.PartAgain | None:
    """Return how much of steel was blasted again, where the sizes say that it was not all of it."""
    sizes = (*one.again, *_sizes_again(one, view))
    part = part_again([one.cleaned], sizes) if sizes else None
    return None if part is None else codes.PartAgain(*part)


# What a report leaves open


def _opened(day: Inspected, accepted: Acceptance) -> Iterator[_Open]:
    """Yield what a day leaves open, surface by surface: what holds and no decision accepted, and bare steel."""
    decided = {(one.area, one.location) for one in day.findings if accepted(one)}
    lasting = (one for one in day.findings if _lasts(one, decided=(one.area, one.location) in decided))
    concerned = ((one, area) for one in lasting for area in day.view.areas if one.area in (None, area.id))
    for finding, area in concerned:
        name = finding.nonconformance if accepted(finding) else None
        for surface in _on(finding, area, day.view):
            yield replace(_left(finding, area, surface, day.view), accepted=name)
    yield from _bare(day.view, [one for one in day.findings if one.code == OVERDUE.name and accepted(one)])


def _bare(view: JobView, late: Sequence[Finding]) -> Iterator[_Open]:
    """Yield the steel that is not primed, where the contract says until when it has to be.

    That of which it was accepted that this was too ``late`` has the nonconformance by which it was.
    """
    stated = view.specification.time_to_coat
    surfaces = ((area, surface) for area in view.areas for surface in area.surfaces)
    for area, surface in surfaces if stated is not None else ():
        start, end = surface.blasted
        if stated is not None and surface.coated is None and start <= end:
            until = later(end, stated.maximum)
            decided = (one.nonconformance for one in late if one.area == area.id and _is_part(one, surface, view))
            yield _Open(
                area.id, *_steel(surface, area), *_stated(view), OVERDUE.name, stated.clause, until=until,
                accepted=next(decided, None), cleaned=surface.record.cleaned,
            )  # fmt: skip


def _is_part(finding: Finding, surface: SurfaceView, view: JobView) -> bool:
    """Whether a finding on steel that was not primed in time is of a surface."""
    part = finding.facts.part if isinstance(finding.facts, NotPrimed) else None
    if part is None:
        return True
    own = surface.record.apparatus, view.printed(surface.blasted[1])
    return part.apparatus == own[0] and part.ended in (None, own[1])


def _lasts(finding: Finding, *, decided: bool) -> bool:
    """Whether what a finding holds stays open by itself; ``decided`` is whether something was accepted at its place.

    The bounds of what failed are asked for only where it was accepted: else the failure itself stays.
    """
    if effect_of(finding) != "holds" or finding.code == sampling.WALK_OUT_MISSING.name:
        return effect_of(finding) == "holds" and decided
    return finding.code != OVERDUE.name and not (finding.code in REPAIRABLE and decided)


def _left(finding: Finding, area: AreaView, surface: SurfaceView, view: JobView) -> _Open:
    """Return what a finding leaves open on a surface, by location where that is one whose entries can be made again."""
    location, series = None, frozenset[str]()
    if finding.location is not None and finding.code != ENTRY_NOT_TAKEN.name:
        location = place_of(Failure(finding.code, area.id, finding.location, view))
        known = {name for name, used in _entered(surface.record, surface.readings).items() if location in used}
        own = known if finding.code == ENTRY_DOUBTFUL.name else {_SERIES_OF.get(finding.code, _PROFILE)}
        series = frozenset(own or {_PROFILE})
    return _Open(
        area.id, *_steel(surface, area), *_stated(view), finding.code, finding.clause, location, series, found=view,
        measured=bool(_entered(surface.record, surface.readings)[_PROFILE]), cleaned=surface.record.cleaned,
    )  # fmt: skip


def _steel(
    surface: SurfaceView, area: AreaView
) -> tuple[str, tuple[dt.datetime, dt.datetime], dt.datetime | None, frozenset[_Blasting]]:
    own = surface.record.apparatus
    others = [one for one in area.surfaces if not spelt_alike(one.record.apparatus, own)]
    return own, surface.blasted, surface.coated, frozenset((one.record.apparatus, one.blasted) for one in others)


def _stated(view: JobView) -> tuple[str, str, dt.datetime]:
    return view.job.day.report.number, view.date.isoformat(), view.shift[1]


def _entered(record: Surface, readings: Sequence[Reading]) -> dict[str, set[str]]:
    """Return the locations of a surface by the series of its entries: the profile, and each kind of test."""
    profile = {one.location for one in readings}
    profile |= {row.location for row in (record.profile.comparator if record.profile is not None else ())}
    return {_PROFILE: profile} | {kind.key: {one.location for one in kind.entries_on(record)} for kind in TESTS}


def _on(finding: Finding, area: AreaView, view: JobView) -> list[SurfaceView]:
    """Return the surfaces of an area that a finding is of, as far as it tells; all of them where it does not."""
    facts = finding.facts
    if finding.location is not None:
        return list(failed_on(Failure(finding.code, area.id, finding.location, view), area.id))
    if isinstance(facts, sampling.AreaShort):
        return _without(_PROFILE, area)
    if finding.code in _SERIES_OF:
        return _without(_SERIES_OF[finding.code], area)
    told = [one for one in area.surfaces if _is_told(facts, one, view)]
    return told or list(area.surfaces)


def _without(series: str, area: AreaView) -> list[SurfaceView]:
    """Return the surfaces that have no entry of a series of which the area as a whole has too few."""
    alone = len({one.record.apparatus for one in area.surfaces}) == 1
    return [one for one in area.surfaces if alone or not _entered(one.record, one.readings)[series]]


def _is_told(facts: Any, surface: SurfaceView, view: JobView) -> bool:
    """Whether what facts say of apparatus, beginning, gauge, roll and abrasive is of a surface."""
    record, profile = surface.record, surface.record.profile
    own: dict[str, set[str | None]] = {
        "apparatus": {record.apparatus},
        "gauge": {None if profile is None else profile.gauge},
        "roll": {one.roll for one in surface.readings},
        "abrasive": {record.blasted.abrasive},
    }
    if isinstance(facts, sampling.Unmeasured) and view.printed(surface.blasted[0]) != facts.start:
        return False
    return all((told := getattr(facts, name, None)) is None or told in used for name, used in own.items())


# What settles it


def _settled(one: _Open, view: JobView) -> bool:
    """Whether a report settles what was left open, by one who may undo what the report that found it says."""
    if one.found is not None and not_theirs(view.job, one.found.job) is not None:
        return False
    return _entered_again(one, view)


def _entered_again(one: _Open, view: JobView) -> bool:
    """Whether a report enters what was left open again, or blasts that steel again."""
    entries = [
        (record, readings, view.at(record.blasted.start), view.at(record.blasted.end))
        for record, readings in zip(view.job.day.surfaces, view.job.readings, strict=True)
        if record.area == one.area
    ]
    if not entries:
        return False
    start, end = one.blasted
    again = _blasted_again(one, [(record, (began, ended)) for record, _, began, ended in entries], view.shift[0])
    if again and part_again([one.cleaned], (*one.again, *_sizes_again(one, view))) is None:
        return True
    return one.code != ENTRY_NOT_TAKEN.name and any(
        _says_again(one, record, readings)
        for record, readings, began, ended in entries
        if spelt_alike(record.apparatus, one.apparatus) and began < max(end, start) and start < max(ended, began)
    )


def _blasted_again(
    one: _Open, entries: Sequence[tuple[Surface, tuple[dt.datetime, dt.datetime]]], shift: dt.datetime
) -> bool:  # fmt: skip
    """Whether steel was blasted again: `blasted_again` says so, or its own apparatus blasted later.

    Within the shift it may go on with what lies beside: there all entries are after, or re-inspect; and steel that
    nobody measured is blasted again only where that is said, as nobody had a reason to. On a later one, known steel of
    other apparatus may be entered again with it. Another apparatus always may have blasted beside.
    """
    after = [record for record, blasted in entries if blasted[0] >= one.blasted[1]]
    if any(spelt_alike(name, one.apparatus) for record in after for name in record.blasted_again):
        return True
    primed = one.coated is not None
    own = [record for record in after if blasts_again(record, one.apparatus, primed=primed)]
    if shift < one.shift_end and not one.measured:
        return any(record.reinspects for record in own)
    known = sum(
        blasted[0] < one.blasted[1] and shift >= one.shift_end and (record.apparatus, blasted) in one.beside
        for record, blasted in entries
    )
    return bool(own) and (len(after) + known == len(entries) or any(record.reinspects for record in own))


def _sizes_again(one: _Open, view: JobView, *, said: bool = False) -> list[Quantity | None]:
    """Return what was cleaned after it by its apparatus, or as said to be blasted again; ``said``, only as said."""
    return [
        record.cleaned for record in view.job.day.surfaces
        if record.area == one.area and view.at(record.blasted.start) >= one.blasted[1]
        and (says_again if said else blasts_again)(record, one.apparatus)
    ]  # fmt: skip


def _says_again(one: _Open, record: Surface, readings: Sequence[Reading]) -> bool:
    """Whether an entry of the same steel says again what was open: its location, and its primer where it has one."""
    entered = _entered(record, readings)
    there = one.location is None or all(one.location in entered[series] for series in one.series)
    return there and (one.coated is None or record.coated is not None)
