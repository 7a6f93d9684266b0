"""Steel that was primed before a shift is not measured in it: what has no time there is of no bare steel.

And it was primed once, whichever report says so.
"""

import json

import pytest

from tests.unit.cli.test_left_open import PRIMED, YESTERDAY
from tests.unit.cli.test_reinspection import CLEAN, NEXT, SALTY, contract, decided, raised, report
from tests.unit.cli.test_reinspection_apart import LOGGED

__all__ = ["contract", "decided"]

SALTS = "salts-above-maximum"
COATED = '    coated: "13:00"\n'
AGAIN = f"    {PRIMED}\n"
DATED = '"2026-05-04T11:00+00:00"'
TIMED = CLEAN.replace('"10:40"', DATED).replace("size: 1", f"size: 1, time: {DATED}")
UNTIMED = CLEAN.replace(', time: "10:40"', "")
GRADE = "cleanliness: {observed: SSPC-SP 10, staining: 2 %}"


@pytest.fixture
def untimed(run):
    """Answer of what the last day file is told to have no time, and how many of each."""

    def told(name):
        found = json.loads(run("check", name, "--json").out)["findings"]
        return {one["facts"]["what"]: one["facts"]["count"] for one in found if one["code"] == "measured-after-primer"}

    return told


def again(number=2, tests=UNTIMED, **more):
    """A report of the day after on steel primed the day before."""
    return report(number, YESTERDAY, tests=f"{tests}{AGAIN}", **more, **NEXT)


def test_a_failure_under_primer_is_not_undone_by_a_test_without_a_time(run, decided, untimed):
    first = report(1, tests=f"{SALTY}{COATED}", more=raised(SALTS))
    assert decided(first, again(reinspects="N1"))[:2] == ("hold", ["open"])
    assert untimed("day2.yaml") == {"salts": 1}  # the dust is as it was
    said = " ".join(run("check", "day2.yaml").out.split())
    assert "1 salt test without a time, primed at 2026-05-04 13:00, and this shift began at 07:00" in said
    assert decided(first, again(tests=TIMED.replace("11:00", "13:30"), reinspects="N1"))[0] == "hold"
    assert decided(first, again(tests=TIMED, reinspects="N1"))[:2] == ("hold", ["open"])  # the first report's shift
    said = " ".join(run("check", "day2.yaml").out.split())
    assert "1 salt test at 2026-05-04 11:00, in the shift of SL-1-001, which does not have it; primed at" in said
    washed = report(2, tests=f"{CLEAN.replace('10:40', '11:00')}{COATED}", reinspects="N1", washed="10:50")
    assert decided(first, washed)[:2] == ("release", ["closed"])  # a second report of that shift
    assert decided(first, washed, again(3, tests=TIMED))[0] == "release"


def test_nor_is_that_nothing_was_measured(decided, untimed):
    """The first report has the primer and nothing else; the next one has it all, or all with a time."""
    nothing = report(1, tests=f"photos: []\n{COATED}").replace(f"    {GRADE}\n", "")
    profile = nothing.index("    profile:")
    nothing = nothing[:profile] + nothing[nothing.index("\n", profile) + 1 :]
    assert decided(nothing, again())[0] == "hold"
    assert untimed("day2.yaml") == {"reading": 1, "cleanliness": 1, "salts": 1, "dust": 1}
    timed = {GRADE: f"{GRADE[:-1]}, time: {DATED}}}", "x1: 2.9": f"x1: 2.9, time: {DATED}"}
    assert decided(nothing, again(tests=TIMED, **timed))[0] == "hold"
    assert untimed("day2.yaml") == {"reading": 1, "cleanliness": 1, "salts": 1, "dust": 1}
    revised = report(1, tests=f"{TIMED}{COATED}", **timed).replace("revision: 0", "revision: 1")
    assert decided(nothing, revised, again(tests=TIMED, **timed))[0] == "release"
    assert untimed("day3.yaml") == {}


@pytest.mark.parametrize(("at", "decision"), [("2026-05-04T15:00", "hold"), ("2026-05-04T15:30", "release")])
def test_what_was_measured_between_two_shifts_is_of_neither(decided, at, decision):
    """Failed in the first shift, which ended at 15:00; washed, tested again and primed before the next began."""
    primed = '    coated: "2026-05-05T06:00+00:00"\n'
    tested = TIMED.replace("2026-05-04T11:00", at)
    at_once = "2026-05-04T11:00+00:00"
    later = report(2, YESTERDAY, tests=f"{tested}{primed}", reinspects="N1", washed=at_once, **NEXT)
    assert decided(report(1, tests=SALTY, more=raised(SALTS)), later)[0] == decision


def test_what_the_earlier_report_states_is_written_again_without_a_time(contract, decided, untimed):
    """Dust was owed; the rest stands in the report of the day of the primer, with a time or without."""
    owed = UNTIMED.partition("    dust")[0]
    first = report(1, tests=f"{owed}{COATED}")
    dusted = UNTIMED.replace("size: 1", f"size: 1, time: {DATED}")
    assert decided(first)[0] == "hold"
    assert decided(first, again())[0] == "hold"
    assert untimed("day2.yaml") == {"dust": 1}
    assert decided(first, again(tests=dusted))[0] == "hold"
    timed_dust = UNTIMED.replace("size: 1", 'size: 1, time: "11:00"')
    revised = report(1, tests=f"{timed_dust}{COATED}")
    revised = revised.replace("revision: 0", "revision: 1")
    assert decided(first, revised, again(tests=dusted))[0] == "release"
    (contract / "day3.yaml").unlink()
    decided(first, again(tests=UNTIMED))
    assert decided(first, again(tests=dusted, reading="3.0"))[0] == "hold"
    assert untimed("day2.yaml") == {"reading": 1, "dust": 1}


def test_a_third_report_does_not_make_old_what_the_second_added(decided):
    first = report(1, tests=f"{UNTIMED.partition('    dust')[0]}{COATED}")
    assert decided(first, again(), again(3))[0] == "hold"


def test_nor_what_was_tested_after_the_primer(decided):
    late = report(1, tests=f"{CLEAN.replace('10:40', '13:10')}{COATED}")
    assert decided(late)[0] == "hold"
    assert decided(late, again())[0] == "hold"


def test_within_the_shift_of_the_primer_what_has_no_time_may_be_before_it(decided):
    assert decided(report(1, tests=f"{UNTIMED}{COATED}"))[0] == "release"


def test_a_visual_comparison_has_no_time_and_belongs_into_the_report_of_its_day(decided, untimed):
    compared = {"profile: {gauge: g1,": "profile: {gauge: g1, comparator: [{location: 7, grade: medium}],"}
    first = report(1, tests=f"{UNTIMED}{COATED}")
    decided(first, again(**compared))
    assert untimed("day2.yaml") == {"comparison": 1}
    decided(report(1, tests=f"{UNTIMED}{COATED}", **compared), again(**compared))
    assert untimed("day2.yaml") == {}


# One time of the primer


@pytest.mark.parametrize("blasted", [YESTERDAY, (YESTERDAY[0], "2026-05-04T09:01+00:00")])
@pytest.mark.parametrize("coated", ['    coated: "09:30"\n', "", AGAIN.replace("13:00", "12:30")])
def test_steel_is_not_primed_at_another_time_in_a_later_report(run, decided, blasted, coated):
    """Nor is it bare there; tests of the next day would else be of bare steel."""
    first = report(1, tests=f"{SALTY}{COATED}", more=raised(SALTS))
    tested = CLEAN.replace("10:40", "09:00").replace("size: 1", 'size: 1, time: "09:00"')
    later = report(2, blasted, tests=f"{tested}{coated}", reading='2.9, time: "08:30"', reinspects="N1", **NEXT)
    assert decided(first, later)[:2] == ("hold", ["open"])
    found = json.loads(run("check", "day2.yaml", "--json").out)["findings"]
    told = [one["facts"] for one in found if one["code"] == "times-contradictory"]
    assert [(one["report"], one["stated"]) for one in told] == [("SL-1-001", "2026-05-04 13:00")]


def test_a_revision_of_the_first_report_says_when_it_was(decided):
    first = report(1, tests=f"{UNTIMED}{COATED}")
    right = again().replace("13:00", "12:30")
    assert decided(first)[0] == "release"
    assert decided(first, right)[0] == "hold"
    revised = first.replace("13:00", "12:30").replace("revision: 0", "revision: 1")
    assert decided(first, revised, right)[0] == "release"
    assert decided(first, again())[0] == "release"


# What another report has


def test_steel_of_the_evening_before_and_readings_without_a_time_are_told_the_way_out(run, decided):
    """Measured in the morning, after the check of the gauge; nothing says so but the times of the readings."""
    evening = ("2026-05-03T18:30+00:00", "2026-05-03T19:30+00:00")
    assert decided(report(1, evening, tests=UNTIMED))[0] == "hold"
    said = " ".join(run("check", "day1.yaml").out.split())
    early = "readings without a time may be as early as the end of the blasting, 2026-05-03 19:30"
    assert f"no complete check of g1 before 2026-05-03 19:30; {early} [gauge-check-missing]" in said
    assert decided(report(1, evening, tests=UNTIMED, reading='2.9, time: "07:30"'))[0] == "release"
    remedy = run("explain", "gauge-check-missing").out
    assert "give each reading its `time`" in " ".join(remedy.split())


LOG = "".join(
    f'  - {{time: "{at}", air: 18.0 degC, humidity: 50 %, steel: 18.0 degC}}\n'
    for at in ("06:50", "09:00", "11:00", "13:00", "15:00")
)


def test_readings_of_a_report_between_are_entered_again_where_the_remedy_says(run, decided, contract):
    """Blasted on the first day, primed on the second, whose report is of the other area, entered again on the third."""
    path = contract / "project.yaml"
    path.write_text(path.read_text("utf-8").replace("people:", LOGGED, 1), "utf-8")
    logged = f"conditions:\n{LOG}gauge_checks:"
    first = report(1, tests=UNTIMED).replace("gauge_checks:", logged)
    second = report(2, tests=UNTIMED, **NEXT).replace("gauge_checks:", logged)
    second = second.replace("A-1", "A-9").replace("A-2", "A-1").replace("A-9", "A-2")
    primed = '    coated: "2026-05-05T10:00+00:00"\n'
    third = report(3, YESTERDAY, tests=f"{UNTIMED}{primed}", **{"date: 2026-05-04": "date: 2026-05-06"})
    dated = LOG.replace('time: "', 'time: "2026-05-05T').replace('", air', '+00:00", air')
    assert decided(first, second, third.replace("gauge_checks:", logged))[0] == "hold"
    assert "[conditions-interval]" in run("check", "day3.yaml").out
    remedy = " ".join(run("explain", "conditions-interval").out.split())
    assert "those of another report are entered here too, with date and offset and their place" in remedy
    both = f"conditions:\n{dated}{LOG}gauge_checks:"
    assert decided(first, second, third.replace("gauge_checks:", both))[0] == "release"
