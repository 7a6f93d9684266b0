"""Steel that was bare at the end of the shift, and whose time was over when the report was issued."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from reportgen.job.template import Template
from reportgen.pdf.blocks import VerdictBanner
from reportgen.report import slip
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

SETTLE = (
    "settle whether it was coated in time; if not, prepare again as the contract says or have it decided, and "
    "inspect again"
)
SETTLE_GERMAN = (
    "klären, ob rechtzeitig beschichtet wurde; wenn nicht, nach Vertrag noch einmal vorbereiten oder darüber "
    "entscheiden lassen, und noch einmal prüfen"
)


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
    what = f"C{told[1:]}: {SETTLE}"
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
    assert what == f"{why}: {SETTLE_GERMAN}"
    assert (primed, below) == ("Frist 19:00 verstrichen",) * 2


def test_steel_that_is_not_released_has_no_time_left_in_the_chart_either():
    assert pages(issued("2026-05-15T08:00", "1 a x1 4.4; 1 b x1 4.4"))[-1] == "limit 19:00 passed"
    assert pages(issued("2026-05-14T18:30", "1 a x1 4.4; 1 b x1 4.4"))[-1] == "rework, limit 19:00"


HELD = "second reading missing, spot a, location 1"
PASSED = "coat-by 19:00 passed before this report was issued (2026-05-15 08:00)"


def test_of_steel_on_hold_it_is_told_too_and_what_is_missing_comes_first():
    context = issued("2026-05-15T08:00", "1 a x1 2.5; 1 b x1 2.9")
    assert context.evaluation.areas[0].decision == "hold"
    reading = ("A reading on coarse tape at location 1, spot a", "before primer")
    assert pages(context) == (
        f"{HELD}; {PASSED}", "limit 19:00 passed", [reading, (f"C{PASSED[1:]}: {SETTLE}", "before primer")],
        f"not yet coated; {PASSED}", "limit 19:00 passed",
    )  # fmt: skip
    assert list(named_decisions(context)) == [("hold", "A (limit 19:00 passed)")]


@pytest.mark.parametrize(("at", "status"), [("2026-05-14T18:30", "issue"), ("2026-05-15T08:00", "draft")])
def test_steel_on_hold_whose_time_had_not_passed_has_no_time_to_be_primed_by(at, status):
    why, primed, done, fact, _ = pages(issued(at, "1 a x1 2.5; 1 b x1 2.9", status=status))
    assert (why, primed, fact) == (HELD, "–", "not yet coated")
    assert [what for what, _ in done] == ["A reading on coarse tape at location 1, spot a"]


def test_steel_to_be_reworked_is_not_asked_whether_it_was_coated_in_time():
    context = issued("2026-05-15T08:00", "1 a x1 4.4; 1 b x1 4.4")
    why, primed, done, _, _ = pages(context)
    assert context.evaluation.areas[0].decision == "rework"
    assert "19:00" not in f"{why} {primed} {done}"


def in_two(at, *texts, first=None, second=None, language="en"):
    """Pot 1 until 09:00, with ten hours until 19:00, and pot 2 until 10:30, until 20:30."""
    later = {"start": "09:10", "end": "10:30", "abrasive": "grit 1"}
    steel = [surface(**(first or {})), surface(apparatus="pot 2", blasted=later, **(second or {}))]
    made = job(*texts, surfaces=steel, spec={"specification.time_to_coat": TEN})
    moment = datetime.fromisoformat(at).replace(tzinfo=UTC)
    issue = replace(sample.ISSUE, status="issue", at=moment)
    return Context(made, evaluate(made, at=moment), issue, Template(), catalogue(language), 500.0, 700.0, None, {})


def of_parts(context):
    (area,) = context.evaluation.areas
    label = context.words("fact.primer")
    return (
        reasons(context, area), _area_row(context, area, 100.0, 100.0)[-1],
        [(one.what, one.when) for one in actions(context)],
        [one.rest for one in area_facts(context, area) if one.label == label],
    )  # fmt: skip


GOOD_BOTH = ("1 a x1 3.1; 1 b x1 2.9", "2 a x1 3.1; 2 b x1 2.9")


def test_each_bare_part_of_a_released_area_has_its_own_time():
    context = in_two("2026-05-14T18:30", *GOOD_BOTH)
    assert of_parts(context) == (
        "", "by 19:00",
        [("What pot 1 blasted: coat by 19:00", "19:00"), ("What pot 2 blasted: coat by 20:30", "20:30")],
        ["not yet coated; coat by 19:00 · pot 1, 09:00", "not yet coated; coat by 20:30 · pot 2, 10:30"],
    )  # fmt: skip


def test_a_part_whose_time_passed_is_told_apart_from_one_that_has_time():
    told = "coat-by 19:00 passed before this report was issued (19:30)"
    assert of_parts(in_two("2026-05-14T19:30", *GOOD_BOTH)) == (
        f"what pot 1 blasted: {told}", "limit 19:00 passed",
        [(f"What pot 1 blasted: {told}: {SETTLE}", "before primer"), ("What pot 2 blasted: coat by 20:30", "20:30")],
        [f"not yet coated; {told} · pot 1, 09:00", "not yet coated; coat by 20:30 · pot 2, 10:30"],
    )  # fmt: skip


def test_of_a_held_area_the_bare_part_alone_is_told():
    context = in_two("2026-05-14T21:00", GOOD_BOTH[0], "2 a x1 2.5; 2 b x1 2.9", first={"coated": "12:00"})
    why, primed, done, facts = of_parts(context)
    told = "what pot 2 blasted: coat-by 20:30 passed before this report was issued (21:00)"
    assert why.endswith(f"; {told}")
    assert primed.replace("\N{NO-BREAK SPACE}", " ") == "12:00 in part; limit 20:30 passed"
    assert done[-1] == (f"W{told[1:]}: {SETTLE}", "before primer")
    assert facts[-1].startswith("not yet coated; coat-by 20:30 passed")
    assert "12:00" not in facts[-1]


def test_a_slip_states_the_earliest_time_of_an_area_in_parts():
    context = in_two("2026-05-14T12:00", *GOOD_BOTH)
    assert [one.coat_by for one in context.evaluation.coating_times] == ["19:00", "20:30"]
    (banner,) = (one for one in slip._story(context, context.evaluation.areas[0]) if isinstance(one, VerdictBanner))
    told = str(vars(banner))
    assert "19:00" in told
    assert "20:30" not in told
