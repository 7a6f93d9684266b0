"""Derivations step by step."""

from decimal import Decimal

import pytest

from reportgen.errors import UsageError
from reportgen.references import citation
from reportgen.results import Amount, DerivationStep, Place, Word
from reportgen.results.codes import derivation as codes
from reportgen.results.codes.ranges import Between
from reportgen.results.codes.rules import RangeOf
from reportgen.results.facts import NOTHING
from reportgen.rules import evaluate, explain_area
from reportgen.rules.explain import explain_areas
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import METRIC, job, surface

SAID = sentences().text
CONDITIONS = {"dew_point_margin": "5 delta_degF", "interval": "4 h"}
LOG = [{"time": "06:45", "place": "span", "air": "20 degC", "humidity": "60 %", "steel": "18 degC"}]


SAID = sentences().text


def said(step):
    """A step in words."""
    inputs, parts = tuple(map(SAID, step.inputs)), (step.rule, step.source, step.result)
    return DerivationStep(SAID(step.what), inputs, *map(SAID, parts))


def _steps(*texts, area="A", **given):
    one = job(*texts, **given)
    return {step.what: step for step in map(said, explain_area(one, evaluate(one), area))}


def test_an_area_that_is_not_inspected():
    with pytest.raises(UsageError, match="area `Z` is not inspected in R-1") as refused:
        explain_area(job(), evaluate(job()), "Z")
    assert refused.value.help_text == "inspected: A"


def test_from_the_readings_to_the_decision():
    steps = _steps("1 a x1 2.2; 1 a c1 1.6; 1 b x1 3.0")
    spot = steps["location 1, spot a"]
    assert spot.inputs == ("x1 (extra coarse): 2.2 mil", "c1 (coarse): 1.6 mil")
    assert spot.rule == "rule for two tape grades: average"
    assert SAID(spot.result) == "1.90 mil: averaged, both readings lie in the window: their mean"
    assert steps["location 1"].inputs == ("spot a: 1.90", "spot b: 3.00")
    assert steps["location 1"].result == "2.45 mil"
    verdict = steps["location 1, verdict"]
    assert verdict.rule == "simple, rounding method, half to even"
    assert verdict.inputs[:2] == ("2.45", "limits 2.0 to 3.5 mil")
    assert verdict.result.startswith("conforms; compared: 2.4; probability of conformity 0.")
    first = SAID(steps["uncertainty of a location"].inputs[0])
    assert first == "gauge accuracy: 0.200, rectangular, over 1.732: 0.115"
    assert steps["uncertainty of the mean"].result.startswith("U = ")
    assert steps["sampling"].result == "1 required"
    assert steps["mean of the locations"].result == "2.45, n = 1"
    assert SAID(steps["cleanliness"].rule) == "grade SSPC-SP 10, staining at most 5 %"
    assert steps["decision"].result == "conforms: release"
    assert all(step.source for step in steps.values())


def test_conditions_contamination_and_time():
    spec = {
        "specification.conditions": CONDITIONS,
        "specification.soluble_salts": {"maximum": "50 mg/m2", "expressed_as": "mixed salts by conductivity"},
        "specification.dust": {"maximum_quantity": "2"},
        "specification.time_to_coat": {"maximum": "6 h"},
    }
    salts = [
        {"location": "1", "area": "12.5 cm2", "volume": "3 ml", "blank": "0 uS/cm", "sample": "30 uS/cm"},
        {"location": "2", "chloride": "2 mg/m2"},
    ]
    record = surface(salts=salts, dust=[{"location": "1", "quantity": "1", "size": "1"}], coated="10:00")
    other = surface(area="B", cleanliness=None)
    steps = _steps("1 a x1 3.1; 1 b x1 2.9", spec=spec, day={"conditions": LOG}, surfaces=[record, other])
    conditions = steps["conditions at 06:45, span"]
    assert SAID(conditions.result) == "dew point 53.6 °F, margin 10.8 °F: conforms"
    assert SAID(conditions.rule) == "limits apply to blasting A, coating A"
    assert (
        SAID(steps["salts at location 1"].result)
        == "36.0 ± 8.2 mg/m² (k = 1.96): conforms, probability of conformity 0.9996"
    )
    assert SAID(steps["salts at location 2"].result) == "2.0 mg/m²: inconclusive"
    assert "8502-9" in steps["salts at location 1"].source
    assert "8502-9" not in steps["salts at location 2"].source
    assert steps["dust at location 1"].result == "conforms"
    assert list(map(SAID, steps["time to coat"].inputs)) == ["1.00 h"]
    bare = _steps("1 a x1 3.1; 1 b x1 2.9", area="B", spec=spec, surfaces=[record, other])
    assert tuple(map(SAID, bare["cleanliness"].inputs)) == ("observed nothing", "staining not stated")
    assert list(map(SAID, bare["time to coat"].inputs)) == ["not stated"]
    unlimited = _steps(surfaces=[record])["time to coat"]
    assert SAID(unlimited.rule) == "time to coat: the contract states no limit"
    assert [what for what in bare if what.startswith(("salts", "dust", "conditions"))] == []
    celsius = {**spec, "specification.conditions": {"dew_point_margin": "3 delta_degC"}}
    warm = _steps(spec=celsius, day={"conditions": LOG})["conditions at 06:45, span"]
    assert "margin 6.0 °C" in SAID(warm.result)
    later = [{**LOG[0], "time": "16:00"}]
    assert "conditions at 16:00, span" not in _steps(spec=celsius, day={"conditions": later})


def test_a_spot_without_a_profile_and_a_film_taken_off():
    steps = _steps("1 a x1 4.2; 1 b x1 5.0", surfaces=[surface(profile__film="included")])
    spot = steps["location 1, spot a"]
    assert spot.inputs == ("x1 (extra coarse): 4.2 mil, net 2.2 mil",)
    assert spot.rule == "rule for two tape grades: average; film of 2.0 mil taken off"
    assert SAID(spot.result).startswith("no profile: second missing, ")
    assert steps["location 1"].inputs == ("spot a",)
    assert steps["location 1"].result == "inconclusive"
    assert "location 1, verdict" not in steps


def test_a_depth_micrometer_and_the_absolute_method():
    spec = {
        **METRIC, "specification.profile.overlap_rule": None, "specification.profile.rounding": "none",
        "instruments.g1.accuracy": None,
        "specification.sampling": {"plan": "length-rate", "locations": "1", "length": "1 m"},
    }  # fmt: skip
    steps = _steps("1 a - 75; 1 b - 76; 2 a - 70; 2 b - 71", spec=spec)
    assert steps["location 1, spot a"].inputs == ("gauge: 75 µm",)
    assert steps["location 1, spot a"].rule == "the reading stands"
    assert steps["location 1, verdict"].rule == "simple, absolute method"
    assert steps["location 1, verdict"].result == "conforms; compared: 75.5"
    assert "uncertainty of a location" not in steps
    assert steps["sampling"].result == "number required not known"
    assert steps["mean of the locations"].result == "73.0, s = 3.54, n = 2"


def test_an_area_without_a_profile():
    steps = _steps("", surfaces=[surface(profile=None)])
    assert "mean of the locations" not in steps
    assert steps["decision"].result == "inconclusive: hold"


GAUGE = (
    "gauge accuracy: 0.200, rectangular, over 1.732: 0.115",
    "gauge resolution: 0.050, rectangular, over 1.732: 0.029",
    "film thickness: 0.079, rectangular, over 1.732: 0.045",
    "shim check: 0.000, rectangular, over 1.732: 0.000",
)
REPEATED = "repeatability: 0.141, normal, over 1.414: 0.100"
TAPE = "rule for two tape grades: average"
SECOND = "second missing, a reading in the window needs a second, on coarse tape"
ROOTS = "root sum of squares, factor from t"
ACTIONS = "rework where something does not conform, hold where something is missing, else release"

# what, inputs, rule, sources (keys, or the text itself), result
WHOLE = [
    ("location 1, spot a", ("x1 (extra coarse): 3.0 mil",), TAPE, ["tape-overlap-rule"],
     "3.00 mil: recorded as taken, the first reading stands as taken"),
    ("location 1, spot b", ("x1 (extra coarse): 2.8 mil",), TAPE, ["tape-overlap-rule"],
     "2.80 mil: recorded as taken, the first reading stands as taken"),
    ("location 1", ("spot a: 3.00", "spot b: 2.80"), "mean of the spots, exactly, in the unit of the specification",
     "ASTM D4417 Method C, 2021", "2.90 mil"),
    ("location 1, verdict", ("2.90", "limits 2.0 to 3.5 mil", "U = 0.40 (k = 2.45)"),
     "simple, rounding method, half to even", ["ilac-g8", "astm-e29"],
     "conforms; compared: 2.9; probability of conformity 0.9943"),
    ("location 2, spot a", ("x1 (extra coarse): 2.2 mil",), TAPE, ["tape-overlap-rule"], f"no profile: {SECOND}"),
    ("location 2, spot b", ("x1 (extra coarse): 3.0 mil",), TAPE, ["tape-overlap-rule"],
     "3.00 mil: recorded as taken, the first reading stands as taken"),
    ("location 2", ("spot a",), "a location has a value when all its spots have one", "ASTM D4417 Method C, 2021",
     "inconclusive"),
    ("uncertainty of a location", (*GAUGE, REPEATED), ROOTS, ["jcgm-100"], "U as at each location"),
    ("uncertainty of the mean", (*GAUGE, REPEATED), ROOTS, ["jcgm-100"], "U = 0.40, k = 2.45"),
    ("sampling", ("2 regular locations",), "fixed", "T-1 Part 1", "1 required"),
    ("what the plan can miss", ("2 regular locations",),
     "locations chosen at random, none that does not conform is accepted", ["acceptance-by-attributes"],
     ("2 locations chosen at random of 1777 there is room for would pass an area with a probability of "
     "0.81 where 10 %, 0.64 where 20 %, 0.49 where 30 % of its locations do not conform")),
    ("mean of the locations", ("location 1: 2.90",), "arithmetic mean; it does not decide", ["sspc-pa-17-decision"],
     "2.90, n = 1"),
    ("conditions at 06:45, span", ("air 20.0 °C", "humidity 60 %", "steel 18.0 °C"),
     "limits apply to blasting A, coating A", ["wmo-8-annex-4b"], "dew point 12.0 °C, margin 6.0 °C: conforms"),
    ("cleanliness", ("observed SSPC-SP 10", "staining 3 %"), "grade SSPC-SP 10, staining at most 5 %", "T-1 Part 1",
     "conforms"),
    ("salts at location 1", ("sample 30 µS/cm", "blank 0 µS/cm", "volume 3 ml", "area 12.5 cm²"),
     "mixed salts by conductivity", ["iso-8502-9"],
     "36.0 ± 8.2 mg/m² (k = 1.96): conforms, probability of conformity 0.9996"),
    ("uncertainty of the salts", ("precision of the method: 8.2 mg/m², normal, over 1.960, times 1.000: 4.18",),
     "root sum of squares, factor from t", ["jcgm-100"], "u = 4.18 mg/m², k = 1.96, U = 8.2 mg/m²"),
    ("dust at location 1", ("quantity 1, size class 1",), "T-1 Part 1", ["iso-8502-3"], "conforms"),
    ("time to coat", ("1.00 h",), "at most 6.00 h from the end of blasting", "T-1 Part 1", "conforms"),
    ("decision", (f"second-reading-missing: spot a: extra coarse 2.2 mil; {SECOND.partition(', ')[2]}",
                  "coated-without-release: coated 10:00"), ACTIONS,
     "recommendation of the inspector under the contract", "inconclusive: hold"),
]  # fmt: skip


def test_the_whole_derivation_of_an_area():
    """U: (0.2² + 0.05² + 0.08²)/3 + 0.1² = 0.0263, u = 0.1622, degrees of freedom 0.0263²/0.1⁴ = 6.9, k = 2.447."""
    spec = {
        "specification.conditions": {"dew_point_margin": "3 delta_degC", "interval": "4 h"},
        "specification.soluble_salts": {"maximum": "50 mg/m2", "expressed_as": "mixed salts by conductivity"},
        "specification.dust": {"maximum_quantity": "2"}, "specification.time_to_coat": {"maximum": "6 h"},
    }  # fmt: skip
    salt = {"location": "1", "area": "12.5 cm2", "volume": "3 ml", "blank": "0 uS/cm", "sample": "30 uS/cm"}
    dust = {"location": "1", "quantity": "1", "size": "1"}
    surfaces = [surface(salts=[salt], dust=[dust], coated="10:00"), surface(area="B")]
    text = "1 a x1 3.0; 1 b x1 2.8; 2 a x1 2.2; 2 b x1 3.0"
    one = job(text, "1 a x1 3.0; 1 b x1 2.8", spec=spec, day={"conditions": LOG}, surfaces=surfaces)
    steps = explain_area(one, evaluate(one), "A")
    sources = [key if isinstance(key, str) else "; ".join(citation(part).text for part in key) for *_, key, _ in WHOLE]
    expected = [
        (what, inputs, rule, source, result)
        for (what, inputs, rule, _, result), source in zip(WHOLE, sources, strict=True)
    ]
    found = [(one.what, one.inputs, one.rule, one.source, one.result) for one in map(said, steps)]
    assert found == expected
    assert explain_areas(one, evaluate(one)) == {"A": steps, "B": explain_area(one, evaluate(one), "B")}


def test_values_are_derived_in_the_unit_of_the_specification():
    """75.5 µm are 2.972 mil: 1 mil is 25.4 µm."""
    gauge = {"instruments.g1": METRIC["instruments.g1"]}
    steps = _steps("1 a x1 75; 1 b x1 76", spec=gauge)
    assert steps["location 1"].result == "2.972 mil"


def test_a_plan_and_a_grade_without_a_stain_limit_in_words():
    plan = {"specification.sampling": {"plan": "per-shift-and-apparatus", "locations": "1"}}
    record = surface(cleanliness={"observed": "Sa 2.5"})
    steps = _steps(
        "1 a x1 3.1; 1 b x1 2.9", surfaces=[record], spec={**plan, "specification.surface_preparation.grade": "Sa 2½"}
    )
    assert steps["sampling"].rule == "per shift and apparatus"
    assert steps["cleanliness"].rule == "grade Sa 2½"


def test_the_steps_of_a_location_are_facts():
    """What is compared is data: the number printed, the range, U with its factor, the verdict."""
    one = job("1 a x1 5.0; 1 b x1 4.8", surfaces=[surface(profile__film="included")])
    spot, _, location, verdict = explain_area(one, evaluate(one), "A")[:4]
    two_mil = Amount(Decimal("2.0"), "mil")
    assert spot.what == codes.SPOT.of(NOTHING, Place(location="1", spot="a"))
    taken = codes.OnTape("x1", Word("tape-grade", "extra coarse"), Amount(Decimal("5.0"), "mil"),
                         Amount(Decimal("3.0"), "mil"))  # fmt: skip
    assert spot.inputs == (codes.ON_TAPE.of(taken),)
    assert spot.rule == codes.TWO_GRADES.of(codes.ByTwoGrades(Word("overlap-rule", "average"), two_mil))
    assert location.result.facts == codes.Came(Amount(Decimal("2.90"), "mil"))
    assert [step.facts for step in verdict.inputs[:2]] == [
        codes.Number(Decimal("2.90")), RangeOf(Between(Decimal("2.0"), Amount(Decimal("3.5"), "mil"))),
    ]  # fmt: skip
    assert verdict.rule.facts == codes.JudgedBy(Word("decision-rule", "simple"), Word("rounding", "half-even"))
    judged = verdict.result.facts
    # the day's checks have the film subtracted, so the gauge is in doubt
    assert (judged.verdict, judged.compared, judged.band) == (Word("verdict", "inconclusive"), Decimal("2.9"), None)
