"""Rules inside one block: what belongs together, what excludes what."""

import pytest

from reportgen.job import (
    AreaPlan,
    Condition,
    GaugeCheck,
    Instrument,
    ProfileRequirement,
    Project,
    Sampling,
    Structure,
    validated,
)
from reportgen.measurements.abrasive import AbrasiveCheck, AbrasiveLimits
from reportgen.measurements.salts import SaltTest
from reportgen.units import Quantity

CONDITION = {"time": "06:40", "place": "yard", "air": "17 degC", "steel": "16 degC"}
PROFILE = {
    "method": "ASTM D4417 Method C", "edition": "2021", "readings_per_location": "2", "decision_rule": "simple",
    "rounding": "none",
}  # fmt: skip
COMPARED = {"comparator_grade": "medium G", "method": "ISO 8503-2", "edition": "2012"}
CHECK = {"time": "06:40", "gauge": "g1", "anvils": "clean"}
GAUGE = {"kind": "thickness gauge", "serial": "1", "unit": "mil"}
SALT = {"location": "1", "area": "12.5 cm2", "volume": "3 ml", "blank": "2 uS/cm", "sample": "9 uS/cm"}


@pytest.mark.parametrize(
    ("model", "data", "code", "message"),
    [
        (Condition, CONDITION, "JOB160", "a conditions reading needs either `humidity` or `wet_bulb`"),
        (Condition, CONDITION | {"wet_bulb": "15 degC"}, "JOB160", "`wet_bulb` needs the air `pressure`"),
        (
            Condition,
            CONDITION | {"wet_bulb": "18 degC", "pressure": "1013 hPa"},
            "JOB160",
            "`wet_bulb` 18 °C is above `air` 17 °C",
        ),
        (ProfileRequirement, PROFILE, "JOB150", "the profile has neither `minimum`, `maximum` nor `comparator_grade`"),
        (
            ProfileRequirement,
            PROFILE | {"minimum": "2 mil", "comparator_grade": "medium G"},
            "JOB150",
            "the profile has both limits and a `comparator_grade`",
        ),
        (
            ProfileRequirement,
            PROFILE | {"minimum": "50 um", "maximum": "3 mil"},
            "JOB150",
            "`minimum` and `maximum` are in different units",
        ),
        (
            ProfileRequirement,
            PROFILE | {"minimum": "3 mil", "maximum": "3.0 mil"},
            "JOB150",
            "`minimum` 3 mil is not below `maximum` 3.0 mil",
        ),
        (
            ProfileRequirement,
            COMPARED | {"decision_rule": "guarded"},
            "JOB150",
            "`decision_rule: guarded` needs an uncertainty, and a visual comparison has none",
        ),
        (
            ProfileRequirement,
            COMPARED | {"agreement_tolerance": "0.2 mil"},
            "JOB150",
            "`agreement_tolerance` is of readings, and `ISO 8503-2` is a visual comparison",
        ),
        (
            ProfileRequirement,
            PROFILE | {"minimum": "2 mil", "edition": "2011"},
            "JOB150",
            "`location_value` is not stated, and for `ASTM D4417 Method C`, edition 2011, it is not known",
        ),
        (
            ProfileRequirement,
            PROFILE
            | {"minimum": "2 mil", "method": "House method", "location_value": "mean", "readings_per_location": None},
            "JOB150",
            "`readings_per_location` is not stated, and for `House method`, edition 2021, it is not known",
        ),
        (
            ProfileRequirement,
            {name: value for name, value in PROFILE.items() if name != "rounding"} | {"minimum": "2 mil"},
            "JOB111",
            "missing field `rounding`",
        ),
        (GaugeCheck, {"time": "06:40", "gauge": "g1"}, "JOB161", "the check states neither `anvils` nor `tip`"),
        (GaugeCheck, CHECK | {"zero": "0 mil"}, "JOB161", "`zero` is of a depth micrometer"),
        (
            GaugeCheck,
            {"time": "06:40", "gauge": "g1", "tip": "clean", "preset": "0 mil"},
            "JOB161",
            "`preset` is of a thickness gauge",
        ),
        (Instrument, GAUGE | {"comparator": "G"}, "JOB152", "a thickness gauge is no comparator"),
        (Sampling, {"plan": "fixed"}, "JOB151", "sampling plan `fixed` needs `locations`"),
        (Sampling, {"plan": "length-rate", "locations": "1"}, "JOB151", "sampling plan `length-rate` needs `length`"),
        (
            Sampling,
            {"plan": "area-rate", "locations": "1", "first_area": "9 m2", "further_area": "9 m2"},
            "JOB151",
            "`further_area` and `further_locations` belong together",
        ),
        (Instrument, {"kind": "depth micrometer", "serial": "1"}, "JOB152", "the depth micrometer has no `unit`"),
        (
            Instrument,
            GAUGE | {"calibrated": "2026-02-01", "calibration_due": "2026-01-01"},
            "JOB152",
            "`calibration_due` 2026-01-01 is before `calibrated` 2026-02-01",
        ),
        (
            Instrument,
            GAUGE | {"uncertainty": "0.1 mil"},
            "JOB152",
            "`uncertainty` and `coverage_factor` belong together",
        ),
        (
            Instrument,
            {"kind": "surface thermometer", "serial": "1", "accuracy_of_reading": "1 %"},
            "JOB152",
            "`accuracy_of_reading` of a surface thermometer: a share of what it shows would depend on the scale",
        ),
        (
            Instrument,
            {"kind": "psychrometer", "serial": "1", "uncertainty_of_reading": "1 %", "coverage_factor": "2"},
            "JOB152",
            "`uncertainty_of_reading` of a psychrometer: a share of what it shows would depend on the scale",
        ),
        (
            Instrument,
            {"kind": "conductivity meter", "serial": "1", "accuracy": "2 %", "accuracy_of_reading": "1 %"},
            "JOB152",
            "`accuracy` 2 % of a conductivity meter is a share of its reading, and so is `accuracy_of_reading`",
        ),
        (
            Instrument,
            GAUGE | {"accuracy_of_reading": "3 %"},
            "JOB152",
            "`accuracy_of_reading` alone leaves the thickness gauge no error where it shows zero",
        ),
        (
            Instrument,
            GAUGE | {"uncertainty_of_reading": "1 %"},
            "JOB152",
            "`uncertainty` and `coverage_factor` belong together",
        ),
        (
            Instrument,
            GAUGE | {"accuracy": "1 um", "accuracy_of_reading": "0 %"},
            "JOB131",
            "`accuracy_of_reading` is 0 %: nothing is exact",
        ),
        (Instrument, GAUGE | {"accuracy_of_reading": "3 um"}, "JOB130", "`um` is not a unit of share"),
        (Instrument, GAUGE | {"accuracy": "3 %"}, "JOB130", "`accuracy`: `%` is not a unit of height"),
        (
            SaltTest,
            SALT | {"chloride": "9 mg/m2"},
            "JOB162",
            "a salt test is either by conductivity or as chloride, not both",
        ),
        (SaltTest, SALT | {"sample": "0.9 uS/cm"}, "JOB162", "`sample` 0.9 µS/cm is below `blank` 2 µS/cm"),
    ],
)
def test_rules(model, data, code, message):
    (problem,) = validated(model, data)
    assert (problem.code, problem.message) == (code, message)


def test_accuracy_is_read_in_the_kind_that_fits_the_instrument():
    hygrometer = validated(Instrument, {"kind": "hygrometer", "serial": "1", "accuracy": "3 %"})
    assert isinstance(hygrometer, Instrument)
    assert hygrometer.accuracy == Quantity(hygrometer.accuracy.magnitude, "%")
    thermal = validated(Instrument, {"kind": "hygrometer", "serial": "1", "accuracy": "1 delta_degC"})
    assert isinstance(thermal, Instrument)
    problems = {p.code for p in validated(Instrument, {"kind": "clock", "serial": "1", "accuracy": "3 %"})}
    assert problems == {"JOB112", "JOB130"}
    assert [p.code for p in validated(Instrument, "g1")] == ["JOB113"]


def test_salts_as_chloride_and_by_conductivity():
    assert isinstance(validated(SaltTest, {"location": "1", "chloride": "9 mg/m2"}), SaltTest)
    assert isinstance(validated(SaltTest, SALT), SaltTest)


def test_oil_free_is_yes_or_no():
    limits = validated(AbrasiveLimits, {"oil_free": "yes"})
    assert isinstance(limits, AbrasiveLimits)
    assert limits.oil_free is True
    assert isinstance(
        validated(AbrasiveCheck, {"time": "06:40", "abrasive": "grit", "oil": "none seen"}), AbrasiveCheck
    )


def test_an_area_is_found_with_its_structure():
    area = AreaPlan(id="A-1", name="wall")
    structure = Structure(id="house", name="House", areas=[area])
    project = Project.model_construct(structures=[structure])
    assert project.area("A-1") == (structure, area)
    with pytest.raises(KeyError):
        project.area("A-2")


@pytest.mark.parametrize(
    ("method", "edition", "needed", "value"),
    [
        ("ASTM D4417 Method B", "2003", 3, "mean"), ("ASTM D4417 Method B", "2014", 10, "maximum"),
        ("ASTM D4417 Method C", "2003", 3, "mean"), ("ASTM D4417 Method C", "2021", 2, "mean"),
        ("ISO 8503-5", "2003", 3, "mean"),
    ],
)  # fmt: skip
def test_what_the_contract_does_not_state_is_the_editions(method, edition, needed, value):
    silent = {"minimum": "2 mil", "decision_rule": "simple", "rounding": "none", "method": method, "edition": edition}
    profile = ProfileRequirement.model_validate(silent)
    assert (profile.readings_needed, profile.value_rule) == (needed, value)
    assert (profile.readings_per_location, profile.location_value) == (None, None)
    stated = ProfileRequirement.model_validate(silent | {"readings_per_location": "5", "location_value": "mean"})
    assert (stated.readings_needed, stated.value_rule) == (5, "mean")


def test_a_comparison_needs_neither_decision_rule_nor_rounding():
    profile = ProfileRequirement.model_validate(COMPARED)
    assert (profile.kind, profile.readings_needed, profile.decision_rule) == ("comparator", 1, "simple")
    assert profile.gauges[0] == "comparator"


@pytest.mark.parametrize("written", ["8 %", "10%"])
def test_a_share_of_the_reading_as_the_error_of_a_gauge_says_what_to_write(written):
    (problem,) = validated(Instrument, GAUGE | {"accuracy": written})
    assert problem.code == "JOB130"
    assert problem.help_text == f"write a height; a share of the reading is `accuracy_of_reading: {written}`"
