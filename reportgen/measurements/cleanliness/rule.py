"""The grade of cleanliness observed against the one specified, in one system, and the stain against its limit."""

from decimal import Decimal

from reportgen.errors import UsageError
from reportgen.measurements.cleanliness import codes
from reportgen.measurements.cleanliness.record import Cleanliness, SurfacePreparation
from reportgen.measurements.slice import Scene, SceneSurface
from reportgen.metrology.conformity import combined_verdict
from reportgen.references import CleanlinessGrade, cleanliness_grade
from reportgen.results import DerivationStep, Finding, Outcome, Stated, Task, Verdict
from reportgen.results.facts import Amount, Place, Value, Word
from reportgen.units import Quantity, rounded


class CleanlinessResult(Value):
    """Cleanliness of a surface: grades in one system, stain percent of the worst unit area, why there is no verdict."""

    area: str
    specified: str
    observed: str | None
    staining: Decimal | None
    staining_limit: Decimal | None
    verdict: Verdict
    reason: Word | None = None


def allowed(specified: SurfacePreparation) -> codes.GradeAllowed:
    """Return the limit as facts."""
    limit = stain_limit(specified)
    looked_at = None if limit is None else codes.WORST_UNIT_AREA
    return codes.GradeAllowed(
        specified.grade, specified.edition, None if limit is None else Amount.of(limit), looked_at
    )


def seen(result: CleanlinessResult) -> codes.GradeSeen:
    """Return a result as facts."""
    reason = None if result.observed is None else result.reason
    return codes.GradeSeen(result.observed or codes.NOT_RECORDED, _share(result.staining), reason)


def judge(specified: SurfacePreparation | None, scene: Scene[Cleanliness]) -> Outcome[CleanlinessResult]:
    """Compare the grade observed with the grade specified, in one system, and the stain with its limit."""
    assert specified is not None  # noqa: S101 - no contract is without a grade
    return Outcome.joined(_of_surface(specified, area, surface) for area, surface in scene.surfaces)


def _of_surface(
    specified: SurfacePreparation, area: str, surface: SceneSurface[Cleanliness]
) -> Outcome[CleanlinessResult]:
    """Judge one surface; a grade seen before the blasting is of another one, which the order of the day finds."""
    place, clause, limit = Place(area), specified.clause, stain_limit(specified)
    made = next(iter(surface.tests), None)
    record = None if made is None else made.record
    verdicts: list[Verdict] = ["inconclusive"]
    reason: Word | None = codes.BEFORE_BLASTING
    findings: list[Finding] = []
    steps: list[Task] = []

    def lacks(what: Word | codes.GradeNotCompared, wanted: codes.GradeRequired | codes.StainAllowed) -> Verdict:
        facts = codes.CleanlinessLacking(what, wanted)
        findings.append(codes.MISSING.found(facts, place, clause=clause))
        steps.append((codes.RECORD_STAIN if isinstance(wanted, codes.StainAllowed) else codes.GRADE).due(facts, place))
        return "inconclusive"

    def fails(finding: Finding) -> Verdict:
        findings.append(finding)
        return "does not conform"

    if record is None:
        reason = codes.NOT_RECORDED
        lacks(reason, codes.GradeRequired(specified.grade))
    elif made is not None and made.counts:
        met, reason = _compared(specified.grade, record.observed)
        verdicts = ["conforms"]
        if reason is not None:
            not_compared = codes.GradeNotCompared(record.observed, reason)
            verdicts.append(lacks(not_compared, codes.GradeRequired(specified.grade)))
        elif not met:
            other = codes.GradeNotMet(record.observed, specified.grade)
            verdicts.append(fails(codes.GRADE_NOT_MET.found(other, place, clause=clause)))
        if limit is not None and record.staining is None:
            verdicts.append(lacks(codes.STAINING_NOT_RECORDED, codes.StainAllowed(Amount.of(limit))))
        elif limit is not None and record.staining is not None and record.staining.in_unit("%") > limit.in_unit("%"):
            above = codes.StainAbove(Amount.of(record.staining), Amount.of(limit))
            verdicts.append(fails(codes.STAIN_ABOVE.found(above, place, clause=clause)))
    result = CleanlinessResult(
        area, specified.grade, None if record is None else record.observed,
        _percent(None if record is None else record.staining), _percent(limit), combined_verdict(verdicts), reason,
    )  # fmt: skip
    return Outcome((result,), tuple(findings), measure_next=tuple(steps))


def _compared(specified: str, observed: str) -> tuple[bool, Word | None]:
    """Return whether a grade meets another, and why the two cannot be compared; equal names always can."""
    if " ".join(specified.split()).casefold() == " ".join(observed.split()).casefold():
        return True, None
    wanted, got = _grade(specified), _grade(observed)
    if wanted is None or got is None:
        return False, codes.UNKNOWN_RANK
    if (wanted.system, wanted.series) != (got.system, got.series) or wanted.rank is None or got.rank is None:
        return False, codes.OTHER_ORDER
    return got.rank >= wanted.rank, None


def _grade(name: str) -> CleanlinessGrade | None:
    try:
        return cleanliness_grade(name)
    except UsageError:
        return None


def stain_limit(specified: SurfacePreparation) -> Quantity | None:
    """Return the highest share of stains per unit area: the contract's own, else the grade's; None without either."""
    grade = _grade(specified.grade)
    if specified.maximum_staining is not None or grade is None or grade.maximum_stain is None:
        return specified.maximum_staining
    return Quantity(grade.maximum_stain, "%")


def _percent(quantity: Quantity | None) -> Decimal | None:
    """Return a share in percent, with the digits as written."""
    if quantity is None:
        return None
    return rounded(quantity.in_unit("%"), quantity.places + (4 if quantity.unit == "ppm" else 0))


def _share(percent: Decimal | None) -> Amount | None:
    return None if percent is None else Amount(percent, "%")


def derived(test: Cleanliness | None, result: CleanlinessResult, document: str) -> DerivationStep:  # noqa: ARG001
    """Return what was seen and what the contract says of it; the result holds all of the test."""
    facts = seen(result)
    limit = codes.GradeAllowed(result.specified, None, _share(result.staining_limit))
    inputs = (
        codes.OBSERVED.of(codes.GradeObserved(result.observed or codes.NOTHING_OBSERVED)),
        codes.STAINED.of(codes.StainObserved(_share(result.staining) or codes.NOT_STATED)),
    )
    what, rule = Stated("measured", "cleanliness", facts, Place(result.area)), Stated("applied", "cleanliness", limit)
    return DerivationStep(what, inputs, rule, document, result.verdict)
