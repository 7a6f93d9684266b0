"""Why something still stands is told of the report that tried to settle it, in whichever report that is printed."""

import json

import pytest

from tests.unit.cli.test_closing import CONTRACTORS, words_of
from tests.unit.cli.test_left_open import YESTERDAY, project, readings
from tests.unit.cli.test_measured_surer import SCATTER
from tests.unit.cli.test_reinspection import HIGH, NEXT, contract, raised, report
from tests.unit.cli.test_reinspection_apart import beside

__all__ = ["contract", "project"]

JON = {"inspector: ines": "inspector: jon", **NEXT}
ELSEWHERE = {"area: A-1": "area: A-2", "{area: A-2,": "{area: A-1,", "date: 2026-05-04": "date: 2026-05-06"}
"""A third report, by the inspector of the first, which does not inspect A-1."""
GUARDED = (
    ("decision_rule: simple", "decision_rule: guarded"),
    ("people: {ines:", CONTRACTORS),
    ("maximum: 48 h", "maximum: 900 h"),
)


@pytest.fixture
def told(run, contract):
    """Write day files, and read what the check of one says in English and in German."""

    def read(*texts, last):
        for number, text in enumerate(texts, start=1):
            (contract / f"day{number}.yaml").write_text(text, "utf-8")
        english = " ".join(run("check", f"day{last}.yaml").out.split())
        german = json.loads(run("check", f"day{last}.yaml", "--json", "--language", "de").out)
        return english, json.dumps(german, ensure_ascii=False)

    return read


def test_who_inspected_is_not_who_inspects_here(told, project):
    project(("people: {ines:", CONTRACTORS))
    first = report(1, reading="4.2", more=raised(HIGH))
    again = report(2, reinspects="N1", **JON)
    english, german = told(first, again, report(3, **ELSEWHERE), last=3)
    assert "J. On, who inspected in SL-1-002, is not named in SL-1-001 in the role or the organisation" in english
    assert "J. On, in SL-1-002 für die Prüfung verantwortlich, ist in SL-1-001 nicht mit" in german


def test_what_was_entered_is_not_entered_here(told):
    first = beside(report(1, reading="2.9", more=raised(HIGH)), reading="4.2")
    english, german = told(first, report(2, reinspects="N1", **NEXT), report(3, **ELSEWHERE), last=3)
    assert "and what pot 1 blasted in SL-1-002 is entered with `reinspects` alone: if that went over it" in english
    assert "und was pot 1 in SL-1-002 gestrahlt hat, ist nur mit `reinspects` eingetragen" in german


def test_a_blasting_is_not_this_one(told):
    first = report(1, reading="4.2", more=raised(HIGH))
    english, german = told(first, report(2, YESTERDAY, reinspects="N1", **NEXT), report(3, **ELSEWHERE), last=3)
    assert "the blasting entered in SL-1-002 began at 2026-05-04 07:00" in english
    assert "das in SL-1-002 eingetragene Strahlen begann um 2026-05-04 07:00" in german


MEASURED = [
    (2, "measured again here as 2.90 mil ± 0.31 mil", "hier erneut gemessen: 2.90 mil ± 0.31 mil"),
    (3, "this location was measured again", "diese Messstelle wurde erneut gemessen"),
]


@pytest.mark.parametrize(("last", "done", "getan"), MEASURED)
def test_a_location_measured_again_by_one_who_may_not_is_measured_again(told, project, last, done, getan):
    project(*GUARDED)
    first = report(1, **readings(("1", "a", 'x1: 3.4, time: "10:30"'), ("2", "a", "x1: 2.8")))
    again = report(2, YESTERDAY, **readings(("1", "a", 'x1: 2.9, time: "09:00"'), ("2", "a", "x1: 2.8")), **JON)
    english, german = told(first, again, report(3, **ELSEWHERE), last=last)
    assert f"{done}, but J. On, who inspected in SL-1-002, is not named in" in english
    assert f"{getan}, aber J. On, in SL-1-002 für die Prüfung verantwortlich" in german
    assert "is not measured again" not in english


def test_who_may_measures_again_and_is_no_surer_whoever_tried_before(told, project):
    project(("decision_rule: simple", f"{SCATTER}guarded"), *GUARDED[1:])
    rows = readings(("1", "a", 'x1: 2.9, time: "09:00"'))
    first = report(1, **readings(("1", "a", 'x1: 3.4, time: "10:30"')))
    third = report(3, YESTERDAY, **{**rows, **NEXT, "date: 2026-05-04": "date: 2026-05-06"})
    english, german = told(first, report(2, YESTERDAY, **rows, **JON), third, last=3)
    assert "measured again here as 2.90 mil ± " in english
    assert "hier erneut gemessen: 2.90 mil ± " in german
    assert "J. On" not in english


@pytest.mark.parametrize("last", [2, 3])
def test_steel_entered_again_by_one_who_may_not_is_entered_again(told, project, last):
    project(*GUARDED, (" locations: 1}", " locations: 2}"))
    again = report(2, YESTERDAY, **readings(("1", "a", "x1: 2.9"), ("2", "a", "x1: 2.8")), **JON)
    english, german = told(report(1), again, report(3, **ELSEWHERE), last=last)
    assert "this steel was entered again, but J. On, who inspected in SL-1-002, is not named in SL-1-001" in english
    assert "dieser Stahl wurde erneut eingetragen, aber J. On, in SL-1-002 für die Prüfung verantwortlich" in german


MOMENTS = [
    (', time: "10:30"', ', time: "2026-05-04T10:10+00:00"',
     "the reading at 2026-05-04 10:10 is not after that of 2026-05-04 10:30",
     "der Messwert von 2026-05-04 10:10 liegt nicht nach dem von 2026-05-04 10:30"),
    ("", ', time: "2026-05-04T10:10+00:00"',
     "the reading of SL-1-001 has no time, and the one at 2026-05-04 10:10 is no later than that shift",
     "der Messwert aus SL-1-001 hat keine Uhrzeit, und der von 2026-05-04 10:10 ist nicht nach jener Schicht"),
]  # fmt: skip


@pytest.mark.parametrize("last", [2, 3])
@pytest.mark.parametrize(("first", "second", "english", "german"), MOMENTS)
def test_a_reading_that_is_no_later_is_a_reading(told, project, first, second, english, german, last):
    project(*GUARDED)
    before = report(1, **readings(("1", "a", f"x1: 3.4{first}")))
    again = report(2, YESTERDAY, **readings(("1", "a", f"x1: 2.9{second}")), **NEXT)
    said, gesagt = told(before, again, report(3, **ELSEWHERE), last=last)
    assert f"this location was measured again, but {english}" in said
    assert f"diese Messstelle wurde erneut gemessen, aber {german}" in gesagt


def test_an_id_of_the_greatest_width_is_not_broken_where_the_plan_is_told(run, contract, project):
    wide = "W" * 40
    project(("id: A-1", f"id: {wide}"), (" locations: 1}", " locations: 3}"))
    rows = readings(*((str(one), "a", f"x1: 2.{6 + one}") for one in (1, 2, 3)))
    (contract / "day.yaml").write_text(report(1, **{"area: A-1": f"area: {wide}"}, **rows), "utf-8")
    for template in ("letter-en", "a4-de"):
        run("draft", "day.yaml", "--template", template, "-o", "d.pdf")
        said = words_of(contract / "d.pdf")
        assert {word.strip(":,.") for word in said.split() if "WW" in word} == {wide}
        assert f"{wide}: " in said
