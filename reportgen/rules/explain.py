"""How a value came about, step by step, as data; and what a finding code means."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.errors import UsageError
from reportgen.metrology.tape import film_thickness
from reportgen.references import citation
from reportgen.results import DerivationStep, Stated, Word
from reportgen.results.codes.profile import SpotCame
from reportgen.rules.derivation import surroundings
from reportgen.rules.evaluate import evaluate
from reportgen.rules.outcome import amount_of, shown, shown_number
from reportgen.rules.readings import measured_surface
from reportgen.rules.requirement import requirement_of
from reportgen.rules.scene import JobView
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterator
    from decimal import Decimal

    from reportgen.job import Job
    from reportgen.results import (
        AreaResult,
        BudgetLine,
        Evaluation,
        LocationResult,
        SpotReading,
        SpotResult,
    )
    from reportgen.rules.readings import MeasuredLocation, MeasuredSpot, MeasuredSurface
    from reportgen.rules.requirement import Requirement


def explain_area(job: Job, area: str) -> tuple[DerivationStep, ...]:
    """Return every step from the readings of an area to the decision on it, in order.

    Raises:
        UsageError: for an area that this report does not inspect, naming those it does.
    """
    view = JobView(job)
    inspected = {one.id: one for one in view.areas}
    if area not in inspected:
        raise UsageError(
            f"area `{area}` is not inspected in {job.day.report.number}", help_text=f"inspected: {', '.join(inspected)}"
        )
    return dict(_explained(view, evaluate(job), {area}))[area]


def explain_areas(job: Job, evaluation: Evaluation) -> dict[str, tuple[DerivationStep, ...]]:
    """Return the same for every area that was inspected, by id in the order of the evaluation it belongs to."""
    view = JobView(job)
    return dict(_explained(view, evaluation, {area.id for area in view.areas}))


def _explained(
    view: JobView, evaluation: Evaluation, wanted: set[str]
) -> Iterator[tuple[str, tuple[DerivationStep, ...]]]:
    surfaces = {one.id: one.surfaces for one in view.areas}
    requirement = requirement_of(view.specification.profile)
    for result in evaluation.areas:
        if result.id in wanted:
            measured = [one for one in (measured_surface(view, s) for s in surfaces[result.id]) if one is not None]
            yield result.id, tuple(_steps(view, requirement, measured, result, evaluation))


def _steps(
    view: JobView, requirement: Requirement, measured: list[MeasuredSurface], result: AreaResult, evaluation: Evaluation
) -> Iterator[DerivationStep]:
    results = iter(result.locations)
    for surface in measured:
        for location in surface.locations:
            yield from _location(view, requirement, surface, location, next(results))
    yield from _budget(result)
    yield from _statistics(view, result)
    yield from surroundings(view, evaluation, result.id)
    yield _conclusion(evaluation, result)


def _location(
    view: JobView, requirement: Requirement, surface: MeasuredSurface, location: MeasuredLocation,
    result: LocationResult,
) -> Iterator[DerivationStep]:  # fmt: skip
    for spot, printed in zip(location.spots, result.spots, strict=True):
        yield _spot(view, surface, location.id, spot, printed)
    record = requirement.record
    what, source = f"location {location.id}", f"{record.method}, {record.edition}"
    if location.value is None or result.profile is None:
        lacking = tuple(f"spot {spot.id}" for spot in location.spots if spot.profile is None)
        rule = "a location has a value when all its spots have one"
        yield DerivationStep(what, lacking, rule, source, result.verdict)
        return
    exact = location.value * Quantity(Fraction(1), surface.unit).in_unit(requirement.unit)
    inputs = tuple(f"spot {spot.id}: {spot.profile}" for spot in result.spots)
    rule = f"{record.location_value} of the spots, exactly, in the unit of the specification"
    yield DerivationStep(
        what, inputs, rule, source, shown_number(exact, requirement.unit, _digits(result.profile))
    )  # fmt: skip
    yield _judgement(requirement, result)


def _spot(
    view: JobView, surface: MeasuredSurface, location: str, spot: MeasuredSpot, printed: SpotResult
) -> DerivationStep:
    rule, source = "the reading stands", view.specification.profile.method
    if surface.on_tape:
        rule = f"rule for two tape grades: {view.specification.profile.overlap_rule}"
        source = citation("tape-overlap-rule").text
        if surface.record.film == "included":
            rule += f"; film of {shown(film_thickness(surface.unit))} taken off"
    value = None
    if spot.profile is not None and printed.profile is not None:
        value = amount_of(spot.profile, surface.unit, _digits(printed.profile))
    came = SpotCame(Word("how", spot.how), spot.why, spot.spoken_of, value)
    result = Stated("step", "spot" if value else "spot-without", came)
    inputs = tuple(_reading(one, surface.unit) for one in spot.readings)
    return DerivationStep(f"location {location}, spot {spot.id}", inputs, rule, source, result)


def _reading(one: SpotReading, unit: str) -> str:
    grade = "" if one.grade is None else f" ({one.grade})"
    net = "" if one.net == one.gross else f", net {shown_number(one.net, unit, _digits(one.net))}"
    return f"{one.roll or 'gauge'}{grade}: {shown_number(one.gross, unit, _digits(one.gross))}{net}"


_BANDS: Final = {
    "pass": "inside the limits by U or more",
    "conditional pass": "within the limits, nearer to them than U",
    "conditional fail": "outside the limits, nearer to them than U",
    "fail": "outside the limits by more than U",
}


def _judgement(requirement: Requirement, result: LocationResult) -> DerivationStep:
    record = requirement.record
    inputs = [f"{result.profile}", f"limits {requirement.range_words()}"]
    if result.expanded_uncertainty is not None:
        inputs.append(f"U = {result.expanded_uncertainty} (k = {result.coverage_factor})")
    rounding = "absolute method" if record.rounding == "none" else f"rounding method, {record.rounding}"
    outcome = f"{result.verdict}; compared: {result.compared}"
    if record.decision_rule != "simple" and result.band is not None:
        outcome += f"; {_BANDS[result.band]}"
    if result.probability_of_conformity is not None:
        outcome += f"; probability of conformity {result.probability_of_conformity}"
    sources = f"{citation('ilac-g8').text}; {citation('astm-e29').text}"
    return DerivationStep(
        f"location {result.id}, verdict", tuple(inputs), f"{record.decision_rule}, {rounding}", sources, outcome
    )


def _budget(result: AreaResult) -> Iterator[DerivationStep]:
    source = citation("jcgm-100").text
    rule = "root sum of squares, factor from t"
    if result.location_budget:
        inputs = tuple(map(_budget_line, result.location_budget))
        yield DerivationStep("uncertainty of a location", inputs, rule, source, "U as at each location")
    if result.budget:
        inputs = tuple(map(_budget_line, result.budget))
        value = f"U = {result.expanded_uncertainty}, k = {result.coverage_factor}"
        yield DerivationStep("uncertainty of the mean", inputs, rule, source, value)


def _budget_line(line: BudgetLine) -> Stated:
    return Stated("step", "budget-line", line)


def _statistics(view: JobView, result: AreaResult) -> Iterator[DerivationStep]:
    plan = view.specification.sampling.plan.replace("-", " ")
    required = (
        "number required not known" if result.required_locations is None else f"{result.required_locations} required"
    )
    parts = (Stated("step", "sampled", part) for part in result.sampling)
    inputs: tuple[str | Stated, ...] = (f"{result.n_locations} regular locations", *parts)
    yield DerivationStep("sampling", inputs, plan, view.specification.document, required)
    if result.mean is not None:
        regular = (one for one in result.locations if one.walk_out is None)
        inputs = tuple(f"location {one.id}: {one.profile}" for one in regular if one.profile is not None)
        spread = "" if result.standard_deviation is None else f", s = {result.standard_deviation}"
        value = f"{result.mean}{spread}, n = {len(inputs)}"
        source = citation("sspc-pa-17-decision").text
        yield DerivationStep("mean of the locations", inputs, "arithmetic mean; it does not decide", source, value)


def _conclusion(evaluation: Evaluation, result: AreaResult) -> DerivationStep:
    concerned = [finding for finding in evaluation.findings if finding.area in (None, result.id)]
    inputs = tuple(concerned)
    rule = "rework where something does not conform, hold where something is missing, else release"
    source = "recommendation of the inspector under the contract"
    return DerivationStep("decision", inputs, rule, source, f"{result.verdict}: {result.decision}")


def _digits(number: Decimal) -> int:
    return Quantity(number, "mil").places
