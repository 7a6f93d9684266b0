"""The job as the rules look at it: areas with their surfaces and readings, and clock times as instants."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from reportgen.job import Places
from reportgen.measurements import LOGS, TESTS
from reportgen.measurements.slice import Covering, Made, Scene, SceneArea, SceneSurface, Window
from reportgen.names import spelt_alike
from reportgen.results.codes.blasted_again import Replaced
from reportgen.rules.checked_instruments import doubts_of, may_be_in_doubt, with_shown_errors
from reportgen.rules.covering import dated, standing
from reportgen.rules.editions import NEWEST
from reportgen.rules.entered_before import given_way
from reportgen.rules.extent import part_again, whole_area
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence
    from decimal import Decimal

    from reportgen.job import AreaPlan, Clock, Condition, Job, Project, Reading, Specification, Structure, Surface
    from reportgen.measurements import Measurement
    from reportgen.results import Evaluation
    from reportgen.rules.doubts import Doubts
    from reportgen.rules.editions import Edition
    from reportgen.rules.owed import Lost


@dataclass(frozen=True, slots=True)
class SurfaceView:
    """One surface of the day with its readings, in the order taken, and its times as instants.

    ``early`` are the readings taken before the blasting began: they are not of this surface, and do not count.
    ``undone`` names the locations whose steel was blasted again since: what was read there does not count either.
    ``gone`` is from when nothing of its steel stood as it was, or of those locations, where it was blasted again.
    """

    record: Surface
    readings: tuple[Reading, ...]
    blasted: tuple[dt.datetime, dt.datetime]
    coated: dt.datetime | None
    early: tuple[Reading, ...] = ()
    undone: frozenset[str] = frozenset()
    gone: dt.datetime | None = None

    @property
    def numbers(self) -> list[tuple[Reading, Decimal]]:
        """The readings that have a number, each with it: a grade has none."""
        return [(one, one.value) for one in self.readings if one.value is not None]

    @property
    def locations(self) -> Iterator[str]:
        """The names of its locations as often as they are used: readings, visual comparisons, tests."""
        profile = self.record.profile
        yield from (reading.location for reading in self.readings)
        yield from (row.location for row in (profile.comparator if profile is not None else ()))
        yield from (test.location for kind in TESTS for test in kind.entries_on(self.record))


@dataclass(frozen=True, slots=True)
class AreaView:
    """An area of this report: its plan and everything recorded on it in this shift.

    The size of the plan is that of the steel the report is of: where every entry says how much it cleaned, and that is
    a part of the area, of that part. The rest is counted in the reports that enter it.
    """

    id: str
    structure: Structure
    plan: AreaPlan
    surfaces: tuple[SurfaceView, ...]
    shared: frozenset[str] = frozenset()
    """Names of locations that more than one apparatus uses on the area."""

    def located(self, surface: SurfaceView, location: str) -> str:
        """Name a location so that it is the only one on the area: ``1``, or ``1 (pot A)``."""
        return f"{location} ({surface.record.apparatus})" if location in self.shared else location


@dataclass(frozen=True, slots=True)
class Stood:
    """An earlier report of the same steel; ``held`` are its areas whose logs of the shift left something open.

    ``replaced`` are the reports that it is a revision of, where it leaves out what failed in them.
    """

    view: JobView
    held: frozenset[str]
    replaced: tuple[JobView, ...] = ()

    def enters(self, surface: SurfaceView) -> bool:
        """Whether it enters a surface too, with the same apparatus and times."""
        return bool(self.entries(surface))

    def entries(self, surface: SurfaceView) -> list[SurfaceView]:
        """Return its entries of the steel of a surface: with the same apparatus and times of blasting."""
        return [one for one in self._beside(surface) if one.blasted == surface.blasted]

    def overlapping(self, surface: SurfaceView) -> list[SurfaceView]:
        """Return its entries of an area on which the same apparatus blasted while it did a surface."""
        start, end = surface.blasted[0], max(surface.blasted)
        return [one for one in self._beside(surface) if one.blasted[0] < end and start < max(one.blasted)]

    def _beside(self, surface: SurfaceView) -> Iterator[SurfaceView]:
        for area in self.view.areas:
            if area.id == surface.record.area:
                own = surface.record.apparatus
                yield from (one for one in area.surfaces if spelt_alike(one.record.apparatus, own))

    def judged(self, surface: SurfaceView, *, primed: bool = False) -> bool:
        """Whether what its logs say of the blasting of a surface is complete, or of its primer."""
        if surface.record.area in self.held:
            return False
        entries = self.entries(surface)
        return any(surface.coated == one.coated for one in entries) if primed else bool(entries)


class JobView:
    """A job with what several rules need of it, computed once.

    ``at`` is the present moment, or that of issue, while the shift lasts; see ``moment``. The areas hold the surfaces
    as they are at last; with ``replaced`` those that were blasted again, and nothing else. ``before`` are the earlier
    reports at hand, oldest first; ``edition`` are the rules. By the place of the entry, ``again`` are those that were
    blasted again with the one that replaces them, by the sizes alone where that is not given; ``undone`` the locations
    that were of entries that stand beside that, ``undone_from`` from when they were. ``alone`` are the only entries to
    look at, ``lost`` is what of each entry has to be blasted again, as found here.
    """

    def __init__(
        self, job: Job, at: dt.datetime | None = None, *, replaced: bool = False, before: Sequence[Stood] = (),
        edition: Edition = NEWEST, undone: Mapping[int, frozenset[str]] | None = None,
        again: Mapping[int, int] | None = None, alone: Collection[int] | None = None,
        undone_from: Mapping[int, dt.datetime] | None = None,
    ) -> None:  # fmt: skip
        self.job = job
        self.undone = undone or {}
        self._undone_from = undone_from or {}
        self.again = replaced_surfaces(job) if again is None else again
        self.lost: Mapping[int, Lost] = {}
        self.before = before
        self.replaced = replaced
        self.edition = edition
        self._at = at
        self._alone = alone

    def as_replaced(self) -> JobView:
        """Return the entries, and locations of others, that were blasted again in this report."""
        view = JobView(
            self.job, self._at, replaced=True, edition=self.edition, undone=self.undone, again=self.again,
            undone_from=self._undone_from,
        )  # fmt: skip
        view.lost = self.lost
        return view

    def since(self, view: JobView) -> list[JobView]:
        """Return the reports at hand between an earlier one and this; none where that is not at hand."""
        numbers = [stood.view.job.day.report.number for stood in self.before]
        own = view.job.day.report
        first = numbers.index(own.number) if own.number in numbers else len(numbers)
        since = [stood.view for stood in self.before[first:]]
        return since[1:] if since and since[0].job.day.report.revision == own.revision else since

    @property
    def project(self) -> Project:
        """The project file."""
        return self.job.project

    @property
    def specification(self) -> Specification:
        """What the contract requires."""
        return self.job.project.specification

    @cached_property
    def graded(self) -> bool:
        """Whether the contract has the profile graded beside a comparator, and nothing else was used."""
        gauges = {surface.profile.gauge for surface in self.job.day.surfaces if surface.profile is not None}
        kinds = {self.project.instruments[gauge].kind for gauge in gauges}
        return self.specification.profile.kind == "comparator" and kinds <= {"comparator"}

    @property
    def date(self) -> dt.date:
        """Date of the report."""
        return self.job.day.report.date

    @cached_property
    def areas(self) -> tuple[AreaView, ...]:
        """Inspected areas, in the order in which the day file first names them."""
        grouped: dict[str, list[SurfaceView]] = {}
        for index, (surface, readings) in enumerate(zip(self.job.day.surfaces, self.job.readings, strict=True)):
            undone = self.undone.get(index, frozenset())
            if (index in self.again) is not self.replaced and not (self.replaced and undone):
                continue
            if self._alone is not None and index not in self._alone:
                continue
            blasted = (self.at(surface.blasted.start), self.at(surface.blasted.end))
            coated, gone = self.coated(index), self.gone.get(index)
            known = surface.steel_known
            early = tuple(one for one in readings if known and self._before(one.time, blasted))
            kept = tuple(one for one in readings if one not in early) if early else readings
            if undone:
                kept = tuple(one for one in kept if (one.location in undone) is self.replaced)
            if gone is not None and self.replaced:
                kept = tuple(one for one in kept if one.time is None or self.at_text(one.time) <= gone)
            view = SurfaceView(surface, kept, blasted, coated, early, undone, gone if self.replaced else None)
            grouped.setdefault(surface.area, []).append(view)
        return tuple(
            AreaView(
                area, self.plan(area)[0], _of_part(self.plan(area)[1], surfaces), tuple(surfaces), _shared(surfaces)
            )
            for area, surfaces in grouped.items()
        )

    @cached_property
    def gone(self) -> dict[int, dt.datetime]:
        """From when nothing of an entry stood as it was, by the place of the entry; of some, of locations alone.

        What is dated after that is not of its steel.
        """
        by = gone_over_by(self.job) if self.again else {}
        return {**self._undone_from, **{index: _gone_from(self.job, by, index) for index in self.again if index in by}}

    def coated(self, index: int) -> dt.datetime | None:
        """Return when an entry was primed: not after its steel was gone; the primer is then of what replaces it."""
        record, gone = self.job.day.surfaces[index], self.gone.get(index)
        own = None if record.coated is None else self.at(record.coated)
        if index in self.again:
            return own if own is None or gone is None or own <= gone else None
        if own is not None or not self.again:
            return own
        by = gone_over_by(self.job)
        late = (
            at for one in self.again if index in by.get(one, ())
            if (stated := self.job.day.surfaces[one].coated) is not None
            and (at := self.at(stated)) > self.gone[one] and at >= self.at(record.blasted.end)
        )  # fmt: skip
        return max(late, default=None)

    @cached_property
    def surfaces(self) -> tuple[SurfaceView, ...]:
        """The surfaces of all areas, area after area."""
        return tuple(surface for area in self.areas for surface in area.surfaces)

    def _before(self, time: str | None, blasted: tuple[dt.datetime, dt.datetime]) -> bool:
        """Whether a reading was taken before the blasting; not where the times of that contradict each other."""
        return time is not None and self.at_text(time) < blasted[0] <= blasted[1]

    @cached_property
    def windows(self) -> tuple[Window, ...]:
        """Blasting and coating times of all areas, in order of their beginning; not what earlier reports judged."""
        found: list[Window] = []
        for surface in self.surfaces:
            area, (start, end) = surface.record.area, surface.blasted
            if surface.record.steel_known and not self._judged_before(surface):
                found.append(Window(area, "blasting", start, max(start, end)))
            if surface.coated is not None and not self._judged_before(surface, surface.coated):
                found.append(Window(area, "coating", surface.coated, surface.coated))
        return tuple(sorted(found, key=lambda window: (window.start, window.area, window.activity)))

    def _judged_before(self, surface: SurfaceView, primed: dt.datetime | None = None) -> bool:
        """Whether a blasting before the shift was judged by the logs of an earlier report, and this adds nothing.

        Or the primer that followed it.
        """
        end = max(surface.blasted) if primed is None else primed
        if end > self.shift[0] or not any(one.judged(surface, primed=primed is not None) for one in self.before):
            return False
        return not any(self.at(entry.time) <= end for kind in LOGS for entry in kind.entries_in(self.job.day))

    @cached_property
    def heard(self) -> tuple[tuple[JobView, tuple[SurfaceView, ...]], ...]:
        """Earlier reports, each with the surfaces of this one, blasted before its shift, that it enters too.

        What their logs hold counts for that steel as if it were written again here.
        """
        old = [one for one in self.surfaces if max(one.blasted) <= self.shift[0]]
        each = ((stood.view, tuple(one for one in old if stood.enters(one))) for stood in self.before if old)
        return tuple((report, same) for report, same in each if same)

    def heard_of(self, report: JobView, surfaces: Sequence[SurfaceView]) -> frozenset[Window]:
        """Return the work on some surfaces that an earlier report which has them knew of."""
        begun = {(one.record.area, at) for one in surfaces for at in (one.blasted[0], one.coated)}
        known = (one for one in self.windows if (one.area, one.start) in begun and one.end <= report.moment)
        return frozenset(known)

    def logged(self, kind: Measurement[Any, Any, Any], surface: SurfaceView) -> Iterator[Any]:
        """Yield what earlier reports that enter a surface too have in the log of a kind, dated."""
        reports = (report for report, same in self.heard if any(one is surface for one in same))
        yield from (dated(one, report) for report in reports for one in kind.entries_in(report.job.day))

    @cached_property
    def worked_on(self) -> frozenset[str]:
        """Ids of the areas that were blasted or coated."""
        return frozenset(window.area for window in self.windows)

    @cached_property
    def covering(self) -> list[Covering[Condition]]:
        """Every reading of the conditions with the work that it stands for."""
        return standing(self)

    @cached_property
    def work_read(self) -> dict[tuple[str, str], list[tuple[Covering[Condition], Window]]]:
        """By time as printed and area, the readings of this report with the work on that area each stands for."""
        found: dict[tuple[str, str], list[tuple[Covering[Condition], Window]]] = {}
        for one in (one for one in self.covering if not one.known):
            at = self.printed(one.at)
            for window in one.windows:
                found.setdefault((at, window.area), []).append((one, window))
        return found

    @cached_property
    def places(self) -> Places:
        """Where the areas are, and what the readings of the conditions cover."""
        return Places(self.project.structures, self.job.day.conditions)

    @cached_property
    def shift(self) -> tuple[dt.datetime, dt.datetime]:
        """Start and end of the shift."""
        report = self.job.day.report
        return self.at(report.shift.start), self.at(report.shift.end)

    @cached_property
    def moment(self) -> dt.datetime:
        """The last moment of which the evaluation knows: whatever is not recorded by then has not happened.

        A rule has no clock, or the same job would be evaluated differently by whoever verifies it years later. What a
        job does know is that its report speaks for the shift, and a primer that was applied within the shift stands in
        it. So the moment is the end of the shift, or the last time recorded where work went on beyond that; never
        earlier, as a release signed at the end would else recommend steel whose time had passed before. While the shift
        lasts its end is a plan, and nothing of the rest of the day has happened or failed to happen yet: who asks then
        states the present moment, and a report signed then the moment of issue; it counts inside the shift alone.
        """
        start, end = self.shift
        present = self._at if self._at is not None and start <= self._at < end else end
        return max([present, *self._recorded])

    @cached_property
    def _recorded(self) -> list[dt.datetime]:
        """Every time that the day records."""
        day = self.job.day
        clocks = [check.time for check in day.gauge_checks]
        clocks += [check.time for check in day.tape_checks]
        clocks += [check.time for check in day.function_checks]
        clocks += [one.time for one in day.told_released]
        clocks += [at for one in day.hold_points for at in (one.asked, one.answered) if at is not None]
        clocks += [entry.time for kind in LOGS for entry in kind.entries_in(day)]
        for surface in day.surfaces:
            clocks += [surface.blasted.end, *([] if surface.coated is None else [surface.coated])]
            tests = [test for kind in TESTS if kind.timed for test in kind.entries_on(surface)]
            clocks += [test.time for test in tests if test.time is not None]
        texts = {reading.time for readings in self.job.readings for reading in readings if reading.time is not None}
        return [*map(self.at, clocks), *map(self.at_text, texts)]

    @cached_property
    def _structures(self) -> dict[str, tuple[Structure, AreaPlan]]:
        return {plan.id: (structure, plan) for structure in self.project.structures for plan in structure.areas}

    @cached_property
    def _instants(self) -> dict[Clock, dt.datetime]:
        return {}

    @cached_property
    def _texts(self) -> dict[str, dt.datetime]:
        return {}

    def plan(self, area: str) -> tuple[Structure, AreaPlan]:
        """Return structure and plan of an area.

        Raises:
            KeyError: for an area the project does not have; loading refuses such a job.
        """
        return self._structures[area]

    def knows(self, area: str) -> bool:
        """Whether the project has an area of that id."""
        return area in self._structures

    def at(self, clock: Clock) -> dt.datetime:
        """Return the instant of a clock time of this report, remembered, as thousands of readings share their times.

        Raises:
            RangeError: for a local time that does not exist or occurs twice.
        """
        known = self._instants.get(clock)
        if known is None:
            # in UTC: two datetimes of one zone would be compared and subtracted by their wall clocks
            known = self._instants[clock] = self.job.clock.instant(clock).astimezone(dt.UTC)
        return known

    def at_text(self, clock: str) -> dt.datetime:
        """Return the instant of a clock time as a row of readings holds it: ``12:40``, or with date and offset."""
        known = self._texts.get(clock)
        if known is None:
            whole = dt.datetime.fromisoformat(clock) if len(clock) > len("12:40") else dt.time.fromisoformat(clock)
            known = self._texts[clock] = self.at(whole)
        return known

    def printed(self, instant: dt.datetime) -> str:
        """Return a local time as printed: with its date only when that is not the report's.

        In the hour that occurs twice, when daylight-saving time ends, with its offset: ``02:30+01:00``.
        """
        local = self.local(instant)
        twice = local.replace(fold=1 - local.fold).utcoffset() != local.utcoffset()
        offset = local.isoformat()[-len("+01:00") :] if twice else ""
        return (f"{local:%H:%M}" if local.date() == self.date else f"{local:%Y-%m-%d %H:%M}") + offset

    def local(self, instant: dt.datetime) -> dt.datetime:
        """Return an instant in the site's zone."""
        return instant.astimezone(ZoneInfo(self.job.clock.zone))


def _of_part(plan: AreaPlan, surfaces: Sequence[SurfaceView]) -> AreaPlan:
    """Return the plan for the part of its area that was cleaned, where all entries say so and it is a part."""
    stated = [surface.record.cleaned for surface in surfaces]
    if plan.size is None or None in stated:
        return plan
    unit = plan.size.unit
    cleaned = sum((one.in_unit(unit) for one in stated if one is not None), Fraction(0))
    return plan.model_copy(update={"size": Quantity(cleaned, unit)}) if 0 < cleaned < plan.size.exact else plan


def _shared(surfaces: Sequence[SurfaceView]) -> frozenset[str]:
    """Return the names of locations that more than one apparatus uses."""
    users: dict[str, set[str]] = {}
    for surface in surfaces if len({one.record.apparatus for one in surfaces}) > 1 else ():
        for name in surface.locations:
            users.setdefault(name, set()).add(surface.record.apparatus)
    return frozenset(name for name, apparatus in users.items() if len(apparatus) > 1)


def gone_over_by(job: Job) -> dict[int, list[int]]:
    """Return by which entries of a day each is said to be blasted again, in the order of time; places of entries.

    They name its apparatus and began later, wherever in the file they stand.
    """
    surfaces = job.day.surfaces
    if not any(surface.blasted_again for surface in surfaces):
        return {}
    began = [job.clock.instant(one.blasted.start).astimezone(dt.UTC) for one in surfaces]
    found = {
        index: [
            at for at, other in enumerate(surfaces)
            if other.area == one.area and one.apparatus in other.blasted_again and began[at] > began[index]
        ]
        for index, one in enumerate(surfaces)
    }  # fmt: skip
    return {index: sorted(by, key=began.__getitem__) for index, by in found.items() if by}


def replaced_surfaces(job: Job) -> dict[int, int]:
    """Return which entries of a day were blasted again: place of the entry → place of the entry that replaces it.

    Not one of which, by the sizes entered, only a part was.
    """
    by = gone_over_by(job)
    return {index: later[-1] for index, later in by.items() if not _in_part(job, by, index)}


def _in_part(job: Job, by: Mapping[int, Sequence[int]], index: int) -> bool:
    """Whether of what an apparatus cleaned first on an area only a part was cleaned again after an entry of it."""
    return _covered_from(job, by[index], _first(job, by, index) or [job.day.surfaces[index]]) is None


def _first(job: Job, by: Mapping[int, Sequence[int]], index: int) -> list[Surface]:
    """Return what the apparatus of an entry cleaned first on its area."""
    surfaces = job.day.surfaces
    record = surfaces[index]
    return [
        surfaces[one] for one in by
        if (surfaces[one].area, surfaces[one].apparatus) == (record.area, record.apparatus)
        and record.apparatus not in surfaces[one].blasted_again
    ]  # fmt: skip


def _gone_from(job: Job, by: Mapping[int, Sequence[int]], index: int) -> dt.datetime:
    """Return from when nothing that an apparatus cleaned stood as it was, or nothing of an entry of it.

    What others went over between counts where the entries that name it do not suffice: then the last blasting.
    """
    record = job.day.surfaces[index]
    known = (_covered_from(job, by[index], each) for each in (_first(job, by, index) or [record], [record]))
    started = (one.blasted.start for one in job.day.surfaces if one.area == record.area)
    return next(filter(None, known), None) or max(job.clock.instant(clock).astimezone(dt.UTC) for clock in started)


def _covered_from(job: Job, later: Sequence[int], steel: Sequence[Surface]) -> dt.datetime | None:
    """Return when that of some later entries began with which they are of all of some steel; None where they are not.

    ``later`` are places of entries in the order of time.
    """
    return covered_from(job, later, [one.cleaned for one in steel], steel)


def covered_from(
    job: Job, later: Sequence[int], sizes: Sequence[Quantity | None], steel: Sequence[Surface]
) -> dt.datetime | None:  # fmt: skip
    """Return when that of some later entries began with which they are of ``sizes`` of some steel; None without one."""
    surfaces, whole = job.day.surfaces, whole_area(job, steel[0].area, steel)
    for count, at in enumerate(later, start=1):
        if part_again(sizes, [surfaces[one].cleaned for one in later[:count]], whole) is None:
            return job.clock.instant(surfaces[at].blasted.start).astimezone(dt.UTC)
    return None


def as_evaluated(job: Job, evaluation: Evaluation, at: dt.datetime | None = None) -> JobView:
    """Return a job with the entries that its evaluation says stand, and without the locations that it leaves out.

    ``at`` as for ``evaluate``.
    """
    replaced = {
        (one.area, one.facts.earlier.apparatus, one.facts.earlier.start, one.facts.earlier.end)
        for one in evaluation.findings if isinstance(one.facts, Replaced)
    }  # fmt: skip
    stated = {(area.id, one.id, one.apparatus) for area in evaluation.areas for one in area.locations}
    view, by = JobView(job, again={}), gone_over_by(job)
    again, undone = {}, {}
    for index in by:
        one = job.day.surfaces[index]
        times = (view.printed(view.at(clock)) for clock in (one.blasted.start, one.blasted.end))
        if (one.area, one.apparatus, *times) in replaced:
            again[index] = by[index][-1]
        named = {(one.area, each.location, one.apparatus): each.location for each in job.readings[index]}
        gone = (name for key, name in named.items() if not {key, (*key[:2], None)} & stated)
        undone[index] = frozenset(gone)
    return JobView(job, at, again=again, undone={index: gone for index, gone in undone.items() if gone})


def at_hand(job: Job) -> list[Job]:
    """Return the reports that a day knows of, each in its last revision, oldest first, its own at the end."""
    last: dict[str, Job] = {}
    for earlier in job.earlier:
        number = earlier.day.report.number
        if number not in last or last[number].day.report.revision <= earlier.day.report.revision:
            last[number] = earlier
    last.pop(job.day.report.number, None)
    return [*last.values(), job]


def counts(view: JobView, surface: SurfaceView, time: Clock | None) -> bool:
    """Whether a test is about the blasted surface: not where it was made before that, or after its steel was gone."""
    start, end = surface.blasted
    before = time is not None and surface.record.steel_known and start <= end and view.at(time) < start
    return not before and (time is None or surface.gone is None or view.at(time) <= surface.gone)


def scene_of(view: JobView, kind: Measurement[Any, Any, Any], asked: Doubts) -> Scene[Any]:
    """Return the day as the rule of one kind of measurement sees it, with what of it is open to doubt."""
    areas = tuple(
        SceneArea(
            area.id,
            tuple(
                _scene_surface(view, area, one, kind, asked)
                for one in area.surfaces
                if one.record.steel_known or kind not in LOGS
            ),
            view.places.of(area.id) or area.structure.name,
            area.plan.size,
        )
        for area in view.areas
    )
    log = tuple(kind.entries_in(view.job.day))
    stood = view.covering if kind.placed else ()
    tools = with_shown_errors(view)
    doubts = doubts_of(view)
    return Scene(
        areas, log, view.windows, view.at, view.printed, asked.about, view.edition, stood, logged_before(view, kind),
        tools, doubts,
    )  # fmt: skip


def logged_before(view: JobView, kind: Measurement[Any, Any, Any]) -> tuple[tuple[dt.datetime, Any], ...]:
    """Return what earlier reports at hand have in the log of a kind, with the instants, oldest first."""
    every = ((one.view.at(entry.time), entry) for one in view.before for entry in kind.entries_in(one.view.job.day))
    return tuple(sorted(every, key=lambda pair: pair[0]))


def _scene_surface(
    view: JobView, area: AreaView, surface: SurfaceView, kind: Measurement[Any, Any, Any], asked: Doubts
) -> SceneSurface[Any]:
    record, instead = surface.record, given_way(view, surface, kind) if kind in TESTS else frozenset()
    tests = tuple(
        Made(
            test, area.located(surface, test.location) if kind in TESTS else None,
            counts(view, surface, test.time) and id(test) not in instead, asked.about(test, kind.depends_on),
            bool(kind.instruments) and may_be_in_doubt(view, surface, kind, test),
        )
        for test in kind.entries_on(record)
    )  # fmt: skip
    return SceneSurface(
        tests, record.apparatus, record.blasted.abrasive, record.initial_condition, surface.blasted, surface.coated,
        any(stood.enters(surface) for stood in view.before), tuple(view.logged(kind, surface)),
    )  # fmt: skip
