"""Rows written in the day file: ``{location: 1, spot: a, <roll>: 2.4, <roll>: 2.1}``, in the order taken."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.errors import QuantityError
from reportgen.readings.rows import ReadingRow, RowProblem, is_name, name_problem, reading_cell, yes_cell

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

DEPTH: Final = "depth"
_NOT_READINGS: Final = ("location", "spot", "time", "confirmed")


def inline_rows(rows: Sequence[dict[str, str]]) -> tuple[tuple[ReadingRow, ...], tuple[RowProblem, ...]]:
    """Return one row per reading, and what is wrong; any other key is a roll or ``depth``."""
    found: list[ReadingRow] = []
    problems: list[RowProblem] = []
    for place, row in enumerate(rows):
        wrong = list(_name_problems(place, row))
        cells = [(key, text) for key, text in row.items() if key not in _NOT_READINGS]
        if not cells:
            help_text = "add `<roll>: <reading>` for each reading, or remove the row"
            wrong.append(RowProblem(place, None, "CSV112", "the row holds no reading", help_text))
        confirmed = _confirmed(place, row, wrong)
        for key, text in cells:
            try:
                value, unit = reading_cell(text.strip())
            except QuantityError as failure:
                wrong.append(RowProblem(place, key, "CSV113", failure.message, failure.help_text))
                continue
            if not wrong:
                roll = None if key == DEPTH else key
                named = (row["location"], row["spot"])
                found.append(ReadingRow(*named, roll, value, unit, row.get("time"), place, confirmed))
        problems += wrong
    return tuple(found), tuple(problems)


def _confirmed(place: int, row: dict[str, str], wrong: list[RowProblem]) -> bool:
    """Return whether the row is confirmed, after noting what else is written there."""
    try:
        return yes_cell(row.get("confirmed", "").strip())
    except QuantityError as failure:
        wrong.append(RowProblem(place, "confirmed", "JOB127", failure.message, failure.help_text))
        return False


def _name_problems(place: int, row: dict[str, str]) -> Iterator[RowProblem]:
    for column in ("location", "spot"):
        text = row.get(column)
        if text is None:
            message = f"the row has no `{column}`"
            yield RowProblem(place, None, "CSV110", message, f"add `{column}:`, such as `{column}: 1`")
        elif not is_name(text):
            yield name_problem(place, column, text)
