"""Proof, sealed into the report, that no certificate was revoked when it was signed (PAdES B-LT)."""

from __future__ import annotations

import asyncio
import urllib.error
import urllib.request
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.x509 import ocsp
from cryptography.x509.oid import AuthorityInformationAccessOID

from reportgen import certificates
from reportgen.errors import MachineError, SealError
from reportgen.increments import RevocationData

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from pyhanko.sign.timestamps import TimeStamper

    from reportgen.seal.identity import Identity

_LARGEST_ANSWER = 16 << 20


def fetch_revocation_data(
    identity: Identity, *, timestamper: TimeStamper | None = None, seconds: float = 20.0
) -> RevocationData:
    """Return revocation data for every certificate of the signer's chain below its root, and of the timestamp service.

    Each certificate names where to ask: a CRL by http, else an OCSP responder. Raises ``MachineError`` when nobody
    answers with usable data, ``SealError`` when a certificate names nobody or is revoked.
    """
    crls: dict[bytes, None] = {}
    ocsps: dict[bytes, None] = {}
    chains = [(identity.certificate, identity.chain), *_timestamp_chains(timestamper)]
    for leaf, issuers in chains:
        for subject, issuer in zip((leaf, *issuers), issuers, strict=False):
            crl = _addresses(subject, "crl")
            responder = _addresses(subject, "ocsp")
            if crl:
                crls[_crl(crl[0], subject, issuer, seconds)] = None
            elif responder:
                ocsps[_ocsp(responder[0], subject, issuer, seconds)] = None
            else:
                name = certificates.readable_name(subject.subject)
                raise SealError(f"the certificate of {name} does not say where to ask whether it is revoked")
    everyone = (certificate for leaf, issuers in chains for certificate in (leaf, *issuers))
    encoded = dict.fromkeys(certificate.public_bytes(serialization.Encoding.DER) for certificate in everyone)
    return RevocationData(tuple(crls), tuple(ocsps), tuple(encoded))


def _timestamp_chains(
    timestamper: TimeStamper | None,
) -> Iterator[tuple[x509.Certificate, tuple[x509.Certificate, ...]]]:
    """Yield the chain of the timestamp service, learned from a token over nothing in particular."""
    if timestamper is None:
        return
    asyncio.run(timestamper.async_dummy_response("sha256"))
    found = [x509.load_der_x509_certificate(one.dump()) for one in timestamper.cert_registry]
    issuers = {one.subject for one in found} & {one.issuer for one in found}
    for leaf in found:
        if leaf.subject not in issuers:
            yield leaf, certificates.in_order(leaf, found)


def _addresses(certificate: x509.Certificate, kind: str) -> list[str]:
    names: Iterable[x509.GeneralName] = ()
    try:
        if kind == "crl":
            points = certificate.extensions.get_extension_for_class(x509.CRLDistributionPoints).value
            names = [name for point in points for name in point.full_name or ()]
        else:
            access = certificate.extensions.get_extension_for_class(x509.AuthorityInformationAccess).value
            names = [one.access_location for one in access if one.access_method == AuthorityInformationAccessOID.OCSP]
    except x509.ExtensionNotFound:
        return []
    return [str(name.value) for name in names if str(name.value).startswith(("http://", "https://"))]


def _crl(url: str, subject: x509.Certificate, issuer: x509.Certificate, seconds: float) -> bytes:
    data = _asked(urllib.request.Request(url), seconds)  # noqa: S310 - http and https only, see _addresses
    try:
        crl = x509.load_der_x509_crl(data)
        genuine = crl.is_signature_valid(issuer.public_key())  # type: ignore[arg-type] # issuer keys sign
    except (ValueError, TypeError) as reason:
        raise MachineError(f"{url} does not answer with a list of revoked certificates") from reason
    if not genuine:
        raise MachineError(f"the list of revoked certificates at {url} is not signed by the issuer")
    if crl.get_revoked_certificate_by_serial_number(subject.serial_number) is not None:
        raise SealError(f"the certificate of {certificates.readable_name(subject.subject)} is revoked")
    return data


def _ocsp(url: str, subject: x509.Certificate, issuer: x509.Certificate, seconds: float) -> bytes:
    query = ocsp.OCSPRequestBuilder().add_certificate(subject, issuer, hashes.SHA256()).build()
    kinds = {"Content-Type": "application/ocsp-request", "Accept": "application/ocsp-response"}
    body = query.public_bytes(serialization.Encoding.DER)
    data = _asked(urllib.request.Request(url, body, kinds), seconds)  # noqa: S310 - as above
    try:
        answer = ocsp.load_der_ocsp_response(data)
        status = answer.certificate_status
    except ValueError as reason:
        raise MachineError(f"{url} does not answer whether a certificate is revoked") from reason
    if status is ocsp.OCSPCertStatus.REVOKED:
        raise SealError(f"the certificate of {certificates.readable_name(subject.subject)} is revoked")
    if status is not ocsp.OCSPCertStatus.GOOD:
        raise MachineError(f"{url} does not know the certificate of {certificates.readable_name(subject.subject)}")
    return data


def _asked(request: urllib.request.Request, seconds: float) -> bytes:
    try:
        with urllib.request.urlopen(request, timeout=seconds) as answer:  # noqa: S310 - as above
            data: bytes = answer.read(_LARGEST_ANSWER)
            return data
    except urllib.error.HTTPError as refusal:
        refusal.close()
        raise MachineError(f"{request.full_url} answers {refusal.code} {refusal.reason}") from refusal
    except OSError as reason:
        raise MachineError(f"{request.full_url} cannot be reached: {getattr(reason, 'reason', reason)}") from reason
