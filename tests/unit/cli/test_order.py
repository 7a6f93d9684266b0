"""The order of the day, through the command line: what cannot have been so is not released, an honest day is."""

import json

import pytest

from tests.unit.cli.conftest import DAY

ROW = "{location: 1, spot: a, x1: 2.9}"


def timed(time, count=24):
    rows = ", ".join(f'{{location: {n}, spot: a, x1: 2.9, time: "{time}"}}' for n in range(1, count + 1))
    return DAY.replace(ROW, rows)


def decided(run, contract, text):
    (contract / "day.yaml").write_text(text, "utf-8")
    code, out, _ = run("check", "day.yaml", "--json")
    return code, json.loads(out)["areas"][0]["decision"], " ".join(run("check", "day.yaml").out.split())


def test_readings_before_the_blasting_are_not_released(run, contract):
    code, decision, said = decided(run, contract, timed("07:30"))
    assert (code, decision) == (1, "hold")
    expected = "A-1: not of the blasted surface: 24 readings at 07:30, blasting began at 08:00"
    assert f"Wrong in the day file {expected} [measured-before-blasting]" in said


@pytest.mark.parametrize("time", ["10:30", "11:15"])
def test_readings_after_it_are(run, contract, time):
    assert decided(run, contract, timed(time))[:2] == (0, "release")


def test_a_night_shift_over_midnight_is_in_order(run, contract):
    night = (
        timed("00:40").replace('start: "07:00", end: "15:00"', 'start: "20:00", end: "04:00"')
        .replace('"07:10"', '"20:10"').replace('"14:30"', '"03:30"').replace('"07:15"', '"20:15"')
        .replace('start: "08:00", end: "10:30"', 'start: "21:00", end: "00:15"')
    )  # fmt: skip
    assert decided(run, contract, night)[:2] == (0, "release")
    assert decided(run, contract, night.replace('"00:40"', '"20:40"'))[1] == "hold"


def test_the_demo_is_in_order(run, demo):
    for day, wanted in (("2026-06-08", []), ("2026-06-11", [])):
        findings = json.loads(run("check", demo / f"{day}.yaml", "--json").out)["findings"]
        assert [one["code"] for one in findings] == wanted


def test_one_gauge_in_the_hall_and_on_the_bridge_at_once(run, demo):
    day = demo / "2026-06-09.yaml"
    row = "{location: 1, spot: a, x1: 2.8}"
    text = day.read_text("utf-8")
    assert row in text
    day.write_text(text.replace(row, row.replace("}", ', time: "11:30"}'), 1), "utf-8")
    areas = {area["id"]: area["decision"] for area in json.loads(run("check", day, "--json").out)["areas"]}
    assert (areas["G-4"], areas["K-4"]) == ("hold", "hold")
    said = " ".join(run("check", day).out.split())
    assert "G-4, K-4, 11:30, g1 at weir bridge on G-4 and at gate hall on K-4 [instrument-in-two-places]" in said


def rows(*timed):
    return ", ".join(f'{{location: {n}, spot: a, x1: {value}, time: "{at}"}}' for n, (at, value) in enumerate(timed, 1))


@pytest.mark.parametrize(
    ("readings", "decision", "said"),
    [
        ([("08:30", "2.9"), ("10:40", "2.9")], "hold", "1 reading at 08:30, blasting went on until 10:30"),
        ([("07:30", "1.6"), ("10:40", "2.9")], "hold", "1 reading at 07:30, blasting began at 08:00"),
        ([("10:35", "2.9"), ("10:40", "2.9")], "release", ""),
        ([("10:35", "2.9")] * 80, "hold", "80 readings on g1 at 10:35: nobody reads as fast"),
    ],
)
def test_a_later_reading_excuses_none_before_it(run, contract, readings, decision, said):
    code, decided_, out = decided(run, contract, DAY.replace(ROW, rows(*readings)))
    assert (code, decided_) == (int(decision != "release"), decision)
    assert said in out
    assert "Out of limits" not in out
