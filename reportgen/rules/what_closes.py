"""What is told of nonconformances as they stand after a report, and what closes those that are open."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from reportgen.measurements import MEASUREMENTS, TESTS
from reportgen.results import Word
from reportgen.results.codes import follow_up, profile, sampling
from reportgen.results.facts import Place
from reportgen.results.statements import statements_of
from reportgen.rules.anew import may_hide
from reportgen.rules.deciding import is_decided
from reportgen.rules.reinspection import Failure
from reportgen.rules.release import effect_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from reportgen.job import Job, Nonconformance
    from reportgen.results import Facts, Finding, NonconformanceState, Task
    from reportgen.results.codes.follow_up import ToClose
    from reportgen.results.statements import TaskCode
    from reportgen.rules.inspected import Inspected
    from reportgen.rules.nonconformances import Raised

    Known = Mapping[tuple[str, str | None], Raised]

PROFILE: Final = "profile"
KIND_OF: Final = {
    **{one.name: PROFILE for module in (profile, sampling) for one in statements_of(module)},
    **{one.name: kind.key for kind in MEASUREMENTS for one in kind.statements},
}
"""What a code is of; one that is not here (a doubt, an instrument, an order of times) may be of any."""


def raised_elsewhere(day: Inspected, earlier: Sequence[Inspected]) -> Iterator[Finding]:
    """Note each nonconformance said to be raised in a report that is not at hand: on what is not known."""
    known = {day.job.day.report.number, *(before.job.day.report.number for before in earlier)}
    for record in day.job.day.nonconformances:
        if record.raised_in is not None and record.raised_in not in known:
            facts = follow_up.RaisedIn(record.id, record.raised_in)
            yield follow_up.RAISED_ELSEWHERE.found(facts, Place(record.area))


def reopens(before: Raised, record: Nonconformance) -> bool:
    """Whether a later entry contradicts that a nonconformance is closed, or how; the same said again does not."""
    differs = record.status == "open" or record.disposition != before.record.disposition
    return before.status == "closed" and differs


def reopened(day: Inspected, earlier: Sequence[Inspected], closed: Known) -> Iterator[Finding]:
    """Find what earlier reports closed and this one enters as open, or decides otherwise: one of the two is wrong."""
    dates = {one.job.day.report.number: one.job.day.report.date.isoformat() for one in earlier}
    for record in day.job.day.nonconformances:
        raised = closed.get((record.id, record.area))
        if raised is not None and reopens(raised, record):
            report = str(raised.closed_by or raised.recorded)
            yield follow_up.REOPENED.found(follow_up.ClosedBefore(record.id, report, dates[report]), Place(record.area))


def closed_though_open(day: Inspected, known: Known) -> Iterator[Finding]:
    """Note what this report enters as open, and its own re-inspection closes."""
    number = day.job.day.report.number
    for record in day.job.day.nonconformances:
        if record.status == "open" and known[record.id, record.area].closed_by == number:
            facts = follow_up.WrittenOpen(record.id, number)
            yield follow_up.CLOSED_THOUGH_OPEN.found(facts, Place(record.area))


def is_judged_good(raised: Raised, day: Inspected) -> bool:
    """Whether a revision inspects what a nonconformance was written against, and nothing holds or fails of its kind.

    What it leaves out it does not judge: that nothing is found there says nothing. What the report before it had of
    that is for whoever has both.
    """
    kinds = {KIND_OF.get(code) for code in raised.record.findings}
    against = (
        one for one in day.findings
        if effect_of(one) in ("fails", "holds") and (not raised.areas or one.area in {None, *raised.areas})
    )  # fmt: skip
    if any(None in (kind := KIND_OF.get(one.code), *kinds) or kind in kinds for one in against):
        return False
    areas = {area.id: area for area in day.view.areas}
    tested = [kind for kind in TESTS if kind.key in kinds]
    return raised.areas <= areas.keys() and all(
        any(kind.entries_on(one.record) for one in areas[name].surfaces) for name in raised.areas for kind in tested
    )


def raised_in_error(day: Inspected, known: Known) -> Iterator[Finding]:
    """Note what is closed as a revision does not find it: something was misread in the report that it replaces."""
    for record in day.job.day.nonconformances:
        raised = known[record.id, record.area]
        if raised.in_error and raised.status == "closed":
            told = record.id, tuple(record.findings), str(record.evidence).rstrip(".")
            here = raised.report == day.job.day.report.number
            facts = follow_up.InError(*told) if here else follow_up.FoundNoMore(*told, raised.report)
            yield follow_up.RAISED_IN_ERROR.found(facts, Place(record.area))


def decided_elsewhere(day: Inspected, earlier: Sequence[Inspected], known: Known) -> Iterator[Finding]:
    """Find what was decided here on areas that are not inspected here: it closes nothing, and none is released by it.

    Where the entry of one was begun, the decision is early and not misplaced.
    """
    last = {area.id: before.job.day.report.number for before in earlier for area in before.view.areas}
    for record in day.job.day.nonconformances:
        raised = known[record.id, record.area]
        for area in raised.undecided if raised.status == "open" else ():
            if area not in raised.begun:
                facts = follow_up.DecidedElsewhere(record.id, Word("disposition", record.disposition), last.get(area))
                yield follow_up.DECIDED_ELSEWHERE.found(facts, Place(area))


def open_finding(state: NonconformanceState, raised: Raised) -> Finding:
    """Return that a nonconformance is open, and why, whatever it is written as."""
    disposition = Word("disposition", state.disposition)
    why: Facts = follow_up.ClosedOnPaper(state.id, disposition)
    if raised.record.status == "open":
        why = follow_up.StillOpen(state.id, state.raised_in, disposition, raised.refused)
    elif raised.barred is not None:
        by = {"inspector": follow_up.ClosedByInspector, "contractor": follow_up.ClosedByContractor}
        why = by[raised.barred](state.id, disposition)
    elif raised.refused is not None:
        why = follow_up.ClosedTooEarly(state.id, raised.refused)
    elif raised.undecided:
        why = follow_up.ClosedElsewhere(state.id, disposition, str(raised.recorded), raised.undecided)
        if raised.begun.issuperset(raised.undecided):
            why = follow_up.ClosedBeforeEntry(state.id, disposition, raised.undecided)
    elif raised.is_unseen:
        why = follow_up.ClosedUnseen(state.id, disposition)
    return replace(follow_up.OPEN.found(why, Place(state.area)), nonconformance=state.id)


def to_close(state: NonconformanceState, raised: Raised, report: str, *, entered: bool) -> Task:
    """Return what closes a nonconformance; not ``entered`` is a re-inspection that passes and does not name it."""
    facts = follow_up.ToClose(
        state.id, Word("disposition", state.disposition), state.description.rstrip("."), state.corrective_action,
        None if state.raised_in == report else state.raised_in, raised.refused,
    )  # fmt: skip
    decided = _by_decision(raised)
    if raised.undecided and raised.barred is None:
        facts = replace(facts, areas=raised.undecided)
    if state.disposition != "repair" and raised.unfound and state.raised_in == report:
        decided = follow_up.CLOSE_AS_ERROR if raised.good else follow_up.ENTER_WHAT_FAILED
        facts = replace(facts, refused=None)
    elif state.disposition == "rework":
        decided = follow_up.INSPECT_AGAIN
        if not entered and not isinstance(raised.refused, follow_up.AsIssued):  # naming it there undoes no revision
            decided, facts = follow_up.ENTER_REINSPECTION, replace(facts, refused=None)
    return decided.due(facts, Place(state.area))


def _by_decision(raised: Raised) -> TaskCode[ToClose]:
    """Return what closes a nonconformance by its decision."""
    if raised.barred is not None:
        ways = {"inspector": follow_up.HAVE_DECIDED, "contractor": follow_up.HAVE_CLIENT_DECIDE}
        return ways[raised.barred]
    if raised.undecided:
        return follow_up.FINISH_ENTRY if raised.begun.issuperset(raised.undecided) else follow_up.DECIDE_THERE
    seen_first = raised.is_unseen and is_decided(raised.record)
    return follow_up.INSPECT_REPAIRED if seen_first else follow_up.BRING_EVIDENCE


def raised_by(record: Nonconformance, failures: Iterable[Failure], day: Inspected) -> tuple[Job, ...]:
    """Return the reports whose findings a new nonconformance is written against, and that which raises it."""
    here = [day.job] if record.raised_in in (None, day.job.day.report.number) else []
    found = {id(job): job for job in (*here, *(failure.view.job for failure in failures))}
    return tuple(found.values())


def raised_on(record: Nonconformance, job: Job, covered: Sequence[Finding]) -> frozenset[str]:
    """Return the areas a nonconformance concerns: its own; else those of its findings, or all, as they say."""
    if record.area is not None:
        return frozenset({record.area})
    areas = {finding.area for finding in covered}
    if None in areas:
        areas |= {surface.area for surface in job.day.surfaces}
    return frozenset(area for area in areas if area is not None)


def unseen(record: Nonconformance, seen: Sequence[Finding], day: Inspected) -> list[Failure]:
    """Return what a nonconformance says was found in its report and no rule found, as of all steel of its area.

    Of another report, which is not at hand here, nothing is known.
    """
    if record.raised_in not in (None, day.job.day.report.number):
        return []
    surfaces = day.job.day.surfaces
    again = any(record.area in (None, surfaces[index].area) for index in day.view.again)
    view = day.view.as_replaced() if again else day.view
    found_codes = {finding.code for finding in seen}.union(*map(may_hide, seen))
    return [Failure(code, record.area, None, view, found=False) for code in record.findings if code not in found_codes]
