"""Oil and water in the compressed air, by blotter."""

from reportgen.measurements.air import codes
from reportgen.measurements.air.record import AirCheck, CompressedAir
from reportgen.measurements.air.rule import AirResult, judge, required, seen
from reportgen.measurements.slice import Entry, Measurement, Side

__all__ = ["AIR", "AirCheck", "AirResult", "CompressedAir"]

AIR = Measurement(
    key="air",
    limit_key="compressed_air",
    scope="log of the shift",
    limit=CompressedAir,
    test=AirCheck,
    result=AirResult,
    judge=judge,
    limit_facts=required,
    result_facts=seen,
    noun="check of the compressed air",
    entries=(
        Entry("time", 1.0),
        Entry("apparatus", 1.8), Entry("duration", 0.9, "time", "min"), Entry("clean", 0.7, tick=True),
        Entry("oil", 0.6, tick=True), Entry("water", 0.7, tick=True), Entry("pressure", 1.1, "pressure", "air"),
    ),
    named_by=("time", "apparatus"),
    sides=(Side("minimum_duration", "duration", least=True),),
    exported=("apparatus", "time", "result", "duration", "duration_unit", "verdict"),
    codes=codes,
    reaches_back=frozenset({codes.IN_DOUBT.name}),
    rows_on_sheet=3,
    log="air_checks",
    series=("apparatus",),
    subject="apparatus",
    ticks={
        "result": {
            frozenset({"clean"}): "clean",
            frozenset({"oil"}): "oil",
            frozenset({"water"}): "water",
            frozenset({"oil", "water"}): "oil and water",
        }
    },
)  # fmt: skip
"""The kind of measurement, whole."""
