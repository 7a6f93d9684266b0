"""A verification as lines for the terminal; the plain data for programs is ``Verification.plain``."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from reportgen.diagnostics import printable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.verify.verdict import Signer, Step, Verification

_WIDTH = 118
_MARKS = {"passed": "passed", "failed": "FAILED", "indeterminate": "INDETERMINATE", "not done": "not done"}


def render_verification(verification: Verification, name: str, *, details: bool = True) -> str:
    """Return the verdict on the file called ``name``: first line the verdict, then the steps, then who signed.

    Control characters in names of files and people are shown, not sent to the terminal.
    """
    lines = [f"{printable(name)}: {verification.overall}"]
    lines += [f"  {reason.name}: {printable(reason.sentence)}" for reason in verification.reasons]
    lines += ["", *(line for step in verification.steps for line in _step_lines(step, details=details)), ""]
    for signer in verification.signers:
        lines += _signer_lines(signer)
    for field in verification.unfilled_fields:
        lines.append(f"not yet signed: {printable(field)}")
    tools = ", ".join(f"{library} {version}" for library, version in verification.versions)
    lines.append(f"file SHA-256 {verification.sha256}, {verification.size} bytes")
    lines.append(f"verified {verification.verified_at} by {tools}")
    return "\n".join(lines) + "\n"


def _step_lines(step: Step, *, details: bool) -> Iterator[str]:
    yield f"{step.number:>2}  {_MARKS[step.status]:<13}  {step.title}"
    notes = [f"{reason.name}: {reason.sentence}" for reason in step.reasons]
    if details or step.status == "not done":
        notes += step.details
    for note in notes:
        yield from textwrap.wrap(printable(note), _WIDTH, initial_indent=" " * 19, subsequent_indent=" " * 21)


def _signer_lines(signer: Signer) -> Iterator[str]:
    yield f"{signer.kind}: {printable(signer.subject)}"
    yield f"  issuer       {printable(signer.issuer)}"
    yield f"  certificate  {signer.fingerprint}"
    yield f"  trust        {'root ' + signer.anchor if signer.anchor else 'issuer unknown'}"
    yield f"  time         {_time(signer)}"
    yield f"  revocation   {signer.revocation}"


def _time(signer: Signer) -> str:
    if signer.proven_time:
        return f"{signer.proven_time}, proven by {printable(str(signer.timestamp_authority))}"
    return f"{signer.claimed_time}, claimed, not proven"
