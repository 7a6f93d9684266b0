"""What an unfinished entry holds: the areas it may be about, by what it says, and no others where it says enough."""

import pytest

from reportgen.errors import InputError, UsageError
from reportgen.loader import job_from_files
from reportgen.rules import evaluate
from reportgen.rules.explain import explain_area
from reportgen.words.sentences import sentences

PROJECT = """\
project: {name: Yard, contract: AB-7, client: Yard Trust, contractor: Blast Co, site: north yard, time_zone: UTC}
inspection_body: {name: Looking Closely, address: 1 Yard Lane}
specification:
  document: AB-7
  surface_preparation: {grade: Sa 2½}
  profile: {minimum: 1.8 mil, maximum: 3.3 mil, method: ASTM D4417 Method C, edition: "2021", overlap_rule: average,
    readings_per_location: 1, decision_rule: simple, rounding: half-even}
  sampling: {plan: per-shift-and-apparatus, locations: 1}
people: {noor: {name: Noor, role: inspector}}
instruments:
  g1: {kind: thickness gauge, serial: T-1, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil}
  g2: {kind: thickness gauge, serial: T-2, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil}
tape_rolls: {x1: {grade: extra coarse, lot: X-1}, x2: {grade: extra coarse, lot: X-2}}
structures:
  - {id: tank, name: Tank, place: yard, areas: [{id: A-1, name: shell}]}
  - {id: shed, name: Shed, place: hall, areas: [{id: A-2, name: floor}]}
"""
DAY = """\
project: project.yaml
report: {number: AB-7-1, revision: 0, date: 2026-06-12, shift: {start: "06:30", end: "18:00"}, inspector: noor}
LOG
gauge_checks:
  - {time: "07:10", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
  - {time: "07:10", gauge: g2, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
  - {time: "17:30", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
  - {time: "17:30", gauge: g2, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
tape_checks:
  - {time: "07:15", roll: x1, gauge: g1, thickness: 5.6 mil}
  - {time: "07:15", roll: x2, gauge: g2, thickness: 5.6 mil}
surfaces:
  - {area: A-1, apparatus: pot 1, initial_condition: C, blasted: {start: "08:00", end: "09:00", abrasive: steel grit},
    cleanliness: {observed: Sa 2½}, profile: {gauge: g1, readings: [{location: 1, spot: a, x1: 2.8}]}}
  - {area: A-2, apparatus: pot 2, initial_condition: C, blasted: {start: "08:00", end: "09:00", abrasive: slag},
    cleanliness: {observed: Sa 2½}, profile: {gauge: g2, readings: [{location: 1, spot: a, x2: 2.8}]}}
"""


def judged(day):
    job = job_from_files({"project.yaml": PROJECT.encode(), "day.yaml": day.encode()}, "day.yaml", have_photos=False)
    evaluation = evaluate(job)
    found = [one for one in evaluation.findings if one.code == "entry-unfinished"]
    return job, {area.id: area.decision for area in evaluation.areas}, found


def test_the_whole_day_is_released():
    assert judged(DAY.replace("LOG\n", ""))[1:] == ({"A-1": "release", "A-2": "release"}, [])


@pytest.mark.parametrize(
    ("row", "held"),
    [
        ('conditions: [{time: "07:00", place: hall, air: 20 degC}]', {"A-2"}),
        ('conditions: [{time: "07:00", areas: [A-1], air: 20 degC}]', {"A-1"}),
        ('conditions: [{time: "07:00", air: 20 degC}]', {"A-1", "A-2"}),
        ('conditions: [{time: "07:00", place: elsewhere, air: 20 degC}]', {"A-1", "A-2"}),
        ("conditions:", {"A-1", "A-2"}),
        ('air_checks: [{time: "07:00", apparatus: pot 1}]', {"A-1"}),
        ('air_checks: [{time: "07:00", apparatus: pot 3}]', {"A-1", "A-2"}),
        ('abrasive_checks: [{abrasive: slag}]', {"A-2"}),
        ('function_checks: [{time: "07:00"}]', {"A-1", "A-2"}),
        ('hold_points: [{step: look, before: coating, areas: [A-2]}]', {"A-2"}),
        ("nonconformances: [{id: N-1, area: A-1}]", {"A-1"}),
        ("nonconformances: [{id: N-1}]", {"A-1", "A-2"}),
        ("site: {weather: }", {"A-1", "A-2"}),
    ],
)  # fmt: skip
def test_a_row_that_was_begun_holds_what_it_may_be_about(row, held):
    job, decisions, found = judged(DAY.replace("LOG", row))
    assert {area for area, decision in decisions.items() if decision == "hold"} == held
    assert {one.area for one in found} == (held if len(held) == 1 else {None})
    assert [(entry.file, entry.line) for entry in job.unfinished] == [("day.yaml", 3)]


@pytest.mark.parametrize(("gauge", "held"), [("g1", {"A-1"}), ("g2", {"A-2"})])
def test_a_check_holds_what_was_measured_with_its_gauge_or_its_roll(gauge, held):
    begun = DAY.replace("LOG\n", "").replace(f'"17:30", gauge: {gauge}, anvils: clean', f'"17:30", gauge: {gauge}')
    assert {one.area for one in judged(begun)[2]} == held
    roll = DAY.replace("LOG\n", "").replace(f"gauge: {gauge}, thickness: 5.6 mil", f"gauge: {gauge}, thickness: ")
    assert {one.area for one in judged(roll)[2]} == held


@pytest.mark.parametrize(
    ("whole", "begun", "lacks"),
    [
        ('start: "08:00", end: "09:00", abrasive: slag', 'start: "08:00"', ("blasted.end", "blasted.abrasive")),
        ("initial_condition: C, blasted: {start: \"08:00\", end: \"09:00\", abrasive: slag}", "initial_condition: ",
         ("initial_condition", "blasted")),
        ("{gauge: g2, readings: [{location: 1, spot: a, x2: 2.8}]}", "{readings: [{location: 1, spot: a, x2: 2.8}]}",
         ("gauge",)),
        ("[{location: 1, spot: a, x2: 2.8}]", "[{location: 1, spot: a, x2: }]", ("readings[0].x2",)),
        ("[{location: 1, spot: a, x2: 2.8}]", "[{location: 1, spot: a, x2: 2.8}, {location: 2}]",
         ("[1].spot", "[1]")),
        ("cleanliness: {observed: Sa 2½}, profile: {gauge: g2", "cleanliness: {}, profile: {gauge: g2",
         ("cleanliness.observed",)),
        ("Sa 2½}, profile: {gauge: g2", "Sa 2½}, coated: , profile: {gauge: g2", ("coated",)),
        ("Sa 2½}, profile: {gauge: g2", "Sa 2½}, dust: [{location: 1}], profile: {gauge: g2", ("quantity",)),
    ],
)  # fmt: skip
def test_a_surface_that_was_begun_holds_its_area_alone(whole, begun, lacks):
    job, decisions, found = judged(begun.join(DAY.replace("LOG\n", "").rsplit(whole, 1)))
    assert decisions == {"A-1": "release", "A-2": "hold"}
    assert [one.lacks[: len(lacks)] for one in job.unfinished] == [lacks]
    assert {one.area for one in found} == {"A-2"}


@pytest.mark.parametrize("place", ["place: tank", "areas: [A-1]", "place: quay"])
def test_a_reading_that_would_tell_of_a_second_place_holds_all(place):
    """Without it a reading elsewhere would seem to cover every area of the contract."""
    one_place = PROJECT.replace("place: yard, ", "").replace("place: hall, ", "")
    rows = f'conditions: [{{time: "07:00", place: berth, air: 20 degC, humidity: 60 %, steel: 20 degC}}, {{{place}}}]'
    files = {"project.yaml": one_place.encode(), "day.yaml": DAY.replace("LOG", rows).encode()}
    evaluation = evaluate(job_from_files(files, "day.yaml", have_photos=False))
    assert {area.decision for area in evaluation.areas} == {"hold"}


def test_what_was_only_begun_is_not_explained():
    begun = DAY.replace("LOG\n", "").replace('end: "09:00", abrasive: slag', "abrasive: slag")
    job, _, _ = judged(begun)
    with pytest.raises(UsageError, match="nothing entered of area `A-2` is finished"):
        explain_area(job, evaluate(job), "A-2")


def test_a_surface_that_says_no_area_may_be_of_any():
    job, decisions, _ = judged(DAY.replace("LOG\n", "").replace("area: A-2, ", ""))
    assert decisions == {"A-1": "hold"}
    assert [one.lacks for one in job.unfinished] == [("area",)]


def test_what_is_wrong_is_wrong_whatever_is_missing_beside_it():
    begun = DAY.replace("LOG\n", "").replace('end: "09:00", abrasive: slag', "abrasive: slag")
    wrong = {
        "area: A-2": "area: A-9", "gauge: g2, r": "gauge: g9, r", "x2: 2.8": "x9: 2.8", "Sa 2½}": "Sa 2½, colour: red}",
        "a, x2: 2.8": "a, x2: two",
    }  # fmt: skip
    codes = []
    for right, slip in wrong.items():
        with pytest.raises(InputError) as caught:
            judged(slip.join(begun.rsplit(right, 1)))
        codes += [one.code for one in caught.value.diagnostics]
    assert codes == ["JOB204", "JOB202", "JOB203", "JOB110", "CSV113"]


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "day.yaml, line 3, `conditions[0]`: lacks time, steel; there stands <time>"),
        ("de", "day.yaml, Zeile 3, `conditions[0]`: es fehlt time, steel; dort steht <time>"),
    ],
)
def test_it_is_said_in_each_language(language, said):
    _, _, (found,) = judged(DAY.replace("LOG", "conditions: [{time: <time>, air: 20 degC}]"))
    assert sentences(language).observed(found) == said


def test_many_fields_are_told_by_their_number():
    rows = ", ".join(f"{{location: {number}, spot: a, x2: }}" for number in range(1, 10))
    _, _, (found,) = judged(DAY.replace("LOG\n", "").replace("[{location: 1, spot: a, x2: 2.8}]", f"[{rows}]"))
    assert sentences("en").observed(found).endswith("readings[4].x2, readings[5].x2 and 3 more")


def test_every_field_that_is_missing_is_named_by_itself():
    job, _, _ = judged(DAY.replace("LOG", 'conditions: [{time: "07:00", place: hall}]'))
    assert [one.message for one in job.unfilled] == [
        "missing field `air` in `conditions[0]`", "missing field `steel` in `conditions[0]`",
    ]  # fmt: skip
