"""Shape problems in words of the file, and what is left of a file without its wrong fields."""

import re

import pytest
from pydantic import ValidationError

from reportgen.job import Day, Instrument, Project, ShapeProblem, place_name, salvaged, validated
from reportgen.measurements.abrasive import AbrasiveLimits
from reportgen.measurements.salts.record import SaltLimit, SaltTest

DAY = {
    "project": "project.yaml",
    "report": {
        "number": "T-1",
        "revision": "0",
        "date": "2026-05-14",
        "shift": {"start": "06:00", "end": "18:00"},
        "inspector": "merrow",
    },
}
CONDITION = {"time": "06:40", "place": "yard", "air": "17 degC", "humidity": "60 %", "steel": "16 degC"}
BLASTED = {"start": "07:00", "end": "09:00", "abrasive": "grit"}
SURFACE = {"area": "A-1", "apparatus": "pot 1", "initial_condition": "C", "blasted": BLASTED}


def _problems(**more):
    outcome = validated(Day, DAY | more)
    assert isinstance(outcome, tuple)
    return outcome


def test_a_right_file_is_its_model():
    day = validated(Day, DAY | {"conditions": [CONDITION], "surfaces": [SURFACE]})
    assert isinstance(day, Day)
    assert day.surfaces[0].blasted.abrasive == "grit"
    assert salvaged(Day, DAY) == validated(Day, DAY)


GAUGE = {"kind": "thickness gauge", "serial": "1", "unit": "mil"}
SALT = {"location": "1", "area": "12.5 cm2", "volume": "3 ml", "blank": "2 uS/cm", "sample": "9 uS/cm"}


@pytest.mark.parametrize(
    ("model", "fields"),
    [
        (Instrument, GAUGE | {"accuracy": "0 mil"}), (Instrument, GAUGE | {"resolution": "0.0 mil"}),
        (Instrument, GAUGE | {"uncertainty": "0 mil", "coverage_factor": "2"}),
        (Instrument, GAUGE | {"shim_accuracy": "0 um"}),
        (Instrument, {"kind": "conductivity meter", "serial": "2", "accuracy": "0 %"}),
        (Instrument, {"kind": "hygrometer", "serial": "3", "accuracy": "3 %", "temperature_accuracy": "0 delta_degC"}),
        (SaltLimit, {"maximum": "50 mg/m2", "expressed_as": "mixed salts by conductivity", "precision": "0 mg/m2"}),
        (SaltTest, SALT | {"area_error": "0 cm2"}),
        (AbrasiveLimits, {"maximum_conductivity": "250 uS/cm", "conductivity_precision": "0 uS/cm"}),
    ],
)  # fmt: skip
def test_nothing_is_exact(model, fields):
    """An error of 0 would make U smaller than one that is not stated, and a guard band of nothing."""
    with pytest.raises(ValidationError) as refused:
        model.model_validate(fields)
    assert [one["type"] for one in refused.value.errors()] == ["JOB131"]
    assert "is 0" in str(refused.value)
    kept = {name: "0.1 " + text.split()[1] if text.startswith("0") else text for name, text in fields.items()}
    model.model_validate(kept)


def test_unknown_field_names_the_nearest_or_lists_what_there_is():
    (problem,) = _problems(conditions=[CONDITION | {"stel": "1 degC"}])
    assert problem == ShapeProblem(
        ("conditions", 0, "stel"),
        "JOB110",
        "unknown field `stel` in `conditions[0]`",
        "did you mean `steel`?",
        at_key=True,
    )
    (problem,) = _problems(conditions=[CONDITION | {"qqq": "1"}])
    assert problem.help_text is not None
    assert problem.help_text.startswith("fields here: `time`, `place`, `areas`,")
    (problem,) = _problems(surfaces=[SURFACE | {"qqq": "1"}])
    assert problem.help_text is not None
    assert problem.help_text.count("`") == 2 * 14


def test_unknown_field_under_ids_and_under_alternatives():
    outcome = validated(Project, {"people": {"merrow": {"name": "x", "role": "y", "rolle": "z"}}})
    found = {problem.loc: problem for problem in outcome}
    assert found["people", "merrow", "rolle"].help_text == "did you mean `role`?"
    profile = {"gauge": "g1", "readings": {"csv": "a.csv", "rowz": "3"}}
    (problem,) = _problems(surfaces=[SURFACE | {"profile": profile}])
    assert problem.loc == ("surfaces", 0, "profile", "readings", "rowz")
    assert problem.help_text == "did you mean `rows`?"


def test_a_key_that_is_no_id():
    outcome = validated(Project, {"people": {"A. Merrow": {"name": "x", "role": "y"}}})
    (problem,) = [p for p in outcome if p.code == "JOB123"]
    assert (problem.loc, problem.at_key) == (("people", "A. Merrow"), True)


def test_missing_fields_are_at_their_parent():
    (problem,) = _problems(conditions=[{key: value for key, value in CONDITION.items() if key != "steel"}])
    assert problem == ShapeProblem(
        ("conditions", 0), "JOB111", "missing field `steel` in `conditions[0]`", "add `steel:`", at_key=True,
        lacks=(("conditions", 0, "steel"),),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ("", "`conditions` is empty; expected a list"),
        ("none", "`conditions` is text; expected a list"),
        ({"a": "b"}, "`conditions` is a block of fields; expected a list"),
    ],
)
def test_not_a_list(value, message):
    (problem,) = _problems(conditions=value)
    assert (problem.code, problem.message) == ("JOB113", message)


def test_not_a_block():
    (problem,) = _problems(conditions=["06:40"])
    assert problem.message == "`conditions[0]` is text; expected a block of fields"
    outcome = validated(Project, {"people": "merrow"})
    (problem,) = [p for p in outcome if p.loc == ("people",)]
    assert problem.message == "`people` is text; expected a block of fields"
    (problem,) = validated(Day, "text")  # type: ignore[arg-type] # what a caller must not pass
    assert problem.message == "the file is text; expected a block of fields"


def test_not_a_choice():
    (problem,) = _problems(surfaces=[SURFACE | {"initial_condition": ["C"]}])
    assert (problem.code, problem.message) == ("JOB112", "`initial_condition` is a list")


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        ([], "JOB170"),
        (["a"], "JOB171"),
        ([{"location": ["1"]}], "JOB171"),
        ("a.csv", "JOB113"),
        ({"csv": ""}, "JOB120"),
    ],
)
def test_rows_that_are_none(readings, code):
    (problem,) = _problems(surfaces=[SURFACE | {"profile": {"gauge": "g1", "readings": readings}}])
    assert problem.code == code


def test_names_of_places():
    assert place_name(("surfaces", 1, "profile")) == "surfaces[1].profile"
    assert place_name(()) == ""


def test_no_message_names_a_type_of_the_program():
    everything = [*validated(Project, dict.fromkeys(Project.model_fields, "x"))]
    everything += validated(Day, {name: ["x"] for name in Day.model_fields})
    words = set(re.findall(r"\w+", " ".join(problem.message for problem in everything)))
    assert len(everything) == 26
    assert not words & {"str", "string", "dict", "dictionary", "valid", "None", "Input", "int", "type", "instance"}


def test_salvage_takes_the_wrong_field_out():
    day = salvaged(Day, DAY | {"remarks": "", "conditions": [CONDITION]})
    assert day is not None
    assert (day.remarks, len(day.conditions)) == (None, 1)


def test_salvage_takes_a_list_out_with_its_wrong_entry_and_a_block_with_its_missing_field():
    wrong = CONDITION | {"air": "cold"}
    day = salvaged(Day, DAY | {"conditions": [CONDITION, wrong], "surfaces": [SURFACE]})
    assert day is not None
    assert (day.conditions, len(day.surfaces)) == ([], 1)
    surface = SURFACE | {"profile": {"gauge": "g1", "readings": []}}
    day = salvaged(Day, DAY | {"surfaces": [SURFACE, surface]})
    assert day is not None
    assert [s.profile for s in day.surfaces] == [None, None]


def test_salvage_of_several_faults_in_one_list_entry():
    surface = SURFACE | {"salts": [{"location": "1"}, "x"], "photos": "x", "qqq": "1"}
    day = salvaged(Day, DAY | {"surfaces": [surface]})
    assert day is not None
    assert day.surfaces[0].area == "A-1"


def test_salvage_has_nothing_left_without_a_report():
    assert salvaged(Day, {"project": "p"}) is None
    assert salvaged(Day, DAY | {"report": "x"}) is None
