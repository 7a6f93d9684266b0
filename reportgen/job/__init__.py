"""The job: project file and day file, joined and validated. Nothing here opens a file."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from reportgen.fields import Clock, Model, is_placeholder, parse_clock
from reportgen.job.day import (
    READING_FIELDS,
    CsvReadings,
    Day,
    GaugeCheck,
    Nonconformance,
    Photo,
    ProfileRecord,
    Report,
    Surface,
    TapeCheck,
    WalkOut,
)
from reportgen.job.places import Places
from reportgen.job.project import (
    AreaPlan,
    InspectionBody,
    Instrument,
    Person,
    ProfileRequirement,
    Project,
    Sampling,
    Specification,
    Structure,
    TapeRoll,
)
from reportgen.job.times import SiteClock
from reportgen.job.validation import ShapeProblem, place_name, salvaged, validated
from reportgen.measurements.conditions import Condition, ConditionLimits

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal

    from reportgen.diagnostics import Diagnostic

__all__ = [
    "READING_FIELDS",
    "AreaPlan",
    "Clock",
    "Condition",
    "ConditionLimits",
    "CsvReadings",
    "Day",
    "GaugeCheck",
    "InspectionBody",
    "Instrument",
    "Job",
    "Model",
    "Nonconformance",
    "Person",
    "Photo",
    "Places",
    "ProfileRecord",
    "ProfileRequirement",
    "Project",
    "Reading",
    "Report",
    "Sampling",
    "ShapeProblem",
    "SiteClock",
    "SourceFile",
    "Specification",
    "Structure",
    "Surface",
    "TapeCheck",
    "TapeRoll",
    "WalkOut",
    "is_placeholder",
    "parse_clock",
    "place_name",
    "salvaged",
    "validated",
]


@dataclass(frozen=True, slots=True)
class Reading:
    """One number off a gauge, with the roll it was taken on (None for a depth micrometer), in the gauge's unit."""

    location: str
    spot: str
    roll: str | None
    value: Decimal
    time: str | None = None
    line: int = 0
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class SourceFile:
    """One input file, byte for byte: ``name`` relative to the job folder, the folder of the day file, with ``/``.

    ``role`` is project, day, csv, photo, logo, or earlier: the day file of an earlier day, whose CSVs have role csv; or
    earlier project: the project file by which an earlier day was issued, where it is another by now.
    """

    name: str
    role: str  # project | day | csv | photo | logo | earlier | earlier project
    data: bytes


@dataclass(frozen=True, slots=True)
class Job:
    """Project file and day file, joined and validated, with the readings of every surface and the raw input.

    ``readings[i]`` belongs to ``day.surfaces[i]``: in the order in which they were taken, empty when the surface has
    no ``profile``. ``earlier`` holds the earlier days of the folder, oldest first, from which nonconformances are
    carried forward. ``warnings`` do not stand in the way of a report, but must be shown. ``unfilled`` are the entries
    of the two files that hold a placeholder: a draft may show them, nobody may sign them. ``not_as_issued`` are the
    files of earlier days, or of the contract, on which the day rests and that are not what was issued.
    """

    project: Project
    day: Day
    readings: tuple[tuple[Reading, ...], ...]
    files: tuple[SourceFile, ...]
    clock: SiteClock
    earlier: tuple[Job, ...] = ()
    photos: Mapping[str, bytes] = field(default_factory=dict)
    warnings: tuple[Diagnostic, ...] = ()
    unfilled: tuple[Diagnostic, ...] = ()
    not_as_issued: tuple[str, ...] = ()
