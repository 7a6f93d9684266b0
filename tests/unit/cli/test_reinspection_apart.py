"""What one nonconformance or one apparatus covers and clears, and what it does not: neither stands for another."""

import json

import pytest

from tests.unit.cli.test_reinspection import (
    CLEAN,
    HIGH,
    HIGH_SAID,
    NEXT,
    OLD,
    SALTY,
    TIMED,
    contract,
    decided,
    raised,
    report,
)

__all__ = ["contract", "decided"]

THIRD = {"date: 2026-05-04": "date: 2026-05-06"}
SALTS = "salts-above-maximum"
ENGINEER = "people: {eng: {name: O. Fell, role: project engineer}, "
AS_IS = {
    "disposition: rework, decided_by: ines, status: open": "disposition: use-as-is, decided_by: eng, status: closed"
}


def beside(text, blasted=("07:00", "09:00"), *, apparatus="pot 2", reading="2.8", location="2", tests="", more=""):
    """A day file with one more entry on A-1; ``reading`` may be empty."""
    profile = (
        f"    profile: {{gauge: g1, readings: [{{location: {location}, spot: a, x1: {reading}}}]}}\n" if reading else ""
    )
    entry = (
        f"  - area: A-1\n    apparatus: {apparatus}\n    initial_condition: B\n"
        f'    blasted: {{start: "{blasted[0]}", end: "{blasted[1]}", abrasive: steel grit}}\n'
        f"    cleanliness: {{observed: SSPC-SP 10, staining: 2 %}}\n{profile}"
        + (f"    {tests}" if tests else "") + (f"    {more}\n" if more else "")
    )  # fmt: skip
    return text.replace("not_inspected", f"{entry}not_inspected")


WAYS = ", ".join(f"{{towards: {way}, locations: [], no_room: yes}}" for way in ("up", "down", "left", "right"))


def accepted(text):
    """A day file whose nonconformance the engineer decided to leave as it is; what failed at 4.2 is bounded."""
    for old, new in AS_IS.items():
        text = text.replace(old, f"{new}, evidence: letter 7")
    failing = "3" if "location: 3," in text else "1"
    walked = f"walk_outs: [{{failing: {failing}, interval: 0.5 m, directions: [{WAYS}]}}]"
    return text.replace("x1: 4.2}]", f"x1: 4.2}}], {walked}")


@pytest.fixture
def engineer(contract):
    path = contract / "project.yaml"
    path.write_text(path.read_text("utf-8").replace("people: {", ENGINEER), "utf-8")


def missing(run, name):
    findings = json.loads(run("check", name, "--json").out)["findings"]
    return [(one["code"], one["place"]["area"]) for one in findings if one["code"] == "nonconformance-missing"]


# What a nonconformance covers


@pytest.mark.parametrize("listed", ["", ", raised_in: SL-1-001"])
def test_a_closed_nonconformance_does_not_cover_what_is_found_after(run, decided, listed):
    first = report(1, reading="4.2", more=raised(HIGH))
    second = report(2, reinspects="N1", **NEXT)
    third = report(3, reading="4.1", more=raised(HIGH, more=listed), **THIRD)
    assert decided(first, second, third)[:2] == ("rework", ["closed"])
    assert missing(run, "day3.yaml") == [("nonconformance-missing", "A-1")]
    again, states, held = decided(first, second, third, report(4, **THIRD))
    assert (again, states) == ("hold", [])
    assert f"{HIGH_SAID} of SL-1-003" in held[0]


def test_a_new_number_does(run, decided):
    first = report(1, reading="4.2", more=raised(HIGH))
    second = report(2, reinspects="N1", **NEXT)
    third = report(3, reading="4.1", more=raised(HIGH, name="N2"), **THIRD)
    assert decided(first, second, third)[:2] == ("rework", ["open"])
    assert missing(run, "day3.yaml") == []
    blasted = report(4, ("09:00", "10:00"), reinspects="N2", **THIRD)
    assert decided(first, second, third, blasted)[:2] == ("release", ["closed"])


@pytest.mark.usefixtures("engineer")
def test_a_decision_accepts_what_was_found_when_it_was_made(run, decided):
    first = accepted(report(1, reading="4.2", more=raised(HIGH)))
    assert decided(first)[:2] == ("release", ["closed"])
    listed = raised(HIGH, more=", raised_in: SL-1-001")
    assert decided(first, accepted(report(2, reading="4.2", more=listed)))[0] == "release"  # the same place again
    for later in (report(2, reading="4.2", more=listed, **NEXT),
                  report(2, reading="4.2", more=listed).replace("location: 1,", "location: 3,")):  # fmt: skip
        assert decided(first, accepted(later))[0] == "rework"
        assert missing(run, "day2.yaml") == [("nonconformance-missing", "A-1")]


@pytest.mark.usefixtures("engineer")
def test_a_decision_without_an_area_is_of_the_areas_it_was_raised_on(run, decided):
    first = accepted(report(1, reading="4.2", more=raised(HIGH, area="")))
    other = report(2, reading="4.2", more=raised(HIGH, area="", more=", raised_in: SL-1-001"), **NEXT)
    other = other.replace("A-1", "A-9").replace("A-2", "A-1").replace("A-9", "A-2")
    assert decided(first, accepted(other))[0] == "rework"
    assert missing(run, "day2.yaml") == [("nonconformance-missing", "A-2")]


@pytest.mark.usefixtures("engineer")
def test_a_decision_of_a_report_that_is_not_at_hand_accepts_nothing_found_here(run, decided):
    paper = accepted(report(1, reading="4.2", more=raised(HIGH, more=", raised_in: P-7")))
    assert decided(paper)[0] == "rework"
    assert missing(run, "day1.yaml") == [("nonconformance-missing", "A-1")]


def test_an_open_one_covers_its_re_inspections_and_no_other_steel(run, decided):
    first = report(1, reading="4.2", more=raised(HIGH))
    assert decided(first, report(2, reading="4.1", reinspects="N1", **NEXT))[:2] == ("rework", ["open"])
    assert missing(run, "day2.yaml") == []
    assert decided(first, report(2, reading="4.1"))[:2] == ("rework", ["open"])  # the same steel measured again
    assert missing(run, "day2.yaml") == []
    decided(first, report(2, reading="4.1", **NEXT))
    assert missing(run, "day2.yaml") == [("nonconformance-missing", "A-1")]


# Whose decision it is


@pytest.mark.parametrize(
    ("name", "role", "decision"),
    [("I. Tern", "project engineer", "rework"), ("i.  TERN", "client", "rework"), ("O. Fell", "Inspektor", "rework"),
     ("O. Fell", "NACE insp.", "rework"), ("O. Fell", "project engineer", "release"), ("O. Fell", "client", "release")],
)  # fmt: skip
def test_who_inspects_does_not_decide_under_another_role(contract, decided, name, role, decision):
    path = contract / "project.yaml"
    person = f"people: {{eng: {{name: {name}, role: {role}}}, "
    path.write_text(path.read_text("utf-8").replace("people: {", person), "utf-8")
    assert decided(accepted(report(1, reading="4.2", more=raised(HIGH))))[0] == decision


# What one apparatus blasted


@pytest.mark.parametrize("number", [HIGH, ""])
def test_steel_of_another_apparatus_does_not_clear_what_failed(decided, number):
    first = beside(report(1, more=raised(HIGH) if number else ""), reading="4.2")
    listed = "N1" if number else ""
    again = report(2, ("09:30", "10:30"), reinspects=listed)
    assert decided(first, beside(again))[0] == "hold"
    tomorrow = report(2, reading=TIMED, reinspects=listed, **NEXT)
    assert decided(first, beside(tomorrow, OLD, reading=TIMED))[0] == "hold"


def test_steel_of_another_apparatus_entered_again_does_not_hold_what_was_reworked(decided):
    later = CLEAN.replace("10:40", "12:00")
    for number in (raised(HIGH), ""):
        first = beside(report(1, reading="4.2", more=number))
        again = report(2, ("09:30", "10:30"), tests=later, reinspects="N1" if number else "")
        assert decided(first, beside(again))[0] == "release"


def test_steel_known_as_other_shows_nothing(decided):
    """Pot 1 failed at 09:00; pot 2 conformed from 10:00 and is entered again, alone."""
    first = beside(report(1, reading="4.2", more=raised(HIGH)), ("10:00", "11:00"))
    alone = report(2, ("10:00", "11:00"), tests=CLEAN.replace("10:40", "12:00"), reinspects="N1").replace(
        "pot 1", "pot 2"
    )
    decision, states, (held,) = decided(first, alone)
    assert (decision, states) == ("hold", ["open"])
    assert "pot 1 blasted, and in SL-1-002 only other steel of the area is entered: enter the blasting of it" in held


@pytest.mark.parametrize("number", [SALTS, ""])
def test_a_test_on_steel_of_another_apparatus_clears_nothing(decided, number):
    """Both have a location S1, or only what failed had it and the other gets one."""
    later, listed = CLEAN.replace("10:40", "12:00"), "N1" if number else ""
    more = raised(SALTS) if number else ""
    for mine in (CLEAN, CLEAN.replace("S1", "S5")):
        first = beside(report(1, tests=mine, more=more), tests=SALTY)
        assert decided(first, report(2, tests=later, reinspects=listed))[0] == "hold"
        assert decided(first, beside(report(2, tests=later, reinspects=listed)))[0] == "hold"
        named = 'reinspects: [N1]\n    washed: "11:00"'
        washed = beside(report(2, tests=mine), tests=later, more=named if number else "")
        assert decided(first, washed)[0] == ("release" if number else "hold")


def test_a_later_blasting_of_another_apparatus_does_not_stand_for_washing(decided):
    first = beside(report(1, more=raised(SALTS)), tests=SALTY)
    again = report(2, ("11:00", "12:00"), tests=CLEAN.replace("10:40", "12:30"), reinspects="N1")
    assert decided(first, beside(again))[0] == "hold"


# What was not measured


def test_leaving_a_surface_out_measures_nothing(run, decided):
    first = beside(report(1), reading="")
    assert decided(first, report(2))[0] == "hold"
    said = " ".join(run("check", "day2.yaml").out.split())
    assert (
        "pot 2, blasted 07:00 to 09:00: surface not measured in SL-1-001 of 2026-05-04, and this steel is not" in said
    )
    assert decided(first, report(2), report(3))[0] == "hold"
    assert decided(first, beside(report(2)))[0] == "release"
    assert decided(first, beside(report(2)), report(3))[0] == "release"
    assert decided(first, report(2, ("09:00", "10:00")))[0] == "hold"  # by the other apparatus alone
    assert decided(first, report(2, **NEXT))[0] == "hold"  # the same on another day
    all_again = report(2, ("09:00", "10:00")).replace("pot 1", "pot 2")
    assert decided(first, all_again)[0] == "hold"  # it may have gone on with what lies beside
    stated = all_again.replace("\nnot_inspected", "\n    blasted_again: [pot 2]\nnot_inspected")
    assert decided(first, stated)[0] == "release"
    assert decided(first, report(2, OLD, reading=TIMED, **NEXT))[0] == "hold"


def test_nor_does_it_where_that_was_all_of_the_first_report(decided):
    alone = (
        report(1)
        .replace("pot 1", "pot 2")
        .replace("    profile: {gauge: g1, readings: [{location: 1, spot: a, x1: 2.9}]}\n", "")
    )
    assert decided(alone, report(2))[0] == "hold"
    assert decided(alone, beside(report(2), apparatus="POT 2"))[0] == "release"


def test_measured_later_elsewhere_is_not_measured(decided):
    first = beside(report(1), reading="")
    assert decided(first, beside(report(2), ("10:00", "11:00")))[0] == "hold"
    late, again = CLEAN.replace("10:40", "11:20"), "blasted_again: [pot 2]"
    both = beside(beside(report(2), reading=""), ("10:00", "11:00"), tests=late, more=again)
    assert decided(first, both)[0] == "release"


# Washed and tested again within one report


def test_a_test_that_passed_later_belongs_in_a_second_report(contract, run, decided):
    late = '{location: S1, chloride: 10 mg/m2, time: "12:00"}'
    both = SALTY.replace('"10:40"}]', f'"10:40"}}, {late}]')
    remedy = "A-1: if the steel was washed before the test of 12:00 at location S1, or dust removed from it, enter "
    for more, reinspects, rest in (
        (raised(SALTS), "N1", "with the number of a nonconformance with `rework` (N1) under `reinspects`"),
        ("", "", "with the number of a nonconformance with `rework` under `reinspects`"),
    ):
        assert decided(report(1, tests=both, reinspects=reinspects, more=more))[0] == "rework"
        said = " ".join(run("check", "day1.yaml").out.split())
        how = "that test in a second report instead of this one, with the time of that as `washed` or `dust_removed`, "
        how += "and "
        assert remedy + how + rest in said
        second = report(2, tests=CLEAN.replace("10:40", "12:00"), reinspects=reinspects, washed="11:00")
        assert decided(report(1, tests=SALTY, more=more), second)[0] == ("release" if more else "hold")
    worse = SALTY.replace("10:40", "13:00").replace('"13:00"}]', f'"13:00"}}, {late}]')
    decided(report(1, tests=worse))
    assert "instead of this one" not in run("check", "day1.yaml").out


# Washed on a later day


LOGGED = "  conditions: {dew_point_margin: 3 delta_degC, interval: 4 h}\npeople:"
AIR = """conditions:
  - {time: "07:00", air: 18.0 degC, humidity: 50 %, steel: 18.0 degC}
  - {time: "10:30", air: 18.0 degC, humidity: 50 %, steel: 18.0 degC}
gauge_checks:"""


@pytest.fixture
def logged(contract):
    """A contract with limits of the conditions; answers a day file with two readings of them."""
    path = contract / "project.yaml"
    path.write_text(path.read_text("utf-8").replace("people:", LOGGED), "utf-8")
    return lambda text: text.replace("gauge_checks:", AIR)


def test_what_stands_in_the_report_of_the_blasting_is_not_asked_for_again(decided, logged):
    """Blasted and measured on one day, washed and tested on the next: readings are entered as they were."""
    first = logged(report(1, tests=SALTY, more=raised(SALTS)))
    washed = report(2, OLD, reinspects="N1", washed="07:30", **NEXT)
    assert decided(first, washed)[:2] == ("release", ["closed"])
    assert decided(first, logged(washed))[:2] == ("release", ["closed"])
    assert decided(first, washed, report(3, OLD, **NEXT))[:2] == ("release", [])


def test_what_is_missing_there_is_asked_for(run, decided, logged):
    first, washed = report(1, tests=SALTY, more=raised(SALTS)), report(2, OLD, reinspects="N1", washed="07:30", **NEXT)
    assert decided(first, washed)[0] == "hold"
    assert "[conditions-interval]" in run("check", "day2.yaml").out
    assert decided(logged(first), washed.replace("2026-05-04T07:00", "2026-05-04T07:05"))[0] == "hold"
    dated = '  - {time: "2026-05-04T08:00+00:00", air: 18.0 degC, humidity: 90 %, steel: 18.0 degC}\n'
    assert decided(logged(first), logged(washed).replace("conditions:\n", f"conditions:\n{dated}"))[0] == "rework"


def test_a_gauge_of_the_day_before_is_still_checked_on_this_one(run, decided, logged):
    first = logged(report(1, tests=SALTY, more=raised(SALTS)))
    washed = report(2, OLD, reinspects="N1", washed="07:30", **NEXT)
    without = washed.replace('"07:10"', '"14:20"')
    assert decided(first, without)[0] == "release"  # the readings are of either day, and there is a check on each side
    timed = without.replace("x1: 2.9", 'x1: 2.9, time: "10:30"')
    assert decided(first, timed)[0] == "hold"
    assert "no complete check of g1 before" in run("check", "day2.yaml").out
    drifted = first.replace("shim_reading: 3.0 mil}\ntape", "shim_reading: 3.9 mil}\ntape")
    assert decided(drifted, washed)[0] == "hold"
    assert "[gauge-check-failed]" in run("check", "day2.yaml").out


def test_an_apparatus_whose_steel_failed_is_not_cleared_by_leaving_it_out(decided):
    """Its steel is entered again, or another apparatus than those that were there reworked it."""
    failed = beside(report(1), reading="4.2", more="") + raised(HIGH)
    later = ("09:30", "10:10")
    assert decided(failed, report(2, later, reinspects="N1"))[:2] == ("hold", ["open"])
    assert decided(beside(report(1), reading="4.2"), report(2, later))[0] == "hold"
    own = report(2, later, reinspects="N1").replace("apparatus: pot 1", "apparatus: pot 2")
    assert decided(failed, own)[:2] == ("release", ["closed"])
    new = report(2, later, reinspects="N1").replace("apparatus: pot 1", "apparatus: pot 3")
    assert decided(failed, new)[:2] == ("release", ["closed"])


@pytest.mark.usefixtures("engineer")
def test_what_was_accepted_is_not_a_worse_value_at_the_same_place(decided):
    first = accepted(report(1, reading="4.2", more=raised(HIGH)))
    again = raised(HIGH, more=", raised_in: SL-1-001")
    same, worse = (accepted(report(2, OLD, reading="4.2", more=again, **NEXT)).replace("x1: 4.2", f"x1: {value}")
                   for value in ("4.2", "4.4"))  # fmt: skip
    assert decided(first, same)[0] == "release"
    assert decided(first, worse)[0] == "rework"


@pytest.mark.parametrize("name", ["Tern, I.", "I Tern", "Dr. I. Tern", "I.Tern", "I. Tern (engineer)", "Í. Tern"])
def test_a_name_written_otherwise_may_be_the_same_person(contract, decided, name):
    path = contract / "project.yaml"
    path.write_text(path.read_text("utf-8").replace("people: {", ENGINEER.replace("O. Fell", f'"{name}"')), "utf-8")
    assert decided(accepted(report(1, reading="4.2", more=raised(HIGH))))[0] == "rework"


def test_steel_never_measured_is_not_settled_by_the_blasting_of_another_apparatus(decided, run):
    """Pot 2 blasted and was not measured; the next report has pot 1 alone, blasted again."""
    first = beside(report(1), reading="")
    assert decided(first, report(2, ("09:30", "10:10")))[0] == "hold"
    assert "surface not measured" in run("check", "day2.yaml").out
    pot2 = report(2, ("09:30", "10:10")).replace("apparatus: pot 1", "apparatus: pot 2")
    assert decided(first, pot2)[0] == "hold"  # it may have gone on with what lies beside
    stated = pot2.replace("\nnot_inspected", "\n    blasted_again: [pot 2]\nnot_inspected")
    assert decided(first, stated)[0] == "release"


def test_rework_by_another_pot_that_re_inspects_alone_is_told_what_to_write(run, decided):
    """Both pots were on the area; the second went over what the first had, and its entry does not say so."""
    tested = CLEAN.replace("S1", "S2").replace("D1", "D2")
    first = beside(report(1, reading="4.2", more=raised(HIGH)), tests=tested)
    second = report(2, reinspects="N1", **NEXT).replace("apparatus: pot 1", "apparatus: pot 2")
    decision, states, (held,) = decided(first, second)
    assert (decision, states) == ("hold", ["open"])
    assert held.endswith(
        f"{HIGH_SAID} of SL-1-001 at location 1 is of what pot 1 blasted, and what pot 2 blasted in SL-1-002 is "
        "entered with `reinspects` alone: if that went over it, write `blasted_again: [pot 1]` in that entry, else "
        "blast it again and enter that"
    )
    named = second.replace("    reinspects: [N1]\n", "    reinspects: [N1]\n    blasted_again: [pot 1]\n")
    assert decided(first, named) == ("release", ["closed"], [])
