"""Compressed air: what the rule states as facts, and each sentence once in English and in German."""

from decimal import Decimal

import pytest

from reportgen.intake.cells import TARGETS, ticked
from reportgen.intake.entries import NAMED_BY
from reportgen.measurements.air import AIR, AirResult, CompressedAir
from reportgen.measurements.air.codes import (
    AirDoubted,
    AirOwed,
    AirRequired,
    AirSeen,
    AirTestedAgain,
    AirUnchecked,
    AirUnclean,
)
from reportgen.measurements.gaps import GapBefore, GapBetween
from reportgen.results import LeftOut, Place, Task
from reportgen.results.facts import NOTHING, Amount, Word
from reportgen.sheet import sheet_plan
from reportgen.words.sentences import sentences
from tests.unit.intake.small import job_of
from tests.unit.rules.factory import codes, evaluated, finding

LIMIT = {"clause": "1.8", "minimum_duration": "1 min", "interval": "2 h"}
REQUIRED = AirRequired(Amount(Decimal(1), "min"), Amount(Decimal(2), "h"))
ENGLISH, GERMAN = sentences("en"), sentences("de")
WORDS = "no oil or water on the blotter in 1 min or more, before blasting and every 2 h"


def _air(*checks, stated=LIMIT, **given):
    log = [
        {"time": time, "apparatus": pot, "duration": duration, "result": result}
        for time, pot, duration, result in checks
    ]
    spec = {} if stated is None else {"specification.compressed_air": stated}
    return evaluated(spec=spec, day={"air_checks": log}, **given)


def test_clean_air_before_blasting():
    evaluation = _air(("07:00", "pot 1", "60 s", "clean"))
    assert codes(evaluation) == []
    assert evaluation.air == (AirResult("pot 1", "07:00", "clean", Decimal(60), "s", "conforms"),)


@pytest.mark.parametrize(
    ("checks", "gap"),
    [
        ([], GapBefore("07:00")),
        ([("07:30", "pot 1", "2 min", "clean")], GapBefore("07:00")),
        ([("06:30", "pot 2", "2 min", "clean")], GapBefore("07:00")),
        ([("06:30", "pot 1", "30 s", "clean")], GapBefore("07:00")),
        ([("06:30", "pot 1", "2 min", "clean")], GapBetween("06:30", "09:00")),
    ],
)
def test_air_that_was_not_checked(checks, gap):
    evaluation = _air(*checks)
    found = finding(evaluation, "air-check-missing")
    assert (found.facts, found.place, found.clause) == (AirUnchecked("pot 1", gap, REQUIRED), Place("A"), "1.8")
    assert evaluation.areas[0].decision == "hold"
    owed = Task("make-blotter-test", Place("A"), AirOwed("pot 1", REQUIRED), answers="air-check-missing")
    assert owed in evaluation.measure_next


def test_a_check_in_between_keeps_the_interval():
    assert codes(_air(("06:30", "pot 1", "2 min", "clean"), ("08:00", "pot 1", "2 min", "clean"))) == []


def test_without_an_interval_one_check_before_is_enough():
    assert codes(_air(("06:30", "pot 1", "2 min", "clean"), stated={"clause": "1.8"})) == []


@pytest.mark.parametrize("result", ["oil", "water", "oil and water"])
def test_air_that_is_not_clean(result):
    evaluation = _air(("06:55", "pot 1", "10 s", result))
    found = finding(evaluation, "air-not-clean")
    assert found.facts == AirUnclean("pot 1", Word("blotter", result), REQUIRED)
    assert (found.place, found.area, found.clause) == (Place("A", time="06:55"), "A", "1.8")
    assert evaluation.areas[0].verdict == "does not conform"


@pytest.mark.parametrize(("time", "found"), [("09:00", 1), ("09:01", 0)])
def test_a_failed_test_counts_until_the_surface_is_finished(time, found):
    log = (("07:00", "pot 1", "2 min", "clean"), (time, "pot 1", "2 min", "oil"))
    assert codes(_air(*log)).count("air-not-clean") == found


def test_air_that_was_clean_again_before_blasting():
    assert codes(_air(("06:40", "pot 1", "2 min", "oil"), ("06:55", "pot 1", "2 min", "clean"))) == [
        "air-tested-again", "air-check-missing",
    ]  # fmt: skip
    assert codes(_air(("06:50", "pot 1", "2 min", "oil"), ("07:00", "pot 1", "2 min", "clean"))) == ["air-tested-again"]


@pytest.mark.parametrize("unclean", ["oil", "water"])
@pytest.mark.parametrize("at", ["06:50", "07:00", "08:00"])
def test_of_two_tests_in_one_minute_the_bad_one_counts_whichever_is_written_first(at, unclean):
    before = () if at < "07:01" else (("06:50", "pot 1", "2 min", "clean"),)
    rows = [(at, "pot 1", "2 min", "clean"), (at, "pot 1", "2 min", unclean)]
    for log in (rows, rows[::-1]):
        assert codes(_air(*before, *log)).count("air-not-clean") == 1
    assert codes(_air(("06:50", "pot 1", "2 min", "clean"), *rows, ("06:59", "pot 1", "2 min", "clean"))).count(
        "air-not-clean"
    ) == (0 if at == "06:50" else 1)


def test_air_that_was_clean_again_is_noted():
    evaluation = _air(("06:50", "pot 1", "2 min", "oil"), ("06:56", "pot 1", "2 min", "clean"))
    found = finding(evaluation, "air-tested-again")
    assert found.facts == AirTestedAgain("pot 1", Word("blotter", "oil"), "06:56")
    assert (found.place, found.severity) == (Place("A", time="06:50"), "observation")
    assert ENGLISH.told(found) == "compressed air pot 1 at 06:50: oil; clean at 06:56, before blasting"
    assert GERMAN.told(found) == "Druckluft pot 1 um 06:50: Öl; sauber um 06:56, vor dem Strahlen"


def test_air_found_dirty_after_the_surface_was_finished_leaves_it_in_doubt():
    evaluation = _air(("07:00", "pot 1", "2 min", "clean"), ("12:00", "pot 1", "2 min", "oil"))
    found = finding(evaluation, "air-in-doubt")
    assert found.facts == AirDoubted("pot 1", Word("blotter", "oil"), REQUIRED, "07:00")
    assert (found.place, found.clause) == (Place("A", time="12:00"), "1.8")
    assert evaluation.areas[0].decision == "hold"
    assert [check.verdict for check in evaluation.air] == ["conforms", "does not conform"]


@pytest.mark.parametrize(
    ("log", "doubted"),
    [
        ((("09:00", "clean"), ("12:00", "oil")), False),  # clean when the blasting ended
        ((("10:00", "clean"), ("12:00", "oil")), False),
        ((("08:00", "clean"), ("12:00", "water")), True),  # a part was blasted since
        ((("12:00", "clean"), ("12:00", "oil")), True),
        ((("10:00", "oil"), ("12:00", "clean")), True),
    ],
)
def test_only_a_clean_test_between_shows_that_the_air_was_good_while_blasting(log, doubted):
    tests = [(time, "pot 1", "2 min", result) for time, result in (("06:59", "clean"), *log)]
    assert ("air-in-doubt" in codes(_air(*tests))) is doubted
    others = [(time, "pot 2", "2 min", result) for time, _, _, result in tests[1:]]
    assert "air-in-doubt" not in codes(_air(tests[0], *others))


def test_a_clean_test_that_was_too_short_shows_nothing():
    short = ("06:30", "pot 1", "30 s", "clean")
    assert [check.verdict for check in _air(short).air] == ["inconclusive"]
    assert [check.verdict for check in _air(short, stated=None).air] == ["conforms"]


def test_air_without_a_requirement():
    evaluation = _air(("06:55", "pot 1", "10 s", "oil"), stated=None)
    found = finding(evaluation, "air-not-clean")
    assert (found.facts, found.clause) == (AirUnclean("pot 1", Word("blotter", "oil"), AirRequired()), None)
    assert LeftOut("air-without-test", Place(), NOTHING) in evaluation.not_evaluated


def test_limit_and_result_as_facts():
    assert AIR.limit_facts(CompressedAir.model_validate(LIMIT)) == REQUIRED
    result = AirResult("pot 1", "07:00", "oil", Decimal(60), "s", "does not conform")
    assert AIR.result_facts(result) == AirSeen(Word("blotter", "oil"), Amount(Decimal(60), "s"))


# What the rooms above make of its declaration


def test_its_block_on_the_field_sheet():
    (block,) = [block for block in sheet_plan(job_of()).blocks if block.kind == "air_checks"]
    assert (block.title, len(block.rows)) == ("Compressed air: at start-up of each apparatus", 3)
    assert [(cell.key, cell.title, cell.share, cell.kind) for cell in block.cells] == [
        ("time", "Time", 1.0, "text"), ("apparatus", "Apparatus", 1.8, "text"),
        ("duration", "Blotter min", 0.9, "text"), ("clean", "Clean", 0.7, "tick"), ("oil", "Oil", 0.6, "tick"),
        ("water", "Water", 0.7, "tick"), ("pressure", f"Air press. {job_of().project.units.air}", 1.1, "text"),
    ]  # fmt: skip


def test_its_cells_and_names_when_a_sheet_is_taken_in():
    assert {name: (cell.path, cell.quantity, cell.clock) for name, cell in TARGETS["air_checks"].items()} == {
        "time": (("time",), None, True), "apparatus": (("apparatus",), None, False),
        "duration": (("duration",), "time", False), "pressure": (("pressure",), "pressure", False),
    }  # fmt: skip
    assert ticked("air_checks", {"oil", "water"}).said == {"result": "oil and water"}
    assert ticked("air_checks", {"clean", "oil"}).contradicting == {"result": ("clean", "oil")}
    assert NAMED_BY["air_checks"] == ("time", "apparatus")


# Sentences, each once


def test_what_is_missing_and_what_to_do():
    evaluation = _air(("06:30", "pot 1", "2 min", "clean"))
    found, (step,) = finding(evaluation, "air-check-missing"), evaluation.measure_next
    german = "weder Öl noch Wasser auf dem Löschpapier in mindestens 1 min, vor dem Strahlen und alle 2 h"
    assert (ENGLISH.observed(found), ENGLISH.required(found)) == ("pot 1: no check between 06:30 and 09:00", WORDS)
    assert (GERMAN.observed(found), GERMAN.required(found)) == (
        "pot 1: keine Prüfung zwischen 06:30 und 09:00", german,
    )  # fmt: skip
    assert (
        ENGLISH.told(found) == f"compressed air not checked: pot 1: no check between 06:30 and 09:00; {WORDS} required"
    )
    assert GERMAN.told(found).startswith("Druckluft nicht geprüft: pot 1: keine Prüfung zwischen 06:30 und 09:00; ")
    assert (ENGLISH.task(step), ENGLISH.because(step)) == ("blotter test of pot 1", WORDS)
    assert (GERMAN.task(step), GERMAN.because(step)) == ("Löschpapierprüfung an pot 1", german)
    before = finding(_air(), "air-check-missing")
    assert ENGLISH.observed(before) == "pot 1: no check before 07:00"
    assert GERMAN.observed(before) == "pot 1: keine Prüfung vor 07:00"


@pytest.mark.parametrize(("result", "german"), [("oil", "Öl"), ("water", "Wasser"), ("oil and water", "Öl und Wasser")])
def test_what_marked_the_blotter(result, german):
    found = finding(_air(("06:55", "pot 1", "10 s", result), stated=None), "air-not-clean")
    assert ENGLISH.observed(found) == f"pot 1 at 06:55: {result}"
    assert GERMAN.observed(found) == f"pot 1 um 06:55: {german}"
    assert ENGLISH.required(found) == "no oil or water on the blotter, before blasting"
    assert GERMAN.required(found) == "weder Öl noch Wasser auf dem Löschpapier, vor dem Strahlen"
    assert ENGLISH.told(found) == f"compressed air not clean: pot 1 at 06:55: {result}"
    assert GERMAN.told(found) == f"Druckluft nicht sauber: pot 1 um 06:55: {german}"


def test_limit_result_and_what_is_left_out():
    seen = AirSeen(Word("blotter", "clean"), Amount(Decimal(60), "s"))
    assert (ENGLISH.say("limit", "air", REQUIRED), ENGLISH.say("result", "air", seen)) == (WORDS, "clean, 60 s")
    assert GERMAN.say("result", "air", seen) == "sauber, 60 s"
    gap = LeftOut("air-without-test", Place(), NOTHING)
    assert ENGLISH.left_out(gap) == "compressed air: the contract states no test"
    assert GERMAN.left_out(gap) == "Druckluft: der Vertrag nennt keine Prüfung"
    assert (ENGLISH.say("without-limit", "air"), ENGLISH.name("air")) == (
        "no oil or water on the blotter, before blasting", "Compressed air",
    )  # fmt: skip
