"""Conditions: dew point, margin in the unit of its limit, windows, intervals, places; each sentence once."""

from decimal import Decimal

import pytest

from reportgen.intake.cells import TARGETS
from reportgen.intake.entries import NAMED_BY
from reportgen.measurements.conditions import CONDITIONS, ConditionLimits
from reportgen.measurements.conditions.codes import (
    MISSING as CONDITIONS_MISSING,
)
from reportgen.measurements.conditions.codes import (
    OUTSIDE_RANGE as OUTSIDE,
)
from reportgen.measurements.conditions.codes import (
    TOO_COLD,
    UNPLACED,
    AirAtLeast,
    AirAtMost,
    ConditionsElsewhere,
    ConditionsRequired,
    ConditionsUnread,
    HumidityAtMost,
    LimitMissed,
    MarginAtLeast,
    OutsideRange,
    ReadAtWork,
    ReadEvery,
    SteelAtLeast,
    SteelAtMost,
    WetBulbImpossible,
)
from reportgen.measurements.conditions.rule import outside
from reportgen.measurements.gaps import GapBefore, GapBetween
from reportgen.metrology.climate import ClimateRangeError, dew_point, humidity_from_wet_bulb
from reportgen.results import LeftOut, Place
from reportgen.results.facts import NOTHING, Amount, Word
from reportgen.sheet import sheet_plan
from reportgen.units import parse_quantity
from reportgen.words.sentences import sentences
from tests.unit.intake.small import job_of
from tests.unit.rules.factory import GOOD, codes, evaluated, finding, surface
from tests.unit.words.saying import told

LIMITS = {"clause": "1.4", "dew_point_margin": "3 delta_degC", "maximum_humidity": "85 %", "interval": "4 h"}
ENGLISH, GERMAN = sentences("en"), sentences("de")
NO_WORK = Word("work-none", "none")
AT_20_60 = {"air": "20 degC", "humidity": "60 %", "steel": "18.0 degC"}


def _amount(text, unit):
    return Amount(Decimal(text), unit)


def _work(*activities):
    return Word("work", " and ".join(activities))


EVERY_4_H = ReadEvery(_amount("4", "h"))


def _reading(time, place="span", **values):
    return {"time": time, "place": place, **AT_20_60, **values}


def _evaluated(*log, limits=LIMITS, **given):
    return evaluated(spec={"specification.conditions": limits}, day={"conditions": list(log)}, **given)


def test_twenty_degrees_and_sixty_percent():
    """20 °C and 60 % give a dew point of 12.0 °C (published; from memory and reproduced)."""
    (result,) = _evaluated(_reading("06:45")).conditions
    assert (str(result.dew_point), str(result.margin), str(result.humidity)) == ("12.0", "6.0", "60")
    assert (result.verdict, result.during, result.margin_unit) == ("conforms", ("blasting A",), "delta_degC")
    assert (result.air, result.steel) == (Decimal("20.0"), Decimal("18.0"))


@pytest.mark.parametrize(("variant", "humidity"), [(None, "58.6"), ("wmo", "58.6"), ("ams", "58.4")])
def test_both_psychrometer_variants(variant, humidity):
    """20/15 °C at 1013.25 hPa: 58.64 % and 11.65 °C by WMO, 58.44 % and 11.60 °C by AMS."""
    wet = _reading("06:45", humidity=None, wet_bulb="15 degC", pressure="1013.25 hPa")
    wet.pop("humidity")
    evaluation = _evaluated(wet, limits={**LIMITS, **({"psychrometer": variant} if variant else {})})
    (result,) = evaluation.conditions
    assert (str(result.humidity), str(result.dew_point)) == (humidity, "11.6")
    topic = [sentences().text(rule.rule) for rule in evaluation.rules if rule.topic == "humidity-from-wet-bulb"]
    assert topic == [f"{(variant or 'wmo').upper()} psychrometer coefficient"]


def test_five_fahrenheit_are_not_three_celsius():
    """A difference of 5 °F is 2.78 °C: 2.8 °C passes 5 °F and fails 3 °C."""
    steel = _reading("06:45", steel="14.8 degC")
    celsius = _evaluated(steel)
    fahrenheit = _evaluated(steel, limits={**LIMITS, "dew_point_margin": "5 delta_degF"})
    assert (str(celsius.conditions[0].margin), celsius.conditions[0].verdict) == ("2.8", "does not conform")
    result = fahrenheit.conditions[0]
    assert (str(result.margin), result.margin_unit, result.verdict) == ("5.0", "delta_degF", "conforms")
    assert finding(celsius, "dew-point-margin").facts.limit == MarginAtLeast(_amount("3", "delta_degC"))


def test_a_margin_that_would_print_as_its_limit_gets_another_digit():
    """Steel at 14.98 °C is less than 3 °C above a dew point of 12.0 °C, by hundredths: one digit would print 3.0."""
    evaluation = _evaluated(_reading("06:45", steel="14.98 degC"))
    (result,) = evaluation.conditions
    assert (str(result.margin), result.verdict) == ("2.98", "does not conform")
    assert finding(evaluation, "dew-point-margin").facts.value == _amount("2.98", "delta_degC")


LIMIT_CASES = [
    ("maximum_humidity", "59 %", {}, "humidity-above-maximum", ("60", "%"), HumidityAtMost(_amount("59", "%"))),
    ("minimum_steel", "19 degC", {}, "steel-too-cold", ("18.0", "degC"), SteelAtLeast(_amount("19", "degC"))),
    (
        "maximum_steel", "40 degC", {"steel_warmest": "41 degC", "confirmed": "yes"}, "steel-too-warm",
        ("41.0", "degC"), SteelAtMost(_amount("40", "degC")),
    ),
    ("maximum_steel", "17 degC", {}, "steel-too-warm", ("18.0", "degC"), SteelAtMost(_amount("17", "degC"))),
    (
        "minimum_air", "21 degC", {}, "air-temperature-outside-limits", ("20.0", "degC"),
        AirAtLeast(_amount("21", "degC")),
    ),
    (
        "maximum_air", "19 degC", {}, "air-temperature-outside-limits", ("20.0", "degC"),
        AirAtMost(_amount("19", "degC")),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("field", "limit", "values", "code", "value", "missed"), LIMIT_CASES)
def test_each_limit(field, limit, values, code, value, missed):
    evaluation = _evaluated(_reading("06:45", **values), limits={"clause": "1.4", field: limit})
    found = finding(evaluation, code)
    assert found.facts == LimitMissed("span", _amount(*value), missed, _work("blasting"))
    assert str(found.facts.value.value) == value[0], "with the digits printed"
    assert (found.place, found.area, found.clause) == (Place("A", time="06:45"), "A", "1.4")
    assert evaluation.areas[0].verdict == "does not conform"


def test_a_limit_that_is_met_hides_no_other():
    evaluation = _evaluated(_reading("06:45", humidity="90 %", steel="25 degC"))
    assert codes(evaluation)[0] == "humidity-above-maximum"
    assert "dew-point-margin" not in codes(evaluation)


def test_a_limit_applies_only_while_blasting_and_coating():
    cold = _reading("14:00", steel="12.0 degC")
    before = _reading("06:45")
    evaluation = _evaluated(before, cold)
    found = finding(evaluation, "dew-point-margin")
    assert (found.severity, found.area) == ("observation", None)
    limit = MarginAtLeast(_amount("3", "delta_degC"))
    assert found.facts == LimitMissed("span", _amount("0.0", "delta_degC"), limit, idle=NO_WORK)
    assert found.place == Place(time="14:00")
    assert (evaluation.areas[0].verdict, evaluation.areas[0].decision) == ("conforms", "release")
    coated = _evaluated(before, _reading("10:45"), cold, surfaces=[surface(coated="14:30")])
    assert finding(coated, "dew-point-margin").facts.work == _work("coating")
    assert coated.areas[0].verdict == "does not conform"


def test_a_reading_holds_until_the_next_at_its_place():
    log = (_reading("06:45"), _reading("08:00", steel="12.0 degC"))
    evaluation = _evaluated(*log)
    assert [result.during for result in evaluation.conditions] == [("blasting A",), ("blasting A",)]
    later = _evaluated(_reading("05:00"), _reading("06:45"))
    assert [result.during for result in later.conditions] == [(), ("blasting A",)]


def test_a_reading_at_the_very_time_of_coating_counts():
    evaluation = _evaluated(_reading("06:45"), _reading("14:00", steel="12.0 degC"), surfaces=[surface(coated="14:00")])
    assert [result.during for result in evaluation.conditions] == [("blasting A",), ("coating A",)]
    assert finding(evaluation, "dew-point-margin").area == "A"


@pytest.mark.parametrize(
    ("field", "limit"), [("minimum_steel", "18 degC"), ("maximum_steel", "19 degC"), ("maximum_humidity", "60 %")]
)
def test_a_value_on_its_limit_conforms(field, limit):
    evaluation = _evaluated(_reading("06:45", steel_warmest="19 degC"), limits={field: limit})
    assert (evaluation.conditions[0].verdict, codes(evaluation)) == ("conforms", [])


BOTH = [surface(), surface(area="B")]
APART = {
    "structures": [
        {"id": "S", "name": "Span", "place": "river", "areas": [{"id": "A", "name": "area A", "size": "40 m2"}]},
        {"id": "H", "name": "Hall", "place": "hall", "areas": [{"id": "B", "name": "area B", "size": "40 m2"}]},
    ]
}
COLD = {"steel": "12.0 degC"}


def _apart(*log, surfaces=BOTH):
    spec = {"specification.conditions": LIMITS, **APART}
    return evaluated(*[GOOD] * len(surfaces), spec=spec, day={"conditions": list(log)}, surfaces=surfaces)


def _failing(evaluation, code="dew-point-margin"):
    return [found.area for found in evaluation.findings if found.code == code]


def test_a_reading_neither_condemns_nor_clears_steel_elsewhere():
    good, bad = _reading("06:45", "river"), _reading("06:50", "hall", **COLD)
    evaluation = _apart(good, bad)
    assert _failing(evaluation) == ["B"]
    assert [(result.place, result.during) for result in evaluation.conditions] == [
        ("river", ("blasting A",)), ("hall", ("blasting B",)),
    ]  # fmt: skip
    assert [(area.decision, area.place) for area in evaluation.areas] == [("release", "river"), ("rework", "hall")]


@pytest.mark.parametrize("log", [(_reading("06:45", "river"),), (_reading("06:45", "river", areas=["A"]),)])
def test_an_area_that_no_reading_covers_is_on_hold(log):
    evaluation = _apart(*log, surfaces=[surface(), surface(area="B", coated="09:30")])
    found = finding(evaluation, "conditions-missing")
    assert found.facts == ConditionsElsewhere(_work("blasting", "coating"), "hall")
    assert (found.place, found.area, found.clause) == (Place("B"), "B", "1.4")
    assert [area.decision for area in evaluation.areas] == ["release", "hold"]
    assert "conditions-interval" not in codes(evaluation), "one cause is said once"


def test_intervals_are_counted_at_the_place_of_the_area():
    late = surface(area="B", coated="13:30")
    log = [_reading("06:45", "river"), _reading("06:50", "hall"), _reading("10:30", "river")]
    evaluation = _apart(*log, surfaces=[surface(coated="13:30"), late])
    assert _failing(evaluation, "conditions-interval") == ["B"]
    found = finding(evaluation, "conditions-interval")
    assert found.facts == ConditionsUnread(_work("coating"), GapBetween("06:50", "13:30"), EVERY_4_H)


def test_a_reading_without_a_place_in_a_contract_of_several_holds_what_it_may_concern():
    log = [_reading("06:45", "river"), _reading("06:50", "hall"), _reading("07:30", None, **COLD)]
    log[2].pop("place")
    evaluation = _apart(*log)
    unplaced = [one.place for one in evaluation.findings if one.code == "conditions-unplaced"]
    assert unplaced == [Place("A", time="07:30"), Place("B", time="07:30")]
    assert _failing(evaluation) == []
    assert [area.decision for area in evaluation.areas] == ["hold", "hold"]
    alone = _apart(log[2])
    missing = [found.facts for found in alone.findings if found.code == "conditions-missing"]
    assert missing == [ConditionsElsewhere(_work("blasting"), place, 1) for place in ("river", "hall")]


@pytest.mark.parametrize(
    ("times", "expected"),
    [
        (("07:30", "10:30"), [("A", "07:30"), ("B", "10:30")]),
        (("09:00", "10:30"), [("A", "09:00"), ("B", "10:30")]),  # the blasting of A ends with the reading
        (("09:01", "10:30"), [("B", "10:30")]),
        (("07:30", "11:00"), [("A", "07:30"), ("B", "11:00")]),  # that of B begins with the next reading
        (("07:30", "11:01"), [("A", "07:30"), ("B", "07:30"), ("B", "11:01")]),
        (("06:00", "06:30"), [("A", "06:30"), ("B", "06:30")]),
    ],
)
def test_a_reading_without_a_place_may_concern_work_until_the_next_such(times, expected):
    """A is blasted from 07:00 to 09:00, B from 11:00 to 12:00."""
    later = surface(area="B", coated=None, blasted={"start": "11:00", "end": "12:00", "abrasive": "grit 1"})
    log = [_reading("06:45", "river"), _reading("06:50", "hall"), *(_reading(time, None) for time in times)]
    for silent in log[2:]:
        silent.pop("place")
    found = _apart(*log, surfaces=[surface(coated=None), later]).findings
    assert [(one.place.area, one.place.time) for one in found if one.code == "conditions-unplaced"] == expected


def test_a_reading_without_a_place_after_all_work_holds_nothing():
    idle = {**_reading("16:00"), **COLD}
    idle.pop("place")
    evaluation = _apart(_reading("06:45", "river"), _reading("06:50", "hall"), idle)
    assert (codes(evaluation), [area.decision for area in evaluation.areas]) == ([], ["release", "release"])


def test_where_a_contract_has_one_place_nothing_need_be_written():
    silent = _reading("06:45", **COLD)
    silent.pop("place")
    evaluation = _evaluated(silent, surfaces=BOTH)
    assert _failing(evaluation) == ["A", "B"]
    assert (evaluation.conditions[0].place, evaluation.areas[0].place) == (None, None)
    assert finding(_evaluated(silent), "dew-point-margin").facts.taken_at is None


def test_areas_that_are_listed_are_printed_with_the_place():
    listed = _reading("06:45", "river", areas=["A"])
    alone = {**_reading("06:50", areas=["B"]), **COLD}
    alone.pop("place")
    evaluation = _apart(listed, alone)
    assert [result.place for result in evaluation.conditions] == ["river (A)", "B"]
    found = finding(evaluation, "dew-point-margin")
    assert (found.place, found.facts.taken_at) == (Place("B", time="06:50"), "B")


def test_two_spots_of_one_place_have_logs_of_their_own():
    """The later reading at the south end does not end the bad one at the north end."""
    north, south = _reading("06:45", "north end", areas=["A"], **COLD), _reading("06:50", "south end", areas=["A"])
    assert _failing(_evaluated(north, south)) == ["A"]


def test_a_place_named_like_the_structure_or_the_area_covers_it():
    good, bad = _reading("06:45", place="a"), _reading("06:50", place="B", **COLD)
    assert _failing(_evaluated(good, bad, surfaces=BOTH)) == ["B"]
    assert _failing(_evaluated(_reading("06:50", place="SPAN", **COLD), surfaces=BOTH)) == ["A", "B"]


@pytest.mark.parametrize(
    ("times", "work", "gap"),
    [
        ([], "blasting", GapBefore("07:00")),
        (["07:10"], "blasting", GapBefore("07:00")),
        (["04:30"], "blasting", GapBetween("04:30", "09:00")),
        (["06:45"], "coating", GapBetween("06:45", "14:00")),
    ],
)
def test_the_log_has_no_gaps_while_work_goes_on(times, work, gap):
    evaluation = _evaluated(*[_reading(time) for time in times], surfaces=[surface(coated="14:00")])
    found = finding(evaluation, "conditions-interval")
    assert (found.facts, found.place) == (ConditionsUnread(_work(work), gap, EVERY_4_H), Place("A"))
    assert evaluation.areas[0].decision == "hold"


def test_readings_exactly_an_interval_apart_leave_no_gap():
    assert codes(_evaluated(_reading("05:00"))) == []
    assert codes(_evaluated(_reading("04:59"))) == ["conditions-interval"]


def test_a_complete_log_has_no_finding():
    assert codes(_evaluated(_reading("06:45"), _reading("10:40"), surfaces=[surface(coated="14:00")])) == []


def test_without_an_interval_any_reading_in_the_window_will_do():
    limits = {"maximum_humidity": "85 %"}
    assert codes(_evaluated(_reading("08:00"), limits=limits)) == []
    found = finding(_evaluated(_reading("09:30"), limits=limits), "conditions-interval")
    assert found.facts == ConditionsUnread(_work("blasting"), GapBefore("09:00"), ReadAtWork())


@pytest.mark.parametrize(("read", "told"), [(("06:45",), True), (("06:45", "10:40"), False), (("10:40",), False)])
def test_work_long_after_its_reading_is_named_where_no_interval_is_stated(read, told):
    """Blasted from 07:00 to 09:00 and primed at 14:00."""
    log = [_reading(time) for time in read]
    limits = {"maximum_humidity": "85 %"}
    evaluation = _evaluated(*log, limits=limits, surfaces=[surface(coated="14:00")])
    gaps = [one for one in evaluation.not_evaluated if one.code == "conditions-without-interval"]
    assert bool(gaps) is told
    assert all("the contract states no interval" in sentences("en").left_out(one) for one in gaps)
    assert all("der Vertrag nennt keinen Abstand" in sentences("de").left_out(one) for one in gaps)
    stated = _evaluated(*log, limits=limits | {"interval": "8 h"}, surfaces=[surface(coated="14:00")])
    assert "conditions-without-interval" not in [one.code for one in stated.not_evaluated]


def test_without_limits_the_log_is_shown_and_not_judged():
    evaluation = evaluated(day={"conditions": [_reading("06:45")]})
    assert [result.verdict for result in evaluation.conditions] == ["not evaluated"]
    assert LeftOut("conditions-without-limit", Place(), NOTHING) in evaluation.not_evaluated


@pytest.mark.parametrize("during", [True, False])
def test_a_reading_outside_the_range_of_the_formula_gives_no_verdict(during):
    wet = {
        "time": "06:45" if during else "16:00",
        "place": "span",
        "air": "20 degC",
        "wet_bulb": "1 degC",
        "pressure": "1013 hPa",
        "steel": "18 degC",
    }
    log = [_reading("06:40"), wet] if not during else [wet]
    evaluation = _evaluated(*log)
    assert len(evaluation.conditions) == len(log) - 1
    why = WetBulbImpossible(_amount("20", "degC"), _amount("1013", "hPa"), _amount("1", "degC"))
    left_out = LeftOut("conditions-not-computed", Place(time=wet["time"]), OutsideRange("span", why))
    assert left_out in evaluation.not_evaluated
    found = [one for one in evaluation.findings if one.code == "conditions-outside-range"]
    assert [(one.facts, one.place) for one in found] == [(left_out.facts, Place("A", time=wet["time"]))] * during


def test_ice_on_the_wick_is_another_coefficient():
    wet = {
        "time": "06:45",
        "place": "span",
        "air": "1 degC",
        "wet_bulb": "-1 degC",
        "pressure": "1013 hPa",
        "steel": "5 degC",
    }
    water, ice = (_evaluated({**wet, "wet_bulb_iced": iced}).conditions[0].humidity for iced in ("no", "yes"))
    assert water != ice


@pytest.mark.parametrize(
    ("read", "missed"),
    [({"steel": "-12.0 degC"}, ["dew-point-margin", "steel-too-cold"]),  # asked about by the air beside it
     ({"air": "-18.2 degC", "humidity": "80 %"}, ["air-temperature-outside-limits"]),  # another sign than all the steel
     ({"steel_warmest": "45.0 degC"}, ["steel-too-warm"])],
)  # fmt: skip
def test_nothing_is_missed_beside_the_question_whether_an_entry_is_right(read, missed):
    """It holds the area; confirmed, it counts as written and fails it."""
    limits = {**LIMITS, "minimum_steel": "5 degC", "minimum_air": "5 degC", "maximum_steel": "40 degC"}
    asked, confirmed = (
        _evaluated({**_reading("06:45", **read), **more}, limits=limits) for more in ({}, {"confirmed": "yes"})
    )
    assert (asked.areas[0].decision, asked.conditions[0].verdict) == ("hold", "inconclusive")
    assert codes(asked) == ["entry-doubtful"]
    assert confirmed.conditions[0].verdict == "does not conform"
    assert set(missed) <= set(codes(confirmed, "A"))


@pytest.mark.parametrize(("air", "found"), [("120 degC", ["entry-doubtful"]), ("61 degC", ["entry-doubtful"])])
def test_nor_is_a_dew_point_out_of_reach_beside_it(air, found):
    assert codes(_evaluated(_reading("06:45", air=air))) == found
    sure = codes(_evaluated(_reading("06:45", air=air, confirmed="yes")))
    assert {"conditions-outside-range", "entry-confirmed"} == set(sure)


def test_humidity_that_was_read_is_judged_where_there_is_no_dew_point():
    """Air beyond the range of the formula takes the margin away, and excuses no other limit."""
    moist, dry = (
        _evaluated(_reading("06:45", air="61 degC", humidity=humidity, confirmed="yes"))
        for humidity in ("93 %", "60 %")
    )
    missed = {"conditions-outside-range", "humidity-above-maximum"}
    assert missed <= set(codes(moist, "A"))
    assert moist.areas[0].decision == "rework"
    assert "humidity-above-maximum" not in codes(dry, "A")
    assert (moist.conditions, dry.areas[0].decision) == ((), "hold")


def test_limits_as_facts():
    stated = ConditionLimits.model_validate({**LIMITS, "minimum_steel": "41 degF", "maximum_air": "40 degC"})
    assert CONDITIONS.limit_facts(stated) == ConditionsRequired(
        (
            MarginAtLeast(_amount("3", "delta_degC")), HumidityAtMost(_amount("85", "%")),
            SteelAtLeast(_amount("41", "degF")), AirAtMost(_amount("40", "degC")), EVERY_4_H,
        )
    )  # fmt: skip
    assert CONDITIONS.limit_facts(ConditionLimits()) == ConditionsRequired()


# What the rooms above make of its declaration


def test_its_block_on_the_field_sheet():
    (block,) = [block for block in sheet_plan(job_of()).blocks if block.kind == "conditions"]
    units = job_of().project.units
    assert (block.title, len(block.rows)) == ("Conditions", 8)
    assert [(cell.key, cell.heading, cell.unit, cell.share) for cell in block.cells] == [
        ("time", "Time", "", 1.0), ("place", "Place", "", 2.3), ("air", "Air", units.temperature, 0.9),
        ("humidity", "Hum.", "%", 0.9), ("wet_bulb", "Wet b.", units.temperature, 0.9),
        ("pressure", "Press.", units.pressure, 1.0), ("steel", "Steel", units.temperature, 0.9),
        ("instruments", "Instr.", "", 1.2),
    ]  # fmt: skip
    assert [cell.ask for cell in block.cells if cell.key in ("humidity", "steel")] == [
        "relative humidity; or wet bulb and pressure", "the coldest steel",
    ]  # fmt: skip


def test_its_cells_and_names_when_a_sheet_is_taken_in():
    assert {name: (cell.quantity, cell.ids, cell.clock) for name, cell in TARGETS["conditions"].items()} == {
        "time": (None, False, True), "place": (None, False, False), "air": ("temperature", False, False),
        "humidity": ("share", False, False), "wet_bulb": ("temperature", False, False),
        "pressure": ("pressure", False, False), "steel": ("temperature", False, False),
        "steel_warmest": ("temperature", False, False),
        "instruments": (None, True, False),
    }  # fmt: skip
    assert NAMED_BY["conditions"] == ("time", "place")


# Sentences, each once


@pytest.mark.parametrize(
    ("field", "limit", "values", "english", "german"),
    [
        (
            "dew_point_margin", "7 delta_degC", {}, ("steel above the dew point by 6.0 °C", "by at least 7 °C"),
            ("Stahl über dem Taupunkt um 6.0 °C", "Stahl mindestens 7 °C über dem Taupunkt"),
        ),
        (
            "maximum_humidity", "59 %", {}, ("relative humidity 60 %", "relative humidity at most 59 %"),
            ("relative Feuchte 60 %", "relative Feuchte höchstens 59 %"),
        ),
        (
            "minimum_steel", "19 degC", {}, ("steel temperature 18.0 °C", "steel temperature at least 19 °C"),
            ("Stahltemperatur 18.0 °C", "Stahltemperatur mindestens 19 °C"),
        ),
        (
            "maximum_steel", "17 degC", {}, ("steel temperature 18.0 °C", "steel temperature at most 17 °C"),
            ("Stahltemperatur 18.0 °C", "Stahltemperatur höchstens 17 °C"),
        ),
        (
            "minimum_air", "21 degC", {}, ("air temperature 20.0 °C", "air temperature at least 21 °C"),
            ("Lufttemperatur 20.0 °C", "Lufttemperatur mindestens 21 °C"),
        ),
        (
            "maximum_air", "19 degC", {}, ("air temperature 20.0 °C", "air temperature at most 19 °C"),
            ("Lufttemperatur 20.0 °C", "Lufttemperatur höchstens 19 °C"),
        ),
    ],
)  # fmt: skip
def test_what_missed_its_limit(field, limit, values, english, german):
    evaluation = _evaluated(_reading("06:45", **values), limits={field: limit})
    (found,) = [one for one in evaluation.findings if isinstance(one.facts, LimitMissed)]
    assert ENGLISH.observed(found) == f"06:45, span: {english[0]} while blasting"
    assert ENGLISH.required(found).endswith(english[1])
    assert ENGLISH.told(found) == f"{ENGLISH.observed(found)}; {ENGLISH.required(found)} required"
    assert GERMAN.observed(found) == f"06:45, span: {german[0]} beim Strahlen"
    assert GERMAN.required(found) == german[1]
    assert GERMAN.told(found) == f"{GERMAN.observed(found)}; gefordert: {german[1]}"


def test_where_nothing_was_done():
    idle = finding(_evaluated(_reading("06:45"), _reading("14:00", steel="12.0 degC")), "dew-point-margin")
    said = "14:00, span: steel above the dew point by 0.0 °C, nothing blasted or coated"
    assert ENGLISH.observed(idle) == said
    assert GERMAN.observed(idle) == "14:00, span: Stahl über dem Taupunkt um 0.0 °C, nichts gestrahlt oder grundiert"


def test_what_was_not_read_in_time():
    found = finding(_evaluated(_reading("06:45"), surfaces=[surface(coated="14:00")]), "conditions-interval")
    observed = "coating: no reading between 06:45 and 14:00"
    assert (ENGLISH.observed(found), ENGLISH.required(found)) == (
        observed,
        "a reading before work begins and every 4 h",
    )
    assert ENGLISH.told(found) == f"air and steel not measured in time: {observed}; {ENGLISH.required(found)} required"
    assert GERMAN.observed(found) == "Grundieren: keine Messung zwischen 06:45 und 14:00"
    assert GERMAN.required(found) == "eine Messung vor Beginn der Arbeit und alle 4 h"
    assert GERMAN.told(found).startswith("Luft und Stahl nicht rechtzeitig gemessen: Grundieren: ")
    never = finding(_evaluated(limits={"maximum_humidity": "85 %"}), "conditions-interval")
    assert ENGLISH.observed(never) == "blasting: no reading before 09:00"
    assert ENGLISH.required(never) == "a reading of the conditions while blasting and coating"
    assert GERMAN.required(never) == "eine Klimamessung beim Strahlen und Grundieren"


@pytest.mark.parametrize(
    ("silent", "english", "german"),
    [
        (None, "", ""), (1, ", 1 reading without a place", ", 1 Messung ohne Ort"),
        (2, ", 2 readings without a place", ", 2 Messungen ohne Ort"),
    ],
)  # fmt: skip
def test_what_was_read_elsewhere(silent, english, german):
    found = CONDITIONS_MISSING.found(ConditionsElsewhere(_work("blasting"), "hall", silent), Place("B"))
    assert ENGLISH.observed(found) == f"blasting: no reading at hall{english}"
    assert GERMAN.observed(found) == f"Strahlen: keine Messung an dem Ort hall{german}"
    assert (ENGLISH.required(found), GERMAN.required(found)) == (
        "readings at the place of the area", "Messungen am Ort der Fläche",
    )  # fmt: skip
    assert ENGLISH.told(found) == f"air and steel not measured at its place: {ENGLISH.observed(found)}"
    assert GERMAN.told(found) == f"Luft und Stahl nicht an ihrem Ort gemessen: {GERMAN.observed(found)}"


def test_a_reading_that_does_not_say_where():
    found = UNPLACED.found(NOTHING, Place("A", time="07:30"))
    assert (ENGLISH.observed(found), GERMAN.observed(found)) == ("07:30, no place stated", "07:30, kein Ort genannt")
    assert ENGLISH.told(found) == ("07:30, no place stated: the reading of the conditions may be of this area or not")
    assert (ENGLISH.required(found), GERMAN.required(found)) == (
        "the place of each reading, of several", "bei mehreren Orten der Ort jeder Messung",
    )  # fmt: skip


def _refusal(compute):
    with pytest.raises(ClimateRangeError) as caught:
        compute()
    return caught.value


def _wet(wet, air="20 degC", pressure="1013 hPa", wick="water"):
    read = [
        parse_quantity(air, "temperature"),
        parse_quantity(wet, "temperature"),
        parse_quantity(pressure, "pressure"),
    ]
    return lambda: humidity_from_wet_bulb(*read, psychrometer="wmo", wick=wick)


def _dew(air, humidity):
    return lambda: dew_point(parse_quantity(air, "temperature"), parse_quantity(humidity, "share"))


@pytest.mark.parametrize(
    ("compute", "german"),
    [
        (
            _dew("70 degC", "50 %"),
            "die Lufttemperatur 70 °C liegt außerhalb von -45 bis 60 °C, wo die Formel über Wasser gilt",
        ),
        (
            _wet("-70 degC", wick="ice"),
            "die Feuchttemperatur -70 °C liegt außerhalb von -65 bis 0.01 °C, wo die Formel über Eis gilt",
        ),
        (
            _dew("20 degC", "0 %"),
            "die relative Feuchte muss über 0 % und höchstens bei 100 % liegen, eingetragen ist 0 %",
        ),
        (
            _dew("-40 degC", "10 %"),
            "der Taupunkt über Wasser läge bei -60.0 °C, außerhalb von -45 bis 60 °C, wo die Formel gilt",
        ),
        (_wet("15 degC", pressure="600 hPa"), "der Luftdruck 600 hPa weicht um mehr als 30 % von 1013.25 hPa ab"),
        (_wet("21 degC"), "die Feuchttemperatur 21 °C liegt über der Trockentemperatur 20 °C"),
        (_wet("1 degC"), "Luft von 20 °C bei 1013 hPa kann keine Feuchttemperatur von 1 °C haben"),
    ],
)  # fmt: skip
def test_why_there_is_no_dew_point(compute, german):
    """In English as the formula itself refuses it."""
    error = _refusal(compute)
    facts = OutsideRange("span", outside(error))
    found = OUTSIDE.found(facts, Place("A", time="06:45"))
    message = error.message
    assert ENGLISH.observed(found) == f"06:45, span: {message}"
    assert GERMAN.observed(found) == f"06:45, span: {german}"
    assert ENGLISH.told(found) == f"no dew point: 06:45, span: {message}"
    assert ENGLISH.required(found) == "range of the formula"
    gap = LeftOut("conditions-not-computed", Place(time="06:45"), facts)
    assert ENGLISH.left_out(gap) == f"conditions at 06:45: {message}"
    assert GERMAN.left_out(gap) == f"Klima um 06:45: {german}"


def test_limits_and_what_is_left_out():
    limits = CONDITIONS.limit_facts(ConditionLimits.model_validate(LIMITS))
    words = (
        "steel above the dew point by at least 3 °C, relative humidity at most 85 %, "
        "a reading before work begins and every 4 h"
    )
    assert ENGLISH.say("limit", "conditions", limits) == words
    assert ENGLISH.say("note", "conditions", limits) == f"Contract: {words}."
    assert ENGLISH.say("note", "conditions", ConditionsRequired()) == ""
    gap = LeftOut("conditions-without-limit", Place(), NOTHING)
    assert ENGLISH.left_out(gap) == "conditions: the contract states no limits"
    assert GERMAN.left_out(gap) == "Klima: der Vertrag nennt keine Grenzwerte"


def test_how_a_reading_came_about():
    (result,) = _evaluated(_reading("06:45"), surfaces=[surface(coated="10:00")]).conditions
    step = CONDITIONS.bears_on(result, "A")
    assert CONDITIONS.bears_on(result, "B") is None
    assert [ENGLISH.text(one) for one in (step.what, *step.inputs, step.rule, step.result)] == [
        "conditions at 06:45, span", "air 20.0 °C", "humidity 60 %", "steel 18.0 °C",
        "limits apply to blasting A, coating A", "dew point 12.0 °C, margin 6.0 °C: conforms",
    ]  # fmt: skip
    assert [GERMAN.text(one) for one in (step.what, *step.inputs, step.rule, step.result)] == [
        "Klima um 06:45, span", "Luft 20.0 °C", "Feuchte 60 %", "Stahl 18.0 °C",
        "Grenzwerte gelten für Strahlen A, Grundieren A", "Taupunkt 12.0 °C, Abstand 6.0 °C: erfüllt",
    ]  # fmt: skip


def test_a_time_at_the_beginning_goes_on_after_a_comma():
    """So it is said of the place of a finding, with its date too; not of one whose sentence begins otherwise."""
    missed = LimitMissed("weir", _amount("3.0", "degC"), SteelAtLeast(_amount("5", "degC")), _work("coating"))
    words = "weir: steel temperature 3.0 °C while coating; steel temperature at least 5 °C required [steel-too-cold]"
    for time in ("15:40", "2026-05-15 00:20"):
        assert told([TOO_COLD.found(missed, Place("G-6", time=time))]) == [f"G-6, {time}, {words}"]
    refused = OutsideRange("weir", WetBulbImpossible(*[_amount("1", "degC")] * 3))
    assert told([OUTSIDE.found(refused, Place("G-6", time="15:40"))])[0].startswith("G-6: no dew point: 15:40, weir: ")
