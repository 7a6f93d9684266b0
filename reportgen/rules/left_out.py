"""What failed or was in doubt in a report, and is not entered in its revision: of that the revision says nothing.

A revision puts right what was misread. Who leaves out what failed has not shown that it was good, and neither releases
the area by that nor withdraws what was raised.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.measurements import LOGS, MEASUREMENTS, TESTS
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
    from collections.abc import Collection, Iterable, Iterator, Sequence

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
        there = entered(then, record, before.readings[index])
        stood = _at(there, finding, places or {None}, record.apparatus)
        if finding.area in (None, record.area) and (stood or not places):
            again = _again(then, record, now)
            same = [(at, one) for at, one in again if _overlap(then, record, now, one)]
            yield from _lacking(record, stood, same if same_blasting else again, now)


def _lacking(
    record: Surface, stood: Counter[Entry], again: Sequence[tuple[int, Surface]], now: JobView, *, spots: bool = True
) -> Iterator[Absent]:  # fmt: skip
    """Yield what stood on a surface and not on those that are it in a revision; without ``spots`` by location."""
    if not again:
        yield Absent(record.area, record.apparatus)
        return
    here = sum((entered(now, one, now.job.readings[at]) for at, one in again), Counter[Entry]())
    there = {one[:2] for one in here}
    lacking = stood - here if spots else [one for one in stood if one[:2] not in there]
    for series, location in dict.fromkeys(each[:2] for each in lacking):
        yield Absent(record.area, record.apparatus, series, location)


def left_out_since(found: Iterable[Finding], before: Job, since: Sequence[Job]) -> tuple[Finding, ...]:
    """Return what failed or held in a report and no revision ``since`` enters, each on the areas where it is not.

    What a revision has of the same blasting on another area was typed under the wrong one, and is judged there.
    """
    left: dict[Finding, None] = {}
    for one in (each for each in found if effect_of(each) in ("fails", "holds")):
        lacking = [_lacked_by(own, one, before) for own in since]
        if all(lacking):
            left.update((replace(one, place=replace(one.place, area=area)), None) for area in lacking[-1])
    return tuple(left)


def _lacked_by(own: Job, finding: Finding, before: Job) -> list[str | None]:
    """Return the areas on which a revision does not have what a finding is on, nor on another in their place."""
    gone = (one for one in absent(finding, before, own) if not _moved(one, before, own))
    return sorted({one.area for one in gone}, key=str)


def _moved(gone: Absent, before: Job, own: Job) -> bool:
    """Whether a revision has on another area all that stood there, of the same blasting and as it was read."""
    then, now = JobView(before, again={}), JobView(own, again={})
    stood = [
        (record, _said(then, record, readings, gone))
        for record, readings in zip(before.day.surfaces, before.readings, strict=True)
        if (record.area, record.apparatus) == (gone.area, gone.apparatus)
    ]
    return bool(stood) and all(
        bool(said) and any(
            record.area != other.area and _same_blasting(then, record, now, other)
            and not said - _said(now, other, readings, gone)
            for other, readings in zip(own.day.surfaces, own.readings, strict=True)
        )
        for record, said in stood
    )  # fmt: skip


def _same_blasting(then: JobView, record: Surface, now: JobView, other: Surface) -> bool:
    return spelt_alike(other.apparatus, record.apparatus) and _same_times(then, record, now, other)


def _same_times(then: JobView, record: Surface, now: JobView, other: Surface) -> bool:
    times = then.at(record.blasted.start), then.at(record.blasted.end)
    return (now.at(other.blasted.start), now.at(other.blasted.end)) == times


def _said(view: JobView, record: Surface, readings: Sequence[Reading], gone: Absent) -> Counter[str]:
    """Return what is entered of what is absent, each entry by all that it says."""
    return Counter(
        f"{one.series} {one.location} {one.says}" for one in entries_on(view, record, readings)
        if gone.series in (None, one.series) and gone.location in (None, one.location)
    )  # fmt: skip


def omitted(replaced: Sequence[Judged], own: Judged) -> Omitted | None:
    """Return what a revision leaves out of the reports that it replaces, oldest first; None where that is nothing."""
    named = {one.id for one in own.evaluation.areas}
    gone = dict.fromkeys(one for then in replaced for one in _gone(JobView(then.job, again={}), own.job, named))
    tests = _by_kind(one for one in gone if isinstance(one, TestsOmitted))
    findings = _findings_omitted(replaced, own)
    told = Omitted(
        _areas_omitted(replaced, named),
        tuple(LocationsOmitted(one.area, one.ids) for one in tests if one.kind == PROFILE),
        findings,
        tuple(one for one in gone if isinstance(one, EntryOmitted)),
        tuple(one for one in tests if one.kind != PROFILE),
        tuple(dict.fromkeys(one.code for one in findings if _is_judged_otherwise(one, replaced, own.job))),
    )
    return None if told == Omitted() else told


def _areas_omitted(replaced: Sequence[Judged], named: Collection[str]) -> tuple[AreaOmitted, ...]:
    """Return the areas that are left out, each with what was decided of it last."""
    every = (one for then in replaced for one in then.evaluation.areas)
    return tuple({one.id: AreaOmitted(one.id, one.decision) for one in every if one.id not in named}.values())


def _by_kind(each: Iterable[TestsOmitted]) -> list[TestsOmitted]:
    """Return one for each area and kind, with all their locations."""
    found: dict[tuple[str, str], tuple[str, ...]] = {}
    for one in each:
        found[one.area, one.kind] = found.get((one.area, one.kind), ()) + one.ids
    return [TestsOmitted(area, kind, ids) for (area, kind), ids in found.items()]


def _gone(then: JobView, own: Job, named: Collection[str]) -> Iterator[EntryOmitted | TestsOmitted]:
    """Yield what a revision does not have of areas that it names; readings and comparisons as tests of the profile."""
    now = JobView(own, again={})
    each = [(area, one) for area in then.areas if area.id in named for one in area.surfaces]
    for area, surface in each:
        stood = entered(then, surface.record, (*surface.readings, *surface.early))
        again = _again(then, surface.record, now)
        for _, apparatus, series, location in _lacking(surface.record, stood, again, now, spots=False):
            if series is None:
                yield EntryOmitted(area.id, str(apparatus))
            else:
                kind = PROFILE if series in _OF_PROFILE else series
                yield TestsOmitted(area.id, kind, (area.located(surface, str(location)),))


def _findings_omitted(replaced: Sequence[Judged], own: Judged) -> tuple[FindingOmitted, ...]:
    """Return what failed and is not found any more, where that is not of an area that is left out itself."""
    still = {None, *(one.id for one in own.evaluation.areas)}
    found = set(_failed(own))
    return tuple(dict.fromkeys(
        one for then in replaced for one in _failed(then) if one not in found and one.area in still
    ))  # fmt: skip


def _is_judged_otherwise(finding: FindingOmitted, replaced: Sequence[Judged], own: Job) -> bool:
    """Whether a report that has a finding states another limit for it than its revision, whatever the clause."""
    keys = {PROFILE: PROFILE, **{one.key: one.limit_key for one in MEASUREMENTS}}
    key = keys.get(KIND_OF.get(finding.code, ""))  # of others nothing tells which limit it is of: then any
    jobs = (then.job for then in replaced if finding in set(_failed(then)))
    return any(_limits(job, key) != _limits(own, key) for job in jobs)


def _limits(job: Job, key: str | None) -> Any:
    stated = job.project.specification if key is None else getattr(job.project.specification, key)
    return None if stated is None else stated.model_dump(exclude={"clause", "document"})


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
    renamed = not any(spelt_alike(other.apparatus, one) for one in known)
    return renamed and _same_times(then, record, now, other)


def _overlap(then: JobView, one: Surface, now: JobView, other: Surface) -> bool:
    began, ended = then.at(one.blasted.start), then.at(one.blasted.end)
    start, end = now.at(other.blasted.start), now.at(other.blasted.end)
    return (start < ended and began < end) or _same_times(then, one, now, other)


def _fewer_rows(finding: Finding, before: Job, own: Job) -> Iterator[Absent]:
    """Yield the logs of the shift that have fewer rows than before, of those that a finding may be on."""
    kind = KIND_OF.get(finding.code)
    fields = [one.log or one.key for one in LOGS if kind in (None, one.key)]
    for name in (*fields, *(_CHECKS if kind is None else ())):
        if len(getattr(own.day, name)) < len(getattr(before.day, name)):
            yield Absent(finding.area, None, name)
