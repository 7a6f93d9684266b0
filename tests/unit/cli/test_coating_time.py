"""Until when to coat, through the command line: on released steel alone, and a finding when it has passed."""

import datetime as dt
import json

import pytest

from reportgen import pipeline
from tests.unit.cli.conftest import DAY

UNTIL_NOON = DAY.replace('end: "15:00"', 'end: "12:00"').replace('"14:30"', '"11:30"')
ALL_DAY = DAY.replace('end: "15:00"', 'end: "19:00"').replace('"14:30"', '"11:30"')


def at(hour):
    return dt.datetime.fromisoformat(f"2026-05-04T{hour}+00:00")


def evaluation_of(run, day="day.yaml"):
    code, out, _ = run("check", day, "--json")
    return code, json.loads(out)


def test_the_demo_gives_no_time_to_steel_that_is_not_released(run, demo):
    """H-1 (rework) could be coated until 19:05; K-3 (hold) and G-5 (rework) stayed bare beyond their six hours."""
    day = demo / "2026-06-09.yaml"
    _, evaluation = evaluation_of(run, day)
    assert {time["area"]: time.get("coat_by") for time in evaluation["coating_times"]} == dict.fromkeys(
        ("G-4", "G-5", "G-6", "K-3", "K-4", "H-1")
    )
    passed = {
        one["place"]["area"]: one["facts"]["until"]
        for one in evaluation["findings"]
        if one["code"] == "coating-overdue"
    }
    assert passed == {"G-5": "16:20", "K-3": "15:10"}
    checked = run("check", day, "--all").out
    assert "19:05" not in checked
    assert " ".join(checked.split()).count("prepare the surface again and inspect it") == 2, "once for each of the two"
    assert run("new", "--next", day).code == 0
    following = (demo / "2026-06-10.yaml").read_text("utf-8").lower()
    assert "coat by" not in following
    assert "#   prepare the surface again and inspect it." in following


def test_the_pages_say_so(run, demo):
    from pypdf import PdfReader

    assert run("draft", demo / "2026-06-09.yaml", "-o", "draft.pdf").code == 0
    text = " ".join(" ".join(page.extract_text() for page in PdfReader("draft.pdf").pages).split())
    assert text.count("not coated in time") == 2
    assert "coat by" not in text


def test_the_field_sheet_and_the_next_day_date_the_time_of_released_steel(run, contract):
    (contract / "day.yaml").write_text(UNTIL_NOON, "utf-8")
    checked = run("check", "day.yaml").out
    assert "coat A-1 by 18:30" in checked
    assert "coat by" not in checked, "until when to coat is said once, not among what to measure next"
    assert run("new", "--next", "day.yaml").code == 0
    following = (contract / "2026-05-05.yaml").read_text("utf-8")
    assert "#   Coat by 18:30 on 2026-05-04, or prepare the surface again." in following


@pytest.mark.parametrize(
    ("hour", "code", "decision"), [("11:40", 0, "release"), ("18:29", 0, "release"), ("18:31", 1, "hold")]
)
def test_during_the_shift_nothing_is_late_that_is_due_later(run, contract, monkeypatch, hour, code, decision):
    (contract / "day.yaml").write_text(ALL_DAY, "utf-8")
    monkeypatch.setattr(pipeline, "now", lambda: at(hour))
    got, evaluation = evaluation_of(run)
    assert (got, evaluation["areas"][0]["decision"]) == (code, decision)
    said = run("check", "day.yaml").out
    assert ("coat A-1 by 18:30" in said) == (decision == "release")


def test_a_report_speaks_for_the_whole_shift(run, contract):
    (contract / "day.yaml").write_text(ALL_DAY, "utf-8")
    assert "on hold" in run("draft", "day.yaml", "-o", "draft.pdf").out


PART = """\
  - area: A-1
    apparatus: {apparatus}
    initial_condition: B
    blasted: {{start: "{start}", end: "{end}", abrasive: steel grit}}
    cleanliness: {{observed: SSPC-SP 10, staining: 2 %}}
    profile: {{gauge: g1, readings: [{{location: 2, spot: a, x1: 2.9}}]}}
"""


def two_parts(contract, apparatus, start, end, *, shift_end, primed=" [{location: 1, spot: a, x1: 2.9}]}\n"):
    """An area in two parts of one location each: the first was primed at 11:00, the second is bare."""
    text = DAY.replace('end: "15:00"', f'end: "{shift_end}"')
    text = text.replace(primed, primed + '    coated: "11:00"\n')
    part = PART.format(apparatus=apparatus, start=start, end=end)
    (contract / "day.yaml").write_text(text.replace("not_inspected:", part + "not_inspected:"), "utf-8")


@pytest.mark.parametrize(
    ("apparatus", "ended", "named"),
    [("pot 2", None, "what pot 2 blasted"), ("pot 1", "12:30", "what pot 1 blasted until 12:30")],
)
def test_the_primer_of_one_part_does_not_excuse_another(run, contract, apparatus, ended, named):
    """Pot 2 blasted after the primer of what pot 1 had blasted, and stayed bare beyond its eight hours."""
    two_parts(contract, apparatus, "11:10", "12:30", shift_end="21:00")
    code, evaluation = evaluation_of(run)
    assert (code, evaluation["areas"][0]["decision"]) == (1, "hold")
    (late,) = [one["facts"] for one in evaluation["findings"] if one["code"] == "coating-overdue"]
    assert (late["part"], late["until"]) == (
        {"apparatus": apparatus} | ({} if ended is None else {"ended": ended}),
        "20:30",
    )
    assert f"A-1: {named} not primed by 20:30" in " ".join(run("check", "day.yaml").out.split())


def test_the_part_that_is_bare_gets_a_time(run, contract):
    two_parts(contract, "pot 2", "11:10", "12:30", shift_end="15:00")
    code, evaluation = evaluation_of(run)
    assert (code, evaluation["areas"][0]["decision"]) == (0, "release")
    assert [time.get("coat_by") for time in evaluation["coating_times"]] == [None, "20:30"]
    (step,) = [one for one in evaluation["measure_next"] if one["code"] == "coat-by"]
    assert step["facts"]["bare"] == [{"apparatus": "pot 2"}]


ACCEPTED = """
nonconformances:
  - id: N1
    area: A-1
    findings: [coating-overdue]
    description: The primer came late.
    disposition: use-as-is
    decided_by: eve
    status: closed
    evidence: letter of the engineer, 2026-05-05
"""


def test_a_time_that_passed_and_was_accepted_is_released_like_a_primer_that_came_late(run, contract):
    project = contract / "project.yaml"
    people = "people: {eve: {name: E. Knot, role: engineer}, "
    project.write_text(project.read_text("utf-8").replace("people: {", people), "utf-8")
    (contract / "day.yaml").write_text(ALL_DAY + ACCEPTED, "utf-8")
    code, evaluation = evaluation_of(run)
    assert (code, evaluation["areas"][0]["decision"]) == (1, "release")
    assert [time.get("coat_by") for time in evaluation["coating_times"]] == [None]
    assert evaluation["measure_next"] == []
    held = ALL_DAY.replace("shim_reading: 3.0 mil}\ntape", "shim_reading: 2.0 mil}\ntape") + ACCEPTED
    (contract / "day.yaml").write_text(held, "utf-8")
    assert evaluation_of(run)[1]["areas"][0]["decision"] == "hold"


@pytest.mark.parametrize(
    ("end", "by"),
    [("16:30", "2026-10-25 00:30"), ("17:30", "2026-10-25 01:30+01:00"), ("18:30", "2026-10-25 01:30+00:00")],
)
def test_a_time_in_the_hour_that_occurs_twice_has_its_offset(run, contract, end, by):
    """Clocks in London go back from 02:00 to 01:00 on 25 October 2026."""
    project = contract / "project.yaml"
    project.write_text(project.read_text("utf-8").replace("time_zone: UTC", "time_zone: Europe/London"), "utf-8")
    text = DAY.replace("2026-05-04", "2026-10-24").replace('"07:00", end: "15:00"', '"14:00", end: "19:00"')
    for old, new in (("07:10", "14:10"), ("14:30", "18:45"), ("07:15", "14:15"), ("08:00", "15:00"), ("10:30", end)):
        text = text.replace(f'"{old}"', f'"{new}"', 1)
    (contract / "day.yaml").write_text(text, "utf-8")
    code, evaluation = evaluation_of(run)
    assert (code, evaluation["coating_times"][0]["coat_by"]) == (0, by)
    assert f"coat A-1 by {by}" in run("check", "day.yaml").out
    assert run("new", "--next", "day.yaml").code == 0
    assert f"Coat by {by}" in (contract / "2026-10-25.yaml").read_text("utf-8")


def test_the_pages_of_a_night_whose_hour_occurs_twice_are_drawn(run, contract):
    project = contract / "project.yaml"
    limits = "  conditions: {maximum_humidity: 85 %}\n  sampling:"
    text = project.read_text("utf-8").replace("time_zone: UTC", "time_zone: Europe/London")
    project.write_text(text.replace("  sampling:", limits), "utf-8")
    night = DAY.replace("2026-05-04", "2026-10-24").replace('"07:00", end: "15:00"', '"20:00", end: "05:00"')
    for old, new in (
        ("07:10", "20:10"),
        ("14:30", "04:30"),
        ("07:15", "20:15"),
        ("08:00", "21:00"),
        ("10:30", "23:00"),
    ):
        night = night.replace(f'"{old}"', f'"{new}"', 1)
    reading = "air: 12 degC, humidity: 60 %, steel: 12 degC"
    log = "".join(
        f'  - {{time: "{at}", {reading}}}\n'
        for at in ("20:30", "2026-10-25T01:30+01:00", "2026-10-25T01:30+00:00", "03:00")
    )
    (contract / "day.yaml").write_text(night.replace("surfaces:\n", f"conditions:\n{log}surfaces:\n"), "utf-8")
    _, evaluation = evaluation_of(run)
    times = [one["time"] for one in evaluation["conditions"]]
    assert times == ["20:30", "2026-10-25 01:30+01:00", "2026-10-25 01:30+00:00", "2026-10-25 03:00"]
    assert run("draft", "day.yaml", "-o", "draft.pdf").code in (0, 1)


SECOND = (
    "  - area: A-1\n    apparatus: APPARATUS\n    initial_condition: B\n"
    '    blasted: {start: "11:00", end: "12:00", abrasive: steel grit}\n'
    "    cleanliness: {observed: SSPC-SP 10, staining: 2 %}\nMEASUREDnot_inspected"
)


def test_the_next_day_names_each_part_that_stayed_bare_too_long(run, contract):
    """Two pots on one area: pot 2 was never measured, and neither was primed."""
    path = contract / "project.yaml"
    path.write_text(path.read_text("utf-8").replace("maximum: 8 h", "maximum: 2 h"), "utf-8")
    text = DAY.replace("not_inspected", SECOND.replace("APPARATUS", "pot 2").replace("MEASURED", ""))
    (contract / "day.yaml").write_text(text, "utf-8")
    assert run("new", "--next", "day.yaml").code == 0
    following = (contract / "2026-05-05.yaml").read_text("utf-8")
    for pot in ("pot 1", "pot 2"):
        assert f"#   What {pot} blasted: prepare the surface again and inspect it." in following
        assert following.count(f"apparatus: {pot}") == 1


def test_what_failed_has_an_entry_beside_what_was_not_measured(run, contract):
    """Which apparatus failed, the nonconformance does not say: every one of the area has an entry."""
    raised = (
        "nonconformances:\n  - {id: N1, area: A-1, findings: [profile-above-maximum], description: rough,\n"
        "     disposition: rework, decided_by: ines, status: open}\n"
    )
    text = DAY.replace("x1: 2.9", "x1: 4.2").replace(
        "not_inspected", SECOND.replace("APPARATUS", "pot 2").replace("MEASURED", "")
    )
    (contract / "day.yaml").write_text(text + raised, "utf-8")
    assert run("new", "--next", "day.yaml").code == 0
    following = (contract / "2026-05-05.yaml").read_text("utf-8")
    assert [following.count(f"apparatus: {pot}") for pot in ("pot 1", "pot 2")] == [1, 1]
    assert following.count("reinspects: [N1]") == 2


@pytest.mark.parametrize(("time", "noted"), [("12:10", True), ("10:40", False), ("", False)])
@pytest.mark.parametrize(("apparatus", "same"), [("pot 1", True), ("pot 2", False)])
def test_a_part_primed_before_enough_was_measured_was_not_released_then(run, contract, time, noted, apparatus, same):
    """Two locations are asked for of a shift and apparatus; the first part was primed when one had been measured."""
    path = contract / "project.yaml"
    count = 2 if same else 1
    path.write_text(path.read_text("utf-8").replace("locations: 1}", f"locations: {count}}}"), "utf-8")
    at = f', time: "{time}"' if time else ""
    measured = f"    profile: {{gauge: g1, readings: [{{location: 2, spot: a, x1: 2.8{at}}}]}}\n"
    second = SECOND.replace("APPARATUS", apparatus).replace("MEASURED", measured)
    if time == "10:40":
        second = second.replace('start: "11:00", end: "12:00"', 'start: "07:20", end: "07:50"')
    text = DAY.replace("x1: 2.9}", 'x1: 2.9, time: "10:35"}').replace("not_inspected", second)
    text = text.replace('    blasted: {start: "08:00"', '    coated: "10:50"\n    blasted: {start: "08:00"', 1)
    (contract / "day.yaml").write_text(text, "utf-8")
    _, evaluation = evaluation_of(run)
    assert evaluation["areas"][0]["decision"] == "release"
    found = [one["facts"] for one in evaluation["findings"] if one["code"] == "coated-without-release"]
    assert found == ([{"coated": "10:50"}] if noted and same else [])
