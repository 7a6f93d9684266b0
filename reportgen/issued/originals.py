"""A submittal verified: its envelope, and each original inside, every one in a child process of its own."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from reportgen.issued.envelope import original_of
from reportgen.issued.examination import Examined, answered, judged, render_examined
from reportgen.verify import Reason, Verification
from reportgen.verify.steps import unreadable
from reportgen.verify.verdict import not_done, step_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.issued.envelope import Listed
    from reportgen.issued.examination import Checks

_REBUILT_INSIDE = "each original is examined by itself, see step 8"


def examine_original(pdf: bytes, listed: Listed, checks: Checks) -> Examined:
    """Verify one original inside the submittal ``pdf``, in a child process; a bad file never raises."""
    return answered(pdf, listed.file, checks, partial(_original, pdf, listed, checks), 1 + (len(pdf) >> 26))


def _original(pdf: bytes, listed: Listed, checks: Checks) -> bytes:
    try:
        data = original_of(pdf, listed)
    except ValueError as reason:
        return render_examined(Examined(unreadable(b"", checks.at, Reason("EMBEDDED_FILES", str(reason)))))
    return render_examined(judged(data, checks))


def verify_submittal(pdf: bytes, envelope: Examined, checks: Checks) -> Verification:
    """Return the verdict on a submittal whose ``envelope`` was examined: step 8 holds the verdict on every original."""
    inside = [(listed, examine_original(pdf, listed, checks)) for listed in envelope.listed]
    return with_originals(envelope.verification, inside)


def with_originals(envelope: Verification, inside: Sequence[tuple[Listed, Examined]]) -> Verification:
    """Return the envelope's verification with step 8 judged by the originals inside it."""
    reasons: list[Reason] = []
    details: list[str] = []
    for listed, examined in inside:
        answer = examined.verification
        signers = ", ".join(signer.subject for signer in answer.signers) or "nobody"
        details.append(f"{listed.file}: {answer.overall}; signed by {signers}")
        reasons += [replace(reason, sentence=f"{listed.file}: {reason.sentence}") for reason in answer.reasons]
    eighth = step_of(8, reasons, details) if inside else not_done(8, "the submittal lists no report")
    last = [not_done(number, _REBUILT_INSIDE) for number in (9, 10, 11)]
    return replace(envelope, steps=(*envelope.steps[:7], eighth, *last))
