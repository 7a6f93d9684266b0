"""Ambient conditions: air, steel and humidity, and from them the dew point."""

from reportgen.measurements.conditions import codes
from reportgen.measurements.conditions.record import Condition, ConditionLimits
from reportgen.measurements.conditions.rule import ConditionResult, bears_on, judge, required, seen
from reportgen.measurements.slice import Entry, Measurement, Side

__all__ = ["CONDITIONS", "Condition", "ConditionLimits", "ConditionResult"]

CONDITIONS = Measurement(
    key="conditions",
    limit_key="conditions",
    scope="log of the shift",
    limit=ConditionLimits,
    test=Condition,
    result=ConditionResult,
    judge=judge,
    limit_facts=required,
    result_facts=seen,
    bears_on=bears_on,
    noun="conditions reading",
    entries=(
        Entry("time", 1.0), Entry("place", 2.3),
        Entry("air", 0.9, "temperature", "temperature"), Entry("humidity", 0.9, "share", "%"),
        Entry("wet_bulb", 0.9, "temperature", "temperature"), Entry("pressure", 1.0, "pressure", "pressure"),
        Entry("steel", 0.9, "temperature", "temperature"),
        Entry(
            "instruments", 1.2, several=True, usual=("hygrometer", "psychrometer", "surface thermometer"),
        ),
    ),
    instruments=("hygrometer", "psychrometer", "surface thermometer", "air thermometer", "barometer", "other"),
    named_by=("time", "place"),
    sides=(
        Side("dew_point_margin", "margin", "margin_unit", least=True, codes=("dew-point-margin",)),
        Side("maximum_humidity", "humidity", "%", codes=("humidity-above-maximum",)),
        Side("minimum_steel", "steel", "degC", least=True, codes=("steel-too-cold",)),
        Side("maximum_steel", "steel", "degC", codes=("steel-too-warm",)),
        Side("minimum_air", "air", "degC", least=True, codes=("air-temperature-outside-limits",)),
        Side("maximum_air", "air", "degC", codes=("air-temperature-outside-limits",)),
        Side("interval", codes=("conditions-interval", "conditions-missing", "conditions-unplaced")),
    ),
    exported=(
        "time", "place", "air", "humidity", "dew_point", "steel", "margin", "margin_unit", "verdict", "during",
        "expanded_uncertainty", "coverage_factor", "probability_of_conformity", "air_uncertainty",
        "humidity_uncertainty", "dew_point_uncertainty", "steel_uncertainty",
    ),
    codes=codes,
    rows_on_sheet=5,
    series=("place", "areas"),
)  # fmt: skip
"""The kind of measurement, whole."""
