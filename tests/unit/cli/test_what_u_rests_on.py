"""The pages say on what an uncertainty rests: the range of a published precision, and an error nobody stated."""

import re

import pytest
from pypdf import PdfReader

from tests.unit.cli.conftest import DAY, PROJECT

LIMIT = "  soluble_salts: {maximum: 50 mg/m2, expressed_as: mixed salts by conductivity, tests: 1}\n  sampling:"
K1 = "  k1: {kind: conductivity meter, serial: K-1, accuracy: 2 %}\ntape_rolls:"


@pytest.fixture
def drafted(contract, run):
    """Return the words of a draft, and what `check` says, of a salt test and a gauge with whatever it states."""

    def draft(sample="9 uS/cm", salts="", shim="", accuracy="accuracy: 0.2 mil"):
        project = PROJECT.replace("  sampling:", LIMIT.replace("tests: 1", f"tests: 1{salts}"), 1)
        project = project.replace("tape_rolls:", K1, 1).replace("accuracy: 0.2 mil", f"{accuracy}{shim}", 1)
        (contract / "project.yaml").write_text(project, "utf-8")
        test = f"{{location: 1, area: 12.5 cm2, volume: 3 ml, blank: 1.5 uS/cm, sample: {sample}, instrument: k1}}"
        day = DAY.replace("not_inspected", f"    salts: [{test}]\nnot_inspected", 1)
        (contract / "day.yaml").write_text(day, "utf-8")
        assert run("draft", "day.yaml", "-o", "day.pdf").code == 0
        text = " ".join(page.extract_text() for page in PdfReader("day.pdf").pages)
        return re.sub(r"\s+", " ", text), " ".join(run("check", "day.yaml", "--all").out.split())

    return draft


@pytest.mark.parametrize(("sample", "source"), [
    ("9 uS/cm", "taken beyond the range it is published for"), ("40 uS/cm", "precision of a single result"),
    ("90 uS/cm", "taken beyond the range it is published for"),
])  # fmt: skip
def test_the_precision_of_a_salt_test_has_its_source_and_its_range(drafted, sample, source):
    text, _ = drafted(sample=sample)
    assert "from 30 mg/m² to 80 mg/m², and nothing outside that range" in text
    assert f"(NACE SP0508, {source})" in text


def test_one_that_the_contract_states_is_the_contracts(drafted):
    text, _ = drafted(salts=", precision: 5 mg/m2")
    assert "(as the contract states it)" in text
    assert "nothing outside that range" not in text


def test_a_shim_without_an_error_on_record_is_named(drafted):
    told = "U of the profile read with g1 is without the error of the shim it was checked on"
    assert [told in one for one in drafted()] == [True, True]
    assert [told in one for one in drafted(shim=", shim_accuracy: 0.2 mil")] == [False, False]
    assert [told in one for one in drafted(accuracy="make: Works")] == [False, False]  # there is no U
