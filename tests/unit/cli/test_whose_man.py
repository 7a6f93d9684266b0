"""Whose man somebody is: a day file says it too, of who took readings beside, was present or was told."""

import json

import pytest

from tests.unit.cli.conftest import DAY, PROJECT

STEPS = "  hold_points: [{step: surface preparation, before: coating}]\n  sampling:"
PRIMED = '    coated: "11:00"\n    profile:'
BESIDE = "    comparison: {{by: {by}{house}, values: [{{location: 1, profile: 2.8 mil}}]}}\n"
TOLD = '\ntold_released: [{{area: A-1, to: "{to}", time: "10:50"}}]\n'


@pytest.fixture
def decided(contract, run):
    """Return the decision about an area whose hold point somebody released, and how that release is told."""

    def decide(by, *, beside="", present="", after=""):
        (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", STEPS, 1), encoding="utf-8")
        day = DAY.replace("    profile:", PRIMED, 1).replace("not_inspected:", f"{beside}not_inspected:", 1)
        day = day.replace("inspector: ines", f"inspector: ines{present}", 1)
        day += f'hold_points: [{{step: surface preparation, asked: "10:40", released: "10:45", by: {by}}}]{after}'
        (contract / "day.yaml").write_text(day, encoding="utf-8")
        said = run("check", "--json", "day.yaml")
        result = json.loads(said.out)
        told = [one["code"] for one in result["findings"] if one["code"].startswith("hold-point")]
        return next(one["decision"] for one in result["areas"] if one["id"] == "A-1"), told

    return decide


HELD, RELEASED = ("hold", ["hold-point-passed"]), ("release", [])
ASKED, CONFIRMED = ("hold", ["hold-point-doubtful"]), ("release", ["hold-point-confirmed"])


@pytest.mark.parametrize("by", ["Q. Maddock", "Maddock", "Mr Q. Maddock"])
@pytest.mark.parametrize("house", [", organisation: Blasters", ", organisation: Blasters Ltd"])
def test_one_who_took_readings_for_the_contractor_does_not_release_for_him(decided, by, house):
    assert decided(by, beside=BESIDE.format(by="Q. Maddock", house=house)) == HELD


@pytest.mark.parametrize("by", ["Q. Maddock (Blasters)", "'Q. Maddock, foreman'"])
def test_it_may_stand_in_the_name_itself(decided, by):
    assert decided("Q. Maddock", beside=BESIDE.format(by=by, house="")) == HELD


def test_who_was_present_or_told_for_the_contractor_does_not_release_either(decided):
    assert decided("Q. Maddock", present=", present: ['Q. Maddock, Blasters']") == HELD
    assert decided("Q. Maddock", after=TOLD.format(to="Q. Maddock, Blasters")) == HELD


def test_others_release_as_before(decided):
    assert decided("Q. Maddock") == RELEASED
    assert decided("Q. Maddock", beside=BESIDE.format(by="Q. Maddock", house=", organisation: Board")) == RELEASED
    assert decided("R. Torrance", beside=BESIDE.format(by="Q. Maddock", house=", organisation: Blasters")) == RELEASED
    assert decided("R. Torrance", present=", present: ['R. Torrance, Board', 'Q. Maddock, Blasters']") == RELEASED


UNNAMED = (
    "awaiting signature", "outstanding", "in progress", "nobody present", "signature", "initials", "confirmed",
    "agreed", "Q.", "seen", "checked", "released", "released by phone", "OK by phone", "cannot read", "me",
    "same person", "everyone", "team", "night shift", "the office", "site", "nachtragen", "steht aus",
    "nicht anwesend", "Freigabe erteilt", "yes", "ja", "No. 7 crew", "Nils", "Kim Varrow", "王伟", "N. Ot",
    "awaiting I. Tern", "I. Tern absent", "I. Tern refused", "I. Tern to confirm", "not I. Tern", "I. Tern?",
    "I. Tern's signature missing", "I. Tern (not seen)", "by phone, I. Tern", "Mr Hall by phone", "I. Tern and R. Hall",
    "nobody of Board", "awaiting Board", "Board not present", "signature, Board", "Unterschrift fehlt, Board",
    "K. Varrow not present", "K. Varrow to sign", "K. Varrow - signature awaited", "K. Varrow, Harbour Trust",
    "Mr Unknown", "Herr Unbekannt", "T. B. Confirmed", "P. Phone", "Herr Bauleiter", "O. Unterschrift", "client absent",
    "Surveyor of the Body", "inspector",
)  # fmt: skip


@pytest.mark.parametrize("by", UNNAMED)
def test_words_that_tell_nobody_who_it_was_release_nothing_until_that_is_confirmed(decided, by):
    assert decided(f'"{by}"') == ASKED
    assert decided(f'"{by}", confirmed: yes') == CONFIRMED


@pytest.mark.parametrize(
    "by",
    ["K. Varrow (Blasters)", "K. Varrow, Blasters", "K. Varrow/Blasters", "K. Varrow Blasters", "Mr Varrow of Blasters",
     "K. Varrow, Blasters Ltd", "I. Tern, Blasters", "I. Tern (Blasters)", "Board, Blasters"],
)  # fmt: skip
def test_the_contractors_name_beside_anybody_rules_him_out(decided, by):
    assert decided(f'"{by}"') == decided(f'"{by}", confirmed: yes') == HELD


@pytest.mark.parametrize(
    "by",
    ["Board", "K. Ward, Board", "K. Ward (client)", "K. Ward of the Board", "K. Ward / Board", "client", "Client",
     "the client", "Auftraggeber", "ines", "I. Tern", "Tern", "i tern", "I. Tern, inspector", "P. Amble", "Frau Renn",
     "Dr. Å. Öst", "Dr. Eva Renn", "H. von Renn", "K. O'Rell", "J.-P. Renn-Hall", "И. Петров"],
)  # fmt: skip
def test_whoever_is_listed_or_of_a_house_that_is_or_written_as_a_person_is_somebody(decided, by):
    assert decided(f'"{by}"') == RELEASED


def test_who_was_present_is_somebody(decided):
    assert decided("Maddock") == ASKED
    assert decided("Maddock", present=", present: ['Q. Maddock, Board']") == RELEASED


def test_confirming_does_not_make_the_contractor_another(decided):
    assert decided("foreman, confirmed: yes") == HELD


def test_what_nobody_known_released_is_told_so(contract, run, decided):
    decided("team")
    said = " ".join(run("check", "day.yaml").out.split())
    assert "surface preparation: said to be released at 10:45 by team; work began at 11:00" in said
    assert "`by` is asked about: write `confirmed: yes` beside it, or the name of the person" in said
    assert "nonconformance" not in said
    decided("team, confirmed: yes")
    said = " ".join(run("check", "day.yaml").out.split())
    assert "said to be released at 10:45 by team, confirmed [hold-point-confirmed]" in said


def test_a_word_that_another_house_has_as_well_does_not_make_it_the_contractors(contract, run, decided):
    decided("team")
    shared = PROJECT.replace("  sampling:", STEPS, 1).replace("contractor: Blasters", "contractor: Board Coatings")
    (contract / "project.yaml").write_text(shared.replace("client: Board", "client: Board of Weirs"), encoding="utf-8")
    day = contract / "day.yaml"
    for by, code in (("Board of Weirs", None), ("K. Ward, Board Coatings", "passed"), ("K. Ward, Coatings", "passed")):
        text = day.read_text(encoding="utf-8")
        day.write_text(text[: text.rindex("by: ")] + f'by: "{by}"}}]', encoding="utf-8")
        told = [one["code"] for one in json.loads(run("check", "--json", "day.yaml").out)["findings"]]
        assert [one for one in told if one.startswith("hold-point")] == ([f"hold-point-{code}"] if code else [])
