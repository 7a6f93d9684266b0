"""The signature on a report: PAdES B-B, certifying, appended to the unsigned file; and countersignatures after it."""

# mypy: disable-error-code="no-untyped-call"
# the PDF library does not annotate the constructors of its objects

from __future__ import annotations

import asyncio
import hashlib
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from asn1crypto import crl as asn1_crl
from asn1crypto import ocsp as asn1_ocsp
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.extensions import DeveloperExtension, DevExtensionMultivalued
from pyhanko.pdf_utils.generic import pdf_name
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.misc import PdfReadError
from pyhanko.sign.ades.api import CAdESSignedAttrSpec
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter, enumerate_sig_fields
from pyhanko.sign.signers.cms_embedder import PdfCMSEmbedder, SigIOSetup, SigMDPSetup, SigObjSetup
from pyhanko.sign.signers.pdf_byterange import SignatureObject
from pyhanko.sign.signers.pdf_cms import PdfCMSSignedAttributes, Signer
from pyhanko_certvalidator.registry import SimpleCertificateStore

from reportgen.errors import SealError
from reportgen.seal.fields import Box, SignatureField, place_fields
from reportgen.seal.identity import Identity, require_signing_certificate, require_valid_at

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from asn1crypto import cms
    from pyhanko.sign.timestamps import TimeStamper

    from reportgen.seal.revocation import RevocationData

INSPECTOR_FIELD = "Inspector"
_ROOM_FOR_SIGNATURE = 4096  # attributes, RSA-4096 signature and framing, generously
_ROOM_FOR_TIMESTAMP = 16384

_ESIC = DeveloperExtension(
    prefix_name=pdf_name("/ESIC"),
    base_version=pdf_name("/1.7"),
    extension_level=1,
    compare_by_level=True,
    multivalued=DevExtensionMultivalued.NEVER,
)
"""Marks a file with a PAdES signature: ETSI EN 319 142-1, clause 5.6 (from memory)."""


@dataclass(frozen=True, slots=True)
class Countersigner:
    """One who signs after the inspector: role and name as the job states them, and where the empty field lies."""

    role: str
    name: str
    box: Box


def seal_report(
    pdf: bytes,
    identity: Identity,
    *,
    at: datetime,
    reason: str,
    location: str,
    box: Box,
    countersigners: Sequence[Countersigner] = (),
    timestamper: TimeStamper | None = None,
    revocation: RevocationData | None = None,
) -> bytes:
    """Return ``pdf`` (unsigned pages) with the inspector's certifying signature appended.

    ``at`` (aware) is the claimed time; ``box`` is where page 1 already shows the signature block. Without
    ``countersigners`` nothing may change afterwards (DocMDP P=1); with them their empty fields are placed before
    this signature, and only those may be filled (P=2). ``timestamper`` adds a signature timestamp (PAdES B-T),
    ``revocation`` is sealed in as well (B-LT; every certificate of the chain must then be covered to pass).
    Raises ``SealError`` when identity, dates or pages do not allow a signature.
    """
    require_signing_certificate(identity.certificate)
    require_valid_at(identity, at)
    writer = _open(pdf, at)
    own = SignatureField(INSPECTOR_FIELD, f"Signature of the inspector, {identity.name}", box)
    place_fields(writer, [own, *(_field_of(number, who) for number, who in enumerate(countersigners, start=1))])
    writer.register_extension(_ESIC)
    if revocation is not None:
        _embed(writer, revocation)
    permission = MDPPerm.FILL_FORMS if countersigners else MDPPerm.NO_CHANGES
    certify = SigMDPSetup(md_algorithm=identity.digest, certify=True, docmdp_perms=permission)
    return _sign(writer, identity, INSPECTOR_FIELD, _words(at, reason, location), certify, timestamper)


def countersign(
    pdf: bytes,
    identity: Identity,
    *,
    at: datetime,
    reason: str,
    location: str,
    field: str | None = None,
    timestamper: TimeStamper | None = None,
) -> bytes:
    """Return ``pdf`` (a signed report) with one of its empty countersignature fields filled, nothing else changed.

    ``field`` names it; without, the field whose description ends in the signer's name is taken, or the only empty one.
    Raises ``SealError`` when there is no such empty field or the identity may not sign.
    """
    require_signing_certificate(identity.certificate)
    require_valid_at(identity, at)
    writer = _open(pdf, at)
    name = _choose_field(writer, field, identity.name)
    return _sign(writer, identity, name, _words(at, reason, location), None, timestamper)


def empty_fields(pdf: bytes) -> dict[str, str]:
    """Return name and description of each signature field that is not yet filled, in the order of the file."""
    try:
        writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
        return _empty(writer)
    except (PdfReadError, ValueError, KeyError) as reason:
        raise SealError("this is not a PDF that can be signed") from reason


def _empty(writer: IncrementalPdfFileWriter) -> dict[str, str]:
    found = enumerate_sig_fields(writer, filled_status=False)
    return {name: str(reference.get_object().get("/TU", "")) for name, _, reference in found}


def _choose_field(writer: IncrementalPdfFileWriter, wanted: str | None, signer: str) -> str:
    empty = _empty(writer)
    if not empty:
        raise SealError("this report has no empty signature field")
    if wanted is not None:
        if wanted not in empty:
            raise SealError(f"this report has no empty signature field `{wanted}`; empty: {', '.join(empty)}")
        return wanted
    named = [name for name, description in empty.items() if description.endswith(f", {signer}")]
    candidates = named or list(empty)
    if len(candidates) > 1:
        raise SealError(f"several signature fields are empty, name one of: {', '.join(empty)}")
    return candidates[0]


def _field_of(number: int, who: Countersigner) -> SignatureField:
    return SignatureField(f"Countersigner-{number}", f"Countersignature of the {who.role}, {who.name}", who.box)


def _embed(writer: IncrementalPdfFileWriter, data: RevocationData) -> None:
    """Write the data where ETSI EN 319 142-1, 5.4.2 (from memory) wants it, in the revision that gets signed."""
    from pyhanko.sign.validation.dss import DocumentSecurityStore

    DocumentSecurityStore.supply_dss_in_writer(
        writer,
        None,
        certs=[asn1_x509.Certificate.load(one) for one in data.certificates],
        crls=[asn1_crl.CertificateList.load(one) for one in data.crls],
        ocsps=[asn1_ocsp.OCSPResponse.load(one) for one in data.ocsps],
    )


def _words(at: datetime, reason: str, location: str) -> dict[str, Any]:
    return {"timestamp": at, "reason": reason, "location": location}


class _Update(IncrementalPdfFileWriter):
    """An incremental update that leaves title, dates, producer and XMP alone and has a reproducible identifier."""

    def __init__(self, pdf: bytes, at: datetime) -> None:
        super().__init__(io.BytesIO(pdf))
        # a changed file has another identifier (ISO 32000-1, 14.4); from content and time, so a rebuild has the same
        own = generic.ByteStringObject(hashlib.sha256(pdf + at.isoformat().encode()).digest()[:16])
        first = self._document_id[0] if "/ID" in self.prev.trailer else own
        self._document_id = generic.ArrayObject([first, own])

    def _update_meta(self) -> None:
        """Write no metadata: what the archival room wrote is what gets signed."""


def _open(pdf: bytes, at: datetime) -> IncrementalPdfFileWriter:
    try:
        return _Update(pdf, at)
    except (PdfReadError, ValueError, KeyError) as reason:
        raise SealError("this is not a PDF that can be signed") from reason


class _LoadedKeySigner(Signer):
    """Lets the identity's loaded key make the raw signature; the library's own signer parses the key each time."""

    def __init__(self, identity: Identity) -> None:
        chain = [asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER)) for certificate in identity.chain]
        own = asn1_x509.Certificate.load(identity.certificate.public_bytes(Encoding.DER))
        super().__init__(signing_cert=own, cert_registry=SimpleCertificateStore.from_certs(chain))
        self._identity = identity

    async def async_sign_raw(self, data: bytes, digest_algorithm: str, dry_run: bool = False) -> bytes:  # noqa: ARG002, FBT001, FBT002 - the library's signature
        """Return the raw signature over ``data``."""
        return self._identity.sign(data)


def _sign(
    writer: IncrementalPdfFileWriter,
    identity: Identity,
    field: str,
    words: dict[str, Any],
    certify: SigMDPSetup | None,
    timestamper: TimeStamper | None,
) -> bytes:
    steps = PdfCMSEmbedder().write_cms(field, writer, existing_fields_only=True)
    next(steps)
    placeholder = SignatureObject(
        subfilter=SigSeedSubFilter.PADES,
        name=identity.name,
        bytes_reserved=_room(identity, timestamper),
        **words,
    )
    steps.send(SigObjSetup(sig_placeholder=placeholder, mdp_setup=certify))
    prepared, output = steps.send(SigIOSetup(md_algorithm=identity.digest))
    steps.send(_value(identity, prepared.document_digest, timestamper))
    sealed: bytes = output.getvalue()
    return sealed


def _value(identity: Identity, digest: bytes, timestamper: TimeStamper | None) -> cms.ContentInfo:
    """Return the CMS structure that signs ``digest``, time-stamped where there is someone to ask."""
    return asyncio.run(
        _LoadedKeySigner(identity).async_sign(
            digest,
            identity.digest,
            use_pades=True,
            timestamper=timestamper,
            signed_attr_settings=PdfCMSSignedAttributes(cades_signed_attrs=CAdESSignedAttrSpec()),
        )
    )


def _room(identity: Identity, timestamper: TimeStamper | None) -> int:
    """Return the hexadecimal digits to reserve, two for each byte of the signature with its whole chain."""
    chain = sum(len(certificate.public_bytes(Encoding.DER)) for certificate in (identity.certificate, *identity.chain))
    return 2 * (_ROOM_FOR_SIGNATURE + chain + (_ROOM_FOR_TIMESTAMP if timestamper else 0))
