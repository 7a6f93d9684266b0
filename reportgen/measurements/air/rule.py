"""Blotter tests of the compressed air, and apparatus that blasted without one."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from reportgen.measurements.air import codes
from reportgen.measurements.air.record import AirCheck, Blotted, CompressedAir
from reportgen.measurements.gaps import gap_of
from reportgen.measurements.slice import Scene, SceneSurface
from reportgen.results import AtTime, Finding, Outcome, Task, Verdict
from reportgen.results.facts import NOTHING, Amount, Place, Value, Word
from reportgen.units import rounded


class AirResult(Value):
    """One blotter test, with the duration as written."""

    apparatus: str
    time: AtTime
    result: Blotted
    duration: Decimal
    duration_unit: str
    verdict: Verdict


def required(limit: CompressedAir | None) -> codes.AirRequired:
    """Return what is required as facts; oil and water must not show where nothing is stated either."""
    if limit is None:
        return codes.AirRequired()
    shortest, interval = (None if one is None else Amount.of(one) for one in (limit.minimum_duration, limit.interval))
    return codes.AirRequired(shortest, interval)


def seen(result: AirResult) -> codes.AirSeen:
    """Return a result as facts."""
    return codes.AirSeen(Word("blotter", result.result), Amount(result.duration, result.duration_unit))


def judge(limit: CompressedAir | None, scene: Scene[AirCheck]) -> Outcome[AirResult]:
    """Judge every blotter test, and find apparatus that blasted without one."""
    findings: list[Finding] = []
    todo: list[Task] = []
    clause, facts = (None if limit is None else limit.clause), required(limit)
    for area, surface in scene.surfaces:
        own = [check for check in scene.log if check.apparatus == surface.apparatus]
        findings += [
            codes.NOT_CLEAN.found(
                codes.AirUnclean(check.apparatus, Word("blotter", check.result), facts),
                Place(area, time=scene.printed(scene.at(check.time))), clause=clause,
            )
            for check in _unclean(scene, surface, own, limit)
        ]  # fmt: skip
        times = [scene.at(check.time) for check in own if verdict_of(check, limit) != "inconclusive"]
        if limit is not None and (gap := gap_of(scene, surface.blasted, times, limit.interval)):
            unchecked = codes.AirUnchecked(surface.apparatus, gap, facts)
            findings.append(codes.CHECK_MISSING.found(unchecked, Place(area), clause=clause))
            todo.append(codes.MAKE_TEST.due(codes.AirOwed(surface.apparatus, facts), Place(area)))
    left_out = () if limit is not None else (codes.WITHOUT_TEST.at(NOTHING),)
    results = tuple(
        AirResult(
            check.apparatus, scene.printed(scene.at(check.time)), check.result,
            rounded(check.duration.magnitude, check.duration.places), check.duration.unit, verdict_of(check, limit),
        )
        for check in scene.log
    )  # fmt: skip
    return Outcome(results, tuple(findings), measure_next=tuple(todo), not_evaluated=left_out)


def verdict_of(check: AirCheck, limit: CompressedAir | None) -> Verdict:
    """Judge one blotter test; one that was too short shows nothing when it stayed clean."""
    if check.result != "clean":
        return "does not conform"
    least = None if limit is None else limit.minimum_duration
    if least is not None and check.duration.in_unit(least.unit) < least.exact:
        return "inconclusive"
    return "conforms"


def _unclean(
    scene: Scene[AirCheck], surface: SceneSurface[AirCheck], checks: Sequence[AirCheck], limit: CompressedAir | None
) -> Iterator[AirCheck]:
    """Yield tests that failed before the surface was finished and were not followed by a clean one before it began."""
    start, end = surface.blasted
    clean = [scene.at(check.time) for check in checks if verdict_of(check, limit) == "conforms"]
    for check in checks:
        at = scene.at(check.time)
        mended = any(at <= again <= start for again in clean)
        if verdict_of(check, limit) == "does not conform" and at <= end and not mended:
            yield check
