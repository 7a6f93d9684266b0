"""Soluble salts: density of every test, against the limit on the same kind of result, and how many tests there are."""

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from reportgen.errors import RangeError
from reportgen.measurements.salts import codes
from reportgen.measurements.salts.record import SaltLimit, SaltTest
from reportgen.measurements.slice import Made, Scene, SceneArea
from reportgen.metrology.contamination import check_same_salts, salt_precision
from reportgen.metrology.sampling import locations_after_failures, locations_by_area, locations_per_size
from reportgen.references import citation
from reportgen.results import DerivationStep, Finding, Outcome, Stated, Verdict
from reportgen.results.facts import NOTHING, Amount, Place, Value, Word
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from reportgen.rules.editions import Edition

UNIT: Final = "mg/m2"
PRINTED_PLACES: Final = 1


class SaltResult(Value):
    """One soluble-salt test: density in mg/m²."""

    area: str
    location: str
    density: Decimal
    verdict: Verdict
    expressed_as: str
    precision: Decimal | None = None


def allowed(limit: SaltLimit) -> codes.SaltsAllowed:
    """Return the limit as facts."""
    return codes.SaltsAllowed(Amount.of(limit.maximum), _word(limit.expressed_as))


def seen(result: SaltResult) -> codes.SaltsSeen:
    """Return a result as facts."""
    precision = None if result.precision is None else Amount(result.precision, UNIT)
    return codes.SaltsSeen(Amount(result.density, UNIT), _word(result.expressed_as), precision)


def judge(limit: SaltLimit | None, scene: Scene[SaltTest]) -> Outcome[SaltResult]:
    """Judge every salt test; tests that express another quantity than the limit count as missing.

    One that was made before the blasting is shown, and neither clears nor fails the surface; nor does one with a value
    that is doubted, which is not missing either.
    """
    left_out = () if limit is not None else (codes.WITHOUT_LIMIT.at(NOTHING),)
    return Outcome.joined((_judged(limit, area, scene.edition) for area in scene.areas), left_out)


def _judged(limit: SaltLimit | None, area: SceneArea[SaltTest], edition: "Edition") -> Outcome[SaltResult]:
    results: list[SaltResult] = []
    findings: list[Finding] = []
    judged: list[tuple[Made[SaltTest], Verdict]] = []
    for made in area.tests:
        exact = density_of(made.record, edition)
        kind = made.record.expressed_as
        verdict, density = _against(exact, kind, limit if made.counts else None)
        known = "inconclusive" if made.doubted and verdict != "not evaluated" else verdict
        precision = salt_precision(exact) if kind == codes.CONDUCTIVITY else None
        shown = None if precision is None else rounded(precision.exact, PRINTED_PLACES)
        results.append(SaltResult(area.id, made.record.location, density, known, kind, shown))
        judged.append((made, verdict))
        if limit is not None and verdict == "does not conform":
            findings.append(_above(Place(area.id, made.where), density, limit, doubted=made.doubted))
    outcome = Outcome(tuple(results), tuple(findings))
    return outcome if limit is None else Outcome.joined((outcome, _missing(area, judged, limit)))


def density_of(test: SaltTest, edition: "Edition") -> Quantity:
    """Return the areal density of a test: chloride as read, or mixed salts from the rise of conductivity."""
    if test.chloride is not None:
        return test.chloride
    assert test.sample is not None  # noqa: S101 - the model asks for all four or for chloride
    assert test.blank is not None  # noqa: S101
    assert test.volume is not None  # noqa: S101
    assert test.area is not None  # noqa: S101
    return edition.salt_density(test.sample, test.blank, test.volume, test.area)


def _word(kind: str) -> Word:
    return Word("expressed-as", kind)


def _against(exact: Quantity, kind: str, limit: SaltLimit | None) -> tuple[Verdict, Decimal]:
    """Return the verdict, and the density with as many digits as show it on its side of the limit."""
    density, places = exact.in_unit(UNIT), PRINTED_PLACES
    if limit is None:
        return "not evaluated", rounded(density, places)
    most = limit.maximum.in_unit(UNIT)
    while (rounded(density, places) <= most) != (density <= most):
        places += 1
    printed = rounded(density, places)
    try:
        check_same_salts(kind, limit.expressed_as)
    except RangeError:
        return "inconclusive", printed
    within = exact.in_unit(limit.maximum.unit) <= limit.maximum.exact
    return "conforms" if within else "does not conform", printed


def required_tests(area: SceneArea[SaltTest], limit: SaltLimit, failing: int) -> int | None:
    """Tests the contract asks for; at least one where it states a limit; None where the area's size is needed."""
    tests = limit.tests or 1
    if limit.first_area is not None:
        if area.size is None or not area.size.exact:
            return None
        if limit.further_area is None:
            tests = locations_per_size(area.size, limit.first_area, tests)
        else:
            further = limit.further_tests or 1
            tests = locations_by_area(area.size, limit.first_area, tests, limit.further_area, further)
    return locations_after_failures(tests, failing, limit.additional_per_failing or 0)


def _above(place: Place, density: Decimal, limit: SaltLimit, *, doubted: bool) -> Finding:
    maximum, expressed_as = Amount.of(limit.maximum), _word(limit.expressed_as)
    facts = codes.SaltsAbove(Amount(density, UNIT), maximum, expressed_as, codes.IF_RIGHT if doubted else None)
    return codes.ABOVE_MAXIMUM.found(
        facts, place, clause=limit.clause, severity="observation" if doubted else None
    )  # fmt: skip


def _missing(
    area: SceneArea[SaltTest], judged: Sequence[tuple[Made[SaltTest], Verdict]], limit: SaltLimit
) -> Outcome[SaltResult]:
    """Compare the tests that count with those required."""
    counting = [(verdict, made.doubted) for made, verdict in judged if made.counts]
    count = sum(verdict in {"conforms", "does not conform"} for verdict, _ in counting)
    required = required_tests(area, limit, counting.count(("does not conform", False)))
    if required is not None and count >= required:
        return Outcome()
    wanted = codes.BY_SIZE if required is None else codes.SaltTestsRequired(required, _word(limit.expressed_as))
    facts = codes.SaltTestsMade(count, wanted, len(counting) - count or None)
    found = codes.MISSING.found(facts, Place(area.id), clause=limit.clause)
    if required is None or isinstance(wanted, Word):
        return Outcome((), (found,))
    step = codes.MAKE_TESTS.due(
        codes.SaltTestsToMake(required - count, wanted), Place(area.id), count=required - count
    )  # fmt: skip
    return Outcome((), (found,), measure_next=(step,))


def derived(test: SaltTest | None, result: SaltResult, document: str) -> DerivationStep:  # noqa: ARG001 - computed
    """Return what was measured, and what came of it by which formula."""
    place, facts = Place(result.area, result.location), seen(result)
    entered = tuple(
        codes.ENTRY.of(codes.SaltEntry(Word("salt-entry", name), Amount.of(value)))
        for name in codes.ENTERED
        if (value := getattr(test, name)) is not None
    )
    source = citation("salt-kinds" if result.expressed_as == codes.CHLORIDE else "iso-8502-9").text
    came = codes.DENSITY.of(codes.SaltDerived(result.density, Word("verdict", result.verdict), result.precision))
    return DerivationStep(
        Stated("measured", "salts", facts, place), entered, codes.METHOD.of(facts), source, came
    )  # fmt: skip
