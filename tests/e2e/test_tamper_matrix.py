"""The tamper matrix: genuine reports pass, altered ones get exactly the verdict and the reasons written in their row.

Each file is made inside the test from the rule that it breaks. The second opinion is poppler's pdfsig; where it calls
valid what must not pass, or the other way round, the row says why.
"""

from __future__ import annotations

import functools
import re
import subprocess
from typing import TYPE_CHECKING

import pytest

from reportgen.verification import verify_report
from tests.e2e.tamper import matrix
from tests.outside import needs_program
from tests.unit.verification.signed_material import CHECKS

if TYPE_CHECKING:
    from pathlib import Path

    from tests.e2e.tamper.rows import Row

ROWS = matrix()
RECORDED_WITH = "22.12"
every_row = pytest.mark.parametrize("row", ROWS, ids=[row.name for row in ROWS])


BY_NAME = {row.name: row for row in ROWS}


@functools.cache
def file_of(name: str) -> bytes:
    """Return the file of a row, built once for all that looks at it."""
    return BY_NAME[name].build()


@functools.cache
def version_of_pdfsig() -> str:
    return subprocess.run(["pdfsig", "-v"], capture_output=True, text=True, check=False).stderr


@every_row
def test_verdict_and_reasons(row: Row) -> None:
    answer = verify_report(file_of(row.name), at=row.at, roots=row.roots(), **{**CHECKS, **row.options})
    assert (answer.overall, {reason.name for reason in answer.reasons}) == (row.overall, row.reasons), answer.reasons


@every_row
@needs_program("pdfsig")
def test_second_opinion(row: Row, tmp_path: Path) -> None:
    if RECORDED_WITH not in version_of_pdfsig():
        pytest.skip(f"the answers were recorded with poppler {RECORDED_WITH}")
    file = tmp_path / "report.pdf"
    file.write_bytes(file_of(row.name))
    answer = subprocess.run(["pdfsig", "-nocert", str(file)], capture_output=True, timeout=20, check=False)
    words = re.findall(rb"Signature Validation: (.*)", answer.stdout)
    opinion = "none" if not words else "valid" if all(b"is Valid" in word for word in words) else "invalid"
    assert opinion == row.pdfsig


def test_size_and_explanations() -> None:
    altered = [row for row in ROWS if row.overall != "passed"]
    assert len(altered) >= 100
    assert len({row.name for row in ROWS}) == len(ROWS)
    for row in ROWS:
        agrees = (row.overall == "passed") == (row.pdfsig == "valid")
        assert agrees or row.why, f"{row.name}: pdfsig says {row.pdfsig}, and the row does not say why"
