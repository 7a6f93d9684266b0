"""Countersign: fill the field of the person whom the certificate names, without breaking the first signature."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen import atomicfile
from reportgen.errors import SealError, UsageError
from reportgen.pipeline.clock import now
from reportgen.pipeline.filing import examination_checks, verified_file
from reportgen.pipeline.issuing import require_timely
from reportgen.pipeline.sealed_in import sealed_in

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from reportgen.formats import Signatory
    from reportgen.names import Pin
    from reportgen.seal import Identity, TimestampService
    from reportgen.verification import Verification


def countersign(
    report: Path,
    identity: Identity,
    out: Path,
    *,
    reason: str,
    location: str,
    timestamper: TimestampService | None = None,
    crls: Sequence[Path] = (),
    ocsps: Sequence[Path] = (),
    policy: Path | None = None,
) -> tuple[str, tuple[str, ...]]:
    """Write ``report`` with one more signature to ``out``, which must not exist; return the signer's name, and notes.

    ``policy`` is a file that says by which certificates its signers sign, where their names do not. What ``crls``,
    ``ocsps`` and authorities say of the certificates is sealed in, as ``issue`` does it.

    Raises:
        SealError: the report does not verify, awaits nobody whom the certificate names, or the identity cannot sign.
        UsageError: the file cannot be read, or ``out`` exists. MachineError: the disk failed.
    """
    from reportgen.certificates import pin_of
    from reportgen.names import Pin
    from reportgen.seal import countersign as fill_field
    from reportgen.verification.naming import pinned

    checks = examination_checks((), policy=policy)
    answer = verified_file(report, checks)
    for broken in answer.against_vouching:
        way_out = "where you know the signer, say by a policy which certificate is that person's (--policy)"
        help_text = None if broken.weight == "failed" else way_out
        raise SealError(f"{report} does not verify and is not signed: {broken.sentence}", help_text=help_text)
    who = _awaited(identity, answer, checks.policy.people)
    field = who.field
    pdf = report.read_bytes()
    if hashlib.sha256(pdf).hexdigest() != answer.sha256:
        raise UsageError(f"{report} was changed while it was verified", help_text="countersign it again")
    if out == report:
        raise UsageError("the countersigned report needs a name of its own", help_text="name it with -o")
    data, notes = sealed_in(identity, timestamper, pdf=pdf, crls=crls, ocsps=ocsps)
    words = {"reason": reason, "location": location}
    moment = now()
    signed = fill_field(pdf, identity, field, at=moment, **words, timestamper=timestamper, revocation=data)
    if timestamper is not None:
        require_timely(signed, moment, "nothing was written")
    atomicfile.write_new(out, signed)
    told = identity.vouched_for_by(who.name, who.organisation, who.signs_with)
    if told is not None and pinned(checks.policy.people, who) is None:  # that it is this person's was found before
        notes = (*notes, told)
        people = {**checks.policy.people, who.name: Pin(certificate=pin_of(identity.certificate))}
        checks = replace(checks, policy=replace(checks.policy, people=people))
    for broken in verified_file(out, checks).against_vouching:
        atomicfile.remove(out)
        raise SealError(f"the countersigned report does not verify: {broken.sentence}; nothing was written")
    return identity.name, notes


def _awaited(identity: Identity, answer: Verification, people: Mapping[str, Pin]) -> Signatory:
    """Return the person with the first empty field whom the certificate names, or the policy by it; refuse where it may
    be one of two. ``people`` are whom the policy pins: that decides before anything is written.
    """
    from reportgen.verification.naming import pinned

    awaited = [who for who in answer.signatories if who.field in answer.unfilled_fields]
    if not awaited:
        raise SealError("this report has no empty signature field")
    refusals = [
        identity.unbound(who.name, who.organisation, who.signs_with, policy=pinned(people, who)) for who in awaited
    ]
    fitting = [who for who, why in zip(awaited, refusals, strict=True) if why is None]
    bodies = {who.organisation for who in fitting}
    if len(bodies) > 1:
        several = ", ".join(
            f"{who.name} ({who.role}, {who.organisation or 'no organisation stated'})" for who in fitting
        )
        raise SealError(
            f"the certificate of {identity.name} does not say for which of these it signs: {several}",
            help_text="sign with an identity whose certificate states the organisation",
        )
    if fitting:
        return fitting[0]
    waiting = ", ".join(f"{who.name} ({who.role})" for who in awaited)
    raise SealError(
        f"this report awaits nobody with this identity: {'; '.join(filter(None, refusals))}",
        help_text=f"to sign: {waiting}; each with an identity in that name",
    )
