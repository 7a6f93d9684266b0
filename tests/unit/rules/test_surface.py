"""Cleanliness, time to coat, compressed air, abrasive."""

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
