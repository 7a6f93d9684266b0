"""What an error of a gauge would change: each report that it read on is evaluated anew, in a child process."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from reportgen.compared import GaugeError, gauge_errors_of
from reportgen.errors import UsageError
from reportgen.formats.decoding import value_from
from reportgen.pipeline.clock import now
from reportgen.sandbox import confined
from reportgen.units import DISPLAY
from reportgen.words.told import told

if TYPE_CHECKING:
    from reportgen.audit import Index
    from reportgen.audit.repeatability import Answer, Row

_SECONDS: Final = 300.0


def with_gauge_errors(index: Index, found: Answer) -> Answer:
    """Return the answer to *recall* with the smallest error of the gauge that changes each verdict.

    The files are read again where they were audited; of one that is not there, or was changed since, that is said.
    """
    from reportgen.audit.repeatability import Answer

    files = AuditedFiles(index)
    place = {head: number for number, head in enumerate(found.heads)}
    known: dict[tuple[str, str], dict[str, GaugeError]] = {}
    lost: dict[str, str] = {}
    rows: list[Row] = []
    for row in found.rows:
        path, serial, area = (str(row[place[name]]) for name in ("file", "gauge", "area"))
        if (path, serial) not in known:
            try:
                known[path, serial] = _errors(files, path, serial)
            except UsageError as fault:
                known[path, serial], lost[path] = {}, fault.message
        rows.append(_with(row, place, known[path, serial].get(area)))
    tried = {(one.tried, one.unit) for errors in known.values() for one in errors.values() if one.size is None}
    errors = tuple(told("number-and-unit", number=size, unit=DISPLAY.get(unit, unit)) for size, unit in sorted(tried))
    below = [told("recall-tried", errors=errors)] if errors else []
    below += [told("recall-lost", why=why) for why in lost.values()]
    return Answer(found.heads, rows, (*found.below, *below))


def _with(row: Row, place: dict[str, int], error: GaugeError | None) -> Row:
    if error is None:
        return row
    told: dict[str, Any] = {"gauge_unit": error.unit, "error_tried": f"{error.tried:f}"}
    if error.size is not None:
        told |= {"gauge_error": f"{error.size:f}", "gauge_reads": error.reads, "would_be": error.would_be}
    cells = list(row)
    for name, value in told.items():
        cells[place[name]] = value
    return tuple(cells)


def _errors(files: AuditedFiles, path: str, serial: str) -> dict[str, GaugeError]:
    from reportgen.issued import load_for_examination

    work = partial(gauge_errors_of, files.read(path), path, serial)
    told = json.loads(confined(work, path, seconds=_SECONDS, load=load_for_examination), parse_float=Decimal)
    return {one.area: one for one in (value_from(GaugeError, row) for row in told)}


class AuditedFiles:
    """The files of an audit, read again where they were audited, each only as it was then."""

    def __init__(self, index: Index) -> None:
        from reportgen.issued import pdf_files, shown_name

        folder = Path(str(index.value("folder")))
        files = pdf_files([folder], lambda _: None) if folder.is_dir() else []
        self._paths = {shown_name(path.relative_to(folder)): path for path in files}
        self._index = index

    def read(self, path: str) -> bytes:
        """Return the bytes of a file, or of an original inside a submittal, by its path in the index.

        Raises:
            UsageError: it is not there any more, or another by now.
        """
        from reportgen.issued import Checks, Listed, original_inside, read_pdf

        ((file, inside, sha256, size),) = self._index.rows(
            "SELECT file, inside, sha256, size FROM files WHERE path = ?", path
        )
        if file not in self._paths:
            raise UsageError(f"{file} is not where it was audited")
        data = read_pdf(self._paths[file])
        if inside:
            data = original_inside(data, Listed(inside, sha256, size, "", 0, ""), Checks(now()))
        if hashlib.sha256(data).hexdigest() != sha256:
            raise UsageError(f"{path} is another file than was audited", help_text="run the audit again")
        return data
