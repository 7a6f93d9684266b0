"""The grade of cleanliness observed against the one specified, in one system, and the stain against its limit."""

from decimal import Decimal

from reportgen.errors import UsageError
from reportgen.measurements.cleanliness import codes
from reportgen.measurements.cleanliness.record import Cleanliness, SurfacePreparation
from reportgen.measurements.slice import Scene, SceneSurface
from reportgen.metrology.conformity import combined_verdict
from reportgen.references import CleanlinessGrade, cleanliness_grade
from reportgen.results import DerivationStep, Finding, Outcome, Stated, Verdict
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


_Judged = tuple["Verdict", "Word | None", "list[Finding]"]
"""Verdict, why there is none, findings."""


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
    return Outcome.joined(
        _of_surface(specified, area.id, surface) for area in scene.areas for surface in area.surfaces
    )  # fmt: skip


def _of_surface(
    specified: SurfacePreparation, area: str, surface: SceneSurface[Cleanliness]
) -> Outcome[CleanlinessResult]:
    """Judge one surface; a grade seen before the blasting is of another one, which the order of the day finds."""
    made = next(iter(surface.tests), None)
    limit, record = stain_limit(specified), None if made is None else made.record
    early: _Judged = ("inconclusive", codes.BEFORE_BLASTING, [])
    counts = made is None or made.counts
    verdict, reason, findings = _judged(specified, limit, area, record) if counts else early
    result = CleanlinessResult(
        area, specified.grade, None if record is None else record.observed,
        _percent(None if record is None else record.staining), _percent(limit), verdict, reason,
    )  # fmt: skip
    steps = [
        (codes.RECORD_STAIN if isinstance(one.facts.wanted, codes.StainAllowed) else codes.GRADE).due(
            one.facts, one.place
        )
        for one in findings
        if isinstance(one.facts, codes.CleanlinessLacking)
    ]
    return Outcome((result,), tuple(findings), measure_next=tuple(steps))


def _judged(specified: SurfacePreparation, limit: Quantity | None, area: str, record: Cleanliness | None) -> _Judged:
    if record is None:
        lacking = codes.CleanlinessLacking(codes.NOT_RECORDED, codes.GradeRequired(specified.grade))
        found = codes.MISSING.found(lacking, Place(area), clause=specified.clause)
        return "inconclusive", codes.NOT_RECORDED, [found]
    verdict, reason, findings = _graded(specified, record, area)
    stained, found_stained = _stain(specified, limit, record, area)
    return combined_verdict((verdict, stained)), reason, [*findings, *found_stained]


def _graded(specified: SurfacePreparation, record: Cleanliness, area: str) -> _Judged:
    """Compare the two grades; a grade that cannot be compared gives no verdict."""
    place, clause = Place(area), specified.clause
    reason = _incomparable(specified.grade, record.observed)
    if reason is not None:
        lacking = codes.CleanlinessLacking(
            codes.GradeNotCompared(record.observed, reason), codes.GradeRequired(specified.grade)
        )
        return "inconclusive", reason, [codes.MISSING.found(lacking, place, clause=clause)]
    if _same(specified.grade, record.observed) or _rank(record.observed) >= _rank(specified.grade):
        return "conforms", None, []
    facts = codes.GradeNotMet(record.observed, specified.grade)
    return "does not conform", None, [codes.GRADE_NOT_MET.found(facts, place, clause=clause)]


def _grade(name: str) -> CleanlinessGrade | None:
    try:
        return cleanliness_grade(name)
    except UsageError:
        return None


def _same(one: str, other: str) -> bool:
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def _rank(name: str) -> int:
    grade = _grade(name)
    assert grade is not None  # noqa: S101 - asked only for comparable grades, which have a rank
    assert grade.rank is not None  # noqa: S101
    return grade.rank


def _incomparable(specified: str, observed: str) -> Word | None:
    """Return why two grades cannot be compared, or None; equal names always can."""
    if _same(specified, observed):
        return None
    wanted, got = _grade(specified), _grade(observed)
    if wanted is None or got is None:
        return codes.UNKNOWN_RANK
    same_order = (wanted.system, wanted.series) == (got.system, got.series)
    ranked = wanted.rank is not None and got.rank is not None
    return None if same_order and ranked else codes.OTHER_ORDER


def stain_limit(specified: SurfacePreparation) -> Quantity | None:
    """Return the highest share of stains per unit area: the contract's own, else the grade's; None without either."""
    if specified.maximum_staining is not None:
        return specified.maximum_staining
    grade = _grade(specified.grade)
    if grade is None or grade.maximum_stain is None:
        return None
    return Quantity(grade.maximum_stain, "%")


def _stain(
    specified: SurfacePreparation, limit: Quantity | None, record: Cleanliness, area: str
) -> tuple[Verdict, list[Finding]]:
    """Compare the stain of the worst unit area with its limit."""
    place, clause = Place(area), specified.clause
    if limit is None:
        return "conforms", []
    if record.staining is None:
        lacking = codes.CleanlinessLacking(codes.STAINING_NOT_RECORDED, codes.StainAllowed(Amount.of(limit)))
        return "inconclusive", [codes.MISSING.found(lacking, place, clause=clause)]
    if record.staining.in_unit("%") <= limit.in_unit("%"):
        return "conforms", []
    facts = codes.StainAbove(Amount.of(record.staining), Amount.of(limit))
    return "does not conform", [codes.STAIN_ABOVE.found(facts, place, clause=clause)]


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
