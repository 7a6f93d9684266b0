"""Dust on tape: what the rule states as facts, and each sentence once in English and in German."""

import pytest

from reportgen.export import Exported, tables
from reportgen.intake.cells import TARGETS
from reportgen.intake.entries import NAMED_BY
from reportgen.measurements.dust import DUST, DustLimit, DustResult
from reportgen.measurements.dust.codes import DustAbove, DustAllowed, DustSeen, DustSize
from reportgen.results import LeftOut, Place, Task, Word
from reportgen.results.codes.order import EarlyTest
from reportgen.results.facts import NOTHING
from reportgen.rules import evaluate
from reportgen.sheet import sheet_plan
from reportgen.words.sentences import sentences
from tests.unit.intake.small import DAY, job_of
from tests.unit.rules.factory import codes, evaluated, finding, surface

LIMIT = {"clause": "1.6", "maximum_quantity": "2", "maximum_size": "3"}
ANY_SIZE = {"maximum_quantity": "2"}
ENGLISH, GERMAN = sentences("en"), sentences("de")


def _taped(*tests, limit=LIMIT, **changes):
    """Evaluate a day with these tapes, each a pair of ratings, at locations 1, 2, … of area A."""
    records = [{"location": str(n), "quantity": q, "size": s} for n, (q, s) in enumerate(tests, 1)]
    spec = {} if limit is None else {"specification.dust": limit}
    return evaluated(spec=spec, surfaces=[surface(dust=records, **changes)])


@pytest.mark.parametrize(
    ("quantity", "size", "verdict"),
    [
        ("2", "3", "conforms"), ("3", "1", "does not conform"), ("1", "4", "does not conform"), ("0", "5", "conforms"),
        ("2", "4", "does not conform"),
    ],
)  # fmt: skip
def test_both_ratings_are_compared_and_no_dust_has_no_size(quantity, size, verdict):
    evaluation = _taped((quantity, size))
    assert evaluation.dust == (DustResult("A", "1", int(quantity), int(size), verdict),)
    if verdict == "conforms":
        assert codes(evaluation) == []
    else:
        found = finding(evaluation, "dust-above-maximum")
        assert found.facts == DustAbove(int(quantity), int(size), 2, 3)
        assert found.place == Place("A", "1")
        assert (found.area, found.location, found.clause, found.severity) == ("A", "1", "1.6", "nonconformance")
        assert (evaluation.areas[0].verdict, evaluation.areas[0].decision) == ("does not conform", "rework")


def test_without_a_limit_of_size_only_the_quantity_counts():
    assert _taped(("2", "5"), limit=ANY_SIZE).dust[0].verdict == "conforms"
    coarse = finding(_taped(("3", "5"), limit=ANY_SIZE), "dust-above-maximum")
    assert coarse.facts == DustAbove(3, 5, 2, None)


def test_each_tape_is_judged_by_itself():
    evaluation = _taped(("1", "1"), ("3", "1"), ("4", "2"))
    assert [one.verdict for one in evaluation.dust] == ["conforms", "does not conform", "does not conform"]
    assert [one.location for one in evaluation.findings if one.code == "dust-above-maximum"] == ["2", "3"]


def test_a_limit_without_a_test_is_missing_and_a_thing_to_do():
    evaluation = _taped()
    found = finding(evaluation, "dust-missing")
    assert (found.facts, found.place, found.clause) == (DustAllowed(2, 3), Place("A"), "1.6")
    assert found.severity == "observation"
    assert Task("take-dust-test", Place("A"), DustAllowed(2, 3), 1, "dust-missing") in evaluation.measure_next
    assert evaluation.areas[0].decision == "hold"


def test_a_tape_from_before_the_blasting_is_shown_and_does_not_count():
    early = {"location": "1", "quantity": "5", "size": "5", "time": "06:30"}
    evaluation = evaluated(spec={"specification.dust": LIMIT}, surfaces=[surface(dust=[early])])
    assert evaluation.dust == (DustResult("A", "1", 5, 5, "not evaluated"),)
    assert codes(evaluation, "A") == ["dust-missing", "test-before-blasting"]
    noted = finding(evaluation, "test-before-blasting")
    assert noted.facts == EarlyTest(Word("tests", "dust"), 1, "07:00")
    assert ENGLISH.observed(noted) == "dust test at 06:30, blasting began at 07:00: it does not count"
    assert GERMAN.observed(noted) == "Staubprüfung um 06:30, Strahlen begann um 07:00: zählt nicht"


def test_without_a_limit_nothing_is_judged_and_that_is_said():
    evaluation = _taped(("2", "5"), limit=None)
    assert evaluation.dust[0].verdict == "not evaluated"
    assert LeftOut("dust-without-limit", Place(), NOTHING) in evaluation.not_evaluated
    assert codes(evaluation) == []


@pytest.mark.parametrize(("condition", "named"), [("C", False), ("D", True)])
def test_the_tape_on_pitted_steel_is_outside_its_method(condition, named):
    evaluation = _taped(("1", "1"), limit=ANY_SIZE, initial_condition=condition)
    assert (LeftOut("dust-on-condition-d", Place("A"), NOTHING) in evaluation.not_evaluated) == named


def test_limit_and_result_as_facts():
    assert DUST.limit_facts(DustLimit.model_validate(LIMIT)) == DustAllowed(2, 3)
    assert DUST.result_facts(DustResult("A", "1", 3, 4, "does not conform")) == DustSeen(3, 4)


# What the rooms above make of its declaration


def test_its_block_on_the_field_sheet():
    (first, *_) = [block for block in sheet_plan(job_of()).blocks if block.kind == "dust"]
    assert (first.title, len(first.rows)) == ("Dust tape", 2)
    assert [(cell.key, cell.heading, cell.share) for cell in first.cells] == [
        ("location", "Location", 1.2), ("quantity", "Quantity 0–5", 1.2), ("size", "Size 0–5", 1.2),
        ("time", "Time", 1.0),
    ]  # fmt: skip


def test_its_cells_and_names_when_a_sheet_is_taken_in():
    assert {name: (cell.path, cell.clock) for name, cell in TARGETS["dust"].items()} == {
        "location": (("location",), False), "quantity": (("quantity",), False), "size": (("size",), False),
        "time": (("time",), True),
    }  # fmt: skip
    assert NAMED_BY["dust"] == ("location",)


def test_its_table_among_the_exports():
    tape = "dust: [{location: 1, quantity: 1, size: 2}]"
    steps = "blasted: {start: '07:00', end: '08:30', abrasive: grit}"
    surfaces = f"surfaces: [{{area: A-1, apparatus: pot 1, initial_condition: C, {steps}, {tape}}}]"
    job = job_of(DAY.replace("surfaces: []", surfaces))
    (table,) = [one for one in tables([Exported(job, evaluate(job))]) if one.name == "dust"]
    assert table.headings[-5:] == ("area", "location", "quantity rating", "size class", "verdict")
    assert [row[-5:] for row in table.rows] == [("A-1", "1", 1, 2, "conforms")]


# Sentences, each once

MOST, MOST_GERMAN = (
    "quantity rating at most 2, size class at most 3", "Menge höchstens 2, Größenklasse höchstens 3",
)  # fmt: skip


def test_what_was_found_and_what_is_required():
    found = finding(_taped(("3", "4")), "dust-above-maximum")
    assert (ENGLISH.observed(found), ENGLISH.required(found)) == ("quantity 3, size class 4", MOST)
    assert (GERMAN.observed(found), GERMAN.required(found)) == ("Menge 3, Größenklasse 4", MOST_GERMAN)
    assert ENGLISH.told(found) == f"dust of quantity 3, size class 4; {MOST} required"
    assert GERMAN.told(found) == f"Staub: Menge 3, Größenklasse 4; gefordert: {MOST_GERMAN}"


def test_a_limit_that_does_not_state_a_size_is_said_without_one():
    found = finding(_taped(("3", "4"), limit=ANY_SIZE), "dust-above-maximum")
    assert (ENGLISH.required(found), GERMAN.required(found)) == ("quantity rating at most 2", "Menge höchstens 2")


def test_what_is_missing_and_what_to_do():
    evaluation = _taped()
    found, (step,) = finding(evaluation, "dust-missing"), evaluation.measure_next
    assert (ENGLISH.observed(found), ENGLISH.required(found)) == ("no test", MOST)
    assert (GERMAN.observed(found), GERMAN.required(found)) == ("keine Prüfung", MOST_GERMAN)
    assert ENGLISH.told(found) == f"dust: no test; {MOST} required"
    assert GERMAN.told(found) == f"Staub: keine Prüfung; gefordert: {MOST_GERMAN}"
    assert (ENGLISH.task(step), ENGLISH.because(step)) == ("a dust-tape test", MOST)
    assert (GERMAN.task(step), GERMAN.because(step)) == ("eine Staubprüfung mit Klebeband", MOST_GERMAN)


@pytest.mark.parametrize(
    ("code", "english", "german"),
    [
        ("dust-without-limit", "dust: the contract states no limit", "Staub: der Vertrag nennt keinen Grenzwert"),
        (
            "dust-on-condition-d",
            "whether the dust tape suits initial condition D (area A): its method covers A to C",
            "ob das Klebeband für Rostgrad D taugt (Fläche A): das Verfahren gilt für A bis C",
        ),
    ],
)
def test_what_is_left_out(code, english, german):
    gap = LeftOut(code, Place("A"), NOTHING)
    assert (ENGLISH.left_out(gap), GERMAN.left_out(gap)) == (english, german)


def test_limit_result_and_derivation():
    most, seen = DustAllowed(2, 3), DustSeen(3, 4)
    assert ENGLISH.say("limit", "dust", most) == MOST
    assert GERMAN.say("limit", "dust", most) == MOST_GERMAN
    assert ENGLISH.say("result", "dust", seen) == "quantity 3, size class 4"
    assert GERMAN.say("result", "dust", seen) == "Menge 3, Größenklasse 4"
    assert ENGLISH.say("measured", "dust", seen, Place("A", "1")) == "dust at location 1"
    assert GERMAN.say("measured", "dust", seen, Place("A", "1")) == "Staub an Messstelle 1"
    assert (ENGLISH.name("dust"), GERMAN.name("dust")) == ("Dust", "Staub")


# A quantity for some size classes: IMO MSC.215(82), quantity 1 for the classes 3, 4 and 5 (recalled)


BY_SIZES = {"clause": "1.6", "maximum_quantity": "1", "sizes": ["3", "4", "5"]}


@pytest.mark.parametrize(
    ("quantity", "size", "verdict"),
    [
        ("1", "5", "conforms"), ("2", "3", "does not conform"), ("2", "5", "does not conform"),
        ("1", "2", "conforms"), ("4", "2", "not evaluated"), ("0", "0", "conforms"),
    ],
)  # fmt: skip
def test_a_quantity_for_some_size_classes(quantity, size, verdict):
    evaluation = _taped((quantity, size), limit=BY_SIZES)
    assert evaluation.dust[0].verdict == verdict
    assert ("dust-above-maximum" in codes(evaluation)) == (verdict == "does not conform")
    gap = LeftOut("dust-finer-than-limited", Place("A", "1"), DustSeen(int(quantity), int(size)))
    assert (gap in evaluation.not_evaluated) == (verdict == "not evaluated")


def test_a_limit_by_size_class_and_what_it_leaves_open_are_said():
    facts = DUST.limit_facts(DustLimit.model_validate(BY_SIZES))
    assert facts == DustAllowed(1, None, tuple(map(DustSize, (3, 4, 5))))
    assert ENGLISH.say("limit", "dust", facts) == "quantity rating at most 1 for size classes 3, 4, 5"
    assert GERMAN.say("limit", "dust", facts) == "Menge höchstens 1 in den Größenklassen 3, 4, 5"
    (gap,) = [one for one in _taped(("4", "2"), limit=BY_SIZES).not_evaluated if one.code.startswith("dust")]
    assert ENGLISH.left_out(gap).startswith(
        "dust of size class 2, quantity 4, at 1 of area A: the contract limits coarser"
    )
    assert "ohne Vergrößerung" in GERMAN.left_out(gap)
