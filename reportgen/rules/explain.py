"""How a value came about, step by step, as data; and what a finding code means."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from reportgen.errors import UsageError
from reportgen.measurements import LOGS, MEASUREMENTS, OF_A_SURFACE
from reportgen.metrology.tape import film_thickness
from reportgen.references import citation
from reportgen.results import Amount, DerivationStep, Place, Stated, Word
from reportgen.results.codes import comparison
from reportgen.results.codes import derivation as codes
from reportgen.results.codes.coating import WITHOUT_LIMIT, TimeAllowed, TimeTaken
from reportgen.results.codes.profile import SpotCame
from reportgen.results.codes.rules import RangeOf
from reportgen.results.facts import NOTHING
from reportgen.rules.readings import measured_surface
from reportgen.rules.requirement import requirement_of
from reportgen.rules.scene import as_evaluated
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Iterator
    from decimal import Decimal

    from reportgen.job import Job, Surface
    from reportgen.results import (
        AreaResult,
        CoatingTime,
        ComparisonResult,
        Evaluation,
        LocationResult,
        ResultBudget,
        SpotReading,
        SpotResult,
    )
    from reportgen.rules.readings import MeasuredLocation, MeasuredSpot, MeasuredSurface
    from reportgen.rules.requirement import Requirement
    from reportgen.rules.scene import JobView


def explain_area(job: Job, evaluation: Evaluation, area: str) -> tuple[DerivationStep, ...]:
    """Return every step from the readings of an area to the decision on it, in order.

    Raises:
        UsageError: for an area that this report does not inspect, naming those it does.
    """
    view = as_evaluated(job, evaluation)
    inspected = {one.id: one for one in view.areas}
    if area in job.begun and area not in inspected:
        message = f"nothing entered of area `{area}` is finished in {job.day.report.number}"
        raise UsageError(message, help_text="`reportgen check` names what is missing")
    if area not in inspected:
        raise UsageError(
            f"area `{area}` is not inspected in {job.day.report.number}", help_text=f"inspected: {', '.join(inspected)}"
        )
    return _explained(view, evaluation, {area})[area]


def explain_areas(job: Job, evaluation: Evaluation) -> dict[str, tuple[DerivationStep, ...]]:
    """Return the same for every area that was inspected, by id in the order of the evaluation it belongs to."""
    view = as_evaluated(job, evaluation)
    return _explained(view, evaluation, {area.id for area in view.areas})


def _explained(view: JobView, evaluation: Evaluation, wanted: set[str]) -> dict[str, tuple[DerivationStep, ...]]:
    surfaces = {one.id: one.surfaces for one in view.areas}
    requirement = requirement_of(view.specification.profile)
    explained = {}
    for result in (one for one in evaluation.areas if one.id in wanted):
        measured = [one for one in (measured_surface(view, s) for s in surfaces[result.id]) if one is not None]
        explained[result.id] = tuple(_steps(view, requirement, measured, result, evaluation))
    return explained


def _steps(
    view: JobView, requirement: Requirement, measured: list[MeasuredSurface], result: AreaResult, evaluation: Evaluation
) -> Iterator[DerivationStep]:
    results = iter(result.locations)
    for surface in measured:
        for location in surface.locations:
            yield from _location(view, requirement, surface, location, next(results))
    yield from _budget(result)
    yield from _statistics(view, result)
    for compared in (one for one in evaluation.comparisons if one.area == result.id):
        yield from _comparison(compared)
    yield from _surroundings(view, evaluation, result.id)
    concerned = tuple(finding for finding in evaluation.findings if finding.area in (None, result.id))
    part = result.released_part
    of = () if part is None else (part.today, part.size)
    concluded = codes.Concluded(Word("verdict", result.verdict), Word("decision", result.decision), *of)
    yield DerivationStep(
        codes.DECISION.of(NOTHING), concerned, codes.RECOMMENDED.of(NOTHING), codes.BY_INSPECTOR.of(NOTHING),
        codes.CONCLUDED.of(concluded),
    )  # fmt: skip


def _location(
    view: JobView, requirement: Requirement, surface: MeasuredSurface, location: MeasuredLocation,
    result: LocationResult,
) -> Iterator[DerivationStep]:  # fmt: skip
    record, place = requirement.record, Place(location=location.id)
    what, source = codes.LOCATION.of(NOTHING, place), f"{record.method}, {record.edition}"
    if result.observed is not None:
        seen = tuple(codes.SEEN.of(codes.Seen(grade)) for grade in location.seen)
        judged = codes.JUDGED.of(codes.Judged(Word("verdict", result.verdict)), place)
        inputs = (*seen, codes.LIMITS.of(RangeOf(requirement.range)))
        yield DerivationStep(what, inputs, codes.BESIDE_COMPARATOR.of(NOTHING), source, judged)
        return
    for spot, printed in zip(location.spots, result.spots, strict=True):
        yield _spot(view, surface, location.id, spot, printed)
    scale = Quantity(Fraction(1), surface.unit).in_unit(requirement.unit)
    counted = _counted(location, result, requirement, scale)
    if counted.value is None or result.profile is None:
        without = [spot.id for spot in location.spots if spot.profile is None]
        lacking = tuple(codes.LACKING.of(NOTHING, Place(location=location.id, spot=spot)) for spot in without)
        judged = codes.JUDGED.of(codes.Judged(Word("verdict", result.verdict)), place)
        yield DerivationStep(what, lacking, codes.ALL_SPOTS.of(NOTHING), source, judged)
        return
    exact = counted.value * scale
    inputs = tuple(
        codes.OF_SPOT.of(codes.Number(spot.profile), Place(location=location.id, spot=spot.id))
        for spot in result.spots[: len(counted.spots)]
        if spot.profile is not None
    )
    rule = codes.BY_SPOTS.of(codes.ValueOf(Word("value-of-spots", record.value_rule)))
    came = Amount(rounded(exact, _digits(result.profile)), requirement.unit)
    yield DerivationStep(what, inputs, rule, source, codes.CAME.of(codes.Came(came), place))
    yield _judgement(requirement, result)


def _counted(
    location: MeasuredLocation, result: LocationResult, requirement: Requirement, scale: Fraction
) -> MeasuredLocation:
    """Return a location as it was judged: by the spots taken first where these do not conform."""
    needed = requirement.record.readings_needed
    if len(location.spots) <= needed or location.first is None or result.verdict != "does not conform":
        return location
    if result.profile is None or rounded(location.first * scale, _digits(result.profile)) != result.profile:
        return location
    return location.by_first(needed)


def _spot(
    view: JobView, surface: MeasuredSurface, location: str, spot: MeasuredSpot, printed: SpotResult
) -> DerivationStep:
    rule, source = codes.STANDS.of(NOTHING), view.specification.profile.method
    overlap = view.specification.profile.overlap_rule
    if surface.on_tape and overlap is not None:
        film = Amount.of(film_thickness(surface.unit)) if surface.record.film == "included" else None
        rule = codes.TWO_GRADES.of(codes.ByTwoGrades(Word("overlap-rule", overlap), film))
        source = citation("tape-overlap-rule").text
    value = None
    if spot.profile is not None and printed.profile is not None:
        value = Amount.of_number(spot.profile, surface.unit, _digits(printed.profile))
    came = SpotCame(Word("how", spot.how), spot.why, spot.spoken_of, value)
    result = Stated("step", "spot" if value else "spot-without", came)
    inputs = tuple(_reading(one, surface.unit) for one in spot.readings)
    what = codes.SPOT.of(NOTHING, Place(location=location, spot=spot.id))
    return DerivationStep(what, inputs, rule, source, result)


def _reading(one: SpotReading, unit: str) -> Stated:
    gross = Amount(one.gross, unit)
    if one.roll is None or one.grade is None:
        return codes.BY_GAUGE.of(codes.ByGauge(gross))
    net = None if one.net == one.gross else Amount(one.net, unit)
    return codes.ON_TAPE.of(codes.OnTape(one.roll, Word("tape-grade", one.grade), gross, net))


def _judgement(requirement: Requirement, result: LocationResult) -> DerivationStep:
    record, place = requirement.record, Place(location=result.id)
    assert result.profile is not None  # noqa: S101 - only a location with a value is judged
    inputs = [codes.COMPARED.of(codes.Number(result.profile)), codes.LIMITS.of(RangeOf(requirement.range))]
    if result.expanded_uncertainty is not None and result.coverage_factor is not None:
        inputs.append(codes.EXPANDED.of(codes.Expanded(result.expanded_uncertainty, result.coverage_factor)))
    by = codes.JudgedBy(Word("decision-rule", record.decision_rule), Word("rounding", record.rounding))
    band = None if record.decision_rule == "simple" or result.band is None else Word("band", result.band)
    judged = codes.Judged(Word("verdict", result.verdict), result.compared, band, result.probability_of_conformity)
    sources = f"{citation('ilac-g8').text}; {citation('astm-e29').text}"
    return DerivationStep(
        codes.VERDICT.of(NOTHING, place), tuple(inputs), codes.JUDGED_BY.of(by), sources, codes.JUDGED.of(judged, place)
    )


def _budget(result: AreaResult) -> Iterator[DerivationStep]:
    source, rule = citation("jcgm-100").text, codes.ROOT_SUM.of(NOTHING)
    both = (result.location_budget, result.budget)
    of_location, of_mean = (tuple(Stated("step", "budget-line", line) for line in lines) for lines in both)
    if of_location:
        yield DerivationStep(codes.OF_LOCATION.of(NOTHING), of_location, rule, source, codes.AT_EACH.of(NOTHING))
    if of_mean and result.expanded_uncertainty is not None and result.coverage_factor is not None:
        value = codes.MEAN_EXPANDED.of(codes.Expanded(result.expanded_uncertainty, result.coverage_factor))
        yield DerivationStep(codes.OF_MEAN.of(NOTHING), of_mean, rule, source, value)


def _statistics(view: JobView, result: AreaResult) -> Iterator[DerivationStep]:
    count = result.required_locations
    required = codes.NOT_KNOWN.of(NOTHING) if count is None else codes.REQUIRED.of(codes.Count(count))
    parts = (Stated("step", "sampled", part) for part in result.sampling)
    inputs: tuple[Stated, ...] = (codes.REGULAR.of(codes.Count(result.n_locations)), *parts)
    plan = codes.PLAN.of(codes.PlanNamed(Word("plan", view.specification.sampling.plan)))
    yield DerivationStep(codes.SAMPLING.of(NOTHING), inputs, plan, view.specification.document, required)
    if result.can_miss is not None:
        missed, source = codes.MISSED.of(codes.CanMiss(result.can_miss)), citation("acceptance-by-attributes").text
        yield DerivationStep(codes.MISSES.of(NOTHING), inputs[:1], codes.AT_RANDOM.of(NOTHING), source, missed)
    if result.mean is not None:
        regular = [one for one in result.locations if one.walk_out is None]
        inputs = tuple(
            codes.AT_LOCATION.of(codes.Number(one.profile), Place(location=one.id))
            for one in regular
            if one.profile is not None
        )
        came = codes.MEAN_CAME.of(codes.Mean(result.mean, len(inputs), result.standard_deviation))
        source, rule = citation("sspc-pa-17-decision").text, codes.ARITHMETIC.of(NOTHING)
        yield DerivationStep(codes.MEAN.of(NOTHING), inputs, rule, source, came)


def _comparison(result: ComparisonResult) -> Iterator[DerivationStep]:
    """Yield the steps of somebody else's readings beside the inspector's."""

    def amount(number: Decimal) -> Amount:
        return Amount(number, result.unit)

    who, source = comparison.Beside(result.by), citation("iso-13528").text
    rule = comparison.BY_DIFFERENCE.of(comparison.BasisOf(result.by, result.basis))
    for one in result.locations:
        place = Place(location=one.id)
        both = comparison.BOTH.of(comparison.Both(amount(one.profile), amount(one.by_inspector)), place)
        own = None if one.expanded_uncertainty is None else amount(one.expanded_uncertainty)
        came = comparison.Differs(amount(one.difference), own, one.normalized_error)
        yield DerivationStep(comparison.COMPARED.of(who), (both,), rule, source, comparison.DIFFERS.of(came, place))
    mean, expanded, factor = result.mean_difference, result.expanded_uncertainty, result.coverage_factor
    if mean is not None and expanded is not None and factor is not None:
        inputs = tuple(
            comparison.DIFFERS.of(comparison.Differs(amount(one.difference)), Place(location=one.id))
            for one in result.locations
        )
        value = comparison.MeanDiffers(amount(mean), amount(expanded), factor, len(inputs))
        yield DerivationStep(
            comparison.MEAN_COMPARED.of(who), inputs, comparison.BY_MEAN.of(who), citation("jcgm-100").text,
            comparison.MEAN_DIFFERS.of(value),
        )  # fmt: skip


def _surroundings(view: JobView, evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    """Yield the steps of what was measured around the profile: conditions, surface, contamination, time to coat."""
    document = view.specification.document
    logged = ((kind.bears_on, one) for kind in LOGS if kind.bears_on for one in getattr(evaluation, kind.key))
    for bears_on, result in logged:
        step = bears_on(result, area)
        if step is not None:
            yield step
            yield from _budgets(result)
    yield from _tested(view, evaluation, area)
    yield from (_coating(coat, document) for coat in evaluation.coating_times if coat.area == area)


def _tested(view: JobView, evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    """Yield a step for each result of the kinds of the registry, with the test that it came from."""
    for kind, _, test, result in tests_with_results(view, evaluation, area):
        if kind.derived is not None:
            yield kind.derived(test, result, view.specification.document)
            yield from _budgets(result)


def tests_with_results(view: JobView, evaluation: Evaluation, area: str) -> Iterator[tuple[Any, Surface, Any, Any]]:
    """Yield each result of a kind of measurement on an area: kind, entry, test (None where it lacks one), result."""
    records = [surface.record for surface in view.surfaces if surface.record.area == area]
    for kind in MEASUREMENTS:
        if kind in LOGS:
            continue
        lacking = (None,) if kind in OF_A_SURFACE else ()
        tests = [(record, test) for record in records for test in kind.entries_on(record) or lacking]
        results = filter(lambda one: one.area == area, getattr(evaluation, kind.key))
        for (record, test), result in zip(tests, results, strict=True):
            yield kind, record, test, result


def _budgets(result: Any) -> Iterator[DerivationStep]:
    """Yield a step for each uncertainty of a result whose budget stands with it."""
    source, rule = citation("jcgm-100").text, codes.ROOT_SUM.of(NOTHING)
    budgets: tuple[ResultBudget, ...] = getattr(result, "budgets", ())
    for one in budgets:
        inputs = tuple(map(codes.BUDGET_INPUT.of, one.lines))
        what = codes.OF_RESULT.of(codes.OfResult(one.quantity))
        came = codes.Combined(
            Amount(one.standard_uncertainty, one.unit), Amount(one.expanded_uncertainty, one.unit),
            one.coverage_factor, one.effective_degrees_of_freedom,
        )  # fmt: skip
        yield DerivationStep(what, inputs, rule, source, codes.RESULT_EXPANDED.of(came))


def _coating(coat: CoatingTime, document: str) -> DerivationStep:
    taken = (
        Stated("result", "not-coated", NOTHING)
        if coat.hours is None
        else Stated("result", "time-to-coat", TimeTaken(Amount(coat.hours, "h")))
    )
    rule = (
        Stated("left-out", WITHOUT_LIMIT.name, NOTHING)
        if coat.limit is None
        else Stated("limit", "time-to-coat-derived", TimeAllowed(Amount(coat.limit, "h")))
    )
    return DerivationStep(Stated("measured", "time-to-coat", NOTHING), (taken,), rule, document, coat.verdict)


def _digits(number: Decimal) -> int:
    return Quantity(number, "mil").places
