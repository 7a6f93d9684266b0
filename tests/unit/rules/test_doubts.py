"""Doubts: a slip holds what depends on it until it is corrected or confirmed; ordinary values are not asked about."""

import pytest

from tests.unit.rules.factory import GOOD, codes, evaluated, surface

READ = {"time": "06:45", "air": "13.5 degC", "humidity": "70 %", "steel": "12.5 degC"}
SALT = {"location": "2", "area": "12.25 cm2", "volume": "3 ml", "blank": "1.8 uS/cm", "sample": "9.4 uS/cm"}
BLASTED = {"start": "07:00", "end": "09:00", "abrasive": "grit 1", "pressure": "700 kPa"}
AIR = {"time": "06:50", "apparatus": "pot 1", "duration": "2 min", "result": "clean", "pressure": "690 kPa"}


def _asked(evaluation, code="entry-doubtful"):
    return [(one.area, one.location, one.observed, one.requirement) for one in evaluation.findings if one.code == code]


CONDITIONS = [
    ({"steel": "85 degC"}, "06:45: steel 85 °C, 71.5 °C from the air", "usually steel within 20 °C of the air"),
    ({"steel": "-8.5 degC"}, "06:45: steel -8.5 °C, 22.0 °C from the air", "usually steel within 20 °C of the air"),
    (
        {"steel_warmest": "34 degC"}, "06:45: warmest steel 34 °C, 20.5 °C from the air",
        "usually steel within 20 °C of the air",
    ),
    ({"air": "55 degC"}, "06:45: air 55 °C", "usually air at most 45 °C"),
]  # fmt: skip


@pytest.mark.parametrize(("values", "observed", "requirement"), CONDITIONS)
def test_doubts_about_a_reading_of_the_conditions(values, observed, requirement):
    odd = READ | values
    evaluation = evaluated(day={"conditions": [odd]})
    assert _asked(evaluation) == [(None, None, observed, requirement)]
    assert (evaluation.areas[0].verdict, evaluation.areas[0].decision) == ("inconclusive", "hold")
    sure = evaluated(day={"conditions": [odd | {"confirmed": "yes"}]})
    assert _asked(sure, "entry-confirmed") == [(None, None, f"{observed}, confirmed", requirement)]
    assert (codes(sure), sure.areas[0].decision) == (["entry-confirmed"], "release")


@pytest.mark.parametrize(
    "values",
    [
        {}, {"air": "55 degF", "steel": "52 degF"}, {"steel": "33.5 degC"}, {"air": "45 degC", "steel": "40 degC"},
        {"confirmed": "yes"},
    ],
)  # fmt: skip
def test_ordinary_conditions_are_not_asked_about(values):
    assert codes(evaluated(day={"conditions": [READ | values]})) == []


def test_a_doubt_holds_the_areas_of_its_place_alone():
    structures = [{"id": "S", "name": "Span", "areas": [{"id": area, "name": area} for area in "AB"]}]
    log = [READ | {"areas": ["A"]}, READ | {"areas": ["B"], "steel": "85 degC"}]
    evaluation = evaluated(
        GOOD, GOOD, spec={"structures": structures}, day={"conditions": log}, surfaces=[surface(), surface(area="B")]
    )
    assert [area for area, *_ in _asked(evaluation)] == ["B"]
    assert [area.decision for area in evaluation.areas] == ["release", "hold"]


def test_a_humidity_with_its_point_one_place_off():
    log = [READ | {"time": f"0{hour}:45"} for hour in (5, 6, 7)]
    log[1] |= {"humidity": "7.0 %"}
    assert [found[2] for found in _asked(evaluated(day={"conditions": log}))] == [
        "06:45: humidity 7.0 %, beside others of about 70.0 %"
    ]


@pytest.mark.parametrize(
    ("patch", "asked"),
    [
        ("12.25 m2", True), ("1225 cm2", True), ("12.25 mm2", True), ("0.5 cm2", True),
        ("12.25 cm2", False), ("1 cm2", False), ("100 cm2", False), ("1.9 in2", False),
    ],
)  # fmt: skip
def test_the_patch_of_a_salt_test(patch, asked):
    evaluation = evaluated(surfaces=[surface(salts=[SALT | {"area": patch}])])
    assert [found[:2] for found in _asked(evaluation)] == ([("A", "2")] if asked else [])
    assert evaluation.areas[0].decision == ("hold" if asked else "release")
    sure = evaluated(surfaces=[surface(salts=[SALT | {"area": patch, "confirmed": "yes"}])])
    assert codes(sure) == (["entry-confirmed"] if asked else [])


@pytest.mark.parametrize(
    ("name", "value", "about"),
    [("blank", "0.18 uS/cm", "1.80 µS/cm"), ("volume", "30 ml", "3 ml"), ("sample", "94 uS/cm", "9.4 µS/cm")],
)
def test_a_number_of_a_salt_test_with_its_point_one_place_off(name, value, about):
    tests = [SALT | {"location": location} for location in "1234"]
    assert codes(evaluated(surfaces=[surface(salts=tests)])) == []
    tests[1] = tests[1] | {name: value}
    (found,) = _asked(evaluated(surfaces=[surface(salts=tests)]))
    assert found[:2] == ("A", "2")
    assert found[2].endswith(f", beside others of about {about}")


@pytest.mark.parametrize(("pressure", "asked"), [("7 kPa", True), ("7 bar", False), ("100 psi", False)])
def test_air_that_cannot_blast(pressure, asked):
    blasting = evaluated(surfaces=[surface(blasted=BLASTED | {"pressure": pressure})])
    assert [found[0] for found in _asked(blasting)] == (["A"] if asked else [])
    checked = evaluated(day={"air_checks": [AIR | {"pressure": pressure}]})
    assert [found[2] for found in _asked(checked)] == (["06:50, pot 1: air pressure 7 kPa"] if asked else [])
    sure = evaluated(surfaces=[surface(blasted=BLASTED | {"pressure": pressure, "confirmed": "yes"})])
    assert sure.areas[0].decision == "release"


def test_the_air_of_one_pot_holds_what_was_blasted_with_it():
    checks = [AIR | {"pressure": "7 kPa"}, AIR | {"apparatus": "pot 2"}]
    both = [surface(), surface(area="B", apparatus="pot 2")]
    evaluation = evaluated(GOOD, GOOD, day={"air_checks": checks}, surfaces=both)
    assert [area.decision for area in evaluation.areas] == ["hold", "release"]


def test_one_slip_is_asked_about_once():
    """7 kPa is both too little to blast and unlike 690 kPa; 55 °C of air is also far from the steel."""
    checks = [AIR, AIR | {"apparatus": "pot 2"}]
    evaluation = evaluated(day={"air_checks": checks}, surfaces=[surface(blasted=BLASTED | {"pressure": "7 kPa"})])
    assert len(_asked(evaluation)) == 1
    assert len(_asked(evaluated(day={"conditions": [READ | {"air": "55 degC"}]}))) == 1


def test_a_pressure_unlike_the_others():
    checks = [AIR, AIR | {"apparatus": "pot 2"}]
    odd = evaluated(day={"air_checks": checks}, surfaces=[surface(blasted=BLASTED | {"pressure": "7000 hPa"})])
    assert codes(odd) == []
    odd = evaluated(day={"air_checks": checks}, surfaces=[surface(blasted=BLASTED | {"pressure": "130 kPa"})])
    assert _asked(odd)[0][2] == "pot 1: blasted at 130 kPa, beside others of about 690 kPa"


def test_a_reading_with_its_point_one_place_off():
    evaluation = evaluated("1 a x1 3.0; 1 b x1 2.9; 2 a x1 0.3; 2 b x1 3.1")
    observed = "spot a on x1: 0.3 mil, beside others of about 3.0 mil"
    assert _asked(evaluation) == [("A", "2", observed, "usually like the values beside it")]


def test_low_steel_beside_ordinary_steel_is_not_asked_about():
    assert _asked(evaluated("1 a x1 3.0; 1 b x1 2.9; 2 a x1 1.0; 2 b x1 0.9; 3 a x1 4.0; 3 b x1 4.1")) == []


def test_readings_with_more_digits_than_the_gauge_shows_are_asked_about_once():
    evaluation = evaluated("1 a x1 3.05; 1 b x1 2.9; 2 a x1 2.75; 2 b x1 3.00")
    observed = "3.05 mil and 2 more readings with as many digits on g1"
    assert _asked(evaluation) == [("A", None, observed, "usually in steps of 0.1 mil")]
    single = evaluated("1 a x1 3.05; 1 b x1 2.9")
    assert _asked(single)[0][2] == "3.05 mil on g1"
    finer = evaluated("1 a x1 3.05; 1 b x1 2.95", spec={"instruments.g1.resolution": "0.01 mil"})
    assert codes(finer) == []
    unknown = evaluated("1 a x1 3.05; 1 b x1 2.95", spec={"instruments.g1.resolution": None})
    assert codes(unknown) == []
