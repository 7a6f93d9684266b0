"""Records survive the pipe from the child process; anything else is refused."""

import json
from decimal import Decimal

import pytest

from reportgen.formats import plain
from reportgen.formats.decoding import value_from
from reportgen.issued import examined_from, render_examined
from reportgen.issued.extraction import nonconformance_record
from reportgen.issued.record import ReportRecord
from reportgen.results import NonconformanceState
from tests.unit.issued import records as made

FULL = made.report(
    7,
    areas=[made.area("A", "3.1", "3.25")],
    surfaces=[made.surface("A", "3.1 3.2 3.0")],
    nonconformances=(made.nonconformance(),),
    findings=(made.finding("outlier"),),
)


def test_an_examination_goes_through_the_pipe_unchanged():
    before = made.examined(FULL)
    assert examined_from(render_examined(before)) == before


def test_an_examination_without_a_record_too():
    before = made.examined(None, failed=True)
    after = examined_from(render_examined(before))
    assert after == before
    assert after.kind == "other"


def test_digits_stay_as_they_were():
    after = examined_from(render_examined(made.examined(FULL)))
    assert str(after.record.areas[0].locations[1].profile) == "3.25"


@pytest.mark.parametrize(
    ("field", "value"),
    [("number", 7), ("revision", True), ("revision", "0"), ("minimum", "2.5"), ("areas", [1]), ("unit", 3)],
)
def test_a_record_of_other_types_is_refused(field, value):
    data = json.loads(json.dumps(plain(FULL), default=str), parse_float=Decimal)
    data |= {"minimum": Decimal("2.5"), "maximum": None, "areas": [], "surfaces": [], "scatter": []}
    assert value_from(ReportRecord, data).number == "HM-1-IR-007"
    with pytest.raises((TypeError, KeyError, AttributeError)):
        value_from(ReportRecord, {**data, field: value})


@pytest.mark.parametrize(
    ("written", "closed_by", "evidence"),
    [("Letter 7.", None, "Letter 7."), (None, "R-2", "re-inspection in R-2 passed"), (None, None, None)],
)
def test_what_closed_a_nonconformance_is_in_the_record(written, closed_by, evidence):
    state = NonconformanceState(
        "N1", "A", (), "low", "rework", "eng", "open", "R-1", evidence=written, closed_by=closed_by
    )
    assert nonconformance_record(plain(state), {}).evidence == evidence
