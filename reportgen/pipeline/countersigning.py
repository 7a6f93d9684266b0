"""Countersign: fill the field of the person whom the certificate names, without breaking the first signature."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from reportgen import atomicfile
from reportgen.errors import SealError, UsageError
from reportgen.pipeline.clock import now
from reportgen.pipeline.verifying import verify

if TYPE_CHECKING:
    from pathlib import Path

    from reportgen.seal import Identity, TimestampService
    from reportgen.verification import Reason, Verification


def countersign(
    report: Path,
    identity: Identity,
    out: Path,
    *,
    reason: str,
    location: str,
    timestamper: TimestampService | None = None,
) -> str:
    """Write ``report`` with one more signature to ``out``, which must not exist; return the signer's name.

    Raises:
        SealError: the report does not verify, awaits nobody whom the certificate names, or the identity cannot sign.
        UsageError: the file cannot be read, or ``out`` exists. MachineError: the disk failed.
    """
    from reportgen.seal import countersign as fill_field

    answer = verify(report)
    broken = _broken(answer)
    if broken:
        raise SealError(f"{report} does not verify and is not signed: {broken[0].sentence}")
    field = _field_of(identity, answer)
    pdf = report.read_bytes()
    if hashlib.sha256(pdf).hexdigest() != answer.sha256:
        raise UsageError(f"{report} was changed while it was verified", help_text="countersign it again")
    signed = fill_field(pdf, identity, field, at=now(), reason=reason, location=location, timestamper=timestamper)
    if out == report:
        raise UsageError("the countersigned report needs a name of its own", help_text="name it with -o")
    atomicfile.write_new(out, signed)
    broken = _broken(verify(out))
    if broken:
        atomicfile.remove(out)
        raise SealError(f"the countersigned report does not verify: {broken[0].sentence}; nothing was written")
    return identity.name


def _broken(answer: Verification) -> list[Reason]:
    """Return why nobody should sign below what stands there: it fails, or is signed by others than the job names."""
    return [one for one in answer.reasons if one.weight == "failed" or one.name == "SIGNER_NOT_NAMED"]


def _field_of(identity: Identity, answer: Verification) -> str:
    """Return the first empty field of the person whom the certificate names; refuse where it may be one of two."""
    awaited = [who for who in answer.signatories if who.field in answer.unfilled_fields]
    if not awaited:
        raise SealError("this report has no empty signature field")
    refusals = [identity.unbound(who.name, who.organisation, who.signs_with) for who in awaited]
    fitting = [who for who, why in zip(awaited, refusals, strict=True) if why is None]
    bodies = {who.organisation for who in fitting}
    if len(bodies) > 1:
        people = ", ".join(
            f"{who.name} ({who.role}, {who.organisation or 'no organisation stated'})" for who in fitting
        )
        raise SealError(
            f"the certificate of {identity.name} does not say for which of these it signs: {people}",
            help_text="sign with an identity whose certificate states the organisation",
        )
    if fitting:
        return fitting[0].field
    people = ", ".join(f"{who.name} ({who.role})" for who in awaited)
    raise SealError(
        f"this report awaits nobody with this identity: {'; '.join(filter(None, refusals))}",
        help_text=f"to sign: {people}; each with an identity in that name",
    )
