"""A new contract folder: a project file and a first day file, commented, valid as created."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from reportgen.errors import UsageError
from reportgen.loader import job_from_files
from reportgen.starter.answers import answered
from reportgen.starter.examples import example_readings, examples
from reportgen.starter.template import filled, written
from reportgen.units import SYSTEMS, parse_quantity

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from reportgen.units import Kind

SCHEMAS: Final = {"project": "schema/project.schema.json", "day": "schema/day.schema.json"}
"""Where the starter files look for their JSON Schema, relative to the contract folder."""

_AS_WRITTEN: Final = ("inspector_id", "structure_id", "area_id", "locations", "readings_per_location")
_QUANTITIES: Final[dict[str, Kind]] = {
    "minimum": "height", "maximum": "height", "gauge_accuracy": "height", "area_size": "area",
}  # fmt: skip
_NOT_ID: Final = re.compile(r"[^A-Za-z0-9._-]+")
_NOT_NUMBER: Final = re.compile(r"[^A-Z0-9.-]+")


def new_contract(answers: Mapping[str, str], date: dt.date) -> dict[str, bytes]:
    """Return name and content of the files of a new contract folder; ``date`` is the first shift's.

    What was not answered, and has no answer that usually fits, holds a placeholder.

    Raises:
        UsageError: a question without an answer, or an answer that cannot be used.
        QuantityError: an answer that is not a quantity with its unit.
        InputError: an answer that the file it went into cannot hold, with its place there.
    """
    values = answered(answers)
    units = SYSTEMS[values["unit"]]
    for key, kind in _QUANTITIES.items():
        if key in values:
            parse_quantity(values[key], kind, such_as=units.such_as(kind))
    number = _NOT_NUMBER.sub("-", values["contract"].upper()).strip("-.")[:30] or "REPORT"
    values |= {
        "report_numbers": f"{number}-IR-###",
        "inspector_id": identifier(values["inspector"].split()[-1]),
        "structure_id": identifier(values.get("structure", "structure")),
    }
    plain = examples(units) | {key: values[key] for key in _AS_WRITTEN} | _lines(values)
    day = f"{date.isoformat()}.yaml"
    project = filled("project", {key: written(text) for key, text in values.items()} | plain | _schema("project"))
    first = {
        "file": day, "number": f"{number}-IR-001", "date": date.isoformat(), "start": '"06:00"', "end": '"18:00"',
        "gauge": "g1", "roll": "x1", "instruments": ", instruments: [h1, t1]", "nonconformance": "NCR-001",
        "reminder": "`reportgen sheet` makes a form to take along.", "not_inspected": "not_inspected: []\n",
        "surfaces": _example_area(plain["area_id"], example_readings(units)), "still_open": "", "at_place": "",
    }  # fmt: skip
    files = {"project.yaml": project.encode(), day: filled("day", plain | first | _schema("day")).encode()}
    job_from_files(files, day, have_photos=False)
    return files


def _schema(kind: str) -> dict[str, str]:
    return {"schema": SCHEMAS[kind]}


def _lines(values: Mapping[str, str]) -> dict[str, str]:
    """Return what is written with its field's name, because without an answer it is a comment or not there."""
    size = f", size: {written(values['area_size'])}" if "area_size" in values else ""
    known = values.get("gauge_accuracy")
    return {"size": size} | ({"accuracy": f"accuracy: {written(known)}"} if known else {})


def _example_area(area: str, readings: tuple[str, str]) -> str:
    rows = [
        f"#        - {{location: 1, spot: {spot}, x1: <{value}>}}" for spot, value in zip("ab", readings, strict=True)
    ]
    return filled("area", {"area_id": area, "gauge": "g1", "film": "subtracted", "rows": "\n".join(rows)})


def identifier(text: str) -> str:
    """Return a text as an id: lower case, ``-`` between words.

    Raises:
        UsageError: nothing of the text can stand in an id.

    >>> identifier("Crane portal")
    'crane-portal'
    """
    found = _NOT_ID.sub("-", text.lower()).strip("-._")[:40]
    if not found:
        raise UsageError(f"`{text}` gives no id", help_text="use at least one letter from A to Z or a digit")
    return found
