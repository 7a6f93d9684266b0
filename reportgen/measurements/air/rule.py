"""Blotter tests of the compressed air, and apparatus that blasted without one."""

import datetime as dt
from collections.abc import Iterator, Sequence
from decimal import Decimal

from reportgen.measurements.air import codes
from reportgen.measurements.air.record import AirCheck, Blotted, CompressedAir
from reportgen.measurements.gaps import gap_of
from reportgen.measurements.slice import Scene, SceneSurface
from reportgen.names import spelt_alike
from reportgen.results import AtTime, Finding, Outcome, Task, Verdict
from reportgen.results.facts import NOTHING, Amount, Place, Value, Word
from reportgen.units import rounded

_Timed = tuple[dt.datetime, AirCheck]
"""A test, and when it was made."""


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
        findings += _of_the_air(scene, area, surface, own, limit)
        times = _tested(limit, scene, surface, own)
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


def _tested(
    limit: CompressedAir | None, scene: Scene[AirCheck], surface: SceneSurface[AirCheck], own: Sequence[AirCheck]
) -> list[dt.datetime]:
    """Return when the air of a surface was tested for long enough, by the reports that have it too as well."""
    heard = (check for check in surface.heard if spelt_alike(check.apparatus, surface.apparatus))
    return [scene.at(check.time) for check in (*heard, *own) if verdict_of(check, limit) != "inconclusive"]


def _of_the_air(
    scene: Scene[AirCheck],
    area: str,
    surface: SceneSurface[AirCheck],
    own: Sequence[AirCheck],
    limit: CompressedAir | None,
) -> Iterator[Finding]:
    """Yield what tests of the air say of what was blasted with it: it was not clean, or nobody knows that it was."""
    clause, facts = (None if limit is None else limit.clause), required(limit)
    known = [one for one in scene.before if spelt_alike(one[1].apparatus, surface.apparatus)]
    made = [(scene.at(check.time), check) for check in own]
    clean = _with_verdict("conforms", [*known, *made], limit)
    failed = _with_verdict("does not conform", made if surface.known else [*known, *made], limit)
    for at, check, again in _before_the_end(surface, failed, [at for at, _ in clean]):
        marked, place = Word("blotter", check.result), Place(area, time=scene.printed(at))
        if again is None:
            yield codes.NOT_CLEAN.found(codes.AirUnclean(check.apparatus, marked, facts), place, clause=clause)
        elif (at, check) in made:
            yield codes.TESTED_AGAIN.found(codes.AirTestedAgain(check.apparatus, marked, scene.printed(again)), place)
    for at, check, last in _doubted(surface, failed, [at for at, _ in clean]):
        since = None if last is None else scene.printed(last)
        doubted = codes.AirDoubted(check.apparatus, Word("blotter", check.result), facts, since)
        yield codes.IN_DOUBT.found(doubted, Place(area, time=scene.printed(at)), clause=clause)


def _with_verdict(verdict: Verdict, tests: Sequence[_Timed], limit: CompressedAir | None) -> list[_Timed]:
    return [one for one in tests if verdict_of(one[1], limit) == verdict]


def verdict_of(check: AirCheck, limit: CompressedAir | None) -> Verdict:
    """Judge one blotter test; one that was too short shows nothing when it stayed clean."""
    if check.result != "clean":
        return "does not conform"
    least = None if limit is None else limit.minimum_duration
    if least is not None and check.duration.in_unit(least.unit) < least.exact:
        return "inconclusive"
    return "conforms"


def _before_the_end(
    surface: SceneSurface[AirCheck], failed: Sequence[_Timed], clean: Sequence[dt.datetime]
) -> Iterator[tuple[dt.datetime, AirCheck, dt.datetime | None]]:
    """Yield tests that failed before the surface was finished, with the first clean one after it, before it began.

    Of two in one minute nobody knows which was first: the clean one does not undo the other.
    """
    start, end = surface.blasted
    for at, check in failed:
        if at <= end:
            yield at, check, min((again for again in clean if at < again <= start), default=None)


def _doubted(
    surface: SceneSurface[AirCheck], failed: Sequence[_Timed], clean: Sequence[dt.datetime]
) -> Iterator[tuple[dt.datetime, AirCheck, dt.datetime | None]]:
    """Yield tests that failed after the surface was finished, and the last clean one, which was not after that.

    When the air went bad since the clean one nobody knows, also where that is of an earlier shift.
    """
    _, end = surface.blasted
    for at, check in failed:
        last = max((again for again in clean if again < at), default=None)
        if at > end and (last is None or last < end):
            yield at, check, last
