"""The certificates that a signature brings along: no signature covers them as a list, so each has to be proven itself.

Who has the name and the public key of an authority can write a certificate for it with any words in it, and each
signature below still fits. What was signed names the signer's own certificate by its hash; each other has to be signed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric import padding, rsa

from reportgen import certificates

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from cryptography import x509


def unproven(
    brought: Sequence[x509.Certificate], beside: Iterable[x509.Certificate], trusted: Iterable[x509.Certificate]
) -> x509.Certificate | None:
    """Return one of those ``brought`` that nothing proves; None where there is none. The first is the signer's.

    Each other one issued one of the chain, by its signature, and is proven: it is ``trusted`` or was issued by one that
    is, through whichever certificates; or it signed itself. Else no other certificate may be of its name and key, as
    anybody could add another, and above it, or itself at the top, is one that signed itself, or one whose issuer is not
    there and whose key it says is another, as where an authority leaves out its root. Those ``beside`` are in the file,
    too. Beyond that, what an identifier says of the key above proves nothing.
    """
    signer, *others = brought
    anchors, chain = list(trusted), certificates.issuers([signer], others)
    pool = list(dict.fromkeys([*brought, *beside, *anchors]))
    alone = [one for one in pool if _signed_itself(one)]
    anchored, grounded = _below(anchors, pool), _below([*alone, *_without_root(pool)], pool)
    keys = [(one.subject, certificates.key_of(one)) for one in pool]
    only = [one for one, key in zip(pool, keys, strict=True) if keys.count(key) == 1]

    def is_proven(one: x509.Certificate) -> bool:
        if one in anchors:
            return True
        return one in chain and (one in anchored or one in alone or (one in grounded and one in only))

    return next((one for one in others if not is_proven(one)), None)


def _below(tops: Sequence[x509.Certificate], pool: Sequence[x509.Certificate]) -> list[x509.Certificate]:
    """Return ``tops`` and all of ``pool`` that one of them issued, through whichever others."""
    found = list(dict.fromkeys(tops))
    for issuer in found:  # which grows
        found += [one for one in pool if one not in found and certificates.issued(issuer, one)]
    return found


def _without_root(pool: Sequence[x509.Certificate]) -> list[x509.Certificate]:
    """Return those of ``pool`` that state another key above them, and whose issuer is not there."""
    subjects = {one.subject for one in pool}
    return [one for one in pool if one.issuer not in subjects and certificates.states_key_above(one)]


def _signed_itself(one: x509.Certificate) -> bool:
    """Whether a certificate is signed with its own key, with SHA-1 too: many roots are, and nobody else could be."""
    if certificates.issued(one, one):
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
