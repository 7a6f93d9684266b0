"""What a signed report says of itself and of the register it was issued upon."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from typing import TYPE_CHECKING, cast

from reportgen.formats import EVALUATION_NAME, MANIFEST_NAME, OtherReleaseError, head, read_issue, read_manifest

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.register import Chain, Witness
    from reportgen.results import Verdict
    from reportgen.verification import Evidence, Outcome

_BYTE_RANGE = re.compile(rb"/ByteRange\s*\[\s*0\s+(\d+)\s+(\d+)\s+(\d+)\s*\]")


def witness_of(pdf: bytes, files: Mapping[str, bytes], name: str) -> Witness:
    """Return what a signed report says of itself and of the register it was issued upon.

    Raises:
        ValueError, KeyError: when the report does not hold what an issued report holds.
    """
    from reportgen.register import Entry, Witness

    facts = read_issue(files)
    if facts.register is None:
        raise ValueError("the report was not issued upon a register")
    signed = _BYTE_RANGE.search(pdf)
    if signed is None:
        raise ValueError("the report has no signature")
    size = int(signed[2]) + int(signed[3])
    entry = Entry(
        number=facts.number,
        revision=facts.revision,
        date=dt.date.fromisoformat(facts.date),
        issued_at=facts.moment,
        verdict=cast("Verdict", head(files[EVALUATION_NAME]).verdict),
        unsigned_sha256=hashlib.sha256(_unsigned(pdf, int(signed[1]))).hexdigest(),
        evaluation_sha256=hashlib.sha256(files[EVALUATION_NAME]).hexdigest(),
        inputs=read_manifest(files[MANIFEST_NAME]).inputs(),
        head=facts.register,
        supersedes=facts.supersedes,
    )
    return Witness(entry, name, size, hashlib.sha256(pdf[:size]).hexdigest())


def _unsigned(pdf: bytes, before: int) -> bytes:
    """Return the unsigned file, which is the beginning of the signed one: up to the end mark before the signature."""
    end = pdf.rfind(b"%%EOF", 0, before)
    return pdf[: end + 6] if pdf[end + 5 : end + 6] == b"\n" else pdf[: end + 5]


def standing_by_register(chain: Chain, evidence: Evidence) -> Outcome:
    """Step 12 of a verification: has the register a later revision of the report?"""
    from reportgen.verification import Outcome

    try:
        facts = read_issue(evidence.files)
    except ValueError as lack:
        return Outcome("not done", (str(lack),))
    later = [revision for number, revision in chain.issued if number == facts.number and revision > facts.revision]
    if later:
        return Outcome("superseded", (f"superseded by revision {max(later)}",))
    if chain.unread is not None:
        return Outcome("not done", ("the register has rows of a later release",))
    return Outcome("passed", ("current",))


def register_agrees(chain: Chain, name: str, evidence: Evidence) -> Outcome:
    """Step 11 of a verification: does the register know the report as it is?"""
    from reportgen.register import contradictions
    from reportgen.verification import Outcome

    try:
        evidence.manifest.require_known()
        witness = witness_of(evidence.pdf, evidence.files, name)
    except OtherReleaseError as later:
        return Outcome("indeterminate", (str(later),))
    except (ValueError, KeyError, TypeError) as lack:
        return Outcome("failed", (f"the report cannot be found in the register: {lack}",))
    problems = contradictions(chain, witness)
    if problems:
        grave = any(problem.grave for problem in problems)
        return Outcome("failed" if grave else "indeterminate", tuple(problem.message for problem in problems))
    where = f"{witness.entry.number} revision {witness.entry.revision}, upon row {witness.entry.head.sequence}"
    return Outcome("passed", (f"the register knows {where}, with this SHA-256",))
