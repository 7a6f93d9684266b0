"""A new contract folder: a project file and a first day file, commented, valid as created."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import Phrase
from reportgen.errors import InputError, QuantityError, UsageError
from reportgen.loader import job_from_files
from reportgen.names import latin
from reportgen.starter.answers import GAUGES, QUESTIONS, answered, is_asked, kind_of, limits_of_error
from reportgen.starter.examples import example_readings, examples
from reportgen.starter.template import at_rest, filled, of_gauge, template, written
from reportgen.units import SYSTEMS, parse_quantity

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping, Sequence

    from reportgen.units import Kind, UnitSystem

SCHEMAS: Final = {"project": "schema/project.schema.json", "day": "schema/day.schema.json"}
"""Where the starter files look for their JSON Schema, relative to the contract folder."""

_AS_WRITTEN: Final = ("inspector_id", "structure_id", "area_id", "locations", "readings_per_location")
_QUANTITIES: Final[dict[str, Kind]] = {
    "minimum": "height", "maximum": "height", "area_size": "area",
}  # fmt: skip
_LINES: Final = (
    "minimum",
    "maximum",
    "comparator_grade",
    "overlap_rule",
    "readings_per_location",
    "location_value",
    "decision_rule",
    "rounding",
)
"""Lines of the project file that stand as a comment where nothing was answered, or asked."""
_NOT_OF: Final = {
    "tape": ("comparator",), "probe": ("comparator", "c1", "x1"), "comparator": ("unit", "c1", "x1"),
}  # fmt: skip
"""Lines that are of another method."""
_READ_AS: Final = {"tape": "x1", "probe": "depth", "comparator": "grade"}
_NOT_ID: Final = re.compile(r"[^A-Za-z0-9._-]+")
_NOT_NUMBER: Final = re.compile(r"[^A-Z0-9.-]+")


@dataclass(frozen=True, slots=True)
class FurtherArea:
    """An area beside the first one: its id, name and size, and the name of its structure where that is another."""

    id: str
    name: str
    size: str | None = None
    structure: str | None = None


_SIZE_APART: Final = re.compile(r"(.+?)\s*(?:;|,(?=\s))\s*(\d\S*(?:\s+\S+)?)")
_SIZE_CLOSE: Final = re.compile(r"(.*[^\d\s]),(\d[^\s,]*(?:,\d+)?\s*[^\W\d]\S*)")
_SIZE_SOMEWHERE: Final = re.compile(r".*\d\s*(?:m|ft|mm|cm|in|yd)(?:2|²|\^2|\*\*2)\W*", re.IGNORECASE)
"""A size behind a comma and a space, or a semicolon; behind a comma alone; and anything else that ends in one."""


def further_area(text: str) -> FurtherArea:
    """Read ``ID: NAME, SIZE``: the size begins with a digit behind a comma and a space, or a semicolon.

    So a comma within the size is a decimal one; where it could be either, nothing is guessed.

    Raises:
        UsageError: it names no area, or holds a size that cannot be told from the name.

    >>> further_area("L2-OUT: leg 2, outside, 260 ft2")
    FurtherArea(id='L2-OUT', name='leg 2, outside', size='260 ft2', structure=None)
    >>> [further_area(text).size for text in ("L3: leg 3, 12,5 m2", "L3: leg; 10 m2", "L3, leg 3, 30 m2", "L3: leg 3")]
    ['12,5 m2', '10 m2', '30 m2', None]
    """
    name, colon, rest = (text if ":" in text else text.replace(",", ":", 1)).partition(":")
    name, rest = name.strip(), rest.strip()
    if not colon or not name or not rest:
        raise UsageError(Phrase("`{text}` is no area", text=text), help_text="write `L2-OUT: leg 2, outside; 260 ft2`")
    found = _SIZE_APART.fullmatch(rest) or _SIZE_CLOSE.fullmatch(rest)
    if found is None and _SIZE_SOMEWHERE.fullmatch(rest):
        help_text = "write `L2-OUT: leg 2, outside; 260 ft2`"
        raise UsageError(Phrase("where the size in `{text}` begins cannot be told", text=text), help_text=help_text)
    said, size = (rest, None) if found is None else found.groups()
    return FurtherArea(name, said.strip(), size)


def new_contract(answers: Mapping[str, str], date: dt.date, further: Sequence[FurtherArea] = ()) -> dict[str, bytes]:
    """Return name and content of the files of a new contract folder; ``date`` is the first shift's.

    What was not answered, and has no answer that usually fits, holds a placeholder. ``further`` are areas beside the
    first one.

    Raises:
        UsageError: a question without an answer, or answers that cannot be used, by their options.
        QuantityError: an answer that is not a quantity with its unit.
    """
    values = answered(answers)
    files, day = _files(values, date, further)
    if objections := _objections(files, day):
        texts = [f"{', '.join(one.options)}: {one.message}" if one.options else one.message for one in objections]
        help_text = next((one.help_text for one in objections if one.help_text), None)
        raise UsageError("; ".join(texts), help_text=help_text)
    return files


def area_objection(
    area: FurtherArea, given: Mapping[str, str], before: Sequence[FurtherArea], date: dt.date
) -> UsageError | QuantityError | None:
    """Return what is wrong with a further area, with the answers and the areas given before it; None for nothing."""
    answers = {question.key: question.example(given.get("unit", "mil")) for question in QUESTIONS} | dict(given)
    try:
        known = _objections(*_files(answers, date, before))
        found = _objections(*_files(answers, date, [*before, area]))
    except (UsageError, QuantityError) as error:
        return error
    new = (one for one in found if one.message not in {other.message for other in known})
    return next((UsageError(one.message, help_text=one.help_text) for one in new), None)


def objection(key: str, answer: str, given: Mapping[str, str], date: dt.date) -> UsageError | QuantityError | None:
    """Return what is wrong with one answer, by itself and with those given before it; None when it can stand.

    The questions not asked yet are taken as their examples, and what those bring about is left out.
    """
    known = {question.key: question for question in QUESTIONS}
    unit = answer if key == "unit" else given.get("unit", "mil")
    examples = {question.key: question.example(unit) for question in QUESTIONS} | {"unit": unit}
    others = {name: text for name, text in given.items() if name != key}
    try:
        known[key].refuse_other_choice(answer)
        if _is_refused(examples | others, date):  # another answer is, and says so in its own place
            others = {name: text for name, text in others.items() if not _is_refused(examples | {name: text}, date)}
        found = _objections(*_files(examples | others | {key: answer}, date))
    except (UsageError, QuantityError) as error:
        return error
    asked = {known[name].option for name in {*others, key}}
    own = [one for one in found if known[key].option in one.options and asked.issuperset(one.options)]
    own = _beside_others(own, key, examples | others, date) if others else own
    return next((UsageError(one.message, help_text=one.help_text) for one in own), None)


def _beside_others(own: list[_Objection], key: str, answers: Mapping[str, str], date: dt.date) -> list[_Objection]:
    """Return what the other answers do not bring about by themselves: that is said in its own place.

    They stand beside the example of the question, or beside none where its line may be a comment.
    """
    others = {name: text for name, text in answers.items() if name != key or key not in _LINES}
    without = {one.message for one in _objections(*_files(others, date))} if own else set()
    return [one for one in own if one.message not in without]


def _readable(name: str) -> str:
    """Return an id as it is given, in letters that an id may have: ``Ü-1`` is ``UE-1``."""
    plain = name if name.isascii() else latin(name)
    return plain.upper() if name.isupper() else plain


def _is_refused(answers: Mapping[str, str], date: dt.date) -> bool:
    try:
        _files(answers, date)
    except (UsageError, QuantityError):
        return True
    return False


@dataclass(frozen=True, slots=True)
class _Objection:
    """What the starter files could not hold, with the options of the answers that it is about."""

    options: tuple[str, ...]
    message: str
    help_text: str | None


def _objections(files: Mapping[str, bytes], day: str) -> list[_Objection]:
    """Return what is wrong with files that nobody has seen yet: said of the answers, not of lines."""
    try:
        job_from_files(files, day)
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


def _asked(answers: Mapping[str, str], further: Sequence[FurtherArea]) -> tuple[dict[str, str], list[FurtherArea]]:
    """Return the answers to what is asked, and the further areas, with ids of areas that a file name may have."""
    values = {key: text for key, text in answers.items() if is_asked(key, answers)}
    values |= {"area_id": _readable(values["area_id"])} if "area_id" in values else {}
    return values, [replace(one, id=_readable(one.id)) for one in further]


def _files(
    answers: Mapping[str, str], date: dt.date, further: Sequence[FurtherArea] = ()
) -> tuple[dict[str, bytes], str]:  # fmt: skip
    """Return the starter files for answers to all questions but those left open, and the name of the day file."""
    method = kind_of(answers)
    values, further = _asked(answers, further)
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
    plain = examples(units) | {key: values[key] for key in _AS_WRITTEN if key in values}
    # written with their fields' names, because without an answer they are a comment or not there
    plain["size"] = f", size: {written(values['area_size'])}" if "area_size" in values else ""
    if known := values.get("gauge_accuracy"):
        plain["accuracy"] = limits_of_error(known, units)
    day = f"{date.isoformat()}.yaml"
    plain["further"] = "".join(_further_lines(further, values.get("structure"), plain["structure_id"], units))
    answers_written = {key: written(text) for key, text in values.items()}
    of_method = {"kind": GAUGES[method], "comparator": values.get("comparator_grade", "")[-1:]}
    unasked = dict.fromkeys(_LINES, "")
    project = filled("project", unasked | answers_written | plain | of_method | {"schema": SCHEMAS["project"]})
    for name in (*(key for key in _LINES if key not in values), *_NOT_OF[method]):
        project = re.sub(rf"(?m)^( *)({name}:.*?) *$", r"\1# \2", project, count=1)
    if method != "tape":
        project = project.replace("\ntape_rolls:\n", "\ntape_rolls: {}\n")
    readings = example_readings(units) if method != "comparator" else ("medium", "medium")
    rows = [
        f"#        - {{location: 1, spot: {spot}, {_READ_AS[method]}: <{value}>}}"
        for spot, value in zip("ab", readings, strict=True)
    ]
    area = {"gauge": "g1", "film": "subtracted", "rows": "\n".join(rows)}
    ids = (plain["area_id"], *(written(one.id) for one in further))
    first = {
        "at_rest": at_rest(GAUGES[method], plain["preset"]),
        "schema": SCHEMAS["day"], "file": day, "number": f"{number}-IR-001", "date": date.isoformat(),
        "start": '"06:00"', "end": '"18:00"',
        "gauge": "g1", "roll": "x1", "instruments": ", instruments: [h1, t1]", "nonconformance": "NCR-001",
        "reminder": "`reportgen sheet` makes a form to take along.", "not_inspected": "not_inspected: []\n",
        "countersigners": "",
        "surfaces": "".join(
            of_gauge(filled("area", area | {"area_id": name, "again": ""}), GAUGES[method]) for name in ids
        ),
        "still_open": "", "at_place": "",
    }  # fmt: skip
    return {"project.yaml": project.encode(), day: filled("day", plain | first).encode()}, day


def _further_lines(
    further: Sequence[FurtherArea], first: str | None, first_id: str, units: UnitSystem
) -> Iterator[str]:  # fmt: skip
    """Yield the lines of further areas, those of the first structure before those of others."""
    others: dict[str, list[FurtherArea]] = {}
    for one in further:
        if one.structure in (None, first):
            yield f"      - {_area_entry(one, units)}\n"
        else:
            others.setdefault(str(one.structure), []).append(one)
    used = {first_id}
    for name, areas in others.items():
        base = identifier(name, "structure")
        unique = next(
            each for number in range(len(others) + 2) if (each := f"{base}-{number}" if number else base) not in used
        )
        used.add(unique)
        yield f"  - id: {written(unique)}\n    name: {written(name)}\n    areas:\n"
        yield from (f"      - {_area_entry(one, units)}\n" for one in areas)


def _area_entry(area: FurtherArea, units: UnitSystem) -> str:
    if area.size is not None:
        parse_quantity(area.size, "area", such_as=units.such_as("area"))
    size = "" if area.size is None else f", size: {written(area.size)}"
    return f"{{id: {written(area.id)}, name: {written(area.name)}{size}}}"


def identifier(text: str, otherwise: str) -> str:
    """Return a text as an id: lower case, ``-`` between words; ``otherwise`` where no letter of it can stand in one.

    >>> [identifier(name, "id") for name in ("Crane portal", "Δέλτα", "Łódź", "Щука", "Åse Størdal", "橋")]
    ['crane-portal', 'delta', 'lodz', 'shchuka', 'ase-stordal', 'id']
    """
    return _NOT_ID.sub("-", latin(text)).strip("-._")[:40] or otherwise
