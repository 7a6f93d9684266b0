"""Submittal: a contract's reports verified, indexed and enclosed in one signed file; and a submittal verified."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import asdict, dataclass, replace
from functools import lru_cache, partial, reduce
from typing import TYPE_CHECKING, Self

from reportgen import __version__
from reportgen.diagnostics import Phrase, printable
from reportgen.errors import MachineError, SealError, UsageError
from reportgen.names import short_title, spelt_alike
from reportgen.pipeline.clock import now
from reportgen.pipeline.register_agreement import registers_of, with_registers
from reportgen.pipeline.workers import WORTH_A_PROCESS, Spread
from reportgen.sandbox import SECONDS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

    from reportgen.issued import Checks, Examined, Inside, RegisterRead, ReportRecord, SignedLess, Undone
    from reportgen.pdf.signing import SignerBlock
    from reportgen.register import Chain
    from reportgen.seal import Identity
    from reportgen.submittal.pages.model import Submittal
    from reportgen.verification import Verification
    from reportgen.words.told import Told

DEMONSTRATION_SIGNER = "Project engineer"


@dataclass(frozen=True, slots=True)
class Sent:
    """What the sender says of a submittal, as words on its cover.

    Without a ``role`` it is that of the signer in the project file of the reports. ``page_copies`` appends copies of
    the originals' pages, marked as copies; ``partial`` is why reports are left out.
    """

    reference: str | None = None
    recipient: str | None = None
    remarks: str = ""
    role: str | None = None
    organisation: str | None = None
    page_copies: bool = False
    language: str = "en"
    partial: str | None = None

    def visible(self) -> Sent:
        """Return the same words with escapes for what would not show on a page; only remarks may have several lines."""
        texts = (self.reference, self.recipient, self.role, self.organisation, self.partial)
        reference, recipient, role, organisation, partial = (printable((text or "").strip()) or None for text in texts)
        remarks = "\n".join(map(printable, self.remarks.splitlines()))
        return replace(
            self, reference=reference, recipient=recipient, remarks=remarks, role=role, organisation=organisation,
            partial=partial,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Submitted:
    """A submittal that was written: where, how many pages and reports, and what is not plainly passed in it."""

    path: Path
    pages: int
    sha256: str
    reports: int
    open_nonconformances: int
    notices: tuple[str, ...] = ()
    released: tuple[int, int] = (0, 0)
    """How many areas are released as a whole, of how many that the contract lists."""
    missing: tuple[str, ...] = ()
    """Reports that were issued, by the newest one or by a register that was given, and are not enclosed."""
    open_items: tuple[Mapping[str, object], ...] = ()
    """What is left to be settled, the oldest first, as JSON types."""

    @classmethod
    def of(cls, content: Submittal, path: Path, pages: int, sha256: str, notices: tuple[str, ...]) -> Self:
        """Return what is to be said of a submittal of that content, written there."""
        complete, numbers = content.complete, content.numbers
        missing = () if numbers is None else numbers.absent
        still = tuple(asdict(one) for one in content.open_items)
        counts = (content.count, content.open_nonconformances)
        return cls(path, pages, sha256, *counts, notices, (complete.done, len(complete.listed)), missing, still)


def submittal(
    given: Sequence[Path],
    identity: Identity | None,
    out: Path,
    *,
    trust: Sequence[Path] = (),
    policy: Path | None = None,
    registers: Sequence[Path] = (),
    sent: Sent | None = None,
    at: dt.datetime | None = None,
    spread: Spread | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Submitted:
    """Verify the reports in the files and folders ``given`` and enclose them in ``out``, signed by ``identity``.

    Without an identity one is made on the spot and the submittal says that it is a demonstration. The verifying is
    spread over the cores unless ``spread`` says otherwise; ``progress`` is told after each report how many of how many
    are verified. ``registers`` are contract folders whose registers the reports are held against.

    Raises:
        UsageError: no report, several contracts, a report that fails its verification, or ``out`` exists.
        SealError, MachineError: the identity cannot sign, the disk failed. Nothing is left behind.
    """
    from reportgen.certificates import misnamed
    from reportgen.issued import pdf_files
    from reportgen.pipeline.building import made_with
    from reportgen.seal import demo_identity
    from reportgen.submittal import Source, Transmittal, contradictions, refuse_taken, submittal_of, write_submittal

    refuse_taken(out)
    moment, sent = (at or now()).astimezone(dt.UTC).replace(microsecond=0), sent or Sent()
    signer = identity or demo_identity(DEMONSTRATION_SIGNER, moment)
    if (why := misnamed(signer.certificate, signer.name, sent.organisation)) is not None:
        raise SealError(Phrase("the cover would not name the signer: {why}", why=why))
    sent = sent.visible()  # only now: the certificate holds what was said, the cover what can be shown of it
    others: list[Path] = []
    paths = [path for path in pdf_files(given, others=others.extend) if path != out]
    checks = with_registers(examination_checks(trust, policy=policy), held := registers_of(registers))
    examined, beside = _verified(paths, checks, spread or Spread(), progress or (lambda *_: None))
    content, listed = submittal_of(
        list(examined.values()),
        Transmittal(
            at=moment,
            signer=signer_block(signer, sent, _people(examined.values()), made_up=identity is None),
            version=__version__,
            reference=sent.reference,
            recipient=sent.recipient,
            remarks=sent.remarks,
            partial=sent.partial,
            status="demonstration" if signer.demonstration else "issue",
            copied_pages=_page_counts(examined) if sent.page_copies else {},
            made_with=made_with(),
            language=sent.language,
            registers=_registers(examined, held),
        ),
    )
    settled = _contradicted(examined, content, checks)
    sources = [Source(path, one.verification.sha256) for path, one in examined.items()]
    sound = partial(_require_sound, identity=signer, moment=moment, examined=list(examined.values()))
    pages, sha256 = write_submittal(content, listed, sources, signer, out, proven=sound)
    told = [*_notices(examined, {row.sha256 for row in content.reports}), *contradictions(content), *settled]
    told += [*_absent(_registers(examined, held)), *content.photos_told, *beside, *_left(others)]
    return Submitted.of(content, out, pages, sha256, tuple(told))


def _left(others: Iterable[Path]) -> Iterator[Told]:
    """Yield a sentence on the files that were not looked at, where there are such."""
    from reportgen.issued import name_left, not_looked_at

    left = not_looked_at([name_left(path) for path in others])
    yield from () if left is None else (left,)


def _people(examined: Iterable[Examined]) -> Iterator[tuple[str, str]]:
    """Yield the people of the project files of reports: name, and role with what follows it."""
    for record in (one.record for one in examined if one.record is not None):
        yield from ((one.member, one.value) for one in record.requirements if one.part == "people")


def signer_block(
    signer: Identity, sent: Sent, people: Iterable[tuple[str, str]], *, made_up: bool
) -> SignerBlock:  # fmt: skip
    """Return who signs, in the role that is said, else in that of the project files of the reports.

    ``people`` are those that they list: name, and role with what follows it.

    Raises:
        UsageError: none lists a person of that name, or they have several roles; a role is never guessed.
    """
    from reportgen.pdf.signing import SignerBlock

    roles = {value.partition(", ")[0] for name, value in people if spelt_alike(name, signer.name)}
    roles = {DEMONSTRATION_SIGNER.lower()} if made_up else roles
    if sent.role is None and len(roles) != 1:
        said = f"the reports do not say in which role {printable(signer.name)} signs"
        raise UsageError(said, help_text="say it with --role")
    return SignerBlock(printable(signer.name), sent.role or printable(roles.pop()), sent.organisation)


def _contradicted(examined: dict[Path, Examined], content: Submittal, checks: Checks) -> list[str]:
    """Refuse to sign for a release, or a closed nonconformance, that another report enclosed speaks against.

    One that is less proven accuses nobody. What a later report has decided since is returned, as a sentence for each.
    """
    from reportgen.issued import COUNTING

    counting = {row.sha256 for row in content.reports if row.place in COUNTING}
    counted = {
        path: (one, one.record)
        for path, one in examined.items()
        if one.verification.sha256 in counting and one.record is not None
    }
    settled = []
    for path, (_, record) in counted.items():
        against = _against(path, counted, checks)
        for sentence, way_out, one in (each for each in against if not _is_void(content, record, each[2])):
            if way_out and _rests_on(content, record, one):
                raise UsageError(sentence, help_text=way_out)
            settled.append(f"{sentence}; {_SETTLED if way_out else _VARIED}")
    return settled


def _against(
    path: Path, counted: Mapping[Path, tuple[Examined, ReportRecord]], checks: Checks
) -> Iterator[tuple[str, str | None, Undone]]:
    """Yield what speaks against a report: by what it may not release or close, the way out, and what that is.

    There is none to be told where another document of the contract states the limits.

    A report that was built upon another's day has been judged by it. Any other is judged again beside those of the
    contract that are not later days and found against the same area or raised what it closes: who inspects in a folder
    of their own does not see them, nor a revision that was issued since.
    """
    from reportgen.issued import (
        document_of,
        read_pdf,
        shown_name,
        undone_together,
        undone_under,
        variation,
        what_undone,
        which_of,
    )
    from reportgen.words.told import told

    name, (mine, record) = shown_name(path), counted[path]
    weighing = {"passed", mine.verification.overall}
    others = {other: theirs for other, (one, theirs) in counted.items() if one.verification.overall in weighing}
    against = {other: theirs for other, theirs in others.items() if _may_speak_against(record, theirs)}
    if against:
        beside = which_of((shown_name(other), one.issued_at > record.issued_at) for other, one in against.items())
        read = [read_pdf(other) for other in against]
        yield from (
            (told("undone-beside", what=name, does=what_undone(one), beside=beside, why=one.why), _APART, one)
            for one in undone_together(read_pdf(path), read, name, checks)
        )
    for limits, areas in _other_limits(record, others).items():
        stated = variation(document_of(others[limits]), document_of(record))
        way_out, why = (_OTHER_LIMITS, ()) if stated is None else (None, (stated,))
        its = {"what": name, "by": shown_name(limits)}
        yield from (
            (told("undone-under", **its, area=one.area, why=(*one.why, *why)), way_out, one)
            for one in undone_under(read_pdf(path), read_pdf(limits), name, checks)
            if one.area in areas
        )


_APART = "issue a revision of it in the folder that holds them all"
_OTHER_LIMITS = (
    "issue a revision of the report whose project file has the wrong limits; where the change of them was agreed upon,"
    " issue a revision of this one, whose `specification.document` names the document that states them, or which has a"
    " nonconformance on the area with `disposition: use-as-is`, decided by a person who may accept the steel"
)
_SETTLED = "a later report has decided since"
_VARIED = "whether that was agreed upon is to be asked of the owner"


def _other_limits(record: ReportRecord, others: Mapping[Path, ReportRecord]) -> dict[Path, set[str]]:
    """Return earlier reports on an area that a report releases, or of its day, which had other limits; with the areas.

    Of several with the same limits the last is named.
    """
    from reportgen.issued import limits_of

    own, found = limits_of(record), {}
    released = {area.id for area in record.areas if area.decision == "release"}
    earlier = [
        (path, other)
        for path, other in others.items()
        if own
        and other.number != record.number
        and (other.date, other.number) < (record.date, record.number)
        and limits_of(other) not in ((), own)
    ]
    for path, other in sorted(earlier, key=lambda one: (one[1].date, one[1].number)):
        areas = released & {one.id for one in other.areas} if other.date < record.date else released
        found.update({(limits_of(other), area): path for area in areas})
    return {path: {area for (_, area), one in found.items() if one == path} for path in dict.fromkeys(found.values())}


def _rests_on(content: Submittal, record: ReportRecord, one: Undone) -> bool:
    """Whether what a report did is how the area, or the nonconformance, stands in the end."""
    if one.nonconformance:
        return any(
            row.id == one.nonconformance and row.status == "closed" and row.last_in == record.number
            for row in content.nonconformances
        )
    title = short_title(record)
    return any(area.id == one.area and area.by == title for area in content.areas)


def _is_void(content: Submittal, record: ReportRecord, one: Undone) -> bool:
    """Whether what a report did does not count, as its signer may not do it: that is told beside what stands."""
    title = short_title(record)
    if one.nonconformance:
        return any(row.id == one.nonconformance and title in row.barred for row in content.nonconformances)
    return any(area.id == one.area and title in area.barred for area in content.areas)


def _may_speak_against(mine: ReportRecord, other: ReportRecord) -> bool:
    """Whether a report found against what a later one, that was not built upon it, releases or closes.

    Or says when an area was primed that this one releases.
    """
    if other.number == mine.number or other.date > mine.date:
        return False
    if not spelt_alike(other.contract, mine.contract) or other.day_sha256 in mine.earlier:
        return False
    released = {area.id for area in mine.areas if area.decision == "release"}
    closed = {one.raised_in for one in mine.nonconformances if one.status == "closed"}
    told = {area.id for area in other.areas if area.decision != "release"}
    told |= {surface.area for surface in other.surfaces if surface.coated is not None}
    return other.number in closed or bool(released & told)


def examination_checks(
    trust: Sequence[Path],
    *,
    policy: Path | None = None,
    quick: bool = False,
    photos: Path | None = None,
    at: dt.datetime | None = None,
) -> Checks:
    """Return how a file is examined, alone, in a submittal or in an archive; at the present moment unless told when.

    ``policy`` is the file of whoever verifies, or else ``trust`` names the roots; ``UsageError`` for both. ``quick``
    leaves out making the pages again, without which nothing passes. Without the folder of the originals of ``photos``
    they are made again with the pictures on them.
    """
    from reportgen.issued import Checks
    from reportgen.verification.pagetext import page_text_agrees
    from reportgen.verification.policy import Policy, read_policy

    if policy is not None and trust:
        raise UsageError(
            "a policy names its roots itself", help_text=f"leave --trust out, and enter {trust[0]} in {policy}"
        )
    believed = Policy.trusting(trust) if policy is None else read_policy(policy)
    checks = Checks(at or now(), believed, page_text_check=page_text_agrees)
    if quick:
        return checks
    from reportgen.pipeline.rebuilding import load_for_rebuilding, pages_rebuilt
    from reportgen.pipeline.resubmitting import release_made_again, submittal_made_again

    folder = None if photos is None else photos.absolute()
    return replace(
        checks,
        rebuild_check=partial(pages_rebuilt, folder),
        submittal_check=submittal_made_again,
        release_check=release_made_again,
        load=load_for_rebuilding,
        readable=() if folder is None else (folder,),
        seconds=2 * SECONDS,
    )


def _verified(
    paths: Sequence[Path], checks: Checks, spread: Spread, progress: Callable[[int, int], None]
) -> tuple[dict[Path, Examined], list[str]]:
    """Examine each file; whatever claims to be a report and is none, or a broken one, ends the whole: all are named.

    So does one that somebody else signed than the person it names: the sender would vouch for a name. Release pages
    and slips, drafts and other papers lie beside the reports; what is said of them is returned with these.
    """
    from reportgen.issued import make_ready
    from reportgen.pipeline.companions import companions, is_companion

    found: dict[Path, Examined] = {}
    first = partial(make_ready, checks.load)
    examined = spread.finished(partial(_examined, checks), paths, worth=WORTH_A_PROCESS, first=first)
    for done, (path, one) in enumerate(examined, start=1):
        found[path] = one
        progress(done, len(paths))
    reports = {path: found[path] for path in paths if not is_companion(found[path])}
    if not reports:
        raise UsageError("there is no report to submit")
    aside = dict(_proven_less(reports))
    reports = {path: one for path, one in reports.items() if path not in aside}
    _refuse_broken(reports)
    beside = {path: found[path] for path in paths if path not in aside}
    return reports, [*aside.values(), *companions(beside, checks)]


def _proven_less(reports: Mapping[Path, Examined]) -> Iterator[tuple[Path, str]]:
    """Yield each copy of another report that is proven better, with why it is left out: it stops nothing.

    It failed, or signed a field with another certificate than there, and no field that it has is lost with it.
    """
    from reportgen.issued import shown_name, spoilt_copies

    shown = {shown_name(path): path for path in reports}
    answers = {name: reports[path].verification for name, path in shown.items()}
    signed = ((name, next(iter(one.covered), ""), one.overall) for name, one in answers.items())
    for name, other in spoilt_copies(signed).items():
        yield shown[name], Phrase("{file} is left out: it is a copy of {other} that failed", file=name, other=other)
    for one in _signed_less(answers):
        fields = {signer.field for signer in answers[one.file].signers}
        if any(fields <= {signer.field for signer in answers[other].signers} for other in one.others):
            yield shown[one.file], Phrase("{file} is left out: {why}", file=one.file, why=one.sentence)


def _signed_less(answers: Mapping[str, Verification]) -> Iterator[SignedLess]:
    """Yield what is proven less than in another copy, among files that did not fail and cover the same."""
    from reportgen.issued import signed_less

    by: dict[str, dict[str, Verification]] = {}
    for name, answer in answers.items():
        if answer.covered and answer.overall != "failed":
            by.setdefault(answer.covered[0], {})[name] = answer
    for copies in by.values():
        yield from signed_less(copies)


def _refuse_broken(reports: Mapping[Path, Examined]) -> None:
    """Refuse files that cannot be enclosed as reports: each with its first reason, many in part."""
    from reportgen.issued import shown_name

    said, named = [], True
    for path, one in reports.items():
        against = next(iter(one.verification.against_vouching), None)
        if against is not None:
            said.append(Phrase("{file} does not verify: {why}", file=shown_name(path), why=against.sentence))
        elif one.record is None:
            said.append(Phrase("{file} is not an inspection report", file=shown_name(path)))
        else:
            continue
        named = named and against is not None and against.weight != "failed"
    if said:
        more = len(said) - _MOST_TOLD
        if more > 0:
            others = Phrase("and so {more} more, which `reportgen audit` on the folder lists", more=str(more))
            said[_MOST_TOLD:] = [others]
        told = reduce(lambda some, other: Phrase("{some}; {other}", some=some, other=other), said)
        raise UsageError(told, help_text=_NAMED if named else _BROKEN)


_MOST_TOLD = 20
_BROKEN = "leave out, or replace, each of them"
_NAMED = "leave it out; or, where you know the signer, say by a policy which certificate is that person's (--policy)"


def _examined(checks: Checks, path: Path) -> tuple[Path, Examined]:
    from reportgen.issued import examine, read_pdf, shown_name

    examined = examine(read_pdf(path), shown_name(path), checks)
    return path, replace(examined, upon=examined.upon and examined.upon.lying_at(shown_name(path.absolute())))


def _page_counts(examined: dict[Path, Examined]) -> dict[str, int]:
    """Return the pages of each report by its SHA-256; the files were examined and are read once more."""
    from reportgen.copies import Drawing
    from reportgen.issued import read_pdf, shown_name

    counts = {}
    for path, one in examined.items():
        try:
            drawing = Drawing(read_pdf(path))
            for page in range(len(drawing)):
                drawing.fingerprint(page)
        except ValueError as fault:
            raise UsageError(
                f"the pages of {shown_name(path)} cannot be copied: {fault}", help_text="submit without copies"
            ) from fault
        counts[one.verification.sha256] = len(drawing)
    return counts


def _notices(examined: dict[Path, Examined], enclosed: set[str]) -> tuple[str, ...]:
    """Return what is to be said of files: enclosed though not proven, or left out for a better copy."""
    from reportgen.issued import shown_name

    told = []
    for path, one in examined.items():
        if one.verification.sha256 not in enclosed:
            further = (
                f"{shown_name(path)} is left out: {shown_name(other)} is that report with further signatures"
                for other, more in examined.items()
                if more is not one
                and one.verification.sha256 in {signer.left_sha256 for signer in more.verification.signers}
            )
            told.append(next(further, f"{shown_name(path)} is left out: it is a copy, and nobody signs what differs"))
        elif one.verification.overall != "passed":
            why = ", ".join(reason.name for reason in one.verification.reasons)
            told.append(f"{shown_name(path)} is enclosed with a signature that is not proven: {why}")
    return tuple(told)


def _registers(
    examined: Mapping[Path, Examined], registers: Sequence[tuple[str | None, Chain]]
) -> tuple[RegisterRead, ...]:
    """Return the registers of the contract, with what each has as issued and is not enclosed."""
    from reportgen.issued import registers_read

    records = [one.record for one in examined.values() if one.record is not None]
    issued = [(one.verification.overall, one.upon) for one in examined.values() if one.upon is not None]
    held = {one.signed_sha256 for _, one in issued}
    held |= {digest for overall, one in issued if overall == "passed" for digest in one.before_signing}
    numbers = {one.number for one in records}
    return registers_read(registers, records[0].contract, numbers, held) if records else ()


def _absent(registers: Iterable[RegisterRead]) -> Iterator[str]:
    """Yield a sentence for each report that a register has and that is not enclosed."""
    from reportgen.words.told import told

    for one in (one for read in registers for one in read.absent):
        what = told("a-revision", number=one.number, revision=one.revision)
        yield told("registered-not-given", what=what, claims=None)


def _require_sound(path: Path, *, identity: Identity, moment: dt.datetime, examined: Sequence[Examined]) -> None:
    """Verify the finished envelope as a stranger would, its originals against their hashes, its copies against both.

    And make it again from the originals as they were ``examined``: what cannot be, nobody would see passed.
    """
    from cryptography.hazmat.primitives.serialization import Encoding

    from reportgen.issued import Checks, copy_faults, examine, made_again, read_pdf, shown_name
    from reportgen.pipeline.rebuilding import load_for_rebuilding
    from reportgen.pipeline.resubmitting import submittal_made_again
    from reportgen.verification.policy import Policy

    checks = Checks(
        max(moment, now()),
        Policy(tuple(one.public_bytes(Encoding.DER) for one in identity.anchors)),
        submittal_check=submittal_made_again,
        load=load_for_rebuilding,
        seconds=2 * SECONDS,
    )
    pdf = read_pdf(path)
    envelope = examine(pdf, shown_name(path), checks)
    by_hash = {one.verification.sha256: one for one in examined}
    again = made_again(pdf, [by_hash[one.sha256] for one in envelope.listed], checks)
    undone = [again.undone] if again.status == "not done" else again.reasons
    reasons = [*envelope.verification.reasons, *copy_faults(pdf, envelope.listed)]
    expected = {"DEMONSTRATION", "NOT_DONE", "NOT_REBUILT"}
    expected |= set() if identity.anchors else {"NO_CERTIFICATE_CHAIN_FOUND"}
    doubts = [reason for reason in reasons if reason.name not in expected]
    doubts += undone
    if doubts:
        raise MachineError(
            f"the submittal does not verify ({doubts[0].name}: {doubts[0].sentence}); nothing was written"
        )


def verified_file(path: Path, checks: Checks) -> Verification:
    """Return the verdict on a report, or on a submittal: its envelope and every original inside."""
    return examined_file(path, checks).verification


def examined_file(path: Path, checks: Checks) -> Examined:
    """Return verdict and record of a report; of a submittal that on its envelope and every original inside."""
    from reportgen.issued import examine, inside_of, made_again, read_pdf, shown_name, with_originals

    envelope = examine(read_pdf(path), shown_name(path), checks)
    if envelope.kind != "submittal":
        return envelope
    originals = inside_of(envelope.listed)
    work = partial(_examined_inside, path, envelope.verification.sha256, checks)
    found = dict(Spread().finished(work, originals, worth=WORTH_A_PROCESS))  # the envelope made the opener ready
    again = made_again(_envelope(path, envelope.verification.sha256), [found[one] for one in originals], checks)
    whole = with_originals(envelope.verification, [(one.listed, found[one]) for one in originals], again)
    return replace(envelope, verification=whole, originals=tuple(found[one] for one in originals))


def _examined_inside(path: Path, sha256: str, checks: Checks, inside: Inside) -> tuple[Inside, Examined]:
    from reportgen.issued import examine_original

    return inside, examine_original(_envelope(path, sha256), inside, checks)


@lru_cache(maxsize=1)
def _envelope(path: Path, sha256: str) -> bytes:
    """Return the bytes of a submittal, read once by each process that examines originals inside."""
    from reportgen.issued import read_pdf, shown_name

    pdf = read_pdf(path)
    if hashlib.sha256(pdf).hexdigest() != sha256:
        raise UsageError(f"{shown_name(path)} was changed while it was verified", help_text="verify it again")
    return pdf
