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

    Each other one is ``trusted``, or is an authority's that issued one of the chain, by its signature, and is proven:
    one that is trusted issued it, through whichever authorities. Where nothing that is trusted issued the signer's, or
    one stands above what is trusted, it is proven if it signed itself, or stands below one that did, or below one that
    states another key above it which is not there, as where an authority leaves out its root. No other may then be
    named as it is: anybody could add one with its key, or with the second that fits each signature of ECDSA. Those
    ``beside`` are in the file, too. Beyond that, what an identifier says of a key proves nothing.
    """
    signer, *others = brought
    anchors, pool = list(trusted), list(dict.fromkeys([*brought, *beside, *trusted]))
    authorities = [one for one in pool if not certificates.vouches_for_none(one)]
    chain = certificates.issuers([signer], [one for one in others if one in authorities])
    alone = [one for one in pool if _signed_itself(one)]
    tops = [*alone, *certificates.without_root(pool)]
    anchored, grounded = (_below([one for one in of if one in authorities], pool) for of in (anchors, tops))
    above = certificates.issuers(anchors, authorities) if signer in anchored else chain

    def is_only(one: x509.Certificate) -> bool:
        named = [other for other in pool if other != one and other.subject == one.subject]
        same = [other for other in named if certificates.key_of(other) == certificates.key_of(one)]
        strange = [other for other in named if other not in same and other in brought]
        return not strange and (one in alone or not same)

    def is_proven(one: x509.Certificate) -> bool:
        if one in anchors:
            return True
        return one in chain and (one in anchored or (one in grounded and one in above and is_only(one)))

    return next((one for one in others if not is_proven(one)), None)


def _below(tops: Sequence[x509.Certificate], pool: Sequence[x509.Certificate]) -> list[x509.Certificate]:
    """Return ``tops`` and all of ``pool`` that an authority among them issued, through whichever others."""
    found = list(dict.fromkeys(tops))
    for issuer in found:  # which grows
        if not certificates.vouches_for_none(issuer):
            found += [one for one in pool if one not in found and certificates.issued(issuer, one)]
    return found


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
