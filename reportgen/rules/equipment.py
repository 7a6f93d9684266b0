"""Instruments, tape and people on the date of the reading: calibration, expiry, unused tape, certificate."""

from __future__ import annotations

import datetime as dt
from itertools import chain
from typing import TYPE_CHECKING, Any, Final
from weakref import WeakKeyDictionary

from reportgen.measurements import LOGS, MEASUREMENTS
from reportgen.measurements.shown_by import shown_by, unnamed_in
from reportgen.metrology.plausibility import reference_doubt
from reportgen.metrology.tape import UPPER, unused_tape_range
from reportgen.results import Amount, CheckResult, Outcome, Place, Word
from reportgen.results.codes import equipment as codes
from reportgen.rules.gauges import gauge_proofs
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping

    from reportgen.job import TapeCheck
    from reportgen.measurements import Measurement
    from reportgen.metrology.plausibility import Doubt
    from reportgen.results import Finding, LeftOut, Severity, Verdict
    from reportgen.rules.scene import JobView, SurfaceView

_Use = tuple[str, str | None, dt.date, "Severity | None"]
"""Instrument, area it was used on (None: the whole report), date, and what its fault weighs where not the usual."""


def calibrations(view: JobView) -> Outcome[CheckResult]:
    """Compare the date of every use of an instrument with the date its calibration falls due."""
    uses = dict.fromkeys(instrument_uses(view))
    perhaps = _only_perhaps(view, uses)
    results: dict[tuple[str, dt.date], CheckResult] = {}
    findings: list[Finding] = []
    left_out: dict[LeftOut, None] = {}
    for instrument_id, area, date, severity in (*uses, *perhaps):
        instrument = view.project.instruments[instrument_id]
        due = view.project.due_by(instrument_id, date)
        named = codes.InstrumentNamed(instrument_id, Word("instrument-kind", instrument.kind), instrument.serial)
        if due is None:
            left_out[codes.CALIBRATION_UNDATED.at(codes.CalibrationUndated(named))] = None
            continue
        verdict: Verdict = "conforms" if date <= due else "does not conform"
        facts: codes.Calibration | codes.PerhapsUsed = codes.PerhapsUsed(named, date.isoformat(), due.isoformat())
        if (instrument_id, area, date, severity) in uses:
            facts = codes.Calibration(named, date.isoformat(), due.isoformat())
            results[instrument_id, date] = codes.CALIBRATION.of(instrument_id, facts, verdict)
        if verdict != "conforms":
            findings.append(codes.CALIBRATION_OVERDUE.found(facts, Place(area), severity=severity))
    return Outcome(tuple(results.values()), tuple(findings), not_evaluated=tuple(left_out))


def _only_perhaps(view: JobView, uses: Collection[_Use]) -> list[_Use]:
    """Return each use that there may have been of an instrument, where none is known that weighs as much."""
    known = {(name, area, date) for name, area, date, severity in uses if severity is None}
    found = dict.fromkeys(perhaps_used(view))
    return [one for one in found if one not in uses and not {one[:3], (one[0], None, one[2])} & known]


def instrument_uses(view: JobView) -> Iterator[_Use]:
    """Yield each instrument that an entry names with the area and the date of its use.

    That of a reading of the conditions concerns the areas the reading covers; that of a check of the abrasive, those
    blasted with it.
    """
    for condition in view.job.day.conditions:
        date = view.local(view.at(condition.time)).date()
        for instrument in condition.instruments:
            yield from _uses(view, instrument, view.places.covered(condition), date)
    for surface in view.surfaces:
        yield from _gauge_uses(view, surface)
    named = (each for each in _tests(view) if each[2].instrument is not None)
    yield from ((test.instrument, *_of_test(view, surface, test)) for surface, _, test in named)
    for check in view.job.day.abrasive_checks:
        if check.instrument is not None:
            yield from _of_check(view, check.instrument, check)


def perhaps_used(view: JobView) -> Iterator[_Use]:
    """Yield what may have shown a quantity whose instrument no entry names: any that the contract has of its kinds."""
    yield from _perhaps_read(view)
    for surface, kind, test in _tests(view):
        if test.instrument is None:
            yield from ((name, *_of_test(view, surface, test)) for name in _of_kinds(view, kind.may_show(test)))
    yield from _perhaps_checked(view)


def _perhaps_read(view: JobView) -> Iterator[_Use]:
    tools = view.project.instruments
    for record in view.job.day.conditions:
        names = chain.from_iterable(shown_by(record, field, tools) for field in unnamed_in(record, tools))
        for name in dict.fromkeys(names):
            yield from _uses(view, name, view.places.covered(record), view.local(view.at(record.time)).date())


def _perhaps_checked(view: JobView) -> Iterator[_Use]:
    logs = [log for log in LOGS if log.subject and log.instruments]
    measured = ((each, one) for each in logs for one in each.entries_in(view.job.day) if one.conductivity is not None)
    for log, check in measured:
        names = _of_kinds(view, log.instruments) if check.instrument is None else ()
        yield from chain.from_iterable(_of_check(view, name, check) for name in names)


def _of_kinds(view: JobView, kinds: Collection[str]) -> list[str]:
    return [name for name, one in view.project.instruments.items() if one.kind in kinds]


def _of_check(view: JobView, instrument: str, check: Any) -> Iterator[_Use]:
    """Yield the use of an instrument for a check of the abrasive."""
    blasted = {one.area for one in view.job.day.surfaces if one.blasted.abrasive == check.abrasive}
    yield from _uses(view, instrument, blasted, view.local(view.at(check.time)).date())


def _tests(view: JobView) -> Iterator[tuple[SurfaceView, Measurement[Any, Any, Any], Any]]:
    """Yield the tests of all surfaces that are made with an instrument."""
    kinds = [kind for kind in MEASUREMENTS if kind.instruments]
    return (
        (surface, kind, test) for surface in view.surfaces for kind in kinds for test in kind.entries_on(surface.record)
    )


def _of_test(view: JobView, surface: SurfaceView, test: Any) -> tuple[str, dt.date, None]:
    """Return the area and the date of a test, which weighs as usual."""
    at = surface.blasted[1] if test.time is None else view.at(test.time)
    return surface.record.area, view.local(at).date(), None


def _uses(view: JobView, instrument: str, areas: Collection[str] | None, date: dt.date) -> Iterator[_Use]:
    """Yield a use for each inspected area among some, one for the report where that is all of them.

    Where no inspected area is among them, or where nobody can say (None), the report bears it: without consequence in
    the first case, as nothing depends on it.
    """
    inspected = [area.id for area in view.areas if areas is None or area.id in areas]
    if len(inspected) in (0, len(view.areas)):
        yield instrument, None, date, None if inspected else "observation"
    else:
        yield from ((instrument, area, date, None) for area in inspected)


def _gauge_uses(view: JobView, surface: SurfaceView) -> Iterator[_Use]:
    """Yield the gauge on every date of its readings."""
    area, day = surface.record.area, view.local(surface.blasted[1]).date()
    if surface.record.profile is not None:
        times = dict.fromkeys(reading.time for reading in surface.readings)
        for date in dict.fromkeys(_date(view, time, day) for time in times) or [day]:
            yield surface.record.profile.gauge, area, date, None


def _date(view: JobView, time: str | None, otherwise: dt.date) -> dt.date:
    return otherwise if time is None else view.local(view.at_text(time)).date()


def tapes(view: JobView) -> Outcome[CheckResult]:
    """Judge the rolls used: expiry on the date of the reading, and the thickness of unused tape."""
    uses: dict[str, dict[str, set[dt.date]]] = {}  # roll, area, dates of its readings
    for surface in view.surfaces:
        day = view.local(surface.blasted[1]).date()
        for roll, time in dict.fromkeys((reading.roll, reading.time) for reading in surface.readings):
            if roll is not None:
                uses.setdefault(roll, {}).setdefault(surface.record.area, set()).add(_date(view, time, day))
    return Outcome.joined([_expiry(view, uses), _unused_tape(view, uses), _unchecked(view)])


def _expiry(view: JobView, uses: Mapping[str, Mapping[str, set[dt.date]]]) -> Outcome[CheckResult]:
    findings: list[Finding] = []
    left_out: list[LeftOut] = []
    for roll, areas in uses.items():
        record = view.project.tape_rolls[roll]
        if record.expires is None:
            left_out.append(codes.EXPIRY_NOT_STATED.at(codes.TapeRollNamed(roll)))
            continue
        late = [(area, max(dates)) for area, dates in areas.items() if max(dates) > record.expires]
        for area, last in late:
            facts = codes.TapeExpired(roll, record.lot, last.isoformat(), record.expires.isoformat())
            findings.append(codes.TAPE_EXPIRED.found(facts, Place(area)))
    return Outcome((), tuple(findings), not_evaluated=tuple(left_out))


def _unused_tape(view: JobView, uses: Mapping[str, Collection[str]]) -> Outcome[CheckResult]:
    """Judge the thickness of unused tape; ``uses`` are the areas that each roll was used on.

    The published range is one of extra coarse tape; a check of another grade could not be judged.
    """
    rolls = view.project.tape_rolls
    results: list[CheckResult] = []
    findings: list[Finding] = []
    left_out: list[LeftOut] = []
    unfit = _unfit(view)
    for check in view.job.day.tape_checks:
        grade, thickness, time = rolls[check.roll].grade, Amount.of(check.thickness), view.printed(view.at(check.time))
        allowed = _unused_range(view, check)
        if allowed is None:
            left_out.append(codes.RANGE_NOT_PUBLISHED.at(codes.TapeOfGrade(check.roll, Word("tape-grade", grade))))
            unknown = codes.TapeChecked(thickness, codes.NoTapeRange())
            results.append(codes.TAPE.of(check.roll, unknown, "not evaluated", time))
            continue
        within = _is_within(check, allowed)
        asked = _asked(view, check)
        verdict = "inconclusive" if asked else _verdict_of_tape(within, id(check) in unfit)
        results.append(codes.TAPE.of(check.roll, codes.TapeChecked(thickness, allowed), verdict, time))
        if not (within or asked):
            facts = codes.TapeOutside(check.roll, thickness, allowed)
            findings += [codes.TAPE_OUTSIDE.found(facts, Place(area, time=time)) for area in uses.get(check.roll, ())]
            if check.roll not in uses:
                findings.append(codes.TAPE_OUTSIDE.found(facts, Place(time=time), severity="observation"))
    findings += _outside_before(view, uses)
    return Outcome(tuple(results), tuple(findings), not_evaluated=tuple(left_out))


def _verdict_of_tape(within: bool, unfit: bool) -> Verdict:  # noqa: FBT001 - about the check
    if not within:
        return "does not conform"
    return "inconclusive" if unfit else "conforms"


def _unused_range(view: JobView, check: TapeCheck) -> codes.UnusedTapeRange | None:
    if view.project.tape_rolls[check.roll].grade != UPPER:
        return None
    lowest, highest = unused_tape_range(view.project.instruments[check.gauge].unit or "")
    return codes.UnusedTapeRange(Amount.of(lowest), Amount.of(highest))


def tape_doubt(view: JobView, check: TapeCheck) -> Doubt | None:
    """Return the doubt about the thickness of unused tape by the middle of its range, confirmed or not."""
    allowed = _unused_range(view, check)
    if allowed is None:
        return None
    middle = Quantity((allowed.lowest.value + allowed.highest.value) / 2, allowed.lowest.unit)
    return reference_doubt(check.thickness, middle)


def _asked(view: JobView, check: TapeCheck) -> bool:
    return not check.confirmed and tape_doubt(view, check) is not None


def _is_within(check: TapeCheck, allowed: codes.UnusedTapeRange) -> bool:
    least, most = allowed.lowest, allowed.highest
    return least.value <= check.thickness.in_unit(least.unit) <= most.value


def _last_checks(view: JobView) -> dict[str, tuple[JobView, TapeCheck]]:
    """Return by roll the last check at hand that says something; of two in one minute nobody knows which was the last.

    The one outside its range counts then.
    """
    reports = [*(stood.view for stood in view.before), view]
    every = [(each, check) for each in reports for check in each.job.day.tape_checks]
    unfit = {name for each in reports for name in _unfit(each)}
    told = [one for one in every if not _asked(*one) and (id(one[1]) not in unfit or not _is_inside(*one))]
    ordered = sorted(told, key=lambda one: (one[0].at(one[1].time), not _is_inside(*one)))
    return {check.roll: (report, check) for report, check in ordered}


def _is_inside(view: JobView, check: TapeCheck) -> bool:
    """Whether the tape is within its range, or has none."""
    allowed = _unused_range(view, check)
    return allowed is None or _is_within(check, allowed)


def _outside_before(view: JobView, uses: Mapping[str, Collection[str]]) -> Iterator[Finding]:
    """Yield the rolls used that were outside their range when an earlier report measured them last, and none since.

    What a gauge showed that proves nothing does not clear a roll.
    """
    last = _last_checks(view)
    for roll, (report, check) in last.items():
        allowed = _unused_range(report, check) if roll in uses and report is not view else None
        if allowed is not None and not _is_within(check, allowed):
            facts = codes.TapeOutside(roll, Amount.of(check.thickness), allowed)
            time = view.printed(report.at(check.time))
            yield from (codes.TAPE_OUTSIDE.found(facts, Place(area, time=time)) for area in uses[roll])


_KNOWN_UNFIT: Final[WeakKeyDictionary[JobView, dict[int, str]]] = WeakKeyDictionary()
"""Several rules ask of each report at hand, and judging its gauges again and again is a tenth of an evaluation."""


def _unfit(view: JobView) -> dict[int, str]:
    """Return by the identity of a check of tape why its gauge proves nothing of it, where it does not.

    Of a gauge that is read with too, only if it failed: whatever else is wrong with it is told of its readings.
    """
    if view in _KNOWN_UNFIT:
        return _KNOWN_UNFIT[view]
    proofs = gauge_proofs(view)
    reading = {surface.profile.gauge for surface in view.job.day.surfaces if surface.profile is not None}
    found = {}
    for check in view.job.day.tape_checks:
        at, proof = view.at(check.time), proofs.get(check.gauge)
        due = view.project.due_by(check.gauge, view.local(at).date())
        if proof is not None and proof.doubted((at, at)):
            found[id(check)] = "failed"
        elif check.gauge not in reading and due is not None and view.local(at).date() > due:
            found[id(check)] = "overdue"
        elif proof is None or (check.gauge not in reading and all(one.verdict != "conforms" for one in proof.states)):
            found[id(check)] = "unchecked"
    _KNOWN_UNFIT[view] = found
    return found


def _unproven_rolls(view: JobView) -> Iterator[tuple[str, str, TapeCheck | None, str]]:
    """Yield each roll in use whose unused tape no report of its readings measured, with an area that they are on.

    And a check of it that proves nothing, if there is one. Such a report is this one, or one that has the same steel,
    whose shift lasted when the reading was taken, if it has a time.
    """
    unfit = {name: why for each in (view, *(one.view for one in view.before)) for name, why in _unfit(each).items()}
    for surface, roll, time, made in _rolls_read(view):
        if _is_unproven(view, made, unfit) and not _read_in_doubt(view, surface, time, made, unfit):
            last = made[-1] if made else None
            yield roll, surface.record.area, last, unfit.get(id(last), "")


def _rolls_read(view: JobView) -> Iterator[tuple[SurfaceView, str, str | None, list[TapeCheck]]]:
    """Yield each roll and time of readings of a surface, with the checks of the roll in the reports that have them."""
    for surface in view.surfaces:
        before = [one.view for one in view.before if surface.blasted[1] <= view.shift[0] and one.enters(surface)]
        for roll, time in dict.fromkeys((str(one.roll), one.time) for one in surface.readings if one.roll is not None):
            there = [view, *(each for each in before if time is None or view.at_text(time) <= each.shift[1])]
            yield surface, roll, time, [one for each in there for one in each.job.day.tape_checks if one.roll == roll]


def _is_unproven(view: JobView, made: Iterable[TapeCheck], unfit: Mapping[int, str]) -> bool:
    """Whether no check proves anything of a roll, nor shows it outside its range, which is said by itself."""
    return all(id(check) in unfit and _is_inside(view, check) for check in made)


def _read_in_doubt(
    view: JobView, surface: SurfaceView, time: str | None, made: Iterable[TapeCheck], unfit: Mapping[int, str]
) -> bool:  # fmt: skip
    """Whether a reading is in doubt by the very failed check that the tape is by: then that is said of it."""
    profile, start = surface.record.profile, surface.blasted[1]
    read = (start, surface.coated or max(start, view.shift[1])) if time is None else (view.at_text(time),) * 2
    failed = {one.gauge for one in made if unfit.get(id(one)) == "failed"}
    return profile is not None and profile.gauge in failed and gauge_proofs(view)[profile.gauge].doubted(read)


def _unchecked(view: JobView) -> Outcome[CheckResult]:
    """Find the rolls in use of the grade that has a range, whose unused tape was not measured."""
    uses: dict[codes.TapeRollNamed | codes.TapeUnproven, dict[str, None]] = {}
    for roll, area, check, why in _unproven_rolls(view):
        if view.project.tape_rolls[roll].grade == UPPER:
            facts: codes.TapeRollNamed | codes.TapeUnproven = codes.TapeRollNamed(roll)
            if check is not None:
                facts = codes.TapeUnproven(roll, check.gauge, Word("gauge-unfit", why))
            uses.setdefault(facts, {})[area] = None
    findings = tuple(codes.TAPE_UNCHECKED.found(facts, Place(area)) for facts, areas in uses.items() for area in areas)
    todo = tuple(
        codes.MEASURE_UNUSED_TAPE.due(codes.TapeRollNamed(facts.roll), Place(next(iter(areas))))
        for facts, areas in uses.items()
    )  # fmt: skip
    return Outcome((), findings, measure_next=tuple(dict.fromkeys(todo)))


def certificates(view: JobView) -> Outcome[CheckResult]:
    """Compare the certificates of the inspector, and of whoever took the readings of a surface, with the date."""
    takers: dict[str, list[str]] = {}
    for area in view.areas:
        for surface in area.surfaces:
            taker = surface.record.inspector
            if taker is not None and taker != view.job.day.report.inspector:
                takers.setdefault(taker, []).append(area.id)
    own = _certificate(view, view.job.day.report.inspector, [None])
    return Outcome.joined((own, *(_certificate(view, one, dict.fromkeys(areas)) for one, areas in takers.items())))


def _certificate(view: JobView, person_id: str, areas: Iterable[str | None]) -> Outcome[CheckResult]:
    """Compare a person's certificate with the date of the report, for the areas that rest on it (None: all)."""
    person = view.project.people.get(person_id)
    if person is None:  # none is named yet
        return Outcome()
    expires, last = person.certificate_expires, max(view.date, view.local(view.shift[1]).date())
    if person.certificate is None:
        return Outcome(not_evaluated=(codes.CERTIFICATE_NOT_STATED.at(codes.PersonNamed(person.name)),))
    if expires is None:
        return Outcome(not_evaluated=(codes.CERTIFICATE_UNDATED.at(codes.PersonNamed(person.name)),))
    facts = codes.Certificate(person.name, person.certificate, expires.isoformat(), last.isoformat())
    verdict: Verdict = "conforms" if last <= expires else "does not conform"
    findings = (
        () if verdict == "conforms" else tuple(codes.CERTIFICATE_EXPIRED.found(facts, Place(one)) for one in areas)
    )
    return Outcome((codes.CERTIFICATE.of(person.name, facts, verdict),), findings)
