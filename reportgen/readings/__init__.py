"""Rows of readings, from a CSV file or from the day file: text in, checked rows out, in the order taken.

Knows neither the project nor its rolls: what a row says is read here, whether it can be is checked by the loader.
"""

from reportgen.readings.csv_file import COLUMNS, CsvTable, parse_readings_csv
from reportgen.readings.rows import ReadingRow, inline_rows

__all__ = ["COLUMNS", "CsvTable", "ReadingRow", "inline_rows", "parse_readings_csv"]
