"""Checks of the abrasive, and abrasive that was used without the checks that the contract asks for."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from reportgen.measurements.abrasive import codes
from reportgen.measurements.abrasive.record import AbrasiveCheck, AbrasiveLimits, OilSeen
from reportgen.measurements.gaps import gap_of
from reportgen.measurements.slice import Scene, SceneSurface
from reportgen.results import AtTime, Finding, Outcome, Task, Verdict
from reportgen.results.facts import NOTHING, Amount, Place, Value, Word


class AbrasiveResult(Value):
    """One check of the abrasive, with the conductivity as written."""

    abrasive: str
    time: AtTime
    oil: OilSeen | None
    conductivity: Decimal | None
    conductivity_unit: str | None
    method: str | None
    verdict: Verdict


def required(limit: AbrasiveLimits) -> codes.AbrasiveRequired:
    """Return what is required as facts."""
    demands: list[codes.Demand] = []
    if limit.maximum_conductivity is not None:
        demands.append(codes.ConductivityAtMost(Amount.of(limit.maximum_conductivity), limit.conductivity_method))
    if limit.oil_free:
        demands.append(codes.NoOil())
    if limit.interval is not None:
        demands.append(codes.CheckedEvery(Amount.of(limit.interval)))
    return codes.AbrasiveRequired(tuple(demands) or (codes.CleanAbrasive(),))


def seen(result: AbrasiveResult) -> codes.AbrasiveSeen:
    """Return a result as facts."""
    shown: list[codes.Shown] = [] if result.oil is None else [codes.OilInVial(Word("oil", result.oil))]
    if result.conductivity is not None and result.conductivity_unit is not None:
        shown.append(codes.LeachateConducts(Amount(result.conductivity, result.conductivity_unit), result.method))
    return codes.AbrasiveSeen(tuple(shown) or (codes.NothingTested(),))


def judge(limit: AbrasiveLimits | None, scene: Scene[AbrasiveCheck]) -> Outcome[AbrasiveResult]:
    """Judge every check, and find abrasive that was used without the tests that the contract asks for."""
    results = tuple(
        AbrasiveResult(
            check.abrasive, scene.printed(scene.at(check.time)), check.oil,
            None if check.conductivity is None else Amount.of(check.conductivity).value,
            None if check.conductivity is None else check.conductivity.unit, check.method, verdict_of(check, limit),
        )
        for check in scene.log
    )  # fmt: skip
    if limit is None:
        return Outcome(results, not_evaluated=(codes.WITHOUT_LIMIT.at(NOTHING),))
    findings: list[Finding] = []
    todo: list[Task] = []
    demands = required(limit).demands
    for area, surface in scene.surfaces:
        for result in results:
            if result.abrasive == surface.abrasive and result.verdict == "does not conform":
                unclean = codes.AbrasiveUnclean(seen(result).shown, demands)
                place = Place(area, time=result.time)
                findings.append(codes.NOT_CLEAN.found(unclean, place, clause=limit.clause))
        for facts in _unchecked(scene, surface, limit, demands):
            findings.append(codes.CHECK_MISSING.found(facts, Place(area), clause=limit.clause))
            todo.append(codes.MAKE_TEST.due(facts, Place(area)))
    return Outcome(results, tuple(findings), measure_next=tuple(todo))


def verdict_of(check: AbrasiveCheck, limit: AbrasiveLimits | None) -> Verdict:
    """Judge one check; a conductivity by another method than the contract's is not compared."""
    if limit is None:
        return "not evaluated"
    if check.oil not in (None, "none seen"):
        return "does not conform"
    most = limit.maximum_conductivity
    if check.conductivity is not None and most is not None:
        if not _comparable(check, limit):
            return "inconclusive"
        return "conforms" if check.conductivity.in_unit(most.unit) <= most.exact else "does not conform"
    return "conforms" if check.oil is not None else "not evaluated"


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
