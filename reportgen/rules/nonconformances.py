"""Nonconformances: which finding each covers, what it originally saw, and what closes it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from reportgen.results import MeasureNext, NonconformanceState
from reportgen.results.codes import FINDING_CODES as OWN_CODES
from reportgen.rules.outcome import Outcome, found

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from reportgen.job import Job, Nonconformance
    from reportgen.results import Evaluation, Finding

DECIDED_ON_PAPER = frozenset({"use-as-is", "repair", "reject"})
"""Dispositions that a decision with evidence closes; rework is closed only by a re-inspection that passes."""

ACCEPTING = frozenset({"use-as-is", "repair"})
"""Dispositions that leave steel off the specification: these are never the inspector's to decide, who finds."""


@dataclass(frozen=True, slots=True)
class _Raised:
    """A nonconformance as last written down, with the report that raised it and the values that it saw.

    ``areas`` are those that it was raised on, ``again`` those of them that passed a re-inspection since.
    """

    record: Nonconformance
    report: str
    original: tuple[Finding, ...]
    by_inspector: bool
    areas: frozenset[str]
    again: frozenset[str] = frozenset()
    closed_by: str | None = None


_Known = dict[tuple[str, str | None], _Raised]
"""By number and area: one number on two areas is two nonconformances, and neither closes the other."""


def day_evaluations(job: Job, evaluate_alone: Callable[[Job], Evaluation]) -> list[tuple[Job, Evaluation]]:
    """Evaluate the earlier days that nonconformances need, oldest first: those that raise or re-inspect one.

    Of several revisions of one report only the last counts.
    """
    last: dict[str, Job] = {}
    for earlier in job.earlier:
        number = earlier.day.report.number
        if number not in last or last[number].day.report.revision <= earlier.day.report.revision:
            last[number] = earlier
    last.pop(job.day.report.number, None)
    return [(earlier, evaluate_alone(earlier)) for earlier in last.values() if _concerned(earlier)]


def _concerned(job: Job) -> bool:
    return bool(job.day.nonconformances) or any(surface.reinspects for surface in job.day.surfaces)


def followed(
    job: Job, findings: Sequence[Finding], passed: Iterable[str], earlier: Sequence[tuple[Job, Evaluation]]
) -> Outcome[NonconformanceState]:
    """Carry nonconformances forward and state each as it stands after this report.

    Parameters:
        job: the day.
        findings: everything the day's rules noticed.
        passed: areas whose rules found nothing against release.
        earlier: earlier days with their evaluations, oldest first.
    Returns:
        States of all nonconformances that are new, changed or open, and findings about the open ones.
    """
    known: _Known = {}
    for day, evaluation in earlier:
        clean = {area.id for area in evaluation.areas if area.verdict == "conforms"}
        _take_up(known, day, evaluation.findings)
        _close(known, day, clean)
    before = {name for name, raised in known.items() if _status(raised) == "closed"}
    _take_up(known, job, findings)
    _close(known, job, set(passed))
    named = {(record.id, record.area) for record in job.day.nonconformances}
    shown = [name for name in known if name not in before or name in named]
    states = tuple(_state(known[name]) for name in shown)
    still_open = [state for state in states if state.status == "open"]
    return Outcome(
        states,
        tuple(_open_finding(state, known[state.id, state.area]) for state in still_open),
        measure_next=tuple(_to_close(state) for state in still_open),
    )


def _take_up(known: _Known, job: Job, findings: Sequence[Finding]) -> None:
    """Add or update the nonconformances of one day; what was originally seen is kept from the first time."""
    number = job.day.report.number
    for record in job.day.nonconformances:
        key = (record.id, record.area)
        before = known.get(key)
        inspector = _decided_by_inspector(job, record)
        if before is None:
            covered = [finding for finding in findings if _covers(record, finding)]
            seen, on = tuple(covered), _raised_on(record, job, covered)
            known[key] = _Raised(record, record.raised_in or number, seen, inspector, on)
        else:
            known[key] = replace(before, record=record, by_inspector=inspector)


def _decided_by_inspector(job: Job, record: Nonconformance) -> bool:
    """Whether steel off the specification was accepted by an inspector, this one or another."""
    role = job.project.people[record.decided_by].role
    inspects = record.decided_by == job.day.report.inspector or "inspector" in role.lower()
    return inspects and record.disposition in ACCEPTING


def _raised_on(record: Nonconformance, job: Job, covered: Sequence[Finding]) -> frozenset[str]:
    """Return the areas a nonconformance concerns: its own; else those of its findings, or all, as they say."""
    if record.area is not None:
        return frozenset({record.area})
    areas = {finding.area for finding in covered}
    if None in areas:
        areas |= {surface.area for surface in job.day.surfaces}
    return frozenset(area for area in areas if area is not None)


def _close(known: _Known, job: Job, clean: set[str]) -> None:
    """Mark as closed what re-inspections were to close, once every area that it was raised on passed one."""
    for surface in job.day.surfaces:
        for key, raised in known.items():
            concerned = surface.area in raised.areas or not raised.areas
            if key[0] in surface.reinspects and concerned and surface.area in clean:
                again = raised.again | {surface.area}
                closed_by = job.day.report.number if raised.areas <= again else None
                known[key] = replace(raised, again=again, closed_by=closed_by)


def _covers(record: Nonconformance | NonconformanceState, finding: Finding) -> bool:
    """Whether a nonconformance was written against a finding: its code, and its area where it names one."""
    return finding.code in record.findings and record.area in (None, finding.area)


def _status(raised: _Raised) -> str:
    on_paper = raised.record.disposition in DECIDED_ON_PAPER and not raised.by_inspector
    decided = raised.record.status == "closed" and on_paper
    return "closed" if decided or raised.closed_by is not None else "open"


def _state(raised: _Raised) -> NonconformanceState:
    record = raised.record
    evidence = record.evidence
    if raised.closed_by is not None:
        evidence = evidence or f"re-inspection in {raised.closed_by} passed"
    return NonconformanceState(
        record.id, record.area, tuple(record.findings), record.description, record.disposition, record.decided_by,
        "closed" if _status(raised) == "closed" else "open", raised.report, record.corrective_action, evidence,
        raised.original,
    )  # fmt: skip


def _open_finding(state: NonconformanceState, raised: _Raised) -> Finding:
    observed = f"{state.id} raised in {state.raised_in}: {state.disposition}, open"
    if raised.record.status == "closed" and raised.by_inspector:
        observed = f"{state.id} is written as closed, but the inspector does not decide on {state.disposition}"
    elif raised.record.status == "closed":
        observed = f"{state.id} is written as closed, but no re-inspection that passes closes a {state.disposition}"
    finding = found("nonconformance-open", observed, "closed by a re-inspection or a decision", area=state.area)
    return replace(finding, nonconformance=state.id)


def _to_close(state: NonconformanceState) -> MeasureNext:
    action = f". {state.corrective_action}" if state.corrective_action else ""
    what = "inspect again" if state.disposition == "rework" else f"evidence of the decision `{state.disposition}`"
    return MeasureNext(state.area or "", f"{what} to close {state.id}", f"{state.description.rstrip('.')}{action}")


def linked(findings: Iterable[Finding], states: Sequence[NonconformanceState]) -> tuple[Finding, ...]:
    """Link every finding to the nonconformance that covers it: one for its area before one for the whole report."""
    by_code: dict[str, list[NonconformanceState]] = {}
    for state in sorted(states, key=lambda state: state.area is None):
        for code in state.findings:
            by_code.setdefault(code, []).append(state)
    result = []
    for finding in findings:
        covering = next((state for state in by_code.get(finding.code, ()) if _covers(state, finding)), None)
        result.append(finding if covering is None else replace(finding, nonconformance=covering.id))
    return tuple(result)


def uncovered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Find the failing findings that no nonconformance covers: one for each code and area."""
    missing = dict.fromkeys(
        (finding.area, finding.code)
        for finding in findings
        if finding.severity == "nonconformance" and finding.nonconformance is None
    )
    return tuple(
        found(
            "nonconformance-missing", f"no nonconformance covers {code}",
            OWN_CODES["nonconformance-missing"].rule, area=area,
        )
        for area, code in missing
    )  # fmt: skip
