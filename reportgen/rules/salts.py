"""Soluble salts: density of every test, against the limit on the same kind of result, and how many tests there are."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.errors import RangeError
from reportgen.metrology.contamination import check_same_salts, salt_density, salt_precision
from reportgen.metrology.sampling import locations_after_failures, locations_by_area, locations_per_size
from reportgen.results import MeasureNext, SaltResult
from reportgen.rules.outcome import IF_RIGHT, Outcome, Place, counted, found, shown, shown_number
from reportgen.rules.scene import counts
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

    from reportgen.job import SaltTest
    from reportgen.job.project import SaltLimit
    from reportgen.results import Finding, Task, Verdict
    from reportgen.rules.doubts import Doubts
    from reportgen.rules.scene import AreaView, JobView

UNIT: Final = "mg/m2"
PRINTED_PLACES: Final = 1
CONDUCTIVITY: Final = "mixed salts by conductivity"
CHLORIDE: Final = "chloride"


DOUBTED: Final = ("area", "volume", "blank", "sample", "chloride")
"""Fields of a test that its density is computed from."""


class _Judged(NamedTuple):
    """A test with its result, and whether a value of it is open to doubt: its verdict is then not known."""

    test: SaltTest
    result: SaltResult
    doubted: bool


def salts(view: JobView, asked: Doubts) -> Outcome[SaltResult]:
    """Judge every salt test; tests that express another quantity than the limit count as missing.

    One that was made before the blasting is shown, and neither clears nor fails the surface; nor does one with a value
    that is doubted, which is not missing either.
    """
    limit = view.specification.soluble_salts
    results: list[SaltResult] = []
    findings: list[Finding] = []
    todo: list[MeasureNext | Task] = []
    for area in view.areas:
        tests = [(test, counts(view, surface, test.time)) for surface in area.surfaces for test in surface.record.salts]
        judged = [
            _Judged(test, _result(area.id, test, limit if counting else None), asked.about(test, DOUBTED))
            for test, counting in tests
        ]
        results.extend(replace(one.result, verdict="inconclusive") if _open(one) else one.result for one in judged)
        if limit is not None:
            findings.extend(_above(area.id, one, limit) for one in judged if one.result.verdict == "does not conform")
            kept = [one for (_, counting), one in zip(tests, judged, strict=True) if counting]
            missing = _missing(area, kept, limit)
            findings.extend(missing.findings)
            todo.extend(missing.measure_next)
    left_out = () if limit is not None else ("soluble salts: the contract states no limit",)
    return Outcome(tuple(results), tuple(findings), measure_next=tuple(todo), not_evaluated=left_out)


def _open(one: _Judged) -> bool:
    return one.doubted and one.result.verdict != "not evaluated"


def density_of(test: SaltTest) -> Quantity:
    """Return the areal density of a test: chloride as read, or mixed salts from the rise of conductivity."""
    if test.chloride is not None:
        return test.chloride
    assert test.sample is not None  # noqa: S101 - the model asks for all four or for chloride
    assert test.blank is not None  # noqa: S101
    assert test.volume is not None  # noqa: S101
    assert test.area is not None  # noqa: S101
    return salt_density(test.sample, test.blank, test.volume, test.area)


def _kind(test: SaltTest) -> str:
    return CHLORIDE if test.chloride is not None else CONDUCTIVITY


def _result(area: str, test: SaltTest, limit: SaltLimit | None) -> SaltResult:
    density, kind = density_of(test), _kind(test)
    verdict: Verdict = "not evaluated"
    if limit is not None:
        verdict = _verdict(density, kind, limit)
    precision = salt_precision(density) if kind == CONDUCTIVITY else None
    return SaltResult(
        area, test.location, _printed(density, limit), verdict, kind,
        None if precision is None else rounded(precision.exact, PRINTED_PLACES),
    )  # fmt: skip


def _verdict(density: Quantity, kind: str, limit: SaltLimit) -> Verdict:
    try:
        check_same_salts(kind, limit.expressed_as)
    except RangeError:
        return "inconclusive"
    return "conforms" if density.in_unit(limit.maximum.unit) <= limit.maximum.exact else "does not conform"


def _printed(density: Quantity, limit: SaltLimit | None) -> Decimal:
    """Return the density with as many digits as show it on its side of the limit."""
    exact, places = density.in_unit(UNIT), PRINTED_PLACES
    number = rounded(exact, places)
    if limit is None:
        return number
    most = limit.maximum.in_unit(UNIT)
    while (number <= most) != (exact <= most):
        places += 1
        number = rounded(exact, places)
    return number


def _above(area: str, one: _Judged, limit: SaltLimit) -> Finding:
    places = Quantity(one.result.density, UNIT).places
    observed = f"{shown_number(density_of(one.test).in_unit(UNIT), UNIT, places)} {one.result.expressed_as}"
    words = f"at most {shown(limit.maximum)} {limit.expressed_as}"
    place: Place = {"area": area, "location": one.test.location, "clause": limit.clause}
    if one.doubted:
        return found("salts-above-maximum", observed + IF_RIGHT, words, **place, severity="observation")
    return found("salts-above-maximum", observed, words, **place)


def required_tests(area: AreaView, limit: SaltLimit, failing: int) -> int | None:
    """Tests the contract asks for; at least one where it states a limit; None where the area's size is needed."""
    tests = limit.tests or 1
    if limit.first_area is not None:
        if area.plan.size is None or not area.plan.size.exact:
            return None
        if limit.further_area is None:
            tests = locations_per_size(area.plan.size, limit.first_area, tests)
        else:
            further = limit.further_tests or 1
            tests = locations_by_area(area.plan.size, limit.first_area, tests, limit.further_area, further)
    return locations_after_failures(tests, failing, limit.additional_per_failing or 0)


def _missing(area: AreaView, judged: Sequence[_Judged], limit: SaltLimit) -> Outcome[SaltResult]:
    """Compare the tests that count with those required."""
    place: Place = {"area": area.id, "clause": limit.clause}
    count = sum(one.result.verdict in {"conforms", "does not conform"} for one in judged)
    other = len(judged) - count
    failing = sum(one.result.verdict == "does not conform" and not one.doubted for one in judged)
    required = required_tests(area, limit, failing)
    observed = counted(count, "test") + (f", {other} of another kind" if other else "")
    if required is None:
        words = "tests by the size of the area, which is not stated"
        return Outcome((), (found("salts-missing", observed, words, **place),))
    if count >= required:
        return Outcome()
    words = f"{counted(required, 'test')} of {limit.expressed_as}"
    short = required - count
    todo = MeasureNext(area.id, counted(short, "salt test"), words, short)
    return Outcome((), (found("salts-missing", observed, words, **place),), measure_next=(todo,))
