"""Soluble salts: what the rule states as facts, and each sentence once in English and in German."""

from decimal import Decimal

import pytest
from pydantic import ValidationError

from reportgen.intake.cells import TARGETS
from reportgen.intake.entries import NAMED_BY, needed_names
from reportgen.measurements.salts import SALTS as KIND
from reportgen.measurements.salts import SaltLimit, SaltResult
from reportgen.measurements.salts.codes import (
    BY_SIZE,
    SaltsAbove,
    SaltsAllowed,
    SaltsNear,
    SaltsSeen,
    SaltsUncertain,
    SaltTestsMade,
    SaltTestsRequired,
    SaltTestsToMake,
)
from reportgen.results import Amount, LeftOut, Place, Task, Word
from reportgen.results.facts import NOTHING
from reportgen.rules.release import REPAIRABLE, effect_of
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
    [("50 mg/m2", "conforms", "50.0"), ("49.99 mg/m2", "does not conform", "50.00"), ("5 ug/cm2", "conforms", "50.0")],
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
    amounts = Amount(Decimal("50.004"), "mg/m2"), Amount(Decimal(50), "mg/m2")
    assert found.facts == SaltsAbove(*amounts, MIXED, expanded=Amount(Decimal("8.2"), "mg/m2"))


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


def test_tests_at_one_location_count_as_one():
    two = {**SALTS, "tests": "2"}
    same = _salted(_salt(time="10:00"), _salt(time="11:00"), limit=two)
    assert finding(same, "salts-missing").facts == SaltTestsMade(1, SaltTestsRequired(2, MIXED))
    apart = _salted(_salt(time="10:00"), _salt(location="2", time="11:00"), limit=two)
    assert "salts-missing" not in codes(apart)


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


@pytest.mark.parametrize("slip", [{"area": "0.125 cm2"}, {"volume": "30 ml"}, {"volume": "25 ml"}])
def test_a_density_that_follows_from_a_doubtful_entry_fails_nothing_and_is_not_missing(slip):
    """A patch of 0.125 cm² is no patch that anybody uses: it is asked about, and nothing is found beside the question.

    Confirmed, it is the patch that was used, and what follows from it fails the steel.
    """
    evaluation, confirmed = (_salted(_salt(**slip, **more)) for more in ({}, {"confirmed": "yes"}))
    assert (evaluation.salts[0].verdict, evaluation.areas[0].decision) == ("inconclusive", "hold")
    assert codes(evaluation, "A") == ["entry-doubtful"]
    assert confirmed.areas[0].decision == "rework"
    assert finding(confirmed, "salts-above-maximum").severity == "nonconformance"


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
    result = SaltResult(
        "A", "1", Decimal("36.0"), "conforms", "mixed salts by conductivity", expanded_uncertainty=Decimal("8.2")
    )
    seen = SaltsSeen(Amount(Decimal("36.0"), "mg/m2"), MIXED, Amount(Decimal("8.2"), "mg/m2"))
    assert KIND.result_facts(result) == seen
    assert ENGLISH.say("result", "salts", seen) == "36.0 mg/m² ± 8.2 mg/m², mixed salts by conductivity"
    assert GERMAN.say("result", "salts", seen) == "36.0 mg/m² ± 8.2 mg/m², Salzgemisch über Leitfähigkeit"


# Uncertainty and decision rule: 3 ml on 12.5 cm², blank 2.1 µS/cm, sample 39.6 µS/cm are 45.0 mg/m²


METER = {"kind": "conductivity meter", "serial": "7", "accuracy": "2 %"}


def _near(sample="39.6", rule="guarded", limit=SALTS, test=(), **given):
    return _salted(_salt(sample, **dict(test)), limit={**limit, "decision_rule": rule}, **given)


@pytest.mark.parametrize(
    ("rule", "sample", "density", "verdict", "code"),
    [
        ("simple", "39.6", "45.0", "conforms", None),
        ("guarded", "39.6", "45.0", "inconclusive", "salts-in-guard-band"),
        ("banded", "39.6", "45.0", "inconclusive", "salts-inconclusive"),
        ("guarded", "35.0", "39.5", "conforms", None),
        ("guarded", "46.1", "52.8", "does not conform", "salts-above-maximum"),
        ("banded", "46.1", "52.8", "inconclusive", "salts-inconclusive"),
        ("banded", "51.1", "58.8", "does not conform", "salts-above-maximum"),
    ],
)
def test_a_density_near_its_limit_by_each_rule(rule, sample, density, verdict, code):
    """±8.2 mg/m² is the published precision (NACE SP0508 1.1.3): 45 does not clear 50 with it as a guard band."""
    evaluation = _near(sample, rule)
    (result,) = evaluation.salts
    assert (str(result.density), result.verdict, str(result.expanded_uncertainty)) == (density, verdict, "8.2")
    assert [one for one in codes(evaluation, "A") if one.startswith("salts")] == ([] if code is None else [code])
    decision = {"conforms": "release", "inconclusive": "hold", "does not conform": "rework"}[verdict]
    assert evaluation.areas[0].decision == decision
    assert [step.code for step in evaluation.measure_next] == (
        ["test-salts-again"] if verdict == "inconclusive" else []
    )


def test_what_is_open_is_no_missing_test_and_can_be_accepted():
    evaluation = _near(limit={**SALTS, "tests": "1"})
    assert "salts-missing" not in codes(evaluation)
    near = finding(evaluation, "salts-in-guard-band")
    amounts = [Amount(Decimal(text), "mg/m2") for text in ("45.0", "50", "8.2")]
    assert near.facts == SaltsNear(amounts[0], amounts[1], MIXED, amounts[2], Word("guard-band", "conditional pass"))
    assert (near.severity, near.clause, near.place) == ("observation", "1.5", Place("A", "1"))
    assert ENGLISH.told(near) == (
        "soluble salts 45.0 mg/m² ± 8.2 mg/m² mixed salts by conductivity within the limit, not accepted:"
        " at most 50 mg/m², with a guard band of 8.2 mg/m²"
    )
    assert GERMAN.told(near).endswith("höchstens 50 mg/m², mit einem Sicherheitsband von 8.2 mg/m²")
    assert effect_of(near) == "holds"
    assert near.code in REPAIRABLE
    assert [(one.code, one.count, one.answers) for one in evaluation.measure_next if one.place == near.place] == [
        ("test-salts-again", 1, "salts-in-guard-band")
    ]


def test_the_meter_the_water_and_the_patch_widen_what_the_method_alone_gives():
    """By hand: 4.1837² + (2 % of 39.6 and of 2.1 µS/cm, times 1.2, over √3)² + (0.1/3 and 0.5/12.5 of 45, over √3)²."""
    spec = {"instruments.k1": METER}
    errors = {"instrument": "k1", "volume_error": "0.1 ml", "area_error": "0.5 cm2"}
    (result,) = _near(rule="simple", test=errors, **spec).salts
    by_hand = (
        (8.2 / 1.959964) ** 2 + (0.02 * 39.6 * 1.2) ** 2 / 3 + (0.02 * 2.1 * 1.2) ** 2 / 3
        + (45 * 0.1 / 3) ** 2 / 3 + (45 * 0.5 / 12.5) ** 2 / 3
    ) ** 0.5 * 1.959964  # fmt: skip
    assert float(result.expanded_uncertainty) == pytest.approx(by_hand, abs=0.05)
    (budget,) = result.budgets
    assert [line.component.key for line in budget.lines] == [
        "method precision", "meter at sample", "meter at blank", "volume of water", "patch area",
    ]  # fmt: skip
    assert [str(line.value.value) for line in budget.lines] == ["8.2", "0.792", "0.042", "0.1", "0.5"]
    assert (budget.unit, float(budget.standard_uncertainty)) == ("mg/m2", pytest.approx(by_hand / 1.959964, abs=0.005))
    assert result.verdict == "conforms"


@pytest.mark.parametrize("meter", [METER, {name: METER[name] for name in METER if name != "accuracy"}])
def test_the_last_digit_of_a_coarse_meter_widens_it_too(meter):
    """By hand: half of 10 µS/cm at sample and at blank, each times 1.2, over √3; with limits of error and without."""
    (result,) = _near(
        rule="simple", test={"instrument": "k1"}, **{"instruments.k1": {**meter, "resolution": "10 uS/cm"}}
    ).salts
    shares = (0.02 * 39.6, 0.02 * 2.1) if "accuracy" in meter else ()
    parts = [(8.2 / 1.959964) ** 2, *((share * 1.2) ** 2 / 3 for share in (*shares, 5, 5))]
    assert float(result.expanded_uncertainty) == pytest.approx(sum(parts) ** 0.5 * 1.959964, abs=0.5)


def test_no_uncertainty_fails_or_releases_anything_under_the_simple_rule():
    plain, wide = _near(rule="simple"), _near(rule="simple", limit={**SALTS, "precision": "40 mg/m2"})
    assert [one.salts[0].verdict for one in (plain, wide)] == ["conforms", "conforms"]
    assert str(wide.salts[0].expanded_uncertainty) == "40"
    assert plain.salts[0].probability_of_conformity == Decimal("0.8840")


def test_a_precision_of_the_contract_replaces_the_published_one():
    evaluation = _near(limit={**SALTS, "precision": "4 mg/m2"})
    assert (evaluation.salts[0].verdict, str(evaluation.salts[0].expanded_uncertainty)) == ("conforms", "4.0")
    assert evaluation.salts[0].budgets[0].lines[0].source == Word("budget-source", "contract")


def test_chloride_read_from_a_kit_has_only_the_uncertainty_that_is_stated():
    limit = {**SALTS, "expressed_as": "chloride"}
    kit = {"location": "1", "chloride": "45 mg/m2"}
    unknown = _salted(kit, limit={**limit, "decision_rule": "guarded"})
    found = finding(unknown, "salts-inconclusive")
    rule = Word("decision-rule", "guarded")
    assert found.facts == SaltsUncertain(Amount(Decimal("45.0"), "mg/m2"), Word("expressed-as", "chloride"), rule)
    assert unknown.areas[0].decision == "hold"
    assert ENGLISH.told(found).startswith("no verdict on soluble salts: 45.0 mg/m² chloride, uncertainty not known")
    stated = _salted(kit, limit={**limit, "decision_rule": "guarded", "precision": "4 mg/m2"})
    assert stated.salts[0].verdict == "conforms"
    assert _salted(kit, limit=limit).salts[0].verdict == "conforms"


# What a number expresses


def test_a_limit_as_sodium_chloride_takes_the_factor_of_sodium_chloride():
    """4.7 instead of 5 kg/(m²·S): 10 µS/cm from 3 ml on 12.5 cm² are 11.3 mg/m² of it, not 12.0."""
    evaluation = _salted(_salt(), limit={**SALTS, "expressed_as": "sodium chloride by conductivity"})
    (result,) = evaluation.salts
    assert (str(result.density), result.expressed_as, str(result.constant)) == (
        "11.3", "sodium chloride by conductivity", "4.7",
    )  # fmt: skip
    assert codes(evaluation, "A") == []


def test_conductivity_is_compared_with_a_limit_of_chloride_by_the_word_of_the_contract_alone():
    limit = {**SALTS, "expressed_as": "chloride"}
    never = _salted(_salt(), limit=limit)
    assert (never.salts[0].verdict, never.salts[0].expressed_as) == ("inconclusive", "mixed salts by conductivity")
    assert "salts-missing" in codes(never)
    word = _salted(_salt(), limit={**limit, "constant": "3"})
    (result,) = word.salts
    assert (str(result.density), result.verdict, result.expressed_as) == ("7.2", "conforms", "chloride by conductivity")
    assert "salts-missing" not in codes(word)
    assert ENGLISH.say("result", "salts", KIND.result_facts(result)) == (
        "7.2 mg/m² ± 8.2 mg/m², chloride by conductivity with the contract's factor"
    )


def test_chloride_is_never_compared_with_a_limit_by_conductivity_whatever_the_contract_s_factor():
    for kind in ("mixed salts by conductivity", "sodium chloride by conductivity"):
        limit = {**SALTS, "expressed_as": kind, "constant": "3"}
        evaluation = _salted({"location": "1", "chloride": "20 mg/m2"}, limit=limit)
        assert (evaluation.salts[0].verdict, evaluation.salts[0].expressed_as) == ("inconclusive", "chloride")
        assert "salts-missing" in codes(evaluation)


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
    assert ENGLISH.observed(found) == "105.5 mg/m² ± 11 mg/m² mixed salts by conductivity"
    assert ENGLISH.required(found) == "at most 50 mg/m² mixed salts by conductivity"
    assert GERMAN.observed(found) == "105.5 mg/m² ± 11 mg/m², Salzgemisch über Leitfähigkeit"
    assert GERMAN.required(found) == "höchstens 50 mg/m², Salzgemisch über Leitfähigkeit"
    assert ENGLISH.told(found) == f"soluble salts {ENGLISH.observed(found)}; {ENGLISH.required(found)} required"
    assert GERMAN.told(found) == f"Lösliche Salze: {GERMAN.observed(found)}; gefordert: {GERMAN.required(found)}"


@pytest.mark.parametrize(
    ("made", "english", "german"),
    [
        (SaltTestsMade(1, SaltTestsRequired(2, MIXED)), ("1 test", "2 tests of mixed salts by conductivity"),
         ("1 Prüfung", "2 Prüfungen, Salzgemisch über Leitfähigkeit")),
        (SaltTestsMade(0, SaltTestsRequired(1, MIXED), 1),
         ("no test, 1 of another kind", "1 test of mixed salts by conductivity"),
         ("keine Prüfung, 1 anderer Art", "1 Prüfung, Salzgemisch über Leitfähigkeit")),
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


# What U does not hold


ERRORS = {"volume_error": "0.05 ml", "area_error": "0.2 cm2"}


def _without(evaluation):
    return [
        (*one.facts.areas, [word.key for word in one.facts.of])
        for one in evaluation.not_evaluated
        if one.code == "salts-uncertainty-without"
    ]


@pytest.mark.parametrize("rule", ["simple", "guarded", "banded"])
@pytest.mark.parametrize(
    ("test", "lacking"),
    [
        ({}, ["meter", "volume", "patch"]),
        ({"instrument": "k1"}, ["volume", "patch"]),
        ({"instrument": "k0", **ERRORS}, ["meter"]),
        ({"instrument": "k1", **ERRORS}, []),
    ],
)
def test_silence_about_an_error_is_said(rule, test, lacking):
    """U is narrower without the error of the meter: whoever leaves it out is not to look surer than who states it."""
    meters = {"instruments.k1": METER, "instruments.k0": {"kind": "conductivity meter", "serial": "9"}}
    evaluation = _near(rule=rule, test=test, **meters)
    assert _without(evaluation) == ([("A", lacking)] if lacking else [])
    for said, text in ((ENGLISH, "of which nothing is known"), (GERMAN, "von dem nichts bekannt ist")):
        told = [said.left_out(one) for one in evaluation.not_evaluated if one.code == "salts-uncertainty-without"]
        assert all(text in one for one in told)


def test_of_a_kit_too_where_the_contract_states_its_precision():
    kit = {"location": "1", "chloride": "4 ug/cm2", "instrument": "k0"}
    limit = {"maximum": "5 ug/cm2", "expressed_as": "chloride", "decision_rule": "guarded"}
    meters = {"instruments.k0": {"kind": "other", "serial": "9"}}
    assert _without(_salted(kit, limit=limit, **meters)) == []  # there is no U, and it says so
    assert _without(_salted(kit, limit={**limit, "precision": "4 mg/m2"}, **meters)) == [("A", ["kit"])]
    stated = {"instruments.k0": {"kind": "other", "serial": "9", "accuracy": "10 %"}}
    assert _without(_salted(kit, limit=limit, **stated)) == [("A", ["method"])]


@pytest.mark.parametrize(
    ("errors", "expanded", "verdict"),
    [
        ({"accuracy": "5 mg/m2"}, "5.7", "inconclusive"),  # 5 mg/m² as limits of error: 1.96 · 5/√3
        ({"accuracy": "0.1 ug/cm2"}, "1.1", "conforms"),
        ({"accuracy": "1 mg/m2", "accuracy_of_reading": "10 %"}, "6.6", "inconclusive"),  # 1.96 · (1 + 4.8)/√3
        (
            {"accuracy": "1 mg/m2", "uncertainty": "2 mg/m2", "coverage_factor": "2"},
            "2.3",
            "inconclusive",
        ),  # 1.96 · √(1/3 + 1)
        ({"accuracy": "1 mg/m2", "resolution": "2 mg/m2"}, "1.6", "conforms"),
    ],
)
def test_a_kit_states_its_error_in_what_it_shows(errors, expanded, verdict):
    kit = {"location": "1", "chloride": "4.8 ug/cm2", "instrument": "k0"}
    limit = {"maximum": "5 ug/cm2", "expressed_as": "chloride", "decision_rule": "guarded"}
    (result,) = _salted(kit, limit=limit, **{"instruments.k0": {"kind": "other", "serial": "9", **errors}}).salts
    assert (str(result.expanded_uncertainty), result.verdict) == (expanded, verdict)
    (budget,) = result.budgets
    assert {str(line.component.key) for line in budget.lines} == {"instrument"}


@pytest.mark.parametrize(("blank", "sample"), [("1.9 uS/cm", "1.8 uS/cm"), ("0.19 mS/m", "1.8 uS/cm")])
@pytest.mark.parametrize("rule", ["simple", "guarded"])
def test_a_sample_one_digit_below_its_blank_is_none_with_its_uncertainty(blank, sample, rule):
    evaluation = _salted(_salt(blank=blank) | {"sample": sample}, limit={**SALTS, "decision_rule": rule})
    (result,) = evaluation.salts
    assert (str(result.density), result.verdict, str(result.expanded_uncertainty)) == ("0.0", "conforms", "8.2")
    found = finding(evaluation, "salts-below-blank")
    assert (found.severity, found.location, evaluation.areas[0].decision) == ("observation", "1", "release")
    assert "taken as no salts" in ENGLISH.told(found)
    assert "als keine Salze gewertet" in GERMAN.told(found)
    with pytest.raises(ValidationError, match="is below `blank`"):
        _salted(_salt(blank="2.1 uS/cm") | {"sample": "1.9 uS/cm"})


def _read_by(*tests, shown="80 uS/cm"):
    """Tests on the steel; the check of k1 at 10:30 shows `shown` for 100 µS/cm, that of k2 100, of k3 there is none."""
    checks = [
        {"time": "10:30", "instrument": name, "reference": "100 uS/cm", "shown": value, "tolerance": "5 %"}
        for name, value in (("k1", shown), ("k2", "100 uS/cm"))
    ]
    meters = {f"instruments.{name}": {**METER, "serial": name} for name in ("k1", "k2", "k3")}
    return evaluated(
        spec={"specification.soluble_salts": SALTS, **meters},
        surfaces=[surface(salts=list(tests))], day={"function_checks": checks},
    )  # fmt: skip


HIGH, LOW = "60", "12.1"
"""69.5 and 12.0 mg/m² against 50, in µS/cm over a blank of 2.1."""


def _test(sample, meter="k1", time="10:00", **values):
    return _salt(sample, **{"instrument": meter, "time": time, **values})


def test_what_a_meter_in_doubt_shows_fails_nothing_and_holds():
    """A meter that shows 80 for 100 says of no steel how much salt is on it, be it much or little."""
    high, low = _read_by(_test(HIGH)), _read_by(_test(LOW))
    assert [(one.areas[0].decision, one.salts[0].verdict) for one in (high, low)] == [("hold", "inconclusive")] * 2
    found = finding(high, "salts-above-maximum")
    assert (found.severity, found.facts.doubt) == ("observation", Word("salts", "if-shown-rightly"))
    assert ENGLISH.observed(found).endswith("if the instrument showed it rightly, whose check failed")
    assert GERMAN.observed(found).endswith("sofern das Gerät, dessen Prüfung fehlschlug, richtig anzeigte")
    proven = _read_by(_test(HIGH), shown="98 uS/cm")
    assert (proven.areas[0].decision, finding(proven, "salts-above-maximum").facts.doubt) == ("rework", None)


def test_a_test_without_a_meter_or_a_time_may_be_of_the_one_that_failed():
    for unknown in ("instrument", "time"):
        test = {name: value for name, value in _test(HIGH).items() if name != unknown}
        assert _read_by(test).areas[0].decision == "hold"
    assert _read_by(_test(HIGH, "k2")).areas[0].decision == "rework"


@pytest.mark.parametrize(
    ("first", "again", "decision"),
    [
        (HIGH, _test(LOW, "k2", "10:10"), "release"),
        (LOW, _test(LOW, "k2", "10:10"), "release"),
        (HIGH, _test(HIGH, "k2", "10:10"), "rework"),
        (LOW, _test(HIGH, "k2", "10:10"), "rework"),
        (HIGH, _test(LOW, "k2", "10:10", location="2"), "hold"),  # another place
        (HIGH, _test(LOW, "k3", "10:10"), "hold"),  # nothing shows that meter to be good
        (HIGH, _test(LOW, "k1", "10:10"), "hold"),
        (HIGH, {"location": "1", "chloride": "1 mg/m2", "instrument": "k2", "time": "10:10"}, "hold"),  # something else
    ],
)
def test_a_good_meter_settles_what_one_in_doubt_showed(first, again, decision):
    evaluation = _read_by(_test(first), again)
    assert evaluation.areas[0].decision == decision
    failed = [one for one in evaluation.findings if one.code == "function-check-failed"]
    if decision == "release":
        assert [one.severity for one in failed] == ["observation"]
        assert "tests at location 1 do not count, others stand for them" in ENGLISH.observed(failed[0])
        assert "zählen nicht, andere stehen für sie" in GERMAN.observed(failed[0])


@pytest.mark.parametrize(("time", "fails"), [("07:30", False), ("09:30", True)])
def test_salts_found_before_the_blasting_do_not_fail_what_was_blasted(time, fails):
    """The steel is blasted from 08:00 to 09:00; what was on it then is the reason for the blasting."""
    blasted = {"start": "08:00", "end": "09:00", "abrasive": "steel grit"}
    salty = _salt("112.1", location="2", time=time)
    evaluation = evaluated(
        spec={"specification.soluble_salts": SALTS},
        surfaces=[surface(blasted=blasted, salts=[salty, _salt(time="09:40")])],
    )
    assert evaluation.salts[0].verdict == ("does not conform" if fails else "not evaluated")
    assert ("salts-above-maximum" in codes(evaluation)) is fails


def test_a_test_before_the_blasting_is_not_evaluated_whatever_is_in_doubt_about_it():
    blasted = {"start": "08:00", "end": "09:00", "abrasive": "steel grit"}
    tests = [_salt(area="125 cm2", location="2", time="07:30"), _salt(time="09:40")]
    evaluation = evaluated(
        spec={"specification.soluble_salts": SALTS}, surfaces=[surface(blasted=blasted, salts=tests)]
    )
    assert evaluation.salts[0].verdict == "not evaluated"
