"""A new contract folder: a project file and a first day file, commented, valid as created."""

from __future__ import annotations

import re
from importlib import resources
from typing import TYPE_CHECKING, Final

from reportgen.errors import UsageError
from reportgen.loader import job_from_files
from reportgen.metrology.tape import film_thickness
from reportgen.starter.answers import answered
from reportgen.starter.template import filled, written
from reportgen.units import parse_quantity

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

SCHEMAS: Final = {"project": "schema/project.schema.json", "day": "schema/day.schema.json"}
"""Where the starter files look for their JSON Schema, relative to the contract folder."""

GAUGES: Final = {
    "mil": {"resolution": "0.1 mil", "accuracy": "0.2 mil", "shim": "3.0 mil", "unused": "5.5 mil"},
    "um": {"resolution": "1 um", "accuracy": "5 um", "shim": "75 um", "unused": "140 um"},
}
"""Examples for a gauge of either unit: usual limits of error of gauges for replica tape; common practice, no source."""

_AS_WRITTEN: Final = ("inspector_id", "structure_id", "area_id", "locations", "readings_per_location")
_UNKNOWN: Final = "(from the certificate)"
_NOT_ID: Final = re.compile(r"[^A-Za-z0-9._-]+")
_NOT_NUMBER: Final = re.compile(r"[^A-Z0-9.-]+")


def new_contract(answers: Mapping[str, str], date: dt.date) -> dict[str, bytes]:
    """Return name and content of the files of a new contract folder; ``date`` is the first shift's.

    Raises:
        UsageError: a question without an answer, or an answer that cannot be used.
        QuantityError: a limit that is not a height.
        InputError: an answer that the file it went into cannot hold, with its place there.
    """
    values = answered(answers)
    for key in ("minimum", "maximum"):
        parse_quantity(values[key], "height")
    values |= GAUGES[values["unit"]]
    number = _NOT_NUMBER.sub("-", values["contract"].upper()).strip("-.")[:30] or "REPORT"
    values |= {
        "report_numbers": f"{number}-IR-###",
        "inspector_id": identifier(values["inspector"].split()[-1]),
        "structure_id": identifier(values["structure"]),
    }
    values |= dict.fromkeys(
        ("gauge_serial", "hygrometer_serial", "thermometer_serial", "coarse_lot", "extra_coarse_lot"), _UNKNOWN
    )
    day = f"{date.isoformat()}.yaml"
    project = filled(
        template("project"),
        {key: written(text) for key, text in values.items()} | _plain(values, "project"),
    )
    files = {"project.yaml": project.encode(), day: _first_day(values, number, date, day).encode()}
    job_from_files(files, day, have_photos=False)
    return files


def _plain(values: Mapping[str, str], kind: str) -> dict[str, str]:
    return {"schema": SCHEMAS[kind]} | {key: values[key] for key in _AS_WRITTEN}


def _first_day(values: Mapping[str, str], number: str, date: dt.date, file: str) -> str:
    unit = values["unit"]
    example = [
        "#  - area: " + values["area_id"],
        "#    apparatus: pot 1",
        "#    initial_condition: C           # A, B, C, D or coated",
        '#    blasted: {start: "07:00", end: "09:40", abrasive: "steel grit, lot 7"}',
        f"#    cleanliness: {{observed: {written(values['grade'])}, staining: 3 %}}",
        "#    profile:",
        "#      gauge: g1",
        "#      film: subtracted             # or included, when the gauge was not pre-set",
        "#      readings:",
        *(
            f"#        - {{location: 1, spot: {spot}, x1: {{}}}}".replace("{}", reading)
            for spot, reading in _example(unit)
        ),
        '#    coated: "13:10"',
        "",
    ]
    plain = {
        "file": file, "number": f"{number}-IR-001", "date": date.isoformat(), "start": '"06:00"', "end": '"18:00"',
        "present": "  # present: [someone else]\n", "gauge": "g1", "roll": "x1",
        "preset": f"-{render(unit)}", "reminder": "`reportgen sheet` makes a form to take along.",
        "surfaces": "\n".join(example), "not_inspected": "not_inspected: []\n",
        "shim": values["shim"], "unused": values["unused"], "nonconformance": "NCR-001", "at_place": "",
    }  # fmt: skip
    return filled(template("day"), plain | _plain(values, "day"))


def _example(unit: str) -> tuple[tuple[str, str], ...]:
    return (("a", "2.8"), ("b", "3.0")) if unit == "mil" else (("a", "71"), ("b", "76"))


def render(unit: str) -> str:
    """Return the film's thickness in the gauge's unit as it is written in a file, such as ``2.0 mil``."""
    film = film_thickness(unit)
    return f"{film.magnitude} {film.unit}"


def template(name: str) -> str:
    """Return the text of a starter file."""
    return resources.files("reportgen.starter").joinpath(f"data/{name}.yaml").read_text("utf-8")


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
