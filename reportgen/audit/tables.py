"""The answer of an audit as two CSV files: one row for each file, one for each problem."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

from reportgen import atomicfile
from reportgen.audit.audit_result import verdicts
from reportgen.errors import MachineError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from reportgen.audit.audit_result import Audit
    from reportgen.audit.index import Index

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def write_tables(audit: Audit, index: Index, folder: Path) -> tuple[Path, Path]:
    """Write ``files.csv`` and ``problems.csv`` into ``folder``, which is made; older ones there are replaced.

    Text that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise MachineError(f"{folder} cannot be made: {error.strerror}") from error
    files, problems = folder / "files.csv", folder / "problems.csv"
    heads = ("file", "verdict", "kind", "contract", "number", "revision", "signers", "reasons", "sha256")
    rows = (
        (one.path, one.overall, one.kind, one.contract, one.number, one.revision, "; ".join(one.signers),
         "; ".join(f"{name}: {sentence}" for name, sentence in one.reasons), one.sha256)
        for one in verdicts(index)
    )  # fmt: skip
    atomicfile.write_replacing(files, table_of(heads, rows))
    columns = ("weight", "code", "contract", "number", "area", "problem", "files", "verdict")
    found = (
        (one.weight, one.code, one.contract, one.number, one.area, one.sentence, "; ".join(one.files), one.verdict)
        for one in audit.problems
    )
    atomicfile.write_replacing(problems, table_of(columns, found))
    return files, problems


def table_of(heads: Sequence[str], rows: Iterable[Sequence[Any]]) -> bytes:
    """Return a CSV table in UTF-8 with CR LF (RFC 4180)."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(heads)
    writer.writerows([_safe(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8")


def _safe(cell: object) -> object:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell
