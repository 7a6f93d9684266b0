"""A contract that speaks of temperatures in °F has all of them so on its pages, each value and U as each limit.

°F = 1.8 °C + 32, exact by definition (NIST SP 811, 2008, appendix B.8); the readings below are entered in °C.
"""

import re
import shutil

import pytest

from reportgen.archival import read_attachments
from reportgen.job.template import Template
from reportgen.pipeline import check
from reportgen.pipeline.building import Terms, build
from reportgen.verification.pagetext import page_texts, text_agrees
from tests.build_samples import DAYS, issue_time
from tests.golden.test_german_pages import text_of


@pytest.fixture(scope="module", params=["en", "de"])
def built(request, tmp_path_factory):
    """The bad day under limits in °F, in a language: what was checked, the file, its text in one line."""
    place = tmp_path_factory.mktemp("contract") / "jobs"
    shutil.copytree(DAYS[1].parent, place)
    project = place / "project.yaml"
    text = project.read_text("utf-8").replace("3 delta_degC", "5 delta_degF")
    assert text != project.read_text("utf-8")
    project.write_text(text.replace("5 degC", "41 degF").replace("40 degC", "104 degF"), "utf-8")
    checked = check(place / DAYS[1].name)
    made = build(checked, Terms("demonstration", issue_time(DAYS[1]), Template(language=request.param)))
    return checked, made.pdf, " ".join(text_of(made.pdf).split()).replace(",", ".")


def test_readings_dew_point_margin_and_budgets(built):
    checked, _, text = built
    first = checked.evaluation.conditions[0]
    assert (first.temperature_unit, str(first.air), str(first.steel)) == ("degF", "54.5", "53.6")
    assert float(first.steel - first.dew_point) == pytest.approx(float(first.margin), abs=0.11)
    assert re.search(rf"06:40 .{{0,40}}54\.5 \S+ 53\.6 {first.dew_point} {first.margin} ", text)
    budgets = {str(one.quantity.key): one.unit for each in checked.evaluation.conditions for one in each.budgets}
    assert {unit for quantity, unit in budgets.items() if quantity != "humidity"} <= {"delta_degF"}


def test_no_celsius_stands_alone(built):
    """The other unit stands in brackets behind a limit; accuracies, and a source, are as stated."""
    _, _, text = built
    bare = re.sub(r"\([^()]*°C\)|± 0\.5 °C|(at least|mindestens) 3 °C", "", text)
    assert "5 °F (2.8 °C)" in text
    assert re.findall(r".{30}°C", bare) == []


def test_what_is_printed_agrees(built):
    checked, pdf, _ = built
    assert text_agrees(page_texts(pdf), read_attachments(pdf), checked.evaluation).status == "passed"
