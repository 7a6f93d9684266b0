"""Areas that are released with a reservation are named apart: in part, or bare when their limit had passed."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from reportgen.job.template import Template
from reportgen.report.context import Context
from reportgen.report.shift import area_lanes
from reportgen.report.verdicts import named_decisions
from reportgen.rules import evaluate
from reportgen.words.catalogue import catalogue
from tests.golden import sample_evaluation as sample
from tests.unit.rules.factory import DAY, GOOD, job, surface

TEN = {"clause": "1.8", "maximum": "10 h"}


def many(count, *, changed=None, at="2026-05-14T19:30", language="en", unseen=0):
    """Areas 1 to ``count``, blasted until 09:00, with ten hours, and primed at 12:00 unless ``changed`` by their id."""
    ids = [str(number) for number in range(1, count + unseen + 1)]
    steel = [surface(**{"area": one, "coated": "12:00", **(changed or {}).get(one, {})}) for one in ids[:count]]
    areas = [{"id": one, "name": f"panel {one}", "size": "40 m2"} for one in ids]
    missed = [{"area": one, "reason": "no scaffold"} for one in ids[count:]]
    made = job(
        *[GOOD] * count, surfaces=steel,
        spec={"specification.time_to_coat": TEN, "structures": [{"id": "S", "name": "Span", "areas": areas}]},
        day={"not_inspected": missed, "gauge_checks": DAY["gauge_checks"]},
    )  # fmt: skip
    moment = datetime.fromisoformat(at).replace(tzinfo=UTC)
    issue = replace(sample.ISSUE, status="issue", at=moment)
    return Context(made, evaluate(made, at=moment), issue, Template(), catalogue(language), 500.0, 700.0, None, {})


PART = {"cleaned": "10 m2"}
BARE = {"coated": None}
LOW = {"cleanliness": {"observed": "SSPC-SP 6", "staining": "3 %"}}


def test_of_few_areas_one_released_in_part_is_said_so_in_a_mixed_verdict():
    context = many(4, changed={"2": PART, "3": LOW, "4": PART | BARE})
    assert list(named_decisions(context)) == [
        ("release", "1, 2 (in part), 4 (in part; limit 19:00 passed)"), ("rework", "3"),
    ]  # fmt: skip


def test_of_many_those_with_a_reservation_are_named_and_the_others_counted():
    context = many(15, changed={"2": PART, "3": LOW, "7": BARE})
    assert list(named_decisions(context)) == [
        ("release", "2 (in part), 7 (limit 19:00 passed), the other 12"), ("rework", "3"),
    ]  # fmt: skip
    german = many(15, changed={"2": PART, "7": BARE}, language="de")
    assert list(named_decisions(german)) == [("release", "2 (Teil), 7 (Frist 19:00 verstrichen), die anderen 13")]


@pytest.mark.parametrize(
    ("unseen", "changed", "told"),
    [
        (0, {}, {"release": "all 14"}),
        (1, {}, {"release": "the other 14", "unseen": "15"}),
        (0, {"1": LOW}, {"release": "the other 13", "rework": "1"}),
    ],
    ids=["all", "one not inspected", "one to rework"],
)
def test_others_there_are_beside_some_alone(unseen, changed, told):
    assert dict(named_decisions(many(14, unseen=unseen, changed=changed))) == told


def test_of_very_many_reservations_there_are_counts():
    changed = {str(number): BARE for number in range(1, 15)} | {"20": PART}
    context = many(30, changed=changed)
    assert dict(named_decisions(context)) == {"release": "14 whose limit passed, 1 in part, the other 15"}


def test_the_lanes_that_areas_share_have_none_that_is_bare():
    context = many(30, changed={"2": BARE, "3": LOW})
    assert [(one.name, one.told, one.below) for one in area_lanes(context) if one.name != "3"] == [
        ("pot 1", "28 areas released", ""), ("2", "not primed", "limit 19:00 passed"),
    ]  # fmt: skip
