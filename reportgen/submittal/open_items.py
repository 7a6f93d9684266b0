"""What the reports of a submittal leave to be settled, the oldest first."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from reportgen.names import short_title
from reportgen.submittal.pages.model import OpenItem

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from reportgen.submittal.enclosing import Enclosed
    from reportgen.submittal.pages.model import AreaHistory, Gone, LogRow, OpenKind

_UNDECIDED: Final[Mapping[str, OpenKind]] = {
    one: one for one in ("hold", "not inspected", "rework", "disputed", "unproven")
}


def open_items(
    areas: Sequence[AreaHistory],
    log: Sequence[LogRow],
    reports: Sequence[Enclosed],
    pooled: Sequence[Enclosed],
    at: dt.datetime,
    gone: Sequence[Gone] = (),
) -> tuple[OpenItem, ...]:
    """Return open nonconformances, areas on hold, to be reworked, never inspected, disputed, not proven, or bare past
    their time, and reports of which a signature is awaited.

    An area that is on hold by nothing but an open nonconformance is not told again. One that was not released and that
    a revision leaves out (``gone``) is open as it was.
    """
    spoken = {area.id for one in pooled for area in one.record.areas if area.speaks}
    # on hold by no decision, as nobody inspected it
    stand = [
        replace(area, decision="not inspected") if area.decision == "hold" and area.id not in spoken else area
        for area in areas
    ]
    found = [*_nonconformances(log, pooled, at), *_undecided(stand, at), *_bare(areas, pooled, at)]
    found += [*left_out_open(gone, {area.id for area in areas}, reports, at), *_awaited(reports, at)]
    return tuple(sorted(found, key=lambda one: (one.since, one.kind, one.area, one.id)))


def _nonconformances(log: Sequence[LogRow], pooled: Sequence[Enclosed], at: dt.datetime) -> Iterator[OpenItem]:
    """Yield each that is open, since the report that raised it or, where that is not there, the first that names it."""
    dates = {one.record.number: one.record.date for one in reversed(pooled)}
    named: dict[tuple[str, str], str] = {}
    for record in (one.record for one in pooled):
        for key in ((state.id, state.area or "") for state in record.nonconformances):
            named[key] = min(named.get(key, record.date), record.date)
    for row in log:
        if row.status == "open" and row.counts:
            since = dates.get(row.raised_in) or named.get((row.id, row.area), "")
            yield _item("nonconformance", row.id, row.area, row.description, since, row.raised_in, at)


def _undecided(areas: Sequence[AreaHistory], at: dt.datetime) -> Iterator[OpenItem]:
    """Yield each area that no decision settles, since the first report of the last ones that all say so."""
    for area in areas:
        deciding = [event for event in area.events if short_title(event) == area.by]
        if area.decision not in _UNDECIDED or area.open or not deciding:
            continue
        first = deciding[-1]  # without an inspection, by a report that says it stands bare past its time
        left = {"not inspected": ""}.get(area.decision, "unseen")  # of one that nobody inspected all that is said
        for event in reversed([event for event in area.events if event.decision != left]):
            if event.decision != first.decision:
                break
            first = event
        yield _item(_UNDECIDED[area.decision], "", area.id, area.name, first.date, short_title(first), at)


def left_out_open(
    gone: Sequence[Gone], named: Collection[str], reports: Sequence[Enclosed], at: dt.datetime
) -> Iterator[OpenItem]:
    """Yield each area that a revision leaves out and no report that counts names, since the report replaced by it."""
    records = {short_title(one.record): one.record for one in reports}
    for one in gone:
        if one.decision in _UNDECIDED and one.area not in named:
            record = records[one.report]
            name = next(area.name for area in record.areas if area.id == one.area)
            yield _item(_UNDECIDED[one.decision], "", one.area, name, record.date, one.report, at)


def _bare(areas: Sequence[AreaHistory], pooled: Sequence[Enclosed], at: dt.datetime) -> Iterator[OpenItem]:
    """Yield each area that is released and that no report says was primed, where its time to be is over."""
    records = {short_title(one.record): one.record for one in pooled}
    for area in areas:
        record = records.get(area.by)
        if area.decision != "release" or record is None:
            continue
        until = [
            dt.datetime.fromisoformat(one.prime_by) for one in record.surfaces if one.area == area.id and one.prime_by
        ]
        if until and min(until) < at:
            yield _item("bare", "", area.id, f"{min(until):%Y-%m-%d %H:%M} UTC", record.date, area.by, at)


def _awaited(reports: Sequence[Enclosed], at: dt.datetime) -> Iterator[OpenItem]:
    """Yield each person who has still to sign a report that counts, in none of whose copies the signature is."""
    for one in (one for one in reports if one.counts):
        title = (one.record.number, one.record.revision)
        several = (each for each in reports if (each.record.number, each.record.revision) == title)
        copies = [each.examined.verification for each in several if each is one or each.place == "copy"]
        empty = set.intersection(*(set(each.unfilled_fields) for each in copies))
        for who in copies[0].signatories:
            if who.field in empty:
                name = f"{who.name}, {who.role}"
                yield _item("countersignature", "", "", name, one.record.date, short_title(one.record), at)


def _item(kind: OpenKind, name: str, area: str, what: str, since: str, by: str, at: dt.datetime) -> OpenItem:
    days = (at.date() - dt.date.fromisoformat(since)).days if since else 0
    return OpenItem(kind, name, area, what, since, by, max(0, days))
