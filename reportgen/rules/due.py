"""Which areas a sheet has pages for, how many locations each needs, and what is still owed from before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.errors import QuantityError, RangeError, UsageError
from reportgen.metrology.tape import advised_grade, tape_scheme
from reportgen.results import Word
from reportgen.results.codes.profile import MEASURE_LOCATION_AGAIN, READ_OTHER_GRADE
from reportgen.rules.sampling import planned_locations

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from reportgen.job import AreaPlan, Instrument, Job, Project, Sampling
    from reportgen.results import AreaResult, Evaluation, NonconformanceState, Task
    from reportgen.results.values import Cleaned

_PLAN_UNKNOWN: Final = 3
"""Locations offered where the plan's number cannot be computed, as for an area of unknown size."""


@dataclass(frozen=True, slots=True)
class AreaDue:
    """An area to measure: its locations, spots that need a further reading, and steps still to do.

    ``apparatus`` names those whose work lacks locations, where several worked on the area.
    ``open`` are the nonconformances that stand open on it, ``closes`` ids of those that a re-inspection is to close.
    ``cleaned`` is how much of it was cleaned by now, where that is a part.
    """

    plan: AreaPlan
    locations: tuple[str, ...]
    owed: tuple[tuple[str, str], ...] = ()
    steps: tuple[Task, ...] = ()
    open: tuple[NonconformanceState, ...] = ()
    apparatus: tuple[str, ...] = ()
    closes: tuple[str, ...] = ()
    cleaned: Cleaned | None = None


def areas_due(job: Job, evaluation: Evaluation | None, wanted: Sequence[str]) -> list[AreaDue]:
    """Return the areas of a sheet in the order of the contract.

    Raises:
        UsageError: a wanted id that is no area of the contract.
    """
    plans = {area.id: area for structure in job.project.structures for area in structure.areas}
    for name in wanted:
        if name not in plans:
            raise UsageError(f"`{name}` is not an area of this contract", help_text="areas: " + ", ".join(plans))
    named = {surface.area for surface in job.day.surfaces} | {entry.area for entry in job.day.not_inspected}
    named |= set(job.begun)
    named |= {step.area for step in evaluation.measure_next} if evaluation else set()
    chosen = set(wanted) or named or set(plans)
    return [_due(job, plan, evaluation) for plan in plans.values() if plan.id in chosen]


def _due(job: Job, plan: AreaPlan, evaluation: Evaluation | None) -> AreaDue:
    count = required_locations(job.project.specification.sampling, plan) or _PLAN_UNKNOWN
    numbers = [str(number) for number in range(1, count + 1)]
    if evaluation is None:
        return AreaDue(plan, tuple(numbers))
    steps = tuple(step for step in evaluation.measure_next if step.area == plan.id)
    known = {location.id for area in evaluation.areas if area.id == plan.id for location in area.locations}
    owed = _places(steps, READ_OTHER_GRADE.name, known)
    again = _places(steps, MEASURE_LOCATION_AGAIN.name, known)
    return AreaDue(
        plan,
        tuple(dict.fromkeys([*(location for location, _ in owed + again), *numbers])),
        tuple(owed),
        steps,
        tuple(open_nonconformances(evaluation).get(plan.id, ())),
        tuple(dict.fromkeys(step.apparatus for step in steps if step.apparatus is not None)),
        to_close(job, evaluation).get(plan.id, ()),
        next((area.cleaned for area in evaluation.areas if area.id == plan.id and is_in_part(area)), None),
    )


def is_in_part(area: AreaResult) -> bool:
    """Whether only a part of an area was cleaned by now, as far as its sizes say."""
    cleaned = area.cleaned
    return cleaned is not None and cleaned.size is not None and cleaned.by_now.value < cleaned.size.value


def _places(steps: Sequence[Task], code: str, known: Collection[str]) -> list[tuple[str, str]]:
    """Return location and spot of the steps of a code at locations that are known by their name alone.

    A location that several apparatus have names two things, and none of them stands on a sheet by its name alone.
    """
    there = [step.place for step in steps if step.code == code]
    return [(place.location or "", place.spot or "") for place in there if place.location in known]


def open_nonconformances(evaluation: Evaluation | None) -> dict[str | None, list[NonconformanceState]]:
    """Return the nonconformances that stand open after a day, by area (None: no one area).

    What a day file says of one is not enough: a re-inspection that passes closes it, and only the evaluation knows.
    """
    found: dict[str | None, list[NonconformanceState]] = {}
    for state in evaluation.nonconformances if evaluation else ():
        if state.status == "open":
            found.setdefault(state.area, []).append(state)
    return found


def to_close(job: Job, evaluation: Evaluation) -> dict[str, tuple[str, ...]]:
    """Return by area the ids of the nonconformances that a re-inspection on this shift is to close.

    They were raised before, are open as the evaluation sees them, and need rework or repair; another disposition is
    closed by evidence of its decision.
    """
    found: dict[str, tuple[str, ...]] = {}
    for state in evaluation.nonconformances:
        earlier = state.raised_in != job.day.report.number
        if state.area is not None and state.status == "open" and state.disposition in {"rework", "repair"} and earlier:
            found[state.area] = (*found.get(state.area, ()), state.id)
    return found


def required_locations(plan: Sampling, area: AreaPlan) -> int | None:
    """Return how many locations the plan requires of one area worked with one apparatus; None where it cannot say."""
    if plan.plan == "per-shift-and-apparatus":
        return plan.locations
    try:
        planned = planned_locations(plan, area)
    except (RangeError, QuantityError):
        return None
    return None if isinstance(planned, Word) else planned[0]


def first_grade(project: Project, gauge: tuple[str, Instrument] | None) -> str | None:
    """Return the grade to begin with for the specified range; None where nothing says."""
    profile = project.specification.profile
    unit = gauge[1].unit if gauge else None
    if unit is None or profile.overlap_rule is None or (profile.minimum is None and profile.maximum is None):
        return None
    return advised_grade(profile.minimum, profile.maximum, tape_scheme(profile.overlap_rule, unit)).grade
