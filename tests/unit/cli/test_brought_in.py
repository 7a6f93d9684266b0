"""Every earlier report that left steel open is brought in; what its logs and tests hold counts as it stands there."""

import json

import pytest

from tests.unit.cli.test_left_open import YESTERDAY, findings_of, left, project
from tests.unit.cli.test_reinspection import CLEAN, DUSTY, NEXT, SALTY, contract, decided, raised, report
from tests.unit.cli.test_reinspection_apart import LOGGED, beside

__all__ = ["contract", "decided", "left", "project"]


# A small part, blasted later by the same apparatus


def small(number=2):
    """A later report on a tenth of a square metre of the area by the same apparatus."""
    return report(number, **NEXT).replace("initial_condition: B", "initial_condition: B\n    cleaned: 0.1 m2", 1)


@pytest.mark.parametrize(
    ("code", "changes"),
    [
        ("profile-above-maximum", {"reading": "4.2"}),
        ("stain-above-limit", {"staining: 2 %": "staining: 8 %"}),
        ("salts-above-maximum", {"tests": SALTY}),
        ("dust-above-maximum", {"tests": DUSTY}),
        ("salts-missing", {"tests": "dust" + CLEAN.partition("dust")[2]}),
        ("gauge-check-failed", {"shim_reading: 3.0 mil}\ntape": "shim_reading: 3.9 mil}\ntape"}),
    ],
)
def test_what_was_left_is_not_dropped_for_a_small_part_blasted_since(run, decided, code, changes):
    assert decided(report(1, **changes))[0] != "release"
    assert decided(report(1, **changes), small())[0] == "hold"
    told = [one for one in findings_of(run, "day2.yaml") if one["code"] in ("failed-earlier", "left-open-earlier")]
    codes = {one["facts"].get("code") or one["facts"]["why"]["failed"]["code"] for one in told}
    assert code in codes


def test_nor_is_steel_that_stood_bare_past_its_time(run, decided, project):
    project(("maximum: 48 h", "maximum: 4 h"))
    assert decided(report(1), small())[0] == "hold"
    told = [one for one in findings_of(run, "day2.yaml") if one["code"] == "left-open-earlier"]
    assert [one["facts"]["code"] for one in told] == ["coating-overdue"]


def test_what_was_settled_between_stays_settled(decided):
    """The report between settled it and says nothing of a nonconformance; it is brought in with what it settled."""
    first = beside(report(1, reading="4.2", more=raised("profile-above-maximum")), reading="")
    again = report(2, reinspects="N1", tests=f"{CLEAN}    blasted_again: [pot 2]\n", **NEXT)
    assert decided(first, again)[:2] == ("release", ["closed"])
    third = {"date: 2026-05-04": "date: 2026-05-06"}
    assert decided(first, again, report(3, **third))[0] == "release"
    assert decided(first, small())[0] == "hold"


# Logs of the report that has the steel

AIR = "compressed_air: {interval: 12 h, minimum_duration: 1 min}\n"
READ = ("06:50", "09:00")


def logged(text, *times, checked=(), date=""):
    rows = "".join(f'  - {{time: "{date}{at}", air: 18.0 degC, humidity: 50 %, steel: 18.0 degC}}\n' for at in times)
    rows = f"conditions:\n{rows}" if times else ""
    air = "".join(
        f'  - {{time: "{at}", apparatus: pot 1, duration: 2 min, result: clean}}\n' for at in checked
    )  # fmt: skip
    air = f"air_checks:\n{air}" if checked else ""
    return text.replace("gauge_checks:", f"{rows}{air}gauge_checks:")


OLD_ROWS = [f"2026-05-04T{at}+00:00" for at in READ]
OLD_AIR = "2026-05-04T06:55+00:00"


@pytest.mark.parametrize("checked", [(), (OLD_AIR,)])
@pytest.mark.parametrize("rows", [(), OLD_ROWS[:1], OLD_ROWS[1:], OLD_ROWS])
def test_its_logs_count_whether_or_not_rows_of_them_are_written_again(run, decided, project, rows, checked):
    project(("people:", f"  {AIR}{LOGGED}"))
    first = logged(report(1, tests=CLEAN), *READ, checked=("06:55",))
    assert decided(first)[0] == "release"
    primed = f'{CLEAN.replace("10:40", "2026-05-04T10:40+00:00")}    coated: "06:40"\n'
    second = logged(report(2, YESTERDAY, tests=primed, **NEXT), *rows, "06:30", checked=checked)
    assert decided(first, second)[0] == "release", findings_of(run, "day2.yaml")


def test_a_row_that_its_report_lacked_is_added_to_those_it_has(decided, project):
    project(("people:", LOGGED))
    first = logged(report(1), READ[1])
    assert decided(first)[0] == "hold"
    second = report(2, YESTERDAY, **NEXT).replace('"10:40"', '"2026-05-04T10:40+00:00"')
    assert decided(first, logged(second, "07:00"))[0] == "hold"
    assert decided(first, logged(second, OLD_ROWS[0]))[0] == "release"


def test_they_say_nothing_of_other_steel(run, decided, project):
    """Pot 2 blasts today, and no reading of today stands for it: one of yesterday stands for yesterday's steel."""
    project(("people:", f"  {AIR}{LOGGED}"))
    first = logged(report(1), *READ, checked=("06:55",))
    second = report(2, YESTERDAY, **NEXT).replace('"10:40"', '"2026-05-04T10:40+00:00"')
    assert decided(first, beside(second, ("07:00", "08:00")))[0] == "hold"
    told = {one["code"] for one in findings_of(run, "day2.yaml")}
    assert {"conditions-interval", "air-check-missing"} <= told


# A test that is written again

TESTED_LATER = '{location: D1, quantity: 1, size: 1, time: "08:10"}'


@pytest.mark.parametrize("old", [', time: "2026-05-04T10:50+00:00"', ""])
@pytest.mark.parametrize("timed", [True, False])
def test_a_test_written_again_is_the_earlier_one_and_the_later_decides(run, decided, old, timed):
    dusty = DUSTY if timed else DUSTY.replace(', time: "10:50"', "")
    first = report(1, tests=dusty, more=raised("dust-above-maximum"))
    repeated = f"{{location: D1, quantity: 4, size: 2{old}}}"
    salts = CLEAN.partition("    dust")[0].replace("10:40", "2026-05-04T10:40+00:00")
    later = f"{salts}    dust: [{repeated}, {TESTED_LATER}]\n"
    second = report(2, YESTERDAY, tests=later, reinspects="N1", washed="07:50", **NEXT)
    assert decided(first, second)[:2] == ("release", ["closed"])
    elsewhere = second.replace(TESTED_LATER, TESTED_LATER.replace("D1", "D2"))
    assert decided(first, elsewhere)[:2] == ("rework", ["open"])
    as_bad = second.replace(TESTED_LATER, TESTED_LATER.replace("quantity: 1", "quantity: 4"))
    assert decided(first, as_bad)[0] == "rework"
    result = json.loads(run("check", "day2.yaml", "--json").out)
    assert [one["verdict"] for one in result["dust"]] == ["not evaluated", "does not conform"]


def test_a_test_as_bad_as_the_earlier_one_is_a_new_one_at_another_time(decided):
    first = report(1, tests=CLEAN)
    salts = CLEAN.partition("    dust")[0].replace("10:40", "2026-05-04T10:40+00:00")
    worse = (
        f"{salts}    dust: [{TESTED_LATER.replace('1, size', '4, size')}, {TESTED_LATER.replace('08:10', '08:20')}]\n"
    )
    assert decided(first, report(2, YESTERDAY, tests=worse, **NEXT))[0] == "rework"
