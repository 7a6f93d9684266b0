"""Blasting that runs over the end of a shift, or across a twelfth hour: counted by when the steel was blasted."""

import json

import pytest

from tests.unit.cli.conftest import DAY

ROW = "readings: [{location: 1, spot: a, x1: 2.9}]"


def shift(start, end, blasted, readings=ROW, checked='"23:00"'):
    times = f'start: "{blasted[0]}", end: "{blasted[1]}"'
    text = DAY.replace('start: "07:00", end: "15:00"', f'start: "{start}", end: "{end}"').replace('"14:30"', checked)
    return text.replace('start: "08:00", end: "10:30"', times).replace(ROW, readings)


def area_of(run, contract, text):
    (contract / "day.yaml").write_text(text, "utf-8")
    return json.loads(run("check", "day.yaml", "--json").out)["areas"][0]


@pytest.mark.parametrize("time", ["", ', time: "18:50"'])
def test_overtime_of_some_minutes_is_no_second_period(run, contract, time):
    readings = ROW.replace("}]", f"{time}}}]")
    area = area_of(run, contract, shift("06:30", "18:00", ("17:00", "18:40"), readings))
    assert (area["decision"], area["required_locations"], area["sampling"]) == ("release", 1, [])
    area = area_of(run, contract, shift("07:00", "15:00", ("06:40", "08:00"), ROW, '"14:30"'))
    assert (area["decision"], area["required_locations"]) == ("release", 1)


def test_two_periods_need_two_entries_whatever_the_times_of_the_readings(run, contract):
    readings = (
        'readings: [{location: 1, spot: a, x1: 2.9, time: "20:10"}, {location: 2, spot: a, x1: 2.9, time: "20:15"}]'
    )
    area = area_of(run, contract, shift("06:30", "20:30", ("16:00", "20:00"), readings))
    assert area["decision"] == "hold"
    assert [(part["period"], part["taken"]) for part in area["sampling"]] == [
        ({"start": "06:30", "end": "18:30"}, 0), ({"start": "18:30", "end": "20:30"}, 0),
    ]  # fmt: skip
    said = " ".join(run("check", "day.yaml").out.split())
    assert "enter what was blasted before 18:30 and after it as two entries of the area" in said
    first = shift("06:30", "20:30", ("16:00", "18:30"))
    entry = first[first.index("  - area") : first.index("not_inspected")]
    second = entry.replace("16:00", "18:31").replace('"18:30"', '"20:00"').replace("location: 1", "location: 2")
    area = area_of(run, contract, first.replace("not_inspected", f"{second}not_inspected"))
    assert (area["decision"], [part["taken"] for part in area["sampling"]]) == ("release", [1, 1])
