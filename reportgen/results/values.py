"""Frozen results: spot, location, area, conditions, checks, findings, evaluation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

from reportgen.results.facts import Amount, Facts, Place, Stated, Word

if TYPE_CHECKING:
    from decimal import Decimal

Verdict = Literal["conforms", "does not conform", "inconclusive", "not evaluated"]
Decision = Literal["release", "hold", "rework"]
Severity = Literal["nonconformance", "observation"]
How = Literal[
    "recorded-as-taken",
    "averaged",
    "second-governs",
    "second-missing",
    "outside-grade-range",
    "contradictory",
]

AtTime = str
"""A local time as printed: ``06:40``, or ``2026-05-15 00:20`` when it is not on the report's date."""


@dataclass(frozen=True, slots=True)
class ReportIdentity:
    """What tells this report from every other."""

    number: str
    revision: int
    date: str


@dataclass(frozen=True, slots=True)
class SpotReading:
    """One net reading of a spot, in the area's gauge unit, with the roll and grade it was taken on."""

    roll: str | None
    grade: str | None
    gross: Decimal
    net: Decimal


@dataclass(frozen=True, slots=True)
class SpotResult:
    """One spot: its profile in the specification's unit (None when it has none) and how it came about."""

    id: str
    profile: Decimal | None
    how: How
    readings: tuple[SpotReading, ...] = ()


@dataclass(frozen=True, slots=True)
class LocationResult:
    """One location, in the specification's unit.

    ``profile`` is printed; ``compared`` is what the rounding method compares with the limits, with its digits.
    ``walk_out`` names the failing location this one was measured for, or None for a regular location.
    ``apparatus`` is there where several prepared the area: they may use the same names for their locations.
    """

    id: str
    profile: Decimal | None
    compared: Decimal | None
    verdict: Verdict
    spots: tuple[SpotResult, ...]
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    probability_of_conformity: Decimal | None = None
    side: Literal["below", "above"] | None = None
    band: Literal["pass", "conditional pass", "conditional fail", "fail"] | None = None
    outlier: bool = False
    walk_out: str | None = None
    apparatus: str | None = None


@dataclass(frozen=True, slots=True)
class BudgetLine(Facts):
    """One line of an uncertainty budget: values in the specification's unit; ``share`` of the variance in percent.

    ``source`` is of the group ``citation`` where it is a published text.
    """

    component: Annotated[Word, "component"]
    value: Decimal
    distribution: Annotated[Word, "distribution"]
    divisor: Decimal
    standard_uncertainty: Decimal
    degrees_of_freedom: int | None
    common: bool
    source: Annotated[Word, "budget-source"]
    share: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Period(Facts):
    """A time by which a sampling plan counts, from and to as printed."""

    start: str
    end: str


@dataclass(frozen=True, slots=True)
class SamplingPart(Facts):
    """Locations required of and taken on what one apparatus blasted on an area; ``period`` where there are several."""

    apparatus: str
    period: Period | None
    required: int
    taken: int


@dataclass(frozen=True, slots=True)
class Towards(Facts):
    """A direction of a walk-out: by the name that the inspector gave it, else by its number."""

    name: str | None
    number: int | None = None


@dataclass(frozen=True, slots=True)
class Extent(Facts):
    """How far what failed reaches in one direction; ``end`` where the surface ended there."""

    towards: Towards
    reach: Amount
    end: Annotated[Word, "walk-end"] | None = None


@dataclass(frozen=True, slots=True)
class Bounded(Facts):
    """The area that does not conform around a failing location."""

    failing: str
    extents: tuple[Extent, ...]


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to measure or do next: ``count`` of it, and the code of the finding that it settles, if any."""

    code: str
    place: Place
    facts: Facts
    count: int | None = None
    answers: str | None = None
    apparatus: str | None = None

    @property
    def area(self) -> str:
        """Area, empty for the whole report."""
        return self.place.area or ""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Something that no rule evaluated."""

    code: str
    place: Place
    facts: Facts


@dataclass(frozen=True, slots=True)
class Counted:
    """Why an area is not simply released: a finding by its index in the evaluation, and whether it was accepted."""

    finding: int
    accepted: bool = False


@dataclass(frozen=True, slots=True)
class AreaResult:
    """One area: statistics over its locations in ``unit`` and what follows for its release; ``place`` as stated.

    ``sampling`` is there where several apparatus or periods share the area; none of them stands for another.
    """

    id: str
    structure: str
    name: str
    verdict: Verdict
    decision: Decision
    unit: str
    required_locations: int | None
    n_locations: int
    n_spots: int
    mean: Decimal | None = None
    standard_deviation: Decimal | None = None
    minimum: Decimal | None = None
    maximum: Decimal | None = None
    confidence_interval: tuple[Decimal, Decimal] | None = None
    tolerance_interval: tuple[Decimal, Decimal] | None = None
    percent_within_limits: Decimal | None = None
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    effective_degrees_of_freedom: int | None = None
    sampling: tuple[SamplingPart, ...] = ()
    locations: tuple[LocationResult, ...] = ()
    budget: tuple[BudgetLine, ...] = ()
    location_budget: tuple[BudgetLine, ...] = ()
    reasons: tuple[Counted, ...] = ()
    not_inspected: str | None = None
    bounded_area: tuple[Bounded, ...] = ()
    not_evaluated: tuple[LeftOut, ...] = ()
    place: str | None = None


@dataclass(frozen=True, slots=True)
class ComparatorResult:
    """One visual comparison with a reference comparator: the grade seen."""

    area: str
    location: str
    observed: str
    verdict: Verdict


CheckKind = Literal["gauge", "tape", "calibration", "certificate"]


@dataclass(frozen=True, slots=True)
class CheckResult:
    """One check of gauge, tape, calibration or certificate."""

    kind: CheckKind
    subject: str
    time: AtTime | None
    verdict: Verdict
    facts: Facts


@dataclass(frozen=True, slots=True)
class CoatingTime:
    """Time from the end of blasting to the primer, in hours."""

    area: str
    hours: Decimal | None
    limit: Decimal | None
    verdict: Verdict
    coat_by: AtTime | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule noticed: code, severity, place, facts, clause of the contract, the nonconformance that covers it."""

    code: str
    severity: Severity
    place: Place
    facts: Facts
    clause: str | None = None
    nonconformance: str | None = None

    @property
    def area(self) -> str | None:
        """Area, None for the whole report."""
        return self.place.area

    @property
    def location(self) -> str | None:
        """Location within the area, if it is of one."""
        return self.place.location


@dataclass(frozen=True, slots=True)
class NonconformanceState:
    """A nonconformance as it stands after this report, with the values that raised it kept visible.

    ``evidence`` is what was written of it, ``closed_by`` the report whose re-inspection passed.
    """

    id: str
    area: str | None
    findings: tuple[str, ...]
    description: str
    disposition: str
    decided_by: str
    status: Literal["open", "closed"]
    raised_in: str
    corrective_action: str | None = None
    evidence: str | None = None
    original: tuple[Finding, ...] = ()
    closed_by: str | None = None


@dataclass(frozen=True, slots=True)
class RuleApplied:
    """A rule that was applied and where it comes from; ``confidence`` says so where the source was not read itself."""

    topic: str
    rule: Stated
    source: str
    clause: str | None = None
    confidence: str | None = None


@dataclass(frozen=True, slots=True)
class DerivationStep:
    """One step of how a value came about: what it is, what went in, the rule, its source, and what came out."""

    what: str | Stated
    inputs: tuple[str | Stated | Finding, ...]
    rule: str | Stated
    source: str | Stated
    result: str | Stated


@dataclass(frozen=True, slots=True)
class Evaluation:
    """All results and findings of a job."""

    report: ReportIdentity
    verdict: Verdict
    areas: tuple[AreaResult, ...]
    conditions: tuple[Any, ...] = ()
    salts: tuple[Any, ...] = ()
    dust: tuple[Any, ...] = ()
    air: tuple[Any, ...] = ()
    abrasive: tuple[Any, ...] = ()
    cleanliness: tuple[Any, ...] = ()
    comparators: tuple[ComparatorResult, ...] = ()
    checks: tuple[CheckResult, ...] = ()
    coating_times: tuple[CoatingTime, ...] = ()
    nonconformances: tuple[NonconformanceState, ...] = ()
    findings: tuple[Finding, ...] = ()
    measure_next: tuple[Task, ...] = ()
    rules: tuple[RuleApplied, ...] = ()
    not_evaluated: tuple[LeftOut, ...] = ()
    format: int = 1
