"""What earlier reports left open on steel of the contract: a report that does not enter it settles nothing.

Every area is asked after in every report, whether that inspects it, says why not, or does not name it; and on it every
surface and every location of an earlier report by itself. What held its area is settled as the code of its finding
says: what was missing where that steel is entered again, so that the later report's own rules speak of it; what is in
doubt where it is measured or tested anew; what is of the blasting, and all of it, where it was blasted again. Steel
entered bare has to be primed in time, whichever report says so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

from reportgen.measurements import CODES
from reportgen.names import spelling, spelt_alike
from reportgen.results import Amount, Outcome
from reportgen.results.codes import follow_up as codes
from reportgen.results.codes import sampling
from reportgen.results.codes.coating import COAT_BY, OVERDUE, NotPrimed, PartBlasted, ToCoat
from reportgen.results.codes.doubts import ENTRY_DOUBTFUL, ENTRY_NOT_TAKEN
from reportgen.results.codes.profile import SPOTS_TOO_MANY
from reportgen.results.codes.records import HOLD_DOUBTFUL, HoldPassed
from reportgen.results.codes.whose import NotTheirs, OtherHouse, OtherPin
from reportgen.results.facts import Place, Word
from reportgen.rules.anew import PROFILE, RETESTED, SERIES_OF, Anew, in_doubt_by, made_on
from reportgen.rules.extent import blasts_again, whole_area
from reportgen.rules.incomplete import bad_readings, has_kept
from reportgen.rules.owed import Asker, blastings, left_over
from reportgen.rules.reaching_back import reached_before
from reportgen.rules.reinspection import Failure, not_theirs, place_of
from reportgen.rules.release import effect_of
from reportgen.rules.surer import surenesses
from reportgen.rules.surfaces_told import entered_by_series, surfaces_of
from reportgen.rules.washed import is_between, is_raised, washings
from reportgen.units import later

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from reportgen.job import Reading, Surface
    from reportgen.measurements.slice import Sureness
    from reportgen.results import Finding, Task
    from reportgen.results.statements import Settled
    from reportgen.rules.entered_before import MadeAt
    from reportgen.rules.extent import Part
    from reportgen.rules.inspected import Inspected
    from reportgen.rules.nonconformances import Followed
    from reportgen.rules.release import Acceptance
    from reportgen.rules.said_open import Left
    from reportgen.rules.scene import AreaView, JobView, SurfaceView
    from reportgen.units import Quantity

_AT_LOCATION: Final = frozenset({SPOTS_TOO_MANY.name, ENTRY_DOUBTFUL.name})
"""Codes told of their location although nothing measured there again settles them."""

_IN_DOUBT: Final[dict[str, type[codes.DoubtOpen]]] = {
    "blasting": codes.DoubtOpen, "washing": codes.TestDoubtOpen, "measuring": codes.CheckDoubtOpen,
}  # fmt: skip
"""Kinds of the facts of an entry in doubt, by what settles it but the word of its own report."""

_DONE: Final = {"blasting": "blasted", "measuring": "anew"}
"""What is to be done of steel as a whole, by what settles it, as it is told; else it is to be entered."""

_NotCounted = NotTheirs | OtherPin | OtherHouse | codes.NoLater | codes.AgainUntimed | codes.FirstUntimed
_Blasting = tuple[str, tuple["dt.datetime", "dt.datetime"]]
"""An apparatus, and from when to when it blasted."""


_NOTHING: Final = Anew(frozenset())


@dataclass(frozen=True, slots=True)
class _Open:
    """Something left open on one blasting: its code, how that is ``settled``, and at which location.

    ``beside`` is what other apparatus blasted on the area by that report, whose shift ended at ``shift_end``.
    ``measured`` is whether anything was, by that report.
    ``until`` is the end of the time to coat of steel entered bare: it is open from then on. ``reached`` is whether a
    check of that report says it, of steel of an earlier one. ``found`` is the report that left it open; ``accepted``
    the nonconformance by which it was decided that it stays. ``cleaned`` is the size of the steel, ``whole`` that of
    all it may be where it states none. ``since`` are the report that left it open and those between. ``anew`` is what
    is to be measured or tested, ``undecided`` how sure that was before. ``kept`` are readings outside the limits at a
    location that lacks others: they are not made undone by new ones.
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
    settled: Settled = "entry"
    location: str | None = None
    anew: Anew = _NOTHING
    reached: bool = False
    until: dt.datetime | None = None
    found: JobView | None = None
    accepted: str | None = None
    measured: bool = True
    cleaned: Quantity | None = None
    whole: Quantity | None = None
    since: tuple[JobView, ...] = ()
    undecided: tuple[Sureness, ...] = ()
    kept: frozenset[Reading] = frozenset()


def left_open_before(day: Inspected, follow: Followed) -> Outcome[None]:
    """Find what earlier reports left open on steel, and nothing has settled since; and until when to coat what is bare.

    What was decided to stay as it is stays on an area that is inspected here, which is not said to conform by that. An
    area that is not inspected here stands as it stood.

    Parameters:
        day: the day of the report.
        follow: what nonconformances are after it, and the days before it with their findings linked to them.
    """
    day = replace(day, gone=follow.gone)
    inspected, moment = {area.id for area in day.view.areas}, day.view.moment
    every = _left_by(follow) | dict.fromkeys(_reached(day))
    unsettled = [one for one in every if not _settled(one, day)]
    told_of = _told_of(follow, unsettled)
    left = [one for one in unsettled if one.area in inspected or _is_owed(one, follow, told_of, moment)]
    still = [one for one in left if (one.until is None or one.until < moment) and not _is_found_again(one, day, follow)]
    told = {(Place(one.area, one.location), _facts(one, day)): one for one in still}
    findings = tuple(
        replace(codes.LEFT_OPEN.found(facts, place, clause=one.clause), nonconformance=one.accepted)
        for (place, facts), one in told.items()
    )
    pending = (told_at for told_at, one in told.items() if one.accepted is None)
    todo = (codes.SETTLE[type(facts)].due(facts, place, apparatus=facts.apparatus) for place, facts in pending)
    return Outcome((), (*findings, *_by_surer(every, day)), measure_next=(*todo, *_to_coat(left, day.view)))


def _is_found_again(one: _Open, day: Inspected, follow: Followed) -> bool:
    """Whether the report's own rules find the same doubt on that steel, entered again, decided on as it was."""
    if one.settled not in ("measuring", "washing", "blasting") or one.until is not None:
        return False
    steel = [id(record) for record, _ in _same_steel(one, day.view)]
    alike = [each for each in follow.findings if each.code == one.code and effect_of(each) == "holds"]
    return any(
        id(surface.record) in steel and each.nonconformance == one.accepted and one.location in (None, each.location)
        for each in alike for area in day.view.areas if area.id == one.area and each.area in (None, area.id)
        for surface in surfaces_of(each, area, day.view)
    )  # fmt: skip


def _is_owed(one: _Open, follow: Followed, told_of: Collection[str], moment: dt.datetime) -> bool:
    """Whether something is to be done about it on an area that is not inspected.

    To prime bare steel where that report or a later one released it: elsewhere the decision stands, and none is coated;
    but steel whose time had passed by then, or has now and nothing else is told of its area, has to be prepared again.
    """
    late = one.until is None or one.until < one.shift_end or (one.until < moment and one.area not in told_of)
    return one.accepted is None and (late or _is_released(one, follow))


def _is_released(one: _Open, follow: Followed) -> bool:
    """Whether the report that left bare steel released its area, or one since: a rework of a part of it, say."""
    numbers = [before.job.day.report.number for before, _ in follow.released]
    since = follow.released[numbers.index(one.report) :] if one.report in numbers else ()
    return any(one.area in passed for _, passed in since)


def _told_of(follow: Followed, unsettled: Sequence[_Open]) -> frozenset[str]:
    """Return the areas of which a report tells that they failed, or what else than bare steel they were left with."""
    failed = {one.area for one in follow.failed} | {one.area for one in unsettled if one.until is None}
    still_open = {one.area for one in follow.outcome.results if one.status == "open"}
    return frozenset(area for area in failed | still_open if area is not None)


def _to_coat(left: Sequence[_Open], view: JobView) -> Iterator[Task]:
    """Yield until when to coat the bare steel that is not entered here; of what is, another rule does."""
    stated = view.specification.time_to_coat
    for one in left:
        if stated is not None and one.until is not None and one.until >= view.moment:
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
            (one if before.replaced else replace(one, since=(*one.since, before.view))): None
            for one in left
            if before.replaced or not _settled(one, before) or _key(one, before.view) in before.said_open.left
        }
        opened = (*_opened(before, follow.accepted), *(() if before.replaced else _reached(before)))
        left.update(dict.fromkeys(replace(one, since=(before.view,)) for one in opened))
    return left


def _key(one: _Open, view: JobView) -> Left:
    """Return what a report says of it, by which that is found in what it was issued with."""
    return one.area, one.location, one.code, one.report, one.apparatus, view.printed(one.blasted[0])


def _facts(one: _Open, day: Inspected) -> codes.LeftOpen:
    view = day.view
    start, end = (view.printed(instant) for instant in one.blasted)
    steel = one.code, one.report, one.date, one.apparatus, start, end
    part = _part(one, view)
    if one.until is not None:
        return codes.NotPrimedSince(*steel, view.printed(one.until), part)
    coated = None if one.coated is None else view.printed(one.coated)
    again, refused = _tried(one, view)
    kind = _kind(one)
    known, how = _known(one), Word("again", again)
    if known is None or known.expanded is None:
        return kind(*steel, how, coated, refused, part)
    measured = _measured(one, day)[-1:]
    seen, expanded = (measured[0].seen, measured[0].expanded) if measured else (None, None)
    tried = None if refused is None or (measured and _entered_again(one, view)) else how
    told = codes.TestUndecided if one.anew.series <= {*RETESTED.values()} else codes.ValueUndecided
    return told(*steel, known.seen, known.expanded, seen, expanded, tried, coated, refused, part)


def _kind(one: _Open) -> type[codes.SteelOpen]:
    """Return the kind of the facts of what was left open, by what settles it."""
    if one.code == ENTRY_NOT_TAKEN.name:
        return codes.EntryOpen
    if one.code == SPOTS_TOO_MANY.name:
        return codes.SpotsOpen
    if one.kept:
        return codes.ReadingOpen
    if one.code == ENTRY_DOUBTFUL.name and one.settled in _IN_DOUBT:
        return _IN_DOUBT[one.settled]
    if one.settled == "blasting":
        return codes.DoubtedSince if one.reached else codes.BlastingDoubted
    if one.location is not None:
        return codes.PlaceOpen
    return codes.ValuesDoubted if one.settled == "measuring" else codes.SteelOpen


def _tried(one: _Open, view: JobView) -> tuple[str, _NotCounted | None]:
    """Return what was done last of what was left open, by a report or one between, and why that does not count.

    What one who may has measured again, and is no surer, has no such reason: the values tell that.
    """
    done = _DONE.get(one.settled, "entered") if one.location is None else "measured"
    for since in (view, *reversed(one.since[1:])):
        by_other = None if one.found is None else not_theirs(since.job, one.found.job)
        # what another blasted counts for nothing, and he is told so
        if how := _entered_again(one if by_other is None else replace(one, found=None), since):
            return done if how == "entered" else how, by_other
        for record, _ in _said_again(one, since):
            if (reason := _why_no_later(one, record, since, view)) is not None:
                return done, reason
    return f"not-{done}", None


def _part(one: _Open, view: JobView) -> codes.PartAgain | None:
    """Return how much of steel was blasted again, where the sizes say that it was not all of it."""
    part = _left_over(one, view)
    return None if part is None or not part.again.value else codes.PartAgain(*part[:2], part.lost, part.uncounted)


def _left_over(one: _Open, view: JobView) -> Part | None:
    """Return how much of steel was blasted again by a report, where that is not all of it."""
    after = [each for each in blastings((*one.since, view), one.area) if each.began >= one.blasted[1]]
    here = [
        record for record in view.job.day.surfaces
        if record.area == one.area and view.at(record.blasted.start) >= one.blasted[1]
    ]  # fmt: skip
    whose = None if one.found is None else one.found.job
    asked = Asker(view, one.since[0].job, whose, here)
    return left_over([one.cleaned], one.whole, [one.apparatus], after, asked)


# What a report leaves open


def _opened(day: Inspected, accepted: Acceptance) -> Iterator[_Open]:
    """Yield what a day leaves open, surface by surface: what holds and no decision accepted, and bare steel."""
    decided = {(one.area, one.location) for one in day.findings if accepted(one)}
    lasting = (one for one in day.findings if _lasts(one, decided=(one.area, one.location) in decided))
    concerned = ((one, area) for one in lasting for area in day.view.areas if one.area in (None, area.id))
    for finding, area in concerned:
        name = finding.nonconformance if accepted(finding) else None
        for surface in surfaces_of(finding, area, day.view):
            yield replace(_left(finding, area, surface, day), accepted=name)
    if not day.replaced:
        yield from _bare(day.view, [one for one in day.findings if one.code == OVERDUE.name and accepted(one)])


def _reached(day: Inspected) -> Iterator[_Open]:
    """Yield what the checks of a day put in doubt on steel of earlier reports, where that was not blasted again."""
    view = day.view
    for each in reached_before(view):
        surface, since = each.surface, (each.view, *view.since(each.view))
        one = _Open(
            each.area.id, *_steel(surface, each.area), *_stated(view), each.code, each.clause, "blasting",
            cleaned=surface.record.cleaned, whole=_whole(surface, each.view), reached=True, since=since,
        )  # fmt: skip
        if not any(_is_blasted_again(replace(one, since=since[:at]), later) for at, later in enumerate(since) if at):
            yield replace(one, found=view, since=(view,))


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
                accepted=next(decided, None), cleaned=surface.record.cleaned, whole=_whole(surface, view),
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
    if finding.code == HOLD_DOUBTFUL.name:  # nobody asks by itself about a release on which work began before
        return isinstance(finding.facts, HoldPassed)
    if effect_of(finding) != "holds" or finding.code == sampling.WALK_OUT_MISSING.name:
        return effect_of(finding) == "holds" and decided
    return finding.code != OVERDUE.name


def _left(finding: Finding, area: AreaView, surface: SurfaceView, day: Inspected) -> _Open:
    """Return what a finding leaves open on a surface, by location where that is one whose entries can be made again."""
    view, location, anew = day.view, None, _NOTHING
    settled = CODES[finding.code].settled_by(finding.facts)
    if finding.location is not None and (settled != "blasting" or finding.code in _AT_LOCATION):
        location = place_of(Failure(finding.code, area.id, finding.location, view))
        known = {name for name, used in entered_by_series(surface.record, surface.readings).items() if location in used}
        own = known if finding.code == ENTRY_DOUBTFUL.name else {SERIES_OF.get(finding.code, PROFILE)}
        anew = Anew(frozenset(own or {PROFILE}), location)
    if settled in ("measuring", "washing", "surer"):
        anew = in_doubt_by(finding, view, surface, location)
    undecided: tuple[Sureness, ...] = ()
    if settled == "surer" and location is not None:
        undecided = _undecided(day, finding, surface, anew.series, location)
    return _Open(
        area.id, *_steel(surface, area), *_stated(view), finding.code, finding.clause, settled, location, anew,
        found=view, measured=bool(entered_by_series(surface.record, surface.readings)[PROFILE]),
        cleaned=surface.record.cleaned, whole=_whole(surface, view), undecided=undecided,
        kept=bad_readings(day, finding, surface, location),
    )  # fmt: skip


def _whole(surface: SurfaceView, view: JobView) -> Quantity | None:
    return whole_area(view.job, surface.record.area, [surface.record])


def _steel(
    surface: SurfaceView, area: AreaView
) -> tuple[str, tuple[dt.datetime, dt.datetime], dt.datetime | None, frozenset[_Blasting]]:
    own = surface.record.apparatus
    others = [one for one in area.surfaces if not spelt_alike(one.record.apparatus, own)]
    return own, surface.blasted, surface.coated, frozenset((one.record.apparatus, one.blasted) for one in others)


def _stated(view: JobView) -> tuple[str, str, dt.datetime]:
    return view.job.day.report.number, view.date.isoformat(), view.shift[1]


# What settles it


def _settled(one: _Open, day: Inspected) -> bool:
    """Whether a report settles what was left open, by one who may undo what the report that found it says."""
    view = day.view
    if _is_gone(one, day):
        return True
    if one.found is not None and not_theirs(view.job, one.found.job) is not None:
        return False
    surer = one.settled != "washing" and _is_surer(one, day)
    return _entered_again(one, view) is not None and (surer or _is_reworked(one, view))


def _is_gone(one: _Open, day: Inspected) -> bool:
    """Whether bare steel failed and a re-inspection of a report says that all of it was blasted again in time.

    That it had stood bare too long by then is a finding of its own, which has to be covered as well.
    """
    failed = day.gone.get((one.area, spelling(one.apparatus) or one.apparatus, one.blasted))
    if one.until is None or failed is None:
        return False
    began = (each.blasted[0] for each in day.view.surfaces if each.record.area == one.area)
    return one.code in failed or one.until >= min(at for at in began if at >= one.blasted[1])


def _entered_again(one: _Open, view: JobView) -> Literal["entered", "blasted"] | None:
    """Return how a report deals with what was left open: it enters that again, or blasts that steel again."""
    if _is_blasted_again(one, view):
        return "blasted"
    return "entered" if any(_is_answered(one, record, view) for record, _ in _said_again(one, view)) else None


def _is_answered(one: _Open, record: Surface, view: JobView) -> bool:
    """Whether an entry of the same steel has what settles what was left open, without a new blasting."""
    if one.kept:
        return any(has_kept(one.kept, each.readings) for each in view.surfaces if each.record is record)
    if one.settled in ("measuring", "washing", "surer"):
        surfaces = (each for each in view.surfaces if each.record is record)
        return any(one.anew.is_met(view, each, beside=one.settled == "surer") for each in surfaces)
    return one.settled == "entry" or (one.settled == "edges" and record.edges is not None)


def _is_blasted_again(one: _Open, view: JobView) -> bool:
    """Whether a report blasts all of what was left open again."""
    entries = [
        (record, readings, view.at(record.blasted.start), view.at(record.blasted.end))
        for record, readings in zip(view.job.day.surfaces, view.job.readings, strict=True)
        if record.area == one.area
    ]
    if not entries:
        return False
    again = _blasted_again(one, [(record, (began, ended)) for record, _, began, ended in entries], view.shift[0])
    return again and _left_over(one, view) is None


def _said_again(one: _Open, view: JobView) -> Iterator[tuple[Surface, Sequence[Reading]]]:
    """Yield the entries of the same steel that say again what was open, with their readings."""
    return (each for each in _same_steel(one, view) if _says_again(one, *each))


def _same_steel(one: _Open, view: JobView) -> Iterator[tuple[Surface, Sequence[Reading]]]:
    """Yield each entry of the same steel as it was, with its readings: that of its apparatus, and of its times."""
    start, end = one.blasted
    for record, readings in zip(view.job.day.surfaces, view.job.readings, strict=True):
        began, ended = view.at(record.blasted.start), view.at(record.blasted.end)
        alike = record.area == one.area and spelt_alike(record.apparatus, one.apparatus)
        if alike and began < max(end, start) and start < max(ended, began):
            yield record, readings


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


def _says_again(one: _Open, record: Surface, readings: Sequence[Reading]) -> bool:
    """Whether an entry of the same steel says again what was open: its location, and its primer where it has one."""
    entered = entered_by_series(record, readings)
    there = one.location is None or all(one.location in entered[series] for series in one.anew.series)
    return there and (one.coated is None or record.coated is not None)


def _when_made(one: _Open, record: Surface, view: JobView) -> list[bool]:
    """Return of each entry at the location whether it was made after what was not accepted there."""
    return [one.anew.is_anew(each) for each in _made_there(one, record, view)]


def _made_there(one: _Open, record: Surface, view: JobView) -> list[MadeAt]:
    """Return when a report made what it enters at the location of what was left open."""
    entered = (surface for surface in view.surfaces if surface.record is record)
    made = (each for surface in entered for each in made_on(view, surface, one.anew.series))
    return [each for each in made if each.location == one.location]


def _why_no_later(one: _Open, record: Surface, since: JobView, view: JobView) -> _NotCounted | None:
    """Return why what a later report enters at the location was not made after what was not accepted there."""
    made = one.anew.made
    if one.location is None or made is None or _is_answered(one, record, since):
        return None
    again = max((each.at for each in _made_there(one, record, since) if each.timed), default=None)
    first = made.timed
    if again is None:
        return None if first is None else codes.AgainUntimed(view.printed(first))
    if first is not None and again <= first:
        return codes.NoLater(view.printed(first), view.printed(again))
    return codes.FirstUntimed(view.printed(again), one.report)


# Measured again, and surer


def _undecided(
    day: Inspected, finding: Finding, surface: SurfaceView, series: Collection[str], location: str
) -> tuple[Sureness, ...]:  # fmt: skip
    """Return how sure each value at a location is that was not accepted; a grade that was seen says nothing of that."""
    facts = finding.facts
    seen = getattr(facts, "density", None) or getattr(facts, "profile", None)
    every = [one for each in series for one in surenesses(day, surface.record, each, location)]
    return tuple(one for one in every if one.seen == seen)


def _known(one: _Open) -> Sureness | None:
    """Return the surest of what was undecided: what replaces that replaces the others."""
    return _surest(each for each in one.undecided if each.wide is not None)


def _measured(one: _Open, day: Inspected) -> list[Sureness]:
    """Return how sure each value is that was measured at the location after it, at the value that was undecided."""
    known = _known(one)
    found: list[Sureness] = []
    if known is None:
        return found
    for record, _ in _same_steel(one, day.view):
        for series in one.anew.series:
            every = surenesses(day, record, series, str(one.location), known.value)
            when = _when_made(one, record, day.view)
            since = [any(when)] * len(every) if series == PROFILE else when
            found += [each for each, late in zip(every, since, strict=False) if late]
    return found


def _surer(one: _Open, day: Inspected) -> Sureness | None:
    """Return the surest value that was measured again and is surer than each that was undecided."""
    return _surest(each for each in _measured(one, day) if all(each.is_surer(before) for before in one.undecided))


def _surest(values: Iterable[Sureness]) -> Sureness | None:
    return min(values, key=lambda each: each.wide or 0, default=None)


def _is_surer(one: _Open, day: Inspected) -> bool:
    """Whether what is measured again counts; with nothing known of how sure the first was, any does."""
    return _known(one) is None or _surer(one, day) is not None


def _is_reworked(one: _Open, view: JobView) -> bool:
    """Whether the steel is no longer as it was measured: blasted again, or washed as the reports since then say."""
    if _is_blasted_again(one, view):
        return True
    steel, since = [record for record, _ in _same_steel(one, view)], (*one.since, view)
    named = {name for record in steel for name in record.reinspects}
    codes_ = (one.code, *(code for code, key in RETESTED.items() if key in one.anew.series))
    jobs = [each.job for each in since]
    at = washings(since, one.area, [record.apparatus for record in steel], one.anew.series)  # none of other series
    tests = [each for record in steel for each in _made_there(one, record, view) if one.anew.is_anew(each)]
    raised = any(is_raised(code, one.area, named, jobs) for code in codes_)
    return raised and any(is_between(each, one.anew.made, test) for each in at for test in tests)


def _by_surer(left: Iterable[_Open], day: Inspected) -> dict[Finding, None]:
    """Return what was undecided, beside what was measured again and decides in its place."""
    settled = [one for one in left if one.undecided and one.accepted is None and _settled(one, day)]
    found: dict[Finding, None] = {}
    for one in settled:
        known, again = _known(one), None if _is_reworked(one, day.view) else _surer(one, day)
        if known is not None and again is not None and again.expanded is not None:
            facts = codes.Surer(one.code, one.report, known.seen, known.expanded, again.seen, again.expanded)
            found[codes.SURER.found(facts, Place(one.area, one.location))] = None
    return found
