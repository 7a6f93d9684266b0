"""Steel that was bare at the end of the shift, and whose time was over when the report was issued."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from reportgen.job.template import Template
from reportgen.report.actions import actions
from reportgen.report.area_facts import area_facts
from reportgen.report.context import Context
from reportgen.report.shift import area_lanes
from reportgen.report.summary import _area_row
from reportgen.report.verdicts import named_decisions, reasons
from reportgen.rules import evaluate
from reportgen.words.catalogue import catalogue
from tests.golden import sample_evaluation as sample
from tests.unit.rules.factory import job, surface

TEN = {"clause": "1.8", "maximum": "10 h"}
STAINED = {
    "id": "NCR-1", "area": "A", "findings": ["grade-not-met"], "description": "shadows", "status": "closed",
    "disposition": "use-as-is", "decided_by": "eng", "evidence": "letter 7",
}  # fmt: skip


def issued(at, *texts, status="issue", language="en", limit=TEN, grade="SSPC-SP 10", **day):
    """Steel blasted until 09:00 on 14 May and bare at 18:00, when the shift ends: ten hours are over at 19:00."""
    steel = [surface(cleanliness={"observed": grade, "staining": "3 %"})]
    made = job(*texts, surfaces=steel, spec={"specification.time_to_coat": limit}, day=day)
    evaluation = evaluate(made, at=datetime.fromisoformat(at).replace(tzinfo=UTC))
    issue = replace(sample.ISSUE, status=status, at=datetime.fromisoformat(at).replace(tzinfo=UTC))
    return Context(made, evaluation, issue, Template(), catalogue(language), 500.0, 700.0, None, {})


def pages(context):
    """What page 1 says of the area beside its decision, when to prime, what to do; what its facts and its lane say."""
    (area,), (lane,) = context.evaluation.areas, area_lanes(context)
    (primer,) = (one for one in area_facts(context, area) if one.label == context.words("fact.primer"))
    done = [(one.what, one.when) for one in actions(context)]
    return reasons(context, area), _area_row(context, area, 100.0, 100.0)[-1], done, primer.rest, lane.below


@pytest.mark.parametrize(("at", "moment"), [("2026-05-14T19:01", "19:01"), ("2026-05-15T08:00", "2026-05-15 08:00")])
def test_a_limit_that_passed_before_the_issue_is_told_as_passed_with_both_times(at, moment):
    told = f"coat-by 19:00 passed before this report was issued ({moment})"
    context = issued(at)
    assert context.evaluation.areas[0].decision == "release", "it may have been primed in time"
    what = f"C{told[1:]}: settle whether it was coated in time; if not, inspect again before coating"
    assert pages(context) == (
        told, "limit 19:00 passed", [(what, "before primer")], f"not yet coated; {told}", "limit 19:00 passed",
    )  # fmt: skip
    assert list(named_decisions(context)) == [("release", "A (limit 19:00 passed)")]


@pytest.mark.parametrize(
    ("at", "status"),
    [("2026-05-14T18:30", "issue"), ("2026-05-14T19:00:59", "issue"), ("2026-05-15T08:00", "draft")],
    ids=["before it", "in its minute", "a draft is not issued"],
)
def test_a_limit_that_had_not_passed_is_one_to_coat_by(at, status):
    assert pages(issued(at, status=status)) == (
        "", "by 19:00", [("Coat by 19:00", "19:00")], "not yet coated; coat by 19:00", "limit 19:00",
    )  # fmt: skip


def test_what_was_released_by_decision_is_not_to_be_coated_by_a_time_that_passed():
    context = issued("2026-05-15T08:00", grade="SSPC-SP 7", nonconformances=[STAINED])
    (area,) = context.evaluation.areas
    assert (area.decision, area.by_decision) == ("release", True)
    why, primed, done, *_ = pages(context)
    assert why.startswith("coat-by 19:00 passed before this report was issued (2026-05-15 08:00); ")
    assert primed == "limit 19:00 passed"
    assert [one for one, _ in done if one.startswith("Coat-by 19:00 passed")]


def test_a_limit_on_another_day_than_the_report_s_has_its_date():
    why, primed, *_ = pages(issued("2026-05-15T23:59", limit=TEN | {"maximum": "24 h"}))
    assert why == "coat-by 2026-05-15 09:00 passed before this report was issued (2026-05-15 23:59)"
    assert primed == "limit 2026-05-15 09:00 passed"


def test_it_is_said_in_german():
    why, primed, ((what, _),), _, below = pages(issued("2026-05-14T19:10", language="de"))
    assert why == "Frist 19:00 verstrichen, bevor dieser Bericht ausgestellt wurde (19:10)"
    assert (
        what == f"{why}: klären, ob rechtzeitig beschichtet wurde; wenn nicht, vor dem Beschichten noch einmal prüfen"
    )
    assert (primed, below) == ("Frist 19:00 verstrichen",) * 2


def test_steel_that_is_not_released_has_no_time_left_in_the_chart_either():
    assert pages(issued("2026-05-15T08:00", "1 a x1 4.4; 1 b x1 4.4"))[-1] == "limit 19:00 passed"
    assert pages(issued("2026-05-14T18:30", "1 a x1 4.4; 1 b x1 4.4"))[-1] == "rework, limit 19:00"
