"""From the examination of a file to its rows in the tables of the index, which ``schema.sql`` describes."""

from __future__ import annotations

import hashlib
import json
from dataclasses import astuple, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from reportgen.formats import canonical_json
from reportgen.issued import NOT_STATED, document_of, filed, found_of, limits_of, standing_of
from reportgen.verification import Reason
from reportgen.words.told import plain_told, told, told_from_json, told_json

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from reportgen.issued import Examined, Filed, ReportRecord, RequirementRecord, SurfaceRecord
    from reportgen.issued.papers import Paper
    from reportgen.issued.record import PartRecord
    from reportgen.names import Pin
    from reportgen.register import Issue
    from reportgen.verification import Signer, Verification

OF_A_FILE = (
    "reports", "papers", "upon", "left_as", "areas", "nonconformances", "findings", "earlier", "enclosed", "uses",
    "surfaces", "locations", "reading_sets", "conditions", "photos", "scatter",
)  # fmt: skip
"""Tables whose rows are each of one file."""
SHARED = ("requirements", "projects", "planned_areas", "instruments")
"""Tables of what several files say, once for all of them: its hash is the key."""
_OF_A_SIGNER = ("kind", "subject", "fingerprint", "claimed_time", "proven_time", "left_sha256")
Rows = tuple[str, list[tuple[Any, ...]]]


def rows_of(path: str, examined: Examined) -> Iterator[Rows]:
    """Yield the rows of a file by table."""
    answer, record = examined.verification, examined.record
    named = {one.field: one.name for one in answer.signatories}
    signers = [_signer(signer, named.get(signer.field)) for signer in answer.signers]
    if record is not None and record.contract == NOT_STATED:  # reports of contracts unknown are not of one contract
        record = replace(record, contract=f"{NOT_STATED} ({path})")
    notices = plain_told([Reason(notice.name, notice.sentence) for notice in answer.notices])
    claims = (None, None, None) if record is None else (record.contract, record.number, record.revision)
    file, inside = (path, "") if examined.inside is None else (path[: -len(examined.inside) - 1], examined.inside)
    yield "files", [(
        path, file, inside, answer.sha256, answer.size, examined.kind, standing_of(answer).level(answer.overall),
        answer.overall, _json(plain_told(answer.reasons)), _json(signers), answer.verified_at, *claims, claims[0],
        _json(notices), answer.holds_until, answer.broke_off, _covered(answer), None,
    )]  # fmt: skip
    if record is not None and answer.overall != "failed":
        yield from _of_report(path, answer, record)
    papers = [] if examined.paper is None or examined.kind != "paper" else [examined.paper]
    yield (
        "papers",
        [(path, one.title, one.text, one.ours, "", one.releases, *_released(one), one.draft) for one in papers],
    )
    if examined.upon is not None:
        yield "upon", _upon(path, answer, examined.upon)
    yield "enclosed", [(path, one.sha256, one.number, one.revision) for one in examined.listed]


def _covered(answer: Verification) -> str:
    """Return what the first signature covers; where that is not known, the file as it left it, or as it is."""
    return next(iter((*answer.covered, *(one.left_sha256 for one in answer.signers), answer.sha256)))


def _released(paper: Paper) -> tuple[str, str, str, int | None, str, str]:
    if paper.released is None:
        return "", "", "", None, "", ""
    one = paper.released.released
    return one.contract, one.area, one.number, one.revision, one.sha256, one.covered or ""


def _signer(signer: Signer, named: str | None) -> dict[str, object]:
    return {name: getattr(signer, name) for name in _OF_A_SIGNER} | {"named": named}


def _upon(path: str, answer: Verification, one: Issue) -> list[tuple[Any, ...]]:
    """Return the row of a register that a file was issued upon; none where more than a register speaks against it."""
    failing = {reason.name for reason in answer.reasons if reason.weight == "failed"}
    doubted = {reason.name for reason in answer.reasons} != failing
    if not failing <= {"REGISTER_DISAGREES"}:
        return []
    row = (one.number, one.revision, one.area, one.contract, one.sequence, one.sha256)
    return [(path, *row, canonical_json(one).decode(), int(doubted))]


def _of_report(path: str, answer: Verification, record: ReportRecord) -> Iterator[Rows]:
    replaced = (record.supersedes_revision, record.supersedes_sha256, record.supersedes_reason)
    claim = filed(answer, record)
    standing = claim.standing
    versions = [_version(record.requirements), _version(limits_of(record))]
    yield "requirements", [(versions[0], one.part, one.member, one.value) for one in record.requirements]
    yield "reports", [(
        path, answer.sha256, record.contract, record.number, record.revision, record.number_pattern, record.date,
        record.order, record.began, record.ended, record.site, record.project_sha256,
        record.issued_at, record.status, record.verdict, record.inspector, *replaced, record.day_sha256,
        answer.overall, standing.level(answer.overall), answer.holds_until, " ".join(sorted(standing.doubts)),
        standing.certificate, standing.name, _json(_hands(claim, answer)), " ".join(claim.hashes), "decides", 1,
        *versions, document_of(record), 0,
    )]  # fmt: skip
    yield "left_as", [(path, digest) for digest in claim.hashes]
    yield from _of_project(record)
    yield from _of_areas(path, record)
    yield "nonconformances", [
        (path, one.id, one.area, one.status, one.disposition, one.raised_in, one.description, one.responsible, one.due)
        for one in record.nonconformances
    ]  # fmt: skip
    yield "findings", [
        (path, one.code, one.severity, one.area, _observed(one.observed)) for one in record.findings
    ]  # fmt: skip
    yield "earlier", [(path, one) for one in record.earlier]
    yield "scatter", [
        (path, one.gauge, one.unit, one.dof, one.variance, f"{one.step:f}", one.place) for one in record.scatter
    ]  # fmt: skip
    serials = {one.id: one.serial for one in record.instruments}
    yield "uses", [
        (path, one.instrument, serials.get(one.instrument, ""), one.area, one.purpose, one.first, one.last, one.count)
        for one in record.uses
    ]  # fmt: skip
    yield "conditions", [
        (path, one.place, _json(one.areas), one.at, one.air, one.humidity, one.wet_bulb, one.steel,
         _json(one.instruments))
        for one in record.conditions
    ]  # fmt: skip
    yield "photos", [
        (path, one.area, one.file, one.caption, one.at, one.taken, one.location, one.original, one.look)
        for one in record.photos
    ]  # fmt: skip


_UNKNOWN: Final = told_json(told("in-its-own-words", words=""))


def _observed(found: str) -> str:
    """Return what a file says was observed, where that is what ``told_json`` writes."""
    try:
        return told_json(told_from_json(found))
    except (KeyError, TypeError, ValueError, RecursionError):
        return _UNKNOWN


def _of_project(record: ReportRecord) -> Iterator[Rows]:
    """Yield what the project file of a report lists, once for all reports that were issued by it."""
    key = record.project_sha256
    if not key:
        return
    whose = (record.contract, record.contract_name, record.client, record.contractor, record.body, record.site)
    yield "projects", [(key, *whose, _text(record.minimum), _text(record.maximum), record.unit)]
    yield "planned_areas", [
        (key, one.area, one.name, one.structure, one.structure_name, one.size, one.unit) for one in record.planned
    ]  # fmt: skip
    yield "instruments", [
        (key, one.id, one.serial, one.kind, one.unit, one.resolution, one.accuracy, one.certificate, one.calibrated,
         one.due)
        for one in record.instruments
    ]  # fmt: skip


def _of_areas(path: str, record: ReportRecord) -> Iterator[Rows]:
    coated = {surface.area: surface.coated for surface in record.surfaces if surface.coated}
    yield "areas", [
        (path, area.id, area.structure_name, area.verdict, area.decision, area.unit, area.n_locations,
         _text(area.mean), _text(area.standard_deviation), coated.get(area.id),
         _json(found_of(area, record)[1:]), area.speaks, _part(area.part), area.name, area.required_locations,
         _text(area.minimum), _text(area.maximum))
        for area in record.areas
    ]  # fmt: skip
    yield "locations", [
        (path, area.id, one.id, _text(one.profile), _text(one.compared), _text(one.uncertainty), one.verdict,
         " ".join(map(str, one.spots)), one.apparatus, one.abrasive, one.walk_out, one.place)
        for area in record.areas
        for one in area.locations
    ]  # fmt: skip
    numbered = list(enumerate(record.surfaces, start=1))
    yield "surfaces", [
        (path, number, one.area, one.apparatus, one.abrasive, one.began, one.ended, one.coated,
         one.prime_by, one.cleaned, one.gauge, one.inspector, one.steel)
        for number, one in numbered
    ]  # fmt: skip
    yield "reading_sets", [_reading_set(path, number, one) for number, one in numbered if one.readings]


def _part(part: PartRecord | None) -> str:
    return "" if part is None else told_json(told("part-of-size", part=part.cleaned, whole=part.size))


def _reading_set(path: str, number: int, one: SurfaceRecord) -> tuple[Any, ...]:
    readings = " ".join(map(str, one.readings))
    hashed = hashlib.sha256(f"{one.gauge_unit} {readings}".encode()).digest()[:8]
    steps = [int(value / Decimal(one.digit)) for value in one.readings] if one.digit else []
    return (
        path, number, one.area, one.gauge, one.gauge_unit, len(one.readings), hashed, readings, one.steel,
        _json(one.locations), readings, one.digit, " ".join(map(str, steps)), _json(one.spots), _json(one.rolls),
        _json(one.times),
    )  # fmt: skip


def _hands(claim: Filed, answer: Verification) -> dict[str, object]:
    """Return who signed a report, whose signature it awaits, and whom its job lets do what with it."""
    people = {name: getattr(claim, name) for name in ("may_revise", "may_close", "may_name_successor")}
    named = claim.succession
    return {
        "signer": claim.standing.name,
        "inspector": claim.inspector,
        "signs_with": _pin(claim.signs_with),
        "hand": astuple(claim.hand),
        "countersigned": [astuple(one) for one in claim.countersigned],
        "awaited": [one.name for one in answer.signatories if one.field in answer.unfilled_fields],
        "succession": None if named is None else (named.former, named.named_by, named.evidence, named.still),
        **{name: [(one.name, one.organisation, _pin(one.pin)) for one in several] for name, several in people.items()},
    }


def _pin(pin: Pin | None) -> tuple[str | None, ...] | None:
    return None if pin is None else astuple(pin)


def _version(requirements: Iterable[RequirementRecord]) -> str:
    """Return what is equal where requirements are; empty where nothing is known."""
    stated = [(one.part, one.member, one.value) for one in requirements]
    return hashlib.sha256(_json(stated).encode()).hexdigest()[:32] if stated else ""


def _json(value: object) -> str:
    return json.dumps(value)


def _text(value: object) -> str | None:
    return None if value is None else f"{value:f}"
