"""A wide table of readings: one spot a row, one column a roll, as people keep it in a spreadsheet.

Each row becomes the typed line that says the same, on the line on which it stood: what is refused is told there.
"""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import closest
from reportgen.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

_NEEDED: Final = frozenset({"location", "spot"})
_LONG: Final = frozenset({"roll", "reading"})
_ALONE: Final = ("area", "apparatus", "location", "spot", "time")
"""Columns beside those of the rolls, in the order of a typed line; the time stands at its end."""


def roll_of(heading: str, rolls: Collection[str]) -> str | None:
    """Return the roll that the heading of a column names, also with a unit behind it; None where it names none.

    >>> [roll_of(name, {"x1", "Coarse-7"}) for name in ("x1", "X1 (mil)", "coarse-7", "x2")]
    ['x1', 'x1', 'Coarse-7', None]
    """
    known = {name.casefold(): name for name in rolls}
    whole = heading.strip().casefold()
    return known.get(whole) or known.get(whole.partition(" ")[0])


def column_of(heading: str, rolls: Collection[str]) -> str:
    """Return the name of a column by its heading: a roll, or else its first word in lower case."""
    return roll_of(heading, rolls) or heading.strip().casefold().partition(" ")[0]


def typed_lines(text: str, rolls: Collection[str], area: str | None) -> str | None:
    """Return a wide table as typed lines, each where its row was; None where the text is no wide table.

    ``area`` is that of a table that has no column for it.

    Raises:
        UsageError: a column that is none of a wide table, or is there twice, or no area.
    """
    lines = text.splitlines()
    first = next((number for number, line in enumerate(lines) if line.strip()), None)
    if first is None:
        return None
    separator = next((mark for mark in (";", "\t", ",") if mark in lines[first]), ",")
    header = _cells(lines[first], separator)
    columns = [column_of(cell, rolls) for cell in header]
    if not _NEEDED.issubset(columns) or _LONG.intersection(columns) or not set(rolls).intersection(columns):
        return None
    _refuse_columns(columns, rolls, area)
    return "\n".join(
        [""] * (first + 1) + [_line(line, _cells(line, separator), columns, area) for line in lines[first + 1 :]]
    )


def _refuse_columns(columns: Sequence[str], rolls: Collection[str], area: str | None) -> None:
    known = [*_ALONE, *rolls]
    for number, name in enumerate(columns):
        if name not in known:
            meant = closest(name, known)
            listed = f"did you mean `{meant}`?" if meant else "columns are " + ", ".join(f"`{one}`" for one in known)
            raise UsageError(f"unknown column `{name}`", help_text=listed)
        if name in columns[:number]:
            raise UsageError(f"the column `{name}` is there twice", help_text="keep one of the two")
    if "area" not in columns and area is None:
        raise UsageError("the table has no column `area`", help_text="add it, or name the area with `--area`")


def _line(line: str, cells: Sequence[str], columns: Sequence[str], area: str | None) -> str:
    """Return the typed line of a row; a row that has not a cell for each column is refused as it stands."""
    if not any(cell.strip() for cell in cells):
        return ""
    if len(cells) != len(columns):
        return line
    said = {name: cell.strip() for name, cell in zip(columns, cells, strict=True)}
    place = [said.get("area") or area or "", said.get("apparatus", ""), said["location"], said["spot"]]
    readings = [word for name in columns if name not in _ALONE and said[name] for word in (name, said[name])]
    return " ".join(word for word in (*place, *readings, said.get("time", "")) if word) if readings else ""


def _cells(line: str, separator: str) -> list[str]:
    """Split one line; one whose quotes are wrong is one cell, and so refused."""
    try:
        return next(csv.reader([line], delimiter=separator, strict=True), [])
    except csv.Error:
        return [line]
