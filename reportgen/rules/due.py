"""Which areas a sheet has pages for, how many locations each needs, and what is still owed from before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.errors import QuantityError, RangeError, UsageError
from reportgen.metrology import sampling
from reportgen.metrology.tape import advised_grade, tape_scheme
from reportgen.results import Task
from reportgen.results.codes.profile import MEASURE_LOCATION_AGAIN, READ_OTHER_GRADE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.job import AreaPlan, Instrument, Job, Project, Sampling
    from reportgen.results import Evaluation, NonconformanceState

_PLAN_UNKNOWN: Final = 3
"""Locations offered where the plan's number cannot be computed, as for an area of unknown size."""


@dataclass(frozen=True, slots=True)
class AreaDue:
    """An area to measure: its locations, spots that need a further reading, and steps still to do.

    ``apparatus`` names those whose work lacks locations, where several worked on the area.
    ``open`` are the nonconformances that stand open on it, ``closes`` ids of those that a re-inspection is to close.
    """

    plan: AreaPlan
    locations: tuple[str, ...]
    owed: tuple[tuple[str, str], ...] = ()
    steps: tuple[Task, ...] = ()
    open: tuple[NonconformanceState, ...] = ()
    apparatus: tuple[str, ...] = ()
    closes: tuple[str, ...] = ()


def areas_due(job: Job, evaluation: Evaluation | None, wanted: Sequence[str]) -> list[AreaDue]:
    """Return the areas of a sheet in the order of the contract.

    Raises:
        UsageError: a wanted id that is no area of the contract.
    """
    plans = {area.id: area for structure in job.project.structures for area in structure.areas}
    for name in wanted:
        if name not in plans:
            raise UsageError(f"`{name}` is not an area of this contract", help_text="areas: " + ", ".join(plans))
    chosen = set(wanted) or _named(job, evaluation) or set(plans)
    return [_due(job, plan, evaluation) for plan in plans.values() if plan.id in chosen]


def _named(job: Job, evaluation: Evaluation | None) -> set[str]:
    named = {surface.area for surface in job.day.surfaces} | {entry.area for entry in job.day.not_inspected}
    return named | ({step.area for step in evaluation.measure_next} if evaluation else set())


def _due(job: Job, plan: AreaPlan, evaluation: Evaluation | None) -> AreaDue:
    steps = [step for step in evaluation.measure_next if step.area == plan.id] if evaluation else []
    owed, again = _owed(plan, steps, evaluation)
    left_open = open_nonconformances(evaluation).get(plan.id, ())
    count = required_locations(job.project.specification.sampling, plan)
    known = dict.fromkeys([place for place, _ in owed] + again)
    locations = (
        *known,
        *(str(number) for number in range(1, (count or _PLAN_UNKNOWN) + 1) if str(number) not in known),
    )
    apparatus = tuple(dict.fromkeys(step.apparatus for step in steps if step.apparatus is not None))
    closes = to_close(job, evaluation).get(plan.id, ()) if evaluation else ()
    return AreaDue(plan, locations, tuple(owed), tuple(steps), tuple(left_open), apparatus, closes)


def _owed(
    plan: AreaPlan, steps: Sequence[Task], evaluation: Evaluation | None
) -> tuple[list[tuple[str, str]], list[str]]:
    """Return the spots that need a reading on the other grade, and the locations to be measured again.

    A location that several apparatus have names two things, and none of them stands on a sheet by its name alone.
    """
    areas = evaluation.areas if evaluation else ()
    known = {location.id for area in areas if area.id == plan.id for location in area.locations}
    tasks = [step for step in steps if isinstance(step, Task) and step.place.location in known]
    spots = [(one.place.location or "", one.place.spot or "") for one in tasks if one.code == READ_OTHER_GRADE.name]
    return spots, [one.place.location or "" for one in tasks if one.code == MEASURE_LOCATION_AGAIN.name]


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

    They were raised before, are open as the evaluation sees them, and need rework; another disposition is closed by
    evidence of its decision.
    """
    found: dict[str, tuple[str, ...]] = {}
    for state in evaluation.nonconformances:
        earlier = state.raised_in != job.day.report.number
        if state.area is not None and state.status == "open" and state.disposition == "rework" and earlier:
            found[state.area] = (*found.get(state.area, ()), state.id)
    return found


def required_locations(plan: Sampling, area: AreaPlan) -> int | None:
    """Return how many locations the plan requires of one area worked with one apparatus; None where it cannot say."""
    try:
        return _required(plan, area)
    except (RangeError, QuantityError):
        return None


def _required(plan: Sampling, area: AreaPlan) -> int | None:
    if plan.locations is None or plan.plan in ("fixed", "per-shift-and-apparatus"):
        return plan.locations
    if plan.plan == "length-rate":
        if area.weld_length is None or plan.length is None:
            return None
        return sampling.locations_per_size(area.weld_length, plan.length, plan.locations)
    if area.size is None or plan.first_area is None:
        return None
    if plan.further_area is None or plan.further_locations is None:
        return sampling.locations_per_size(area.size, plan.first_area, plan.locations)
    return sampling.locations_by_area(
        area.size, plan.first_area, plan.locations, plan.further_area, plan.further_locations
    )


def first_grade(project: Project, gauge: tuple[str, Instrument] | None) -> str | None:
    """Return the grade to begin with for the specified range; None where nothing says."""
    profile = project.specification.profile
    unit = gauge[1].unit if gauge else None
    if unit is None or profile.overlap_rule is None or (profile.minimum is None and profile.maximum is None):
        return None
    return advised_grade(profile.minimum, profile.maximum, tape_scheme(profile.overlap_rule, unit)).grade
