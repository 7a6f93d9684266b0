"""What must hold of the decision rule of the conditions: unit, order, duplication, larger errors, what is unknown."""

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.thorough import repeats
from tests.unit.rules.factory import evaluated

ORDER = ["does not conform", "inconclusive", "conforms"]
RULES = st.sampled_from([None, "simple", "guarded", "banded"])
READINGS = st.lists(
    st.tuples(st.integers(50, 300), st.integers(30, 99), st.integers(-50, 80)), min_size=1, max_size=3
)  # fmt: skip
"""Air in tenths of °C, humidity in %, steel above or below the air in tenths of °C."""
few = settings(max_examples=repeats(30), deadline=None)


def _tools(times=1):
    degrees = f"{Decimal('0.5') * times} delta_degC"
    return {
        "instruments.h1": {
            "kind": "hygrometer", "serial": "1", "accuracy": f"{3 * times} %", "temperature_accuracy": degrees,
        },
        "instruments.t1": {"kind": "surface thermometer", "serial": "2", "accuracy": degrees},
    }  # fmt: skip


def _tenths(number):
    return Decimal(number) / 10


def _log(readings, *, fahrenheit=False, instruments=("h1", "t1")):
    def temperature(celsius):
        return f"{celsius * 9 / 5 + 32} degF" if fahrenheit else f"{celsius} degC"

    return [
        {
            "time": f"06:{minute:02}", "place": "span", "air": temperature(_tenths(air)), "humidity": f"{humidity} %",
            "steel": temperature(_tenths(air + apart)), "instruments": list(instruments), "confirmed": "yes",
        }
        for minute, (air, humidity, apart) in enumerate(readings, 10)
    ]  # fmt: skip


def _evaluated(log, rule, tools=None, **limits):
    stated = {"dew_point_margin": "3 delta_degC", "maximum_humidity": "85 %", "minimum_steel": "5 degC", **limits}
    stated |= {} if rule is None else {"decision_rule": rule}
    return evaluated(
        spec={"specification.conditions": stated, **(_tools() if tools is None else tools)}, day={"conditions": log}
    )


def _verdicts(evaluation):
    return [one.verdict for one in evaluation.conditions], evaluation.areas[0].verdict, evaluation.areas[0].decision


@few
@given(READINGS, RULES)
def test_the_unit_changes_no_verdict(readings, rule):
    celsius = _evaluated(_log(readings), rule)
    limits = {"dew_point_margin": "5.4 delta_degF", "minimum_steel": "41 degF"}
    fahrenheit = _evaluated(_log(readings, fahrenheit=True), rule, **limits)
    assert _verdicts(celsius) == _verdicts(fahrenheit)


@few
@given(READINGS, RULES)
def test_neither_order_nor_a_reading_entered_twice_changes_a_verdict(readings, rule):
    log = _log(readings)
    once, backwards, twice = (_evaluated(each, rule) for each in (log, log[::-1], [*log, *log]))
    assert _verdicts(once) == _verdicts(backwards)
    assert once.areas[0].decision == twice.areas[0].decision


@few
@given(READINGS, RULES)
def test_larger_errors_release_nothing_and_under_the_simple_rule_change_nothing(readings, rule):
    sure, unsure = _evaluated(_log(readings), rule), _evaluated(_log(readings), rule, _tools(2))
    unknown = _evaluated(_log(readings, instruments=()), rule)
    for exact, wide, open_ in zip(sure.conditions, unsure.conditions, unknown.conditions, strict=True):
        if rule in {None, "simple"}:
            assert exact.verdict == wide.verdict == open_.verdict
        for less in (wide, open_):
            assert less.verdict != "conforms" or exact.verdict == "conforms"


@few
@given(READINGS, RULES)
def test_no_rule_fails_what_the_simple_rule_passes_nor_passes_what_it_fails(readings, rule):
    simple, ruled = _evaluated(_log(readings), None), _evaluated(_log(readings), rule)
    for before, after in zip(simple.conditions, ruled.conditions, strict=True):
        assert after.verdict in {before.verdict, "inconclusive"}
    # what is printed shows the verdict of the margin
    for one in ruled.conditions:
        if rule == "guarded" and one.verdict == "conforms":
            assert one.margin - one.expanded_uncertainty >= 3


@few
@given(READINGS)
def test_the_probability_falls_with_the_margin(readings):
    alone = {"maximum_humidity": None, "minimum_steel": None}
    results = _evaluated(_log(readings), None, **alone).conditions
    for one in results:
        assert (one.probability_of_conformity >= Decimal("0.5")) == (one.margin >= 3)
    for one, every in zip(results, _evaluated(_log(readings), None).conditions, strict=True):
        assert every.probability_of_conformity <= one.probability_of_conformity
        assert every.verdict == "conforms" or every.probability_of_conformity <= Decimal("0.5")
