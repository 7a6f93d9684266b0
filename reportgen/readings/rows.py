"""One row of readings, and the readers of its cells."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.errors import QuantityError
from reportgen.units import parse_number, parse_quantity

if TYPE_CHECKING:
    from decimal import Decimal

_IDENT: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}\Z")
_SUMMARY: Final = re.compile(
    r"(mean|average|avg|median|min|minimum|max|maximum|sum|total|count|n|s|sd|std|stdev|std ?dev|range)\.?:?\Z",
    re.IGNORECASE,
)

_YES_NO: Final = {"yes": True, "true": True, "no": False, "false": False, "": False}


class ReadingRow(NamedTuple):
    """One reading as written: ``roll`` is None for a depth micrometer, ``unit`` None where the row states none.

    ``place`` is the line of the CSV file, or the index of the inline row; ``confirmed`` says that the inspector looked
    again and the reading is true.
    """

    location: str
    spot: str
    roll: str | None
    value: Decimal
    unit: str | None
    time: str | None
    place: int
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class RowProblem:
    """What is wrong with a row: its place, the column (or the key, when ``at_key``), code, sentence and remedy."""

    place: int
    column: str | None
    code: str
    message: str
    help_text: str | None = None
    at_key: bool = False


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
        return parse_number(_number_of(text)), quantity.unit
    raise QuantityError(f"`{text}` is not a reading", help_text=_remedy(text))


def _number_of(text: str) -> str:
    found = re.match(r"[0-9.]+", text)
    return found[0] if found else text


def _remedy(text: str) -> str:
    if not text:
        return "leave the row out when nothing was read, and say why under `remarks`"
    if text[0] in "<>=":
        return "write the number the gauge showed, nothing else"
    return "write the number as the gauge shows it, such as `2.4` or `61`; leave the row out when nothing was read"


def yes_cell(text: str) -> bool:
    """Read ``yes`` or ``no``; an empty cell is no.

    Raises:
        QuantityError: for anything else, saying what to write.
    """
    if text not in _YES_NO:
        raise QuantityError(f"`{text}` is neither yes nor no", help_text="write `yes` or `no`")
    return _YES_NO[text]


def is_name(text: str) -> bool:
    """Return whether a text can name a location or spot."""
    return _IDENT.match(text) is not None and not is_summary(text)


def is_summary(text: str) -> bool:
    """Return whether a cell is the label of a summary row, such as ``Mean``."""
    return _SUMMARY.match(text) is not None


def name_problem(place: int, column: str, text: str) -> RowProblem:
    """Say why a location or spot cannot be called that."""
    if not text:
        return RowProblem(place, column, "CSV110", f"`{column}` is empty", f"name the {column}, such as `1`")
    if is_summary(text) and column == "location":
        message = f"`{text}` looks like a summary row, not a reading"
        return RowProblem(place, column, "CSV111", message, "remove it; the report computes its own")
    help_text = "use letters, digits, `.`, `_` and `-`, at most 40, no spaces"
    return RowProblem(place, column, "CSV110", f"`{text}` cannot name a {column}", help_text)
