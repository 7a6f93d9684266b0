"""Blasted again on one shift, and two reports of one date: the remedy the tool itself names can be carried out."""

import json
import re

import pytest

from tests.unit.cli.conftest import DAY, PROJECT

SECOND = """\
  - area: A-1
    apparatus: pot 1
    initial_condition: B
    blasted: {start: "11:00", end: "12:00", abrasive: steel grit}
    cleanliness: {observed: SSPC-SP 10, staining: 2 %}
    profile: {gauge: g1, readings: [{location: 11, spot: a, x1: 2.9}]}
    blasted_again: [pot 1]
"""
RAISED = """\
nonconformances:
  - {id: N1, area: A-1, findings: [profile-above-maximum], description: too high, disposition: rework,
     decided_by: ines, status: open}
"""
HIGH = DAY.replace("x1: 2.9", "x1: 4.2")


def day_of(second=SECOND, first=HIGH, more=""):
    return first.replace("not_inspected", f"{second}not_inspected") + more


def evaluated(run, contract, text, name="day.yaml"):
    (contract / name).write_text(text, "utf-8")
    said = run("check", name, "--json")
    assert said.out, said.err
    return json.loads(said.out)


def test_what_was_too_high_and_was_blasted_again_is_released(run, contract):
    without = evaluated(run, contract, day_of(SECOND.replace("    blasted_again: [pot 1]\n", "")))
    assert without["areas"][0]["decision"] == "rework"
    result = evaluated(run, contract, day_of())
    area = result["areas"][0]
    assert (area["decision"], area["verdict"], area["n_locations"]) == ("release", "conforms", 1)
    assert [(one["code"], one["place"].get("location")) for one in result["findings"]] == [
        ("blasted-again", None), ("blasted-again", "1"),
    ]  # fmt: skip
    said = " ".join(run("check", "day.yaml").out.split())
    assert "A-1: pot 1 08:00 to 10:30; again pot 1 11:00 to 12:00 [blasted-again]" in said
    before = "A-1 location 1: before that: 4.20 mil, at most 3.5 mil (profile above maximum)"
    assert f"{before} (clause 2.2) [blasted-again]" in said


def test_dust_found_before_is_told_in_full(run, contract):
    limits = PROJECT.replace("people:", "  dust: {maximum_quantity: 2}\npeople:")
    (contract / "project.yaml").write_text(limits, "utf-8")
    dusty, clean = (f"    dust: [{{location: D1, quantity: {rating}, size: 2}}]\n" for rating in (4, 1))
    first = DAY.replace("not_inspected", f"{dusty}not_inspected")
    evaluated(run, contract, day_of(SECOND + clean, first))
    said = " ".join(run("check", "day.yaml").out.split())
    before = "before that: quantity 4, size class 2, quantity rating at most 2 (dust above maximum)"
    assert f"A-1 location D1: {before} [blasted-again]" in said


def test_what_was_found_before_closes_with_the_nonconformance_raised_for_it(run, contract):
    closing = SECOND + "    reinspects: [N1]\n"
    result = evaluated(run, contract, day_of(closing, more=RAISED))
    state = result["nonconformances"][0]
    assert (state["status"], result["areas"][0]["decision"]) == ("closed", "release")
    (original,) = state["original"]
    assert (original["place"]["location"], original["facts"]["profile"]["value"]) == ("1", 4.2)
    assert original["code"] == "profile-above-maximum"
    assert [one.get("nonconformance") for one in result["findings"]] == [None, None, "N1"]
    still_high = evaluated(run, contract, day_of(closing.replace("2.9", "4.1"), more=RAISED))
    assert (still_high["nonconformances"][0]["status"], still_high["areas"][0]["decision"]) == ("open", "rework")
    left_open = evaluated(run, contract, day_of(more=RAISED))
    assert (left_open["nonconformances"][0]["status"], left_open["areas"][0]["decision"]) == ("open", "hold")


def test_a_time_to_coat_that_passed_ends_with_the_blasting_after_it(run, contract):
    project = (contract / "project.yaml").read_text("utf-8")
    (contract / "project.yaml").write_text(project.replace("maximum: 8 h", "maximum: 3 h"), "utf-8")
    assert evaluated(run, contract, DAY)["areas"][0]["decision"] == "hold"
    late = SECOND.replace('"11:00", end: "12:00"', '"13:45", end: "14:20"')
    assert evaluated(run, contract, day_of(late, DAY))["areas"][0]["decision"] == "release"


def test_nothing_of_another_apparatus_is_excused(run, contract):
    other = SECOND.replace("pot 1", "pot 2").replace("    blasted_again: [pot 2]\n", "")
    high_other = day_of(other.replace("2.9", "4.1") + SECOND.replace("11:00", "12:30").replace('"12:00"', '"13:00"'))
    result = evaluated(run, contract, high_other)
    assert result["areas"][0]["decision"] == "rework"
    assert [one["apparatus"] for one in result["areas"][0]["locations"]] == ["pot 2", "pot 1"]


def test_what_was_blasted_again_must_still_be_measured(run, contract):
    bare = SECOND.replace("    profile: {gauge: g1, readings: [{location: 11, spot: a, x1: 2.9}]}\n", "")
    result = evaluated(run, contract, day_of(bare, DAY))
    assert result["areas"][0]["decision"] == "hold"
    assert "locations-missing" in [one["code"] for one in result["findings"]]


@pytest.mark.parametrize(
    ("second", "message", "remedy"),
    [
        (SECOND.replace("[pot 1]", "[pot 3]"), "earlier report, blasts area `A-1`", "did you mean `pot 1`"),
        (SECOND.replace('"11:00"', '"10:00"').replace("apparatus: pot 1", "apparatus: pot 2"),
         "its own blasting began at 10:00, before that had ended", "from 10:30 on"),
    ],
)  # fmt: skip
def test_blasted_again_after_nothing_or_at_once(run, contract, second, message, remedy):
    (contract / "day.yaml").write_text(day_of(second), "utf-8")
    code, _, err = run("issue", "day.yaml", "--identity", "demo")
    assert code == 2
    assert message in " ".join(err.split())
    assert remedy in " ".join(err.split())


def test_the_pages_say_so_and_the_report_proves_itself(run, contract):
    (contract / "day.yaml").write_text(day_of(), "utf-8")
    assert run("issue", "day.yaml", "--identity", "demo", "-o", "demo.pdf").code == 0
    steps = json.loads(run("verify", "demo.pdf", "--json").out)[0]["steps"]
    assert {step["number"]: step["status"] for step in steps}[8] == "passed"
    import pypdf

    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(contract / "demo.pdf").pages).split())
    assert re.search("08:00–10:30 · blasted with steel grit · .*blasted again afterwards; this no longer counts", text)
    assert "4.20 mil, at most 3.5 mil (profile above maximum)" in text


def test_two_reports_of_one_shift_follow_each_other(run, contract):
    (contract / "day.yaml").write_text(HIGH + RAISED, "utf-8")
    again = SECOND.replace("blasted_again: [pot 1]", "reinspects: [N1]")
    second = DAY[: DAY.index("surfaces:")].replace("SL-1-001", "SL-1-002") + "surfaces:\n" + again
    result = evaluated(run, contract, second, "second.yaml")
    assert (result["nonconformances"][0]["status"], result["areas"][0]["decision"]) == ("closed", "release")
    result = evaluated(run, contract, second.replace("SL-1-002", "SL-1-0010"), "second.yaml")
    assert result["nonconformances"][0]["status"] == "closed"


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ("SL-1-002", "SL-1-000", "of two reports of one shift the lower number is the earlier, and it is SL-1-001"),
        ("SL-1-002", "SL-1-001", "it is a report of the same number, SL-1-001"),
        ('shift: {start: "07:00"', 'shift: {start: "06:00"', "its shift begins later, at 07:00 on 2026-05-04"),
    ],
)
def test_why_a_file_that_raises_it_is_no_earlier_report(run, contract, old, new, reason):
    (contract / "day.yaml").write_text(HIGH + RAISED, "utf-8")
    again = SECOND.replace("blasted_again: [pot 1]", "reinspects: [N1]")
    second = DAY[: DAY.index("surfaces:")].replace("SL-1-001", "SL-1-002") + "surfaces:\n" + again
    (contract / "second.yaml").write_text(second.replace(old, new), "utf-8")
    code, _, err = run("check", "second.yaml")
    assert code == 1
    said = " ".join(err.split())
    assert "no earlier day file raises nonconformance `N1`" in said
    assert f"day.yaml` raises it and is no earlier report: {reason}" in said
