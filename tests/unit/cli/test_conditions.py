"""What the commands say of the uncertainty of the conditions: check, its data, the steps, the pages, verification."""

import json
import re

import pytest
from pypdf import PdfReader

from tests.unit.cli.conftest import DAY, PROJECT


@pytest.fixture
def guarded(contract):
    """A contract whose conditions are judged by a guarded rule, its instruments with or without their accuracy."""

    def written(*, accuracy=True, rule="guarded"):
        known = ", accuracy: 3 %, temperature_accuracy: 0.5 delta_degC" if accuracy else ""
        tools = (
            f"instruments:\n  h1: {{kind: hygrometer, serial: H-1{known}}}\n"
            "  t1: {kind: surface thermometer, serial: T-1, accuracy: 0.5 delta_degC}\n"
        )
        limits = f"  conditions: {{dew_point_margin: 3 delta_degC, decision_rule: {rule}}}\n  sampling:"
        project = PROJECT.replace("instruments:\n", tools, 1).replace("  sampling:", limits, 1)
        assert project.count("h1:") == project.count("decision_rule: " + rule + "}") == 1
        reading = '{time: "07:30", air: 15.0 degC, humidity: 85 %, steel: 16.2 degC, instruments: [h1, t1]}'
        assert "\nconditions:" not in DAY
        (contract / "project.yaml").write_text(project, encoding="utf-8")
        (contract / "day.yaml").write_text(DAY + f"conditions:\n  - {reading}\n", encoding="utf-8")

    return written


@pytest.mark.parametrize(
    ("steel", "said", "unsaid"),
    [("-14 degC", "steel below the dew point by 26.5 °C", "above the dew point by -"),
     ("14 degC", "steel above the dew point by 1.5 °C", "below the dew point")],
)  # fmt: skip
def test_steel_colder_than_the_dew_point_is_said_to_be_below_it(guarded, run, contract, steel, said, unsaid):
    guarded(rule="simple")
    day = contract / "day.yaml"
    day.write_text(day.read_text("utf-8").replace("16.2 degC", steel + ", confirmed: yes"), "utf-8")
    told = " ".join(run("check", "--all", "day.yaml").out.split())
    assert said in told
    assert unsaid not in told


def test_a_margin_of_3_7_degrees_is_on_hold_against_3_and_checked_with_its_uncertainty(guarded, run):
    guarded()
    said = " ".join(run("check", "day.yaml").out.split())
    assert "margin of the steel above the dew point 3.7 °C ± 1.0 °C while blasting" in said
    assert "not accepted: steel above the dew point by at least 3 °C" in said
    data = json.loads(run("check", "--json", "day.yaml").out)
    (result,) = data["conditions"]
    assert (result["margin"], result["expanded_uncertainty"], result["coverage_factor"]) == (3.7, 1.0, 1.96)
    assert 0.85 < result["probability_of_conformity"] < 0.95
    assert result["budgets"][0]["standard_uncertainty"] == pytest.approx(0.51, abs=0.01)
    assert "effective_degrees_of_freedom" not in result["budgets"][0]
    assert {area["decision"] for area in data["areas"] if area["n_locations"]} == {"hold"}


def test_an_accuracy_that_is_not_on_record_is_said_whatever_the_rule(guarded, run):
    guarded(accuracy=False, rule="simple")
    said = " ".join(run("check", "--all", "day.yaml").out.split())
    assert "accuracy for the air temperature of h1, accuracy for the relative humidity of h1" in said
    assert "inconclusive" not in said
    guarded(accuracy=False)
    held = " ".join(run("check", "day.yaml").out.split())
    assert "uncertainty not known" in held
    assert "decision rule `guarded` needs the errors of the instruments" in held


def test_the_steps_and_the_pages_show_the_budget(guarded, run):
    guarded()
    steps = " ".join(run("explain", "--area", "A-1", "day.yaml").out.split())
    assert "uncertainty of the margin of the steel above the dew point" in steps
    assert "relative humidity: 3 %, rectangular, over 1.732, times -0.179" in steps
    assert "k = 1.96, U = 1.0 °C" in steps
    run("draft", "day.yaml", "-o", "out.pdf")
    text = " ".join(" ".join(page.extract_text() for page in PdfReader("out.pdf").pages).split())
    assert "air °C 0.6, humidity % 4, steel °C 0.6, dew point °C 0.8, margin °C 1.0" in text
    assert re.search(r"margin of the steel above the dew point 07:30 0\.5\d* ∞ 1\.96 1\.0 °C", text)
    assert "guarded" in text
