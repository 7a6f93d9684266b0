"""Countersign: fill one empty signature field of an issued report, without breaking the first signature."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen import atomic
from reportgen.errors import SealError, UsageError
from reportgen.pipeline.clock import now
from reportgen.pipeline.verifying import verify

if TYPE_CHECKING:
    from pathlib import Path

    from reportgen.seal import Identity, TimestampService


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
        SealError: the report does not verify, has no empty field for this signer, or the identity cannot sign.
        UsageError: the file cannot be read, or ``out`` exists. MachineError: the disk failed.
    """
    from reportgen.seal import countersign as fill_field

    broken = [one for one in verify(report).reasons if one.weight == "failed"]
    if broken:
        raise SealError(f"{report} does not verify and is not signed: {broken[0].sentence}")
    signed = fill_field(
        report.read_bytes(), identity, at=now(), reason=reason, location=location, timestamper=timestamper
    )
    if out == report:
        raise UsageError("the countersigned report needs a name of its own", help_text="name it with -o")
    atomic.write_new(out, signed)
    broken = [one for one in verify(out).reasons if one.weight == "failed"]
    if broken:
        atomic.remove(out)
        raise SealError(f"the countersigned report does not verify: {broken[0].sentence}; nothing was written")
    return identity.name
