"""How complete a contract is by the reports of a submittal: by what it lists, not by what they happen to name."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from reportgen.issued import (
    AreaDecided,
    Completeness,
    Listing,
    Numbered,
    Numbers,
    PlannedAreaRecord,
    completeness,
    formerly_listed,
    in_sequence,
    limits_of,
    numbers_of,
)
from reportgen.names import short_title
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.issued import RegisterRead, ReportRecord
    from reportgen.submittal.enclosing import Enclosed
    from reportgen.submittal.pages.model import AreaHistory, Gone


class ContractNow(NamedTuple):
    """What a submittal says of the whole contract, each by its name there."""

    complete: Completeness
    listed_by: str
    numbers: Numbers | None
    judged_under: tuple[tuple[str, int], ...]


def decided_areas(areas: Sequence[AreaHistory], pooled: Sequence[Enclosed]) -> dict[str, AreaDecided]:
    """Return how each area stands by the reports."""
    spoken = {area.id for one in pooled for area in one.record.areas if area.speaks}
    lists = {short_title(one.record): {each.area: each for each in one.record.planned} for one in pooled}
    return {
        one.id: AreaDecided(
            one.decision, one.id in spoken, one.coated, bool(one.part), lists.get(one.by, {}).get(one.id)
        )
        for one in areas
    }  # fmt: skip


def contract_now(
    areas: Sequence[AreaHistory],
    reports: Sequence[Enclosed],
    pooled: Sequence[Enclosed],
    registers: Sequence[RegisterRead] = (),
    gone: Sequence[Gone] = (),
) -> ContractNow:
    """Return how each area stands that the newest project file lists among the reports ``pooled``, the best proven.

    Where none can be read, the areas are those that the reports name. ``registers`` are those of the contract that were
    given. What a revision leaves out (``gone``) stays as it was, where it was not released and nothing else is said.
    """
    listing = in_sequence((one for one in pooled if one.record.planned), _row, lambda one: _newness(one.record))
    newest = listing[-1].record if listing else None
    planned = [PlannedAreaRecord(one.id, one.name, "", one.structure) for one in areas]
    unreleased = {one.area: AreaDecided(one.decision) for one in gone if one.decision != "release"}
    decided = unreleased | decided_areas(areas, pooled)
    heard = {one.standing.doubts for one in pooled}
    once = [one for one in reports if one.counted and one.record.planned and one.standing.doubts in heard]
    ordered = in_sequence(once, _row, lambda one: _newness(one.record))
    formerly = formerly_listed((short_title(one.record), one.record.planned) for one in ordered)
    whole = completeness(planned if newest is None else newest.planned, decided, formerly)
    by = "" if newest is None else short_title(newest)
    return ContractNow(whole, by, numbers_in(reports, pooled, registers), judged_under(pooled))


def listings(reports: Sequence[Enclosed]) -> list[Listing]:
    """Return the reports that count, or did until a revision replaced them, as far as their lists are compared.

    In the order of their issue; none that is not proven where others are.
    """
    counted = [one for one in reports if one.counted and one.record.planned and one.record.requirements]
    proven = [one for one in counted if one.standing.proven]
    return [listing_of(one) for one in in_sequence(proven or counted, _row, lambda one: _newness(one.record))]


def listing_of(one: Enclosed) -> Listing:
    """Return a report as far as its list is compared with those of others."""
    record = one.record
    return Listing(
        told("a-revision", number=record.number, revision=record.revision), one.file, record.number, not one.counts,
        {area.id: area.decision for area in record.areas if area.inspected},
        {area.area: area for area in record.planned},
        {limit.member: limit.value for limit in limits_of(record)},
        {(each.area, each.id): each.status for each in record.nonconformances if each.area is not None},
        frozenset(area.id for area in record.areas if area.part is not None),
    )  # fmt: skip


def _newness(record: ReportRecord) -> tuple[str, ...]:
    return record.issued_at, record.order, f"{record.revision:04d}"


def _row(one: Enclosed) -> int | None:
    return None if one.examined.upon is None else one.examined.upon.sequence


def numbers_in(
    reports: Sequence[Enclosed], pooled: Sequence[Enclosed], registers: Sequence[RegisterRead]
) -> Numbers | None:
    """Return what was issued by the newest report, as far as it says; what is less proven fills and makes no gap."""
    heard = {one.standing.doubts for one in pooled}
    counting = [one for one in reports if one.counted and one.standing.doubts in heard]
    issues = []
    for one in counting:
        record = one.record
        issues.append(Numbered(record.number, record.revision, record.issued_at, record.number_pattern, _row(one)))
    return numbers_of(issues, registers)


def judged_under(pooled: Sequence[Enclosed]) -> tuple[tuple[str, int], ...]:
    """Return the limits by which areas were last judged, with how many of each; none where all are one."""
    last: dict[str, str] = {}
    records = sorted((one.record for one in pooled), key=_newness)
    for record in records:
        limits = " – ".join(f"{one:f}" for one in (record.minimum, record.maximum) if one is not None)
        if limits:
            last |= {area.id: f"{limits} {record.unit}" for area in record.areas if area.n_locations}
    counts = Counter(last.values())
    return tuple(counts.items()) if len(counts) > 1 else ()
