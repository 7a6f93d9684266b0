"""Page 1 of evaluated days: each reading under its own limit, and something to do for whatever is not released."""

from dataclasses import replace
from decimal import Decimal

import pytest

from reportgen.job.template import Template
from reportgen.pdf.blocks import SectionTitle
from reportgen.pdf.styles import FINEST, REGULAR
from reportgen.pdf.textlines import text_width
from reportgen.report import method
from reportgen.report.actions import actions
from reportgen.report.area_facts import area_facts, profile_fact
from reportgen.report.context import Context
from reportgen.report.shift import area_lanes, worst_moment
from reportgen.report.summary import Legend, _area_row, area_strip, summary_pages
from reportgen.report.verdicts import reasons
from reportgen.rules import evaluate
from reportgen.words.catalogue import catalogue
from tests.golden import sample_evaluation as sample
from tests.unit.rules.factory import PROJECT, job, surface

LIMITS = {
    "clause": "4", "dew_point_margin": "3 delta_degC", "maximum_humidity": "85 %", "minimum_steel": "5 degC",
    "minimum_air": "5 degC", "maximum_air": "40 degC",
}  # fmt: skip
TOOLS = {
    "instruments.h1": {
        "kind": "hygrometer", "serial": "1", "accuracy": "3 %", "temperature_accuracy": "0.5 delta_degC",
    },
    "instruments.t1": {"kind": "surface thermometer", "serial": "2", "accuracy": "0.5 delta_degC"},
}  # fmt: skip
FINE = {"time": "06:45", "air": "15.5 degC", "humidity": "60 %", "steel": "20 degC", "instruments": ["h1", "t1"]}


def seen(*texts, language="en", rule="guarded", surfaces=None, spec=None, **reading):
    given = {"specification.conditions": {**LIMITS, "decision_rule": rule}, **TOOLS, **(spec or {})}
    made = job(*texts, spec=given, day={"conditions": [FINE | reading]}, surfaces=surfaces)
    template = Template(language=language)
    return Context(made, evaluate(made), sample.DRAFT, template, catalogue(language), 500.0, 700.0, None, {})


def limits(context):
    """Verdict, how many conform and what is told of each limit of the conditions."""
    rows = [row for row in context.requirements.rows() if row.topic.startswith("conditions.")]
    return {row.topic.split(".")[1]: (row.verdict, row.conform, "".join(run.text for run in row.found)) for row in rows}


@pytest.mark.parametrize(
    ("rule", "reading", "missed", "conform", "told"),
    [
        ("banded", {"humidity": "87 %"}, "maximum_humidity", "0 of 1", "A 06:45: relative humidity 87.0 % ± 3.4 %"),
        ("guarded", {"humidity": "84 %"}, "maximum_humidity", "0 of 1", "A 06:45: relative humidity 84.0 % ± 3.4 %"),
        ("guarded", {"steel": "11.2 degC"}, "dew_point_margin", "0 of 1", "A 06:45: margin"),
        ("guarded", {"steel": "5.3 degC", "air": "8 degC", "humidity": "50 %"}, "minimum_steel", "0 of 1",
         "A 06:45: steel temperature 5.30 °C ± 0.57 °C"),
        ("guarded", {"air": "39.8 degC", "steel": "39 degC", "humidity": "30 %"}, "maximum_air", "0 of 1",
         "A 06:45: air temperature 39.80 °C ± 0.57 °C"),
        ("guarded", {"air": "5.2 degC", "steel": "9 degC", "humidity": "30 %"}, "minimum_air", "0 of 1",
         "A 06:45: air temperature 5.20 °C ± 0.57 °C"),
    ],
)  # fmt: skip
def test_a_reading_that_is_undecided_on_one_limit_conforms_to_the_others_and_not_to_that(
    rule, reading, missed, conform, told
):
    found = limits(seen(rule=rule, **reading))
    assert found[missed][:2] == ("inconclusive", conform)
    assert told in found[missed][2]
    others = {key: one for key, one in found.items() if key != missed}
    assert {one[:2] for one in others.values()} == {("conforms", "1 of 1")}
    assert all(one[2].startswith("06:45: ") and " ± " in one[2] for one in others.values())


@pytest.mark.parametrize(
    ("language", "steel", "told"),
    [
        ("en", "9 degC", "06:45: steel 1.2 °C above the dew point, 3 °C required"),
        ("en", "6 degC", "06:45: steel 1.8 °C below the dew point, 3 °C above it required"),
        (
            "de",
            "6 degC",
            "06:45: Stahl 1.8 °C unter dem Taupunkt, gefordert 3 °C darüber",
        ),  # the comma comes with the page
    ],
)
def test_the_worst_moment_says_on_which_side_of_the_dew_point_the_steel_is(language, steel, told):
    _, found = worst_moment(seen(language=language, rule="simple", steel=steel))
    assert found.replace("\xa0", " ").replace("\N{NARROW NO-BREAK SPACE}", " ") == told


def test_the_worst_moment_is_one_of_work_and_says_where_and_whether_there_was_any():
    context = seen(rule="simple", steel="9 degC")
    (one,) = context.evaluation.conditions
    elsewhere = replace(one, place="pump pit", during=(), margin=one.margin - 1)
    here = replace(one, place="hall")

    def told(*conditions):
        of = replace(context, evaluation=replace(context.evaluation, conditions=conditions))
        return worst_moment(of)[1]

    assert told(elsewhere, here).startswith("06:45, hall: steel")
    conforming = replace(here, verdict="conforms")
    found = told(elsewhere, conforming)
    assert found.startswith("06:45, pump pit: ")
    assert found.endswith("; nothing was blasted or coated there then")


def test_without_the_errors_of_the_instruments_each_limit_is_open_in_its_own_row():
    found = limits(seen(instruments=[]))
    assert {one[:2] for one in found.values()} == {("inconclusive", "0 of 1")}
    assert "relative humidity 60 %" in found["maximum_humidity"][2]
    assert "steel temperature 20.0 °C" in found["minimum_steel"][2]


def test_a_reading_that_fails_one_limit_stands_there_alone():
    found = limits(seen(rule="simple", humidity="92 %"))
    assert found["maximum_humidity"][:2] == ("does not conform", "0 of 1")
    assert found["dew_point_margin"][:2] == ("conforms", "1 of 1")
    german = limits(seen(language="de", humidity="84 %"))
    assert german["maximum_humidity"][:2] == ("inconclusive", "0 von 1")
    assert "A 06:45: relative Feuchte 84" in german["maximum_humidity"][2]


def test_the_closest_profile_has_its_uncertainty():
    rows = {row.topic: row for row in seen().requirements.rows()}
    (told,) = rows["profile"].found
    (location,) = seen().evaluation.areas[0].locations
    assert told.text == f"A, location 1: {location.profile} ± {location.expanded_uncertainty} mil"


HELD = {
    "conditions in guard band": {"humidity": "84 %"},
    "conditions without errors": {"instruments": []},
    "conditions failed, no nonconformance": {"rule": "simple", "humidity": "92 %"},
    "profile undecided": {"spec": {"specification.profile.decision_rule": "guarded",
                                   "specification.profile.minimum": "2.9 mil"}},
    "profile failed": {"spec": {"specification.profile.minimum": "3.2 mil"}},
    "locations missing": {"spec": {"specification.sampling.locations": "3"}},
    "no salt test": {"spec": {"specification.soluble_salts": {
        "clause": "5", "maximum": "50 mg/m2", "expressed_as": "mixed salts by conductivity"}}},
    "no readings of the profile": {"surfaces": [surface(profile=None)]},
    "lower grade": {"surfaces": [surface(cleanliness__observed="SSPC-SP 6", cleanliness__staining=None)]},
}  # fmt: skip


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("why", HELD)
def test_whatever_is_not_released_has_something_to_do(why, language):
    context = seen(language=language, **HELD[why])
    (area,) = context.evaluation.areas
    assert area.decision != "release"
    assert any("A" in areas for areas in actions(context).values())


def test_what_to_do_names_what_holds():
    told = [action.what for action in actions(seen(humidity="84 %"))]
    assert told == ["Settle: 06:45: relative humidity 84.0 % ± 3.4 % while blasting"]
    (german,) = (action.what for action in actions(seen(language="de", humidity="84 %")))
    assert german.startswith("Zu klären: 06:45: relative Feuchte 84")
    assert not actions(seen())


@pytest.mark.parametrize(("coated", "told"), [
    (["12:00", "12:00"], "12:00"), (["12:00", None], "12:00\u00a0in\u00a0part"), ([None, None], "–"),
])  # fmt: skip
def test_an_area_that_was_primed_says_so_whatever_was_decided(coated, told):
    fails = {"observed": "SSPC-SP 7", "staining": "3 %"}
    made = [
        surface(apparatus=f"pot {number}", cleanliness=fails, **({"coated": at} if at else {}))
        for number, at in enumerate(coated)
    ]
    context = seen(surfaces=made)
    area = context.evaluation.areas[0]
    assert area.decision == "rework"
    assert _area_row(context, area, 100.0, 100.0)[-1] == told


def under(context, topic):
    """What stands under a requirement, in lines."""
    row = next(row for row in context.requirements.rows() if row.topic == topic)
    return row.verdict, row.conform, "".join(run.text for run in row.found).split("\n")


def test_a_grade_that_is_not_met_stands_under_the_profile_and_no_location_that_conforms():
    profile = {"clause": "1.2", "method": "ISO 8503-2", "edition": "2012", "comparator_grade": "medium G"}
    comparator = {"kind": "comparator", "serial": "R", "comparator": "G"}
    surfaces = [surface(area=area, **{"profile.gauge": "r1"}) for area in "AB"]
    texts = ("1 a - medium; 2 a - medium", "1 a - medium; 2 a - coarse")
    spec = {"specification.profile": profile, "instruments.r1": comparator}
    german = seen(*texts, language="de", rule="simple", spec=spec, surfaces=surfaces)
    assert under(german, "profile")[2] == ["B Messstelle 2: Rauheitsvergleichsmuster zeigt grob G"]
    assert german.seen_grades(german.evaluation.areas[1]) == "mittel G × 1, grob G × 1"
    found = seen(*texts, rule="simple", spec=spec, surfaces=surfaces)
    verdict, conform, told = under(found, "profile")
    assert (verdict, conform) == ("does not conform", "3 of 4")
    assert [one.partition(":")[0] for one in told] == ["B location 2"]
    assert not [row.topic for row in found.requirements.rows() if "comparator" in row.topic]


def test_a_location_of_a_walk_out_that_fails_is_named_though_no_finding_is_of_it():
    walk = {"failing": "1", "interval": "0.6 m", "directions": [{"towards": "up", "locations": ["1N", "2N", "3N"]}]}
    low = [surface(**{"profile.walk_outs": [walk]})]
    spec = {"specification.profile.readings_per_location": "1", "specification.profile.minimum": "2.8 mil"}
    text = "1 a x1 2.6; 1N a x1 2.7; 2N a x1 3.0; 3N a x1 3.0"
    verdict, conform, told = under(seen(text, surfaces=low, spec=spec), "profile")
    assert (verdict, conform) == ("does not conform", "2 of 4")
    assert told[0].startswith("A location 1: ")
    assert told[1].startswith("A, location 1N (walk-out): 2.70 mil")


SALTS = {"clause": "1.5", "maximum": "30 mg/m2", "expressed_as": "mixed salts by conductivity", "tests": "1"}


@pytest.mark.parametrize(
    ("spec", "reading", "surfaces", "marks", "told"),
    [
        ({"specification.soluble_salts": SALTS}, {}, {"coated": "13:00"},
         {"soluble salts": "inconclusive", "primer": "inconclusive"}, "without release"),
        ({}, {"time": "12:50", "humidity": "94 %"}, {"coated": "13:00"}, {"primer": "does not conform"},
         "in conditions outside the limits; without release"),
        ({}, {"time": "08:00", "humidity": "94 %"}, {}, {"decision": "does not conform"}, ""),
        ({"specification.sampling.locations": "2"}, {}, {}, {"profile": "inconclusive"}, ""),
        ({}, {}, {"coated": "13:00"}, {}, ""),
    ],
)  # fmt: skip
def test_no_area_is_all_green_beside_hold_or_rework_nor_is_a_primer_that_should_not_have_come(
    spec, reading, surfaces, marks, told
):
    stated = {"specification.time_to_coat": {"clause": "1.8", "maximum": "8 h"}} | spec
    context = seen(surfaces=[surface(**surfaces)], spec=stated, rule="simple", **reading)
    (area,) = context.evaluation.areas
    facts = {fact.label: fact for fact in area_facts(context, area)}
    found = {label: fact.verdict for label, fact in facts.items() if fact.verdict != "conforms"}
    if not surfaces:
        found.pop("primer", None)  # not coated yet
    assert found == marks
    (lane,) = area_lanes(context)
    if lane.primed:
        assert dict(lane.primed).popitem()[1] == facts["primer"].verdict
        assert facts["primer"].rest.removeprefix("; ") == told


def found_in(context, area="A"):
    (result,) = (one for one in context.evaluation.areas if one.id == area)
    return reasons(context, result)


def test_a_nonconformance_stands_behind_what_it_covers_and_nothing_else():
    raised = {
        "id": "NCR-1", "area": "A", "findings": ["profile-below-minimum"], "description": "low",
        "disposition": "rework", "decided_by": "eng", "status": "open",
    }  # fmt: skip
    made = job(
        "1 a x1 2.6; 2 a x1 3.0; 3 a x1 3.2",
        spec={"specification.profile": PROJECT["specification"]["profile"] | {
            "readings_per_location": "1", "minimum": "2.9 mil", "decision_rule": "guarded"}},
        day={"nonconformances": [raised]},
    )  # fmt: skip
    context = Context(made, evaluate(made), sample.ISSUE, Template(), catalogue("en"), 500.0, 700.0, None, {})
    (low, near), told = under(context, "profile")[2][0].split(" · NCR-1; "), found_in(context)
    assert ("location 1" in low, "location 1" in near, "location 2" in near) == (True, False, True)
    assert told.split(" · NCR-1; ")[0] == "1 of 3 locations low (1)"
    assert "guard band, location 2" in told.split(" · NCR-1; ")[1]


def test_locations_of_a_walk_out_that_fail_are_counted_beside_those_of_the_plan():
    walk = {"failing": "1", "interval": "0.6 m", "directions": [{"towards": "up", "locations": ["1N", "2N", "3N"]}]}
    spec = {"specification.profile.readings_per_location": "1", "specification.profile.minimum": "2.8 mil"}
    text = "1 a x1 2.6; 1N a x1 2.7; 2N a x1 3.0; 3N a x1 3.0"
    context = seen(text, surfaces=[surface(**{"profile.walk_outs": [walk]})], spec=spec)
    assert found_in(context).startswith("1 of 1 location low (1), 1 more on the walk-out (1N)")


def test_what_is_to_be_primed_by_a_time_is_due_by_then():
    context = seen(spec={"specification.time_to_coat": {"clause": "1.8", "maximum": "10 h"}})
    (coat,) = (one for one in actions(context) if one.what.startswith("Coat by"))
    assert coat.when == "19:00"


@pytest.mark.parametrize(("language", "told"), [("en", "1 of them with a value"), ("de", "1 davon mit Wert")])
def test_a_mean_of_fewer_locations_than_were_taken_says_of_how_many(language, told):
    context = seen("1 a x1 3.1; 1 b x1 2.9; 2 a x1 2.3; 2 b x1 2.9", language=language)
    (area,) = context.evaluation.areas
    fact = profile_fact(context, area)
    assert told in fact.rest
    assert told not in profile_fact(seen(language=language), seen().evaluation.areas[0]).rest


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", "Walk-out from {of} {}: two locations in each of four directions"),
        ("de", "Rundum messen von {of} {} aus: zwei Messstellen in jeder von vier Richtungen"),
    ],
)
@pytest.mark.parametrize("low", [1, 14])
def test_what_differs_by_its_location_alone_is_one_action_and_leaves_the_areas_first(language, told, low):
    text = "; ".join(f"{number} a x1 2.6" for number in range(1, low + 1))
    spec = {"specification.profile.readings_per_location": "1", "specification.profile.minimum": "2.8 mil"}
    context = seen(text, spec=spec, language=language)
    one, several = (
        ("location", "each of the locations") if language == "en" else ("Messstelle", "jeder der Messstellen")
    )
    where = "1" if low == 1 else "1–13, 14"
    whole = [action.what for action in actions(context) if action.what.startswith(told.partition(" from ")[0][:6])]
    assert whole == [told.format(where, of=one if low == 1 else several)]
    titles = [each.text for each in summary_pages(context) if isinstance(each, SectionTitle)]
    assert titles[0] == context.words("areas.title")


def test_what_differs_by_more_than_its_location_stays_apart():
    """Spots of one location lack another number of readings: so many rows as there are things to do."""
    context = seen("1 a x1 2.4; 1 b x1 2.4; 2 a x1 2.3; 2 b x1 2.9; 3 a x1 2.3; 3 b x1 2.9")
    told = [action.what for action in actions(context) if "reading" in action.what]
    assert told == [
        "A reading on coarse tape at each of the locations 1, 2, 3, spot a",
        "A reading on coarse tape at location 1, spot b",
    ]


@pytest.mark.parametrize(("low", "first"), [(1, "areas"), (40, "actions")])
def test_what_must_happen_comes_first_where_page_1_cannot_hold_all(low, first):
    text = "; ".join(f"{number} a x1 2.6" for number in range(1, low + 1))
    walks = [
        {
            "failing": str(number),
            "interval": "0.6 m",
            "directions": [{"towards": f"side {number}", "locations": []}],
        }
        for number in range(1, low)
    ]
    spec = {"specification.profile.readings_per_location": "1", "specification.profile.minimum": "2.8 mil"}
    context = seen(text, spec=spec, surfaces=[surface(**{"profile.walk_outs": walks})])
    titles = [one for one in summary_pages(context) if isinstance(one, SectionTitle)]
    assert titles[0].text == context.words("areas.title" if first == "areas" else "action.title")
    legends = [type(one).__name__ for one in summary_pages(context)]
    assert (legends[legends.index("Legend") - 1] == "SectionTitle") == (low > 1)


@pytest.mark.parametrize("areas", ["A", "AB"])
def test_the_budget_of_a_location_ends_in_its_combined_uncertainty_with_what_it_is_multiplied_by(areas):
    text = "1 a x1 3.1; 1 b x1 2.9; 2 a x1 2.7; 2 b x1 2.9"
    context = seen(*[text] * len(areas), surfaces=[surface(area=area) for area in areas])
    for area in context.evaluation.areas:
        shown = method._coverage(area)
        location = area.locations[0]
        assert shown[1:] == tuple(
            str(one)
            for one in (location.effective_degrees_of_freedom, location.coverage_factor, location.expanded_uncertainty)
        )
        # U = k u, as JCGM 100, 6.2.1 has it
        assert abs(location.standard_uncertainty * location.coverage_factor - location.expanded_uncertainty) < Decimal(
            "0.01"
        )


def test_what_is_prepared_again_need_not_be_read_again_before():
    spec = {"specification.time_to_coat": {"clause": "1.8", "maximum": "2 h"}}
    context = seen("1 a x1 2.3; 1 b x1 2.9", spec=spec)
    told = [one.what for one in actions(context)]
    assert [one for one in told if "repare the surface again" in one]
    assert not [one for one in told if "reading" in one]


@pytest.mark.parametrize("language", ["en", "de"])
def test_an_area_to_rework_is_not_said_to_be_settled_and_a_count_stands_once(language):
    failed = seen(language=language, **HELD["conditions failed, no nonconformance"])
    begins = failed.words("action.rework", what="").rstrip(": ")
    assert any(one.what[1:].startswith(begins[1:]) for one in actions(failed))
    (salts,) = actions(seen(language=language, **HELD["no salt test"]))
    assert [one for one in salts.what.split() if one.strip(":").isdigit()] == ["1"]


@pytest.mark.parametrize(("low", "told"), [("2.3", "hold, limit 21:00"), ("3.1", "limit 21:00")])
def test_bare_steel_has_the_end_of_its_time_and_beside_it_the_decision_where_that_is_no_release(low, told):
    spec = {"specification.time_to_coat": {"clause": "1.8", "maximum": "12 h"}}
    context = seen(f"1 a x1 3.1; 1 b x1 2.9; 2 a x1 {low}; 2 b x1 2.9", spec=spec)
    (area,) = context.evaluation.areas
    (lane,) = area_lanes(context)
    assert (area.decision == "release", [one.limit for one in lane.bare]) == (low == "3.1", [21 * 60])
    assert lane.below == told


def test_what_decides_comes_before_what_merely_holds():
    """Of a location below the limit, a missing one, a test, the time to coat: the deciding one is told."""
    spec = {
        "specification.sampling.locations": "4", "specification.soluble_salts": SALTS,
        "specification.time_to_coat": {"clause": "1.8", "maximum": "2 h"},
    }  # fmt: skip
    fails = {"observed": "SSPC-SP 6", "staining": "2 %"}
    context = seen("1 a x1 3.0; 2 a x1 3.1", spec=spec, surfaces=[surface(cleanliness=fails)])
    (area,) = context.evaluation.areas
    first, *others = reasons(context, area).split("; ")
    assert area.decision == "rework"
    assert first.startswith("grade SSPC-SP 6")
    assert others[-1].endswith("more: see requirements")


@pytest.mark.parametrize(
    ("text", "told"), [("1 a x1 3.0; 1 b x1 4.6", "1 location read, no value yet"), ("", "no profile measured")]
)
def test_what_was_read_without_a_value_is_not_said_to_be_unmeasured(text, told):
    context = seen(text, spec={"specification.profile.readings_per_location": "2"})
    (area,) = context.evaluation.areas
    shown = area_strip(context, area)
    assert getattr(shown, "text", "a strip") == told


@pytest.mark.parametrize(
    ("time", "found"), [("06:45", ("conforms", "1 of 1")), ("08:00", ("does not conform", "1 of 2"))]
)
def test_a_limit_of_work_is_not_missed_by_a_reading_while_nothing_was_done(time, found):
    early = FINE | {"time": "04:50" if time == "06:45" else time, "humidity": "94 %"}
    given = {"specification.conditions": {**LIMITS, "decision_rule": "simple"}, **TOOLS}
    made = job(spec=given, day={"conditions": [early, FINE]})
    context = Context(made, evaluate(made), sample.ISSUE, Template(), catalogue("en"), 500.0, 700.0, None, {})
    verdict, conform, told = limits(context)["maximum_humidity"]
    assert (verdict, conform) == found
    assert "94" in told  # what was read stands there all the same


def test_an_area_with_a_finding_under_sampling_is_not_counted_as_conforming_there():
    walk = {"failing": "1", "interval": "0.6 m", "directions": [{"towards": "up", "locations": ["1N"]}]}
    spec = {"specification.profile.readings_per_location": "1", "specification.profile.minimum": "2.8 mil"}
    context = seen("1 a x1 2.6; 1N a x1 2.7", surfaces=[surface(**{"profile.walk_outs": [walk]})], spec=spec)
    verdict, conform, told = under(context, "sampling")
    assert told
    assert (verdict, conform) == ("inconclusive", "0 of 1")


def test_what_is_alike_at_many_locations_stands_once():
    text = "; ".join(f"{number} a x1 2.6" for number in range(1, 31))
    spec = {"specification.profile.readings_per_location": "1", "specification.profile.minimum": "2.8 mil"}
    context = seen(text, spec=spec)
    (told,) = under(context, "sampling")[2]
    assert told.count("walk-out") == 1
    assert "locations 1–30: " in told
    (area,) = context.evaluation.areas
    assert "30 of 30 locations low (1–30)" in reasons(context, area)


LATE = {"specification.time_to_coat": {"clause": "1.8", "maximum": "2 h"}}
FAILED = {"observed": "SSPC-SP 6", "staining": "2 %"}


def told_of_day(raised=(), surfaces=None, spec=LATE, texts=()):
    entered = surfaces or [surface(cleanliness=FAILED)]
    made = job(*texts, spec=spec, day={"nonconformances": list(raised)}, surfaces=entered)
    context = Context(made, evaluate(made), sample.ISSUE, Template(), catalogue("en"), 500.0, 700.0, None, {})
    return {one.what: areas for one, areas in actions(context).items()}


def rework(number, area, **given):
    stated = {"id": f"NCR-{number}", "area": area, "findings": ["grade-not-met"], "description": "brush-off",
              "disposition": "rework", "decided_by": "eng", "status": "open",
              "corrective_action": "Blast again and measure again."}  # fmt: skip
    return stated | given


def test_steel_that_is_to_be_blasted_again_is_told_so_once():
    told = told_of_day([rework(1, "A")])
    assert [one for one in told if "again" in one] == ["Blast again and measure again. Closes NCR-1."]
    unraised = told_of_day()
    assert len([one for one in unraised if "repare" in one]) == 1
    assert next(iter(unraised)).startswith("Prepare again and inspect, or have it decided")


def test_steel_whose_time_has_passed_is_prepared_again_where_its_rework_is_no_blasting():
    """Washing for salts leaves the steel as long open as it was."""
    salts = {"specification.soluble_salts": SALTS, **LATE}
    wash = rework(1, "A", findings=["salts-above-maximum"], corrective_action="Wash and test again.")
    patch = {"location": "1", "area": "12.5 cm2", "volume": "3 ml", "blank": "2.1 uS/cm", "sample": "60 uS/cm"}
    tested = [surface(salts=[patch])]
    told = told_of_day([wash], surfaces=tested, spec=salts)
    assert [one for one in told if one.startswith("Prepare the surface again")]


def test_one_corrective_action_of_several_areas_is_one_row_with_their_numbers():
    surfaces = [surface(area=area, cleanliness=FAILED) for area in "AB"]
    told = told_of_day([rework(1, "A"), rework(2, "B")], surfaces=surfaces)
    assert told["Blast again and measure again. Closes NCR-1, NCR-2."] == ["A", "B"]


def test_what_becomes_of_the_steel_comes_before_what_is_to_be_completed():
    spec = {"specification.sampling.locations": "4", **LATE}
    told = list(told_of_day(spec=spec, texts=("1 a x1 3.0; 1 b x1 3.0",)))
    assert told[0].startswith("Prepare again")
    assert any("location" in one for one in told[1:])


def test_a_thing_to_do_at_many_locations_names_them_in_short():
    text = "; ".join(f"{number} a x1 2.6" for number in range(1, 31))
    spec = {"specification.profile.readings_per_location": "1", "specification.profile.minimum": "2.8 mil"}
    told = [one.what for one in actions(seen(text, spec=spec))]
    assert [one for one in told if "each of the locations 1–29, 30" in one]


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_legend_stays_on_the_paper(language):
    context = seen(language=language)
    area = context.evaluation.areas[0]
    walked = (area.locations[0], replace(area.locations[0], id="9", walk_out=area.locations[0].id))
    accepted = replace(area, decision="release", verdict="does not conform", locations=walked)
    context = replace(context, evaluation=replace(context.evaluation, areas=(accepted,)))
    legend = Legend(context)
    width, height = legend.wrap(380.0, 700.0)
    assert {"walked", "accepted", ""} < {kind for kind, _ in legend.entries}
    ends = [
        x + 9 + text_width(text, REGULAR, FINEST)
        for (x, _), (_, text) in zip(legend.places, legend.entries, strict=True)
    ]
    assert max(ends) <= width
    assert height == 9.0 * (1 + max(at for _, at in legend.places)) > 9.0
