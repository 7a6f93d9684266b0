"""Words that say nothing record nothing, whoever or whatever they are written for; that there is none may be a fact."""

import json

import pytest
from pypdf import PdfReader

from tests.unit.cli.test_records import ASKING, DAY, REPLICAS, SITE, change

ALL = "requires: [UFGS 09972, wind, weather, equipment, nozzle, distance_and_angle, positions, client_contact,"
TELLING = ASKING.replace("requires: [UFGS 09972, wind]", f"{ALL} deviations, release_told]").replace(
    "client: Board,", "client: Board, client_contact: B. Ward,"
)
RECORDED = SITE.replace("weather: dry,", "weather: dry, equipment: two pots, deviations: none,")
BLASTED = 'end: "10:30", nozzle: venturi 8, distance: 0.5 m, angle: 80 deg, '
NOTHING = ("not recorded", "later", "to follow", "missing", "see log", "n/a", "-", "unknown", "not stated", "illegible",
           "nicht erfasst", "fehlt", "siehe Protokoll", "entfällt", "none given")  # fmt: skip
NOBODY = (*NOTHING, "none", "verbal", "by phone", "ok", "done", "unsigned", "N. N.", "NN", "unclear")
WRITTEN = {
    "weather: dry": "weather", "equipment: two pots": "equipment", "nozzle: venturi 8": "nozzle",
    "angle: 80 deg": "distance_and_angle", "1: web at mid-height": "positions",
}  # fmt: skip


@pytest.fixture
def recorded(contract):
    """A contract that asks for records, and a day that has them."""
    (contract / "project.yaml").write_text(TELLING, "utf-8")
    text = DAY.replace("surfaces:", RECORDED + "surfaces:").replace("not_inspected", REPLICAS, 1)
    (contract / "day.yaml").write_text(text.replace('end: "10:30", ', BLASTED, 1), "utf-8")
    return contract / "day.yaml"


def judged(run):
    result = json.loads(run("check", "day.yaml", "--json").out)
    assert "areas" in result, result
    lacking = [one["facts"]["record"] for one in result["findings"] if one["code"].startswith("record-")]
    return result["areas"][0]["decision"], lacking


def test_the_day_as_it_is_lacks_nothing(run, recorded):
    assert judged(run) == ("release", [])


@pytest.mark.parametrize("word", NOBODY)
@pytest.mark.parametrize("field", ["by: Board", "to: painter"])
def test_they_are_nobody_who_released_an_area_or_was_told(run, recorded, field, word):
    change(recorded, field, f'{field.partition(":")[0]}: "{word}"')
    assert judged(run)[0] == "hold"
    said = run("issue", "day.yaml", "--identity", "demo")
    assert (said.code, "JOB128" in said.err) == (2, True)


@pytest.mark.parametrize("word", [*NOTHING, "none"])
@pytest.mark.parametrize("field", WRITTEN)
def test_they_are_no_record_that_the_contract_asks_for(run, recorded, field, word):
    change(recorded, field, f'{field.partition(":")[0]}: "{word}"')
    assert judged(run)[1] == [WRITTEN[field]]


@pytest.mark.parametrize("word", NOTHING)
def test_that_there_is_none_is_a_fact_of_some_things(run, recorded, word):
    change(recorded, "wind: light from the west", "wind: none")
    assert judged(run)[1] == []
    change(recorded, "deviations: none", f'deviations: "{word}"')
    assert judged(run)[1] == ["deviations"]


@pytest.mark.parametrize(("old", "new", "record"), [
    ("make: Works, model: H 4", "make: n/a, model: '-'", "make_and_model"),
    ("client_contact: B. Ward", "client_contact: not recorded", "client_contact"),
    ("client_contact: B. Ward", "client_contact: niemand", "client_contact"),
])  # fmt: skip
def test_nor_are_they_one_in_the_project_file(run, recorded, old, new, record):
    change(recorded.with_name("project.yaml"), old, new)
    assert judged(run)[1] == [record]


def test_what_closes_a_nonconformance_is_no_such_word(run, recorded):
    ncr = (
        "nonconformances: [{id: N-1, area: A-1, findings: [oil-on-steel], description: oil, disposition: rework,"
        " decided_by: ines, status: closed, evidence: not recorded}]\nsurfaces:"
    )
    change(recorded, "surfaces:", ncr)
    assert judged(run)[0] == "hold"
    said = run("issue", "day.yaml", "--identity", "demo")
    assert (said.code, "nonconformance N-1 is closed without `evidence`" in " ".join(said.err.split())) == (2, True)


def test_none_present_is_nobody(run, recorded):
    change(recorded, "inspector: ines", 'inspector: ines, present: [none, n/a, "?", niemand, P. Arden]')
    assert run("draft", "day.yaml", "-o", "day.pdf").code == 0
    text = " ".join(" ".join(page.extract_text() for page in PdfReader("day.pdf").pages).split())
    assert "P. Arden, present" in text
    assert not any(f"{word}, present" in text for word in ("none", "n/a", "?", "niemand"))


@pytest.mark.parametrize("word", ["not recorded", "unknown", "-", "see log", "nicht erfasst"])
@pytest.mark.parametrize("field", ["apparatus: pot 1", "abrasive: steel grit"])
def test_they_are_no_apparatus_and_no_abrasive(run, recorded, field, word):
    change(recorded, field, f'{field.partition(":")[0]}: "{word}"')
    assert judged(run)[0] == "hold"
    said = run("issue", "day.yaml", "--identity", "demo")
    assert (said.code, "JOB128" in said.err) == (2, True)


@pytest.mark.parametrize(
    "tail", ["not_taken:\n", "not_taken:\n-\n", "not_taken:\n- area: A-1\n", "not_taken:\n- area: A-1\n  where:\n"]
)
def test_what_was_not_taken_in_may_be_half_typed(run, recorded, tail):
    recorded.write_text(recorded.read_text("utf-8").rstrip() + f"\n{tail}", "utf-8")
    assert judged(run)[0] == "hold"
