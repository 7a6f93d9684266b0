"""What is sealed into a report beside a signature: that no certificate was revoked on which it rests, by then."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.errors import SealError, UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from reportgen.increments import RevocationData
    from reportgen.seal import Identity, TimestampService

_PATIENCE = 5.0
"""Seconds that each authority has to answer: a report is issued without its answer too."""


def sealed_in(
    identity: Identity,
    timestamper: TimestampService | None = None,
    *,
    pdf: bytes | None = None,
    crls: Sequence[Path] = (),
    ocsps: Sequence[Path] = (),
) -> tuple[RevocationData | None, tuple[str, ...]]:
    """Return what is sealed in where ``identity`` signs ``pdf`` (None: pages that nobody has signed), and notes.

    It is what the files say, and with a ``timestamper``, so only where a network is used, what the authorities answer
    that the certificates name: of this signature, its timestamp, and those before it in the file.

    Raises:
        SealError: one of them says that a certificate of the identity is revoked.
        UsageError: a file cannot be read, or says nothing of these certificates. MachineError: the service fails.
    """
    from reportgen.certificates import readable_name
    from reportgen.increments import RevocationData, needed
    from reportgen.seal.renewal import data_for, involved
    from reportgen.verification.policy import read_crl, read_ocsp
    from reportgen.verification.revocation import revoked
    from reportgen.verification.trust import chain_of

    if timestamper is None and not crls and not ocsps:
        return None, ()
    who = involved(identity, timestamper, pdf)
    files = [(path, RevocationData(crls=(read_crl(path),))) for path in crls]
    files += [(path, RevocationData(ocsps=(read_ocsp(path),))) for path in ocsps]
    given = RevocationData()
    for path, held in files:
        if not needed(who.leaves, who.others, held):
            raise UsageError(
                f"{path} says nothing of the certificates that this report is signed with",
                help_text="leave it out; or, where its authority issued the signer's certificate, put that of the"
                " authority into the identity file",
            )
        given = RevocationData((*given.crls, *held.crls), (*given.ocsps, *held.ocsps))
    asking = timestamper is not None
    # one service may stamp with several certificates in turn: a list speaks of all of them
    data, failed = data_for(
        who.leaves, who.others, given=given, held=who.held, ask=asking, by_list=who.stamping, seconds=_PATIENCE
    )
    notes = [f"{clause}; what it would say of the signer is not sealed in" for clause in failed]
    for leaf in dict.fromkeys(who.leaves):
        since = revoked(chain_of(leaf, who.others), data)
        if since is None:
            continue
        told = (
            f"a certificate of {readable_name(leaf.subject)}, or of who issued it, was revoked on {since.at:%Y-%m-%d},"
            " as its authority says"
        )
        if leaf == identity.certificate:
            raise SealError(told, help_text="sign with another identity")
        notes.append(told)
    return data or None, tuple(notes)
