"""One apparatus written in two ways, and times past midnight on a day shift: what is wrong, and what to write."""

import pytest

from tests.unit.cli.conftest import DAY

AIR = 'air_checks: [{time: "08:00", apparatus: POT 1, duration: 1 min, result: clean}]\n'


def refused(run, contract, text):
    (contract / "day.yaml").write_text(text, "utf-8")
    code, _, err = run("check", "day.yaml")
    assert code == 1  # set aside, and named
    return " ".join(err.split())


@pytest.mark.parametrize("other", ["Pot 1", "pot  1", "pot1", "POT 1"])
def test_one_apparatus_written_in_two_ways(run, contract, other):
    entry = DAY[DAY.index("  - area: A-1") : DAY.index("not_inspected")]
    second = (
        entry.replace("apparatus: pot 1", f'apparatus: "{other}"').replace("08:00", "11:00").replace("10:30", "12:00")
    )
    said = refused(run, contract, DAY.replace("not_inspected", f"{second}not_inspected"))
    shown = " ".join(other.split())
    assert f"`{shown}` is `pot 1` written in another way" in said
    assert "write `pot 1`" in said


def test_nor_in_the_check_of_its_air(run, contract):
    assert "`POT 1` is `pot 1` written in another way" in refused(run, contract, AIR + DAY)
    (contract / "day.yaml").write_text(AIR.replace("POT", "pot") + DAY, "utf-8")
    assert run("check", "day.yaml").code == 0


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("    profile:", '    coated: "00:20"\n    profile:'),
        ('end: "10:30"', 'end: "00:20"'),
        ('"14:30"', '"00:20"'),
        ("x1: 2.9}]", 'x1: 2.9, time: "11:00"}, {location: 2, spot: a, x1: 2.9, time: "00:20"}]'),
    ],
)
def test_a_time_past_midnight_on_a_day_shift(run, contract, old, new):
    said = refused(run, contract, DAY.replace(old, new))
    assert "past midnight write date and offset, as `2026-05-05T00:20+00:00`" in said
    (contract / "day.yaml").write_text(DAY.replace(old, new).replace("00:20", "2026-05-05T00:20+00:00"), "utf-8")
    assert run("check", "day.yaml").code in (0, 1)


def test_a_slip_of_the_hour_is_not_sent_to_the_next_day(run, contract):
    said = refused(run, contract, DAY.replace("    profile:", '    coated: "09:20"\n    profile:'))
    assert "check the two times" in said
    assert "past midnight" not in said
