"""What the commands say of locations: too few on one apparatus, too near to a limit, far from the others, how sure."""

import csv
import json

import pytest
from pypdf import PdfReader

from tests.unit.cli.conftest import DAY, PROJECT

SURFACES = DAY.partition("surfaces:\n")[2].partition("not_inspected")[0]
SAMPLING = '{clause: "2.2", plan: per-shift-and-apparatus, locations: 1}'
FIXED = '{clause: "2.2", plan: fixed, locations: %d}'


def surface(*values, apparatus="pot 1", blasted=("08:00", "10:30"), first=1, column="x1"):
    """A surface with a value for each location, or one for each of its spots: ``55/56``."""
    rows = "".join(
        f"        - {{location: {number}, spot: {spot}, {column}: {value}}}\n"
        for number, values_of_it in enumerate(values, first)
        for spot, value in zip("ab", values_of_it.split("/"), strict=False)
    )
    profile = f"    profile:\n      gauge: g1\n      readings:\n{rows}" if values else ""
    return f"""\
  - area: A-1
    apparatus: {apparatus}
    initial_condition: B
    blasted: {{start: "{blasted[0]}", end: "{blasted[1]}", abrasive: steel grit}}
    cleanliness: {{observed: SSPC-SP 10, staining: 2 %}}
{profile}"""


@pytest.fixture
def write(contract):
    """Write the contract: words of the project file and of the day file changed, these surfaces inspected."""

    def written(*surfaces, project=(), day=()):
        text, today = PROJECT, DAY.replace(SURFACES, "".join(surfaces))
        for before, after in project:
            assert before in text
            text = text.replace(before, after)
        for before, after in day:
            assert before in today
            today = today.replace(before, after)
        (contract / "project.yaml").write_text(text, encoding="utf-8")
        (contract / "day.yaml").write_text(today, encoding="utf-8")

    return written


@pytest.fixture
def area(run):
    """The area A-1 of the evaluation as data."""

    def evaluated():
        data = json.loads(run("check", "--json", "day.yaml").out)
        return next(one for one in data["areas"] if one["id"] == "A-1"), data

    return evaluated


# Sampling

THREE = (SAMPLING, SAMPLING.replace("locations: 1", "locations: 3"))


def test_six_locations_on_one_apparatus_do_not_release_what_the_other_blasted(run, write, area):
    write(surface(*["2.9"] * 6), surface(apparatus="pot 2", blasted=("11:00", "12:30")), project=[THREE])
    code, out, _ = run("check", "day.yaml")
    said = " ".join(out.split())
    assert code == 1
    assert "Inconclusive: 1 of 1 inspected areas on hold" in said
    assert (
        "A-1: pot 2, blasted 11:00 to 12:30: no location; at least 3 locations on each surface that was blasted "
        "required (clause 2.2) [surface-not-measured]" in said
    )
    assert "A-1 hold 6 locations (6 required), pot 2 0 of 3, mean" in said
    found, data = area()
    assert (found["decision"], found["required_locations"], found["n_locations"]) == ("hold", 6, 6)
    assert found["sampling"] == [
        {"apparatus": "pot 1", "required": 3, "taken": 6},
        {"apparatus": "pot 2", "required": 3, "taken": 0},
    ]
    steps = [(step["code"], step["count"], step["apparatus"]) for step in data["measure_next"] if step["count"]]
    assert steps == [("measure-part", 3, "pot 2")]


@pytest.mark.parametrize("plan", ["plan: fixed, locations: 6", "plan: area-rate, locations: 6, first_area: 12 m2"])
def test_no_plan_clears_a_surface_that_nobody_measured(run, write, plan):
    write(
        surface(*["2.9"] * 6), surface(apparatus="pot 2", blasted=("11:00", "12:30")),
        project=[(SAMPLING, f"{{{plan}}}")],
    )  # fmt: skip
    code, out, _ = run("check", "day.yaml")
    assert code == 1
    assert "[surface-not-measured]" in out
    assert "hold" in out


def test_the_derivation_and_the_export_count_each_apparatus(run, write, contract):
    write(surface(*["2.9"] * 6), surface("3.0", apparatus="pot 2", blasted=("11:00", "12:30")), project=[THREE])
    out = " ".join(run("explain", "day.yaml", "--area", "A-1").out.split())
    assert "from 7 regular locations from pot 1: 6 of 3 from pot 2: 1 of 3" in out
    assert run("export", "day.yaml", "--to", "csv", "-o", "tables").code == 0
    with (contract / "tables" / "sampling.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = [row[3:] for row in csv.reader(file)][1:]
    assert rows == [["A-1", "pot 1", "", "3", "6"], ["A-1", "pot 2", "", "3", "1"]]


def test_the_next_day_asks_for_the_apparatus_that_lacks_locations(run, write, contract):
    write(
        surface("2.9", "3.0", apparatus="pot 2"), surface(*["2.9"] * 6, blasted=("11:00", "12:30")), project=[THREE]
    )  # fmt: skip
    assert run("new", "--next", "day.yaml").code == 0
    text = (contract / "2026-05-05.yaml").read_text(encoding="utf-8")
    entry = text.partition("# A-1, gate")[2].partition("# A-2")[0]
    assert "#   1 more location on pot 2." in entry
    assert entry.count("more location") == 1
    first, _, other = entry.partition("apparatus: pot 1")  # bare, and so to be entered as it was
    assert "apparatus: pot 2" in first
    assert [text.count("# bare since SL-1-001: if it was not blasted again, leave") for text in (first, other)] == [
        1,
        1,
    ]


def test_the_field_sheet_says_where_locations_are_missing_and_which_to_measure_again(run, write, contract):
    write(surface(*["2.9"] * 6), surface(apparatus="pot 2", blasted=("11:00", "12:30")), project=[THREE])
    assert run("sheet", "day.yaml", "-o", "pots.pdf").code == 0
    assert "3 more locations on pot 2." in _text(contract / "pots.pdf")
    write(surface("72/74", "55/56", "70/69"), project=METRIC, day=METRIC_DAY)
    assert run("sheet", "day.yaml", "-o", "again.pdf").code == 0
    assert "Location 2 again, in a later report with a gauge of smaller error, or a decision on it." in _text(
        contract / "again.pdf"
    )


def _text(path):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


def test_an_area_blasted_over_two_periods_needs_locations_in_each(run, write):
    long = [('end: "15:00"', 'end: "23:00"'), ('time: "14:30"', 'time: "22:30"')]
    write(surface(*["2.9"] * 6, blasted=("17:00", "21:00")), project=[THREE], day=long)
    out = " ".join(run("check", "day.yaml").out.split())
    assert "pot 1, 07:00 to 19:00: no location; 6 locations on steel of either period" in out
    # entered once for each period, with names of its own for the locations of the second
    twice = (
        surface(*["2.9"] * 3, blasted=("17:00", "19:00")), surface(*["2.9"] * 3, blasted=("19:00", "21:00"), first=4)
    )  # fmt: skip
    write(*twice, project=[THREE], day=long)
    code, out, err = run("check", "day.yaml")
    assert (code, err) == (0, "")
    assert "A-1          release  6 locations (6 required)" in out


# Guard bands

GUARDED = [
    ("decision_rule: simple, rounding: half-even", "decision_rule: guarded, rounding: none"),
    ("overlap_rule: average", "overlap_rule: single-grade"),
]
METRIC = [
    *GUARDED, (SAMPLING, FIXED % 3), ("readings_per_location: 1", "readings_per_location: 2"),
    ("minimum: 2.0 mil, maximum: 3.5 mil", "minimum: 50 um, maximum: 100 um"),
    ("unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil", "unit: um, resolution: 1 um, accuracy: 5 um"),
]  # fmt: skip
METRIC_DAY = [
    ("preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil", "preset: -50 um, shim: 75 um, shim_reading: 75 um"),
    ("thickness: 5.6 mil", "thickness: 140 um"),
]


def test_a_location_within_the_limits_is_measured_again_and_does_not_fail(run, write, area):
    write(surface("72/74", "55/56", "70/69"), project=METRIC, day=METRIC_DAY)
    code, out, _ = run("check", "--all", "day.yaml")
    said = " ".join(out.split())
    assert code == 1
    assert "Inconclusive: 1 of 1 inspected areas on hold" in said
    assert (
        "A-1 location 2: profile 55.5 µm ± 6.3 µm within the limits, not accepted: at least 50 µm, with "
        "a guard band of 6.3 µm (clause 2.2) [profile-in-guard-band]" in said
    )
    for wrong in ("below", "rework", "walk-out", "does not conform", "raise a nonconformance"):
        assert wrong not in said, wrong
    found, data = area()
    assert [one["verdict"] for one in found["locations"]] == ["conforms", "inconclusive", "conforms"]
    assert [one["code"] for one in data["findings"]] == ["profile-in-guard-band"]
    (step,) = data["measure_next"]
    assert (step["code"], step["answers"]) == ("measure-location-again", "profile-in-guard-band")
    assert step["place"] == {"area": "A-1", "location": "2"}


def test_a_location_outside_the_limits_fails_under_the_guarded_rule_too(write, area):
    write(surface("72/74", "49/49", "70/69"), project=METRIC, day=METRIC_DAY)
    found, data = area()
    assert found["decision"] == "rework"
    assert [one["code"] for one in data["findings"]][:2] == ["profile-below-minimum", "walk-out-missing"]


def test_derivation_export_and_next_day_say_the_same(run, write, contract):
    write(surface("72/74", "55/56", "70/69"), project=METRIC, day=METRIC_DAY)
    out = " ".join(run("explain", "day.yaml", "--area", "A-1").out.split())
    assert "location 2, verdict: inconclusive; compared: 55.5; within the limits, nearer to them than U" in out
    assert run("export", "day.yaml", "--to", "csv", "-o", "tables").code == 0
    text = (contract / "tables" / "locations.csv").read_text(encoding="utf-8-sig")
    assert "A-1,2,55.5,um,inconclusive,6.3," in text
    assert run("new", "--next", "day.yaml").code == 0
    text = (contract / "2026-05-05.yaml").read_text(encoding="utf-8")
    assert "#   Location 2 again, in a later report with a gauge of smaller error, or a decision on it." in text
    assert "walk-out" not in text


@pytest.mark.parametrize("rule", ["guarded", "banded"])
def test_the_pages_say_what_the_limit_has_to_do_with_it_and_verify(run, write, contract, rule):
    write(surface("72/74", "55/56", "70/69"), project=METRIC, day=METRIC_DAY)
    project = contract / "project.yaml"
    project.write_text(project.read_text(encoding="utf-8").replace("guarded", rule), encoding="utf-8")
    code, _, err = run("issue", "day.yaml", "--identity", "demo", "-o", "out.pdf")
    assert (code, err) == (0, "")
    assert "9  passed         text on the pages agrees" in run("verify", "out.pdf").out
    text = _text(contract / "out.pdf")
    assert ("too near 50" if rule == "guarded" else "conforms, conditionally") in text
    assert "below 50" not in text
    assert "does not conform, rework" in text  # the legend of the marks
    assert text.count("does not conform") == 1


def test_a_day_in_mil_and_the_same_day_in_micrometres_are_judged_alike(write, area):
    """2.20 mil lies inside 1.95 mil by 0.25, and U is 0.2517 mil: printed as 0.25 it would accept, as 6.4 µm not."""
    found = {}
    for unit, limits, value, gauge, day in (
        (
            "mil", "minimum: 1.95 mil, maximum: 3.5 mil", "2.2", "unit: mil, resolution: 0.1 mil, accuracy: 0.202 mil",
            (),
        ),
        (
            "um", "minimum: 49.53 um, maximum: 88.9 um", "55.88", "unit: um, resolution: 2.54 um, accuracy: 5.1308 um",
            METRIC_DAY,
        ),
    ):  # fmt: skip
        project = [
            *GUARDED, ("minimum: 2.0 mil, maximum: 3.5 mil", limits),
            ("unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil", gauge),
        ]  # fmt: skip
        write(surface(value), project=project, day=day)
        one, data = area()
        (location,) = one["locations"]
        # no real gauge has steps of 2.54 µm: that its checks are no multiples of them is not what this is about
        codes = [f["code"] for f in data["findings"] if f["code"] != "entry-doubtful"]
        found[unit] = (location["verdict"], location.get("band"), one["decision"], codes)
    assert found["mil"] == found["um"]
    assert found["mil"][0] == "inconclusive"


# Outliers and uncertainty


def test_three_rounded_readings_have_no_outlier(run, write):
    write(surface("2.8", "2.8", "2.9"), project=[(SAMPLING, FIXED % 3)])
    code, out, _ = run("check", "--all", "day.yaml")
    assert code == 0
    assert "outlier" not in out


def test_a_wild_location_among_six_is_noted(run, write):
    write(surface("2.8", "2.9", "2.8", "2.9", "2.8", "3.4"), project=[(SAMPLING, FIXED % 6)])
    code, out, _ = run("check", "day.yaml")
    assert code == 0
    apart = "A-1 location 6: 3.40 mil lies apart from the other locations (Grubbs' test, G = 1.9809) [outlier]"
    assert apart in " ".join(out.split())


def test_a_whole_number_of_degrees_of_freedom_is_not_lost_to_a_root(write, area):
    """Variance 13/1200 of four locations, common part 0.2²/3 + 0.05²/12: 3·(1 + 5)² = 108; with rounded roots 107."""
    project = [
        (SAMPLING, FIXED % 4), ("kind: thickness gauge", "kind: depth micrometer"),
        ("resolution: 0.1 mil", "resolution: 0.05 mil"), ("ASTM D4417 Method C", "ASTM D4417 Method B"),
    ]  # fmt: skip
    project.append(("decision_rule:", "location_value: mean, decision_rule:"))
    tape = 'tape_checks:\n  - {time: "07:15", roll: x1, gauge: g1, thickness: 5.6 mil}\n'
    day = [("anvils: clean, preset: -2.0 mil", "tip: clean, zero: 0.0 mil"), (tape, "")]
    write(surface("2.50", "2.60", "2.65", "2.75", column="depth"), project=project, day=day)
    found, _ = area()
    assert found["effective_degrees_of_freedom"] == 108


def test_a_film_taken_off_twice_is_not_released(run, write):
    """The gauge was pre-set, and one area of two says that its readings include the film: steel at 4.8, said as 2.8."""
    other = surface("4.8").replace("A-1", "A-2").replace("gauge: g1", "gauge: g1\n      film: included")
    write(surface("2.8"), other, day=[("not_inspected: [{area: A-2, reason: scaffold not released}]\n", "")])
    code, out, _ = run("check", "day.yaml")
    said = " ".join(out.split())
    assert code == 1
    assert "A-2: film included, but g1 at 07:10: anvils clean, pre-set -2.0 mil" in said
    assert "A-2 hold" in said
    assert "A-1 release" in said
