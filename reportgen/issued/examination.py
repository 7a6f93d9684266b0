"""One file examined in a child process with limits: the verdict of its verification, and its record.

Of a submittal that is its envelope; each original inside is examined by itself, every one in a child of its own.
"""

from __future__ import annotations

import importlib
import json
import logging
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache, partial
from importlib import resources
from itertools import count
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Final, TypeVar

import pikepdf

from reportgen.copies import Drawing
from reportgen.diagnostics import printable
from reportgen.errors import ToldError, UsageError
from reportgen.formats import canonical_json, encode, read_issue
from reportgen.formats.decoding import value_from
from reportgen.issued.entries import with_looks
from reportgen.issued.extraction import Recomputation, is_slip, record_of
from reportgen.issued.papers import Paper, draft_of, paper_of
from reportgen.issued.record import ReportRecord
from reportgen.issued.release_file import ReleaseFile, looks_like_release_page, read_release_of
from reportgen.issued.submittal_file import Listed, looks_like_submittal, opened_envelope, originals_of, read_list_of
from reportgen.issued.witness import row_left
from reportgen.loader import job_from_files
from reportgen.pdf.fonts import drawable
from reportgen.register import Issue
from reportgen.results.codes.records import SlipNotUpheld
from reportgen.results.facts import make_all
from reportgen.results.signatories import ENGINEER_FIELD
from reportgen.rules import evaluate
from reportgen.sandbox import MEMORY, SECONDS, confined, is_confined
from reportgen.verification import Notice, Reason, Step, Verification, from_plain, verify_report
from reportgen.verification.policy import ALLOWED, Policy, with_required
from reportgen.verification.steps import unreadable, versions
from reportgen.verification.verdict import not_done, step_of
from reportgen.words.catalogue import languages
from reportgen.words.sentences import sentences
from reportgen.words.told import Told, broke, plain_told, told, told_again, words_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from reportgen.results import Evaluation
    from reportgen.verification import Evidence, Outcome

R = TypeVar("R", Reason, Notice)

_NEEDED = (
    "pypdf",
    "pyhanko.sign.validation",
    "reportgen.words.catalogue",
    "reportgen.verification.replay",
    "reportgen.verification.signatures",
)
"""What a verification imports on its way."""
_ASKED: Final = count()
NOT_CONFINED = told("not-confined")
_EVALUATED = 8
_OF_A_SUBMITTAL = (*range(1, 9), 10)
_TIMES = 6
_OF_A_RELEASE_PAGE = (*range(1, 9), 10)
_REBUILT_INSIDE = told("originals-by-themselves")


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
    registers: Callable[[str, Evidence], Outcome] | None = None
    """Step 11 for many files: as ``register_check``, which it takes the place of, and told the name of the file."""
    submittal_check: Callable[[bytes, tuple[bytes, ...]], Step] | None = None
    """Makes a submittal again from the examinations of its originals, and compares."""
    release_check: Callable[[bytes], Step] | None = None
    """Makes a release page again from its data, and compares."""
    seconds: float = SECONDS
    memory: int = MEMORY
    load: Callable[[], None] = field(default_factory=lambda: load_for_examination)
    readable: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Examined:
    """Verdict and record of one file; ``record`` is None for what is no report, ``listed`` is for a submittal.

    ``copies`` says of an original inside a submittal whether the copies of its pages there are true; ``upon`` which row
    of a register a report or slip says it followed. ``inside`` is its name inside a submittal, for one that is;
    ``paper`` says what a PDF is that is neither report nor submittal, nor was one; a release page is one. ``originals``
    are those of a submittal that was examined as a whole.
    """

    verification: Verification
    record: ReportRecord | None = None
    listed: tuple[Listed, ...] = ()
    reference: str | None = None
    copies: Step | None = None
    slip: bool = False
    upon: Issue | None = None
    inside: str | None = None
    paper: Paper | None = None
    originals: tuple[Examined, ...] = ()

    @property
    def kind(self) -> str:
        """``report``, ``submittal``, ``slip``, ``paper``, or ``other`` for what cannot be read as one of these."""
        if self.record is not None:
            return "report"
        if self.slip:
            return "slip"
        if self.paper is not None:
            broken = self.paper.releases and self.verification.overall == "failed"
            return "other" if broken else "paper"
        return "submittal" if self.reference is not None else "other"

    @property
    def told_by_page(self) -> ReleaseFile | None:
        """The data of a release page that did not fail; None of any other file."""
        return None if self.paper is None or self.kind == "other" else self.paper.released


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
    if checks.registers is not None:
        checks = replace(checks, register_check=partial(checks.registers, name))
    work = partial(_examination, pdf, inside, checks)
    try:
        answer = in_child(work, name, checks, scale, readable=checks.readable)
        examined = examined_from(answer)
    except UsageError as breach:
        examined = Examined(unreadable(pdf, checks.at, Reason("RESOURCE_LIMIT", words_of(breach))))
    except (ValueError, KeyError, TypeError):
        reason = Reason("RESOURCE_LIMIT", told("answer-unusable", file=name))
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
        return render_examined(Examined(unreadable(b"", checks.at, Reason("EMBEDDED_FILES", words_of(reason)))))
    examined = judged(data, checks)
    if inside.listed.copied_pages:
        examined = replace(examined, copies=compared_copies(Drawing(opened), data, inside))
    return render_examined(examined)


def judged(pdf: bytes, checks: Checks) -> Examined:
    """Verify and read the bytes of a file in this process: for a child that has limits."""
    known = Recomputation()
    verification = verify_report(
        pdf,
        at=checks.at,
        roots=checks.policy.roots,
        timestamp_roots=checks.policy.timestamp_roots,
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
    if known.job is None and looks_like_release_page(pdf):
        return _release_page(pdf, verification, checks)
    if known.job is not None or not looks_like_submittal(pdf):
        found = slips_proven(verification, known, checks)
        record, slip = record_of(known), is_slip(known.files)
        draft = draft_of(pdf, found, record)
        if draft is not None:
            return Examined(found, paper=draft)
        record = None if record is None else with_looks(record, pdf, known.evaluation)
        paper = paper_of(pdf, verification) if record is None and not slip else None
        upon = _issue(pdf, known, verification)
        return Examined(found, record, slip=slip, upon=upon, paper=paper)
    step, listing = read_list_of(pdf)
    reference, listed = listing or (None, ())
    envelope = _signed_by_engineer(verification, step, "submittal-signed-elsewhere")
    return Examined(replace(envelope, required=_OF_A_SUBMITTAL), None, listed, reference)


def _release_page(pdf: bytes, verification: Verification, checks: Checks) -> Examined:
    """Return what a release page is: signed by whom it names, and made again from its data.

    By itself it is never proven: step 8 is for ``held_against``, with the report that it names.
    """
    step, found = read_release_of(pdf)
    if found is None:
        return Examined(_signed_by_engineer(verification, step, "release-signed-in-another-field"))
    one = found.released
    rests = told("release-rests-on", number=one.number, revision=one.revision, file=one.file, sha256=one.sha256)
    again = not_done(10, told("release-again-left-out"))
    if checks.release_check is not None and step.status == "passed":
        again = checks.release_check(pdf)
    page = _signed_by_engineer(verification, step, "release-signed-in-another-field")
    sixth = next(each for each in page.steps if each.number == _TIMES)
    page = page.with_step(step_of(_TIMES, [*sixth.reasons, *found.own_faults], sixth.details))
    others = (not_done(number, told("release-see-report")) for number in (9, 11, 12))
    for last in (not_done(8, rests), again, *others):
        page = page.with_step(last)
    what = printable(f"{one.contract}, {one.area}")[:200]
    paper = Paper(what, "", ours=True, releases=what, released=found)
    return Examined(replace(page, required=_OF_A_RELEASE_PAGE), paper=paper)


def _signed_by_engineer(verification: Verification, step: Step, code: str) -> Verification:
    """Return the answer with step 7, and in doubt by ``code`` where a field is signed that reports have."""
    others = [signer.field for signer in verification.signers if signer.field != ENGINEER_FIELD]
    if others:
        sentence = told(code, field=ENGINEER_FIELD, others=tuple(others))
        step = step_of(7, [*step.reasons, Reason("SIGNER_NOT_NAMED", sentence)], step.details)
    signers = tuple(replace(signer, kind="engineer") for signer in verification.signers)
    return replace(verification.with_step(step), signers=signers)


def _issue(pdf: bytes, known: Recomputation, verification: Verification) -> Issue | None:
    """Return upon which row of a register a file says it was issued; None where it says none, or nobody signed it."""
    try:
        facts = read_issue(known.files)
    except ValueError:
        return None
    if facts.register is None or not verification.signers:
        return None
    signed = verification.signers[0].left_sha256
    left, paths = row_left(pdf, known.files)
    upon = (facts.register.sequence, facts.register.sha256)
    issue = Issue(facts.number, facts.revision, *upon, signed, facts.slip, report=left, files=paths)
    issue = replace(issue, covered=next(iter(verification.covered), ""))
    if known.job is None:
        return issue
    project = known.job.project.project
    return replace(issue, contract=str(project.contract), pattern=project.report_numbers)


def slips_proven(verification: Verification, known: Recomputation, checks: Checks) -> Verification:
    """Return the answer on a report with what step 8 finds of its slips: each proven, and whether they agree."""
    if known.job is None or not known.job.slips:
        return verification
    eighth = verification.step(_EVALUATED)
    undone = not_upheld(known.evaluation)
    reasons, details, notices = list(eighth.reasons), list(eighth.details), list(eighth.notices)
    for slip in known.job.slips:
        inner = judged(known.files[slip.file], replace(checks, register_check=None, standing_check=None)).verification
        faults = [one for one in inner.reasons if one.weight == "failed"]
        reasons += [Reason(one.name, told("of-a-file", file=slip.file, what=one.sentence)) for one in faults]
        own = {"slip": PurePosixPath(slip.file).stem, "area": slip.area, "at": slip.at.isoformat(" ", "minutes")}
        verdict = told(f"overall-{inner.overall}")
        details.append(told("slip-proven" if slip.file not in undone else "slip-undone", **own, verdict=verdict))
        if slip.file in undone:
            notices.append(Notice("SLIP_NOT_UPHELD", told("slip-not-upheld-here", **own, why=undone[slip.file])))
    return verification.with_step(replace(step_of(8, reasons, details), notices=tuple(notices)))


def not_upheld(evaluation: Evaluation | None) -> Mapping[str, Told]:
    """Return what a report says of the area of each slip that it does not uphold, by file."""
    if evaluation is None:
        return {}
    decided = {area.id: area.decision for area in evaluation.areas}
    found = ((one.area or "", one.facts) for one in evaluation.findings)
    return {
        facts.file: not_upheld_because(decided.get(area), [word.key for word in facts.differs])
        for area, facts in found
        if isinstance(facts, SlipNotUpheld)
    }


def not_upheld_because(decision: str | None, differs: Sequence[str]) -> Told:
    """Return what a report says of the area of a slip that it does not uphold, after its subject."""
    decides = told(f"decides-{decision}") if decision else told("decides-nothing")
    others = tuple(told(f"differs-in-{one}") for one in differs if one not in ("release", "primed"))
    primed = told("primed-before-slip") if "primed" in differs else None
    return told("slip-undone-because", decides=decides, others=others, primed=primed)


def render_examined(examined: Examined) -> bytes:
    """Return an examination as JSON, for the pipe and for an index."""
    members = {
        name: getattr(examined, name) for name in ("record", "listed", "reference", "slip", "upon", "inside", "paper")
    }
    members["copies"] = None if examined.copies is None else plain_told(examined.copies)
    verification = json.dumps(examined.verification.plain(), ensure_ascii=False).encode()
    return b'{"verification":%b,"told":%b}' % (verification, canonical_json(members))


def examined_from(data: bytes) -> Examined:
    """Return the examination that ``render_examined`` wrote; ``ValueError``, ``KeyError``, ``TypeError`` otherwise."""
    plain = json.loads(data, parse_float=Decimal)
    members = plain["told"]
    record = value_from(ReportRecord, members["record"]) if "record" in members else None
    listed = tuple(value_from(Listed, row) for row in members["listed"])
    copies = value_from(Step, told_again(members["copies"])) if "copies" in members else None
    slip = bool(members.get("slip"))
    upon = value_from(Issue, members["upon"]) if "upon" in members else None
    paper = value_from(Paper, members["paper"]) if "paper" in members else None
    told, reference, inside = from_plain(plain["verification"]), members.get("reference"), members.get("inside")
    return Examined(told, record, listed, reference, copies, slip, upon, inside, paper)


def load_for_examination() -> None:
    """Import what examining needs, once, so that not each child of this process has to; for a second file also warm up.

    A file that stays alone is not made to wait for what only others gain by.
    """
    from reportgen.job import Day, Project

    for module in _NEEDED:
        importlib.import_module(module)
    for model in (Project, Day):
        model.model_rebuild(force=False)
    versions()
    if next(_ASKED) == 1:
        warm_up()


def make_ready(load: Callable[[], object]) -> None:
    """Have all loaded, and warm, before processes are forked from this one: what opens files for them then is as well.

    Raises ``MachineError`` as ``confined``.
    """
    for each in (load, warm_up):
        confined(bytes, "nothing", load=each)


@cache
def warm_up() -> None:
    """Do once what each child would begin with: tables, catalogues and methods that are made when first wanted.

    An invented day of ours is evaluated, and a library imported that some days need.
    """
    folder = resources.files("reportgen.issued") / "data"
    files = {name: (folder / name).read_bytes() for name in ("project.yaml", "day.yaml")}
    job = job_from_files(files, "day.yaml")
    encode(evaluate(job))
    make_all()
    drawable("µ")
    for language in languages():
        sentences(language)
    for module in ("scipy.special", "reportgen.screens.pictures", "PIL.JpegImagePlugin"):
        importlib.import_module(module)


def compared_copies(shown: Drawing, original: bytes, inside: Inside) -> Step:
    """Return step 10 for an original: whether its copies in the submittal ``shown`` show just what its pages show."""
    count = inside.listed.copied_pages
    try:
        own, copied_from = Drawing(original), len(shown) - inside.from_end
        if len(own) != count or copied_from < 0:
            return step_of(10, [Reason("PAGES_DIFFER", told("pages-listed-as-copied", count=count, pages=len(own)))])
        wrong = [page for page in range(count) if shown.copied(copied_from + page) != own.fingerprint(page)]
    except (ValueError, LookupError, TypeError, AttributeError, pikepdf.PdfError) as fault:
        why = told("not-to-be-copied") if isinstance(fault, ToldError) else broke(fault)
        return step_of(10, [Reason("PAGES_DIFFER", told("copies-not-compared", why=why))])
    reasons = [
        Reason("PAGES_DIFFER", told("no-true-copy", page=copied_from + page + 1, own=page + 1)) for page in wrong
    ]
    return step_of(10, reasons, [told("copied-on", first=copied_from + 1, last=copied_from + count)])


def opened_submittal(pdf: bytes, envelope: Examined, checks: Checks) -> tuple[Examined, ...]:
    """Return a submittal whose ``envelope`` was examined, with the verdict on the whole, and then each original."""
    found = [(one.listed, examine_original(pdf, one, checks)) for one in inside_of(envelope.listed)]
    whole = with_originals(envelope.verification, found, made_again(pdf, [one for _, one in found], checks))
    return replace(envelope, verification=whole), *(replace(one, inside=listed.file) for listed, one in found)


def original_inside(pdf: bytes, listed: Listed, checks: Checks) -> bytes:
    """Return the bytes of an original inside the submittal ``pdf``, taken out in a child process; none where it is not.

    ``UsageError`` when that breaks the limits.
    """
    return in_child(partial(_taken_out, pdf, listed), listed.file, checks, 1 + (len(pdf) >> 26))


def _taken_out(pdf: bytes, listed: Listed) -> bytes:
    logging.disable()
    try:
        (data,) = originals_of(opened_envelope(pdf), [listed])
    except ValueError:
        return b""
    return data


def made_again(pdf: bytes, originals: Sequence[Examined], checks: Checks) -> Step:
    """Return step 10 for a submittal: whether its originals, as they were found here, make its pages and its list.

    That is done in a child process; whatever it ends with is an answer.
    """
    if checks.submittal_check is None:
        return not_done(10, told("making-again-left-out"))
    if not originals:
        return not_done(10, told("submittal-empty"))
    if any(one.record is None or one.verification.overall == "failed" for one in originals):
        return not_done(10, told("original-unreliable"))
    rendered = tuple(map(render_examined, originals))
    work = partial(_made_again, checks.submittal_check, pdf, rendered)
    try:
        answer = in_child(work, "the submittal", checks, 1 + (len(pdf) >> 22))
        return value_from(Step, told_again(json.loads(answer)))
    except UsageError as breach:
        return step_of(10, [Reason("RESOURCE_LIMIT", words_of(breach))])


def _made_again(check: Callable[[bytes, tuple[bytes, ...]], Step], pdf: bytes, originals: tuple[bytes, ...]) -> bytes:
    logging.disable()
    return canonical_json(plain_told(check(pdf, originals)))


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
        signers = tuple(signer.subject for signer in answer.signers) or (told("by-nobody"),)
        tenth = {step.number: step for step in answer.steps}.get(10)
        compared = told("pages-not-compared")
        if tenth is not None and tenth.status == "passed":
            compared = told("pages-same-but-pictures" if tenth.unproven else "pages-same")
        verdict = told(f"overall-{answer.overall}")
        details.append(told("original", file=listed.file, verdict=verdict, signers=signers, compared=compared))
        reasons += [_about(listed, reason) for reason in answer.reasons]
        since += [_about(listed, notice) for notice in answer.notices]
    eighth = step_of(8, reasons, details) if inside else not_done(8, told("submittal-empty"))
    eighth = replace(eighth, notices=tuple(since), broke_off=any(one.verification.broke_off for _, one in inside))
    tenth = _with_copies(again, inside)
    if 10 not in envelope.required and tenth.status == "not done":
        tenth = replace(tenth, details=(*tenth.details, ALLOWED))
    last = [not_done(9, _REBUILT_INSIDE), tenth, *(not_done(number, _REBUILT_INSIDE) for number in (11, 12))]
    return replace(envelope, steps=(*envelope.steps[:7], eighth, *last))


def _about(listed: Listed, one: R) -> R:
    return replace(one, sentence=told("of-a-file", file=listed.file, what=one.sentence))


def _with_copies(again: Step, inside: Sequence[tuple[Listed, Examined]]) -> Step:
    """Return step 10 with whether the copies of pages are true, by the name of each original."""
    steps = [(listed, one.copies) for listed, one in inside if one.copies is not None]
    reasons = [_about(listed, reason) for listed, step in steps for reason in step.reasons]
    details = [told("of-a-file", file=listed.file, what=detail) for listed, step in steps for detail in step.details]
    files = tuple(listed.file for listed, one in inside for step in one.verification.steps[9:10] if step.unproven)
    pictures = (told("pictures-of-originals", files=files),) if files else ()
    again = replace(again, unproven=(*again.unproven, *pictures))
    if again.status == "not done" and not reasons:
        return replace(again, details=(*again.details, *details))
    found = step_of(10, [*reasons, *again.reasons], [*again.details, *details])
    return replace(found, unproven=again.unproven)
