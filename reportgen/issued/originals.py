"""A submittal verified: its envelope, and each original inside, every one in a child process of its own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import pikepdf

from reportgen.copies import Drawing
from reportgen.issued.examination import Examined, answered, judged, render_examined
from reportgen.issued.submittal_file import opened_envelope, originals_of
from reportgen.verification import Reason, Verification
from reportgen.verification.steps import unreadable
from reportgen.verification.verdict import not_done, step_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.issued.examination import Checks
    from reportgen.issued.submittal_file import Listed
    from reportgen.verification.verdict import Step

_REBUILT_INSIDE = "each original is examined by itself, see step 8"


@dataclass(frozen=True, slots=True)
class Inside:
    """An original inside a submittal; the first copy of its pages, if any, is ``from_end`` pages from the end."""

    listed: Listed
    from_end: int


def inside_of(listed: Sequence[Listed]) -> list[Inside]:
    """Return the originals that a submittal lists, with the places of their copies: together these end the file."""
    counts = [one.copied_pages for one in listed]
    return [Inside(one, sum(counts[place:])) for place, one in enumerate(listed)]


def examine_original(pdf: bytes, inside: Inside, checks: Checks) -> Examined:
    """Verify one original inside the submittal ``pdf``, in a child process; a bad file never raises.

    Its ``copies`` say whether those of its pages show what its pages show.
    """
    work = partial(_original, pdf, inside, checks)
    return answered(pdf, inside.listed.file, checks, work, 1 + (len(pdf) >> 26))


def _original(pdf: bytes, inside: Inside, checks: Checks) -> bytes:
    try:
        opened = opened_envelope(pdf)
        (data,) = originals_of(opened, [inside.listed])
    except ValueError as reason:
        return render_examined(Examined(unreadable(b"", checks.at, Reason("EMBEDDED_FILES", str(reason)))))
    examined = judged(data, checks)
    if inside.listed.copied_pages:
        examined = replace(examined, copies=compared_copies(Drawing(opened), data, inside))
    return render_examined(examined)


def compared_copies(shown: Drawing, original: bytes, inside: Inside) -> Step:
    """Return step 10 for an original: whether its copies in the submittal ``shown`` show just what its pages show."""
    count = inside.listed.copied_pages
    try:
        own, copied_from = Drawing(original), len(shown) - inside.from_end
        if len(own) != count or copied_from < 0:
            return step_of(10, [Reason("PAGES_DIFFER", f"{count} of its {len(own)} pages are listed as copied")])
        wrong = [page for page in range(count) if shown.copied(copied_from + page) != own.fingerprint(page)]
    except (ValueError, LookupError, TypeError, AttributeError, pikepdf.PdfError) as fault:
        return step_of(10, [Reason("PAGES_DIFFER", f"the copies of its pages cannot be compared: {fault}")])
    reasons = [
        Reason("PAGES_DIFFER", f"page {copied_from + page + 1} of the submittal is no true copy of its page {page + 1}")
        for page in wrong
    ]
    return step_of(10, reasons, [f"copied on pages {copied_from + 1} to {copied_from + count}, as they are"])


def verify_submittal(pdf: bytes, envelope: Examined, checks: Checks) -> Verification:
    """Return the verdict on a submittal whose ``envelope`` was examined: step 8 holds the verdict on every original."""
    found = [(one.listed, examine_original(pdf, one, checks)) for one in inside_of(envelope.listed)]
    return with_originals(envelope.verification, found)


def copy_faults(pdf: bytes, listed: Sequence[Listed]) -> list[Reason]:
    """Return which page copies in a submittal of one's own are not true; in this process, without limits."""
    copied = [one for one in inside_of(listed) if one.listed.copied_pages]
    if not copied:
        return []
    opened, reasons = opened_envelope(pdf), []
    shown = Drawing(opened)
    for one, original in zip(copied, originals_of(opened, [one.listed for one in copied]), strict=True):
        step = compared_copies(shown, original, one)
        reasons += [_about(one.listed, reason) for reason in step.reasons]
    return reasons


def with_originals(envelope: Verification, inside: Sequence[tuple[Listed, Examined]]) -> Verification:
    """Return the envelope's verification with step 8 judged by the originals inside it."""
    reasons: list[Reason] = []
    details: list[str] = []
    for listed, examined in inside:
        answer = examined.verification
        signers = ", ".join(signer.subject for signer in answer.signers) or "nobody"
        details.append(f"{listed.file}: {answer.overall}; signed by {signers}; {_pages_of(answer)}")
        reasons += [_about(listed, reason) for reason in answer.reasons]
    eighth = step_of(8, reasons, details) if inside else not_done(8, "the submittal lists no report")
    last = [not_done(9, _REBUILT_INSIDE), _copies(inside), not_done(11, _REBUILT_INSIDE)]
    since = tuple(
        replace(notice, sentence=f"{listed.file}: {notice.sentence}")
        for listed, examined in inside
        for notice in examined.verification.notices
    )
    return replace(envelope, steps=(*envelope.steps[:7], replace(eighth, notices=since), *last))


def _pages_of(answer: Verification) -> str:
    """Say how far the pages of an original were compared."""
    tenth = next((step for step in answer.steps if step.number == 10), None)
    if tenth is None or tenth.status != "passed":
        return "its pages were not made again and compared"
    return f"its pages, made again, come out the same{', but for what their pictures show' if tenth.unproven else ''}"


def _about(listed: Listed, reason: Reason) -> Reason:
    return replace(reason, sentence=f"{listed.file}: {reason.sentence}")


def _copies(inside: Sequence[tuple[Listed, Examined]]) -> Step:
    """Return step 10: whether the copies are true, by the name of each original."""
    copied = [(listed, examined) for listed, examined in inside if listed.copied_pages]
    if not copied:
        return not_done(10, "the submittal holds no page copies, and each original is examined by itself, see step 8")
    steps = [(listed, one.copies) for listed, one in copied if one.copies is not None]
    reasons = [_about(listed, reason) for listed, step in steps for reason in step.reasons]
    details = [f"{listed.file}: {detail}" for listed, step in steps for detail in step.details]
    return step_of(10, reasons, details)
