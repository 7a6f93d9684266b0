"""Two places under one contract, through the command line: a reading counts at its own place and nowhere else."""

import json
import re

import pytest

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
    assert code == 2
    assert "error[JOB209]: no area is at `gate hall`" in err
    help_text = "state `place:` of the structure or area that is there, or list the `areas:` it covers"
    assert help_text in " ".join(err.split())


def test_a_misspelt_place_is_refused_with_the_right_one(run, demo):
    day = changed(demo, '"10:25", place: gate hall', '"10:25", place: gate hal')
    code, _, err = run("check", day)
    assert (code, "did you mean `gate hall`?" in err) == (2, True)


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
    (page,) = [page for page in pages if "temperature, °C" in page and "weir bridge" in page]
    rows = re.findall(
        r"\d\d:\d\d (weir bridge|gate hall) .*? °C (.*?) (?:conforms|does not conform)", " ".join(page.split())
    )
    assert rows == [
        ("weir bridge", "blasting G-4, G-5"),
        ("weir bridge", "blasting G-5, G-6; coating G-4"),
        ("weir bridge", "blasting G-6"),
        ("weir bridge", "coating G-6"),
        ("gate hall", "blasting K-3, K-4"),
        ("gate hall", "blasting K-4, H-1"),
        ("gate hall", "coating K-4"),
    ]
