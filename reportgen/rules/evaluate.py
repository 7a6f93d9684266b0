"""The order in which the rules are applied, and the evaluation put together from what they yield."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from reportgen.measurements import LOGS, MEASUREMENTS
from reportgen.results import CheckResult, Evaluation, LeftOut, ReportIdentity, Task
from reportgen.results.codes.coating import PREPARE_AGAIN
from reportgen.results.codes.follow_up import NOT_AS_ISSUED, RestsOn
from reportgen.rules.apparatus import joined_apparatus
from reportgen.rules.area_statistics import AreaStatistics, area_statistics, flagged
from reportgen.rules.blasted_again import blasted_again
from reportgen.rules.cleaned import cleaned_area, cleaned_findings
from reportgen.rules.coating import coated_without_release, coating_times, deadlines
from reportgen.rules.comparator import comparators
from reportgen.rules.doubts import doubts
from reportgen.rules.editions import NEWEST
from reportgen.rules.equipment import calibrations, certificates, tapes
from reportgen.rules.function_checks import function_checks
from reportgen.rules.gauges import gauge_checks, gauge_proofs
from reportgen.rules.hold_points import hold_points
from reportgen.rules.left_open import left_open_before
from reportgen.rules.locations import location_findings
from reportgen.rules.nonconformances import Inspected, day_evaluations, followed, uncovered
from reportgen.rules.not_taken import entries_not_taken
from reportgen.rules.order import order_of_the_day
from reportgen.rules.profile import AreaProfile, area_profile
from reportgen.rules.readings import MeasuredSurface, measured_surface
from reportgen.rules.release import (
    FindingsByArea,
    accepted_ids,
    area_result,
    effect_of,
    measured_nothing,
    not_inspected,
    report_verdict,
)
from reportgen.rules.replicas import replicas
from reportgen.rules.required_records import overdue, report_late, required_records, surface_records, told_released
from reportgen.rules.requirement import requirement_of
from reportgen.rules.rules import rules_applied
from reportgen.rules.sampling import Required, sampling_findings
from reportgen.rules.scene import AreaView, JobView, Stood, replaced_surfaces, scene_of
from reportgen.rules.walkout import walk_outs
from reportgen.rules.whereabouts import whereabouts

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.job import Job
    from reportgen.results import AreaResult, Finding, LocationResult, Outcome
    from reportgen.results.values import Bounded
    from reportgen.rules.editions import Edition


def evaluate(job: Job, *, at: dt.datetime | None = None, edition: Edition = NEWEST) -> Evaluation:
    """Evaluate a validated job: the same job gives the same evaluation everywhere and at any time.

    ``at``, an aware instant, is the present moment, and that of issue for a report, which embeds and signs it: while
    the shift lasts nothing is late yet that is due later in it. ``edition`` are the rules, for
    earlier days too.

    Raises:
        RangeError: for an entry that no rule can take, such as a reading below the film it includes.
    """
    earlier = day_evaluations(job, lambda day, before: _inspected_alone(day, at, before, edition))
    view = JobView(job, at, before=_stood(earlier), edition=edition)
    return _Evaluated(job, view).concluded(earlier, _formerly(job, at, edition), report_late(view, at))


@dataclass(frozen=True, slots=True)
class _AreaParts:
    """What the rules on the profile yield for one area."""

    profile: AreaProfile
    locations: tuple[LocationResult, ...]
    statistics: AreaStatistics
    required: Required
    bounds: tuple[Bounded, ...]
    findings: tuple[Finding, ...]
    measure_next: tuple[Task, ...]
    left_out: tuple[LeftOut, ...]


class _Evaluated:
    """Everything the rules yield on one day, before nonconformances and release."""

    def __init__(self, job: Job, view: JobView) -> None:
        self.job = job
        self.view = view
        self.requirement = requirement_of(view.specification.profile)
        proofs = gauge_proofs(view)
        measured = {area.id: _measured(view, area) for area in view.areas}
        asked = doubts(view)
        self.areas = [
            _area_parts(area_profile(view, area, self.requirement, measured[area.id], proofs, asked), view)
            for area in view.areas
        ]
        surfaces = [surface for several in measured.values() for surface in several]
        self.comparators = comparators(view, self.requirement)
        self.kinds: dict[str, Outcome[Any]] = {
            kind.key: kind.judge(getattr(view.specification, kind.limit_key), scene_of(view, kind, asked))
            for kind in MEASUREMENTS
        }
        self.coating = coating_times(view)
        self.record = (
            order_of_the_day(view), whereabouts(view), entries_not_taken(view), joined_apparatus(view), asked.outcome,
            replicas(view), surface_records(view), cleaned_findings(view), required_records(view),
        )  # fmt: skip
        self.checks: tuple[Outcome[CheckResult], ...] = (
            gauge_checks(view, surfaces, proofs), tapes(view), calibrations(view), certificates(view),
            function_checks(view), hold_points(view),
        )  # fmt: skip

    @property
    def outcomes(self) -> tuple[Outcome[Any], ...]:
        """Outcomes of the rules that look at the whole day, in the order of the report."""
        kinds = [self.kinds[kind.key] for kind in MEASUREMENTS if not kind.subject]
        checked = [self.kinds[kind.key] for kind in MEASUREMENTS if kind.subject]
        return (
            self.comparators, *kinds, self.coating, *self.record, *self.checks[:2], *checked, *self.checks[2:],
        )  # fmt: skip

    @property
    def found(self) -> list[Finding]:
        """All findings, those of the profile first."""
        found = [finding for area in self.areas for finding in area.findings]
        return [*found, *(finding for outcome in self.outcomes for finding in outcome.findings)]

    def concluded(
        self, earlier: Sequence[Inspected], formerly: Sequence[Finding], late: Sequence[Finding] = ()
    ) -> Evaluation:
        """Link nonconformances, decide on release, and put the evaluation together.

        ``formerly`` was found on steel that was blasted again: it is shown, and counts for nothing. ``late`` says that
        the report itself is.
        """
        view, found = self.view, self.found
        measured = FindingsByArea(found)
        clean = [area.profile.area.id for area in self.areas if _passes(area, measured)]
        inspected = Inspected(view, found, formerly, frozenset(clean))
        follow = followed(inspected, earlier)
        carried, left = follow.outcome, left_open_before(inspected, follow.earlier, follow.accepted)
        findings = (
            *follow.findings, *uncovered(follow.findings), *carried.findings, *left.findings,
            *(NOT_AS_ISSUED.found(RestsOn(name)) for name in self.job.not_as_issued),
        )  # fmt: skip
        by_area, accepted = FindingsByArea(findings), accepted_ids(carried.results)
        areas = (
            *(
                replace(_concluded_area(parts, by_area, accepted), cleaned=cleaned_area(view, parts.profile.area))
                for parts in self.areas
            ),
            *(not_inspected(view, entry, self.requirement.unit) for entry in self.job.day.not_inspected),
        )
        released = {area.id for area in areas if area.decision == "release"}
        coating = deadlines(view, self.coating.results, released)
        report = self.job.day.report
        kinds: dict[str, Any] = {key: outcome.results for key, outcome in self.kinds.items()}
        return Evaluation(
            report=ReportIdentity(report.number, report.revision, report.date.isoformat()),
            verdict=report_verdict(areas),
            areas=areas,
            comparators=self.comparators.results,
            checks=tuple(result for outcome in self.checks for result in outcome.results),
            coating_times=coating.results,
            nonconformances=carried.results,
            findings=(
                *findings,
                *coated_without_release(view, released),
                *told_released(view, released),
                *overdue(view, carried.results),
                *late,
                *blasted_again(view, follow.formerly),
            ),
            measure_next=self._measure_next((left, carried), coating, released),
            rules=rules_applied(view, self.requirement),
            not_evaluated=self._not_evaluated(),
            **kinds,
        )

    def _measure_next(
        self, carried: Sequence[Outcome[Any]], coating: Outcome[Any], released: set[str]
    ) -> tuple[Task, ...]:  # fmt: skip
        """Return everything to do, once each; first what may be coated now. Accepted steel is not prepared again."""
        steps: list[Task] = [*coating.measure_next]
        steps.extend(step for area in self.areas for step in area.measure_next)
        steps.extend(step for outcome in (*self.outcomes, *carried) for step in outcome.measure_next)
        again = {one for one in steps if isinstance(one, Task) and one.code == PREPARE_AGAIN.name}
        return tuple(dict.fromkeys(one for one in steps if one not in again or one.area not in released))

    def _not_evaluated(self) -> tuple[LeftOut, ...]:
        lines: list[LeftOut] = [line for outcome in self.outcomes for line in outcome.not_evaluated]
        lines.extend(line for area in self.areas for line in area.left_out)
        return tuple(dict.fromkeys(lines))


def _formerly(job: Job, at: dt.datetime | None, edition: Edition) -> list[Finding]:
    """Return what failed on steel that was blasted again."""
    if not replaced_surfaces(job.day):
        return []
    found = _Evaluated(job, JobView(job, at, replaced=True, edition=edition)).found
    return [finding for finding in found if finding.area is not None and effect_of(finding) == "fails"]


def _inspected_alone(
    job: Job, at: dt.datetime | None, before: Sequence[Inspected], edition: Edition
) -> Inspected:  # fmt: skip
    """Return an earlier day as it was found, without the nonconformances of the days ``before`` it."""
    alone = replace(job, earlier=())
    view, formerly = JobView(alone, at, before=_stood(before), edition=edition), _formerly(alone, at, edition)
    evaluation = _Evaluated(alone, view).concluded((), formerly)
    passed = frozenset(area.id for area in evaluation.areas if area.verdict == "conforms")
    return Inspected(view, evaluation.findings, formerly, passed)


def _stood(inspected: Sequence[Inspected]) -> list[Stood]:
    """Return earlier days with the areas whose logs of the shift left something open."""
    return [Stood(day.view, frozenset(_held_by_logs(day))) for day in inspected]


def _held_by_logs(day: Inspected) -> Iterator[str]:
    names = {one.name for kind in LOGS for one in kind.statements}
    for finding in day.findings:
        if finding.code in names and effect_of(finding) == "holds":
            yield from [area.id for area in day.view.areas] if finding.area is None else [finding.area]


def _passes(parts: _AreaParts, found: FindingsByArea) -> bool:
    """Whether nothing measured stands against an area, nonconformances aside."""
    effects = {effect_of(finding) for finding in found.of(parts.profile.area.id)}
    return bool(parts.profile.locations) and not effects & {"fails", "holds"}


def _concluded_area(parts: _AreaParts, found: FindingsByArea, accepted: set[str]) -> AreaResult:
    return area_result(
        parts.profile, parts.locations, parts.statistics, parts.required, found.indexed(parts.profile.area.id),
        accepted, parts.bounds, parts.left_out,
    )  # fmt: skip


def _measured(view: JobView, area: AreaView) -> list[MeasuredSurface]:
    surfaces = (measured_surface(view, surface) for surface in area.surfaces)
    return [measured for measured in surfaces if measured is not None]


def _area_parts(profile: AreaProfile, view: JobView) -> _AreaParts:
    """Apply the rules on the profile to one area."""
    locations, outlier = flagged(profile)
    places = location_findings(profile)
    required, sampled = sampling_findings(view, profile)
    walked = walk_outs(profile)
    return _AreaParts(
        profile,
        locations,
        area_statistics(profile),
        required,
        walked.results,
        (*places.findings, *outlier, *sampled.findings, *walked.findings),
        (*places.measure_next, *sampled.measure_next, *walked.measure_next),
        (*measured_nothing(profile.area), *(gap for gap in sampled.not_evaluated if isinstance(gap, LeftOut))),
    )
