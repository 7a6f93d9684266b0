"""Tables as CSV, XLSX or JSON. No text becomes a formula, no number becomes text."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import UsageError
from reportgen.formats import canonical_json, plain
from reportgen.formats.readings import csv_cell, is_formula

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.export.tables import Exported, Table, Value

FORMAT: Final = 1
_DEFUSED: Final = " (a ' stands before = + - @)"
_WIDEST: Final = 60
_LONGEST: Final = 32_767
"""Characters of a cell (ECMA-376, part 1, 18.18.5: the limit that spreadsheet programs hold to)."""
MOST_ROWS: Final = 1_048_575
"""Rows of a sheet beside its head."""
_EPOCH: Final = dt.datetime(2000, 1, 1)  # noqa: DTZ001 - a workbook's own dates have no zone
_MODIFIED: Final = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*(<)")


def render_csv(table: Table) -> bytes:
    """Return one table as CSV: UTF-8, comma, decimal point; text that would be a formula gets a leading ``'``.

    The heading of a column says so where that happened.
    """
    into = io.StringIO()
    writer = csv.writer(into, lineterminator="\r\n")
    defused = [any(is_formula(row[index]) for row in table.rows) for index in range(len(table.headings))]
    writer.writerow(
        [name + (_DEFUSED if changed else "") for name, changed in zip(table.headings, defused, strict=True)]
    )
    for row in table.rows:
        writer.writerow([csv_cell(value) for value in row])
    return into.getvalue().encode("utf-8")


def csv_files(tables: Sequence[Table]) -> dict[str, bytes]:
    """Return a CSV file for each table that has rows, by file name."""
    return {f"{table.name.replace(' ', '-')}.csv": render_csv(table) for table in tables if table.rows}


def render_xlsx(tables: Sequence[Table]) -> bytes:
    """Return a workbook: a sheet per table that has rows, numbers as numbers with their digits, heads frozen.

    The same tables give the same bytes.
    """
    import openpyxl

    book = openpyxl.Workbook(write_only=True)
    for table in [table for table in tables if table.rows] or tables[:1]:
        if len(table.rows) > MOST_ROWS:
            raise UsageError(
                f"`{table.name}` has {len(table.rows)} rows, and a sheet of a workbook holds {MOST_ROWS}",
                help_text="write tables as CSV, or of fewer reports at a time",
            )
        _fill(book.create_sheet(table.name), table)
    book.properties.creator = "reportgen"
    book.properties.created = _EPOCH
    into = io.BytesIO()
    book.save(into)
    return _without_clock(into.getvalue())


def _fill(sheet: Any, table: Table) -> None:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(table.headings))}{len(table.rows) + 1}"
    for column, heading in enumerate(table.headings):
        longest = max((len(csv_cell(row[column])) for row in table.rows), default=0)
        width = min(_WIDEST, max(10, longest + 2, len(heading) // 2))
        sheet.column_dimensions[get_column_letter(column + 1)].width = width
    heads = [_cell(WriteOnlyCell(sheet), heading) for heading in table.headings]
    for cell in heads:
        cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
    sheet.append(heads)
    for row in table.rows:
        sheet.append([None if value is None else _cell(WriteOnlyCell(sheet), value) for value in row])


def _cell(cell: Any, value: Value) -> Any:
    """Return a cell with a value in it; text stays text whatever it begins with."""
    if isinstance(value, str):
        if len(value) > _LONGEST:
            more = f" … ({len(value)} characters, of which a cell holds {_LONGEST}: all of it is in CSV and JSON)"
            value = value[: _LONGEST - len(more)] + more
        cell.value = value
        cell.data_type = "s"
        return cell
    cell.value = value
    if isinstance(value, Decimal):
        exponent = value.as_tuple().exponent
        places = -exponent if isinstance(exponent, int) and exponent < 0 else 0
        cell.number_format = "0." + "0" * places if places else "0"
    elif isinstance(value, dt.datetime):
        cell.number_format = "yyyy-mm-dd hh:mm"
    elif isinstance(value, dt.date):
        cell.number_format = "yyyy-mm-dd"
    return cell


def _without_clock(workbook: bytes) -> bytes:
    """Return the workbook with the time of its making taken out, so that it can be compared."""
    into = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook)) as source, zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as target:
        for entry in source.infolist():
            data = source.read(entry)
            if entry.filename == "docProps/core.xml":
                data = _MODIFIED.sub(rb"\g<1>2000-01-01T00:00:00Z\g<2>", data)
            target.writestr(zipfile.ZipInfo(entry.filename, (2000, 1, 1, 0, 0, 0)), data, zipfile.ZIP_DEFLATED)
    return into.getvalue()


def render_json(reports: Sequence[Exported]) -> bytes:
    """Return the evaluations with their readings as canonical JSON: ``{"format": 1, "reports": [{…}]}``."""
    return canonical_json({"format": FORMAT, "reports": [_report(report) for report in reports]})


def _report(report: Exported) -> dict[str, Any]:
    project = report.job.project
    surfaces = []
    for surface, taken in zip(report.job.day.surfaces, report.job.readings, strict=True):
        profile = surface.profile
        readings = [
            {
                "location": one.location, "spot": one.spot, "roll": one.roll, "reading": one.value, "grade": one.grade,
                "time": one.time, "confirmed": one.confirmed or None,
            }
            for one in taken
        ]  # fmt: skip
        surfaces.append({
            "area": surface.area,
            "apparatus": surface.apparatus,
            "gauge": profile.gauge if profile is not None else None,
            "unit": project.instruments[profile.gauge].unit if profile is not None else None,
            "film": profile.film if profile is not None else None,
            "readings": readings,
        })  # fmt: skip
    source = report.source
    return {
        **(
            {}
            if source is None
            else {"file": source.file, "standing": source.standing, "verification": source.verification}
        ),
        "contract": project.project.contract,
        "project": project.project.name,
        "evaluation": plain(report.evaluation),
        "surfaces": surfaces,
    }
