"""Soluble salts: density of every test, against the limit on the same kind of result, and how many tests there are."""

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.errors import RangeError
from reportgen.measurements.salts import codes
from reportgen.measurements.salts.record import SaltLimit, SaltTest
from reportgen.measurements.slice import Made, Scene, SceneArea
from reportgen.metrology.contamination import check_same_salts, salt_precision
from reportgen.metrology.sampling import locations_after_failures, locations_by_area, locations_per_size
from reportgen.references import citation
from reportgen.results import DerivationStep, Finding, Outcome, Severity, Stated, Verdict
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


class _Judged(NamedTuple):
    """A test with what its density alone says of the limit; not known where a value of it is open to doubt."""

    made: Made[SaltTest]
    exact: Quantity
    density: Decimal
    verdict: Verdict

    @property
    def known(self) -> Verdict:
        """The verdict that is printed."""
        return "inconclusive" if self.made.doubted and self.verdict != "not evaluated" else self.verdict


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
    judged = [_against(made, limit if made.counts else None, edition) for made in area.tests]
    results = tuple(_result(area.id, one) for one in judged)
    if limit is None:
        return Outcome(results)
    above = tuple(_above(area.id, one, limit) for one in judged if one.verdict == "does not conform")
    return Outcome.joined((Outcome(results, above), _missing(area, [one for one in judged if one.made.counts], limit)))


def density_of(test: SaltTest, edition: "Edition") -> Quantity:
    """Return the areal density of a test: chloride as read, or mixed salts from the rise of conductivity."""
    if test.chloride is not None:
        return test.chloride
    assert test.sample is not None  # noqa: S101 - the model asks for all four or for chloride
    assert test.blank is not None  # noqa: S101
    assert test.volume is not None  # noqa: S101
    assert test.area is not None  # noqa: S101
    return edition.salt_density(test.sample, test.blank, test.volume, test.area)


def _kind(test: SaltTest) -> str:
    return codes.CHLORIDE if test.chloride is not None else codes.CONDUCTIVITY


def _word(kind: str) -> Word:
    return Word("expressed-as", kind)


def _against(made: Made[SaltTest], limit: SaltLimit | None, edition: "Edition") -> _Judged:
    density = density_of(made.record, edition)
    verdict = "not evaluated" if limit is None else _verdict(density, _kind(made.record), limit)
    return _Judged(made, density, _printed(density, limit), verdict)


def _result(area: str, one: _Judged) -> SaltResult:
    test, kind = one.made.record, _kind(one.made.record)
    precision = salt_precision(one.exact) if kind == codes.CONDUCTIVITY else None
    return SaltResult(
        area, test.location, one.density, one.known, kind,
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
    facts = codes.SaltsAbove(
        Amount(one.density, UNIT), Amount.of(limit.maximum), _word(limit.expressed_as),
        codes.IF_RIGHT if one.made.doubted else None,
    )  # fmt: skip
    severity: Severity | None = "observation" if one.made.doubted else None
    return codes.ABOVE_MAXIMUM.found(facts, Place(area, one.made.where), clause=limit.clause, severity=severity)


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


def _missing(area: SceneArea[SaltTest], judged: Sequence[_Judged], limit: SaltLimit) -> Outcome[SaltResult]:
    """Compare the tests that count with those required."""
    count = sum(one.verdict in {"conforms", "does not conform"} for one in judged)
    failing = sum(one.verdict == "does not conform" and not one.made.doubted for one in judged)
    required = required_tests(area, limit, failing)
    if required is not None and count >= required:
        return Outcome()
    place = Place(area.id)
    wanted = codes.BY_SIZE if required is None else codes.SaltTestsRequired(required, _word(limit.expressed_as))
    facts = codes.SaltTestsMade(count, wanted, len(judged) - count or None)
    found = codes.MISSING.found(facts, place, clause=limit.clause)
    if required is None or isinstance(wanted, Word):
        return Outcome((), (found,))
    short = required - count
    step = codes.MAKE_TESTS.due(codes.SaltTestsToMake(short, wanted), place, count=short)
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
