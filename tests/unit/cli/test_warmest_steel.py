"""How warm the steel may be is judged by the warmest of it; where that was not measured, the area waits."""

import json

import pytest
from pypdf import PdfReader

from tests.unit.cli.conftest import DAY, PROJECT


@pytest.fixture
def judged(contract, run):
    """Return the decision, the findings on the steel and the pages of a day whose steel may have 50 °C at most."""

    def judge(*readings):
        limits = "  conditions: {maximum_steel: 50 degC}\n  sampling:"
        (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", limits, 1), encoding="utf-8")
        log = "".join(
            f'  - {{time: "{at}", air: 40 degC, humidity: 20 %, steel: {steel}, confirmed: yes}}\n'
            for at, steel in readings
        )
        (contract / "day.yaml").write_text(f"{DAY}conditions:\n{log}", encoding="utf-8")
        data = json.loads(run("check", "--json", "day.yaml").out)
        found = [one["code"] for one in data["findings"] if one["code"].startswith("steel-")]
        assert run("draft", "day.yaml", "-o", "draft.pdf").code == 0
        text = " ".join(" ".join(page.extract_text() for page in PdfReader("draft.pdf").pages).split())
        return next(one["decision"] for one in data["areas"] if one["id"] == "A-1"), found, text

    return judge


def test_the_coldest_steel_alone_shows_no_highest_temperature(judged, run):
    decision, found, text = judged(("07:30", "49.2 degC"))
    assert (decision, found) == ("hold", ["steel-warmest-missing"])
    assert "coldest steel 49.2 °C while blasting; the warmest steel was not measured" in text
    said = " ".join(run("check", "day.yaml").out.split())
    assert "the warmest steel was not measured; steel temperature at most 50 °C required" in said


def test_a_coldest_steel_above_the_limit_misses_it_whatever_the_warmest(judged):
    decision, found, _ = judged(("07:30", "50.6 degC"))
    assert (decision, found) == ("rework", ["steel-too-warm"])


@pytest.mark.parametrize(("warmest", "decision"), [("50.0 degC", "release"), ("50.1 degC", "rework")])
def test_the_warmest_steel_decides_and_stands_in_the_row(judged, warmest, decision):
    told, _, text = judged(("07:30", f"44 degC, steel_warmest: {warmest}"))
    assert told == decision
    start = "07:30: " if decision == "release" else "07:30: steel temperature "
    assert f"{start}{warmest[:4]} °C" in text


def test_a_reading_while_nothing_was_done_needs_no_warmest_steel(judged):
    decision, found, text = judged(("07:30", "44 degC, steel_warmest: 46 degC"), ("14:50", "45 degC"))
    assert (decision, found) == ("release", [])
    assert "Steel temperature, highest at most 50 °C" in text
    assert "1 of 1 07:30: 46.0 °C" in text


def test_the_sheet_asks_for_it_where_the_contract_limits_it(judged, contract, run):
    judged(("07:30", "44 degC"))
    assert run("sheet", "day.yaml", "-o", "sheet.pdf").code == 0
    assert "Warm. st." in " ".join(page.extract_text() for page in PdfReader("sheet.pdf").pages)
    (contract / "project.yaml").write_text(PROJECT, encoding="utf-8")
    assert run("sheet", "day.yaml", "-o", "other.pdf").code == 0
    assert "Warm. st." not in " ".join(page.extract_text() for page in PdfReader("other.pdf").pages)
