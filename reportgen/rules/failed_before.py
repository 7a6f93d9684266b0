"""What failed in an earlier report and is on the steel still: failed as long as nothing undoes it, or accepted.

An area stays as it failed until it is inspected after rework, whether a report inspects it or does not name it. What
was accepted stays on an area that a later report inspects, beside whatever else that enters: it is released by the
decision, and does not conform by that.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.results import Outcome, Word
from reportgen.results.codes import follow_up as codes
from reportgen.results.facts import Place
from reportgen.rules.reinspection import why_failed_still
from reportgen.rules.release import effect_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.results import Finding
    from reportgen.rules.inspected import Inspected
    from reportgen.rules.nonconformances import Followed
    from reportgen.rules.reinspection import Failure


def failed_before(day: Inspected, follow: Followed) -> Outcome[None]:
    """Find the areas that failed in an earlier report, with no nonconformance, and are not shown to be reworked."""
    areas = [area.id for area in day.view.areas]
    told: dict[tuple[str, str, str], codes.FailedBefore] = {}
    for failure in (one for one in follow.failed if one.view.job is not day.job):
        reason, report = _why_still(failure, day, follow), failure.view.job.day.report.number
        if failure.area is not None and reason is not None:
            facts = codes.FailedBefore(reason, None if failure.left_out_by is None else report, failure.left_out_by)
            told.setdefault((failure.area, failure.code, report), facts)
    order = [*areas, *(area.id for structure in day.job.project.structures for area in structure.areas)]
    order += sorted({name for name, _, _ in told}.difference(order))  # an area may have left the project file
    ordered = sorted(told.items(), key=lambda item: order.index(item[0][0]))
    found = [(facts, Place(name)) for (name, _, _), facts in ordered]
    tasks = tuple(codes.INSPECT_REWORKED.due(facts, place) for facts, place in found)
    return Outcome((), tuple(codes.FAILED_EARLIER.found(*one) for one in found), measure_next=tasks)


def _why_still(failure: Failure, day: Inspected, follow: Followed) -> codes.NotClosed | None:
    """Return why a report does not undo what failed before; None where it does."""
    area = next((one for one in day.view.areas if one.id == failure.area), None)
    absent = codes.NotInspected if day.view.knows(str(failure.area)) else codes.NotPlanned
    if area is None:
        return absent(failure.stated)
    return why_failed_still(failure, day.view, area, follow.about.get(failure, ()))


def accepted_before(day: Inspected, follow: Followed) -> Outcome[None]:
    """Find what failed before on areas inspected here and was accepted, where this report does not find it itself."""
    areas = [area.id for area in day.view.areas]
    own = {(one.code, one.area, one.nonconformance) for one in follow.findings}
    kept = [
        (state, failure)
        for state, failure in follow.kept
        if failure.view.job is not day.job
        and failure.area in areas
        and (failure.code, failure.area, state.id) not in own
    ]
    findings = dict.fromkeys(
        replace(
            codes.ACCEPTED_EARLIER.found(
                codes.AcceptedBefore(state.id, Word("disposition", state.disposition), failure.stated),
                Place(failure.area),
            ),
            nonconformance=state.id,
        )
        for state, failure in kept
    )
    return Outcome((), tuple(findings))


def uncovered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Find the failing findings that no nonconformance covers: one for each code and area."""
    missing = dict.fromkeys(
        (finding.area, finding.code)
        for finding in findings
        if finding.severity == "nonconformance" and finding.nonconformance is None
    )
    return tuple(codes.MISSING.found(codes.Uncovered(code), Place(area)) for area, code in missing)


def successions(day: Inspected, earlier: Sequence[Inspected]) -> list[Finding]:
    """Note each area of which the inspector answers for what another found, as whose successor he was named."""
    return [
        codes.SUCCEEDED.found(
            codes.Succeeded(
                named.name, named.former, str(before.job.day.report.number), named.named_by, named.evidence
            ),
            Place(area),
        )
        for before in earlier
        if not before.job.may_be_undone_by(day.job.inspector)
        if (named := before.job.taken_over_by(day.job)) is not None
        for area in _concerned(day, before)
    ]  # fmt: skip


def _concerned(day: Inspected, before: Inspected) -> list[str]:
    """Return the areas that a report inspects, or decides on, of which one before it found or raised something."""
    found: set[str | None] = {one.area for one in before.findings if effect_of(one) != "none"}
    number = before.job.day.report.number
    found |= {one.area for one in before.job.day.nonconformances if one.raised_in in (None, number)}
    here = [area.id for area in day.view.areas]
    named = [one.area for one in day.job.day.nonconformances if one.area is not None]
    return [area for area in dict.fromkeys([*here, *named]) if found & {area, None}]
