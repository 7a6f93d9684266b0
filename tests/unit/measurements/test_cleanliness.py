"""Cleanliness: what the rule states as facts, and each sentence once in English and in German."""

from dataclasses import replace
from decimal import Decimal

import pytest

from reportgen.export import Exported, tables
from reportgen.intake.cells import TARGETS
from reportgen.measurements.cleanliness import CLEANLINESS, CleanlinessResult, SurfacePreparation
from reportgen.measurements.cleanliness.codes import (
    BEFORE_BLASTING,
    NOT_RECORDED,
    OTHER_ORDER,
    STAINING_NOT_RECORDED,
    UNKNOWN_RANK,
    WORST_UNIT_AREA,
    CleanlinessLacking,
    GradeAllowed,
    GradeNotCompared,
    GradeRequired,
    GradeSeen,
    StainAbove,
    StainAllowed,
)
from reportgen.results import Amount, Place, Task
from reportgen.rules import evaluate
from reportgen.sheet import sheet_plan
from reportgen.words.sentences import sentences
from tests.unit.intake.small import DAY, job_of
from tests.unit.rules.factory import codes, evaluated, finding, surface

PREPARATION = "specification.surface_preparation"
SPECIFIED = GradeRequired("SSPC-SP 10")
ENGLISH, GERMAN = sentences("en"), sentences("de")


def share(percent):
    """A share in percent."""
    return Amount(Decimal(percent), "%")


NO_STAINING = CleanlinessLacking(STAINING_NOT_RECORDED, StainAllowed(share(5)))


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
    ("own", "staining", "code", "facts", "verdict"),
    [
        (None, "5 %", None, None, "conforms"),
        (None, "6 %", "stain-above-limit", StainAbove(share(6), share(5)), "does not conform"),
        ("8 %", "6 %", None, None, "conforms"),
        ("8 %", "9 %", "stain-above-limit", StainAbove(share(9), share(8)), "does not conform"),
        (None, None, "cleanliness-missing", NO_STAINING, "inconclusive"),
    ],
)
def test_staining_against_the_grade_or_the_contract(own, staining, code, facts, verdict):
    """SSPC-SP 10 allows stains on 5 % of each unit area."""
    record = {"observed": "SSPC-SP 10", **({"staining": staining} if staining else {})}
    spec = {} if own is None else {f"{PREPARATION}.maximum_staining": own}
    evaluation = evaluated(spec=spec, surfaces=[surface(cleanliness=record)])
    assert codes(evaluation, "A")[:1] == ([code] if code else [])
    if code:
        found = finding(evaluation, code)
        assert (found.facts, found.place, found.clause) == (facts, Place("A"), "1.1")
    assert evaluation.cleanliness[0].staining_limit == Decimal((own or "5 %").split()[0])
    assert evaluation.cleanliness[0].verdict == verdict
    step = Task("record-staining", Place("A"), NO_STAINING, answers="cleanliness-missing")
    assert evaluation.measure_next == ((step,) if staining is None else ())


def test_a_grade_without_a_share_has_no_stain_limit():
    spec = {f"{PREPARATION}.grade": "Sa 2½"}
    evaluation = evaluated(spec=spec, surfaces=[surface(cleanliness={"observed": "Sa 2½"})])
    assert (evaluation.cleanliness[0].staining_limit, evaluation.cleanliness[0].verdict) == (None, "conforms")


@pytest.mark.parametrize(
    ("observed", "reason"),
    [
        ("very clean", UNKNOWN_RANK),
        ("Sa 3", OTHER_ORDER),
    ],
)
def test_a_grade_that_cannot_be_compared_says_why(observed, reason):
    evaluation = evaluated(surfaces=[surface(cleanliness={"observed": observed, "staining": "0 %"})])
    assert evaluation.cleanliness[0].reason == reason
    found = finding(evaluation, "cleanliness-missing")
    assert found.facts == CleanlinessLacking(GradeNotCompared(observed, reason), SPECIFIED)
    assert evaluation.measure_next[0].facts == found.facts


def test_cleanliness_that_was_not_recorded():
    evaluation, lacking = evaluated(surfaces=[surface(cleanliness=None)]), CleanlinessLacking(NOT_RECORDED, SPECIFIED)
    assert evaluation.cleanliness == (
        CleanlinessResult("A", "SSPC-SP 10", None, None, Decimal(5), "inconclusive", NOT_RECORDED),
    )
    assert finding(evaluation, "cleanliness-missing").facts == lacking
    assert evaluation.areas[0].decision == "hold"
    assert Task("grade-cleanliness", Place("A"), lacking, answers="cleanliness-missing") in evaluation.measure_next


@pytest.mark.parametrize(
    ("staining", "limit", "verdict"),
    [
        ("40000 ppm", "5 %", "conforms"), ("60000 ppm", "5 %", "does not conform"),
        ("6 %", "50000 ppm", "does not conform"), ("5 %", "50000 ppm", "conforms"),
    ],
)  # fmt: skip
def test_shares_in_different_units_are_compared_as_shares(staining, limit, verdict):
    """1 % is 10 000 ppm."""
    record = {"observed": "SSPC-SP 10", "staining": staining}
    evaluation = evaluated(spec={f"{PREPARATION}.maximum_staining": limit}, surfaces=[surface(cleanliness=record)])
    (result,) = evaluation.cleanliness
    assert (result.verdict, result.staining_limit) == (verdict, Decimal(5))
    assert result.staining == Decimal(staining.split()[0]) / (10000 if "ppm" in staining else 1)


def test_limit_and_result_as_facts():
    specified = SurfacePreparation.model_validate({"grade": "SSPC-SP 10", "edition": "2015"})
    most = share(5)
    assert CLEANLINESS.limit_facts(specified) == GradeAllowed("SSPC-SP 10", "2015", most, WORST_UNIT_AREA)
    assert CLEANLINESS.limit_facts(SurfacePreparation(grade="Sa 2½")) == GradeAllowed("Sa 2½")
    bare = CleanlinessResult("A", "Sa 2½", None, None, None, "inconclusive", NOT_RECORDED)
    assert CLEANLINESS.result_facts(bare) == GradeSeen(NOT_RECORDED)
    early = replace(bare, observed="Sa 3", staining=Decimal(2), reason=BEFORE_BLASTING)
    assert CLEANLINESS.result_facts(early) == GradeSeen("Sa 3", share(2), BEFORE_BLASTING)


# What the rooms above make of its declaration


def test_it_is_two_cells_of_the_preparation_and_no_block_of_its_own():
    blocks = sheet_plan(job_of()).blocks
    (cells,) = {block.cells for block in blocks if any(cell.key == "observed" for cell in block.cells)}
    assert [(cell.key, cell.title, cell.share, cell.ask) for cell in cells[1:3]] == [
        ("observed", "Grade seen (Sa 2½)", 1.8, ""), ("staining", "Stain %", 0.8, "of the worst unit area"),
    ]  # fmt: skip
    assert "cleanliness" not in {block.kind for block in blocks}
    assert TARGETS["surface"]["staining"].path == ("cleanliness", "staining")
    assert "cleanliness" not in TARGETS


def test_its_table_among_the_exports_says_why_there_is_no_verdict():
    steps = "blasted: {start: '07:00', end: '08:30', abrasive: grit}, cleanliness: {observed: very clean}"
    job = job_of(DAY.replace("surfaces: []", f"surfaces: [{{area: A-1, apparatus: p, initial_condition: C, {steps}}}]"))
    (table,) = [one for one in tables([Exported(job, evaluate(job))]) if one.name == "cleanliness"]
    assert table.headings[-7:] == (
        "area", "specified", "observed", "staining (%)", "limit (%)", "verdict", "reason",
    )  # fmt: skip
    assert table.rows[0][-7:] == (
        "A-1", "Sa 2½", "very clean", None, None, "inconclusive", "not a grade whose rank is known",
    )  # fmt: skip


# Sentences, each once


def _said(evaluation, code):
    found = finding(evaluation, code)
    return [(said.observed(found), said.required(found), said.told(found)) for said in (ENGLISH, GERMAN)]


def _graded(observed, staining=None):
    record = {"observed": observed, **({"staining": staining} if staining else {})}
    return evaluated(surfaces=[surface(cleanliness=record)])


def test_a_grade_and_a_stain_that_do_not_conform():
    evaluation = _graded("SSPC-SP 6", "6 %")
    assert _said(evaluation, "grade-not-met") == [
        ("grade SSPC-SP 6", "grade SSPC-SP 10", "cleaned to grade SSPC-SP 6; grade SSPC-SP 10 required"),
        ("Vorbereitungsgrad SSPC-SP 6", "Vorbereitungsgrad SSPC-SP 10",
         "gestrahlt auf Vorbereitungsgrad SSPC-SP 6; gefordert: Vorbereitungsgrad SSPC-SP 10"),
    ]  # fmt: skip
    most, most_german = (
        "staining of each unit area at most 5 %",
        "Schattierungen auf höchstens 5 % jeder Einheitsfläche",
    )
    assert _said(evaluation, "stain-above-limit") == [
        ("staining 6 %", most, f"staining 6 %; {most} required"),
        ("Schattierungen auf 6 %", most_german, f"Schattierungen auf 6 %; gefordert: {most_german}"),
    ]


@pytest.mark.parametrize(
    ("evaluation", "english", "german"),
    [
        (lambda: evaluated(surfaces=[surface(cleanliness=None)]), "not recorded", "nicht eingetragen"),
        (lambda: _graded("very clean", "0 %"), "very clean: not a grade whose rank is known",
         "very clean: kein Vorbereitungsgrad, dessen Rang bekannt ist"),
        (lambda: _graded("Sa 3", "0 %"), "Sa 3: not in the order of grades of the specification's system",
         "Sa 3: nicht in der Rangfolge des Systems, das der Vertrag nennt"),
        (lambda: _graded("SSPC-SP 10"), "staining not recorded", "Schattierungen nicht eingetragen"),
    ],
)  # fmt: skip
def test_what_is_not_known_and_what_to_do(evaluation, english, german):
    made = evaluation()
    (in_english, in_german), (step,) = _said(made, "cleanliness-missing"), made.measure_next
    assert (in_english[0], in_german[0]) == (english, german)
    assert (ENGLISH.because(step), GERMAN.because(step)) == (english, german)
    assert in_english[2] == f"cleanliness {english}; {in_english[1]} required"
    assert in_german[2] == f"Reinheit: {german}; gefordert: {in_german[1]}"
    stain = english.startswith("staining")
    assert ENGLISH.task(step) == ("the staining of the worst unit area" if stain else "the grade of cleanliness")
    assert GERMAN.task(step) == (
        "Anteil der Schattierungen auf der schlechtesten Einheitsfläche" if stain else "Vorbereitungsgrad"
    )


def test_a_limit_and_a_result_on_the_page():
    facts = GradeAllowed("Sa 2½", "2007", share(5), WORST_UNIT_AREA)
    assert ENGLISH.say("limit", "cleanliness", facts) == "Sa 2½, stain at most 5 %"
    assert GERMAN.say("limit", "cleanliness", facts) == "Sa 2½, Schattierungen höchstens 5 %"
    assert ENGLISH.say("whole-limit", "cleanliness", facts) == "Sa 2½, 2007, stain at most 5 %"
    assert GERMAN.say("whole-limit", "cleanliness", facts) == "Sa 2½, 2007, Schattierungen höchstens 5 %"
    assert ENGLISH.say("method", "cleanliness", facts) == "seen without magnification; stain in the worst unit area"
    assert ENGLISH.say("method", "cleanliness", GradeAllowed("Sa 2½")) == "seen without magnification"
    seen = GradeSeen("Sa 3", share(2), BEFORE_BLASTING)
    assert ENGLISH.say("result", "cleanliness", seen) == "Sa 3, stain 2 %. graded before the blasting"
    assert GERMAN.say("result", "cleanliness", seen) == "Sa 3, Schattierungen 2 %. vor dem Strahlen beurteilt"
    assert ENGLISH.say("result", "cleanliness", GradeSeen(NOT_RECORDED)) == "not recorded"
