"""Nonconformances: which finding each covers, what it originally saw, and what closes it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Final

from reportgen.names import perhaps_one, spelling
from reportgen.results import NonconformanceState, Outcome, Word
from reportgen.results.codes import follow_up
from reportgen.results.codes.follow_up import NotTheirs
from reportgen.results.facts import Place
from reportgen.rules.reinspection import Failure, found_again, on_the_same_steel, why_not_reworked
from reportgen.rules.release import accepted_ids, effect_of
from reportgen.rules.scene import JobView, at_hand, replaced_surfaces

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from reportgen.job import Job, Nonconformance
    from reportgen.job.project import Person
    from reportgen.results import Facts, Finding, Task
    from reportgen.results.codes.follow_up import NotClosed, NotReworked

DECIDED_ON_PAPER = frozenset({"use-as-is", "repair", "reject"})
"""Dispositions that a decision with evidence closes; rework is closed only by a re-inspection that passes."""

ACCEPTING = frozenset({"use-as-is", "repair"})
"""Dispositions that leave steel off the specification: these are never the inspector's to decide, who finds."""

_INSPECTS: Final = re.compile(r"inspe[ck]tor|\binsp\b")
"""What of a role, in small letters, says that it is an inspector's: free text, so common spellings and no more."""


@dataclass(frozen=True, slots=True)
class _Raised:
    """A nonconformance as last written down, with the report that raised it and the values that it saw.

    ``areas`` are those that it was raised on, ``again`` those of them that passed a re-inspection since. ``failures``
    are what it was written against, and what was found of the same since; ``refused`` says why the last report that was
    to close it does not. ``inspector`` is that of the report which raised it, where that is at hand.
    """

    record: Nonconformance
    report: str
    original: tuple[Finding, ...]
    by_inspector: bool
    areas: frozenset[str]
    failures: tuple[Failure, ...]
    seen: tuple[Finding, ...]
    again: frozenset[str] = frozenset()
    closed_by: str | None = None
    refused: NotClosed | None = None
    inspector: Person | None = None


@dataclass(frozen=True)
class Inspected:
    """One day as the rules found it: its findings, those on steel blasted again in it, and the areas that passed."""

    view: JobView
    findings: Sequence[Finding]
    formerly: Sequence[Finding]
    passed: frozenset[str]

    @property
    def job(self) -> Job:
        """The day."""
        return self.view.job

    @cached_property
    def failures(self) -> list[tuple[Finding, Failure]]:
        """Every finding as a failure of this report."""
        before = JobView(self.job, replaced=True, edition=self.view.edition)
        return [
            (one, Failure(one.code, one.area, one.location, view))
            for found_here, view in ((self.findings, self.view), (self.formerly, before))
            for one in found_here
        ]


class _Carried:
    """What is known of the nonconformances after each day, and the failing findings that none was written against.

    ``known`` is by number and area: one number on two areas is two nonconformances, and neither closes the other.
    ``covering`` has the key of what covers each failure of the last day, in their order.
    """

    def __init__(self) -> None:
        self.known: dict[tuple[str, str | None], _Raised] = {}
        self.uncovered: list[tuple[Finding, Failure]] = []
        self.covering: list[tuple[str, str | None] | None] = []

    def take(self, day: Inspected) -> None:
        """Add a day: what it raises and changes, what failed in it, and what its re-inspections close."""
        before = {key for key, raised in self.known.items() if _status(raised) == "closed"}
        self._take_up(day)
        self._cover(day, before)
        self._add_failures(day)
        self._close(day)

    def linked(self, day: Inspected) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
        """Return the findings of the last day, and those on steel blasted again in it, with what covers each."""
        pairs = zip(day.failures, self.covering, strict=True)
        found = tuple(one if key is None else replace(one, nonconformance=key[0]) for (one, _), key in pairs)
        return found[: len(day.findings)], found[len(day.findings) :]

    def _take_up(self, day: Inspected) -> None:
        """Add or update the nonconformances of a day; what was originally seen is kept from the first time."""
        number = day.job.day.report.number
        for record in day.job.day.nonconformances:
            key = (record.id, record.area)
            before = self.known.get(key)
            inspector = _decided_by_inspector(day.job, record)
            if before is not None:
                refused = before.refused
                if record.status == "closed":
                    refused = _not_theirs(before, day.job) or (None if isinstance(refused, NotTheirs) else refused)
                stays = {  # what a later day does not state again
                    name: getattr(before.record, name)
                    for name in ("due", "responsible")
                    if getattr(record, name) is None
                }
                self.known[key] = replace(
                    before, record=record.model_copy(update=stays), by_inspector=inspector, refused=refused
                )
                continue
            here = [] if record.raised_in not in (None, number) else day.failures
            covered = [*self._still_uncovered(record, day), *(one for one in here if _covers(record, one[0]))]
            seen = tuple(finding for finding, _ in covered)
            failures = (*(failure for _, failure in covered), *_unseen(record, seen, day))
            on = _raised_on(record, day.job, seen)
            own = record.raised_in in (None, number)
            person = day.job.project.people[day.job.day.report.inspector] if own else None
            self.known[key] = _Raised(
                record, record.raised_in or number, seen, inspector, on, failures, seen, inspector=person
            )
            self.uncovered = [pair for pair in self.uncovered if not _covers(record, pair[0])]

    def _cover(self, day: Inspected, closed_before: set[tuple[str, str | None]]) -> None:
        """Say what covers each failure of a day: what is of its area before what is of the whole report."""
        named = {(record.id, record.area) for record in day.job.day.nonconformances}
        able = sorted(
            ((key, raised) for key, raised in self.known.items() if key not in closed_before or key in named),
            key=lambda pair: pair[0][1] is None,
        )
        self.covering = [
            next((key for key, raised in able if _still_covers(raised, finding, failure, day)), None)
            for finding, failure in day.failures
        ]

    def _still_uncovered(self, record: Nonconformance, day: Inspected) -> list[tuple[Finding, Failure]]:
        """Return what failed before and a new nonconformance covers; of steel reworked since only if nothing else."""
        before = [pair for pair in self.uncovered if _covers(record, pair[0])]
        if not any(_covers(record, finding) for finding, _ in day.failures):
            return before
        areas = {area.id: area for area in day.view.areas}
        return [
            (finding, failure)
            for finding, failure in before
            if (area := areas.get(failure.area or "")) is None or why_not_reworked(failure, day.view, area) is not None
        ]

    def _add_failures(self, day: Inspected) -> None:
        """Add what failed on a day to the open nonconformance that covers it, and the rest to the uncovered."""
        for (finding, failure), key in zip(day.failures, self.covering, strict=True):
            if key is not None:
                raised = self.known[key]
                if _status(raised) == "open" and failure not in raised.failures:
                    self.known[key] = replace(
                        raised, failures=(*raised.failures, failure), seen=(*raised.seen, finding)
                    )
            elif effect_of(finding) == "fails" and finding.area is not None and failure.view is day.view:
                self.uncovered.append((finding, failure))

    def _close(self, day: Inspected) -> None:
        """Mark as closed what re-inspections were to close, once every area that it was raised on passed one."""
        for index, surface in enumerate(day.job.day.surfaces):
            for key, raised in self.known.items():
                concerned = surface.area in raised.areas or not raised.areas
                if key[0] in surface.reinspects and concerned and surface.area in day.passed:
                    self.known[key] = _inspected_again(raised, day, index)


def _inspected_again(raised: _Raised, day: Inspected, index: int) -> _Raised:
    """Return a nonconformance after a re-inspection that passed: closed, or why that is not of reworked steel."""
    name = day.job.day.surfaces[index].area
    area = next(one for one in day.view.areas if one.id == name)
    failures = [failure for failure in raised.failures if failure.area in (None, name)]
    reasons = (_not_theirs(raised, day.job), *(why_not_reworked(failure, day.view, area) for failure in failures))
    refused = next((reason for reason in reasons if reason is not None), None)
    if refused is not None:
        return replace(raised, refused=refused)
    again = raised.again | {name}
    closed_by = day.job.day.report.number if raised.areas <= again else None
    return replace(raised, again=again, closed_by=closed_by, refused=None)


def _not_theirs(raised: _Raised, job: Job) -> NotTheirs | None:
    """Return why an inspector does not close what another raised: who may not revise that report closes it neither."""
    person = job.project.people[job.day.report.inspector]
    if raised.inspector is None or person.answers_for(raised.inspector):
        return None
    return NotTheirs(str(person.name), raised.report)


def _unseen(record: Nonconformance, seen: Sequence[Finding], day: Inspected) -> list[Failure]:
    """Return what a nonconformance says was found in its report and no rule found, as of all steel of its area.

    Of another report, which is not at hand here, nothing is known.
    """
    if record.raised_in not in (None, day.job.day.report.number):
        return []
    surfaces = day.job.day.surfaces
    again = any(record.area in (None, surfaces[index].area) for index in replaced_surfaces(day.job.day))
    view = JobView(day.job, replaced=True, edition=day.view.edition) if again else day.view
    found_codes = {finding.code for finding in seen}
    return [Failure(code, record.area, None, view) for code in record.findings if code not in found_codes]


def day_evaluations(job: Job, inspect_alone: Callable[[Job, Sequence[Inspected]], Inspected]) -> list[Inspected]:
    """Inspect the earlier days that count, oldest first: those that raise or re-inspect, or share an area.

    Each is inspected with those before it at hand, for what their logs say of steel that it enters again. Of several
    revisions of one report only the last counts.
    """
    areas = {surface.area for surface in job.day.surfaces}
    inspected: list[Inspected] = []
    for earlier in at_hand(job)[:-1]:
        if _concerned(earlier, areas):
            inspected.append(inspect_alone(earlier, inspected))
    return inspected


def _concerned(earlier: Job, areas: set[str]) -> bool:
    surfaces = earlier.day.surfaces
    return bool(earlier.day.nonconformances) or any(one.reinspects or one.area in areas for one in surfaces)


@dataclass(frozen=True, slots=True)
class Followed:
    """What nonconformances are after a report, with the findings of it and of what was blasted again linked to them.

    ``earlier`` are the days before it with their findings linked, ``accepted`` the nonconformances of any of them that
    are closed with a decision that lets the steel stay.
    """

    outcome: Outcome[NonconformanceState]
    findings: tuple[Finding, ...]
    formerly: tuple[Finding, ...]
    earlier: tuple[Inspected, ...]
    accepted: frozenset[str]


def followed(day: Inspected, earlier: Sequence[Inspected]) -> Followed:
    """Carry nonconformances forward and state each as it stands after this report.

    Parameters:
        day: the day of the report; it passed where its rules found nothing against release.
        earlier: the days before it that count, oldest first.
    Returns:
        States of all nonconformances that are new, changed or open, findings about the open ones, and about what failed
        before and is covered by none.
    """
    carried = _Carried()
    linked = []
    for before in earlier:
        carried.take(before)
        linked.append(replace(before, findings=carried.linked(before)[0]))
    closed = {name for name, raised in carried.known.items() if _status(raised) == "closed"}
    carried.take(day)
    named = {(record.id, record.area) for record in day.job.day.nonconformances}
    shown = [name for name in carried.known if name not in closed or name in named]
    states = tuple(_state(carried.known[name]) for name in shown)
    still_open = [state for state in states if state.status == "open"]
    number = day.job.day.report.number
    outcome = Outcome(
        states,
        (
            *(_open_finding(state, carried.known[state.id, state.area]) for state in still_open),
            *_failed_earlier(day, [failure for _, failure in carried.uncovered]),
        ),
        measure_next=tuple(_to_close(state, carried.known[state.id, state.area], number) for state in still_open),
    )
    accepted = accepted_ids(_state(raised) for raised in carried.known.values())
    return Followed(outcome, *carried.linked(day), tuple(linked), frozenset(accepted))


def _failed_earlier(day: Inspected, failures: Sequence[Failure]) -> Iterator[Finding]:
    """Find the areas that failed in an earlier report, with no nonconformance, and are not shown to be reworked."""
    told: dict[tuple[str, str, str], NotReworked] = {}
    for area in day.view.areas:
        for failure in failures:
            reason = why_not_reworked(failure, day.view, area) if failure.area == area.id else None
            if reason is not None and failure.view is not day.view:
                told.setdefault((area.id, failure.code, failure.view.job.day.report.number), reason)
    for (name, _, _), reason in told.items():
        yield follow_up.FAILED_EARLIER.found(follow_up.FailedBefore(reason), Place(name))


def _decided_by_inspector(job: Job, record: Nonconformance) -> bool:
    """Whether steel off the specification was accepted by an inspector, this one or another, under whatever role."""
    people, report = job.project.people, job.day.report
    decided = people[record.decided_by]
    inspects = _INSPECTS.search(decided.role.lower()) is not None or spelling(decided.name) is None
    names = [one.name for key, one in people.items() if key == report.inspector or _INSPECTS.search(one.role.lower())]
    inspects = inspects or any(perhaps_one(decided.name, name) for name in names)
    return inspects and record.disposition in ACCEPTING


def _raised_on(record: Nonconformance, job: Job, covered: Sequence[Finding]) -> frozenset[str]:
    """Return the areas a nonconformance concerns: its own; else those of its findings, or all, as they say."""
    if record.area is not None:
        return frozenset({record.area})
    areas = {finding.area for finding in covered}
    if None in areas:
        areas |= {surface.area for surface in job.day.surfaces}
    return frozenset(area for area in areas if area is not None)


def _covers(record: Nonconformance, finding: Finding) -> bool:
    """Whether a nonconformance was written against a finding: its code, and its area where it names one."""
    return finding.code in record.findings and record.area in (None, finding.area)


def _still_covers(raised: _Raised, finding: Finding, failure: Failure, day: Inspected) -> bool:
    """Whether a nonconformance covers a finding of a day: one of its own report, or one that is no other since.

    That is one of the steel that it was written against, as long as it is open, or of a re-inspection that is to close
    it; after that only what was found there, at the same place. What is found on steel blasted since is another.
    """
    if not _covers(raised.record, finding):
        return False
    if raised.report == day.job.day.report.number:
        return True
    if finding.area is not None and raised.areas and finding.area not in raised.areas:
        return False
    if _status(raised) == "closed":  # what it was closed upon, and nothing worse or other at the same place
        same = any((finding.code, finding.facts) == (one.code, one.facts) for one in raised.seen)
        return same and any(found_again(failure, one) for one in raised.failures)
    again = (raised.record.id in one.reinspects and finding.area in (None, one.area) for one in day.job.day.surfaces)
    return any(again) or any(on_the_same_steel(failure, one) for one in raised.failures)


def _status(raised: _Raised) -> str:
    on_paper = raised.record.disposition in DECIDED_ON_PAPER and not raised.by_inspector
    decided = raised.record.status == "closed" and on_paper and not isinstance(raised.refused, NotTheirs)
    return "closed" if decided or raised.closed_by is not None else "open"


def _state(raised: _Raised) -> NonconformanceState:
    record = raised.record
    return NonconformanceState(
        record.id, record.area, tuple(record.findings), record.description, record.disposition, record.decided_by,
        "closed" if _status(raised) == "closed" else "open", raised.report, record.corrective_action, record.evidence,
        raised.original, raised.closed_by, None if record.due is None else record.due.isoformat(), record.responsible,
    )  # fmt: skip


def _open_finding(state: NonconformanceState, raised: _Raised) -> Finding:
    return replace(follow_up.OPEN.found(_why_open(state, raised), Place(state.area)), nonconformance=state.id)


def _why_open(state: NonconformanceState, raised: _Raised) -> Facts:
    disposition = Word("disposition", state.disposition)
    if raised.record.status == "open":
        return follow_up.StillOpen(state.id, state.raised_in, disposition, raised.refused)
    if raised.by_inspector:
        return follow_up.ClosedByInspector(state.id, disposition)
    if raised.refused is not None:
        return follow_up.ClosedTooEarly(state.id, raised.refused)
    return follow_up.ClosedOnPaper(state.id, disposition)


def _to_close(state: NonconformanceState, raised: _Raised, report: str) -> Task:
    facts = follow_up.ToClose(
        state.id, Word("disposition", state.disposition), state.description.rstrip("."), state.corrective_action,
        None if state.raised_in == report else state.raised_in, raised.refused,
    )  # fmt: skip
    decided = follow_up.HAVE_DECIDED if raised.by_inspector else follow_up.BRING_EVIDENCE
    code = follow_up.INSPECT_AGAIN if state.disposition == "rework" else decided
    return code.due(facts, Place(state.area))


def uncovered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Find the failing findings that no nonconformance covers: one for each code and area."""
    missing = dict.fromkeys(
        (finding.area, finding.code)
        for finding in findings
        if finding.severity == "nonconformance" and finding.nonconformance is None
    )
    return tuple(follow_up.MISSING.found(follow_up.Uncovered(code), Place(area)) for area, code in missing)
