"""The revision of one signature, written with an empty place for its value."""

# mypy: disable-error-code="no-untyped-call"
# the PDF library does not annotate the constructors of its objects

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, BinaryIO

from asn1crypto import crl as asn1_crl
from asn1crypto import ocsp as asn1_ocsp
from asn1crypto import x509 as asn1_x509
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.extensions import DeveloperExtension, DevExtensionMultivalued
from pyhanko.pdf_utils.generic import pdf_name
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.misc import PdfReadError
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.general import SigningError
from pyhanko.sign.signers.cms_embedder import PdfCMSEmbedder, SigIOSetup, SigMDPSetup, SigObjSetup
from pyhanko.sign.signers.pdf_byterange import DocumentTimestamp, SignatureObject
from pyhanko.sign.validation.dss import DocumentSecurityStore

from reportgen.errors import SealError
from reportgen.increments.fields import place_fields, place_invisible_field, text_string
from reportgen.results.signatories import ENGINEER_FIELD, INSPECTOR_FIELD, renewal_field

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from reportgen.increments.fields import SignatureField
    from reportgen.increments.validation_data import RevocationData

REASONS: Mapping[str, str] = {
    INSPECTOR_FIELD: "inspection report, issued by the inspector",
    ENGINEER_FIELD: "submittal of inspection reports",
}
"""Why the first signature was made, by the name of its field."""

LONGEST_WORDS = 4000
"""Letters of the longest reason or place that a countersigner states."""

_ESIC = DeveloperExtension(
    prefix_name=pdf_name("/ESIC"),
    base_version=pdf_name("/1.7"),
    extension_level=1,
    compare_by_level=True,
    multivalued=DevExtensionMultivalued.NEVER,
)
"""Marks a file with a PAdES signature: ETSI EN 319 142-1, clause 5.6 (from memory)."""


@dataclass(frozen=True, slots=True)
class Statement:
    """What a signature says of itself in words: the name in its certificate, time (aware), reason and place."""

    name: str
    at: datetime | None
    reason: str
    location: str


@dataclass(slots=True)
class PreparedRevision:
    """A file with its new revision at the end, and what its signature is made over; ``fill`` puts the value in."""

    digest: bytes
    _steps: Any

    def fill(self, value: Any) -> None:
        """Write the CMS structure ``value`` into its place, in the file that was given."""
        self._steps.send(value)


def append_first(
    file: BinaryIO,
    fields: Sequence[SignatureField],
    statement: Statement,
    *,
    digest: str,
    room: int,
    revocation: RevocationData | None = None,
) -> PreparedRevision:
    """Append to the unsigned ``file`` its signature fields and a certifying signature in the first of them.

    A single field permits no change afterwards (DocMDP P=1), further ones only their filling (P=2). ``digest`` names
    the hash, ``room`` is the number of hexadecimal digits for the value. Raises ``SealError`` when the file, a field
    or its place does not allow it; the file is then not to be used.
    """
    writer = _opened(file, statement.at)
    place_fields(writer, fields)
    writer.register_extension(_ESIC)
    if revocation:
        _add_store(writer, revocation)
    permission = MDPPerm.FILL_FORMS if len(fields) > 1 else MDPPerm.NO_CHANGES
    certify = SigMDPSetup(md_algorithm=digest, certify=True, docmdp_perms=permission)
    return _signature(writer, fields[0].name, statement, certify, digest, room)


def append_further(
    file: BinaryIO,
    field: str,
    statement: Statement,
    *,
    digest: str,
    room: int,
    revocation: RevocationData | None = None,
) -> PreparedRevision:
    """Append to a signed ``file`` a further signature, in its empty ``field``, and validation data on top of its own.

    As ``append_first``; ``SealError`` also for a field that is not there or not empty.
    """
    writer = _opened(file, statement.at)
    if revocation:
        _add_store(writer, revocation)
    return _signature(writer, field, statement, None, digest, room)


def append_renewal(
    file: BinaryIO, number: int, *, revocation: RevocationData, digest: str, room: int
) -> PreparedRevision:
    """Append to a signed ``file`` its renewal ``number``, from 1: validation data, and a timestamp over all of it.

    The data comes on top of what the file holds. Nothing in the revision depends on a clock but the value of the
    timestamp. Raises ``SealError`` when the file is not one that can be signed.
    """
    writer = _opened(file, None)
    _add_store(writer, revocation)
    field = renewal_field(number)
    place_invisible_field(writer, field, f"Timestamp of renewal {number}")
    steps = PdfCMSEmbedder().write_cms(field, writer, existing_fields_only=True)
    next(steps)
    steps.send(SigObjSetup(sig_placeholder=DocumentTimestamp(bytes_reserved=room)))
    prepared, _ = steps.send(SigIOSetup(md_algorithm=digest, in_place=True))
    return PreparedRevision(prepared.document_digest, steps)


def _signature(
    writer: IncrementalPdfFileWriter,
    field: str,
    statement: Statement,
    certify: SigMDPSetup | None,
    digest: str,
    room: int,
) -> PreparedRevision:
    steps = PdfCMSEmbedder().write_cms(field, writer, existing_fields_only=True)
    try:
        next(steps)
    except SigningError as lack:
        raise SealError(f"this report has no empty signature field `{field}`") from lack
    placeholder = SignatureObject(
        subfilter=SigSeedSubFilter.PADES,
        name=statement.name,
        timestamp=statement.at,
        reason=statement.reason,
        location=statement.location,
        bytes_reserved=room,
    )
    for key in ("/Name", "/Reason", "/Location"):
        if key in placeholder:
            placeholder[pdf_name(key)] = text_string(placeholder[key])
    steps.send(SigObjSetup(sig_placeholder=placeholder, mdp_setup=certify))
    prepared, _ = steps.send(SigIOSetup(md_algorithm=digest, in_place=True))
    return PreparedRevision(prepared.document_digest, steps)


def _opened(file: BinaryIO, at: datetime | None) -> IncrementalPdfFileWriter:
    try:
        return _Update(file, at)
    except (PdfReadError, ValueError, KeyError) as reason:
        raise SealError("this is not a PDF that can be signed") from reason


class _Update(IncrementalPdfFileWriter):
    """An incremental update that leaves title, dates, producer and XMP alone and has a reproducible identifier."""

    def __init__(self, file: BinaryIO, at: datetime | None) -> None:
        digest = hashlib.sha256()
        file.seek(0)
        while part := file.read(1 << 20):
            digest.update(part)
        digest.update(at.replace(microsecond=0).isoformat().encode() if at else b"")
        super().__init__(file)
        # a changed file has another identifier (ISO 32000-1, 14.4); from content and time, so a rebuild has the same
        own = generic.ByteStringObject(digest.digest()[:16])
        first = self._document_id[0] if "/ID" in self.prev.trailer else own
        self._document_id = generic.ArrayObject([first, own])

    def _update_meta(self) -> None:
        """Write no metadata: what the archival room wrote is what gets signed."""


def _add_store(writer: IncrementalPdfFileWriter, data: RevocationData) -> None:
    """Write the data where ETSI EN 319 142-1, 5.4.2 (from memory) wants it, in the revision that gets signed."""
    _Store.supply_dss_in_writer(
        writer,
        None,
        certs=[asn1_x509.Certificate.load(one) for one in data.certificates],
        crls=[asn1_crl.CertificateList.load(one) for one in data.crls],
        ocsps=[asn1_ocsp.OCSPResponse.load(one) for one in data.ocsps],
    )


class _Store(DocumentSecurityStore):
    """A store of what is given and nothing else: an answer holds its responder's certificate itself."""

    def _embed_certs_from_ocsp(self, ocsps: Any) -> list[Any]:  # noqa: ARG002 - the library's signature
        return []
