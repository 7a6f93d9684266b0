"""What one page says of one thing: nothing that another line of it denies, and no line more than it takes."""

import pytest

from reportgen.job.template import Template
from reportgen.report.actions import actions
from reportgen.report.area_facts import profile_fact
from reportgen.report.context import Context
from reportgen.report.equipment import remarks
from reportgen.rules import evaluate
from reportgen.words.catalogue import catalogue
from tests.golden import sample_evaluation as sample
from tests.unit.rules import test_comparison
from tests.unit.rules.factory import GOOD, job, surface


def page_of(made, language="en", evaluation=None):
    return Context(
        made, evaluation or evaluate(made), sample.DRAFT, Template(), catalogue(language), 500.0, 700.0, None, {}
    )  # fmt: skip


WALK = {
    "failing": "1", "interval": "0.6 m", "directions": [
        {"towards": side, "locations": [f"1{side[0]}{number}" for number in (1, 2)]}
        for side in ("up", "down", "left", "right")
    ],
}  # fmt: skip
AROUND = "; ".join(f"1{side}{number} {spot} x1 3.0" for side in "udlr" for number in (1, 2) for spot in "ab")
HIGH = {
    "id": "NCR-1", "area": "A", "findings": ["profile-above-maximum"], "description": "high", "status": "closed",
    "disposition": "use-as-is", "decided_by": "eng", "evidence": "letter 7",
}  # fmt: skip


@pytest.mark.parametrize(
    ("raised", "told"), [([HIGH], "accepted by decision: "), ([], "to rework: ")], ids=["accepted", "open"]
)
def test_what_was_accepted_is_not_to_be_reworked_while_something_else_holds_the_area(raised, told):
    spec = {"specification.sampling.locations": "2"}  # one is missing
    made = job(
        f"1 a x1 4.4; 1 b x1 4.4; {AROUND}", spec=spec, day={"nonconformances": raised},
        surfaces=[surface(**{"profile.walk_outs": [WALK]})],
    )  # fmt: skip
    context = page_of(made)
    (area,) = context.evaluation.areas
    assert area.decision == ("hold" if raised else "rework")
    said = profile_fact(context, area).rest
    assert told in said
    assert ("to rework" in said) is not bool(raised)


@pytest.mark.parametrize(
    ("stated", "told"),
    [("none", "in the tables below"), ("not recorded", "in the tables below"), ("coat thickness by QC", "by QC")],
)
def test_no_none_stands_above_the_tables_of_what_others_measured(stated, told):
    day = test_comparison.DAY.replace("gauge_checks:", f"site: {{results_from_others: {stated}}}\ngauge_checks:")
    made, evaluation, _ = test_comparison.judged(test_comparison.values("0.1"), day=day)
    blocks = (getattr(one, "flowable", one) for one in remarks(page_of(made, evaluation=evaluation)))
    (said,) = (text for text in (one.text for one in blocks) if "from others" in text)
    others = said.partition("from others: ")[2].partition(" · ")[0]
    assert others.endswith(told)


FAILED = {"gauge_checks.1.shim_reading": "3.9 mil"}
CHECK = "g1 at 17:00: anvils clean, pre-set −2.0 mil, shim 3.0 mil read as 3.9 mil"
UNRAISED = "no nonconformance covers gauge check failed"


@pytest.mark.parametrize("areas", ["A", "AB"])
def test_a_failed_check_of_a_gauge_is_settled_once_for_all_areas(areas):
    """One area has one location and is primed, the other has two and is bare: one row, before its primer."""
    texts = (GOOD, "1 a x1 3.2; 1 b x1 2.8; 2 a x1 3.0; 2 b x1 2.7")[: len(areas)]
    steel = [surface(area=one, **({"coated": "12:00"} if one == "A" else {})) for one in areas]
    found = actions(page_of(job(*texts, surfaces=steel, day=FAILED)))
    ((one, named),) = found.items()
    assert named == list(areas)
    doubt = "" if areas == "AB" else "; in doubt: location 1"
    assert one.what.replace("\xa0", " ") == f"Settle: {CHECK}{doubt}; {UNRAISED}"
    assert one.when == ("before primer of B" if areas == "AB" else "no date stated")


def test_what_else_holds_an_area_beside_that_check_stays_its_own():
    """A grade that is not met is prepared again; the check beside it is measured again, and never prepared again."""
    steel = [surface(area="A"), surface(area="B", cleanliness={"observed": "SSPC-SP 7", "staining": "3 %"})]
    found = actions(page_of(job(GOOD, GOOD.replace("3.1", "3.2"), surfaces=steel, day=FAILED)))
    told = [(one.what.replace("\xa0", " "), areas) for one, areas in found.items()]
    assert told[1:] == [(f"Settle: {CHECK}; {UNRAISED}", ["A", "B"])]
    assert told[0][0].startswith("Prepare again and inspect")
    assert ("gauge" in told[0][0], told[0][1]) == (False, ["B"])
