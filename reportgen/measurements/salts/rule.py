"""Soluble salts: density of every test, against the limit on the same kind of result, and how many tests there are."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.errors import RangeError
from reportgen.measurements.judging import Judged, errors_at, judged
from reportgen.measurements.salts import codes
from reportgen.measurements.salts.record import SaltLimit, SaltTest
from reportgen.measurements.slice import Instrument, Made, Scene, SceneArea, Sureness
from reportgen.measurements.uncertain import Uncertainty
from reportgen.metrology.conductivity import (
    Extraction,
    precision_component,
    reading_budget,
    salt_budget,
    salt_precision_component,
)
from reportgen.metrology.conformity import Limits
from reportgen.metrology.contamination import (
    MIXED_SALTS,
    SODIUM_CHLORIDE,
    check_same_salts,
    expressed_by,
    salt_precision,
)
from reportgen.metrology.sampling import locations_after_failures, locations_by_area, locations_per_size
from reportgen.references import citation
from reportgen.results import DerivationStep, Finding, LeftOut, Outcome, ResultBudget, Stated, Verdict
from reportgen.results.facts import NOTHING, Amount, Place, Value, Word
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from reportgen.rules.editions import Edition

UNIT: Final = "mg/m2"
PRINTED_PLACES: Final = 1
PUBLISHED: Final = (codes.CONDUCTIVITY, codes.SODIUM_CHLORIDE)
"""What a density by conductivity may express without a factor of the contract."""


class SaltResult(Value):
    """One soluble-salt test: density in mg/m².

    ``constant`` is the factor from conductivity, in kg/(m²·S), where it is not that of mixed salts; ``precision`` is
    published for the density alone, ``expanded_uncertainty`` holds it with everything else that is known. The budget
    stands with one test of an area for each instrument: that of the highest density.
    """

    area: str
    location: str
    density: Decimal
    verdict: Verdict
    expressed_as: str
    precision: Decimal | None = None
    constant: Decimal | None = None
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    probability_of_conformity: Decimal | None = None
    decision_rule: str | None = None
    budgets: tuple[ResultBudget, ...] = ()


def allowed(limit: SaltLimit) -> codes.SaltsAllowed:
    """Return the limit as facts."""
    return codes.SaltsAllowed(
        Amount.of(limit.maximum), _word(limit.expressed_as), limit.constant,
        None if limit.precision is None else Amount.of(limit.precision), _stated_rule(limit),
    )  # fmt: skip


def _stated_rule(limit: SaltLimit) -> Word | None:
    """Return the decision rule where it is not the simple one."""
    return None if limit.rule == "simple" else Word("decision-rule", limit.rule)


def seen(result: SaltResult) -> codes.SaltsSeen:
    """Return a result as facts."""
    expanded = None if result.expanded_uncertainty is None else Amount(result.expanded_uncertainty, UNIT)
    return codes.SaltsSeen(Amount(result.density, UNIT), _word(result.expressed_as), expanded)


def judge(limit: SaltLimit | None, scene: Scene[SaltTest]) -> Outcome[SaltResult]:
    """Judge every salt test; tests that express another quantity than the limit count as missing.

    One that was made before the blasting is shown, and neither clears nor fails the surface; nor does one with a value
    that is doubted, which is not missing either. One that the decision rule leaves open is measured again.
    """
    left_out = () if limit is not None else (codes.WITHOUT_LIMIT.at(NOTHING),)
    tests = {area.id: [_judged(limit, made, scene.edition, scene.instruments) for made in area.tests]
             for area in scene.areas}  # fmt: skip
    without = () if limit is None else _not_in_uncertainty(tests, limit, scene)
    return Outcome.joined((_area(limit, area, tests[area.id]) for area in scene.areas), (*without, *left_out))


class _Test(Value):
    """One test: what its number expresses, and whether the limit is of that; what follows from it."""

    made: Made[SaltTest]
    density: Quantity
    kind: str
    constant: Fraction | None
    comparable: bool
    value: Judged

    @property
    def place(self) -> str | None:
        """Its location as a finding names it."""
        return self.made.where


def _area(limit: SaltLimit | None, area: SceneArea[SaltTest], tests: Sequence[_Test]) -> Outcome[SaltResult]:
    told = _most(tests)
    results = tuple(_result(area.id, test, limit, budget=index in told) for index, test in enumerate(tests))
    outcome = Outcome(results, tuple(_below_blank(area.id, tests)))
    if limit is None:
        return outcome
    findings, todo = [], []
    for test in tests:
        place = Place(area.id, test.place)
        if test.made.asked:  # the question holds the area: what would follow from a slip is no finding beside it
            continue
        if test.value.verdict == "does not conform":
            findings.append(_above(place, test, limit))
        elif test.value.verdict == "inconclusive" and test.comparable and not test.made.doubted:
            found = _open(place, test, limit)
            findings.append(found)
            todo.append(codes.TEST_AGAIN.due(NOTHING, place, count=1, answers=found.code))
    undecided = Outcome(outcome.results, (*outcome.findings, *findings), measure_next=tuple(todo))
    return Outcome.joined((undecided, _missing(area, tests, limit)))


def _most(tests: Sequence[_Test]) -> set[int]:
    """Return the tests of the highest density, one for each instrument, kind of result and errors stated."""
    most: dict[tuple[object, ...], int] = {}
    for index, test in enumerate(tests):
        record = test.made.record
        key = (record.instrument, test.kind, record.volume_error is None, record.area_error is None)
        if key not in most or tests[most[key]].value.shown < test.value.shown:
            most[key] = index
    return set(most.values())


def _judged(
    limit: SaltLimit | None, made: Made[SaltTest], edition: "Edition", instruments: Mapping[str, Instrument]
) -> _Test:
    test = made.record
    kind, constant = expressed(test, limit)
    mixed = density_of(test, edition)
    density = mixed if constant is None else expressed_by(mixed, constant)
    comparable = limit is not None and _comparable(kind, limit)
    against = limit if made.counts and comparable else None
    value = judged(
        density, UNIT, None if against is None else limit_in_unit(against),
        "simple" if against is None else against.rule,
        _uncertainty(limit, test, density, constant, instruments), PRINTED_PLACES,
    )  # fmt: skip
    return _Test(made, density, kind, constant, comparable, value)


def limit_in_unit(limit: SaltLimit) -> Limits:
    """Return the limit in the unit that densities are printed in; 1 µg/cm² is 10 mg/m², so that no digit is lost."""
    return Limits(maximum=Quantity(rounded(limit.maximum.in_unit(UNIT), limit.maximum.places), UNIT))


def _result(area: str, test: _Test, limit: SaltLimit | None, *, budget: bool) -> SaltResult:
    record, value = test.made.record, test.value
    verdict = value.verdict
    if limit is not None and test.made.counts and (not test.comparable or test.made.doubted):
        verdict = "inconclusive"
    precision = salt_precision(test.density) if test.kind in PUBLISHED else None
    rule = None
    if limit is not None and test.comparable and limit.rule != "simple":
        rule = limit.rule
    return SaltResult(
        area, record.location, value.shown, verdict, test.kind,
        None if precision is None else rounded(precision.exact, PRINTED_PLACES),
        None if test.constant in (None, MIXED_SALTS) else rounded(test.constant, 6).normalize(),
        value.expanded, value.factor, value.probability, rule,
        (value.uncertainty.stated,) if budget and value.uncertainty is not None else (),
    )  # fmt: skip


def expressed(test: SaltTest, limit: SaltLimit | None) -> tuple[str, Fraction | None]:
    """Return what the number of a test expresses, and the factor from conductivity [kg/(m²·S)]; none of chloride read.

    A rise of conductivity is expressed as the contract limits it. Chloride is reckoned from it only where the contract
    states the factor; where it does not, the result stays one of mixed salts, and is not compared.
    """
    if test.chloride is not None:
        return codes.CHLORIDE, None
    if limit is None:
        return codes.CONDUCTIVITY, MIXED_SALTS
    stated = None if limit.constant is None else Fraction(limit.constant)
    if limit.expressed_as == codes.CHLORIDE:
        return (codes.CONDUCTIVITY, MIXED_SALTS) if stated is None else (codes.CHLORIDE_BY_CONDUCTIVITY, stated)
    own = SODIUM_CHLORIDE if limit.expressed_as == codes.SODIUM_CHLORIDE else MIXED_SALTS
    return limit.expressed_as, own if stated is None else stated


def speaks_of(limit: SaltLimit, test: SaltTest) -> bool:
    """Whether a test expresses what the limit is of."""
    return _comparable(expressed(test, limit)[0], limit)


def _comparable(kind: str, limit: SaltLimit) -> bool:
    """Whether a result is of what the limit is of, or made so by the contract's word."""
    if kind == codes.CHLORIDE_BY_CONDUCTIVITY:
        return limit.constant is not None
    try:
        check_same_salts(kind, limit.expressed_as)
    except RangeError:
        return False
    return True


def _uncertainty(
    limit: SaltLimit | None, test: SaltTest, density: Quantity, constant: Fraction | None,
    instruments: Mapping[str, Instrument],
) -> Uncertainty | None:  # fmt: skip
    """Return the uncertainty of a density; of chloride as read it is known where contract or instrument states it."""
    instrument = None if test.instrument is None else instruments.get(test.instrument)
    stated = None
    if limit is not None and limit.precision is not None:
        stated = precision_component(limit.precision.in_unit(UNIT), "contract")
    if test.sample is None or test.blank is None or test.volume is None or test.area is None or constant is None:
        budget = reading_budget("instrument", errors_at(instrument, density, UNIT), stated)
        return None if budget is None else Uncertainty("salt-density", budget)
    made = Extraction(test.sample, test.blank, test.volume, test.area, test.volume_error, test.area_error)
    found = salt_budget(
        density, made, constant, stated or salt_precision_component(density, constant),
        at_sample=errors_at(instrument, test.sample, "uS/cm"), at_blank=errors_at(instrument, test.blank, "uS/cm"),
    )  # fmt: skip
    return Uncertainty("salt-density", found)


def sureness(
    limit: SaltLimit, test: SaltTest, at: Quantity | None, instruments: Mapping[str, Instrument], edition: "Edition"
) -> Sureness:  # fmt: skip
    """Return how sure a test is at its own density, or would be had its method shown another, by meter, volume, patch.

    A second test that happened to show less has a smaller uncertainty by that; it is no better a test. One that
    expresses another quantity than the limit says nothing of it.
    """
    kind, constant = expressed(test, limit)
    found = _judged(limit, Made(test), edition, instruments)
    own = Quantity(found.density.in_unit(UNIT), UNIT)
    density = own if at is None else at
    if test.sample is not None and test.blank is not None and test.volume is not None and constant and at is not None:
        assert test.area is not None  # noqa: S101 - the model asks for all four
        rise = at.in_unit(UNIT) * test.area.in_unit("cm2") / (constant * test.volume.in_unit("ml"))
        shown = Quantity(test.blank.in_unit("uS/cm") + rise, "uS/cm")
        test = test.model_copy(update={"sample": shown})
    known = _uncertainty(limit, test, density, constant, instruments) if _comparable(kind, limit) else None
    wide = None if known is None else known.expanded
    return Sureness(
        value=own, seen=Amount(found.value.shown, UNIT),
        expanded=None if found.value.expanded is None else Amount(found.value.expanded, UNIT),
        wide=wide, means=wide, stated=_stated_errors(test, density, instruments),
    )  # fmt: skip


def _stated_errors(test: SaltTest, density: Quantity, instruments: Mapping[str, Instrument]) -> frozenset[str]:
    """Return which errors are on record of what a test was made with, whose density is given."""
    instrument = None if test.instrument is None else instruments.get(test.instrument)
    meter = errors_at(instrument, *((density, UNIT) if test.sample is None else (test.sample, "uS/cm")))
    stated = {
        "meter": meter.accuracy, "certificate": meter.uncertainty, "resolution": meter.resolution,
        "volume": test.volume_error, "patch": test.area_error,
    }  # fmt: skip
    return frozenset(name for name, error in stated.items() if error is not None)


def _not_in_uncertainty(
    tests: Mapping[str, Sequence[_Test]], limit: SaltLimit, scene: Scene[SaltTest]
) -> Iterator[LeftOut]:
    """Say of tests with an uncertainty what of it nobody stated: it would be larger with that."""
    areas: dict[tuple[str, ...], dict[str, None]] = {}
    for area, test in ((area, test) for area, several in tests.items() for test in several):
        if lacking := _not_stated(test, limit, scene):
            areas.setdefault(lacking, {})[area] = None
    for lacking, found in areas.items():
        of = tuple(Word("not-in-uncertainty", name) for name in lacking)
        yield codes.U_WITHOUT.at(codes.ErrorsNotStated(tuple(found), of))


def _not_stated(test: _Test, limit: SaltLimit | None, scene: Scene[SaltTest]) -> tuple[str, ...]:
    """Return of what no error is stated, although the test has an uncertainty."""
    record = test.made.record
    if test.value.uncertainty is None or not test.comparable:
        return ()
    instrument = None if record.instrument is None else scene.instruments.get(record.instrument)
    if record.sample is None:
        precise = limit is not None and limit.precision is not None
        stated = {"kit": errors_at(instrument, test.density, UNIT).known, "method": precise}
    else:
        meter = errors_at(instrument, record.sample, "uS/cm").known
        stated = {"meter": meter, "volume": record.volume_error is not None, "patch": record.area_error is not None}
    return tuple(name for name, known in stated.items() if not known)


def density_of(test: SaltTest, edition: "Edition") -> Quantity:
    """Return the areal density of a test: chloride as read, or mixed salts from the rise of conductivity."""
    if test.chloride is not None:
        return test.chloride
    assert test.sample is not None  # noqa: S101 - the model asks for all four or for chloride
    assert test.blank is not None  # noqa: S101
    assert test.volume is not None  # noqa: S101
    assert test.area is not None  # noqa: S101
    sample = test.blank if test.below_blank else test.sample  # water does not lose salt: the meter flickered
    return edition.salt_density(sample, test.blank, test.volume, test.area)


def _word(kind: str) -> Word:
    return Word("expressed-as", kind)


def required_tests(area: SceneArea[SaltTest], limit: SaltLimit, failing: int) -> int | None:
    """Tests the contract asks for; at least one where it states a limit; None where the area's size is needed."""
    tests: int | None = limit.tests or 1
    if limit.first_area is not None:
        tests = tests_by_size(limit, area.size) if area.size is not None and area.size.exact else None
    return None if tests is None else locations_after_failures(tests, failing, limit.additional_per_failing or 0)


def tests_by_size(limit: SaltLimit, size: Quantity) -> int | None:
    """Tests the contract asks for on an area of a size; None where it does not ask by size."""
    if limit.first_area is None:
        return None
    if limit.further_area is None:
        return locations_per_size(size, limit.first_area, limit.tests or 1)
    return locations_by_area(size, limit.first_area, limit.tests or 1, limit.further_area, limit.further_tests or 1)


def _above(place: Place, test: _Test, limit: SaltLimit) -> Finding:
    maximum, doubted = Amount.of(limit.maximum), test.made.unproven
    density = Amount(test.value.shown, UNIT)
    expanded = None if test.value.expanded is None else Amount(test.value.expanded, UNIT)
    why = codes.IF_SHOWN_RIGHTLY if doubted else None
    facts = codes.SaltsAbove(density, maximum, _word(test.kind), why, expanded)
    return codes.ABOVE_MAXIMUM.found(
        facts, place, clause=limit.clause, severity="observation" if doubted else None
    )  # fmt: skip


def _open(place: Place, test: _Test, limit: SaltLimit) -> Finding:
    """Find a test that the decision rule leaves open: too near to the limit, or of no known uncertainty."""
    value, density = test.value, Amount(test.value.shown, UNIT)
    if value.expanded is None or value.near is None:
        unknown = codes.SaltsUncertain(density, _word(test.kind), Word("decision-rule", limit.rule))
        return codes.INCONCLUSIVE.found(unknown, place, clause=limit.clause)
    near = codes.SaltsNear(
        density, Amount.of(limit.maximum), _word(test.kind), Amount(value.expanded, UNIT),
        Word("guard-band", value.near),
    )  # fmt: skip
    if limit.rule == "guarded":
        return codes.IN_GUARD_BAND.found(near, place, clause=limit.clause)
    return codes.INCONCLUSIVE.found(near, place, clause=limit.clause)


def _below_blank(area: str, tests: Sequence[_Test]) -> Iterator[Finding]:
    """Say of which tests the sample lay a digit below the blank, and was taken to be as the blank."""
    for test in tests:
        record = test.made.record
        if record.below_blank and record.sample is not None and record.blank is not None:
            facts = codes.SaltsBelowBlank(Amount.of(record.sample), Amount.of(record.blank))
            yield codes.BELOW_BLANK.found(facts, Place(area, test.place))


def _missing(area: SceneArea[SaltTest], tests: Sequence[_Test], limit: SaltLimit) -> Outcome[SaltResult]:
    """Compare the tests that count with those required; one that is left open was made.

    Tests at one location say of one place: they count as one.
    """
    counting = [test for test in tests if test.made.counts]
    count = len({test.place for test in counting if test.comparable})
    failing = sum(test.value.verdict == "does not conform" and not test.made.doubted for test in counting)
    required = required_tests(area, limit, failing)
    if required is not None and count >= required:
        return Outcome()
    wanted = codes.BY_SIZE if required is None else codes.SaltTestsRequired(required, _word(limit.expressed_as))
    facts = codes.SaltTestsMade(count, wanted, sum(not test.comparable for test in counting) or None)
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
    source = citation("iso-8502-9" if result.expressed_as in PUBLISHED else "salt-kinds").text
    return DerivationStep(
        Stated("measured", "salts", facts, place), tuple(_inputs(test, result)), codes.METHOD.of(facts),
        source, codes.DENSITY.of(_came(result)),
    )  # fmt: skip


def _inputs(test: SaltTest | None, result: SaltResult) -> Iterator[Stated]:
    for name in codes.ENTERED:
        if (value := getattr(test, name)) is not None:
            yield codes.ENTRY.of(codes.SaltEntry(Word("salt-entry", name), Amount.of(value)))
    if result.constant is not None:
        yield codes.FACTOR.of(codes.SaltFactor(result.constant))


def _came(result: SaltResult) -> codes.SaltDerived:
    rule = None if result.decision_rule is None else Word("decision-rule", result.decision_rule)
    return codes.SaltDerived(
        result.density, Word("verdict", result.verdict), result.expanded_uncertainty, result.coverage_factor, rule,
        result.probability_of_conformity,
    )  # fmt: skip
