"""One row of the tamper matrix: how the file is made, what verification must say, and what another program says."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from tests.unit.verification.signed_material import LATER, root

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

Pdfsig = Literal["valid", "invalid", "none"]

LATER_REVISION = (
    "it judges each signature over its own bytes; what came later shows only as `not total document signed`"
)
MATHEMATICS = "it checks the mathematics of the signature, not what a signed file may hold or who may sign"
CERTIFICATES = "asked not to check certificates, it has no opinion on the signer"
FILES = "it does not look at embedded files"
LENIENT = "it repairs or overlooks the damage and finds the signed bytes intact"
NOT_FOUND = "it does not find the signature, which is its way of failing"

_LOOKS = "what a signed page may hold is not its question"
_LATER = "what it takes for harmless may follow a signature, also where none does"
_ROOTS = "limits of a trusted root, and what a certificate is for, do not count for it"
_JOB = "it does not know the job, nor whom that names"
_FILES = "it does not read the embedded files"
_TIMES = "a claimed time proves nothing to it, and contradicts nothing"
_GIVEN = "it is asked without revocation data"
DIFFERENCE_CHECK_IS_BLIND_TO: Mapping[str, str] = {
    "ACTIVE_CONTENT": _LOOKS, "ANNOTATIONS": _LOOKS, "LAYERS": _LOOKS, "EXTERNAL_REFERENCE": _LOOKS,
    "PORTFOLIO": _LOOKS, "ORPHAN_OBJECTS": _LOOKS,
    "CHANGED_WHEN_SIGNING": "the revision of the first signature is the signer's, and compared with nothing",
    "CHANGED_AFTER_SIGNING": _LATER, "BYTES_AFTER_END": _LATER, "TOO_MANY_REVISIONS": _LATER,
    "CHAIN_CONSTRAINTS_FAILURE": _ROOTS, "CERTIFICATE_CHAIN_GENERAL_FAILURE": _ROOTS, "OUT_OF_BOUNDS_NO_POE": _ROOTS,
    "DEMONSTRATION": _ROOTS,
    "SIGNER_NOT_NAMED": _JOB, "SIGNER_NOT_PINNED": _JOB, "SIGNED_TWICE": _JOB,
    "EMBEDDED_FILES": _FILES, "EVALUATION_DIFFERS": _FILES, "FILES_DISAGREE": _FILES, "INPUT_REFUSED": _FILES,
    "NOT_ISSUED": _FILES, "OTHER_RELEASE": _FILES,
    "TIMES_DISAGREE": _TIMES, "CLAIMED_TIME_IN_FUTURE": _TIMES, "NOT_YET_VALID": _TIMES,
    "SIG_CONSTRAINTS_FAILURE": _TIMES,
    "REVOKED_NO_POE": _GIVEN, "TRY_LATER": _GIVEN,
    "HIDDEN_IN_SIGNATURE": "what stands behind the signature's value is padding to it",
}  # fmt: skip
"""What the difference check of pyHanko, asked with the row's roots at its moment, does not object to, and why."""
DIFFERENCE_CHECK_DIFFERS: Mapping[str, str] = {
    "timestamped, certificate expired since": "asked for one moment, it holds the certificate against that",
    "countersigned, all timestamped": "asked for one moment, it holds the certificates against that",
    "timestamp of an unknown authority": "a timestamp that proves nothing is an error to it",
    "blank in the value": "it reads the value as the PDF's grammar does, blanks left out",
}
"""Rows of which it says otherwise for a reason of their own."""


@dataclass(frozen=True)
class Row:
    """``reasons`` is the exact set of names; ``pdfsig`` what poppler 22.12 says, ``why`` explains a difference."""

    name: str
    build: Callable[[], bytes]
    overall: Literal["passed", "failed", "indeterminate"]
    reasons: frozenset[str]
    pdfsig: Pdfsig = "valid"
    why: str = ""
    at: datetime = LATER
    roots: Callable[[], tuple[Any, ...]] = lambda: (root().certificate,)
    options: dict[str, Any] = field(default_factory=dict)


def passed(name: str, build: Callable[[], bytes], **more: Any) -> Row:
    return Row(name, build, "passed", frozenset(), **more)


def failed(name: str, build: Callable[[], bytes], reasons: str, **more: Any) -> Row:
    return Row(name, build, "failed", frozenset(reasons.split()), **more)


def doubtful(name: str, build: Callable[[], bytes], reasons: str, **more: Any) -> Row:
    return Row(name, build, "indeterminate", frozenset(reasons.split()), **more)
