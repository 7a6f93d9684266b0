"""Readings from a table: CSV, XLSX, or lines of plain text from a pipe.

Columns: ``area,location,spot,roll,reading,unit,time``; ``unit`` and ``time`` may be left out, ``area`` too where the
command names the area. Plain text has one spot a line: ``AREA LOCATION SPOT ROLL READING [ROLL READING] [TIME]``.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import zipfile
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from reportgen.confinement import confined
from reportgen.diagnostics import Diagnostic, Span
from reportgen.errors import InputError, UsageError
from reportgen.intake.incoming import Incoming
from reportgen.intake.readings import SpotRows, clock_problem, read_time
from reportgen.readings import COLUMNS, parse_readings_csv
from reportgen.yamlsource import decoded_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from reportgen.job import Job

AREA: Final = "area"
SIZE_LIMIT: Final = 16 << 20
UNPACKED_LIMIT: Final = 128 << 20
_ROWS: Final = 50_000
_SHAPE: Final = "write `AREA LOCATION SPOT ROLL READING`, such as `G-5 1 a x1 2.4`; further `ROLL READING` may follow"
_SHORTEST: Final = 5


def table_rows(data: bytes, job: Job, name: str, *, area: str | None = None) -> Incoming:
    """Return the readings of a CSV or XLSX file, or of piped text.

    Raises:
        UsageError: an area this contract does not have, or none named; an XLSX file that cannot be read.
        InputError: a CSV file with faults, each with its place.
    """
    _check_area(job, area)
    if data.startswith(b"PK\x03\x04"):
        data = confined(partial(_csv_of_workbook, data), name)
    text = decoded_text(data, name, limit=SIZE_LIMIT, when_empty="name a file with readings")
    if "location" in text.partition("\n")[0].lower():
        return _csv_rows(text, job, name, area)
    return _plain_rows(text, job, name, area)


def _check_area(job: Job, area: str | None) -> None:
    areas = {plan.id for structure in job.project.structures for plan in structure.areas}
    if area is not None and area not in areas:
        raise UsageError(f"`{area}` is not an area of this contract", help_text="areas: " + ", ".join(sorted(areas)))


# CSV


def _csv_rows(text: str, job: Job, name: str, area: str | None) -> Incoming:
    incoming = Incoming(name)
    for of_area, part in _by_area(text, name, area):
        table = parse_readings_csv(part, name)
        if table.problems:
            raise InputError(table.problems)
        _check_area(job, of_area)
        spots = SpotRows(job, incoming, of_area)
        for row in table.rows:
            place = f"line {row.place}"
            time = read_time(row.time or "", place, incoming)
            spots.add(place, (row.location, row.spot), row.roll, str(row.value), unit=row.unit or "", time=time)
    return incoming


def _by_area(text: str, name: str, area: str | None) -> Iterator[tuple[str, str]]:
    """Return the table of each area, its lines where they were, without the column that names the area."""
    lines = text.splitlines()
    separator = next((mark for mark in ",;\t" if mark in lines[0]), ",")
    header = [cell.strip() for cell in lines[0].split(separator)]
    if AREA not in header:
        if area is None:
            message = f"{name} has no column `{AREA}`"
            raise UsageError(message, help_text="add it, or name the area with `--area`")
        yield area, text
        return
    at = header.index(AREA)
    rows = _split_rows(lines, separator, len(header), name)
    for of_area in dict.fromkeys(row[at].strip() for row in rows[1:] if row) or [""]:
        if not of_area and any(rows[1:]):
            raise UsageError(f"{name} has a row without `{AREA}`", help_text="name the area in every row")
        belonging = [
            row if index == 0 or (row and row[at].strip() == of_area) else [] for index, row in enumerate(rows)
        ]
        yield of_area, "\n".join(_without(row, at, separator) for row in belonging)


def _split_rows(lines: list[str], separator: str, width: int, name: str) -> list[list[str]]:
    """Split every line into cells, an empty one into none.

    Raises:
        InputError: a quote that is not closed, or a row with another number of cells than the header.
    """
    rows: list[list[str]] = []
    problems: list[Diagnostic] = []
    for number, line in enumerate(lines, 1):
        cells = _cells(line, separator) if line.strip() else []
        span = Span(name, number, 1, max(1, len(line)), line)
        if cells is None:
            help_text = "close it on the same line, or remove it"
            problems.append(Diagnostic("CSV104", "a quote is not closed", (span,), help_text))
        elif cells and len(cells) != width:
            help_text = "write an empty cell as nothing between two separators"
            message = f"the row has {len(cells)} cells, the header {width}"
            problems.append(Diagnostic("CSV105", message, (span,), help_text))
        rows.append(cells or [])
    if problems:
        raise InputError(problems)
    return rows


def _cells(line: str, separator: str) -> list[str] | None:
    try:
        found = list(csv.reader([line], delimiter=separator, strict=True))
    except csv.Error:
        return None
    return found[0] if len(found) == 1 else None


def _without(cells: list[str], at: int, separator: str) -> str:
    if not cells:
        return ""
    into = io.StringIO()
    csv.writer(into, delimiter=separator, lineterminator="").writerow(cells[:at] + cells[at + 1 :])
    return into.getvalue()


# XLSX


def _csv_of_workbook(data: bytes) -> bytes:
    """Return the sheet ``readings``, or the only sheet, as CSV; runs in the child."""
    import openpyxl

    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if sum(entry.file_size for entry in archive.infolist()) > UNPACKED_LIMIT:
            raise UsageError(f"the workbook holds more than {UNPACKED_LIMIT >> 20} MiB")
        if "xl/workbook.xml" not in archive.namelist():
            raise UsageError("the file is a ZIP archive, not a workbook", help_text="save it as XLSX or CSV")
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    named = {name.lower(): name for name in book.sheetnames}
    if "readings" not in named and len(book.sheetnames) != 1:
        raise UsageError("the workbook has no sheet `readings`", help_text="sheets: " + ", ".join(book.sheetnames))
    sheet = book[named.get("readings", book.sheetnames[0])]
    return _as_csv(_header_known(row) for row in sheet.iter_rows(values_only=True, max_row=_ROWS))


def _header_known(row: Iterable[Any]) -> list[str]:
    return [_cell_text(value) for value in row]


def _cell_text(value: Any) -> str:
    """Return a cell as it would be typed; a number keeps the digits a spreadsheet shows for it."""
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        return value.isoformat(" ")
    if isinstance(value, dt.time):
        return value.strftime("%H:%M")
    return str(value).strip()


def _as_csv(rows: Iterable[list[str]]) -> bytes:
    """Write the rows below the header; columns and rows of nothing, and columns of other data, are left out."""
    listed = [row for row in rows if any(row)]
    if not listed:
        raise UsageError("the sheet is empty", help_text=f"columns: {AREA}, " + ", ".join(COLUMNS))
    wanted = [
        (index, name)
        for index, cell in enumerate(listed[0])
        if (name := cell.partition(" ")[0].strip().lower()) in {AREA, *COLUMNS}
    ]
    into = io.StringIO()
    writer = csv.writer(into, lineterminator="\n")
    writer.writerow([name for _, name in wanted])
    for row in listed[1:]:
        cells = [row[index] for index, _ in wanted]
        if any(cells):
            writer.writerow(cells)
    return into.getvalue().encode()


# Plain text


def _plain_rows(text: str, job: Job, name: str, area: str | None) -> Incoming:
    incoming = Incoming(name)
    collected: dict[str, SpotRows] = {}
    for number, line in enumerate(text.splitlines(), 1):
        words = line.replace(",", " ").replace("\t", " ").split()
        if not words or words[0].startswith("#"):
            continue
        if area is not None and words[0] != area:
            words = [area, *words]
        place = f"line {number}"
        if len(words) < _SHORTEST:
            incoming.refuse(place, "line", line.strip(), ("this is not a line of readings", _SHAPE))
            continue
        _check_area(job, words[0])
        spots = collected.setdefault(words[0], SpotRows(job, incoming, words[0]))
        _plain_line(words, place, spots, incoming)
    return incoming


def _plain_line(words: list[str], place: str, spots: SpotRows, incoming: Incoming) -> None:
    pairs = words[3:]
    time = pairs.pop() if len(pairs) % 2 and clock_problem(pairs[-1]) is None else ""
    if len(pairs) % 2:
        incoming.refuse(place, "line", " ".join(words), ("a roll has no reading", _SHAPE))
        return
    for roll, reading in zip(pairs[::2], pairs[1::2], strict=True):
        spots.add(place, (words[1], words[2]), roll, reading, time=time)
