"""What an earlier report of the same steel found too little measured, and no report has entered since."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.names import spelt_alike
from reportgen.results import Outcome
from reportgen.results.codes import sampling as codes
from reportgen.results.facts import Place

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.results import Finding
    from reportgen.rules.nonconformances import Inspected
    from reportgen.rules.scene import AreaView, JobView, SurfaceView


@dataclass(frozen=True, slots=True)
class _Short:
    """A surface that lacked locations: area, apparatus, blasting, the report that said so, and who else was there."""

    area: str
    apparatus: str
    blasted: tuple[dt.datetime, dt.datetime]
    report: str
    others: tuple[str, ...]


def unmeasured_before(day: Inspected, earlier: Sequence[Inspected]) -> Outcome[None]:
    """Find what was too little measured in an earlier report while this one enters only steel beside it.

    To leave a surface out measures nothing. It is settled by its entry in a later report, whose own rules then speak of
    it, or where every entry of the area was blasted after it: by the same apparatus or one that was not there before.

    Parameters:
        day: the day of the report.
        earlier: the days before it that count, oldest first.
    """
    short: dict[_Short, None] = {}
    for before in earlier:
        short = {one: None for one in short if not _settled(one, before.view)}
        short.update(dict.fromkeys(_short(before)))
    inspected = {area.id for area in day.view.areas}
    left = [one for one in short if one.area in inspected and not _settled(one, day.view)]
    clause = day.view.specification.sampling.clause
    facts = [(_facts(one, day.view), Place(one.area)) for one in left]
    return Outcome(
        (),
        tuple(codes.SURFACE_NOT_MEASURED.found(one, place, clause=clause) for one, place in facts),
        measure_next=tuple(codes.ENTER_SURFACE.due(one, place, apparatus=one.apparatus) for one, place in facts),
    )


def _facts(short: _Short, view: JobView) -> codes.UnmeasuredBefore:
    start, end = (view.printed(instant) for instant in short.blasted)
    return codes.UnmeasuredBefore(short.apparatus, start, end, short.report)


def _settled(short: _Short, view: JobView) -> bool:
    records = [one for one in view.job.day.surfaces if one.area == short.area]
    spans = [(one.apparatus, view.at(one.blasted.start), view.at(one.blasted.end)) for one in records]
    start, end = short.blasted
    entered = any(
        spelt_alike(apparatus, short.apparatus) and began < max(end, start) and start < max(ended, began)
        for apparatus, began, ended in spans
    )
    new = any(not any(spelt_alike(apparatus, other) for other in short.others) for apparatus, _, _ in spans)
    return entered or (new and all(began >= end for _, began, _ in spans))


def _short(day: Inspected) -> Iterator[_Short]:
    """Yield the surfaces of a day that lack locations."""
    number = day.job.day.report.number
    areas = {area.id: area for area in day.view.areas}
    for finding in day.findings:
        area = areas.get(finding.area or "")
        if area is not None:
            for one in _lacking(finding, area, day.view):
                own, there = one.record.apparatus, {each.record.apparatus for each in area.surfaces}
                others = sorted(name for name in there if not spelt_alike(name, own))
                yield _Short(area.id, own, one.blasted, number, tuple(others))


def _lacking(finding: Finding, area: AreaView, view: JobView) -> list[SurfaceView]:
    """Return the surfaces that a finding says lack locations, as far as it tells which."""
    facts = finding.facts
    if isinstance(facts, codes.Unmeasured):
        return [
            one
            for one in area.surfaces
            if (one.record.apparatus, view.printed(one.blasted[0])) == (facts.apparatus, facts.start)
        ]
    if isinstance(facts, codes.PartShort):
        return [one for one in area.surfaces if one.record.apparatus == facts.apparatus]
    if isinstance(facts, codes.AreaShort):
        alone = len({one.record.apparatus for one in area.surfaces}) == 1
        return [one for one in area.surfaces if alone or not one.readings]
    return []
