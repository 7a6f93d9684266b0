"""A filled sheet becomes rows of the day file: values checked where they stand, the rest listed, nothing lost."""

import io
import re

import pytest
from pypdf import PdfWriter

from reportgen.errors import UsageError
from reportgen.job import Day, validated
from reportgen.sheet import field_name, render_sheet
from reportgen.yamlsource import parse_yaml
from tests.unit.intake.small import (
    DAY,
    METRIC,
    PREPARED,
    PROJECT,
    Filling,
    job_of,
    less_kept,
    rolls_of,
    sheet_of,
    take_in,
)


def day_of(intake):
    return parse_yaml(intake.data, "day.yaml").data


def filled(job, fill, **options):
    plan = sheet_of(job, **options)
    filling = Filling(plan)
    fill(filling)
    return take_in(filling.filled(), "sheet.pdf", job)


def whole_area(filling, area="A-1", rows=6):
    roll = rolls_of(filling.plan, area)
    filling.write("surface", 1, area, **PREPARED)
    filling.readings(area, {row: {"x1": f"2.{row}", "c1": f"2.{row - 1}"} for row in range(1, rows + 1)}, roll)


def test_a_whole_area_becomes_a_valid_day():
    def fill(filling):
        whole_area(filling)
        filling.write("conditions", 1, time="06:40", place="yard", air="13.5", humidity="71", steel="12.5")
        filling.write("gauge_checks", 1, time="06:41", clean="x", preset="-2.0", shim="3.0", shim_reading="3.1")
        filling.write("tape_checks", 2, time="06:42", thickness="5.5")
        filling.write("air_checks", 1, time="06:50", apparatus="pot 1", duration="2", oil="x", water="x")
        filling.write("abrasive_checks", 1, time="06:52", abrasive="grit", none="x", conductivity="140")
        filling.write("salts", 1, "A-1", location="2", salt_area="12.5", volume="3", blank="1.8", sample="9.4")
        filling.write("dust", 1, "A-1", location="3", quantity="1", size="2")

    intake = filled(job_of(), fill, areas=["A-1"])
    assert (intake.refused, intake.missing, intake.differences, intake.notes) == ((), (), (), ())
    assert intake.complete
    day = day_of(intake)
    assert isinstance(validated(Day, day), Day)
    assert day["conditions"] == [
        {"time": "06:40", "place": "yard", "air": "13.5 degC", "humidity": "71 %", "steel": "12.5 degC",
         "instruments": ["h1", "t1"]}
    ]  # fmt: skip
    assert day["gauge_checks"][0]["anvils"] == "clean"
    assert day["tape_checks"] == [{"time": "06:42", "roll": "x1", "gauge": "g1", "thickness": "5.5 mil"}]
    assert day["air_checks"][0]["result"] == "oil and water"
    assert day["abrasive_checks"][0] | {"time": ""} == {
        "time": "", "abrasive": "grit", "oil": "none seen", "conductivity": "140 uS/cm", "instrument": "k1"
    }  # fmt: skip
    surface = day["surfaces"][0]
    assert list(surface) == [
        "area", "apparatus", "initial_condition", "blasted", "cleanliness", "profile", "salts", "dust", "coated"
    ]  # fmt: skip
    assert surface["profile"]["readings"][0] == {"location": "1", "spot": "a", "x1": "2.1", "c1": "2.0"}
    assert surface["salts"][0]["instrument"] == "k1"


def _replicas(fill):
    intake = filled(job_of(), lambda f: (whole_area(f, rows=3), fill(f)), areas=["A-1"])
    return day_of(intake)["surfaces"][0].get("replicas"), intake


def test_a_tick_beside_a_reading_is_the_grain_of_its_replica():
    replicas, intake = _replicas(lambda f: f.write("readings", 2, "A-1", uniform="x"))
    assert replicas == [{"location": "1", "spot": "b", "grain": "uniform"}]
    assert intake.complete is False  # rows 4 to 6 have no reading


def test_a_tick_of_a_spot_keeps_what_one_row_says_of_all_replicas():
    def fill(filling):
        filling.write("readings", 2, "A-1", uniform="x")
        filling.write("replicas", 1, "A-1", rubbed="x", affixed="x")
        filling.write("replicas", 2, "A-1", location="2", spot="a", uneven="x")
        filling.write("readings", 3, "A-1", uniform="x")

    replicas, intake = _replicas(fill)
    assert replicas == [
        {"rubbed": "fully", "kept": "affixed"},
        {"location": "2", "spot": "a", "grain": "not uniform"},
        {"location": "1", "spot": "b", "grain": "uniform", "rubbed": "fully", "kept": "affixed"},
    ]
    [refused] = [one for one in intake.refused if one.name == "grain"]
    assert refused.message == "the replica is ticked as not uniform too"


def test_a_tick_without_a_reading_is_no_replica():
    replicas, intake = _replicas(lambda f: f.write("readings", 5, "A-1", uniform="x"))
    assert replicas is None
    assert any("location 3, spot a has no reading" in line for line in intake.missing)


def test_the_position_of_a_location_is_taken_once():
    def fill(filling):
        filling.write("readings", 1, "A-1", position="top flange")
        filling.write("readings", 2, "A-1", position="top flange")
        filling.write("readings", 3, "A-1", position="web")
        filling.write("readings", 5, "A-1", location='"', position='"')

    _, intake = _replicas(fill)
    assert day_of(intake)["surfaces"][0]["positions"] == {"1": "top flange", "2": "web"}
    assert [(one.name, one.value) for one in intake.refused] == []


def test_two_positions_of_one_location_are_refused():
    def fill(filling):
        filling.write("readings", 1, "A-1", position="top flange")
        filling.write("readings", 2, "A-1", position="web")

    _, intake = _replicas(fill)
    [refused] = intake.refused
    assert (refused.name, refused.message) == ("positions", "location 1 is at `top flange` already")


def test_the_same_as_above_is_carried_down_and_from_the_area_before():
    def fill(filling):
        whole_area(filling, "A-1")
        whole_area(filling, "A-2")
        filling.write("surface", 1, "A-2", apparatus='"', abrasive="''")
        filling.write("conditions", 1, time="06:40", place="yard", air="13.5", humidity="71", steel="12.5")
        filling.write("conditions", 2, time="09:40", place='"', air="13.5", humidity="71", steel="12.5")

    day = day_of(filled(job_of(), fill))
    assert [one["place"] for one in day["conditions"]] == ["yard", "yard"]
    assert [one["apparatus"] for one in day["surfaces"]] == ["pot 1", "pot 1"]
    assert day["surfaces"][1]["blasted"]["abrasive"] == "grit, lot 3"


@pytest.mark.parametrize(
    ("cells", "name"),
    [({"place": "yard", "air": '"'}, "air"), ({"place": "yard", "air": "13", "humidity": '"'}, "humidity")],
)
def test_nothing_measured_is_carried_down(cells, name):
    def fill(filling):
        filling.write("conditions", 1, time="06:40", place="yard", air="13.5", humidity="71", steel="12.5")
        filling.write("conditions", 2, **{"time": "09:40", "steel": "12.5"} | cells)

    intake = filled(job_of(), fill)
    assert [(one.name, one.value) for one in intake.refused if one.name == name] == [(name, '"')]


def test_a_reading_is_never_carried_down():
    def fill(filling):
        whole_area(filling)
        filling.readings("A-1", {2: {"x1": '"'}}, rolls_of(filling.plan, "A-1"))

    intake = filled(job_of(), fill, areas=["A-1"])
    assert [(one.name, one.value) for one in intake.refused] == [("x1", '"')]


def test_the_same_as_above_in_the_first_row_says_nothing():
    fill = {"time": "06:40", "place": '"', "air": "13.5", "humidity": "71", "steel": "12.5"}
    [refused] = filled(job_of(), lambda f: f.write("conditions", 1, **fill)).refused
    assert (refused.name, refused.message) == ("place", "nothing is written above it")


def test_who_was_told_of_a_release_comes_in_and_a_photo_is_asked_for():
    def fill(filling):
        whole_area(filling, "A-1")
        filling.write("told_released", 1, to="Q. Maddock, foreman", time="11:10")
        filling.write("photos", 1, number="0412", location="3", caption="edge")

    intake = filled(job_of(), fill)
    day = day_of(intake)
    assert day["told_released"] == [{"area": "A-1", "to": "Q. Maddock, foreman", "time": "11:10"}]
    [photo] = [line for line in intake.missing if "photo" in line]
    assert photo.endswith("(number 0412, location 3, caption edge)")


def test_the_comments_of_the_day_file_stay():
    text = filled(job_of(), whole_area, areas=["A-1"]).data.decode()
    for line in (line for line in DAY.splitlines() if "kept" in line):
        assert line.partition("#")[2] in text
    assert text.startswith(DAY[: DAY.index("conditions")])


def test_a_second_intake_of_the_same_sheet_changes_nothing():
    first = filled(job_of(), whole_area, areas=["A-1"])
    again = take_in(_filled_pdf(job_of(), whole_area), "sheet.pdf", job_of(first.data.decode()))
    assert again.data == first.data
    assert (again.added, again.differences) == ((), ())
    assert again.already > 12
    assert again.notes == ("the day file has changed since the sheet was made; nothing in it is overwritten unasked",)


def _filled_pdf(job, fill):
    filling = Filling(sheet_of(job, areas=["A-1"]))
    fill(filling)
    return filling.filled()


def test_a_missing_second_reading_is_added_to_its_row_and_nothing_else():
    first = filled(job_of(), lambda f: (whole_area(f), f.values.pop(_cell(f, 3, "c1"))), areas=["A-1"])
    assert "{location: 2, spot: a, x1: 2.3}" in first.data.decode()
    second = take_in(_filled_pdf(job_of(), whole_area), "sheet.pdf", job_of(first.data.decode()))
    assert second.added == ("surfaces A-1, profile, readings 2 a, c1: 2.2",)
    expected = first.data.decode().replace("x1: 2.3}", "x1: 2.3, c1: 2.2}")
    assert second.data.decode() == expected


def _cell(filling, row, roll):
    number = next(n for n, block in enumerate(filling.plan.blocks, 1) if block.kind == "readings")
    return field_name(number, row, rolls_of(filling.plan, "A-1")[roll])


def test_a_different_value_is_listed_and_left_unless_told():
    first = filled(job_of(), whole_area, areas=["A-1"])
    changed = first.data.decode().replace("x1: 2.3", "x1: 2.9").replace('coated: "12:00"', 'coated: "12:30"  # saw it')
    pdf = _filled_pdf(job_of(), whole_area)
    kept = take_in(pdf, "sheet.pdf", job_of(changed))
    assert kept.data.decode() == changed
    assert [(d.name, d.present, d.came, d.replaced) for d in kept.differences] == [
        ("surfaces A-1, coated", "12:30", "12:00", False),
        ("surfaces A-1, profile, readings 2 a, x1", "2.9", "2.3", False),
    ]
    assert not kept.complete
    replaced = take_in(pdf, "sheet.pdf", job_of(changed), overwrite=True)
    assert replaced.data.decode() == changed.replace("2.9", "2.3").replace("12:30", "12:00")
    assert all(difference.replaced for difference in replaced.differences)


WHOLE = {
    "conditions": {"time": "06:40", "place": "yard", "air": "13.5", "humidity": "71", "steel": "12.5"},
    "gauge_checks": {"time": "06:41", "clean": "x", "preset": "-2.0"},
    "air_checks": {"time": "06:50", "apparatus": "pot 1", "duration": "2", "clean": "x"},
    "tape_checks": {"time": "06:42", "thickness": "5.5"},
}
"""A row of each table that can be taken whole."""


@pytest.mark.parametrize(
    ("kind", "cells", "place", "name", "message"),
    [
        ("conditions", {"time": "6.4"}, "page 1, Conditions, row 2", "time", "`6.4` is not a time"),
        ("conditions", {"air": "13,5,0"}, "page 1, Conditions, row 2", "air", "`13,5,0` is not a number"),
        (
            "conditions",
            {"air": "1,135"},
            "page 1, Conditions, row 2",
            "air",
            "`1,135` may be 1.135 or 1135",
        ),
        (
            "conditions",
            {"humidity": "171"},
            "page 1, Conditions, row 2",
            "humidity",
            "`171 %` is outside anything this field can hold (0 % to 100 %)",
        ),
        (
            "conditions",
            {"place": "bay\u202e7"},
            "page 1, Conditions, row 2",
            "place",
            "U+202E is invisible or a control character",
        ),
        (
            "gauge_checks",
            {"cleaned": "x"},
            "page 1, Gauge checks, row 2",
            "anvils",
            "clean and cleaned are ticked, which contradict each other",
        ),
        (
            "air_checks",
            {"oil": "x"},
            "page 1, Compressed air, row 2",
            "result",
            "clean and oil are ticked, which contradict each other",
        ),
    ],
)
def test_a_wrong_value_is_named_by_page_and_row(kind, cells, place, name, message):
    intake = filled(job_of(), lambda f: f.write(kind, 2, **(WHOLE[kind] | cells)), areas=["A-1"])
    value, row = intake.refused
    assert (value.place, value.name, value.message) == (place, name, message)
    assert value.help_text
    assert (row.place, row.name) == (place, "row")
    assert f"`{name}` was not taken" in row.message
    assert "missing" not in row.message
    written = [text for cell, text in WHOLE[kind].items() if cell not in cells and text != "x"]
    assert all(text in row.value for text in written)


def test_a_comma_for_a_point_and_times_without_a_colon_are_taken():
    def fill(filling):
        whole_area(filling)
        filling.write("surface", 1, "A-1", start="700", end="8.30", coated="1820")
        filling.write("conditions", 1, time="6.40", place="yard", air="9,5", humidity="71", steel="-0,5")
        filling.write("gauge_checks", 1, time="641", clean="x", preset="\u22122,0")
        filling.write("salts", 1, "A-1", location="2", salt_area="12,25", volume="3", blank="0,125", sample="9.4 uS/cm")
        filling.values[_cell(filling, 4, "x1")] = "2,4"
        filling.write("readings", 4, "A-1", time="910")

    intake = filled(job_of(), fill, areas=["A-1"])
    assert (intake.refused, intake.doubted) == ((), ())
    day = day_of(intake)
    assert day["conditions"][0] | {"instruments": 0} == {
        "time": "06:40", "place": "yard", "air": "9.5 degC", "humidity": "71 %", "steel": "-0.5 degC", "instruments": 0
    }  # fmt: skip
    assert (day["gauge_checks"][0]["time"], day["gauge_checks"][0]["preset"]) == ("06:41", "-2.0 mil")
    surface = day["surfaces"][0]
    assert (surface["blasted"]["start"], surface["blasted"]["end"], surface["coated"]) == ("07:00", "08:30", "18:20")
    assert (surface["salts"][0]["area"], surface["salts"][0]["blank"]) == ("12.25 cm2", "0.125 uS/cm")
    assert surface["profile"]["readings"][3] | {"c1": ""} == {
        "location": "2", "spot": "b", "x1": "2.4", "c1": "", "time": "09:10"
    }  # fmt: skip


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("OL", "`OL` is not a reading"),
        ("2,4,1", "`2,4,1` is not a number"),
        ("24", "24 mil is outside what replica tape can read"),
        ("61 um", "the reading is in µm, the gauge shows mil"),
    ],
)
def test_a_wrong_reading_is_refused_and_the_rest_taken(text, message):
    def fill(filling):
        whole_area(filling)
        filling.values[_cell(filling, 4, "x1")] = text

    intake = filled(job_of(), fill, areas=["A-1"])
    assert [(r.place, r.name, r.value, r.message) for r in intake.refused] == [
        ("page 2, Profile readings, row 4", "x1", text, message)
    ]
    assert day_of(intake)["surfaces"][0]["profile"]["readings"][3] == {"location": "2", "spot": "b", "c1": "2.3"}


def test_one_missing_value_costs_one_row():
    def fill(filling):
        whole_area(filling)
        filling.write("conditions", 1, **WHOLE["conditions"])
        filling.write("conditions", 2, **{k: v for k, v in WHOLE["conditions"].items() if k != "steel"})
        filling.write("conditions", 3, **(WHOLE["conditions"] | {"time": "11:00"}))

    intake = filled(job_of(), fill, areas=["A-1"])
    (refused,) = intake.refused
    assert (refused.place, refused.name, refused.message) == ("page 1, Conditions, row 2", "row", "`steel` is missing")
    assert refused.value == "06:40 yard (air 13.5 degC, humidity 71 %, instruments h1 t1)"
    assert [row["time"] for row in day_of(intake)["conditions"]] == ["06:40", "11:00"]
    assert len(day_of(intake)["surfaces"][0]["profile"]["readings"]) == 6


def test_a_part_filled_area_stays_with_all_it_lacks_to_be_filled_in():
    def fill(filling):
        roll = rolls_of(filling.plan, "A-1")
        filling.write("surface", 1, "A-1", apparatus="pot 1", start="07:00")
        filling.readings("A-1", {1: {"x1": "2.9"}}, roll)
        filling.write("readings", 2, "A-1", time="09:10")
        filling.write("conditions", 1, time="06:40", air="13.5")
        filling.write("tape_checks", 1, **WHOLE["tape_checks"])

    intake = filled(job_of(), fill, areas=["A-1"])
    again = "fill it in and take it in again; what stands in the day file already is left as it is"
    assert [(r.place, r.name, r.value, r.message, r.help_text) for r in intake.refused] == [
        (
            "page 1, Conditions, row 1",
            "row",
            "06:40 (air 13.5 degC, instruments h1 t1)",
            "`steel` is missing",
            again,
        ),
        (
            "page 2, Profile readings, row 2",
            "time",
            "09:10",
            "no reading of this row was taken",
            "write the reading beside it",
        ),
    ]
    assert intake.missing == (
        "A-1: neither `film off` nor `film on` is ticked; the day file will be read as `film: subtracted`",
        *(
            f"page 2, Profile readings, row {row}: location {place}, spot {spot} has no reading"
            for row, place, spot in ((3, 2, "a"), (4, 2, "b"), (5, 3, "a"), (6, 3, "b"))
        ),
        *(f"page 2, A-1: `{name}`" for name in ("initial_condition", "blasted.end", "blasted.abrasive")),
    )
    (area,) = day_of(intake)["surfaces"]
    assert (area["apparatus"], area["initial_condition"]) == ("pot 1", "<initial condition>")
    assert area["blasted"] == {"start": "07:00", "end": "<end of blasting>", "abrasive": "<abrasive>"}
    assert area["profile"]["readings"] == [{"location": "1", "spot": "a", "x1": "2.9"}]
    assert len(day_of(intake)["tape_checks"]) == 1


def test_what_an_area_in_the_day_file_lacks_only_costs_the_part_it_is_in():
    first = filled(job_of(), whole_area, areas=["A-1"]).data.decode()
    day = first.replace("    cleanliness: {observed: Sa 2½, staining: 2 %}\n", "")

    def fill(filling):
        whole_area(filling)
        filling.values.pop(next(name for name in filling.values if name.endswith("_observed")))

    intake = filled(job_of(day), fill, areas=["A-1"])
    (refused,) = intake.refused
    assert (refused.place, refused.name, refused.value) == ("page 2, A-1", "cleanliness", "staining 2 %")
    assert refused.message == "`cleanliness.observed` is missing"
    assert less_kept(intake.data).decode() == day


def test_what_the_rest_of_the_job_contradicts_is_led_back_to_page_and_row():
    def fill(filling):
        whole_area(filling)
        filling.write("surface", 1, "A-1", coated="08:10")
        filling.write("conditions", 1, **(WHOLE["conditions"] | {"instruments": "h1 k1 t9"}))
        filling.write("tape_checks", 1, **(WHOLE["tape_checks"] | {"roll": "x9"}))
        filling.write("readings", 2, "A-1", time="09:12")
        filling.write("readings", 3, "A-1", time="09:02")

    intake = filled(job_of(), fill, areas=["A-1"])
    assert [(r.place, r.name, r.value, r.message) for r in intake.refused] == [
        (
            "page 1, Conditions, row 1",
            "instruments",
            "k1",
            "`k1` is a conductivity meter; a conditions reading needs a hygrometer",
        ),
        ("page 1, Conditions, row 1", "instruments", "t9", "the project has no instrument `t9`"),
        ("page 1, Tape checks, row 1", "row", "06:42 x9 (gauge g1, thickness 5.5 mil)", "the project has no roll `x9`"),
        ("page 2, A-1", "coated", "08:10", "coated at 08:10, before blasting ended at 08:30"),
        ("page 2, Profile readings, row 3", "time", "09:02", "09:02 comes after 09:12 in the row before"),
    ]
    day = day_of(intake)
    assert day["conditions"][0]["instruments"] == ["h1"]
    assert "coated" not in day["surfaces"][0]
    assert [row.get("time") for row in day["surfaces"][0]["profile"]["readings"][:3]] == [None, "09:12", None]


def test_a_sheet_is_added_to_a_list_in_brackets_as_it_is_written():
    row = '{time: "06:00", place: yard, air: 13 degC, humidity: 70 %, steel: 12 degC}'
    day = DAY.replace("conditions: []", f"conditions: [\n  {row}]")
    intake = filled(job_of(day), lambda f: f.write("conditions", 1, **WHOLE["conditions"]), areas=["A-1"])
    assert intake.refused == ()
    added = re.sub(r",\n  \{time: \"06:40\"[^}]*\}", "", less_kept(intake.data).decode())
    assert added == day


def test_rows_in_any_order_go_to_their_place_in_time():
    day = DAY.replace(
        "conditions: []", 'conditions:\n  - {time: "14:00", place: yard, air: 13 degC, humidity: 70 %, steel: 12 degC}'
    )

    def fill(filling):
        for row, time in ((1, "15:10"), (2, "06:40"), (3, "10:50")):
            filling.write("conditions", row, **(WHOLE["conditions"] | {"time": time}))

    intake = filled(job_of(day), fill, areas=["A-1"])
    assert intake.refused == ()
    assert [row["time"] for row in day_of(intake)["conditions"]] == ["06:40", "10:50", "14:00", "15:10"]


def test_two_ticks_of_a_kind_are_refused():
    intake = filled(
        job_of(), lambda f: f.write("surface", 1, "A-1", was_A="x", was_C="x", subtracted="x"), areas=["A-1"]
    )
    value, area = intake.refused
    assert (value.place, value.name, value.message) == (
        "page 2, A-1", "initial_condition", "A and C are ticked, which contradict each other"
    )  # fmt: skip
    assert area.message == "`apparatus` and `blasted` are missing; `initial_condition` was not taken"


def test_an_area_not_inspected_goes_to_its_list_and_its_rows_are_not_missed():
    intake = filled(job_of(), lambda f: f.write("surface", 1, "A-1", not_inspected="no scaffold"), areas=["A-1"])
    assert day_of(intake)["not_inspected"] == [{"area": "A-1", "reason": "no scaffold"}]
    assert intake.missing == ()


def test_an_area_inspected_now_leaves_the_list_of_those_not_inspected():
    day = DAY.replace(
        "surfaces: []", "surfaces: []\nnot_inspected:\n  - {area: A-1, reason: due}\n  - {area: A-2, reason: due}"
    )
    intake = filled(job_of(day), whole_area, areas=["A-1"])
    assert day_of(intake)["not_inspected"] == [{"area": "A-2", "reason": "due"}]
    assert intake.removed == ("A-1 is inspected now and no longer listed under `not_inspected`",)


def test_film_included_is_judged_with_its_film():
    def fill(filling):
        filling.write("surface", 1, "A-1", **{k: v for k, v in PREPARED.items() if k != "subtracted"}, included="x")
        filling.readings("A-1", {1: {"x1": "121"}, 2: {"x1": "30"}}, rolls_of(filling.plan, "A-1"))

    intake = filled(job_of(project=METRIC), fill, areas=["A-1"])
    assert [refused.value for refused in intake.refused] == ["30"]
    profile = day_of(intake)["surfaces"][0]["profile"]
    assert (profile["film"], profile["readings"]) == ("included", [{"location": "1", "spot": "a", "x1": "121"}])


@pytest.mark.parametrize(
    ("day", "project", "what"),
    [
        (DAY.replace("AB-7-1", "AB-7-2"), PROJECT, "its report is AB-7-1, this day file's is AB-7-2"),
        (DAY.replace("2026-06-12", "2026-06-13"), PROJECT, "its date is 2026-06-12, this day file's is 2026-06-13"),
        (DAY.replace("revision: 0", "revision: 1"), PROJECT, "its revision is 0, this day file's is 1"),
        (DAY, PROJECT.replace("AB-7,", "AB-8,"), "its contract is AB-7, this day file's is AB-8"),
    ],
)
def test_a_sheet_of_another_job_is_refused(day, project, what):
    pdf = _filled_pdf(job_of(), whole_area)
    with pytest.raises(UsageError, match=rf"^sheet.pdf belongs to another job: {what}$"):
        take_in(pdf, "sheet.pdf", job_of(day, project))


def test_a_changed_project_is_said():
    pdf = _filled_pdf(job_of(), whole_area)
    intake = take_in(pdf, "sheet.pdf", job_of(project=PROJECT + "# more\n"))
    assert intake.notes == ("the project file has changed since the sheet was made; values were checked against it",)


def test_an_area_the_contract_no_longer_has_is_refused():
    pdf = _filled_pdf(job_of(), whole_area)
    intake = take_in(pdf, "sheet.pdf", job_of(project=PROJECT.replace("id: A-1", "id: A-9")))
    assert {refused.message for refused in intake.refused} == {"`A-1` is not an area of this contract"}
    assert len(intake.refused) == 9
    assert "2.6" in intake.refused[-1].value
    assert less_kept(intake.data) == DAY.encode()
    assert all("area" not in one for one in day_of(intake)["not_taken"])


def _pdf_without_form():
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    into = io.BytesIO()
    writer.write(into)
    return into.getvalue()


def _encrypted():
    writer = PdfWriter(clone_from=io.BytesIO(render_sheet(sheet_of(job_of()))))
    writer.encrypt("secret", algorithm="RC4-128")
    into = io.BytesIO()
    writer.write(into)
    return into.getvalue()


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (_pdf_without_form, "it has no form fields; it was printed to a new PDF, or flattened, or is another file"),
        (lambda: b"%PDF-1.7\nnothing", "cannot be read"),
        (_encrypted, "the PDF is encrypted"),
    ],
)
def test_what_is_no_filled_sheet_is_refused(data, message):
    with pytest.raises(UsageError, match=message):
        take_in(data(), "sheet.pdf", job_of())


def test_a_form_of_someone_else_is_refused():
    from reportgen.sheet import FORM_FIELD, parse_form

    for text in ("", "[]", "{}", '{"format": 1}', "[" * 50_000, '{"format":1,"identity":{"a":1},"blocks":[]}'):
        with pytest.raises(UsageError, match=r"^this PDF is not a field sheet"):
            parse_form(text)
    later = r"^this field sheet is of format 9, made by reportgen 3; reportgen 0.1.0 reads format 1$"
    with pytest.raises(UsageError, match=later):
        parse_form('{"format": 9, "generator": "reportgen 3"}')
    assert "." not in FORM_FIELD


def test_a_form_with_other_blocks_is_refused():
    import json

    from reportgen.sheet import parse_form

    identity = {"contract": "A", "number": "B", "revision": 0, "date": "C", "project_sha256": "", "day_sha256": ""}
    block = {"kind": "dust", "area": None, "cells": [], "given": [], "units": {}, "rolls": {}, "rows": 1}
    right = {"format": 1, "identity": identity, "blocks": [block]}
    assert parse_form(json.dumps(right)).blocks[0].rows == 1
    for wrong in (
        {"identity": identity | {"revision": "0"}},
        {"identity": identity | {"number": 7}},
        {"blocks": [block] * 6001},
        {"blocks": [block | {"rows": 0}]},
        {"blocks": [block | {"rows": 10**9}]},
        {"blocks": [block | {"cells": [7]}]},
        {"blocks": [block | {"units": {"a": 1}}]},
        {"blocks": [block | {"area": 7}]},
    ):
        with pytest.raises(UsageError, match=r"^this PDF is not a field sheet"):
            parse_form(json.dumps(right | wrong))


def test_fields_are_read_the_same_way_in_this_process():
    import json

    from reportgen.sheet.filled import _fields

    pdf = _filled_pdf(job_of(), whole_area)
    found = json.loads(_fields(pdf))
    assert "Yes" in {text for _, text in found.values()}
    assert {page for page, _ in found.values()} == {1, 2, 3}
    with pytest.raises(UsageError, match=r"^the PDF is encrypted$"):
        _fields(_encrypted())


def _split_fields(pdf):
    """Every field as a parent that holds name and value, and a kid that is the widget, as some programs write it."""
    import pikepdf

    with pikepdf.open(io.BytesIO(pdf)) as document:
        form = document.Root.AcroForm
        parents = []
        for widget in list(form.Fields):
            parent = document.make_indirect(pikepdf.Dictionary(Kids=pikepdf.Array([widget])))
            for key in ("/T", "/V", "/FT", "/Ff", "/TU"):
                if key in widget:
                    parent[key] = widget[key]
                    del widget[key]
            widget.Parent = parent
            parents.append(parent)
        form.Fields = pikepdf.Array(parents)
        into = io.BytesIO()
        document.save(into)
    return into.getvalue()


def test_fields_split_into_parent_and_widget_are_read_too():
    pdf = _filled_pdf(job_of(), whole_area)
    assert take_in(_split_fields(pdf), "sheet.pdf", job_of()) == take_in(pdf, "sheet.pdf", job_of())


def test_ticks_without_a_value_are_read_from_their_appearance():
    import json

    import pikepdf

    from reportgen.sheet.filled import _fields

    pdf = _filled_pdf(job_of(), whole_area)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        for widget in document.Root.AcroForm.Fields:
            if widget.FT == "/Btn" and "/V" in widget:
                del widget["/V"]
        into = io.BytesIO()
        document.save(into)
    assert json.loads(_fields(into.getvalue())) == json.loads(_fields(pdf))


def test_a_large_file_and_a_file_of_another_kind_are_refused(monkeypatch):
    from reportgen.sheet import filled as sheetfile

    with pytest.raises(UsageError, match=r"^sheet.pdf is not a PDF$"):
        sheetfile.read_filled_sheet(b"hello", "sheet.pdf")
    monkeypatch.setattr(sheetfile, "SIZE_LIMIT", 10)
    with pytest.raises(UsageError, match=r"^sheet.pdf is larger than 0 MiB$"):
        sheetfile.read_filled_sheet(b"%PDF-1.7 more", "sheet.pdf")


def test_the_gauge_checks_without_a_tick_say_so():
    intake = filled(job_of(), lambda f: f.write("gauge_checks", 1, time="06:40", preset="-2.0"), areas=["A-1"])
    assert day_of(intake)["gauge_checks"][0]["anvils"] == "not checked"
    assert intake.notes == (
        "page 1, Gauge checks, row 1: neither `clean` nor `cleaned` is ticked; taken as `not checked`",
    )


def test_an_odd_reason_for_not_inspecting_is_refused():
    intake = filled(job_of(), lambda f: f.write("surface", 1, "A-1", not_inspected="ice\u200b"), areas=["A-1"])
    assert [(r.place, r.name) for r in intake.refused] == [("page 2, A-1", "not_inspected")]
    assert "not_inspected" not in day_of(intake)


def test_a_letter_that_no_font_has_is_taken_as_written():
    intake = filled(job_of(), lambda f: f.write("surface", 1, "A-1", not_inspected="漆 wet"), areas=["A-1"])
    assert intake.refused == ()
    assert day_of(intake)["not_inspected"] == [{"area": "A-1", "reason": "漆 wet"}]


def test_rows_that_contradict_the_model_are_refused_and_their_area_taken():
    def fill(filling):
        whole_area(filling)
        filling.write("salts", 1, "A-1", location="1", salt_area="12.5", volume="3", blank="9.4", sample="1.8")
        filling.write("conditions", 1, **(WHOLE["conditions"] | {"wet_bulb": "12"}))

    intake = filled(job_of(), fill, areas=["A-1"])
    assert [(r.place, r.name, r.message) for r in intake.refused] == [
        ("page 1, Conditions, row 1", "row", "a conditions reading needs either `humidity` or `wet_bulb`"),
        ("page 2, Salts, row 1", "row", "`sample` 1.8 µS/cm is below `blank` 9.4 µS/cm"),
    ]
    surface = day_of(intake)["surfaces"][0]
    assert "salts" not in surface
    assert len(surface["profile"]["readings"]) == 6


def test_film_ticked_alone_does_not_begin_an_area():
    intake = filled(job_of(), lambda f: f.write("surface", 1, "A-1", subtracted="x"), areas=["A-1"])
    assert intake.data == DAY.encode()
    assert [(r.name, r.value, r.message) for r in intake.refused] == [
        ("area", "A-1", "`apparatus`, `initial_condition` and `blasted` are missing")
    ]


def test_an_area_both_inspected_and_not_keeps_its_readings_and_the_reason_is_listed():
    def fill(filling):
        whole_area(filling)
        filling.write("surface", 1, "A-1", not_inspected="upper half no scaffold")

    intake = filled(job_of(), fill, areas=["A-1"])
    assert [(r.place, r.value, r.message) for r in intake.refused] == [
        ("page 2, A-1", "A-1 (reason upper half no scaffold)", "area `A-1` is both inspected and not inspected")
    ]
    assert len(day_of(intake)["surfaces"][0]["profile"]["readings"]) == 6


def test_a_time_that_is_none_loses_only_the_time():
    def fill(filling):
        whole_area(filling)
        filling.write("readings", 1, "A-1", time="9h")
        filling.write("readings", 2, "A-1", time="09:12")

    intake = filled(job_of(), fill, areas=["A-1"])
    assert [(r.place, r.name, r.value) for r in intake.refused] == [("page 2, Profile readings, row 1", "time", "9h")]
    rows = day_of(intake)["surfaces"][0]["profile"]["readings"]
    assert ("time" in rows[0], rows[1]["time"]) == (False, "09:12")


def test_a_gauge_the_sheet_names_decides_the_unit():
    project = PROJECT.replace("  h1:", "  g2: {kind: thickness gauge, serial: T-2, unit: um}\n  h1:")

    def fill(filling):
        whole_area(filling, rows=1)
        filling.write("surface", 1, "A-1", gauge="g2")
        filling.values[_cell(filling, 1, "x1")] = "71"
        filling.values[_cell(filling, 1, "c1")] = "171"

    intake = filled(job_of(project=project), fill, areas=["A-1"])
    assert [refused.value for refused in intake.refused] == ["171"]
    assert day_of(intake)["surfaces"][0]["profile"]["gauge"] == "g2"


def test_a_wrong_id_among_instruments_is_left_out_alone():
    cells = {"time": "06:40", "place": "yard", "air": "13", "humidity": "70", "steel": "12", "instruments": "h1, t/1"}
    intake = filled(job_of(), lambda f: f.write("conditions", 1, **cells), areas=["A-1"])
    assert [(r.name, r.value, r.message) for r in intake.refused] == [("instruments", "t/1", "`t/1` cannot be an id")]
    assert day_of(intake)["conditions"][0]["instruments"] == ["h1"]


def test_other_annotations_and_nameless_fields_are_passed_over():
    import pikepdf

    pdf = _filled_pdf(job_of(), whole_area)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        notes = document.pages[0].Annots
        notes.append(pikepdf.Dictionary(Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Text, Rect=[0, 0, 9, 9]))
        nameless = pikepdf.Dictionary(Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Widget, Rect=[0, 0, 9, 9])
        nameless = document.make_indirect(nameless)
        notes.append(nameless)
        document.Root.AcroForm.Fields.append(nameless)
        into = io.BytesIO()
        document.save(into)
    assert take_in(into.getvalue(), "sheet.pdf", job_of()) == take_in(pdf, "sheet.pdf", job_of())


def walked(filling, **first):
    """An area whose location 3 is too low, walked out to two locations upward and none to the left."""
    whole_area(filling)
    roll = rolls_of(filling.plan, "A-1")
    for row, spot in ((7, "a"), (8, "b")):
        filling.write("readings", row, "A-1", location="S1", spot=spot, **{roll["x1"]: "2.4", roll["c1"]: "2.3"})
    cells = {"area": "A-1", "failing": "3", "interval": "1", "towards": "up", "locations": "S1"} | first
    number = next(n for n, block in enumerate(filling.plan.blocks, 1) if block.kind == "walk_outs")
    filling.values |= {field_name(number, 1, key): text for key, text in cells.items()}
    filling.write("walk_outs", 2, towards="left", edge="x")


def test_a_walk_out_comes_in_with_each_direction():
    intake = filled(job_of(), walked, areas=["A-1"])
    assert intake.refused == ()
    [surface] = day_of(intake)["surfaces"]
    assert surface["profile"]["walk_outs"] == [
        {
            "failing": "3",
            "interval": "1 m",
            "directions": [
                {"towards": "up", "locations": ["S1"]}, {"towards": "left", "locations": [], "no_room": "yes"}
            ],
        }
    ]  # fmt: skip
    assert isinstance(validated(Day, day_of(intake)), Day)


def test_a_walk_out_of_which_something_lacks_is_refused_and_the_readings_taken():
    intake = filled(job_of(), lambda filling: walked(filling, interval=""), areas=["A-1"])
    assert [(one.place, one.name) for one in intake.refused] == [
        (one, "row") for one in ("page 3, Walk-out, row 1", "page 3, Walk-out, row 2")
    ]
    assert "lacks its area, where it begins, its step" in intake.refused[0].message
    assert "walk_outs" not in day_of(intake)["surfaces"][0]["profile"]
    unknown = filled(job_of(), lambda filling: walked(filling, area="Z-9"), areas=["A-1"])
    assert "not an area of the contract" in unknown.refused[0].message


def test_a_second_intake_of_a_walk_out_changes_nothing():
    once = filled(job_of(), walked, areas=["A-1"])
    again = filled(job_of(once.data.decode()), walked, areas=["A-1"])
    assert (again.differences, again.added) == ((), ())


def test_what_was_blasted_again_in_the_same_shift_is_a_further_entry_of_the_area():
    once = filled(job_of(), whole_area, areas=["A-1"])

    def fill(filling):
        later = PREPARED | {"start": "10:00", "end": "11:00", "coated": "", "blasted_again": "pot 1"}
        filling.write("surface", 1, "A-1", **later)

    first, second = day_of(filled(job_of(once.data.decode()), fill, areas=["A-1"]))["surfaces"]
    assert "blasted_again" not in first
    assert second["blasted_again"] == ["pot 1"]
