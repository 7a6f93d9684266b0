"""The order in which the rules are applied, and the evaluation put together from what they yield."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from itertools import chain, zip_longest
from typing import TYPE_CHECKING, Any

from reportgen.job.signatories import signatories_of
from reportgen.measurements import LOGS, MEASUREMENTS, TESTS
from reportgen.results import CheckResult, Evaluation, LeftOut, ReportIdentity, Task
from reportgen.results.codes.coating import COAT_BY, OVERDUE
from reportgen.results.codes.follow_up import NOT_AS_ISSUED, RestsOn
from reportgen.results.codes.sampling import PART_NOT_TESTED, WALK_ON, WALK_OUT_MISSING
from reportgen.rules.anew import RETESTED
from reportgen.rules.apparatus_names import joined_apparatus, under_other_areas
from reportgen.rules.area_statistics import flagged
from reportgen.rules.blasted_again import blasted_again, gone_over
from reportgen.rules.cleaned import cleaned_area, cleaned_findings
from reportgen.rules.coating import coated_without_release, coating_times, deadlines
from reportgen.rules.comparator import comparators
from reportgen.rules.comparison import comparisons
from reportgen.rules.doubts import doubts, entries_not_taken
from reportgen.rules.editions import NEWEST
from reportgen.rules.equipment import calibrations, certificates, tapes
from reportgen.rules.extent import Reach, bounded_size
from reportgen.rules.failed_before import accepted_before, failed_before, successions, uncovered
from reportgen.rules.function_checks import function_checks
from reportgen.rules.gauges import gauge_checks, gauge_proofs
from reportgen.rules.hold_points import hold_points
from reportgen.rules.inspected import Inspected
from reportgen.rules.left_open import bounds_undecided, left_open_before
from reportgen.rules.left_out import left_out_since
from reportgen.rules.locations import location_findings, other_methods
from reportgen.rules.nonconformances import followed
from reportgen.rules.order import order_of_the_day
from reportgen.rules.owed import Lost
from reportgen.rules.primed_before import primed_before_rework
from reportgen.rules.profile import AreaProfile, area_profile
from reportgen.rules.readings import measured_surface
from reportgen.rules.reinspection import OF_LOCATIONS
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
from reportgen.rules.said_open import said_open
from reportgen.rules.same_series import same_series
from reportgen.rules.sampling import sampling_findings
from reportgen.rules.scene import JobView, Stood, at_hand, scene_of
from reportgen.rules.surfaces_told import surfaces_of
from reportgen.rules.unfinished import stands_unfinished, unfinished_entries
from reportgen.rules.untested import untested
from reportgen.rules.walkout import walk_outs
from reportgen.rules.whereabouts import whereabouts

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Sequence

    from reportgen.job import Job, Surface
    from reportgen.results import AreaResult, Finding, Outcome
    from reportgen.results.values import Bounded
    from reportgen.rules.editions import Edition
    from reportgen.rules.release import Acceptance
    from reportgen.units import Quantity


@dataclass(frozen=True, slots=True)
class Kept:
    """Evaluations of jobs that are as they were loaded, by the bytes of their files: who stays need not repeat them.

    ``days`` are earlier days, each with those before it, ``whole`` is of a day with its earlier ones, at a minute.
    """

    days: dict[bytes, Inspected] = field(default_factory=dict)
    whole: dict[bytes, Evaluation] = field(default_factory=dict)

    def add(self, known: dict[bytes, Any], told: bytes, value: Any) -> None:
        """Keep one more, in the place of the oldest."""
        most = _DAYS_KEPT if known is self.days else _WHOLE_KEPT
        while len(known) >= most:
            known.pop(next(iter(known)))
        known[told] = value


_DAYS_KEPT, _WHOLE_KEPT = 400, 8


def _told(job: Job, at: dt.datetime | None, before: bytes = b"") -> bytes:
    """Return by what the evaluation of a loaded day is told from another: its files, and the minute."""
    digest = hashlib.sha256(before)
    for one in job.files:
        digest.update(f"{one.name}\0{one.role}\0{one.sha256}\0".encode())
    earlier = [(one.day.report.number, one.day.report.revision) for one in job.earlier]
    digest.update(f"{earlier} {job.not_as_issued} {at and at.replace(second=0, microsecond=0)}".encode())
    return digest.digest()


def evaluate(
    job: Job, *, at: dt.datetime | None = None, edition: Edition = NEWEST, kept: Kept | None = None
) -> Evaluation:
    """Evaluate a validated job: the same job gives the same evaluation everywhere and at any time.

    ``at``, an aware instant, is the present moment, and that of issue for a report, which embeds and signs it: while
    the shift lasts nothing is late yet that is due later in it. ``edition`` are the rules, for
    earlier days too. What is ``kept`` of a job that is as it was loaded is not evaluated again.

    Raises:
        RangeError: for an entry that no rule can take, such as a reading below the film it includes.
    """
    told = b"" if kept is None else _told(job, at)
    if kept is not None and told in kept.whole:
        return kept.whole[told]
    earlier = _inspected_before(job, at, edition, kept)
    every = _Evaluated(job, JobView(job, at, before=_stood(earlier), edition=edition, again={}))
    evaluated, formerly = _as_it_stands(every, at)
    left = _left_out(job, at, earlier, edition)
    evaluation = evaluated.concluded(earlier, formerly, report_late(evaluated.view, at), left)
    if kept is not None:
        kept.add(kept.whole, told, evaluation)
    return evaluation


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
        self.comparisons = comparisons(view, self.profiles)
        self.kinds: dict[str, Outcome[Any]] = {
            kind.key: kind.judge(getattr(view.specification, kind.limit_key), scene_of(view, kind, asked))
            for kind in MEASUREMENTS
        }
        self.coating = coating_times(view)
        self.record = (
            order_of_the_day(view), whereabouts(view), entries_not_taken(view), joined_apparatus(view),
            under_other_areas(view), asked.outcome, unfinished_entries(view), replicas(view), surface_records(view),
            cleaned_findings(view), required_records(view), same_series(view),
            untested(view),
        )  # fmt: skip
        self.checks: tuple[Outcome[CheckResult], ...] = (
            gauge_checks(view, surfaces, proofs), tapes(view), calibrations(view), certificates(view),
            function_checks(view), hold_points(view),
        )  # fmt: skip

    @property
    def bounds(self) -> dict[str, tuple[Bounded, ...]]:
        """What the walk-outs of each area bound."""
        return {one.id: one.bounds for one in self.areas}

    @property
    def profiles(self) -> list[AreaProfile]:
        """The locations of each area, as judged."""
        return [one.profile for one in self.areas]

    @property
    def outcomes(self) -> tuple[Outcome[Any], ...]:
        """Outcomes of the rules that look at the whole day, in the order of the report."""
        kinds = [self.kinds[kind.key] for kind in MEASUREMENTS if not kind.subject]
        checked = [self.kinds[kind.key] for kind in MEASUREMENTS if kind.subject]
        return (
            self.comparators, self.comparisons, *kinds, self.coating, *self.record, primed_before_rework(self.view),
            *self.checks[:2], *checked, *self.checks[2:],
        )  # fmt: skip

    @property
    def found(self) -> list[Finding]:
        """All findings, those of the profile first."""
        found = [finding for area in self.areas for finding in area.findings]
        found += [finding for outcome in self.outcomes for finding in outcome.findings]
        begun = stands_unfinished(self.view)
        return [one for one in found if not begun(one)]

    def concluded(
        self, earlier: Sequence[Inspected], formerly: Sequence[Finding], late: Sequence[Finding] = (),
        left: Sequence[Inspected] = (),
    ) -> Evaluation:  # fmt: skip
        """Link nonconformances, decide on release, and put the evaluation together.

        ``formerly`` was found on steel that was blasted again: it is shown, and counts for nothing. ``late`` says that
        the report itself is. ``left`` is what it leaves out of those that it replaces.
        """
        view, found, report = self.view, _without_idle(self.found, formerly), self.job.day.report
        by_area = FindingsByArea(found)
        passed = frozenset(  # nothing measured stands against them, nonconformances aside
            one.id
            for one in self.areas
            if one.profile.locations and not {*map(effect_of, by_area.of(one.id))} & {"fails", "holds"}
        )
        inspected = Inspected(view, found, formerly, passed, bounds=self.bounds, profiles=self.profiles)
        follow = followed(inspected, earlier, left)
        carried, accepted = follow.outcome, follow.accepted
        before = [carried, *(one(inspected, follow) for one in (failed_before, accepted_before, left_open_before))]
        findings = (
            *follow.findings, *uncovered(follow.findings), *(one for outcome in before for one in outcome.findings),
            *(NOT_AS_ISSUED.found(RestsOn(name)) for name in self.job.not_as_issued),
        )  # fmt: skip
        areas = self._areas(FindingsByArea(findings), accepted)
        coating = deadlines(view, self.coating.results, {one.id for one in areas if one.decision == "release"})
        left_out = chain(*(one.not_evaluated for one in self.outcomes), *(area.left_out for area in self.areas))
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
                *coated_without_release(view, areas, findings, follow.released),
                *told_released(view, areas, findings, follow.released),
                *overdue(view, carried.results),
                *successions(inspected, [one for one in earlier if not one.replaced]),
                *late,
                *blasted_again(view, follow.formerly),
            ),
            measure_next=self._measure_next(
                (*reversed(before), bounds_undecided(findings, accepted)),
                coating,
                _settled_by_decision(findings, accepted) | _not_to_coat(areas),
            ),
            rules=rules_applied(view, self.requirement),
            not_evaluated=tuple(dict.fromkeys(left_out)),
            signers=signatories_of(self.job),
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
        """Return everything to do, once each; first what may be coated now. What is ``moot`` is not asked for."""
        steps: list[Task] = [*coating.measure_next]
        steps.extend(step for area in self.areas for step in area.measure_next)
        steps.extend(step for outcome in (*self.outcomes, *carried) for step in outcome.measure_next)
        return tuple(dict.fromkeys(one for one in steps if (one.area, _settles(one)) not in moot))


def _without_idle(found: Sequence[Finding], formerly: Sequence[Finding]) -> list[Finding]:
    """Return the findings without those that say of what is told of steel blasted again that nobody worked then."""
    told = {(one.code, one.place.time) for one in formerly if one.place.time is not None}
    return [
        one for one in found
        if one.area is not None or effect_of(one) != "none" or (one.code, one.place.time) not in told
    ]  # fmt: skip


def _settles(step: Task) -> str | None:
    """Return the code of what a step is for; one of a walk-out settles it with the others, to coat is for itself."""
    return WALK_OUT_MISSING.name if step.code == WALK_ON.name else step.answers or step.code


def _not_to_coat(areas: Sequence[AreaResult]) -> set[tuple[str, str]]:
    """Return each inspected area that is not released, with the code of what says until when to coat."""
    return {(one.id, COAT_BY.name) for one in areas if one.decision != "release" and one.not_inspected is None}


def _settled_by_decision(findings: Sequence[Finding], accepted: Acceptance) -> set[tuple[str, str]]:
    """Return area and code, the area empty for the whole report, of what was accepted wherever it was found."""
    pairs = [((one.area or "", one.code), accepted(one)) for one in findings]
    return {pair for pair, so in pairs if so} - {pair for pair, so in pairs if not so}


def _as_it_stands(every: _Evaluated, at: dt.datetime | None) -> tuple[_Evaluated, list[Finding]]:
    """Return a day as its steel is at last, and all that failed on what was blasted again in it.

    What walk-outs bound may be blasted again by itself: the rest of its entry is then judged without it.

    Parameters:
        every: the day with all its entries, each as if nothing had been blasted again.
        at: the present moment, as for the evaluation.
    """
    job, view = every.job, every.view
    view.lost = lost = _lost(every, at)
    again, undone, undone_from = gone_over(view)
    if not (again or undone):
        return every, []
    evaluated = _Evaluated(
        job,
        JobView(
            job, at, before=view.before, edition=view.edition, again=again, undone=undone, undone_from=undone_from
        ),
    )  # fmt: skip
    evaluated.view.lost = lost
    entries = {
        id(record): frozenset(undone.get(index, ())) - _made_after(evaluated.view, index)
        for index, record in enumerate(job.day.surfaces)
    }
    places = {
        (area.id, area.located(surface, name))
        for area in view.areas for surface in area.surfaces for name in entries[id(surface.record)]
    }  # fmt: skip
    failed = [one for one in every.found if effect_of(one) == "fails" and (one.area, one.location) in places]
    replaced = JobView(job, at, replaced=True, edition=view.edition, again=again)
    former = _Evaluated(job, replaced).found if again else ()
    return evaluated, [one for one in former if one.area is not None and effect_of(one) == "fails"] + failed


def _made_after(view: JobView, index: int) -> set[str]:
    """Return the locations of an entry with readings made after they were blasted again: nobody knows of what."""
    gone = view.gone.get(index)
    timed = ((one.location, one.time) for one in view.job.readings[index] if gone is not None and one.time is not None)
    return {location for location, time in timed if gone is not None and view.at_text(time) > gone}


def _lost(every: _Evaluated, at: dt.datetime | None) -> dict[int, Lost]:
    """Return what of each entry has to be blasted again; of several on one area, each is looked at by itself."""
    job, view = every.job, every.view
    found = _lost_of(every, range(len(job.day.surfaces)))
    # what one lacks another of its area may have
    held = {index: one.held for index, one in found.items()}
    for indices in _one_by_one(every):
        alone = JobView(job, at, before=view.before, edition=view.edition, again={}, alone=indices)
        evaluated = _Evaluated(job, alone)
        found |= _lost_of(evaluated, indices)
    return {index: one._replace(held=one.held & held[index]) for index, one in found.items()}


def _one_by_one(every: _Evaluated) -> list[set[int]]:
    """Return the entries of areas with several where something fails or holds: the first of each, the second, …"""
    by_area = FindingsByArea(every.found)
    bad = {one.id for one in every.areas if {*map(effect_of, by_area.of(one.id))} & {"fails", "holds"}}
    own: dict[str, list[int]] = {area: [] for area in bad}
    for index, one in enumerate(every.job.day.surfaces):
        if one.area in bad:
            own[one.area].append(index)
    several = [indices for indices in own.values() if len(indices) > 1]
    return [{index for index in nth if index is not None} for nth in zip_longest(*several)]


def _bounded(parts: AreaParts, places: frozenset[str]) -> Quantity | None:
    """Return how much the walk-outs from some locations bound; None where one of them is not complete."""
    ends = {one.failing: Reach.each_of(one.extents) for one in parts.bounds}
    return bounded_size(ends[one] for one in places) if ends.keys() >= places else None


def _lost_of(evaluated: _Evaluated, indices: Iterable[int]) -> dict[int, Lost]:
    """Return what of each of some entries has to be blasted again, by what is found on its area."""
    areas, found = {one.id: one for one in evaluated.areas}, FindingsByArea(evaluated.found)
    records = ((index, evaluated.job.day.surfaces[index]) for index in indices)
    return {
        index: _lost_on(area, [one for one in found.of(record.area) if _is_here(one, area, evaluated.view)], record)
        for index, record in records
        for area in (areas[record.area],)
    }


def _is_here(finding: Finding, parts: AreaParts, view: JobView) -> bool:
    """Whether a finding is of steel that the report enters itself."""
    here = [one.record for one in parts.profile.area.surfaces]
    of = surfaces_of(finding, parts.profile.area, view) if finding.code == PART_NOT_TESTED.name else ()
    return not of or any(one.record is each for one in of for each in here)


def _lost_on(parts: AreaParts, found: Sequence[Finding], record: Surface) -> Lost:
    """Return what of an entry has to be blasted again, by what is found on its area, where nothing is beside it."""
    fails, holds = (frozenset(one.code for one in found if effect_of(one) == effect) for effect in ("fails", "holds"))
    failed = frozenset((fails - RETESTED.keys()) | (holds & {OVERDUE.name}))  # what holds otherwise may be measured
    places = frozenset(str(one.location) for one in found if one.code in failed & OF_LOCATIONS)
    return Lost(
        failed,
        places,
        _bounded(parts, places) if failed <= OF_LOCATIONS else None,
        frozenset((code, RETESTED[code]) for code in fails & RETESTED.keys()),
        holds,
        any(one.surface.surface.record is record for one in parts.profile.locations),
        frozenset(kind.key for kind in TESTS if kind.entries_on(record)),
    )


def _inspected_before(
    job: Job, at: dt.datetime | None, edition: Edition, kept: Kept | None = None
) -> list[Inspected]:  # fmt: skip
    """Return the reports at hand before a day: what any of them left open is owed still; each knows those before it.

    What one was issued upon is not what it would be by now where that was revised since: it stands as issued.
    """
    earlier: list[Inspected] = []
    told = b""
    for day in at_hand(job)[:-1]:
        left = _left_out(day, at, earlier, edition)
        if left:
            kept = None  # nor of what a revision leaves out
        if day.as_issued is None and kept is not None:
            told = _told(day, _within_shift(day, at), told)
            if told not in kept.days:
                kept.add(kept.days, told, _inspected_alone(day, at, earlier, edition))
            earlier.append(kept.days[told])
        elif day.as_issued is None:
            earlier += [_inspected_alone(day, at, earlier, edition)]
        else:
            kept = None  # of those after it the files do not say what it was issued upon
            alone = _inspected_alone(day.as_issued, at, _inspected_before(day.as_issued, at, edition), edition)
            earlier += [replace(alone, said_open=said_open(evaluate(day.as_issued, at=at, edition=edition)))]
        earlier += left
    return earlier


def _within_shift(day: Job, at: dt.datetime | None) -> dt.datetime | None:
    """Return the present moment where it is in the shift of a day: it counts there alone."""
    start, end = JobView(day, again={}).shift
    return at if at is not None and start <= at < end else None


def _left_out(
    day: Job, at: dt.datetime | None, earlier: Sequence[Inspected], edition: Edition
) -> list[Inspected]:  # fmt: skip
    """Return the reports that a day is a revision of, each with what it found and no revision since enters."""
    found: list[Inspected] = []
    for index, one in enumerate(day.replaced):
        before = _inspected_alone(one, at, earlier, edition)
        left = left_out_since(before.findings, one, (*day.replaced[index + 1 :], day))
        if left:
            found.append(
                replace(before, findings=left, formerly=(), passed=frozenset(), left_out_by=day.day.report.revision)
            )
    return found


def _inspected_alone(
    job: Job, at: dt.datetime | None, before: Sequence[Inspected], edition: Edition
) -> Inspected:  # fmt: skip
    """Return an earlier day as it was found, without the nonconformances of the days ``before`` it."""
    alone = replace(job, earlier=())
    every = _Evaluated(alone, JobView(alone, at, before=_stood(before), edition=edition, again={}))
    evaluated, formerly = _as_it_stands(every, at)
    view, evaluation = evaluated.view, evaluated.concluded((), formerly)
    passed = frozenset(area.id for area in evaluation.areas if area.verdict == "conforms")
    released = frozenset(area.id for area in evaluation.areas if area.decision == "release")
    bounds = {area.id: area.bounded_area for area in evaluation.areas}
    return Inspected(view, evaluation.findings, formerly, passed, released, bounds, evaluated.profiles)


def _stood(inspected: Sequence[Inspected]) -> list[Stood]:
    """Return earlier days with the areas whose logs of the shift left something open."""
    names = {one.name for kind in LOGS for one in kind.statements}
    stood: list[Stood] = []
    for day in inspected:
        if day.replaced:
            stood[-1] = replace(stood[-1], replaced=(*stood[-1].replaced, day.view))
            continue
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
