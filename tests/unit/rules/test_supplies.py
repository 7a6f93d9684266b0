"""Compressed air and abrasive."""

import pytest

from tests.unit.rules.factory import codes, evaluated, finding, surface

AIR = {"clause": "1.8", "minimum_duration": "1 min", "interval": "2 h"}
WORDS = "no oil or water on the blotter in 1 min or more, before blasting and every 2 h"


def _air(*checks, stated=AIR, **given):
    log = [
        {"time": time, "apparatus": pot, "duration": duration, "result": result}
        for time, pot, duration, result in checks
    ]
    spec = {} if stated is None else {"specification.compressed_air": stated}
    return evaluated(spec=spec, day={"air_checks": log}, **given)


def test_clean_air_before_blasting():
    evaluation = _air(("07:00", "pot 1", "60 s", "clean"))
    assert codes(evaluation) == []
    (check,) = [check for check in evaluation.checks if check.kind == "air"]
    assert (check.subject, check.verdict, check.observed, check.requirement) == (
        "pot 1",
        "conforms",
        "clean, 60 s",
        WORDS,
    )


@pytest.mark.parametrize(
    ("checks", "observed"),
    [
        ([], "pot 1: no check before 07:00"),
        ([("07:30", "pot 1", "2 min", "clean")], "pot 1: no check before 07:00"),
        ([("06:30", "pot 2", "2 min", "clean")], "pot 1: no check before 07:00"),
        ([("06:30", "pot 1", "30 s", "clean")], "pot 1: no check before 07:00"),
        ([("06:30", "pot 1", "2 min", "clean")], "pot 1: no check between 06:30 and 09:00"),
    ],
)
def test_air_that_was_not_checked(checks, observed):
    evaluation = _air(*checks)
    found = finding(evaluation, "air-check-missing")
    assert (found.observed, found.requirement, found.clause) == (observed, WORDS, "1.8")
    assert evaluation.areas[0].decision == "hold"
    assert "blotter test of pot 1" in [step.what for step in evaluation.measure_next]


def test_a_check_in_between_keeps_the_interval():
    assert codes(_air(("06:30", "pot 1", "2 min", "clean"), ("08:00", "pot 1", "2 min", "clean"))) == []


def test_without_an_interval_one_check_before_is_enough():
    assert codes(_air(("06:30", "pot 1", "2 min", "clean"), stated={"clause": "1.8"})) == []


@pytest.mark.parametrize("result", ["oil", "water", "oil and water"])
def test_air_that_is_not_clean(result):
    evaluation = _air(("06:55", "pot 1", "10 s", result))
    found = finding(evaluation, "air-not-clean")
    assert (found.observed, found.area) == (f"pot 1 at 06:55: {result}", "A")
    assert evaluation.areas[0].verdict == "does not conform"


@pytest.mark.parametrize(("time", "found"), [("09:00", 1), ("09:01", 0)])
def test_a_failed_test_counts_until_the_surface_is_finished(time, found):
    log = (("07:00", "pot 1", "2 min", "clean"), (time, "pot 1", "2 min", "oil"))
    assert codes(_air(*log)).count("air-not-clean") == found


def test_air_that_was_clean_again_before_blasting():
    assert codes(_air(("06:40", "pot 1", "2 min", "oil"), ("06:55", "pot 1", "2 min", "clean"))) == [
        "air-check-missing"
    ]
    assert codes(_air(("06:50", "pot 1", "2 min", "oil"), ("07:00", "pot 1", "2 min", "clean"))) == []


def test_air_found_dirty_after_the_surface_was_finished_is_shown_only():
    evaluation = _air(("07:00", "pot 1", "2 min", "clean"), ("12:00", "pot 1", "2 min", "oil"))
    assert codes(evaluation) == []
    assert [check.verdict for check in evaluation.checks if check.kind == "air"] == ["conforms", "does not conform"]


def test_a_clean_test_that_was_too_short_shows_nothing():
    checks = _air(("06:30", "pot 1", "30 s", "clean")).checks
    assert [check.verdict for check in checks if check.kind == "air"] == ["inconclusive"]
    unasked = _air(("06:30", "pot 1", "30 s", "clean"), stated=None).checks
    assert [check.verdict for check in unasked if check.kind == "air"] == ["conforms"]


def test_air_without_a_requirement():
    evaluation = _air(("06:55", "pot 1", "10 s", "oil"), stated=None)
    assert finding(evaluation, "air-not-clean").requirement == "no oil or water on the blotter, before blasting"
    assert "compressed air: the contract states no test" in evaluation.not_evaluated


ABRASIVE = {
    "clause": "1.9", "maximum_conductivity": "250 uS/cm", "conductivity_method": "ISO 11127-6", "oil_free": "yes",
    "interval": "12 h",
}  # fmt: skip


def _abrasive(*checks, stated=ABRASIVE, **given):
    log = [{"time": "06:50", "abrasive": "grit 1", **check} for check in checks]
    spec = {} if stated is None else {"specification.abrasive": stated}
    return evaluated(spec=spec, day={"abrasive_checks": log}, **given)


NO_CHECK = ["oil of grit 1: no check before 07:00", "conductivity of grit 1: no check before 07:00"]
CLEAN = {"oil": "none seen", "conductivity": "25 mS/m", "method": "ISO 11127-6"}


def test_clean_abrasive_in_either_unit():
    """25 mS/m are 250 µS/cm."""
    evaluation = _abrasive(CLEAN)
    assert codes(evaluation) == []
    (check,) = [check for check in evaluation.checks if check.kind == "abrasive"]
    assert (check.verdict, check.observed) == ("conforms", "oil: none seen, 25 mS/m by ISO 11127-6")
    assert check.requirement == (
        "conductivity at most 250 µS/cm by ISO 11127-6, no oil in the vial test, before blasting and every 12 h"
    )


@pytest.mark.parametrize("bad", [{"oil": "film"}, {"oil": "cloud"}, {"conductivity": "251 uS/cm"}])
def test_abrasive_that_is_not_clean(bad):
    evaluation = _abrasive({**CLEAN, **bad})
    found = finding(evaluation, "abrasive-not-clean")
    assert found.observed.startswith("06:50: oil: ")
    assert (found.area, found.clause) == ("A", "1.9")


@pytest.mark.parametrize(
    ("check", "missing", "verdict"),
    [
        ({"oil": "none seen"}, ["conductivity of grit 1: no check before 07:00"], "conforms"),
        ({"conductivity": "100 uS/cm", "method": "ISO 11127-6"}, ["oil of grit 1: no check before 07:00"], "conforms"),
        (
            {"oil": "none seen", "conductivity": "100 uS/cm", "method": "ASTM D4940"},
            ["conductivity of grit 1: no check before 07:00"], "inconclusive",
        ),
        ({}, NO_CHECK, "not evaluated"),
        ({**CLEAN, "abrasive": "grit 2"}, NO_CHECK, "conforms"),
    ],
)  # fmt: skip
def test_abrasive_tests_that_are_missing(check, missing, verdict):
    evaluation = _abrasive(check)
    assert [found.observed for found in evaluation.findings if found.code == "abrasive-check-missing"] == missing
    assert [result.verdict for result in evaluation.checks if result.kind == "abrasive"] == [verdict]
    assert [step.what for step in evaluation.measure_next] == [f"abrasive: {what}" for what in missing]


def test_what_was_not_tested_says_so():
    evaluation = _abrasive({}, {"conductivity": "100 uS/cm"}, stated={"clause": "1.9"})
    checks = [check for check in evaluation.checks if check.kind == "abrasive"]
    assert [check.observed for check in checks] == ["nothing tested", "100 µS/cm"]
    assert [check.requirement for check in checks] == ["clean abrasive"] * 2
    assert codes(evaluation) == []


def test_a_limit_without_a_method_takes_any():
    evaluation = _abrasive({"conductivity": "100 uS/cm"}, stated={"maximum_conductivity": "250 uS/cm"})
    assert codes(evaluation) == []
    assert "conductivity at most 250 µS/cm" in [check.requirement for check in evaluation.checks]


def test_abrasive_checked_too_long_ago():
    evaluation = _abrasive(CLEAN, stated={**ABRASIVE, "interval": "2 h"})
    assert [found.observed for found in evaluation.findings] == [
        f"{name} of grit 1: no check between 06:50 and 09:00" for name in ("oil", "conductivity")
    ]


def test_abrasive_without_limits():
    evaluation = _abrasive(CLEAN, stated=None)
    assert [check.verdict for check in evaluation.checks if check.kind == "abrasive"] == ["not evaluated"]
    assert "abrasive: the contract states no limits" in evaluation.not_evaluated


def test_only_what_was_used_matters():
    other = surface(blasted={"start": "07:00", "end": "09:00", "abrasive": "grit 2"})
    evaluation = _abrasive({**CLEAN, "oil": "film"}, {**CLEAN, "abrasive": "grit 2"}, surfaces=[other])
    assert codes(evaluation) == []
