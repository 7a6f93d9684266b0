"""Readings from a table: CSV, XLSX, or lines of plain text from a pipe.

Columns: ``area,apparatus,location,spot,roll,reading,unit,time,confirmed``; the last three may be left out, ``area`` too
where the command names the area. ``roll`` is empty or left out for a depth micrometer, whose readings may stand under
``depth``, and for a comparator, whose grades stand under ``grade`` or ``grade seen``. The readings that `export` writes
have these columns, and say of which report they are.

Plain text has one spot a line: ``AREA [APPARATUS] LOCATION SPOT ROLL READING [ROLL READING] [TIME]``; of a depth
micrometer ``… LOCATION SPOT DEPTH [TIME]``, of a comparator ``… LOCATION [SPOT] GRADE [TIME]``. The apparatus is needed
where the day file has an area more than once.
"""

from __future__ import annotations

import csv
import datetime as dt
import importlib
import io
import re
import zipfile
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.diagnostics import closest
from reportgen.errors import InputError, UsageError
from reportgen.intake.cells import read_clock
from reportgen.intake.incoming import Incoming, Reason
from reportgen.intake.readings import SpotRows, gauges_of, only_gauge, read_time
from reportgen.intake.wide import roll_of, typed_lines
from reportgen.job.places import folded
from reportgen.readings import COLUMNS, parse_readings_csv
from reportgen.readings.rows import DEPTH, GRADE, ONLY_SPOT, is_grade
from reportgen.rules import evaluate
from reportgen.rules.due import to_close
from reportgen.sandbox import confined
from reportgen.yamlsource import decoded_text

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from reportgen.diagnostics import Diagnostic
    from reportgen.job import Job
    from reportgen.readings import CsvTable, ReadingRow

AREA: Final = "area"
APPARATUS: Final = "apparatus"
SIZE_LIMIT: Final = 16 << 20
UNPACKED_LIMIT: Final = 128 << 20
_ROWS: Final = 50_000
_EXPORTED: Final = ("report", "revision", "date", "grade", "net reading")
"""Columns of exported readings; those of ``_OF_A_DAY`` must say what the day file says, the others tell nothing."""
_OF_A_DAY: Final = ("report", "date")
_KNOWN: Final = {AREA, APPARATUS, *COLUMNS, *_EXPORTED}
_SHAPE: Final = "write `AREA LOCATION SPOT ROLL READING`, such as `G-5 1 a x1 2.4`; further `ROLL READING` may follow"
_SHAPES: Final = {
    None: _SHAPE,
    DEPTH: "write `AREA LOCATION SPOT DEPTH`, such as `G-5 1 a 73`; a time may follow",
    GRADE: "write `AREA LOCATION GRADE`, such as `G-5 1 medium` or `G-5 1 b coarser than coarse`; a time may follow",
}
"""What to write on a line, by what a row of the gauge holds."""
_SHORTEST: Final = 5
_OF_ITS_OWN: Final = "a further apparatus begins with its preparation, in the day file or on a sheet"
_IN_THE_FILE: Final = "write the reading into the day file, with the entry of its time"
_NUMBER: Final = re.compile(r"[-+]?[0-9]+,[0-9]+\Z", re.ASCII)
_BRACKETS: Final = re.compile(r" \([^()]*\)\Z")
_DEFUSED: Final = re.compile(r"\A'(?=[=+@-])")
"""What an exported text begins with that would be a formula."""
_TIME: Final = re.compile(r"[0-9]{1,2}:[0-9]{2}\Z|[0-9]{4}\Z|.*T.*", re.ASCII)
"""A last word that is a time; `6.40` after a reading may be another reading."""
_EITHER: Final = re.compile(r"[0-9]{1,2}[.,][0-9]{2}\Z", re.ASCII)


def table_rows(data: bytes, job: Job, name: str, *, area: str | None = None) -> Incoming:
    """Return the readings of a CSV or XLSX file, or of piped text; a row that cannot be read is refused by itself.

    Raises:
        UsageError: ``area`` is none of this contract, or none is named; an XLSX file that cannot be read.
        InputError: a file that is no text, or whose header cannot be read, each with its place.
    """
    taking = _Taking(job, Incoming(name), area)
    word = "line"
    if data.startswith(b"PK\x03\x04"):
        rolls = tuple(job.project.tape_rolls)
        # what reads workbooks asks the system for its kinds of files, which a confined child may not
        load = partial(importlib.import_module, "openpyxl")
        data, word = confined(partial(_csv_of_workbook, data, rolls), name, load=load), "row"
    text = decoded_text(data, name, limit=SIZE_LIMIT, when_empty="name a file with readings")
    wide = typed_lines(text, job.project.tape_rolls, area)
    text = text if wide is None else wide
    if wide is None and "location" in text.lstrip("\r\n").partition("\n")[0].lower():
        _csv_rows(text, taking, word)
    else:
        for number, line in enumerate(text.splitlines(), 1):
            words = _words(line)
            if not words or words[0].startswith("#"):
                continue
            if area is not None and words[0] != area:
                words = [area, *words]
            _plain_line(words, line.strip(), f"{word} {number}", taking)
    taking.finish()
    taking.incoming.about = None
    return taking.incoming


def _not_an_area(name: str) -> str:
    return f"`{name}` is not an area of this contract" if name else "no area is named"


def _known(areas: Sequence[str]) -> str:
    return "areas: " + ", ".join(sorted(areas))


class _Taking:
    """Takes readings for one area after another, and begins what the job leaves no choice about."""

    def __init__(self, job: Job, incoming: Incoming, area: str | None) -> None:
        self.incoming = incoming
        self.area = area
        self.rolls = job.project.tape_rolls
        self._job = job
        self._areas = [plan.id for structure in job.project.structures for plan in structure.areas]
        if area is not None and area not in self._areas:
            raise UsageError(_not_an_area(area), help_text=_known(self._areas))
        self._spots: dict[tuple[str, str | None], SpotRows] = {}
        used = {one.profile.gauge for one in job.day.surfaces if one.profile is not None}
        kinds = {job.project.instruments[name].kind for name in (*used, *gauges_of(job.project))}
        self.on_tape = not kinds or "thickness gauge" in kinds

    def spots(self, area: str, said: str) -> tuple[SpotRows | None, Reason]:
        """Return the rows of an area, blasted by the apparatus ``said``; None for one that cannot be, and why."""
        if area not in self._areas:
            near = closest(area, self._areas)
            return None, (_not_an_area(area), f"did you mean `{near}`?" if near else _known(self._areas))
        there = self._there(area)
        meant = [name for name in there if not said or folded(name) == folded(said)]
        listed = " and ".join(f"`{name}`" for name in dict.fromkeys(there))
        if there and not meant:
            return None, (f"`{area}` has no entry for `{said}` in the day file, only for {listed}", _OF_ITS_OWN)
        if not said and len(set(map(folded, there))) > 1:
            help_text = f"name it after the area, such as `{area} {there[-1]} 1 a …`, or in a column `{APPARATUS}`"
            return None, (f"`{area}` has an entry for each of {listed}: of which is this?", help_text)
        if len(meant) > 1:
            return None, (f"`{area}` has {len(meant)} entries for `{meant[0]}` in the day file", _IN_THE_FILE)
        apparatus = meant[0] if len(there) > 1 else None  # it tells the entries apart where there are several
        if (area, apparatus) not in self._spots:
            self._spots[area, apparatus] = SpotRows(self._job, self.incoming, area, apparatus=apparatus)
        return self._spots[area, apparatus], ("", None)

    def without_apparatus(self, words: list[str]) -> tuple[list[str], str]:
        """Return the words of a line without the apparatus that stands after the area, and that; empty where none does.

        The word after location and spot tells: it names a roll of the contract. Where none is used, only with the
        apparatus are the words a line.
        """
        for name in self._there(words[0]):
            parts = [part.casefold() for part in _words(name)]
            rest = words[1 + len(parts) :]
            if [word.casefold() for word in words[1 : 1 + len(parts)]] != parts:
                continue
            spots, _ = self.spots(words[0], name)
            alone = None if spots is None else spots.alone
            if (len(rest) > 2 and rest[2] in self.rolls) or (
                alone is not None and _one_reading(rest, alone) and not _one_reading(words[1:], alone)
            ):
                return [words[0], *rest], name
        return words, ""

    def of_another_day(self, table: CsvTable, line: int) -> Reason | None:
        """Return why a row that says of which report it is belongs into another day file, or None."""
        report, remedy = self._job.day.report, "take it into the day file of its report"
        stated = zip(_OF_A_DAY, (report.number, report.date.isoformat()), strict=True)
        for column, own in stated if _OF_A_DAY[0] in table.header else ():
            said = table.cell(line, column)
            if said and said != own and said.partition(" ")[0] != own:
                return f"the row is of {column} {said}, the day file of {own}", remedy
        return None

    def _there(self, area: str) -> list[str]:
        """Return the apparatus of each entry that the day file has of an area."""
        known = [surface.apparatus for surface in self._job.day.surfaces if surface.area == area]
        begun = (one for one in self._job.unfinished if one.block == "surfaces" and area in one.names("area"))
        return [*known, *(name for one in begun for name in one.names("apparatus") if name not in known)]

    def ask_how_much(self) -> None:
        """Say of a re-inspection in the day file that does not state it how much it is taken to have blasted again."""
        unsized = {one.area: None for one in self._job.day.surfaces if one.reinspects and one.cleaned is None}
        touched = {one["area"] for one in self.incoming.day.get("surfaces", ())}
        whole = "the re-inspection is read as if all that failed was blasted again"
        self.incoming.notes += [
            f"{area}: {whole}; where it was a part, write its size in `cleaned`" for area in unsized if area in touched
        ]

    def finish(self) -> None:
        """Name the only gauge of a contract where a profile is begun, and say what a re-inspection would close."""
        known = [surface for surface in self._job.day.surfaces if surface.profile is not None]
        measured = {(one.area, name) for one in known for name in (None, one.apparatus)}
        gauge = only_gauge(self._job.project)
        named = {surface.area: surface.reinspects for surface in self._job.day.surfaces}
        open_ones = to_close(self._job, evaluate(self._job)) if self._job.earlier else {}
        self.ask_how_much()
        for surface in self.incoming.day.get("surfaces", ()):
            area = surface["area"]
            if (area, surface.get("apparatus")) not in measured and gauge is not None:
                surface["profile"] = {"gauge": gauge, **surface["profile"]}
            self.incoming.notes += [
                f"{area}: {one} is open; if this is the re-inspection that is to close it, write `reinspects: [{one}]` "
                "with the area, and `cleaned`: how much was blasted again"
                for one in open_ones.get(area, ()) if one not in named.get(area, ())
            ]  # fmt: skip


# CSV


def _csv_rows(text: str, taking: _Taking, word: str) -> None:
    rows = text.lstrip("\r\n")
    above = text[: len(text) - len(rows)].count("\n")
    table = parse_readings_csv(
        rows, taking.incoming.source, more=(AREA, APPARATUS, *_EXPORTED), named=_column, on_tape=taking.on_tape
    )
    header = [problem for problem in table.problems if problem.spans[0].line == 1]
    if header and word == "row":  # of a workbook no line can be shown
        raise UsageError(f"{taking.incoming.source}: {header[0].message}", help_text=header[0].help_text)
    if header:
        raise InputError([
            replace(problem, spans=tuple(replace(span, line=span.line + above) for span in problem.spans))
            for problem in header
        ])  # fmt: skip
    if AREA not in table.header and taking.area is None:
        message = f"{taking.incoming.source} has no column `{AREA}`"
        raise UsageError(message, help_text="add it, or name the area with `--area`")
    for problem in table.problems:
        taking.incoming.about = _area_of(table, problem.spans[0].line, taking)
        _refuse_cell(problem, table, f"{word} {problem.spans[0].line + above}", taking.incoming)
    for row in table.rows:
        _take_row(row, table, f"{word} {row.place + above}", taking)


def _take_row(row: ReadingRow, table: CsvTable, place: str, taking: _Taking) -> None:
    area = taking.incoming.about = _area_of(table, row.place, taking)
    elsewhere = taking.of_another_day(table, row.place)
    spots, reason = taking.spots(area, _DEFUSED.sub("", table.cell(row.place, APPARATUS)))
    if elsewhere is not None or spots is None:
        said = table.lines[row.place - 1]
        taking.incoming.refuse(place, "row", said, elsewhere or reason, kept=elsewhere is None)
        return
    time, text = read_time(row.time or "", place, taking.incoming), row.grade or str(row.value)
    spot = row.location, row.spot
    spots.add(place, spot, row.roll, text, unit=row.unit or "", time=time, confirmed=row.confirmed)


def _column(heading: str, rolls: Collection[str] = ()) -> str:
    """Return the name of a column: a roll, or its heading without a unit in brackets, or the first word of it.

    >>> [_column(one, ("x1",)) for one in ("Reading (mil)", "reading mil", "net reading (mil)", "remark 2", "X1 (mil)")]
    ['reading', 'reading', 'net reading', 'remark 2', 'x1']
    """
    name = _BRACKETS.sub("", heading.lower())
    named = (roll_of(heading, rolls) or name, name, name.partition(" ")[0])
    return next((one for one in named if one in _KNOWN or one in rolls), name)


def _area_of(table: CsvTable, line: int, taking: _Taking) -> str:
    return table.cell(line, AREA) if AREA in table.header else str(taking.area)


def _refuse_cell(problem: Diagnostic, table: CsvTable, place: str, incoming: Incoming) -> None:
    """Note a row that cannot be read, by the cell it is about where it is about one."""
    span = problem.spans[0]
    cells = (name for name in table.header if table.span(span.line, name) == span != table.span(span.line))
    column = next(cells, "row")
    text = span.source_line[span.column - 1 :][: span.length] if column == "row" else table.cell(span.line, column)
    incoming.refuse(place, column, text, (problem.message, problem.help_text))


# XLSX


def _csv_of_workbook(data: bytes, rolls: tuple[str, ...] = ()) -> bytes:
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
    rows = [[_cell_text(value) for value in row] for row in sheet.iter_rows(values_only=True, max_row=_ROWS + 1)]
    # a row ends with its last cell where the workbook does not say how wide the sheet is
    widest = max(map(len, rows), default=0)
    rows = [row + [""] * (widest - len(row)) for row in rows]
    if len(rows) > _ROWS and any(rows[_ROWS]):
        raise UsageError(f"the sheet has more than {_ROWS:,} rows", help_text="save it as CSV")
    return _as_csv(rows, rolls)


def _as_csv(rows: list[list[str]], rolls: tuple[str, ...]) -> bytes:
    """Write the header and the rows below it, each on the line of its row; columns of other data are left out."""
    into = io.StringIO()
    writer = csv.writer(into, lineterminator="\n", delimiter=";")  # so that a decimal comma in a text cell is read
    wanted: dict[int, str] = {}
    known = _KNOWN.union(rolls)
    for row in rows:
        cells = [row[index] for index in wanted]
        if not wanted:
            names = (_column(cell.strip(), rolls) for cell in row)
            wanted = {index: name for index, name in enumerate(names) if name in known}
            cells = list(wanted.values())
        writer.writerow(cells if any(cells) else [])
    if not wanted:
        raise UsageError("the sheet is empty", help_text=f"columns: {AREA}, " + ", ".join(COLUMNS))
    return into.getvalue().encode()


def _cell_text(value: Any) -> str:
    """Return a cell as it would be typed; a number keeps the digits a spreadsheet shows for it."""
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        return value.isoformat(" ")
    if isinstance(value, dt.time):
        return value.strftime("%H:%M")
    return " ".join(str(value).split())


# Plain text


def _words(line: str) -> list[str]:
    """Split a line at blanks and commas; a comma inside a number is its decimal comma.

    >>> _words("A-2, 1, a, x1, 2.9"), _words("A-2,1,a,x1,2.9"), _words("A-2 1 a x1 2,9")
    (['A-2', '1', 'a', 'x1', '2.9'], ['A-2', '1', 'a', 'x1', '2.9'], ['A-2', '1', 'a', 'x1', '2,9'])
    """
    words = [word.strip(",") for word in line.split()]
    return [part for word in words for part in ([word] if _NUMBER.match(word) else word.split(",")) if part]


def _plain_line(words: list[str], line: str, place: str, taking: _Taking) -> None:
    """Take a whole line or none of it: words that have slipped by one would make readings of rolls."""
    taking.incoming.about = words[0]
    refuse = partial(taking.incoming.refuse, place, "line", line)
    words, apparatus = taking.without_apparatus(words)
    spots, reason = taking.spots(words[0], apparatus)
    if spots is None:
        return refuse(reason if len(words) >= _SHORTEST else ("this is not a line of readings", _SHAPE))
    alone = None if words[3:4] and words[3] in taking.rolls else spots.alone
    if alone is None:
        found, reason = _of_rolls(words[1:])
    else:
        found, reason = _one_reading(words[1:], alone), ("this is not a line of readings", _SHAPES[alone])
    if found is None:
        return refuse(reason)
    objections = [why for roll, _ in found.readings if (why := spots.unknown_roll(roll)) is not None]
    objection = objections[0] if objections else spots.begun(found.spot, place)
    if objection is not None:
        return refuse(objection)
    time = read_time(found.time, place, taking.incoming)
    for roll, reading in found.readings:
        spots.add(place, found.spot, roll, reading, time=time)
    return None


class _Line(NamedTuple):
    """What a typed line says: (location, spot), readings by their roll, and the time as written."""

    spot: tuple[str, str]
    readings: list[tuple[str | None, str]]
    time: str


def _of_rolls(words: list[str]) -> tuple[_Line | None, Reason]:
    """Return what the words after the area and its apparatus say, a reading for each roll; or None, and why."""
    if len(words) < _SHORTEST - 1:
        return None, ("this is not a line of readings", _SHAPE)
    location, spot, *pairs = words
    written = pairs.pop() if len(pairs) % 2 and _TIME.match(pairs[-1]) else ""
    if len(pairs) % 2:
        time = read_clock(words[-1])[0] if _EITHER.match(words[-1]) else None
        either = f"`{words[-1]}` may be a time, or a reading without its roll", f"write the time as `{time}`; {_SHAPE}"
        return None, (("a roll has no reading", _SHAPE) if time is None else either)
    return _Line((location, spot), list(zip(pairs[::2], pairs[1::2], strict=True)), written), ("", None)


def _one_reading(words: list[str], alone: str) -> _Line | None:
    """Return what the words say where a row has one reading, with or without its field before it; None for no line.

    >>> _one_reading(["1", "a", "73", "1020"], DEPTH)
    _Line(spot=('1', 'a'), readings=[(None, '73')], time='1020')
    >>> _one_reading(["1", "finer", "than", "fine"], GRADE)
    _Line(spot=('1', 'a'), readings=[(None, 'finer than fine')], time='')
    """
    location, *rest = words or [""]
    time = rest.pop() if len(rest) > (2 if alone == DEPTH else 1) and _TIME.match(rest[-1]) else ""
    named = next((at for at in (1, 0) if rest[at : at + 1] == [alone]), None)
    if named is not None:
        del rest[named]
    starts = [1] if alone == DEPTH and len(rest) == 2 else []
    if alone == GRADE:
        starts = [at for at in (0, 1) if is_grade(" ".join(rest[at:]))]
    if not starts:
        return None
    spot = rest[0] if starts[0] else ONLY_SPOT
    return _Line((location, spot), [(None, " ".join(rest[starts[0] :]))], time)
