"""Checks of the abrasive, and abrasive that was used without the checks that the contract asks for."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from reportgen.measurements.abrasive import codes
from reportgen.measurements.abrasive.record import AbrasiveCheck, AbrasiveLimits, OilSeen
from reportgen.measurements.gaps import gap_of
from reportgen.measurements.judging import Judged, beside_value, errors_at, judged
from reportgen.measurements.slice import Scene, SceneSurface
from reportgen.measurements.uncertain import Uncertainty
from reportgen.metrology.conductivity import precision_component, reading_budget
from reportgen.metrology.conformity import DecisionRule, Limits
from reportgen.results import AtTime, Finding, Outcome, ResultBudget, Task, Verdict
from reportgen.results.facts import NOTHING, Amount, Place, Value, Word
from reportgen.units import Quantity, rounded


class AbrasiveResult(Value):
    """One check of the abrasive: conductivity as written, or with the digits that show a verdict beside its U.

    The budget stands with one check for each instrument, method and unit: that of the highest conductivity.
    """

    abrasive: str
    time: AtTime
    oil: OilSeen | None
    conductivity: Decimal | None
    conductivity_unit: str | None
    method: str | None
    verdict: Verdict
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    probability_of_conformity: Decimal | None = None
    decision_rule: str | None = None
    budgets: tuple[ResultBudget, ...] = ()


def required(limit: AbrasiveLimits) -> codes.AbrasiveRequired:
    """Return what is required as facts."""
    demands: list[codes.Demand] = []
    if limit.maximum_conductivity is not None:
        demands.append(
            codes.ConductivityAtMost(
                Amount.of(limit.maximum_conductivity), limit.conductivity_method,
                None if limit.conductivity_precision is None else Amount.of(limit.conductivity_precision),
                None if limit.rule == "simple" else Word("decision-rule", limit.rule),
            )
        )  # fmt: skip
    if limit.oil_free:
        demands.append(codes.NoOil())
    if limit.interval is not None:
        demands.append(codes.CheckedEvery(Amount.of(limit.interval)))
    return codes.AbrasiveRequired(tuple(demands) or (codes.CleanAbrasive(),))


def seen(result: AbrasiveResult) -> codes.AbrasiveSeen:
    """Return a result as facts."""
    shown: list[codes.Shown] = [] if result.oil is None else [codes.OilInVial(Word("oil", result.oil))]
    if result.conductivity is not None and result.conductivity_unit is not None:
        unit, wide = result.conductivity_unit, result.expanded_uncertainty
        expanded = None if wide is None else Amount(wide, unit)
        shown.append(codes.LeachateConducts(Amount(result.conductivity, unit), result.method, expanded))
    return codes.AbrasiveSeen(tuple(shown) or (codes.NothingTested(),))


def judge(limit: AbrasiveLimits | None, scene: Scene[AbrasiveCheck]) -> Outcome[AbrasiveResult]:
    """Judge every check, and find abrasive that was used without the tests that the contract asks for.

    A conductivity that the decision rule leaves open is measured again; what was blasted with the abrasive waits.
    """
    made = [_made(check, limit, scene) for check in scene.log]
    results = tuple(_with_budgets(scene.log, made))
    if limit is None:
        return Outcome(results, not_evaluated=(codes.WITHOUT_LIMIT.at(NOTHING),))
    findings: list[Finding] = []
    todo: list[Task] = []
    demands = required(limit).demands
    for area, surface in scene.surfaces:
        for result, value in made:
            if result.abrasive != surface.abrasive:
                continue
            place = Place(area, time=result.time)
            if result.verdict == "does not conform":
                unclean = codes.AbrasiveUnclean(seen(result).shown, demands)
                findings.append(codes.NOT_CLEAN.found(unclean, place, clause=limit.clause))
            elif value is not None and value.verdict == "inconclusive":
                found = _open(place, result, value, limit)
                findings.append(found)
                todo.append(codes.MEASURE_AGAIN.due(codes.AbrasiveAgain(result.abrasive), place, answers=found.code))
        for facts in _unchecked(scene, surface, limit, demands):
            findings.append(codes.CHECK_MISSING.found(facts, Place(area), clause=limit.clause))
            todo.append(codes.MAKE_TEST.due(facts, Place(area)))
    return Outcome(results, tuple(findings), measure_next=tuple(todo))


def _made(
    check: AbrasiveCheck, limit: AbrasiveLimits | None, scene: Scene[AbrasiveCheck]
) -> tuple[AbrasiveResult, Judged | None]:
    """Return one check as a result, and its conductivity as judged: None where none was measured.

    By the simple rule it stays as written, and U has its digits.
    """
    value, reading = _conductivity(check, limit, scene), check.conductivity
    result = AbrasiveResult(
        check.abrasive, scene.printed(scene.at(check.time)), check.oil, None, None, check.method,
        _verdict(check, limit, value),
    )  # fmt: skip
    if value is None or reading is None:
        return result, None
    rule = limit.rule if limit is not None and value.verdict != "not evaluated" else "simple"
    written, expanded = Amount.of(reading).value, value.expanded
    if rule != "simple":
        written = value.shown
    elif value.uncertainty is not None:
        expanded = beside_value(value.uncertainty.expanded, reading.places)
    return replace(
        result, conductivity=written, conductivity_unit=reading.unit, expanded_uncertainty=expanded,
        coverage_factor=value.factor, probability_of_conformity=value.probability,
        decision_rule=None if rule == "simple" else rule,
    ), value  # fmt: skip


def _with_budgets(
    log: Sequence[AbrasiveCheck], made: Sequence[tuple[AbrasiveResult, Judged | None]]
) -> Iterator[AbrasiveResult]:
    """Yield the results, the highest conductivity of each instrument, method and unit with its budget."""
    most: dict[tuple[object, ...], tuple[Decimal, int]] = {}
    for index, (check, (result, value)) in enumerate(zip(log, made, strict=True)):
        if value is not None and value.uncertainty is not None:
            key = (check.instrument, check.method, result.conductivity_unit)
            most[key] = max(most.get(key, (value.shown, index)), (value.shown, index), key=lambda pair: pair[0])
    told = {index for _, index in most.values()}
    for index, (result, value) in enumerate(made):
        known = None if value is None else value.uncertainty
        yield result if known is None or index not in told else replace(result, budgets=(known.stated,))


def _conductivity(check: AbrasiveCheck, limit: AbrasiveLimits | None, scene: Scene[AbrasiveCheck]) -> Judged | None:
    """Judge a conductivity in the unit it was read in; by another method than the contract's it is not compared."""
    reading = check.conductivity
    if reading is None:
        return None
    instrument = None if check.instrument is None else scene.instruments.get(check.instrument)
    precision, limits = None, None
    rule: DecisionRule = "simple"
    if limit is not None and _comparable(check, limit):
        if limit.conductivity_precision is not None:
            precision = precision_component(limit.conductivity_precision.in_unit(reading.unit), "contract")
        if limit.maximum_conductivity is not None:
            limits, rule = _limits(limit.maximum_conductivity, reading.unit), limit.rule
    budget = reading_budget("conductivity meter", errors_at(instrument, reading, reading.unit), precision)
    uncertainty = None if budget is None else Uncertainty("leachate-conductivity", budget)
    return judged(reading, reading.unit, limits, rule, uncertainty, reading.places)


def _limits(most: Quantity, unit: str) -> Limits:
    """The limit in the unit of the reading: 10 µS/cm are 1 mS/m, so that one more decimal loses nothing."""
    same = most.unit == unit
    return Limits(maximum=most if same else Quantity(rounded(most.in_unit(unit), most.places + 1), unit))


def _verdict(check: AbrasiveCheck, limit: AbrasiveLimits | None, value: Judged | None) -> Verdict:
    """Judge one check: oil that was seen fails whatever the leachate shows."""
    if limit is None:
        return "not evaluated"
    if check.oil not in (None, "none seen"):
        return "does not conform"
    if value is not None and limit.maximum_conductivity is not None:
        return value.verdict if _comparable(check, limit) else "inconclusive"
    return "conforms" if check.oil is not None else "not evaluated"


def _open(place: Place, result: AbrasiveResult, value: Judged, limit: AbrasiveLimits) -> Finding:
    """Find a conductivity that the decision rule leaves open: too near to the limit, or of no known uncertainty."""
    assert result.conductivity_unit is not None  # noqa: S101 - a conductivity was judged
    assert limit.maximum_conductivity is not None  # noqa: S101
    shown = Amount(value.shown, result.conductivity_unit)
    if value.expanded is None or value.near is None:
        rule = Word("decision-rule", limit.rule)
        unknown = codes.AbrasiveUncertain(result.abrasive, shown, rule)
        return codes.INCONCLUSIVE.found(unknown, place, clause=limit.clause)
    near = codes.AbrasiveNear(
        result.abrasive, shown, Amount.of(limit.maximum_conductivity),
        Amount(value.expanded, result.conductivity_unit), Word("guard-band", value.near),
    )  # fmt: skip
    if limit.rule == "guarded":
        return codes.IN_GUARD_BAND.found(near, place, clause=limit.clause)
    return codes.INCONCLUSIVE.found(near, place, clause=limit.clause)


def _comparable(check: AbrasiveCheck, limit: AbrasiveLimits) -> bool:
    return limit.conductivity_method is None or check.method == limit.conductivity_method


def _unchecked(
    scene: Scene[AbrasiveCheck], surface: SceneSurface[AbrasiveCheck], limit: AbrasiveLimits,
    demands: tuple[codes.Demand, ...],
) -> Iterator[codes.AbrasiveUnchecked]:  # fmt: skip
    """Yield the required tests of what a surface was blasted with that lack or came too late."""
    own = [check for check in scene.log if check.abrasive == surface.abrasive]
    conducting = [check for check in own if check.conductivity is not None and _comparable(check, limit)]
    made: tuple[tuple[bool, Sequence[AbrasiveCheck]], ...] = (
        (limit.oil_free, [check for check in own if check.oil is not None]),
        (limit.maximum_conductivity is not None, conducting),
    )
    for test, (needed, checks) in zip(codes.TESTS, made, strict=True):
        times = [scene.at(check.time) for check in checks]
        gap = gap_of(scene, surface.blasted, times, limit.interval) if needed else None
        if gap is not None:
            yield codes.AbrasiveUnchecked(Word("abrasive-test", test), surface.abrasive, gap, demands)
