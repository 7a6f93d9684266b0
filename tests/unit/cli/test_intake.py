"""``intake`` as it is typed: what is taken, what is listed, what is asked, and what a re-inspection closes."""

import io
import json
import sys
from types import SimpleNamespace

import pytest

from reportgen.loader import load_job
from reportgen.pipeline import check
from tests.unit.cli.conftest import DAY
from tests.unit.intake.small import Filling, filled, sheet_of

CONDITIONS = {"time": "07:20", "place": "weir", "air": "13.5", "humidity": "71", "steel": "12.5"}
PREPARED = {"apparatus": "pot 1", "was_C": "x", "start": "07:30", "end": "09:00", "abrasive": "steel grit",
            "observed": "SSPC-SP 10", "staining": "2", "subtracted": "x"}  # fmt: skip


@pytest.fixture
def sheet(run, contract):
    """Make a sheet of a day, fill it, take it in."""

    def take(fill, *options, day="day.yaml"):
        path = contract / "sheet.pdf"
        path.unlink(missing_ok=True)
        assert run("sheet", day, "-o", path).code == 0
        filling = Filling(sheet_of(load_job(contract / day), evaluation=check(contract / day).evaluation))
        fill(filling)
        path.write_bytes(filled(path.read_bytes(), filling.values))
        return run("intake", "sheet.pdf", "--into", day, *options)

    return take


def words(text):
    return " ".join(text.split())


def conditions_of(path):
    return [str(reading.air) for reading in load_job(path).day.conditions]


def test_one_missing_value_costs_one_row_and_is_named_by_page_and_row(sheet, contract):
    def fill(filling):
        filling.write("conditions", 1, **{**CONDITIONS, "steel": ""})
        filling.write("conditions", 2, **{**CONDITIONS, "time": "1120", "air": "9,5"})
        filling.write("conditions", 3, **{**CONDITIONS, "time": "14.05", "air": "9.5.1"})

    code, out, err = sheet(fill)
    assert (code, err) == (1, "")
    assert [(f"{one.time:%H:%M}", str(one.air)) for one in load_job(contract / "day.yaml").day.conditions] == [
        ("11:20", "9.5 °C")
    ]
    said = words(out.split("Not taken")[1])
    assert "page 1, Conditions, row 1 `07:20 weir (air 13.5 degC, humidity 71 %)`: `steel` is missing" in said
    assert "page 1, Conditions, row 3, air `9.5.1`: `9.5.1` is not a number" in said
    assert "page 1, Conditions, row 3 `14:05 weir (humidity 71 %, steel 12.5 degC)`: `air` was not taken" in said
    assert "-->" not in out
    assert "day.yaml:" not in out.replace("day.yaml: 1 value added", "")


def test_what_the_job_contradicts_is_listed_and_the_rest_is_written(sheet, contract):
    def fill(filling):
        filling.write("surface", 1, "A-1", coated="09:00")
        filling.write("conditions", 1, **CONDITIONS)

    code, out, _ = sheet(fill)
    assert code == 1
    assert "page 2, A-1, coated `09:00`: coated at 09:00, before blasting ended at 10:30" in words(out)
    assert conditions_of(contract / "day.yaml") == ["13.5 °C"]
    again, out, _ = sheet(lambda filling: filling.write("conditions", 1, **CONDITIONS))
    assert (again, "0 values added, 5 there already" in out) == (0, True)


# Doubts


def slips(filling):
    filling.write("conditions", 1, **{**CONDITIONS, "steel": "85"})
    filling.write("conditions", 2, **{**CONDITIONS, "time": "11:20", "air": "55", "steel": "50"})
    filling.write("air_checks", 1, time="07:25", apparatus="pot 1", duration="2", clean="x", pressure="7")


DOUBTED = (
    "page 1, Conditions, row 1, steel `85 degC`: 71.5 °C above the air, where up to 20 °C is usual",
    "page 1, Conditions, row 2, air `55 degC`: air is seldom above 45 °C; is it in another unit?",
    "page 1, Compressed air, row 1, pressure `7 kPa`: air below 100 kPa does not blast; is the unit right?",
)


def test_what_is_doubted_is_written_and_listed_where_nobody_can_be_asked(sheet, contract):
    code, out, err = sheet(slips)
    assert (code, err) == (1, "")
    said = words(out.split("Doubted")[1])
    assert all(sentence in said for sentence in DOUBTED)
    assert conditions_of(contract / "day.yaml") == ["13.5 °C", "55 °C"]
    code, out, _ = sheet(slips)
    assert (code, "Doubted" in out) == (0, False), "what stands in the day file was believed"


def test_doubts_in_a_dry_run_and_for_programs(sheet, contract):
    before = (contract / "day.yaml").read_bytes()
    code, out, _ = sheet(slips, "--dry-run", "--json")
    doubted = json.loads(out)["doubted"]
    assert (code, (contract / "day.yaml").read_bytes()) == (1, before)
    assert doubted[0] == {
        "place": "page 1, Conditions, row 1", "name": "steel", "value": "85 degC", "kind": "steel-far-from-air",
        "message": "71.5 °C above the air, where up to 20 °C is usual",
        "told": "page 1, Conditions, row 1, steel `85 degC`",
    }  # fmt: skip
    assert [one["kind"] for one in doubted] == ["steel-far-from-air", "air-hot", "blast-pressure-low"]


def test_when_steel_was_washed_is_asked_on_the_sheet_and_taken_in(sheet, contract):
    project, day = contract / "project.yaml", contract / "day.yaml"
    limits = "  soluble_salts: {maximum: 30 mg/m2, expressed_as: chloride}\n  dust: {maximum_quantity: 2}\n  sampling:"
    project.write_text(project.read_text("utf-8").replace("  sampling:", limits, 1), "utf-8")
    raised = (
        "nonconformances:\n  - {id: N1, area: A-1, findings: [salts-above-maximum], description: salty, "
        "disposition: rework, decided_by: ines, status: open, raised_in: SL-1-000}\n"
    )
    day.write_text(day.read_text("utf-8") + raised, "utf-8")
    code, out, err = sheet(lambda filling: filling.write("surface", 1, "A-1", washed="11:10", dust_removed="11:20"))
    assert (code in (0, 1), err) == (True, ""), out
    (surface,) = load_job(day).day.surfaces
    assert (f"{surface.washed:%H:%M}", f"{surface.dust_removed:%H:%M}") == ("11:10", "11:20")


def test_what_is_usual_is_told_in_the_units_of_the_contract(sheet, contract):
    project = contract / "project.yaml"
    text = project.read_text("utf-8")
    limits = "  conditions: {dew_point_margin: 5 delta_degF}\n  sampling:"
    project.write_text(text.replace("  sampling:", limits, 1).replace(" m2", " ft2"), "utf-8")

    def fill(filling):
        filling.write("conditions", 1, **{**CONDITIONS, "air": "64", "steel": "8.5"})
        filling.write("conditions", 2, **{**CONDITIONS, "time": "11:20", "air": "120", "steel": "118"})
        filling.write("conditions", 3, **{**CONDITIONS, "time": "12:20", "air": "20", "steel": "19"})
        filling.write("air_checks", 1, time="07:25", apparatus="pot 1", duration="2", clean="x", pressure="7")
        filling.write(
            "gauge_checks", 1, time="11:00", gauge="g1", clean="x", preset="20", shim="3.0", shim_reading="3.0"
        )

    _, out, _ = sheet(fill)
    said = words(out.split("Doubted")[1])
    assert "steel `8.5 degF`: 55.5 °F below the air, where up to 36 °F is usual" in said
    assert "air `120 degF`: air is seldom above 113 °F; is it in another unit?" in said
    assert "air `20 degF`: air is seldom below 32 °F; was it read in °C?" in said
    assert "pressure `7 psi`: air below 14.5 psi does not blast; is the unit right?" in said
    assert "preset `20 mil`: it should be about -2 mil; is the point in its place?" in said.replace("\u2212", "-")
    assert "°C" not in said.replace("read in °C", "")


@pytest.fixture
def answered(monkeypatch, terminal):
    """Sit at a terminal and give these answers."""

    def answer(*lines, typed=b""):
        left = iter(lines)
        stream = SimpleNamespace(buffer=io.BytesIO(typed), isatty=lambda: True, readline=lambda: next(left, "") + "\n")
        monkeypatch.setattr(sys, "stdin", stream)
        terminal("stderr")
        return left

    return answer


def test_doubts_are_asked_on_a_terminal_before_they_are_believed(sheet, contract, answered):
    answered("8,5", "y", "")
    code, out, err = sheet(slips)
    asked = words(err)
    assert [asked.count(sentence) for sentence in DOUBTED] == [1, 1, 1]
    assert "`y` keeps it, another number takes its place, Enter leaves it out:" in asked
    day = load_job(contract / "day.yaml").day
    assert [(str(one.air), str(one.steel)) for one in day.conditions] == [("13.5 °C", "8.5 °C"), ("55 °C", "50 °C")]
    assert day.air_checks[0].pressure is None
    assert code == 1
    said = words(out)
    assert "Doubted" not in out
    assert "pressure `7 kPa`: left out when asked about: air below 100 kPa does not blast; is the unit right?" in said
    assert "row 2, air `55 degC`: confirmed; air is seldom above 45 °C" in said


def test_an_answer_in_doubt_is_asked_about_again(sheet, contract, answered):
    answered("80", "8.0")
    code, _, err = sheet(lambda filling: filling.write("conditions", 1, **{**CONDITIONS, "steel": "85"}))
    assert words(err).count("above the air") == 2
    assert code == 0
    assert str(load_job(contract / "day.yaml").day.conditions[0].steel) == "8.0 °C"


def test_an_answer_that_no_field_can_hold_is_refused(sheet, contract, answered):
    answered("warm")
    code, out, _ = sheet(lambda filling: filling.write("conditions", 1, **{**CONDITIONS, "steel": "85"}))
    assert code == 1
    assert "steel `warm`: `warm` is not a number with a unit" in words(out)
    assert load_job(contract / "day.yaml").day.conditions == []


TYPED = b"A-1 2 a x1 2.45\nA-1 3 a x1 2.38\nA-1 4 a x1 2.51\nA-1 5 a x1 2.44\nA-1 6 a x1 0.3\n"


def test_more_digits_than_the_gauge_shows_are_one_question(run, contract, answered):
    left = answered("perhaps", "", "y", typed=TYPED)
    code, out, err = run("intake", "-", "--into", "day.yaml")
    asked = words(err)
    digits = (
        "line 1, x1 `2.45`; line 2, x1 `2.38`; line 3, x1 `2.51` and 1 more: "
        "more digits than the gauge shows, which reads in steps of 0.1 mil"
    )
    assert asked.count(digits) == 2, "a number cannot stand for four readings"
    assert "line 5, x1 `0.3`: the values beside it are about 2.45 mil; is the point in its place?" not in asked
    readings = [str(reading.value) for reading in load_job(contract / "day.yaml").readings[0]]
    assert readings == ["2.9", "0.3"]
    assert code == 1
    assert words(out).count("left out when asked about") == 4
    assert next(left) == "y"


def test_a_point_one_place_off_is_asked_about(run, contract, answered):
    answered("y", "2.6", typed=TYPED)
    code, _, err = run("intake", "-", "--into", "day.yaml")
    assert "line 5, x1 `0.3`: the values beside it are about 2.45 mil; is the point in its place?" in words(err)
    readings = [str(reading.value) for reading in load_job(contract / "day.yaml").readings[0]]
    assert readings == ["2.9", "2.45", "2.38", "2.51", "2.44", "2.6"]
    assert code == 0


def test_a_patch_in_another_unit_is_doubted(sheet, contract):
    project = (contract / "project.yaml").read_text("utf-8")
    limit = "  soluble_salts: {maximum: 30 mg/m2, expressed_as: mixed salts by conductivity}\npeople:"
    (contract / "project.yaml").write_text(project.replace("people:", limit), "utf-8")

    def fill(filling):
        row = {"location": "1", "volume": "3", "blank": "1.8"}
        filling.write("salts", 1, "A-1", **row, salt_area="1225", sample="9.4")
        filling.write("salts", 2, "A-1", **row, salt_area="12.25 m2", sample="9.6", time="10:50")

    code, out, _ = sheet(fill)
    said = words(out.split("Doubted")[1])
    usual = "the area under a patch is usually from 1 cm² to 100 cm²; is the unit right?"
    assert code == 1
    assert f"page 2, Salts, row 1, area `1225 cm2`: {usual}" in said
    assert f"page 2, Salts, row 2, area `12.25 m2`: {usual}" in said


# Re-inspection


RAISED = DAY.replace("x1: 2.9", "x1: 1.5") + (
    "nonconformances:\n  - {id: N-1, area: A-1, findings: [profile-below-minimum], description: too smooth, "
    "disposition: rework, decided_by: ines, corrective_action: blast again, status: open}\n"
)


@pytest.fixture
def next_day(run, contract):
    """The shift after one that raised a nonconformance."""
    (contract / "day.yaml").write_text(RAISED, encoding="utf-8")
    assert run("new", "--next", "day.yaml").code == 0
    return "2026-05-05.yaml"


def measured(filling):
    for row, time in ((1, "07:10"), (2, "14:30")):
        filling.write("gauge_checks", row, time=time, clean="x", preset="-2.0", shim="3.0", shim_reading="3.0")
    filling.write("tape_checks", 1, time="07:15", thickness="5.6")
    filling.write("surface", 1, "A-1", **PREPARED)
    filling.write("readings", 1, "A-1", roll1="2.8")


def test_a_sheet_that_asks_for_a_reinspection_closes_the_nonconformance(sheet, contract, next_day):
    code, _, err = sheet(lambda f: (measured(f), f.write("surface", 1, "A-1", cleaned="12")), day=next_day)
    assert (code, err) == (0, "")
    evaluation = check(contract / next_day).evaluation
    (surface,) = load_job(contract / next_day).day.surfaces
    assert (surface.reinspects, str(surface.cleaned)) == (["N-1"], "12 m²")
    assert [(area.id, area.decision) for area in evaluation.areas if area.id == "A-1"] == [("A-1", "release")]
    assert [(one.id, one.status, one.closed_by) for one in evaluation.nonconformances] == [
        ("N-1", "closed", "SL-1-002")
    ]


def test_a_reinspection_that_does_not_say_how_much_was_blasted_again_is_asked(sheet, contract, next_day):
    code, out, err = sheet(measured, day=next_day)
    assert (code, "A-1: `Cleaned` is empty beside the re-inspection" in " ".join((out + err).split())) == (1, True)


def test_how_much_was_blasted_again_can_be_filled_in_afterwards(run, contract, next_day):
    """The same sheet once more, with the one place filled: that is added, and nothing else is touched."""
    assert run("sheet", next_day, "-o", "blank.pdf").code == 0
    made = sheet_of(load_job(contract / next_day), evaluation=check(contract / next_day).evaluation)

    def taken(**more):
        filling = Filling(made)
        measured(filling)
        filling.write("surface", 1, "A-1", **more)
        (contract / "filled.pdf").write_bytes(filled((contract / "blank.pdf").read_bytes(), filling.values))
        return run("intake", "filled.pdf", "--into", next_day)

    assert taken().code == 1
    before = (contract / next_day).read_text("utf-8").splitlines()
    code, out, err = taken(cleaned="12")
    assert (code, err) == (0, ""), out
    (surface,) = load_job(contract / next_day).day.surfaces
    assert (surface.reinspects, str(surface.cleaned)) == (["N-1"], "12 m²")
    added = [one for one in (contract / next_day).read_text("utf-8").splitlines() if one not in before]
    assert [one.split("#")[0].strip() for one in added] == ["cleaned: 12 m2"]
    assert taken().code == 0  # what is there by now is not asked for again


def test_a_bad_reinspection_leaves_it_open(sheet, contract, next_day):
    sheet(lambda filling: (measured(filling), filling.write("readings", 1, "A-1", roll1="1.4")), day=next_day)
    evaluation = check(contract / next_day).evaluation
    assert [(one.id, one.status) for one in evaluation.nonconformances] == [("N-1", "open")]


def test_the_inspector_can_say_that_it_is_no_reinspection(sheet, contract, next_day):
    code, _, _ = sheet(lambda f: (measured(f), f.write("surface", 1, "A-1", reinspects="")), day=next_day)
    assert code == 0
    assert load_job(contract / next_day).day.surfaces[0].reinspects == []


def test_an_area_not_touched_is_no_reinspection(sheet, contract, next_day):
    _, out, _ = sheet(lambda filling: filling.write("tape_checks", 1, time="07:15", thickness="5.6"), day=next_day)
    assert "reinspects" not in out
    assert load_job(contract / next_day).day.surfaces == []


def test_a_nonconformance_of_another_day_that_does_not_exist_is_refused_alone(sheet, contract, next_day):
    code, out, _ = sheet(lambda f: (measured(f), f.write("surface", 1, "A-1", reinspects="N-1 N-7")), day=next_day)
    assert code == 1
    assert "page 2, A-1, reinspects `N-7`: no day file raises nonconformance `N-7`" in words(out)
    assert load_job(contract / next_day).day.surfaces[0].reinspects == ["N-1"]


def test_what_is_closed_already_is_not_asked_for_again(run, sheet, contract, next_day):
    sheet(measured, day=next_day)
    day = (contract / next_day).read_text("utf-8").replace("2026-05-05", "2026-05-06").replace("SL-1-002", "SL-1-003")
    (contract / "third.yaml").write_text(day[: day.index("surfaces:")] + "surfaces: []\n", encoding="utf-8")
    filling = Filling(sheet_of(load_job(contract / "third.yaml"), evaluation=check(contract / "third.yaml").evaluation))
    assert not any(cell.key == "reinspects" for block in filling.plan.blocks for cell in block.cells)
    assert not any("N-1" in line for block in filling.plan.blocks for line in block.heading)


def test_typed_readings_of_an_area_with_an_open_nonconformance_say_how_it_is_closed(
    run, contract, next_day, monkeypatch
):
    path = contract / next_day
    begun = "surfaces:\n" + DAY.split("surfaces:\n")[1].split("    profile:")[0]
    text = path.read_text("utf-8")
    start = text.index("surfaces:")
    path.write_text(text[:start] + begun + "not_inspected: []\n", encoding="utf-8")

    def typed(line):
        monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(line), isatty=lambda: False))
        return run("intake", "-", "--into", next_day)

    code, out, _ = typed(b"A-1 1 a x1 2.8\n")
    assert code == 0
    note = "A-1: N-1 is open; if this is the re-inspection that is to close it, write `reinspects: [N-1]` with the area"
    assert f"{note}, and `cleaned`: how much was blasted again" in words(out)
    path.write_text(path.read_text("utf-8").replace("    profile:", "    reinspects: [N-1]\n    profile:"), "utf-8")
    out = words(typed(b"A-1 2 a x1 2.8\n").out)
    assert "N-1" not in out
    whole = "A-1: the re-inspection is read as if all that failed was blasted again"
    assert f"{whole}; where it was a part, write its size in `cleaned`" in out
    path.write_text(path.read_text("utf-8").replace("    profile:", "    cleaned: 2 m2\n    profile:"), "utf-8")
    assert "`cleaned`" not in typed(b"A-1 3 a x1 2.8\n").out


def test_what_was_kept_is_written_as_confirmed_so_that_check_does_not_ask_again(sheet, run, contract, answered):
    answered("y", "y", "y")
    code, _, _ = sheet(slips)
    day = load_job(contract / "day.yaml").day
    assert code == 0
    assert [one.confirmed for one in (*day.conditions, *day.air_checks)] == [True, True, True]
    answered()
    assert "entry-doubtful" not in run("check", "day.yaml").out
    again, out, _ = sheet(slips)
    assert (again, "0 values added" in out) == (0, True)


def test_readings_that_were_kept_are_confirmed_and_more_can_be_taken_in_beside_them(run, contract, answered):
    answered("y", "y", typed=TYPED)
    code, _, _ = run("intake", "-", "--into", "day.yaml")
    assert code == 0
    assert [one.confirmed for one in load_job(contract / "day.yaml").readings[0]] == [False, *[True] * 5]
    answered(typed=b"A-1 7 a x1 2.4\n")
    assert run("intake", "-", "--into", "day.yaml").code == 0
    assert len(load_job(contract / "day.yaml").readings[0]) == 7


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ({"air": "1.6", "steel": "15"}, {}, "beside it stands 1.6 °C; is the point in its place?"),
        ({"humidity": "8.4"}, {"humidity": "84"}, "air is seldom as dry as that, below 15 %"),
    ],
)
def test_slips_beside_one_other_value_are_asked_about(sheet, first, second, said):
    def fill(filling):
        filling.write("conditions", 1, **CONDITIONS | first)
        if second:
            filling.write("conditions", 2, **CONDITIONS | {"time": "11:20"} | second)

    code, out, _ = sheet(fill)
    assert (code, said in words(out.split("Doubted")[1])) == (1, True)
