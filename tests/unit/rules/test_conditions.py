"""Dew point, margin in the unit of its limit, windows, intervals, places."""

from decimal import Decimal

import pytest

from reportgen.words.sentences import sentences
from tests.unit.rules.factory import GOOD, codes, evaluated, finding, surface

LIMITS = {"clause": "1.4", "dew_point_margin": "3 delta_degC", "maximum_humidity": "85 %", "interval": "4 h"}
AT_20_60 = {"air": "20 degC", "humidity": "60 %", "steel": "18.0 degC"}


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
    topic = [rule.rule for rule in evaluation.rules if rule.topic == "humidity from the wet bulb"]
    assert topic == [f"{(variant or 'wmo').upper()} psychrometer coefficient"]


def test_five_fahrenheit_are_not_three_celsius():
    """A difference of 5 °F is 2.78 °C: 2.8 °C passes 5 °F and fails 3 °C."""
    steel = _reading("06:45", steel="14.8 degC")
    celsius = _evaluated(steel)
    fahrenheit = _evaluated(steel, limits={**LIMITS, "dew_point_margin": "5 delta_degF"})
    assert (str(celsius.conditions[0].margin), celsius.conditions[0].verdict) == ("2.8", "does not conform")
    result = fahrenheit.conditions[0]
    assert (str(result.margin), result.margin_unit, result.verdict) == ("5.0", "delta_degF", "conforms")
    assert finding(celsius, "dew-point-margin").requirement == "steel above the dew point by at least 3 °C"


def test_a_margin_that_would_print_as_its_limit_gets_another_digit():
    """Steel at 14.98 °C is less than 3 °C above a dew point of 12.0 °C, by hundredths: one digit would print 3.0."""
    evaluation = _evaluated(_reading("06:45", steel="14.98 degC"))
    (result,) = evaluation.conditions
    assert (str(result.margin), result.verdict) == ("2.98", "does not conform")
    assert "above the dew point by 2.98 °C" in finding(evaluation, "dew-point-margin").observed


LIMIT_CASES = [
    ("maximum_humidity", "59 %", {}, "humidity-above-maximum", "relative humidity 60.0 %", "at most 59 %"),
    ("minimum_steel", "19 degC", {}, "steel-too-cold", "steel temperature 18.0 °C", "at least 19 °C"),
    (
        "maximum_steel", "40 degC", {"steel_warmest": "41 degC", "confirmed": "yes"}, "steel-too-warm",
        "steel temperature 41.0 °C", "at most 40 °C",
    ),
    ("maximum_steel", "17 degC", {}, "steel-too-warm", "steel temperature 18.0 °C", "at most 17 °C"),
    ("minimum_air", "21 degC", {}, "air-temperature-outside-limits", "air temperature 20.0 °C", "at least 21 °C"),
    ("maximum_air", "19 degC", {}, "air-temperature-outside-limits", "air temperature 20.0 °C", "at most 19 °C"),
]  # fmt: skip


@pytest.mark.parametrize(("field", "limit", "values", "code", "observed", "requirement"), LIMIT_CASES)
def test_each_limit(field, limit, values, code, observed, requirement):
    evaluation = _evaluated(_reading("06:45", **values), limits={"clause": "1.4", field: limit})
    found = finding(evaluation, code)
    assert found.observed == f"06:45, span: {observed} while blasting"
    what = observed.rsplit(" ", 2)[0]
    assert (found.requirement, found.area, found.clause) == (f"{what} {requirement}", "A", "1.4")
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
    assert found.observed == "14:00, span: steel above the dew point by 0.0 °C, nothing blasted or coated"
    assert (evaluation.areas[0].verdict, evaluation.areas[0].decision) == ("conforms", "release")
    coated = _evaluated(before, _reading("10:45"), cold, surfaces=[surface(coated="14:30")])
    assert finding(coated, "dew-point-margin").observed.endswith("0.0 °C while coating")
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
    ("field", "limit"), [("minimum_steel", "18 degC"), ("maximum_steel", "18 degC"), ("maximum_humidity", "60 %")]
)
def test_a_value_on_its_limit_conforms(field, limit):
    evaluation = _evaluated(_reading("06:45"), limits={field: limit})
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
    assert (found.area, found.observed) == ("B", "blasting and coating: no reading at hall")
    assert (found.requirement, found.clause) == ("readings at the place of the area", "1.4")
    assert [area.decision for area in evaluation.areas] == ["release", "hold"]
    assert "conditions-interval" not in codes(evaluation), "one cause is said once"


def test_intervals_are_counted_at_the_place_of_the_area():
    late = surface(area="B", coated="13:30")
    log = [_reading("06:45", "river"), _reading("06:50", "hall"), _reading("10:30", "river")]
    evaluation = _apart(*log, surfaces=[surface(coated="13:30"), late])
    assert _failing(evaluation, "conditions-interval") == ["B"]
    assert finding(evaluation, "conditions-interval").observed == "coating: no reading between 06:50 and 13:30"


def test_a_reading_without_a_place_in_a_contract_of_several_holds_what_it_may_concern():
    log = [_reading("06:45", "river"), _reading("06:50", "hall"), _reading("07:30", None, **COLD)]
    log[2].pop("place")
    evaluation = _apart(*log)
    assert _failing(evaluation, "conditions-unplaced") == ["A", "B"]
    assert _failing(evaluation) == []
    assert [area.decision for area in evaluation.areas] == ["hold", "hold"]
    alone = _apart(log[2])
    missing = [found.observed for found in alone.findings if found.code == "conditions-missing"]
    assert missing == ["blasting: no reading at river, 1 reading without a place",
                       "blasting: no reading at hall, 1 reading without a place"]  # fmt: skip


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
    assert finding(_evaluated(silent), "dew-point-margin").observed.startswith("06:45: steel above")


def test_areas_that_are_listed_are_printed_with_the_place():
    listed = _reading("06:45", "river", areas=["A"])
    alone = {**_reading("06:50", areas=["B"]), **COLD}
    alone.pop("place")
    evaluation = _apart(listed, alone)
    assert [result.place for result in evaluation.conditions] == ["river (A)", "B"]
    assert finding(evaluation, "dew-point-margin").observed.startswith("06:50, B: ")


def test_two_spots_of_one_place_have_logs_of_their_own():
    """The later reading at the south end does not end the bad one at the north end."""
    north, south = _reading("06:45", "north end", areas=["A"], **COLD), _reading("06:50", "south end", areas=["A"])
    assert _failing(_evaluated(north, south)) == ["A"]


def test_a_place_named_like_the_structure_or_the_area_covers_it():
    good, bad = _reading("06:45", place="a"), _reading("06:50", place="B", **COLD)
    assert _failing(_evaluated(good, bad, surfaces=BOTH)) == ["B"]
    assert _failing(_evaluated(_reading("06:50", place="SPAN", **COLD), surfaces=BOTH)) == ["A", "B"]


@pytest.mark.parametrize(
    ("times", "observed"),
    [
        ([], "blasting: no reading before 07:00"),
        (["07:10"], "blasting: no reading before 07:00"),
        (["04:30"], "blasting: no reading between 04:30 and 09:00"),
        (["06:45"], "coating: no reading between 06:45 and 14:00"),
    ],
)
def test_the_log_has_no_gaps_while_work_goes_on(times, observed):
    evaluation = _evaluated(*[_reading(time) for time in times], surfaces=[surface(coated="14:00")])
    found = finding(evaluation, "conditions-interval")
    assert found.observed == observed
    assert found.requirement == "a reading before work begins and every 4 h"
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
    assert found.observed == "blasting: no reading before 09:00"
    assert found.requirement == "a reading of the conditions while blasting and coating"


def test_without_limits_the_log_is_shown_and_not_judged():
    evaluation = evaluated(day={"conditions": [_reading("06:45")]})
    assert [result.verdict for result in evaluation.conditions] == ["not evaluated"]
    assert "conditions: the contract states no limits" in evaluation.not_evaluated


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
    left_out = map(sentences().left_out, evaluation.not_evaluated)
    assert [line for line in left_out if line.startswith(f"conditions at {wet['time']}: ")]
    assert ("conditions-outside-range" in codes(evaluation, "A")) == during


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
