"""Checks of the abrasive, and abrasive that was used without the checks that the contract asks for.

The last check before the blasting decides, for oil and for conductivity by itself: the abrasive may have been replaced
since one before it, or measured with a better meter; not where a failed check of its meter reaches that measurement:
it stands in the place of none, and fails nothing by itself. One of another apparatus decides nothing, and where several
blast with the abrasive only one that names its apparatus stands in the place of another. Checks while it was blasted,
and those after it up to the first good one, are of what was used too.
"""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
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
from reportgen.names import spelt_alike
from reportgen.results import AtTime, Finding, Outcome, ResultBudget, Severity, Task, Verdict
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
    apparatus: str | None = None


class _Check(Value):
    """One check with its instant, its result, and its conductivity as judged, None where none was measured.

    ``doubted`` says whether a failed check of the meter reaches it.
    """

    record: AbrasiveCheck
    at: dt.datetime
    result: AbrasiveResult
    value: Judged | None
    doubted: bool = False

    def verdict(self, test: str) -> Verdict:
        """Return the verdict of one of its tests alone."""
        if test == "conductivity":
            return "not evaluated" if self.value is None else self.value.verdict
        if self.record.oil is None:
            return "not evaluated"
        return "conforms" if self.record.oil == "none seen" else "does not conform"

    def about(self, surface: SceneSurface[AbrasiveCheck]) -> bool:
        """Whether it may be of what a surface was blasted with."""
        return _about(self.record, surface)


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
    results = tuple(_with_budgets(made))
    if limit is None:
        return Outcome(results, not_evaluated=(codes.WITHOUT_LIMIT.at(NOTHING),))
    findings: list[Finding] = []
    todo: list[Task] = []
    demands = required(limit).demands
    for area, surface in scene.surfaces:
        own = [one for one in made if one.about(surface)]
        others = _able_to_replace(scene, surface, [*_heard(limit, scene, surface), *own])
        findings += [found for one in own if (found := _found(area, one, others, surface, limit))]
        for facts in _unchecked(scene, surface, limit, demands):
            findings.append(codes.CHECK_MISSING.found(facts, Place(area), clause=limit.clause))
            todo.append(codes.MAKE_TEST.due(facts, Place(area)))
    findings = list(dict.fromkeys(findings))
    todo += [
        codes.MEASURE_AGAIN.due(codes.AbrasiveAgain(one.facts.abrasive), one.place, answers=one.code)
        for one in findings
        if isinstance(one.facts, codes.AbrasiveNear | codes.AbrasiveUncertain)
    ]
    without = (
        codes.U_WITHOUT.at(codes.AbrasiveWithout(one.record.abrasive, tuple(lacking)))
        for one in made
        if (lacking := list(_not_stated(one, limit, scene)))
    )
    return Outcome(results, tuple(findings), tuple(dict.fromkeys(todo)), tuple(dict.fromkeys(without)))


def _heard(
    limit: AbrasiveLimits, scene: Scene[AbrasiveCheck], surface: SceneSurface[AbrasiveCheck]
) -> list[_Check]:  # fmt: skip
    return [_made(check, limit, scene) for check in surface.heard if _about(check, surface)]


def _able_to_replace(
    scene: Scene[AbrasiveCheck], surface: SceneSurface[AbrasiveCheck], own: Sequence[_Check]
) -> list[_Check]:  # fmt: skip
    """Return the checks that can decide instead of another: those that surely are of what this apparatus used."""
    users = [one.apparatus for _, one in scene.surfaces if one.abrasive == surface.abrasive]
    sole = all(spelt_alike(one, surface.apparatus) for one in users)
    return [one for one in own if sole or one.record.apparatus is not None]


def _found(
    area: str, one: _Check, others: Sequence[_Check], surface: SceneSurface[AbrasiveCheck], limit: AbrasiveLimits
) -> Finding | None:
    """Return what a check says of a surface; where ``others`` decide instead of it, just that they do."""
    instead = {
        test: _instead_of(test, one, others, surface)
        for test in codes.TESTS
        if one.verdict(test) in ("does not conform", "inconclusive")
    }
    place = Place(area, time=one.result.time)
    counting = {test: one.verdict(test) for test, other in instead.items() if other is None}
    if counting:
        return _deciding(place, one, counting, limit)
    again = max((other for other in instead.values() if other is not None), key=lambda each: each.at, default=None)
    if again is None or again.at > surface.blasted[0]:
        return None
    facts = codes.AbrasiveTestedAgain(one.record.abrasive, seen(one.result).shown, again.result.time)
    return codes.TESTED_AGAIN.found(facts, place)


def _deciding(place: Place, one: _Check, counting: Mapping[str, Verdict], limit: AbrasiveLimits) -> Finding | None:
    """Return what follows from the tests of a check that decide; what a meter in doubt showed too high is noted."""
    sure = [verdict for test, verdict in counting.items() if test == "oil" or not one.doubted]
    if "does not conform" in counting.values():
        doubt = None if "does not conform" in sure else codes.IF_SHOWN_RIGHTLY
        unclean = codes.AbrasiveUnclean(seen(one.result).shown, required(limit).demands, doubt)
        severity: Severity | None = None if doubt is None else "observation"
        return codes.NOT_CLEAN.found(unclean, place, clause=limit.clause, severity=severity)
    return _open(place, one.result, one.value, limit) if sure and one.value is not None else None


def _instead_of(
    test: str, one: _Check, others: Sequence[_Check], surface: SceneSurface[AbrasiveCheck]
) -> _Check | None:  # fmt: skip
    """Return the check that decides instead: of one before the blasting the last, of one after it a good one between.

    Of those that were made while it was blasted every one counts.
    """
    start, end = surface.blasted
    tested = [
        each for each in others
        if each.verdict(test) != "not evaluated" and not (test == "conductivity" and each.doubted)
    ]  # fmt: skip
    if one.at <= start:
        deciding = [each for each in tested if one.at < each.at <= start]
    else:
        deciding = [each for each in tested if end <= each.at < one.at and each.verdict(test) == "conforms"]
    return max(deciding, key=lambda each: each.at, default=None)


def _about(check: AbrasiveCheck, surface: SceneSurface[AbrasiveCheck]) -> bool:
    named = check.apparatus
    return check.abrasive == surface.abrasive and (named is None or spelt_alike(named, surface.apparatus))


def _made(check: AbrasiveCheck, limit: AbrasiveLimits | None, scene: Scene[AbrasiveCheck]) -> _Check:
    """Return one check as a result, and its conductivity as judged: None where none was measured.

    By the simple rule it stays as written, and U has its digits.
    """
    value, reading, at = _conductivity(check, limit, scene), check.conductivity, scene.at(check.time)
    doubted = scene.in_doubt(check.instrument, "conductivity meter", at)
    result = AbrasiveResult(
        check.abrasive, scene.printed(at), check.oil, None, None, check.method,
        _verdict(check, limit, value, doubted=doubted), apparatus=check.apparatus,
    )  # fmt: skip
    if value is None or reading is None:
        return _Check(check, at, result, None)
    rule = limit.rule if limit is not None and value.verdict != "not evaluated" else "simple"
    written, expanded = Amount.of(reading).value, value.expanded
    if rule != "simple":
        written = value.shown
    elif value.uncertainty is not None:
        expanded = beside_value(value.uncertainty.expanded, reading.places)
    result = replace(
        result, conductivity=written, conductivity_unit=reading.unit, expanded_uncertainty=expanded,
        coverage_factor=value.factor, probability_of_conformity=value.probability,
        decision_rule=None if rule == "simple" else rule,
    )  # fmt: skip
    return _Check(check, at, result, value, doubted)


def _with_budgets(made: Sequence[_Check]) -> Iterator[AbrasiveResult]:
    """Yield the results, the highest conductivity of each instrument, method and unit with its budget."""
    most: dict[tuple[object, ...], tuple[Decimal, int]] = {}
    for index, one in enumerate(made):
        value = one.value
        if value is not None and value.uncertainty is not None:
            key = (one.record.instrument, one.record.method, one.result.conductivity_unit)
            most[key] = max(most.get(key, (value.shown, index)), (value.shown, index), key=lambda pair: pair[0])
    told = {index for _, index in most.values()}
    for index, one in enumerate(made):
        known = None if one.value is None else one.value.uncertainty
        yield one.result if known is None or index not in told else replace(one.result, budgets=(known.stated,))


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


def _not_stated(one: _Check, limit: AbrasiveLimits | None, scene: Scene[AbrasiveCheck]) -> Iterator[Word]:
    """Yield of what no error is stated, although the conductivity has an uncertainty: meter, or the method itself."""
    reading, name = one.record.conductivity, one.record.instrument
    if reading is None or one.value is None or one.value.uncertainty is None:
        return
    if not errors_at(None if name is None else scene.instruments.get(name), reading, reading.unit).known:
        yield Word("abrasive-not-in-uncertainty", "meter")
    if limit is None or limit.conductivity_precision is None or not _comparable(one.record, limit):
        yield Word("abrasive-not-in-uncertainty", "method")


def _limits(most: Quantity, unit: str) -> Limits:
    """The limit in the unit of the reading: 10 µS/cm are 1 mS/m, so that one more decimal loses nothing."""
    same = most.unit == unit
    return Limits(maximum=most if same else Quantity(rounded(most.in_unit(unit), most.places + 1), unit))


def _verdict(
    check: AbrasiveCheck, limit: AbrasiveLimits | None, value: Judged | None, *, doubted: bool
) -> Verdict:  # fmt: skip
    """Judge one check: oil that was seen fails whatever the leachate shows, or whatever the meter was worth."""
    if limit is None:
        return "not evaluated"
    if check.oil not in (None, "none seen"):
        return "does not conform"
    if value is not None and limit.maximum_conductivity is not None:
        return value.verdict if _comparable(check, limit) and not doubted else "inconclusive"
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
    own = [check for check in (*surface.heard, *scene.log) if _about(check, surface)]
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
