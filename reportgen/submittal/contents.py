"""From the records of verified reports to what a submittal prints. No file, no page."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from reportgen.errors import UsageError
from reportgen.issued import SUBMITTAL_NAME, Listed, render_list
from reportgen.layout.submittal.model import AreaEvent, AreaHistory, IndexRow, LogRow, Submittal
from reportgen.submittal.trends import groups_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from reportgen.issued import Examined, NonconformanceRecord, ReportRecord
    from reportgen.layout.issue import SignerBlock

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
    """A report with its record and the name it gets inside the submittal."""

    file: str
    examined: Examined
    record: ReportRecord


def enclosed(examined: Sequence[Examined]) -> list[Enclosed]:
    """Return the reports in the order of the contract, each once.

    Raises:
        UsageError: when there is none, they belong to several contracts, or one revision lies there in two versions.
    """
    by_hash = {one.verification.sha256: one for one in examined}
    found = [(one.record, one) for one in by_hash.values() if one.record is not None]
    found.sort(key=lambda pair: _order(pair[0]))
    contracts = dict.fromkeys(record.contract for record, _ in found)
    if not found:
        raise UsageError("there is no report to submit")
    if len(contracts) > 1:
        raise UsageError(
            f"the reports belong to {len(contracts)} contracts ({', '.join(contracts)})",
            help_text="make a submittal for each",
        )
    seen: dict[tuple[str, int], str] = {}
    for record, one in found:
        if seen.setdefault((record.number, record.revision), one.verification.sha256) != one.verification.sha256:
            raise UsageError(f"there are two different files for {record.title}", help_text="leave one out")
    return [Enclosed(name, one, record) for name, (record, one) in zip(_names(found), found, strict=True)]


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
    first = reports[0].record
    latest = _latest(reports)
    valid = [one.record for one in reports if latest[one.record.number] == one.record.revision]
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
        reports=tuple(_index_row(one, latest[one.record.number], sent) for one in reports),
        areas=_histories(valid),
        groups=groups_of(valid),
        nonconformances=log_of(valid),
        page=sent.page,
        language=sent.language,
    ), listed


def _latest(reports: Sequence[Enclosed]) -> dict[str, int]:
    latest: dict[str, int] = {}
    for one in reports:
        latest[one.record.number] = max(one.record.revision, latest.get(one.record.number, 0))
    return latest


def _listed(one: Enclosed, sent: Transmittal) -> Listed:
    answer, record = one.examined.verification, one.record
    copied = sent.copied_pages.get(answer.sha256, 0)
    return Listed(one.file, answer.sha256, answer.size, record.number, record.revision, record.date, copied)


def _index_row(one: Enclosed, latest: int, sent: Transmittal) -> IndexRow:
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
        superseded_by=latest if latest != record.revision else None,
        copied_pages=sent.copied_pages.get(answer.sha256, 0),
    )


def _histories(records: Sequence[ReportRecord]) -> tuple[AreaHistory, ...]:
    """Return the areas in the order in which reports first name them, within their structures."""
    events: dict[str, list[AreaEvent]] = {}
    names: dict[str, tuple[str, str]] = {}
    for record in records:
        coated = {surface.area for surface in record.surfaces if surface.coated}
        for area in record.areas:
            names[area.id] = (area.name, area.structure_name)
            events.setdefault(area.id, []).append(
                AreaEvent(record.date, record.number, record.revision, area.verdict, area.decision, area.id in coated)
            )
    structures = list(dict.fromkeys(structure for _, structure in names.values()))
    order = sorted(names, key=lambda area: (structures.index(names[area][1]), area))
    return tuple(AreaHistory(area, *names[area], tuple(events[area])) for area in order)


def log_of(records: Sequence[ReportRecord]) -> tuple[LogRow, ...]:
    """Return each nonconformance as the last of ``records`` (in order) that names it left it, open ones first."""
    last: dict[str, tuple[NonconformanceRecord, ReportRecord]] = {}
    for record in records:
        for state in record.nonconformances:
            last[state.id] = (state, record)
    rows = [_log_row(state, record) for state, record in last.values()]
    return tuple(sorted(rows, key=lambda row: (_OPEN_FIRST[row.status], row.id)))


def _log_row(state: NonconformanceRecord, record: ReportRecord) -> LogRow:
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
    )
