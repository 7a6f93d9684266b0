"""Data for a spreadsheet or a program, from a day file, a folder or an issued report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from reportgen.export.hypertext import MOST_ROWS as MOST_ROWS_OF_A_PAGE
from reportgen.export.hypertext import PageWords, Section, render_html
from reportgen.export.sources import day_files, report_of, reports_at
from reportgen.export.tables import Exported, ExportedFile, Table, Value, tables
from reportgen.export.writing import csv_files, render_csv, render_json, render_xlsx

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "MOST_ROWS_OF_A_PAGE",
    "Exported",
    "ExportedFile",
    "PageWords",
    "Section",
    "Table",
    "Value",
    "day_files",
    "export",
    "render_csv",
    "render_html",
    "render_xlsx",
    "report_of",
    "reports_at",
    "tables",
]

Format = Literal["csv", "xlsx", "json"]


def export(
    reports: Sequence[Exported], to: Format, *, table: str | None = None, first: Sequence[Table] = ()
) -> dict[str, bytes]:
    """Return name and content of the files of an export: one for ``xlsx`` and ``json``, one per table for ``csv``.

    ``table`` names the only table of a CSV export, such as ``readings``; ``first`` come before those of the reports.

    Raises:
        KeyError: a table of no such name.
    """
    if to == "json":
        return {"export.json": render_json(reports)}
    made = (*first, *tables(reports))
    if to == "xlsx":
        return {"export.xlsx": render_xlsx(made)}
    if table is not None:
        return {f"{table}.csv": render_csv({one.name: one for one in made}[table])}
    return csv_files(made)
