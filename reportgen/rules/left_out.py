"""What failed or was in doubt in a report, and is not entered in its revision: of that the revision says nothing.

A revision puts right what was misread. Who leaves out what failed has not shown that it was good, and neither releases
the area by that nor withdraws what was raised.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.measurements import LOGS, TESTS
from reportgen.names import spelt_alike
from reportgen.results.codes.doubts import SERIES_TWICE
from reportgen.results.omitted import (
    AreaOmitted,
    EntryOmitted,
    FindingOmitted,
    LocationsOmitted,
    Omitted,
    TestsOmitted,
)
from reportgen.rules.anew import SERIES_OF, told_in_doubt
from reportgen.rules.entered_before import entries_on
from reportgen.rules.release import effect_of
from reportgen.rules.scene import JobView
from reportgen.rules.what_closes import KIND_OF, PROFILE

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from reportgen.job import Job, Reading, Surface
    from reportgen.results import Evaluation, Finding

_OF_PROFILE: Final = ("reading", "comparison")
_OF_A_PLACE: Final = (*_OF_PROFILE, *(kind.key for kind in TESTS))
_CHECKS: Final = ("gauge_checks", "tape_checks", "function_checks")

Entry = tuple[str, str | None, str | None]
"""What an entry of a place is: its series, its location, and of a reading its spot."""


class Absent(NamedTuple):
    """What is not entered: of ``series`` at a ``location`` of what an ``apparatus`` did; without these, all of that.

    Without an apparatus it is rows of the shift, of all areas; then ``series`` is the field of the day file.
    """

    area: str | None
    apparatus: str | None = None
    series: str | None = None
    location: str | None = None


class Judged(NamedTuple):
    """A report: its job, and what the rules made of it."""

    job: Job
    evaluation: Evaluation

    @property
    def against(self) -> list[Finding]:
        """What failed in it or held an area."""
        return [one for one in self.evaluation.findings if effect_of(one) in ("fails", "holds")]


def absent(finding: Finding, before: Job, own: Job, *, same_blasting: bool = False) -> Iterator[Absent]:
    """Yield what a finding of a report is on, and its revision does not have; with ``same_blasting`` of that steel.

    Where a finding names no location, each entry of its area is there still, and as many rows of the shift.
    """
    places = {finding.location} if finding.location is not None else told_in_doubt(finding)
    if not places:
        yield from _fewer_rows(finding, before, own)
    then, now = JobView(before, again={}), JobView(own, again={})
    for index, record in enumerate(before.day.surfaces):
        if finding.area not in (None, record.area):
            continue
        there = entered(then, record, before.readings[index])
        stood = _at(there, finding, places or {None}, record.apparatus)
        if places and not stood:
            continue
        here: Counter[Entry] = Counter()
        again = [
            (at, one) for at, one in _again(then, record, now)
            if not same_blasting or _overlap(then, record, now, one)
        ]  # fmt: skip
        for at, one in again:
            here += entered(now, one, own.readings[at])
        if not again:
            yield Absent(record.area, record.apparatus)
        for series, location in dict.fromkeys(each[:2] for each in (stood - here if again else ())):
            yield Absent(record.area, record.apparatus, series, location)


def omitted(replaced: Sequence[Judged], own: Judged) -> Omitted | None:
    """Return what a revision leaves out of the reports that it replaces, oldest first; None where that is nothing."""
    named = {one.id for one in own.evaluation.areas}
    areas = {
        one.id: AreaOmitted(one.id, one.decision)
        for then in replaced for one in then.evaluation.areas if one.id not in named
    }  # fmt: skip
    entries: dict[EntryOmitted, None] = {}
    gone: dict[tuple[str, str], dict[str, None]] = {}
    now = JobView(own.job, again={})
    for view in (JobView(one.job, again={}) for one in replaced):
        for area in (one for one in view.areas if one.id in named):
            for surface in area.surfaces:
                again = _again(view, surface.record, now)
                if not again:
                    entries[EntryOmitted(area.id, surface.record.apparatus)] = None
                    continue
                here = {each[:2] for at, one in again for each in entered(now, one, own.job.readings[at])}
                for series, location in dict.fromkeys(
                    each[:2] for each in entered(view, surface.record, (*surface.readings, *surface.early))
                ):
                    if (series, location) not in here:
                        kind = PROFILE if series in _OF_PROFILE else series
                        gone.setdefault((area.id, kind), {})[area.located(surface, str(location))] = None
    told = Omitted(
        tuple(areas.values()),
        tuple(LocationsOmitted(area, tuple(ids)) for (area, kind), ids in gone.items() if kind == PROFILE),
        _findings_omitted(replaced, own),
        tuple(entries),
        tuple(TestsOmitted(area, kind, tuple(ids)) for (area, kind), ids in gone.items() if kind != PROFILE),
    )
    return None if told == Omitted() else told


def _findings_omitted(replaced: Sequence[Judged], own: Judged) -> tuple[FindingOmitted, ...]:
    """Return what failed and is not found any more, where that is not of an area that is left out itself."""
    still = {None, *(one.id for one in own.evaluation.areas)}
    found = set(_failed(own))
    return tuple(dict.fromkeys(
        one for then in replaced for one in _failed(then) if one not in found and one.area in still
    ))  # fmt: skip


def _failed(judged: Judged) -> Iterator[FindingOmitted]:
    found = (one for one in judged.evaluation.findings if one.severity == "nonconformance")
    yield from (FindingOmitted(one.code, one.area, one.location) for one in found)


def _again(then: JobView, record: Surface, now: JobView) -> list[tuple[int, Surface]]:
    """Return the entries of a revision that are of what an apparatus did on an area, each with its place there."""
    return [
        (at, one) for at, one in enumerate(now.job.day.surfaces)
        if one.area == record.area and _is_of(then, record, now, one)
    ]  # fmt: skip


def entered(view: JobView, record: Surface, readings: Sequence[Reading]) -> Counter[Entry]:
    """Return how often each entry of a place is there on a surface of a day."""
    each = entries_on(view, record, readings)
    return Counter(
        (one.series, one.location, one.says[0].spot if one.series == "reading" else None)
        for one in each if one.series in _OF_A_PLACE
    )  # fmt: skip


def _at(there: Counter[Entry], finding: Finding, places: Collection[str | None], apparatus: str) -> Counter[Entry]:
    """Return the entries that a finding is on; of one that names no location those of a series entered twice alone."""
    if None in places:
        return Counter(there if finding.code == SERIES_TWICE.name else ())
    of = SERIES_OF.get(finding.code)
    series = {of} if of is not None else set(_OF_PROFILE) if KIND_OF.get(finding.code) == PROFILE else None
    return Counter({
        one: count for one, count in there.items()
        if (series is None or one[0] in series) and not {one[1], f"{one[1]} ({apparatus})"}.isdisjoint(places)
    })  # fmt: skip


def _is_of(then: JobView, record: Surface, now: JobView, other: Surface) -> bool:
    """Whether an entry is of what an apparatus did: of its name, or of its times under a name that was not there."""
    if spelt_alike(other.apparatus, record.apparatus):
        return True
    known = [one.apparatus for one in then.job.day.surfaces if one.area == record.area]
    times = then.at(record.blasted.start), then.at(record.blasted.end)
    renamed = not any(spelt_alike(other.apparatus, one) for one in known)
    return renamed and (now.at(other.blasted.start), now.at(other.blasted.end)) == times


def _overlap(then: JobView, one: Surface, now: JobView, other: Surface) -> bool:
    began, ended = then.at(one.blasted.start), then.at(one.blasted.end)
    start, end = now.at(other.blasted.start), now.at(other.blasted.end)
    return (start < ended and began < end) or (start, end) == (began, ended)


def _fewer_rows(finding: Finding, before: Job, own: Job) -> Iterator[Absent]:
    """Yield the logs of the shift that have fewer rows than before, of those that a finding may be on."""
    kind = KIND_OF.get(finding.code)
    fields = [one.log or one.key for one in LOGS if kind in (None, one.key)]
    for name in (*fields, *(_CHECKS if kind is None else ())):
        if len(getattr(own.day, name)) < len(getattr(before.day, name)):
            yield Absent(finding.area, None, name)
