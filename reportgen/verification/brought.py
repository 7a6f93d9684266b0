"""The certificates that a signature brings along: no signature covers them as a list, so each has to be proven itself.

Who has the name and the public key of an authority can write a certificate for it with any words in it, and each
signature below still fits. What was signed names the signer's own certificate by its hash; each other has to be signed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from cryptography import x509

from reportgen import certificates
from reportgen.verification import signature_form
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from reportgen.verification.trust import Trust
    from reportgen.words.told import Told


def unproven_in(values: Sequence[tuple[str, bytes]], belief: Trust) -> Iterator[Told]:
    """Yield the certificates that nothing proves of all that stand in values, each with the field that it is in."""
    load = x509.load_der_x509_certificate
    held = [[load(one) for one in signature_form.brought_in(value)] for _, value in values]
    beside = [*map(load, belief.stored.certificates), *(one for several in held for one in several)]
    for (field, _), own in zip(values, held, strict=True):
        one = unproven(own, beside, (*belief.roots, *belief.clocks, *belief.signers))
        if one is not None:
            name, issuer = map(certificates.readable_name, (one.subject, one.issuer))
            yield told("certificate-unproven", field=field, name=name, issuer=issuer)


def unproven(
    brought: Sequence[x509.Certificate], beside: Iterable[x509.Certificate], trusted: Iterable[x509.Certificate]
) -> x509.Certificate | None:
    """Return one of those ``brought`` that nothing proves; None where there is none. The first is the signer's.

    Each other one is ``trusted``, or issued one of the chain, by its signature, and is proven: one that is trusted
    issued it, through whichever authorities. Where nothing that is trusted issued the signer's, or one stands above
    what is trusted, it is proven if it signed itself, or stands below one that did, or below one that states another
    key above it which is not there, as where an authority leaves out its root. No other may then be named as it is:
    anybody could add one with its key, or with the second that fits each signature of ECDSA. Those ``beside`` are in
    the file, too. Beyond that, what an identifier says of a key proves nothing.
    """
    signer, *others = brought
    anchors, pool = list(trusted), list(dict.fromkeys([*brought, *beside, *trusted]))
    chain, anchored = certificates.issuers([signer], others), certificates.issued_below(anchors, pool)
    waiting = [one for one in others if one not in anchors and (one not in chain or one not in anchored)]
    if not waiting:
        return None
    free = _free(brought, pool)
    above = certificates.issuers(anchors, pool) if signer in anchored else chain
    return next((one for one in waiting if one not in chain or one not in free or one not in above), None)


def _free(brought: Sequence[x509.Certificate], pool: Sequence[x509.Certificate]) -> list[x509.Certificate]:
    """Return those below one that signed itself, or whose issuer is not there, which are alone of their name."""
    alone = [one for one in pool if certificates.signed_itself(one)]
    below = certificates.issued_below([*alone, *certificates.without_root(pool)], pool)

    def is_only(one: x509.Certificate) -> bool:
        named = [other for other in pool if other != one and other.subject == one.subject]
        same = [other for other in named if certificates.key_of(other) == certificates.key_of(one)]
        strange = set(named) - set(same)
        return strange.isdisjoint(brought) and (one in alone or not same)

    return [one for one in below if is_only(one)]
