"""Oil and salts in the abrasive, by vial test and by the conductivity of its leachate."""

from reportgen.measurements.abrasive import codes
from reportgen.measurements.abrasive.record import AbrasiveCheck, AbrasiveLimits
from reportgen.measurements.abrasive.rule import AbrasiveResult, judge, required, seen
from reportgen.measurements.slice import Entry, Measurement, Side

__all__ = ["ABRASIVE", "AbrasiveCheck", "AbrasiveLimits", "AbrasiveResult"]

ABRASIVE = Measurement(
    key="abrasive",
    limit_key="abrasive",
    scope="log of the shift",
    limit=AbrasiveLimits,
    test=AbrasiveCheck,
    result=AbrasiveResult,
    judge=judge,
    limit_facts=required,
    result_facts=seen,
    noun="abrasive check",
    entries=(
        Entry("time", 1.0), Entry("abrasive", 2.4), Entry("none", 0.8, tick=True), Entry("film", 0.7, tick=True),
        Entry("cloud", 0.7, tick=True), Entry("conductivity", 1.2, "conductivity", "uS/cm"),
        Entry("instrument", 0.9, usual=("conductivity meter",)),
    ),
    instruments=("conductivity meter", "other"),
    named_by=("time", "abrasive"),
    sides=(Side("maximum_conductivity", "conductivity"),),
    exported=("abrasive", "time", "oil", "conductivity", "expanded_uncertainty", "probability_of_conformity",
              "conductivity_unit", "method", "verdict"),
    codes=codes,
    log="abrasive_checks",
    series=("abrasive",),
    subject="abrasive",
    ticks={"oil": {frozenset({"none"}): "none seen", frozenset({"film"}): "film", frozenset({"cloud"}): "cloud"}},
)  # fmt: skip
"""The kind of measurement, whole."""
