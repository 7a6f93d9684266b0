"""What the next day file has of the steel of earlier shifts: left bare, to be blasted again, or the next part of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.results.codes.coating import NotPrimed, ToCoat
from reportgen.results.codes.follow_up import LeftOpen
from reportgen.rules.scene import JobView, as_evaluated
from reportgen.starter.template import written

if TYPE_CHECKING:
    from reportgen.job import Job, Surface
    from reportgen.results import Evaluation, Task
    from reportgen.rules.due import AreaDue

_REWORKED: Final = """
#    blasted_again: [{apparatus}]        # the apparatus whose steel this blasting went over
#    cleaned: {size}        # how much was blasted again; delete this line where it was all of it
#    # walk-outs bound what fails here too; without them it is all that `cleaned` says"""
"""What an entry of steel that is blasted again states of that."""
_NEXT_PART: Final = """
#    cleaned: {size}        # the next part of the area: how much of it was blasted"""
"""What an entry of the next part of an area states."""
_SAME_STEEL: Final = """
#    # bare since {number}: if it was not blasted again, leave these times, and copy from there its grade, its
#    # readings with date and offset, and its tests; then add when it was primed"""
"""What an entry of steel that was left bare is."""


def apparatus_due(job: Job, due: AreaDue) -> dict[str | None, Surface | None]:
    """Return whose entries an area is to have, with the last one of each: of what lacks something, else the last."""
    before = [surface for surface in job.day.surfaces if surface.area == due.plan.id]
    names: list[str | None] = [*due.apparatus] or [before[-1].apparatus if before else None]
    if due.open and due.apparatus:  # which of them failed, a nonconformance does not say
        names = [*(surface.apparatus for surface in before), *names]
    return {name: next((one for one in reversed(before) if name in (None, one.apparatus)), None) for name in names}


def entered_bare(job: Job, due: AreaDue, evaluation: Evaluation) -> list[tuple[Job, Surface]]:
    """Return the entries of the day on an area that are bare, did not fail, and have not stood too long."""
    view = as_evaluated(job, evaluation)
    decision = next((one.decision for one in evaluation.areas if one.id == due.plan.id), None)
    return [
        (job, surface.record) for area in view.areas for surface in area.surfaces
        if area.id == due.plan.id and surface.coated is None and decision != "rework" and not due.open
        and not any(_is_late(step, surface.record.apparatus, view.printed(surface.blasted[1])) for step in due.steps)
    ]  # fmt: skip


def left_bare(job: Job, due: AreaDue, evaluation: Evaluation) -> list[tuple[Job, Surface]]:
    """Return the steel of an area that is to be entered as it was, each with the report that has it.

    Of the day that is what is bare, did not fail, and has not stood too long; of earlier
    ones what is asked for. Each is there once.
    """
    view, found = as_evaluated(job, evaluation), entered_bare(job, due, evaluation)
    known = {surface.blasted for area in view.areas for surface in area.surfaces}
    told = [one for one in map(_told_steel, due.steps) if one is not None]
    views = [JobView(day, again={}) for day in job.earlier]
    for own, one in ((each, one) for each in views for one in each.job.day.surfaces):
        times = own.at(one.blasted.start), own.at(one.blasted.end)
        named = one.area == due.plan.id and (one.apparatus, view.printed(times[1])) in told
        if named and one.coated is None and times not in known:
            found.append((own.job, one))
            known.add(times)
    return found


def _is_late(step: Task, apparatus: str, ended: str | None = None) -> bool:
    """Whether a step says that what an apparatus blasted, until then if given, has stood bare too long."""
    if not isinstance(step.facts, NotPrimed):
        return False
    part = step.facts.part
    return part is None or (part.apparatus == apparatus and (None in (part.ended, ended) or part.ended == ended))


def _told_steel(step: Task) -> tuple[str, str] | None:
    """Return apparatus and end of the blasting, as printed, of the earlier steel that a step is of; None for others."""
    facts = step.facts
    if isinstance(facts, ToCoat) and len(facts.bare) == 1 and facts.bare[0].ended is not None:
        return facts.bare[0].apparatus, facts.bare[0].ended
    return (facts.apparatus, facts.end) if isinstance(facts, LeftOpen) else None


def stated_again(job: Job, due: AreaDue, evaluation: Evaluation, last: Surface | None) -> dict[str, str]:
    """Return what the entry of an area says of steel to be blasted again since the last shift: that, and how much.

    By its names in the template; how much, too, of the next part of an area; nothing of any other.
    """
    decision = next((one.decision for one in evaluation.areas if one.id == due.plan.id), None)
    if last is not None and (decision == "rework" or any(_is_late(step, last.apparatus) for step in due.steps)):
        return blasted_again(job, last)
    return {} if due.cleaned is None else {"again": _NEXT_PART.format(size=f"<2 {job.project.units.area}>")}


def blasted_again(job: Job, steel: Surface) -> dict[str, str]:
    """Return what the entry of steel that is blasted again says, by its names in the template."""
    return {"again": _REWORKED.format(apparatus=written(steel.apparatus), size=f"<2 {job.project.units.area}>")}


def same_steel(day: Job, one: Surface) -> dict[str, str]:
    """Return what the entry of steel left bare says, by its names in the template: its times with date and offset."""
    times = (day.clock.instant(clock).isoformat(timespec="minutes") for clock in (one.blasted.start, one.blasted.end))
    start, end = (f'"{time}"' for time in times)
    size = "" if one.cleaned is None else f"\n#    cleaned: {one.cleaned}"
    return {"start": start, "end": end, "again": _SAME_STEEL.format(number=day.day.report.number) + size}
