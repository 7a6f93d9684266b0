"""A verification as lines for the terminal; the plain data for programs is ``Verification.plain``."""

from __future__ import annotations

import re
import textwrap
from typing import TYPE_CHECKING

from reportgen.diagnostics import printable

if TYPE_CHECKING:
    from reportgen.verification.verdict import Verification

_WIDTH = 80
_UNDER_TITLE, _UNDER_NUMBER = 19, 4
_FINGERPRINT = re.compile(r"\b((?:[0-9A-F]{2}:){16})((?:[0-9A-F]{2}:){15}[0-9A-F]{2})\b")
_MARKS = {
    "passed": "passed",
    "failed": "FAILED",
    "indeterminate": "INDETERMINATE",
    "not done": "not done",
    "superseded": "SUPERSEDED",
}


def render_verification(verification: Verification, name: str, *, details: bool = True) -> str:
    """Return the verdict on the file called ``name``: first line the verdict, then the steps, then who signed.

    Control characters in names of files and people are shown, not sent to the terminal.
    """
    lines = [f"{printable(name)}: {verification.overall}"]
    for reason in verification.reasons:
        lines += _wrapped("  ", f"{reason.name}: {reason.sentence}", hang=2)
    lines += _wrapped("  ", "; ".join(beside(verification)), hang=2)
    lines += ["", *render_steps(verification, details=details), ""]
    for signer in verification.signers:
        time = f"{signer.claimed_time}, claimed, not proven"
        if signer.proven_time:
            time = f"{signer.proven_time}, proven by {signer.timestamp_authority}"
        lines += _wrapped("", f"{signer.kind}: {signer.subject}", hang=2)
        lines += _wrapped("  issuer       ", signer.issuer)
        lines += _wrapped("  certificate  ", signer.fingerprint)
        lines += _wrapped("  trust        ", f"root {signer.anchor}" if signer.anchor else "issuer unknown")
        lines += _wrapped("  time         ", time)
        lines += _wrapped("  revocation   ", signer.revocation)
    for field in verification.unfilled_fields:
        lines += _wrapped("", f"not yet signed: {field}")
    tools = ", ".join(f"{library} {version}" for library, version in verification.versions)
    lines.append(f"file SHA-256 {verification.sha256}")
    if verification.policy_sha256:
        lines += ["policy SHA-256", f"    {verification.policy_sha256}"]
    lines += _wrapped("", f"{verification.size} bytes, verified {verification.verified_at} by {tools}")
    return "\n".join(lines) + "\n"


def beside(verification: Verification) -> list[str]:
    """Return what stands beside the verdict: standing, time, revocation, until when the verdict holds."""
    told = [f"standing: {verification.standing}", f"time: {verification.time}"]
    told.append(f"revocation: {verification.revocation}")
    return told if verification.holds_until is None else [*told, f"holds until {verification.holds_until}"]


def render_steps(verification: Verification, *, details: bool = True) -> list[str]:
    """Return the numbered steps as lines; without ``details`` only what did not pass says more than its title."""
    lines = []
    for step in verification.steps:
        lines += _wrapped(f"{step.number:>2}  {_MARKS[step.status]:<13}  ", step.title)
        notes = [f"{reason.name}: {reason.sentence}" for reason in step.reasons]
        if details or step.status == "not done":
            notes += step.details
        notes += step.unproven
        notes += [f"{notice.name}: {notice.sentence}" for notice in step.notices]
        for note in notes:
            room = max(map(len, _FINGERPRINT.sub(r"\1 \2", note).split()), default=0) <= _WIDTH - _UNDER_TITLE - 2
            lines += _wrapped(" " * (_UNDER_TITLE if room else _UNDER_NUMBER), note, hang=2)
    return lines


def _wrapped(head: str, text: str, *, hang: int = 0) -> list[str]:
    """Return a text within the width, further lines under the first; a digest stays whole, a fingerprint is halved."""
    further = " " * (len(head) + hang)
    return textwrap.wrap(
        _FINGERPRINT.sub(r"\1 \2", printable(text)),
        _WIDTH,
        initial_indent=head,
        subsequent_indent=further,
        break_long_words=False,
    )
