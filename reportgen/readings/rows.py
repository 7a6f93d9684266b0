"""One row of readings, the readers of its cells, and the rows that stand in the day file itself."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.diagnostics import Phrase
from reportgen.errors import QuantityError
from reportgen.references import comparator_grade
from reportgen.units import parse_number, parse_quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

_IDENT: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}\Z")
_SUMMARY: Final = re.compile(
    r"(mean|average|avg|median|min|minimum|max|maximum|sum|total|count|n|s|sd|std|stdev|std ?dev|range)\.?:?\Z",
    re.IGNORECASE,
)

_TO_COME: Final = re.compile(r"\s*(?:<[^<>]+>)?\s*\Z")

DEPTH: Final = "depth"
GRADE: Final = "grade"
ONLY_SPOT: Final = "a"
"""Name of the spot of a comparison that names none: there is one at a location, as a rule."""
_NOT_READINGS: Final = ("location", "spot", "time", "confirmed")
_YES_NO: Final = {"yes": True, "true": True, "no": False, "false": False, "": False}


class ReadingRow(NamedTuple):
    """One reading as written: ``roll`` is None for a depth micrometer, ``unit`` None where the row states none.

    ``place`` is the line of the CSV file, or the index of the inline row; ``confirmed`` says that the inspector looked
    again and the reading is true. A comparison has a ``grade``, as written, and no ``value``.
    """

    location: str
    spot: str
    roll: str | None
    value: Decimal | None
    unit: str | None
    time: str | None
    place: int
    confirmed: bool = False
    grade: str | None = None


@dataclass(frozen=True, slots=True)
class RowProblem:
    """What is wrong with a row: its place, the column (or the key, when ``at_key``), code, sentence and remedy.

    With ``lack`` nothing is wrong: what stands in the column is still to come.
    """

    place: int
    column: str | None
    code: str
    message: str
    help_text: str | None = None
    at_key: bool = False
    lack: bool = False


@lru_cache(maxsize=4096)
def reading_cell(text: str) -> tuple[Decimal, str | None]:
    """Read ``2.4``, or ``2.4 mil`` with the unit it states.

    Raises:
        QuantityError: for anything else, saying what to write.
    """
    if text[-1:].isdigit() and text[0] not in "<>=":
        return parse_number(text), None
    if text[:1].isdigit() and text[-1:].isalpha():
        quantity = parse_quantity(text, "height")
        assert isinstance(quantity.magnitude, Decimal)  # noqa: S101 - a text that was read keeps its digits
        return quantity.magnitude, quantity.unit
    remedy = "write the number as the gauge shows it, such as `2.4` or `61`; leave the row out when nothing was read"
    if not text:
        remedy = "leave the row out when nothing was read, and say why under `remarks`"
    elif text[0] in "<>=":
        remedy = "write the number the gauge showed, nothing else"
    raise QuantityError(Phrase("`{text}` is not a reading", text=text), help_text=remedy)


def seen_cell(key: str, text: str) -> tuple[Decimal | None, str | None, str | None]:
    """Read the cell of a row by its key: number and unit, or the grade seen beside a comparator, as written.

    Raises:
        QuantityError: for what is no reading, saying what to write.
    """
    return (None, None, text) if key == GRADE and not is_to_come(text) else (*reading_cell(text), None)


def yes_cell(text: str) -> bool:
    """Read ``yes`` or ``no``; an empty cell is no.

    Raises:
        QuantityError: for anything else, saying what to write.
    """
    if text not in _YES_NO:
        raise QuantityError(f"`{text}` is neither yes nor no", help_text="write `yes` or `no`")
    return _YES_NO[text]


def is_to_come(text: str) -> bool:
    """Whether nothing stands in a cell yet, or what somebody is still to replace."""
    return _TO_COME.match(text) is not None


def is_name(text: str) -> bool:
    """Return whether a text can name a location or spot."""
    return _IDENT.match(text) is not None and not is_summary(text)


def is_grade(text: str) -> bool:
    """Return whether a text is a grade seen beside a reference comparator, such as ``medium`` or ``fine S``."""
    return comparator_grade(text, "G") is not None


def grade_written(text: str) -> str | None:
    """Return a grade as the standard writes it, ``Coarse`` as ``coarse``; None for what is no grade.

    >>> grade_written("Medium  g"), grade_written("2.4")
    ('medium G', None)
    """
    stated, either = comparator_grade(text), comparator_grade(text, "G")
    return stated.name if stated is not None else None if either is None else either.name.removesuffix(" G")


def is_summary(text: str) -> bool:
    """Return whether a cell is the label of a summary row, such as ``Mean``."""
    return _SUMMARY.match(text) is not None


def name_problem(place: int, column: str, text: str) -> RowProblem:
    """Say why a location or spot cannot be called that."""
    if not text:
        help_text = f"name the {column}, such as `1`"
        return RowProblem(place, column, "CSV110", f"`{column}` is empty", help_text, lack=True)
    if is_to_come(text):
        message = f"`{text}` is still to be filled in"
        return RowProblem(place, column, "JOB128", message, f"name the {column}", lack=True)
    if is_summary(text) and column == "location":
        message = f"`{text}` looks like a summary row, not a reading"
        return RowProblem(place, column, "CSV111", message, "remove it; the report computes its own")
    help_text = "use letters, digits, `.`, `_` and `-`, at most 40, no spaces"
    return RowProblem(place, column, "CSV110", f"`{text}` cannot name a {column}", help_text)


def nothing_shown(place: int, alone: str | None) -> RowProblem:
    """Say that a row has no reading yet: of tape, or the one field that the gauge shows."""
    message, help_text = "the row holds no reading", "add `<roll>: <reading>` for each reading, or remove the row"
    if alone is not None:
        message, help_text = f"the row has no `{alone}`", f"add `{alone}:`, or remove the row"
    return RowProblem(place, alone, "CSV112", message, help_text, lack=True)


def inline_rows(
    rows: Sequence[dict[str, str]], alone: str | None = None
) -> tuple[tuple[ReadingRow, ...], tuple[RowProblem, ...]]:
    """Read rows of the day file, ``{location: 1, spot: a, <roll>: 2.4, <roll>: 2.1}``, in the order taken.

    Returns one row per reading, and what is wrong; any key but those of a row is a roll, ``depth`` or ``grade``.
    ``alone`` is the one of these two that the gauge shows, None for tape.
    """
    found: list[ReadingRow] = []
    problems: list[RowProblem] = []
    for place, row in enumerate(rows):
        compared = GRADE in row or (alone == GRADE and set(row) <= {*_NOT_READINGS})
        taken, wrong = _inline_row(place, {"spot": ONLY_SPOT, **row} if compared else row, alone)
        found += taken
        problems += wrong
    return tuple(found), tuple(problems)


def _inline_row(place: int, row: dict[str, str], alone: str | None) -> tuple[list[ReadingRow], list[RowProblem]]:
    wrong: list[RowProblem] = []
    for column in ("location", "spot"):
        text = row.get(column)
        if text is None:
            message = f"the row has no `{column}`"
            help_text = f"add `{column}:`, such as `{column}: 1`"
            wrong.append(RowProblem(place, column, "CSV110", message, help_text, lack=True))
        elif not is_name(text):
            wrong.append(name_problem(place, column, text))
    cells = [(key, text) for key, text in row.items() if key not in _NOT_READINGS]
    if not cells:
        wrong.append(nothing_shown(place, alone))
    confirmed = False
    try:
        confirmed = yes_cell(row.get("confirmed", "").strip())
    except QuantityError as failure:
        wrong.append(RowProblem(place, "confirmed", "JOB127", failure.message, failure.help_text))
    named = not wrong
    found: list[ReadingRow] = []
    rolls = {key: key for key, _ in cells if key not in (DEPTH, GRADE)}
    for key, text in cells:
        try:
            value, unit, grade = seen_cell(key, text.strip())
        except QuantityError as failure:
            lack = is_to_come(text)
            wrong.append(RowProblem(place, key, "CSV113", failure.message, failure.help_text, lack=lack))
            continue
        if named:
            of = (row["location"], row["spot"], rolls.get(key))
            found.append(ReadingRow(*of, value, unit, row.get("time"), place, confirmed, grade))
    return found, wrong
