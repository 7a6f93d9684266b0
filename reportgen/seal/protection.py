"""How an identity file keeps its key: AES-256 and a passphrase that takes 600,000 rounds to try, in every part of it.

PKCS#12 (RFC 7292) uses the passphrase twice: to encrypt key and certificates, and to prove the whole unaltered. Whoever
guesses tries the cheaper of the two, so both take as many rounds; libraries write 2,048 for the proof and let nobody
choose, which is why it is made again here.
"""

from __future__ import annotations

import hashlib
import hmac
import os
from typing import TYPE_CHECKING, Any, Final

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import PrivateFormat, pkcs12

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from cryptography import x509

ROUNDS: Final = 600_000
"""OWASP Password Storage Cheat Sheet, PBKDF2 with HMAC-SHA-256 (from memory)."""
_PSEUDO_RANDOM: Final = frozenset({"sha256", "sha384", "sha512"})
_KEY_FOR_PROOF: Final = 3
_BLOCK: Final = 64


def protected(
    name: str, key: Any, certificate: x509.Certificate, others: Iterable[x509.Certificate], passphrase: str
) -> bytes:
    """Return a PKCS#12 file of a key and its certificates that ``passphrase`` opens."""
    from asn1crypto import pkcs12 as structure

    lock = PrivateFormat.PKCS12.encryption_builder().kdf_rounds(ROUNDS).hmac_hash(hashes.SHA256())
    lock = lock.key_cert_algorithm(pkcs12.PBES.PBESv2SHA256AndAES256CBC)
    encryption = lock.build(passphrase.encode())
    written = pkcs12.serialize_key_and_certificates(name.encode(), key, certificate, list(others) or None, encryption)
    store = structure.Pfx.load(written)
    salt = os.urandom(16)
    proof = hmac.new(_derived(passphrase, salt), store["auth_safe"]["content"].native, "sha256").digest()
    digest = {"digest_algorithm": {"algorithm": "sha256"}, "digest": proof}
    store["mac_data"] = {"mac": digest, "mac_salt": salt, "iterations": ROUNDS}
    return bytes(store.dump(force=True))


def _derived(passphrase: str, salt: bytes) -> bytes:
    """Return the key of the proof (RFC 7292, appendix B.2): one output of SHA-256 is all that is needed of it."""
    typed = passphrase.encode("utf-16-be") + b"\0\0"
    # each repeated until it fills whole blocks
    filled = ((part * _BLOCK)[: -(-len(part) // _BLOCK) * _BLOCK] for part in (salt, typed))
    derived = bytes([_KEY_FOR_PROOF]) * _BLOCK + b"".join(filled)
    for _ in range(ROUNDS):
        derived = hashlib.sha256(derived).digest()
    return derived


def weakness(data: bytes) -> str | None:
    """Return in a clause what a PKCS#12 file lacks of the protection that is written here; None where nothing."""
    from asn1crypto import pkcs12 as structure

    try:
        store = structure.Pfx.load(data)
        algorithms = list(_encrypted_by(store))
        rounds = [one.kdf_iterations for one in algorithms]
        if not algorithms:
            return "its key is not encrypted"
        if any((one.encryption_cipher, one.key_length, one.kdf) != ("aes", 32, "pbkdf2") for one in algorithms):
            return "its key is not encrypted with AES-256"
        if any(one.kdf_hmac not in _PSEUDO_RANDOM for one in algorithms):
            return "its passphrase is not hashed with SHA-256 or better"
        if store["mac_data"].native is not None:
            rounds.append(store["mac_data"]["iterations"].native)
    except (ValueError, TypeError, KeyError, AttributeError):
        return "how it keeps its key cannot be told"
    if min(rounds) < ROUNDS:
        return f"a guess at its passphrase costs {min(rounds):,} rounds, where {ROUNDS:,} are advised"
    return None


def _encrypted_by(store: Any) -> Iterator[Any]:
    """Yield the algorithm of each part of a store that holds a key or is encrypted."""
    from asn1crypto import pkcs12 as structure

    for part in store.authenticated_safe:
        if part["content_type"].native == "encrypted_data":
            yield part["content"]["encrypted_content_info"]["content_encryption_algorithm"]
            continue
        bags = structure.SafeContents.load(part["content"].native)
        keys = (bag["bag_value"] for bag in bags if bag["bag_id"].native == "pkcs8_shrouded_key_bag")
        yield from (key["encryption_algorithm"] for key in keys)
