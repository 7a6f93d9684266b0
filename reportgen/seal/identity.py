"""Who signs: certificate, chain and a key that stays loaded; and what is refused before anything is signed."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, padding, rsa
from cryptography.hazmat.primitives.serialization import pkcs12

from reportgen import certificates
from reportgen.diagnostics import Phrase
from reportgen.errors import SealError
from reportgen.seal.protection import weakness

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime

    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.types import PrivateKeyTypes

    from reportgen.names import Pin

EXPIRY_WARNING = timedelta(days=60)
"""How long before its end a certificate is warned about."""

_LARGEST_FILE = 1 << 20
_DIGEST_BY_CURVE = {"secp256r1": "sha256", "secp384r1": "sha384", "secp521r1": "sha512"}
_HASHES = {"sha256": hashes.SHA256(), "sha384": hashes.SHA384(), "sha512": hashes.SHA512()}


@dataclass(frozen=True)
class Identity:
    """A signer: certificate, its issuers in order, the digest its key asks for, and ``sign`` (data → raw signature)."""

    certificate: x509.Certificate
    chain: tuple[x509.Certificate, ...]
    digest: str
    sign: Callable[[bytes], bytes] = field(repr=False)
    weakness: str | None = field(default=None, repr=False)
    """What is wanting in the way the file keeps the key, as a sentence that names the remedy."""

    @property
    def name(self) -> str:
        """The certificate's common name."""
        return certificates.common_name(self.certificate)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate, as printed in the signature block."""
        return certificates.fingerprint(self.certificate)

    def unbound(self, name: str, organisation: str | None, pin: Pin | None, policy: Pin | None = None) -> str | None:
        """Return why this is not the identity of the person whom a job names so, or pins; None where it is.

        A pin of the ``policy`` of whoever signs decides alone.
        """
        binding = certificates.bound(
            self.certificate, self.chain, name=name, organisation=organisation, policy=policy, project=pin
        )
        if binding.by == "policy" and binding.why is not None:
            return f"by the policy {name} signs with another certificate: {binding.why}"
        return None if binding.by == "own word" else binding.why

    def vouched_for_by(self, name: str, organisation: str | None, pin: Pin | None) -> str | None:
        """Return what is to be told to whoever signs by a pin in the project file alone; None where the name is it."""
        binding = certificates.bound(self.certificate, self.chain, name=name, organisation=organisation, project=pin)
        if binding.by != "own word":
            return None
        entry = f"`people: {{{name}: {{certificate: {certificates.pin_of(self.certificate)}}}}}`"
        return (
            f"{binding.why}: only the project file says that it is this person's, and the report passes with nobody "
            f"whose policy does not say so too: {entry} (`verify --policy`)"
        )

    @property
    def anchors(self) -> tuple[x509.Certificate, ...]:
        """What whoever trusts this identity trusts, as far as it is known: the last of its chain, or what stands alone.

        Nothing where another issued the certificate and is not in the identity.
        """
        last = (self.certificate, *self.chain)[-1]
        return () if certificates.vouches_for_none(last) else (last,)

    @property
    def demonstration(self) -> bool:
        """Whether this identity was made on the spot and signs nothing that counts."""
        return certificates.is_demonstration(self.certificate)


@dataclass(frozen=True, slots=True)
class Preflight:
    """What was found before signing: warnings that do not stop it; anything that does raised ``SealError``."""

    warnings: tuple[str, ...] = ()


def load_identity(path: Path, passphrase: str | None) -> Identity:
    """Return the identity in a PKCS#12 file.

    Raises ``SealError`` with one sentence: file missing or too large, not PKCS#12, wrong passphrase, no private key,
    no certificate, key and certificate do not belong together, key or hash too weak, not issued for signing.
    Dates depend on the moment of signing: ``preflight`` and ``seal_report`` look at them.
    """
    data, key, certificate, others = open_store(Path(path), passphrase)
    lacking = weakness(data)
    remedy = f"`reportgen identity protect {path}` writes one that keeps it better"
    said = f"the identity file {path} keeps its key badly: {lacking}; {remedy}" if lacking else None
    return replace(assemble(key, certificate, others, source=str(path)), weakness=said)


def open_store(
    path: Path, passphrase: str | None
) -> tuple[bytes, PrivateKeyTypes, x509.Certificate, list[x509.Certificate]]:
    """Return the bytes of a PKCS#12 file, its key, the certificate of that, and the others in it.

    Raises ``SealError`` as ``load_identity`` for a file that does not open.
    """
    if not path.is_file():
        raise SealError(f"there is no identity file {path}")
    try:
        data = path.read_bytes() if path.stat().st_size <= _LARGEST_FILE else None
    except OSError as reason:
        raise SealError(f"{path} cannot be read: {reason.strerror}") from reason
    if data is None:
        raise SealError(f"{path} is larger than any identity file (1 MiB)")
    try:
        store = pkcs12.load_pkcs12(data, passphrase.encode() if passphrase is not None else None)
    except certificates.UNREADABLE as reason:
        raise SealError(_why_not_opened(path, data, passphrase)) from reason
    if store.key is None:
        raise SealError(f"{path} holds no private key")
    if store.cert is None and not store.additional_certs:
        raise SealError(f"{path} holds no certificate")
    if store.cert is None:
        raise SealError(f"the private key in {path} does not belong to any certificate in it")
    others = [entry.certificate for entry in store.additional_certs]
    try:
        for one in (store.cert.certificate, *others):
            certificates.require_readable(one)
    except certificates.UNREADABLE as reason:
        raise SealError(f"{path} holds a certificate that cannot be read") from reason
    return data, store.key, store.cert.certificate, others


def assemble(
    key: PrivateKeyTypes, certificate: x509.Certificate, others: list[x509.Certificate], *, source: str
) -> Identity:
    """Return the identity of a loaded key and its certificates; ``SealError`` when they cannot sign a report."""
    if not certificates.same_key(certificate, key.public_key()):
        raise SealError(f"the private key in {source} does not belong to its certificate")
    require_signing_certificate(certificate)
    chain = certificates.in_order(certificate, others)
    _require_usable_names(chain)
    digest, sign = _signing_operation(key)
    return Identity(certificate, chain, digest, sign)


def require_signing_certificate(certificate: x509.Certificate) -> None:
    """Raise ``SealError`` naming the first rule that ``certificate`` breaks, whatever the date."""
    faults = [*certificates.strength_faults(certificate), *certificates.usage_faults(certificate)]
    if faults:
        raise SealError(f"{_owner(certificate)} cannot sign reports: {faults[0].sentence}")
    _require_usable_names((certificate,))


def _require_usable_names(chain: Iterable[x509.Certificate]) -> None:
    """Raise ``SealError`` naming the first name in ``chain`` that nobody who verifies could compare."""
    for certificate in chain:
        for fault in certificates.name_faults(certificate):
            raise SealError(
                f"{_owner(certificate)} cannot be used to sign: {fault.sentence}",
                help_text="write person and organisation each in one script, and have a certificate made in that name",
            )


def require_valid_at(identity: Identity, at: datetime) -> None:
    """Raise ``SealError`` when the signer's certificate or one of its issuers is outside its dates at ``at``."""
    for certificate in (identity.certificate, *identity.chain):
        faults = certificates.life_faults(certificate, at)
        if faults:
            raise SealError(f"{_owner(certificate)} cannot sign at {at:%Y-%m-%d %H:%M %z}: {faults[0].sentence}")


def preflight(
    identity: Identity, inspector: str, at: datetime, organisation: str | None = None, *, pin: Pin | None = None
) -> Preflight:
    """Check, before pages are built, that ``identity`` may sign for the inspector named in the job at ``at`` (aware).

    Raises ``SealError`` when the dates do not allow it or the certificate is not bound to the inspector, whom the job
    names with this ``organisation`` or pins (``certificates.bound``).
    Returns warnings: certificate ends within 60 days, issuer's certificate not in the file, demonstration.
    """
    require_valid_at(identity, at)
    why = identity.unbound(inspector, organisation, pin)
    if why is not None:
        entry = f"`signs_with: {{certificate: {certificates.pin_of(identity.certificate)}}}`"
        help_text = "sign with the inspector's own identity, or correct name and organisation in the project file"
        raise SealError(
            f"this identity is not that of the inspector: {why}",
            help_text=f"{help_text}; where it is the inspector's, enter {entry} there, and have whoever verifies enter "
            f"the same under `people` in a policy",
        )
    warnings = []
    left = identity.certificate.not_valid_after_utc - at
    if left < EXPIRY_WARNING:
        end = f"{identity.certificate.not_valid_after_utc:%Y-%m-%d}"
        warnings.append(f"the certificate of {identity.name} ends on {end}, in {left.days} days")
    if not identity.chain and identity.certificate.subject != identity.certificate.issuer:
        issuer = certificates.readable_name(identity.certificate.issuer)
        warnings.append(f"the issuer's certificate ({issuer}) is not in the identity; offline verification needs it")
    if told := identity.vouched_for_by(inspector, organisation, pin):
        warnings.append(told)
    if identity.weakness:
        warnings.append(identity.weakness)
    if identity.demonstration:
        warnings.append("this identity is a demonstration, not valid for issue")
    return Preflight(tuple(warnings))


def _owner(certificate: x509.Certificate) -> str:
    return f"the certificate of {certificates.readable_name(certificate.subject)}"


def _why_not_opened(path: Path, data: bytes, passphrase: str | None) -> str:
    from asn1crypto import pkcs12 as structure

    try:
        version = structure.Pfx.load(data, strict=True)["version"].native
    except (ValueError, TypeError):
        version = None
    if version != "v3":
        return Phrase("{path} is not a PKCS#12 file", path=str(path))
    if passphrase is None:
        return Phrase("{path} needs its passphrase", path=str(path))
    return Phrase("the passphrase does not open {path}", path=str(path))


def _signing_operation(key: PrivateKeyTypes) -> tuple[str, Callable[[bytes], bytes]]:
    """Return the digest that suits the key and the raw signature operation bound to the loaded key."""
    if isinstance(key, rsa.RSAPrivateKey):
        return "sha256", lambda data: key.sign(data, padding.PKCS1v15(), hashes.SHA256())
    if isinstance(key, ec.EllipticCurvePrivateKey):
        digest = _DIGEST_BY_CURVE[key.curve.name]
        algorithm = ec.ECDSA(_HASHES[digest])
        return digest, lambda data: key.sign(data, algorithm)
    if isinstance(key, ed25519.Ed25519PrivateKey):
        return "sha512", key.sign
    raise SealError("the private key is of a kind that is not supported")
