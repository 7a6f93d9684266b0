"""The readings of every surface: inline rows or a CSV file, read and checked against rolls, gauge and each other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import Diagnostic
from reportgen.errors import InputError
from reportgen.job import CsvReadings, ProfileRecord, Reading, SourceFile, validated
from reportgen.loader.gauge import ALONE, GaugeReadings
from reportgen.loader.paths import UnreadableFileError, refuse_suffix
from reportgen.loader.unfinished import Lack, value_at
from reportgen.readings import CsvTable, ReadingRow, inline_rows, parse_readings_csv
from reportgen.readings.csv_file import SEEN
from reportgen.yamlsource import decoded_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.diagnostics import Span
    from reportgen.job import Instrument
    from reportgen.loader.paths import JobFiles
    from reportgen.loader.sheets import Loc, Sheets

CSV_LIMIT: Final = 16 * 1024 * 1024
_NO_ROWS: Final = "name a CSV file with `location,spot,roll,reading` in its first line"


@dataclass(frozen=True, slots=True)
class SurfaceRows:
    """Readings of one surface, with the place of each; ``file`` is the CSV they came from."""

    sheets: Sheets
    loc: Loc
    rows: Sequence[ReadingRow]
    table: CsvTable | None = None
    file: SourceFile | None = None

    def span(self, row: ReadingRow, column: str) -> Span:
        """Return the place of a cell of a row: ``location``, ``spot``, ``roll``, ``reading``, ``unit``, ``time``, …"""
        if self.table is not None:
            seen = row.grade is not None and column == "reading" and self.table.cell(row.place, SEEN)
            return self.table.span(row.place, SEEN if seen else column)
        reading_key = row.roll or ("depth" if row.grade is None else "grade")
        name = reading_key if column in {"roll", "reading", "unit"} else column
        return self.sheets.place((*self.loc, row.place, name), key=column == "roll")

    def readings(self) -> tuple[Reading, ...]:
        """Return the readings in the order taken, each with its line."""
        if self.table is not None:
            lines: Sequence[int] | None = None
        else:
            lines = self.sheets.day_document.lines_of(self.loc)
        return tuple(
            Reading(
                row.location, row.spot, row.roll, row.value, row.time, lines[row.place] if lines else row.place,
                row.confirmed, row.grade,
            )
            for row in self.rows
        )  # fmt: skip


def load_readings(files: JobFiles, sheets: Sheets) -> tuple[SurfaceRows | None, ...]:
    """Return the rows of each surface, None for a surface without profile; problems are noted on the way."""
    found = []
    for index, surface in enumerate(sheets.day.surfaces):
        rows = None
        if surface.profile is not None:
            loc = ("surfaces", index, "profile", "readings")
            rows = _rows_of(files, sheets, surface.profile, loc)
            if rows is not None:
                _check_rows(sheets, rows, surface.profile)
                _note_none(sheets, rows)
        found.append(rows)
    return tuple(found)


def check_set_aside(files: JobFiles, sheets: Sheets) -> None:
    """Check the readings of surfaces that were set aside: what is wrong there is wrong whatever else is missing."""
    whole = replace(sheets, day_document=sheets.written, gone=frozenset(), lacks=[])
    surfaces = sheets.written.data.get("surfaces")
    for index, _ in enumerate(surfaces if isinstance(surfaces, list) else ()):
        loc: Loc = ("surfaces", index, "profile")
        within = {part for part in sheets.gone if part[: len(loc)] == loc}
        if not any(part == loc[: len(part)] for part in sheets.gone) or loc in within:
            continue  # it stands, or lacks what tells how it was read
        profile = validated(ProfileRecord, value_at(sheets.written.without(within).data, loc) or {})
        rows = None if isinstance(profile, tuple) else _rows_of(files, whole, profile, (*loc, "readings"))
        if rows is not None and not isinstance(profile, tuple):
            _check_rows(whole, rows, profile)
    sheets.lacks.extend(whole.lacks)


def _rows_of(files: JobFiles, sheets: Sheets, profile: ProfileRecord, loc: Loc) -> SurfaceRows | None:
    if isinstance(profile.readings, CsvReadings):
        return _rows_of_file(files, sheets, profile.readings, loc, sheets.instrument(profile.gauge))
    instrument = sheets.instrument(profile.gauge)
    rows, problems = inline_rows(profile.readings, None if instrument is None else ALONE.get(instrument.kind))
    for problem in problems:
        place = (*loc, problem.place) if problem.column is None else (*loc, problem.place, problem.column)
        if problem.lack:
            told = Diagnostic(problem.code, problem.message, (sheets.place(place),), problem.help_text)
            sheets.lacks.append(Lack(sheets.origin((*loc, problem.place)), (sheets.origin(place),), told, stays=True))
        else:
            sheets.refuse(place, problem.code, problem.message, problem.help_text, key=problem.at_key)
    return SurfaceRows(sheets, loc, rows)


def _rows_of_file(
    files: JobFiles, sheets: Sheets, wanted: CsvReadings, loc: Loc, gauge: Instrument | None
) -> SurfaceRows | None:  # fmt: skip
    name = str(wanted.csv)
    try:
        refuse_suffix(name, ".csv")
        data = files.read(name, CSV_LIMIT)
        text = decoded_text(data, files.shown(name), limit=CSV_LIMIT, when_empty=_NO_ROWS)
    except UnreadableFileError as failure:
        sheets.refuse((*loc, "csv"), failure.code, failure.message, failure.help_text)
        return None
    except InputError as failure:
        sheets.found.add(failure.diagnostics)
        return None
    table = parse_readings_csv(text, files.shown(name), on_tape=gauge is None or gauge.kind == "thickness gauge")
    sheets.found.add(one for one in table.problems if one not in table.lacks)
    sheets.lacks.extend(Lack(sheets.origin(loc), (), one, stays=True) for one in table.lacks)
    count = len(table.rows)
    if wanted.rows is not None and wanted.rows != count and not table.problems:
        message = f"`{name}` has {count} rows of readings, not {wanted.rows}"
        sheets.refuse((*loc, "rows"), "CSV108", message, "check whether the file was cut short, or correct `rows`")
    return SurfaceRows(sheets, loc, table.rows, table, SourceFile(name, "csv", data))


def _note_none(sheets: Sheets, rows: SurfaceRows) -> None:
    """Note a profile of which every row is still to come: there is nothing yet to judge."""
    if not rows.rows and not sheets.found.errors:
        sheets.lacks.append(Lack(sheets.origin(rows.loc[:-1])))


def _check_rows(sheets: Sheets, rows: SurfaceRows, profile: ProfileRecord) -> None:
    """Check each row by itself and against the rows before it; cells that repeat are judged once."""
    gauge = GaugeReadings(sheets.instrument(profile.gauge), profile.film)
    rolls = set(sheets.ids["roll"])
    seen: dict[tuple[str, str, str | None], ReadingRow] = {}
    for row in rows.rows:
        if row.roll is not None and row.roll not in rolls:
            rolls.add(row.roll)  # said once, where it first stands
            message, help_text = sheets.unknown("roll", row.roll)
            sheets.found.at(rows.span(row, "roll"), "JOB203", message, help_text)
        objection = gauge.objection(row)
        if objection is not None:
            column, code, message, remedy = objection
            sheets.found.at(rows.span(row, column), code, message, remedy)
        first = seen.setdefault((row.location, row.spot, row.roll), row)
        if first is not row:
            on = f" on `{row.roll}`" if row.roll else ""
            what = "readings" if row.grade is None else "grades"
            message = f"spot {row.location}/{row.spot} has two {what}{on}"
            spans = [rows.span(row, "reading"), rows.span(first, "reading")]
            sheets.found.at(spans, "JOB212", message, "keep the one taken, or give a further spot its own name")
