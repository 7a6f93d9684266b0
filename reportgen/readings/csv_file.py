"""A CSV file of readings: one reading a line, columns named in the first line, nothing guessed from the rows.

The separator is what the header uses: comma, semicolon or tab. With semicolons a decimal comma is read. Quotes must be
closed on their line, the number of cells must be the header's, and a summary row is refused.
"""

from __future__ import annotations

import csv
import re
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.diagnostics import Diagnostic, Span, closest
from reportgen.errors import QuantityError
from reportgen.readings.rows import (
    ReadingRow,
    RowProblem,
    is_grade,
    is_name,
    is_summary,
    is_to_come,
    name_problem,
    reading_cell,
    yes_cell,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

COLUMNS: Final = ("location", "spot", "roll", "reading", "unit", "time", "confirmed")
REQUIRED: Final = ("location", "spot", "roll", "reading")
ROW_LIMIT: Final = 200_000

_SEPARATORS: Final = {",": "comma", ";": "semicolon", "\t": "tab"}
_DECIMAL_COMMA: Final = re.compile(r"[+-]?[0-9]{1,9},[0-9]{1,9}(?=\s*[^0-9]*\Z)", re.ASCII)
_DECIMAL_POINT: Final = re.compile(r"[+-]?[0-9]+\.[0-9]+", re.ASCII)


class CsvTable:
    """The rows of a CSV file in their order, what is wrong with it, and where each cell stands.

    ``lacks`` are those of its ``problems`` that are nothing but a cell or a row still to come.
    """

    def __init__(self, file: str, lines: Sequence[str]) -> None:
        self.file = file
        self.lines = lines
        self.separator = ","
        self.header: tuple[str, ...] = ()
        self.rows: tuple[ReadingRow, ...] = ()
        self.problems: list[Diagnostic] = []
        self.lacks: list[Diagnostic] = []

    def span(self, line: int, column: str | None = None) -> Span:
        """Return the place of a cell, or of the whole row, on a 1-based line."""
        return self.span_of_cell(line, self.header.index(column) if column in self.header else None)

    def span_of_cell(self, line: int, index: int | None) -> Span:
        """Return the place of the cell with an index on a line; of the whole row when there is none."""
        source = self.lines[line - 1] if line <= len(self.lines) else ""
        start, quoted, before = 0, False, 0
        for at, character in enumerate(source + self.separator if index is not None else ""):
            quoted ^= character == '"'
            if character != self.separator or quoted:  # a separator in quotes is text
                continue
            if before == index:
                cell = source[start:at]
                blanks = len(cell) - len(cell.lstrip())
                return Span(self.file, line, start + blanks + 1, max(1, len(cell.strip())), source)
            start, before = at + 1, before + 1
        return Span(self.file, line, 1, max(1, len(source.rstrip())), source)

    def cell(self, line: int, column: str) -> str:
        """Return the text of a cell of a row that was read, without quotes; empty where there is no such column."""
        cells = _cells(self.lines[line - 1], self.separator) if column in self.header else None
        return cells[self.header.index(column)].strip() if cells else ""

    def add(self, problem: RowProblem) -> None:
        """Note what is wrong with a row."""
        told = Diagnostic(problem.code, problem.message, (self.span(problem.place, problem.column),), problem.help_text)
        self.problems.append(told)
        self.lacks += [told] if problem.lack else []


def parse_readings_csv(text: str, file: str, *, more: tuple[str, ...] = ()) -> CsvTable:
    """Read a CSV file of readings; its ``problems`` say all that is wrong, its ``rows`` are the good ones.

    ``more`` names columns that may stand beside those of ``COLUMNS``; ``CsvTable.cell`` gives their text.
    """
    table = CsvTable(file, text.splitlines())
    if not _read_header(table, (*more, *COLUMNS)):
        return table
    rows: list[ReadingRow] = []
    reader = _RowReader(table)
    for number, line in enumerate(table.lines[1:], start=2):
        if not line or line.isspace():
            continue
        if len(rows) >= ROW_LIMIT:
            help_text = "split the file by area"
            table.add(RowProblem(number, None, "CSV109", f"the file has more than {ROW_LIMIT:,} rows", help_text))
            break
        row = reader.row(number, line)
        if row is not None:
            rows.append(row)
    table.rows = tuple(rows)
    if not rows and not table.problems:
        help_text = "add a line for each reading"
        table.add(RowProblem(1, None, "CSV112", "the file holds no reading", help_text, lack=True))
    return table


def _read_header(table: CsvTable, columns: Sequence[str]) -> bool:
    """Read the names of the columns from the first line; False when the rows cannot be read by them."""
    first = table.lines[0] if table.lines else ""
    found = [separator for separator in _SEPARATORS if separator in first]
    if first.lower().startswith("sep="):
        help_text = "remove the line; the header shows the separator"
        table.add(RowProblem(1, None, "CSV101", "`sep=` is not a header", help_text))
        return False
    if len(found) != 1:
        what = " and ".join(_SEPARATORS[separator] for separator in found) or "no separator"
        help_text = f"write `{','.join(REQUIRED)}`, separated by comma, semicolon or tab"
        table.add(RowProblem(1, None, "CSV101", f"the header has {what}", help_text))
        return False
    table.separator = found[0]
    cells = _cells(first, table.separator)
    if cells is None:
        table.add(RowProblem(1, None, "CSV104", "a quote in the header is not closed", "close it, or remove it"))
        return False
    table.header = tuple(cell.strip() for cell in cells)
    _check_columns(table, columns)
    return not table.problems


def _check_columns(table: CsvTable, columns: Sequence[str]) -> None:
    """Note what is wrong with the names of the columns, each at its cell."""
    meant = {name: closest(name.lower(), columns) for name in table.header if name not in columns}
    known = "columns are " + ", ".join(f"`{column}`" for column in columns)
    for index, name in enumerate(table.header):
        if name in table.header[:index]:
            code, message, help_text = "CSV103", f"the column `{name}` is there twice", "keep one of the two"
        elif name not in columns:
            suggested = f"did you mean `{meant[name]}`?" if meant[name] else known
            code, message, help_text = "CSV102", f"unknown column `{name}`", suggested
        else:
            continue
        table.problems.append(Diagnostic(code, message, (table.span_of_cell(1, index),), help_text))
    for name in REQUIRED:
        if name not in table.header and name not in meant.values():
            table.add(RowProblem(1, None, "CSV102", f"the column `{name}` is missing", f"add `{name}` to the header"))


def _cells(line: str, separator: str) -> list[str] | None:
    """Split one line; None when a quote is not closed or stands inside a cell."""
    if '"' not in line:
        return line.split(separator)
    try:
        rows = list(csv.reader([line], delimiter=separator, strict=True))
    except csv.Error:
        return None
    return rows[0] if len(rows) == 1 else None


class _Positions(NamedTuple):
    location: int
    spot: int
    roll: int
    reading: int
    unit: int
    time: int
    confirmed: int


class _RowReader:
    """Reads line after line by the header of its table."""

    def __init__(self, table: CsvTable) -> None:
        self._table = table
        header = table.header
        self._at = _Positions(*(header.index(name) if name in header else -1 for name in COLUMNS))
        self._names: set[str] = set()
        self._mark: str | None = None

    def row(self, number: int, line: str) -> ReadingRow | None:
        """Return the reading of one line, or None after noting what is wrong with it."""
        cells = self._row_cells(number, line)
        if cells is None:
            return None
        location, spot, roll, reading = (cells[index].strip() for index in self._at[:4])
        for column, text in (("location", location), ("spot", spot)):
            if text not in self._names and not is_name(text):
                self._table.add(name_problem(number, column, text))
                return None
            self._names.add(text)
        value, unit, grade = self._reading(number, reading, roll)
        if value is None and grade is None:
            return None
        stated, time, confirmed = (cells[index].strip() if index >= 0 else "" for index in self._at[4:])
        sure = False
        try:
            sure = yes_cell(confirmed)
        except QuantityError as failure:
            self._refuse(number, "confirmed", "JOB127", failure.message, failure.help_text)
        return ReadingRow(location, spot, roll or None, value, stated or unit, time or None, number, sure, grade)

    def _refuse(
        self, number: int, column: str | None, code: str, message: str, help_text: str | None, *, lack: bool = False
    ) -> None:  # fmt: skip
        self._table.add(RowProblem(number, column, code, message, help_text, lack=lack))

    def _row_cells(self, number: int, line: str) -> list[str] | None:
        """Return the cells of a line, as many as the header has, or None after noting why they cannot be read."""
        cells = _cells(line, self._table.separator)
        wanted = len(self._table.header)
        if cells is None:
            self._refuse(number, None, "CSV104", "a quote is not closed", "close it on the same line, or remove it")
        elif len(cells) == wanted:
            if any(cell.strip() for cell in cells):
                return cells
            self._refuse(number, None, "CSV105", "the row is empty", "remove it")
        elif is_summary(cells[0].strip()):
            self._table.add(name_problem(number, "location", cells[0].strip()))
        else:
            help_text = "write an empty cell as nothing between two separators"
            if self._table.separator == "," and len(cells) > wanted:
                help_text = "write a decimal point, or separate the cells with semicolons"
            self._refuse(number, None, "CSV105", f"the row has {len(cells)} cells, the header {wanted}", help_text)
        return None

    def _reading(self, number: int, text: str, roll: str) -> tuple[Decimal | None, str | None, str | None]:
        """Return number and unit, or the grade seen beside a comparator; nothing after noting what is wrong."""
        if not roll and is_grade(text):
            return None, None, text
        if self._table.separator == ";":
            # a file that writes 2,5 in one row and 2.5 in another is refused: one may be a thousands separator
            mark = "," if _DECIMAL_COMMA.match(text) else "." if _DECIMAL_POINT.match(text) else None
            self._mark = self._mark or mark
            if mark not in (None, self._mark):
                other = (
                    f"`{text}` has a decimal {'comma' if mark == ',' else 'point'}, the rows before it the other mark"
                )
                self._refuse(number, "reading", "CSV114", other, "write all readings alike")
                return None, None, None
            text = _DECIMAL_COMMA.sub(lambda found: found[0].replace(",", "."), text)
        try:
            return *reading_cell(text), None
        except QuantityError as failure:
            self._refuse(number, "reading", "CSV113", failure.message, failure.help_text, lack=is_to_come(text))
            return None, None, None
