"""JSON Schema of project and day files, from the models: what an editor completes, explains and checks while one types.

The schema describes a file as an editor reads it: an unquoted ``2.4`` is a number there, ``2.2 mil`` text. It never
refuses what the loader accepts; rules across fields, and whether an id exists, are left to ``reportgen check``.
"""

from __future__ import annotations

import typing
from functools import cache
from typing import Any, Final, Literal

from reportgen import fields
from reportgen.job import READING_FIELDS, Day, Model, Project
from reportgen.job.trust import TrustPolicy
from reportgen.references import COMPARATOR_GRADES

Kind = Literal["project", "day", "policy"]

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"

_MODELS: Final[dict[str, type[Model]]] = {"project": Project, "day": Day, "policy": TrustPolicy}
_TITLES: Final = {
    "project": "Project file: what stays the same on a contract",
    "day": "Day file: one shift",
    "policy": "Policy of whoever verifies: whom to believe, and what else to ask for",
}
_IDENT: Final = r"^\s*[A-Za-z0-9][A-Za-z0-9._-]{0,39}\s*$"
_NUMBER: Final = r"^\s*[+-]?[0-9]{1,9}(\.[0-9]{1,9})?\s*$"
_READING: Final = r"^\s*[0-9]{1,9}(\.[0-9]{1,9})?\s?\S*\s*$"
_GRADE: Final = (
    r"^\s*(ISO 8503-1\s+)?(" + "|".join(name.replace(" ", r"\s+") for name in COMPARATOR_GRADES) + r")(\s+[GS])?\s*$"
)
_CLOCK: Final = (
    r"^\s*(([01][0-9]|2[0-3]):[0-5][0-9]"
    r"|[0-9]{4}-[0-9]{2}-[0-9]{2}[T ]([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?(Z|[+-][0-9]{2}:[0-9]{2}))\s*$"
)
_SHAPES: Final[dict[str, dict[str, Any]]] = {
    "Clock": {"type": "string", "pattern": _CLOCK},
    "Text": {"pattern": r"\S"},
    "Name": {"pattern": r"\S"},
    "Line": {"pattern": r"\S"},
    "RelativePath": {"pattern": r"^(?!\s*/)(?!(.*/)?\s*\.\.\s*(/|$))[^\\:]*[^\\:\s][^\\:]*$"},
    "Date": {"type": "string", "pattern": r"^\s*[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])\s*$"},
    "Ident": {"type": ["string", "number", "boolean"], "pattern": _IDENT},
    "ReportNumber": {"type": ["string", "number"], "pattern": r"^\s*[A-Z0-9][A-Z0-9.-]{0,39}\s*$"},
    "ReportNumberPattern": {"type": "string", "pattern": r"^\s*[A-Z0-9][A-Z0-9.-]*#{1,9}[A-Z0-9.-]*\s*$"},
    "Count": {"type": ["integer", "string"], "minimum": 1, "maximum": 999_999, "pattern": r"^\s*[0-9]{1,6}\s*$"},
    "Rating": {"type": ["integer", "string"], "minimum": 0, "maximum": 5, "pattern": r"^\s*0*[0-5]\s*$"},
    "Revision": {"type": ["integer", "string"], "minimum": 0, "maximum": 999, "pattern": r"^\s*[0-9]{1,6}\s*$"},
    "Number": {"type": ["number", "string"], "pattern": _NUMBER},
    "Format": {"type": ["integer", "string"], "minimum": 1, "maximum": 1, "pattern": r"^\s*1\s*$"},
    "YesNo": {"type": ["boolean", "string"], "pattern": r"^\s*(yes|no|true|false)\s*$"},
}
"""What an editor can check of each field type; the models check the same text more closely."""


@cache
def _marks() -> dict[int, str]:
    """Return the name of each field type by the identity of its reader, which every field of that type carries."""
    return {id(getattr(fields, name).__metadata__[0]): name for name in _SHAPES}


def json_schema(kind: Kind) -> dict[str, Any]:
    """Return the JSON Schema of a project or day file, with descriptions, units and examples; draft 2020-12.

    Raises:
        KeyError: for any other kind of file.
    """
    model = _MODELS[kind]
    schema = _plain(model.model_json_schema())
    definitions = schema.get("$defs", {})
    for part in _models_in(model):
        _sharpen(part, schema if part is model else definitions[part.__name__])
    if kind == "day":
        definitions["ProfileRecord"]["properties"]["readings"] = _readings()
    elif kind == "project":
        _name_ids(schema)
    return {"$schema": DIALECT, **schema, "title": _TITLES[kind]}


def _plain(part: Any) -> Any:
    """Leave out what says nothing to a person: generated titles, and ``null``, which a job file never holds."""
    if isinstance(part, list):
        return [_plain(item) for item in part]
    if not isinstance(part, dict):
        return part
    kept = {key: _plain(value) for key, value in part.items() if not (key == "title" and isinstance(value, str))}
    if kept.get("default", "") in (None, [], {}):
        del kept["default"]
    choices = [choice for choice in kept.get("anyOf", ()) if choice != {"type": "null"}]
    if len(choices) == 1:
        del kept["anyOf"]
        kept = choices[0] | kept
    return kept


def _models_in(annotation: Any) -> list[type[Model]]:
    """Return every model below an annotation, itself included, each once."""
    found: list[type[Model]] = []
    waiting = [annotation]
    while waiting:
        here = waiting.pop()
        if isinstance(here, type) and issubclass(here, Model):
            if here not in found:
                found.append(here)
                waiting += typing.get_type_hints(here, include_extras=True).values()
        else:
            waiting += typing.get_args(here)
    return found


def _sharpen(model: type[Model], schema: dict[str, Any]) -> None:
    """Give every field the shape of its type, and what cannot be left out."""
    for name, hint in typing.get_type_hints(model, include_extras=True).items():
        field = schema.get("properties", {}).get(name)
        mark = _mark(hint)
        if field is None or mark is None:
            continue
        target = field["items"] if field.get("type") == "array" else field
        target.update(_SHAPES[mark])


def _mark(hint: Any) -> str | None:
    """Return the name of the field type in an annotation: its own, its alternative to None, or its items'."""
    for metadata in getattr(hint, "__metadata__", ()):
        if id(metadata) in _marks():
            return _marks()[id(metadata)]
    if isinstance(hint, type) or typing.get_origin(hint) is dict:
        return None
    inner = (hint.__origin__,) if hasattr(hint, "__metadata__") else typing.get_args(hint)
    return next((mark for part in inner if (mark := _mark(part)) is not None), None)


def _readings() -> dict[str, Any]:
    """Describe readings: rows with one entry per roll, or the name of a CSV file."""
    name = _SHAPES["Ident"]
    known = {
        "location": name | {"description": "id of the location (15 by 15 cm)"},
        "spot": name | {"description": "place of one replica within the location", "examples": ["a"]},
        "time": {"type": "string", "pattern": _CLOCK, "description": "when it was read"},
        "confirmed": _SHAPES["YesNo"] | {"description": "yes: looked at again; an unlikely reading is true"},
        "depth": {"type": ["number", "string"], "pattern": _READING, "description": "reading of a depth micrometer"},
        "grade": {
            "type": "string",
            "pattern": _GRADE,
            "description": "grade seen beside a reference comparator",
            "examples": list(COMPARATOR_GRADES),
        },
    }
    row = {
        "type": "object",
        "description": "one row per spot: location, spot, and what the gauge showed on each roll of tape, in the "
        "gauge's unit, in the order taken",
        "properties": {field: known[field] for field in READING_FIELDS},
        "required": ["location"],
        "anyOf": [{"required": ["spot"]}, {"required": ["grade"]}],
        "minProperties": 2,
        "additionalProperties": {"type": ["number", "string"], "pattern": _READING, "minimum": 0},
        "propertyNames": {"pattern": _IDENT},
        "examples": [{"location": 1, "spot": "a", "x1": reading} for reading in (2.8, 71)],
    }
    return {
        "description": "the readings in the order taken, or `{csv: FILE}`",
        "oneOf": [{"type": "array", "minItems": 1, "items": row}, {"$ref": "#/$defs/CsvReadings"}],
    }


def _name_ids(schema: dict[str, Any]) -> None:
    """Say what the keys of people, instruments and rolls are: ids that the day files use."""
    for name, what in (("people", "a person"), ("instruments", "an instrument"), ("tape_rolls", "a roll of tape")):
        field = schema["properties"][name]
        field["propertyNames"] = {"pattern": _IDENT}
        field["description"] = f"id of {what}, as the day files name it, and what belongs to it"
