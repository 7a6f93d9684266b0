"""What follows for each area and for the report: verdict, decision and the reasons for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.measurements import CODES
from reportgen.metrology.conformity import combined_verdict
from reportgen.results import AreaResult, Counted
from reportgen.results.codes.profile import NOT_INSPECTED, NOT_MEASURED
from reportgen.results.facts import NOTHING, Place

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.job.day import NotInspected
    from reportgen.results import Decision, Effect, Finding, LeftOut, LocationResult, NonconformanceState, Verdict
    from reportgen.results.values import Bounded
    from reportgen.rules.area_statistics import AreaStatistics
    from reportgen.rules.profile import AreaProfile
    from reportgen.rules.sampling import Required
    from reportgen.rules.scene import AreaView, JobView

DECIDABLE = frozenset({"profile-in-guard-band", "coating-overdue", "hold-point-passed"})
"""Findings that hold an area and are no gap of the record, so that a decision can accept what they found."""


def effect_of(finding: Finding) -> Effect:
    """What a finding does to its areas; one that is only noted, where its code is usually more, does nothing."""
    code = CODES[finding.code]
    if finding.severity == "observation" and code.severity == "nonconformance":
        return "none"
    return code.effect


class FindingsByArea:
    """Findings sorted by area once, as a day may have thousands of areas."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self._own: dict[str | None, list[tuple[int, Finding]]] = {}
        for place, finding in enumerate(findings):
            self._own.setdefault(finding.area, []).append((place, finding))

    def of(self, area: str) -> list[Finding]:
        """Return the findings that concern an area, its own and those of the whole report, in their order."""
        return [finding for _, finding in self.indexed(area)]

    def indexed(self, area: str) -> list[tuple[int, Finding]]:
        """Return the same with the index of each among all findings."""
        return sorted(self._own.get(area, []) + self._own.get(None, []), key=lambda pair: pair[0])


def area_verdict(locations: Sequence[LocationResult], effects: set[Effect]) -> Verdict:
    """An area conforms when every location does, nothing needed is missing and no condition failed."""
    if "fails" in effects:
        return "does not conform"
    verdicts = [location.verdict for location in locations if location.walk_out is None]
    if "holds" in effects or not verdicts:
        verdicts.append("inconclusive")
    return combined_verdict(verdicts)


def decision(verdict: Verdict, findings: Sequence[Finding], accepted: set[str]) -> Decision:
    """Recommend release, hold or rework; ``accepted`` are nonconformances closed with use-as-is or repair."""
    pending = [finding for finding in findings if finding.nonconformance not in accepted]
    effects = {effect_of(finding) for finding in pending}
    if "fails" in effects:
        return "rework"
    settled = verdict in {"conforms", "does not conform"} or _settled(findings, accepted)
    return "release" if settled and not effects & {"holds", "defers"} else "hold"


def _settled(findings: Sequence[Finding], accepted: set[str]) -> bool:
    """Whether an area is open for nothing but what was decided to be accepted."""
    held = [finding for finding in findings if effect_of(finding) == "holds"]
    decided = (one.code in DECIDABLE and one.nonconformance in accepted for one in held)
    return bool(held) and all(decided)


def reasons(findings: Iterable[tuple[int, Finding]], accepted: set[str]) -> tuple[Counted, ...]:
    """Return why an area is not simply released: each finding that counts, by its index, and whether accepted."""
    return tuple(
        Counted(index, finding.nonconformance in accepted)
        for index, finding in findings
        if effect_of(finding) != "none"
    )


def accepted_ids(states: Iterable[NonconformanceState]) -> set[str]:
    """Return the nonconformances whose closed decision lets the steel stay as it is, or as repaired."""
    return {state.id for state in states if state.status == "closed" and state.disposition in {"use-as-is", "repair"}}


def area_result(
    profile: AreaProfile, locations: tuple[LocationResult, ...], statistics: AreaStatistics, required: Required,
    found: Sequence[tuple[int, Finding]], accepted: set[str], bounds: tuple[Bounded, ...],
    left_out: tuple[LeftOut, ...],
) -> AreaResult:  # fmt: skip
    """Put an area together from what was found about it; ``accepted`` as for ``decision``."""
    area, own = profile.area, [finding for _, finding in found]
    verdict = area_verdict(locations, {effect_of(finding) for finding in own})
    return AreaResult(
        id=area.id,
        structure=area.structure.id,
        name=area.plan.name,
        verdict=verdict,
        decision=decision(verdict, own, accepted),
        unit=profile.requirement.unit,
        required_locations=required.locations,
        n_locations=len(profile.regular),
        n_spots=sum(len(location.result.spots) for location in profile.regular),
        mean=statistics.mean,
        standard_deviation=statistics.standard_deviation,
        minimum=statistics.minimum,
        maximum=statistics.maximum,
        confidence_interval=statistics.confidence_interval,
        tolerance_interval=statistics.tolerance_interval,
        percent_within_limits=statistics.percent_within_limits,
        expanded_uncertainty=statistics.expanded_uncertainty,
        coverage_factor=statistics.coverage_factor,
        effective_degrees_of_freedom=statistics.effective_degrees_of_freedom,
        sampling=required.parts,
        locations=locations,
        budget=statistics.budget,
        location_budget=statistics.location_budget,
        reasons=reasons(found, accepted),
        bounded_area=bounds,
        not_evaluated=left_out,
        place=area.plan.place or area.structure.place,
    )


def not_inspected(view: JobView, entry: NotInspected, unit: str) -> AreaResult:
    """State an area that was due and not inspected: not evaluated, on hold."""
    structure, plan = view.plan(entry.area)
    return AreaResult(
        plan.id, structure.id, plan.name, "not evaluated", "hold", unit, None, 0, 0,
        not_inspected=entry.reason, not_evaluated=(NOT_INSPECTED.at(NOTHING, Place(plan.id)),),
        place=view.places.of(plan.id),
    )  # fmt: skip


def report_verdict(areas: Iterable[AreaResult]) -> Verdict:
    """Verdict of the report on what was inspected; areas that were not are listed with their reason and on hold.

    An area that conforms and is on hold, as for an open nonconformance, leaves the report inconclusive.
    """
    return combined_verdict(
        "inconclusive" if area.verdict == "conforms" and area.decision == "hold" else area.verdict
        for area in areas
        if area.verdict != "not evaluated"
    )


def measured_nothing(area: AreaView) -> tuple[LeftOut, ...]:
    """Name the kinds of record an area lacks altogether."""
    lacks = all(surface.record.profile is None for surface in area.surfaces)
    return (NOT_MEASURED.at(NOTHING, Place(area.id)),) if lacks else ()
