"""The signature on a report: PAdES B-B, certifying, appended to the unsigned file; and countersignatures after it."""

from __future__ import annotations

import asyncio
import io
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.sign.ades.api import CAdESSignedAttrSpec
from pyhanko.sign.signers.pdf_cms import PdfCMSSignedAttributes, Signer
from pyhanko_certvalidator.registry import SimpleCertificateStore

from reportgen.errors import SealError
from reportgen.formats import ENGINEER_FIELD, INSPECTOR_FIELD, countersigner_field
from reportgen.increments import LONGEST_WORDS, REASONS, Statement, append_first, append_further, described
from reportgen.increments.fields import Box, SignatureField
from reportgen.seal.identity import Identity, require_signing_certificate, require_valid_at

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime
    from typing import BinaryIO

    from asn1crypto import cms
    from pyhanko.sign.timestamps import TimeStamper

    from reportgen.increments import PreparedRevision, RevocationData

_ROOM_FOR_SIGNATURE = 4096  # attributes, RSA-4096 signature and framing, generously
_ROOM_FOR_TIMESTAMP = 16384


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
    ``revocation`` is sealed in as well (B-LT).
    Raises ``SealError`` when identity, dates or pages do not allow a signature.
    """
    fields = [SignatureField(INSPECTOR_FIELD, described(INSPECTOR_FIELD, "", identity.name), box)]
    for number, who in enumerate(countersigners, start=1):
        field = countersigner_field(number)
        fields.append(SignatureField(field, described(field, who.role, who.name), who.box))
    file = io.BytesIO(pdf)
    words = Statement(identity.name, at, REASONS[INSPECTOR_FIELD], location)
    _sign(identity, at, partial(append_first, file, fields, words, revocation=revocation), timestamper)
    return file.getvalue()


def seal_file(file: BinaryIO, identity: Identity, *, at: datetime, location: str, box: Box) -> None:
    """Append a certifying signature to the unsigned PDF in ``file`` (open for reading and writing): a submittal.

    As ``seal_report`` without countersigners, for files too large to hold in memory: it does not grow with the file.
    Raises ``SealError`` when identity, dates or pages do not allow a signature; the file is then not to be used.
    """
    field = SignatureField(ENGINEER_FIELD, described(ENGINEER_FIELD, "", identity.name), box)
    words = Statement(identity.name, at, REASONS[ENGINEER_FIELD], location)
    _sign(identity, at, partial(append_first, file, [field], words))


def countersign(
    pdf: bytes,
    identity: Identity,
    field: str,
    *,
    at: datetime,
    reason: str,
    location: str,
    timestamper: TimeStamper | None = None,
    revocation: RevocationData | None = None,
) -> bytes:
    """Return ``pdf`` (a signed report) with its empty countersignature ``field`` filled, nothing else changed.

    ``revocation`` is sealed in as well, on top of what the file holds of it.
    Raises ``SealError`` when there is no such empty field or the identity may not sign.
    """
    if max(len(reason), len(location)) > LONGEST_WORDS:
        raise SealError(f"the reason and the place of a signature have at most {LONGEST_WORDS} letters each")
    file = io.BytesIO(pdf)
    words = Statement(identity.name, at, reason, location)
    _sign(identity, at, partial(append_further, file, field, words, revocation=revocation), timestamper)
    return file.getvalue()


def _sign(
    identity: Identity, at: datetime, append: Callable[..., PreparedRevision], timestamper: TimeStamper | None = None
) -> None:
    """Fill in the value of the signature that ``append`` writes, if the identity may make it."""
    require_signing_certificate(identity.certificate)
    require_valid_at(identity, at)
    chain = sum(len(certificate.public_bytes(Encoding.DER)) for certificate in (identity.certificate, *identity.chain))
    room = _ROOM_FOR_SIGNATURE + chain + (_ROOM_FOR_TIMESTAMP if timestamper else 0)
    prepared = append(digest=identity.digest, room=2 * room)  # two hexadecimal digits for each byte
    prepared.fill(_value(identity, prepared, timestamper))


class _LoadedKeySigner(Signer):
    """Lets the identity's loaded key make the raw signature; the library's own signer parses the key each time."""

    def __init__(self, identity: Identity) -> None:
        chain = [asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER)) for certificate in identity.chain]
        own = asn1_x509.Certificate.load(identity.certificate.public_bytes(Encoding.DER))
        super().__init__(signing_cert=own, cert_registry=SimpleCertificateStore.from_certs(chain))  # type: ignore[no-untyped-call] # the library does not annotate it
        self._identity = identity

    async def async_sign_raw(self, data: bytes, digest_algorithm: str, dry_run: bool = False) -> bytes:  # noqa: ARG002, FBT001, FBT002 - the library's signature
        """Return the raw signature over ``data``."""
        return self._identity.sign(data)


def _value(identity: Identity, prepared: PreparedRevision, timestamper: TimeStamper | None) -> cms.ContentInfo:
    """Return the CMS structure that signs what was prepared, time-stamped where there is someone to ask."""
    return asyncio.run(
        _LoadedKeySigner(identity).async_sign(
            prepared.digest,
            identity.digest,
            use_pades=True,
            timestamper=timestamper,
            signed_attr_settings=PdfCMSSignedAttributes(cades_signed_attrs=CAdESSignedAttrSpec()),
        )
    )
