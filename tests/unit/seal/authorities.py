"""Revocation data as an authority gives it, made on the spot for the certificates of the tests."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from asn1crypto import core as asn1_core
from asn1crypto import ocsp as asn1_ocsp
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ocsp

from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.unit.verification.signed_material import Pair

LIFE = timedelta(days=60)


def crl(
    issuer: Pair,
    at: datetime,
    revoked: Sequence[tuple[Pair, datetime]] = (),
    life: timedelta = LIFE,
    reason: x509.ReasonFlags | None = None,
    invalid: datetime | None = None,
) -> bytes:
    """Return a list of ``issuer`` dated ``at``, with the certificates revoked by then and when, each for a ``reason``
    and ``invalid`` since, where stated.
    """
    builder = x509.CertificateRevocationListBuilder(issuer.certificate.subject, at, at + life)
    builder = builder.add_extension(x509.CRLNumber(int(at.timestamp())), critical=False)
    for pair, moment in revoked:
        entry = x509.RevokedCertificateBuilder(pair.certificate.serial_number, moment)
        entry = entry if reason is None else entry.add_extension(x509.CRLReason(reason), critical=False)
        entry = entry if invalid is None else entry.add_extension(x509.InvalidityDate(invalid), critical=False)
        builder = builder.add_revoked_certificate(entry.build())
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


def responder(name: str, issuer: Pair | None = None) -> Pair:
    """Return one whom the root, or another, names to answer for it, and for nothing else: RFC 6960, 4.2.2.2."""
    return made.certify(
        made.named(name), made.ec_key(), issuer or made.root(), key_usage=made.usage("digital_signature"),
        purposes=("1.3.6.1.5.5.7.3.9",), end=made.AT + timedelta(days=3650),
    )  # fmt: skip


def joined(one: bytes, other: bytes, by: Pair) -> bytes:
    """Return one answer about what two are about, by whom gave both: RFC 6960, 4.2.1."""
    response, second = (asn1_ocsp.OCSPResponse.load(der) for der in (one, other))
    basic = response.basic_ocsp_response
    data = basic["tbs_response_data"]
    data["responses"].append(second.response_data["responses"][0])
    basic["signature"] = by.key.sign(data.dump(force=True), ec.ECDSA(hashes.SHA256()))
    response["response_bytes"]["response"] = asn1_core.ParsableOctetString(basic.dump(force=True))
    return response.dump(force=True)
