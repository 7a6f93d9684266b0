"""At which moment each signature of a file is judged: the chain of moments of its renewals.

The newest renewal is judged now, each earlier one at the moment that the next proves, and a signature at the earliest
moment proven of it. So a certificate may end, and be revoked, after the moment at which its work was proven to exist.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from cryptography import x509
from pyhanko.sign.validation.errors import SignatureValidationError
from pyhanko.sign.validation.pdf_embedded import async_validate_pdf_timestamp

from reportgen import certificates
from reportgen.formats.signatories import renewal_field
from reportgen.increments import needed, signing_certificates, stored
from reportgen.verification import trust
from reportgen.verification.replay import RENEWAL
from reportgen.verification.verdict import Reason

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature


CLOCK_TOLERANCE = timedelta(minutes=5)
"""How far clocks may disagree before a time counts as lying in the future."""


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment by which everything below a revision was there: proven by the authority of a renewal, or now."""

    at: datetime
    authority: str | None = None
    until: datetime | None = None


def moments(
    signatures: Sequence[EmbeddedPdfSignature], belief: trust.Trust
) -> tuple[list[Moment], list[Reason], list[str]]:
    """Return the moment at which each of ``signatures`` is judged, what contradicts itself, and a detail a renewal.

    ``signatures`` stand in the order of their revisions.
    """
    reached, found = Moment(belief.at), []
    faults: list[Reason] = []
    details: list[str] = []
    for signature in reversed(signatures):
        found.append(reached)
        if signature.sig_object_type != RENEWAL:
            continue
        name = str(signature.field_name)
        try:
            status = _judged(signature, belief, reached.at)
        except SignatureValidationError:
            faults.append(Reason("FORMAT_FAILURE", f"the timestamp in {name} is malformed"))
            continue
        who = certificates.readable_name(x509.load_der_x509_certificate(signature.signer_cert.dump()).subject)
        if not status.intact or not status.valid:
            faults.append(Reason("HASH_FAILURE", f"the timestamp in {name} was made over other bytes"))
        elif status.timestamp > reached.at + CLOCK_TOLERANCE:
            faults.append(_too_late(name, reached))
        elif not status.trusted:
            details.append(f"{name}: a timestamp of {who} that proves nothing, since its authority is not trusted")
        else:
            ends = status.signing_cert.not_valid_after
            reached = Moment(min(status.timestamp, reached.at), who, reached.until or ends)
            details.append(f"{name}: everything before it was there on {status.timestamp:%Y-%m-%d %H:%M %z}, by {who}")
    return found[::-1], faults, details


def _too_late(name: str, reached: Moment) -> Reason:
    """Say what a timestamp is that lies after the moment that is proven for it, or after the present one."""
    if reached.authority is not None:
        return Reason("FORMAT_FAILURE", f"the timestamp in {name} is later than what covers it")
    told = f"the timestamp in {name} is in the future: is the clock of this machine right?"
    return Reason("SIG_CONSTRAINTS_FAILURE", told)


def _judged(signature: EmbeddedPdfSignature, belief: trust.Trust, at: datetime) -> Any:
    others = [*signature.other_embedded_certs, *trust.brought(belief)]
    context = trust.validation_context(belief, at, others)
    return asyncio.run(async_validate_pdf_timestamp(signature, context, skip_diff=True))


def with_store(
    belief: trust.Trust, signatures: Sequence[EmbeddedPdfSignature], root: Any
) -> tuple[trust.Trust, list[Reason]]:
    """Return ``belief`` with what is stored in the file (``root``: its catalog), and what is wrong with the store.

    It may hold nothing that no chain of the file needs, and its renewals are numbered one after the other.
    """
    faults = []
    renewals = [str(one.field_name) for one in signatures if one.sig_object_type == RENEWAL]
    if renewals != [renewal_field(number) for number in range(1, len(renewals) + 1)]:
        faults.append(Reason("CHANGED_AFTER_SIGNING", "the renewals are not numbered one after the other"))
    try:
        held = stored(root)
        more = held.beyond(needed(*signing_certificates(signatures), held))
    except (ValueError, KeyError, AttributeError, TypeError):
        faults.append(Reason("CHANGED_AFTER_SIGNING", "the store of validation data holds something else"))
        return belief, faults
    if more:
        count = len(more.certificates) + len(more.crls) + len(more.ocsps)
        sentence = f"the store of validation data holds {count} that no chain of this file needs"
        faults.append(Reason("CHANGED_AFTER_SIGNING", sentence))
    return replace(belief, stored=held), faults
