"""Uncertainty of the conditions: which instrument counts, both ways of measuring, decision rules, what is said."""

from decimal import Decimal

import pytest

from reportgen.measurements.conditions.codes import (
    IN_GUARD_BAND,
    INCONCLUSIVE,
    ErrorsUnknown,
    HumidityAtMost,
    Lacking,
    LimitMissed,
    LimitNear,
    MarginAtLeast,
    SteelAtLeast,
    UncertaintyLacking,
)
from reportgen.results import LeftOut, Place
from reportgen.results.facts import Amount, Word
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import codes, evaluated, finding, surface
from tests.unit.words.saying import told

ENGLISH, GERMAN = sentences("en"), sentences("de")
HYGROMETER = {"kind": "hygrometer", "serial": "1", "accuracy": "3 %", "temperature_accuracy": "0.5 delta_degC"}
STEEL = {"kind": "surface thermometer", "serial": "2", "accuracy": "0.5 delta_degC"}
PSYCHROMETER = {"kind": "psychrometer", "serial": "3", "accuracy": "0.3 delta_degC"}
BAROMETER = {"kind": "barometer", "serial": "4", "accuracy": "5 hPa"}
AIR = {"kind": "air thermometer", "serial": "5", "accuracy": "0.2 delta_degC"}
TOOLS = {"h1": HYGROMETER, "t1": STEEL, "w1": PSYCHROMETER, "b1": BAROMETER, "a1": AIR}
DRY = {"time": "06:45", "place": "span", "air": "15.0 degC", "humidity": "85 %", "steel": "16.2 degC"}
WET = {"time": "06:45", "place": "span", "air": "20 degC", "wet_bulb": "15 degC", "pressure": "1013 hPa",
       "steel": "18.0 degC"}  # fmt: skip
MARGIN = {"clause": "1.4", "dew_point_margin": "3 delta_degC"}
BLASTING = Word("work", "blasting")


def _evaluated(*log, limits=MARGIN, tools=TOOLS, rule=None, **given):
    limits = limits | ({} if rule is None else {"decision_rule": rule})
    spec = {"specification.conditions": limits, **{f"instruments.{name}": one for name, one in tools.items()}}
    return evaluated(spec=spec, day={"conditions": list(log)}, **given)


def _read(record=DRY, instruments=("h1", "t1"), **values):
    return {**record, "instruments": list(instruments), **values}


def _amount(text, unit):
    return Amount(Decimal(text), unit)


def _outcome(evaluation):
    return evaluation.conditions[0].verdict, evaluation.areas[0].verdict, evaluation.areas[0].decision


HELD = ("inconclusive", "inconclusive", "hold")
FAILED = ("does not conform", "does not conform", "rework")
PASSED = ("conforms", "conforms", "release")


@pytest.mark.parametrize(
    ("steel", "rule", "outcome"),
    [
        ("16.2", None, PASSED), ("16.2", "simple", PASSED), ("16.2", "guarded", HELD), ("16.2", "banded", HELD),
        ("15.0", None, FAILED), ("15.0", "guarded", FAILED), ("15.0", "banded", HELD), ("14.0", "banded", FAILED),
        ("16.6", "guarded", PASSED), ("16.6", "banded", PASSED),
    ],
)  # fmt: skip
def test_each_rule_on_either_side_of_the_limit(steel, rule, outcome):
    """The dew point of 15 °C and 85 % is 12.5 °C: the margins are 3.7, 2.5, 1.5 and 4.1 °C, U is 1.0 °C."""
    assert _outcome(_evaluated(_read(steel=f"{steel} degC"), rule=rule)) == outcome


def test_a_value_in_the_guard_band_is_said_with_its_numbers():
    evaluation = _evaluated(_read(), rule="guarded")
    found = finding(evaluation, IN_GUARD_BAND.name)
    limit = MarginAtLeast(_amount("3", "delta_degC"))
    near = (_amount("3.7", "delta_degC"), _amount("1.0", "delta_degC"))
    margin = Word("quantity", "dew-point-margin")
    assert found.facts == LimitNear("span", margin, *near, limit, BLASTING, Word("guard-band", "conditional pass"))
    assert (found.place, found.clause, found.severity) == (Place("A", time="06:45"), "1.4", "observation")
    assert ENGLISH.observed(found) == (
        "06:45, span: margin of the steel above the dew point 3.7 °C ± 1.0 °C while blasting"
    )
    assert ENGLISH.required(found) == "steel above the dew point by at least 3 °C, with a guard band of 1.0 °C"
    assert GERMAN.observed(found) == "06:45, span: Abstand des Stahls vom Taupunkt 3.7 °C ± 1.0 °C beim Strahlen"
    assert told([found])[0].startswith("A, 06:45, span: margin of the steel above the dew point 3.7 °C ± 1.0 °C while")


def test_the_banded_rule_says_on_which_side():
    found = finding(_evaluated(_read(steel="15.0 degC"), rule="banded"), INCONCLUSIVE.name)
    assert found.facts.band == Word("guard-band", "conditional fail")
    assert ENGLISH.observed(found).endswith(": conditional fail")


def test_a_value_that_fails_under_a_guard_band_is_said_with_its_uncertainty():
    found = finding(_evaluated(_read(steel="15.0 degC"), rule="guarded"), "dew-point-margin")
    limit = MarginAtLeast(_amount("3", "delta_degC"))
    shown = (_amount("2.5", "delta_degC"), limit, BLASTING)
    assert found.facts == LimitMissed("span", *shown, expanded=_amount("1.0", "delta_degC"))
    assert ENGLISH.observed(found) == "06:45, span: steel above the dew point by 2.5 °C ± 1.0 °C while blasting"
    plain = finding(_evaluated(_read(steel="15.0 degC")), "dew-point-margin")
    assert plain.facts == found.facts  # U stands beside what fails by the simple rule too


@pytest.mark.parametrize(
    ("limits", "quantity", "value", "expanded", "limit"),
    [
        ({"maximum_humidity": "87 %"}, "humidity", ("85.0", "%"), ("3.4", "%"), HumidityAtMost(_amount("87", "%"))),
        ({"minimum_steel": "16 degC"}, "steel-temperature", ("16.20", "degC"), ("0.57", "delta_degC"),
         SteelAtLeast(_amount("16", "degC"))),
        ({"minimum_steel": "61 degF"}, "steel-temperature", ("61.2", "degF"), ("1.0", "delta_degF"),
         SteelAtLeast(_amount("61", "degF"))),
    ],
)  # fmt: skip
def test_the_rule_is_that_of_every_limit_of_the_block(limits, quantity, value, expanded, limit):
    found = finding(_evaluated(_read(), limits=limits, rule="guarded"), IN_GUARD_BAND.name)
    assert found.facts.quantity == Word("quantity", quantity)
    assert (found.facts.value, found.facts.limit) == (_amount(*value), limit)
    assert (str(found.facts.value.value), found.facts.expanded) == (value[0], _amount(*expanded))


@pytest.mark.parametrize("rule", ["guarded", "banded"])
def test_a_margin_in_fahrenheit_is_undecided_like_one_in_celsius(rule):
    fahrenheit = {"dew_point_margin": "5.4 delta_degF"}
    evaluation = _evaluated(_read(), limits=fahrenheit, rule=rule)
    assert _outcome(evaluation) == HELD
    result = evaluation.conditions[0]
    assert (str(result.margin), str(result.expanded_uncertainty)) == ("6.7", "1.8")
    assert result.budgets[0].unit == result.margin_unit == "delta_degF"
    assert result.budgets[0].lines[0].sensitivity == Decimal("1.800")


def test_each_value_has_its_uncertainty_and_the_budget_adds_up():
    (result,) = _evaluated(_read()).conditions
    assert (str(result.air_uncertainty), str(result.steel_uncertainty)) == ("0.6", "0.6")
    assert (str(result.humidity_uncertainty), str(result.dew_point_uncertainty)) == ("4", "0.8")
    assert (str(result.expanded_uncertainty), str(result.coverage_factor)) == ("1.0", "1.96")
    assert [one.quantity.key for one in result.budgets] == [
        "dew-point-margin", "dew-point", "humidity", "air-temperature", "steel-temperature",
    ]  # fmt: skip
    margin = result.budgets[0]
    assert [line.component.key for line in margin.lines] == [
        "steel temperature", "relative humidity", "air temperature",
    ]  # fmt: skip
    combined = sum(line.contribution**2 for line in margin.lines) ** Decimal("0.5")
    assert abs(combined - margin.standard_uncertainty) < Decimal("0.002")
    assert (margin.expanded_uncertainty, margin.effective_degrees_of_freedom) == (Decimal("1.0"), None)
    assert sum(line.share for line in margin.lines) == pytest.approx(100, abs=Decimal("0.2"))


@pytest.mark.parametrize(
    ("record", "instruments", "changes", "known", "lacking"),
    [
        (DRY, ("h1", "t1"), {}, "shmda", ()),
        (DRY, (), {}, "", (("air temperature", None), ("relative humidity", None), ("steel temperature", None))),
        (DRY, ("h1",), {}, "ahd", (("steel temperature", None),)),
        (DRY, ("h1", "t1"), {"h1": HYGROMETER | {"temperature_accuracy": None}}, "sh", (("air temperature", "h1"),)),
        (DRY, ("h1", "a1", "t1"), {"h1": HYGROMETER | {"temperature_accuracy": None}}, "shmda", ()),
        (DRY, ("h1", "t1"), {"h1": HYGROMETER | {"accuracy": None}}, "sa", (("relative humidity", "h1"),)),
        (DRY, ("h1", "h2", "t1"), {"h2": {"kind": "hygrometer", "serial": "9"}}, "s",
         (("air temperature", "h1, h2"), ("relative humidity", "h1, h2"))),
        (DRY, ("w1", "t1"), {}, "sa", (("relative humidity", "w1"),)),
        (DRY, ("w1", "t1"), {"w1": {"kind": "psychrometer", "serial": "3", "accuracy": "2 %",
                                    "temperature_accuracy": "0.3 delta_degC"}}, "shmda", ()),
        (WET, ("w1", "b1", "t1"), {}, "shmda", ()),
        (WET, ("w1", "t1"), {}, "sa", (("pressure", None),)),
        (WET, ("h1", "b1", "t1"), {}, "s", (("air temperature", None), ("wet bulb", None))),
    ],
)  # fmt: skip
def test_what_is_known_follows_from_the_instruments_named(record, instruments, changes, known, lacking):
    tools = {name: {k: v for k, v in one.items() if v is not None} for name, one in {**TOOLS, **changes}.items()}
    evaluation = _evaluated(_read(record, instruments), tools=tools)
    (result,) = evaluation.conditions
    names = {
        "s": result.steel_uncertainty, "h": result.humidity_uncertainty, "m": result.expanded_uncertainty,
        "d": result.dew_point_uncertainty, "a": result.air_uncertainty,
    }  # fmt: skip
    assert {name for name, value in names.items() if value is not None} == set(known)
    said = tuple(Lacking(Word("component", name), used) for name, used in lacking)
    gaps = [one for one in evaluation.not_evaluated if one.code == "conditions-uncertainty-unknown"]
    assert gaps == ([LeftOut("conditions-uncertainty-unknown", Place(), UncertaintyLacking(said))] if said else [])
    assert (result.probability_of_conformity is None) == ("m" not in known)


def test_what_is_lacking_is_said():
    (gap,) = [one for one in _evaluated(_read(instruments=("h1",))).not_evaluated if one.code.startswith("conditions")]
    assert ENGLISH.left_out(gap) == (
        "conditions: not every value has its uncertainty; not on record: accuracy for the steel temperature"
    )
    bare = TOOLS | {"h1": {"kind": "hygrometer", "serial": "1", "accuracy": "3 %"}}
    gaps = [one for one in _evaluated(_read(), tools=bare).not_evaluated if one.code.startswith("conditions")]
    assert [GERMAN.left_out(one) for one in gaps] == [
        "Klima: nicht jeder Wert hat seine Unsicherheit; nicht angegeben: Genauigkeit für Lufttemperatur von h1"
    ]


@pytest.mark.parametrize(
    ("steel", "rule", "outcome"),
    [
        ("16.2", "simple", PASSED), ("16.2", "guarded", HELD), ("16.2", "banded", HELD), ("40", "guarded", HELD),
        ("15.0", "simple", FAILED), ("15.0", "guarded", FAILED), ("15.0", "banded", HELD),
    ],
)  # fmt: skip
def test_without_an_accuracy_a_rule_that_needs_one_releases_nothing(steel, rule, outcome):
    reading = _read(instruments=("h1",), steel=f"{steel} degC", confirmed="yes")
    assert _outcome(_evaluated(reading, rule=rule)) == outcome


def test_an_unknown_uncertainty_is_said_with_what_is_lacking():
    found = finding(_evaluated(_read(instruments=("h1",)), rule="guarded"), INCONCLUSIVE.name)
    lacking = (Lacking(Word("component", "steel temperature")),)
    assert found.facts == ErrorsUnknown(
        "span", Word("quantity", "dew-point-margin"), _amount("3.7", "delta_degC"),
        MarginAtLeast(_amount("3", "delta_degC")), BLASTING, Word("decision-rule", "guarded"), lacking,
    )  # fmt: skip
    assert ENGLISH.observed(found) == (
        "06:45, span: margin of the steel above the dew point 3.7 °C while blasting, uncertainty not known; "
        "not on record: accuracy for the steel temperature"
    )
    assert ENGLISH.required(found) == (
        "steel above the dew point by at least 3 °C; decision rule `guarded` needs the errors of the instruments"
    )


def test_a_reading_while_nothing_is_done_leaves_nothing_open():
    early, late = _read(steel="25 degC", confirmed="yes"), _read(time="14:00")
    evaluation = _evaluated(early, late, rule="guarded")
    assert [one.verdict for one in evaluation.conditions] == ["conforms", "inconclusive"]
    assert codes(evaluation) == []
    assert evaluation.areas[0].decision == "release"


def test_of_two_instruments_the_less_sure_counts_and_an_air_thermometer_reads_the_air():
    worse = {"h2": {"kind": "hygrometer", "serial": "9", "accuracy": "5 %", "temperature_accuracy": "1 delta_degC"}}
    (two,) = _evaluated(_read(instruments=("h1", "h2", "t1")), tools=TOOLS | worse).conditions
    assert (str(two.humidity_uncertainty), str(two.air_uncertainty)) == ("6", "1.1")
    (air,) = _evaluated(_read(instruments=("h1", "a1", "t1"))).conditions
    assert str(air.air_uncertainty) == "0.3"  # 0.226, and never rounded down by more than 5 %


@pytest.mark.parametrize("rule", ["simple", "guarded", "banded"])
def test_the_u_of_a_certificate_alone_is_no_limit_of_error(rule):
    """It says how well the error found was known; the reading is not corrected for it, and may be off by any of it."""
    certified = HYGROMETER | {"accuracy": None, "uncertainty": "0.5 %", "coverage_factor": "2"}
    found = _evaluated(_read(steel="16.8 degC"), tools=TOOLS | {"h1": certified}, rule=rule)
    assert _outcome(found) == (PASSED if rule == "simple" else HELD)
    assert found.conditions[0].expanded_uncertainty is None
    (gap,) = [one for one in found.not_evaluated if one.code == "conditions-uncertainty-unknown"]
    assert gap.facts == UncertaintyLacking((Lacking(Word("component", "relative humidity"), "h1"),))


def test_limits_of_error_certificate_and_resolution_all_enter():
    steel = STEEL | {"uncertainty": "0.3 delta_degC", "coverage_factor": "2", "resolution": "0.1 delta_degC"}
    (result,) = _evaluated(_read(), tools=TOOLS | {"t1": steel}).conditions
    lines = result.budgets[-1].lines
    assert [(line.source.key, str(line.value.value), str(line.divisor)) for line in lines] == [
        ("limits-of-error", "0.5", "1.732"), ("calibration-certificate", "0.3", "2.000"),
        ("last-digit", "0.05", "1.732"),
    ]  # fmt: skip
    # u² = 0.25/3 + 0.0225 + 0.0025/3 = 0.106667 by hand
    assert result.budgets[-1].standard_uncertainty == Decimal("0.327")


def test_budgets_stand_with_the_least_margin_of_each_set_of_instruments():
    log = [
        _read(), _read(time="07:30", steel="17 degC"),
        _read(WET, ("w1", "b1", "t1"), time="08:00"), _read(WET, ("w1", "b1", "t1"), time="08:30", steel="17 degC"),
    ]  # fmt: skip
    results = _evaluated(*log).conditions
    assert [bool(one.budgets) for one in results] == [True, False, False, True]
    assert all(one.expanded_uncertainty is not None for one in results)


def test_a_decision_may_accept_what_lies_in_the_guard_band():
    evaluation = _evaluated(
        _read(), rule="guarded",
        surfaces=[surface()],
    )  # fmt: skip
    (held,) = [one for one in evaluation.findings if one.code == IN_GUARD_BAND.name]
    number = {
        "id": "N-1", "area": "A", "findings": [held.code], "description": "near the limit",
        "disposition": "use-as-is", "decided_by": "eng", "status": "closed", "evidence": "letter 4",
    }  # fmt: skip
    spec = {"specification.conditions": MARGIN | {"decision_rule": "guarded"}}
    spec |= {f"instruments.{name}": one for name, one in TOOLS.items()}
    accepted = evaluated(spec=spec, day={"conditions": [_read()], "nonconformances": [number]})
    assert accepted.areas[0].decision == "release"


@pytest.mark.parametrize(
    "tool",
    [
        STEEL | {"temperature_accuracy": "0.5 delta_degC"},
        PSYCHROMETER | {"temperature_accuracy": "0.5 delta_degC"},
    ],
)
def test_the_error_of_a_thermometer_is_stated_once(tool):
    with pytest.raises(ValueError, match="temperature_accuracy"):
        _evaluated(_read(), tools={"t9": tool})


def test_the_probability_is_that_every_limit_is_kept():
    """At least: Boole's inequality, as the values have instruments in common. One limit alone has its own."""
    record = _read(steel="15.0 degC")

    def chance(**limits):
        found = _evaluated(record, limits=limits).conditions[0].probability_of_conformity
        return None if found is None else float(found)

    margin, humid = {"dew_point_margin": "2 delta_degC"}, {"maximum_humidity": f"{float(DRY['humidity'][:-2]) + 2} %"}
    first, second = chance(**margin), chance(**humid)
    assert 0.5 < first < 1
    assert 0.5 < second < 1
    assert chance(**margin, **humid) == pytest.approx(first + second - 1, abs=2e-4)
    cold = {"minimum_steel": "30 degC"}
    assert chance(**cold) < 0.001
    assert chance(**margin, **cold) == 0


def test_where_one_value_has_no_uncertainty_there_is_no_probability_of_all():
    unknown = {"t1": {**TOOLS["t1"], "accuracy": None}} if "t1" in TOOLS else {}
    tools = {**TOOLS, **{name: {k: v for k, v in one.items() if v is not None} for name, one in unknown.items()}}
    limits = {"maximum_humidity": "85 %", "minimum_steel": "5 degC"}
    assert _evaluated(_read(), limits=limits).conditions[0].probability_of_conformity is not None
    assert _evaluated(_read(), limits=limits, tools=tools).conditions[0].probability_of_conformity is None
