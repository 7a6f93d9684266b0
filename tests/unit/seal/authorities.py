"""Revocation data as an authority gives it, made on the spot for the certificates of the tests."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ocsp

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.unit.verification.signed_material import Pair

LIFE = timedelta(days=60)


def crl(issuer: Pair, at: datetime, revoked: Sequence[tuple[Pair, datetime]] = (), life: timedelta = LIFE) -> bytes:
    """Return a list of ``issuer`` dated ``at``, with the certificates revoked by then and when."""
    builder = x509.CertificateRevocationListBuilder(issuer.certificate.subject, at, at + life)
    builder = builder.add_extension(x509.CRLNumber(int(at.timestamp())), critical=False)
    for pair, moment in revoked:
        entry = x509.RevokedCertificateBuilder(pair.certificate.serial_number, moment).build()
        builder = builder.add_revoked_certificate(entry)
    return builder.sign(issuer.key, hashes.SHA256()).public_bytes(Encoding.DER)


def answer(
    about: x509.Certificate, issuer: Pair, at: datetime, responder: Pair | None = None, revoked: datetime | None = None
) -> bytes:
    """Return what ``responder``, or the issuer itself, answers about a certificate."""
    own = responder or issuer
    builder = ocsp.OCSPResponseBuilder().add_response(
        about,
        issuer.certificate,
        hashes.SHA1(),  # noqa: S303 - an identifier
        ocsp.OCSPCertStatus.REVOKED if revoked else ocsp.OCSPCertStatus.GOOD,
        at,
        at + LIFE,
        revoked,
        None,
    )
    builder = builder.responder_id(ocsp.OCSPResponderEncoding.HASH, own.certificate)
    if responder is not None:
        builder = builder.certificates([responder.certificate])
    return builder.sign(own.key, hashes.SHA256()).public_bytes(Encoding.DER)
