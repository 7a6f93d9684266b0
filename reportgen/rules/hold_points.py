"""Hold points: no work begins before its hold point was released, and what waits for one is not released.

The last answer before the work counts. For the primer it must have come after the blasting: what was released before
that was other steel. A release of an earlier report counts for what is blasted later. One by the contractor, whose
work waits, is none; one of which nothing tells by whom it was is asked about until that is confirmed. A step that an
earlier report has, and the contract does not list, is one in every later report; what is bare on an area that a report
does not inspect waits as well.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.names import spelling, spelt_alike
from reportgen.results import CheckResult, Outcome, Place, Word
from reportgen.results.codes import records as codes

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.job import HoldPoint, HoldStep, Job
    from reportgen.results import Finding, Verdict
    from reportgen.rules.scene import JobView, SurfaceView


_BY_CONTRACTOR: Final = "released by the contractor"
_BY_UNKNOWN: Final = "said to be released"


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
    steel = {area.id: area.surfaces for area in view.areas}
    bare = {area: surfaces for area, surfaces in _bare_before(view).items() if area not in steel}
    every = ((area, step) for area in (*steel, *bare) for step in _steps(view, area))
    steps = ((area, step) for area, step in every if area in steel or step.before == "coating")
    found = [
        finding for area, step in steps
        for finding in dict.fromkeys(_surfaces(view, area, steel.get(area) or bare[area], step))
    ]  # fmt: skip
    todo = tuple(
        codes.HAVE_RELEASED.due(one.facts, one.place)
        for one in found
        if one.code == codes.HOLD_STANDS.name and isinstance(one.facts, codes.HoldNotReleased)
    )
    return Outcome(results, (*found, *_confirmed(view)), measure_next=todo)


def _confirmed(view: JobView) -> Iterator[Finding]:
    """Yield the releases of the day that were asked about, as nothing tells by whom they were, and confirmed."""
    inspected = [area.id for area in view.areas]
    for one in view.job.day.hold_points:
        if one.released is not None and one.confirmed and not _knows_who(view.job, one):
            places = [each for each in one.areas if each in inspected] if one.areas else [None]
            yield from _confirmed_at(view, one, places)


def _confirmed_at(view: JobView, one: HoldPoint, places: Sequence[str | None]) -> Iterator[Finding]:
    if _told(view, view.job, one, "released") != "released":
        return
    before = next((each.before for each in _contract(view) if spelt_alike(each.name, one.step)), one.before or "other")
    since = None if one.answered is None else view.printed(view.at(one.answered))
    said = Word("hold-state", _BY_UNKNOWN)
    facts = codes.HoldNotReleased(one.step, Word("held-work", before), said, since, view.project.who(one.by))
    yield from (codes.HOLD_CONFIRMED.found(facts, Place(area)) for area in places)


def covered_by_hold(view: JobView, area: str) -> bool:
    """Whether a step that stops work on an area was answered, so that it is known by whom and when.

    One that stops nothing says nothing of the work; one that was only asked for holds by itself.
    """
    answers = (one for step in _steps(view, area) for one in _answers(view, area, step))
    return any(one.state != "asked" for one in answers)


def _result(view: JobView, one: HoldPoint) -> CheckResult:
    states: dict[str, Verdict] = {
        "released": "conforms", "refused": "does not conform", "asked": "inconclusive", _BY_CONTRACTOR: "inconclusive",
        _BY_UNKNOWN: "inconclusive",
    }  # fmt: skip
    state = _told(view, view.job, one, "released" if one.released else "refused" if one.refused else "asked")
    asked = None if one.asked is None else view.printed(view.at(one.asked))
    answered = None if one.answered is None else view.printed(view.at(one.answered))
    by = view.project.who(one.by)
    recorded = codes.HoldRecorded(tuple(one.areas), Word("hold-state", state), asked, answered, by)
    before = next((step.before for step in _contract(view) if spelt_alike(step.name, one.step)), one.before)
    work = Word("held-work", before) if before in ("blasting", "coating") else None
    facts = codes.HoldPointChecked(recorded, codes.HoldDue(work))
    return codes.HOLD_POINT.of(one.step, facts, states[state], answered or asked)


def _contract(view: JobView) -> list[_Step]:
    stated: list[HoldStep] = view.specification.hold_points
    return [_Step(one.step, one.before, one.clause) for one in stated]


def _jobs(view: JobView) -> list[Job]:
    """Return the earlier reports at hand, oldest first, and that of the day."""
    return [*(stood.view.job for stood in view.before), view.job]


def _bare_before(view: JobView) -> dict[str, list[SurfaceView]]:
    """Return by area what earlier reports enter, each as the last says, and no primer with it."""
    last: dict[tuple[str, str, dt.datetime], SurfaceView] = {}
    for stood in view.before:
        for one in stood.view.surfaces:
            name = spelling(one.record.apparatus) or one.record.apparatus
            last[one.record.area, name, one.blasted[0]] = one
    found: dict[str, list[SurfaceView]] = {}
    for one in last.values():
        if one.coated is None and view.knows(one.record.area):
            found.setdefault(one.record.area, []).append(one)
    return found


def _steps(view: JobView, area: str) -> list[_Step]:
    """Return the steps that concern an area: those of the contract, and what this day or an earlier says of others."""
    steps = _contract(view)
    for one in (point for job in _jobs(view) for point in job.day.hold_points):
        about = not one.areas or area in one.areas
        if (
            about
            and one.before in ("blasting", "coating")
            and not any(spelt_alike(each.name, one.step) for each in steps)
        ):
            steps.append(_Step(one.step, one.before, None))
    return steps


def _surfaces(view: JobView, area: str, surfaces: Sequence[SurfaceView], step: _Step) -> Iterator[Finding]:
    answers = sorted(_answers(view, area, step))
    for surface in (one for one in surfaces if _begun_known(one, step)):
        begun, known = _work(surface, step, answers)
        given = [one for one in known if one.at <= (begun or view.moment)]
        if _is_released(given):
            continue
        yield _stopped(view, area, step, begun, given)


def _stopped(view: JobView, area: str, step: _Step, begun: dt.datetime | None, given: Sequence[_Answer]) -> Finding:
    """Return what is found of work that no release lets begin, or that only one does which is asked about."""
    asked = [one for one in given if one.state == _BY_UNKNOWN] if _is_released(given, believed=True) else []
    facts = _not_released(view, step, next(reversed(asked or given), None))
    if begun is None:
        code = codes.HOLD_DOUBTFUL if asked else codes.HOLD_STANDS
        return code.found(facts, Place(area), clause=step.clause)
    passed = codes.HOLD_DOUBTFUL if asked else codes.HOLD_PASSED
    return passed.found(codes.HoldPassed(facts), Place(area, time=view.printed(begun)), clause=step.clause)


def _begun_known(surface: SurfaceView, step: _Step) -> bool:
    """Whether it stands in the entry of an area when the work began that a step stops, or that it has not begun."""
    return surface.record.steel_known and not (step.before == "coating" and "coated" in surface.record.pending)


def _is_released(given: Sequence[_Answer], *, believed: bool = False) -> bool:
    """Whether the last answer releases, the contractor's aside; one by nobody known only where it is ``believed``."""
    aside = (_BY_CONTRACTOR,) if believed else (_BY_CONTRACTOR, _BY_UNKNOWN)
    states = [one.state for one in given if one.state not in aside]
    return states[-1:] in (["released"], [_BY_UNKNOWN])


def _not_released(view: JobView, step: _Step, last: _Answer | None) -> codes.HoldNotReleased:
    work = Word("held-work", step.before)
    if last is None:
        return codes.HoldNotReleased(step.name, work, Word("hold-state", "not asked"))
    by = view.project.who(last.by)
    return codes.HoldNotReleased(step.name, work, Word("hold-state", last.state), view.printed(last.at), by)


def _work(surface: SurfaceView, step: _Step, answers: list[_Answer]) -> tuple[dt.datetime | None, list[_Answer]]:
    """Return when the work on a surface began that a step stops, None where it has not, and the answers that count."""
    start, end = surface.blasted
    if step.before == "blasting":
        return start, answers
    return surface.coated, [one for one in answers if one.at >= end]


def _answers(view: JobView, area: str, step: _Step) -> Iterator[_Answer]:
    """Yield what was asked and answered of a step for an area, in this report and the earlier ones."""
    for job in _jobs(view):
        points = [one for one in job.day.hold_points if not one.areas or area in one.areas]
        for one in (point for point in points if spelt_alike(point.step, step.name)):
            clocks = (("asked", one.asked), ("released", one.released), ("refused", one.refused))
            yield from (
                _Answer(
                    job.clock.instant(clock), rank, _told(view, job, one, state), None if state == "asked" else one.by
                )
                for rank, (state, clock) in enumerate(clocks)
                if clock is not None
            )


def _told(view: JobView, job: Job, one: HoldPoint, state: str) -> str:
    """Return how a hold point was answered: the contractor does not release what his own work waits for."""
    by = one.by if state == "released" else None
    if by is None:
        return state
    if job.project.speaks_for_contractor(by) or view.job.as_told(job.project).speaks_for_contractor(by):
        return _BY_CONTRACTOR
    return state if one.confirmed or _knows_who(job, one) else _BY_UNKNOWN


def _knows_who(job: Job, one: HoldPoint) -> bool:
    present = (name.partition(",")[0] for name in job.day.report.present)
    return one.by is not None and job.project.knows_who(one.by, present)
