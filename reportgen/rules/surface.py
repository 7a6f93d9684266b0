"""Cleanliness and dust of the surface, against the grade and the ratings of the contract."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.errors import UsageError
from reportgen.metrology.conformity import combined_verdict
from reportgen.references import cleanliness_grade
from reportgen.results import CleanlinessResult, MeasureNext
from reportgen.rules.outcome import Outcome, Place, found, shown
from reportgen.rules.scene import counts
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from decimal import Decimal

    from reportgen.job import Surface
    from reportgen.job.day import Cleanliness
    from reportgen.job.project import SurfacePreparation
    from reportgen.references import CleanlinessGrade
    from reportgen.results import Finding, Verdict
    from reportgen.rules.scene import JobView


_NO_STAINING: Final = "staining not recorded"
_UNSTAINED: Final = "the staining of the worst unit area"
_UNGRADED: Final = "the grade of cleanliness"


def cleanliness(view: JobView) -> Outcome[CleanlinessResult]:
    """Compare the grade observed with the grade specified, in one system, and the staining with its limit."""
    specified = view.specification.surface_preparation
    outcomes = [
        _cleanliness(specified, surface.record)
        if surface.record.cleanliness is None or counts(view, surface, surface.record.cleanliness.time)
        else (_graded_before(specified, surface.record), [])
        for area in view.areas
        for surface in area.surfaces
    ]
    results = tuple(result for result, _ in outcomes)
    findings = tuple(finding for _, found_here in outcomes for finding in found_here)
    todo = tuple(
        MeasureNext(one.area or "", _UNSTAINED if one.observed == _NO_STAINING else _UNGRADED, one.observed)
        for one in findings
        if one.code == "cleanliness-missing"
    )
    return Outcome(results, findings, measure_next=todo)


def _cleanliness(specified: SurfacePreparation, surface: Surface) -> tuple[CleanlinessResult, list[Finding]]:
    place: Place = {"area": surface.area, "clause": specified.clause}
    limit = stain_limit(specified)
    record = surface.cleanliness
    if record is None:
        result = CleanlinessResult(
            surface.area, specified.grade, None, None, _percent(limit), "inconclusive", "not recorded"
        )
        return result, [found("cleanliness-missing", "not recorded", f"grade {specified.grade}", **place)]
    verdict, reason, findings = _graded(specified, record, place)
    stained, stain_findings = _stain(limit, record, place)
    return (
        CleanlinessResult(
            surface.area, specified.grade, record.observed, _percent(record.staining), _percent(limit),
            _worse(verdict, stained), reason,
        ),
        [*findings, *stain_findings],
    )  # fmt: skip


def _graded_before(specified: SurfacePreparation, surface: Surface) -> CleanlinessResult:
    """Show a grade seen before the blasting: it is of another surface, which the order of the day finds."""
    record = surface.cleanliness
    seen, staining = (None, None) if record is None else (record.observed, record.staining)
    return CleanlinessResult(
        surface.area, specified.grade, seen, _percent(staining), _percent(stain_limit(specified)), "inconclusive",
        "graded before the blasting",
    )  # fmt: skip


def _graded(
    specified: SurfacePreparation, record: Cleanliness, place: Place
) -> tuple[Verdict, str | None, list[Finding]]:  # fmt: skip
    """Compare the two grades; a grade that cannot be compared gives no verdict."""
    words = f"grade {specified.grade}"
    reason = _incomparable(specified.grade, record.observed)
    if reason is not None:
        return "inconclusive", reason, [found("cleanliness-missing", f"{record.observed}: {reason}", words, **place)]
    if _same(specified.grade, record.observed) or _rank(record.observed) >= _rank(specified.grade):
        return "conforms", None, []
    return "does not conform", None, [found("grade-not-met", f"grade {record.observed}", words, **place)]


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


def _incomparable(specified: str, observed: str) -> str | None:
    """Return why two grades cannot be compared, or None; equal names always can."""
    if _same(specified, observed):
        return None
    wanted, seen = _grade(specified), _grade(observed)
    if wanted is None or seen is None:
        return "not a grade whose rank is known"
    same_order = (wanted.system, wanted.series) == (seen.system, seen.series)
    ranked = wanted.rank is not None and seen.rank is not None
    return None if same_order and ranked else "not in the order of grades of the specification's system"


def stain_limit(specified: SurfacePreparation) -> Quantity | None:
    """Return the highest share of stains per unit area: the contract's own, else the grade's; None without either."""
    if specified.maximum_staining is not None:
        return specified.maximum_staining
    grade = _grade(specified.grade)
    if grade is None or grade.maximum_stain is None:
        return None
    return Quantity(grade.maximum_stain, "%")


def _stain(limit: Quantity | None, record: Cleanliness, place: Place) -> tuple[Verdict, list[Finding]]:
    """Compare the staining of the worst unit area with its limit."""
    if limit is None:
        return "conforms", []
    words = f"staining of each unit area at most {shown(limit)}"
    if record.staining is None:
        return "inconclusive", [found("cleanliness-missing", _NO_STAINING, words, **place)]
    if record.staining.exact <= limit.exact:
        return "conforms", []
    return "does not conform", [found("stain-above-limit", f"staining {shown(record.staining)}", words, **place)]


def _percent(quantity: Quantity | None) -> Decimal | None:
    return None if quantity is None else rounded(quantity.exact, quantity.places)


def _worse(one: Verdict, other: Verdict) -> Verdict:
    return combined_verdict((one, other))
