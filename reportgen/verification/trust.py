"""Whom to believe: the roots given by file or folder, never those of the operating system."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ocsp

from reportgen import certificates
from reportgen.errors import UsageError
from reportgen.increments import RevocationData, needed
from reportgen.verification.verdict import REASONS, Reason

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import datetime

Root = bytes | str | Path | x509.Certificate
"""A trusted root: a certificate, its bytes (PEM or DER), its file, or a folder of such files."""

_SUFFIXES = {".pem", ".crt", ".cer", ".der"}

SENTENCES = {
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


Word = tuple["datetime", "datetime | None"]
"""The date of a list or an answer, and that of the revocation which it states."""


@dataclass(frozen=True, slots=True)
class Trust:
    """Trusted roots, the moment of verification, and revocation data (DER) where there is any.

    ``notices`` say what else was given and could not be read; ``stored`` is what the file itself brings, which can
    only take trust away: of what a signer leaves out of his file nothing follows.
    """

    roots: tuple[x509.Certificate, ...]
    at: datetime
    crls: tuple[bytes, ...] = ()
    ocsps: tuple[bytes, ...] = ()
    notices: tuple[str, ...] = ()
    stored: RevocationData = field(default_factory=RevocationData)

    @property
    def revocation(self) -> RevocationData:
        """All revocation data, that of the file after what was given."""
        return RevocationData((*self.crls, *self.stored.crls), (*self.ocsps, *self.stored.ocsps))

    @property
    def usable(self) -> tuple[x509.Certificate, ...]:
        """The roots whose names can be compared; one that is left out takes no other with it."""
        return tuple(root for root in self.roots if not certificates.name_faults(root))

    def left_out(self) -> list[str]:
        """Return a sentence for each root that is not usable, and for each file that holds none."""
        faults = (fault for root in self.roots for fault in certificates.name_faults(root))
        return [*self.notices, *(f"a trusted root is left out: {fault.sentence}" for fault in faults)]

    @property
    def revocation_known(self) -> bool:
        """Whether the verifier was given revocation data; then every certificate of a chain must be covered by it."""
        return bool(self.crls or self.ocsps)


def read_trusted(given: Iterable[Root]) -> tuple[tuple[x509.Certificate, ...], tuple[str, ...]]:
    """Return the certificates in ``given``, and a sentence for each file of a folder that was passed over.

    ``UsageError`` for what is named and holds no certificate; a file that cannot be used costs a folder only itself.
    """
    found: list[x509.Certificate] = []
    passed_over: list[str] = []
    for root in given:
        if isinstance(root, x509.Certificate):
            found.append(root)
        elif isinstance(root, bytes):
            found += _parsed(root, "the trusted root")
        elif Path(root).is_dir():
            found += _in_folder(Path(root), passed_over)
        else:
            found += _in_file(Path(root))
    return tuple(dict.fromkeys(found)), tuple(passed_over)


def _in_folder(folder: Path, passed_over: list[str]) -> list[x509.Certificate]:
    try:
        files = sorted(file for file in folder.iterdir() if file.suffix.lower() in _SUFFIXES)
    except OSError as reason:
        raise UsageError(f"the folder {folder} cannot be listed: {reason.strerror}") from reason
    if not files:
        raise UsageError(f"the folder {folder} holds no certificate files ({', '.join(sorted(_SUFFIXES))})")
    found: list[x509.Certificate] = []
    unusable: list[str] = []
    for file in files:
        try:
            found += _in_file(file)
        except UsageError as refusal:
            unusable.append(refusal.message)
    if not found:
        raise UsageError(f"the folder {folder} holds no certificate that can be read: {'; '.join(unusable)}")
    passed_over += [f"{sentence}; it is passed over, and nobody is trusted by it" for sentence in unusable]
    return found


def _in_file(path: Path) -> list[x509.Certificate]:
    try:
        if path.exists() and not path.is_file():  # a pipe would be waited for without end
            raise UsageError(f"{path} is not a file")
        data = path.read_bytes()
    except OSError as reason:
        raise UsageError(f"{path} cannot be read: {reason.strerror}") from reason
    return _parsed(data, str(path))


def _parsed(data: bytes, source: str) -> list[x509.Certificate]:
    try:
        return certificates.read_certificates(data)
    except ValueError as reason:
        raise UsageError(f"{source} holds no certificate") from reason


def validation_context(trust: Trust, moment: datetime, others: Sequence[Any]) -> Any:
    """Return the library's context: these roots only, this moment, nothing fetched from the network."""
    from asn1crypto import x509 as asn1_x509
    from pyhanko_certvalidator import ValidationContext
    from pyhanko_certvalidator.authority import CertTrustAnchor, TrustQualifiers, derive_quals_from_cert

    roots = []
    for root in trust.usable:
        held = asn1_x509.Certificate.load(root.public_bytes(Encoding.DER))
        names = derive_quals_from_cert(held).standard_parameters
        if names is not None:  # the names a root permits bind those below it; its policies are its own affair
            names = dataclasses.replace(
                names, user_initial_policy_set=frozenset({"any_policy"}), initial_explicit_policy=False
            )
        roots.append(CertTrustAnchor(held, TrustQualifiers(standard_parameters=names)))
    return ValidationContext(
        trust_roots=roots,
        other_certs=others,
        moment=moment,
        allow_fetching=False,
        crls=list(trust.revocation.crls),
        ocsps=list(trust.revocation.ocsps),
        revocation_mode="require" if trust.revocation_known else "soft-fail",
        retroactive_revinfo=True,
    )


def brought(trust: Trust) -> list[Any]:
    """Return the certificates stored in the file, as the library takes them."""
    from asn1crypto import x509 as asn1_x509

    return [asn1_x509.Certificate.load(one) for one in trust.stored.certificates]


def chain_reasons(
    problem: str | None, certificate: x509.Certificate, others: Iterable[x509.Certificate], trust: Trust
) -> list[Reason]:
    """Return why the chain is not believed: no signatures lead to a root, or the library's sub-indication ``problem``.

    The library finds chains by the names in them and then says only that such a chain is broken.
    """
    if not certificates.leads_to(certificate, others, trust.roots):
        return [Reason("NO_CERTIFICATE_CHAIN_FOUND", SENTENCES["NO_CERTIFICATE_CHAIN_FOUND"])]
    if problem is None:
        return []
    name = _EQUIVALENT.get(problem, problem)
    if name not in REASONS:
        name = "CERTIFICATE_CHAIN_GENERAL_FAILURE"
    return [Reason(name, SENTENCES.get(name, "the chain of certificates cannot be validated"))]


def certificate_reasons(
    certificate: x509.Certificate, others: Iterable[x509.Certificate], roots: Sequence[x509.Certificate], at: datetime
) -> list[Reason]:
    """Return what the signer's certificate and its chain lack at the moment ``at``, a trusted root's own limits too."""
    faults = [*certificates.strength_faults(certificate), *certificates.usage_faults(certificate)]
    for below, issuer in enumerate(certificates.in_order(certificate, [*others, *roots])):
        faults += [*certificates.authority_faults(issuer, below), *certificates.purpose_faults(issuer)]
        if issuer not in roots:
            faults += certificates.strength_faults(issuer)
        elif certificates.life_faults(issuer, at):
            name = certificates.readable_name(issuer.subject)
            sentence = f"the trusted root {name} is not valid at {at:%Y-%m-%d}, and nothing proves an earlier moment"
            faults.append(certificates.CertificateFault("OUT_OF_BOUNDS_NO_POE", sentence))
    reasons = [Reason(fault.name, fault.sentence) for fault in faults]
    if certificates.is_demonstration(certificate):
        sentence = "the signer's certificate calls itself a demonstration, not valid for issue"
        reasons.append(Reason("DEMONSTRATION", sentence))
    return reasons


def revoked(chain: Sequence[x509.Certificate], data: RevocationData) -> datetime | None:
    """Return when the first of ``chain`` was revoked, by ``data``; ``chain`` is in order, its root at the end."""
    words = [word for place in range(len(chain) - 1) for word in _words(chain, place, data)]
    return min((moment for _, moment in words if moment is not None), default=None)


def known_until(chain: Sequence[x509.Certificate], data: RevocationData) -> datetime | None:
    """Return until when ``data`` says of each of ``chain`` whether it was revoked; None where it does not of one.

    What is dated after a certificate ended says nothing of it: an authority then leaves it out of its lists.
    """
    dates = []
    for place in range(len(chain) - 1):
        ends = chain[place].not_valid_after_utc
        own = [date for date, _ in _words(chain, place, data) if date <= ends]
        if not own:
            return None
        dates.append(max(own))
    return min(dates, default=None)


def _words(chain: Sequence[x509.Certificate], place: int, data: RevocationData) -> Iterator[Word]:
    """Yield what ``data`` says of one of ``chain``, by its issuer or whom that one names."""
    subject, issuer = chain[place], chain[place + 1]
    for crl in needed([issuer], (), RevocationData(crls=data.crls)).crls:
        listed = x509.load_der_x509_crl(crl)
        entry = listed.get_revoked_certificate_by_serial_number(subject.serial_number)
        yield listed.last_update_utc, None if entry is None else entry.revocation_date_utc
    for der in needed([subject, issuer], (), RevocationData(ocsps=data.ocsps)).ocsps:
        answer = ocsp.load_der_ocsp_response(der)
        if answer.serial_number == subject.serial_number:
            yield answer.this_update_utc, answer.revocation_time_utc


def chain_of(leaf: x509.Certificate, others: Sequence[x509.Certificate]) -> tuple[x509.Certificate, ...]:
    """Return a certificate and its issuers among ``others``, in order, up to a root."""
    return (leaf, *certificates.in_order(leaf, others))
