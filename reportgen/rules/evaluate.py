"""The order in which the rules are applied, and the evaluation put together from what they yield."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain
from typing import TYPE_CHECKING, Any

from reportgen.measurements import LOGS, MEASUREMENTS
from reportgen.results import CheckResult, Evaluation, LeftOut, ReportIdentity, Task
from reportgen.results.codes.follow_up import NOT_AS_ISSUED, RestsOn
from reportgen.rules.area_statistics import flagged
from reportgen.rules.blasted_again import blasted_again
from reportgen.rules.cleaned import cleaned_area, cleaned_findings
from reportgen.rules.coating import coated_without_release, coating_times, deadlines
from reportgen.rules.comparator import comparators
from reportgen.rules.comparison import comparisons
from reportgen.rules.doubts import doubts, entries_not_taken, joined_apparatus, under_other_areas
from reportgen.rules.editions import NEWEST
from reportgen.rules.equipment import calibrations, certificates, tapes
from reportgen.rules.failed_before import accepted_before, failed_before, successions, uncovered
from reportgen.rules.function_checks import function_checks
from reportgen.rules.gauges import gauge_checks, gauge_proofs
from reportgen.rules.hold_points import hold_points
from reportgen.rules.left_open import bounds_undecided, left_open_before
from reportgen.rules.locations import location_findings, other_methods
from reportgen.rules.nonconformances import (
    Inspected,
    day_evaluations,
    followed,
)
from reportgen.rules.order import order_of_the_day
from reportgen.rules.profile import AreaProfile, area_profile
from reportgen.rules.readings import measured_surface
from reportgen.rules.release import (
    AreaParts,
    FindingsByArea,
    area_result,
    begun,
    effect_of,
    measured_nothing,
    not_inspected,
    report_verdict,
)
from reportgen.rules.replicas import replicas
from reportgen.rules.required_records import overdue, report_late, required_records, surface_records, told_released
from reportgen.rules.requirement import requirement_of
from reportgen.rules.rules import rules_applied
from reportgen.rules.same_series import same_series
from reportgen.rules.sampling import sampling_findings
from reportgen.rules.scene import JobView, Stood, replaced_surfaces, scene_of
from reportgen.rules.unfinished import unfinished_entries
from reportgen.rules.walkout import walk_outs
from reportgen.rules.whereabouts import whereabouts

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from reportgen.job import Job
    from reportgen.results import AreaResult, Finding, Outcome
    from reportgen.rules.editions import Edition
    from reportgen.rules.release import Acceptance


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


class _Evaluated:
    """Everything the rules yield on one day, before nonconformances and release."""

    def __init__(self, job: Job, view: JobView) -> None:
        self.job = job
        self.view = view
        self.requirement = requirement_of(view.specification.profile)
        proofs = gauge_proofs(view)
        measured = {
            area.id: [one for surface in area.surfaces if (one := measured_surface(view, surface)) is not None]
            for area in view.areas
        }
        asked = doubts(view)
        self.areas = [
            _area_parts(area_profile(view, area, self.requirement, measured[area.id], proofs, asked), view)
            for area in view.areas
        ]
        surfaces = [surface for several in measured.values() for surface in several]
        self.comparators = comparators(view, self.requirement)
        self.comparisons = comparisons(view, [one.profile for one in self.areas])
        self.kinds: dict[str, Outcome[Any]] = {
            kind.key: kind.judge(getattr(view.specification, kind.limit_key), scene_of(view, kind, asked))
            for kind in MEASUREMENTS
        }
        self.coating = coating_times(view)
        self.record = (
            order_of_the_day(view), whereabouts(view), entries_not_taken(view), joined_apparatus(view),
            under_other_areas(view), asked.outcome, unfinished_entries(view), replicas(view), surface_records(view),
            cleaned_findings(view), required_records(view), same_series(view),
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
            self.comparators, self.comparisons, *kinds, self.coating, *self.record, *self.checks[:2], *checked,
            *self.checks[2:],
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
        by_area = FindingsByArea(found)
        passed = frozenset(  # nothing measured stands against them, nonconformances aside
            one.id
            for one in self.areas
            if one.profile.locations and not {*map(effect_of, by_area.of(one.id))} & {"fails", "holds"}
        )
        inspected = Inspected(view, found, formerly, passed)
        follow = followed(inspected, earlier)
        carried, accepted = follow.outcome, follow.accepted
        before = [carried, *(one(inspected, follow) for one in (failed_before, accepted_before, left_open_before))]
        findings = (
            *follow.findings, *uncovered(follow.findings), *(one for outcome in before for one in outcome.findings),
            *(NOT_AS_ISSUED.found(RestsOn(name)) for name in self.job.not_as_issued),
        )  # fmt: skip
        areas = self._areas(FindingsByArea(findings), accepted)
        released = {area.id for area in areas if area.decision == "release"}
        coating = deadlines(view, self.coating.results, released)
        left_out = chain(*(one.not_evaluated for one in self.outcomes), *(area.left_out for area in self.areas))
        report = self.job.day.report
        kinds: dict[str, Any] = {key: outcome.results for key, outcome in self.kinds.items()}
        return Evaluation(
            report=ReportIdentity(report.number, report.revision, report.date.isoformat()),
            verdict=report_verdict(areas),
            areas=areas,
            comparators=self.comparators.results,
            comparisons=self.comparisons.results,
            checks=tuple(result for outcome in self.checks for result in outcome.results),
            coating_times=coating.results,
            nonconformances=carried.results,
            findings=(
                *findings,
                *coated_without_release(view, areas, follow.released),
                *told_released(view, released),
                *overdue(view, carried.results),
                *successions(inspected, earlier),
                *late,
                *blasted_again(view, follow.formerly),
            ),
            measure_next=self._measure_next(
                (*reversed(before), bounds_undecided(findings, accepted)),
                coating,
                _settled_by_decision(findings, accepted),
            ),
            rules=rules_applied(view, self.requirement),
            not_evaluated=tuple(dict.fromkeys(left_out)),
            **kinds,
        )

    def _areas(self, found: FindingsByArea, accepted: Acceptance) -> tuple[AreaResult, ...]:
        """Return every area: those inspected, those of which no entry is finished, and those not inspected."""
        view, unit = self.view, self.requirement.unit
        cleaned = {one.id: cleaned_area(view, one.profile.area) for one in self.areas}
        judged = (area_result(one, found.indexed(one.id), accepted) for one in self.areas)
        said = {*cleaned, *(entry.area for entry in self.job.day.not_inspected)}
        return (
            *(replace(one, cleaned=cleaned[one.id]) for one in judged),
            *(begun(view, area, found.indexed(area), unit) for area in self.job.begun if area not in said),
            *(not_inspected(view, entry, unit) for entry in self.job.day.not_inspected),
        )

    def _measure_next(
        self, carried: Sequence[Outcome[Any]], coating: Outcome[Any], moot: set[tuple[str, str]]
    ) -> tuple[Task, ...]:  # fmt: skip
        """Return everything to do, once each; first what may be coated now. What was accepted is not asked for."""
        steps: list[Task] = [*coating.measure_next]
        steps.extend(step for area in self.areas for step in area.measure_next)
        steps.extend(step for outcome in (*self.outcomes, *carried) for step in outcome.measure_next)
        return tuple(dict.fromkeys(one for one in steps if (one.area, one.answers) not in moot))


def _settled_by_decision(findings: Sequence[Finding], accepted: Acceptance) -> set[tuple[str, str]]:
    """Return area and code, the area empty for the whole report, of what was accepted wherever it was found."""
    pairs = [((one.area or "", one.code), accepted(one)) for one in findings]
    return {pair for pair, so in pairs if so} - {pair for pair, so in pairs if not so}


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
    released = frozenset(area.id for area in evaluation.areas if area.decision == "release")
    return Inspected(view, evaluation.findings, formerly, passed, released)


def _stood(inspected: Sequence[Inspected]) -> list[Stood]:
    """Return earlier days with the areas whose logs of the shift left something open."""
    names = {one.name for kind in LOGS for one in kind.statements}
    stood = []
    for day in inspected:
        held = {one.area for one in day.findings if one.code in names and effect_of(one) == "holds"}
        areas = [area.id for area in day.view.areas if area.id in held or None in held]
        stood.append(Stood(day.view, frozenset(areas)))
    return stood


def _area_parts(profile: AreaProfile, view: JobView) -> AreaParts:
    """Apply the rules on the profile to one area."""
    locations, outlier = flagged(profile)
    places = location_findings(profile)
    required, sampled = sampling_findings(view, profile)
    walked = walk_outs(profile)
    return AreaParts(
        profile,
        locations,
        required,
        walked.results,
        (*other_methods(profile), *places.findings, *outlier, *sampled.findings, *walked.findings),
        (*places.measure_next, *sampled.measure_next, *walked.measure_next),
        (*measured_nothing(profile.area), *(gap for gap in sampled.not_evaluated if isinstance(gap, LeftOut))),
    )
