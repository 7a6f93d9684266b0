"""What a report left open stays open in later reports that enter other steel of the area, or other locations of it."""

import json

import pytest

from tests.unit.cli.test_closing import words_of
from tests.unit.cli.test_reinspection import CLEAN, HIGH, HIGH_SAID, NEXT, OLD, contract, decided, raised, report
from tests.unit.cli.test_reinspection_apart import ENGINEER, LOGGED, WAYS, accepted, beside

__all__ = ["contract", "decided"]

YESTERDAY = ("2026-05-04T07:00+00:00", "2026-05-04T09:00+00:00")
"""The blasting of the first report, as a report of the next day enters it again."""
AFTER_ELEVEN = CLEAN.replace("10:40", "11:20")
UNTIMED = CLEAN.replace(', time: "10:40"', "")
AS_DECIDED = {
    "disposition: rework, decided_by: ines, status: open": "disposition: use-as-is, decided_by: eng, status: closed,"
    " evidence: letter 7"
}
PRIMED = 'coated: "2026-05-04T13:00+00:00"'


@pytest.fixture
def left(run):
    """Answer what the last day file is told to be left open: code, report, apparatus, location, and the task for it."""

    def told(name):
        result = json.loads(run("check", name, "--json").out)
        found = [one for one in result["findings"] if one["code"] == "left-open-earlier"]
        tasks = {(one["code"], one["place"].get("location")) for one in result["measure_next"]}
        return [
            (one["facts"]["code"], one["facts"]["report"], one["facts"]["apparatus"], one["place"].get("location"))
            for one in found
        ], tasks

    return told


@pytest.fixture
def project(contract):
    """Change the project file; given back for the next change."""

    def change(*pairs):
        path = contract / "project.yaml"
        text = path.read_text("utf-8")
        for old, new in pairs:
            assert old in text
            text = text.replace(old, new)
        path.write_text(text, "utf-8")

    return change


def dated(number, date, **more):
    return report(number, **{"date: 2026-05-04": f"date: {date}"}, **more)


def areas_of(run, name):
    """The areas of a day file by their ids, as they are evaluated."""
    return {area["id"]: area for area in json.loads(run("check", name, "--json").out)["areas"]}


def findings_of(run, name):
    return json.loads(run("check", name, "--json").out)["findings"]


def readings(*rows):
    """A profile with readings at locations: ``(location, roll, reading)``; several of one location are its spots."""
    listed = ", ".join(f"{{location: {where}, spot: {spot}, {taken}}}" for where, spot, taken in rows)
    return {"[{location: 1, spot: a, x1: 2.9}]": f"[{listed}]"}


# A surface


@pytest.mark.parametrize("date", ["2026-05-05", "2026-05-09", "2026-07-01"])
def test_steel_never_measured_is_not_forgotten_on_another_day(decided, left, date):
    """Pot 2 blasted and was not measured; a later day has pot 1 alone, blasted anew."""
    first, later = beside(report(1), reading=""), dated(2, date)
    assert decided(first, later)[0] == "hold"
    assert left("day2.yaml")[0][0] == ("surface-not-measured", "SL-1-001", "pot 2", None)
    assert ("enter-steel-again", None) in left("day2.yaml")[1]
    assert decided(first, later, dated(3, "2026-07-02"))[0] == "hold"
    third_pot = later.replace("apparatus: pot 1", "apparatus: pot 3")
    assert decided(first, third_pot)[0] == "hold"


def test_each_way_out_of_it_works(decided):
    first, later = beside(report(1), reading=""), report(2, **NEXT)
    measured = beside(report(2, OLD, reading='2.9, time: "07:20"', **NEXT), YESTERDAY)
    both = beside(later, YESTERDAY)
    again = later.replace("apparatus: pot 1", "apparatus: pot 2")
    stated = report(2, tests=f"{CLEAN}    blasted_again: [pot 2]\n", **NEXT)
    third = stated.replace("apparatus: pot 1", "apparatus: pot 3")
    for way in (measured, both, again, stated):
        assert decided(first, way)[0] == "release"
        assert decided(first, way, report(3, **NEXT))[0] == "release"
    assert decided(first, third)[0] == "release"
    revised = beside(report(1)).replace("revision: 0", "revision: 1")
    assert decided(first, revised, later)[0] == "release"


def test_a_blasting_before_it_does_not_undo_it(decided):
    first = beside(report(1), ("10:00", "11:00"), reading="")
    assert decided(first, report(2, ("09:10", "09:50"), tests=f"{CLEAN}    blasted_again: [pot 2]\n"))[0] == "hold"


def test_what_failed_and_no_nonconformance_covers_is_not_forgotten_either(decided):
    first = beside(report(1), reading="4.2")
    for apparatus in ("pot 1", "pot 3"):
        later = report(2, **NEXT).replace("apparatus: pot 1", f"apparatus: {apparatus}")
        decision, _, held = decided(first, later)
        assert (decision, f"{HIGH_SAID} of SL-1-001" in held[0]) == ("hold", True)
        stated = later.replace("\nnot_inspected", "\n    blasted_again: [pot 2]\nnot_inspected")
        assert decided(first, stated)[0] == "release"


def test_steel_that_was_reworked_once_is_not_asked_for_again(decided):
    """Pot 1 fails, is blasted again the next day and conforms; on the third day another pot blasts beside it."""
    first, second = report(1, reading="4.2"), report(2, **NEXT)
    third = dated(3, "2026-05-06").replace("apparatus: pot 1", "apparatus: pot 3")
    assert decided(first, second)[0] == "release"
    assert decided(first, second, third)[0] == "release"
    assert decided(first, third)[0] == "hold"


# Decided


def as_is(*findings, by="eng", name="N1", status="closed", listed=""):
    return (
        f"nonconformances:\n  - {{id: {name}, area: A-1, findings: [{', '.join(findings)}], description: primed,\n"
        f"     disposition: use-as-is, decided_by: {by}, status: {status}, evidence: letter 7{listed}}}\n"
    )


@pytest.mark.parametrize("code", ["surface-not-measured", "left-open-earlier"])
@pytest.mark.parametrize(("by", "decision"), [("eng", "release"), ("ines", "hold")])
def test_what_can_no_longer_be_made_good_is_settled_by_decision(run, decided, left, project, code, by, decision):
    """Pot 2 was primed unmeasured. The engineer accepts it the next day, and the area is not said to conform by that;
    nor the day after, which has nothing of it. An inspector accepts nothing.
    """
    project(("people: {", ENGINEER))
    first = beside(report(1), reading="", more='coated: "13:00"')
    second, third = report(2, more=as_is(code, by=by), **NEXT), dated(3, "2026-05-06")
    assert decided(first, report(2, **NEXT))[0] == "hold"
    assert decided(first, second)[0] == decision
    result = json.loads(run("check", "day2.yaml", "--json").out)
    assert result["areas"][0]["verdict"] == "inconclusive"
    named = [one.get("nonconformance") for one in result["findings"] if one["code"] == "left-open-earlier"]
    assert named == (["N1"] if decision == "release" else [None])
    assert decided(first, second, third)[0] == decision
    result = json.loads(run("check", "day3.yaml", "--json").out)
    assert result["areas"][0]["verdict"] == "inconclusive"
    assert len(left("day3.yaml")[0]) == 1
    assert ("enter-steel-again", None) in left("day3.yaml")[1] or decision == "release"


@pytest.mark.parametrize("day", [1, 2])
def test_a_decision_may_be_made_when_it_was_left_open_or_later(decided, project, day):
    project(("people: {", ENGINEER))
    first = beside(report(1), reading="", more='coated: "13:00"')
    code, raised_in = "surface-not-measured", ", raised_in: SL-1-001"
    if day == 1:
        first += as_is(code)
        assert decided(first)[0] == "release"
        assert decided(first, report(2, **NEXT))[0] == "release"
    else:
        first += as_is(code, status="open")
        assert decided(first)[0] == "hold"
        assert decided(first, report(2, **NEXT))[0] == "hold"
        assert decided(first, report(2, more=as_is(code, listed=raised_in), **NEXT))[0] == "release"


def test_what_was_written_in_doubt_is_not_decided_but_confirmed(decided, project):
    project(("people: {", ENGINEER))
    read = readings(("1", "a", "x1: 2.9"), ("2", "a", "x1: 2.95"))
    assert decided(report(1, more=as_is("entry-doubtful"), **read))[0] == "hold"
    confirmed = readings(("1", "a", "x1: 2.9"), ("2", "a", "x1: 2.95, confirmed: yes"))
    assert decided(report(1, **confirmed))[0] == "release"


def test_a_repair_brings_no_measurement(decided, project):
    project(("people: {", ENGINEER))
    repaired = as_is("surface-not-measured").replace("use-as-is", "repair")
    assert decided(beside(report(1), reading="") + repaired)[0] == "hold"


@pytest.mark.parametrize("raised_on", [1, 2])
@pytest.mark.parametrize(("codes", "decision"), [((HIGH, "walk-out-missing"), "release"), ((HIGH,), "hold")])
def test_the_bounds_of_what_failed_are_asked_for_whenever_it_is_accepted(decided, project, raised_on, codes, decision):
    """The engineer accepts what failed, and with it that nobody knows how far it reaches, or not."""
    project(("people: {", ENGINEER))
    first, later = report(1, reading="4.2"), report(2, **NEXT).replace("apparatus: pot 1", "apparatus: pot 3")
    days = (first + as_is(*codes), later) if raised_on == 1 else (first, later + as_is(*codes))
    assert decided(*days)[0] == decision
    walked = accepted(first)
    days = (walked + as_is(HIGH), later) if raised_on == 1 else (walked, later + as_is(HIGH))
    assert decided(*days)[0] == "release"


# Bare steel


def test_steel_released_and_never_primed_is_not_forgotten(decided, left, project):
    """Released to be primed by 17:00, after the shift; the next day's report has the other pot alone."""
    project(("maximum: 48 h", "maximum: 8 h"))
    first, later = beside(report(1)), report(2, **NEXT)
    assert decided(first)[0] == "release"
    assert decided(first, later)[0] == "hold"
    assert left("day2.yaml") == (
        [("coating-overdue", "SL-1-001", "pot 2", None)], {("enter-primer", None)},
    )  # fmt: skip
    primed = beside(later, YESTERDAY, more=PRIMED)
    assert decided(first, primed)[0] == "release"
    assert decided(first, primed, dated(3, "2026-05-06"))[0] == "release"
    assert decided(beside(report(1), more='coated: "13:00"'), later)[0] == "release"
    again = report(2, tests=f"{CLEAN}    blasted_again: [pot 2]\n", **NEXT)
    assert decided(first, again)[0] == "release"
    late = beside(later, YESTERDAY, more=PRIMED.replace("13:00", "18:00"))
    assert decided(first, late)[0] == "rework"


def test_steel_overdue_in_its_own_report_is_not_forgotten(decided, left, project):
    project(("maximum: 48 h", "maximum: 4 h"))
    own = f'{UNTIMED}    coated: "12:30"\n'
    first = beside(report(1, tests=own), ("08:00", "10:00"))
    assert decided(first)[0] == "hold"
    later = report(2, tests=own, **NEXT)
    assert decided(first, later)[0] == "hold"
    assert left("day2.yaml")[0] == [("coating-overdue", "SL-1-001", "pot 2", None)]
    same = ("2026-05-04T08:00+00:00", "2026-05-04T10:00+00:00")
    assert decided(first, beside(later, same, more=PRIMED.replace("13:00", "12:50")))[0] == "release"


def test_bare_steel_is_asked_after_only_when_its_time_has_passed(decided):
    assert decided(beside(report(1)), report(2, **NEXT))[0] == "release"  # 48 h


# A location


COARSE = ("tape_rolls: {", 'tape_rolls: {c1: {grade: coarse, lot: "8", expires: 2027-06-30}, ')
LOCATIONS = {
    "second-reading-missing": ((), [("2", "a", "x1: 2.2")]),
    "outside-grade-range": ((), [("2", "a", "x1: 1.1")]),
    "spots-missing": ((("readings_per_location: 1", "readings_per_location: 2"),), [("2", "a", "x1: 2.9")]),
    "profile-in-guard-band": ((("decision_rule: simple", "decision_rule: guarded"),), [("2", "a", "x1: 3.4")]),
    "profile-inconclusive": ((("decision_rule: simple", "decision_rule: banded"),), [("2", "a", "x1: 3.4")]),
    "spots-disagree": (
        (("readings_per_location: 1", "readings_per_location: 2, agreement_tolerance: 0.2 mil"),),
        [("2", "a", "x1: 2.6"), ("2", "b", "x1: 3.3")],
    ),
    "contradictory-readings": ((COARSE,), [("2", "a", "x1: 2.9, c1: 1.2")]),
}
UNDECIDED = ("profile-in-guard-band", "profile-inconclusive")
"""What the same gauge does not settle, though less scatter made it surer the second time."""


@pytest.mark.parametrize("code", LOCATIONS)
def test_a_location_that_is_open_is_not_forgotten_by_measuring_others(decided, left, project, code):
    changes, owed = LOCATIONS[code]
    project(*changes)
    two = code in ("spots-missing", "spots-disagree")
    spots = ("a", "b") if two else ("a",)
    fine = [("1", spot, "x1: 2.9") for spot in spots]
    coarse = '  - {time: "07:15", roll: x1, gauge: g1, thickness: 5.6 mil}\n'
    more = {coarse: coarse + coarse.replace("x1", "c1").replace("5.6", "4.1")} if code[:3] == "con" else {}
    first = report(1, **readings(*fine, *owed), **more)
    assert decided(first)[0] == "hold"
    elsewhere = [(where, spot, taken) for where in ("1", "3") for _, spot, taken in fine]
    second = report(2, tests=CLEAN, **readings(*elsewhere), **more)
    assert decided(first, second)[0] == "hold"
    assert (code, "SL-1-001", "pot 1", "2") in left("day2.yaml")[0]
    task = "measure-surer-there" if code in UNDECIDED else "measure-there-again"
    assert (task, "2") in left("day2.yaml")[1]
    there = [("2", spot, taken.replace("2.9", "3.0")) for _, spot, taken in fine]
    measured = report(2, **readings(*fine, *there), **more)
    settled = "hold" if code in UNDECIDED else "release"
    assert decided(first, measured)[0] == settled
    assert decided(first, measured, report(3, **readings(*elsewhere), **more))[0] == settled
    assert decided(first, second, report(3, **readings(*elsewhere, *there), **more))[0] == settled
    late = CLEAN.replace("10:40", "12:00")
    assert decided(first, report(2, ("10:00", "11:00"), tests=late, **readings(*elsewhere), **more))[0] == "release"
    assert decided(first, report(2, tests=CLEAN, **readings(*elsewhere), **more, **NEXT))[0] == "release"


def test_more_spots_than_make_a_location_are_not_settled_by_other_readings_there(run, decided, left):
    """The first ones are what was measured: a revision says which they are, or the steel is blasted again."""
    both = readings(("1", "a", "x1: 2.9"), ("2", "a", "x1: 2.9"), ("2", "b", "x1: 3.0"))
    first = report(1, **both)
    assert decided(first)[0] == "hold"
    there = report(2, **readings(("1", "a", "x1: 2.9"), ("2", "a", "x1: 3.1")))
    assert decided(first, there)[0] == "hold"
    assert left("day2.yaml") == (
        [("spots-too-many", "SL-1-001", "pot 1", "2")], {("enter-spots-apart", "2")}
    )  # fmt: skip
    said = " ".join(run("check", "day2.yaml").out.split())
    assert "what was read in SL-1-001 entered in a revision of it, the spots taken first as the location" in said
    assert decided(first, there, report(3, **readings(("2", "a", "x1: 3.1"))))[0] == "hold"
    apart = readings(("1", "a", "x1: 2.9"), ("2", "a", "x1: 2.9"), ("3", "a", "x1: 3.0"))
    revised = report(1, **apart).replace("revision: 0", "revision: 1")
    assert decided(first, revised, there)[0] == "release"
    late = CLEAN.replace("10:40", "12:00")
    assert decided(first, report(2, ("10:00", "11:00"), tests=late))[0] == "release"


def test_a_location_of_one_apparatus_is_not_measured_on_another(decided):
    """Both have a location 2."""
    first = beside(report(1, **readings(("2", "a", "x1: 2.9"))), reading="1.1")
    assert decided(first)[0] == "hold"
    mine, with_two = report(2, **readings(("2", "a", "x1: 2.9"))), beside(report(2), reading="2.8", location="3")
    assert decided(first, mine)[0] == "hold"
    assert decided(first, with_two)[0] == "hold"
    assert decided(first, beside(mine))[0] == "release"


@pytest.mark.parametrize("again", ["release", "hold"])
def test_what_was_decided_is_not_asked_for_again(decided, project, again):
    """The engineer accepts what lies within the limits and too near to them."""
    two = ("readings_per_location: 1", "readings_per_location: 2")
    project(("decision_rule: simple", "decision_rule: guarded"), ("people: {", ENGINEER), two)
    one = raised("profile-in-guard-band")
    if again == "release":
        one = one.replace("rework, decided_by: ines, status: open", "use-as-is, decided_by: eng, status: closed")
        one = one.replace("}\n", ", evidence: letter 7}\n")
    good = (("1", "a", "x1: 2.9"), ("1", "b", "x1: 2.9"))
    first = report(1, more=one, **readings(*good, ("2", "a", "x1: 3.4"), ("2", "b", "x1: 3.4")))
    assert decided(first)[0] == again
    assert decided(first, report(2, **readings(*good)))[0] == again


def test_a_doubtful_value_is_not_forgotten(decided, left):
    first = report(1, **readings(("1", "a", "x1: 2.9"), ("2", "a", "x1: 2.95")))
    assert decided(first)[0] == "hold"
    assert decided(first, report(2))[0] == "release"  # the digits of the whole entry, which is entered again
    other = beside(report(1, **{"location: 1, spot: a, x1: 2.9": "location: 1, spot: a, x1: 2.95"}))
    assert decided(other, beside(report(2).replace("pot 1", "pot 3"), apparatus="pot 2"))[0] == "hold"
    assert left("day2.yaml")[0] == [("entry-doubtful", "SL-1-001", "pot 1", None)]


# The area


@pytest.mark.parametrize(
    ("code", "old", "new"),
    [
        ("salts-missing", 'salts: [{location: S1, chloride: 10 mg/m2, time: "10:40"}]', "photos: []"),
        ("dust-missing", "dust: [{location: D1, quantity: 1, size: 1}]", "photos: []"),
        ("cleanliness-missing", "    cleanliness: {observed: SSPC-SP 10, staining: 2 %}\n", ""),
    ],
)
def test_a_test_that_was_not_made_is_made_on_that_steel(decided, left, code, old, new):
    first = beside(report(1))
    for each, changed in ((old, new), ("quantity: 1, size: 1}]\n    photos", "quantity: 1, size: 1}]\n    photos")):
        first = first.replace(each, changed)
    assert decided(first)[0] == "hold"
    assert decided(first, report(2, **NEXT))[0] == "hold"
    assert (code, "SL-1-001", "pot 2", None) in left("day2.yaml")[0]
    assert decided(first, beside(report(2, **NEXT), YESTERDAY))[0] == "release"
    again = report(2, tests=f"{CLEAN}    blasted_again: [pot 2]\n", **NEXT)
    assert decided(first, again)[0] == "release"


def test_conditions_that_nobody_read_are_not_forgotten(decided, left, project):
    project(("people:", LOGGED))
    log = 'conditions:\n  - {{time: "{}", air: 18.0 degC, humidity: 50 %, steel: 18.0 degC}}\ngauge_checks:'
    first = beside(report(1))
    assert decided(first)[0] == "hold"
    later = report(2, **NEXT).replace("gauge_checks:", log.format("06:50"))
    assert decided(first, later)[0] == "hold"
    assert ("conditions-interval", "SL-1-001", "pot 2", None) in left("day2.yaml")[0]
    remembered = beside(report(2, **NEXT), YESTERDAY).replace("gauge_checks:", log.format(YESTERDAY[0]))
    dated = log.format("06:50").split("\n")[1]
    remembered = remembered.replace("gauge_checks:", f"{dated}\ngauge_checks:")
    assert decided(first, remembered)[0] == "release"


def test_the_log_of_a_day_speaks_of_the_primer_it_records(decided, project):
    """Steel primed yesterday is entered again for a test that was owed: its readings stand in yesterday's report."""
    project(("people:", LOGGED))
    log = "".join(
        f'  - {{time: "{at}", air: 18.0 degC, humidity: 50 %, steel: 18.0 degC}}\n'
        for at in ("06:50", "09:00", "11:00", "13:00", "15:00")
    )
    logged = f"conditions:\n{log}gauge_checks:"
    without = report(1, tests=CLEAN.partition("    dust")[0] + '    coated: "13:00"\n')
    first = without.replace("gauge_checks:", logged)
    tested = UNTIMED.replace("size: 1", 'size: 1, time: "2026-05-04T11:20+00:00"')
    again = report(2, YESTERDAY, tests=f"{tested}    {PRIMED}\n", **NEXT).replace("gauge_checks:", logged)
    assert decided(first)[0] == "hold"
    assert decided(first, again)[0] == "hold"  # what was tested yesterday enters yesterday's report
    without = report(1, tests=UNTIMED.replace("size: 1", 'size: 1, time: "11:20"') + '    coated: "13:00"\n')
    first = without.replace("gauge_checks:", logged)
    assert decided(first, again)[0] == "release"
    assert decided(first, again.replace("T13:00+00:00", "T16:40+00:00"))[0] == "hold"  # which yesterday does not know
    gone = first.replace("".join(log.splitlines(keepends=True)[1:]), "")
    assert decided(gone, again)[0] == "hold"


def test_steel_measured_with_a_gauge_that_failed_is_not_forgotten(decided, left):
    first = beside(report(1)).replace(
        "shim: 3.0 mil, shim_reading: 3.0 mil}\ntape", "shim: 3.0 mil, shim_reading: 3.9 mil}\ntape"
    )
    assert decided(first)[0] == "hold"
    assert decided(first, report(2, **NEXT))[0] == "hold"
    assert ("gauge-check-failed", "SL-1-001", "pot 2", None) in left("day2.yaml")[0]
    again = report(2, tests=f"{CLEAN}    blasted_again: [pot 2]\n", **NEXT)
    assert decided(first, again)[0] == "release"


def test_an_entry_that_was_not_taken_is_settled_in_its_own_report_alone(decided, left):
    untaken = "not_taken: [{area: A-1, where: sheet.pdf page 1, entry: location 2, written: 1.2?}]\n"
    first = report(1, more=untaken)
    assert decided(first)[0] == "hold"
    assert decided(first, report(2))[0] == "hold"
    found, tasks = left("day2.yaml")
    assert found == [("entry-not-taken", "SL-1-001", "pot 1", None)]
    assert ("enter-in-revision", None) in tasks
    revised = report(1, **readings(("1", "a", "x1: 2.9"), ("2", "a", "x1: 3.2"))).replace("revision: 0", "revision: 1")
    assert decided(first, revised, report(2))[0] == "release"


def test_primed_steel_entered_again_as_bare_settles_nothing(decided):
    untimed = UNTIMED
    first = report(1, tests=f'{untimed}    coated: "07:05"\n', **{"x1: 2.9": 'x1: 2.9, time: "10:00"'})
    assert decided(first.replace("07:05", "09:30"))[0] == "hold"  # measured after the primer
    assert decided(first.replace("07:05", "09:30"), report(2))[0] == "hold"


# What stands in `blasted_again`


def test_blasted_again_names_what_an_earlier_report_has(contract, run, decided):
    first = beside(report(1), reading="")
    (contract / "day1.yaml").write_text(first, "utf-8")
    wrong = report(2, tests=f"{CLEAN}    blasted_again: [pot 9]\n", **NEXT)
    (contract / "day2.yaml").write_text(wrong, "utf-8")
    said = run("check", "day2.yaml")
    assert (said.code, "not entered yet: pot 9 [entry-unfinished]" in " ".join(said.out.split())) == (1, True)
    said = run("issue", "day2.yaml", "--identity", "demo")
    message = "no other entry, and no earlier report, blasts area `A-1` with `pot 9`"
    assert (said.code, "JOB245" in said.err, message in " ".join(said.err.split())) == (
        2, True, True,
    )  # fmt: skip


# What a decision accepts


def test_a_decision_on_what_was_left_open_accepts_what_was_told_and_no_more(run, decided, left, project):
    """Pot 1 failed, was never bounded, and stayed bare too long; the next day pot 2 is to have blasted it again."""
    project(("people: {", ENGINEER), ("maximum: 48 h", "maximum: 5 h"))
    first = report(1, reading="4.2", more=raised(HIGH))
    coated = f'{CLEAN}    coated: "12:00"\n'
    second = report(2, reinspects="N1", tests=coated, **NEXT).replace("pot 1", "pot 2")
    assert decided(first, second)[0] == "hold"
    told = left("day2.yaml")[0]
    assert told == [("coating-overdue", "SL-1-001", "pot 1", None)]
    accepted_late = second + as_is("left-open-earlier", name="N2")
    assert decided(first, accepted_late)[:2] == ("release", ["closed", "closed"])
    assert left("day2.yaml")[0] == told
    result = json.loads(run("check", "day2.yaml", "--json").out)
    assert result["areas"][0]["verdict"] == "inconclusive"
    by = {one["code"]: one.get("nonconformance") for one in result["findings"]}
    assert by["left-open-earlier"] == "N2"
    (state,) = [one for one in result["nonconformances"] if one["id"] == "N2"]
    assert [one["code"] for one in state["original"]] == ["coating-overdue"]
    repaired = second + as_is("left-open-earlier", name="N2").replace("use-as-is", "repair")
    assert decided(first, repaired)[:2] == ("hold", ["closed", "open"])


def test_the_bounds_of_what_was_accepted_before_are_left_open_by_that_name(decided, project):
    """The engineer accepts what failed; a later decision accepts that nobody knows how far it reaches."""
    project(("people: {", ENGINEER))
    first, later = report(1, reading="4.2"), report(2, **NEXT).replace("apparatus: pot 1", "apparatus: pot 3")
    assert decided(first + as_is(HIGH), later)[0] == "hold"
    assert decided(first + as_is(HIGH), later + as_is("left-open-earlier", name="N2"))[0] == "release"
    assert decided(first, later + as_is(HIGH, "left-open-earlier"))[0] == "release"


@pytest.mark.parametrize("way", ["beside", "alone", "third"])
def test_what_was_accepted_stays_on_the_area(run, decided, project, way):
    """Pot 2's steel is too rough and accepted; later reports have pot 1's alone, which is good, or both."""
    project(("people: {", ENGINEER), ("maximum: 48 h", "maximum: 96 h"))
    codes = HIGH, "walk-out-missing"
    first = beside(report(1), reading="4.2") + as_is(*codes)
    assert decided(first)[0] == "release"
    stated = areas_of(run, "day1.yaml")["A-1"]
    second = report(2, **NEXT)
    both = beside(second, YESTERDAY, reading="4.2") + as_is(*codes, listed=", raised_in: SL-1-001")
    days = {"beside": (both,), "alone": (second,), "third": (second, dated(3, "2026-05-06"))}[way]
    assert decided(first, *days)[0] == "release"
    last = f"day{1 + len(days)}.yaml"
    assert (areas_of(run, last)["A-1"]["verdict"], stated["verdict"]) == ("does not conform", "does not conform")
    by = [one.get("nonconformance") for one in findings_of(run, last) if one["code"] == "accepted-earlier"]
    assert by == ([] if way == "beside" else ["N1"])
    said = " ".join(run("check", last, "--all").out.split())
    assert (
        f"{HIGH_SAID} of SL-1-001 at location 2, accepted by N1 (use-as-is), is on the steel still" in said
    ) is bool(by)
    assert said.startswith(f"SL-1-00{1 + len(days)} revision 0, 2026-05-0{4 + len(days)} Does not conform")


def test_what_was_accepted_before_is_not_why_an_area_is_on_hold(run, contract, decided, project):
    """It is bare too long besides."""
    project(("people: {", ENGINEER), ("maximum: 48 h", "maximum: 20 h"))
    first = beside(report(1), reading="4.2") + as_is(HIGH, "walk-out-missing")
    assert decided(first, report(2, **NEXT))[0] == "hold"
    assert run("draft", "day2.yaml", "-o", "draft.pdf").code == 0
    page = words_of(contract / "draft.pdf", pages=2)
    assert "Hold A-1." in page
    assert f"A-1 {HIGH_SAID} of SL-1-001 at location 2, accepted by N1 (use-as-is), is on the steel still" in page


def test_until_that_steel_is_blasted_again(run, decided, project):
    project(("people: {", ENGINEER), ("maximum: 48 h", "maximum: 96 h"))
    first = beside(report(1), reading="4.2") + as_is(HIGH, "walk-out-missing")
    again = beside(report(2, **NEXT), ("10:00", "11:00"), tests=AFTER_ELEVEN)
    for days in ((again,), (again, dated(3, "2026-05-06"))):
        assert decided(first, *days)[0] == "release"
        assert areas_of(run, f"day{1 + len(days)}.yaml")["A-1"]["verdict"] == "conforms"
    other = report(2, **NEXT).replace("pot 1", "pot 3")  # beside it, not on it
    assert decided(first, other)[0] == "release"
    assert areas_of(run, "day2.yaml")["A-1"]["verdict"] == "does not conform"


# A repair


def repaired(*codes, status="closed", **more):
    return as_is(*codes, status=status, **more).replace("use-as-is", "repair")


MENDED = {"reading": '3.9, time: "07:40"', "blasted": YESTERDAY, "reinspects": "N1"}
"""The same steel, measured at the same place on the next day."""


def bounded(text):
    """What failed at location 1 does not reach far."""
    walked = f", walk_outs: [{{failing: 1, interval: 0.5 m, directions: [{WAYS}]}}]}}\n"
    head, found, tail = text.partition("spot: a, x1: ")
    return f"{head}{found}{tail.replace('}]}', '}]' + walked.rstrip(), 1)}"


@pytest.fixture
def mended(project):
    """A contract with an engineer, and a day whose steel is too rough and to be repaired."""
    project(("people: {", ENGINEER), ("maximum: 48 h", "maximum: 96 h"))
    return bounded(report(1, reading="4.2", more=repaired(HIGH)))


def test_a_repair_is_closed_by_an_inspection_of_the_repaired_steel(run, decided, mended):
    """It is decided, and the steel measured again is off the specification still, as the decision has it."""
    decision, states, told = decided(mended)
    assert (decision, states) == ("rework", ["open"])
    assert told == ["N1 is decided (`repair`), and no later report inspects the repaired steel"]
    said = " ".join(run("check", "day1.yaml", "--all").out.split())
    assert "inspect the repaired steel to close N1, in a later report, with `reinspects: [N1]`" in said
    assert "bring evidence" not in said
    again = bounded(dated(2, "2026-05-05", **MENDED))
    assert decided(mended, again)[:2] == ("release", ["closed"])
    assert areas_of(run, "day2.yaml")["A-1"]["verdict"] == "does not conform"
    conforms = dated(2, "2026-05-05", **{**MENDED, "reading": '2.9, time: "07:40"'})
    assert decided(mended, conforms)[:2] == ("release", ["closed"])
    later = dated(3, "2026-05-06").replace("pot 1", "pot 3")
    for second, verdict in ((again, "does not conform"), (conforms, "conforms")):
        assert decided(mended, second, later)[0] == "release"
        assert areas_of(run, "day3.yaml")["A-1"]["verdict"] == verdict


@pytest.mark.parametrize(
    "change",
    [
        {"reinspects": ""},
        {"reading": "4.2"},  # what the first report has, written again
        {"reading": '3.9, time: "2026-05-04T10:30+00:00"'},  # before the repair, for all that is known
        {"apparatus: pot 1": "apparatus: pot 3"},
        {"location: 1,": "location: 4,"},
    ],
)
def test_not_by_one_that_is_not_of_it(decided, mended, change):
    decision, states, _ = decided(mended, dated(2, "2026-05-05", **{**MENDED, **change}))
    assert (decision == "release", states) == (False, ["open"])


def test_nor_by_an_inspection_without_a_decision(decided, mended):
    first = mended.replace("status: closed", "status: open")
    again = bounded(dated(2, "2026-05-05", **MENDED))
    assert decided(first, again)[1] == ["open"]
    since = repaired(HIGH, listed=", raised_in: SL-1-001")
    assert decided(first, again + since)[:2] == ("release", ["closed"])
    third = bounded(
        dated(3, "2026-05-06", blasted=YESTERDAY, reading='3.9, time: "2026-05-05T07:40+00:00"', more=since)
    )
    assert decided(first, again, third)[:2] == ("release", ["closed"])


def test_the_next_sheet_asks_for_the_repaired_steel(run, contract, mended):
    (contract / "day1.yaml").write_text(mended, "utf-8")
    assert run("new", "--next", "day1.yaml").code == 0
    assert "reinspects: [N1]" in (contract / "2026-05-05.yaml").read_text("utf-8")


# Areas that a report does not name


def silent(number, date):
    """A report of the other area, without a word of the first."""
    return dated(number, date).replace("area: A-1", "area: A-2").partition("not_inspected")[0]


@pytest.mark.parametrize("silent_for", [1, 2])
@pytest.mark.parametrize(
    ("first", "code", "task"),
    [
        (report(1, reading="4.2"), "failed-earlier", "inspect-reworked"),
        (report(1, reading="4.2", tests=f'{CLEAN}    coated: "12:00"\n'), "failed-earlier", "inspect-reworked"),
        (beside(report(1), reading="", more='coated: "13:00"'), "left-open-earlier", "enter-steel-again"),
        (report(1), "left-open-earlier", "enter-primer"),
    ],
)
def test_what_was_left_there_is_told_all_the_same(run, decided, project, first, code, task, silent_for):
    """It failed, primed or not; was not measured; or is bare too long. The area that is inspected is not held by it."""
    project(("maximum: 48 h", "maximum: 20 h"))
    dates = [f"2026-05-0{5 + number}" for number in range(silent_for)]
    assert decided(first, *(silent(2 + number, date) for number, date in enumerate(dates)))[0] == "release"
    last = f"day{1 + silent_for}.yaml"
    result = json.loads(run("check", last, "--json").out)
    assert [area["id"] for area in result["areas"]] == ["A-2"]
    assert code in [one["code"] for one in result["findings"] if one["place"].get("area") == "A-1"]
    assert task in [one["code"] for one in result["measure_next"] if one["place"].get("area") == "A-1"]
    assert "A-1" in run("check", last).out
    due = json.loads(run("new", "--next", last, "--date", "2026-05-09", "--json").out)["areas_due"]
    assert "A-1" in due


def test_until_it_is_settled(run, decided, project):
    first = report(1, reading="4.2")
    reworked = report(2, **NEXT).replace("not_inspected: [{area: A-2, reason: scaffold not released}]", "")
    project(("maximum: 48 h", "maximum: 96 h"))
    assert decided(first, reworked)[0] == "release"
    decided(first, reworked, silent(3, "2026-05-06"))
    assert [one["code"] for one in findings_of(run, "day3.yaml") if one["place"].get("area") == "A-1"] == []


# Where a decision belongs


@pytest.mark.parametrize(
    ("code", "raised_before"),
    [("left-open-earlier", False), ("surface-not-measured", False), ("surface-not-measured", True)],
)
def test_a_decision_on_an_area_that_is_not_inspected_says_where_it_belongs(run, decided, project, code, raised_before):
    """Pot 2 was primed unmeasured; a report of the other area has the decision on it."""
    project(("people: {", ENGINEER))
    first = beside(report(1), reading="", more='coated: "13:00"')
    other = report(2, **NEXT).replace("A-1", "A-9").replace("A-2", "A-1").replace("A-9", "A-2")
    listed = ", raised_in: SL-1-001" if raised_before else ""
    decided(first + as_is(code, status="open") if raised_before else first, other + as_is(code, listed=listed))
    found = json.loads(run("check", "day2.yaml", "--json").out)["findings"]
    told = [(one["place"], one["facts"]) for one in found if one["code"] == "decision-without-inspection"]
    facts = {"nonconformance": "N1", "disposition": "use-as-is", "report": "SL-1-001"}
    assert told == [({"area": "A-1"}, facts)]
    said = " ".join(run("check", "day2.yaml").out.split())
    assert "A-1: N1 decides `use-as-is` on an area that this report does not inspect" in said
    revised = first.replace("revision: 0", "revision: 1") + as_is("surface-not-measured")
    assert decided(revised)[0] == "release"
    decided(first, report(2, more=as_is(code), **NEXT))
    assert "decision-without-inspection" not in run("check", "day2.yaml", "--json").out


# Work that goes on


@pytest.mark.parametrize("blasted", [("09:00", "09:50"), ("10:00", "11:00")])
def test_an_apparatus_that_goes_on_within_the_shift_does_not_blast_the_same_steel_again(decided, left, blasted):
    """Pot 1 blasted a part that nobody measured, and went on with the next one; a second report has that alone."""
    first = report(1)
    first = first[: first.index("    profile:")] + first[first.index("\n", first.index("    profile:")) + 1 :]
    second = report(2, blasted, tests=CLEAN.replace("10:40", "11:40"), reading='2.9, time: "11:30"')
    assert decided(first)[0] == "hold"
    assert decided(first, second)[0] == "hold"
    assert ("locations-missing", "SL-1-001", "pot 1", None) in left("day2.yaml")[0]
    assert decided(first, second, report(3, ("11:00", "12:00"), reading='2.9, time: "12:30"'))[0] == "hold"
    stated = second.replace("\nnot_inspected", "\n    blasted_again: [pot 1]\nnot_inspected")
    assert decided(first, stated)[0] == "release"


def test_steel_overdue_in_its_own_report_is_told_of_where_its_area_is_not_inspected(decided, left, project):
    project(("maximum: 48 h", "maximum: 4 h"))
    other = report(2, **NEXT).replace("area: A-1", "area: A-9").replace("A-2", "A-1").replace("A-9", "A-2")
    decided(report(1), other)
    assert left("day2.yaml")[0] == [("coating-overdue", "SL-1-001", "pot 1", None)]


def test_what_was_accepted_is_not_asked_for_before_leaving(run, decided, project):
    project(("people: {", ENGINEER))
    first = report(1, reading="4.2", more=raised(HIGH, "walk-out-missing"))
    for old, new in AS_DECIDED.items():
        first = first.replace(old, new)
    assert decided(first)[0] == "release"
    assert "Missing before you leave" not in run("check", "day1.yaml").out
    decided(first, beside(report(2, **NEXT), ("10:00", "10:30"), apparatus="pot 3", tests=""))
    said = run("check", "--all", "day2.yaml").out
    assert "walk-out-missing in" not in said.partition("Noted")[0].partition("Missing before you leave")[2]
