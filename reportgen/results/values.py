"""Frozen results: spot, location, area, checks, findings, evaluation; what every rule yields; where a day stands."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal
from typing import Annotated, Any, Generic, Literal, Self, TypeVar, get_args

from reportgen.results.facts import Amount, Facts, Place, Stated, Value, Word
from reportgen.results.signatories import Signatory

R = TypeVar("R", covariant=True)  # noqa: PLC0105 - one letter, as the results' type is all it says

Verdict = Literal["conforms", "does not conform", "inconclusive", "not evaluated"]
Decision = Literal["release", "hold", "rework"]
Severity = Literal["nonconformance", "observation"]
How = Literal[
    "recorded-as-taken", "averaged", "second-governs", "second-missing", "outside-grade-range", "contradictory",
    "compared",
]  # fmt: skip
VerdictWord = Annotated[Word, "verdict", get_args(Verdict)]
DecisionWord = Annotated[Word, "decision", get_args(Decision)]
Component = Annotated[
    Word, "component",
    (
        "gauge accuracy", "calibration", "gauge resolution", "film thickness", "shim check", "check at rest", "shim",
        "repeatability", "scatter of locations", "air temperature", "wet bulb", "relative humidity", "pressure",
        "steel temperature",
        "method precision", "meter at sample", "meter at blank", "volume of water", "patch area", "conductivity meter",
        "instrument", "scatter of differences", "stated by the other", "gauge accuracy of the other",
    ),
]  # fmt: skip
Distribution = Annotated[Word, "distribution", ("normal", "rectangular", "triangular", "u-shaped")]
BudgetSource = Annotated[
    Word, "budget-source",
    (
        "type-a", "stated-repeatability", "stated-accuracy", "accuracy-of-reading", "calibration-certificate",
        "limits-of-error", "last-digit", "shim-checks", "rest-checks", "shim-certificate", "as-recorded", "contract",
        "published-precision", "beyond-published",
    ),
]  # fmt: skip
UncertainQuantity = Annotated[
    Word,
    "quantity",
    (
        "air-temperature",
        "steel-temperature",
        "humidity",
        "dew-point",
        "dew-point-margin",
        "salt-density",
        "leachate-conductivity",
    ),
]
"""Results of the kinds of measurement that have an uncertainty."""
WalkEnd = Annotated[Word, "walk-end", ("no-room",)]

AtTime = str
"""A local time as printed: ``06:40``, or ``2026-05-15 00:20`` when it is not on the report's date."""


class ReportIdentity(Value):
    """What tells this report from every other."""

    number: str
    revision: int
    date: str


class SpotReading(Value):
    """One net reading of a spot, in the area's gauge unit, with the roll and grade it was taken on."""

    roll: str | None
    grade: str | None
    gross: Decimal
    net: Decimal


class SpotResult(Value):
    """One spot: its profile in the specification's unit (None when it has none) and how it came about.

    ``observed`` is the grade seen beside a reference comparator, which gives no profile.
    """

    id: str
    profile: Decimal | None
    how: How
    readings: tuple[SpotReading, ...] = ()
    observed: str | None = None


class LocationResult(Value):
    """One location, in the specification's unit.

    ``profile`` is printed; ``compared`` is what the rounding method compares with the limits, with its digits.
    ``walk_out`` names the failing location this one was measured for, or None for a regular location.
    ``apparatus`` is there where several prepared the area: they may use the same names for their locations.
    ``observed`` are the grades seen beside a reference comparator, which give no profile. The degrees of freedom are
    those of the combined ``standard_uncertainty``, infinite where it has none.
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
    observed: str | None = None
    standard_uncertainty: Decimal | None = None
    effective_degrees_of_freedom: int | None = None


class BudgetLine(Facts):
    """One line of an uncertainty budget: values in the specification's unit; ``share`` of the variance in percent.

    ``source`` is of the group ``citation`` where it is a published text.
    """

    component: Component
    value: Decimal
    distribution: Distribution
    divisor: Decimal
    standard_uncertainty: Decimal
    degrees_of_freedom: int | None
    common: bool
    source: BudgetSource
    share: Decimal | None = None


class Period(Facts):
    """A time by which a sampling plan counts, from and to as printed."""

    start: str
    end: str


class BudgetInput(Facts):
    """One line of the budget of a computed result: an error in its own unit, and what it brings in the result's."""

    component: Component
    value: Amount
    distribution: Distribution
    divisor: Decimal
    sensitivity: Decimal
    contribution: Decimal
    source: BudgetSource
    share: Decimal
    degrees_of_freedom: int | None = None


class ResultBudget(Value):
    """The uncertainty budget of one result, in ``unit``; without degrees of freedom where they are infinite."""

    quantity: UncertainQuantity
    unit: str
    lines: tuple[BudgetInput, ...]
    standard_uncertainty: Decimal
    coverage_factor: Decimal
    expanded_uncertainty: Decimal
    effective_degrees_of_freedom: int | None = None


class SamplingPart(Facts):
    """Locations required of and taken on what one apparatus blasted on an area; ``period`` where there are several."""

    apparatus: str
    period: Period | None
    required: int
    taken: int


class Towards(Facts):
    """A direction of a walk-out: by the name that the inspector gave it, else by its number."""

    name: str | None
    number: int | None = None


class Extent(Facts):
    """How far what failed reaches in one direction; ``end`` where the surface ended there."""

    towards: Towards
    reach: Amount
    end: WalkEnd | None = None


class Bounded(Facts):
    """The area that does not conform around a failing location."""

    failing: str
    extents: tuple[Extent, ...]


class Chance(Facts):
    """With which probability an area passes of whose locations at least ``low`` percent are too low or too high."""

    low: int
    passes: Decimal


class PlanMisses(Facts):
    """What so many locations, chosen at random, can miss; ``possible`` are all that the area's size has room for.

    ``room`` is there instead where the size has room for fewer than were measured, so that it says nothing.
    """

    locations: int
    chances: tuple[Chance, ...]
    possible: int | None = None
    room: int | None = None


class Cleaned(Facts):
    """How much of an area was cleaned: today, by now, of what size; share of it in percent."""

    today: Amount
    by_now: Amount
    size: Amount | None = None
    share: Decimal | None = None


class Task(Value):
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


class LeftOut(Value):
    """Something that no rule evaluated."""

    code: str
    place: Place
    facts: Facts


class Counted(Value):
    """Why an area is not simply released: a finding by its index in the evaluation, and whether it was accepted."""

    finding: int
    accepted: bool = False


class AreaResult(Value):
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
    tolerance_interval: tuple[Decimal, Decimal] | None = None
    percent_within_limits: Decimal | None = None
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    effective_degrees_of_freedom: int | None = None
    sampling: tuple[SamplingPart, ...] = ()
    can_miss: PlanMisses | None = None
    locations: tuple[LocationResult, ...] = ()
    budget: tuple[BudgetLine, ...] = ()
    location_budget: tuple[BudgetLine, ...] = ()
    reasons: tuple[Counted, ...] = ()
    not_inspected: str | None = None
    bounded_area: tuple[Bounded, ...] = ()
    not_evaluated: tuple[LeftOut, ...] = ()
    place: str | None = None
    cleaned: Cleaned | None = None

    def located(self, location: LocationResult) -> str:
        """Name a location so that it is the only one on the area: ``1``, or ``1 (pot A)`` where several use a name."""
        alike = {one.apparatus for one in self.locations if one.id == location.id}
        return f"{location.id} ({location.apparatus})" if len(alike) > 1 else location.id

    @property
    def released_part(self) -> Cleaned | None:
        """What is released where that is not the area: of the rest nothing is said, as it was not cleaned yet."""
        part = self.cleaned
        if self.decision != "release" or part is None or part.size is None:
            return None
        return part if part.by_now.value < part.size.value else None

    @property
    def by_decision(self) -> bool:
        """Whether the area is released though it is not said to conform: what stands against it was accepted."""
        return self.decision == "release" and self.verdict != "conforms"

    @property
    def released_whole(self) -> bool:
        """Whether a release slip may speak of the area: it is released, and all of it was cleaned and inspected."""
        return self.decision == "release" and self.released_part is None and self.not_inspected is None


class ComparatorResult(Value):
    """One visual comparison with a reference comparator: the grade seen."""

    area: str
    location: str
    observed: str
    verdict: Verdict


class ComparedLocation(Value):
    """One location as somebody else and as the inspector found it, and the difference, theirs less the inspector's.

    ``expanded_uncertainty`` is that of the difference, ``normalized_error`` the difference over it: E_n.
    """

    id: str
    profile: Decimal
    by_inspector: Decimal
    difference: Decimal
    expanded_uncertainty: Decimal | None = None
    normalized_error: Decimal | None = None


class ComparisonResult(Value):
    """Somebody else's readings beside the inspector's on one surface, in ``unit``; no verdict rests on it.

    ``basis`` says what the uncertainty of their values rests on. The mean difference has its expanded uncertainty; it
    is ``biased`` where it is greater. ``equal`` of ``compared`` readings are the inspector's own numbers, as many
    or more with ``chance_of_equal`` by chance.
    """

    area: str
    apparatus: str
    by: str
    unit: str
    basis: Word
    organisation: str | None = None
    gauge: str | None = None
    time: AtTime | None = None
    locations: tuple[ComparedLocation, ...] = ()
    mean_difference: Decimal | None = None
    standard_deviation: Decimal | None = None
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    biased: bool | None = None
    compared: int = 0
    equal: int = 0
    chance_of_equal: Decimal | None = None


CheckKind = Literal["gauge", "tape", "calibration", "certificate", "function", "hold-point"]


class CheckResult(Value):
    """One check of gauge, tape, calibration, certificate or function of an instrument; or a hold point."""

    kind: CheckKind
    subject: str
    time: AtTime | None
    verdict: Verdict
    facts: Facts


class CoatingTime(Value):
    """Time from the end of blasting to the primer, in hours."""

    area: str
    hours: Decimal | None
    limit: Decimal | None
    verdict: Verdict
    coat_by: AtTime | None = None


class Finding(Value):
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


class NonconformanceState(Value):
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
    due: str | None = None
    responsible: str | None = None


class RuleApplied(Value):
    """A rule that was applied and where it comes from; ``confidence`` says so where the source was not read itself."""

    topic: str
    rule: Stated
    source: str
    clause: str | None = None
    confidence: str | None = None


class DerivationStep(Value):
    """One step of how a value came about: what it is, what went in, the rule, its source, and what came out."""

    what: str | Stated
    inputs: tuple[str | Stated | Finding, ...]
    rule: str | Stated
    source: str | Stated
    result: str | Stated


class Evaluation(Value):
    """All results and findings of a job, and whom it names to sign: so that the issue facts cannot name others."""

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
    comparisons: tuple[ComparisonResult, ...] = ()
    checks: tuple[CheckResult, ...] = ()
    coating_times: tuple[CoatingTime, ...] = ()
    nonconformances: tuple[NonconformanceState, ...] = ()
    findings: tuple[Finding, ...] = ()
    measure_next: tuple[Task, ...] = ()
    rules: tuple[RuleApplied, ...] = ()
    not_evaluated: tuple[LeftOut, ...] = ()
    signers: tuple[Signatory, ...] = ()
    format: int = 1

    @property
    def for_slips(self) -> frozenset[str]:
        """The areas that a release slip may speak of: released as a whole, and no part of them primed yet."""
        primed = {one.area for one in self.coating_times if one.hours is not None}
        return frozenset(one.id for one in self.areas if one.released_whole) - primed


class Outcome(Value, Generic[R]):
    """Results of one concern, and everything noticed on the way to them."""

    results: tuple[R, ...] = ()
    findings: tuple[Finding, ...] = ()
    measure_next: tuple[Task, ...] = ()
    not_evaluated: tuple[LeftOut, ...] = ()

    @classmethod
    def joined(cls, outcomes: Iterable["Outcome[R]"], left_out: Iterable[LeftOut] = ()) -> Self:
        """Return several outcomes as one, in their order, ``left_out`` at the end."""
        each = tuple(outcomes)
        return cls(
            tuple(result for one in each for result in one.results),
            tuple(finding for one in each for finding in one.findings),
            tuple(step for one in each for step in one.measure_next),
            (*(gap for one in each for gap in one.not_evaluated), *left_out),
        )


class Cause(Value):
    """Findings of one cause, told once: what they say is the same, only their places differ.

    ``finding`` is the first of them, ``indices`` are their places among the findings of the evaluation. ``primed`` is
    when the steel was primed on which nobody can measure any more what they miss.
    """

    finding: Finding
    indices: tuple[int, ...]
    places: tuple[Place, ...]
    primed: AtTime | None = None


class TaskOnPrimed(Task):
    """A thing to measure on bare steel, which was primed since."""

    primed: AtTime | None = None


class Deadline(Value):
    """Until when an area that is not coated yet may be coated: as printed, and as an instant in the site's zone."""

    area: str
    coat_by: AtTime
    instant: dt.datetime


class Standing(Value):
    """A day in the order in which it is told.

    ``wrong`` in the day file, ``out_of_limits``, ``missing`` before one may leave the site, ``past``: missing, and no
    more to be had because its time is over, ``asked``: what to write where something may have been done that the day
    file does not say, ``next``: what to do that nothing among the missing says already, ``deadlines`` of what is not
    coated yet, ``noted`` without consequence, ``left_out``: what no rule evaluated.
    """

    wrong: tuple[Cause, ...] = ()
    out_of_limits: tuple[Cause, ...] = ()
    missing: tuple[Cause, ...] = ()
    asked: tuple[Task, ...] = ()
    next: tuple[Task, ...] = ()
    deadlines: tuple[Deadline, ...] = ()
    noted: tuple[Cause, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    past: tuple[Cause, ...] = ()
