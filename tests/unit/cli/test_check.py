"""``check``: one screen in the order in which a colleague would say it; several files; colours; time left."""

import datetime as dt
import json
import re
from dataclasses import replace
from decimal import Decimal

import pytest

from reportgen.cli import check_text
from reportgen.pipeline import check
from reportgen.results import AreaResult, Deadline, Evaluation, Word
from reportgen.results.codes.coating import COAT_BY, TIMES_CONTRADICTORY, TimesStated, ToCoat
from reportgen.results.codes.equipment import (
    EXPIRY_NOT_STATED,
    GAUGE_FAILED,
    MEASURE_UNUSED_TAPE,
    TAPE_EXPIRED,
    TAPE_UNCHECKED,
    GaugeDue,
    GaugeFailed,
    GaugeSeen,
    NoLimitsOfError,
    NoneInDoubt,
    TapeExpired,
    TapeRollNamed,
)
from reportgen.results.codes.follow_up import BRING_EVIDENCE, INSPECT_AGAIN, MISSING, ToClose, Uncovered
from reportgen.results.codes.profile import BELOW_MINIMUM, SPOTS_MISSING, ProfileJudged, SpotsMissing
from reportgen.results.codes.ranges import AtLeast
from reportgen.results.codes.sampling import (
    LOCATIONS_MISSING,
    MEASURE_AREA,
    WALK_ON,
    WALK_OUT_MISSING,
    AreaShort,
    MoreOnArea,
    NextStep,
    PerArea,
    Plan,
    WalkOutOpen,
)
from reportgen.results.facts import Amount, Place
from reportgen.results.values import ReportIdentity, Towards

MIL = Amount(Decimal("2.0"), "mil")


def test_a_day_that_conforms(run):
    assert run("check", "day.yaml") == (
        0,
        """\
SL-1-001 revision 0, 2026-05-04
Conforms: 1 of 1 inspected areas may be released; A-2 not inspected.

Not coated yet
  coat A-1 by 18:30

Not evaluated: conditions: the contract states no limits and 6 more (--all)

Areas
  A-1          release  1 location (1 required), mean 2.90 mil
  A-2          not inspected
""",
        "",
    )


def test_a_day_that_does_not_conform_in_one_screen(run, demo):
    code, out, err = run("check", demo / "2026-06-09.yaml")
    assert (code, err) == (1, "")
    lines = out.splitlines()
    assert lines[1:3] == [
        "Does not conform: 3 of 6 inspected areas must be reworked, 1 on hold, 2 may be",
        "released; H-2 not inspected.",
    ]
    order = ["Out of limits", "Missing before you leave the site", "Measure next", "Noted", "Areas"]
    assert [line for line in lines if line in order] == order
    assert len(lines) <= 45
    assert all(len(line) <= 80 for line in lines)
    assert "  G-5: prepare again and inspect again, to close NCR-001 [nonconformance-open]" in lines
    assert re.findall(r"coat \S+ by", out) == [], "only released steel has a time to coat by"
    assert out.count("[coating-overdue]") == 2
    assert out.count("second, on coarse tape") == 1, "what is missing is not repeated among what comes next"


def test_one_check_of_a_gauge_is_one_line_and_what_is_past_is_not_asked_for(run, demo):
    day = demo / "2026-06-09.yaml"
    text = day.read_text("utf-8")
    day.write_text(re.sub(r"(?m)^gauge_checks:\n(?:  .*\n)+", "gauge_checks: []\n", text), "utf-8")
    out = " ".join(run("check", "--all", day).out.split())
    assert out.count("[gauge-check-missing]") == 2
    before_leaving = out[out.index("Missing before you leave the site") : out.index("Missing, and too late")]
    assert "G-4, G-5, G-6, K-3, K-4, H-1: no complete check of g1 after 13:50 [gauge-check-missing]" in before_leaving
    assert "H-1: no complete check of g1 before 08:30 [gauge-check-missing]" not in before_leaving
    assert "H-1: no complete check of g1 before 08:30 [gauge-check-missing]" in out


def test_a_gap_in_the_log_is_past(run, demo):
    day = demo / "2026-06-09.yaml"
    text = day.read_text("utf-8")
    day.write_text(re.sub(r'(?m)^  - \{time: "1[0-3]:.*air:.*\n', "", text), "utf-8")
    out = run("check", "--all", day).out
    past = out[out.index("Missing, and too late to measure") : out.index("Measure next")]
    assert past.count("[conditions-interval]") == out.count("[conditions-interval]") == 4


def test_a_wrong_year_is_one_error(run, demo):
    day = demo / "2026-06-09.yaml"
    day.write_text(day.read_text("utf-8").replace("date: 2026-06-09", "date: 2025-06-09"), "utf-8")
    code, _, err = run("check", day)
    said = " ".join(err.split())
    assert (code, said.count("error[")) == (1, 1), "the rest of the day is evaluated, on hold"
    assert "`g1` was calibrated on 2026-03-02 and 1 more, after the report's date 2025-06-09" in said
    assert ":8:9 " in said


@pytest.mark.parametrize("name", ["2026-06-08.yaml", "2026-06-11.yaml"])
def test_a_typical_day_that_conforms_fits_a_screen(run, demo, name):
    code, out, _ = run("check", demo / name)
    assert code == 0
    assert len(out.splitlines()) <= 24


def test_all_lists_everything(run):
    out = run("check", "--all", "day.yaml").out
    assert "--all" not in out
    assert "\nNot evaluated\n  conditions: the contract states no limits\n" in out


@pytest.mark.parametrize("written", ["", "projekt: project.yaml\n"])
def test_a_day_that_does_not_name_its_contract_is_refused_with_what_to_write(run, demo, written):
    day = demo / "2026-06-09.yaml"
    day.write_text(day.read_text("utf-8").replace("project: project.yaml\n", written), "utf-8")
    code, out, err = run("check", day)
    assert (code, out) == (2, "")
    assert "missing field `project`" in err
    assert "add `project:`" in err
    assert ("`projekt`" in err) == bool(written)


def test_several_files_have_a_heading_each(run, contract):
    (contract / "bad.yaml").write_text("project: absent.yaml\n", encoding="utf-8")
    code, out, err = run("check", "day.yaml", "bad.yaml")
    assert code == 2
    assert out.startswith("== day.yaml\nSL-1-001 revision 0")
    assert out.endswith("\n\n== bad.yaml\n")
    assert "error[PTH101]" in err
    assert "==" not in run("check", "day.yaml").out


def test_several_files_as_data_are_a_line_each(run, contract):
    (contract / "bad.yaml").write_text("project: absent.yaml\n", encoding="utf-8")
    code, out, err = run("check", "--json", "day.yaml", "bad.yaml", "day.yaml")
    first, second, third = map(json.loads, out.splitlines())
    assert (code, err) == (2, "")
    assert first == third
    assert first["verdict"] == "conforms"
    assert second["diagnostics"][0]["code"] == "PTH101"
    alone = run("check", "--json", "bad.yaml").out
    assert json.loads(alone) == second
    assert len(alone.splitlines()) > 1


def test_a_warning_is_said_before_everything_else(run, contract):
    day = contract / "day.yaml"
    day.write_text(day.read_text(encoding="utf-8").replace("SSPC-SP 10, st", "SSPC SP-1O, st"), encoding="utf-8")
    code, out, err = run("check", "day.yaml")
    assert code == 1
    assert err.startswith("warning[JOB216]: ")
    assert out.startswith("SL-1-001")


def test_colours_on_a_terminal_only_where_wanted(run, terminal, monkeypatch):
    assert "\x1b" not in run("check", "day.yaml").out
    terminal("stdout")
    out = run("check", "day.yaml").out
    assert "\x1b[32mConforms: 1 of 1 inspected areas may be released; A-2 not inspected.\x1b[0m\n" in out
    assert "\x1b[32mrelease \x1b[0m" in out
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b" not in run("check", "day.yaml").out
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert "\x1b" not in run("check", "day.yaml").out


UTC = dt.UTC


@pytest.mark.parametrize(
    ("now", "said"),
    [
        (dt.datetime(2026, 5, 4, 16, 20, tzinfo=UTC), "coat A-1 by 18:30, 2 h 10 min left"),
        (dt.datetime(2026, 5, 4, 18, 5, tzinfo=UTC), "coat A-1 by 18:30, 25 min left"),
        (dt.datetime(2026, 5, 4, 18, 30, tzinfo=UTC), "coat A-1 by 18:30, 0 min left"),
        (dt.datetime(2026, 5, 4, 19, 35, tzinfo=UTC), "coat A-1 by 18:30, 1 h 5 min ago: prepare the surface again"),
        (dt.datetime(2026, 5, 3, 23, 30, tzinfo=UTC), "coat A-1 by 18:30, 19 h 0 min left"),
        (dt.datetime(2026, 5, 9, 12, 0, tzinfo=UTC), "coat A-1 by 18:30"),
        (dt.datetime(2026, 5, 1, 12, 0, tzinfo=UTC), "coat A-1 by 18:30"),
    ],
)
def test_time_left_while_it_matters(contract, now, said):
    checked = check(contract / "day.yaml")
    text = check_text.render_check(checked, now)
    assert f"\nNot coated yet\n  {said}\n" in text


def test_the_next_deadline_comes_first_with_its_date_after_midnight(contract):
    day = contract / "day.yaml"
    text = day.read_text(encoding="utf-8").replace('"08:00", end: "10:30"', '"16:30", end: "17:30"')
    day.write_text(text.replace('"15:00"}', '"19:00"}').replace('"14:30"', '"18:30"'), encoding="utf-8")
    checked = check(day)
    (deadline,) = checked.standing.deadlines
    assert deadline == Deadline("A-1", "2026-05-05 01:30", dt.datetime(2026, 5, 5, 1, 30, tzinfo=UTC))
    text = check_text.render_check(checked, dt.datetime(2026, 5, 4, 22, 0, tzinfo=UTC))
    assert "coat A-1 by 2026-05-05 01:30, 3 h 30 min left" in text


def area(name: str, decision: str = "release") -> AreaResult:
    verdict = {"release": "conforms", "rework": "does not conform", "hold": "inconclusive"}[decision]
    return AreaResult(name, "S", "n", verdict, decision, "mil", None, 2, 2)


def shown(contract, **given) -> str:
    """Render the contract's day with another evaluation."""
    from dataclasses import replace

    checked = check(contract / "day.yaml")
    evaluation = Evaluation(
        ReportIdentity("R-1", 0, "2026-05-04"), given.pop("verdict", "conforms"), given.pop("areas", ()), **given
    )
    everything = given.get("everything", False)
    now = dt.datetime(2026, 5, 9, tzinfo=UTC)
    return check_text.render_check(replace(checked, evaluation=evaluation), now, everything=everything)


def test_nothing_inspected(contract):
    assert shown(contract, verdict="not evaluated") == (
        "R-1 revision 0, 2026-05-04\nNot evaluated: no area was inspected; A-2 not inspected."
    )


def test_the_same_of_several_places_is_said_once(contract):
    findings = tuple(
        TAPE_EXPIRED.found(TapeExpired("x1", "2", "2026-05-04", "2026-05-03"), Place(name)) for name in ("A-1", "B-1")
    )
    findings += tuple(SPOTS_MISSING.found(SpotsMissing(2, 3), Place("A-1", name)) for name in ("1", "2"))
    text = shown(contract, findings=findings)
    said = "A-1, B-1: tape out of date, roll x1, lot 2: used 2026-05-04, expired 2026-05-03 [tape-expired]"
    assert f"Out of limits {said}" in " ".join(text.split())
    assert "\n  A-1 locations 1, 2: 2 spots measured of 3 spots per location [spots-missing]" in text


def test_nonconformances_not_raised_are_asked_for_in_one_sentence(contract):
    findings = tuple(
        MISSING.found(Uncovered(code), Place(name)) for name, code in (("A-1", "x"), ("A-1", "y"), ("B-1", "x"))
    )
    sentence = "raise a nonconformance for what is out of limits [nonconformance-missing]"
    text = shown(contract, findings=findings)
    assert f"\nMissing before you leave the site\n  A-1, B-1: {sentence.split(' [', maxsplit=1)[0]}" in text
    assert f"\n  {sentence}" in shown(contract, findings=(MISSING.found(Uncovered("x")),))


def test_what_was_observed_without_failing_is_noted(contract):
    seen, due = GaugeSeen(Word("anvils", "cleaned"), MIL), GaugeDue(MIL, NoLimitsOfError())
    facts = GaugeFailed("g1", seen, due, NoneInDoubt())
    finding = GAUGE_FAILED.found(facts, Place(time="06:00"), severity="observation")
    text = shown(contract, findings=(finding,))
    said = "gauge g1 at 06:00: anvils cleaned, pre-set 2.0 mil; no reading in doubt [gauge-check-failed]"
    assert f"Noted {said}" in " ".join(text.split())


def test_times_that_contradict_are_wrong_before_all(contract):
    text = shown(
        contract,
        findings=(
            replace(
                BELOW_MINIMUM.found(
                    ProfileJudged(Amount(Decimal("1.4"), "mil"), AtLeast(Amount(Decimal("2.0"), "mil"))),
                    Place("A-1", "3"),
                    clause="2.2",
                ),
                nonconformance="N-1",
            ),
            TIMES_CONTRADICTORY.found(TimesStated("10:00", "09:00"), Place("A-1")),
        ),
    )
    assert text.index("Wrong in the day file\n  A-1: the times contradict each other") < text.index("Out of limits")
    assert (
        "\n  A-1 location 3: profile 1.4 mil; at least 2.0 mil required (clause 2.2), N-1\n    [profile-below" in text
    )


def test_measure_next_leaves_out_what_is_said_already(contract):
    plan = Plan(PerArea(3))
    text = shown(
        contract,
        findings=(
            LOCATIONS_MISSING.found(AreaShort(1, 3, plan), Place("A-1")),
            WALK_OUT_MISSING.found(WalkOutOpen((Towards("left"),)), Place("A-1", "2")),
            TAPE_UNCHECKED.found(TapeRollNamed("x1"), Place("A-1")),
        ),
        measure_next=(
            MEASURE_AREA.due(MoreOnArea(plan), Place("A-1"), count=2),
            WALK_ON.due(NextStep(3, Towards("left")), Place("A-1", "2"), count=1),
            MEASURE_AREA.due(MoreOnArea(plan), Place("B-1"), count=2),
            MEASURE_UNUSED_TAPE.due(TapeRollNamed("x1"), Place("A-1")),
            MEASURE_UNUSED_TAPE.due(TapeRollNamed("x2"), Place("B-1")),
            COAT_BY.due(ToCoat("16:20", Amount(Decimal(8), "h")), Place("A-1")),
        ),
    )
    following = text.split("Measure next\n")[1].splitlines()
    assert following[:4] == [
        "  A-1: step 3 towards left from location 2 (two consecutive locations must",
        "    conform)",
        "  B-1: 2 more locations (3 locations per area)",
        "  B-1: unused tape of roll x2 (good practice)",
    ]


def test_open_nonconformances_say_what_closes_them(contract):
    steps = (
        INSPECT_AGAIN.due(ToClose("N-1", Word("disposition", "rework"), "d", "New nozzle.", "R-0"), Place("A-1")),
        BRING_EVIDENCE.due(ToClose("N-2", Word("disposition", "use-as-is"), "d"), Place()),
    )
    text = shown(contract, measure_next=steps)
    assert text.endswith(
        "\nMeasure next\n"
        "  A-1: prepare again and inspect again, to close N-1, raised in R-0, with N-1\n"
        "    under `reinspects` [nonconformance-open]\n"
        "  bring evidence of `use-as-is` to close N-2 [nonconformance-open]"
    )


def test_long_lists_are_cut_with_their_number(contract):
    findings = tuple(SPOTS_MISSING.found(SpotsMissing(number, 20), Place("A-1", str(number))) for number in range(9))
    text = shown(contract, findings=findings)
    assert text.count("[spots-missing]") == 6
    assert text.endswith("\n  and 3 more; --all lists them")
    assert shown(contract, findings=findings[:7]).count("[spots-missing]") == 7


def test_of_many_areas_only_what_needs_work_is_listed(contract):
    areas = (*(area(f"R{n}") for n in range(12)), area("W", "rework"), *(area(f"H{n}", "hold") for n in range(11)))
    text = shown(contract, areas=areas, verdict="does not conform")
    assert text.count(" hold ") == 9
    assert text.endswith("\n  and 12 to release, 2 others not; --all lists them")
    text = shown(contract, areas=areas[:13], verdict="does not conform")
    assert text.endswith("\nAreas\n  W            rework   2 locations\n  and 12 to release; --all lists them")
    assert shown(contract, areas=areas[:12]).endswith("\nAreas\n  12 to release; --all lists them")


@pytest.mark.parametrize(
    ("points", "line"),
    [
        (("x1",), "Not evaluated: expiry of tape roll x1: no date is stated"),
        (("x1", "c1"), "Not evaluated: expiry of tape roll x1: no date is stated and 1 more (--all)"),
        (("word " * 30,), "Not evaluated: expiry of tape roll word word word word word word ... (--all)"),
        (("word " * 30, "b", "c"), "Not evaluated: expiry of tape roll word word word word ... and 2 more (--all)"),
    ],
)
def test_what_is_not_evaluated_takes_one_line(contract, points, line):
    text = shown(contract, not_evaluated=tuple(EXPIRY_NOT_STATED.at(TapeRollNamed(point.strip())) for point in points))
    assert text.endswith(f"\n\n{line}")
    assert len(line) <= 80


def test_control_characters_do_not_reach_the_terminal(contract):
    text = shown(contract, areas=(area("A\x1b[31m"),), not_evaluated=(EXPIRY_NOT_STATED.at(TapeRollNamed("a\x07")),))
    assert not re.search(r"[\x00-\x09\x0b-\x1f]", text)


def test_the_readme_shows_what_is_said(run, contract):
    from tests.conftest import ROOT

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```(\w*)\n(.*?)^```", readme, re.MULTILINE | re.DOTALL)
    project, day = [text for language, text in blocks if language == "yaml"][:2]
    shown_there = next(text for language, text in blocks if language == "console")
    (contract / "project.yaml").write_text(project, encoding="utf-8")
    (contract / "2026-05-04.yaml").write_text(day, encoding="utf-8")
    assert f"$ reportgen check 2026-05-04.yaml\n{run('check', '2026-05-04.yaml').out}" == shown_there


def test_data_says_where_the_day_stands_beside_the_evaluation(run, contract):
    day = contract / "day.yaml"
    day.write_text(day.read_text(encoding="utf-8").replace("SSPC-SP 10, st", "SSPC-SP 6, st"), encoding="utf-8")
    data = json.loads(run("check", "--json", "day.yaml").out)
    evaluation = json.loads(check(day).canonical)
    standing = data.pop("standing")
    assert data == evaluation
    parts = ["wrong", "out_of_limits", "missing", "past", "asked", "next", "deadlines", "noted", "left_out"]
    assert sorted(standing) == sorted(parts)
    (grade,) = standing["out_of_limits"]
    assert grade["sentence"].startswith("cleaned to grade SSPC-SP 6; grade SSPC-SP 10 required")
    (missing,) = standing["missing"]
    (index,) = missing.pop("findings")
    assert missing == {
        "code": "nonconformance-missing", "severity": "observation", "places": [{"area": "A-1"}],
        "sentence": "raise a nonconformance for what is out of limits",
    }  # fmt: skip
    assert evaluation["findings"][index]["facts"] == {"code": "grade-not-met"}
    assert standing["left_out"][0] == {
        "code": "conditions-without-limit", "sentence": "conditions: the contract states no limits",
    }  # fmt: skip


def test_data_gives_instants_of_deadlines(run):
    standing = json.loads(run("check", "--json", "day.yaml").out)["standing"]
    assert standing["deadlines"] == [
        {"area": "A-1", "coat_by": "18:30", "instant": "2026-05-04T18:30:00+00:00", "sentence": "coat A-1 by 18:30"}
    ]


def test_sentences_of_data_in_the_language_asked_for(run, contract):
    day = contract / "day.yaml"
    day.write_text(day.read_text(encoding="utf-8").replace("SSPC-SP 10, st", "SSPC-SP 6, st"), encoding="utf-8")
    standing = json.loads(run("check", "--json", "--language", "de", "day.yaml").out)["standing"]
    said = "für das, was außerhalb der Grenzen liegt, eine Abweichung erheben"
    assert [one["sentence"] for one in standing["missing"]] == [said]


@pytest.mark.parametrize(
    ("options", "message"),
    [(["--language", "de"], "add `--json`"), (["--json", "--language", "xx"], "there is no language `xx`")],
)
def test_a_language_of_nothing_is_refused(run, options, message):
    code, out, err = run("check", *options, "day.yaml")
    assert (code, out) == (2, "") or "--json" in options
    assert code == 2
    assert message in err + out
