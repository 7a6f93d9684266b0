"""One file examined in a child process with limits: the verdict of its verification, and its record.

Of a submittal that is its envelope; each original inside is examined by itself, every one in a child of its own.
"""

from __future__ import annotations

import importlib
import json
import logging
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, TypeVar

import pikepdf

from reportgen.copies import Drawing
from reportgen.errors import UsageError
from reportgen.formats import canonical_json
from reportgen.formats.decoding import value_from
from reportgen.formats.signatories import ENGINEER_FIELD
from reportgen.issued.extraction import Recomputation, record_of
from reportgen.issued.record import ReportRecord
from reportgen.issued.submittal_file import Listed, looks_like_submittal, opened_envelope, originals_of, read_list_of
from reportgen.sandbox import MEMORY, SECONDS, confined, is_confined
from reportgen.verification import Notice, Reason, Step, Verification, from_plain, verify_report
from reportgen.verification.policy import ALLOWED, Policy, with_required
from reportgen.verification.steps import unreadable
from reportgen.verification.verdict import not_done, step_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from reportgen.verification import Evidence, Outcome

R = TypeVar("R", Reason, Notice)

_NEEDED = (
    "pypdf",
    "scipy.special",
    "pyhanko.sign.validation",
    "reportgen.words.catalogue",
    "reportgen.verification.replay",
    "reportgen.verification.signatures",
)
"""What a verification imports on its way."""
NOT_CONFINED = "not confined: this system cannot bar the process that read the file from files and network"
_OF_A_SUBMITTAL = (*range(1, 9), 10)
_REBUILT_INSIDE = "each original is examined by itself, see step 8"


@dataclass(frozen=True, slots=True)
class Checks:
    """How a file is examined: moment (aware), policy, importable checks of steps 9 to 12, limits, what is imported
    first, and folders that may be read.
    """

    at: dt.datetime
    policy: Policy = field(default_factory=Policy)
    page_text_check: Callable[[Evidence], Outcome] | None = None
    rebuild_check: Callable[[Evidence], Outcome] | None = None
    register_check: Callable[[Evidence], Outcome] | None = None
    standing_check: Callable[[Evidence], Outcome] | None = None
    submittal_check: Callable[[bytes, tuple[bytes, ...]], Step] | None = None
    """Makes a submittal again from the examinations of its originals, and compares."""
    seconds: float = SECONDS
    memory: int = MEMORY
    load: Callable[[], None] = field(default_factory=lambda: load_for_examination)
    readable: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Examined:
    """Verdict and record of one file; ``record`` is None for what is no report, ``listed`` is for a submittal.

    ``copies`` says of an original inside a submittal whether the copies of its pages there are true.
    """

    verification: Verification
    record: ReportRecord | None = None
    listed: tuple[Listed, ...] = ()
    reference: str | None = None
    copies: Step | None = None

    @property
    def kind(self) -> str:
        """``report``, ``submittal``, or ``other`` for a file that is neither or cannot be read as one."""
        if self.record is not None:
            return "report"
        return "submittal" if self.reference is not None else "other"


@dataclass(frozen=True, slots=True)
class Inside:
    """An original inside a submittal; the first copy of its pages, if any, is ``from_end`` pages from the end."""

    listed: Listed
    from_end: int


def inside_of(listed: Sequence[Listed]) -> list[Inside]:
    """Return the originals that a submittal lists, with the places of their copies: together these end the file."""
    counts = [one.copied_pages for one in listed]
    return [Inside(one, sum(counts[place:])) for place, one in enumerate(listed)]


def examine(pdf: bytes, name: str, checks: Checks) -> Examined:
    """Verify the file called ``name`` and read its record, in a child process; a bad file never raises."""
    return _in_child(pdf, name, checks, None, 1 + (len(pdf) >> 25 if looks_like_submittal(pdf) else 0))


def examine_original(pdf: bytes, inside: Inside, checks: Checks) -> Examined:
    """Verify one original inside the submittal ``pdf``, in a child process; a bad file never raises.

    Its ``copies`` say whether those of its pages show what its pages show.
    """
    return _in_child(pdf, inside.listed.file, checks, inside, 1 + (len(pdf) >> 26))


def _in_child(pdf: bytes, name: str, checks: Checks, inside: Inside | None, scale: int) -> Examined:
    """Return what a child with ``scale`` times the limits answers; their breach is a reason by name."""
    work = partial(_examination, pdf, inside, checks)
    try:
        answer = in_child(work, name, checks, scale, readable=checks.readable)
        examined = examined_from(answer)
    except UsageError as breach:
        examined = Examined(unreadable(pdf, checks.at, Reason("RESOURCE_LIMIT", breach.message)))
    except (ValueError, KeyError, TypeError):
        reason = Reason("RESOURCE_LIMIT", f"{name} cannot be read: reading it ended with an unusable answer")
        examined = Examined(unreadable(pdf, checks.at, reason))
    found, here = examined.verification, is_confined()
    if not here:
        found = found.with_step(replace(found.steps[0], details=(*found.steps[0].details, NOT_CONFINED)))
    return replace(
        examined,
        verification=with_required(found, checks.policy, confined=here, rebuilding=checks.rebuild_check is not None),
    )


def in_child(
    work: Callable[[], bytes], name: str, checks: Checks, scale: int, *, readable: tuple[Path, ...] = ()
) -> bytes:
    """Return what ``work`` on the file called ``name`` answers in a child with ``scale`` times the limits."""
    seconds, memory = checks.seconds * scale, checks.memory * scale
    return confined(work, name, seconds=seconds, memory=memory, load=checks.load, readable=readable)


def _examination(pdf: bytes, inside: Inside | None, checks: Checks) -> bytes:
    """Verify a file, or one original inside it, in the child process."""
    logging.disable()  # what libraries think of a damaged file is in the verdict, not on the terminal
    if inside is None:
        return render_examined(judged(pdf, checks))
    try:
        opened = opened_envelope(pdf)
        (data,) = originals_of(opened, [inside.listed])
    except ValueError as reason:
        return render_examined(Examined(unreadable(b"", checks.at, Reason("EMBEDDED_FILES", str(reason)))))
    examined = judged(data, checks)
    if inside.listed.copied_pages:
        examined = replace(examined, copies=compared_copies(Drawing(opened), data, inside))
    return render_examined(examined)


def judged(pdf: bytes, checks: Checks) -> Examined:
    """Verify and read bytes in this process: for a child that has limits."""
    known = Recomputation()
    verification = verify_report(
        pdf,
        at=checks.at,
        roots=checks.policy.roots,
        crls=checks.policy.crls,
        ocsps=checks.policy.ocsps,
        people=checks.policy.people,
        recompute=known,
        page_text_check=checks.page_text_check,
        rebuild_check=checks.rebuild_check,
        register_check=checks.register_check,
        standing_check=checks.standing_check,
        notices=checks.policy.notices,
    )
    if known.job is not None or not looks_like_submittal(pdf):
        return Examined(verification, record_of(known))
    step, found = read_list_of(pdf)
    others = [signer.field for signer in verification.signers if signer.field != ENGINEER_FIELD]
    if others:
        sentence = f"a submittal is signed in its field {ENGINEER_FIELD}, not in {', '.join(others)}"
        step = step_of(7, [*step.reasons, Reason("SIGNER_NOT_NAMED", sentence)], step.details)
    reference, listed = found or (None, ())
    signers = tuple(replace(signer, kind="engineer") for signer in verification.signers)
    envelope = replace(verification.with_step(step), signers=signers, required=_OF_A_SUBMITTAL)
    return Examined(envelope, None, listed, reference)


def render_examined(examined: Examined) -> bytes:
    """Return an examination as JSON, for the pipe and for an index."""
    told = {name: getattr(examined, name) for name in ("record", "listed", "reference", "copies")}
    verification = json.dumps(examined.verification.plain(), ensure_ascii=False).encode()
    return b'{"verification":%b,"told":%b}' % (verification, canonical_json(told))


def examined_from(data: bytes) -> Examined:
    """Return the examination that ``render_examined`` wrote; ``ValueError``, ``KeyError``, ``TypeError`` otherwise."""
    plain = json.loads(data, parse_float=Decimal)
    told = plain["told"]
    record = value_from(ReportRecord, told["record"]) if "record" in told else None
    listed = tuple(value_from(Listed, row) for row in told["listed"])
    copies = value_from(Step, told["copies"]) if "copies" in told else None
    return Examined(from_plain(plain["verification"]), record, listed, told.get("reference"), copies)


def load_for_examination() -> None:
    """Import and prepare what examining needs, once, so that not each child of this process has to."""
    from reportgen.job import Day, Project

    for module in _NEEDED:
        importlib.import_module(module)
    for model in (Project, Day):
        model.model_rebuild(force=False)


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
    """Return the verdict on a submittal whose ``envelope`` was examined, and then each of its originals."""
    found = [(one.listed, examine_original(pdf, one, checks)) for one in inside_of(envelope.listed)]
    return with_originals(envelope.verification, found, made_again(pdf, [one for _, one in found], checks))


def made_again(pdf: bytes, originals: Sequence[Examined], checks: Checks) -> Step:
    """Return step 10 for a submittal: whether its originals, as they were found here, make its pages and its list.

    That is done in a child process; whatever it ends with is an answer.
    """
    if checks.submittal_check is None:
        return not_done(10, "making the pages of the submittal again was left out")
    if not originals:
        return not_done(10, "the submittal lists no report")
    if any(one.record is None or one.verification.overall == "failed" for one in originals):
        return not_done(10, "what an original says cannot be relied upon, see step 8")
    told = tuple(map(render_examined, originals))
    work = partial(_made_again, checks.submittal_check, pdf, told)
    try:
        answer = in_child(work, "the submittal", checks, 1 + (len(pdf) >> 22))
        return value_from(Step, json.loads(answer))
    except UsageError as breach:
        return step_of(10, [Reason("RESOURCE_LIMIT", breach.message)])


def _made_again(check: Callable[[bytes, tuple[bytes, ...]], Step], pdf: bytes, told: tuple[bytes, ...]) -> bytes:
    logging.disable()
    return canonical_json(check(pdf, told))


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


def with_originals(envelope: Verification, inside: Sequence[tuple[Listed, Examined]], again: Step) -> Verification:
    """Return the envelope's verification with step 8 judged by the originals inside it, and step 10 by ``again``.

    ``again`` says whether they make the submittal; of a copy of a page that is not true the pages are named too.
    """
    reasons: list[Reason] = []
    details: list[str] = []
    since: list[Notice] = []
    for listed, examined in inside:
        answer = examined.verification
        signers = ", ".join(signer.subject for signer in answer.signers) or "nobody"
        tenth = {step.number: step for step in answer.steps}.get(10)
        compared = "its pages were not made again and compared"
        if tenth is not None and tenth.status == "passed":
            but = ", but for what their pictures show" if tenth.unproven else ""
            compared = f"its pages, made again, come out the same{but}"
        details.append(f"{listed.file}: {answer.overall}; signed by {signers}; {compared}")
        reasons += [_about(listed, reason) for reason in answer.reasons]
        since += [_about(listed, notice) for notice in answer.notices]
    eighth = step_of(8, reasons, details) if inside else not_done(8, "the submittal lists no report")
    eighth = replace(eighth, notices=tuple(since), broke_off=any(one.verification.broke_off for _, one in inside))
    tenth = _with_copies(again, inside)
    if 10 not in envelope.required and tenth.status == "not done":
        tenth = replace(tenth, details=(*tenth.details, ALLOWED))
    last = [not_done(9, _REBUILT_INSIDE), tenth, *(not_done(number, _REBUILT_INSIDE) for number in (11, 12))]
    return replace(envelope, steps=(*envelope.steps[:7], eighth, *last))


def _about(listed: Listed, told: R) -> R:
    return replace(told, sentence=f"{listed.file}: {told.sentence}")


def _with_copies(again: Step, inside: Sequence[tuple[Listed, Examined]]) -> Step:
    """Return step 10 with whether the copies of pages are true, by the name of each original."""
    steps = [(listed, one.copies) for listed, one in inside if one.copies is not None]
    reasons = [_about(listed, reason) for listed, step in steps for reason in step.reasons]
    details = [f"{listed.file}: {detail}" for listed, step in steps for detail in step.details]
    if again.status == "not done" and not reasons:
        return replace(again, details=(*again.details, *details))
    found = step_of(10, [*reasons, *again.reasons], [*again.details, *details])
    return replace(found, unproven=again.unproven)
