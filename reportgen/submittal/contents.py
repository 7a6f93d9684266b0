"""From the records of verified reports to what a submittal prints. No file, no page."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from reportgen.errors import UsageError
from reportgen.issued import SUBMITTAL_NAME, Listed, Said, filed, last_words, places, render_list, successors
from reportgen.submittal.pages.model import AreaEvent, AreaHistory, IndexRow, LogRow, Submittal
from reportgen.submittal.trends import groups_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from reportgen.issued import AreaRecord, Examined, Filed, NonconformanceRecord, Place, ReportRecord, Standing
    from reportgen.pdf.signing import SignerBlock

_OPEN_FIRST = {"open": 0, "closed": 1}


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


@dataclass(frozen=True, slots=True)
class Enclosed:
    """A report with its record, the name it gets inside the submittal, and what becomes of it beside the others.

    ``beside`` is the revision that supersedes it, sets it aside or disputes it.
    """

    file: str
    examined: Examined
    record: ReportRecord
    standing: Standing
    place: Place
    beside: int | None = None

    @property
    def counts(self) -> bool:
        """Whether what the report says counts."""
        return self.place in {"decides", "disputed"}


def enclosed(examined: Sequence[Examined]) -> list[Enclosed]:
    """Return the reports in the order of the contract, each once.

    Of one that was issued once and then countersigned the better proven copy is enclosed, of equal ones that with more
    signatures.

    Raises:
        UsageError: when there is none, they belong to several contracts, or one revision lies there in two versions.
    """
    found = _each_once(examined)
    found.sort(key=lambda pair: _order(pair[0]))
    contracts = dict.fromkeys(record.contract for record, _ in found)
    if not found:
        raise UsageError("there is no report to submit")
    if len(contracts) > 1:
        raise UsageError(
            f"the reports belong to {len(contracts)} contracts ({', '.join(contracts)})",
            help_text="make a submittal for each",
        )
    seen: dict[tuple[str, int], Examined] = {}
    for record, one in found:
        first = seen.setdefault((record.number, record.revision), one)
        if first is not one:
            verdicts = " and ".join(
                f"{other.verification.sha256[:12]}…, {other.verification.overall}" for other in (first, one)
            )
            raise UsageError(
                f"there are two different files for {record.title} (SHA-256 {verdicts})", help_text="leave one out"
            )
    by_number: dict[str, list[Filed]] = {}
    for record, one in found:
        by_number.setdefault(record.number, []).append(filed(one.verification, record))
    placed = {number: _placed(claims) for number, claims in by_number.items()}
    return [
        Enclosed(name, one, record, *placed[record.number][record.revision])
        for name, (record, one) in zip(_names(found), found, strict=True)
    ]


def _each_once(examined: Sequence[Examined]) -> list[tuple[ReportRecord, Examined]]:
    found: dict[str, tuple[ReportRecord, Examined]] = {}
    for one in examined:
        if one.record is not None:
            issued = filed(one.verification, one.record).hashes[0]
            other = found.get(issued)
            if other is None or _weight(one) > _weight(other[1]):
                found[issued] = (one.record, one)
    return list(found.values())


def _weight(one: Examined) -> tuple[bool, int]:
    return one.verification.overall == "passed", len(one.verification.signers)


def _placed(claims: Sequence[Filed]) -> dict[int, tuple[Standing, Place, int | None]]:
    """Return by revision, of which each is there once: its standing, what becomes of it, and beside which revision."""
    found = places(claims)
    placed = {}
    for claim, place, later in zip(claims, found, successors(claims), strict=True):
        beside = {
            "superseded": [claims[one].revision for one in later],
            "set aside": [other.revision for other in claims if other.standing.outdoes(claim.standing)],
            "disputed": [
                other.revision
                for other, becomes in zip(claims, found, strict=True)
                if becomes == "disputed" and other is not claim
            ],
        }
        placed[claim.revision] = (claim.standing, place, max(beside.get(place, []), default=None))
    return placed


def _names(found: Sequence[tuple[ReportRecord, Examined]]) -> list[str]:
    """Return the names of the originals: no two alike, also where capitals do not count, as in `-R1` and `-r1`."""
    stems = [_stem(record) for record, _ in found]
    often = Counter(stem.casefold() for stem in stems)
    return [
        f"{stem}.pdf" if often[stem.casefold()] == 1 else f"{stem}-{one.verification.sha256[:8]}.pdf"
        for stem, (_, one) in zip(stems, found, strict=True)
    ]


def _order(record: ReportRecord) -> tuple[str, str, int]:
    return (record.date, record.number, record.revision)


def _stem(record: ReportRecord) -> str:
    return record.number if record.revision == 0 else f"{record.number}-r{record.revision}"


def submittal_of(examined: Sequence[Examined], sent: Transmittal) -> tuple[Submittal, bytes]:
    """Return what the submittal prints, and the list of originals that is embedded with them.

    Raises:
        UsageError: as ``enclosed``.
    """
    reports = enclosed(examined)
    valid = [one for one in reports if one.counts]
    pooled = best_proven(valid)
    first = pooled[0].record
    reference = sent.reference or f"{first.contract}, {sent.at:%Y-%m-%d}"
    listed = render_list(
        reference,
        f"reportgen {sent.version}",
        sent.at.strftime("%Y-%m-%dT%H:%M:%SZ"),
        tuple(_listed(one, sent) for one in reports),
    )
    return Submittal(
        reference=reference,
        at=sent.at,
        status=sent.status,
        contract=first.contract,
        project=first.contract_name,
        client=first.client,
        contractor=first.contractor,
        body=first.body,
        recipient=sent.recipient or first.client,
        remarks=sent.remarks,
        signer=sent.signer,
        version=sent.version,
        list_name=SUBMITTAL_NAME,
        list_sha256=hashlib.sha256(listed).hexdigest(),
        reports=tuple(_index_row(one, sent) for one in reports),
        areas=_histories(valid, pooled),
        groups=groups_of([one.record for one in pooled]),
        nonconformances=_log_of(valid, pooled),
        left_out=len(valid) - len(pooled),
        page=sent.page,
        language=sent.language,
    ), listed


def best_proven(reports: Sequence[Enclosed]) -> list[Enclosed]:
    """Return those that the roll-up rests on: the proven ones, else those whose signer is proven, else all."""
    proven = [one for one in reports if one.standing.proven]
    return proven or [one for one in reports if one.standing.known] or list(reports)


def _listed(one: Enclosed, sent: Transmittal) -> Listed:
    answer, record = one.examined.verification, one.record
    copied = sent.copied_pages.get(answer.sha256, 0)
    return Listed(one.file, answer.sha256, answer.size, record.number, record.revision, record.date, copied)


def _index_row(one: Enclosed, sent: Transmittal) -> IndexRow:
    record, answer = one.record, one.examined.verification
    signers = [signer.subject.split(",")[0] for signer in answer.signers]
    remarks = [reason.name.replace("_", " ").lower() for reason in answer.reasons]
    return IndexRow(
        file=one.file,
        number=record.number,
        revision=record.revision,
        date=record.date,
        issued_at=record.issued_at.replace("T", " ").removesuffix("Z")[:16],
        verdict=record.verdict,
        areas=tuple((area.id, area.decision) for area in record.areas),
        signer=", ".join(signers),
        signature=answer.overall,
        remark=", ".join(remarks),
        sha256=answer.sha256,
        place=one.place,
        beside=one.beside,
        copied_pages=sent.copied_pages.get(answer.sha256, 0),
    )


def _histories(reports: Sequence[Enclosed], pooled: Sequence[Enclosed]) -> tuple[AreaHistory, ...]:
    """Return the areas in the order in which reports first name them, within their structures.

    They are as the reports ``pooled`` say; an area that only others name is neither released nor coated by them.
    """
    heard = {one.standing.doubts for one in pooled}
    said: dict[str, list[Said[tuple[AreaEvent, AreaRecord]]]] = {}
    for one in reports:
        record = one.record
        coated = {surface.area for surface in record.surfaces if surface.coated}
        for area in record.areas:
            event = AreaEvent(
                record.date, record.number, record.revision, area.verdict, area.decision, area.id in coated
            )
            said.setdefault(area.id, []).append(Said((record.date, record.number), one.standing, (event, area)))
    histories = [_history(statements, heard) for statements in said.values()]
    structures = list(dict.fromkeys(history.structure for history in histories))
    return tuple(sorted(histories, key=lambda history: (structures.index(history.structure), history.id)))


def _history(said: Sequence[Said[tuple[AreaEvent, AreaRecord]]], heard: set[frozenset[str]]) -> AreaHistory:
    weighty = [one for one in said if one.standing.doubts in heard]
    stands, less = last_words(said)
    events = tuple(one.what[0] for one in weighty or said if one not in less)
    coated = any(event.coated for event in events)
    decisions = dict.fromkeys(one.what[0].decision for one in stands)
    last, area = stands[-1].what
    decision: str = last.decision if len(decisions) == 1 else "disputed"
    if not weighty:
        decision = "unproven"
    return AreaHistory(
        area.id,
        area.name,
        area.structure_name,
        events,
        decision=decision,
        by=_title(last),
        contested=tuple(
            _title(event)
            for event in (one.what[0] for one in less)
            if event.decision not in decisions or (event.coated and not coated)
        ),
        proven=all(one.standing.proven for one in stands),
    )


def _title(event: AreaEvent) -> str:
    return f"{event.number} r{event.revision}"


def _log_of(reports: Sequence[Enclosed], pooled: Sequence[Enclosed]) -> tuple[LogRow, ...]:
    """Return each nonconformance as the last report that is proven enough left it, open ones first.

    A number used for two areas is two nonconformances: neither closes the other. One that only others than those
    ``pooled`` name is listed, and does not count.
    """
    heard = {one.standing.doubts for one in pooled}
    said: dict[tuple[str, str | None], list[Said[tuple[NonconformanceRecord, ReportRecord]]]] = {}
    for one in reports:
        for state in one.record.nonconformances:
            when = (one.record.date, one.record.number)
            said.setdefault((state.id, state.area), []).append(Said(when, one.standing, (state, one.record)))
    rows = []
    for statements in said.values():
        stands = last_words(statements)[0]
        left_open = [one for one in stands if one.what[0].status == "open"]
        rows.append(_log_row((left_open or stands)[-1], heard))
    return tuple(sorted(rows, key=lambda row: (_OPEN_FIRST[row.status], row.id)))


def _log_row(said: Said[tuple[NonconformanceRecord, ReportRecord]], heard: set[frozenset[str]]) -> LogRow:
    state, record = said.what
    return LogRow(
        id=state.id,
        area=state.area or "",
        description=state.description,
        disposition=state.disposition,
        decided_by=state.decided_by,
        raised_in=state.raised_in,
        status="closed" if state.status == "closed" else "open",
        last_in=record.number,
        action=state.corrective_action or "",
        evidence=state.evidence or "",
        proven=said.standing.proven,
        counts=said.standing.doubts in heard,
    )


def contradictions(content: Submittal) -> tuple[str, ...]:
    """Return a sentence for each report and area where what one file says does not count, or is disputed."""
    said = {
        "set aside": "is less proven than revision {}, and does not count",
        "disputed": "is disputed, as revision {} counts too",
    }
    reports = [
        f"{row.number} revision {row.revision} {said[row.place].format(row.beside)}"
        for row in content.reports
        if row.place in said
    ]
    areas = [
        f"{', '.join(area.contested)} says otherwise of area {area.id} than {area.by}, which is better proven"
        for area in content.areas
        if area.contested
    ]
    return (*reports, *areas)
