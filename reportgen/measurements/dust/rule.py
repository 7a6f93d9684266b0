"""Dust on tape against the ratings of the contract."""

from reportgen.measurements.dust import codes
from reportgen.measurements.dust.record import DustLimit, DustTest
from reportgen.measurements.slice import Scene, SceneArea
from reportgen.metrology.contamination import Dust, dust_of_sizes, dust_within
from reportgen.references import citation
from reportgen.results import DerivationStep, Outcome, Stated, Verdict
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
    return codes.DustAllowed(limit.maximum_quantity, limit.maximum_size, _sizes(limit))


def _sizes(limit: DustLimit) -> tuple[codes.DustSize, ...] | None:
    return None if limit.sizes is None else tuple(map(codes.DustSize, sorted(limit.sizes)))


def within(quantity: int, size: int, limit: DustLimit) -> bool | None:
    """Whether a rating meets the limit; None of finer dust than the classes that the limit speaks of."""
    if limit.sizes is not None:
        return dust_of_sizes(Dust(quantity, size), limit.maximum_quantity, limit.sizes)
    largest = 5 if limit.maximum_size is None else limit.maximum_size
    return dust_within(Dust(quantity, size), limit.maximum_quantity, largest)


def seen(result: DustResult) -> codes.DustSeen:
    """Return a result as facts."""
    return codes.DustSeen(result.quantity, result.size)


def judge(limit: DustLimit | None, scene: Scene[DustTest]) -> Outcome[DustResult]:
    """Compare every tape with the highest quantity and size class; one made before the blasting is only shown.

    Where the quantity is stated for some size classes, more of finer dust is not evaluated, and said to be so.
    """
    left_out = () if limit is not None else (codes.WITHOUT_LIMIT.at(NOTHING),)
    return Outcome.joined((_judged(limit, area) for area in scene.areas), left_out)


def _judged(limit: DustLimit | None, area: SceneArea[DustTest]) -> Outcome[DustResult]:
    results, findings, todo, left_out = [], [], [], []
    for made in area.tests:
        location, quantity, size = made.record.location, made.record.quantity, made.record.size
        if limit is None or not made.counts:
            results.append(DustResult(area.id, location, quantity, size, "not evaluated"))
        elif (met := within(quantity, size, limit)) is None:
            results.append(DustResult(area.id, location, quantity, size, "not evaluated"))
            left_out.append(codes.FINER.at(codes.DustSeen(quantity, size), Place(area.id, made.where)))
        elif met:
            results.append(DustResult(area.id, location, quantity, size, "conforms"))
        else:
            results.append(DustResult(area.id, location, quantity, size, "does not conform"))
            above = codes.DustAbove(quantity, size, limit.maximum_quantity, limit.maximum_size, _sizes(limit))
            findings.append(codes.ABOVE_MAXIMUM.found(above, Place(area.id, made.where), clause=limit.clause))
    if limit is None:
        return Outcome(tuple(results))
    if not any(made.counts for made in area.tests):
        findings.append(codes.MISSING.found(allowed(limit), Place(area.id), clause=limit.clause))
        todo.append(codes.TAKE_TEST.due(allowed(limit), Place(area.id), count=1))
    rusted = any(surface.tests and surface.initial_condition == "D" for surface in area.surfaces)
    left_out += [codes.ON_CONDITION_D.at(NOTHING, Place(area.id))] if rusted else []
    return Outcome(tuple(results), tuple(findings), measure_next=tuple(todo), not_evaluated=tuple(left_out))


def derived(test: DustTest | None, result: DustResult, document: str) -> DerivationStep:  # noqa: ARG001 - as seen
    """Return what the tape showed, and what follows under the contract."""
    facts, place = seen(result), Place(result.area, result.location)
    what, showed = Stated("measured", "dust", facts, place), Stated("result", "dust", facts, place)
    return DerivationStep(what, (showed,), document, citation("iso-8502-3").text, result.verdict)
