"""Identities made here: one for a demonstration, kept in memory; and root and signer for teams without an authority."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, rsa

from reportgen import certificates
from reportgen.errors import MachineError, SealError
from reportgen.names import latin
from reportgen.seal.identity import Identity, assemble, open_store, require_signing_certificate
from reportgen.seal.protection import protected

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from cryptography.hazmat.primitives.asymmetric.types import CertificateIssuerPrivateKeyTypes

LONGEST_LIFE_YEARS = 10
_TEAM_KEY_BITS = 3072
_LONGEST_NAME = 64  # RFC 5280, appendix A.1: ub-common-name and ub-organization-name


@dataclass(frozen=True, slots=True)
class NewIdentity:
    """Files of a new identity and what to tell others: fingerprints, last day. Both ``.p12`` files are private."""

    signer_file: Path
    root_key_file: Path
    root_certificate_file: Path
    signer_fingerprint: str
    root_fingerprint: str
    not_after: datetime


def demo_identity(name: str, at: datetime) -> Identity:
    """Return an identity made on the spot for ``name`` (1 to 64 characters), valid for ten years from ``at`` (aware).

    Key P-256: making one takes 0.04 ms, an RSA-2048 key 70 ms. Root and signer both say that they are a demonstration.
    """
    root_key, key = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    begin, end = at - timedelta(minutes=5), at + timedelta(days=3653)
    root_name = _distinguished("Root made on the spot", certificates.DEMONSTRATION)
    root = _certificate(root_name, root_key, begin, end)
    leaf = _certificate(_distinguished(name, certificates.DEMONSTRATION), key, begin, end, issuer=(root, root_key))
    return assemble(key, leaf, [root], source="the demonstration")


def identity_stem(name: str) -> str:
    """Return what the files of an identity that is made for somebody are called."""
    return re.sub(r"[^a-z0-9]+", "-", latin(name)).strip("-") or "signer"


def new_identity(
    folder: Path, *, name: str, organisation: str, at: datetime, years: int, passphrase: str
) -> NewIdentity:
    """Write root and signer for a team without an authority into ``folder``; nothing is overwritten.

    ``years`` from 1 to 10; ``passphrase`` (not empty) protects both ``.p12`` files, which only the owner may read
    (mode 0600). RSA-3072. The root certificate and its fingerprint go to whoever verifies.
    Raises ``SealError`` for a value out of range, a file that exists; ``MachineError`` when the folder is not writable.
    """
    if not 1 <= years <= LONGEST_LIFE_YEARS:
        raise SealError(f"an identity lasts 1 to {LONGEST_LIFE_YEARS} years, not {years}")
    if not passphrase:
        raise SealError("an identity file needs a passphrase")
    if organisation == certificates.DEMONSTRATION:
        raise SealError("this organisation's name is kept for demonstrations")
    root_key = rsa.generate_private_key(public_exponent=65537, key_size=_TEAM_KEY_BITS)
    key = rsa.generate_private_key(public_exponent=65537, key_size=_TEAM_KEY_BITS)
    begin, end = at - timedelta(minutes=5), at + timedelta(days=round(365.25 * years))
    # English words stand in the root's name only beside a name that may stand beside them
    root_name = _distinguished(f"Root of {organisation}"[:_LONGEST_NAME], organisation)
    if not certificates.comparable(root_name):
        root_name = _distinguished(organisation, organisation)
    root = _certificate(root_name, root_key, begin, end)
    leaf = _certificate(_distinguished(name, organisation), key, begin, end, issuer=(root, root_key))
    require_signing_certificate(leaf)
    stem = identity_stem(name)
    files = tuple(folder / f"{stem}{end_of_name}" for end_of_name in (".p12", "-root.p12", "-root.pem"))
    contents = (
        protected(name, key, leaf, [root], passphrase),
        protected("root", root_key, root, [], passphrase),
        root.public_bytes(serialization.Encoding.PEM),
    )
    for path in files:
        if path.exists():
            raise SealError(f"{path} exists and is not overwritten")
    for path, content in zip(files, contents, strict=True):
        _write_private(path, content)
    return NewIdentity(
        signer_file=files[0],
        root_key_file=files[1],
        root_certificate_file=files[2],
        signer_fingerprint=certificates.fingerprint(leaf),
        root_fingerprint=certificates.fingerprint(root),
        not_after=leaf.not_valid_after_utc,
    )


def protect_identity(file: Path, passphrase: str | None, new_passphrase: str) -> Path:
    """Write what an identity file holds to a new one beside it, well protected, and return that; the old one stays.

    Any file with key and certificate will do, that of a root as well. Raises as ``new_identity`` and ``load_identity``.
    """
    if not new_passphrase:
        raise SealError("an identity file needs a passphrase")
    _, key, certificate, others = open_store(file, passphrase)
    out = file.with_name(f"{file.stem}-protected.p12")
    _write_private(out, protected(certificates.common_name(certificate), key, certificate, others, new_passphrase))
    return out


def _write_private(path: Path, content: bytes) -> None:
    """Write a new file that only its owner may read."""
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as stream:
            stream.write(content)
    except FileExistsError as reason:
        raise SealError(f"{path} exists and is not overwritten") from reason
    except OSError as reason:
        raise MachineError(f"{path} cannot be written: {reason.strerror}") from reason


def _distinguished(common: str, organisation: str) -> x509.Name:
    for what, text in (("name", common), ("organisation", organisation)):
        if not 1 <= len(text) <= _LONGEST_NAME or not text.isprintable():
            raise SealError(f"the {what} in a certificate has 1 to {_LONGEST_NAME} printable characters")
    attributes = [(x509.NameOID.COMMON_NAME, common), (x509.NameOID.ORGANIZATION_NAME, organisation)]
    return x509.Name([x509.NameAttribute(oid, text) for oid, text in attributes])


def _certificate(
    name: x509.Name,
    key: CertificateIssuerPrivateKeyTypes,
    begin: datetime,
    end: datetime,
    *,
    issuer: tuple[x509.Certificate, CertificateIssuerPrivateKeyTypes] | None = None,
) -> x509.Certificate:
    """Return the certificate of a signer by its ``issuer`` (root and key), or of a root by itself."""
    authority = issuer is None
    issuer_name, issuer_key = (issuer[0].subject, issuer[1]) if issuer else (name, key)
    usage = x509.KeyUsage(
        digital_signature=not authority,
        content_commitment=not authority,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=authority,
        crl_sign=authority,
        encipher_only=False,
        decipher_only=False,
    )
    identifier = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    builder = x509.CertificateBuilder(issuer_name, name, key.public_key(), x509.random_serial_number(), begin, end)
    constraints = x509.BasicConstraints(ca=authority, path_length=0 if authority else None)
    builder = builder.add_extension(constraints, critical=True).add_extension(usage, critical=True)
    builder = builder.add_extension(identifier, critical=False)
    if not authority:
        own = x509.AuthorityKeyIdentifier.from_issuer_public_key(issuer_key.public_key())
        builder = builder.add_extension(own, critical=False)
    return builder.sign(issuer_key, hashes.SHA256())
