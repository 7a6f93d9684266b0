"""A signed page on the release of one area: only where a proven report releases it and nothing is open on it.

An audit of the folder has to find no fault and no doubt in the contract, but for what concerns other areas alone, which
the page lists: whoever signs the page answers for a report
that is not there, or that does not agree with the others, as for the one that releases.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen import atomicfile
from reportgen.diagnostics import printable
from reportgen.errors import MachineError, UsageError
from reportgen.pipeline.auditing import audit
from reportgen.pipeline.clock import now
from reportgen.words.filing import filing_words
from reportgen.words.told import said

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from reportgen.audit import Audit, Index, Narrowed, Problem
    from reportgen.issued import ClosedItem, FurtherIssues, GaugeUsed, NotedByAudit, ReleasedArea, ReleaseFile
    from reportgen.pdf.signing import Rendered
    from reportgen.pipeline.filing import Sent
    from reportgen.pipeline.workers import Spread
    from reportgen.seal import Identity

_RELEASE_PAGES = "SELECT path FROM papers WHERE releases != ''"
_OF_COPIES = frozenset({"copy-signed-apart", "copy-written-otherwise"})
_CLOSED = """
SELECT id, raised_in, reports.number, description, MIN(ordered) FROM nonconformances JOIN reports USING (path)
WHERE counts AND reports.contract = ? AND area = ? AND nonconformances.status = 'closed'
GROUP BY id, raised_in ORDER BY raised_in, id
"""
_OF_CONTRACT = "SELECT path FROM files WHERE contract = ?"
_FURTHER = "SELECT newest, further FROM numbers_now WHERE contract = ? AND further > 0 ORDER BY pattern"
_REGISTER = """
SELECT upon.row, upon.sha256, upon.number FROM upon JOIN reports USING (path)
WHERE reports.contract = ? ORDER BY upon.row DESC, path LIMIT 1
"""


@dataclass(frozen=True, slots=True)
class Released:
    """A page that was written: where, of which area, by which report, and as of when."""

    path: Path
    area: str
    contract: str
    number: str
    revision: int
    report_sha256: str
    as_of: str
    sha256: str
    further: tuple[FurtherIssues, ...] = ()
    """What the register can hold, by what the reports say, and nobody saw."""
    not_looked_at: tuple[str, ...] = ()
    """What of the folder was not looked at, as an audit names it."""


def release_note(
    area: str,
    folder: Path,
    identity: Identity | None,
    out: Path,
    sent: Sent,
    *,
    contract: str | None = None,
    trust: Sequence[Path] = (),
    policy: Path | None = None,
    registers: Sequence[Path] = (),
    index: Path | None = None,
    at: dt.datetime | None = None,
    spread: Spread | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Released:
    """Audit ``folder`` now and write a signed page on the release of an area, as the reports in it stand.

    Without an identity one is made on the spot and the page says that it is a demonstration.

    Raises:
        UsageError: the area is not released by a proven report, something is open on it, the audit finds a fault or a
            doubt in its contract, several contracts have it, or ``out`` exists.
        SealError, MachineError: the identity cannot sign, the disk failed.
    """
    from reportgen.audit import Index, Narrowed, own_key
    from reportgen.certificates import misnamed
    from reportgen.errors import SealError
    from reportgen.issued import ReleaseFile
    from reportgen.pipeline.building import GENERATOR, made_with
    from reportgen.pipeline.filing import DEMONSTRATION_SIGNER, signer_block
    from reportgen.seal import demo_identity
    from reportgen.submittal import refuse_taken

    refuse_taken(out)
    moment = (at or now()).astimezone(dt.UTC).replace(microsecond=0)
    signer = identity or demo_identity(DEMONSTRATION_SIGNER, moment)
    why = misnamed(signer.certificate, signer.name, sent.organisation)
    if why is not None:
        raise SealError(f"the page would not name the signer: {why}")
    done = audit(
        folder,
        trust=trust,
        policy=policy,
        registers=registers,
        index=index,
        spread=spread,
        at=moment,
        progress=progress,
    )
    with Index.read(done.index, key=own_key()) as opened:
        found = _looked_up(opened, done.audit, Narrowed(area=area, contract=contract), sent.language)
        found = found._replace(noted=(*found.noted, *_not_looked_at(done.audit, sent.language)))
        people = opened.rows("SELECT DISTINCT member, value FROM requirements WHERE part = 'people'")
    sent = sent.visible()
    signing = signer_block(signer, sent, ((name, value) for name, value in people), made_up=identity is None)
    content = ReleaseFile(
        GENERATOR,
        f"{moment:%Y-%m-%dT%H:%M:%SZ}",
        done.audit.verified_at.replace("T", " ").replace("+00:00", " UTC"),
        **found._asdict(),
        signer=signing.name,
        role=signing.role,
        organisation=signing.organisation,
        status="demonstration" if signer.demonstration else "issue",
        language=sent.language,
        made_with=made_with(),
    )
    digest, one = _write(content, signer, out), content.released
    its = (one.area, one.contract, one.number, one.revision, one.sha256)
    return Released(out, *its, content.as_of, digest, content.further or (), done.audit.not_looked_at)


class _LookedUp(NamedTuple):
    """What a release rests on: members of a ``ReleaseFile`` by their names."""

    released: ReleasedArea
    closed: tuple[ClosedItem, ...]
    gauges: tuple[GaugeUsed, ...]
    register: str
    noted: tuple[NotedByAudit, ...]
    further: tuple[FurtherIssues, ...] | None


def _looked_up(index: Index, found: Audit, asked: Narrowed, language: str) -> _LookedUp:
    from reportgen.audit import ask, spoilt_in
    from reportgen.issued import ClosedItem, FurtherIssues, NotedByAudit, gauges_used, named_area, released_area

    heads, rows, _ = ask(index, "areas", asked)
    stands = [dict(zip(heads, row, strict=True)) for row in rows]
    if len(stands) != 1:
        named = ", ".join(sorted({str(one["contract"]) for one in stands}))
        raise UsageError(f"several contracts have an area `{asked.area}`: {named}", help_text="name one: --contract")
    (one,) = stands
    items = ask(index, "open", replace(asked, contract=str(one["contract"])))
    own = {path for (path,) in index.rows(_OF_CONTRACT, str(one["contract"]))}
    silent = {*(path for (path,) in index.rows(_RELEASE_PAGES)), *spoilt_in(index)}
    envelopes = {path for (path,) in index.rows("SELECT path FROM files WHERE kind = 'submittal'")}
    concerning = tuple(_concerning(found, str(one["contract"]), own, silent, envelopes))
    require_released(one, [dict(zip(items.heads, row, strict=True)) for row in items.rows], concerning)
    deciding, words = index.examined(str(one["file"])), filing_words(language)
    record = deciding.record
    decided = None if record is None else named_area(record, str(one["area"]))
    if record is None or decided is None:
        raise MachineError("the index does not hold the report that it names")
    answer = deciding.verification
    covered = next(iter(answer.covered), None)
    released = released_area(record, decided, file=str(one["file"]), sha256=answer.sha256, covered=covered)
    closed = index.rows(_CLOSED, one["contract"], released.area)
    register = index.rows(_REGISTER, one["contract"])
    told = [words("release.row", row=row, sha256=sha256, number=number) for row, sha256, number in register if row]
    return _LookedUp(
        released,
        tuple(ClosedItem(name, raised, closed_in, what) for name, raised, closed_in, what, _ in closed),
        gauges_used(record, decided),
        next(iter(told), ""),
        tuple(NotedByAudit(problem.code, printable(said(problem.sentence, language))) for problem in concerning),
        tuple(FurtherIssues(*row) for row in index.rows(_FURTHER, one["contract"])) or None,
    )


def _not_looked_at(found: Audit, language: str) -> Iterator[NotedByAudit]:
    """Yield which files of the folder were not looked at: a report among them may decide otherwise."""
    from reportgen.issued import NotedByAudit, not_looked_at

    told = not_looked_at(found.not_looked_at)
    if told is not None:
        yield NotedByAudit("papers", printable(said(told, language)))


def _concerning(
    found: Audit, contract: str, own: set[str], silent: set[str], envelopes: set[str]
) -> Iterator[Problem]:  # fmt: skip
    """Yield what was found in a contract, in files of it, or in no contract: what may belong to this one.

    Papers say nothing of it, nor do ``silent`` files: release pages, whoever signed them, and spoilt copies of files
    that are there and proven. Who signed copies of one of the ``envelopes`` of submittals does not matter: the reports
    inside are the same, and speak for themselves.
    """
    for problem in found.problems:
        if problem.code in _OF_COPIES and envelopes.issuperset(problem.files):
            continue
        if problem.code == "papers" or (problem.files and silent.issuperset(problem.files)):
            continue
        if not problem.contract or contract in problem.contract.split(", ") or own & set(problem.files):
            yield problem


def require_released(one: dict[str, Any], items: Sequence[dict[str, Any]], concerning: Sequence[Problem]) -> None:
    """Refuse what is not released by a proven report, has something open, or is of a contract with a fault or doubt.

    ``one`` and ``items`` are rows of the questions *areas* and *open*, ``concerning`` what was found in the contract.
    """
    from reportgen.issued import OF_ITS_AREA

    area, contract = one["area"], one["contract"]
    elsewhere = {problem for problem in concerning if problem.code in OF_ITS_AREA and problem.area not in ("", area)}
    against = [one for one in concerning if one.weight in ("fault", "doubt") and one not in elsewhere]
    found = [f"{one.code}: {printable(one.sentence)}" for one in against]
    if one["state"] not in ("released", "coated"):
        why = found * (one["state"] in ("disputed", "unproven"))
        raise UsageError("; ".join([f"area {area} of {contract} is not released: {one['state']}", *why]))
    if one["standing"] != "proven":
        raise UsageError(
            f"area {area} of {contract} is released by {one['file']}, which is not proven: {one['standing']}",
            help_text="`reportgen verify` on it says why; --trust names the authority",
        )
    faults = [f"{item['kind']}: {item['what']}" for item in items]
    if one["open_items"] or faults:
        what = "; ".join(filter(None, dict.fromkeys([str(one["open_items"] or ""), *faults])))
        raise UsageError(f"something is open on area {area} of {contract}: {what}")
    if against:
        what = "; ".join(found)
        raise UsageError(
            f"area {area} of {contract} is not said to be released, as the audit finds in its contract: {what}",
            help_text="clear each up first: `reportgen explain CODE` says how",
        )


def unsigned_page(content: ReleaseFile) -> tuple[bytes, Rendered]:
    """Return the page with its data inside, before it is signed; the same data give the same bytes."""
    from reportgen.archival import MIME_TYPES, Attachment, Metadata, make_archival
    from reportgen.issued import RELEASE_NAME, render_release_file
    from reportgen.pdf.signing import SignerBlock
    from reportgen.submittal.pages.release import ReleaseNote, render_release

    data, at = render_release_file(content), dt.datetime.fromisoformat(content.issued_at).astimezone(dt.UTC)
    signer = SignerBlock(content.signer, content.role, content.organisation)
    rendered = render_release(ReleaseNote(content, signer, at, hashlib.sha256(data).hexdigest()))
    one = content.released
    pdf = make_archival(
        rendered.pdf,
        metadata=Metadata(
            title=f"{filing_words(content.language)('release.title', area=one.area)}, {one.contract}",
            number=f"{one.contract} {one.area}",
            issued=at,
            producer=content.generator,
            author=content.organisation or content.signer,
            language=content.language,
        ),
        attachments=[Attachment(RELEASE_NAME, data, MIME_TYPES[".json"], "Data", "what this page says, as data")],
    )
    return pdf, rendered


def _write(content: ReleaseFile, signer: Identity, out: Path) -> str:
    """Write the page with its data inside, signed; return its SHA-256."""
    from reportgen.seal import seal_file

    pdf, rendered = unsigned_page(content)
    stream = io.BytesIO(pdf)
    page, *corners = rendered.signature_box
    box = (page + 1, corners[0], corners[1], corners[2], corners[3])
    at = dt.datetime.fromisoformat(content.issued_at).astimezone(dt.UTC)
    seal_file(stream, signer, at=at, location=content.released.project, box=box)
    signed = stream.getvalue()
    atomicfile.write_new(out, signed)
    return hashlib.sha256(signed).hexdigest()
