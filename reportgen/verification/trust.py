"""Whom to believe: the roots given by file or folder, never those of the operating system."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ocsp

from reportgen import certificates
from reportgen.errors import UsageError
from reportgen.verification.verdict import REASONS, Reason

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

Root = bytes | str | Path | x509.Certificate
"""A trusted root: a certificate, its bytes (PEM or DER), its file, or a folder of such files."""

_SUFFIXES = {".pem", ".crt", ".cer", ".der"}

_SENTENCES = {
    "NO_CERTIFICATE_CHAIN_FOUND": "issuer unknown: the certificate leads to none of the trusted roots",
    "OUT_OF_BOUNDS_NO_POE": "the certificate is no longer valid and nothing trusted proves that it was when signing",
    "REVOKED_NO_POE": "the certificate is revoked and nothing proves that the signature is older",
    "CRYPTO_CONSTRAINTS_FAILURE": "an algorithm in the signature or its chain is too weak",
    "CHAIN_CONSTRAINTS_FAILURE": "the chain does not permit this use of the certificate",
    "TRY_LATER": "revocation data is required and none fits: obtain newer data and verify again",
}
_EQUIVALENT = {
    "REVOKED_CA_NO_POE": "REVOKED_NO_POE",
    "CRYPTO_CONSTRAINTS_FAILURE_NO_POE": "CRYPTO_CONSTRAINTS_FAILURE",
    "OUT_OF_BOUNDS_NOT_REVOKED": "OUT_OF_BOUNDS_NO_POE",
    "REVOCATION_OUT_OF_BOUNDS_NO_POE": "TRY_LATER",
    "NO_POE": "TRY_LATER",
}


@dataclass(frozen=True, slots=True)
class Trust:
    """Trusted roots, the moment of verification, and revocation data (DER) where there is any."""

    roots: tuple[x509.Certificate, ...]
    at: datetime
    crls: tuple[bytes, ...] = ()
    ocsps: tuple[bytes, ...] = ()

    @property
    def usable(self) -> tuple[x509.Certificate, ...]:
        """The roots whose names can be compared; one that is left out takes no other with it."""
        return tuple(root for root in self.roots if not certificates.name_faults(root))

    def left_out(self) -> list[str]:
        """Return a sentence for each root that is not usable."""
        faults = (fault for root in self.roots for fault in certificates.name_faults(root))
        return [f"a trusted root is left out: {fault.sentence}" for fault in faults]

    @property
    def revocation_known(self) -> bool:
        """Whether revocation data is at hand; then every certificate of a chain must be covered by it."""
        return bool(self.crls or self.ocsps)


def read_roots(given: Iterable[Root]) -> tuple[x509.Certificate, ...]:
    """Return the certificates in ``given``; ``UsageError`` for a file that is missing or holds none."""
    found: list[x509.Certificate] = []
    for root in given:
        found += [root] if isinstance(root, x509.Certificate) else _from_source(root)
    return tuple(dict.fromkeys(found))


def _from_source(root: bytes | str | Path) -> list[x509.Certificate]:
    if isinstance(root, bytes):
        return _parsed(root, "the trusted root")
    path = Path(root)
    if path.is_dir():
        files = sorted(file for file in path.iterdir() if file.suffix.lower() in _SUFFIXES)
        if not files:
            raise UsageError(f"the folder {path} holds no certificate files ({', '.join(sorted(_SUFFIXES))})")
        return [certificate for file in files for certificate in _parsed(_read(file), str(file))]
    return _parsed(_read(path), str(path))


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as reason:
        raise UsageError(f"{path} cannot be read: {reason.strerror}") from reason


def _parsed(data: bytes, source: str) -> list[x509.Certificate]:
    try:
        return certificates.read_certificates(data)
    except ValueError as reason:
        raise UsageError(f"{source} holds no certificate") from reason


def validation_context(trust: Trust, moment: datetime, others: Sequence[Any]) -> Any:
    """Return the library's context: these roots only, this moment, nothing fetched from the network."""
    from asn1crypto import x509 as asn1_x509
    from pyhanko_certvalidator import ValidationContext

    roots = [asn1_x509.Certificate.load(root.public_bytes(Encoding.DER)) for root in trust.usable]
    return ValidationContext(
        trust_roots=roots,
        other_certs=others,
        moment=moment,
        allow_fetching=False,
        crls=list(trust.crls),
        ocsps=list(trust.ocsps),
        revocation_mode="require" if trust.revocation_known else "soft-fail",
        retroactive_revinfo=True,
    )


def with_embedded(trust: Trust, root: Any) -> tuple[Trust, list[Reason]]:
    """Return ``trust`` with the revocation data sealed into the file (``root``: its catalog), or what is wrong."""
    lists = (_entry(_entry(root, "/DSS"), key) for key in ("/CRLs", "/OCSPs"))
    crls, ocsps = ([entry.get_object().data for entry in entries] for entries in lists)
    try:
        for data in crls:
            x509.load_der_x509_crl(data)
        for data in ocsps:
            ocsp.load_der_ocsp_response(data)
    except ValueError:
        return trust, [Reason("TRY_LATER", "the revocation data in the file cannot be read")]
    return dataclasses.replace(trust, crls=(*trust.crls, *crls), ocsps=(*trust.ocsps, *ocsps)), []


def _entry(container: Any, key: str) -> Any:
    """Return what ``key`` leads to, references resolved (the library's ``get`` does not), or nothing."""
    try:
        return container[key]
    except (KeyError, TypeError):
        return ()


def chain_reasons(
    problem: str | None, certificate: x509.Certificate, others: Iterable[x509.Certificate], trust: Trust
) -> list[Reason]:
    """Return why the chain is not believed: no signatures lead to a root, or the library's sub-indication ``problem``.

    The library finds chains by the names in them and then says only that such a chain is broken.
    """
    if not certificates.leads_to(certificate, others, trust.roots):
        return [Reason("NO_CERTIFICATE_CHAIN_FOUND", _SENTENCES["NO_CERTIFICATE_CHAIN_FOUND"])]
    if problem is None:
        return []
    name = _EQUIVALENT.get(problem, problem)
    if name not in REASONS:
        name = "CERTIFICATE_CHAIN_GENERAL_FAILURE"
    return [Reason(name, _SENTENCES.get(name, "the chain of certificates cannot be validated"))]


def certificate_reasons(certificate: x509.Certificate, others: Iterable[x509.Certificate]) -> list[Reason]:
    """Return what the signer's certificate and its chain lack, whoever issued them."""
    faults = [*certificates.strength_faults(certificate), *certificates.usage_faults(certificate)]
    for issuer in certificates.in_order(certificate, others):
        faults += [*certificates.strength_faults(issuer), *certificates.authority_faults(issuer)]
    reasons = [Reason(fault.name, fault.sentence) for fault in faults]
    if certificates.is_demonstration(certificate):
        sentence = "the signer's certificate calls itself a demonstration, not valid for issue"
        reasons.append(Reason("DEMONSTRATION", sentence))
    return reasons
