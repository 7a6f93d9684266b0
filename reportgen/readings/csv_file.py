"""A CSV file of readings: one reading a line, columns named in the first line, nothing guessed from the rows.

A column ``depth`` holds the readings of a depth micrometer, ``grade seen`` or ``grade`` what was seen beside a
comparator; ``grade`` beside rolls and readings is that of the tape. Neither needs a ``roll``, and a grade no spot.
The separator is what the header uses: comma, semicolon or tab. A decimal comma is read, between commas in
quotes; but for semicolons, one before three digits is asked about. Quotes must be closed on their line, the number of
cells must be the header's, and a summary row is refused.
"""

from __future__ import annotations

import csv
import re
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.diagnostics import Diagnostic, Span, closest, one_of
from reportgen.errors import QuantityError
from reportgen.readings.rows import (
    DEPTH,
    GRADE,
    ONLY_SPOT,
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
from reportgen.references import COMPARATOR_GRADES
from reportgen.units import SPELLINGS

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from decimal import Decimal

SEEN: Final = "grade seen"
"""Column in which an exported table has what was seen beside a comparator."""
COLUMNS: Final = ("location", "spot", "roll", "reading", DEPTH, SEEN, "unit", "time", "confirmed")
REQUIRED: Final = ("location", "spot", "roll", "reading")
ROW_LIMIT: Final = 200_000

_SEPARATORS: Final = {",": "comma", ";": "semicolon", "\t": "tab"}
_MARKS: Final = {",": "comma", ".": "point"}
_DECIMAL_COMMA: Final = re.compile(r"[+-]?[0-9]{1,9},[0-9]{1,9}(?=\s*[^0-9]*\Z)", re.ASCII)
_THOUSANDS: Final = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}(?![0-9])", re.ASCII)
_UNIT_OF_HEADING: Final = re.compile(r"[\s(]\s*([^\s()]+)\s*\)?\Z")
_FORMS: Final = {",": _DECIMAL_COMMA, ".": re.compile(r"[+-]?[0-9]+\.[0-9]+", re.ASCII)}


class CsvTable:
    """The rows of a CSV file in their order, what is wrong with it, and where each cell stands.

    ``lacks`` are those of its ``problems`` that are nothing but a cell or a row still to come.
    """

    def __init__(self, file: str, lines: Sequence[str]) -> None:
        self.file = file
        self.lines = lines
        self.separator = ","
        self.header: tuple[str, ...] = ()
        self.unit: str | None = None
        """Unit of height that the heading of the readings states, as in `depth (mil)`."""
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

    def needed(self, *, on_tape: bool) -> list[str]:
        """Return the columns that must be there beside those that are."""
        numbers = next((name for name in ("reading", DEPTH) if name in self.header), None)
        if numbers is None and SEEN in self.header:
            return ["location"]
        left_out = {"roll"} if DEPTH in self.header or not on_tape else set()
        left_out |= {"roll", "spot"} if SEEN in self.header else set()
        return [numbers or name if name == "reading" else name for name in REQUIRED if name not in left_out]

    def add(self, problem: RowProblem) -> None:
        """Note what is wrong with a row."""
        told = Diagnostic(problem.code, problem.message, (self.span(problem.place, problem.column),), problem.help_text)
        self.problems.append(told)
        self.lacks += [told] if problem.lack else []


def parse_readings_csv(
    text: str, file: str, *, more: tuple[str, ...] = (), named: Callable[[str], str] = str, on_tape: bool = True
) -> CsvTable:
    """Read a CSV file of readings; its ``problems`` say all that is wrong, its ``rows`` are the good ones.

    ``more`` names columns that may stand beside those of ``COLUMNS``; ``CsvTable.cell`` gives their text. ``named``
    gives the name of a column from its heading. Readings that may be ``on_tape`` need a column for the roll.
    """
    table = CsvTable(file, text.splitlines())
    if not _read_header(table, (*more, *COLUMNS), named, on_tape=on_tape):
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


def _read_header(
    table: CsvTable, columns: Sequence[str], named: Callable[[str], str], *, on_tape: bool
) -> bool:  # fmt: skip
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
    header = [named(cell.strip()) for cell in cells]
    if GRADE in header and SEEN not in header and not {"roll", "reading"} <= set(header):
        header[header.index(GRADE)] = SEEN  # beside rolls and readings it is that of the tape
    table.header = tuple(header)
    _check_columns(table, columns, on_tape=on_tape)
    if table.problems:
        return False
    if DEPTH in header:
        header[header.index(DEPTH)] = "reading"
        table.header = tuple(header)
    if "reading" in header:
        told = _UNIT_OF_HEADING.search(cells[header.index("reading")].strip())
        table.unit = None if told is None else SPELLINGS["height"].get(told[1])
    return True


def _check_columns(table: CsvTable, columns: Sequence[str], *, on_tape: bool) -> None:
    """Note what is wrong with the names of the columns, each at its cell."""
    meant = {name: closest(name.lower(), columns) for name in table.header if name not in columns}
    listed = "columns are " + ", ".join(f"`{column}`" for column in columns)
    remedies = {name: f"did you mean `{near}`?" if near else listed for name, near in meant.items()}
    for index, name in enumerate(table.header):
        if name in table.header[:index]:
            code, message, help_text = "CSV103", f"the column `{name}` is there twice", "keep one of the two"
        elif name == DEPTH and "reading" in table.header:
            code, message, help_text = "CSV103", "both `reading` and `depth` hold the readings", "keep one of the two"
        elif name not in columns:
            code, message, help_text = "CSV102", f"unknown column `{name}`", remedies[name]
        else:
            continue
        table.problems.append(Diagnostic(code, message, (table.span_of_cell(1, index),), help_text))
    there = {*table.header, *meant.values()}
    for name in (one for one in table.needed(on_tape=on_tape) if one not in there):
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


_ABSENT: Final = [""] * len(COLUMNS)


class _Positions(NamedTuple):
    location: int
    spot: int
    roll: int
    reading: int
    depth: int
    seen: int
    unit: int
    time: int
    confirmed: int


class _RowReader:
    """Reads line after line by the header of its table."""

    def __init__(self, table: CsvTable) -> None:
        self._table = table
        header = table.header
        absent = range(-len(COLUMNS), 0)  # of the empty cells that are put behind those of a row
        places = zip(COLUMNS, absent, strict=True)
        self._at = _Positions(*(header.index(name) if name in header else at for name, at in places))
        self._shown = "reading" if "reading" in header else SEEN
        self._either = {"reading", SEEN} <= set(header)
        self._names: set[str] = set()
        self._mark: str | None = None

    def row(self, number: int, line: str) -> ReadingRow | None:
        """Return the reading of one line, or None after noting what is wrong with it."""
        cells = self._row_cells(number, line)
        if cells is None:
            return None
        location, spot, roll, reading, _, seen, stated, time, confirmed = (cells[index].strip() for index in self._at)
        column, text = (SEEN, seen) if seen else (self._shown, reading)
        if not self.says_one(number, reading, seen, spot + roll, location):
            return None
        if not (spot or roll) and (column == SEEN or is_grade(reading)):
            spot = ONLY_SPOT  # a comparison that names no spot is of the only one of its location
        if not self.names(number, location, spot):
            return None
        value, unit, grade = self._reading(number, text, roll, column)
        if value is None and grade is None:
            return None
        sure = False
        try:
            sure = yes_cell(confirmed)
        except QuantityError as failure:
            self._refuse(number, "confirmed", "JOB127", failure.message, failure.help_text)
        return ReadingRow(location, spot, roll or None, value, stated or unit, time or None, number, sure, grade)

    def names(self, number: int, location: str, spot: str) -> bool:
        """Return whether location and spot can be called that, after noting the first that cannot."""
        for name, text in (("location", location), ("spot", spot)):
            if text not in self._names and not is_name(text):
                self._table.add(name_problem(number, name, text))
                return False
            self._names.add(text)
        return True

    def says_one(self, number: int, reading: str, seen: str, named: str, location: str) -> bool:
        """Return whether a row says one thing of what was shown, after noting where it says two or none."""
        if reading and seen:
            message = f"the row has both the reading `{reading}` and the grade `{seen}`"
            self._refuse(number, SEEN, "CSV113", message, "keep what the instrument of this row shows")
            return False
        if self._either and not (reading or seen or named) and is_name(location):
            message, help_text = "the row has neither a reading nor a grade", "leave the row out when nothing was seen"
            self._refuse(number, "reading", "CSV113", message, help_text, lack=True)
            return False
        return True

    def _refuse(
        self, number: int, column: str | None, code: str, message: str, help_text: str | None, *, lack: bool = False
    ) -> None:  # fmt: skip
        self._table.add(RowProblem(number, column, code, message, help_text, lack=lack))

    def _row_cells(self, number: int, line: str) -> list[str] | None:
        """Return the cells of a line and an empty one for each column, or None after noting why they cannot be read."""
        cells = _cells(line, self._table.separator)
        wanted = len(self._table.header)
        if cells is None:
            self._refuse(number, None, "CSV104", "a quote is not closed", "close it on the same line, or remove it")
        elif len(cells) == wanted and any(cell.strip() for cell in cells):
            return cells + _ABSENT
        elif len(cells) == wanted:
            self._refuse(number, None, "CSV105", "the row is empty", "remove it")
        elif is_summary(cells[0].strip()):
            self._table.add(name_problem(number, "location", cells[0].strip()))
        else:
            help_text = "write an empty cell as nothing between two separators"
            if self._table.separator == "," and len(cells) > wanted:
                help_text = "write a decimal point, or separate the cells with semicolons"
            self._refuse(number, None, "CSV105", f"the row has {len(cells)} cells, the header {wanted}", help_text)
        return None

    def _reading(
        self, number: int, text: str, roll: str, column: str
    ) -> tuple[Decimal | None, str | None, str | None]:  # fmt: skip
        """Return number and unit, or the grade seen beside a comparator; nothing after noting what is wrong."""
        if not roll and is_grade(text):
            return None, None, text
        if column == SEEN and roll:
            message = f"a grade was seen, and the row names the roll `{roll}`"
            self._refuse(number, SEEN, "CSV113", message, "leave `roll` empty")
            return None, None, None
        if column == SEEN:
            message = f"`{text}` is not a grade of a comparator" if text else "the grade is still to be filled in"
            self._refuse(number, SEEN, "CSV113", message, one_of(COMPARATOR_GRADES), lack=is_to_come(text))
            return None, None, None
        if self._table.separator != ";" and _THOUSANDS.match(text):
            either = f"`{text}` may be {text.replace(',', '.')} or {text.replace(',', '')}"
            self._refuse(number, "reading", "CSV113", either, "write it with a point, or without the comma")
            return None, None, None
        # a file that writes 2,5 in one row and 2.5 in another is refused: one may be a thousands separator
        mark = next((one for one, form in _FORMS.items() if form.match(text)), None)
        self._mark = self._mark or mark
        if mark not in (None, self._mark):
            other = f"`{text}` has a decimal {_MARKS[mark]}, the rows before it the other mark"
            self._refuse(number, "reading", "CSV114", other, "write all readings alike")
            return None, None, None
        text = _DECIMAL_COMMA.sub(lambda found: found[0].replace(",", "."), text)
        try:
            value, unit = reading_cell(text)
        except QuantityError as failure:
            self._refuse(number, "reading", "CSV113", failure.message, failure.help_text, lack=is_to_come(text))
            return None, None, None
        return value, unit or self._table.unit, None
