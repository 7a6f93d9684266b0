"""The tamper matrix: genuine reports pass, altered ones get exactly the verdict and the reasons written in their row.

Each file is made inside the test from the rule that it breaks. The second opinion is poppler's pdfsig, the third the
difference check of pyHanko, the fourth the page that checks reports in a browser; where one calls valid what must not
pass, or the other way round, it is said why.
"""

from __future__ import annotations

import asyncio
import functools
import io
import re
import subprocess
from typing import TYPE_CHECKING

import pytest
from asn1crypto import x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import async_validate_pdf_signature
from pyhanko_certvalidator import ValidationContext

from reportgen.verification import verify_report
from tests.e2e.tamper import matrix
from tests.e2e.tamper.rows import (
    CHECKER_CANNOT_SAY,
    CHECKER_DOUBTS,
    CHECKER_IS_BLIND_TO,
    CHECKER_IS_GIVEN_NO_POLICY,
    DIFFERENCE_CHECK_DIFFERS,
    DIFFERENCE_CHECK_IS_BLIND_TO,
)
from tests.outside import needs_program
from tests.unit.verification.signed_material import CHECKS

if TYPE_CHECKING:
    from pathlib import Path

    from reportgen.verification import Verification
    from tests.checker_page import CheckerPage
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
def verdict_on(name: str) -> Verification:
    row = BY_NAME[name]
    return verify_report(file_of(name), at=row.at, roots=row.roots(), **{**CHECKS, **row.options})


@functools.cache
def version_of_pdfsig() -> str:
    return subprocess.run(["pdfsig", "-v"], capture_output=True, text=True, check=False).stderr


@every_row
def test_verdict_and_reasons(row: Row) -> None:
    answer = verdict_on(row.name)
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


def called_valid(row: Row) -> bool:
    """Say whether the difference check finds signatures, and every one of them intact, trusted and undisturbed."""
    roots = [x509.Certificate.load(one.public_bytes(Encoding.DER)) for one in row.roots()]
    try:
        signatures = PdfFileReader(io.BytesIO(file_of(row.name))).embedded_signatures
        found = []
        for signature in signatures:
            context = ValidationContext(trust_roots=roots, moment=row.at, revocation_mode="soft-fail")
            found.append(asyncio.run(async_validate_pdf_signature(signature, signer_validation_context=context)))
    except Exception:  # noqa: BLE001 - whatever a library raises of a damaged file is its way of failing
        return False
    return bool(found) and all(one.bottom_line for one in found)


@every_row
def test_third_opinion(row: Row) -> None:
    valid = called_valid(row)
    if row.name in DIFFERENCE_CHECK_DIFFERS:
        assert valid != (row.overall == "passed"), "it is no difference any more"
    elif row.overall == "passed":
        assert valid
    elif valid:
        assert row.reasons <= DIFFERENCE_CHECK_IS_BLIND_TO.keys()


@every_row
@needs_program("chromium")
def test_fourth_opinion(row: Row, checker: CheckerPage) -> None:
    """Another reader, of which no line and no library is shared: what it calls unaltered, the first four steps pass."""
    verdict = verdict_on(row.name)
    roots = [one.public_bytes(Encoding.DER) for one in row.roots()]
    found = checker.examine(file_of(row.name), roots, row.at)
    assert found["broke"] is None
    whole = all(step.status == "passed" for step in verdict.steps[:4])
    said = found["intact"]["answer"] == "yes"
    if row.name in CHECKER_CANNOT_SAY:
        assert (whole, found["intact"]["answer"]) == (True, "cannot"), "it is no difference any more"
    else:
        assert said == whole, found["intact"]
    believed = found["head"]["answer"] == "yes"
    if verdict.overall != "passed":
        assert not believed or row.name in CHECKER_IS_GIVEN_NO_POLICY or row.reasons <= CHECKER_IS_BLIND_TO.keys()
    elif row.name in CHECKER_DOUBTS:
        assert not believed, "it is no difference any more"
    else:
        assert believed or not said, found


def test_size_and_explanations() -> None:
    altered = [row for row in ROWS if row.overall != "passed"]
    assert len(altered) >= 500
    assert len(ROWS) - len(altered) >= 57
    assert len({row.name for row in ROWS}) == len(ROWS)
    assert {*CHECKER_CANNOT_SAY, *CHECKER_DOUBTS} <= {row.name for row in ROWS}
    for row in ROWS:
        agrees = (row.overall == "passed") == (row.pdfsig == "valid")
        assert agrees or row.why, f"{row.name}: pdfsig says {row.pdfsig}, and the row does not say why"
