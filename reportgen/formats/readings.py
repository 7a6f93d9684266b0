"""The readings of a report as a table that any spreadsheet opens: a row for each reading, with what came of it.

It says nothing that the evaluation does not: the same evaluation gives the same bytes.
"""

import csv
import io
from collections.abc import Collection, Iterator
from decimal import Decimal

from reportgen.results import Evaluation

READINGS_NAME = "readings.csv"
HEADINGS = (
    "area", "apparatus", "location", "walk_out", "spot", "roll", "grade", "gross", "net", "spot_profile", "how",
    "observed", "profile", "unit", "compared", "expanded_uncertainty", "probability_of_conformity", "verdict",
    "decision",
)  # fmt: skip
"""Named as in the evaluation, whose schema describes them; ``spot_profile`` is the profile of a spot."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def is_formula(value: object) -> bool:
    """Return whether a spreadsheet would take a text for a formula."""
    return isinstance(value, str) and value.startswith(_FORMULA)


def csv_cell(value: object) -> str:
    """Return a value as the text of a cell: nothing for None, numbers with their digits, never a formula.

    >>> [csv_cell(value) for value in (None, Decimal("2.50"), "=1+1")]
    ['', '2.50', "'=1+1"]
    """
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return f"{value:f}"
    return f"'{value}" if is_formula(value) else str(value)


def readings_name(others: Collection[str]) -> str:
    """Return the name of the table in a report that holds files of those other names.

    >>> readings_name(["readings.csv", "day.yaml"])
    'readings-2.csv'
    """
    name, number = READINGS_NAME, 1
    while name in others:
        number += 1
        name = f"readings-{number}.csv"
    return name


def readings_table(evaluation: Evaluation) -> bytes:
    """Return the table as CSV: UTF-8, comma, decimal point, lines that end in CR LF.

    Numbers are in the unit of their row; a reading is in that of its gauge, as the day file has it. Every spot has a
    row, one without a reading too.
    """
    into = io.StringIO()
    writer = csv.writer(into, lineterminator="\r\n")
    writer.writerow(HEADINGS)
    writer.writerows(map(csv_cell, row) for row in _rows(evaluation))
    return into.getvalue().encode()


def _rows(evaluation: Evaluation) -> Iterator[tuple[object, ...]]:
    spots = ((area, one, spot) for area in evaluation.areas for one in area.locations for spot in one.spots)
    for area, one, spot in spots:
        for reading in spot.readings or (None,):
            read = (reading.roll, reading.grade, reading.gross, reading.net) if reading else (None,) * 4
            yield (
                area.id, one.apparatus, one.id, one.walk_out, spot.id, *read, spot.profile, spot.how, spot.observed,
                one.profile, area.unit, one.compared, one.expanded_uncertainty, one.probability_of_conformity,
                one.verdict, area.decision,
            )  # fmt: skip
