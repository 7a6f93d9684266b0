"""What a certificate must be before a report is signed with it, or a signature made with it is believed.

Signing refuses what breaks a rule here and verification names it; neither knows the other: the rules stand below both.
The words are those of ETSI EN 319 102-1 V1.3.1 (2021-11), clause 5.1.3, table 5 (from memory).
"""

from __future__ import annotations

import contextlib
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeVar

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, padding, rsa

from reportgen.names import UNSEEN, spelt_alike

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from reportgen.names import Pin

E = TypeVar("E", bound=x509.ExtensionType)

DEMONSTRATION = "demonstration, not valid for issue"
"""Organisation in every certificate made on the spot for a demonstration."""

MINIMUM_RSA_BITS = 2048
"""NIST SP 800-131A Rev. 2, table 2: RSA below 2048 bits is disallowed for making signatures."""

UNUSABLE_NAME = (
    "cannot be compared with that of its issuer: it mixes scripts written from the left and from the right, "
    "or has a character newer than Unicode 3.2, such as an emoji"
)
"""What is wrong with a name in a certificate that no chain can be built with, after the name."""

_CURVES = ("secp256r1", "secp384r1", "secp521r1")

_SIGNING_PURPOSES = frozenset(
    {
        "2.5.29.37.0",  # any purpose
        "1.3.6.1.5.5.7.3.4",  # e-mail protection
        "1.3.6.1.5.5.7.3.36",  # document signing, RFC 9336
        "1.2.840.113583.1.1.5",  # authentic documents
        "1.3.6.1.4.1.311.10.3.12",  # document signing, older private arc
    }
)


@dataclass(frozen=True, slots=True)
class CertificateFault:
    """One rule a certificate breaks: the word of EN 319 102-1 and a sentence that stands alone."""

    name: str
    sentence: str


def read_certificates(data: bytes) -> list[x509.Certificate]:
    """Return the certificates of a PEM bundle or of one DER file; ``ValueError`` for none or a broken one."""
    try:
        pem = b"-----BEGIN" in data
        found = x509.load_pem_x509_certificates(data) if pem else [x509.load_der_x509_certificate(data)]
        for certificate in found:  # the library reads these only when it is asked
            _ = (
                certificate.subject,
                certificate.issuer,
                certificate.not_valid_before_utc,
                certificate.not_valid_after_utc,
            )
    except x509.InvalidVersion as reason:
        raise ValueError("a certificate of an unknown version") from reason
    return found


def fingerprint(certificate: x509.Certificate) -> str:
    """Return the SHA-256 of the whole certificate, 64 hexadecimal digits in upper case, pairs joined by colons."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def readable_name(name: x509.Name) -> str:
    """Return common name and organisation of a distinguished name, or all of it (RFC 4514) when neither is there."""
    wanted = (x509.NameOID.COMMON_NAME, x509.NameOID.ORGANIZATION_NAME)
    parts = [str(attribute.value) for oid in wanted for attribute in name.get_attributes_for_oid(oid)]
    return ", ".join(parts) or name.rfc4514_string()


def common_name(certificate: x509.Certificate) -> str:
    """Return the subject's first common name, or the empty text."""
    names = certificate.subject.get_attributes_for_oid(x509.NameOID.COMMON_NAME)
    return str(names[0].value) if names else ""


def is_demonstration(certificate: x509.Certificate) -> bool:
    """Say whether subject or issuer calls itself a demonstration; nothing that does may ever pass."""
    names = (certificate.subject, certificate.issuer)
    return any(
        str(attribute.value) == DEMONSTRATION
        for name in names
        for attribute in name.get_attributes_for_oid(x509.NameOID.ORGANIZATION_NAME)
    )


@dataclass(frozen=True, slots=True)
class Binding:
    """Whether a certificate is that of the person who is to sign: ``by`` what, or ``why`` it is not, in a clause.

    Whom ``policy`` or ``project`` pins, and is another one, is another person; without a pin a name that is not the
    same (``name``) proves nothing either way.
    """

    by: Literal["policy", "project", "name"]
    why: str | None = None


def bound(
    certificate: x509.Certificate,
    issuers: Iterable[x509.Certificate],
    *,
    name: str,
    organisation: str | None,
    policy: Pin | None = None,
    project: Pin | None = None,
) -> Binding:
    """Return how ``certificate`` is bound to the person with this ``name`` and ``organisation``.

    What whoever verifies pins decides alone; else what the report's own project file pins; else the name.
    """
    if policy is not None:
        return Binding("policy", _missed(policy, certificate, issuers))
    if project is not None:
        return Binding("project", _missed(project, certificate, issuers))
    return Binding("name", misnamed(certificate, name, organisation))


def _missed(pin: Pin, certificate: x509.Certificate, issuers: Iterable[x509.Certificate]) -> str | None:
    """Return why a certificate, with those that may have issued it, is not the one pinned; None where it is."""
    if pin.certificate is not None:
        own = pin_of(certificate)
        return None if own == pin.certificate else f"the SHA-256 of its certificate is {own}, not {pin.certificate}"
    if not any(pin_of(issuer) == pin.issuer and issued(issuer, certificate) for issuer in issuers):
        return f"the authority whose certificate has the SHA-256 {pin.issuer} did not issue its certificate"
    subject = certificate.subject.rfc4514_string()
    return None if subject == pin.subject else f"its certificate is that of `{_shown(subject)}`, not of `{pin.subject}`"


def pin_of(certificate: x509.Certificate) -> str:
    """Return the SHA-256 of a certificate as it is pinned: 64 hexadecimal digits in lower case."""
    return certificate.fingerprint(hashes.SHA256()).hex()


def misnamed(certificate: x509.Certificate, name: str, organisation: str | None = None) -> str | None:
    """Return why ``certificate`` is not that of the person with this ``name``, in a clause; None where it is.

    It has one common name, equal to ``name`` in its spelling, and where an organisation is given, that one likewise.
    """
    stated = _attributes(certificate, x509.NameOID.COMMON_NAME)
    if len(stated) != 1:
        return f"the certificate has {len(stated)} common names, not one"
    if not spelt_alike(stated[0], name):
        return f"the certificate names `{_shown(stated[0])}`, not `{_shown(name)}`{_difference(stated[0], name)}"
    bodies = _attributes(certificate, x509.NameOID.ORGANIZATION_NAME)
    if organisation is None or bodies == [DEMONSTRATION]:  # nothing that calls itself a demonstration is believed
        return None
    if not bodies:
        return f"the certificate names no organisation, and the job names `{_shown(organisation)}`"
    if len(bodies) == 1 and spelt_alike(bodies[0], organisation):
        return None
    body = _shown(", ".join(bodies))
    why = f"the certificate names the organisation `{body}`, not `{_shown(organisation)}`"
    return f"{why}{_difference(bodies[0], organisation)}"


def _attributes(certificate: x509.Certificate, kind: x509.ObjectIdentifier) -> list[str]:
    return [str(attribute.value) for attribute in certificate.subject.get_attributes_for_oid(kind)]


def _shown(name: str) -> str:
    """Return a name with what a page does not show as code points."""
    return "".join(f"<U+{ord(one):04X}>" if unicodedata.category(one) in UNSEEN else one for one in name)


def _difference(stated: str, name: str) -> str:
    """Return where two names that may look alike first differ, as code points; nothing where both are plain ASCII."""
    if stated.isascii() and name.isascii():
        return ""
    for one, other in zip(stated, name, strict=False):
        if one.casefold() != other.casefold():
            return f" (U+{ord(one):04X} for U+{ord(other):04X})"
    return ""


def in_order(leaf: x509.Certificate, others: Iterable[x509.Certificate]) -> tuple[x509.Certificate, ...]:
    """Return the issuers of ``leaf`` found in ``others``, each after the one it issued; unrelated ones are left out."""
    pool, chain, current = list(others), [], leaf
    while not issued(current, current):  # names alone prove nothing: a signer may be called what its issuer is
        issuer = next((candidate for candidate in pool if issued(candidate, current)), None)
        if issuer is None:
            break
        pool.remove(issuer)
        chain.append(issuer)
        current = issuer
    return tuple(chain)


def leads_to(leaf: x509.Certificate, others: Iterable[x509.Certificate], roots: Iterable[x509.Certificate]) -> bool:
    """Say whether signatures, not names, lead from ``leaf`` through ``others`` to one of ``roots``."""
    trusted = list(roots)
    pool = [*others, *trusted]
    waiting, seen = [leaf], [leaf]
    while waiting:
        current = waiting.pop()
        if current in trusted:
            return True
        found = [candidate for candidate in pool if candidate not in seen and issued(candidate, current)]
        waiting += found
        seen += found
    return False


def issuers(leaves: Iterable[x509.Certificate], others: Iterable[x509.Certificate]) -> list[x509.Certificate]:
    """Return ``leaves`` and every one of ``others`` that, by its signature, issued one of the chain."""
    pool, chain = list(others), list(dict.fromkeys(leaves))
    for current in chain:  # which grows
        chain += [one for one in dict.fromkeys(pool) if one not in chain and issued(one, current)]
    return chain


def signed_by(certificate: x509.Certificate, signature: bytes, data: bytes, algorithm: hashes.HashAlgorithm) -> bool:
    """Say whether the key of ``certificate`` made ``signature`` over ``data``, with RSA (PKCS #1 v1.5) or ECDSA."""
    key = certificate.public_key()
    try:
        if isinstance(key, rsa.RSAPublicKey):
            key.verify(signature, data, padding.PKCS1v15(), algorithm)
        elif isinstance(key, ec.EllipticCurvePublicKey):
            key.verify(signature, data, ec.ECDSA(algorithm))
        else:
            return False
    except InvalidSignature:
        return False
    return True


def issued(issuer: x509.Certificate, subject: x509.Certificate) -> bool:
    """Say whether ``issuer`` signed ``subject``."""
    try:
        subject.verify_directly_issued_by(issuer)
    except Exception:  # noqa: BLE001 - the library's kinds vary with the key; not proven means not the issuer
        return False
    return True


def life_faults(certificate: x509.Certificate, at: datetime) -> Sequence[CertificateFault]:
    """Return EXPIRED or NOT_YET_VALID when the moment ``at`` (aware) lies outside the certificate's dates."""
    if at < certificate.not_valid_before_utc:
        begin = f"{certificate.not_valid_before_utc:%Y-%m-%d %H:%M} UTC"
        return (CertificateFault("NOT_YET_VALID", f"the certificate is valid only from {begin}"),)
    if at > certificate.not_valid_after_utc:
        end = f"{certificate.not_valid_after_utc:%Y-%m-%d %H:%M} UTC"
        return (CertificateFault("EXPIRED", f"the certificate expired on {end}"),)
    return ()


def strength_faults(certificate: x509.Certificate) -> Sequence[CertificateFault]:
    """Return CRYPTO_CONSTRAINTS_FAILURE for a key or a signature hash that is too weak or not supported."""
    sentences = [_key_fault(certificate)]
    with contextlib.suppress(Exception):  # a hash unknown to the library is not one of the two that are refused
        algorithm = certificate.signature_hash_algorithm
        if algorithm is not None and algorithm.name in {"md5", "sha1"}:
            sentences.append(f"the certificate is signed with {algorithm.name.upper()}, which can be forged")
    return [CertificateFault("CRYPTO_CONSTRAINTS_FAILURE", sentence) for sentence in sentences if sentence]


def name_faults(certificate: x509.Certificate) -> Sequence[CertificateFault]:
    """Return CHAIN_CONSTRAINTS_FAILURE where subject or issuer has a name that the libraries cannot compare.

    They prepare names by RFC 4518, section 2, on the characters of Unicode 3.2 (RFC 3454), and give up on the rest.
    """
    names = dict.fromkeys((certificate.subject, certificate.issuer))
    sentences = (f"the name `{readable_name(name)}` {UNUSABLE_NAME}" for name in names if not comparable(name))
    return [CertificateFault("CHAIN_CONSTRAINTS_FAILURE", sentence) for sentence in sentences]


def comparable(name: x509.Name) -> bool:
    """Say whether the libraries can compare ``name`` with another."""
    from asn1crypto import x509 as structure

    try:
        return bool(structure.Name.load(name.public_bytes()).hashable)
    except ValueError:
        return False


def _key_fault(certificate: x509.Certificate) -> str | None:
    try:
        key = certificate.public_key()
    except Exception:  # noqa: BLE001 - an unknown key type and a malformed key are the same news here
        return "the certificate's key is of a kind that is not supported"
    if isinstance(key, rsa.RSAPublicKey):
        if key.key_size < MINIMUM_RSA_BITS:
            return f"the RSA key has {key.key_size} bits; at least {MINIMUM_RSA_BITS} are needed"
        return None
    if isinstance(key, ec.EllipticCurvePublicKey) and key.curve.name in _CURVES:
        return None
    if isinstance(key, ed25519.Ed25519PublicKey):
        return None
    return "the certificate's key is of a kind that is not supported: use RSA, P-256, P-384, P-521 or Ed25519"


def usage_faults(certificate: x509.Certificate) -> Sequence[CertificateFault]:
    """Return CHAIN_CONSTRAINTS_FAILURE when the certificate was not issued for signing documents."""
    try:
        extensions = certificate.extensions
    except ValueError:
        return (CertificateFault("CHAIN_CONSTRAINTS_FAILURE", "the certificate's extensions cannot be read"),)
    constraints = extension(extensions, x509.BasicConstraints)
    usage = extension(extensions, x509.KeyUsage)
    purposes = extension(extensions, x509.ExtendedKeyUsage)
    sentences = []
    if constraints is not None and constraints.ca:
        sentences.append("the certificate belongs to a certificate authority, not to a signer")
    if usage is None:
        sentences.append("the certificate does not say what its key may be used for (no key usage)")
    elif not usage.digital_signature and not usage.content_commitment:
        sentences.append("the certificate's key usage does not include signing (digital signature or non-repudiation)")
    if purposes is not None and _SIGNING_PURPOSES.isdisjoint(purpose.dotted_string for purpose in purposes):
        sentences.append("the certificate was issued for another purpose than signing documents (extended key usage)")
    return [CertificateFault("CHAIN_CONSTRAINTS_FAILURE", sentence) for sentence in sentences]


def authority_faults(certificate: x509.Certificate, below: int = 0) -> Sequence[CertificateFault]:
    """Return CHAIN_CONSTRAINTS_FAILURE when an issuer's certificate does not permit issuing, or not through as many
    authorities as stand ``below`` it in the chain.
    """
    with contextlib.suppress(ValueError):  # extensions that cannot be read permit nothing
        constraints = extension(certificate.extensions, x509.BasicConstraints)
        usage = extension(certificate.extensions, x509.KeyUsage)
        if constraints is not None and constraints.ca and usage is not None and usage.key_cert_sign:
            most = constraints.path_length
            if most is None or below <= most:
                return ()
            long = f"{readable_name(certificate.subject)} permits {most} authorities below it, not {below}"
            return (CertificateFault("CHAIN_CONSTRAINTS_FAILURE", long),)
    sentence = f"{readable_name(certificate.subject)} issued a certificate without being an authority"
    return (CertificateFault("CHAIN_CONSTRAINTS_FAILURE", sentence),)


def purpose_faults(issuer: x509.Certificate) -> Sequence[CertificateFault]:
    """Return CHAIN_CONSTRAINTS_FAILURE when an authority's certificate is limited to other purposes than signing."""
    with contextlib.suppress(ValueError):  # extensions that cannot be read are a fault of the authority itself
        purposes = extension(issuer.extensions, x509.ExtendedKeyUsage)
        if purposes is not None and _SIGNING_PURPOSES.isdisjoint(one.dotted_string for one in purposes):
            name = readable_name(issuer.subject)
            sentence = f"{name} may not issue certificates for signing documents (extended key usage)"
            return (CertificateFault("CHAIN_CONSTRAINTS_FAILURE", sentence),)
    return ()


def extension(extensions: x509.Extensions, kind: type[E]) -> E | None:
    """Return one extension; None where it is not there."""
    try:
        return extensions.get_extension_for_class(kind).value
    except x509.ExtensionNotFound:
        return None


def same_key(certificate: x509.Certificate, public_key: object) -> bool:
    """Say whether ``public_key`` is the one the certificate speaks of."""
    form = (serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo)
    described: bytes = certificate.public_key().public_bytes(*form)
    given: bytes = public_key.public_bytes(*form)  # type: ignore[attr-defined] # every public key of the library has it
    return described == given
