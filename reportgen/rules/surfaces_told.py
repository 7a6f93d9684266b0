"""Which surfaces of an area a finding is of, as far as its facts tell; and what each has entered at which location."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Any

from reportgen.measurements import TESTS
from reportgen.results.codes import sampling
from reportgen.rules.anew import PROFILE, SERIES_OF
from reportgen.rules.reinspection import Failure, failed_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.job import Reading, Surface
    from reportgen.results import Finding
    from reportgen.rules.scene import AreaView, JobView, SurfaceView


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
    told = [one for one in area.surfaces if _is_told(facts, one, view)]
    return told or _told_before(facts, area, view) or list(area.surfaces)


def _told_before(facts: Any, area: AreaView, view: JobView) -> list[SurfaceView]:
    """Return the surface of an earlier report of which facts say that a part was blasted again since."""
    known = (
        each for one in reversed(view.before) for own in one.view.areas if own.id == area.id for each in own.surfaces
    )
    told = (one for one in known if isinstance(facts, sampling.Untested) and _is_told(facts, one, view))
    return list(islice(told, 1))


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
