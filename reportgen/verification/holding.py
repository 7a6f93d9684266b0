"""Until when a verdict holds: the signatures are judged again after each moment at which something ends."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from cryptography import x509
from cryptography.x509 import ocsp

from reportgen import certificates
from reportgen.increments import needed, signing_certificates
from reportgen.verification.replay import RENEWAL
from reportgen.verification.revocation import current_until, moved
from reportgen.verification.verdict import End, beyond_proof

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from datetime import datetime

    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature

    from reportgen.verification.naming import SignatureFindings
    from reportgen.verification.trust import Trust
    from reportgen.verification.verdict import What

_MOST: Final = 64
"""Moments that are looked at: what is stored in a file is a stranger's. Beyond them nothing is promised."""


def ends(
    signatures: Sequence[EmbeddedPdfSignature],
    belief: Trust,
    now: SignatureFindings,
    judged: Callable[[Trust], SignatureFindings],
) -> tuple[End, ...]:
    """Return the last second at which what is found ``now`` is still so, with the file and what was given alone.

    That is the proof, and where they are there, that revocation is known and that the time is proven. ``judged`` judges
    the signatures again by another belief.
    """
    lasting = {what for what, is_so in _state(now).items() if is_so}
    if "proof" not in lasting:
        return ()
    leaves, others = signing_certificates(signatures)
    pool = [*others, *map(x509.load_der_x509_certificate, belief.stored.certificates), *belief.roots]
    # where nothing is stamped, all is over with a signer's certificate: most reports need no second look
    stamped = len(leaves) > len(signatures) or any(one.sig_object_type == RENEWAL for one in signatures)
    over = None if stamped else min(one.not_valid_after_utc for one in leaves)
    found: dict[What, datetime] = {}
    reached = belief.at
    for moment in sorted(one for one in set(_moments(leaves, pool, belief)) if one > belief.at)[:_MOST]:
        reached, later = moment, replace(belief, at=moved(moment, timedelta(seconds=1)))
        left = {"proof": False} if moment == over else _state(judged(later))
        ended = {what for what in lasting if not left.get(what, False)}
        found |= dict.fromkeys(ended, moment)
        lasting -= ended
        if "proof" in found:
            break
    return _told({"proof": reached, **found})


def _told(found: Mapping[What, datetime]) -> tuple[End, ...]:
    return tuple(End(what, moved(at).isoformat(timespec="seconds")) for what, at in found.items())


def _state(found: SignatureFindings) -> dict[What, bool]:
    """Return what is so of the signatures: that they prove something, that revocation is known, the time proven."""
    return {"proof": found.judged and not any(found.reasons.values()), **beyond_proof(found.signers)}


def _moments(leaves: Sequence[x509.Certificate], pool: Sequence[x509.Certificate], belief: Trust) -> Iterator[datetime]:
    """Yield when certificates end on which a chain may rest, and when lists and answers cease to be current."""
    yield from (one.not_valid_after_utc for one in certificates.issuers(leaves, pool))
    data = needed(leaves, pool, belief.revocation)
    for der in data.crls:
        listed = x509.load_der_x509_crl(der)
        yield current_until(listed.last_update_utc, listed.next_update_utc)
    for der in data.ocsps:
        for one in ocsp.load_der_ocsp_response(der).responses:
            yield current_until(one.this_update_utc, one.next_update_utc)
