"""At which moment each signature of a file is judged: the chain of moments of its renewals.

The newest renewal is judged now, each earlier one at the moment that the next proves, and a signature at the earliest
moment proven of it. So a certificate may end, and be revoked, after the moment at which its work was proven to exist.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from cryptography import x509
from pyhanko.sign.general import find_cms_attribute_iter
from pyhanko.sign.validation.errors import SignatureValidationError
from pyhanko.sign.validation.pdf_embedded import async_validate_pdf_timestamp

from reportgen import certificates
from reportgen.increments import UnreadableItemError, needed, of_unknown, signing_certificates, stored
from reportgen.results.signatories import renewal_field
from reportgen.verification import revocation, trust
from reportgen.verification.replay import RENEWAL, claimed_time, store_unreadable
from reportgen.verification.verdict import Reason
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature

    from reportgen.increments import RevocationData
    from reportgen.verification.naming import SignatureFindings


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment by which everything below a revision was there: proven by the authority of a renewal, or now.

    ``unchecked`` names the revocation data that would say of the authorities of the renewals whether they were revoked.
    """

    at: datetime
    authority: str | None = None
    unchecked: tuple[Told, ...] = ()

    def passed_by(self, name: str) -> Reason:
        """Say what the timestamp in the field ``name`` is, which lies after this moment."""
        if self.authority is not None:
            return Reason("FORMAT_FAILURE", told("renewal-after-cover", field=name))
        return Reason("SIG_CONSTRAINTS_FAILURE", told("renewal-in-future", field=name))


def moments(
    signatures: Sequence[EmbeddedPdfSignature], belief: trust.Trust, found: SignatureFindings
) -> tuple[list[Moment], dict[str, datetime]]:
    """Return the moment at which each of ``signatures`` is judged, and the time of each renewal by a trusted authority.

    ``found`` is given what contradicts itself, and a detail for each renewal that proves something or nothing: one that
    is dated before a signature that it covers cannot have been made when it says. ``signatures`` stand in the order of
    their revisions.
    """
    reached, moments_of = Moment(belief.at), []
    stamped: dict[str, datetime] = {}
    for place, signature in reversed(list(enumerate(signatures))):
        moments_of.append(reached)
        if signature.sig_object_type == RENEWAL:
            claims = [one.at for below in signatures[:place] for one in times_of(below)]
            above = trust.keys_above(signatures[:place], belief)
            at, reached = _reached_by(signature, belief, reached, claims, above, found)
            stamped |= {} if at is None else {str(signature.field_name): at}
    return moments_of[::-1], stamped


def _reached_by(
    signature: EmbeddedPdfSignature,
    belief: trust.Trust,
    reached: Moment,
    claims: Sequence[datetime],
    above: frozenset[bytes],
    found: SignatureFindings,
) -> tuple[datetime | None, Moment]:
    """Return the time of a renewal by a trusted authority, and the moment of what stands below it.

    ``reached`` is its own moment, ``claims`` are the times claimed below it, ``above`` the
    keys above those who signed there.
    """
    name = str(signature.field_name)
    try:
        status, revoked = _judged(signature, belief, reached.at)
    except SignatureValidationError:
        found.reasons[3].append(Reason("FORMAT_FAILURE", told("renewal-malformed", field=name)))
        return None, reached
    who = certificates.readable_name(x509.load_der_x509_certificate(signature.signer_cert.dump()).subject)
    at = status.timestamp
    if not status.intact or not status.valid:
        found.reasons[3].append(Reason("HASH_FAILURE", told("renewal-over-other-bytes", field=name)))
    elif at - reached.at > revocation.CLOCK_TOLERANCE:
        found.reasons[3].append(reached.passed_by(name))
    elif lacks := trust.stamp_faults(status, signature.signed_data, belief, reached.at, above=above, heard=revoked):
        found.idle.append(told("renewal-proves-nothing", field=name, who=who, why=lacks[0]))
    elif any(claimed - at > revocation.CLOCK_TOLERANCE for claimed in claims):
        found.idle.append(told("renewal-dated-before", field=name, who=who))
        return at, reached
    else:
        chain = trust.chain_in(status.validation_path)
        lacking = revocation.not_current(chain, belief.revocation, reached.at, belief.at)
        more = revocation.authority_checked(chain, belief.revocation, lacking, belief.at)
        found.details[6].append(told("renewal-proves", field=name, at=f"{at:%Y-%m-%d %H:%M %z}", who=who, more=more))
        latest = revocation.moved(at, trust.accuracy_of(signature.signed_data))
        return at, Moment(min(latest, reached.at), who, (*reached.unchecked, *lacking))
    return None, reached


class Dated(NamedTuple):
    """A time that a file tells of one of its revisions: ``what`` it is the time of, and whether it is a mere claim."""

    revision: int
    what: Told
    at: datetime
    claim: bool = False


def times_of(signature: EmbeddedPdfSignature, proven: datetime | None = None) -> list[Dated]:
    """Return the times that a signature tells of itself, claimed and ``proven``: a renewal claims none."""
    revision, field = signature.signed_revision, str(signature.field_name)
    claimed = None if signature.sig_object_type == RENEWAL else claimed_time(signature)
    times = [] if claimed is None else [Dated(revision, told("time-claimed-in", field=field), claimed, claim=True)]
    return times if proven is None else [*times, Dated(revision, told("time-stamped-on", field=field), proven)]


def out_of_order(times: Sequence[Dated]) -> list[Reason]:
    """Return a doubt for each of ``times``, in the order of revisions, that lies before one of an earlier revision.

    What a later revision brings was not there before an earlier one, so one of the two is wrong by more than clocks
    differ. Of two claims neither proves anything: that a countersignature claims to be older than the report is found
    where the report's facts are compared.
    """
    faults = []
    for own in times:
        before = [one for one in times if one.revision < own.revision and not (own.claim and one.claim)]
        latest = max(before, key=lambda one: one.at, default=None)
        if latest is not None and latest.at - own.at > revocation.CLOCK_TOLERANCE:
            when = {"at": f"{own.at:%Y-%m-%d %H:%M %z}", "then": f"{latest.at:%Y-%m-%d %H:%M %z}"}
            wrong = told("times-out-of-order", what=own.what, before=latest.what, **when)
            faults.append(Reason("SIG_CONSTRAINTS_FAILURE", wrong))
    return faults


def _judged(signature: EmbeddedPdfSignature, belief: trust.Trust, at: datetime) -> tuple[Any, bool]:
    """Return the library's status at the moment ``at``, and whether it holds a certificate of the chain for revoked."""
    others = [*signature.other_embedded_certs, *trust.brought(belief)]

    def status_with(data: RevocationData) -> Any:
        context = trust.validation_context(belief, at, others, data, of_time=True)
        return asyncio.run(async_validate_pdf_timestamp(signature, context, skip_diff=True))

    status = status_with(trust.NO_DATA)
    data = belief.revocation
    return status, bool(data) and trust.says_revoked(status_with(data).trust_problem_indic)


def with_store(
    belief: trust.Trust, signatures: Sequence[EmbeddedPdfSignature], root: Any
) -> tuple[trust.Trust, list[Reason]]:
    """Return ``belief`` with what is stored in the file (``root``: its catalog) and the keys that signed it, and what
    is wrong with the store.

    It may hold nothing that no chain of the file needs, up to a trusted root, and its renewals are numbered one after
    the other. Of what an authority gave whose certificate is not at hand nobody can tell whether a chain needs it.
    """
    faults = []
    signing = [one.signer_cert.dump() for one in signatures if one.sig_object_type != RENEWAL]
    keys = frozenset(certificates.key_of(x509.load_der_x509_certificate(one)) for one in signing)
    belief = replace(belief, signing_keys=keys)
    renewals = [str(one.field_name) for one in signatures if one.sig_object_type == RENEWAL]
    if renewals != [renewal_field(number) for number in range(1, len(renewals) + 1)]:
        faults.append(Reason("CHANGED_AFTER_SIGNING", told("renewals-not-numbered")))
    try:
        held = stored(root)
        leaves, others = signing_certificates(signatures)
        more = held.beyond(needed(leaves, [*others, *belief.roots], held))
        unknown = of_unknown(leaves, [*others, *belief.roots], more)
        more = more.beyond(unknown)
    except UnreadableItemError:
        return belief, [*faults, store_unreadable()]
    except (ValueError, KeyError, AttributeError, TypeError):
        faults.append(Reason("CHANGED_AFTER_SIGNING", told("store-something-else")))
        return belief, faults
    if more:
        faults.append(Reason("CHANGED_AFTER_SIGNING", told("store-unneeded", count=len(more))))
    if unknown:
        faults.append(Reason("NO_CERTIFICATE_CHAIN_FOUND", told("store-by-unknown", count=len(unknown))))
    return replace(belief, stored=held), faults


def tells_no_time(token: Any) -> bool:
    """Whether a time that a signature or a timestamp states is none of the years 1 to 9999 in a known zone: with no
    other can the library calculate.
    """
    try:
        content = token["encap_content_info"]
        times = [content["content"].parsed["gen_time"]] if content["content_type"].native == "tst_info" else []
        for signer in token["signer_infos"]:
            times += find_cms_attribute_iter(signer["signed_attrs"], "signing_time")
        moments_told = [one.native for one in times]
    except (ValueError, TypeError, OverflowError):
        return True
    return any(not isinstance(one, datetime) or one.tzinfo is None for one in moments_told)
