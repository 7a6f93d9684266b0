"""What a certificate must be before a report is signed with it, or a signature made with it is believed.

Signing refuses what breaks a rule here and verification names it; neither knows the other: the rules stand below both.
The words are those of ETSI EN 319 102-1 V1.3.1 (2021-11), clause 5.1.3, table 5 (from memory).
"""

from __future__ import annotations

import contextlib
import hashlib
import stringprep
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal, TypeVar

from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, padding, rsa

from reportgen.names import spelt_alike, visible
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from reportgen.names import Pin
    from reportgen.words.told import Told

E = TypeVar("E", bound=x509.ExtensionType)

DEMONSTRATION = "demonstration, not valid for issue"
"""Organisation in every certificate made on the spot for a demonstration."""

MINIMUM_RSA_BITS = 2048
"""NIST SP 800-131A Rev. 2, table 2: RSA below 2048 bits is disallowed for making signatures."""

UNREADABLE: Final = (
    ValueError, TypeError, UnsupportedAlgorithm, x509.InvalidVersion, x509.DuplicateExtension,
    x509.UnsupportedGeneralNameType,
)  # fmt: skip
"""What the library raises for certificates, lists and answers that it cannot read, often only when a part is asked."""

_NAMES_KEPT: Final = 256

_CURVES = ("secp256r1", "secp384r1", "secp521r1")

_ANY_PURPOSE, _STAMPING = "2.5.29.37.0", "1.3.6.1.5.5.7.3.8"
_SIGNING_PURPOSES = frozenset(
    {
        _ANY_PURPOSE,
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
    sentence: Told


def require_readable(one: x509.Certificate) -> None:
    """Read what the libraries read only when they are asked; one of ``UNREADABLE`` where a part cannot be."""
    _ = (one.subject, one.issuer, one.not_valid_before_utc, one.not_valid_after_utc, one.extensions)
    _require_extensions(one.public_bytes(serialization.Encoding.DER))


def _require_extensions(der: bytes) -> None:
    """Read the extensions as the library does that follows chains: it knows other kinds of them."""
    from asn1crypto import x509 as structure

    certificate = structure.Certificate.load(der)
    with contextlib.suppress(KeyError):
        _ = certificate.critical_extensions
    try:
        _ = certificate.authority_issuer_serial
    except AttributeError as reason:
        raise ValueError("who issued the certificate above is no name of a directory") from reason


def read_certificates(data: bytes) -> list[x509.Certificate]:
    """Return the certificates of a PEM bundle or of one DER file; ``ValueError`` for none or a broken one."""
    try:
        pem = b"-----BEGIN" in data
        found = x509.load_pem_x509_certificates(data) if pem else [x509.load_der_x509_certificate(data)]
        for one in found:
            require_readable(one)
    except x509.InvalidVersion as reason:
        raise ValueError("a certificate of an unknown version") from reason
    except UNREADABLE as reason:
        raise ValueError("a certificate that cannot be read") from reason
    return found


def fingerprint(certificate: x509.Certificate) -> str:
    """Return the SHA-256 of the whole certificate, 64 hexadecimal digits in upper case, pairs joined by colons."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def readable_name(name: x509.Name) -> str:
    """Return common name and organisation of a distinguished name, or all of it (RFC 4514) when neither is there."""
    wanted = (x509.NameOID.COMMON_NAME, x509.NameOID.ORGANIZATION_NAME)
    parts = [str(attribute.value) for oid in wanted for attribute in name.get_attributes_for_oid(oid)]
    return ", ".join(parts) or name.rfc4514_string()


def key_of(certificate: x509.Certificate) -> bytes:
    """Return what stands for the public key of a certificate: equal where the keys are."""
    try:
        return certificate.public_key().public_bytes(
            serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
        )
    except Exception:  # noqa: BLE001 - a key that is not supported made no valid signature either
        return certificate.tbs_certificate_bytes


def common_name(certificate: x509.Certificate) -> str:
    """Return the subject's first common name, or the empty text."""
    return next(iter(common_names(certificate)), "")


def common_names(certificate: x509.Certificate) -> list[str]:
    """Return every common name of the subject; a certificate that binds a person has one."""
    return _attributes(certificate, x509.NameOID.COMMON_NAME)


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
    same (``name``) proves nothing either way. Nor does it where the project file alone pins it (``own word``): whoever
    signs may have written that file.
    """

    by: Literal["policy", "project", "name", "own word"]
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

    What whoever verifies pins decides alone. Else it is the name, and what the report's own project file pins can
    only narrow that: among those of one name it chooses, it makes nobody another.
    """
    if policy is not None:
        return Binding("policy", _missed(policy, certificate, issuers))
    why = misnamed(certificate, name, organisation)
    if project is None:
        return Binding("name", why)
    missed = _missed(project, certificate, issuers)
    if missed is not None or why is None:
        return Binding("project", missed)
    return Binding("own word", why)


def _missed(pin: Pin, certificate: x509.Certificate, issuers: Iterable[x509.Certificate]) -> str | None:
    """Return why a certificate, with those that may have issued it, is not the one pinned; None where it is."""
    if pin.certificate is not None:
        own = pin_of(certificate)
        return None if own == pin.certificate else told("pin-of-another", own=own, pinned=pin.certificate)
    if pin.issuer not in pins_of_issuers(certificate, issuers):
        return told("pin-of-another-issuer", issuer=pin.issuer)
    subject = distinguished_name(certificate)
    if subject == pin.subject:
        return None
    order = told("pin-in-other-order") if _parts(subject) == _parts(str(pin.subject)) else None
    return told("pin-of-another-subject", own=visible(subject), pinned=pin.subject, order=order)


def _parts(subject: str) -> list[str]:
    """Return the parts of a name as in RFC 4514, sorted; the whole of what is none."""
    try:
        return sorted(part.rfc4514_string() for part in x509.Name.from_rfc4514_string(subject).rdns)
    except ValueError:
        return [subject]


def pin_of(certificate: x509.Certificate) -> str:
    """Return the SHA-256 of a certificate as it is pinned: 64 hexadecimal digits in lower case."""
    return certificate.fingerprint(hashes.SHA256()).hex()


def pins_of_issuers(certificate: x509.Certificate, issuers: Iterable[x509.Certificate]) -> tuple[str, ...]:
    """Return how those of ``issuers`` are pinned that issued a certificate, by its signature, each once."""
    return tuple(dict.fromkeys(pin_of(issuer) for issuer in issuers if issued(issuer, certificate)))


def distinguished_name(certificate: x509.Certificate) -> str:
    """Return the subject of a certificate as it is pinned: all of it, as in RFC 4514."""
    return certificate.subject.rfc4514_string()


def misnamed(certificate: x509.Certificate, name: str, organisation: str | None = None) -> str | None:
    """Return why ``certificate`` is not that of the person with this ``name``, in a clause; None where it is.

    It has one common name, equal to ``name`` in its spelling, and where an organisation is given, that one likewise.
    """
    stated = common_names(certificate)
    if len(stated) != 1:
        which = visible(", ".join(stated)) if stated else None
        return told("names-several", count=len(stated), stated=which, name=visible(name))
    if not spelt_alike(stated[0], name):
        return told(
            "names-another", stated=visible(stated[0]), name=visible(name), differs=_difference(stated[0], name)
        )
    bodies = _attributes(certificate, x509.NameOID.ORGANIZATION_NAME)
    if organisation is None or bodies == [DEMONSTRATION]:  # nothing that calls itself a demonstration is believed
        return None
    if not bodies:
        return told("names-no-organisation", organisation=visible(organisation))
    if len(bodies) == 1 and spelt_alike(bodies[0], organisation):
        return None
    differs = _difference(bodies[0], organisation)
    body = visible(", ".join(bodies))
    return told("names-another-organisation", stated=body, organisation=visible(organisation), differs=differs)


def _attributes(certificate: x509.Certificate, kind: x509.ObjectIdentifier) -> list[str]:
    return [str(attribute.value) for attribute in certificate.subject.get_attributes_for_oid(kind)]


def _difference(stated: str, name: str) -> Told | None:
    """Return where two names that may look alike first differ, as code points; nothing where both letters are plain
    ASCII, as anybody sees that they differ.
    """
    for one, other in zip(stated, name, strict=False):
        if one.casefold() != other.casefold():
            if one.isascii() and other.isascii():
                return None
            return told("letter-for-letter", one=f"U+{ord(one):04X}", other=f"U+{ord(other):04X}")
    return None


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


def issued_below(tops: Sequence[x509.Certificate], pool: Sequence[x509.Certificate]) -> list[x509.Certificate]:
    """Return ``tops`` and all of ``pool`` that an authority among them issued, through whichever others."""
    found = list(dict.fromkeys(tops))
    for issuer in found:  # which grows
        if not vouches_for_none(issuer):
            found += [one for one in pool if one not in found and issued(issuer, one)]
    return found


def signed_itself(one: x509.Certificate) -> bool:
    """Say whether a certificate is signed with its own key, with SHA-1 too: many roots are, and no other key could."""
    if issued(one, one):
        return True
    if one.subject != one.issuer:
        return False
    try:
        key, algorithm = one.public_key(), one.signature_hash_algorithm
        if not isinstance(key, rsa.RSAPublicKey) or algorithm is None or algorithm.name != "sha1":
            return False
        key.verify(one.signature, one.tbs_certificate_bytes, padding.PKCS1v15(), algorithm)
    except (InvalidSignature, UnsupportedAlgorithm, ValueError):
        return False
    return True


def vouches_for_none(certificate: x509.Certificate) -> bool:
    """Say whether trust in this certificate is trust in its issuer's work: no authority's, and issued by another."""
    try:
        constraints = extension(certificate.extensions, x509.BasicConstraints)
    except ValueError:  # extensions that cannot be read permit nothing
        constraints = None
    return not (constraints is not None and constraints.ca) and not issued(certificate, certificate)


def signed_by(
    certificate: x509.Certificate, signature: bytes, data: bytes, algorithm: hashes.HashAlgorithm | None
) -> bool:
    """Say whether the key of ``certificate`` made ``signature`` over ``data``, with RSA (PKCS #1 v1.5), ECDSA or, where
    there is no hash ``algorithm``, Ed25519.
    """
    try:
        key = certificate.public_key()
        if isinstance(key, rsa.RSAPublicKey) and algorithm is not None:
            key.verify(signature, data, padding.PKCS1v15(), algorithm)
        elif isinstance(key, ec.EllipticCurvePublicKey) and algorithm is not None:
            key.verify(signature, data, ec.ECDSA(algorithm))
        elif isinstance(key, ed25519.Ed25519PublicKey) and algorithm is None:
            key.verify(signature, data)
        else:
            return False
    except (InvalidSignature, UnsupportedAlgorithm, ValueError):
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
        return (CertificateFault("NOT_YET_VALID", told("valid-only-from", at=begin)),)
    if at > certificate.not_valid_after_utc:
        end = f"{certificate.not_valid_after_utc:%Y-%m-%d %H:%M} UTC"
        return (CertificateFault("EXPIRED", told("expired-on", at=end)),)
    return ()


def strength_faults(certificate: x509.Certificate) -> Sequence[CertificateFault]:
    """Return CRYPTO_CONSTRAINTS_FAILURE for a key or a signature hash that is too weak or not supported."""
    sentences = [_key_fault(certificate)]
    with contextlib.suppress(Exception):  # a hash unknown to the library is not one of the two that are refused
        algorithm = certificate.signature_hash_algorithm
        if algorithm is not None and algorithm.name in {"md5", "sha1"}:
            sentences.append(told("signed-with-weak", algorithm=algorithm.name.upper()))
    return [CertificateFault("CRYPTO_CONSTRAINTS_FAILURE", sentence) for sentence in sentences if sentence]


def name_faults(certificate: x509.Certificate) -> Sequence[CertificateFault]:
    """Return CHAIN_CONSTRAINTS_FAILURE where subject or issuer has a name that the libraries cannot read or compare.

    They prepare names by RFC 4518, section 2, on the characters of Unicode 3.2 (RFC 3454), and give up on the rest.
    """
    try:
        names = dict.fromkeys((certificate.subject, certificate.issuer))
    except ValueError:
        return [CertificateFault("CHAIN_CONSTRAINTS_FAILURE", told("name-unreadable", fingerprint=pin_of(certificate)))]
    sentences = (
        told("name-not-comparable" if _has_other_letters(name) else "name-of-odd-parts", name=readable_name(name))
        for name in names
        if not comparable(name)
    )
    return [CertificateFault("CHAIN_CONSTRAINTS_FAILURE", sentence) for sentence in sentences]


def _has_other_letters(name: x509.Name) -> bool:
    """Whether a name has letters that are written from the right, or that Unicode 3.2 does not have."""
    letters = {one for attribute in name for letter in str(attribute.value) for one in (letter, *letter.lower())}
    return any(
        stringprep.in_table_a1(one)
        or stringprep.in_table_c3(one)
        or stringprep.in_table_c4(one)
        or stringprep.in_table_d1(one)
        or one == "\ufffd"
        for one in letters
    )


def reading_faults(der: bytes, *, whole: bool) -> Sequence[CertificateFault]:
    """Return CHAIN_CONSTRAINTS_FAILURE where a certificate of others (DER) cannot be read, or has such a name.

    ``whole``: its extensions too. Of a signer's own they are looked at where its use is judged.
    """
    try:
        certificate = x509.load_der_x509_certificate(der)
        _ = certificate.not_valid_before_utc, certificate.not_valid_after_utc
    except (ValueError, x509.InvalidVersion):
        fingerprint = hashlib.sha256(der).hexdigest()
        return [CertificateFault("CHAIN_CONSTRAINTS_FAILURE", told("certificate-unreadable", fingerprint=fingerprint))]
    if faults := name_faults(certificate):
        return faults
    code = None
    try:
        _ = certificate.extensions
    except x509.DuplicateExtension:
        code = "extension-twice"
    except ValueError:
        code = "extension-unreadable" if whole else None
    try:
        _require_extensions(der)
    except (ValueError, TypeError):
        code = code or ("extension-unreadable" if whole else None)
    name = readable_name(certificate.subject)
    return [CertificateFault("CHAIN_CONSTRAINTS_FAILURE", told(code, name=name))] if code else []


def without_root(pool: Sequence[x509.Certificate]) -> list[x509.Certificate]:
    """Return those of ``pool`` that state a key above them (RFC 5280, 4.2.1.1) of which no certificate is there."""
    keys = {one: _stated_keys(one) for one in pool}

    def may_issue(other: x509.Certificate, one: x509.Certificate) -> bool:
        return other.subject == one.issuer and keys[other][0] in {None, keys[one][1]}

    tops = [one for one, (own, above) in keys.items() if own and above and own != above]
    return [one for one in tops if not any(may_issue(other, one) for other in pool)]


def _stated_keys(one: x509.Certificate) -> tuple[bytes | None, bytes | None]:
    """Return the identifiers that a certificate states of its own key, and of that above it."""
    try:
        own = extension(one.extensions, x509.SubjectKeyIdentifier)
        above = extension(one.extensions, x509.AuthorityKeyIdentifier)
    except ValueError:
        return None, None
    return own.digest if own else None, above.key_identifier if above else None


def comparable(name: x509.Name) -> bool:
    """Say whether the libraries can compare ``name`` with another."""
    try:
        return _comparable(name.public_bytes())
    except ValueError:
        return False


@lru_cache(_NAMES_KEPT)
def _comparable(name: bytes) -> bool:
    """Say so of a name as it is written (DER): the same few are asked for again and again."""
    from asn1crypto import x509 as structure

    try:
        return bool(structure.Name.load(name).hashable)
    except ValueError:
        return False


def _key_fault(certificate: x509.Certificate) -> Told | None:
    try:
        key = certificate.public_key()
    except Exception:  # noqa: BLE001 - an unknown key type and a malformed key are the same news here
        return told("key-not-supported")
    if isinstance(key, rsa.RSAPublicKey):
        if key.key_size < MINIMUM_RSA_BITS:
            return told("key-too-short", bits=key.key_size, least=MINIMUM_RSA_BITS)
        return None
    if isinstance(key, ec.EllipticCurvePublicKey) and key.curve.name in _CURVES:
        return None
    if isinstance(key, ed25519.Ed25519PublicKey):
        return None
    return told("key-of-another-kind")


def usage_faults(certificate: x509.Certificate) -> Sequence[CertificateFault]:
    """Return CHAIN_CONSTRAINTS_FAILURE when the certificate was not issued for signing documents."""
    try:
        extensions = certificate.extensions
    except ValueError:
        return (CertificateFault("CHAIN_CONSTRAINTS_FAILURE", told("extensions-unreadable")),)
    constraints = extension(extensions, x509.BasicConstraints)
    usage = extension(extensions, x509.KeyUsage)
    purposes = extension(extensions, x509.ExtendedKeyUsage)
    sentences = []
    if constraints is not None and constraints.ca:
        sentences.append(told("certificate-of-authority"))
    if usage is None:
        sentences.append(told("usage-not-stated"))
    elif not usage.digital_signature and not usage.content_commitment:
        sentences.append(told("usage-without-signing"))
    if purposes is not None and _SIGNING_PURPOSES.isdisjoint(purpose.dotted_string for purpose in purposes):
        sentences.append(told("purpose-of-another-kind"))
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
            long = told("authority-permits", name=readable_name(certificate.subject), most=most, below=below)
            return (CertificateFault("CHAIN_CONSTRAINTS_FAILURE", long),)
    sentence = told("issued-without-authority", name=readable_name(certificate.subject))
    return (CertificateFault("CHAIN_CONSTRAINTS_FAILURE", sentence),)


def may_list(issuer: x509.Certificate) -> bool:
    """Say whether an authority's certificate permits it to sign lists of revoked certificates: RFC 5280, 4.2.1.3."""
    usage = extension(issuer.extensions, x509.KeyUsage)
    return usage is None or usage.crl_sign


def purpose_faults(issuer: x509.Certificate, *, of_time: bool = False) -> Sequence[CertificateFault]:
    """Return CHAIN_CONSTRAINTS_FAILURE when an authority's certificate is limited to other purposes than signing.

    With ``of_time`` to others than stamping the time.
    """
    fitting = frozenset({_ANY_PURPOSE, _STAMPING}) if of_time else _SIGNING_PURPOSES
    with contextlib.suppress(ValueError):  # extensions that cannot be read are a fault of the authority itself
        purposes = extension(issuer.extensions, x509.ExtendedKeyUsage)
        if purposes is not None and fitting.isdisjoint(one.dotted_string for one in purposes):
            code = "authority-not-for-time" if of_time else "authority-not-for-signing"
            sentence = told(code, name=readable_name(issuer.subject))
            return (CertificateFault("CHAIN_CONSTRAINTS_FAILURE", sentence),)
    return ()


def stamping_faults(certificate: x509.Certificate) -> Sequence[CertificateFault]:
    """Return CHAIN_CONSTRAINTS_FAILURE when the certificate is not that of a timestamp authority: RFC 3161, 2.3.

    Stamping the time is the only purpose, stated as critical: else whoever signs could say himself when he did.
    """
    try:
        extensions = certificate.extensions
        purposes = extensions.get_extension_for_class(x509.ExtendedKeyUsage)
        constraints, usage = extension(extensions, x509.BasicConstraints), extension(extensions, x509.KeyUsage)
    except (ValueError, x509.ExtensionNotFound):
        return (CertificateFault("CHAIN_CONSTRAINTS_FAILURE", told("stamping-not-stated")),)
    sentences = []
    if not purposes.critical or [one.dotted_string for one in purposes.value] != [_STAMPING]:
        sentences.append(told("stamping-not-alone"))
    if usage is not None and not usage.digital_signature and not usage.content_commitment:
        sentences.append(told("stamping-without-signing"))
    if constraints is not None and constraints.ca:
        sentences.append(told("stamping-authority"))
    return [CertificateFault("CHAIN_CONSTRAINTS_FAILURE", sentence) for sentence in sentences]


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
