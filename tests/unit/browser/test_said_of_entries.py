"""What a page says of entries that are being typed: in the words of its fields, linked to each; and when it asks."""

import json
import re

import pytest

from reportgen.browser.changing import entered
from reportgen.browser.checks_views import checks_view
from reportgen.browser.contract_pages import refusal_of_answer
from reportgen.browser.sight import seen
from reportgen.intake.changes import Address, content_at
from reportgen.yamlsource import parse_yaml
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, contract

__all__ = ["contract"]

BEGUN = """\
  - area: A-1
    apparatus: pot 1
    blasted: {start: "11:00", abrasive: steel grit}
nonconformances:
  - {id: NCR-1, area: A-1, findings: [grade-not-met], status: open}
not_inspected"""
LACKING = DAY.replace("not_inspected", BEGUN).replace("anvils: clean, ", "", 1)


def margin(contract, language, area=None, day=LACKING):
    (contract / "day.yaml").write_text(day, "utf-8")
    found = seen(contract / "day.yaml", language).margin(area)
    return {one["to"]: f"{one['where']}: {one['text']}" for one in (*found["here"], *found["elsewhere"])}


def test_an_unfinished_entry_is_told_in_words_and_leads_to_where_it_is_typed(contract):
    said = margin(contract, "en")
    of_area, of_log = "/shift/day/area/A-1?entry=2#setup", "/shift/day/checks#gauge_checks"
    assert said[of_area] == "A-1, pot 1, 11:00: still lacks: initial condition, end of blasting"
    assert said[of_log] == "gauge check 07:10, g1: still lacks: anvils"
    assert "disposition" in said["/shift/day/nonconformances"]
    assert not any(text in " ".join(said.values()) for text in ("day.yaml", "initial_condition", "[0]", "`"))
    assert margin(contract, "de")[of_area].endswith("es fehlt noch: Rostgrad, Ende des Strahlens")


def test_a_head_half_typed_is_told_in_words_and_leads_to_the_report(contract):
    day = re.sub(r"start: \S+,", 'start: "07",', re.sub(r"inspector: \w+", "inspector: nob", DAY, count=1), count=1)
    of_report = "/shift/day#report"
    assert margin(contract, "en", day=day)[of_report] == (
        "report: cannot be taken as it stands: start of the shift, inspector"
    )
    assert margin(contract, "de", day=day)[of_report].endswith("Beginn der Schicht, Prüfer")
    assert Site(contract).opened().get("/shift/day").status_code == 200


def test_what_touches_the_steel_is_called_by_the_kind_of_the_gauge(contract):
    """Before either is entered, the entry itself does not tell a micrometer's tip from anvils."""
    project = contract / "project.yaml"
    of_log = "/shift/day/checks#gauge_checks"
    assert margin(contract, "de")[of_log].endswith("es fehlt noch: Messflächen")
    text = project.read_text("utf-8")
    assert "kind: thickness gauge" in text
    project.write_text(text.replace("kind: thickness gauge", "kind: depth micrometer"), "utf-8")
    day = re.sub(r'  - {time: "14:30".*\n', "", LACKING.replace(", preset: -2.0 mil", "", 1), count=1)
    assert margin(contract, "de", day=day)[of_log].endswith("es fehlt noch: Spitze und Fuß")
    assert margin(contract, "en", day=day)[of_log].endswith("still lacks: tip and foot")


@pytest.mark.parametrize(
    ("at", "begin"),
    [
        ("gauge_checks[time=%2A,gauge=g1]", {"time": "*", "gauge": "g1"}),
        ("surfaces[area=A-2,blasted.start=%2A]", {"area": "A-2", "blasted": {"start": "*"}}),
    ],
)
def test_a_time_outside_the_shift_is_asked_about_wherever_it_is_typed(contract, at, begin):
    day = contract / "day.yaml"
    given = {"at": at, "value": "0310", "kind": "clock", "begin": json.dumps(begin), "inspected": "yes"}
    before = day.read_bytes()
    answer = entered(day, "en", given, None)
    assert (answer.what, answer.view.get("why")) == ("asked", ["This time lies outside the shift."])
    assert day.read_bytes() == before
    assert entered(day, "en", given | {"believed": "yes"}, None).what == "wrote"


def test_blasting_that_would_end_before_it_starts_is_refused_at_its_own_time(contract):
    day = contract / "day.yaml"
    day.write_text(DAY[: DAY.index("    apparatus")] + '    blasted: {start: "10:00"}\n', "utf-8")
    given = {"at": "surfaces[area=A-1]/blasted/end", "value": "08:00", "kind": "clock"}
    answer = entered(day, "en", given, None)
    assert answer.what == "refused"
    assert "not after its start at 10:00" in answer.view["refused"][0]
    assert entered(day, "en", given | {"value": "11:00"}, None).what == "wrote"


def test_each_answer_of_a_new_contract_wears_its_own_error_alone():
    given = {"minimum": "2,0", "gauge_accuracy": "abc"}
    assert "no unit" in refusal_of_answer("minimum", given)
    assert "`abc`" in refusal_of_answer("gauge_accuracy", given)
    for key, text in (("area_size", "30,5 m2"), ("maximum", "3,5 mil"), ("locations", "3")):
        assert refusal_of_answer(key, given | {key: text}) == ""
    assert refusal_of_answer("time_zone", given | {"time_zone": "Nowhere"}) != ""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("wet\u2028steel", "U+2028 (line separator)"),
        ("a\u202eb", "U+202E (right-to-left override)"),
        ("\x07", "U+0007"),
    ],
)
def test_a_character_that_nobody_sees_is_refused_by_its_name(contract, text, said):
    day = contract / "day.yaml"
    before = day.read_bytes()
    answer = entered(day, "en", {"at": "surfaces[area=A-1]/remarks", "value": f"x{text}y", "kind": "long"}, None)
    assert answer.what == "refused"
    assert said in answer.view["refused"][0]
    assert day.read_bytes() == before


def test_a_name_in_angle_brackets_is_refused_where_it_is_typed(contract):
    day = contract / "day.yaml"
    given = {"at": "surfaces[area=A-1]/apparatus", "was": '"pot 1"', "value": "pot <b>1</b>"}
    answer = entered(day, "de", given, None)
    assert answer.what == "refused"
    assert "`<b>`" in answer.view["refused"][0]
    assert "spitz" in answer.view["refused"][0]
    remark = {"at": "surfaces[area=A-1]/remarks", "value": "gap <b>here</b>, < 3 mm", "kind": "long"}
    assert entered(day, "en", remark, None).what == "wrote"  # a sentence may have them
    site = Site(contract / "empty").opened()
    asked = {"name": "Crane <b>x</b>", "site": "quay"}
    assert "<code>" not in site.post("/new/field?asked=name", asked).text
    assert "&lt;b&gt;" in site.post("/new/field?asked=name", asked).text
    assert "&lt;b&gt;" not in site.post("/new/field?asked=site", asked).text
    assert "&lt;b&gt;" in site.post("/new", asked).text


READING = "surfaces[area=A-1]/profile/readings[location=1,spot=b]/x1"
OF_AREA = "surfaces[area=A-1]/"
REFUSED = [
    (READING, "abc"), (READING, "20 mil"), (READING, "-1"), (READING, "1,2,3"), (READING, "2.7 mm"),
    (f"{OF_AREA}blasted/end", "25:00"), (f"{OF_AREA}blasted/end", "07:00"), (f"{OF_AREA}coated", "09:00"),
    (f"{OF_AREA}cleaned", "0 m2"), (f"{OF_AREA}cleaned", "3"), (f"{OF_AREA}cleaned", "3 kg"),
    (f"{OF_AREA}profile/gauge", "zz"), (f"{OF_AREA}initial_condition", "E"),
    (f"{OF_AREA}cleanliness/staining", "200 %"),
    (f"{OF_AREA}area", "Q-1"), (f"{OF_AREA}apparatus", "x" * 500), (f"{OF_AREA}no_reading[location=1]/reason", "x"),
    ("not_inspected[area=A-1]/reason", "x"), ("gauge_checks[time=07%3A10,gauge=g1]/time", "15:00"),
]  # fmt: skip


@pytest.mark.parametrize(("at", "value"), REFUSED)
def test_what_is_refused_is_said_in_the_language_of_the_page(contract, at, value):
    day = contract / "day.yaml"
    was = content_at(parse_yaml(day.read_bytes(), "day.yaml").data, Address.parse(at))
    given = {"at": at, "value": value, "was": "" if was is None else json.dumps(was), "believed": "yes"}
    said = {language: entered(day, language, given, None) for language in ("en", "de")}
    assert {one.what for one in said.values()} == {"refused"}
    english, german = (one.view["refused"][0] for one in said.values())
    # no sentence is left as it was: neither what is wrong, nor what to write instead
    assert not set(re.split(r": (?=[a-z])", english)) & set(re.split(r": (?=[a-z])", german))


@pytest.mark.parametrize(
    ("margin_stated", "air", "steel", "told"),
    [
        ("5 delta_degF", "65 degF", "64 degF", "dew point 50.8 °F, margin 13.2 °F"),
        ("3 delta_degC", "18.3 degC", "17.8 degC", "dew point 10.4 °C, margin 7.4 °C"),
    ],
)
def test_what_follows_from_the_air_is_shown_in_the_degrees_of_the_contract_and_no_entry_again(
    contract, margin_stated, air, steel, told
):
    limit = (
        f"  conditions: {{clause: '2.4', dew_point_margin: {margin_stated}, maximum_humidity: 85 %}}\n  time_to_coat"
    )
    project, day = contract / "project.yaml", contract / "day.yaml"
    project.write_text(project.read_text("utf-8").replace("  time_to_coat", limit), "utf-8")
    log = f'conditions:\n  - {{time: "07:05", air: {air}, humidity: 60 %, steel: {steel}}}\nsurfaces:'
    day.write_text(DAY.replace("surfaces:", log, 1), "utf-8")
    (section,) = (one for one in checks_view(day, "en")["sections"] if one["key"] == "conditions")
    assert section["rows"][0]["result"]["text"] == told
