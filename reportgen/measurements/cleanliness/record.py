"""Cleanliness of the blasted steel, as the contract requires it and as the inspector grades it."""

from reportgen.fields import Clause, Clock, Model, Name, Percent, Text


class SurfacePreparation(Model):
    """Required grade of cleanliness, in the system the contract names."""

    clause: Clause = None
    grade: Name
    edition: Name | None = None
    maximum_staining: Percent | None = None


class Cleanliness(Model):
    """Grade observed, in the system of the grade specified, and stain percent of the worst unit area."""

    observed: Name
    staining: Percent | None = None
    time: Clock | None = None
    remarks: Text | None = None
