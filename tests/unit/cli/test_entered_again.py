"""Steel that an earlier report left open is entered again whenever it is, with the times that the report has."""

import json

import pytest

from tests.unit.cli.test_closing import words_of
from tests.unit.cli.test_left_open import PRIMED, UNTIMED, YESTERDAY, dated, project, readings
from tests.unit.cli.test_reinspection import contract, decided, raised, report
from tests.unit.cli.test_reinspection_apart import beside

__all__ = ["contract", "decided", "project"]

UNMEASURED = beside(report(1), reading="", more='coated: "13:00"')
DAYS = ["2026-05-06", "2026-05-07", "2026-05-11", "2026-06-30"]


def refused(run, name):
    said = run("check", name)
    return said.code, " ".join(said.err.split())


@pytest.mark.parametrize("date", DAYS)
def test_what_is_asked_for_can_be_written_whenever_it_is_found(run, decided, project, date):
    """Pot 2 was not measured and is still bare; it is entered with its times, and a day after has it as done."""
    project(("maximum: 48 h", "maximum: 2000 h"))
    first = beside(report(1), reading="")
    later = dated(2, date, blasted=YESTERDAY).replace("apparatus: pot 1", "apparatus: pot 2")
    assert decided(first, dated(2, date))[0] == "hold"
    assert decided(first, later)[0] == "release"
    assert decided(first, later, dated(3, "2026-07-02"))[0] == "release"
    assert decided(first, dated(2, date), dated(3, "2026-07-02"))[0] == "hold"
    assert "JOB" not in run("check", "day3.yaml").err


def test_its_primer_and_what_the_logs_held_of_that_day_are_entered_too(run, contract, decided):
    """Bare in its own report, primed the next day, on which no report has it; entered a week after."""
    primed = 'coated: "2026-05-05T06:30+00:00"'
    later = dated(2, "2026-05-11", blasted=YESTERDAY).replace("    profile:", f"    {primed}\n    profile:")
    log = 'conditions:\n  - {time: "2026-05-05T06:25+00:00", air: 20 degC, humidity: 60 %, steel: 20 degC}\n'
    decided(report(1), later + log)
    findings = json.loads(run("check", "day2.yaml", "--json").out)["findings"]
    assert "left-open-earlier" not in [one["code"] for one in findings]
    (contract / "day2.yaml").write_text(later + log.replace("2026-05-05", "2026-05-08"), "utf-8")
    code, err = refused(run, "day2.yaml")
    assert (code, "JOB221" in err) == (1, True)
    assert "what was on another day belongs in the report of that day" in err


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (YESTERDAY[0], "2026-05-04T07:30+00:00"),
        (YESTERDAY[1], "2026-05-04T09:30+00:00"),
        (YESTERDAY[0], "2026-04-04T07:00+00:00"),
        ("apparatus: pot 2", "apparatus: pot 3"),
        ("area: A-1\n    apparatus: pot 2", "area: A-2\n    apparatus: pot 2"),
        (PRIMED, 'coated: "2026-05-03T13:00+00:00"'),
        (PRIMED, 'coated: "2026-05-20T13:00+00:00"'),
    ],
)
def test_nothing_else_is_let_in_and_the_remedy_states_no_false_day(run, contract, old, new):
    later = dated(2, "2026-05-11", blasted=YESTERDAY).replace("apparatus: pot 1", "apparatus: pot 2")
    later = later.replace("    profile:", f"    {PRIMED}\n    profile:")
    later = later.replace("not_inspected: [{area: A-2, reason: scaffold not released}]\n", "")
    assert old in later
    (contract / "day1.yaml").write_text(UNMEASURED, "utf-8")
    (contract / "day2.yaml").write_text(later.replace(old, new), "utf-8")
    code, err = refused(run, "day2.yaml")
    assert (code, "JOB221" in err, "clock time alone" in err) == (1, True, False)
    told = "as that has them: SL-1-001 has `2026-05-04T07:00+00:00` to `2026-05-04T09:00+00:00` for `pot 2`"
    assert (told in err) is ("pot 3" not in new and "A-2" not in new)


def test_a_report_that_has_it_so_is_issued_and_verified(run, contract):
    later = dated(2, "2026-05-11", blasted=YESTERDAY).replace("apparatus: pot 1", "apparatus: pot 2")
    later = later.replace("    profile:", f"    {PRIMED}\n    profile:")
    (contract / "day1.yaml").write_text(UNMEASURED, "utf-8")
    (contract / "day2.yaml").write_text(later, "utf-8")
    (contract / "reports").mkdir()
    for name in ("day1.yaml", "day2.yaml"):
        assert run("issue", name, "--identity", "demo", "-o", f"reports/{name[:4]}.pdf").code == 0
    said = run("verify", "reports/day2.pdf", "--json")
    assert said.code == 1, said.out  # as with every demonstration, which proves no signer
    (told,) = json.loads(said.out)
    assert told["overall"] == "indeterminate"


MEASURED = readings(
    *((str(at), spot, f"x1: {value}") for at, pair in enumerate(("2.8 2.9", "3.1 2.7", "3.0 3.2"), 1)
      for spot, value in zip("ab", pair.split(), strict=True))
)  # fmt: skip


def again(*changes):
    """The steel of the first report, entered again with its readings and its primer, by a pot spelt otherwise."""
    later = dated(2, "2026-05-11", blasted=YESTERDAY, **MEASURED).replace("apparatus: pot 1", "apparatus: Pot 1")
    later = later.replace("    profile:", f"    {PRIMED}\n    profile:")
    for old, new in changes:
        assert old in later
        later = later.replace(old, new)
    return later


@pytest.fixture
def audited(run, contract):
    """Issue reports and audit them; given back are the codes of problems, a question's rows and the submittal."""

    def told(*days, codes=("readings-alike",)):
        (contract / "reports").mkdir()
        for number, text in enumerate(days, start=1):
            (contract / f"day{number}.yaml").write_text(text, "utf-8")
            assert run("issue", f"day{number}.yaml", "--identity", "demo", "-o", f"reports/{number}.pdf").code == 0
        run("audit", "reports", "--processes", "1", "--index", "i.sqlite")
        asked = {
            name: json.loads(run("audit", "query", name, "--index", "i.sqlite", "--json").out)["rows"]
            for name in ("problems", "gauges", "repeatability")
        }
        run("submittal", "reports", "--identity", "demo", "-o", "s.pdf", "--processes", "1")
        found = [one["sentence"] for one in asked["problems"] if one["code"] in codes]
        return found, asked, words_of(contract / "s.pdf")

    return told


@pytest.mark.parametrize(
    ("changes", "copied", "count", "values"),
    [
        ((), 0, 6, "3 Mean 2.95 mil"),
        ((("x1: 3.2}", "x1: 3.4}"),), 0, 6, "3 Mean 2.98 mil"),  # the last report says what a location has
        ((("location: 3", "location: 4"),), 0, 8, "4 Mean 2.99 mil"),
        (((YESTERDAY[0], "06:30"), (YESTERDAY[1], "07:30"), (PRIMED, "")), 1, 12, "6 Mean 2.95 mil"),  # other steel
    ],
)
def test_readings_entered_again_are_no_copy_and_count_once(audited, changes, copied, count, values):
    found, asked, pages = audited(dated(1, "2026-05-04", **MEASURED), again(*changes))
    assert len(found) == copied
    assert sum(int(row["readings"]) for row in asked["gauges"]) == count
    assert [row["degrees_of_freedom"] for row in asked["repeatability"]] == [count // 2]
    assert f"Locations {values}" in pages, pages[pages.find("Statistics of") :][:600]


def test_reports_that_scatter_differently_are_named_and_not_pooled(run, audited):
    """Spots that lie 0.1 mil apart on one day, and up to 1.2 mil on another, by the same gauge and inspector."""
    apart = readings(
        *((str(at), spot, f"x1: {value}") for at, pair in enumerate(("2.6 3.8", "2.7 3.7", "3.8 2.7"), 1)
          for spot, value in zip("ab", pair.split(), strict=True))
    )  # fmt: skip
    close = readings(*((str(at), spot, f"x1: {value}") for at in (1, 2, 3) for spot, value in (("a", 2.8), ("b", 2.9))))
    _, asked, _ = audited(dated(1, "2026-05-04", **close), dated(2, "2026-05-05", **apart))
    (row,) = asked["repeatability"]
    assert (row["reports"], row["degrees_of_freedom"]) == (2, 6)
    assert float(row["p_of_equal_scatter"]) < 0.05
    assert not row.keys() & {"standard_deviation", "from", "to"}
    told = " ".join(run("audit", "query", "repeatability", "--index", "i.sqlite").out.split())
    assert "None" not in told
    assert "no report passed" in told, "a demonstration proves no signer, and states nothing"


def test_a_copy_beside_what_is_entered_again_is_found(audited):
    """The pot of the day has the readings of the other one, which the same report enters again."""
    text = again()
    entry = text[text.index("  - area: A-1") : text.index("not_inspected")]
    for old, new in ((YESTERDAY[0], "06:30"), (YESTERDAY[1], "07:30"), (PRIMED, ""), ("Pot 1", "pot 2")):
        entry = entry.replace(old, new)
    found, _, _ = audited(dated(1, "2026-05-04", **MEASURED), text.replace("not_inspected", f"{entry}not_inspected"))
    assert len(found) == 1


@pytest.mark.parametrize(
    ("first", "coated", "told"),
    [
        ({}, "13:00", "coated-after-earlier-release"),
        ({"reading": "4.2"}, "13:00", "coated-without-release"),  # it was never released
        ({"reading": '2.9, time: "14:00"'}, "13:00", "coated-without-release"),  # only measured after it was coated
        ({"more": raised("outlier")}, "13:00", "coated-without-release"),  # held by what was raised
    ],
)
def test_primer_on_what_an_earlier_report_released_is_not_said_to_be_without_release(
    run, decided, audited, first, coated, told
):
    """Entered again with its primer alone, it is on hold for want of readings, and both ways out of that work."""
    again = dated(2, "2026-05-11", blasted=YESTERDAY, tests=UNTIMED)
    profile = again[again.index("    profile:") : again.index("\n", again.index("    profile:")) + 1]
    again = again.replace("    profile:", f"    {PRIMED}\n    profile:")
    days = report(1, tests=UNTIMED, **first), again.replace(profile, "")
    assert decided(*days)[0] in {"hold", "rework"}
    found = [one["code"] for one in json.loads(run("check", "day2.yaml", "--json").out)["findings"]]
    assert {"coated-after-earlier-release", "coated-without-release"} & set(found) == {told}
    if told != "coated-without-release":
        said = " ".join(run("check", "day2.yaml").out.split())
        assert "required: what SL-1-001 measured, entered here again as it has it" in said
        assert decided(report(1, tests=UNTIMED), again)[0] == "release"
        assert audited(*days, codes=("coated-while-not-released",))[0] == []
