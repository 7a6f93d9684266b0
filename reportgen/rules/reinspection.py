"""Whether a re-inspection is of the steel as it was after what failed; a later report alone does not say so.

What failed of the blasting itself (profile, cleanliness, the conditions, the air and the abrasive it was done with, the
time to the primer) is gone only with a new blasting that began after it. Salts and dust are also washed or cleaned off:
there a later test suffices, at the location that failed. What the record lacked, or an instrument spoilt, a later
report measures again. Times are instants, so that shifts over midnight and reports of other dates compare as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Any, Final

from reportgen.measurements import CODES, OF_A_SURFACE, TESTS
from reportgen.names import spelt_alike
from reportgen.results.codes.follow_up import (
    BlastedBefore,
    EarlierTest,
    Failed,
    FoundHere,
    InPart,
    NotFound,
    NotReworked,
    NotSeenAgain,
    NotTested,
    NotTheirs,
    OlderSteel,
    OtherSteel,
    UntimedTest,
)
from reportgen.results.statements import Code
from reportgen.rules.doubts import doubts
from reportgen.rules.entered_before import made_here
from reportgen.rules.extent import not_gone_over, over, part_again, reworked_by_others
from reportgen.rules.scene import counts, scene_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Sequence

    from reportgen.job import Job, Surface
    from reportgen.rules.scene import AreaView, JobView, SurfaceView

RETESTED: Final = {code: kind.key for kind in TESTS for code in kind.retested}
"""Codes of what washing or cleaning removes, with the tests of a surface that show it gone."""
_TESTED: Final = {one.name: kind.key for kind in TESTS for one in kind.statements if isinstance(one, Code)}
"""Codes of findings on tests, with the field in which the tests stand."""

_GRADED: Final = frozenset({"grade-not-met", "stain-above-limit"})
_TIMED_GRADES: Final = tuple(kind for kind in OF_A_SURFACE if kind.timed)
_PREPARED_AGAIN: Final = frozenset({"coating-overdue"})
"""Codes that only hold an area, and still end with a new blasting alone."""


@dataclass(frozen=True, slots=True)
class Failure:
    """A finding of a report: its code and place, and that report as the rules saw it when they found it.

    ``view`` is the one of the steel that was blasted again where it was found on that. ``found`` says whether a rule
    found it, and not only a nonconformance of the report is written against it.
    """

    code: str
    area: str | None
    location: str | None
    view: JobView
    found: bool = True

    @property
    def stated(self) -> Failed:
        """What failed, as facts."""
        return Failed(self.code, self.view.job.day.report.number, self.location)


def blasting_failed(code: str) -> bool:
    """Whether what a code says ends with a new blasting alone."""
    return code in _PREPARED_AGAIN or (CODES[code].effect == "fails" and code not in RETESTED)


def ends_with_rework(code: str) -> bool:
    """Whether what a code says is of the steel: measuring it again does not undo it."""
    return code in RETESTED or blasting_failed(code)


def why_not_reworked(failure: Failure, view: JobView, area: AreaView) -> NotReworked | None:
    """Return why an area of a later report is not shown to be reworked after a failure; None where it is.

    Every entry is blasted after it, or steel of it is tested again. What the earlier report knew as other steel, and is
    entered again as it was, neither shows this nor stands against it.
    """
    failed = list(failed_on(failure, area.id))
    entries = [one for one in area.surfaces if not _known_as_other(failure, failed, view, one)]
    reasons = [(one, why_not_after(failure, view, area, one)) for one in entries]
    against = [reason for _, reason in reasons if reason is not None]
    if against:
        tested = any(reason is None and not _blasted_since(failure, failed, view, one) for one, reason in reasons)
        return None if failure.code in RETESTED and tested else against[0]
    if failure.view.job is view.job or not ends_with_rework(failure.code):
        return None
    return _not_gone_over(failure, failed, view, entries)


def _not_gone_over(
    failure: Failure, failed: Sequence[SurfaceView], view: JobView, entries: Sequence[SurfaceView]
) -> OtherSteel | InPart | None:  # fmt: skip
    """Return that steel which failed is not entered again, nor stated to be blasted again; or by the sizes only a part.

    An apparatus that was not there reworked it where its entry re-inspects; else it may have blasted what lies beside.
    Reports between count as far as they say that they blasted it again.
    """
    here, names = [one.record for one in entries], [one.record.apparatus for one in failed]
    missing = not_gone_over(failed, here)
    there = [one.apparatus for one in failure.view.job.day.surfaces if one.area == failed[0].record.area]
    if missing and not reworked_by_others(here, there):
        return OtherSteel(failure.stated, missing)
    since = [
        one.record for stood in view.since(failure.view) for one in stood.surfaces
        if one.record.area == failed[0].record.area and _blasted_since(failure, failed, stood, one)
    ]  # fmt: skip
    again = [one.cleaned for one in (*over(since, names, said=True), *over(here, names))]
    part = part_again([one.record.cleaned for one in failed], again)
    return None if part is None else InPart(failure.stated, *part)


def why_not_seen_since(
    failure: Failure, view: JobView, area: AreaView, nonconformance: str
) -> NotReworked | None:  # fmt: skip
    """Return why a re-inspection of an area does not show the steel as it was repaired; None where it does.

    A repair changes the steel: something of it is measured or looked at after that, at the place of the failure where
    that has one; or the steel was blasted again.
    """
    if ends_with_rework(failure.code) and why_not_reworked(failure, view, area) is None:
        return None
    if not failure.found:
        return NotFound(failure.stated)
    failed = list(failed_on(failure, area.id))
    since = max(_moment(failure, one) for one in failed)
    again = (
        one for one in area.surfaces
        if nonconformance in one.record.reinspects
        and any(spelt_alike(one.record.apparatus, each.record.apparatus) for each in failed)
    )  # fmt: skip
    seen = any(
        at > since and _is_at(failure, series, location, area, one)
        for one in again
        for series, location, at in made_here(view, one)
    )
    return None if seen else NotSeenAgain(failure.stated)


def _is_at(failure: Failure, series: str, location: str | None, area: AreaView, surface: SurfaceView) -> bool:
    """Whether an entry is of the kind of a failure, where that is of a test, and at its location, if it has one."""
    kind = _TESTED.get(failure.code, series)
    there = failure.location is None or (
        location is not None and failure.location in _names(location, area, surface)
    )  # fmt: skip
    return series == kind and there


def not_theirs(job: Job, found: Job) -> NotTheirs | None:
    """Return why the inspector of a report neither closes nor undoes what another found; None where he does.

    The people are those whom the other report named: whoever was added or given another role since, it does not know.
    One of them, no inspector and not of the contractor, may have named a successor.
    """
    same = job.day.report.number == found.day.report.number
    theirs = not same and not found.may_be_undone_by(job.inspector) and found.taken_over_by(job) is None
    return NotTheirs(str(job.inspector.name), str(found.day.report.number)) if theirs else None


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
    same_report = failure.view.job is view.job
    # within a report `blasted_again` states the order, and replicas may have been read while it went on
    since = max((one.blasted[1] if same_report else _moment(failure, one) for one in failed), default=None)
    return since is None or surface.blasted[0] >= since


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


def _replaces(record: Surface, failed: Sequence[SurfaceView]) -> bool:
    return any(one.record.apparatus in record.blasted_again for one in failed)


def why_not_after(failure: Failure, view: JobView, area: AreaView, surface: SurfaceView) -> NotReworked | None:
    """Return why a surface of ``area`` in ``view`` is not steel reworked after a failure; None where it is."""
    same_report = failure.view.job is view.job
    if same_report and not failure.view.replaced:
        return FoundHere(failure.stated) if failure.found else NotFound(failure.stated)
    if not (same_report or ends_with_rework(failure.code)):
        return None
    failed = list(failed_on(failure, area.id))
    if _blasted_since(failure, failed, view, surface):
        return None
    if failure.code in RETESTED and not same_report:
        return _why_not_tested_again(failure, failed, view, area, surface)
    if not failure.found:
        return NotFound(failure.stated)
    since = max(one.blasted[1] if same_report else _moment(failure, one) for one in failed)
    return BlastedBefore(failure.stated, view.printed(since), view.printed(surface.blasted[0]))


def _why_not_tested_again(
    failure: Failure, failed: Sequence[SurfaceView], view: JobView, area: AreaView, surface: SurfaceView
) -> NotReworked | None:
    """Return why no test of a surface that was not blasted again shows that what failed is gone."""
    if not any(spelt_alike(one.record.apparatus, surface.record.apparatus) for one in failed):
        return NotTested(failure.stated)
    blasted = max(one.blasted[1] for one in failed)
    if surface.blasted[1] < blasted:
        return OlderSteel(failure.stated, view.printed(blasted), view.printed(surface.blasted[1]))
    tests = [one for one in retests_of(failure, surface, area) if counts(view, surface, one.time)]
    if not tests:
        return NotTested(failure.stated)
    before = [failure.view.at(one.time) for each in failed for one in retests_of(failure, each) if one.time is not None]
    if not before or view.shift[0] >= max(before):
        return None
    again = [view.at(one.time) for one in tests if one.time is not None]
    when = view.printed(max(before))
    if len(again) < len(tests):
        return UntimedTest(failure.stated, when)
    if min(again) <= max(before):
        return EarlierTest(failure.stated, when, view.printed(min(again)))
    return None


def failed_on(failure: Failure, area: str) -> Iterator[SurfaceView]:
    """Yield the surfaces of an area that a failure is of; all of them where it does not tell which."""
    graded = _badly_graded(failure) if failure.code in _GRADED else None
    for one in failure.view.areas:
        if one.id == area:
            told = [surface for surface in one.surfaces if _is_of(failure, one, surface, graded)]
            yield from told or one.surfaces


def _is_of(failure: Failure, area: AreaView, surface: SurfaceView, graded: set[int] | None) -> bool:
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
    tests = getattr(surface.record, _TESTED[failure.code])
    at = failure.location
    return [test for test in tests if at is None or at in _names(test.location, area, surface)]


def _moment(failure: Failure, surface: SurfaceView) -> dt.datetime:
    """Return the last time known at which a surface was as a failure says."""
    view, code, at = failure.view, failure.code, failure.location
    entries: Iterable[Any] = ()
    if code in _TESTED:
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
