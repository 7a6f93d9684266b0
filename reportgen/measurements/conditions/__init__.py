"""Ambient conditions: air, steel and humidity, and from them the dew point."""

from reportgen.measurements.conditions import codes
from reportgen.measurements.conditions.record import Condition, ConditionLimits
from reportgen.measurements.conditions.rule import ConditionResult, bears_on, judge, required, seen
from reportgen.measurements.slice import Entry, Measurement, Side

__all__ = ["CONDITIONS", "Condition", "ConditionLimits", "ConditionResult"]

_ENTRIES = (
    Entry("time", 1.0), Entry("place", 2.3),
    Entry("air", 0.9, "temperature", "temperature"), Entry("humidity", 0.9, "share", "%"),
    Entry("wet_bulb", 0.9, "temperature", "temperature"), Entry("pressure", 1.0, "pressure", "pressure"),
    Entry("steel", 0.9, "temperature", "temperature"), Entry("steel_warmest", 0.9, "temperature", "temperature"),
    Entry(
        "instruments", 1.2, several=True, usual=("hygrometer", "psychrometer", "surface thermometer"),
    ),
)  # fmt: skip


def asked(limit: ConditionLimits | None) -> tuple[Entry, ...]:
    """Return what the sheet asks for: the warmest steel where the contract limits it."""
    warmest = limit is not None and limit.maximum_steel is not None
    return tuple(one for one in _ENTRIES if warmest or one.field != "steel_warmest")


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
    entries=_ENTRIES,
    asked=asked,
    instruments=("hygrometer", "psychrometer", "surface thermometer", "air thermometer", "barometer", "other"),
    named_by=("time", "place"),
    sides=(
        Side(
            "dew_point_margin", "margin", "margin_unit", "expanded_uncertainty", least=True, stated=codes.MarginAtLeast,
        ),
        Side("maximum_humidity", "humidity", "%", "humidity_uncertainty", stated=codes.HumidityAtMost),
        Side("minimum_steel", "steel", "temperature_unit", "steel_uncertainty", least=True, stated=codes.SteelAtLeast),
        Side("maximum_steel", "steel_warmest", "temperature_unit", "steel_uncertainty", stated=codes.SteelAtMost),
        Side("minimum_air", "air", "temperature_unit", "air_uncertainty", least=True, stated=codes.AirAtLeast),
        Side("maximum_air", "air", "temperature_unit", "air_uncertainty", stated=codes.AirAtMost),
        Side("interval", codes=("conditions-interval", "conditions-missing", "conditions-unplaced")),
    ),
    exported=(
        "time", "place", "air", "humidity", "dew_point", "steel", "margin", "margin_unit", "verdict", "during",
        "expanded_uncertainty", "coverage_factor", "probability_of_conformity", "air_uncertainty",
        "humidity_uncertainty", "dew_point_uncertainty", "steel_uncertainty", "steel_warmest", "temperature_unit",
    ),
    codes=codes,
    rows_on_sheet=8,
    series=("place", "areas"),
)  # fmt: skip
"""The kind of measurement, whole."""
