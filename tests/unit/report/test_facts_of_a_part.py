"""What is said of the parts of an area is said of each by itself: its tests, its grade, its time."""

import pytest

from reportgen.job.template import Template
from reportgen.report.area_facts import area_facts
from reportgen.report.context import Context
from reportgen.report.shift import area_lanes
from reportgen.rules import evaluate
from reportgen.words.catalogue import catalogue
from tests.golden import sample_evaluation as sample
from tests.unit.rules.factory import GOOD, job, surface

SECOND = "2 a x1 3.2; 2 b x1 2.8"
LATER = {"start": "10:00", "end": "11:30", "abrasive": "grit 1"}
SPEC = {
    "specification.soluble_salts": {
        "clause": "1.6", "maximum": "30 mg/m2", "expressed_as": "mixed salts by conductivity",
    },
    "specification.dust": {"clause": "1.7", "maximum_quantity": "2"},
    "instruments.k1": {"kind": "conductivity meter", "serial": "3", "accuracy": "0.1 uS/cm"},
}  # fmt: skip


def salts(location, time, sample_at):
    return {
        "location": location, "time": time, "area": "12.5 cm2", "volume": "3 ml", "blank": "1.9 uS/cm",
        "sample": sample_at, "instrument": "k1",
    }  # fmt: skip


def of_two(first, second, *, spec=None, again=False, language="en"):
    """An area in two parts: pot 1 until 09:00 and pot 2 until 11:30, or pot 2 over all of it."""
    apart = {"blasted_again": ["pot 1"]} if again else {"cleaned": "20 m2"}
    steel = [
        surface(**({} if again else {"cleaned": "20 m2"}), **first),
        surface(apparatus="pot 2", blasted=LATER, **apart, **second),
    ]
    made = job(GOOD, SECOND, surfaces=steel, spec=SPEC | (spec or {}))
    return Context(made, evaluate(made), sample.ISSUE, Template(), catalogue(language), 500.0, 700.0, None, {})


def marks(context):
    """The letter and verdict of each test in the chart, by its minute."""
    (lane,) = area_lanes(context)
    return {one.minute: (one.letter, one.verdict) for one in lane.tests}


@pytest.mark.parametrize("failing", [0, 1])
def test_the_mark_of_a_test_in_the_chart_has_the_verdict_of_that_test(failing):
    shown = ["40 uS/cm" if part == failing else "9.9 uS/cm" for part in (0, 1)]
    dust = [{"location": str(part + 1), "quantity": "4" if part == failing else "1", "size": "1"} for part in (0, 1)]
    context = of_two(
        {"salts": [salts("1", "09:10", shown[0])], "dust": [dust[0] | {"time": "09:12"}]},
        {"salts": [salts("2", "11:40", shown[1])], "dust": [dust[1] | {"time": "11:42"}]},
    )
    verdicts = ["does not conform" if part == failing else "conforms" for part in (0, 1)]
    assert [one.verdict for one in context.evaluation.salts] == verdicts
    assert marks(context) == {
        550: ("s", verdicts[0]), 552: ("d", verdicts[0]), 700: ("s", verdicts[1]), 702: ("d", verdicts[1]),
    }  # fmt: skip


def test_a_test_of_steel_that_was_blasted_off_since_has_no_verdict_in_the_chart():
    context = of_two(
        {"salts": [salts("1", "09:10", "9.9 uS/cm")]}, {"salts": [salts("2", "11:40", "40 uS/cm")]}, again=True
    )
    assert marks(context) == {550: ("s", "not evaluated"), 700: ("s", "does not conform")}


def test_the_grade_of_each_part_says_of_which_it_is():
    context = of_two({}, {"cleanliness": {"observed": "SSPC-SP 6", "staining": "3 %"}})
    label = context.words("fact.primer")
    told = {
        (one.verdict, one.rest)
        for one in area_facts(context, context.evaluation.areas[0])
        if one.label != label and "SSPC" in one.strong
    }
    assert told == {("conforms", " · pot 1, 09:00"), ("does not conform", " · pot 2, 11:30")}


def test_the_grade_of_an_area_in_one_part_names_none():
    made = job(GOOD, surfaces=[surface()])
    context = Context(made, evaluate(made), sample.ISSUE, Template(), catalogue("en"), 500.0, 700.0, None, {})
    (rest,) = (one.rest for one in area_facts(context, context.evaluation.areas[0]) if "SSPC" in one.strong)
    assert "pot" not in rest
