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
RENEWED = "it does not know the kind of signature that a renewal is"
NOT_FOUND = "it does not find the signature, which is its way of failing"

_RENEWED_ALONE = (
    "renewed in time",
    "renewed by one who is trusted as himself",
    "renewed under an authority for mail and time",
)
_RENEWED_WITH_DATA = (
    "renewed with an answer of its root",
    "renewed with an answer of one whom its root named",
    "renewed with answers of two whom its root named",
    "renewed with an answer about two certificates",
    "renewed with an answer and a list",
    "renewed with a list of its root, which no signature brings",
    "renewed with certificates that no signature brings, their lists and an answer",
    "renewed again with a list of one whom the renewal before brings",
    "renewed with what has grown old, by one who names who answers",
    "renewed with what has grown old, by one who names a list",
)
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
    "DEMONSTRATION": _ROOTS, "NO_CERTIFICATE_CHAIN_FOUND": _ROOTS,
    "SIGNER_NOT_NAMED": _JOB, "SIGNER_NOT_PINNED": _JOB, "SIGNED_TWICE": _JOB,
    "EMBEDDED_FILES": _FILES, "EVALUATION_DIFFERS": _FILES, "FILES_DISAGREE": _FILES, "INPUT_REFUSED": _FILES,
    "NOT_ISSUED": _FILES, "OTHER_RELEASE": _FILES,
    "TIMES_DISAGREE": _TIMES, "CLAIMED_TIME_IN_FUTURE": _TIMES, "NOT_YET_VALID": _TIMES,
    "SIG_CONSTRAINTS_FAILURE": _TIMES,
    "REVOKED_NO_POE": _GIVEN,
    "HIDDEN_IN_SIGNATURE": "what stands behind the signature's value is padding to it",
    "FORMAT_FAILURE": "it asks neither whether pages hang on one tree nor whether objects are numbered without gaps",
}  # fmt: skip
"""What the difference check of pyHanko, asked with the row's roots at its moment, does not object to, and why."""
DIFFERENCE_CHECK_DIFFERS: Mapping[str, str] = {
    "timestamped, certificate expired since": "asked for one moment, it holds the certificate against that",
    "countersigned, all timestamped": "asked for one moment, it holds the certificates against that",
    **dict.fromkeys(
        (*_RENEWED_ALONE, *_RENEWED_WITH_DATA), "asked for one moment, it holds the certificate against that"
    ),
    **dict.fromkeys(
        (
            "countersigned with a list, and renewed",
            "renewal by hand, as it was",
            "countersigned after the renewal below it",
            "renewed by a clock that is slow by minutes",
        ),
        RENEWED,
    ),
    "timestamp of an unknown authority": "a timestamp that proves nothing is an error to it",
    "renewed by anyone's clock": "a timestamp that proves nothing is an error to it",
    "blank in the value": "it reads the value as the PDF's grammar does, blanks left out",
}
"""Rows of which it says otherwise for a reason of their own."""

_PAGES = "what is signed along is the signer's, and it looks for no change that a signature covers"
ETSI_IS_BLIND_TO: Mapping[str, str] = {
    **DIFFERENCE_CHECK_IS_BLIND_TO,
    "CHANGED_AFTER_SIGNING": "it names what followed a signature, and its policy makes that no reason to refuse",
    "FORMAT_FAILURE": _PAGES,
}
"""What the ETSI validator, by the policy that it brings, does not object to, and why."""
_LOOKING_BACK = "it looks back only with revocation data that is newer than the timestamp, and the file holds none"
ETSI_DIFFERS: Mapping[str, str] = {
    "Ed25519": "its policy names no end for this kind of key",
    "timestamped, certificate expired since": _LOOKING_BACK,
    "countersigned, all timestamped": _LOOKING_BACK,
    **dict.fromkeys(_RENEWED_ALONE, _LOOKING_BACK),
}
"""Genuine files which it does not pass for a reason of their own."""


_FORM = "it reads no other form of PDF than reports are written in"
_WEAK = "it refuses what is weak as not understood, also where only the certificate is"
_ODD = "it refuses whatever our pages never have, and step 7 comes after the four"
_PACKING = "it unpacks all there is, by Flate alone and within a bound"
_FACTS = "it cannot read there what fields and place are held against, and step 7 comes after the four"
CHECKER_CANNOT_SAY: Mapping[str, str] = {
    "object streams": _FORM, "countersigned, object streams": _FORM, "written for people to read": _FORM,
    "renewed by one with a short key": _WEAK, "RSA-1024": _WEAK,
    "report signed with sha1": _WEAK, "report signed with md5": _WEAK,
    "lower-case digits in the signature's value": "no signature covers how its own digits are spelled",
    "name with a zero": "a text with a zero has no letters in the encoding of a PDF",
    "issue that names no site": "it holds the place of signing against that, and step 7 comes after the four",
    "one bit altered: timestamp": "what was signed is as it was, and not every byte: nor is it proven when",
    "the word endobj in a text": "a text is no object of its own in what our writer makes",
    "report that has a file on a page": _ODD, "report that has a file on a page, written in place": _ODD,
    "report that has the contents of a file on a page": _ODD,
    "an embedded file packed badly": _PACKING, "an embedded file packed otherwise": _PACKING,
    "an embedded file too large when unpacked": _PACKING,
    "name with a mark of direction at the end": "it compares no name whose letters change the direction of reading",
    **dict.fromkeys(
        (
            "no embedded files", "two embedded files of one name", "an embedded file under two names",
            "a list of files without end", "time of issue without its offset", "time of issue in words",
            "how it was issued is not JSON", "revision that replaces another, by its revision",
            "revision that replaces a report before the first", "revision that replaces itself",
            "revision that replaces one before the first, as its day file",
            "an embedded file has another content by its second name",
            "an embedded file has a content for one system", "an embedded file has another name for old readers",
            "an embedded file has files that go with it", "an embedded file has a further entry",
            "report that does not say which files belong to it", "report that says that a file belongs to it twice",
            "report that has a file that belongs to it and is not listed",
        ),
        _FACTS,
    ),
}  # fmt: skip
"""Rows of which steps 1 to 4 pass and the page does not say that every byte is as signed, and why."""
CHECKER_IS_BLIND_TO: Mapping[str, str] = {
    "REVOKED_NO_POE": "it is given no lists of revoked certificates",
    "EVALUATION_DIFFERS": "it computes nothing again", "OTHER_RELEASE": "nor does it know by which rules",
    "TIMES_DISAGREE": "when the shift began stands in the job", "SIGNER_NOT_PINNED": "it is given no policy",
    "FILES_DISAGREE": "the day file is YAML, and the evaluations of these rows state no number",
}  # fmt: skip
"""What ``verify`` holds against a file that the page's headline calls unaltered and signed, and why it is silent."""
CHECKER_IS_GIVEN_NO_POLICY = frozenset({"a look-alike of a pinned name"})
CHECKER_DOUBTS: Mapping[str, str] = {
    "pinned by the policy and the project file": "it is given no policy",
    "pinned by the policy, in another name": "it is given no policy",
    "pinned by the policy, otherwise by the project file": "it is given no policy, and the report contradicts itself",
    "pinned by the project file, by issuer and subject": "it compares no subjects",
    "a root for these names": "it does not judge limits of names",
    **dict.fromkeys(
        (
            *("timestamped, certificate expired since", "countersigned, all timestamped"),
            *(name for name in _RENEWED_ALONE if name != "renewed by one who is trusted as himself"),
            *_RENEWED_WITH_DATA,
        ),
        "a policy believes the signer's root about the time, and it is given none",
    ),
}
"""Rows that pass, all bytes as signed, and whose headline is not so."""


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
