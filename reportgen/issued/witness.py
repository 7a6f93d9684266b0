"""What a signed report says of itself and of the register it was issued upon, and of the row that it left."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Final, cast

from reportgen.formats import EVALUATION_NAME, MANIFEST_NAME, head, read_issue, read_manifest, required
from reportgen.names import file_stem, slip_number
from reportgen.register import Entry, Witness
from reportgen.register.rows import report_of
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.formats import Manifest
    from reportgen.register import Report
    from reportgen.results import Verdict
    from reportgen.verification.verdict import Signer
    from reportgen.words.told import Told

_UNSOUND: Final = frozenset({"HASH_FAILURE", "SIG_CRYPTO_FAILURE"})
_BYTE_RANGE = re.compile(rb"/ByteRange\s*\[\s*0\s+(\d+)\s+(\d+)\s+(\d+)\s*\]")


def witness_of(pdf: bytes, files: Mapping[str, bytes], name: str, signers: Sequence[Signer]) -> Witness:
    """Return what a signed report says of itself and of the register it was issued upon.

    ``signers`` are those of its signatures as verified; there are none where these could not be looked at.

    Raises:
        ValueError: when the report does not hold what an issued report holds.
    """
    witness = _witness(pdf, files, name, read_manifest(required(files, MANIFEST_NAME)))
    return replace(witness, unlike=_unlike(signers, read_issue(files).certificate), checked=bool(signers))


def _unlike(signers: Sequence[Signer], stated: str | None) -> Told | None:
    """Return why the first signature is none with which a report was issued whose pages state a certificate.

    Anybody can put a signature of their own over the same pages.
    """
    if not signers:
        return told("unlike-unchecked")
    first = signers[0]
    if _UNSOUND & {*first.doubts}:
        return told("unlike-unsound")
    own = first.certificate
    if stated is None:
        return told("unlike-unstated", own=own)
    return None if own == stated else told("unlike-another", own=own, stated=stated)


def _witness(pdf: bytes, files: Mapping[str, bytes], name: str, manifest: Manifest) -> Witness:
    facts = read_issue(files)
    if facts.register is None:
        raise ValueError(told("upon-no-register"))
    signed = _BYTE_RANGE.search(pdf)
    if signed is None:
        raise ValueError(told("report-without-signature"))
    size = int(signed[2]) + int(signed[3])
    # the unsigned file is the beginning of the signed one: up to the end mark before the signature
    end = pdf.rfind(b"%%EOF", 0, int(signed[1])) + len(b"%%EOF")
    unsigned = pdf[: end + pdf.startswith(b"\n", end)]
    entry = Entry(
        number=facts.number,
        revision=facts.revision,
        date=dt.date.fromisoformat(facts.date),
        issued_at=facts.moment,
        verdict=cast("Verdict", head(required(files, EVALUATION_NAME)).verdict),
        unsigned_sha256=hashlib.sha256(unsigned).hexdigest(),
        evaluation_sha256=hashlib.sha256(required(files, EVALUATION_NAME)).hexdigest(),
        inputs=manifest.inputs(),
        head=facts.register,
        supersedes=facts.supersedes,
        area=facts.slip,
    )
    covered = pdf[: int(signed[1])] + pdf[int(signed[2]) : size]
    left, own = (hashlib.sha256(data).hexdigest() for data in (pdf[:size], covered))
    return Witness(entry, name, size, left, own)


def row_left(pdf: bytes, files: Mapping[str, bytes]) -> tuple[Report | None, tuple[str, ...]]:
    """Return what the row says that a report left, and the usual paths, one of which it most often states.

    Under which name it was issued stands in the row alone.
    """
    try:
        manifest = read_manifest(required(files, MANIFEST_NAME))
        witness = _witness(pdf, files, "", manifest)
        one = witness.entry
        stem = file_stem(one)
        usual = f"reports/{stem}.pdf"
        report = report_of(one, file=usual, size=witness.size, signed_sha256=witness.signed_sha256)
    except (LookupError, TypeError, ValueError):
        return None, ()
    beside = f"{manifest.day.rpartition('/')[0]}/reports".lstrip("/")
    if one.area is not None:
        stem = f"slips/{slip_number(one.number, one.area, one.issued_at)}"
    names = (f"reports/{stem}.pdf", f"{beside}/{stem}.pdf", f"{stem.removeprefix('slips/')}.pdf")
    return report, tuple(dict.fromkeys(names))
