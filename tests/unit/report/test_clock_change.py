"""The shift chart over a clock change: it counts the minutes that pass, and says the same times as page 1."""

import datetime as dt

import pytest

from reportgen.charts.drawing import Label
from reportgen.job.template import Template
from reportgen.report import shift
from reportgen.report.context import Context
from reportgen.rules import evaluate
from reportgen.words.catalogue import catalogue
from tests.golden import sample_evaluation as sample
from tests.unit.rules.factory import DAY, job, surface


def night(date, blasted, *, language="en", at=None, **changes):
    """A night shift in Berlin in which one area is blasted and has six hours to be primed."""
    spec = {
        "project.time_zone": "Europe/Berlin",
        "specification.time_to_coat": {"clause": "6.4.1", "maximum": "6 h"},
        "specification.profile.decision_rule": "simple",
    }
    checks = [each | {"time": at} for each, at in zip(DAY["gauge_checks"], ("22:10", "23:55"), strict=True)]
    tapes = [each | {"time": "22:12"} for each in DAY["tape_checks"]]
    shift = {"start": "22:00", "end": "05:30"}
    day = {"report.date": date, "report.shift": shift, "gauge_checks": checks, "tape_checks": tapes}
    made = job(spec=spec, day=day, surfaces=[surface(blasted=blasted | {"abrasive": "grit 1"}, **changes)])
    return Context(
        made,
        evaluate(made, at=at),
        sample.ISSUE,
        Template(language=language),
        catalogue(language),
        500.0,
        700.0,
        None,
        {},
    )


@pytest.mark.parametrize(
    ("date", "by", "hours", "turn"),
    [  # clocks in Berlin went forward on 2026-03-29 at 02:00 and back on 2026-10-25 at 03:00 (Directive 2000/84/EC)
        ("2026-03-28", "06:30", ["22:00", "23:00", "00:00", "01:00", "03:00", "04:00", "05:00", "06:00"],
         "clock change: 02:00 becomes 03:00"),
        ("2026-10-24", "04:30",
         ["22:00", "23:00", "00:00", "01:00", "02:00", "02:00", "03:00", "04:00", "05:00", "06:00"],
         "clock change: 03:00 becomes 02:00"),
    ],
)  # fmt: skip
def test_the_chart_of_such_a_night_says_what_page_1_says(date, by, hours, turn):
    context = night(date, {"start": "22:30", "end": "23:30"}, at=dt.datetime.fromisoformat(f"{date}T23:50+00:00"))
    next_day = (dt.date.fromisoformat(date) + dt.timedelta(days=1)).isoformat()
    (stated,) = (one.coat_by for one in context.evaluation.coating_times)
    assert stated == f"{next_day} {by}"
    drawn = shift.shift_chart(context)
    (lane,) = drawn.lanes
    assert lane.bare[-1].limit - lane.blasted[-1][1] == 6 * 60
    assert lane.below.removesuffix(" passed") == f"limit {by}"
    told = [one.text for one in drawn.marks(drawn.height) if isinstance(one, Label)]
    assert [one for one in told if one in {f"{hour:02d}:00" for hour in range(24)}] == hours
    assert {turn, next_day} <= set(told)
    said = shift.chart_in_words(context, drawn)
    assert f"limit {by}" in said
    assert turn in said


def test_a_time_as_printed_stands_where_it_was_entered():
    context = night("2026-10-24", {"start": "01:00", "end": "2026-10-25T02:50+01:00"})
    for text in (
        "2026-10-25T02:30+02:00",
        "2026-10-25T02:30+01:00",
        "2026-10-25T03:10+01:00",
        "2026-10-24T22:10+02:00",
    ):
        moment = dt.datetime.fromisoformat(text)
        assert shift.minutes(context, context.printed(moment)) == shift.instant(context, moment)
    early, late = (dt.datetime.fromisoformat(f"2026-10-25T02:30{offset}") for offset in ("+02:00", "+01:00"))
    assert shift.instant(context, late) - shift.instant(context, early) == 60


def test_a_primer_of_the_next_day_has_its_date_on_page_1_and_its_clock_on_the_axis():
    context = night("2026-10-24", {"start": "22:30", "end": "23:30"}, coated="2026-10-25T02:30+01:00")
    assert context.primed("A") == "2026-10-25 02:30+01:00"
    (lane,) = shift.shift_chart(context).lanes
    assert lane.told == "primed 02:30+01:00"
    assert lane.primed[0][0] - lane.blasted[-1][1] == 4 * 60
