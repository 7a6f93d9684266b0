"""Dust on tape against the ratings of the contract."""

from reportgen.measurements.dust import codes
from reportgen.measurements.dust.record import DustLimit, DustTest
from reportgen.measurements.slice import Scene, SceneArea
from reportgen.metrology.contamination import Dust, dust_within
from reportgen.references import citation
from reportgen.results import DerivationStep, Finding, Outcome, Stated, Verdict
from reportgen.results.facts import NOTHING, Place, Value


class DustResult(Value):
    """One dust-tape test."""

    area: str
    location: str
    quantity: int
    size: int
    verdict: Verdict


def allowed(limit: DustLimit) -> codes.DustAllowed:
    """Return the limit as facts."""
    return codes.DustAllowed(limit.maximum_quantity, limit.maximum_size)


def seen(result: DustResult) -> codes.DustSeen:
    """Return a result as facts."""
    return codes.DustSeen(result.quantity, result.size)


def judge(limit: DustLimit | None, scene: Scene[DustTest]) -> Outcome[DustResult]:
    """Compare every tape with the highest quantity and size class; one made before the blasting is only shown."""
    left_out = () if limit is not None else (codes.WITHOUT_LIMIT.at(NOTHING),)
    return Outcome.joined((_judged(limit, area) for area in scene.areas), left_out)


def _judged(limit: DustLimit | None, area: SceneArea[DustTest]) -> Outcome[DustResult]:
    tests = area.tests
    results = tuple(_result(area.id, made.record, limit if made.counts else None) for made in tests)
    if limit is None:
        return Outcome(results)
    findings = [
        _above(result, made.where, limit)
        for made, result in zip(tests, results, strict=True)
        if result.verdict == "does not conform"
    ]
    todo = []
    if not any(made.counts for made in tests):
        facts = allowed(limit)
        findings.append(codes.MISSING.found(facts, Place(area.id), clause=limit.clause))
        todo.append(codes.TAKE_TEST.due(facts, Place(area.id), count=1))
    rusted = any(surface.tests and surface.initial_condition == "D" for surface in area.surfaces)
    left_out = (codes.ON_CONDITION_D.at(NOTHING, Place(area.id)),) if rusted else ()
    return Outcome(results, tuple(findings), measure_next=tuple(todo), not_evaluated=left_out)


def _result(area: str, test: DustTest, limit: DustLimit | None) -> DustResult:
    verdict: Verdict = "not evaluated"
    if limit is not None:
        largest = 5 if limit.maximum_size is None else limit.maximum_size
        met = dust_within(Dust(test.quantity, test.size), limit.maximum_quantity, largest)
        verdict = "conforms" if met else "does not conform"
    return DustResult(area, test.location, test.quantity, test.size, verdict)


def _above(result: DustResult, where: str | None, limit: DustLimit) -> Finding:
    facts = codes.DustAbove(result.quantity, result.size, limit.maximum_quantity, limit.maximum_size)
    return codes.ABOVE_MAXIMUM.found(facts, Place(result.area, where), clause=limit.clause)


def derived(test: DustTest | None, result: DustResult, document: str) -> DerivationStep:  # noqa: ARG001 - as seen
    """Return what the tape showed, and what follows under the contract."""
    facts, place = seen(result), Place(result.area, result.location)
    what, showed = Stated("measured", "dust", facts, place), Stated("result", "dust", facts, place)
    return DerivationStep(what, (showed,), document, citation("iso-8502-3").text, result.verdict)
