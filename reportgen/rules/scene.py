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
from reportgen.measurements.slice import Made, Scene, SceneArea, SceneSurface, Window
from reportgen.names import spelt_alike
from reportgen.rules.checked_instruments import with_shown_errors
from reportgen.rules.covering import standing
from reportgen.rules.editions import NEWEST
from reportgen.rules.extent import part_again
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence
    from decimal import Decimal

    from reportgen.job import AreaPlan, Clock, Day, Job, Project, Reading, Specification, Structure, Surface
    from reportgen.measurements import Measurement
    from reportgen.rules.doubts import Doubts
    from reportgen.rules.editions import Edition


@dataclass(frozen=True, slots=True)
class SurfaceView:
    """One surface of the day with its readings, in the order taken, and its times as instants.

    ``early`` are the readings taken before the blasting began: they are not of this surface, and do not count.
    """

    record: Surface
    readings: tuple[Reading, ...]
    blasted: tuple[dt.datetime, dt.datetime]
    coated: dt.datetime | None
    early: tuple[Reading, ...] = ()

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
    """An earlier report of the same steel; ``held`` are its areas whose logs of the shift left something open."""

    view: JobView
    held: frozenset[str]

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
    reports at hand, oldest first; ``edition`` are the rules.
    """

    def __init__(
        self, job: Job, at: dt.datetime | None = None, *, replaced: bool = False, before: Sequence[Stood] = (),
        edition: Edition = NEWEST,
    ) -> None:  # fmt: skip
        self.job = job
        self.before = before
        self.replaced = replaced
        self.edition = edition
        self._at = at

    def since(self, view: JobView) -> list[JobView]:
        """Return the reports at hand between an earlier one and this; none where that is not at hand."""
        numbers = [stood.view.job.day.report.number for stood in self.before]
        number = view.job.day.report.number
        first = numbers.index(number) + 1 if number in numbers else len(numbers)
        return [stood.view for stood in self.before[first:]]

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
        again = replaced_surfaces(self.job.day)
        for index, (surface, readings) in enumerate(zip(self.job.day.surfaces, self.job.readings, strict=True)):
            if (index in again) is not self.replaced:
                continue
            blasted = (self.at(surface.blasted.start), self.at(surface.blasted.end))
            coated = None if surface.coated is None else self.at(surface.coated)
            early = tuple(one for one in readings if self._before(one.time, blasted))
            kept = tuple(one for one in readings if not self._before(one.time, blasted)) if early else readings
            grouped.setdefault(surface.area, []).append(SurfaceView(surface, kept, blasted, coated, early))
        return tuple(
            AreaView(
                area, self.plan(area)[0], _of_part(self.plan(area)[1], surfaces), tuple(surfaces), _shared(surfaces)
            )
            for area, surfaces in grouped.items()
        )

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
            if not self._judged_before(surface):
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
    def worked_on(self) -> frozenset[str]:
        """Ids of the areas that were blasted or coated."""
        return frozenset(window.area for window in self.windows)

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


def replaced_surfaces(day: Day) -> dict[int, int]:
    """Return which entries of a day were blasted again: place of the entry → place of the entry that replaces it.

    Not one of which, by the sizes entered, only a part was.
    """
    if not any(surface.blasted_again for surface in day.surfaces):
        return {}
    replaced: dict[int, int] = {}
    by: dict[tuple[str, str], set[int]] = {}
    for index, surface in enumerate(day.surfaces):
        for earlier, before in enumerate(day.surfaces[:index]):
            if before.area == surface.area and before.apparatus in surface.blasted_again:
                replaced[earlier] = index
                by.setdefault((before.area, before.apparatus), set()).add(index)
    return {earlier: index for earlier, index in replaced.items() if not _in_part(day, replaced, by, earlier)}


def _in_part(day: Day, replaced: Collection[int], by: Mapping[tuple[str, str], set[int]], earlier: int) -> bool:
    """Whether of what an apparatus cleaned on an area, as an earlier entry says, only a part was cleaned again."""
    record = day.surfaces[earlier]
    again = by[record.area, record.apparatus]
    first = [
        day.surfaces[one].cleaned for one in replaced
        if one not in again and (day.surfaces[one].area, day.surfaces[one].apparatus) == (record.area, record.apparatus)
    ]  # fmt: skip
    return part_again(first, [day.surfaces[one].cleaned for one in sorted(again)]) is not None


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
    """Whether a test is about the blasted surface: not where it was made before the blasting began."""
    start, end = surface.blasted
    return time is None or start > end or view.at(time) >= start


def scene_of(view: JobView, kind: Measurement[Any, Any, Any], asked: Doubts) -> Scene[Any]:
    """Return the day as the rule of one kind of measurement sees it, with what of it is open to doubt."""
    areas = tuple(
        SceneArea(
            area.id,
            tuple(_scene_surface(view, area, surface, kind, asked) for surface in area.surfaces),
            view.places.of(area.id) or area.structure.name,
            area.plan.size,
        )
        for area in view.areas
    )
    log = tuple(kind.entries_in(view.job.day))
    stood = standing(view) if kind.placed else ()
    tools = with_shown_errors(view)
    return Scene(areas, log, view.windows, view.at, view.printed, asked.about, view.edition, stood, tools)


def _scene_surface(
    view: JobView, area: AreaView, surface: SurfaceView, kind: Measurement[Any, Any, Any], asked: Doubts
) -> SceneSurface[Any]:
    record = surface.record
    tests = tuple(
        Made(
            test, area.located(surface, test.location) if kind in TESTS else None,
            counts(view, surface, test.time), asked.about(test, kind.depends_on),
        )
        for test in kind.entries_on(record)
    )  # fmt: skip
    return SceneSurface(
        tests, record.apparatus, record.blasted.abrasive, record.initial_condition, surface.blasted, surface.coated
    )
