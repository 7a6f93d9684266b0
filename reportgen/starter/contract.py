"""A new contract folder: a project file and a first day file, commented, valid as created."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.errors import InputError, QuantityError, UsageError
from reportgen.loader import job_from_files
from reportgen.starter.answers import QUESTIONS, answered
from reportgen.starter.examples import example_readings, examples
from reportgen.starter.template import filled, template, written
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
        UsageError: a question without an answer, or answers that cannot be used, by their options.
        QuantityError: an answer that is not a quantity with its unit.
    """
    values = answered(answers)
    files, day = _files(values, date)
    if objections := _objections(files, day):
        texts = [f"{', '.join(one.options)}: {one.message}" if one.options else one.message for one in objections]
        help_text = next((one.help_text for one in objections if one.help_text), None)
        raise UsageError("; ".join(texts), help_text=help_text)
    return files


def objection(key: str, answer: str, given: Mapping[str, str], date: dt.date) -> UsageError | QuantityError | None:
    """Return what is wrong with one answer, by itself and with those given before it; None when it can stand.

    The questions not asked yet are taken as their examples, and what those bring about is left out.
    """
    known = {question.key: question for question in QUESTIONS}
    unit = answer if key == "unit" else given.get("unit", "mil")
    try:
        known[key].refuse_other_choice(answer)
        examples = {question.key: question.example(unit) for question in QUESTIONS} | {"unit": unit}
        found = _objections(*_files(examples | dict(given) | {key: answer}, date))
    except (UsageError, QuantityError) as error:
        return error
    asked = {known[name].option for name in {*given, key}}
    own = (one for one in found if known[key].option in one.options and asked.issuperset(one.options))
    return next((UsageError(one.message, help_text=one.help_text) for one in own), None)


@dataclass(frozen=True, slots=True)
class _Objection:
    """What the starter files could not hold, with the options of the answers that it is about."""

    options: tuple[str, ...]
    message: str
    help_text: str | None


def _objections(files: Mapping[str, bytes], day: str) -> list[_Objection]:
    """Return what is wrong with files that nobody has seen yet: said of the answers, not of lines."""
    try:
        job_from_files(files, day, have_photos=False)
    except InputError as failure:
        diagnostics = [one for one in failure.diagnostics if one.severity == "error"]
    else:
        return []
    found = []
    lines = template("project").splitlines()
    for one in diagnostics:
        # it is about the answers that stand on its line, or that it names
        place = one.spans[0]
        line = lines[place.line - 1] if place.file == "project.yaml" and place.line <= len(lines) else ""
        on_line = tuple(question.option for question in QUESTIONS if f"{{{{{question.key}" in line)
        named = tuple(question.option for question in QUESTIONS if f"`{question.key}`" in one.message)
        found.append(_Objection(on_line or named, one.message, one.help_text))
    return found


def _files(answers: Mapping[str, str], date: dt.date) -> tuple[dict[str, bytes], str]:
    """Return the starter files for answers to all questions but those left open, and the name of the day file."""
    values = dict(answers)
    units = SYSTEMS[values["unit"]]
    for key, kind in _QUANTITIES.items():
        if key in values:
            parse_quantity(values[key], kind, such_as=units.such_as(kind))
    number = _NOT_NUMBER.sub("-", values["contract"].upper()).strip("-.")[:30] or "REPORT"
    values |= {
        "report_numbers": f"{number}-IR-###",
        "inspector_id": identifier(values["inspector"].split()[-1], "inspector"),
        "structure_id": identifier(values.get("structure", ""), "structure"),
    }
    plain = examples(units) | {key: values[key] for key in _AS_WRITTEN}
    # written with their fields' names, because without an answer they are a comment or not there
    plain["size"] = f", size: {written(values['area_size'])}" if "area_size" in values else ""
    if known := values.get("gauge_accuracy"):
        plain["accuracy"] = f"accuracy: {written(known)}"
    day = f"{date.isoformat()}.yaml"
    answers_written = {key: written(text) for key, text in values.items()}
    project = filled("project", answers_written | plain | {"schema": SCHEMAS["project"]})
    rows = [
        f"#        - {{location: 1, spot: {spot}, x1: <{value}>}}"
        for spot, value in zip("ab", example_readings(units), strict=True)
    ]
    area = {"area_id": plain["area_id"], "gauge": "g1", "film": "subtracted", "rows": "\n".join(rows)}
    first = {
        "schema": SCHEMAS["day"], "file": day, "number": f"{number}-IR-001", "date": date.isoformat(),
        "start": '"06:00"', "end": '"18:00"',
        "gauge": "g1", "roll": "x1", "instruments": ", instruments: [h1, t1]", "nonconformance": "NCR-001",
        "reminder": "`reportgen sheet` makes a form to take along.", "not_inspected": "not_inspected: []\n",
        "surfaces": filled("area", area), "still_open": "", "at_place": "",
    }  # fmt: skip
    return {"project.yaml": project.encode(), day: filled("day", plain | first).encode()}, day


def identifier(text: str, otherwise: str) -> str:
    """Return a text as an id: lower case, ``-`` between words; ``otherwise`` where no letter of it can stand in one.

    >>> [identifier("Crane portal", "structure"), identifier("Δέλτα", "inspector")]
    ['crane-portal', 'inspector']
    """
    return _NOT_ID.sub("-", text.lower()).strip("-._")[:40] or otherwise
