"""Steel that was blasted again within the shift: what was found on it before stays visible and no longer counts."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.results import Stated
from reportgen.results.codes.blasted_again import (
    BLASTED_AGAIN,
    SAY_BLASTED_AGAIN,
    SAY_TESTED_AGAIN,
    Blasted,
    FoundBefore,
    LaterBlasting,
    LaterTest,
    Replaced,
)
from reportgen.results.facts import Place
from reportgen.rules.extent import later_blastings
from reportgen.rules.reinspection import RETESTED, Failure, ends_with_rework, failed_on, retests_of
from reportgen.rules.scene import replaced_surfaces

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Sequence

    from reportgen.job import Surface
    from reportgen.results import Evaluation, Finding, Task
    from reportgen.rules.scene import AreaView, JobView


def blasted_again(
    view: JobView, formerly: Sequence[Finding]
) -> Iterator[Finding]:  # fmt: skip
    """Note each entry that was blasted again, and what had failed on it, with the nonconformance that covers that."""
    surfaces = view.job.day.surfaces
    for earlier, later in replaced_surfaces(view.job.day).items():
        replaced = Replaced(_blasted(view, surfaces[earlier]), _blasted(view, surfaces[later]))
        yield BLASTED_AGAIN.found(replaced, Place(surfaces[later].area))
    for finding in formerly:
        note = BLASTED_AGAIN.found(_before(finding), Place(finding.area, finding.location), clause=finding.clause)
        yield replace(note, nonconformance=finding.nonconformance)


def perhaps_blasted_again(view: JobView, findings: Iterable[Finding]) -> tuple[Task, ...]:
    """Return what to write for each later blasting that may be of steel that failed, and says nothing of it.

    Parameters:
        view: the day.
        findings: what counts against its areas.
    """
    told: dict[Task, None] = {}
    areas = {area.id: area for area in view.areas if len(area.surfaces) > 1}
    for finding in (one for one in findings if one.area in areas and ends_with_rework(one.code)):
        area = areas[str(finding.area)]
        failure = Failure(finding.code, finding.area, finding.location, view)
        for surface in failed_on(failure, area.id):
            at = area.surfaces.index(surface)
            after = later_blastings(surface, area.surfaces[at + 1 :])
            if after:
                blasting = LaterBlasting(surface.record.apparatus, view.printed(after[0].blasted[0]))
                told[SAY_BLASTED_AGAIN.due(blasting, Place(area.id))] = None
    return tuple(told)


def perhaps_washed(view: JobView, evaluation: Evaluation) -> tuple[Task, ...]:
    """Return where to enter tests that passed after one failed there: within one report they undo nothing."""
    areas = {area.id: area for area in view.areas}
    told: dict[Task, None] = {}
    for finding in evaluation.findings:
        area = areas.get(finding.area or "")
        if area is not None and finding.code in RETESTED and finding.location is not None:
            later = _passed_later(Failure(finding.code, area.id, finding.location, view), area, evaluation)
            if later is not None:
                facts = LaterTest(view.printed(later), finding.nonconformance)
                told[SAY_TESTED_AGAIN.due(facts, Place(area.id, finding.location), answers=finding.code)] = None
    return tuple(told)


def _passed_later(failure: Failure, area: AreaView, evaluation: Evaluation) -> dt.datetime | None:
    """Return when the location of a failure was last tested, where that passed and was after all that did not."""
    tests = [one for surface in failed_on(failure, area.id) for one in retests_of(failure, surface, area)]
    results = [
        one.verdict
        for one in getattr(evaluation, RETESTED[failure.code])
        if (one.area, one.location) == (area.id, failure.location)
    ]
    if len(tests) != len(results) or any(one.time is None for one in tests):
        return None
    timed = [(failure.view.at(one.time), verdict) for one, verdict in zip(tests, results, strict=True)]
    last = max(at for at, _ in timed)
    return last if all(verdict == "conforms" for at, verdict in timed if at == last) else None


def _before(finding: Finding) -> FoundBefore:
    code, facts, place = finding.code, finding.facts, finding.place
    observed, required = (Stated(group, code, facts, place) for group in ("observed", "required"))
    return FoundBefore(observed, required, code)


def _blasted(view: JobView, surface: Surface) -> Blasted:
    start, end = (view.printed(view.at(clock)) for clock in (surface.blasted.start, surface.blasted.end))
    return Blasted(surface.apparatus, start, end)
