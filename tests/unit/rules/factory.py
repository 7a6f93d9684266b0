"""Small jobs in memory, built through the real models: a whole day in which everything conforms, changed per test."""

from __future__ import annotations

import copy
import datetime as dt
from decimal import Decimal
from typing import Any

from reportgen.job import Day, Job, Project, Reading, SiteClock
from reportgen.rules import evaluate

PROJECT: dict[str, Any] = {
    "project": {
        "name": "Test bridge", "contract": "T-1", "client": "Client", "contractor": "Contractor", "site": "Site",
        "time_zone": "UTC",
    },
    "inspection_body": {"name": "Body", "address": "Street 1"},
    "specification": {
        "document": "T-1 Part 1",
        "surface_preparation": {"clause": "1.1", "grade": "SSPC-SP 10"},
        "profile": {
            "clause": "1.2", "minimum": "2.0 mil", "maximum": "3.5 mil", "method": "ASTM D4417 Method C",
            "edition": "2021", "overlap_rule": "average", "readings_per_location": "2", "decision_rule": "simple",
            "rounding": "half-even",
        },
        "sampling": {"clause": "1.3", "plan": "fixed", "locations": "1"},
    },
    "people": {
        "ann": {"name": "A. Inspector", "role": "inspector"}, "eng": {"name": "E. Engineer", "role": "engineer"},
    },
    "instruments": {
        "g1": {
            "kind": "thickness gauge", "serial": "1", "unit": "mil", "resolution": "0.1 mil", "accuracy": "0.2 mil",
            "calibration_due": "2027-01-01",
        },
    },
    "tape_rolls": {
        "c1": {"grade": "coarse", "lot": "1", "expires": "2027-01-01"},
        "x1": {"grade": "extra coarse", "lot": "2", "expires": "2027-01-01"},
    },
    "structures": [
        {"id": "S", "name": "Span", "areas": [
            {"id": "A", "name": "area A", "size": "40 m2"}, {"id": "B", "name": "area B", "size": "40 m2"},
        ]},
    ],
}  # fmt: skip

SURFACE: dict[str, Any] = {
    "area": "A",
    "apparatus": "pot 1",
    "initial_condition": "C",
    "blasted": {"start": "07:00", "end": "09:00", "abrasive": "grit 1"},
    "cleanliness": {"observed": "SSPC-SP 10", "staining": "3 %"},
    "profile": {"gauge": "g1", "film": "subtracted", "readings": {"csv": "readings.csv"}},
}

DAY: dict[str, Any] = {
    "project": "project.yaml",
    "report": {
        "number": "R-1", "revision": "0", "date": "2026-05-14", "shift": {"start": "06:00", "end": "18:00"},
        "inspector": "ann",
    },
    "gauge_checks": [
        {
            "time": time, "gauge": "g1", "anvils": "clean", "preset": "-2.0 mil", "shim": "3.0 mil",
            "shim_reading": "3.0 mil",
        }
        for time in ("06:30", "17:00")
    ],
    "tape_checks": [{"time": "06:35", "roll": "x1", "gauge": "g1", "thickness": "5.5 mil"}],
    "surfaces": [],
}  # fmt: skip

GOOD = "1 a x1 3.1; 1 b x1 2.9"
"""Readings of one location that conforms whatever the rule."""

ON_PLATE = {
    "gauge_checks": [
        {"time": time, "gauge": "g1", "tip": "clean", "zero": "0.0 mil", "shim": "3.0 mil", "shim_reading": "3.0 mil"}
        for time in ("06:30", "17:00")
    ],
}
"""Good checks of a depth micrometer around the readings."""

METRIC = {
    "specification.profile.minimum": "50 um",
    "specification.profile.maximum": "90 um",
    "instruments.g1": {
        "kind": "thickness gauge", "serial": "1", "unit": "um", "resolution": "1 um", "accuracy": "5 um",
        "calibration_due": "2027-01-01",
    },
}  # fmt: skip


def readings(text: str) -> tuple[Reading, ...]:
    """Readings from ``location spot roll value [time]``, separated by semicolons; ``-`` for no roll.

    A value that is no number is a grade of a comparator, its words joined by ``_``.
    """
    rows = []
    for line, row in enumerate((part.split() for part in text.split(";") if part.strip()), 1):
        roll, time = None if row[2] == "-" else row[2], row[4] if len(row) > 4 else None
        grade = row[3].replace("_", " ") if row[3][0].isalpha() else None
        value = Decimal(row[3]) if grade is None else None
        rows.append(Reading(row[0], row[1], roll, value, time, line, grade=grade))
    return tuple(rows)


def changed(base: Any, changes: dict[str, Any]) -> Any:
    """Deep copy with dotted paths set; None removes."""
    result = copy.deepcopy(base)
    for path, value in changes.items():
        *folders, last = path.split(".")
        node = result
        for folder in folders:
            node = node[folder] if isinstance(node, dict) else node[int(folder)]
        if isinstance(node, list):
            node[int(last)] = copy.deepcopy(value)
        elif value is None:
            node.pop(last, None)
        else:
            node[last] = copy.deepcopy(value)
    return result


def surface(**changes: Any) -> dict[str, Any]:
    """A surface record; ``profile__film="included"`` stands for the path ``profile.film``."""
    return changed(SURFACE, {key.replace("__", "."): value for key, value in changes.items()})


def job(
    *texts: str, spec: dict[str, Any] | None = None, day: dict[str, Any] | None = None,
    surfaces: list[dict[str, Any]] | None = None, earlier: tuple[Job, ...] = (),
) -> Job:  # fmt: skip
    """A job: one text of readings per surface, by default one surface that conforms."""
    records = surfaces if surfaces is not None else [surface()]
    project = Project.model_validate(changed(PROJECT, spec or {}))
    parsed = Day.model_validate(changed(changed(DAY, {"surfaces": records}), day or {}))
    given = tuple(readings(text) for text in (texts or (GOOD,)))
    given += tuple(() for _ in records[len(given) :])
    shift = parsed.report.shift
    start, end = (clock if isinstance(clock, dt.time) else clock.timetz() for clock in (shift.start, shift.end))
    clock = SiteClock(parsed.report.date, start, end, project.project.time_zone)
    return Job(project, parsed, given[: len(records)], (), clock, earlier)


def evaluated(*texts: str, **given: Any) -> Any:
    """Evaluate such a job."""
    return evaluate(job(*texts, **given))


def codes(evaluation: Any, area: str | None = None) -> list[str]:
    """Codes of the findings, of one area where given."""
    return [finding.code for finding in evaluation.findings if area is None or finding.area == area]


def finding(evaluation: Any, code: str) -> Any:
    """The only finding of a code."""
    (one,) = [finding for finding in evaluation.findings if finding.code == code]
    return one
