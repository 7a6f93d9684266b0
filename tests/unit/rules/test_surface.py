"""Cleanliness, salts, time to coat, compressed air, abrasive."""

from decimal import Decimal

import pytest

from tests.unit.rules.factory import codes, evaluated, finding, surface

PREPARATION = "specification.surface_preparation"


@pytest.mark.parametrize(
    ("specified", "observed", "verdict", "code"),
    [
        ("SSPC-SP 10", "SSPC-SP 5", "conforms", None),
        ("SSPC-SP 10", "SSPC-SP 10", "conforms", None),
        ("SSPC-SP 10", "SSPC-SP 6", "does not conform", "grade-not-met"),
        ("Sa 2½", "Sa 2.5", "conforms", None),
        ("Sa 2½", "Sa 2", "does not conform", "grade-not-met"),
        ("SSPC-SP 10", "Sa 3", "inconclusive", "cleanliness-missing"),
        ("SSPC-SP 10", "SSPC-SP 11", "inconclusive", "cleanliness-missing"),
        ("SSPC-SP 10", "very clean", "inconclusive", "cleanliness-missing"),
        ("SSPC-SP 1", "sspc-sp  1", "conforms", None),
        ("Fl", "fl", "conforms", None),
    ],
)
def test_grades_are_compared_within_one_system(specified, observed, verdict, code):
    record = {"observed": observed, "staining": "0 %"}
    evaluation = evaluated(spec={f"{PREPARATION}.grade": specified}, surfaces=[surface(cleanliness=record)])
    (result,) = evaluation.cleanliness
    assert (result.verdict, result.specified, result.observed) == (verdict, specified, observed)
    assert [found for found in codes(evaluation) if found in {"grade-not-met", "cleanliness-missing"}] == (
        [code] if code else []
    )


def test_grades_without_a_rank_cannot_be_compared():
    record = {"observed": "SSPC-SP 2", "staining": "0 %"}
    spec = {f"{PREPARATION}.grade": "SSPC-SP 1"}
    evaluation = evaluated(spec=spec, surfaces=[surface(cleanliness=record)])
    assert evaluation.cleanliness[0].verdict == "inconclusive"


@pytest.mark.parametrize(
    ("own", "staining", "code", "observed", "verdict"),
    [
        (None, "5 %", None, None, "conforms"),
        (None, "6 %", "stain-above-limit", "staining 6 %", "does not conform"),
        ("8 %", "6 %", None, None, "conforms"),
        (None, None, "cleanliness-missing", "staining not recorded", "inconclusive"),
    ],
)
def test_staining_against_the_grade_or_the_contract(own, staining, code, observed, verdict):
    """SSPC-SP 10 allows stains on 5 % of each unit area."""
    record = {"observed": "SSPC-SP 10", **({"staining": staining} if staining else {})}
    spec = {} if own is None else {f"{PREPARATION}.maximum_staining": own}
    evaluation = evaluated(spec=spec, surfaces=[surface(cleanliness=record)])
    assert codes(evaluation, "A")[:1] == ([code] if code else [])
    if code:
        found = finding(evaluation, code)
        assert found.observed == observed
        assert found.requirement == f"staining of each unit area at most {own or '5 %'}"
    assert evaluation.cleanliness[0].staining_limit == Decimal((own or "5 %").split()[0])
    assert evaluation.cleanliness[0].verdict == verdict
    todo = [(step.what, step.reason) for step in evaluation.measure_next]
    assert todo == ([("the staining of the worst unit area", observed)] if staining is None else [])


def test_a_grade_without_a_share_has_no_stain_limit():
    spec = {f"{PREPARATION}.grade": "Sa 2½"}
    evaluation = evaluated(spec=spec, surfaces=[surface(cleanliness={"observed": "Sa 2½"})])
    assert (evaluation.cleanliness[0].staining_limit, evaluation.cleanliness[0].verdict) == (None, "conforms")


@pytest.mark.parametrize(
    ("observed", "reason"),
    [
        ("very clean", "not a grade whose rank is known"),
        ("Sa 3", "not in the order of grades of the specification's system"),
    ],
)
def test_a_grade_that_cannot_be_compared_says_why(observed, reason):
    evaluation = evaluated(surfaces=[surface(cleanliness={"observed": observed, "staining": "0 %"})])
    assert evaluation.cleanliness[0].reason == reason
    assert finding(evaluation, "cleanliness-missing").observed == f"{observed}: {reason}"


def test_cleanliness_that_was_not_recorded():
    evaluation = evaluated(surfaces=[surface(cleanliness=None)])
    assert evaluation.cleanliness[0].reason == "not recorded"
    assert finding(evaluation, "cleanliness-missing").requirement == "grade SSPC-SP 10"
    assert evaluation.areas[0].decision == "hold"
    todo = [(step.what, step.reason) for step in evaluation.measure_next]
    assert ("the grade of cleanliness", "not recorded") in todo


SALTS = {"clause": "1.5", "maximum": "50 mg/m2", "expressed_as": "mixed salts by conductivity"}


def _salt(sample="12.1", **values):
    test = {"location": "1", "area": "12.5 cm2", "volume": "3 ml", "blank": "2.1 uS/cm", "sample": f"{sample} uS/cm"}
    return {**test, **values}


def _salted(*tests, limit=SALTS, **given):
    return evaluated(spec={"specification.soluble_salts": limit, **given}, surfaces=[surface(salts=list(tests))])


def test_density_of_salts():
    """3 ml on 12.5 cm² and 10 µS/cm are 12.0 mg/m² (form of ISO 8502-9, recalled and checked by dimensions)."""
    (result,) = _salted(_salt()).salts
    assert (str(result.density), result.verdict, result.precision) == ("12.0", "conforms", None)


@pytest.mark.parametrize(
    ("limit", "verdict", "density"),
    [("50 mg/m2", "conforms", "50.0"), ("49.99 mg/m2", "does not conform", "50.0"), ("5 ug/cm2", "conforms", "50.0")],
)
def test_salts_at_the_limit(limit, verdict, density):
    """15 ml, 12.5 cm², 25/3 µS/cm are 50 mg/m²: here 10 ml on 20 cm² and 20 µS/cm."""
    test = _salt("22.1", area="20 cm2", volume="10 ml")
    evaluation = _salted(test, limit={**SALTS, "maximum": limit})
    (result,) = evaluation.salts
    assert (str(result.density), result.verdict) == (density, verdict)
    assert result.precision == Decimal("8.2")


def test_a_density_that_would_print_as_its_limit_gets_another_digit():
    evaluation = _salted(_salt("43.77"))
    assert (str(evaluation.salts[0].density), evaluation.salts[0].verdict) == ("50.004", "does not conform")
    found = finding(evaluation, "salts-above-maximum")
    assert found.observed == f"{evaluation.salts[0].density} mg/m² mixed salts by conductivity"
    assert found.requirement == "at most 50 mg/m² mixed salts by conductivity"


def test_no_more_digits_than_show_the_side_of_the_limit():
    """1.2 mg/m² a µS/cm: 41.7 µS/cm are 50.04, which one digit would print as the limit, 50.0."""
    assert str(_salted(_salt("43.8")).salts[0].density) == "50.04"


def test_conductivity_and_chloride_are_never_mixed():
    evaluation = _salted({"location": "1", "chloride": "20 mg/m2"})
    (result,) = evaluation.salts
    assert (result.verdict, result.expressed_as, result.precision) == ("inconclusive", "chloride", None)
    assert finding(evaluation, "salts-missing").observed == "0 tests, 1 of another kind"
    as_chloride = _salted({"location": "1", "chloride": "2 ug/cm2"}, limit={**SALTS, "expressed_as": "chloride"})
    assert (str(as_chloride.salts[0].density), as_chloride.salts[0].verdict) == ("20.0", "conforms")


@pytest.mark.parametrize(
    ("plan", "size", "required"),
    [
        ({"tests": "2"}, "40 m2", 2),
        ({"tests": "3", "first_area": "100 m2", "further_area": "200 m2", "further_tests": "1"}, "250 m2", 4),
        ({"tests": "3", "first_area": "100 m2", "further_area": "200 m2", "further_tests": "2"}, "250 m2", 5),
        ({"tests": "3", "first_area": "100 m2", "further_area": "200 m2"}, "250 m2", 4),
        ({"tests": "1", "first_area": "45 m2"}, "100 m2", 3),
    ],
)
def test_number_of_salt_tests(plan, size, required):
    """UFGS 09972: 3 for the first 100 m², 1 for each further 200 m² or part: 250 m² → 4."""
    evaluation = _salted(_salt(), limit={**SALTS, **plan}, **{"structures.0.areas.0.size": size})
    found = finding(evaluation, "salts-missing")
    assert found.observed == "1 test"
    assert found.requirement == f"{required} tests of mixed salts by conductivity"
    assert [step.count for step in evaluation.measure_next] == [required - 1]


def test_salt_tests_by_size_need_the_size_and_failing_ones_need_more():
    by_size = {**SALTS, "tests": "1", "first_area": "45 m2"}
    missing = _salted(_salt(), limit=by_size, **{"structures.0.areas.0.size": None})
    assert finding(missing, "salts-missing").requirement == "tests by the size of the area, which is not stated"
    more = _salted(_salt("90"), limit={**SALTS, "additional_per_failing": "2"})
    assert finding(more, "salts-missing").requirement == "3 tests of mixed salts by conductivity"


def test_salts_without_a_limit_are_shown_and_not_judged():
    evaluation = evaluated(surfaces=[surface(salts=[_salt()])])
    assert evaluation.salts[0].verdict == "not evaluated"
    assert "soluble salts: the contract states no limit" in evaluation.not_evaluated
