"""Identities on a PKCS#11 token: the key never leaves it; a PIN is tried once, because tokens lock."""

from __future__ import annotations

import contextlib
import hashlib
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature

from reportgen import certificates
from reportgen.errors import MachineError, SealError
from reportgen.seal.identity import Identity, require_signing_certificate

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

_DIGEST_BY_CURVE = {"secp256r1": "sha256", "secp384r1": "sha384", "secp521r1": "sha512"}


def load_token_identity(module: Path, *, token: str, pin: str, label: str | None = None) -> Identity:
    """Return the identity on the token labelled ``token``, reached through the PKCS#11 library ``module``.

    ``label`` names the certificate where the token holds several that can sign. The session stays open as long as the
    identity lives. Raises ``SealError`` (no such library, token, certificate or key; wrong or locked PIN; a certificate
    that cannot sign reports) and ``MachineError`` when the token fails otherwise.
    """
    try:
        import pkcs11
    except ImportError as reason:
        raise SealError("signing with a token needs the package python-pkcs11") from reason
    try:
        library = pkcs11.lib(str(module))
    except (pkcs11.PKCS11Error, RuntimeError, OSError) as reason:
        raise SealError(f"{module} is not a PKCS#11 library that can be loaded") from reason
    with _explained(pkcs11, token):
        slot = library.get_token(token_label=token)
        try:
            session = slot.open(user_pin=pin)
        except pkcs11.UserAlreadyLoggedIn:  # once for the whole process, whoever opens further sessions
            session = slot.open()
        try:
            found = list(_certificates(pkcs11, session))
            own, key = _choose(pkcs11, session, found, label, token)
            require_signing_certificate(own)
            digest, sign = _signing_operation(pkcs11, own, key)
        except SealError:
            session.close()
            raise

    def explained(data: bytes) -> bytes:
        with _explained(pkcs11, token):
            return sign(data)

    return Identity(own, certificates.in_order(own, [one for _, one in found]), digest, explained)


@contextlib.contextmanager
def _explained(pkcs11: Any, token: str) -> Iterator[None]:
    """Turn the library's errors, many of them without words, into ours."""
    try:
        yield
    except pkcs11.NoSuchToken as reason:
        raise SealError(f"there is no token `{token}`") from reason
    except pkcs11.PinIncorrect as reason:
        raise SealError(f"the PIN of token `{token}` is wrong; it is not tried again, because tokens lock") from reason
    except pkcs11.PinLocked as reason:
        raise SealError(f"the PIN of token `{token}` is locked") from reason
    except (pkcs11.PinLenRange, pkcs11.PinInvalid) as reason:
        raise SealError(f"the PIN of token `{token}` has the wrong length or characters") from reason
    except pkcs11.PKCS11Error as reason:
        raise MachineError(f"the token `{token}` failed: {reason or 'it does not say why'}") from reason


def _certificates(pkcs11: Any, session: Any) -> Iterator[tuple[Any, x509.Certificate]]:
    for thing in session.get_objects({pkcs11.Attribute.CLASS: pkcs11.ObjectClass.CERTIFICATE}):
        with contextlib.suppress(*certificates.UNREADABLE):
            yield thing, x509.load_der_x509_certificate(thing[pkcs11.Attribute.VALUE])


def _choose(
    pkcs11: Any, session: Any, found: list[tuple[Any, x509.Certificate]], label: str | None, token: str
) -> tuple[x509.Certificate, Any]:
    """Return the one certificate with a private key beside it (same identifier), by label where there are several."""
    keys = {
        key[pkcs11.Attribute.ID]: key
        for key in session.get_objects({pkcs11.Attribute.CLASS: pkcs11.ObjectClass.PRIVATE_KEY})
    }
    with_key = [(thing, one) for thing, one in found if thing[pkcs11.Attribute.ID] in keys]
    if label is not None:
        with_key = [(thing, one) for thing, one in with_key if thing[pkcs11.Attribute.LABEL] == label]
    if not with_key:
        named = f" labelled `{label}`" if label is not None else ""
        raise SealError(f"the token `{token}` holds no certificate{named} with its private key")
    if len(with_key) > 1:
        labels = ", ".join(sorted(str(thing[pkcs11.Attribute.LABEL]) for thing, _ in with_key))
        raise SealError(f"the token `{token}` holds several certificates with keys, name one: {labels}")
    thing, own = with_key[0]
    return own, keys[thing[pkcs11.Attribute.ID]]


def _signing_operation(pkcs11: Any, own: x509.Certificate, key: Any) -> tuple[str, Callable[[bytes], bytes]]:
    public = own.public_key()
    if isinstance(public, rsa.RSAPublicKey):
        return "sha256", lambda data: bytes(key.sign(data, mechanism=pkcs11.Mechanism.SHA256_RSA_PKCS))
    if not isinstance(public, ec.EllipticCurvePublicKey):
        raise SealError("only RSA and elliptic curve keys can be used on a token")
    digest = _DIGEST_BY_CURVE[public.curve.name]

    def sign(data: bytes) -> bytes:
        hashed = hashlib.new(digest, data).digest()
        value = bytes(key.sign(hashed, mechanism=pkcs11.Mechanism.ECDSA))
        half = len(value) // 2
        return encode_dss_signature(int.from_bytes(value[:half], "big"), int.from_bytes(value[half:], "big"))

    return digest, sign
