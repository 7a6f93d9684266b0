"""What the contract requires to be recorded and is not; what the record says of oil, edges, dates and who was told.

Without the records of ``HOLDING`` a release may rest on nothing: they hold. The others are named, and hold nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.job.recorded import CHECKED_KINDS
from reportgen.measurements import LOGS, OF_A_SURFACE, TESTS
from reportgen.measurements.gaps import gap_in
from reportgen.measurements.shown_by import unnamed_in
from reportgen.names import names_nobody, perhaps_one, says_nothing
from reportgen.references import record_lists
from reportgen.results import Amount, Outcome, Place, Word
from reportgen.results.codes import records as codes
from reportgen.rules.checked_instruments import checked, good_checks
from reportgen.rules.coating import blasted_since, came_after
from reportgen.rules.covering import standing
from reportgen.rules.equipment import instrument_uses
from reportgen.rules.hold_points import covered_by_hold
from reportgen.rules.release_slips import slips_not_upheld
from reportgen.rules.replicas import recorded
from reportgen.units import later, parse_quantity

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from reportgen.job import Condition
    from reportgen.measurements.slice import Covering, Window
    from reportgen.results import AreaResult, Finding, NonconformanceState, Severity, Task
    from reportgen.rules.scene import AreaView, JobView, SurfaceView
    from reportgen.units import Quantity


_METER: Final = "conductivity meter"


def required_keys(requires: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Return each required record with the lists that ask for it; one named by itself is asked for by the contract."""
    lists = record_lists()
    found: dict[str, dict[str, None]] = {}
    for name in requires:
        for key in lists[name].records if name in lists else (name,):
            found.setdefault(key, {}).update({name: None} if name in lists else {})
    return {key: tuple(found[key]) for key in codes.RECORDS if key in found}


def report_due(view: JobView) -> tuple[Quantity, dt.datetime, str | None, tuple[str, ...]] | None:
    """Return within what time of the shift the report is due, until when, by which clause or lists; None where none."""
    stated = view.specification.reporting
    if stated is not None:
        return stated.within, later(view.shift[1], stated.within), stated.clause, ()
    for one in (record_lists().get(name) for name in view.project.requires):
        if one is not None and one.report_within is not None:
            within = parse_quantity(one.report_within, "time")
            return within, later(view.shift[1], within), None, (one.name,)
    return None


def report_late(view: JobView, at: dt.datetime | None) -> list[Finding]:
    """Find a report that is issued, or not issued yet, later than the contract wants it; ``at`` is that moment."""
    due = None if view.job.head_unfinished else report_due(view)
    if due is None or at is None or at <= due[1]:
        return []
    within, until, clause, lists = due
    facts = codes.ReportLate(view.printed(at), view.printed(until), Amount.of(within), lists)
    return [codes.REPORT_LATE.found(facts, clause=clause)]


def overdue(view: JobView, states: Sequence[NonconformanceState]) -> list[Finding]:
    """Find open nonconformances whose day has passed."""
    date = view.date.isoformat()
    return [
        codes.NONCONFORMANCE_OVERDUE.found(codes.Overdue(one.id, one.due, one.responsible), Place(one.area))
        for one in states
        if one.status == "open" and one.due is not None and one.due < date
    ]


def told_released(
    view: JobView, areas: Sequence[AreaResult], findings: Sequence[Finding],
    before: Sequence[tuple[JobView, frozenset[str]]] = (),
) -> Iterator[Finding]:  # fmt: skip
    """Find areas of which somebody was told that they are released: which are not, or were not tested by then.

    Where only steel that was blasted since stands against that, it was said of the rest; what came later, as a limit
    that passed, was not known yet. ``findings`` are those that
    the reasons of the areas are of. ``before`` are earlier days, oldest first, with what they released: the last on an
    area decides where this report does not inspect it.
    """
    yield from slips_not_upheld(view, areas)
    released = _released(areas, before)
    worked = {area.id: [at for one in area.surfaces for at in _worked_at(view, one)] for area in view.areas}
    last = {area: max(times) for area, times in worked.items() if times}
    judged = {area.id: area for area in areas}
    for one in view.job.day.told_released:
        at = view.at(one.time)
        place = Place(one.area, time=view.printed(at))
        early = one.area in last and at < last[one.area]
        if one.area not in released and not _was_right(view, judged.get(one.area), findings, at, early=early):
            yield codes.TOLD_RELEASED.found(codes.ToldReleased(one.to), place)
        elif early:
            yield codes.TOLD_EARLY.found(codes.ToldEarly(one.to, view.printed(last[one.area])), place)


def _was_right(
    view: JobView, result: AreaResult | None, findings: Sequence[Finding], at: dt.datetime, *, early: bool
) -> bool:  # fmt: skip
    """Whether what stands against an area is of steel blasted since a moment, or was not known by then."""
    if result is None:
        return False
    return blasted_since(view, result, findings, at) or (not early and came_after(view, result, findings, at))


def _released(areas: Sequence[AreaResult], before: Sequence[tuple[JobView, frozenset[str]]]) -> set[str]:
    """Return what a report releases, and what it does not inspect and the last earlier one on it released."""
    here = {area.id for area in areas if area.not_inspected is None}
    last_on = {area.id: own for earlier, own in before for area in earlier.areas}
    kept = {area for area, own in last_on.items() if area in own - here}
    return kept.union(area.id for area in areas if area.decision == "release")


def _worked_at(view: JobView, surface: SurfaceView) -> Iterator[dt.datetime]:
    """Yield when a surface was blasted, and when it was read and tested, where that is recorded."""
    tests = (test for kind in TESTS for test in kind.entries_on(surface.record))
    if surface.record.steel_known:
        yield surface.blasted[1]
    yield from (view.at_text(one.time) for one in surface.readings if one.time is not None)
    yield from (view.at(one.time) for one in tests if one.time is not None)


def surface_records(view: JobView) -> Outcome[Finding]:
    """Find oil that was left on the steel before it was blasted, and edges that were not dressed."""
    asked = "edges" in required_keys(view.project.requires)
    findings: list[Finding] = []
    for area in view.areas:
        for surface in area.surfaces:
            record = surface.record
            if record.oil_test is not None and record.oil_test.result == "oil":
                oil = codes.OilFound(Word("oil-seen", "oil"), record.oil_test.method)
                findings.append(codes.OIL_FOUND.found(oil, Place(area.id)))
            if record.edges == "not dressed":
                left = codes.EdgesLeft(Word("edges", record.edges), record.apparatus)
                severity: Severity | None = None if asked else "observation"
                findings.append(codes.EDGES_LEFT.found(left, Place(area.id), severity=severity))
    return Outcome((), tuple(findings))


def required_records(view: JobView) -> Outcome[Finding]:
    """Find every record that the contract requires and the day does not have, with what to enter."""
    findings: list[Finding] = []
    todo: list[Task] = []
    for key, lists in required_keys(view.project.requires).items():
        code = codes.RECORD_MISSING if key in codes.HOLDING else codes.RECORD_NOT_STATED
        for area, of in dict.fromkeys(_lacking(view, key)):
            facts, place = codes.RecordMissing(Word("record", key), of, lists), Place(area)
            findings.append(code.found(facts, place))
            todo.append(codes.ENTER_RECORD.due(facts, place, answers=code.name))
    return Outcome((), tuple(findings), measure_next=tuple(todo))


def _lacking(view: JobView, key: str) -> Iterator[tuple[str | None, str | None]]:
    """Yield where a record is lacking: an area, or None for the report; and whose it is, where it is of something."""
    if key in _OF_A_SURFACE:
        for area in view.areas:
            if not all(_OF_A_SURFACE[key](surface) for surface in area.surfaces):
                yield area.id, None
    elif key in _OF_AN_AREA:
        yield from ((area.id, None) for area in view.areas if not _OF_AN_AREA[key](view, area))
    elif key in _OF_THE_SITE:
        site = view.job.day.site
        if site is None or not all(
            _stated(getattr(site, name), none=key in _MAY_BE_NONE) for name in _OF_THE_SITE[key]
        ):
            yield None, None
    else:
        yield from _OTHERS[key](view)


def _timed(surface: SurfaceView) -> bool:
    """Whether every test of a surface says when it was made, and every reading."""
    tests: list[Any] = [
        test for kind in (*OF_A_SURFACE, *TESTS) if kind.timed for test in kind.entries_on(surface.record)
    ]
    return all(one.time is not None for one in (*tests, *surface.readings))


def _positioned(surface: SurfaceView) -> bool:
    told = {location for location, where in surface.record.positions.items() if _stated(where)}
    return {one.location for one in surface.readings} <= told


def _stated(value: object, *, none: bool = False) -> bool:
    """Whether something stands in a record, in words that say something; ``none`` where there may be none of it."""
    return value is not None and not (isinstance(value, str) and says_nothing(value, none=none))


def _own_log(view: JobView, area: AreaView) -> bool:
    """Whether a log for an area alone was begun before each work on it, and gone on with while it lasted.

    A reading for several areas is of the log of none; how often one is due, the limits of the conditions say.
    """
    own = [one for one in standing(view) if one.covered == frozenset({area.id})]
    limits = view.specification.conditions
    interval = None if limits is None else limits.interval
    return all(
        gap_in(view.printed, (one.start, one.end), _times(own, one), interval) is None
        for one in view.windows if one.area == area.id
    )  # fmt: skip


def _times(log: Sequence[Covering[Condition]], work: Window) -> list[dt.datetime]:
    return [one.at for one in log if not one.known or work in one.windows]


def _by_named_meter(surface: SurfaceView) -> bool:
    """Whether each test of a surface by conductivity names its meter; a chloride that is read directly needs none."""
    tests: list[Any] = [
        test for kind in TESTS if _METER in kind.instruments for test in kind.entries_on(surface.record)
    ]
    return all(one.instrument is not None or one.chloride is not None for one in tests)


def _compared(view: JobView, area: AreaView) -> bool:
    """Whether somebody else's readings stand beside the inspector's on each surface, where both read."""
    own = str(view.job.inspector.name)
    for surface in area.surfaces:
        theirs, read = surface.record.comparison, {one.location for one in surface.readings}
        if theirs is None or perhaps_one(theirs.by, own) or not any(one.location in read for one in theirs.values):
            return False
    return True


def _photographed(_view: JobView, area: AreaView) -> bool:
    """Whether a photo of an area says when it was taken and what it shows."""
    photos = [one for surface in area.surfaces for one in surface.record.photos]
    return any(one.time is not None and _stated(one.caption) for one in photos)


def _oil_untested(view: JobView) -> Iterator[tuple[str | None, str | None]]:
    """Yield the areas with steel on which nobody is known to have looked for oil before it was blasted.

    A test without a time may have been made later, which is too late.
    """
    for area in view.areas:
        for surface in area.surfaces:
            test = surface.record.oil_test
            if test is not None and not surface.record.steel_known:
                continue  # nobody knows yet when it was blasted
            if test is None or test.time is None or view.at(test.time) > surface.blasted[0]:
                yield area.id, None


def _unchecked(view: JobView) -> Iterator[tuple[str | None, str | None]]:
    """Yield the instruments that were used without a good check of their function, with the areas that rest on them.

    A use on the day of an earlier report that has the same steel may have its check there.
    """
    good, heard = good_checks(view), [report for report, _ in view.heard]
    before = {
        (one.record.instrument, report.date) for report in heard for one in checked(report) if one.verdict == "conforms"
    }
    for name, area, date, severity in instrument_uses(view):
        proven = name in good or (name, date) in before
        if view.project.instruments[name].kind in CHECKED_KINDS and not proven and severity is None:
            yield area, name
    yield from _with_nobody_knows_what(view)


def _with_nobody_knows_what(view: JobView) -> Iterator[tuple[str | None, str | None]]:
    """Yield where something was measured with an instrument that is not named: no more is known of it than nothing."""
    if any(any(unnamed_in(one, view.project.instruments)) for one in view.job.day.conditions):
        yield None, None
    for area in view.areas:
        if not all(_by_named_meter(surface) for surface in area.surfaces):
            yield area.id, None
    logged = (one for log in LOGS if _METER in log.instruments for one in log.entries_in(view.job.day))
    if any(one.instrument is None and one.conductivity is not None for one in logged):
        yield None, None


def _unnamed(view: JobView) -> Iterator[tuple[str | None, str | None]]:
    """Yield the instruments and rolls in use whose make or model is not stated."""
    used: list[tuple[str, Any]] = [
        *((name, view.project.instruments[name]) for name, _, _, _ in instrument_uses(view)),
        *(
            (one.roll, view.project.tape_rolls[one.roll])
            for area in view.areas for surface in area.surfaces for one in surface.readings if one.roll is not None
        ),
    ]  # fmt: skip
    yield from ((None, name) for name, one in used if not (_stated(one.make) and _stated(one.model)))
    yield from _with_nobody_knows_what(view)


def _untold(view: JobView) -> Iterator[tuple[str | None, str | None]]:
    """Yield the areas that were primed and of whose release nobody was told."""
    told = {one.area for one in view.job.day.told_released}
    for area in view.areas:
        if area.id not in told and any(surface.coated is not None for surface in area.surfaces):
            yield area.id, None


def _unassigned(view: JobView) -> Iterator[tuple[str | None, str | None]]:
    for one in view.job.day.nonconformances:
        if one.status == "open" and (one.due is None or one.responsible is None):
            yield one.area, one.id


def _no_contact(view: JobView) -> Iterator[tuple[str | None, str | None]]:
    contact = view.project.project.client_contact
    if contact is None or names_nobody(contact):
        yield None, None


_OF_A_SURFACE: Final[dict[str, Callable[[SurfaceView], bool]]] = {
    "replicas": recorded,
    "edges": lambda one: one.record.edges is not None,
    "area_cleaned": lambda one: one.record.cleaned is not None,
    "nozzle": lambda one: _stated(one.record.blasted.nozzle),
    "blast_pressure": lambda one: one.record.blasted.pressure is not None,
    "distance_and_angle": lambda one: one.record.blasted.distance is not None and _stated(one.record.blasted.angle),
    "test_times": _timed,
    "positions": _positioned,
}
_OF_AN_AREA: Final[dict[str, Callable[[JobView, AreaView], bool]]] = {
    "hold_points": lambda view, area: covered_by_hold(view, area.id),
    "conditions_per_area": _own_log,
    "comparison": _compared,
    "photos": _photographed,
}
_OF_THE_SITE: Final[dict[str, tuple[str, ...]]] = {
    "high_and_low": ("high", "low"),
    **{
        name: (name,)
        for name in (
            "weather", "wind", "blasters", "equipment", "agreements", "deviations", "results_from_others",
            "client_data",
        )
    },
}  # fmt: skip
_MAY_BE_NONE: Final = frozenset({"wind", "agreements", "deviations", "results_from_others", "client_data"})
_OTHERS: Final[dict[str, Callable[[JobView], Iterator[tuple[str | None, str | None]]]]] = {
    "oil_test": _oil_untested,
    "function_checks": _unchecked,
    "make_and_model": _unnamed,
    "release_told": _untold,
    "due_and_responsible": _unassigned,
    "client_contact": _no_contact,
}
