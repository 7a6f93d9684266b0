"""What to export, from wherever it stands: a day file, a contract folder, or an issued report alone."""

from __future__ import annotations

import base64
import json
from functools import partial
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING, Final

from reportgen.archival import read_attachments
from reportgen.errors import UsageError
from reportgen.export.tables import Exported
from reportgen.formats import (
    EVALUATION_NAME,
    MANIFEST_NAME,
    by_path,
    counters,
    differences,
    issue_moment,
    read_manifest,
    required,
)
from reportgen.loader import job_from_files
from reportgen.loader.earlier import holds_report
from reportgen.rules import evaluate
from reportgen.sandbox import confined

if TYPE_CHECKING:
    from collections.abc import Callable

_PDF_LIMIT: Final = 256 << 20


def reports_at(path: Path, of_day: Callable[[Path], Exported]) -> tuple[Exported, ...]:
    """Return the reports of a day file, of all day files of a folder (by date and number), or of an issued PDF.

    ``of_day`` loads and evaluates a day file. A PDF is not verified: that is another command. Its embedded files must
    be those its list names.

    Raises:
        UsageError: nothing of that name, a folder without day files, a PDF that holds no report.
        InputError: a day file with faults.
    """
    path = Path(path)
    if path.is_dir():
        days = day_files(path)
        if not days:
            raise UsageError(f"{path} holds no day file", help_text="name a contract folder, a day file or a report")
        moment = attrgetter("evaluation.report.date", "evaluation.report.number", "evaluation.report.revision")
        return tuple(sorted(map(of_day, days), key=moment))
    if not path.is_file():
        raise UsageError(f"{path} is neither a file nor a folder")
    with path.open("rb") as stream:
        pdf = stream.read(5) == b"%PDF-"
    return (report_of(path.read_bytes(), path.name),) if pdf else (of_day(path),)


def day_files(folder: Path) -> list[Path]:
    """Return the YAML files of a folder that hold a report, by name."""
    found = []
    for path in sorted(folder.iterdir()):
        if path.suffix.lower() not in (".yaml", ".yml") or not path.is_file():
            continue
        if holds_report(path.read_bytes(), path.name):
            found.append(path)
    return found


def report_of(pdf: bytes, name: str) -> Exported:
    """Return the report inside a PDF, evaluated again from its embedded files.

    Raises:
        UsageError: the PDF cannot be read, holds no report, or its files are not those its list names.
    """
    if len(pdf) > _PDF_LIMIT:
        raise UsageError(f"{name} is larger than {_PDF_LIMIT >> 20} MiB")
    packed = json.loads(confined(partial(_embedded, pdf), name))
    files = {label: base64.b64decode(text) for label, text in packed.items()}
    if MANIFEST_NAME not in files:
        from reportgen.issued import no_report

        raise no_report(name, files)
    try:
        manifest = read_manifest(files[MANIFEST_NAME])
        manifest.require_known()
    except ValueError as reason:
        raise UsageError(f"{name} cannot be exported: {reason}") from None
    wrong = differences(manifest, files)
    if wrong:
        raise UsageError(f"{name} cannot be exported: {wrong[0]}", help_text="run `reportgen verify` on it")
    files = by_path(manifest, files)
    sources = {label: data for label, data in files.items() if label not in (MANIFEST_NAME, EVALUATION_NAME)}
    job = job_from_files(sources, manifest.day)
    at = issue_moment(files)
    try:
        issued_under = counters(required(files, EVALUATION_NAME)).rules
    except ValueError as reason:
        raise UsageError(f"{name} cannot be exported: {reason}") from None
    return Exported(job, evaluate(job, at=at, edition=issued_under))


def _embedded(pdf: bytes) -> bytes:
    """Return name → content (base64) of the embedded files as JSON; runs in the child."""
    try:
        files = read_attachments(pdf)
    except ValueError as reason:
        raise UsageError(f"the PDF cannot be read: {reason}") from None
    return json.dumps({name: base64.b64encode(data).decode("ascii") for name, data in files.items()}).encode()
