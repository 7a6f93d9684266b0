"""Soluble salts: what the rule states as facts, and each sentence once in English and in German."""

from decimal import Decimal

import pytest

from reportgen.intake.cells import TARGETS
from reportgen.intake.entries import NAMED_BY, needed_names
from reportgen.measurements.salts import SALTS as KIND
from reportgen.measurements.salts import SaltLimit, SaltResult
from reportgen.measurements.salts.codes import (
    BY_SIZE,
    IF_RIGHT,
    SaltsAbove,
    SaltsAllowed,
    SaltsSeen,
    SaltTestsMade,
    SaltTestsRequired,
    SaltTestsToMake,
)
from reportgen.results import Amount, LeftOut, Place, Task, Word
from reportgen.results.facts import NOTHING
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import codes, evaluated, finding, surface

MIXED = Word("expressed-as", "mixed salts by conductivity")
ENGLISH, GERMAN = sentences("en"), sentences("de")

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
    assert (found.place, found.clause, found.severity) == (Place("A", "1"), "1.5", "nonconformance")
    assert found.facts == SaltsAbove(Amount(Decimal("50.004"), "mg/m2"), Amount(Decimal(50), "mg/m2"), MIXED)


def test_no_more_digits_than_show_the_side_of_the_limit():
    """1.2 mg/m² a µS/cm: 41.7 µS/cm are 50.04, which one digit would print as the limit, 50.0."""
    assert str(_salted(_salt("43.8")).salts[0].density) == "50.04"


def test_conductivity_and_chloride_are_never_mixed():
    evaluation = _salted({"location": "1", "chloride": "20 mg/m2"})
    (result,) = evaluation.salts
    assert (result.verdict, result.expressed_as, result.precision) == ("inconclusive", "chloride", None)
    assert finding(evaluation, "salts-missing").facts == SaltTestsMade(0, SaltTestsRequired(1, MIXED), 1)
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
    found, wanted = finding(evaluation, "salts-missing"), SaltTestsRequired(required, MIXED)
    assert (found.facts, found.place, found.severity) == (SaltTestsMade(1, wanted), Place("A"), "observation")
    short = SaltTestsToMake(required - 1, wanted)
    assert evaluation.measure_next == (Task("make-salt-tests", Place("A"), short, required - 1, "salts-missing"),)


def test_salt_tests_by_size_need_the_size_and_failing_ones_need_more():
    by_size = {**SALTS, "tests": "1", "first_area": "45 m2"}
    missing = _salted(_salt(), limit=by_size, **{"structures.0.areas.0.size": None})
    assert finding(missing, "salts-missing").facts == SaltTestsMade(1, BY_SIZE)
    assert missing.measure_next == ()
    more = _salted(_salt("90"), limit={**SALTS, "additional_per_failing": "2"})
    assert finding(more, "salts-missing").facts == SaltTestsMade(1, SaltTestsRequired(3, MIXED))


def test_salts_without_a_limit_are_shown_and_not_judged():
    evaluation = evaluated(surfaces=[surface(salts=[_salt()])])
    assert evaluation.salts[0].verdict == "not evaluated"
    assert LeftOut("salts-without-limit", Place(), NOTHING) in evaluation.not_evaluated


def test_a_density_that_follows_from_a_doubtful_entry_fails_nothing_and_is_not_missing():
    """A patch of 0.125 cm² is no patch that anybody uses; what follows from it is noted."""
    evaluation = _salted(_salt(area="0.125 cm2"))
    assert evaluation.salts[0].verdict == "inconclusive"
    found = finding(evaluation, "salts-above-maximum")
    assert (found.severity, found.facts.doubt) == ("observation", IF_RIGHT)
    assert codes(evaluation, "A") == ["salts-above-maximum", "entry-doubtful"]
    assert ENGLISH.observed(found).endswith(" conductivity, if the entry that is asked about is right")
    assert GERMAN.observed(found).endswith("Leitfähigkeit, sofern der Eintrag stimmt, nach dem gefragt wird")


def test_a_location_that_two_apparatus_use_is_named_with_its_own():
    """Both pots have a location 1: without its pot the finding would name the other's steel, too."""
    tests = [surface(apparatus=pot, salts=[_salt("90")], blasted=_blasted(at)) for pot, at in POTS.items()]
    evaluation = evaluated(spec={"specification.soluble_salts": SALTS}, surfaces=tests)
    found = [one.place for one in evaluation.findings if one.code == "salts-above-maximum"]
    assert found == [Place("A", "1 (pot 1)"), Place("A", "1 (pot 2)")]


POTS = {"pot 1": ("07:00", "08:00"), "pot 2": ("08:00", "09:00")}


def _blasted(at):
    return {"start": at[0], "end": at[1], "abrasive": "grit 1"}


def test_limit_and_result_as_facts():
    most = Amount(Decimal(50), "mg/m2")
    assert KIND.limit_facts(SaltLimit.model_validate(SALTS)) == SaltsAllowed(most, MIXED)
    result = SaltResult("A", "1", Decimal("36.0"), "conforms", "mixed salts by conductivity", Decimal("8.2"))
    seen = SaltsSeen(Amount(Decimal("36.0"), "mg/m2"), MIXED, Amount(Decimal("8.2"), "mg/m2"))
    assert KIND.result_facts(result) == seen
    assert ENGLISH.say("result", "salts", seen) == "36.0 mg/m² ± 8.2 mg/m², mixed salts by conductivity"
    assert GERMAN.say("result", "salts", seen) == "36.0 mg/m² ± 8.2 mg/m², Salzgemisch über Leitfähigkeit"


def test_its_cells_and_names_when_a_sheet_is_taken_in():
    assert {name: (cell.path, cell.quantity) for name, cell in TARGETS["salts"].items()} == {
        "location": (("location",), None), "salt_area": (("area",), "area"), "volume": (("volume",), "volume"),
        "blank": (("blank",), "conductivity"), "sample": (("sample",), "conductivity"),
        "chloride": (("chloride",), "areal density"), "instrument": (("instrument",), None), "time": (("time",), None),
    }  # fmt: skip
    assert TARGETS["salts"]["time"].clock
    assert (NAMED_BY["salts"], needed_names("salts")) == (("location", "time"), ("location",))


# Sentences, each once


def test_what_was_found_and_what_is_required():
    found = finding(_salted(_salt("90")), "salts-above-maximum")
    assert ENGLISH.observed(found) == "105.5 mg/m² mixed salts by conductivity"
    assert ENGLISH.required(found) == "at most 50 mg/m² mixed salts by conductivity"
    assert GERMAN.observed(found) == "105.5 mg/m², Salzgemisch über Leitfähigkeit"
    assert GERMAN.required(found) == "höchstens 50 mg/m², Salzgemisch über Leitfähigkeit"
    assert ENGLISH.told(found) == f"soluble salts {ENGLISH.observed(found)}; {ENGLISH.required(found)} required"
    assert GERMAN.told(found) == f"Lösliche Salze: {GERMAN.observed(found)}; gefordert: {GERMAN.required(found)}"


@pytest.mark.parametrize(
    ("made", "english", "german"),
    [
        (SaltTestsMade(1, SaltTestsRequired(2, MIXED)), ("1 test", "2 tests of mixed salts by conductivity"),
         ("1 Prüfung", "2 Prüfungen, Salzgemisch über Leitfähigkeit")),
        (SaltTestsMade(0, SaltTestsRequired(1, MIXED), 1),
         ("0 tests, 1 of another kind", "1 test of mixed salts by conductivity"),
         ("0 Prüfungen, 1 anderer Art", "1 Prüfung, Salzgemisch über Leitfähigkeit")),
        (SaltTestsMade(1, BY_SIZE), ("1 test", "tests by the size of the area, which is not stated"),
         ("1 Prüfung", "Prüfungen nach der Größe der Fläche, die nicht angegeben ist")),
    ],
)  # fmt: skip
def test_tests_that_are_missing(made, english, german):
    for said, expected in ((ENGLISH, english), (GERMAN, german)):
        assert (
            tuple(said.say(group, "salts-missing", made, Place("A")) for group in ("observed", "required")) == expected
        )
    told = {"observed": "1 test", "required": "2 tests"}
    assert ENGLISH.say("told", "salts-missing", **told) == "soluble salts: 1 test; 2 tests required"


def test_what_to_do():
    (step,) = _salted().measure_next
    assert (ENGLISH.task(step), ENGLISH.because(step)) == ("1 salt test", "1 test of mixed salts by conductivity")
    assert (GERMAN.task(step), GERMAN.because(step)) == ("1 Salzprüfung", "1 Prüfung, Salzgemisch über Leitfähigkeit")
