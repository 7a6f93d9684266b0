"""What follows for each area and for the report: verdict, decision and the reasons for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.measurements import CODES
from reportgen.metrology.conformity import combined_verdict
from reportgen.results import AreaResult, Counted
from reportgen.results.codes.follow_up import LeftOpen
from reportgen.results.codes.profile import NOT_INSPECTED, NOT_MEASURED
from reportgen.results.facts import NOTHING, Place
from reportgen.rules.area_statistics import with_statistics
from reportgen.rules.sampling import can_miss

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from reportgen.job.day import NotInspected
    from reportgen.results import Decision, Effect, Finding, LeftOut, LocationResult, NonconformanceState, Task, Verdict
    from reportgen.results.values import Bounded
    from reportgen.rules.profile import AreaProfile
    from reportgen.rules.sampling import Required
    from reportgen.rules.scene import AreaView, JobView

    Acceptance = Callable[[Finding], bool]

REPAIRABLE = frozenset(
    {
        "profile-in-guard-band", "conditions-in-guard-band", "salts-in-guard-band", "abrasive-in-guard-band",
        "coating-overdue", "hold-point-passed",
    }
)  # fmt: skip
"""Findings that hold an area and are of the steel: a repair undoes them too. What is missing it does not bring."""
UNDECIDED = frozenset(
    {
        "entry-doubtful",
        "entry-not-taken",
        "entry-unfinished",
        "apparatus-doubtful",
        "hold-point-doubtful",
        "steel-doubtful",
        "series-entered-twice",
    }
)
"""What was written, not taken over or not finished: to be completed, and there is nothing in it to decide on."""


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


def decision(verdict: Verdict, findings: Sequence[Finding], accepted: Acceptance) -> Decision:
    """Recommend release, hold or rework; ``accepted`` tells the findings that a decision lets stand."""
    pending = [finding for finding in findings if not accepted(finding)]
    effects = {effect_of(finding) for finding in pending}
    if "fails" in effects:
        return "rework"
    # or open for what holds it: where all of that is accepted, none of it is pending
    settled = verdict in {"conforms", "does not conform"} or any(effect_of(one) == "holds" for one in findings)
    return "release" if settled and not effects & {"holds", "defers"} else "hold"


def reasons(findings: Iterable[tuple[int, Finding]], accepted: Acceptance) -> tuple[Counted, ...]:
    """Return why an area is not simply released: each finding that counts, by its index, and whether accepted."""
    return tuple(Counted(index, accepted(finding)) for index, finding in findings if effect_of(finding) != "none")


def acceptance(states: Iterable[NonconformanceState]) -> Acceptance:
    """Return how to tell findings whose nonconformance is closed with a decision that lets the steel stay as it is.

    Or as it was repaired; steel on which something is missing stays by the first alone. One number on two areas is two
    nonconformances, and neither accepts anything for the other.
    """
    decided = {(one.id, one.area): one.disposition if one.status == "closed" else "" for one in states}

    def accepted(finding: Finding) -> bool:
        name = finding.nonconformance
        if name is None or finding.code in UNDECIDED:
            return False
        told = finding.facts.code if isinstance(finding.facts, LeftOpen) else finding.code  # what was left open
        repaired = effect_of(finding) != "holds" or told in REPAIRABLE
        ways = {"use-as-is", "repair"} if repaired else {"use-as-is"}
        return decided.get((name, finding.area), decided.get((name, None), "")) in ways

    return accepted


@dataclass(frozen=True, slots=True)
class AreaParts:
    """What the rules on the profile yield for one area."""

    profile: AreaProfile
    locations: tuple[LocationResult, ...]
    required: Required
    bounds: tuple[Bounded, ...]
    findings: tuple[Finding, ...]
    measure_next: tuple[Task, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def id(self) -> str:
        """Id of the area."""
        return self.profile.area.id


def area_result(parts: AreaParts, found: Sequence[tuple[int, Finding]], accepted: Acceptance) -> AreaResult:
    """Put an area together from what was found about it, with indices; ``accepted`` as for ``decision``."""
    profile, area, own = parts.profile, parts.profile.area, [finding for _, finding in found]
    verdict = area_verdict(parts.locations, {effect_of(finding) for finding in own})
    result = AreaResult(
        id=area.id,
        structure=area.structure.id,
        name=area.plan.name,
        verdict=verdict,
        decision=decision(verdict, own, accepted),
        unit=profile.requirement.unit,
        required_locations=parts.required.locations,
        n_locations=len(profile.regular),
        n_spots=sum(len(location.result.spots) for location in profile.regular),
        sampling=parts.required.parts,
        can_miss=can_miss(len(profile.regular), area.plan.size),
        locations=parts.locations,
        reasons=reasons(found, accepted),
        bounded_area=parts.bounds,
        not_evaluated=parts.left_out,
        place=area.plan.place or area.structure.place,
    )
    return with_statistics(result, profile)


def begun(view: JobView, area: str, found: Sequence[tuple[int, Finding]], unit: str) -> AreaResult:
    """State an area of which no entry is finished yet: it was worked on, and nothing can be said of it."""
    structure, plan = view.plan(area)
    return AreaResult(
        plan.id, structure.id, plan.name, "inconclusive", "hold", unit, None, 0, 0,
        reasons=reasons(found, lambda _: False), not_evaluated=(NOT_MEASURED.at(NOTHING, Place(plan.id)),),
        place=view.places.of(plan.id),
    )  # fmt: skip


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
