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
from reportgen.rules.anew import RETESTED
from reportgen.rules.extent import later_blastings, whole_area
from reportgen.rules.owed import Asker, Lost, blastings, left_over
from reportgen.rules.reinspection import Failure, ends_with_rework, failed_on, retests_of
from reportgen.rules.scene import covered_from, gone_over_by

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Sequence

    from reportgen.job import Surface
    from reportgen.results import Evaluation, Finding, Task
    from reportgen.rules import owed
    from reportgen.rules.scene import AreaView, JobView
    from reportgen.units import Quantity


def blasted_again(
    view: JobView, formerly: Sequence[Finding]
) -> Iterator[Finding]:  # fmt: skip
    """Note each entry that was blasted again, and what had failed on it, with the nonconformance that covers that."""
    surfaces = view.job.day.surfaces
    for earlier, later in view.again.items():
        replaced = Replaced(_blasted(view, surfaces[earlier]), _blasted(view, surfaces[later]))
        yield BLASTED_AGAIN.found(replaced, Place(surfaces[later].area))
    for finding in formerly:
        note = BLASTED_AGAIN.found(_before(finding), Place(finding.area, finding.location), clause=finding.clause)
        yield replace(note, nonconformance=finding.nonconformance)


def gone_over(view: JobView) -> tuple[dict[int, int], dict[int, frozenset[str]], dict[int, dt.datetime]]:
    """Return which entries were blasted again, and the failing locations that were of entries which stand else.

    The first as place of the entry → place of the entry that replaces it; the second by the place of the entry, and
    the third by that from when all that walk-outs bound was blasted again, by the entries that name its apparatus. An
    entry is replaced where all that its apparatus had cleaned was blasted again after it, or all that it had itself and
    it does not pass; where walk-outs bound what failed, and no less than that was, the rest of it stands.

    Parameters:
        view: the day with all its entries, and what of each has to be blasted again.
    """
    again, undone, undone_from = {}, {}, {}
    areas: dict[str, list[owed.OneBlasting]] = {}
    by = gone_over_by(view.job)
    for index, later in by.items():
        record, lost = view.job.day.surfaces[index], view.lost.get(index, Lost())
        known = areas.setdefault(record.area, blastings([*(one.view for one in view.before), view], record.area))
        after = known[1 + next(at for at, one in enumerate(known) if (view, index) in one.entries) :]
        first, bounded = _alike(view, index), lost.within
        bad = lost.failed or lost.failing_tests or (record.blasted_again and not lost.measured)
        sizes = [[one.cleaned for one in first], *([[record.cleaned if bounded is None else bounded]] if bad else [])]
        covered = [_is_covered(view, index, one, first, after) for one in sizes]
        if covered[0] or (covered[-1] and bounded is None):
            again[index] = later[-1]
        elif covered[-1]:
            undone[index] = lost.locations
            began = covered_from(view.job, later, [bounded], [record])
            if began is not None:
                undone_from[index] = began
    return again, undone, undone_from


def _alike(view: JobView, index: int) -> list[Surface]:
    """Return the entries of the apparatus of one on its area that others go over, and that go over none of it."""
    own, surfaces = view.job.day.surfaces[index], view.job.day.surfaces
    there = (surfaces[at] for at in gone_over_by(view.job))
    alike = (one for one in there if (one.area, one.apparatus) == (own.area, own.apparatus))
    return [one for one in alike if own.apparatus not in one.blasted_again] or [own]


def _is_covered(
    view: JobView, index: int, sizes: Sequence[Quantity | None], first: Sequence[Surface],
    after: Sequence[owed.OneBlasting],
) -> bool:  # fmt: skip
    """Whether sizes of the steel of an entry were blasted again after it."""
    record = view.job.day.surfaces[index]
    whole = whole_area(view.job, record.area, first)
    return left_over(sizes, whole, [record.apparatus], after, Asker(view, view.job)) is None


def perhaps_blasted_again(view: JobView, findings: Iterable[Finding]) -> tuple[Task, ...]:
    """Return what to write for each later blasting that may be of steel that failed, and says nothing of it.

    Parameters:
        view: the day.
        findings: what counts against its areas.
    """
    told: dict[Task, None] = {}
    areas = {area.id: area for area in view.areas if len(area.surfaces) > 1}
    for finding in (one for one in findings if one.area in areas):
        area = areas[str(finding.area)]
        failure = Failure(finding.code, finding.area, finding.location, view, finding=finding)
        if not ends_with_rework(failure):
            continue
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
