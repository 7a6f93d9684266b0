"""Whether a re-inspection is of the steel as it was after what failed; a later report alone does not say so.

What failed of the blasting itself (profile, cleanliness, the conditions, the air and the abrasive it was done with, the
time to the primer) is gone only with a new blasting that began after it. Salts and dust are also washed or cleaned off,
where a report states that: there a later test suffices, at the location that failed. What the record lacked, or an
instrument spoilt, a later report measures again. Times are instants, so that shifts over midnight and reports of other
dates compare as well.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Any, Final

from reportgen.measurements import CODES, LOGS, OF_A_SURFACE
from reportgen.names import spelt_alike
from reportgen.results.codes.follow_up import (
    BlastedBefore,
    EarlierTest,
    Failed,
    FailedUntimed,
    FoundHere,
    InPart,
    InPartOfArea,
    InPartOfBounds,
    NotFound,
    NotReworked,
    NotSaid,
    NotSeenAgain,
    NotTested,
    NotWashed,
    OlderSteel,
    OtherSteel,
    StillSo,
    UntimedTest,
    WashedOtherwise,
)
from reportgen.results.codes.whose import NotTheirs, OtherHouse, OtherPin
from reportgen.rules.anew import RETESTED, SALTS, SERIES_OF, in_doubt_by, may_hide, told_in_doubt
from reportgen.rules.doubts import doubts
from reportgen.rules.entered_before import last_made, made_here, moments
from reportgen.rules.extent import Reach, bounded_size, not_gone_over, reworked_by_others, whole_area
from reportgen.rules.owed import Asker, blastings, is_gone_over, left_over
from reportgen.rules.scene import scene_of
from reportgen.rules.washed import is_between, is_raised, washings

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from reportgen.job import Job, Surface
    from reportgen.results import Finding
    from reportgen.results.statements import Settled
    from reportgen.results.values import Bounded
    from reportgen.rules.entered_before import LastMade, MadeAt
    from reportgen.rules.owed import OneBlasting
    from reportgen.rules.scene import AreaView, JobView, SurfaceView
    from reportgen.units import Quantity

_GRADED: Final = frozenset({"grade-not-met", "stain-above-limit"})
_LOGGED: Final = frozenset(one.name for kind in LOGS for one in kind.statements)
_TIMED_GRADES: Final = tuple(kind for kind in OF_A_SURFACE if kind.timed)
OF_LOCATIONS: Final = frozenset({"profile-below-minimum", "profile-above-maximum"})
_LONG_AGO: Final = dt.datetime.min.replace(tzinfo=dt.UTC)


@dataclass(frozen=True, slots=True)
class Failure:
    """A finding of a report: its code and place, and that report as the rules saw it when they found it.

    ``view`` is the one of the steel that was blasted again where it was found on that. ``found`` says whether a rule
    found it, and not only a nonconformance of the report is written against it. ``bounds`` are those of the walk-outs
    from its area's failing locations that are complete, ``unbounded`` names the locations whose is not. ``left_out_by``
    is the revision of the report that does not have it.
    """

    code: str
    area: str | None
    location: str | None
    view: JobView
    found: bool = True
    finding: Finding | None = None
    bounds: tuple[Bounded, ...] = ()
    unbounded: frozenset[str] = frozenset()
    left_out_by: int | None = None

    @property
    def settled(self) -> Settled:
        """What settles it; of what no rule found nothing more is asked than of what was missing."""
        facts = None if self.finding is None else self.finding.facts
        return CODES[self.code].settled_by(facts)

    @property
    def series(self) -> str | None:
        """The tests that show it gone once it was washed off: of what failed one, or may have and is in doubt."""
        doubted = self.finding is not None and may_hide(self.finding)
        return SALTS if doubted else RETESTED.get(self.code)

    @property
    def named(self) -> set[str]:
        """The codes by which a nonconformance names it."""
        return {self.code} | (frozenset() if self.finding is None else may_hide(self.finding))

    @property
    def stated(self) -> Failed:
        """What failed, as facts."""
        return Failed(self.code, self.view.job.day.report.number, self.location)


def ends_with_rework(failure: Failure) -> bool:
    """Whether a failure is of the steel: measuring it again does not undo it."""
    return failure.settled in ("blasting", "washing")


def why_not_reworked(
    failure: Failure, view: JobView, area: AreaView, about: Collection[str]
) -> NotReworked | None:  # fmt: skip
    """Return why an area of a later report is not shown to be reworked after a failure; None where it is.

    Every entry is blasted after it, or steel of it is tested again. What the earlier report knew as other steel, and is
    entered again as it was, neither shows this nor stands against it. ``about`` are the numbers of the nonconformances
    that cover the failure.
    """
    failed = list(failed_on(failure, area.id))
    entries = _concerned(failure, failed, view, area)
    reasons = [(one, why_not_after(failure, view, area, one)) for one in entries]
    against = [reason for _, reason in reasons if reason is not None]
    if against:
        tested = any(reason is None and not _blasted_since(failure, failed, view, one) for one, reason in reasons)
        return None if failure.series is not None and tested else against[0]
    if failure.view.job is view.job or not ends_with_rework(failure):
        return None
    return _not_gone_over(failure, failed, view, area.id, entries, about)


def why_failed_still(
    failure: Failure, view: JobView, area: AreaView, about: Collection[str]
) -> NotReworked | NotTheirs | None:  # fmt: skip
    """Return why a report does not undo what failed before on an area that it inspects; None where it does."""
    return why_not_reworked(failure, view, area, about) or not_theirs(view.job, failure.view.job)


def gone_with(failure: Failure, view: JobView, area: AreaView) -> list[SurfaceView]:
    """Return what of the steel of an earlier failure is gone once a report shows it reworked: all of it, as a rule.

    Not where walk-outs bound what failed: the rest stands. Nor where it was washed, and is still what was blasted.
    """
    failed = list(failed_on(failure, area.id))
    entries = _concerned(failure, failed, view, area)
    blasted = bool(entries) and all(_blasted_since(failure, failed, view, one) for one in entries)
    again = blasted and ends_with_rework(failure) and failure.view.job is not view.job
    return failed if again and _bounded(failure, failed) is None else []


def _concerned(
    failure: Failure, failed: Sequence[SurfaceView], view: JobView, area: AreaView
) -> list[SurfaceView]:  # fmt: skip
    """Return the entries of an area that may be of what failed."""
    return [
        one for one in area.surfaces
        if not _known_as_other(failure, failed, view, one) and not _stands_beside(failure, area, one)
    ]  # fmt: skip


def _not_gone_over(
    failure: Failure, failed: Sequence[SurfaceView], view: JobView, area: str, entries: Sequence[SurfaceView],
    about: Collection[str],
) -> OtherSteel | NotSaid | InPart | InPartOfArea | InPartOfBounds | None:  # fmt: skip
    """Return that steel which failed is not entered again, nor stated to be blasted again; or by the sizes only a part.

    An apparatus that was not there reworked it where its entry re-inspects by a number that covers it; else it may have
    blasted what lies beside, as one that was there may.
    Reports between count as far as they say that they blasted it again, and suffice where by the sizes that was all.
    Where the report has no entry of the area, all of it may be what failed.
    """
    if failure.series is not None and not all(_blasted_since(failure, failed, view, one) for one in entries):
        return None  # tested again, as it is
    here = [one.record for one in entries]
    missing = not_gone_over(failed, here)
    there = [one.apparatus for one in failure.view.job.day.surfaces if one.area == area]
    if missing and not reworked_by_others(here, there, about):
        asked = Asker(view, failure.view.job, failure.view.job, about=about)  # what no entry says is not of it
        after = _after(failure, failed, area, view)
        told = all(is_gone_over(name, after, asked) for name in missing)
        if told and _in_part(failure, failed, area, asked) is None:
            return None
        return _other_steel(failure, missing, here, view.job.day.report.number)
    return _in_part(failure, failed, area, Asker(view, failure.view.job, failure.view.job, here, about))


def _other_steel(
    failure: Failure, missing: tuple[str, ...], here: Sequence[Surface], later: str
) -> OtherSteel | NotSaid:  # fmt: skip
    """Return that only other steel is entered, or steel of which it is not said that it is that."""
    again = tuple(dict.fromkeys(one.apparatus for one in here if one.reinspects and not one.blasted_again))
    return NotSaid(failure.stated, missing, again, later) if again else OtherSteel(failure.stated, missing, later)


def _in_part(
    failure: Failure, failed: Sequence[SurfaceView], area: str, asked: Asker
) -> InPart | InPartOfArea | InPartOfBounds | None:  # fmt: skip
    """Return how much was blasted again, where that is less than failed.

    What fails at a location reaches as far as its walk-outs say, with those of the others on the same steel. What none
    bounds is all that the entry cleaned, and the whole area where that does not say.
    """
    bounded, records = _bounded(failure, failed), [one.record for one in failed]
    sizes = ([one.cleaned for one in records] or [None]) if bounded is None else [bounded]
    names = [one.apparatus for one in records]
    after, whole = _after(failure, failed, area, asked.view), whole_area(failure.view.job, area, records)
    part = left_over(sizes, whole, names, after, asked, _beside(failure, failed, area))
    if part is None:
        return None
    if part.cleaned is None:
        return InPartOfArea(failure.stated, part.again, part.whole, part.lost, part.uncounted)
    kind = InPart if bounded is None else InPartOfBounds
    return kind(failure.stated, part.cleaned, part.again, part.lost, part.uncounted)


def _after(failure: Failure, failed: Sequence[SurfaceView], area: str, view: JobView) -> list[OneBlasting]:
    """Return what blasted an area after what failed, by the reports at hand; never what failed itself."""
    own = [(one.record.apparatus, *one.blasted) for one in failed]
    if failure.view.job is view.job:
        views = [*(each.view for each in view.before), view]
    else:
        views = [failure.view, *view.since(failure.view), view]
    return [
        one for one in blastings(views, area)
        if (one.apparatus, one.began, one.ended) not in own
        and (one.began >= _known_until(failure, failed, same_report=one.entries[0][0].job is failure.view.job))
    ]  # fmt: skip


def _beside(failure: Failure, failed: Sequence[SurfaceView], area: str) -> list[OneBlasting]:
    """Return what blasted an area at the same time as what failed, by that report, and was not blasted again in it."""
    view, own = failure.view, {id(one.record) for one in failed}
    if not failed:
        return []
    began, ended = min(one.blasted[0] for one in failed), max(one.blasted[1] for one in failed)
    return [
        one for one in blastings([view], area)
        if one.began < ended and one.ended > began and own.isdisjoint(map(id, one.records))
        and not any(index in view.again or index in view.undone for _, index in one.entries)
    ]  # fmt: skip


def why_in_part(
    failures: Sequence[Failure], view: JobView, area: str
) -> InPart | InPartOfArea | InPartOfBounds | StillSo | None:  # fmt: skip
    """Return how much of what failed in a report was blasted again in it, where entries say so and it is less.

    Or that what the logs say was no better when it was blasted again.
    """
    here = (one for one in failures if one.view is view and one.area in (None, area) and ends_with_rework(one))
    reasons = (_still_in_part(one, view, area) for one in here)
    return next((one for one in reasons if one is not None), None)


def _still_in_part(
    failure: Failure, view: JobView, area: str
) -> InPart | InPartOfArea | InPartOfBounds | StillSo | None:  # fmt: skip
    failed = list(failed_on(failure, area))
    entries = [one for one in view.job.day.surfaces if one.area == area and _replaces(one, failed)]
    if _blasted_after(entries, failed, view):
        return _in_part(failure, failed, area, Asker(view, view.job))
    return StillSo(failure.stated) if entries and failure.code in _LOGGED else None


def _blasted_after(entries: Sequence[Surface], failed: Sequence[SurfaceView], view: JobView) -> bool:
    """Whether one of some entries is of a blasting after some that failed, and no entry of it."""
    ended = min((one.blasted[1] for one in failed), default=None)
    own = {id(one.record) for one in failed}
    return ended is not None and any(view.at(one.blasted.start) >= ended for one in entries if id(one) not in own)


def _bounded(failure: Failure, failed: Sequence[SurfaceView]) -> Quantity | None:
    """Return how much walk-outs bound on the steel of what failed; None where that is no location of a profile."""
    if failure.location is None or failure.code not in OF_LOCATIONS:
        return None
    names = {name for each in failed for location in each.locations for name in _names(location, None, each)}
    if names & failure.unbounded:
        return None
    return bounded_size(Reach.each_of(one.extents) for one in failure.bounds if one.failing in names)


def why_not_seen_since(
    failure: Failure, view: JobView, area: AreaView, nonconformance: str
) -> NotReworked | None:  # fmt: skip
    """Return why a re-inspection of an area does not show the steel as it was repaired; None where it does.

    A repair changes the steel: something of it is measured or looked at after that, at the place of the failure where
    that has one; or the steel was blasted again.
    """
    if ends_with_rework(failure) and why_not_reworked(failure, view, area, {nonconformance}) is None:
        return None
    if not failure.found:
        return NotFound(failure.stated)
    failed = list(failed_on(failure, area.id))
    since = max((_moment(failure, one) for one in failed), default=None)
    again = (
        one for one in area.surfaces
        if nonconformance in one.record.reinspects
        and (not failed or any(spelt_alike(one.record.apparatus, each.record.apparatus) for each in failed))
    )  # fmt: skip
    seen = any(
        (since is None or at > since) and _is_at(failure, series, location, area, one)
        for one in again
        for series, location, at in made_here(view, one)
    )
    return None if seen else NotSeenAgain(failure.stated, view.job.day.report.number)


def _is_at(failure: Failure, series: str, location: str | None, area: AreaView | None, surface: SurfaceView) -> bool:
    """Whether an entry is of the kind of a failure, where that is of a test, and at its location, if it has one."""
    kind = failure.series or SERIES_OF.get(failure.code, series)
    there = failure.location is None or (
        location is not None and failure.location in _names(location, area, surface)
    )  # fmt: skip
    return series == kind and there


def not_theirs(job: Job, found: Job) -> NotTheirs | None:
    """Return why the inspector of a report neither closes nor undoes what another found; None where he does.

    The people are those whom the other report named: whoever was added or given another role since, it does not know.
    One of them, no inspector and not of the contractor, may have named a successor. A namesake by another pin is nobody
    whom the other report names.
    """
    if found.may_be_undone_in(job):
        return None
    reports = (str(found.day.report.number), str(job.day.report.number))
    other = found.pinned_otherwise(job)
    if other is not None:
        return OtherPin(str(job.inspector.name), *reports, str(other.name))
    kind = OtherHouse if found.names_of_another_house(job.inspector) else NotTheirs
    return kind(str(job.inspector.name), *reports)


def found_again(failure: Failure, earlier: Failure) -> bool:
    """Whether a failure of a later report is at the place of an earlier one, on steel not blasted since."""
    if (failure.area, failure.code) != (earlier.area, earlier.code) or failure.area is None:
        return False
    return place_of(failure) == place_of(earlier) and on_the_same_steel(failure, earlier)


def on_the_same_steel(failure: Failure, earlier: Failure) -> bool:
    """Whether a failure of a later report is on steel of an area not blasted since an earlier failure there."""
    if failure.area is None or failure.area != earlier.area:
        return False
    before, now = list(failed_on(earlier, failure.area)), list(failed_on(failure, failure.area))
    return not any(
        _known_as_other(earlier, before, failure.view, one) or _blasted_since(earlier, before, failure.view, one)
        for one in now
    )


def place_of(failure: Failure) -> str | None:
    """Return the location of a failure without the apparatus, which is told only where several use the name."""
    if failure.location is None:
        return None
    used = {
        each: _names(each, area, one)
        for area in failure.view.areas
        if area.id == failure.area
        for one in area.surfaces
        for each in one.locations
    }
    return next((name for name, told in used.items() if failure.location in told), failure.location)


def _blasted_since(failure: Failure, failed: Sequence[SurfaceView], view: JobView, surface: SurfaceView) -> bool:
    """Whether a blasting began after the last time at which steel was known to be as a failure says."""
    return surface.blasted[0] >= _known_until(failure, failed, same_report=failure.view.job is view.job)


def _known_until(failure: Failure, failed: Sequence[SurfaceView], *, same_report: bool) -> dt.datetime:
    """Return the last time at which steel was known to be as a failure says; long ago where no entry is of it.

    Within a report `blasted_again` states the order, and replicas may have been read while it went on.
    """
    known = (one.blasted[1] if same_report else _moment(failure, one) for one in failed)
    return max(known, default=_LONG_AGO)


def _known_as_other(failure: Failure, failed: Sequence[SurfaceView], view: JobView, surface: SurfaceView) -> bool:
    """Whether the report that found a failure knows a surface as other steel than that which failed."""
    if failure.view.job is view.job:
        return failure.view.replaced and not _replaces(surface.record, failed)
    mine = {id(one.record) for one in failed}
    return any(
        id(one) not in mine
        and one.area == surface.record.area
        and spelt_alike(one.apparatus, surface.record.apparatus)
        and (failure.view.at(one.blasted.start), failure.view.at(one.blasted.end)) == surface.blasted
        and not _replaces(one, failed)
        for one in failure.view.job.day.surfaces
    )


def _stands_beside(failure: Failure, area: AreaView, surface: SurfaceView) -> bool:
    """Whether an entry has the location of a failure, and that was blasted again: it is of what stands beside."""
    named = {told for name in surface.undone for told in _names(name, area, surface)}
    return failure.location in named and failure.code in OF_LOCATIONS


def _replaces(record: Surface, failed: Sequence[SurfaceView]) -> bool:
    return any(one.record.apparatus in record.blasted_again for one in failed)


def why_not_after(failure: Failure, view: JobView, area: AreaView, surface: SurfaceView) -> NotReworked | None:
    """Return why a surface of ``area`` in ``view`` is not steel reworked after a failure; None where it is."""
    same_report, later = failure.view.job is view.job, view.job.day.report.number
    if same_report and not failure.view.replaced:
        return FoundHere(failure.stated) if failure.found else NotFound(failure.stated)
    failed = list(failed_on(failure, area.id))
    if _blasted_since(failure, failed, view, surface):
        return None
    if not (same_report or ends_with_rework(failure)):
        return None if _is_made_anew(failure, failed, view, surface) else NotSeenAgain(failure.stated, later)
    if failure.series is not None and not same_report:
        return _why_not_tested_again(failure, failed, view, area, surface)
    if not failure.found:
        return NotFound(failure.stated)
    since = max(one.blasted[1] if same_report else _moment(failure, one) for one in failed)
    return BlastedBefore(failure.stated, view.printed(since), view.printed(surface.blasted[0]), later)


def shows_rework(failures: Iterable[Failure], against: Iterable[Failure], view: JobView, index: int) -> bool:
    """Whether an entry of a report is of steel reworked since what failed before, and nothing is ``against`` it."""
    record = view.job.day.surfaces[index]
    entries = ((area, each) for area in view.areas for each in area.surfaces if each.record is record)
    return any(
        not any(one.view is view and _is_on(one, each) for one in against)
        and all(why_not_after(one, view, area, each) is None for one in found_before(failures, view, area.id))
        for area, each in entries
    )


def _is_on(failure: Failure, surface: SurfaceView) -> bool:
    of_area = failure.area in (None, surface.record.area)
    return of_area and any(one.record is surface.record for one in failed_on(failure, surface.record.area))


def found_before(failures: Iterable[Failure], view: JobView, area: str) -> list[Failure]:
    """Return the failures of an area that earlier reports found."""
    return [one for one in failures if one.area in (None, area) and one.view.job is not view.job]


def _is_made_anew(failure: Failure, failed: Sequence[SurfaceView], view: JobView, surface: SurfaceView) -> bool:
    """Whether a surface has anew what a failure puts in doubt; where no rule found that, nothing says of what it is."""
    found = failure.finding if failure.settled in ("measuring", "surer") else None
    return found is None or any(
        in_doubt_by(found, failure.view, one, place_of(failure)).is_met(view, surface) for one in failed
    )


def _why_not_tested_again(
    failure: Failure, failed: Sequence[SurfaceView], view: JobView, area: AreaView, surface: SurfaceView
) -> NotReworked | None:
    """Return why no test of a surface that was not blasted again shows that what failed is gone."""
    if not any(spelt_alike(one.record.apparatus, surface.record.apparatus) for one in failed):
        return NotTested(failure.stated)
    blasted, later = max(one.blasted[1] for one in failed), view.job.day.report.number
    if surface.blasted[1] < blasted:
        return OlderSteel(failure.stated, view.printed(blasted), view.printed(surface.blasted[1]), later)
    tests = _tested_at(failure, view, surface, area)
    if not tests:
        return NotTested(failure.stated)
    before = last_made(failure.view, [one for each in failed for one in _tested_at(failure, failure.view, each)])
    if any(before.is_before(one) for one in tests):
        return _why_not_washed(failure, view, surface, before, tests)
    again = max((one.at for one in tests if one.timed), default=None)
    when = view.printed(before.timed or failure.view.shift[1])
    if again is None:
        return UntimedTest(failure.stated, when)
    if before.timed is None or again > before.timed:
        return FailedUntimed(failure.stated, view.printed(again), failure.stated.report)
    return EarlierTest(failure.stated, when, view.printed(again))


def _why_not_washed(
    failure: Failure, view: JobView, surface: SurfaceView, before: LastMade, tests: Sequence[MadeAt]
) -> NotReworked | None:  # fmt: skip
    """Return why steel of a surface that was tested again is not known to be washed between its two tests."""
    record, since = surface.record, (failure.view, *view.since(failure.view), view)
    jobs = [each.job for each in since]
    named = any(is_raised(code, record.area, record.reinspects, jobs) for code in failure.named)
    at = washings(since, record.area, [record.apparatus], [str(failure.series)])
    if not named or not at:
        return NotWashed(failure.stated, view.job.day.report.number, failure.stated.report)
    tests = [one for one in tests if before.is_before(one)]
    if any(is_between(one, before, test) for one in at for test in tests):
        return None
    when = None if before.untimed or before.timed is None else view.printed(before.timed)
    again = max((one.at for one in tests if one.timed), default=None)
    return WashedOtherwise(failure.stated, view.printed(max(at)), when, None if again is None else view.printed(again))


def _tested_at(failure: Failure, view: JobView, surface: SurfaceView, area: AreaView | None = None) -> list[MadeAt]:
    """Return when a surface was tested for what failed since it was blasted, at the location if that has one."""
    series = str(failure.series)
    since = (one for one in moments(view, surface, series) if not one.timed or one.at >= surface.blasted[0])
    return [one for one in since if _is_at(failure, series, one.location, area, surface)]


def failed_on(failure: Failure, area: str) -> Iterator[SurfaceView]:
    """Yield the surfaces of an area that a failure is of; all of them where it does not tell which."""
    graded = _badly_graded(failure) if failure.code in _GRADED else None
    for one in failure.view.areas:
        if one.id == area:
            told = [surface for surface in one.surfaces if _is_of(failure, one, surface, graded)]
            yield from told or one.surfaces


def _is_of(failure: Failure, area: AreaView, surface: SurfaceView, graded: set[int] | None) -> bool:
    doubted = frozenset() if failure.finding is None else told_in_doubt(failure.finding)
    if doubted:
        return not doubted.isdisjoint(name for each in surface.locations for name in _names(each, area, surface))
    if failure.location is not None:
        return failure.location in {name for each in surface.locations for name in _names(each, area, surface)}
    return graded is None or id(surface) in graded


def _badly_graded(failure: Failure) -> set[int]:
    """Return the surfaces whose grade or staining does not conform, by identity."""
    view, bad = failure.view, set()
    for kind in OF_A_SURFACE:
        judged = kind.judge(getattr(view.specification, kind.limit_key), scene_of(view, kind, doubts(view))).results
        graded = zip(view.surfaces, judged, strict=True)
        bad |= {id(surface) for surface, result in graded if result.verdict == "does not conform"}
    return bad


def _names(location: str, area: AreaView | None, surface: SurfaceView) -> set[str]:
    """Return a location's name alone, and as it is told where several apparatus use it."""
    both = {location, f"{location} ({surface.record.apparatus})"}
    return both if area is None else both | {area.located(surface, location)}


def retests_of(failure: Failure, surface: SurfaceView, area: AreaView | None = None) -> list[Any]:
    """Return the salt or dust tests of a surface at the location of a failure; all where it names none."""
    tests = getattr(surface.record, failure.series or SERIES_OF[failure.code])
    at = failure.location
    return [test for test in tests if at is None or at in _names(test.location, area, surface)]


def _moment(failure: Failure, surface: SurfaceView) -> dt.datetime:
    """Return the last time known at which a surface was as a failure says."""
    view, code, at = failure.view, failure.code, failure.location
    entries: Iterable[Any] = ()
    if code in SERIES_OF or failure.series is not None:
        entries = retests_of(failure, surface)
    elif at is not None:
        entries = [one for one in surface.readings if at in _names(one.location, None, surface)]
    elif code in _GRADED:
        entries = chain(*(kind.entries_on(surface.record) for kind in _TIMED_GRADES))
    elif surface.coated is not None:  # of the whole surface, which the primer has covered since
        return max(surface.blasted[1], surface.coated)
    times = (one.time for one in entries if one.time is not None)
    instants = (view.at_text(time) if isinstance(time, str) else view.at(time) for time in times)
    return max([surface.blasted[1], *instants])
