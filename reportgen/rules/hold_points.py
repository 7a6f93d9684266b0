"""Hold points: no work begins before its hold point was released, and what waits for one is not released.

The last answer before the work counts. For the primer it must have come after the blasting: what was released before
that was other steel. A release of an earlier report counts for what is blasted later. One by the contractor, whose
work waits, is none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.names import spelt_alike
from reportgen.results import CheckResult, Outcome, Place, Word
from reportgen.results.codes import records as codes
from reportgen.rules.scene import at_hand

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from reportgen.job import HoldPoint, HoldStep, Job
    from reportgen.results import Finding, Verdict
    from reportgen.rules.scene import AreaView, JobView, SurfaceView


_BY_CONTRACTOR: Final = "released by the contractor"


class _Answer(NamedTuple):
    """One step of a hold point at an instant; at one instant a refusal comes last."""

    at: dt.datetime
    rank: int
    state: str
    by: str | None


class _Step(NamedTuple):
    """A step of the contract, or of the day, and the work that waits for it."""

    name: str
    before: str
    clause: str | None


def hold_points(view: JobView) -> Outcome[CheckResult]:
    """State each hold point of the day; find work begun past one, and what one still stops."""
    results = tuple(_result(view, one) for one in view.job.day.hold_points)
    steps = ((area, step) for area in view.areas for step in _steps(view, area.id))
    found = [finding for area, step in steps for finding in dict.fromkeys(_surfaces(view, area, step))]
    todo = tuple(
        codes.HAVE_RELEASED.due(one.facts, one.place) for one in found if isinstance(one.facts, codes.HoldNotReleased)
    )
    return Outcome(results, tuple(found), measure_next=todo)


def covered_by_hold(view: JobView, area: str) -> bool:
    """Whether any hold point of the day is about an area."""
    return any(not one.areas or area in one.areas for one in view.job.day.hold_points)


def _result(view: JobView, one: HoldPoint) -> CheckResult:
    states: dict[str, Verdict] = {
        "released": "conforms", "refused": "does not conform", "asked": "inconclusive", _BY_CONTRACTOR: "inconclusive",
    }  # fmt: skip
    state = _told(view.job, one, "released" if one.released else "refused" if one.refused else "asked")
    asked = None if one.asked is None else view.printed(view.at(one.asked))
    answered = None if one.answered is None else view.printed(view.at(one.answered))
    recorded = codes.HoldRecorded(tuple(one.areas), Word("hold-state", state), asked, answered, one.by)
    before = next((step.before for step in _contract(view) if spelt_alike(step.name, one.step)), one.before)
    work = Word("held-work", before) if before in ("blasting", "coating") else None
    facts = codes.HoldPointChecked(recorded, codes.HoldDue(work))
    return codes.HOLD_POINT.of(one.step, facts, states[state], answered or asked)


def _contract(view: JobView) -> list[_Step]:
    stated: list[HoldStep] = view.specification.hold_points
    return [_Step(one.step, one.before, one.clause) for one in stated]


def _steps(view: JobView, area: str) -> list[_Step]:
    """Return the steps that concern an area: those of the contract, and what the day says of others."""
    steps = _contract(view)
    for one in view.job.day.hold_points:
        about = not one.areas or area in one.areas
        if (
            about
            and one.before in ("blasting", "coating")
            and not any(spelt_alike(each.name, one.step) for each in steps)
        ):
            steps.append(_Step(one.step, one.before, None))
    return steps


def _surfaces(view: JobView, area: AreaView, step: _Step) -> Iterator[Finding]:
    answers = sorted(_answers(view, area.id, step))
    for surface in area.surfaces:
        begun, known = _work(surface, step, answers)
        given = [one for one in known if one.at <= (begun or view.moment)]
        if _is_released(given):
            continue
        last = given[-1] if given else None
        facts = _not_released(view, step, last)
        if begun is None:
            yield codes.HOLD_STANDS.found(facts, Place(area.id), clause=step.clause)
        else:
            place = Place(area.id, time=view.printed(begun))
            yield codes.HOLD_PASSED.found(codes.HoldPassed(facts), place, clause=step.clause)


def _is_released(given: list[_Answer]) -> bool:
    """Whether the last answer releases, what the contractor himself released aside."""
    states = [one.state for one in given if one.state != _BY_CONTRACTOR]
    return states[-1:] == ["released"]


def _not_released(view: JobView, step: _Step, last: _Answer | None) -> codes.HoldNotReleased:
    work = Word("held-work", step.before)
    if last is None:
        return codes.HoldNotReleased(step.name, work, Word("hold-state", "not asked"))
    return codes.HoldNotReleased(step.name, work, Word("hold-state", last.state), view.printed(last.at), last.by)


def _work(surface: SurfaceView, step: _Step, answers: list[_Answer]) -> tuple[dt.datetime | None, list[_Answer]]:
    """Return when the work on a surface began that a step stops, None where it has not, and the answers that count."""
    start, end = surface.blasted
    if step.before == "blasting":
        return start, answers
    return surface.coated, [one for one in answers if one.at >= end]


def _answers(view: JobView, area: str, step: _Step) -> Iterator[_Answer]:
    """Yield what was asked and answered of a step for an area, in this report and the earlier ones."""
    for job in at_hand(view.job):
        points = [one for one in job.day.hold_points if not one.areas or area in one.areas]
        for one in (point for point in points if spelt_alike(point.step, step.name)):
            clocks = (("asked", one.asked), ("released", one.released), ("refused", one.refused))
            yield from (
                _Answer(job.clock.instant(clock), rank, _told(job, one, state), None if state == "asked" else one.by)
                for rank, (state, clock) in enumerate(clocks)
                if clock is not None
            )


def _told(job: Job, one: HoldPoint, state: str) -> str:
    """Return how a hold point was answered: the contractor does not release what his own work waits for."""
    own = state == "released" and one.by is not None and job.project.speaks_for_contractor(one.by)
    return _BY_CONTRACTOR if own else state
