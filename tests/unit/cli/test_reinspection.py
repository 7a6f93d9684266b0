"""A re-inspection closes what failed only where it is of steel reworked after it, and asks for no more than that."""

import json
import shutil
from pathlib import Path

import pytest

from reportgen.pipeline import check as check_day
from reportgen.rules import reinspection
from reportgen.words.sentences import sentences
from tests.conftest import JOBS
from tests.unit.cli.conftest import DAY, PROJECT

LIMITS = """\
  soluble_salts: {maximum: 30 mg/m2, expressed_as: chloride}
  dust: {maximum_quantity: 2}
people:"""
CLEAN = 'salts: [{location: S1, chloride: 10 mg/m2, time: "10:40"}]\n    dust: [{location: D1, quantity: 1, size: 1}]\n'
SALTY = CLEAN.replace("chloride: 10 mg", "chloride: 60 mg")
DUSTY = CLEAN.replace("quantity: 1, size: 1", 'quantity: 4, size: 2, time: "10:50"')
HIGH = "profile-above-maximum"
HIGH_SAID = "profile above maximum"
TIMED = '2.9, time: "10:30"'
"""A reading that passes, taken after the check of the gauge and long after the blasting."""


@pytest.fixture
def contract(contract):
    (contract / "project.yaml").write_text(
        PROJECT.replace("people:", LIMITS).replace("maximum: 8 h", "maximum: 48 h"), "utf-8"
    )
    (contract / "day.yaml").unlink()
    return contract


def report(
    number, blasted=("07:00", "09:00"), *, tests=CLEAN, reading="2.9", reinspects="", washed="", more="", **changed
):  # fmt: skip
    """The text of a day file with one entry on A-1, blasted from and to; of the same shift unless changed."""
    text = DAY.replace("SL-1-001", f"SL-1-{number:03}").replace("x1: 2.9", f"x1: {reading}")
    text = text.replace('start: "08:00", end: "10:30"', f'start: "{blasted[0]}", end: "{blasted[1]}"')
    entry = f"    {tests}" + (f"    reinspects: [{reinspects}]\n" if reinspects else "")
    entry += f'    washed: "{washed}"\n' if washed else ""
    text = text.replace("not_inspected", f"{entry}not_inspected") + more
    for old, new in changed.items():
        text = text.replace(old, new)
    return text


def raised(*codes, name="N1", area="area: A-1, ", more=""):
    return (
        f"nonconformances:\n  - {{id: {name}, {area}findings: [{', '.join(codes)}], description: failed,\n"
        f"     corrective_action: washed or blasted, disposition: rework, decided_by: ines, status: open{more}}}\n"
    )


@pytest.fixture
def decided(run, contract):
    """Write files and check the last: its decision on A-1, the states of its nonconformances, what holds it."""

    def check(*texts):
        for number, text in enumerate(texts, start=1):
            (contract / f"day{number}.yaml").write_text(text, "utf-8")
        said = run("check", f"day{len(texts)}.yaml", "--json")
        result = json.loads(said.out)
        assert "areas" in result, result
        states = [one["status"] for one in result["nonconformances"]]
        findings = check_day(contract / f"day{len(texts)}.yaml").evaluation.findings
        held = [sentences().observed(one) for one in findings if one.code in ("nonconformance-open", "failed-earlier")]
        return result["areas"][0]["decision"], states, held

    return check


TOO_EARLY = [("05:00", "06:50"), ("07:00", "09:00"), ("08:30", "09:30")]
AFTER = [("09:00", "09:50"), ("10:00", "11:00")]


@pytest.mark.parametrize("blasted", TOO_EARLY)
def test_what_the_blasting_left_is_not_undone_by_a_blasting_before_it(run, decided, blasted):
    first = report(1, reading="4.2", more=raised(HIGH))
    decision, states, held = decided(first, report(2, blasted, reading=TIMED, reinspects="N1"))
    assert (decision, states) == ("hold", ["open"])
    began = f"the blasting entered in SL-1-002 began at {blasted[0]}, and {HIGH_SAID} of SL-1-001"
    assert held == [
        f"N1 raised in SL-1-001: rework, open; {began} at location 1 is of 09:00: not blasted again after it"
    ]
    to_do = (
        f"A-1: prepare again and inspect again, to close N1, raised in SL-1-001, with N1 under `reinspects`: {began}"
    )
    assert to_do in " ".join(run("check", "day2.yaml").out.split())


@pytest.mark.parametrize("blasted", AFTER)
def test_a_blasting_after_it_does(decided, blasted):
    first = report(1, reading="4.2", more=raised(HIGH))
    assert decided(first, report(2, blasted, reinspects="N1", tests=CLEAN.replace("10:40", "11:20"))) == (
        "release", ["closed"], [],
    )  # fmt: skip


@pytest.mark.parametrize(("graded", "after"), [("", "release"), (', time: "10:15"', "hold")])
def test_a_grade_counts_from_when_it_was_seen(decided, graded, after):
    """Steel blasted from 10:00 that is seen to be stained at 10:15 was not blasted again after that."""
    stained = {"staining: 2 %": f"staining: 8 %{graded}"}
    first = report(1, more=raised("stain-above-limit"), **stained)
    assert decided(first, report(2, ("10:00", "10:30"), reinspects="N1"))[0] == after


def test_a_reading_that_failed_counts_from_when_it_was_taken(decided):
    first = report(1, reading='4.2, time: "11:00"', more=raised(HIGH))
    assert decided(first, report(2, ("10:00", "10:30"), reinspects="N1"))[0] == "hold"
    late = CLEAN.replace("10:40", "11:40")
    assert decided(first, report(2, ("11:05", "11:30"), reinspects="N1", tests=late))[0] == "release"


@pytest.mark.parametrize(
    ("tests", "decision"),
    [
        (CLEAN.replace("10:40", "12:10"), "release"),
        (CLEAN, "hold"),  # the same minute
        (CLEAN.replace("10:40", "09:30"), "hold"),
        (CLEAN.replace(', time: "10:40"', ""), "hold"),
        (CLEAN.replace("10:40", "12:10").replace("S1", "S2"), "hold"),
    ],
)
def test_salts_washed_off_and_tested_again_need_no_blasting(run, decided, tests, decision):
    first = report(1, tests=SALTY, more=raised("salts-above-maximum"))
    found, states, held = decided(first, report(2, tests=tests, reinspects="N1", washed="11:30"))
    assert (found, states) == (decision, ["closed" if decision == "release" else "open"])
    assert len(held) == (decision == "hold")
    assert "blasted again" not in " ".join(held)
    assert "blast" not in run("check", "day2.yaml").out


def test_what_is_said_of_a_test_that_clears_nothing(decided):
    first = report(1, tests=SALTY, more=raised("salts-above-maximum"))
    code = "salts above maximum of SL-1-001 at location S1"
    said = [
        (CLEAN, f"{code} is of 10:40, and the test that is to clear it is of 10:40"),
        (CLEAN.replace(', time: "10:40"', ""),
         f"{code} is of 10:40, and the time of the test that is to clear it is not recorded"),
        (CLEAN.replace("S1", "S2"), f"{code} was not tested again"),
    ]  # fmt: skip
    for tests, why in said:
        _, _, (held,) = decided(first, report(2, tests=tests, reinspects="N1"))
        assert held == f"N1 raised in SL-1-001: rework, open; {why}"


@pytest.mark.parametrize("of_failed", ["", ', time: "10:40"'])
def test_where_no_time_is_known_nothing_says_that_it_was_washed_between(decided, of_failed):
    untimed = SALTY.replace(', time: "10:40"', "")
    first = report(1, tests=untimed.replace("mg/m2", f"mg/m2{of_failed}"), more=raised("salts-above-maximum"))
    again = untimed.replace("60 mg", "10 mg")
    assert decided(first, report(2, tests=again, reinspects="N1", washed="11:00"))[:2] == ("hold", ["open"])
    timed = again.replace("mg/m2", 'mg/m2, time: "11:30"')
    decision = decided(first, report(2, tests=timed, reinspects="N1", washed="11:00"))[0]
    assert decision == ("release" if of_failed else "hold")


def test_a_test_after_washing_says_nothing_of_steel_blasted_before(decided):
    first = report(1, tests=SALTY, more=raised("salts-above-maximum"))
    later = CLEAN.replace("10:40", "12:10")
    decision, _, (held,) = decided(first, report(2, ("05:00", "06:50"), tests=later, reading=TIMED, reinspects="N1"))
    assert decision == "hold"
    assert "the blasting entered in SL-1-002 ended at 06:50" in held


def test_dust_is_cleaned_off_and_profile_is_not(decided):
    """A nonconformance of both kinds closes with what the worse of them needs."""
    clean = CLEAN.replace("10:40", "12:00").replace("size: 1}", 'size: 1, time: "12:10"}')
    dusty = report(1, tests=DUSTY, more=raised("dust-above-maximum"))
    assert decided(dusty, report(2, tests=clean, reinspects="N1", washed="11:00"))[0] == "release"
    both = report(1, tests=DUSTY, reading="4.2", more=raised("dust-above-maximum", HIGH))
    decision, _, (held,) = decided(both, report(2, tests=clean, reinspects="N1"))
    assert (decision, HIGH_SAID in held) == ("hold", True)
    assert decided(both, report(2, ("10:55", "11:50"), tests=clean, reinspects="N1"))[0] == "release"


NEXT = {"date: 2026-05-04": "date: 2026-05-05"}
OLD = ("2026-05-04T07:00+00:00", "2026-05-04T09:00+00:00")


def test_on_a_later_date(decided):
    high = report(1, reading="4.2", more=raised(HIGH))
    assert decided(high, report(2, reinspects="N1", **NEXT))[0] == "release"
    assert decided(high, report(2, OLD, reading=TIMED, reinspects="N1", **NEXT))[1] == ["open"]
    salty = report(1, tests=SALTY, more=raised("salts-above-maximum"))
    for tests in (CLEAN, CLEAN.replace(', time: "10:40"', "")):
        dated = "2026-05-04T14:00+00:00"
        again = report(2, OLD, tests=tests, reading=TIMED, reinspects="N1", washed=dated, **NEXT)
        assert decided(salty, again)[:2] == ("release", ["closed"])


NIGHT = {'start: "07:00", end: "15:00"': 'start: "22:00", end: "06:00"', '"07:10"': '"22:10"', '"14:30"': '"05:50"',
         '"07:15"': '"22:15"', '"10:40"': '"05:00"'}  # fmt: skip


@pytest.mark.parametrize(("blasted", "decision"), [(("00:40", "02:00"), "release"), (("22:30", "23:30"), "hold")])
def test_over_midnight(decided, blasted, decision):
    first = report(1, ("23:00", "00:30"), reading="4.2", more=raised(HIGH), **NIGHT)
    assert decided(first, report(2, blasted, reinspects="N1", **NIGHT))[0] == decision


def test_the_steel_of_another_apparatus_does_not_delay_it(decided):
    """Pot 1 was too high and is blasted again while pot 2, which conformed, still works."""
    other = (
        "  - area: A-1\n    apparatus: pot 2\n    initial_condition: B\n"
        '    blasted: {start: "10:00", end: "12:00", abrasive: steel grit}\n'
        "    cleanliness: {observed: SSPC-SP 10, staining: STAIN}\n"
        "    profile: {gauge: g1, readings: [{location: 1, spot: a, x1: 2.8}]}\n"
        f"    {CLEAN.replace('10:40', '12:10').rstrip()}\nnot_inspected"
    )
    again = report(2, ("09:30", "10:30"), reinspects="N1")
    for stain, failed in (("2 %", {"2.9": "4.2"}), ("2 %", {"staining: 2 %": "staining: 9 %"})):
        code = HIGH if "2.9" in failed else "stain-above-limit"
        first = report(1, more=raised(code), **failed).replace("not_inspected", other.replace("STAIN", stain))
        assert decided(first, again)[0] == "release"
        first = report(1, more=raised("stain-above-limit")).replace("not_inspected", other.replace("STAIN", "9 %"))
        assert decided(first, again)[0] == "hold"


def test_one_that_failed_again_counts_from_then(decided):
    """Raised at 09:00, inspected again at 11:00 and still too high: a blasting between the two closes nothing."""
    first = report(1, reading="4.2", more=raised(HIGH))
    still = report(2, ("10:00", "11:00"), reading="4.1", reinspects="N1", tests=CLEAN.replace("10:40", "11:10"))
    between = report(3, ("09:10", "09:50"), reinspects="N1")
    assert decided(first, still, between)[:2] == ("hold", ["open"])
    after = report(3, ("11:00", "12:00"), reinspects="N1", tests=CLEAN.replace("10:40", "12:10"))
    assert decided(first, still, after)[:2] == ("release", ["closed"])


@pytest.mark.parametrize("code", [HIGH, "gauge-drift", "salts-above-maximum"])
def test_nothing_is_raised_and_closed_by_one_inspection(decided, code):
    decision, states, (held,) = decided(report(1, reinspects="N1", more=raised(code)))
    assert (decision, states) == ("hold", ["open"])
    assert f"no finding of that report or of an earlier one at hand is {code.replace('-', ' ')} of SL-1-001" in held


def test_one_of_a_report_on_paper_closes_with_a_re_inspection(decided):
    paper = raised(HIGH, more=", raised_in: P-7")
    assert decided(report(1, reinspects="N1", more=paper))[:2] == ("release", ["closed"])


def test_what_a_day_found_before_it_blasted_again_stays_the_original(decided, run):
    second = (
        "  - {area: A-1, apparatus: pot 1, initial_condition: B,\n"
        '     blasted: {start: "09:10", end: "10:00", abrasive: grit},\n'
        "     cleanliness: {observed: SSPC-SP 10, staining: 2 %}, blasted_again: [pot 1],\n"
        "     profile: {gauge: g1, readings: [{location: 2, spot: a, x1: 2.9}]},\n"
        "     salts: [{location: S2, chloride: 9 mg/m2}], dust: [{location: D2, quantity: 1, size: 1}]}\nnot_inspected"
    )
    first = report(1, reading="4.2", more=raised(HIGH)).replace("not_inspected", second)
    assert decided(first, report(2, ("08:00", "08:30"), reinspects="N1"))[:2] == ("hold", ["open"])
    assert decided(first, report(2, ("10:00", "10:30"), reinspects="N1"))[:2] == ("release", ["closed"])
    (state,) = json.loads(run("check", "day2.yaml", "--json").out)["nonconformances"]
    assert [one["facts"]["profile"]["value"] for one in state["original"]] == [4.2]


# What failed without a nonconformance


def test_measured_again_is_not_reworked(decided, run):
    """The first report says rework and raises nothing; the next one measures the same steel elsewhere, and passes."""
    high = report(1, reading="4.2")
    decision, states, (held,) = decided(high, report(2))
    assert (decision, states) == ("hold", [])
    assert held == (
        f"the blasting entered in SL-1-002 began at 07:00, and {HIGH_SAID} of SL-1-001 at location 1 is of 09:00: "
        "not blasted again after it"
    )
    said = " ".join(run("check", "day2.yaml").out.split())
    assert f"A-1: failed before, and no nonconformance is open for it or accepts it: {held} [failed-earlier]" in said
    assert decided(high, report(2, ("09:00", "10:00")))[0] == "release"
    assert decided(high, report(2, **NEXT))[0] == "release"
    assert decided(high, report(2, OLD, reading=TIMED, **NEXT))[0] == "hold"
    later = CLEAN.replace("10:40", "12:00")
    assert decided(report(1, tests=SALTY), report(2, tests=later))[0] == "hold"
    assert decided(report(1, tests=SALTY), report(2))[0] == "hold"


def test_what_was_reworked_long_ago_is_not_what_a_new_one_saw(decided, run):
    first = report(1, reading="4.2", more=raised("gauge-drift", name="N9", area=""))
    decided(first, report(2, reading="4.1", more=raised(HIGH), **NEXT))
    states = {one["id"]: one for one in json.loads(run("check", "day2.yaml", "--json").out)["nonconformances"]}
    assert [one["facts"]["profile"]["value"] for one in states["N1"]["original"]] == [4.1]


def test_the_remedy_it_names(decided):
    high = report(1, reading="4.2")
    assert decided(high, report(2, more=raised(HIGH)))[:2] == ("hold", ["open"])
    blasted = report(2, ("09:00", "10:00"), reinspects="N1", more=raised(HIGH))
    later = report(3, ("11:00", "12:00"), tests=CLEAN.replace("10:40", "12:10"), reinspects="N1")
    assert decided(high, report(2, more=raised(HIGH)), later)[:2] == ("release", ["closed"])
    assert decided(high + raised(HIGH), blasted)[:2] == ("release", ["closed"])
    salty = report(1, tests=SALTY)
    late = CLEAN.replace("10:40", "12:00")
    washed = report(2, reinspects="N1", washed="11:00", tests=late, more=raised("salts-above-maximum"))
    assert decided(salty, washed)[:2] == ("release", ["closed"])


def test_a_revision_that_took_the_failure_back(decided):
    """Revision 0 entered the readings under the wrong area: what counts of a report is its last revision."""
    high = report(1, reading="4.2")
    right = high.replace("revision: 0", "revision: 1").replace("A-1", "A-9").replace("A-2", "A-1").replace("A-9", "A-2")
    right = right.replace("pot 1", "pot 2")  # else one apparatus blasted both at once
    assert decided(high, right, report(2))[0] == "release"
    assert decided(high, high.replace("revision: 0", "revision: 1"), report(2))[0] == "hold"


def test_a_copy_that_leaves_the_nonconformance_out_does_not_take_its_place(decided):
    copy, first = report(1), report(1, reading="4.2", more=raised(HIGH))
    assert decided(copy, first, report(2))[:2] == ("hold", ["open"])
    assert decided(copy, first, report(2, reinspects="N1"))[:2] == ("hold", ["open"])


def test_the_report_carries_what_it_depends_on(contract, run, decided):
    """Nothing but the file: the earlier day is embedded, and the evaluation recomputed from it."""
    for number, first in enumerate((report(1, reading="4.2"), report(1, reading="4.2", more=raised(HIGH)))):
        assert decided(first, report(2, reinspects="N1" if "N1" in first else ""))[0] == "hold"
        (contract / "reports").mkdir(exist_ok=True)
        issued = run("issue", "day2.yaml", "--identity", "demo", "-o", f"reports/{number}.pdf")
        assert issued.code == 0, issued.err
        (contract / "register.jsonl").unlink(missing_ok=True)
        verified = json.loads(run("verify", f"reports/{number}.pdf", "--json").out)[0]
        assert {step["number"]: step["status"] for step in verified["steps"]}[8] == "passed"
        (contract / f"reports/{number}.pdf").unlink()


# What a record may not say


def refused(run, *arguments):
    said = run(*arguments)
    return said.code, " ".join(said.err.split())


def test_a_nonconformance_keeps_what_it_was_raised_against(contract, run):
    (contract / "day.yaml").write_text(report(1, reading="4.2", more=raised(HIGH)), "utf-8")
    for changed in (raised("gauge-drift"), raised(HIGH, "grade-not-met")):
        (contract / "next.yaml").write_text(report(2, more=changed, **NEXT), "utf-8")
        for command in (("check", "next.yaml"), ("issue", "next.yaml", "--identity", "demo")):
            code, err = refused(run, *command)
            assert code == (1 if command[0] == "check" else 2)
            assert f"error[JOB247]: nonconformance `N1` was raised in SL-1-001 against {HIGH}" in err
            assert f"write `findings: [{HIGH}]`" in err
    (contract / "next.yaml").write_text(report(2, more=raised(HIGH, more=", raised_in: SL-1-001"), **NEXT), "utf-8")
    assert run("check", "next.yaml").code == 1


@pytest.mark.parametrize(
    ("name", "number", "message"),
    [("N1", "SL-1-009", "`N1` was raised in SL-1-001, not in SL-1-009"),
     ("N2", "SL-1-001", "SL-1-001 does not raise nonconformance `N2`"),
     ("N2", "SL-1-003", "SL-1-003 does not raise nonconformance `N2`")],
)  # fmt: skip
def test_and_the_report_that_raised_it(contract, run, name, number, message):
    (contract / "day.yaml").write_text(report(1, reading="4.2", more=raised(HIGH)), "utf-8")
    carried = raised(HIGH, name=name, more=f", raised_in: {number}")
    (contract / "next.yaml").write_text(report(2, more=carried, **NEXT), "utf-8")
    code, err = refused(run, "check", "next.yaml")
    assert (code, message in err) == (1, True)


def test_nor_one_that_is_at_hand_for_nothing_else(contract, run):
    """A report of another area that raises nothing."""
    (contract / "day.yaml").write_text(report(1).replace("- area: A-1", "- area: A-2").partition("not_ins")[0], "utf-8")
    carried = raised(HIGH, name="N2", more=", raised_in: SL-1-001")
    (contract / "next.yaml").write_text(report(2, reinspects="N2", more=carried, **NEXT), "utf-8")
    code, err = refused(run, "check", "next.yaml")
    assert (code, "SL-1-001 does not raise nonconformance `N2`" in err) == (1, True)


def test_of_a_report_that_is_not_at_hand_it_is_said(contract, run):
    for number, told in (("P-7", ["raised-elsewhere"]), ("SL-1-001", [])):
        text = report(1, reading="4.2", more=raised(HIGH, more=f", raised_in: {number}"))
        (contract / "day.yaml").write_text(text, "utf-8")
        found = json.loads(run("check", "day.yaml", "--json").out)["findings"]
        assert [one["code"] for one in found if one["code"] == "raised-elsewhere"] == told
        assert (
            "N1 is said to be raised in P-7, which is not at hand" in run("check", "day.yaml", "--all").out
        ) is bool(told)


@pytest.mark.parametrize("field", ["blasted_again", "reinspects"])
def test_an_empty_list_is_asked_about(contract, run, field):
    (contract / "day.yaml").write_text(report(1, tests=f"{CLEAN}    {field}: []\n"), "utf-8")
    assert f"lacks {field} [entry-unfinished]" in " ".join(run("check", "day.yaml").out.split())
    code, err = refused(run, "issue", "day.yaml", "--identity", "demo")
    assert (code, f"error[JOB164]: `{field}` names nothing" in err) == (2, True)


def test_blasted_again_in_a_second_report_closes_nothing_without_reinspects(contract, run, decided):
    first = report(1, reading="4.2", more=raised(HIGH))
    late = CLEAN.replace("10:40", "11:20")
    for reinspects, states in (("N1", ["closed"]), ("", ["open"])):
        again = report(2, ("10:00", "10:30"), reinspects=reinspects, tests=f"{late}    blasted_again: [pot 1]\n")
        assert decided(first, again)[1] == states
    (contract / "day1.yaml").unlink()
    assert "[entry-unfinished]" in run("check", "day2.yaml").out
    code, err = refused(run, "issue", "day2.yaml", "--identity", "demo")
    assert (code, "JOB245" in err, "enter first what was blasted first" in err) == (2, True, True)


def test_check_names_what_to_write_where_steel_was_blasted_again(contract, run):
    """Two entries of one apparatus, the first too high: nothing says yet that the second is the same steel."""
    second = (
        "  - {area: A-1, apparatus: pot 1, initial_condition: B,\n"
        '     blasted: {start: "11:00", end: "12:00", abrasive: steel grit},\n'
        "     cleanliness: {observed: SSPC-SP 10, staining: 2 %}AGAIN,\n"
        "     profile: {gauge: g1, readings: [{location: 2, spot: a, x1: READ}]},\n"
        "     salts: [{location: S2, chloride: 9 mg/m2}], dust: [{location: D2, quantity: 1, size: 1}]}\nnot_inspected"
    )
    remedy = "A-1: if the blasting that began at 11:00 was of what failed, write `blasted_again: [pot 1]` in its entry"

    def said(first, read="2.9", again=""):
        text = second.replace("READ", read).replace("AGAIN", again)
        (contract / "day.yaml").write_text(first.replace("not_inspected", text), "utf-8")
        return remedy in " ".join(run("check", "day.yaml").out.split())

    high = report(1, reading="4.2")
    stained = report(1, **{"staining: 2 %": "staining: 9 %"})
    assert [said(first) for first in (high, stained, report(1, tests=SALTY))] == [True, True, True]
    assert not said(high, again=", blasted_again: [pot 1]")
    assert not said(report(1), read="4.2")  # what failed is the last blasting
    assert not said(report(1, ("10:40", "11:30"), reading="4.2"))  # both at once


def test_what_a_later_test_does_not_undo_ends_with_a_blasting_after_the_test_that_failed(decided, monkeypatch):
    """As for a kind whose failures no washing removes: the time of its test counts, not that of the blasting."""
    dusty = report(1, tests=DUSTY, more=raised("dust-above-maximum"))
    early, late = (
        report(2, blasted, tests=CLEAN.replace("10:40", "12:00"), reinspects="N1")
        for blasted in (("09:30", "10:00"), ("11:00", "11:30"))
    )
    monkeypatch.setattr(reinspection, "RETESTED", {})
    assert decided(dusty, early)[:2] == ("hold", ["open"])
    assert decided(dusty, late)[:2] == ("release", ["closed"])


def test_steel_that_its_report_no_longer_enters_is_inspected_again(tmp_path, run):
    """A nonconformance that names an area without an entry, as after a cut that was not meant, is no crash."""
    folder = Path(shutil.copytree(JOBS / "quarrowmere", tmp_path / "demo"))
    told = (folder / "2026-06-09.yaml").read_text("utf-8")
    entry = told[told.index("  - area: H-1\n") : told.index("not_inspected:")]
    (folder / "2026-06-09.yaml").write_text(told.replace(entry, ""), "utf-8")
    said = run("check", str(folder / "2026-06-11.yaml"), "--json")
    areas = {one["id"]: one["decision"] for one in json.loads(said.out)["areas"]}
    assert (said.err, areas["H-1"]) == ("", "release")
    again = (folder / "2026-06-11.yaml").read_text("utf-8")
    start = again.index("  - area: H-1\n")
    part = again[start:].replace("    initial_condition:", "    cleaned: 1 m2\n    initial_condition:", 1)
    (folder / "2026-06-11.yaml").write_text(again[:start] + part, "utf-8")
    said = run("check", str(folder / "2026-06-11.yaml"), "--json")
    areas = {one["id"]: one["decision"] for one in json.loads(said.out)["areas"]}
    assert areas["H-1"] == "hold"  # nobody knows how much of it failed
