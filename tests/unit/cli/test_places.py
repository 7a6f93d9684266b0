"""Two places under one contract, through the command line: a reading counts at its own place and nowhere else."""

import json
import re

import pytest

from tests.unit.cli.conftest import DAY as SMALL
from tests.unit.cli.conftest import PROJECT

DAY = "2026-06-09.yaml"


def changed(demo, old, new, name=DAY):
    path = demo / name
    text = path.read_text("utf-8")
    assert text.count(old) >= 1, old
    path.write_text(text.replace(old, new), "utf-8")
    return demo / DAY


def decisions(run, day):
    code, out, _ = run("check", day, "--json")
    return code, {area["id"]: area["decision"] for area in json.loads(out)["areas"]}


def test_primer_in_the_hall_is_not_failed_by_the_weather_on_the_bridge(run, demo):
    """K-4 stands in the gate hall, which has its own log; the bridge's reading of 15:40 is out of limits."""
    day = changed(demo, 'coated: "14:20"', 'coated: "15:42"')
    _, decided = decisions(run, day)
    assert decided["K-4"] == "release"
    assert "K-4:" not in run("check", day).out


def test_the_hall_is_not_cleared_by_the_weather_on_the_bridge(run, demo):
    day = demo / DAY
    text = "".join(line for line in day.read_text("utf-8").splitlines(keepends=True) if "place: gate hall" not in line)
    day.write_text(text, "utf-8")
    code, decided = decisions(run, day)
    assert (code, decided["G-4"], decided["K-4"]) == (1, "release", "hold")
    said = "K-3, K-4: air and steel not measured at its place: blasting and coating: no reading at gate hall"
    assert "no reading at gate hall" in " ".join(run("check", day).out.split())
    assert "[conditions-missing]" in run("check", day).out, said


def test_places_that_nobody_states_are_not_guessed(run, demo):
    project = demo / "project.yaml"
    lines = project.read_text("utf-8").splitlines(keepends=True)
    project.write_text("".join(line for line in lines if not line.startswith("    place: ")), "utf-8")
    code, _, err = run("check", demo / DAY)
    assert code == 1
    assert "error[JOB209]: no area is at `gate hall`" in err
    help_text = "state `place:` of the structure or area that is there, or list the `areas:` it covers"
    assert help_text in " ".join(err.split())


def test_a_misspelt_place_is_refused_with_the_right_one(run, demo):
    day = changed(demo, '"10:25", place: gate hall', '"10:25", place: gate hal')
    code, _, err = run("check", day)
    assert (code, "did you mean `gate hall`?" in err) == (1, True)


def test_a_reading_that_does_not_say_where_holds_what_it_may_concern(run, demo):
    day = changed(demo, '"13:40", place: gate hall, ', '"13:40", ')
    code, out, _ = run("check", day)
    assert code == 1
    assert "13:40, no place stated: the reading of the conditions may be of this area or not" in " ".join(out.split())
    assert decisions(run, day)[1]["K-4"] == "hold"


@pytest.mark.parametrize("areas", ["[K-4]", "[K-3, K-4, H-1]"])
def test_a_reading_may_list_the_areas_it_covers(run, demo, areas):
    day = changed(demo, '"13:40", place: gate hall, ', f'"13:40", areas: {areas}, ')
    assert decisions(run, day)[1]["K-4"] == "release"


def test_the_pages_list_no_work_in_the_hall_beside_the_bridge(run, demo):
    from pypdf import PdfReader

    assert run("draft", demo / DAY, "-o", "draft.pdf").code == 0
    pages = [page.extract_text() for page in PdfReader("draft.pdf").pages]
    whole = " ".join(" ".join(pages).split())
    verdict = "(?:conforms|does not conform)"
    row = rf"\d\d:\d\d (weir bridge|gate hall) [\d. ]+ {verdict} · (.*?) (?=\d\d:\d\d |expanded)"
    assert sorted(re.findall(row, whole), key=lambda each: each[0], reverse=True) == [
        ("weir bridge", "blasting G-4, G-5"),
        ("weir bridge", "blasting G-5, G-6; coating G-4"),
        ("weir bridge", "blasting G-6"),
        ("weir bridge", "coating G-6"),
        ("gate hall", "blasting K-3, K-4"),
        ("gate hall", "blasting H-1, K-4"),
        ("gate hall", "coating K-4"),
    ]


LOGGED = """\
conditions:
{log}
surfaces:"""
BRIDGE = {"time": "06:40", "place": "bridge", "air": "16 degC", "humidity": "60 %", "steel": "16 degC"}
WET = {"humidity": "95 %"}


def read_at(time="06:40", **values):
    row = {**BRIDGE, "time": f'"{time}"', **values}
    return "  - {" + ", ".join(f"{key}: {value}" for key, value in row.items() if value is not None) + "}"


def small(contract, *log):
    """The small contract at two places, with limits and a log."""
    project = PROJECT.replace(
        "  sampling:", "  conditions: {dew_point_margin: 3 delta_degC, maximum_humidity: 85 %}\n  sampling:"
    )
    project = project.replace(
        "structures: [{id: sluice, name: Sluice, areas: [{id: A-1, ",
        "structures: [{id: sluice, name: Sluice, areas: [{id: A-1, place: bridge, ",
    )
    project = project.replace("{id: A-2, ", "{id: A-2, place: hall, ")
    (contract / "project.yaml").write_text(project, "utf-8")
    (contract / "day.yaml").write_text(SMALL.replace("surfaces:", LOGGED.format(log="\n".join(log)), 1), "utf-8")
    return contract / "day.yaml"


@pytest.mark.parametrize("log", [(read_at(), read_at(**WET)), (read_at(**WET), read_at())])
def test_of_two_readings_of_one_minute_the_worse_counts_in_any_order(run, contract, log):
    assert decisions(run, small(contract, *log))[1]["A-1"] == "rework"


LISTED = {"areas": "[A-1]"}


@pytest.mark.parametrize("then", [{}, LISTED, {**LISTED, "place": None}, {"place": "A-1"}])
@pytest.mark.parametrize("first", [{}, LISTED, {**LISTED, "place": None}, {"place": "sluice", **LISTED}])
def test_the_latest_reading_counts_however_it_says_what_it_covers(run, contract, first, then):
    dried = small(contract, read_at("06:30", **WET, **first), read_at("06:50", **then))
    assert decisions(run, dried)[1]["A-1"] == "release"
    wetted = small(contract, read_at("06:30", **first), read_at("06:50", **WET, **then))
    assert decisions(run, wetted)[1]["A-1"] == "rework"


def test_a_spot_of_an_area_has_its_own_log_until_the_whole_is_measured_again(run, contract):
    north, south = {"place": "north end", **LISTED}, {"place": "south end", **LISTED}
    log = [read_at("06:30", **WET, **north), read_at("06:50", **south)]
    assert decisions(run, small(contract, *log))[1]["A-1"] == "rework"
    assert decisions(run, small(contract, *log, read_at("06:55", **north)))[1]["A-1"] == "release"
    assert decisions(run, small(contract, *log, read_at("06:55")))[1]["A-1"] == "release"


@pytest.mark.parametrize(("place", "meant"), [("hall", None), ("brigde", "bridge")])
def test_where_all_areas_state_one_place_another_name_is_another_place(run, contract, place, meant):
    day = small(contract, read_at(), read_at("07:30", place=place, **WET))
    project = contract / "project.yaml"
    project.write_text(project.read_text("utf-8").replace("place: hall", "place: bridge"), "utf-8")
    code, _, err = run("check", day)
    assert (code, f"error[JOB209]: no area is at `{place}`" in err) == (1, True)
    assert (f"did you mean `{meant}`?" if meant else "known are `bridge`; state `place:`") in " ".join(err.split())


def test_two_places_that_nobody_stated_are_not_offered_for_each_other(run, contract):
    day = small(contract, read_at(place="north"), read_at("07:30", place="south"))
    project = contract / "project.yaml"
    project.write_text(project.read_text("utf-8").replace("place: hall, ", "").replace("place: bridge, ", ""), "utf-8")
    code, _, err = run("check", day)
    assert (code, err.count("error[JOB209]"), "did you mean" in err) == (1, 2, False)
