"""Dust on blast-cleaned steel, by pressure-sensitive tape."""

from reportgen.measurements.dust import codes
from reportgen.measurements.dust.record import DustLimit, DustTest
from reportgen.measurements.dust.rule import DustResult, allowed, derived, judge, seen
from reportgen.measurements.slice import Entry, Measurement, Side

__all__ = ["DUST", "DustLimit", "DustResult", "DustTest"]

DUST = Measurement(
    key="dust",
    limit_key="dust",
    scope="tests of an area",
    limit=DustLimit,
    test=DustTest,
    result=DustResult,
    judge=judge,
    limit_facts=allowed,
    result_facts=seen,
    derived=derived,
    noun="dust test",
    entries=(Entry("location", 1.2), Entry("quantity", 1.2), Entry("size", 1.2), Entry("time", 1.0)),
    sides=(Side("maximum_quantity", "quantity"),),
    exported=("area", "location", "quantity", "size", "verdict"),
    codes=codes,
)
"""The kind of measurement, whole."""
