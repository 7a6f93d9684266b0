"""Somebody else's readings beside the inspector's: what is compared, what is named, and that no verdict rests on it."""

from dataclasses import fields, replace

import pytest

from reportgen.errors import InputError
from reportgen.export import Exported, tables
from reportgen.formats import canonical_json
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
  profile: {minimum: 1.8 mil, maximum: 3.9 mil, method: ASTM D4417 Method C, edition: "2021",
    overlap_rule: single-grade, readings_per_location: 2, decision_rule: guarded, rounding: half-even}
  sampling: {plan: per-shift-and-apparatus, locations: 3}
people: {noor: {name: Noor, role: inspector}}
instruments:
  g1: {kind: thickness gauge, serial: T-1, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil}
tape_rolls: {x1: {grade: extra coarse, lot: X-1}}
structures: [{id: tank, name: Tank, areas: [{id: A-1, name: shell}]}]
"""
OWN = {"1": ("2.8", "2.6"), "2": ("2.9", "2.5"), "3": ("3.0", "2.7"), "4": ("2.6", "2.9"), "5": ("2.8", "3.1")}
ROWS = "".join(
    f"        - {{location: {name}, spot: {spot}, x1: {value}}}\n"
    for name, values in OWN.items()
    for spot, value in zip("ab", values, strict=True)
)
DAY = f"""\
project: project.yaml
report: {{number: AB-7-1, revision: 0, date: 2026-06-12, shift: {{start: "06:30", end: "18:00"}}, inspector: noor}}
gauge_checks:
  - {{time: "07:10", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}}
  - {{time: "17:30", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}}
tape_checks:
  - {{time: "07:15", roll: x1, gauge: g1, thickness: 5.6 mil}}
surfaces:
  - area: A-1
    apparatus: pot 1
    initial_condition: C
    blasted: {{start: "08:00", end: "09:00", abrasive: steel grit}}
    cleanliness: {{observed: Sa 2½}}
COMPARISON
    profile:
      gauge: g1
      readings:
{ROWS}"""


HALF = {name: (f"{float(one) + 0.2:.1f}", other) for name, (one, other) in OWN.items()}


def values(shift="0.0", of=OWN, spots="ab"):
    """Return the other's rows: the inspector's own numbers, each a little more."""
    rows = [
        f"{{location: {name}, spot: {spot}, profile: {float(value) + float(shift):.1f} mil}}"
        for name, read in of.items()
        for spot, value in zip(spots, read, strict=False)
    ]
    return f"values: [{', '.join(rows)}]"


def judged(comparison, day=DAY, project=PROJECT):
    text = f"    comparison: {{by: Q. Maddock, {comparison}}}" if comparison else ""
    day = day.replace("COMPARISON\n", f"{text}\n" if text else "")
    job = job_from_files({"project.yaml": project.encode(), "day.yaml": day.encode()}, "day.yaml")
    evaluation = evaluate(job)
    found = {one.code: one.facts for one in evaluation.findings if one.code.startswith("comparison")}
    return job, evaluation, found


@pytest.mark.parametrize("of", ["", "gauge_accuracy: 0.2 mil, ", "expanded_uncertainty: 0.3 mil, "])
@pytest.mark.parametrize("shift", ["0.0", "0.1", "0.9", "-0.9"])
def test_nothing_else_changes(of, shift):
    _, before, _ = judged("")
    _, after, found = judged(of + values(shift))
    assert found
    assert not {finding.severity for finding in after.findings} - {"observation"}
    left = [one for one in after.findings if not one.code.startswith("comparison")]
    gaps = [one for one in after.not_evaluated if not one.code.startswith("comparison")]
    kept = replace(after, comparisons=(), findings=tuple(left), not_evaluated=tuple(gaps))
    assert kept == before
    assert before.areas[0].decision == "release"


def test_the_difference_of_each_location_with_both_uncertainties():
    """By hand: 3.2 less 2.7 mil is 0.5; U of both by the same budget, so that of the difference is √2 of it."""
    _, evaluation, found = judged("gauge_accuracy: 0.2 mil, gauge: C-1, time: \"10:10\", organisation: Blast Co, "
                                  + values("0.5"))  # fmt: skip
    (result,) = evaluation.comparisons
    assert (result.by, result.gauge, result.time, result.organisation) == ("Q. Maddock", "C-1", "10:10", "Blast Co")
    first, own = result.locations[0], evaluation.areas[0].locations[0]
    assert (str(first.profile), str(first.by_inspector), str(first.difference)) == ("3.20", "2.70", "0.50")
    ratio = float(first.expanded_uncertainty) / float(own.expanded_uncertainty)
    assert ratio == pytest.approx(2**0.5, abs=0.03)
    assert float(first.normalized_error) == pytest.approx(0.5 / float(first.expanded_uncertainty), abs=0.02)
    assert (str(result.mean_difference), result.biased) == ("0.50", True)
    assert found["comparison-biased"].unstated is None


def test_a_stated_uncertainty_is_taken_as_of_two_standard_deviations():
    _, two, _ = judged("expanded_uncertainty: 0.3 mil, " + values("0.2"))
    _, three, _ = judged("expanded_uncertainty: 0.45 mil, coverage_factor: 3, " + values("0.2"))
    assert two.comparisons == three.comparisons
    assert two.comparisons[0].basis.key == "stated"


@pytest.mark.parametrize(
    ("comparison", "project", "basis"),
    [
        (values("0.2"), PROJECT, "not-stated"),
        ("same_replicas: yes, gauge_accuracy: 0.2 mil, " + values("0.2"), PROJECT, "same-replicas"),
        ("gauge_accuracy: 0.2 mil, " + values("0.2"), PROJECT.replace(", accuracy: 0.2 mil", "")
         .replace("decision_rule: guarded", "decision_rule: simple"), "own-unknown"),
        ("gauge_accuracy: 0.2 mil, " + values("0.2", spots="a"), PROJECT.replace("readings_per_location: 2",
         "readings_per_location: 1"), "no-scatter"),
    ],
)  # fmt: skip
def test_without_both_uncertainties_there_is_no_normalized_error(comparison, project, basis):
    day = DAY
    if basis == "no-scatter":
        day = "\n".join(line for line in DAY.split("\n") if "spot: b" not in line)
    _, evaluation, found = judged(comparison, day, project)
    (result,) = evaluation.comparisons
    assert result.basis.key == basis
    assert {one.normalized_error for one in result.locations} == {None}
    assert "comparison-apart" not in found
    (gap,) = [one for one in evaluation.not_evaluated if one.code == "comparison-without-error"]
    assert sentences("en").left_out(gap).startswith("E_n of Q. Maddock on area A-1: ")
    assert result.mean_difference is not None


def test_a_bias_without_anything_on_record_of_the_other_says_so():
    _, evaluation, found = judged(values("0.4"))
    assert found["comparison-biased"].unstated.key == "not-stated"
    (finding,) = [one for one in evaluation.findings if one.code == "comparison-biased"]
    assert "the other states no uncertainty" in sentences("en").observed(finding)
    assert "der andere gibt weder" in sentences("de").observed(finding)


def test_an_honest_shift_within_both_gauges_is_no_bias():
    _, evaluation, found = judged("gauge_accuracy: 0.2 mil, " + values("0.2", of=HALF))
    assert (evaluation.comparisons[0].biased, found) == (False, {})


@pytest.mark.parametrize("shift", ["0.1", "-0.2"])
def test_a_copy_with_a_constant_added_is_named(shift):
    _, evaluation, found = judged("gauge_accuracy: 0.2 mil, " + values(shift))
    facts = found["comparison-shifted"]
    assert (facts.readings, float(facts.shift.value), facts.one_in > 100) == (10, float(shift), True)
    assert "comparison-equal" not in found
    (one,) = [each for each in evaluation.findings if each.code == "comparison-shifted"]
    assert "all 10 readings differ from the inspector's by " in sentences("en").told(one)
    assert "alle 10 Messwerte weichen um " in sentences("de").told(one)


@pytest.mark.parametrize(
    "comparison",
    ["same_replicas: yes, " + values("0.1"), values("0.1", of={"1": OWN["1"], "2": OWN["2"]}),
     values("0.1").replace("profile: 3.2", "profile: 3.3")],
    ids=["the same replicas", "four readings", "one that differs"],
)  # fmt: skip
def test_a_constant_between_few_readings_or_all_but_one_names_nobody(comparison):
    assert "comparison-shifted" not in judged(comparison)[2]


def test_a_copy_is_named_with_its_chance():
    _, evaluation, found = judged("gauge_accuracy: 0.2 mil, " + values())
    (result,) = evaluation.comparisons
    assert (result.compared, result.equal) == (10, 10)
    assert (found["comparison-equal"].equal, found["comparison-equal"].readings) == (10, 10)
    assert result.chance_of_equal < 1e-4
    assert found["comparison-equal"].one_in == pytest.approx(1 / float(result.chance_of_equal), rel=0.2)


ONE_DIFFERS = values().replace("location: 5, spot: b, profile: 3.1", "location: 5, spot: b, profile: 3.2")


@pytest.mark.parametrize(
    ("comparison", "equal", "of"),
    [(values(of={name: OWN[name] for name in "12"}), 4, 4), (values(of={name: OWN[name] for name in "123"}), 6, 6),
     (ONE_DIFFERS, 9, 10)],
    ids=["two locations", "three locations", "one that differs"],
)  # fmt: skip
def test_a_copy_of_few_readings_is_named_too_and_one_of_which_one_was_changed(comparison, equal, of):
    _, evaluation, found = judged(comparison)
    facts = found["comparison-equal"]
    assert (facts.equal, facts.readings) == (equal, of)
    assert facts.one_in > 100
    (one,) = [each for each in evaluation.findings if each.code == "comparison-equal"]
    assert f"{equal} of {of} readings equal the inspector's" in sentences("en").told(one)
    assert f"{equal} von {of} Messwerten gleich" in sentences("de").told(one)
    assert evaluation.areas[0].decision == "release"


SPOTS = {"1": ("2.2", "2.6"), "2": ("2.9", "2.4"), "3": ("3.1", "2.7"), "4": ("2.1", "2.5"), "5": ("2.8", "3.2")}
"""Values that scatter, so that few agree by chance."""


def test_a_copy_whose_spots_change_places_is_one():
    """Each location says the inspector's two numbers, under the other's letters."""
    day = DAY
    for name, both in OWN.items():
        for spot, old, new in zip("ab", both, SPOTS[name], strict=True):
            row = f"location: {name}, spot: {spot}, x1: "
            assert f"{row}{old}" in day
            day = day.replace(f"{row}{old}", f"{row}{new}")
    _, evaluation, found = judged(values(of={name: both[::-1] for name, both in SPOTS.items()}), day)
    (result,) = evaluation.comparisons
    assert (found["comparison-equal"].equal, result.equal, result.compared) == (10, 10, 10)
    others = {name: (str(float(a) + 0.3), str(float(b) - 0.3)) for name, (a, b) in SPOTS.items()}
    assert "comparison-equal" not in judged(values(of=others), day)[2]


@pytest.mark.parametrize(
    "comparison",
    ["same_replicas: yes, " + values(), values(of={"1": OWN["1"]}), values(of=HALF)],
    ids=["the same replicas", "one location", "half of them"],
)
def test_and_nothing_else_is_called_one(comparison):
    assert "comparison-equal" not in judged(comparison)[2]


def test_values_of_whole_locations_are_compared_with_those_of_the_inspector():
    rows = ", ".join(
        f"{{location: {name}, profile: {(float(a) + float(b)) / 2:.2f} mil}}" for name, (a, b) in OWN.items()
    )
    _, evaluation, found = judged(f"values: [{rows}]")
    (result,) = evaluation.comparisons
    assert (result.compared, result.equal, "comparison-equal" in found) == (5, 5, True)
    assert {str(one.difference) for one in result.locations} == {"0.00"}


def test_values_in_another_unit():
    _, mil, _ = judged(
        "gauge_accuracy: 0.2 mil, values: [{location: 1, profile: 2.5 mil}, {location: 2, profile: 3 mil}]"
    )
    _, um, _ = judged(
        "gauge_accuracy: 5.08 um, values: [{location: 1, profile: 63.5 um}, {location: 2, profile: 76.2 um}]"
    )
    one, other = mil.comparisons[0].locations, um.comparisons[0].locations
    assert [(a.profile, a.difference) for a in one] == [(a.profile, a.difference) for a in other]


def test_a_location_without_a_profile_of_the_inspector_is_said():
    _, evaluation, _ = judged("values: [{location: 1, profile: 2.5 mil}, {location: 8, profile: 2.5 mil}]")
    said = [sentences("en").left_out(gap) for gap in evaluation.not_evaluated]
    assert "readings of Q. Maddock on area A-1, location 8: the inspector has no profile there" in said
    assert "readings of Q. Maddock on area A-1: one location has no mean difference" in said
    assert [one.id for one in evaluation.comparisons[0].locations] == ["1"]


@pytest.mark.parametrize(
    ("comparison", "code"),
    [
        ("values: [{location: 1, profile: 2.5 mil}, {location: 1, profile: 2.6 mil}]", "JOB168"),
        ("expanded_uncertainty: 0.2 mil, coverage_factor: 0, values: [{location: 1, profile: 2.5 mil}]", "JOB168"),
        ("values: [{location: 1, profile: 2.5}]", "JOB130"),
        ('time: "10:99", values: [{location: 1, profile: 2.5 mil}]', "JOB125"),
    ],
)
def test_what_is_wrong_is_refused(comparison, code):
    with pytest.raises(InputError) as caught:
        judged(comparison)
    assert [one.code for one in caught.value.diagnostics] == [code]


def test_it_is_explained_exported_and_written():
    job, evaluation, _ = judged("gauge_accuracy: 0.2 mil, " + values("0.5"))
    steps = explain_area(job, evaluation, "A-1")
    said = sentences("en")
    told = [said.text(step.result) for step in steps if "Maddock" in said.text(step.what)]
    assert len(told) == 6
    assert told[0].startswith("location 1: 0.50 mil ± ")
    assert told[-1].startswith("0.50 mil ± ")
    found = {table.name: table for table in tables([Exported(job, evaluation)])}
    assert [row[6] for row in found["compared locations"].rows] == list(OWN)
    assert found["comparisons"].rows[0][5] == "Q. Maddock"
    assert b'"normalized_error"' in canonical_json(evaluation)
    assert {field.name for field in fields(evaluation)} >= {"comparisons"}


def test_the_limits_of_error_of_their_gauge_may_be_a_share_of_film_and_profile():
    """Theirs is 3.0 mil at two locations, 5 mil with the film: 1 % + 0.2 mil are 0.25 mil, everywhere."""
    rows = "values: [{location: 1, profile: 3.0 mil}, {location: 2, profile: 3.0 mil}]"
    share, fixed = (
        judged(f"{accuracy}, {rows}")[1].comparisons
        for accuracy in ("gauge_accuracy: 0.2 mil, gauge_accuracy_of_reading: 1 %", "gauge_accuracy: 0.25 mil")
    )
    assert share == fixed
    alone, same = (
        judged(f"{accuracy}, {rows}")[1].comparisons
        for accuracy in ("gauge_accuracy_of_reading: 5 %", "gauge_accuracy: 0.25 mil")
    )
    assert alone == same
    assert alone[0].basis.key == "from-accuracy"


def test_a_share_of_the_inspectors_gauge_enters_the_mean_difference():
    """The inspector's means, 2.7 at both locations, are 4.7 mil with the film: 5 % are 0.235 mil."""
    rows = "gauge_accuracy: 0.2 mil, values: [{location: 1, profile: 3.0 mil}, {location: 2, profile: 3.0 mil}]"
    share, fixed = (
        judged(rows, project=PROJECT.replace("accuracy: 0.2 mil", accuracy))[1].comparisons
        for accuracy in ("accuracy_of_reading: 5 %", "accuracy: 0.235 mil")
    )
    assert share == fixed
