"""Cleanliness of the blasted steel: the grade of preparation, and the stain of the worst unit area."""

from reportgen.measurements.cleanliness import codes
from reportgen.measurements.cleanliness.record import Cleanliness, SurfacePreparation
from reportgen.measurements.cleanliness.rule import CleanlinessResult, allowed, derived, judge, seen
from reportgen.measurements.slice import Entry, Measurement, Side

__all__ = ["CLEANLINESS", "Cleanliness", "CleanlinessResult", "SurfacePreparation"]

CLEANLINESS = Measurement(
    key="cleanliness",
    limit_key="surface_preparation",
    scope="one per surface",
    limit=SurfacePreparation,
    test=Cleanliness,
    result=CleanlinessResult,
    judge=judge,
    limit_facts=allowed,
    result_facts=seen,
    derived=derived,
    noun="cleanliness grade",
    entries=(Entry("observed", 1.8), Entry("staining", 0.8, "share", "%")),
    named_by=(),
    sides=(Side("maximum_staining", "staining"),),
    exported=("area", "specified", "observed", "staining", "staining_limit", "verdict", "reason"),
    codes=codes,
)
"""The kind of measurement, whole."""
