"""A contract by form: the method and what goes with it, limits or a grade, and the words of the page's language."""

import html
import re
from dataclasses import replace

import pytest

from reportgen.browser import contract_pages, terms_views
from reportgen.browser.contents import objection_text
from reportgen.browser.contract_pages import refusal_of_answer
from reportgen.browser.record_views import nonconformances_view
from reportgen.browser.sight import seen
from reportgen.browser.terms_views import terms_view
from reportgen.browser.texts import Texts, texts
from reportgen.measurements.abrasive import ABRASIVE
from reportgen.measurements.salts import SALTS
from reportgen.pipeline import check
from reportgen.starter import METHODS, QUESTIONS, is_asked
from reportgen.starter.template import template
from reportgen.yamlsource import parse_yaml
from tests.unit.browser.site import Site
from tests.unit.browser.test_rework_fields import every
from tests.unit.cli.conftest import DAY, contract

__all__ = ["contract"]

ANSWERS = {one.key: one.example("um") for one in QUESTIONS if one.key not in ("method", "comparator_grade")}
ANSWERS |= {"unit": "um", "date": "2026-06-08", "readings_per_location": "", "location_value": ""}
READ_WITH = {
    "ASTM D4417 Method C": ("thickness gauge", {"minimum", "maximum", "overlap_rule"}, {"c1", "x1"}),
    "ASTM D4417 Method B": ("depth micrometer", {"minimum", "maximum"}, set()),
    "ISO 8503-2": ("comparator", {"comparator_grade"}, set()),
}


def project_of(folder):
    return parse_yaml((folder / "project.yaml").read_bytes(), "project.yaml").data


@pytest.mark.parametrize("method", READ_WITH)
def test_a_contract_begins_with_the_method_that_it_names(tmp_path, method):
    """What was typed before another method was chosen, and is on the form no more, is not written."""
    gauge, limits, rolls = READ_WITH[method]
    site = Site(tmp_path).opened()
    edition = {"ISO 8503-2": "2012"}.get(method, "2021")
    given = ANSWERS | {"method": method, "edition": edition, "comparator_grade": "medium S"}
    answer = site.post("/new", given)
    assert answer.headers.get("hx-redirect") == "/", answer.text
    data = project_of(tmp_path)
    profile, instrument = data["specification"]["profile"], data["instruments"]["g1"]
    assert profile["method"] == method
    assert profile.keys() & {"minimum", "maximum", "comparator_grade", "overlap_rule"} == limits
    assert "readings_per_location" not in profile
    assert (instrument["kind"], instrument.get("comparator")) == (gauge, "S" if gauge == "comparator" else None)
    assert set(data["tape_rolls"] or ()) == rolls
    page = html.unescape(site.get("/shift/2026-06-08/area/L1-OUT").text)
    column = {"depth micrometer": "/depth", "comparator": "/grade"}.get(gauge, "/x1")
    assert f"spot=a]{column}" in page
    last = {"depth micrometer": "j", "comparator": "a", "thickness gauge": "b"}[gauge]  # as the edition says
    assert re.findall(r"spot=(\w)\]" + column, page)[-1] == last


def test_what_a_method_asks_is_missed_and_what_it_does_not_ask_is_not(tmp_path):
    site = Site(tmp_path, "de").opened()
    told = html.unescape(site.post("/new", {"method": "ISO 8503-2"}).text)
    assert "verlangter Rauheitsgrad" in told
    assert "kleinste zulässige Rautiefe" not in told
    assert "Regel für zwei Bandsorten" not in told
    told = html.unescape(site.post("/new", {"method": "ASTM D4417 Method B"}).text)
    assert "kleinste zulässige Rautiefe" in told
    assert "Regel für zwei Bandsorten" not in told
    assert "known" in refusal_of_answer("comparator_grade", {"method": "ISO 8503-2", "comparator_grade": "rough"})
    page = html.unescape(site.get("/new").text)
    assert '<option value="ISO 8503-2" data-kind="comparator">ISO 8503-2: Rauheitsvergleichsmuster</option>' in page
    for one in QUESTIONS:
        asked = {kind: is_asked(one.key, {"method": method}) for method, (kind, *_) in READ_WITH.items()}
        entry = page[: page.index(f'id="q-{one.key}"')].rpartition('<div class="entry')[2]
        assert ("data-not-of" in entry) is not all(asked.values()), one.key


NEEDED = {"en": "This is still to be answered", "de": "Das ist noch zu beantworten"}


@pytest.mark.parametrize("language", NEEDED)
def test_a_field_that_is_left_empty_is_told_of_where_the_contract_cannot_begin_without_it(tmp_path, language):
    site = Site(tmp_path, language).opened()
    method = {"method": "ISO 8503-2"}
    for asked, given, needed in (
        ("name", {"name": " "}, True),
        ("name", {"name": "Weir"}, False),
        ("comparator_grade", method, True),
        ("minimum", method, False),  # that method does not ask for it
        ("method", {"method": ""}, True),
        ("gauge_serial", {"gauge_serial": ""}, False),  # may come later
    ):
        told = html.unescape(site.post(f"/new/field?asked={asked}", given).text)
        assert (NEEDED[language] in told) is needed, (asked, given, told)


def test_a_form_of_the_terms_tells_when_a_field_is_left_empty_that_its_entry_needs(contract):
    site = Site(contract).opened()
    page = site.get("/terms").text
    for form in terms_views.ADDED:
        for name in (*form.needed, *form.others):
            address = f"/terms/field?asked={name}"
            assert f'data-hx-post="{address}" data-hx-trigger="change" data-hx-target="#r-{form.key}-{name}"' in page
            told = site.post(address, {"add": form.key, name: " "}).text
            assert ("still to be filled in" in told) is (name in form.needed), (form.key, name)
            assert "refused" not in site.post(address, {"add": form.key, name: "x"}).text


@pytest.mark.parametrize(("language", "value", "spots"), [
    ("en", "value of a location", "spots per location"), ("de", "Wert einer Messstelle", "Messungen je Messstelle"),
])  # fmt: skip
@pytest.mark.parametrize("of", [("ISO 8503-5", "2017"), ("ASTM D4417 Method C", "2024")])
def test_an_edition_that_is_not_known_asks_for_what_it_would_say(tmp_path, of, language, value, spots):
    """Said when the edition is left; what it is silent about is missed with the rest, and the contract begins."""
    site = Site(tmp_path, language).opened()
    given = ANSWERS | {"method": of[0], "edition": of[1]}
    told = html.unescape(site.post("/new/field?asked=edition", given).text)
    assert "refused" not in told
    assert value in told
    assert spots in told
    for asked in ("location_value", "readings_per_location"):
        assert NEEDED[language] in site.post(f"/new/field?asked={asked}", given).text, asked
        known = given | {"edition": {"ISO 8503-5": "2003"}.get(of[0], "2021")}
        assert NEEDED[language] not in site.post(f"/new/field?asked={asked}", known).text, asked
    answer = html.unescape(site.post("/new", given).text)
    assert value in answer
    assert spots in answer
    assert not (tmp_path / "project.yaml").exists()
    answer = site.post("/new", given | {"location_value": "mean", "readings_per_location": "3"})
    assert answer.headers.get("hx-redirect") == "/", answer.text
    profile = project_of(tmp_path)["specification"]["profile"]
    assert (profile["edition"], profile["location_value"], profile["readings_per_location"]) == (of[1], "mean", "3")


def test_an_answer_that_another_one_made_right_is_refused_no_more(tmp_path):
    site = Site(tmp_path, "en").opened()
    limits = ANSWERS | {"method": "ASTM D4417 Method C", "minimum": "50 um", "maximum": "40 um"}
    told = html.unescape(site.post("/new/field?asked=maximum", limits).text)
    assert "“lowest profile allowed, with its unit”" in told
    assert "is not below" in told
    assert 'id="r-minimum"' not in told
    told = site.post("/new/field?asked=minimum", limits | {"minimum": "30 um"}).text
    assert '<div id="r-maximum" aria-live="polite" data-hx-swap-oob="true"></div>' in told
    assert "refused" not in told


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_stands_against_a_form_names_its_labels_and_no_option(tmp_path, language):
    site = Site(tmp_path, language).opened()
    own = {"method": "ASTM D4417 Method C"}
    limits = {"minimum": "50 um", "maximum": "40 um"}
    for wrong in (limits, {"unit": "in"}, {"readings_per_location": "x"}, {"locations": "0"}):
        told = html.unescape(site.post("/new", ANSWERS | own | wrong).text)
        assert "refused" in told
        assert "--" not in told, told
        assert not {one.key for one in QUESTIONS} & set(re.findall(r"`([a-z_]+)`", told)), told


# Terms


def sends(site, at, was, value, **more):
    return site.post("/terms/write", {"at": f"specification/profile/{at}", "was": was, "value": value, **more})


def test_the_method_is_changed_in_the_terms(contract):
    site = Site(contract).opened()
    (field,) = [one for one in every(terms_view(contract, "en")) if one.at.endswith("profile/method")]
    assert [value for value, _ in field.options] == list(METHODS)
    told = sends(site, "method", field.was, "ASTM D4417 Method B").text
    assert "A-1: release becomes hold" in html.unescape(told)  # it was read on tape
    answer = sends(site, "method", field.was, "ASTM D4417 Method B", believed="yes")
    assert "HX-Retarget" in answer.headers, answer.text
    assert project_of(contract)["specification"]["profile"]["method"] == "ASTM D4417 Method B"


def test_a_grade_takes_the_place_of_limits_and_limits_that_of_a_grade(contract):
    site, project = Site(contract).opened(), contract / "project.yaml"
    before = project.read_bytes()
    assert "HX-Retarget" in sends(site, "comparator_grade", "", "medium G", believed="yes").headers
    profile = project_of(contract)["specification"]["profile"]
    assert (profile["comparator_grade"], profile.keys() & {"minimum", "maximum"}) == ("medium G", set())
    site.post("/terms/write", {"undo": "yes"})
    assert project.read_bytes() == before
    sends(site, "comparator_grade", "", "medium G", believed="yes")
    answer = sends(site, "minimum", "", "2.0", kind="number", unit="mil", believed="yes")
    assert "HX-Retarget" in answer.headers, answer.text
    profile = project_of(contract)["specification"]["profile"]
    assert (profile["minimum"], "comparator_grade" in profile) == ("2.0 mil", False)


def test_roles_and_kinds_are_told_in_german_and_written_as_the_file_has_them(contract):
    site = Site(contract, "de").opened()
    page = html.unescape(site.get("/terms").text)
    assert re.search(r"I\. Tern, Prüfer<", page)
    assert "Dickenmessuhr, T-1" in page
    assert "extra grob, 7" in page
    assert 'value="Prüfer"' in page
    site.post("/terms/add", {"add": "person", "name": "O. Reed", "role": "Projektingenieur"})
    site.post("/terms/add", {"add": "person", "name": "P. Holt", "role": "Polier"})
    people = project_of(contract)["people"]
    assert (people["reed"]["role"], people["holt"]["role"]) == ("project engineer", "Polier")
    sent = {"at": "people/holt/role", "was": '"Polier"', "value": "Prüfer"}
    assert "HX-Retarget" in site.post("/terms/write", sent).headers
    assert project_of(contract)["people"]["holt"]["role"] == "inspector"


def test_ranges_findings_and_fields_are_told_in_german(contract):
    day = contract / "day.yaml"
    raised = "nonconformances: [{id: N-1, area: A-1, findings: [profile-below-minimum], status: open}]\n"
    day.write_text(DAY.replace("x1: 2.9", "x1: 1.4") + raised, "utf-8")
    site = Site(contract, "de").opened()
    for address in ("/", "/shift/day", "/shift/day/area/A-1"):
        page = html.unescape(site.get(address).text)
        assert "2,0 mil bis 3,5 mil" in page
        assert "2.0 mil to" not in page
    (row,) = nonconformances_view(day, "de")["part"]["rows"]
    assert row["result"]["text"] == "A-1, Rautiefe unter Minimum"
    given = {"at": "nonconformances[id=N-1]/decided_by", "value": "ines", "kind": "choice"}
    told = html.unescape(site.post("/shift/day/nonconformances/write", given).text)
    assert "N-1, entschieden von: ines" in told


def test_amounts_have_one_decimal_mark_in_german(contract):
    day = contract / "day.yaml"
    day.write_text(DAY.replace("x1: 2.9", "x1: 1.4"), "utf-8")
    site = Site(contract, "de").opened()
    for address in ("/", "/shift/day", "/shift/day/area/A-1", "/shift/day/nonconformances", "/terms"):
        page = re.sub(r"<(script|style|textarea).*?</\1>|<[^>]+>", "|", html.unescape(site.get(address).text))
        assert re.findall(r"\d\.\d+ (?:mil|°C|°F|m²|psi)\b", page) == [], address


def test_a_nonconformance_that_was_begun_is_not_offered_again(contract):
    day = contract / "day.yaml"
    day.write_text(DAY.replace("x1: 2.9", "x1: 3.9"), "utf-8")
    assert [one["codes"] for one in nonconformances_view(day, "en")["wanted"]] == [["profile-above-maximum"]]
    site = Site(contract).opened()
    site.post("/shift/day/nonconformances/write", {"raise": "A-1", "codes": "profile-above-maximum"})
    view = nonconformances_view(day, "en")
    assert view["wanted"] == []
    (row,) = view["part"]["rows"]
    first = [one.at.rpartition("/")[2] for one in row["fields"]]
    assert first == ["description", "disposition", "decided_by", "status"]
    folded = [one.at.rpartition("/")[2] for one in row["later"]]
    assert folded == ["corrective_action", "responsible", "due", "evidence"]


def test_the_evidence_of_a_closed_nonconformance_is_asked_in_the_open(contract):
    day = contract / "day.yaml"
    day.write_text(DAY + "nonconformances: [{id: N-1, area: A-1, findings: [x], status: closed}]\n", "utf-8")
    (row,) = nonconformances_view(day, "en")["part"]["rows"]
    assert [one.wanted for one in row["fields"] if one.at.endswith("/evidence")] == [True]


def test_sizes_of_further_areas_are_written_whole(tmp_path):
    typed = "L3: Bein 3, 12,5 m2\nS-3: West; 10 m2"
    found = contract_pages._further({"further": typed})
    assert [(one.id, one.name, one.size) for one in found] == [("L3", "Bein 3", "12.5 m2"), ("S-3", "West", "10 m2")]
    site = Site(tmp_path, "de").opened()
    for wrong, said in (("S-2: Nord, 1.250,5 m2", "1.250,5"), ("L3: leg 2,5 m2", "lässt sich nicht sagen")):
        assert said in site.post("/new/field?asked=further", {"further": wrong}).text
    assert "refused" not in site.post("/new/field?asked=further", {"further": typed}).text


def test_usual_limits_of_the_weather_count_in_no_report_before_their_clause_is_stated(tmp_path):
    """On the form, where it says what it confirms; else under Terms, where the field is wanted until then."""
    lines = template("project").splitlines()
    first = next(number for number, line in enumerate(lines) if line == "  conditions:")
    assert lines[first + 1].strip() == "# Usual limits, not read in your contract: confirm each, or take it out."
    for clause in ("6.2", ""):
        folder = tmp_path / (clause or "open")
        folder.mkdir()
        site = Site(folder, "en").opened()
        assert "it confirms that the contract asks for this: steel 3 °C" in site.get("/new").text
        site.post("/new", ANSWERS | {"method": "ASTM D4417 Method C", "conditions_clause": clause})
        stated = project_of(folder)["specification"]["conditions"]
        assert (stated["clause"] == clause) is bool(clause)
        assert (stated["dew_point_margin"], stated["maximum_humidity"]) == ("3 delta_degC", "85 %")
        unfilled = [one.message for one in check(folder / "2026-06-08.yaml").job.unfilled]
        assert any("specification.conditions.clause" in one for one in unfilled) is (not clause)
        (field,) = (
            one for part in terms_view(folder, "en")["parts"] for one in part["fields"]
            if one.at == "specification/conditions/clause"
        )  # fmt: skip
        assert (field.value, field.wanted) == (clause, not clause)
        margin = [one["to"] for one in seen(folder / "2026-06-08.yaml", "en").margin()["here"]]
        assert ("/terms#weather" in margin) is (not clause)
        checks = html.unescape(site.get("/shift/2026-06-08/checks").text)
        assert ("every 4 h: usual limits, not confirmed with the contract yet" in checks) is (not clause)
        assert "<clause" not in checks


@pytest.mark.parametrize(("language", "name"), [("en", "Abrasive"), ("de", "Strahlmittel")])
def test_a_limit_that_the_sheet_of_terms_does_not_name_has_a_field_with_its_unit(contract, monkeypatch, language, name):
    at = "specification/leachate/maximum_conductivity"
    monkeypatch.setattr(
        terms_views, "MEASUREMENTS", (replace(ABRASIVE, limit_key="leachate"), replace(SALTS, limit_key="halides"))
    )
    fields = {one.at: one for part in terms_view(contract, language)["parts"] for one in part["fields"]}
    assert (fields[at].label.split(":")[0], fields[at].unit, fields[at].kind) == (name, "uS/cm", "number")
    assert not [one for one in fields if "halides" in one]  # a maximum alone, of nobody knows what, would be refused


@pytest.mark.parametrize(
    ("part", "name", "before"), [("instruments", "g1", "serial: T-1"), ("tape_rolls", "x1", 'lot: "7"')]
)
def test_a_number_that_counts_is_confirmed_in_the_terms(contract, part, name, before):
    """The question stands where the number does, and nowhere else."""
    path = contract / "project.yaml"
    asked = f"{part}/{name}/confirmed"
    site = Site(contract).opened()
    assert asked not in html.unescape(site.get("/terms").text)
    path.write_text(path.read_text("utf-8").replace(before, f"{before.partition(':')[0]}: '12345'"), "utf-8")
    (field,) = [one for one in every(terms_view(contract, "en")) if one.at.endswith(asked)]
    assert field.label == "looked at again: the number stands there so"
    assert "HX-Retarget" in site.post("/terms/write", {"at": field.at, "was": field.was, "value": "yes"}).headers
    assert project_of(contract)[part][name]["confirmed"] == "yes"


# Structures


def structures_of(folder):
    return {one["id"]: one for one in project_of(folder)["structures"]}


def field_at(folder, at, language="en"):
    return next(one for one in every(terms_view(folder, language)) if one.at == at)


def writes(site, folder, at, value):
    return site.post("/terms/write", {"at": at, "was": field_at(folder, at).was, "value": value})


@pytest.mark.parametrize(("language", "called"), [("en", "name of the structure"), ("de", "Name des Bauwerks")])
def test_a_structure_that_was_left_open_is_named_under_terms_and_the_day_is_refused_for_it_no_more(
    tmp_path, language, called
):
    site = Site(tmp_path, language).opened()
    answers = ANSWERS | {"method": "ASTM D4417 Method C", "structure": ""}
    assert site.post("/new", answers).headers.get("hx-redirect") == "/"
    day = tmp_path / "2026-06-08.yaml"
    assert [one.message for one in check(day).job.unfilled] == ["`structures[0].name` is still to be filled in"]
    at = "structures[id=structure]/name"
    field = field_at(tmp_path, at)
    assert (field.value, field.wanted) == ("", True)
    assert called in html.unescape(site.get("/terms").text)
    assert called in objection_text(Texts(language), check(day).job.unfilled[0].message)
    assert "HX-Retarget" in writes(site, tmp_path, at, "Brücke 7").headers
    assert check(day).job.unfilled == ()
    assert "HX-Retarget" in writes(site, tmp_path, "structures[id=structure]/id", "bridge").headers
    assert "HX-Retarget" in writes(site, tmp_path, "structures[id=bridge]/drawing", "D-1").headers
    (one,) = project_of(tmp_path)["structures"]
    assert (one["id"], one["name"], one["drawing"]) == ("bridge", "Brücke 7", "D-1")
    site.post("/terms/write", {"undo": "yes"})
    site.post("/terms/write", {"undo": "yes"})
    assert [one["id"] for one in project_of(tmp_path)["structures"]] == ["structure"]


def test_a_structure_is_added_with_its_first_area_and_an_area_put_into_it(contract):
    project = contract / "project.yaml"
    site, before = Site(contract).opened(), project.read_bytes()
    given = {"add": "structure", "name": "Pier 2", "area_id": "P2-N", "area": "north face", "size": "14,5"}
    answer = site.post("/terms/add", given)
    assert answer.headers.get("hx-redirect") == "/terms", answer.text
    found = structures_of(contract)["pier-2"]
    assert (found["name"], found["areas"]) == ("Pier 2", [{"id": "P2-N", "name": "north face", "size": "14.5 m2"}])
    form = site.get("/terms").text.split('id="form-area"', 1)[1].split("</form>", 1)[0]
    assert '<option value="pier-2">Pier 2</option>' in form
    answer = writes(site, contract, "structures[id=sluice]/areas[id=A-2]/structure", "pier-2")
    assert "HX-Retarget" in answer.headers, answer.text
    areas = {name: [area["id"] for area in one["areas"]] for name, one in structures_of(contract).items()}
    assert areas == {"sluice": ["A-1"], "pier-2": ["P2-N", "A-2"]}
    assert check(contract / "day.yaml").job is not None
    told = writes(site, contract, "structures[id=sluice]/areas[id=A-1]/structure", "pier-2").text
    assert "the only area of its structure" in told
    site.post("/terms/write", {"undo": "yes"})
    assert [area["id"] for area in structures_of(contract)["sluice"]["areas"]] == ["A-1", "A-2"]
    site.post("/terms/write", {"undo": "yes"})
    assert project.read_bytes() == before


# What can be changed until a report is issued


@pytest.mark.parametrize(("language", "said"), [("en", "one of Europe/Oslo"), ("de", "eine von Europe/Oslo")])
def test_the_time_zone_is_changed_under_terms_after_it_is_said_what_that_changes(contract, language, said):
    site, project, at = Site(contract, language).opened(), contract / "project.yaml", "project/time_zone"
    before = project.read_bytes()
    given = {"at": at, "was": field_at(contract, at).was}
    assert "middle/earth" in site.post("/terms/write", {**given, "value": "middle/earth"}).text
    told = html.unescape(site.post("/terms/write", {**given, "value": "Europe/Oslo"}).text)
    assert said in told
    assert "day" in told
    assert project.read_bytes() == before
    answer = site.post("/terms/write", {**given, "value": "Europe/Oslo", "believed": "yes"})
    assert "HX-Retarget" in answer.headers, answer.text
    assert project_of(contract)["project"]["time_zone"] == "Europe/Oslo"


def test_a_short_id_of_an_area_is_changed_until_a_day_or_a_report_names_it(contract, monkeypatch):
    site = Site(contract).opened()
    assert "A-1" in writes(site, contract, "structures[id=sluice]/areas[id=A-1]/id", "A-9").text  # the day names it
    assert "A-1" in {one["id"] for one in structures_of(contract)["sluice"]["areas"]}
    (contract / "day.yaml").unlink()
    assert "HX-Retarget" in writes(site, contract, "structures[id=sluice]/areas[id=A-1]/id", "A-9").headers
    assert "A-9" in {one["id"] for one in structures_of(contract)["sluice"]["areas"]}
    issued = replace(terms_views.terms_state(contract), issued=1, last="SL-1-001")
    was = {at: field_at(contract, at).was for at in ("project/time_zone", "structures[id=sluice]/areas[id=A-9]/id")}
    monkeypatch.setattr(terms_views, "terms_state", lambda _: issued)
    shown = {one.at for one in every(terms_view(contract, "en"))}
    before = (contract / "project.yaml").read_bytes()
    for at, there in was.items():
        assert at not in shown
        told = site.post("/terms/write", {"at": at, "was": there, "value": "Europe/Oslo", "believed": "yes"}).text
        assert "no longer be changed" in told, at
    assert (contract / "project.yaml").read_bytes() == before
    assert "until the first report is issued" in texts("en")("new.changeable")
