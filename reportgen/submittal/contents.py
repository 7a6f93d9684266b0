"""From the records of verified reports to what a submittal prints. No file, no page."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from itertools import pairwise
from operator import attrgetter
from typing import TYPE_CHECKING, Literal, NamedTuple

from reportgen.diagnostics import printable
from reportgen.errors import UsageError
from reportgen.issued import (
    COUNTERSIGNER,
    SUBMITTAL_NAME,
    Cover,
    Judged,
    Listed,
    SubmittalList,
    changes,
    found_of,
    in_favour,
    listed_otherwise,
    render_list,
    standing_of,
)
from reportgen.names import full_title
from reportgen.register import astray, forks
from reportgen.submittal.contract_now import contract_now, listings
from reportgen.submittal.enclosing import enclosed, fields_signed_apart
from reportgen.submittal.histories import by_successors, gone, held_by, histories, holding, log_of
from reportgen.submittal.open_items import open_items
from reportgen.submittal.pages.model import IndexRow, Submittal
from reportgen.submittal.trends import groups_of
from reportgen.words.told import told

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from reportgen.issued import Examined, RegisterRead
    from reportgen.pdf.signing import SignerBlock
    from reportgen.register import Issue
    from reportgen.submittal.enclosing import Enclosed
    from reportgen.words.told import Told


@dataclass(frozen=True, slots=True)
class Transmittal:
    """What the sender says: reference, recipient (the client without one), remarks, who signs, when, and how."""

    at: dt.datetime
    signer: SignerBlock
    version: str
    reference: str | None = None
    recipient: str | None = None
    remarks: str = ""
    status: Literal["issue", "demonstration"] = "issue"
    page: Literal["A4", "letter"] = "A4"
    language: str = "en"
    copied_pages: Mapping[str, int] = field(default_factory=dict)
    """Pages of each original, by its SHA-256, when copies of them are appended."""
    partial: str | None = None
    """Why reports were left out."""
    made_with: Mapping[str, str] = field(default_factory=dict)
    """Versions of the libraries that decide how pages come out."""
    registers: tuple[RegisterRead, ...] = ()
    """Those of the contract that the sender held the reports against."""


def submittal_of(examined: Sequence[Examined], sent: Transmittal) -> tuple[Submittal, bytes]:
    """Return what the submittal prints, and the list of originals that is embedded with them.

    Raises:
        UsageError: as ``enclosed``.
    """
    reports = enclosed(examined)
    pooled = best_proven([one for one in reports if one.counts])
    first, upon = pooled[0].record, _upon(reports)
    reference, recipient = sent.reference or f"{first.contract}, {sent.at:%Y-%m-%d}", sent.recipient or first.client
    listed = render_list(
        SubmittalList(
            generator=f"reportgen {sent.version}",
            issued_at=sent.at.strftime("%Y-%m-%dT%H:%M:%SZ"),
            reference=reference,
            reports=tuple(_listed(one, sent, upon) for one in reports),
            cover=Cover(
                sent.signer.name, sent.signer.role, sent.signer.organisation, recipient, sent.remarks, sent.status,
                sent.page, sent.language, sent.partial, sent.registers or None,
            ),
            made_with=sent.made_with,
        )
    )  # fmt: skip
    log = log_of(reports, pooled)
    held = held_by(log)
    areas = histories(reports, pooled, held)
    standing, left = {area.id: area.decision for area in areas}, gone(reports)
    return Submittal(
        reference=reference,
        at=sent.at,
        status=sent.status,
        contract=first.contract,
        project=first.contract_name,
        client=first.client,
        contractor=first.contractor,
        body=first.body,
        recipient=recipient,
        remarks=sent.remarks,
        signer=sent.signer,
        version=sent.version,
        list_name=SUBMITTAL_NAME,
        list_sha256=hashlib.sha256(listed).hexdigest(),
        reports=tuple(_index_row(one, sent, held, standing) for one in reports),
        areas=areas,
        groups=groups_of([one.record for one in pooled]),
        nonconformances=log,
        gone=left,
        left_out=sum(one.counts for one in reports) - len(pooled),
        differing=(*_differing(reports, pooled), *_in_favour(reports), *by_successors(reports), *_forked(reports)),
        page=sent.page,
        language=sent.language,
        partial=sent.partial,
        open_items=open_items(areas, log, reports, pooled, sent.at, left),
        **contract_now(areas, reports, pooled, sent.registers, left)._asdict(),
    ), listed


def _differing(reports: Sequence[Enclosed], pooled: Sequence[Enclosed]) -> Iterator[Told]:
    """Yield a sentence for each further way in which the number of the contract is written, for each field that copies
    have signed apart, and for each change of the project file, revisions replaced since included.
    """
    first, *others = dict.fromkeys(one.record.contract for one in reports)
    yield from (told("contract-also-written", contract=first, others=(other,)) for other in others)
    yield from fields_signed_apart(reports)
    proven = any(one.standing.proven for one in pooled)
    judged = [
        Judged(
            told("a-revision", number=one.record.number, revision=one.record.revision), one.record.date,
            proven and not one.standing.proven, one.record.requirements, one.file,
        )
        for one in reports
        if one.counted and one.record.requirements
    ]  # fmt: skip
    yield from (one.sentence for one in changes(judged, lambda requirements: requirements))
    yield from (one.sentence for one in listed_otherwise(listings(reports)))


def _in_favour(reports: Sequence[Enclosed]) -> Iterator[Told]:
    """Yield a sentence for each area of which a revision finds better than the one before it."""
    records = sorted((one.record for one in reports if one.counted), key=attrgetter("number", "revision"))
    for before, after in pairwise(records):
        was = {area.id: found_of(area, before) for area in before.areas if before.number == after.number}
        for area in (area for area in after.areas if area.id in was):
            now, earlier = (after.revision, found_of(area, after)), (before.revision, was[area.id])
            sentence = in_favour(after.number, area.id, earlier, now, after.supersedes_reason or "")
            yield from () if sentence is None else (sentence,)


def _upon(reports: Sequence[Enclosed]) -> list[Issue | None]:
    return [None if one.place == "set aside" else one.examined.upon for one in reports]


def _forked(reports: Sequence[Enclosed]) -> Iterator[Told]:
    """Yield a sentence for each report that counts and revises one that is not enclosed, and for each row of a register
    upon which several were issued; none set aside accuses another.
    """
    for record, lacks in [(one.record, one.lacks) for one in reports if one.counts]:
        if lacks is not None:
            what = told("a-revision", number=record.number, revision=record.revision)
            yield told("revised-not-enclosed", what=what, revision=lacks.revision, sha256=lacks.sha256)
    upon = _upon(reports)
    issues = [replace(one, lies=_stated(one, upon)) for one in upon if one is not None]
    for fork in forks(issues):
        yield told("register-forked-beside", why=fork.sentence)
    yield from (one.sentence for one in astray(issues))


def _stated(issue: Issue, upon: Sequence[Issue | None]) -> tuple[str, ...]:
    """Return the unusual path that the row states which an issue left, where one of ``upon`` proves it by its row.

    Where the files lie now counts for nothing else: whoever makes the pages again does not know it.
    """
    path = issue.path_in({one.sha256 for one in upon if one is not None})
    return () if path is None or path in issue.files else (path,)


class AreaTogether(NamedTuple):
    """How an area stands by several reports, None where none names it, and the nonconformances on it, or on no area in
    particular, that are open and that are closed.
    """

    decision: str | None
    open: tuple[str, ...]
    closed: tuple[str, ...]


def area_now(examined: Iterable[Examined], area: str) -> AreaTogether | None:
    """Return how reports of one contract leave an area, as a submittal of them says it.

    None where they contradict each other, as two different files of a revision do of which neither is better proven.
    """
    try:
        reports = enclosed([one for one in examined if one.verification.overall != "failed"])
    except UsageError:
        return None
    pooled = best_proven([one for one in reports if one.counts])
    log = log_of(reports, pooled)
    on_it = [row for row in log if row.counts and (not row.area or printable(row.area) == area)]
    named = [one.decision for one in histories(reports, pooled, held_by(log)) if printable(one.id) == area]
    still = [tuple(row.id for row in on_it if row.status == status) for status in ("open", "closed")]
    return AreaTogether(next(iter(named), None), *still)


def best_proven(reports: Sequence[Enclosed]) -> list[Enclosed]:
    """Return those that the roll-up rests on: the proven ones, else those whose signer is proven, else all."""
    proven = [one for one in reports if one.standing.proven]
    return proven or [one for one in reports if one.standing.known] or list(reports)


def _listed(one: Enclosed, sent: Transmittal, upon: Sequence[Issue | None]) -> Listed:
    answer, record = one.examined.verification, one.record
    copied, own = sent.copied_pages.get(answer.sha256, 0), one.examined.upon
    later = [name.removeprefix(COUNTERSIGNER) for name in standing_of(answer).doubts if name.startswith(COUNTERSIGNER)]
    return Listed(
        one.file, answer.sha256, answer.size, record.number, record.revision, record.date, copied,
        doubts=tuple(dict.fromkeys(reason.name for reason in answer.reasons)),
        later_doubts=tuple(sorted(later)),
        notices=tuple(notice.name for notice in answer.notices),
        registered_as=None if own is None else next(iter(_stated(own, upon)), None),
    )  # fmt: skip


def _index_row(
    one: Enclosed, sent: Transmittal, held: Mapping[str, Sequence[str]], standing: Mapping[str, str]
) -> IndexRow:  # fmt: skip
    """Return a report as listed; by ``standing``, the decisions on areas as they stand, one to rework is on no hold."""
    record, answer = one.record, one.examined.verification
    signers = [signer.subject.split(",")[0] for signer in answer.signers]
    remarks = dict.fromkeys([*(one.name for one in answer.reasons), *(one.name for one in answer.notices)])
    return IndexRow(
        file=one.file,
        number=record.number,
        revision=record.revision,
        date=record.date,
        issued_at=record.issued_at.replace("T", " ").removesuffix("Z")[:16],
        verdict=record.verdict,
        areas=tuple((area.id, area.told, area.part is not None) for area in record.areas),
        signer=", ".join(signers),
        signature=answer.overall,
        remarks=tuple(remarks),
        sha256=answer.sha256,
        place=one.place,
        beside=one.beside,
        copied_pages=sent.copied_pages.get(answer.sha256, 0),
        photos=sum(one.photos for one in record.surfaces),
        held=tuple(
            (area.id, name)
            for area in record.areas
            if one.counts and area.decision == "release" and standing.get(area.id) != "rework"
            for name in holding(held, area.id)
        ),
    )


_BESIDE = {
    "same revision": "is less proven than another file of that revision, and does not count",
    "set aside": "is less proven than revision {}, and does not count",
    "disputed": "is disputed, as revision {} counts too",
    "not entitled": (
        "is disputed: revision {} does not name its signer in the role or the organisation of its inspector; it does"
        " not count"
    ),
    "copy": "is enclosed in more than one copy, as their signatures differ",
}


def contradictions(content: Submittal) -> tuple[str, ...]:
    """Return a sentence for each report, area and nonconformance where what one file says does not count."""
    placed = [
        (row, "same revision" if row.place == "set aside" and row.beside == row.revision else row.place)
        for row in content.reports
    ]
    reports = [f"{full_title(row)} {_BESIDE[place].format(row.beside)}" for row, place in placed if place in _BESIDE]
    areas = [
        f"{', '.join(area.contested)} says otherwise of area {area.id} than {area.by}, which is better proven"
        for area in content.areas
        if area.contested
    ]
    areas += [
        f"{', '.join(area.barred)} says otherwise of area {area.id} than {area.by}, which it may not revise"
        for area in content.areas
        if area.barred
    ]
    left = [f"{row.silent} says nothing of {row.id}, which stays open" for row in content.nonconformances if row.silent]
    left += [
        f"{', '.join(row.barred)} says otherwise of {row.id} than {row.last_in}, and may not"
        for row in content.nonconformances
        if row.barred
    ]
    left += [
        f"{one.by} says nothing of area {one.area}, of which {one.report} said {one.decision}" for one in content.gone
    ]
    return (*reports, *areas, *left, *content.differing)
