"""Which surfaces of an area a finding is of, and since when; and what each has entered at which location."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Any, Final

from reportgen.measurements import LOGS, TESTS
from reportgen.results.codes import sampling
from reportgen.results.codes.coating import NotPrimed, PrimedLate
from reportgen.results.codes.equipment import GaugeFailed, InDoubt
from reportgen.rules.anew import PROFILE, SERIES_OF
from reportgen.rules.reinspection import Failure, failed_on
from reportgen.units import later

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.job import Reading, Surface
    from reportgen.measurements import Window
    from reportgen.results import Finding
    from reportgen.rules.scene import AreaView, JobView, SurfaceView

_OF_CONDITIONS: Final = frozenset(one.name for kind in LOGS if kind.placed for one in kind.statements)


def entered_by_series(record: Surface, readings: Sequence[Reading]) -> dict[str, set[str]]:
    """Return the locations of a surface by the series of its entries: the profile, and each kind of test."""
    profile = {one.location for one in readings}
    profile |= {row.location for row in (record.profile.comparator if record.profile is not None else ())}
    return {PROFILE: profile} | {kind.key: {one.location for one in kind.entries_on(record)} for kind in TESTS}


def surfaces_of(finding: Finding, area: AreaView, view: JobView) -> list[SurfaceView]:
    """Return the surfaces of an area that a finding is of, as far as it tells; all of them where it does not."""
    facts = finding.facts
    if finding.location is not None:
        return list(failed_on(Failure(finding.code, area.id, finding.location, view), area.id))
    if isinstance(facts, sampling.AreaShort):
        return _without(PROFILE, area)
    if finding.code in SERIES_OF:
        return _without(SERIES_OF[finding.code], area)
    told = [one for one in area.surfaces if _is_told(facts, one, view) and _is_doubted(facts, one)]
    return told or _told_before(facts, area, view) or list(area.surfaces)


def _told_before(facts: Any, area: AreaView, view: JobView) -> list[SurfaceView]:
    """Return the surface of an earlier report of which facts say that a part was blasted again since."""
    known = (
        each for one in reversed(view.before) for own in one.view.areas if own.id == area.id for each in own.surfaces
    )
    told = (one for one in known if isinstance(facts, sampling.Untested) and _is_told(facts, one, view))
    return list(islice(told, 1))


def _is_doubted(facts: Any, surface: SurfaceView) -> bool:
    """Whether the check of a gauge that failed may put a surface in doubt: where it was read at all locations named."""
    if not isinstance(facts, GaugeFailed) or not isinstance(facts.doubt, InDoubt):
        return True
    return entered_by_series(surface.record, surface.readings)[PROFILE].issuperset(facts.doubt.locations)


def since_when(finding: Finding, area: AreaView, view: JobView) -> list[tuple[SurfaceView, dt.datetime]]:
    """Return the surfaces of an area that a finding is of, each with since when: its blasting, or what is said of it.

    What was read of the conditions is of the work that it stands for, a primer that came late of that, and steel that
    none came on of its time. What does not tell is of all of them.
    """
    return (
        [(surface, max(at, window.start)) for surface, at, window in work_of(finding, area, view)]
        or list(_timed(finding.facts, area, view))
        or [(one, one.blasted[0]) for one in surfaces_of(finding, area, view)]
    )


def work_of(
    finding: Finding, area: AreaView, view: JobView
) -> list[tuple[SurfaceView, dt.datetime, Window]]:  # fmt: skip
    """Return the work on an area that a finding about the conditions is of: its surface, when they were read, and it.

    Empty of any other finding, and where the reading does not say which work it stands for.
    """
    if finding.code not in _OF_CONDITIONS or finding.place.time is None:
        return []
    taken_at = getattr(finding.facts, "taken_at", None)
    return [
        (surface, read.at, window)
        for read, window in view.work_read.get((finding.place.time, area.id), ())
        if (read.record.taken_at or None) == taken_at
        for surface in area.surfaces if window.start == _began(surface, window)
    ]  # fmt: skip


def _began(surface: SurfaceView, window: Window) -> dt.datetime | None:
    """When the work began on a surface that is of the kind of a window."""
    return surface.coated if window.activity == "coating" else surface.blasted[0]


def _timed(facts: Any, area: AreaView, view: JobView) -> Iterator[tuple[SurfaceView, dt.datetime]]:
    """Yield the surfaces that were primed late, or not at all, as facts say of one, each with when that was so."""
    stated = view.specification.time_to_coat
    if stated is None:
        return
    for one in area.surfaces:
        until = later(one.blasted[1], stated.maximum)
        if isinstance(facts, PrimedLate) and one.coated is not None and one.coated > until:
            yield from [(one, one.coated)] if view.printed(one.coated) == facts.coated else []
        elif isinstance(facts, NotPrimed) and one.coated is None and view.printed(until) == facts.until:
            yield one, until


def _without(series: str, area: AreaView) -> list[SurfaceView]:
    """Return the surfaces that have no entry of a series of which the area as a whole has too few."""
    alone = len({one.record.apparatus for one in area.surfaces}) == 1
    return [one for one in area.surfaces if alone or not entered_by_series(one.record, one.readings)[series]]


def _is_told(facts: Any, surface: SurfaceView, view: JobView) -> bool:
    """Whether what facts say of apparatus, beginning, gauge, roll and abrasive is of a surface."""
    record, profile = surface.record, surface.record.profile
    own: dict[str, set[str | None]] = {
        "apparatus": {record.apparatus},
        "gauge": {None if profile is None else profile.gauge},
        "roll": {one.roll for one in surface.readings},
        "abrasive": {record.blasted.abrasive},
    }
    steel = (sampling.Unmeasured, sampling.Untested, sampling.UntestedInTime)
    if isinstance(facts, steel) and view.printed(surface.blasted[0]) != facts.start:
        return False
    return all((told := getattr(facts, name, None)) is None or told in used for name, used in own.items())
